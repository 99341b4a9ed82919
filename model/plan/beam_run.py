"""`BeamRun`, one straight beam in plan; positions along it are measured from its `start`. Plan coordinates, inches."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.ops import unary_union

from ...shared.points import Vector, pair

LEAST_BEAM = 12.0  # inches: a shorter piece is not worth a post; our own
LEAST_OVERLAP = 5e-5  # square inches of plan: as deep as a beam, less than a clash


@dataclass(frozen=True, eq=False)
class BeamRun:
    """One straight beam: its plies' plan outlines, centre line from `start` to `end`, and its post centres.

    `mitred` says which ends meet a neighbour's beam on the bisector, over a shared post; `flush` that it lies at joist
    level; `through` that it runs on past its edge, under joists that go on beyond it.
    """

    plies: tuple[Polygon, ...]
    start: tuple[float, float]
    end: tuple[float, float]
    where: str
    edge: str | None = None
    posts: tuple[tuple[float, float], ...] = ()
    mitred: tuple[bool, bool] = (False, False)
    flush: bool = False
    through: bool = False

    @cached_property
    def direction(self) -> np.ndarray:
        d = np.subtract(self.end, self.start)
        return d / np.hypot(*d)

    @cached_property
    def across(self) -> np.ndarray:
        """The unit vector square to its direction, to the left of it."""
        return np.array([-self.direction[1], self.direction[0]])

    @property
    def length(self) -> float:
        return math.dist(self.start, self.end)

    @cached_property
    def polygon(self) -> Polygon:
        return self.grown_by(0.0)

    def grown_by(self, clear: float) -> Any:
        """The plan of all plies with so many inches round it: each is grown by itself, since the outline of several
        that differ in their last bits comes out crossing itself where it is grown as a whole."""
        return unary_union([p.buffer(clear + 1e-6, join_style="mitre") for p in self.plies])

    def position(self, point: Vector) -> float:
        """Of a plan point, along the centre line."""
        return float(np.dot(np.subtract(point[:2], self.start), self.direction))

    def point(self, along: float) -> tuple[float, float]:
        return pair(np.asarray(self.start) + self.direction * along)

    def extent(self, polygon: Polygon) -> tuple[float, float]:
        """Positions along the centre line between which a polygon lies."""
        s = (np.asarray(polygon.exterior.coords) - self.start) @ self.direction
        return float(s.min()), float(s.max())

    def band(self, low: float, high: float, half: float = 99.0) -> Polygon:
        """The rectangle over the centre line from `low` to `high`, `half` wide on each side."""
        n = self.across * half
        a, b = np.asarray(self.point(low)), np.asarray(self.point(high))
        return Polygon([a - n, b - n, b + n, a + n])

    @cached_property
    def reach(self) -> tuple[float, float]:
        """Positions along the centre line between which its plies lie."""
        return self.extent(self.polygon)

    def cut(self, low: float, high: float) -> BeamRun:
        """The part of this beam between two positions, cut square."""
        first, last = max(low, 0.0), min(high, self.length)
        band = self.band(low, high)
        plies = tuple(g for p in self.plies if (g := largest(p.intersection(band))) is not None)
        mitred = (self.mitred[0] and low <= 0, self.mitred[1] and high >= self.length)
        return replace(self, plies=plies, start=self.point(first), end=self.point(last), posts=(), mitred=mitred)


def largest(shape: Any) -> Polygon | None:
    """The largest polygon of a shape, None where there is none."""
    pieces = [g for g in getattr(shape, "geoms", [shape]) if isinstance(g, Polygon) and g.area > LEAST_OVERLAP]
    return max(pieces, key=lambda g: g.area, default=None)


def trimmed(runs: list[BeamRun], clear: float = 0.0) -> list[BeamRun]:
    """The runs with overlaps cut out: where two cross, the later one is cut square and butts. Neighbours that are
    mitred on one another touch and do not overlap. `clear` inches are kept between."""
    kept: list[BeamRun] = []
    for run in runs:
        kept += cut_clear(run, kept, clear)
    return kept


def cut_clear(run: BeamRun, others: list[BeamRun], clear: float = 0.0) -> list[BeamRun]:
    """What is left of a run beside the others: pieces of `LEAST_BEAM` or more."""
    whole = run.reach
    blocked = []
    for other in others:
        hit = shapely.intersection(other.grown_by(clear) if clear else other.polygon, run.polygon, grid_size=1e-7)
        if hit.area > LEAST_OVERLAP:
            blocked += [run.extent(g) for g in getattr(hit, "geoms", [hit]) if isinstance(g, Polygon) and g.area > 1e-6]
    if not blocked:
        return [run]
    pieces, at = [], whole[0] - 1
    for low, high in [*sorted(blocked), (whole[1] + 1, whole[1] + 1)]:
        if low - max(at, whole[0]) >= LEAST_BEAM and min(low, run.length) - max(at, 0.0) >= LEAST_BEAM / 2:
            pieces.append(run.cut(at, low))
        at = max(at, high)
    return pieces
