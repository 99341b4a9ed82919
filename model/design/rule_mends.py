"""What would mend a rule of stairs, guards and footings that is not met: the key of the file and the nearest value that
passes, in closed form from what was measured and the limit.

Lengths come in sixteenths of an inch, on the side that passes.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator

from ...shared.as_toml import TAPE, as_toml, down_to, up_to
from ...shared.said import Words, said
from ...shared.standards import find_limit, find_named
from ...shared.stock import lumber, sold
from ..deck import Deck
from ..plan.stair_flights import BESIDE_A_FLIGHT, EXPANSION_JOINT
from ..plan.would_do import Value
from ..plan.wrapped_steps import rise_at_mitre
from ..rules.check_landings import AT_THE_WALL, OFF_PAD
from ..rules.check_makers import EDGE_GAP, END_GAP, PAST_BEARING
from ..rules.check_notched_posts import LEFT_BESIDE, NOTCHED
from ..rules.check_post_spacing import AS_FAR_APART
from ..rules.check_result import CheckResult
from ..rules.check_solids import OVERLAP
from ..structure.ledger_checks import LEAST_APART
from .bay_mends import OF_THE_BAYS, at_the_wall, bay_mends
from .gap_mends import gap_mends
from .ground_mends import ground_mends
from .house_mends import house_mends
from .mends import POSTS
from .sheet_mends import sheet_mends
from .stair_ways import landings_that_do

# what is measured grows with the key by as much: the key that is short by the same
BY_AS_MUCH = {
    "going (run)": "stair.{stair}.going",
    "nosing, least": "stair.{stair}.nosing",
    "nosing, greatest": "stair.{stair}.nosing",
    "stair width": "stair.{stair}.width",
    "stair width beside handrail": "stair.{stair}.width",
    "handrail height, least": "guard.handrail_height",
    "handrail height, greatest": "guard.handrail_height",
    "space behind the handrail": "guard.handrail_clearance",
    "handrail projection": "guard.handrail_clearance",
    "guard height": "guard.height",
    "guard height on a stair": "guard.height",
    END_GAP: "surface.end_gap",
    EDGE_GAP: "surface.edge_gap",
    PAST_BEARING: "surface.overhang",
    "footing depth below grade": "frame.footing.depth",
    "frost depth": "frame.footing.depth",
}
# the key is what is measured, times a number
IN_PROPORTION = {
    "handrail grip, perimeter least": "guard.handrail_size",
    "handrail grip, perimeter greatest": "guard.handrail_size",
    "handrail grip, across": "guard.handrail_size",
}
ITS_OWN = 6.0  # inches by which a pad reaches behind the lowest riser, at most; our own
# the key may be no more than the limit, however its pieces are divided
THE_LIMIT = {"stringer spacing": "stair.{stair}.stringer_spacing"}


def rule_mends(row: CheckResult, deck: Deck) -> Iterator[Value]:
    """The keys with the values that would each do; none for a rule that no key of the file decides."""
    at = _stair_of(row, deck)
    for known, make in ((BY_AS_MUCH, _by_as_much), (IN_PROPORTION, _in_proportion), (THE_LIMIT, _the_limit)):
        key = known.get(row.rule)
        if key and row.measured is not None and row.limit is not None and ("{stair}" not in key or at is not None):
            key = key.format(stair=at)
            if key == "guard.height" and deck.parameters.guard.kit is not None:
                key = "guard.kit.top"
            yield key, make(row, _value(deck, key))
            return
    other = _OTHERS.get(row.rule)
    if other and at is not None:
        yield from other(row, deck, at)
    elif row.rule in _OF_THE_FRAME:
        yield from _OF_THE_FRAME[row.rule](deck)
    elif row.rule == "guard needed":
        yield from _guard_needed(row, deck)
    elif row.rule in ("guard post spacing", AS_FAR_APART):
        yield from _posts_apart(row, deck)
    elif row.rule == "lateral load connection" and row.limit is not None:
        yield "hardware.hold_down_lb", math.ceil(row.limit)
    elif row.rule.startswith("ledger, "):
        yield from _nearer_on_ledger(row, deck)
    elif row.rule in (NOTCHED, LEFT_BESIDE):
        yield from _notched(row, deck)
    elif row.rule == "clear span of a board":
        yield from _clear_span(row, deck)
    elif row.rule == OVERLAP:
        yield from _side_by_side(row, deck)
    elif row.rule in OF_THE_BAYS:
        yield from bay_mends(row, deck, _rounded(row, row.limit or 0.0))
        if row.rule == "guard opening" and (edge := re.match(r"(.+) edge$", str(row.place))):
            yield from at_the_wall(deck, edge[1])
    else:
        yield from house_mends(row, deck)
        yield from gap_mends(row, deck)
        yield from ground_mends(row, deck)
        yield from sheet_mends(row, deck)


def _stair_of(row: CheckResult, deck: Deck) -> int | None:
    """0-based number of the stair that a row speaks of."""
    told = re.match(r"stair (\d+)", str(row.place))
    if told:
        return int(told[1]) - 1
    stairs = {p.stair for p in deck.parts if p.id in row.ids}
    return next(iter(stairs)) if len(stairs) == 1 else None


def _value(deck: Deck, key: str) -> float:
    """What a key is now, given or not."""
    if key == "frame.footing.depth":
        return deck.parameters.footing_depth
    found: object = deck.parameters
    for step in key.split("."):
        found = found[int(step)] if isinstance(found, list) else getattr(found, step)
    return float(found)  # type: ignore[arg-type]


def _rounded(row: CheckResult, value: float) -> float:
    if row.kind in ("at least", "more than"):
        return up_to(value) + (1 / TAPE if row.kind == "more than" else 0.0)
    return down_to(value) - (1 / TAPE if row.kind == "less than" else 0.0)


def _by_as_much(row: CheckResult, now: float) -> float:
    return _rounded(row, now + (row.limit or 0.0) - (row.measured or 0.0))


def _in_proportion(row: CheckResult, now: float) -> float:
    return _rounded(row, now * (row.limit or 0.0) / (row.measured or 1.0))


def _the_limit(row: CheckResult, now: float) -> float:
    return _rounded(row, row.limit or 0.0)


def _rise(row: CheckResult, deck: Deck, at: int) -> Iterator[Value]:
    """No rise is higher than the one wanted: the limit itself."""
    yield f"stair.{at}.rise", row.limit


def _nosings_alike(row: CheckResult, deck: Deck, at: int) -> Iterator[Value]:
    """As far as the surface goes past the riser under it."""
    surface = deck.parameters.surface
    yield f"stair.{at}.nosing", surface.edge_overhang.get(deck.parameters.stair[at].edge, surface.overhang)


def _closed(row: CheckResult, deck: Deck, at: int) -> Iterator[Value]:
    yield f"stair.{at}.risers", "closed"


def _handrail(row: CheckResult, deck: Deck, at: int) -> Iterator[Value]:
    yield f"stair.{at}.handrail", "auto"


def _guards(row: CheckResult, deck: Deck, at: int) -> Iterator[Value]:
    if not deck.layout.stair_plans[at].guarded:  # else it stops short, and no more of it is what helps
        yield f"stair.{at}.guards", "both"


def _other_hand(row: CheckResult, deck: Deck, at: int) -> Iterator[Value]:
    """Where a handrail on one hand stops short, beside another stair at a corner, the other hand has the room."""
    stair, spot = deck.parameters.stair[at], deck.layout.stair_plans[at].spot
    side, hand = ("start", "right") if stair.handrail == "left" else ("end", "left")
    down = {s for s, _ in spot.posts_down}
    if stair.handrail != "both" and down and side not in down and side in spot.guardable:
        yield f"stair.{at}.handrail", hand


def _side_by_side(row: CheckResult, deck: Deck) -> Iterator[Value]:
    """So far along one edge that the guards of two stairs beside each other stand clear."""
    at = sorted({p.stair for p in deck.parts if p.id in row.ids and p.stair is not None})
    if len(at) == 1:  # a stair that stands in itself, or in what is under the deck
        yield from landings_that_do(deck, at[0])
    spots = sorted((deck.layout.stair_plans[n].spot for n in at), key=lambda s: s.start)
    if len(spots) != 2 or spots[0].edge is not spots[1].edge:
        return
    guard, (first, second) = deck.parameters.guard, spots
    post = max(deck.parameters.stock(guard.post).width, guard.sleeve.size if guard.sleeve else 0.0)
    room = 2 * post + BESIDE_A_FLIGHT
    if first.end + room + second.parameters.width <= second.edge.length:
        yield f"stair.{second.index}.at", up_to(first.end + room)
    elif second.start - room - first.parameters.width >= 0:
        yield f"stair.{first.index}.at", down_to(second.start - room - first.parameters.width)


def _stock(row: CheckResult, deck: Deck, at: int) -> Iterator[Value]:
    wanted = find_named("stringer_stock", deck.parameters.local.edition)
    if wanted is not None:
        yield f"stair.{at}.stringer", wanted.name


def _throat(row: CheckResult, deck: Deck, at: int) -> Iterator[Value]:
    """A deeper stringer, by as much as the throat is short; else a rise whose notch leaves the throat: the depth of a
    notch square to the stringer is rise x going / hypotenuse."""
    stair = deck.parameters.stair[at]
    now, short = deck.parameters.stock(stair.stringer).width, (row.limit or 0.0) - (row.measured or 0.0)
    if deck.layout.stair_plans[at].spot.wrapped:  # all that go round a corner are changed together: `where_it_runs`
        return
    thick = lumber(stair.stringer).thickness
    deeper = [s for s in sold() if s.thickness == thick and s.width >= now + short - 1e-6]
    if deeper:
        yield f"stair.{at}.stringer", min(deeper, key=lambda s: s.width).name
        return
    flight = deck.layout.stair_plans[at].flights[0]
    notch = flight.rise * flight.going / flight.hypotenuse - short
    if 0 < notch < stair.going:
        yield f"stair.{at}.rise", down_to(notch * stair.going / math.sqrt(stair.going**2 - notch**2))
    yield f"stair.{at}.stringer_kind", "solid"


def _stringer_span(row: CheckResult, deck: Deck, at: int) -> Iterator[Value]:
    if deck.parameters.stair[at].carriers == "none":
        yield f"stair.{at}.carriers", "auto"


def _a_landing(row: CheckResult, deck: Deck, at: int) -> Iterator[Value]:
    """Landings that divide the risers evenly, of a stair that has none."""
    if deck.parameters.stair[at].landings:
        return
    flights = deck.layout.stair_plans[at].flights
    risers = sum(f.risers for f in flights)
    highest = math.floor((row.limit or 0.0) / flights[0].rise + 1e-9)
    count = math.ceil(risers / highest)
    yield f"stair.{at}.landings", [{"after_risers": math.ceil(risers * k / count)} for k in range(1, count)]


def _landing_length(row: CheckResult, deck: Deck, at: int) -> Iterator[Value]:
    """A landing deeper by what it is short; at the foot the pad. None where something stands on it, or where it ends
    before its own depth, as a pad at the house's wall does."""
    told = re.match(r"stair \d+(?: flight (\d+))? landing at the (foot|top)", str(row.place))
    stops = deck.parameters.stair[at].landings
    if told is None or row.measured is None or row.limit is None:
        return
    if "stands there" in str(row.why):
        if told[2] == "foot" and int(told[1] or 1) == len(deck.layout.stair_plans[at].flights):
            yield from _clear_of_posts(row, deck, at)
        yield from landings_that_do(deck, at)
        return
    number = int(told[1] or 1) - (1 if told[2] == "foot" else 2)
    if 0 <= number < len(stops):
        yield f"stair.{at}.landings.{number}.depth", up_to(stops[number].depth + row.limit - row.measured)
    elif told[2] == "foot" and AT_THE_WALL in str(row.why):
        yield from _off_the_wall(row, deck, at)
    elif told[2] == "foot" and abs(deck.parameters.stair[at].pad.depth - row.measured) < ITS_OWN:
        yield f"stair.{at}.pad.depth", up_to(deck.parameters.stair[at].pad.depth + row.limit - row.measured)


