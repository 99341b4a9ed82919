"""What no rule of a code has to say because nobody would build it: solids in one place, pieces and ends that nothing
carries, spans wider than the surface was given, bases off their footings, wood and post bases in the ground.

Every row is measured on the solids. Where nothing is found, one row a kind says so; a deck without butt joints has none
of theirs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...shared.cited import Row
from ...shared.said import Words, decimal, listed, number, said, together, volume
from ..measuring.bearing import EndBearing
from ..measuring.clashes import TOLERANCE, Clash
from ..measuring.loose_ends import (
    ALONG_A_LINE,
    TREAD_BEARS_ON,
    Stretch,
    loose_stringers,
    stretches,
    tipping_beams,
    tipping_headers,
)
from ..measuring.rail_ends import RailEndSeen, rail_ends
from ..measuring.stands_on import in_ground, loose, off_footing
from ..plan.edges import OUT_OF_TRUE
from ..plan.joist_spacing import IN_FILE, MAKERS, MEMBER, PUBLISHED, most_in_the_clear
from ..plan.posts_at_corner import ON_POST
from ..solid.board_ends import LEAST_BEARING, STANDS_OUT
from ..solid.part import Part
from .check_result import Checking

FROM_SOLIDS = "measured on the solids; ours"
OVERLAP = "solids overlap"
CARRIED = "piece carried to the ground or the house"
BOARD_END = "board end past its last bearing"
BOARD_BEARS = "bearing of a board end"
JOINT_BEARS = "bearing of a butt joint"
TREAD_END = "tread end past its last bearing"
MEMBER_END = "end of a member held"
LINE = "touching along a line only"
RAIL_END = "end of a rail on its post"
BOARD_SPAN = "clear span of a board"
TREAD_SPAN = "clear span of a tread"
FOOTING = "base on its footing"
GROUND = "wood in the ground"
BASE_IN_GROUND = "steel in the ground"
FAULT_KINDS = (
    OVERLAP,
    CARRIED,
    BOARD_END,
    BOARD_BEARS,
    JOINT_BEARS,
    TREAD_END,
    MEMBER_END,
    LINE,
    RAIL_END,
    BOARD_SPAN,
    TREAD_SPAN,
    FOOTING,
    GROUND,
    BASE_IN_GROUND,
)

ROUNDING = 1e-3  # inches by which a plan may stand out, or wood lie under a slope, from rounding alone
_DECK = "the deck"  # what belongs to no stair
RUN_INTO = 5  # overlaps of two stairs, or of a stair and the deck, from which on they are one fault (our own)
SPAN_ROUNDING = 0.01  # inches: what a skewed crossing measures is its area over its width


def check_solids(c: Checking) -> None:
    """All kinds of fault, in the order of `FAULT_KINDS`."""
    parts = c.deck.parts
    by = c.deck.touching
    _overlaps(c)
    _rows(c, CARRIED, [((p,), None, "no path of carriers ends at concrete or the house") for p in loose(parts)])
    _board_ends(c, c.deck.board_ends)
    treads = stretches(parts, by, ("tread",), TREAD_BEARS_ON, mitred=True)
    _most(c, TREAD_END, FROM_SOLIDS, STANDS_OUT + ROUNDING, [(s.part, s.length) for s in treads if s.past])
    _member_ends(c, parts, by)
    _rail_ends(c, list(rail_ends(parts, by)))
    _board_spans(c, c.deck.board_spans)
    _tread_spans(c, [s for s in treads if not s.past])
    _most(c, FOOTING, FROM_SOLIDS, ROUNDING, [(p, out, *on) for p, on, out in off_footing(parts, by)])
    _in_ground(c)


def _in_ground(c: Checking) -> None:
    """Wood, and the steel that is to hold it clear of the soil; a file with square pads stands its posts on them, down
    in the ground."""
    parts = c.deck.parts
    if c.deck.parameters.frame.footing.shape == "square":
        parts = [p for p in parts if p.role not in ("post", "post base")]
    for rule, steel in ((GROUND, False), (BASE_IN_GROUND, True)):
        _most(c, rule, FROM_SOLIDS, ROUNDING, in_ground(parts, c.deck.planes.grade, steel))


def _overlaps(c: Checking) -> None:
    """A row for every two marks; where a stair runs into another, into the deck or into itself with many of its pieces,
    one row for the two, since it is the stair that has to move."""
    rows: dict[tuple[str, str], list[Clash]] = {}
    met: dict[tuple[str, str], list[Clash]] = {}
    for clash in c.deck.clashes:
        rows.setdefault((clash.a.mark, clash.b.mark), []).append(clash)
        met.setdefault(_assemblies(clash), []).append(clash)
    many = {pair for pair, found in met.items() if pair != (_DECK, _DECK) and len(found) >= RUN_INTO}
    kept = [found for found in rows.values() if _assemblies(found[0]) not in many]
    for found in [*(met[pair] for pair in met if pair in many), *kept]:
        worst = max(found, key=lambda x: x.volume)
        ids = tuple(dict.fromkeys(i for x in found for i in (x.a.id, x.b.id)))
        at = listed([decimal((a + b) / 2, 1, bare=True) for a, b in zip(worst.low, worst.high)])
        pieces = f"{_named(worst.a)} and {_named(worst.b)}"
        pair = _assemblies(worst)
        both = f"{pair[0]} and {pair[1]}" if pair[0] != pair[1] else f"{pair[0]} and itself"
        place = both if pair in many else pieces
        why = together(
            said("{pieces}, at ({at})", pieces=pieces, at=at) if pair in many else said("at ({at})", at=at),
            f"the greatest of {len(found)}" if len(found) > 1 else "",
        )
        c.add(OVERLAP, FROM_SOLIDS, "at most", worst.volume, place, ids, bound=TOLERANCE, unit="cu in", why=why)
    if not rows:
        none = said("no two of {n} solids share more than {most}", n=len(c.deck.parts), most=volume(TOLERANCE, None))
        c.state(OVERLAP, FROM_SOLIDS, True, "whole deck", none)


def _assemblies(clash: Clash) -> tuple[str, str]:
    """What the two pieces belong to: stairs by their number, all else to the deck."""
    first, second = sorted(_DECK if p.stair is None else f"stair {p.stair + 1}" for p in (clash.a, clash.b))
    return first, second


def _board_ends(c: Checking, ends: Sequence[EndBearing]) -> None:
    _most(c, BOARD_END, FROM_SOLIDS, STANDS_OUT + ROUNDING, [(e.part, e.overhang) for e in ends if e.area > 0])
    bare = [((e.part,), None, f"end {e.end}: nothing bears it") for e in ends if not e.area > 0]
    _rows(c, BOARD_END, bare, say_met=False)
    _end_bearings(c, [e for e in ends if e.area > 0])
    _butt_joints(c, [e for e in ends if e.area > 0])
    if bare:
        c.results[:] = [r for r in c.results if not (r.rule == BOARD_END and r.result == "met")]


def _end_bearings(c: Checking, ends: Sequence[EndBearing]) -> None:
    """What an end rests on, the mean over its width; a border under both its halves."""
    thin: dict[tuple[str, str], list[EndBearing]] = {}
    for e in ends:
        if not e.borne:
            thin.setdefault((e.part.mark, e.end), []).append(e)
    for group in thin.values():
        e = min(group, key=lambda e: e.length)
        ids, place = tuple(dict.fromkeys(x.part.id for x in group)), f"{_named(e.part)}, end {e.end}"
        why = together(
            said("{width} wide, on {by}", width=decimal(e.width), by=", ".join(e.by)),
            f"{len(group)} alike" if len(group) > 1 else "",
        )
        if e.length < LEAST_BEARING:
            c.add(BOARD_BEARS, FROM_SOLIDS, "at least", e.length, place, ids, bound=LEAST_BEARING, unit="in", why=why)
        else:
            c.state(
                BOARD_BEARS, FROM_SOLIDS, False, place, together("one half of the border rests on nothing", why), ids
            )
    if ends and not thin:
        least = min(e.length for e in ends)
        bears = said("the least of {n} ends bears {least}", n=len(ends), least=decimal(least))
        c.state(BOARD_BEARS, FROM_SOLIDS, True, "whole deck", bears)


def _butt_joints(c: Checking, ends: Sequence[EndBearing]) -> None:
    """What each end of a butt joint bears: half of what two members leave beside the gap, or of what one leaves where
    the file asks for no more. A deck without such a joint has no row."""
    single = c.deck.parameters.surface.joints == "single"
    joints = [(e, ((MEMBER if single else 2 * MEMBER) - e.gap) / 2) for e in ends if e.gap is not None]
    if not joints:
        return
    short = [(e, half) for e, half in joints if e.seat < half - SPAN_ROUNDING]
    rows: dict[str, list[tuple[EndBearing, float]]] = {}
    for e, half in short:
        rows.setdefault(e.part.mark, []).append((e, half))
    for found in rows.values():
        e, half = min(found, key=lambda x: x[0].seat - x[1])
        ids = tuple(dict.fromkeys(x.part.id for x, _ in found))
        why = together(said("on {by}", by=", ".join(e.by)), f"{len(found)} alike" if len(found) > 1 else "")
        place = f"{_named(e.part)}, end {e.end}"
        c.add(JOINT_BEARS, FROM_SOLIDS, "at least", e.seat, place, ids, bound=half, unit="in", why=why)
    if not short:
        least = min(e.seat for e, _ in joints)
        on = "one joist as the file asks" if single else "two members"
        bears = said("the least of {n} ends bears {least}, on {on}", n=len(joints), least=decimal(least), on=on)
        c.state(JOINT_BEARS, FROM_SOLIDS, True, "whole deck", bears)


def _member_ends(c: Checking, parts: Sequence[Part], by) -> None:
    ends = c.deck.free_ends
    alone = [((e.part,), None, f"end {e.end} meets nothing that carries it") for e in ends if not e.by]
    alone += [((p,), None, "bears at fewer than two places") for p in tipping_beams(parts, by)]
    alone += [((p,), None, "hangs at fewer than two places") for p in tipping_headers(parts, by)]
    alone += [((p,), None, f"its {end} meets nothing that carries it") for p, end in loose_stringers(parts, by)]
    _rows(c, MEMBER_END, alone)
    line = [
        ((e.part, *e.by), e.area, f"end {e.end} meets {', '.join(q.id for q in e.by)} along a line")
        for e in ends
        if e.by
    ]
    _rows(c, LINE, line)


def _rail_ends(c: Checking, ends: Sequence[RailEndSeen]) -> None:
    """A row for each mark of which an end has less than half of its section on posts. A deck without guards has no
    row."""
    short: dict[tuple[str, str], list[RailEndSeen]] = {}
    for e in ends:
        if e.on < ON_POST * e.area - ALONG_A_LINE / 10:
            short.setdefault((e.part.mark, e.end), []).append(e)
    for found in short.values():
        e = min(found, key=lambda e: e.on / e.area)
        ids = tuple(dict.fromkeys(p.id for x in found for p in (x.part, *x.posts)))
        why = together(
            f"end {e.end}, of which half has to bear" if e.posts else f"end {e.end} touches no post",
            f"{len(found)} alike" if len(found) > 1 else "",
        )
        bound = ON_POST * e.area
        c.add(RAIL_END, FROM_SOLIDS, "at least", e.on, _named(e.part), ids, bound=bound, unit="sq in", why=why)
    if ends and not short:
        least = min(e.on / e.area for e in ends)
        share = number(100 * least, 0)
        bears = said("the least of {n} ends has {share} percent of its section on a post", n=len(ends), share=share)
        c.state(RAIL_END, FROM_SOLIDS, True, "whole deck", bears)


def _board_spans(c: Checking, found: Sequence[Stretch]) -> None:
    """Lumber by the published spacing of joists, other boards by their maker's; without one by that of the deck."""
    met = True
    limits: dict[tuple, list] = {}
    for s in found:
        if not s.length:
            continue
        how, bound = most_in_the_clear(c.deck.parameters, c.deck.layout.joist_spacing, s.skew)
        limits.setdefault((_said_by(c, how, s.skew), bound), []).append((s.part, s.length))
    for (source, bound), lengths in limits.items():
        met &= _most(c, BOARD_SPAN, source, bound + SPAN_ROUNDING, lengths, say_met=False)
    if met:
        c.state(
            BOARD_SPAN,
            FROM_SOLIDS,
            True,
            "whole deck",
            f"none of {len(found)} boards spans further than its joists allow",
        )


