"""The key and the nearest value that would mend a row that is not met, where the rule itself has not said them: in
closed form from what was measured. Inches."""

from __future__ import annotations

import math
import re
from dataclasses import replace

from ...shared.cited import Named
from ...shared.said import Said, Words, together
from ...shared.stock import lumber
from .check_result import Checking, CheckResult
from .frame_mends import DEPTHS, OF_MEMBERS, Mender, down, over, up, would_do

_KEY = re.compile(
    r"\b(frame|stair|guard|surface|levels|lumber|loads|trim|local|hardware|outline|bench|area_load)\.[a-z]"
)
EIGHTH = 1 / 8
LESS = 1 / 8  # inches under a limit that has to be stayed under; our own
NO_KEY = "a fault of the drawing, which no key of the file mends: please report it"


def told_mends(c: Checking) -> None:
    """Adds to each row that is not met what would mend it, where its reason names no key."""
    c.results = [_told(c, r) if r.result == "not met" and not names_key(r.why) else r for r in c.results]


def names_key(why: Words) -> bool:
    """Whether a reason names a key of the file."""
    if isinstance(why, str):
        return bool(_KEY.search(why))
    return bool(_KEY.search(why.template)) or any(names_key(v) for _, v in why.values if isinstance(v, (str, Said)))


def _told(c: Checking, r: CheckResult) -> CheckResult:
    mend = _mender(r)
    return replace(r, why=together(r.why, mend(c, r) if mend is not None else NO_KEY))


def _mender(r: CheckResult) -> Mender | None:
    if r.rule in RULES:
        return RULES[r.rule]
    if r.rule.endswith(("(table)", "(calculation)")):
        if r.measured is None:
            return _held
        kind = (r.place if isinstance(r.place, str) else r.place.template).split(" ")[0]
        return OF_MEMBERS.get(kind) or _OTHERS.get(kind)
    return next((m for start, m in _STARTS.items() if r.rule.startswith(start)), None)


def _held(c: Checking, r: CheckResult) -> Words:
    """Of what rests on too little no section is wanting."""
    return "beams and posts under it would do (frame.beam_lines, frame.post_spacing)"


def _limit(key: str, step: float = EIGHTH, under: float = 0.0) -> Mender:
    """The limit itself, on its right side."""

    def mend(c: Checking, r: CheckResult) -> Words:
        if r.limit is None:
            return f"another value would do ({key})"
        return would_do(down(r.limit - under, step) if r.kind in ("at most", "less than") else up(r.limit, step), key)

    return mend


def _word(value: str, key: str) -> Mender:
    return lambda c, r: f"{value} would do ({key})"


def _more(key: str, read) -> Mender:
    """What the file has, and what is wanting of the limit."""

    def mend(c: Checking, r: CheckResult) -> Words:
        wanting = abs(float(r.limit or 0.0) - float(r.measured or 0.0))
        return would_do(up(read(c, r) + wanting, EIGHTH), key)

    return mend


def _stair(c: Checking, r: CheckResult):
    """The table of the stair that a row names."""
    text = r.place if isinstance(r.place, str) else r.place.template
    found = re.search(r"stair (\d+)", text)
    stairs = c.deck.parameters.stair
    return stairs[int(found[1]) - 1 if found and int(found[1]) <= len(stairs) else 0]


def _landing(c: Checking, r: CheckResult) -> Words:
    """A pad, or a landing between flights, as much deeper as is wanting."""
    stair, wanting = _stair(c, r), abs(float(r.limit or 0.0) - float(r.measured or 0.0))
    text = r.place if isinstance(r.place, str) else r.place.template
    flight = re.search(r"flight (\d+) landing at the (foot|top)", text)
    if flight and stair.landings:
        k = int(flight[1]) - (1 if flight[2] == "foot" else 2)  # of the landings from the deck down
        if 0 <= k < len(stair.landings):
            return would_do(up(stair.landings[k].depth + wanting, EIGHTH), "stair.landings.depth")
    return would_do(up(stair.pad.depth + wanting, EIGHTH), "stair.pad.depth")