def _shallower_pad(row: CheckResult, deck: Deck, at: int) -> Iterator[Value]:
    """Of ground that falls in front of a stair so much less pad as makes up for what the drop from it is too high, as
    long as a landing is left."""
    planes, foot = deck.layout.planes, deck.layout.stair_plans[at].flights[-1]
    fall = -(planes.slope_x * foot.out[0] + planes.slope_y * foot.out[1])
    least = find_limit("landing_length_min", deck.parameters.local.edition)
    if fall > 0 and least is not None:
        depth = down_to(deck.parameters.stair[at].pad.depth - ((row.measured or 0.0) - (row.limit or 0.0)) / fall)
        if depth >= float(least.value):
            yield f"stair.{at}.pad.depth", depth


def _off_the_wall(row: CheckResult, deck: Deck, at: int) -> Iterator[Value]:
    """As far along its edge as the landing in front of a last flight that runs along it is short."""
    spot, foot = deck.layout.stair_plans[at].spot, deck.layout.stair_plans[at].flights[-1]
    way = float(foot.out @ spot.edge.direction)
    place = spot.start - way * ((row.limit or 0.0) - (row.measured or 0.0))
    place = down_to(place) if way > 0 else up_to(place)
    if abs(way) > 1 - 1e-6 and 0 <= place <= spot.edge.length - foot.width:
        yield f"stair.{at}.at", place


