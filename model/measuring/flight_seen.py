"""The flights of a stair as the solids show them: what is walked on, in which direction, and between which sides.

Treads are found by their level; the direction of travel is that of the stringers they rest on. `stair` and `role` only
say which pieces belong together. Inches. `DeckSeen.flights` is the door: rules, sheets, cards and pictures ask there.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import Polygon

from ...shared.points import Vector
from ..solid.roles import named
from .measure import Measured

LEAST_RISING = 1e-6  # of a unit vector: an axis with less up or along it is level or plumb
STRIDE = 12.0  # inches looked at before and behind an edge from which one steps down; our own
SAME_LEVEL = 1e-3  # inches: pieces whose tops agree this closely are one tread
WALKED = named("walked")
MITRED = named("mitred steps")
BEARS_TREADS = (*named("stringer"), "step frame")


@dataclass(frozen=True, eq=False)
class Step:
    """One walked level of a flight: its pieces, level, foremost and rearmost place along the direction of travel."""

    pieces: tuple[Measured, ...]
    level: float
    front: float
    back: float


@dataclass(frozen=True, eq=False)
class FlightSeen:
    """One flight as measured. `out` is the plan direction going down; places along it are in inches from the plan
    origin. `top` is the surface or landing it leaves, `foot` the level it ends on (`foot_pieces` there, or the bare
    ground), `sides` the outer faces of its treads along `across`; of one step, which has neither treads nor
    stringers, of the board that closes its riser, or else of what it lands on. Box steps have treads and no
    stringers. Where its treads are mitred with those of the next edge, `hips` are the plies of hip stringers under
    them, `jacks` the jack stringers, and `mitred` says on which of its `sides` that is."""

    name: str
    out: np.ndarray
    stringers: tuple[Measured, ...]
    top: Step
    treads: tuple[Step, ...]
    foot: float
    sides: tuple[float, float]
    foot_pieces: tuple[Measured, ...]
    hips: tuple[Measured, ...] = ()
    jacks: tuple[Measured, ...] = ()

    @property
    def mitred(self) -> tuple[bool, bool]:
        """On which of its `sides` its treads are mitred with another flight's, whose steps go on there."""
        middle = sum(self.sides) / 2
        at = [sum(along(m, self.across)) / 2 for m in self.hips]
        return any(s < middle for s in at), any(s > middle for s in at)

    @property
    def stair(self) -> int:
        """0-based number of the stair it belongs to."""
        number = (self.treads[0].pieces if self.treads else self.foot_pieces)[0].part.stair
        assert number is not None, "treads, and what one step lands on, are found by the number of their stair"
        return number

    @property
    def steps(self) -> tuple[Step, ...]:
        """All from which one steps down: the surface above, then each tread."""
        return self.top, *self.treads

    @property
    def last(self) -> Step:
        """The lowest step above the foot."""
        return self.steps[-1]

    @property
    def walk(self) -> tuple[float, float]:
        """From where to where along `out` one walks down: from the edge above to the last nosing, over one step as far
        as a foot reaches on both sides of it."""
        stride = 0.0 if self.treads else STRIDE
        return self.top.front - stride, self.last.front + stride

    @cached_property
    def across(self) -> np.ndarray:
        """(2,) unit vector to the left of someone walking down."""
        return np.array([-self.out[1], self.out[0]])

    @property
    def levels(self) -> list[float]:
        """From the surface above, over each tread, down to the foot: every rise is the difference of two
        neighbours."""
        return [*(s.level for s in self.steps), self.foot]

    @property
    def rises(self) -> list[float]:
        return [a - b for a, b in itertools.pairwise(self.levels)]

    @property
    def nosings(self) -> list[tuple[float, float]]:
        """(place along `out`, level) of the front edge of each tread, from the top down; of one step, of the surface it
        leaves."""
        return [(t.front, t.level) for t in self.treads or (self.top,)]

    @property
    def goings(self) -> list[float]:
        """From each front edge to the next one down, the edge of what the flight leaves among them."""
        return [b.front - a.front for a, b in itertools.pairwise(self.steps)]

    def pitch_level(self, at: float) -> float:
        """Level of the line of its nosings, that of what it leaves among them, continued both ways, at a place along
        `out`; of one step, which has a single nosing, the level of that."""
        (a0, z0), (a1, z1) = (self.top.front, self.top.level), self.nosings[-1]
        return z0 + (at - a0) * (z1 - z0) / (a1 - a0) if self.treads else z0

    @property
    def usual_going(self) -> float:
        """The mean going between its treads; the depth of the tread where it has one alone; of one step a stride."""
        n = self.treads
        if not n:
            return STRIDE
        return (n[-1].front - n[0].front) / (len(n) - 1) if len(n) > 1 else n[0].front - n[0].back


