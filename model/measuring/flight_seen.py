"""The flights of a stair as the solids show them: what is walked on, in which direction, and between which sides.

Treads are found by their level; the direction of travel is that of the stringers they rest on. `stair` and `role` only
say which pieces belong together. Inches.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from ...shared.standards import clause
from ..rules.check_result import Checking, places
from ..solid.roles import named
from .measure import Measured

SAME_LEVEL = 1e-3  # inches: pieces whose tops agree this closely are one tread
WALKED = named("walked")


@dataclass
class Step:
    """One walked level of a flight: its pieces, level, foremost and rearmost place along the direction of travel."""

    pieces: list[Measured]
    level: float
    front: float
    back: float


@dataclass
class FlightSeen:
    """One flight as measured. `out` is the plan direction going down; places along it are in inches from the plan
    origin."""

    name: str
    out: np.ndarray
    stringers: list[Measured]
    top: Step
    treads: list[Step]
    foot: float
    sides: tuple[float, float]
    foot_pieces: list[Measured]

    @property
    def stair(self) -> int:
        """0-based number of the stair it belongs to."""
        return self.treads[0].pieces[0].part.stair

    @property
    def across(self) -> np.ndarray:
        return np.array([-self.out[1], self.out[0]])

    @property
    def levels(self) -> list[float]:
        return [self.top.level, *(t.level for t in self.treads), self.foot]


def find_flights(c: Checking, stair: int) -> list[FlightSeen]:
    """The flights of a stair, from the deck down, found from which treads rest on which stringers."""
    if stair not in c.flights:
        c.flights[stair] = _flights(c, stair)
    return c.flights[stair]


SAME_FLIGHT = 0.01  # inches at the top, and cosine of the heading: stringers this alike belong to one flight


def _flights(c: Checking, stair: int) -> list[FlightSeen]:
    stringers = c.of("stringer", stair=stair)
    groups: dict[tuple, list[Measured]] = {}
    for s in stringers:
        out = heading(s)
        key = (float(out[0]), float(out[1]), float(s.box[1][2]))
        near = next((k for k in groups if max(abs(a - b) for a, b in zip(k, key)) < SAME_FLIGHT), key)
        groups.setdefault(near, []).append(s)
    flights = []
    for (ox, oy, _), members in sorted(groups.items(), key=lambda g: -g[0][2]):
        out = np.array([ox, oy])
        ids = {m.id for m in members}
        treads = _steps([t for t in c.of("tread", stair=stair) if ids & _stringers_under(c, t)], out)
        if not treads:
            c.skip(
                "stair",
                clause("stairways"),
                f"stair {stair + 1}",
                "no tread rests on these stringers: nothing of this flight was measured",
                places(members),
            )
            continue
        treads.sort(key=lambda t: -t.level)
        sides = extent([p for t in treads for p in t.pieces], np.array([-oy, ox]))
        top = _surface_above(c, stair, treads[0], out, sides)
        foot, pieces = _surface_below(c, stair, treads[-1], out, sides, members)
        if top is None or foot is None:
            c.skip(
                "stair",
                clause("stairways"),
                f"stair {stair + 1}",
                "no surface found at the top or foot of a flight",
                places(members),
            )
            continue
        name = f"stair {stair + 1}" + (f" flight {len(flights) + 1}" if len(groups) > 1 else "")
        flights.append(FlightSeen(name, out, members, top, treads, foot, sides, pieces))
    return flights


def _stringers_under(c: Checking, tread: Measured) -> set[str]:
    found = set()
    for i in tread.carried_by:
        m = c.by_id[i]
        found |= {i} if m.role == "stringer" else set(m.carried_by)
    return found


def heading(stringer: Measured) -> np.ndarray:
    """Plan direction in which a stringer goes down."""
    a = stringer.axis
    d = np.array([a[0], a[1]]) / np.hypot(a[0], a[1])
    return -d if a[2] > 0 else d


def along(m: Measured, direction) -> tuple[float, float]:
    """(least, greatest) plan distance of a piece along a direction."""
    s = m.part.vertices[:, :2] @ np.asarray(direction)
    return float(s.min()), float(s.max())


def extent(pieces, direction) -> tuple[float, float]:
    spans = [along(m, direction) for m in pieces]
    return min(a for a, _ in spans), max(b for _, b in spans)


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
        result.append(Step(group, max(float(m.box[1][2]) for m in group), front, back))
    return result


def _surface_above(c: Checking, stair: int, first: Step, out, sides) -> Step | None:
    """The walked surface just above and behind the first tread: its edge along the direction of travel."""
    band = band_of(out, sides, first.back - 24, first.front + 1)
    near = [m for m in c.of(*WALKED) if m.box[1][2] > first.level + SAME_LEVEL and m.part.footprint.intersects(band)]
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
    return Step(near, level, max(fronts), max(fronts) - 24)


def _surface_below(c: Checking, stair: int, last: Step, out, sides, stringers):
    """(level, pieces) of what one steps on at the foot: a landing's boards or the pad."""
    band = band_of(out, sides, last.front - 2, last.front + 30)
    near = [
        m
        for m in c.of("pad", *WALKED, stair=stair)
        if m.box[1][2] < last.level - SAME_LEVEL and m.part.footprint.intersection(band).area > 36
    ]
    if not near:
        return None, []
    level = max(float(m.box[1][2]) for m in near)
    return level, [m for m in c.of("pad", *WALKED, stair=stair) if abs(m.box[1][2] - level) < SAME_LEVEL]


def band_of(out, sides, a0, a1) -> Polygon:
    """The plan rectangle from a0 to a1 along `out`, between two sides across it."""
    out = np.asarray(out, float)
    across = np.array([-out[1], out[0]])
    return Polygon([out * a + across * s for a, s in ((a0, sides[0]), (a1, sides[0]), (a1, sides[1]), (a0, sides[1]))])


def riser_boards(c: Checking, f: FlightSeen) -> list[Measured]:
    """The riser boards of a flight."""
    pieces = []
    for m in c.of("riser", stair=f.stair):
        if not f.foot - 1 < (m.box[0][2] + m.box[1][2]) / 2 < f.top.level:
            continue
        if set(m.carried_by) & {s.id for s in f.stringers} or _touches_flight(f, m):
            pieces.append(m)
    return pieces


def _touches_flight(f: FlightSeen, m: Measured) -> bool:
    lo, hi = along(m, f.across)
    return lo < f.sides[1] and hi > f.sides[0] and along(m, f.out)[0] > f.top.front - 12