def _throat(c: Checking, r: CheckResult) -> Words:
    """A notch is R T / root of (R² + T²) deep: a stringer that is so much wider, or with the same going the rise that
    leaves the published throat."""
    s = c.by_id[r.ids[0]]
    flight = next((f for k in range(len(c.deck.parameters.stair)) for f in c.seen.flights(k) if _in(f, r.ids[0])), None)
    if flight is None or r.limit is None or r.measured is None:
        return "lower rises would do (stair.rise)"
    rise, deep = max(flight.rises), s.stock.width - r.measured
    for name in DEPTHS:  # a wider stringer leaves as much more
        if lumber(name).width >= r.limit + deep and lumber(name).width > s.stock.width:
            return f"{name} would do (stair.stringer)"
    left = s.stock.width - r.limit
    if not left < deep < rise:
        return "lower rises would do (stair.rise)"
    going = deep * rise / math.sqrt(rise**2 - deep**2)
    return would_do(down(left * going / math.sqrt(going**2 - left**2), 1 / 16), "stair.rise")


def _in(flight, key: str) -> bool:
    return any(m.id == key for m in (*flight.stringers, *flight.hips, *flight.jacks))


def _stock(item: str, key: str) -> Mender:
    def mend(c: Checking, r: CheckResult) -> Words:
        row = c.named(item)
        return f"{row.name if isinstance(row, Named) else 'larger stock'} would do ({key})"

    return mend


def _halves(c: Checking, r: CheckResult) -> Words:
    """A landing so far down that neither flight rises further than is published."""
    flight_rise, most = float(r.measured or 0.0), float(r.limit or 1.0)
    risers = max(1, math.ceil(flight_rise / _stair(c, r).rise))
    after = min(risers - 1, math.floor(most / (flight_rise / risers)))
    return f"a landing after {max(1, after)} risers would do (stair.landings.after_risers)"


def _nosing(c: Checking, r: CheckResult) -> Words:
    return would_do(c.deck.parameters.surface.overhang, "stair.nosing")


def _ledger(c: Checking, r: CheckResult) -> Words:
    """As deep as its joists, and no less than the published size."""
    joist, row = c.deck.parameters.frame.joist, c.named("ledger_min_size")
    sizes = [joist, *([row.name] if isinstance(row, Named) else [])]
    deepest = max(sizes, key=lambda n: c.deck.parameters.stock(n).width)
    return f"{deepest} would do (frame.ledger)"


def _grip(c: Checking, r: CheckResult) -> Words:
    size = c.deck.parameters.guard.handrail_size
    ratio = over(r)
    value = down(size / ratio, 1 / 16) if r.kind in ("at most", "less than") else up(size * ratio, 1 / 16)
    return would_do(value, "guard.handrail_size")


def _guard_edges(c: Checking, r: CheckResult) -> Words:
    given = c.deck.parameters.guard.edges
    return "leave it out (guard.edges)" if given is not None else "a guard on both sides (stair.guards)"


def _clear(c: Checking, r: CheckResult) -> Words:
    p = c.deck.parameters
    if not p.lumber.treatment:
        return "stock that is treated would do (lumber.treatment)"
    return would_do(up(p.levels.surface + abs(r.margin or 0.0), EIGHTH), "levels.surface")


def _nearer_joists(c: Checking, r: CheckResult) -> Words:
    """What lies between joists, less by as much as a board's clear span is over."""
    t, spacing = c.deck.parameters.stock(c.deck.parameters.frame.joist).thickness, c.deck.layout.joist_spacing
    return would_do(down(t + (spacing - t) / over(r), EIGHTH), "frame.joist_spacing")