def _said_by(c: Checking, how: str, skew: float) -> Words:
    """Where it is said how far boards may span."""
    square = skew > math.cos(math.radians(OUT_OF_TRUE))
    clear = said("clear of {member} members", member=decimal(MEMBER, None))
    if how == PUBLISHED:
        row = c.joist_spacing(c.deck.parameters.surface.board_thickness, square)
        assert isinstance(row, Row), "the published row was read for the bound"
        return together(row.citation, clear)
    if how == MAKERS:
        return together(c.makers_word(square), clear)
    told = "the spacing of joists given in the file" if how == IN_FILE else "boards laid as lumber of their thickness"
    return f"{FROM_SOLIDS}; {told}"


def _tread_spans(c: Checking, found: Sequence[Stretch]) -> None:
    met = True
    for k, stair in enumerate(c.deck.parameters.stair):
        lengths = [(s.part, s.length) for s in found if s.part.stair == k]
        bound = stair.stringer_spacing - MEMBER + SPAN_ROUNDING
        source = f"{FROM_SOLIDS}; the spacing of stringers given in the file"
        met &= _most(c, TREAD_SPAN, source, bound, lengths, say_met=False)
    if met:
        c.state(
            TREAD_SPAN,
            FROM_SOLIDS,
            True,
            "all stairs",
            f"none of {len(found)} treads spans further than its stringers allow",
        )