def _clear_of_posts(row: CheckResult, deck: Deck, at: int) -> Iterator[Value]:
    """The nearest place along its edge at which the strip in front of a stair's lowest riser passes beside the posts
    under the deck that stand in it."""
    spot, foot = deck.layout.stair_plans[at].spot, deck.layout.stair_plans[at].flights[-1]
    way = float(foot.across @ spot.edge.direction)
    if abs(way) < 1 - 1e-6:  # where its last flight runs along the edge it would stay in their line
        return
    taken = []
    for under in deck.layout.footings:
        shapes = [s.square for s in under.stands]
        if under.top > foot.foot - spot.parameters.pad.thickness:  # the pad is cut round it
            shapes.append(under.polygon.buffer(EXPANSION_JOINT))
        for shape in shapes if all(s.stair is None for s in under.stands) else ():
            corners = [foot.position(q) for q in shape.exterior.coords]
            (x0, s0), (x1, s1) = (tuple(f(v) for v in zip(*corners)) for f in (min, max))
            if x0 < foot.run + (row.limit or 0.0) and x1 > foot.run:
                taken.append((s0, s1))
    room, found = spot.edge.length - foot.width, []
    for moved in (m for s0, s1 in taken for m in (s1, s0 - foot.width)):
        place = spot.start + moved * way
        place = up_to(place) if moved * way > 0 else down_to(place)
        now = (place - spot.start) * way
        if 0 <= place <= room and not any(now < s1 - 1e-6 and now + foot.width > s0 + 1e-6 for s0, s1 in taken):
            found.append(place)
    if found:
        yield f"stair.{at}.at", min(found, key=lambda p: abs(p - spot.start))


