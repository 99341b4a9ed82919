"""Fasteners and hardware counted from where the solids touch, rounded up to the packs they are sold in.

How many at each place, and the packs, are in `shared/data/fasteners.csv`. The places are the contacts: a crossing is a
board that bears on a joist, rim or blocking that runs across it. Plies side by side are one support. What is held along
its whole length (fascia, skirt, plies) is counted in rows by the length. Every kind of contact of the demos is either
counted here or named, with the reason why not, in `tests/model/order/test_contact_fasteners.py`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, reduce

import numpy as np

from ...shared.practice import estimate
from ...shared.said import Words, quoting
from ...shared.standards import table
from ..measuring.board_edges import grooved, neighbours
from ..measuring.carriers import BUTTS, in_hanger, standing_rims
from ..measuring.contacts import Contact
from ..measuring.flight_seen import BEARS_TREADS, MITRED
from ..measuring.measure import Measured
from ..measuring.notched_seat import notched_seats
from ..solid.roles import ROLES, named
from ..structure.cleat_checks import CLEAT_ROWS

SURFACE_ROLES, TAKES_SCREWS = named("walked"), named("takes screws")
TAPED, PLIES = named("taped"), named("plies")
BAG_YIELD = estimate("yield of a bag of concrete") * 1728  # cubic inches
_ACROSS = 0.94  # cosine: a support within 20 degrees of the board's own direction is along it, not across
_PLIES = 2.0  # inches along a board within which two supports are plies of one
_HAND = (
    6.1  # inches from a handrail within which a post beside it takes a bracket: the most clearance a file may ask for
)
_LEAST = 0.5  # square inches: a smaller bearing takes no screw


@dataclass(frozen=True)
class Rule:
    """`each` at every place, sold `pack` at a time as `pack_name`; `places` says in words where they go. Of those in a
    line: `end` from its ends and `rows` apart, both in inches; `diameter` in inches where a published row names it."""

    item: str
    each: float
    unit: str
    pack: float
    pack_name: str
    places: Words
    source: Words
    end: float | None = None
    rows: float | None = None
    diameter: float | None = None


@dataclass(frozen=True)
class HardwareItem:
    """`places` counted, `count` needed (in `rule.unit`), `packs` to buy."""

    rule: Rule
    places: float
    count: float
    packs: int

    @property
    def item(self) -> str:
        return self.rule.item


@cache
def rules() -> dict[str, Rule]:
    """The data, by item, in the order of the file."""
    return {
        r["item"]: Rule(
            r["item"],
            float(r["each"]),
            r["unit"],
            float(r["pack"]),
            r["pack_name"],
            _told(r, "for"),
            _told(r, "source"),
            *(float(r[k]) if r[k] else None for k in ("end_in", "rows_in", "diameter_in")),
        )
        for r in table("fasteners")
    }


def _told(r: dict[str, str], column: str) -> Words:
    """A text of the data, the row's own distances in it."""
    own = {f"{{{k}}}": f"{{{r[f'{k}_in']} in}}" for k in ("end", "rows", "diameter")}
    return quoting(reduce(lambda text, name: text.replace(name, own[name]), own, r[column]))


def in_rows(item: str, length: float) -> int:
    """Rows of a fastener along `length` inches, by the data's distances from the ends and between rows."""
    rule = rules()[item]
    assert rule.rows is not None, f"{item} stands in no row"
    return math.ceil(max(0.0, length - 2 * (rule.end or 0.0)) / rule.rows - 1e-9) + 1


