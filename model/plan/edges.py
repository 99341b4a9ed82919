"""The outline as named edges, and what plane geometry needs of it: insets, strips along an edge, mitres at any corner.

Distances are inches, measured inwards from the frame's outer face; a negative distance lies outside it. Plan
coordinates. A frame that stands is never quite square: edges within `OUT_OF_TRUE` of parallel, square or in line are
treated as such where members are chosen, while every cut follows the true lines.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

import numpy as np
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from ...shared.errors import DesignError
from ...shared.points import Vector
from ..solid.union import united

Distances = float | Mapping[str, float] | Callable[["Edge"], float]
OUT_OF_TRUE = 3.0  # degrees: more than any frame that was meant square is out of it (our own; 3/4 in over 12 ft is 0.3)
FAR = 1e4  # inches: further off than anything of a deck lies
WALL_DEEP = 48.0  # inches behind its face that the house's wall and what lies behind it take up; our own
WALL_RUNS_ON = 240.0  # inches past a corner that the house's wall is taken to run on; our own
_SINE = math.sin(math.radians(OUT_OF_TRUE))


def parallel(a: Vector, b: Vector) -> bool:
    """Whether two plan unit vectors run the same way or opposite ways, within `OUT_OF_TRUE`."""
    return abs(cross(a, b)) < _SINE


def in_line(turn: float) -> bool:
    """Whether edges that meet at a turn of so many degrees run on in one line, within `OUT_OF_TRUE`."""
    return abs(turn) < OUT_OF_TRUE


def square(turn: float) -> bool:
    """Whether a turn of so many degrees is a square corner, convex or reflex, within `OUT_OF_TRUE`."""
    return abs(abs(turn) - 90) < OUT_OF_TRUE


def cross(a: Vector, b: Vector) -> float:
    """The z component of the cross product of two plan vectors."""
    return float(a[0] * b[1] - a[1] * b[0])


def still(vector: np.ndarray) -> np.ndarray:
    """A copy that cannot be written to."""
    made = np.array(vector, dtype=float)
    made.setflags(write=False)
    return made


@dataclass(frozen=True)
class Edge:
    """One edge of the outline, walked counter-clockwise, so that the deck lies to its left."""

    name: str
    index: int
    start: tuple[float, float]
    end: tuple[float, float]
    house: bool

    @cached_property
    def length(self) -> float:
        return math.dist(self.start, self.end)

    @cached_property
    def direction(self) -> np.ndarray:
        """(2,) unit vector from start to end, read-only."""
        return still(np.subtract(self.end, self.start) / self.length)

    @cached_property
    def inward(self) -> np.ndarray:
        """(2,) unit normal into the deck, read-only."""
        dx, dy = self.direction
        return still(np.array([-dy, dx]))

    def point(self, along: float, inside: float = 0.0) -> tuple[float, float]:
        """The plan point `along` the edge from its start and `inside` the outline."""
        p = np.asarray(self.start) + self.direction * along + self.inward * inside
        return float(p[0]), float(p[1])

    def position(self, point: Vector) -> tuple[float, float]:
        """(along, inside) of a plan point: the inverse of `point`."""
        d = np.subtract(point[:2], self.start)
        return float(d @ self.direction), float(d @ self.inward)

    def rectangle(self, a0: float, a1: float, i0: float, i1: float) -> Polygon:
        """The plan rectangle from a0 to a1 along the edge and i0 to i1 inside it."""
        return Polygon([self.point(a0, i0), self.point(a1, i0), self.point(a1, i1), self.point(a0, i1)])

    def parallel_to(self, vector: Vector) -> bool:
        """Whether the edge runs along a plan unit vector, either way, within `OUT_OF_TRUE`."""
        return parallel(self.direction, np.asarray(vector, float))


class FrameOutline:
    """A closed polygon of named edges (counter-clockwise). The house's wall is taken to run on by `wall_runs_on` inches
    past its corners where the file does not say where the house ends."""

    wall_runs_on = WALL_RUNS_ON

    def __init__(self, points: list[tuple[float, float]], names: list[str], house: set[str]):
        n = len(points)
        self.edges = tuple(Edge(names[i], i, points[i], points[(i + 1) % n], names[i] in house) for i in range(n))
        self.polygon = Polygon(points)
        self._by_name = MappingProxyType({e.name: e for e in self.edges})

    def __getitem__(self, name: str) -> Edge:
        return self._by_name[name]

    def __contains__(self, name: str) -> bool:
        return name in self._by_name

    @property
    def names(self) -> list[str]:
        return [e.name for e in self.edges]

    def before(self, edge: Edge) -> Edge:
        return self.edges[edge.index - 1]

    def after(self, edge: Edge) -> Edge:
        return self.edges[(edge.index + 1) % len(self.edges)]

    def turn(self, edge: Edge) -> float:
        """Degrees turned at the start corner of `edge`: positive convex, negative reflex, 90 at a square corner."""
        a, b = self.before(edge).direction, edge.direction
        return math.degrees(math.atan2(cross(a, b), float(a @ b)))

    def house_wall(
        self, gap: float, house: Sequence[Vector] | None = None, runs_on: float | None = None
    ) -> BaseGeometry:
        """The plan of the house's wall, its face `gap` outside the edges that lie against it, and of what lies behind.

        The house is not modelled. Where the file gives no outline of the `house`, and such an edge ends in a square or
        acute corner with a free one, the wall is taken to run on in its line, by `runs_on` or `wall_runs_on`: houses
        are wider than their decks (common practice, no source). In an obtuse corner, or where the outline goes on
        beside the house, it is taken to end with the edge.
        """
        strips, further = [], self.wall_runs_on if runs_on is None else runs_on
        for e in (e for e in self.edges if e.house):
            ends = ((self.before(e), self.turn(e)), (self.after(e), self.turn(self.after(e))))
            on = [not house and not o.house and turn > 90 - OUT_OF_TRUE for o, turn in ends]
            start, end = (further if free else 0.0 for free in on)
            strips.append(e.rectangle(-start, e.length + end, -gap - WALL_DEEP, -gap))
        if house:
            strips += [g for g in [Polygon(house)] if g.is_valid]
        return united(strips).difference(self.polygon) if strips else MultiPolygon()

    def distance(self, distances: Distances, edge: Edge) -> float:
        if callable(distances):
            return distances(edge)
        return distances[edge.name] if isinstance(distances, Mapping) else float(distances)

    def corner(self, first: Edge, d_first: float, second: Edge, d_second: float) -> tuple[float, float]:
        """Where the inset lines of two edges meet: this is the mitre point, on the bisector where both distances agree.

        Edges in line have no such point where the distances differ: then it is the point of the second edge's inset
        line on the bisector.
        """
        if self._in_line(first, second):
            return self._on_bisector(first, second, d_second)
        p, q = np.asarray(first.start) + first.inward * d_first, np.asarray(second.start) + second.inward * d_second
        sine = cross(first.direction, second.direction)
        t = cross(q - p, second.direction) / sine
        x, y = p + first.direction * t
        return float(x), float(y)

    @staticmethod
    def _in_line(a: Edge, b: Edge) -> bool:
        return parallel(a.direction, b.direction) and float(a.direction @ b.direction) > 0

    def _on_bisector(self, a: Edge, b: Edge, inside: float) -> tuple[float, float]:
        """The point so far inside both of two neighbours (very nearly) in line, where they meet."""
        corner = b.start if self.after(a) is b else b.end
        n = a.inward + b.inward
        x, y = np.asarray(corner) + n * (inside / float(n @ b.inward))
        return float(x), float(y)

    def inset(self, distances: Distances, key: str = "outline") -> Polygon:
        """The polygon of all edges moved in. Raises DesignError (blaming `key`) where nothing sensible is left."""
        ring = []
        for e in self.edges:
            b = self.before(e)
            db, de = self.distance(distances, b), self.distance(distances, e)
            if self._in_line(b, e) and abs(db - de) > 1e-9:
                ring += [self._on_bisector(b, e, db), self._on_bisector(b, e, de)]
            else:
                ring.append(self.corner(b, db, e, de))
        polygon = Polygon(ring)
        if not polygon.is_valid or not polygon.exterior.is_ccw or polygon.area < 1.0:
            raise DesignError(
                key, "does not fit in the outline: at least one edge is too short or the deck too narrow for it"
            )
        return polygon

    def strip(self, edge: Edge, near: Distances, far: Distances) -> Polygon:
        """The band along an edge between two insets, mitred at both corners.

        The mitre is the line between the two inset corners; against a neighbour whose two distances are equal (a house
        edge, say) that makes a plain cut along the neighbour's inset line.
        """
        b, a = self.before(edge), self.after(edge)
        n, f = self.distance(near, edge), self.distance(far, edge)
        nb, fb, na, fa = (self.distance(s, o) for s, o in ((near, b), (far, b), (near, a), (far, a)))
        start_near, start_far = self._meet(edge, b, n, nb), self._meet(edge, b, f, fb)
        end_near, end_far = self._meet(edge, a, n, na), self._meet(edge, a, f, fa)
        return Polygon([start_near, end_near, end_far, start_far])

    def _meet(self, edge: Edge, other: Edge, d: float, d_other: float) -> tuple[float, float]:
        if self._in_line(edge, other):
            return self._on_bisector(other, edge, d)
        first, second = (other, edge) if other is self.before(edge) else (edge, other)
        d1, d2 = (d_other, d) if first is other else (d, d_other)
        return self.corner(first, d1, second, d2)
