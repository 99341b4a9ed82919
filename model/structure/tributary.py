"""Which part of the loaded surface each line of framing carries: the plan divided exactly among parallel lines.

Every point of the surface belongs to the nearest line of those that run past it (lines are drawn on to the surface's
edge). The parts tile the surface for any outline, so their areas add up to it. Plan inches.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.ops import unary_union

from ..measuring.member_seen import PARALLEL, MemberSeen, extent
from ..plan.edges import FAR
from ..solid.union import united
from ..strength.beams import Load

CLOSED_GAP = 0.6  # inches: gaps between boards up to twice this are closed to find the loaded surface
_TINY = 1e-6
_GAUSS = (0.5 - math.sqrt(1 / 12), 0.5 + math.sqrt(1 / 12))  # of a stretch: exact to the third degree
ENDS_THERE = 6.0  # inches between the end of a line and a slanted one within which it ends there


@dataclass(frozen=True)
class FramingLine:
    """A straight line of framing in coordinates turned so that all lines run along u: at `v`, from `u0` to `u1`. One
    with a `slope`, which its v has along u, lies at `v` where it begins. One that is not to be `drawn` on ends where it
    ends: a ledger takes nothing past the corner of its wall."""

    v: float
    u0: float
    u1: float
    slope: float = 0.0
    drawn: bool = True

    def at(self, u: float) -> float:
        """Its v at a place along u."""
        return self.v + self.slope * (u - self.u0)


def loaded_surface(footprints: Sequence[Polygon]) -> Polygon | MultiPolygon:
    """What people can stand on: the boards' footprints with the gaps between them and holes closed."""
    grown = unary_union([f.buffer(CLOSED_GAP, join_style="mitre") for f in footprints])
    closed = grown.buffer(-CLOSED_GAP, join_style="mitre")
    whole = [Polygon(g.exterior) for g in getattr(closed, "geoms", [closed]) if g.area > 1]
    return united(whole)


def turned(shape: Any, u: np.ndarray) -> Any:
    """A plan shape in (u, v) coordinates, u along the unit vector `u`."""
    m = np.array([[u[0], -u[1]], [u[1], u[0]]])
    return shapely.transform(shape, lambda xy: xy @ m)


def line_of(m: MemberSeen, u: np.ndarray) -> FramingLine:
    """A member as a line of framing in coordinates turned along `u`. A slanted one takes nothing past its own ends."""
    n = np.array([-u[1], u[0]])
    if abs(float(m.u @ u)) > PARALLEL:
        return FramingLine(float(np.mean([np.mean(extent(p, n)) for p in m.parts])), m.start, m.start + m.length)
    across = np.array([-m.u[1], m.u[0]]) * m.v
    ends = [across + m.u * x for x in (m.start, m.start + m.length)]
    (u0, v0), (u1, v1) = sorted((float(e @ u), float(e @ n)) for e in ends)
    return FramingLine(v0, u0, u1, (v1 - v0) / (u1 - u0), drawn=False)


def along_member(m: MemberSeen, found: Sequence[Load], u: np.ndarray) -> list[Load]:
    """Widths along `u`, inches, as widths from the member's start on. To a slanted member comes what lies beside it
    square to `u`, as boards bring it; its widths are less as it is longer."""
    scale = float(m.u @ u)
    if abs(scale) > PARALLEL:
        return [Load(w.start - m.start, w.end - m.start, w.w0, w.last) for w in found]
    first = float((np.array([-m.u[1], m.u[0]]) * m.v + m.u * m.start) @ u)
    along = []
    for w in found:
        a, b = ((x - first) / scale for x in (w.start, w.end))
        low, high = (x * abs(scale) for x in (w.w0, w.last))
        along.append(Load(a, b, low, high) if a < b else Load(b, a, high, low))
    return along


def divide(surface: Polygon | MultiPolygon, lines: Sequence[FramingLine]) -> list[Polygon | MultiPolygon]:
    """The part of a turned surface that each line carries, in the order of `lines`; empty for a line not under it."""
    pieces: list[list] = [[] for _ in lines]
    for lo, hi, here in _bands(surface, lines):
        between = [tuple((lines[i].at(u) + lines[j].at(u)) / 2 for u in (lo, hi)) for i, j in itertools.pairwise(here)]
        for i, (v0, v1), (w0, w1) in zip(here, [(-FAR, -FAR), *between], [*between, (FAR, FAR)]):
            part = surface.intersection(Polygon([(lo, v0), (hi, v1), (hi, w1), (lo, w0)]))
            if part.area > _TINY:
                pieces[i].append(part)
    return [united(p) if p else Polygon() for p in pieces]


def divide_by_lever(
    surface: Polygon | MultiPolygon, stands: Polygon | MultiPolygon, lines: Sequence[FramingLine]
) -> list[list[Load]]:
    """The widths, inches, of what of a load `stands` on a turned surface that each line carries: between two lines by
    the lever, as simple boards bring it, past the outermost all to that one. An even load comes to parallel lines as
    `divide` has it; one that ends between two does not."""
    found: list[list[Load]] = [[] for _ in lines]
    stands = stands.intersection(surface)
    for lo, hi, here in _bands(surface, lines):
        for i, j in itertools.pairwise([None, *here, None]):
            low, high = ((e, e) if k is None else (lines[k].at(lo), lines[k].at(hi)) for e, k in ((-FAR, i), (FAR, j)))
            part = stands.intersection(Polygon([(lo, low[0]), (hi, low[1]), (hi, high[1]), (lo, high[0])]))
            if part.area <= _TINY:
                continue
            if i is not None and j is not None:
                for k, loads in zip((i, j), _levered(part, lines[i], lines[j])):
                    found[k] += loads
            else:
                found[here[0] if i is None else here[-1]] += widths(part)
    return found