def fasteners(
    measured: Sequence[Measured],
    contacts: Iterable[Contact],
    fastening: str = "hidden",
    ledger_spacing: float | None = None,
    spare: float = 0.0,
    hold_downs: int = 0,
) -> list[HardwareItem]:
    """Every item of the data of which the deck needs any.

    `contacts` are those of the same parts in the same order. `fastening` as in the parameter file: "hidden" clips the
    grooved field boards. `ledger_spacing` is the published one for the joist span (inches); without it ledger fasteners
    are not counted. `spare` is a share added before rounding up to packs. `hold_downs` tie joists back to the house.
    """
    contacts = list(contacts)
    places: Counter[str] = Counter()
    places.update(_surface(measured, contacts, fastening))
    places.update(_trim_and_stairs(measured, contacts))
    places.update(_frame(measured, contacts))
    places.update(_guards(measured, contacts))
    places.update(_by_row(contacts))
    places["hold-down"] = hold_downs
    if ledger_spacing:
        for m in measured:
            if m.role == "ledger":
                places["ledger fastener"] += math.ceil(m.length / ledger_spacing - 1e-9) + 1
    out = []
    for item, rule in rules().items():
        if places[item] > 0:
            count = places[item] * rule.each
            out.append(HardwareItem(rule, places[item], count, math.ceil(count * (1 + spare) / rule.pack - 1e-9)))
    return out


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
            if abs(axis @ measured[c.j].axis) < _ACROSS:
                found.setdefault(c.i, []).append(float(np.dot(axis, c.point)))
    return [Crossing(i, at) for i, spots in sorted(found.items()) for at in _merged(spots)]


def _merged(spots: list[float]) -> list[float]:
    """The middle of each group of places that are no further apart than plies: the same from either end."""
    groups: list[tuple[float, float]] = []
    for at in sorted(spots):
        if groups and at - groups[-1][1] <= _PLIES:
            groups[-1] = groups[-1][0], at
        else:
            groups.append((at, at))
    return [(first + last) / 2 for first, last in groups]


def _met(places: Sequence[float], others: Sequence[float], start: float, end: float) -> int:
    """How many places from start to end lie beside one of the others, no further than plies."""
    return sum(any(abs(a - b) < _PLIES for b in others) for a in places if start - 1 <= a <= end + 1)


def _surface(measured: Sequence[Measured], contacts: list[Contact], fastening: str) -> Counter:
    places: Counter[str] = Counter()
    cross = crossings(measured, contacts)
    index = [i for i, m in enumerate(measured) if m.role == "board"]
    boards = [measured[i] for i in index]
    pairs = neighbours(boards)
    clipped = grooved(boards, pairs) if fastening == "hidden" else [False] * len(boards)
    held = {index[k] for k, g in enumerate(clipped) if g}
    places["deck screw"] += sum(c.board not in held for c in cross)
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
            places["hidden clip" if kinds == 2 else "start clip"] += shared
    along = rules()["deck screw"].rows
    assert along is not None, "the data gives deck screws a distance along a border"
    for c in contacts:  # a border along its rim or blocking: screwed at the joists' rhythm
        if c.kind == "bearing" and c.a.role in ("border", "breaker") and c.b.role in TAKES_SCREWS and c.area >= _LEAST:
            axis = measured[c.i].axis
            if abs(axis @ measured[c.j].axis) >= _ACROSS:
                run = abs(np.subtract(c.high, c.low) @ np.abs(axis))
                places["deck screw"] += (math.floor(run / along + 1e-9) + 1) / 2  # one screw, half a crossing's two
    places["deck screw"] = math.ceil(places["deck screw"])
    return places