@dataclass(frozen=True, eq=False)
class Unread:
    """Stringers that make no flight, and why."""

    stair: int
    why: str
    stringers: tuple[Measured, ...]


SAME_FLIGHT = 0.01  # inches at the top, and cosine of the heading: stringers this alike belong to one flight


def see_flights(
    pieces: Sequence[Measured],
    by_id: Mapping[str, Measured],
    grade: Callable[[float, float], float],
    stair: int,
) -> tuple[list[FlightSeen], list[Unread]]:
    """The flights of a stair, from the deck down, found from which treads rest on which stringers; and the stringers of
    which no flight could be read. `grade` gives the level of the ground at a plan point."""
    groups: dict[tuple, list[Measured]] = {}
    for s in (m for m in pieces if m.role == "stringer" and m.part.stair == stair):
        out = heading(s)
        key = (float(out[0]), float(out[1]), float(s.box[1][2]))
        near = next((k for k in groups if max(abs(a - b) for a, b in zip(k, key)) < SAME_FLIGHT), key)
        groups.setdefault(near, []).append(s)
    walked = [m for m in pieces if m.role in WALKED or (m.role == "pad" and m.part.stair == stair)]
    below = [m for m in walked if m.part.stair == stair]
    found: list[FlightSeen] = []
    unread: list[Unread] = []
    for (ox, oy, _), members in sorted(groups.items(), key=lambda g: -g[0][2]):
        out = np.array([ox, oy])
        ids = {m.id for m in members}
        boards = [m for m in pieces if m.role == "tread" and m.part.stair == stair and ids & _stringers_under(by_id, m)]
        treads = sorted(_steps(boards, out), key=lambda t: -t.level)
        if not treads:
            why = "no tread rests on these stringers: nothing of this flight was measured"
            unread.append(Unread(stair, why, tuple(members)))
            continue
        sides = _sides(by_id, treads, np.array([-oy, ox]), out)
        top = _surface_above(walked, treads[0], out, sides)
        if top is None:
            unread.append(Unread(stair, "no surface found at the top of a flight", tuple(members)))
            continue
        foot, landed = _surface_below(below, treads[-1], out, sides, grade)
        under = {i for m in boards for i in m.carried_by}
        hips, jacks = (tuple(by_id[i] for i in sorted(under) if by_id[i].role == role) for role in MITRED)
        found.append(FlightSeen("", out, tuple(members), top, tuple(treads), foot, sides, landed, hips, jacks))
    if not found and not unread:
        found += _box_flight(pieces, by_id, walked, below, stair, grade)
    if not unread:  # what no stringer leads to is one step down
        surfaces = _steps(below, np.array([1.0, 0.0]))
        lone = [s.pieces for s in surfaces if all(abs(s.level - f.foot) > SAME_LEVEL for f in found)]
        found += [f for group in lone if (f := _one_step(pieces, walked, group, stair)) is not None]
    found.sort(key=lambda f: -f.top.level)
    one = len(found) + len(unread) == 1
    return [
        replace(f, name=f"stair {stair + 1}" + ("" if one else f" flight {n}")) for n, f in enumerate(found, 1)
    ], unread


def _sides(
    by_id: Mapping[str, Measured], treads: Sequence[Step], across: np.ndarray, out: np.ndarray
) -> tuple[float, float]:
    """The ends of a flight's treads; where they are mitred, and so longer from tread to tread, those of the uppermost
    one at its back."""
    pieces = [p for t in treads for p in t.pieces]
    if not any(by_id[i].role in MITRED for p in pieces for i in p.carried_by):
        return extent(pieces, across)
    first = treads[0]
    corners = np.vstack([p.part.vertices[:, :2] for p in first.pieces])
    s = (corners @ across)[corners @ out < first.back + SAME_LEVEL]
    return float(s.min()), float(s.max())