RULES: dict[str, Mender] = {
    "rise": _limit("stair.rise", 1 / 16),
    "rises alike": lambda c, r: "left out they are equal (stair.total_rise)",
    "going (run)": _limit("stair.going"),
    "goings alike": _nosing,
    "nosings alike": _nosing,
    "nosing, least": _limit("stair.nosing"),
    "nosing, greatest": _limit("stair.nosing"),
    "open riser": _word('"closed"', "stair.risers"),
    "stair width": _more("stair.width", lambda c, r: _stair(c, r).width),
    "stair width beside handrail": _more("stair.width", lambda c, r: _stair(c, r).width),
    "handrail projection": lambda c, r: would_do(
        max(0.0, down(c.deck.parameters.guard.handrail_clearance - abs(r.margin or 0.0))), "guard.handrail_clearance"
    ),
    "stringer stock": _stock("stringer_stock", "stair.stringer"),
    "stringer spacing": _limit("stair.stringer_spacing"),
    "stringer throat": _throat,
    "handrail needed": _word('"auto"', "stair.handrail"),
    "handrail runs the whole flight": _word('"auto"', "stair.handrail"),
    "handrail ends returned": _word('"auto"', "stair.handrail"),
    "handrail height, least": _limit("guard.handrail_height"),
    "handrail height, greatest": _limit("guard.handrail_height"),
    "space behind the handrail": _limit("guard.handrail_clearance"),
    "guard needed": _guard_edges,
    "guard needed on a stair": _word('"both"', "stair.guards"),
    "guard height": _limit("guard.height"),
    "guard height on a stair": _limit("guard.height"),
    "guard opening": _limit("guard.gap", under=LESS),
    "stair guard opening": _limit("guard.gap", under=LESS),
    "triangle under a stair guard": lambda c, r: would_do(
        max(0.0, down(c.deck.parameters.guard.bottom_gap - abs(r.margin or 0.0) - LESS, EIGHTH)), "guard.bottom_gap"
    ),
    "guard post spacing": _limit("guard.post_spacing"),
    "landing length": _landing,
    "landing width": _more("stair.pad.side", lambda c, r: _stair(c, r).pad.side),
    "flight's rise between landings": _halves,
    "footing depth below grade": _limit("frame.footing.depth"),
    "frost depth": _limit("frame.footing.depth"),
    "ledger size": _ledger,
    "ledger depth": _ledger,
    "ledger fastener rows": _word("2x10", "frame.ledger"),
    "ledger fasteners, bottom edge": _word("2x10", "frame.ledger"),
    "bearing on wood": OF_MEMBERS["post"],
    "beam splices over supports": lambda c, r: "posts under them would do (frame.post_spacing)",
    "rim splices over supports": lambda c, r: "joists under them would do (frame.joist_spacing)",
    "blocking over beams": _word("true", "frame.blocking_at_beams"),
    "treatment category": _stock("ground_contact_use_category_min", "lumber.treatment"),
    "notched post": _word('"post cap"', "frame.beam_seat"),
    "wood left beside a notch": _word('"post cap"', "frame.beam_seat"),
    "treads borne at both ends": _word("less", "stair.stringer_spacing"),
    "joist clearance to grade": _clear,
    "beam clearance to grade": _clear,
}
_STARTS: dict[str, Mender] = {
    "stringer span": _word('"auto"', "stair.carriers"),
    "handrail grip": _grip,
    "headroom": lambda c, r: (
        "another place would do (stair.at), or a landing that turns it aside (stair.landings.turn)"
    ),
    "guard opening": _limit("guard.gap", under=LESS),
    "clear span of a board": _nearer_joists,
    "clear span of a tread": lambda c, r: would_do(
        down(_stair(c, r).stringer_spacing / over(r), EIGHTH), "stair.stringer_spacing"
    ),
}
_OTHERS: dict[str, Mender] = {
    "stringer": lambda c, r: would_do(down(_stair(c, r).stringer_spacing / over(r), EIGHTH), "stair.stringer_spacing"),
    "top": lambda c, r: would_do(down(c.deck.parameters.guard.post_spacing / over(r)), "guard.post_spacing"),
    "bottom": lambda c, r: would_do(down(c.deck.parameters.guard.post_spacing / over(r)), "guard.post_spacing"),
    "baluster": lambda c, r: would_do(
        up(c.deck.parameters.guard.baluster * over(r) ** (1 / 3), EIGHTH), "guard.baluster"
    ),
    "guard": lambda c, r: "6x6 would do (guard.post)",
    "ledger": lambda c, r: "nearer fasteners would do (hardware.ledger_spacing)",
}