def _trim_and_stairs(measured: Sequence[Measured], contacts: list[Contact]) -> Counter:
    places: Counter[str] = Counter()
    for m in measured:
        if m.role in ("fascia", "skirt"):
            places["fascia screw"] += in_rows("fascia screw", m.length)
        if m.role == "stringer":
            places["stringer connector"] += 1
    cleats, on = set(), set()
    nailed = {m.id for c in contacts for m in (c.a, c.b) if c.a.role in BEARS_TREADS or c.b.role in BEARS_TREADS}
    for m in measured:
        if m.role == "riser" and m.id not in nailed:  # the riser of one step, on the rim
            places["fascia screw"] += in_rows("fascia screw", m.length)
    for c in contacts:
        roles = {c.a.role, c.b.role}
        if roles & {"tread", "riser"} and roles & set(BEARS_TREADS):
            on.add(tuple(sorted((c.i, c.j))))
        elif roles == {"tread blocking", "stringer"}:  # a cleat lies along its stringer, a block ends at two of them
            places["framing screw"] += CLEAT_ROWS if c.kind == "side" else 1
            if c.kind == "side":
                cleats.add(c.i if c.a.role == "tread blocking" else c.j)
        elif roles & {"hip block", "jack block"} and roles & {*MITRED, *ROLES["hip block"].carriers}:
            places["hip block screw"] += 1
        elif roles in ({"tread blocking", "step frame"}, {"step frame"}):
            places["framing screw"] += 2
        elif c.b.role == "pad" and c.a.role in (*BEARS_TREADS, "guard post"):
            places["pad anchor"] += 1
        elif (c.a.role, c.b.role) in (("stair header", "pad"), ("pad", "stair header")) and c.kind == "side":
            places["header anchor"] += in_rows("header anchor", math.dist(c.low[:2], c.high[:2]))
    # a tread on a cleat is counted with the stringer the cleat is on
    on |= {
        (c.i, c.j)
        for c in contacts
        if c.kind == "bearing" and (c.a.role, c.b.role) == ("tread", "tread blocking") and c.j not in cleats
    }
    places["tread screw"] += len(on)
    return places


def hung(measured: Sequence[Measured], contacts: Iterable[Contact]) -> list[Contact]:
    """Where ends of joists and of rims hang on ledgers, on beams, or on rims that are beams: each takes a hanger.
    `contacts` as in `fasteners`."""
    stood, found = standing_rims(measured), []
    for c in contacts:
        a, b = c.a.role, c.b.role
        standing = measured[c.j].id in stood and measured[c.j].id in measured[c.i].carried_by
        # rims mitred on one another are nailed
        mitred = a == b == "rim" and abs(float(np.dot(c.normal, measured[c.i].axis))) <= BUTTS
        if c.kind == "end" and in_hanger(a, b, standing) and not mitred:
            found.append(c)
    return found


def hanger_ends(measured: Sequence[Measured], hanging: Iterable[Contact]) -> dict[tuple[int, float], Contact]:
    """Of what is `hung` the ends that take a hanger, each once (position in `measured`, inches along it): an end over
    the joint of a spliced rim or beam meets both its pieces."""
    ends: dict[tuple[int, float], Contact] = {}
    for c in hanging:
        ends.setdefault((c.i, round(float(np.dot(measured[c.i].axis, c.point)), 1)), c)
    return ends