def _off_the_corner(row: CheckResult, deck: Deck, at: int) -> Iterator[Value]:
    """As much further from the corner that it reaches as the guard post there leaves it too narrow."""
    spot = deck.layout.stair_plans[at].spot
    short, past = (row.limit or 0.0) - (row.measured or 0.0), spot.edge.length - spot.end
    place = down_to(spot.start - short) if past < spot.start else up_to(spot.start + short)
    if 0 <= place <= spot.edge.length - (spot.end - spot.start):
        yield f"stair.{at}.at", place


def _other_landings(row: CheckResult, deck: Deck, at: int) -> Iterator[Value]:
    yield from landings_that_do(deck, at)


# no closed form has the place of a whole stair: what to look at is said
WHERE_IT_RUNS = (
    "headroom",
    "headroom at a landing",
    "landing length",
    "stair width at its head",
    OFF_PAD,
    "guard needed on a stair",
    "stair guard opening",
    "handrail runs the whole flight",
)


NO_OTHER_PLACE = 12.0  # inches: a stair so nearly as wide as its edge has no other place there; our own


def where_it_runs(row: CheckResult, deck: Deck) -> Words:
    """The keys that decide where a stair passes, of a row that only another place of the stair would mend; of a joist
    that no size and no spacing mends those of what carries it."""
    at = _stair_of(row, deck)
    if row.rule == "stringer throat" and at is not None:
        return _rise_round_corner(deck, at)
    if at is None and row.rule.endswith("(calculation)") and str(row.place).startswith("joist"):
        return "a further beam under them would do (frame.beam_lines)"
    if row.rule == OVERLAP:  # of a stair and the deck, or another stair
        found = {p.stair for p in deck.parts if p.id in row.ids}
        at = max((n for n in found if n is not None), default=None) if len(found) > 1 else None
    elif row.rule not in WHERE_IT_RUNS:
        at = None
    if at is None:
        return ""
    spot = deck.layout.stair_plans[at].spot
    if spot.end - spot.start > spot.edge.length - NO_OTHER_PLACE:
        return said("a narrower stair or another edge would do (stair.{at}.width, stair.{at}.edge)", at=at)
    return said("another place would do (stair.{at}.at, stair.{at}.edge, or its landings and their turns)", at=at)


def _rise_round_corner(deck: Deck, at: int) -> Words:
    """One rise of all the stairs that go round a corner, which leaves their hip stringers a throat."""
    spot = deck.layout.stair_plans[at].spot
    rise = rise_at_mitre(deck.layout, spot)
    if not 0 < rise < deck.parameters.stair[at].rise:
        return "a lower rise of all the stairs that go round the corner would do (stair.rise)"
    text = " and ".join(f"stair.{s.index}.rise = {as_toml(rise)}" for s in spot.wrapped)
    return said("{values} would do", values=text)