def _box_flight(
    pieces: Sequence[Measured],
    by_id: Mapping[str, Measured],
    walked: Sequence[Measured],
    below: Sequence[Measured],
    stair: int,
    grade: Callable[[float, float], float],
) -> list[FlightSeen]:
    """The flight of a stair of box steps, square to the longest board of its treads; none where it has no such
    steps."""
    boards = [
        m
        for m in pieces
        if m.role == "tread" and m.part.stair == stair and any(by_id[i].role == "step frame" for i in m.carried_by)
    ]
    if not boards:
        return []
    long = max(boards, key=lambda m: m.length).axis[:2]
    across = long / np.hypot(*long)
    for out in (np.array([across[1], -across[0]]), np.array([-across[1], across[0]])):
        treads = sorted(_steps(boards, out), key=lambda t: -t.level)
        sides = extent(boards, np.array([-out[1], out[0]]))
        top = _surface_above(walked, treads[0], out, sides)
        if top is not None and top.front < (treads[0].back + treads[0].front) / 2:
            foot, landed = _surface_below(below, treads[-1], out, sides, grade)
            return [FlightSeen("", out, (), top, tuple(treads), foot, sides, landed)]
    return []


def _one_step(
    pieces: Sequence[Measured], walked: Sequence[Measured], landed: Sequence[Measured], stair: int
) -> FlightSeen | None:
    """The step down to a surface of a stair on which no stringer stands: from the walked surface just above beside it,
    square to the boards or the concrete that it lands on."""
    long = max(landed, key=lambda m: m.length).axis[:2]
    across = long / np.hypot(*long)
    for out in (np.array([across[1], -across[0]]), np.array([-across[1], across[0]])):
        step = _steps(list(landed), out)[0]
        sides = extent(landed, np.array([-out[1], out[0]]))
        top = _surface_above(walked, step, out, sides)
        if top is None or not top.front < (step.back + step.front) / 2:
            continue
        before = band_of(out, sides, top.front - 6, top.front + 1)
        faces = [
            m
            for m in pieces
            if m.role in ("riser", "fascia")
            and m.part.stair == stair
            and m.part.footprint.intersects(before)
            and step.level - SAME_LEVEL < m.box[1][2] < top.level
        ]
        closed = extent(faces, np.array([-out[1], out[0]])) if faces else sides
        return FlightSeen("", out, (), top, (), step.level, closed, tuple(landed))
    return None


def _stringers_under(by_id: Mapping[str, Measured], tread: Measured) -> set[str]:
    found: set[str] = set()
    for i in tread.carried_by:
        m = by_id[i]
        found |= {i} if m.role == "stringer" else set(m.carried_by)
    return found


def heading(stringer: Measured) -> np.ndarray:
    """Plan direction in which a stringer goes down."""
    a = stringer.axis
    d = np.array([a[0], a[1]]) / np.hypot(a[0], a[1])
    return -d if a[2] > 0 else d


def along(m: Measured, direction: Vector) -> tuple[float, float]:
    """(least, greatest) plan distance of a piece along a direction."""
    s = m.part.vertices[:, :2] @ np.asarray(direction)
    return float(s.min()), float(s.max())


def extent(pieces: Sequence[Measured], direction: Vector) -> tuple[float, float]:
    spans = [along(m, direction) for m in pieces]
    return min(a for a, _ in spans), max(b for _, b in spans)


def underside(m: Measured, points: np.ndarray) -> float:
    """Level of the lowest place of a piece at plan points (n, 2): of one that slopes, on the line along it under which
    nothing of it lies."""
    rising = float(np.hypot(*m.axis[:2]))
    if rising < LEAST_RISING or abs(float(m.axis[2])) < LEAST_RISING:
        return float(m.box[0][2])
    way, slope = m.axis[:2] / rising, float(m.axis[2]) / rising
    v = m.part.vertices
    base = float((v[:, 2] - slope * (v[:, :2] @ way)).min())
    return max(float(m.box[0][2]), base + float((slope * (points @ way)).min()))


def _steps(pieces: list[Measured], out) -> list[Step]:
    steps: list[list[Measured]] = []
    for m in sorted(pieces, key=lambda m: -m.box[1][2]):
        if steps and abs(steps[-1][0].box[1][2] - m.box[1][2]) < SAME_LEVEL:
            steps[-1].append(m)
        else:
            steps.append([m])
    result = []
    for group in steps:
        back, front = extent(group, out)
        result.append(Step(tuple(group), max(float(m.box[1][2]) for m in group), front, back))
    return result