def _frame(measured: Sequence[Measured], contacts: list[Contact]) -> Counter:
    places: Counter[str] = Counter()
    at_hangers = hung(measured, contacts)
    hanging, hangers = {id(c) for c in at_hangers}, set(hanger_ends(measured, at_hangers))
    tied: dict[int, list[float]] = {}
    capped: set[int] = set()
    headers = {
        frozenset((c.i, c.j))
        for c in contacts
        if c.kind == "side" and {c.a.role, c.b.role} == {"blocking", "stair header"}
    }
    cleats = {
        k for pair in headers for k in pair if measured[k].role == "blocking"
    }  # which hold a stair header under the rim
    places["framing screw"] += len(headers)
    notched = notched_seats(contacts)
    for c in contacts:
        a, b = c.a.role, c.b.role
        if c.kind == "end":
            if id(c) in hanging:
                continue
            if a == "border blocking":
                places["angle pair"] += 1
            elif a in ("blocking", "post blocking") or (a, b) in (
                ("joist", "rim"),
                ("rim", "rim"),
                ("stair header", "post"),
            ):
                places["framing screw"] += 1
        elif c.kind == "bearing" and a in ("joist", "rim") and b == "beam":
            tied.setdefault(c.i, []).append(float(np.dot(measured[c.i].axis, c.point)))
        elif c.kind == "bearing" and a in ("beam", "rim") and b == "post" and c.b.id not in notched:
            capped.add(c.j)
        elif c.kind == "side" and {a, b} == {"rim", "blocking"} and cleats & {c.i, c.j}:
            places["framing screw"] += 1
        elif c.kind == "side" and a == b and a in PLIES and abs(measured[c.i].axis @ measured[c.j].axis) > _ACROSS:
            run = float(np.abs(measured[c.i].axis) @ np.subtract(c.high, c.low))
            places["ply nail"] += in_rows("ply nail", run)
        elif c.kind == "side" and {a, b} == {"joint cleat", "joist"}:
            run = float(np.abs(measured[c.i].axis) @ np.subtract(c.high, c.low))
            places["cleat screw"] += in_rows("cleat screw", run)
    doubled = _hung_together(measured, contacts, hangers)
    places["doubled joist hanger"] += doubled
    places["joist hanger"] += len(hangers) - 2 * doubled
    places["beam tie"] += sum(len(_merged(spots)) for spots in tied.values())
    places["beam cap"] += len(capped)
    places["post bolt"] += len(notched)
    places["post base"] += sum(m.role == "post" for m in measured)
    places["joist tape"] += math.ceil(math.fsum(m.length for m in measured if m.role in TAPED))
    concrete = math.fsum(m.volume for m in measured if m.role in named("concrete"))
    places["concrete bag"] += math.ceil(concrete / BAG_YIELD - 1e-9)
    return places


def _hung_together(measured: Sequence[Measured], contacts: list[Contact], hangers: set[tuple[int, float]]) -> int:
    """Of the joists' ends that hang, how many pairs lie side by side: one hanger takes both."""
    ends = 0
    for c in contacts:
        if c.kind == "side" and c.a.role == c.b.role == "joist" and measured[c.i].axis @ measured[c.j].axis > _ACROSS:
            ends += sum(any(n == c.j and abs(at - u) < _PLIES for n, u in hangers) for k, at in hangers if k == c.i)
    return ends


def _guards(measured: Sequence[Measured], contacts: list[Contact]) -> Counter:
    places: Counter[str] = Counter()
    for m in measured:
        if m.role == "guard post":
            places["guard-post bolt"] += 1
        elif m.role in ("post cap", "post sleeve"):
            places[m.role] += 1
        elif m.role == "foot block":
            places["foot-block screw"] += 1
    places["handrail bracket"] += _brackets(measured)
    for c in contacts:
        roles = {c.a.role, c.b.role}
        if roles & {"guard post", "post sleeve"} and roles & {"top rail", "bottom rail"}:
            places["rail bracket"] += 1
        elif "baluster" in roles and roles & {"top rail", "bottom rail"}:
            places["baluster screw"] += 1
    return places


def _by_row(contacts: list[Contact]) -> Counter:
    """What the rows of the roles ask for: so many of an item at each contact with a piece of one of those roles."""
    places: Counter[str] = Counter()
    for c in contacts:
        for own, other in ((c.a.role, c.b.role), (c.b.role, c.a.role)):
            for item, roles in ROLES[own].fastened or ():
                places[item] += other in roles
    return places


def _brackets(measured: Sequence[Measured]) -> int:
    """One for every post that a handrail passes or ends at: a post and its sleeve are one place, a return is its rail's
    end."""
    posts = [m for m in measured if m.role in ("guard post", "post sleeve")]
    found = set()
    for rail in measured:
        if rail.role == "handrail":
            for post in posts:
                gap = np.maximum(post.box[0] - rail.box[1], rail.box[0] - post.box[1])
                if gap.max() <= _HAND and (gap > 1e-6).sum() <= 1:
                    found.add((rail.part.where, *np.round(post.box.mean(axis=0)[:2], 1).tolist()))
    return len(found)
