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
from ..solid.union import common, united
from ..strength.beams import Load

CLOSED_GAP = 0.6  # inches: gaps between boards up to twice this are closed to find the loaded surface
_TINY = 1e-6
_GAUSS = (0.5 - math.sqrt(1 / 12), 0.5 + math.sqrt(1 / 12))  # of a stretch: exact to the third degree
HARDLY_OVER = 1.0  # inches: as wide a strip past the end of a line beside others is no part of it; our own
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


def divide(
    surface: Polygon | MultiPolygon, lines: Sequence[FramingLine], near: float = 0.0
) -> list[Polygon | MultiPolygon]:
    """The part of a turned surface that each line carries, in the order of `lines`; empty for a line neither under it
    nor `near` it, inches."""
    pieces: list[list] = [[] for _ in lines]
    for lo, hi, here in _bands(surface, lines, near):
        parts = _parted(surface, lines, here, lo, hi)
        slivers = {
            i for i, part in parts.items() if _past_its_end(lines[i], lo, hi) and part.area < HARDLY_OVER * (hi - lo)
        }
        if slivers and len(slivers) < len(here):  # the next line, which is there, takes what hardly reaches over
            parts = _parted(surface, lines, [i for i in here if i not in slivers], lo, hi)
        for i, part in parts.items():
            if part.area > _TINY:
                pieces[i].append(part)
    return [united(p) if p else Polygon() for p in pieces]


def _parted(
    surface: Polygon | MultiPolygon, lines: Sequence[FramingLine], here: Sequence[int], lo: float, hi: float
) -> dict[int, Polygon | MultiPolygon]:
    """What of a band of the surface lies nearest to each of the lines there."""
    between = [tuple((lines[i].at(u) + lines[j].at(u)) / 2 for u in (lo, hi)) for i, j in itertools.pairwise(here)]
    return {
        i: common(surface, Polygon([(lo, v0), (hi, v1), (hi, w1), (lo, w0)]))
        for i, (v0, v1), (w0, w1) in zip(here, [(-FAR, -FAR), *between], [*between, (FAR, FAR)])
    }


def _past_its_end(line: FramingLine, lo: float, hi: float) -> bool:
    return lo >= line.u1 + ENDS_THERE or hi <= line.u0 - ENDS_THERE


def divide_by_lever(
    surface: Polygon | MultiPolygon,
    stands: Polygon | MultiPolygon,
    lines: Sequence[FramingLine],
    near: float = 0.0,
    tips: bool = False,
) -> list[list[Load]]:
    """The widths, inches, of what of a load `stands` on a turned surface that each line carries: between two lines by
    the lever, as simple boards bring it; past the outermost all to that one or, where it `tips`, by the lever too. An
    even load comes to parallel lines as `divide` has it; one that ends between two does not."""
    found: list[list[Load]] = [[] for _ in lines]
    stands = stands if stands is surface else common(stands, surface)
    for lo, hi, here in _bands(surface, lines, near):
        stretch = common(stands, Polygon([(lo, -FAR), (hi, -FAR), (hi, FAR), (lo, FAR)]))
        if stretch.area <= _TINY:
            continue
        crossed = [LineString([(lo, lines[k].at(lo)), (hi, lines[k].at(hi))]).intersection(stretch) for k in here]
        corners = [shapely.get_coordinates(g)[:, 0] for g in (stretch, *crossed)]
        for a, b in itertools.pairwise(np.unique(np.round(np.concatenate(corners), 7))):
            rows = [_levered(stretch, a + (b - a) * t, [lines[k] for k in here], tips) for t in _GAUSS]
            for k, w0, w1 in zip(here, *rows):
                if w0 or w1:
                    found[k].append(_through(float(a), float(b), w0, w1))
    return found


def _levered(stretch: Polygon | MultiPolygon, u: float, here: Sequence[FramingLine], tips: bool) -> list[float]:
    """The width that each of some lines, in order, has of a stretch at `u`, by the lever."""
    _, low, _, high = stretch.bounds
    cut = stretch.intersection(LineString([(u, low - 1), (u, high + 1)]))
    at = [float(line.at(u)) for line in here]
    found = [0.0] * len(here)
    stops = [-FAR, *at, FAR]
    for g in getattr(cut, "geoms", [cut]):
        _, v0, _, v1 = g.bounds or (0, 0, 0, 0)
        for k, (a, b) in enumerate(itertools.pairwise(stops)):
            c, d = max(a, v0), min(b, v1)
            if d <= c:
                continue
            outside = k in (0, len(at))
            if len(at) < 2 or (outside and not tips):
                found[min(max(k - 1, 0), len(at) - 1)] += d - c
                continue
            n = min(max(k - 1, 0), len(at) - 2)
            share = ((c + d) / 2 - at[n]) / (at[n + 1] - at[n])
            found[n] += (d - c) * (1 - share)
            found[n + 1] += (d - c) * share
    return found


def _through(a: float, b: float, w0: float, w1: float) -> Load:
    """A load from `a` to `b` that is `w0` and `w1` at the two points of Gauss, and so has the sum and the moment of any
    of the second degree; where a straight one would fall below 0, an even one over less of it."""
    rise = (w1 - w0) / (_GAUSS[1] - _GAUSS[0])
    first, last = w0 - rise * _GAUSS[0], w1 + rise * (1 - _GAUSS[1])
    if min(first, last) >= 0 or w0 + w1 <= 0:
        return Load(a, b, first, last)
    middle = (first + 2 * last) / (3 * (first + last))
    half = min(middle, 1 - middle)
    return Load(a + (b - a) * (middle - half), a + (b - a) * (middle + half), (w0 + w1) / (4 * half))


def _bands(
    surface: Polygon | MultiPolygon, lines: Sequence[FramingLine], near: float
) -> Iterator[tuple[float, float, Sequence[int]]]:
    """(from, to, lines in order across) for bands of a turned surface across u in which the same lines run."""
    over = surface.buffer(near, join_style="mitre") if near else surface
    reach = [_drawn_on(over, lines, i) for i in range(len(lines))]
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