def _most(c: Checking, rule: str, source: Words, bound: float, found, say_met: bool = True) -> bool:
    """A row for each mark of which a piece measures more than `bound`; of `found` (piece, measured, other pieces) the
    worst. Whether all keep within it."""
    rows: dict[str, list] = {}
    for part, value, *others in found:
        if value > bound + 1e-9:
            rows.setdefault(part.mark, []).append((value, part, others))
    for pieces in rows.values():
        value, part, others = max(pieces, key=lambda x: x[0])
        ids = tuple(dict.fromkeys(p.id for _, a, b in pieces for p in (a, *b)))
        why = f"the greatest of {len(pieces)}" if len(pieces) > 1 else ""
        c.add(rule, source, "at most", value, _named(part), ids, bound=bound, unit="in", why=why)
    if not rows and say_met:
        c.state(rule, source, True, "whole deck", said("none past {bound}", bound=decimal(bound, figures=3)))
    return not rows


def _rows(c: Checking, rule: str, found, say_met: bool = True) -> None:
    """A row for each mark and reason; of `found` (pieces, area or None, why), the first piece leads."""
    rows: dict[tuple[str, str], list] = {}
    for pieces, area, why in found:
        rows.setdefault((pieces[0].mark, "" if area is not None else why), []).append((pieces, area, why))
    for group in rows.values():
        ids = tuple(dict.fromkeys(p.id for pieces, _, _ in group for p in pieces))
        lead, area, why = group[0]
        why += f"; {len(group)} alike" if len(group) > 1 else ""
        if area is None:
            c.state(rule, FROM_SOLIDS, False, _named(lead[0]), why, ids)
        else:
            c.add(rule, FROM_SOLIDS, "at least", area, _named(lead[0]), ids, bound=ALONG_A_LINE, unit="sq in", why=why)
    if not rows and say_met:
        c.state(rule, FROM_SOLIDS, True, "whole deck", "none found")


def _named(part: Part) -> str:
    return f"{part.role} {part.id}" + (f", {part.where}" if part.where else "")