_OTHERS: dict[str, Callable[[CheckResult, Deck, int], Iterator[Value]]] = {
    "rise": _rise,
    "nosings alike": _nosings_alike,
    "open riser": _closed,
    "handrail needed": _handrail,
    "guard needed on a stair": _guards,
    "handrail runs the whole flight": _other_hand,
    "stair width at its head": _off_the_corner,
    "stringer stock": _stock,
    "stringer throat": _throat,
    "stringer span, cut": _stringer_span,
    "flight's rise between landings": _a_landing,
    "landing length": _landing_length,
    OFF_PAD: _shallower_pad,
    "headroom": _other_landings,
    "headroom at a landing": _other_landings,
}


def _ledger_size(deck: Deck) -> Iterator[Value]:
    wanted = find_named("ledger_min_size", deck.parameters.local.edition)
    if wanted is not None:
        yield "frame.ledger", wanted.name


def _blocked(deck: Deck) -> Iterator[Value]:
    yield "frame.blocking_at_beams", True


def _nearer_on_ledger(row: CheckResult, deck: Deck) -> Iterator[Value]:
    """The spacing of the table, or that at which one fastener holds its share: down to quarters."""
    now = deck.parameters.hardware.ledger_spacing
    if now is None or not row.measured or row.limit is None:
        return
    value = row.limit if row.unit == "in" else math.floor(4 * now * row.limit / row.measured + 1e-9) / 4
    if LEAST_APART <= value < now:
        yield "hardware.ledger_spacing", value


def _notched(row: CheckResult, deck: Deck) -> Iterator[Value]:
    """No notch, or a post thicker by as much as it or the wood beside the notch is short."""
    yield "frame.beam_seat", "post cap"
    now = deck.parameters.stock(deck.parameters.frame.post).width
    for size in POSTS:
        if lumber(size).width >= now + (row.limit or 0.0) - (row.measured or 0.0) - 1e-6:
            yield "frame.post", size
            return


def _ledger_depth(deck: Deck) -> Iterator[Value]:
    """As deep as the joists that hang on it."""
    yield "frame.ledger", deck.parameters.frame.joist


def _treated(deck: Deck) -> Iterator[Value]:
    wanted = find_named("ground_contact_use_category_min", deck.parameters.local.edition)
    if wanted is not None:
        yield "lumber.treatment", wanted.name


def _clear_span(row: CheckResult, deck: Deck) -> Iterator[Value]:
    """What lies between two joists, less by as much as the board's clear span is over."""
    p, ratio = deck.parameters, (row.measured or 0.0) / (row.limit or 1.0)
    t, spacing = p.stock(p.frame.joist).thickness, deck.layout.joist_spacing
    if ratio > 1:
        yield "frame.joist_spacing", down_to(t + (spacing - t) / ratio)


def _posts_apart(row: CheckResult, deck: Deck) -> Iterator[Value]:
    """As far apart as they may stand; where the file asks for no more, what it would have to ask for."""
    now = deck.parameters.guard.post_spacing
    if row.rule == AS_FAR_APART:
        yield "guard.post_spacing", up_to(row.measured or now)
    elif row.limit is not None and now > row.limit:
        yield "guard.post_spacing", _the_limit(row, now)


def _braces(deck: Deck) -> Iterator[Value]:
    """Braces, where the file leaves them out; boards that stiffen a deck on a ledger in their place, where it does
    not."""
    if deck.parameters.frame.knee_braces is False:
        yield "frame.knee_braces", True
    elif any(p.role == "ledger" for p in deck.parts):
        along = math.degrees(math.atan2(*reversed(deck.layout.along.tolist())))
        yield "surface.direction", round((along + 135.0) % 180.0 - 90.0, 6)


_OF_THE_FRAME: dict[str, Callable[[Deck], Iterator[Value]]] = {
    "ledger size": _ledger_size,
    "ledger depth": _ledger_depth,
    "blocking over beams": _blocked,
    "diagonal bracing": _braces,
    "treatment category": _treated,
}


def _guard_needed(row: CheckResult, deck: Deck) -> Iterator[Value]:
    """The edges that are guarded, and this one."""
    told = re.match(r"stair (\d+) flight (\d+) landing at the foot", str(row.place))
    stops = deck.layout.stair_plans[int(told[1]) - 1].landings if told else ()
    if told and int(told[2]) <= len(stops) and (stop := stops[int(told[2]) - 1]).turn == "back" and stop.rim_plies > 1:
        yield f"stair.{int(told[1]) - 1}.landings.{stop.index}.rim_plies", 1
    edge = re.match(r"(.+) edge$", str(row.place))
    now = deck.parameters.guard.edges
    if edge and now is not None and edge[1] not in now:
        yield "guard.edges", [*now, edge[1]]
    elif edge:
        yield from at_the_wall(deck, edge[1])