def _surface_above(walked: Sequence[Measured], first: Step, out, sides) -> Step | None:
    """The walked surface just above and behind the first tread: its edge along the direction of travel."""
    band = band_of(out, sides, first.back - 24, first.front + 1)
    near = [m for m in walked if m.box[1][2] > first.level + SAME_LEVEL and m.part.footprint.intersects(band)]
    if not near:
        return None
    level = min(float(m.box[1][2]) for m in near)
    near = [m for m in near if abs(m.box[1][2] - level) < SAME_LEVEL]
    across = np.array([-out[1], out[0]])
    middle = (sides[0] + sides[1]) / 2
    line = shapely.LineString([out * (first.back - 24) + across * middle, out * (first.front + 24) + across * middle])
    fronts = []
    for m in near:
        cut = m.part.footprint.intersection(line)
        if not cut.is_empty:
            fronts.append(float((np.asarray(shapely.get_coordinates(cut)) @ out).max()))
    if not fronts:
        return None
    return Step(tuple(near), level, max(fronts), max(fronts) - 24)


def _surface_below(pieces: Sequence[Measured], last: Step, out, sides, grade) -> tuple[float, tuple[Measured, ...]]:
    """(level, pieces) of what one steps on at the foot: a landing's boards, the pad, or the bare ground."""
    band = band_of(out, sides, last.front - 2, last.front + 30)
    near = [
        m for m in pieces if m.box[1][2] < last.level - SAME_LEVEL and m.part.footprint.intersection(band).area > 36
    ]
    if not near:
        x, y = out * (last.front + (last.front - last.back)) + np.array([-out[1], out[0]]) * (sum(sides) / 2)
        return float(grade(float(x), float(y))), ()
    level = max(float(m.box[1][2]) for m in near)
    return level, tuple(m for m in pieces if abs(m.box[1][2] - level) < SAME_LEVEL)


def band_of(out: Vector, sides: tuple[float, float], a0: float, a1: float) -> Polygon:
    """The plan rectangle from a0 to a1 along `out`, between two sides across it."""
    out = np.asarray(out, float)
    across = np.array([-out[1], out[0]])
    return Polygon([out * a + across * s for a, s in ((a0, sides[0]), (a1, sides[0]), (a1, sides[1]), (a0, sides[1]))])


RAIL_ASIDE = 8.0  # inches outside its treads' ends within which a rail is a flight's own
RAIL_OVER = (-24.0, 72.0)  # inches over the line of its nosings: further down or up is another flight


def runs_with(f: FlightSeen, m: Measured) -> bool:
    """Whether a sloping piece goes down with a flight, along it and near its nosings: not with the next one beside,
    over or under it."""
    if abs(m.axis[2]) < 0.05 or m.part.stair != f.stair or float(np.dot(heading(m), f.out)) < 1 - 1e-6:
        return False
    a0, a1 = along(m, f.out)
    aside = sum(along(m, f.across)) / 2
    if a1 <= f.top.front or a0 >= f.last.front or not f.sides[0] - RAIL_ASIDE < aside < f.sides[1] + RAIL_ASIDE:
        return False
    over = float(m.box[0][2] + m.box[1][2]) / 2 - f.pitch_level((a0 + a1) / 2)
    return RAIL_OVER[0] < over < RAIL_OVER[1]


def riser_boards(pieces: Sequence[Measured], f: FlightSeen) -> list[Measured]:
    """The riser boards of a flight."""
    found = []
    for m in pieces:
        if m.role != "riser" or m.part.stair != f.stair:
            continue
        if not f.foot - 1 < (m.box[0][2] + m.box[1][2]) / 2 < f.top.level:
            continue
        if set(m.carried_by) & {s.id for s in f.stringers} or _touches_flight(f, m):
            found.append(m)
    return found


def lowest_riser(pieces: Sequence[Measured], f: FlightSeen) -> float:
    """Where a landing at the foot of a flight begins, along the flight's `out`: at the face of its lowest riser; of
    open risers an inch, the least nosing, behind the last tread's front."""
    open_one = f.last.front - (1 if f.treads else 0)
    return max([along(m, f.out)[1] for m in riser_boards(pieces, f)], default=open_one)


def _touches_flight(f: FlightSeen, m: Measured) -> bool:
    lo, hi = along(m, f.across)
    return lo < f.sides[1] and hi > f.sides[0] and along(m, f.out)[0] > f.top.front - 12
