"""`BeamRun`, one straight beam in plan, and where the joists that lie on beams and ledgers span.

Plan coordinates; along a joist positions are measured on `layout.along`, along a beam from its `start`. Inches.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.ops import unary_union

from .layout import Layout

LEAST_BEAM = 12.0  # inches: a shorter piece is not worth a post; our own
OVERLAP = 1e-3  # square inches of plan


@dataclass
class BeamRun:
    """One straight beam: its plies' plan outlines, centre line from `start` to `end`, and its post centres.

    `mitred` says which ends meet a neighbour's beam on the bisector, over a shared post.
    """

    plies: list[Polygon]
    start: tuple[float, float]
    end: tuple[float, float]
    where: str
    edge: str | None = None
    posts: list[tuple[float, float]] = field(default_factory=list)
    mitred: tuple[bool, bool] = (False, False)

    @cached_property
    def direction(self) -> np.ndarray:
        d = np.subtract(self.end, self.start)
        return d / np.hypot(*d)

    @property
    def length(self) -> float:
        return math.dist(self.start, self.end)

    @cached_property
    def polygon(self) -> Polygon:
        return unary_union([p.buffer(1e-6, join_style="mitre") for p in self.plies])

    def position(self, point) -> float:
        """Of a plan point, along the centre line."""
        return float(np.dot(np.subtract(point[:2], self.start), self.direction))

    def point(self, along: float) -> tuple[float, float]:
        return tuple(map(float, np.asarray(self.start) + self.direction * along))

    def extent(self, polygon) -> tuple[float, float]:
        """Positions along the centre line between which a polygon lies."""
        s = (np.asarray(polygon.exterior.coords) - self.start) @ self.direction
        return float(s.min()), float(s.max())

    def band(self, low: float, high: float, half: float = 99.0) -> Polygon:
        """The rectangle over the centre line from `low` to `high`, `half` wide on each side."""
        n = np.array([-self.direction[1], self.direction[0]]) * half
        a, b = np.asarray(self.point(low)), np.asarray(self.point(high))
        return Polygon([a - n, b - n, b + n, a + n])

    def cut(self, low: float, high: float) -> BeamRun:
        """The part of this beam between two positions, cut square."""
        first, last = max(low, 0.0), min(high, self.length)
        band = self.band(low, high)
        plies = [g for p in self.plies if (g := largest(p.intersection(band))) is not None]
        mitred = (self.mitred[0] and low <= 0, self.mitred[1] and high >= self.length)
        return replace(self, plies=plies, start=self.point(first), end=self.point(last), posts=[], mitred=mitred)


def largest(shape) -> Polygon | None:
    """The largest polygon of a shape, None where there is none."""
    pieces = [g for g in getattr(shape, "geoms", [shape]) if isinstance(g, Polygon) and g.area > OVERLAP]
    return max(pieces, key=lambda g: g.area, default=None)


def trimmed(runs: list[BeamRun], clear: float = 0.0) -> list[BeamRun]:
    """The runs with overlaps cut out: where two cross, the later one is cut square and butts. Neighbours that are
    mitred on one another touch and do not overlap. `clear` inches are kept between."""
    kept: list[BeamRun] = []
    for run in runs:
        kept += cut_clear(run, kept, clear)
    return kept


def cut_clear(run: BeamRun, standing: list[BeamRun], clear: float = 0.0) -> list[BeamRun]:
    """What is left of a run beside those that stand: pieces of `LEAST_BEAM` or more."""
    whole = run.extent(run.polygon)
    blocked = []
    for other in standing:
        hit = shapely.intersection(
            other.polygon.buffer(clear, join_style="mitre") if clear else other.polygon, run.polygon, grid_size=1e-7
        )
        if hit.area > OVERLAP:
            blocked += [run.extent(g) for g in getattr(hit, "geoms", [hit]) if isinstance(g, Polygon) and g.area > 1e-6]
    if not blocked:
        return [run]
    pieces, at = [], whole[0] - 1
    for low, high in [*sorted(blocked), (whole[1] + 1, whole[1] + 1)]:
        if low - max(at, whole[0]) >= LEAST_BEAM and min(low, run.length) - max(at, 0.0) >= LEAST_BEAM / 2:
            pieces.append(run.cut(at, low))
        at = max(at, high)
    return pieces


def supports(layout: Layout, piece: Polygon, runs: list[BeamRun]) -> list[tuple[float, float, str]]:
    """(low, high, what) of everything that carries a joist footprint, in order along it; what is "ledger" or "beam"."""
    b = layout.along
    along = np.asarray(piece.exterior.coords) @ b
    found = []
    for e in layout.outline.edges:
        if layout.has_ledger(e) and not layout.is_lengthwise(e):
            ledger = e.rectangle(0, e.length, 0, layout.joist.thickness)
            if ledger.distance(piece) < 1e-6:
                at = float(np.dot(e.start, b)) if abs(float(e.direction @ b)) < 1e-9 else float(along.max())
                near = float(along.max()) if abs(at - along.max()) < abs(at - along.min()) else float(along.min())
                found.append((near, near, "ledger"))
    for run in runs:
        if not run.polygon.intersects(piece):
            continue
        hit = run.polygon.intersection(piece)
        if not hit.is_empty and hit.area > 0.2:
            s = np.concatenate(
                [np.asarray(g.exterior.coords) @ b for g in getattr(hit, "geoms", [hit]) if g.geom_type == "Polygon"]
            )
            found.append((float(s.min()), float(s.max()), "beam"))
    return sorted(found)


def spans(layout: Layout, piece: Polygon, runs: list[BeamRun]) -> list[tuple[float, float]]:
    """Clear spans of a joist footprint between its supports, along the joists."""
    s = supports(layout, piece, runs)
    return [(a[1], b[0]) for a, b in itertools.pairwise(s) if b[0] - a[1] > 1]


def longest_span(layout: Layout, runs: list[BeamRun], without: float = 96.0) -> float:
    """The longest clear span of any joist; `without` any, that value."""
    return max((hi - lo for _, piece in layout.joist_lines for lo, hi in spans(layout, piece, runs)), default=without)