def _levered(part: Polygon | MultiPolygon, low: FramingLine, high: FramingLine) -> tuple[list[Load], list[Load]]:
    """What lies between two lines, by the lever. Between corners the widths are of the second degree along u: straight
    ones through the two points of Gauss have the same sum and the same moment."""
    found: tuple[list[Load], list[Load]] = [], []
    _, v0, _, v1 = part.bounds
    marks = np.unique(np.round(shapely.get_coordinates(part)[:, 0], 9))
    for a, b in itertools.pairwise(marks):
        if b - a < _TINY:
            continue
        rows = []
        for t in _GAUSS:
            u = a + (b - a) * t
            cut = part.intersection(LineString([(u, v0 - 1), (u, v1 + 1)]))
            wide = cut.length
            to_high = wide * (cut.centroid.y - low.at(u)) / (high.at(u) - low.at(u)) if wide else 0.0
            rows.append((wide - to_high, to_high))
        for loads, w0, w1 in zip(found, *rows):
            rise = (w1 - w0) / (_GAUSS[1] - _GAUSS[0])
            loads.append(Load(float(a), float(b), w0 - rise * _GAUSS[0], w1 + rise * (1 - _GAUSS[1])))
    return found


def _bands(
    surface: Polygon | MultiPolygon, lines: Sequence[FramingLine]
) -> Iterator[tuple[float, float, Sequence[int]]]:
    """(from, to, lines in order across) for bands of a turned surface across u in which the same lines run."""
    reach = [_drawn_on(surface, lines, i) for i in range(len(lines))]
    marks: list[float] = []
    for m in sorted(m for r in reach if r for m in r):
        if not marks or m - marks[-1] > _TINY:
            marks.append(m)
    u_low, _, u_high, _ = surface.bounds
    bands = []
    for a, b in itertools.pairwise(marks):
        middle = (a + b) / 2
        past = sorted((l.at(middle), i) for i, (l, r) in enumerate(zip(lines, reach)) if r and r[0] < middle < r[1])
        bands.append((a, b, [i for _, i in past]))
    some = [k for k, band in enumerate(bands) if band[2]]
    for k, (a, b, here) in enumerate(bands):
        # surface that no line runs past belongs to the lines nearest along u; so does what lies beyond the first and
        # last
        here = here or bands[min(some, key=lambda s: abs(s - k))][2]
        yield (u_low - 1 if k == 0 else a), (u_high + 1 if k == len(bands) - 1 else b), here


def _drawn_on(surface, lines: Sequence[FramingLine], i: int) -> tuple[float, float] | None:
    """From where to where a line reaches when drawn on to the surface's edge, or half way to the next on the same
    line."""
    line = lines[i]
    if not line.drawn:
        return line.u0, line.u1
    if line.slope:
        return surface.bounds[0], surface.bounds[2]
    across = surface.intersection(LineString([(-FAR, line.v), (FAR, line.v)]))
    found = None
    for g in getattr(across, "geoms", [across]):
        if g.is_empty or g.geom_type == "Point":
            continue
        low, high = g.bounds[0], g.bounds[2]
        if high > line.u0 and low < line.u1:
            found = (low, high) if found is None else (min(found[0], low), max(found[1], high))
    if found is None:
        # at the very edge of the surface (a rim under its overhang's edge): its own length
        return (line.u0, line.u1) if surface.distance(LineString([(line.u0, line.v), (line.u1, line.v)])) < 6 else None
    low, high = found
    for other in lines:
        if other.slope and not other.drawn:  # where it ends at a slanted rim, that takes what lies beyond
            met = other.u0 + (line.v - other.v) / other.slope
            if other.u0 - ENDS_THERE <= met <= other.u1 + ENDS_THERE:
                low, high = (low, min(high, met)) if met > line.u1 - ENDS_THERE else (low, high)
                low, high = (max(low, met), high) if met < line.u0 + ENDS_THERE else (low, high)
    for j, other in enumerate(lines):
        if j != i and not other.slope and abs(other.v - line.v) < 0.5:
            if other.u0 >= line.u1 - 0.5:
                high = min(high, (line.u1 + other.u0) / 2)
            elif other.u1 <= line.u0 + 0.5:
                low = max(low, (line.u0 + other.u1) / 2)
    return low, high


def widths(part: Polygon | MultiPolygon) -> list[Load]:
    """The width of a turned part along u, inches: `Load(u0, u1, w0, w1)` pieces whose totals add up to its area."""
    found = []
    for g in getattr(part, "geoms", [part]):
        if g.area < _TINY:
            continue
        u0, v0, u1, v1 = g.bounds
        if abs(g.area - (u1 - u0) * (v1 - v0)) < 1e-9 * g.area:
            found.append(Load(u0, u1, v1 - v0))
            continue
        marks = np.unique(np.round(shapely.get_coordinates(g)[:, 0], 9))
        for a, b in itertools.pairwise(marks):
            if b - a < 1e-6:
                continue
            # linear between vertices: two slices inside give both ends
            w1, w3 = (
                g.intersection(LineString([(a + (b - a) * t, v0 - 1), (a + (b - a) * t, v1 + 1)])).length
                for t in (0.25, 0.75)
            )
            slope = (w3 - w1) / 2
            found.append(Load(float(a), float(b), max(0.0, w1 - slope), max(0.0, w3 + slope)))
    return found
