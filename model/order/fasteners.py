"""Fasteners and hardware counted from where the solids touch, rounded up to the packs they are sold in.

How many at each place, and the packs, are in `shared/data/fasteners.csv`. The places are the contacts: a crossing is a
board that bears on a joist, rim or blocking that runs across it. Plies side by side are one support. What is held along
its whole length (fascia, skirt, plies) is counted in rows by the length. Every kind of contact of the demos is either
counted here or named, with the reason why not, in `tests/model/order/test_contact_fasteners.py`.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ...shared.said import Words, said
from ...shared.said import size as size_of
from ...shared.stock import KIT, square_size
from ..measuring.board_edges import grooved, neighbours
from ..measuring.contacts import Contact
from ..measuring.flight_seen import BEARS_TREADS, MITRED
from ..measuring.loose_ends import strapped_headers, touching
from ..measuring.measure import Measured
from ..measuring.notched_seat import notched_seats
from ..solid.part import Part
from ..solid.roles import ROLES, named
from ..structure.cleat_checks import CLEAT_ROWS
from .already_there import new_of
from .bolt_sizes import AskedOf, brace_screws, guard_post_bolts, post_bolts
from .deliveries import needed_first
from .hangers import ALONG_IT, PLY_REACH, hanger_ends, hangers_counted, hung
from .hardware_rules import HardwareItem, Rule, SizedCount, in_rows, rules
from .kit_order import KitPlaces
from .ledger_places import bored, joists_on
from .sheet_counts import SheetCounts
from .supplies import fastened_with, supplies
from .tally import Placed, Tally, served, total

SURFACE_ROLES, TAKES_SCREWS = named("walked"), named("takes screws")
PLIES = named("plies")
HOLDS_RAILS = set(named("holds rails"))
_NO_KIT, _NO_SHEET = KitPlaces(), SheetCounts()
_HAND = (
    6.1  # inches from a handrail within which a post beside it takes a bracket: the most clearance a file may ask for
)
_LEVEL = 0.05  # of one: a rail that falls less than 3 degrees is level
_AS_USUAL = AskedOf()
_LEAST = 0.5  # square inches: a smaller bearing takes no screw


def fasteners(
    measured: Sequence[Measured],
    contacts: Iterable[Contact],
    fastening: str = "hidden",
    ledger_spacing: float | None = None,
    spare: float = 0.0,
    hold_downs: Sequence[Part] = (),
    stands: frozenset[str] = frozenset(),
    asked: AskedOf = _AS_USUAL,
    kit: KitPlaces = _NO_KIT,
    sheet: SheetCounts = _NO_SHEET,
) -> list[HardwareItem]:
    """Every item of the data of which the deck needs any.

    `contacts` are those of the same parts in the same order. `fastening` as in the parameter file: "hidden" clips the
    grooved field boards. `ledger_spacing` is the published one for the joist span (inches); without it ledger fasteners
    are not counted. `spare` is a share added before rounding up to packs. `hold_downs` are the joists tied back to the
    house; `stands` the ids of pieces that stand already, between which no contact is given; `asked` what is asked of
    hardware that is bought by strength; `kit` what a guard's kit brings; `sheet` what the maker of the boards asks for.
    Last what goes with all that: what holds the connectors, and supplies.
    """
    contacts = list(contacts)
    tally = Tally()
    for room in (
        _surface(measured, contacts, fastening, sheet),
        _trim_and_stairs(measured, contacts, sheet),
        _frame(measured, contacts),
        _side_by_side(measured, contacts),
        _posts(measured, contacts, stands),
        _guards(measured, contacts, stands, asked, kit),
        _by_row(measured, contacts),
    ):
        tally.placed += room.placed
    for joist in hold_downs:
        tally.add("hold-down", 1, joist, size=asked.size("hold-down"))
    if ledger_spacing:
        for m in measured:
            if m.role == "ledger" and m.id not in stands:
                places = bored(m.length, joists_on(m, contacts), ledger_spacing)
                tally.add("ledger fastener", len(places), m, size=asked.ledger_size(m.stock.thickness))
    tally.placed += supplies(new_of(measured, stands), tally).placed + fastened_with(tally).placed
    return [_item(kit.of(rule), placed, spare, sheet) for item, rule in rules().items() if (placed := tally.of(item))]


def _item(rule: Rule, placed: Sequence[Placed], spare: float, sheet: SheetCounts) -> HardwareItem:
    """All places of one item, by size, in packs of each."""
    rule, least = sheet.of(rule), sheet.least_packs(rule.item, placed)
    placed = sheet.placed(rule, placed)
    heaps: dict[Words, list[Placed]] = {}
    for p in placed:
        heaps.setdefault(p.size, []).append(p)
    sized = []
    for size, heap in sorted(heaps.items(), key=lambda h: str(h[0])):
        count = total(heap) * rule.each
        packs = max(math.ceil(count * (1 + spare) / rule.pack - 1e-9), least)
        first = needed_first(x.role for p in heap for x in p.pieces)
        sized.append(SizedCount(size, count, packs, served(heap), first, heap[0].long))
    held: defaultdict[tuple[int, str], float] = defaultdict(float)
    for p in placed:
        if p.on:
            held[p.each, p.on] += p.places / p.each
    return HardwareItem(
        rule,
        total(placed),
        total(placed) * rule.each,
        sum(s.packs for s in sized),
        tuple(sized),
        tuple((each, float(round(n)), on) for (each, on), n in sorted(held.items(), key=lambda h: (h[0][1], h[0][0]))),
    )


@dataclass(frozen=True)
class Crossing:
    """A board (position in the list measured) over a support at `at` inches along the board's axis from the world
    origin."""

    board: int
    at: float


def crossings(measured: Sequence[Measured], contacts: Iterable[Contact]) -> list[Crossing]:
    """Every place where a surface board bears on something that runs across it, plies counted once."""
    found: dict[int, list[float]] = {}
    for c in contacts:
        if c.kind == "bearing" and c.a.role in SURFACE_ROLES and c.b.role in TAKES_SCREWS and c.area >= _LEAST:
            axis = measured[c.i].axis
            if abs(axis @ measured[c.j].axis) < ALONG_IT:
                found.setdefault(c.i, []).append(float(np.dot(axis, c.point)))
    return [Crossing(i, at) for i, spots in sorted(found.items()) for at in _merged(spots)]


def _merged(spots: list[float]) -> list[float]:
    """The middle of each group of places that are no further apart than plies: the same from either end."""
    groups: list[tuple[float, float]] = []
    for at in sorted(spots):
        if groups and at - groups[-1][1] <= PLY_REACH:
            groups[-1] = groups[-1][0], at
        else:
            groups.append((at, at))
    return [(first + last) / 2 for first, last in groups]


def _met(places: Sequence[float], others: Sequence[float], start: float, end: float) -> int:
    """How many places from start to end lie beside one of the others, no further than plies."""
    return sum(any(abs(a - b) < PLY_REACH for b in others) for a in places if start - 1 <= a <= end + 1)


def _surface(measured: Sequence[Measured], contacts: list[Contact], fastening: str, sheet: SheetCounts) -> Tally:
    tally = Tally()
    cross = crossings(measured, contacts)
    index = [i for i, m in enumerate(measured) if m.role == "board"]
    boards = [measured[i] for i in index]
    pairs = neighbours(boards)
    clipped = grooved(boards, pairs) if fastening == "hidden" else [False] * len(boards)
    held = {index[k] for k, g in enumerate(clipped) if g}
    for over in cross:
        if over.board not in held:
            tally.add("deck screw", sheet.crossing(measured[over.board].role), measured[over.board])
    at: dict[int, list[float]] = {}
    for over in cross:
        at.setdefault(over.board, []).append(over.at)
    for p in pairs:
        kinds = clipped[p.i] + clipped[p.j]
        if kinds:
            u = np.array(p.axis)
            # the neighbour's own crossings, read along this board's axis, whichever way it points
            flip = 1.0 if u @ boards[p.j].axis > 0 else -1.0
            ours = [x * (1.0 if u @ boards[p.i].axis > 0 else -1.0) for x in at.get(index[p.i], [])]
            theirs = [flip * x for x in at.get(index[p.j], [])]
            shared = min(_met(ours, theirs, p.start, p.end), _met(theirs, ours, p.start, p.end))
            tally.add("hidden clip" if kinds == 2 else "start clip", shared, boards[p.i], boards[p.j])
    for c in contacts:  # a border along its rim or blocking: screwed at the joists' rhythm
        if c.kind == "bearing" and c.a.role in ("border", "breaker") and c.b.role in TAKES_SCREWS and c.area >= _LEAST:
            axis = measured[c.i].axis
            if abs(axis @ measured[c.j].axis) >= ALONG_IT:
                run = abs(np.subtract(c.high, c.low) @ np.abs(axis))
                tally.add("deck screw", sheet.along(float(run)), c.a)
    return tally


def _trim_and_stairs(measured: Sequence[Measured], contacts: list[Contact], sheet: SheetCounts) -> Tally:
    tally = Tally()
    for m in measured:
        if m.role in ("fascia", "skirt"):
            rows = sheet.fascia(m.length) if m.role == "fascia" else in_rows("fascia screw", m.length)
            tally.add("fascia screw", rows, m)
        if m.role == "stringer":
            tally.add("stringer connector", 1, m)
    cleats, on = set(), set()
    nailed = {m.id for c in contacts for m in (c.a, c.b) if c.a.role in BEARS_TREADS or c.b.role in BEARS_TREADS}
    for m in measured:
        if m.role == "riser" and m.id not in nailed:  # the riser of one step, on the rim
            tally.add("fascia screw", in_rows("fascia screw", m.length), m)
    for c in contacts:
        roles = {c.a.role, c.b.role}
        if roles & {"tread", "riser"} and roles & set(BEARS_TREADS):
            on.add(tuple(sorted((c.i, c.j))))
        elif roles == {"tread blocking", "stringer"}:  # a cleat lies along its stringer, a block ends at two of them
            tally.add("framing screw", CLEAT_ROWS if c.kind == "side" else 1, c.a if c.b.role == "stringer" else c.b)
            if c.kind == "side":
                cleats.add(c.i if c.a.role == "tread blocking" else c.j)
        elif roles & {"hip block", "jack block"} and roles & {*MITRED, *ROLES["hip block"].carriers}:
            tally.add("hip block screw", 1, c.a, c.b)
        elif roles in ({"tread blocking", "step frame"}, {"step frame"}):
            tally.add("framing screw", 2, c.a)
        elif c.b.role == "pad" and c.a.role in (*BEARS_TREADS, "guard post"):
            tally.add("pad anchor", 1, c.a)
        elif (c.a.role, c.b.role) in (("stair header", "pad"), ("pad", "stair header")) and c.kind == "side":
            header = c.a if c.a.role == "stair header" else c.b
            tally.add("header anchor", in_rows("header anchor", math.dist(c.low[:2], c.high[:2])), header)
    # a tread on a cleat is counted with the stringer the cleat is on
    on |= {
        (c.i, c.j)
        for c in contacts
        if c.kind == "bearing" and (c.a.role, c.b.role) == ("tread", "tread blocking") and c.j not in cleats
    }
    for pair in on:
        tally.add(
            "tread screw", sheet.on_stringer, *(measured[k] for k in pair if measured[k].role in ("tread", "riser"))
        )
    return tally


def _frame(measured: Sequence[Measured], contacts: list[Contact]) -> Tally:
    tally = Tally()
    at_hangers = hung(measured, contacts)
    hanging = {id(c) for c in at_hangers}
    tied: dict[int, list[float]] = {}
    for c in contacts:
        a, b = c.a.role, c.b.role
        if c.kind == "end" and id(c) not in hanging:
            if a == "border blocking":
                tally.add("angle pair", 1, c.a)
            elif a in ("blocking", "post blocking") or (a, b) in (
                ("joist", "rim"),
                ("rim", "rim"),
                ("stair header", "post"),
            ):
                tally.add("framing screw", 1, c.a)
        elif c.kind == "bearing" and a in ("joist", "rim") and b == "beam":
            tied.setdefault(c.i, []).append(float(np.dot(measured[c.i].axis, c.point)))
    tally.placed += hangers_counted(measured, contacts, hanger_ends(measured, at_hangers))
    for i, spots in tied.items():
        tally.add("beam tie", len(_merged(spots)), measured[i])
    at_headers = touching(c for c in contacts if "stair header" in (c.a.role, c.b.role))
    for k, length in strapped_headers([m.part for m in measured], at_headers):
        tally.add("strap tie", max(2, in_rows("strap tie", length)), measured[k])
    return tally


def _side_by_side(measured: Sequence[Measured], contacts: list[Contact]) -> Tally:
    """What lies along one another in the frame: plies, cleats of butt joints, cleats that hold a stair header."""
    tally = Tally()
    sides = [c for c in contacts if c.kind == "side"]
    headers = {frozenset((c.i, c.j)) for c in sides if {c.a.role, c.b.role} == {"blocking", "stair header"}}
    cleats = {k for pair in headers for k in pair if measured[k].role == "blocking"}  # under the rim
    for pair in headers:
        tally.add("framing screw", 1, *(measured[k] for k in pair))
    for c in sides:
        a, b = c.a.role, c.b.role
        run = float(np.abs(measured[c.i].axis) @ np.subtract(c.high, c.low))
        if {a, b} == {"rim", "blocking"} and cleats & {c.i, c.j}:
            tally.add("framing screw", 1, c.a)
        elif a == b and a in PLIES and abs(measured[c.i].axis @ measured[c.j].axis) > ALONG_IT:
            tally.add("ply nail", in_rows("ply nail", run), c.a, c.b)
        elif {a, b} == {"joint cleat", "joist"}:
            tally.add("cleat screw", in_rows("cleat screw", run), c.a if a == "joint cleat" else c.b)
    return tally


def _posts(measured: Sequence[Measured], contacts: list[Contact], stands: frozenset[str]) -> Tally:
    """A base under each post, a cap over it where a beam or a landing's rim bears on it, bolts where it is notched; on
    a deck so low that beams lie in the bases themselves, these."""
    tally = Tally()
    low = {c.j for c in contacts if c.kind == "bearing" and c.a.role in ("beam", "rim") and c.b.role == "post base"}
    notched = notched_seats(contacts)
    capped = {
        c.j
        for c in contacts
        if c.kind == "bearing" and c.a.role in ("beam", "rim") and c.b.role == "post" and c.b.id not in notched
    }
    bolts = post_bolts(measured, contacts)
    for i, m in enumerate(measured):
        if m.role == "post" and m.id not in stands:
            tally.add("post base", 1, m, size=m.stock.name)
            tally.add("post bolt", m.id in notched, m, size=bolts.get(i, ""))
            tally.add("beam cap", i in capped, m, size=m.stock.name)
        elif m.role == "post base" and i in low and m.id not in stands:
            tally.add("post base", 1, m, size=square_size(m.stock.width))
    return tally


def _guards(
    measured: Sequence[Measured], contacts: list[Contact], stands: frozenset[str], asked: AskedOf, kit: KitPlaces
) -> Tally:
    """What a kit brings itself (`kit`) is not counted again; its balusters stand in holes."""
    tally, of_kit = Tally(list(kit.placed)), {p.item for p in kit.placed}
    bolts = guard_post_bolts(measured, contacts)
    for i, m in enumerate(measured):
        if m.role == "guard post" and m.id not in stands:
            tally.add("guard-post bolt", 1, m, size=bolts.get(i, ""))
            tally.add("tension device", 1, m, size=asked.size("tension device"))
        elif m.role in ("post cap", "post sleeve") and m.role not in of_kit:
            tally.add(m.role, 1, m, size=_outer_size(m))
        elif m.role == "foot block" and m.stock.material != KIT:
            tally.add("foot-block screw", 1, m)
    for rail in _brackets(measured):
        tally.add("handrail bracket", 1, rail)
    for c in contacts:
        roles = {c.a.role, c.b.role}
        if roles & HOLDS_RAILS and roles & {"top rail", "bottom rail"}:
            held = measured[c.i if c.a.role in ("top rail", "bottom rail") else c.j]
            how = "level" if abs(float(held.axis[2])) < _LEVEL else "on a stair"
            what = said(f"{{rail}} {how}, with its screws", rail=held.stock.called or held.stock.name)
            tally.add("rail bracket", 1, held, size=what)
        elif "baluster" in roles and roles & {"top rail", "bottom rail"} and c.a.stock.material != KIT:
            tally.add("baluster screw", 1, c.a if c.a.role == "baluster" else c.b)
    return tally


def _outer_size(m: Measured) -> Words:
    """A cap or sleeve as it is bought: across, and of what."""
    return said("{wide} square, {material}", wide=size_of(m.stock.width), material=m.stock.material)


def _by_row(measured: Sequence[Measured], contacts: list[Contact]) -> Tally:
    """What the rows of the roles ask for: so many of an item at each contact with a piece of one of those roles."""
    tally = Tally()
    screws = brace_screws(measured, contacts)
    for c in contacts:
        for i, own, other in ((c.i, c.a, c.b), (c.j, c.b, c.a)):
            for item, roles in ROLES[own.role].fastened or ():
                tally.add(item, other.role in roles, own, size=screws.get(i, "") if item == "brace lag screw" else "")
    return tally


def _brackets(measured: Sequence[Measured]) -> list[Measured]:
    """The rail, once for every post that a handrail passes or ends at: a post and its sleeve are one place, a return
    is its rail's end."""
    posts = [m for m in measured if m.role in ("guard post", "post sleeve")]
    found: dict[tuple, Measured] = {}
    for rail in measured:
        if rail.role == "handrail":
            for post in posts:
                gap = np.maximum(post.box[0] - rail.box[1], rail.box[0] - post.box[1])
                if gap.max() <= _HAND and (gap > 1e-6).sum() <= 1:
                    found.setdefault((rail.part.where, *np.round(post.box.mean(axis=0)[:2], 1).tolist()), rail)
    return list(found.values())
