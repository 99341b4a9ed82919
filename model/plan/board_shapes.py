"""Boards in plan: seen along their own axes, taken apart into polygons, and whether a piece is too small to fasten."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from ...shared.practice import practice
from ..solid.union import united
from .stages import Joisted

SCRAP, SCRAP_BEARING = 12.0, 1.0  # square inches: a piece this small needs that much bearing for one fastener
SCREW_EDGE = practice("fastener from an edge of a scrap")
HOLDS_A_FASTENER = 2 * SCREW_EDGE  # inches: no fastener in a narrower end keeps clear of its edges
SHARP = 50.0  # mitre limit: sharper corners than of a board cut at 3 degrees are none
NECK = 1.0  # inches: a board that a corner leaves narrower breaks there (our own)
NOTCH_ROOM = 3.0  # a joint keeps this far from a notch, so that neither end is left thin


def local(polygon: Polygon, x: np.ndarray, y: np.ndarray) -> Any:
    """A plan geometry seen along the unit vectors x and y (about the plan's origin)."""
    turn = np.array([x, y], float)
    return shapely.transform(polygon, lambda p: p @ turn.T)


def fastened(layout: Joisted, outlines: Sequence[Polygon], x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Which `local` outlines can be fastened: all but scraps, which are small pieces with next to nothing under them
    (the tip beyond a rim, the rest beside a notch), or in which no fastener that meets what is under them keeps clear
    of their edges. The plan of rims, joists and support strips stands for what is there."""
    flat = np.array(list(outlines), dtype=object)
    area = shapely.area(flat)
    keep = area >= SCRAP_BEARING
    doubtful = np.flatnonzero(keep & (area < SCRAP))
    if len(doubtful):
        plan = [
            layout.outline.polygon.difference(layout.inner),
            *(j for _, j in layout.joist_lines),
            *(s.polygon for s in layout.strips),
        ]
        # turned first: a union turned afterwards can come out crossing itself in its last bits
        under = united([local(q, x, y) for q in plan])
        inside = shapely.buffer(flat[doubtful], -SCREW_EDGE, join_style="mitre")
        keep[doubtful] = (shapely.area(shapely.intersection(flat[doubtful], under)) >= SCRAP_BEARING) & (
            shapely.intersects(inside, under)
        )
    return keep


_JUST = 1e-4  # inches: a strip just as wide as the bound stays, wherever rounding puts it


def without_strips(outline: Polygon, carried: Any, thin: float, past: float, least: float) -> list[Polygon]:
    """A board's `local` outline cut apart where what can carry it (`carried`, within it), strips narrower than `thin`
    left away, lies in parts one after another along it, more than `least` apart: what joins them, from `past` each
    part on, is left out, and a scrap at an end with what joins it. The outline itself where nothing is."""
    parts = polygons(carried.buffer(_JUST - thin / 2, join_style="mitre"))
    spans = sorted(g.bounds[::2] for g in parts if g.area > SCRAP_BEARING)
    scraps = [g.bounds[::2] for g in parts if g.area <= SCRAP_BEARING]
    found: list[list[float]] = []
    for a, b in spans:
        if found and a - found[-1][1] <= least:
            found[-1][1] = max(found[-1][1], b)
        else:
            found.append([a, b])
    if not found:
        return [outline]
    u0, v0, u1, v1 = outline.bounds
    before = any(found[0][0] - b > least for _, b in scraps)
    after = any(a - found[-1][1] > least for a, _ in scraps)
    if len(found) < 2 and not (before or after):
        return [outline]
    found[0][0] = found[0][0] if before else u0 + past
    found[-1][1] = found[-1][1] if after else u1 - past
    return [g for a, b in found for g in polygons(outline.intersection(box(a - past, v0, b + past, v1)))]


def apart_at_necks(outline: Polygon, gap: float) -> list[Polygon]:
    """A board's `local` outline cut through, square and `gap` wide, where the corner of an edge that stands back leaves
    a neck of it narrower than `NECK`; a strip beside a notch is no neck."""
    parts = polygons(outline.buffer(_JUST - NECK / 2))
    spans = sorted(g.bounds[::2] for g in parts if g.area > SCRAP_BEARING)
    _, v0, _, v1 = outline.bounds
    at = np.asarray(outline.exterior.coords)[:-1]
    at = at[(at[:, 1] > v0 + _JUST) & (at[:, 1] < v1 - _JUST)]
    cuts = []
    for (_, b), (a, _) in itertools.pairwise(spans):
        tips = at[(at[:, 0] > b - NECK) & (at[:, 0] < a + NECK)]
        if len(tips) == 1:
            u = float(tips[0, 0])
            cuts.append(box(u - gap / 2, v0 - 1, u + gap / 2, v1 + 1))
    return polygons(outline.difference(shapely.union_all(cuts))) if cuts else [outline]


def without_slivers(outline: Polygon, notches: Sequence[Any], thin: float) -> list[Polygon]:
    """A board's outline, its notches taken out, without strips beside them narrower than `thin` that lie aslant in the
    board: they would break off. Its own corners stay, however acute."""
    opened = outline.buffer(-thin / 2, join_style="mitre", mitre_limit=SHARP)
    opened = opened.buffer(thin / 2 + _JUST, join_style="mitre", mitre_limit=SHARP)
    gone = [
        g.buffer(2 * _JUST, join_style="mitre")
        for g in polygons(outline.difference(opened))
        if g.area > thin * thin / 2 and any(g.distance(n) < _JUST for n in notches)
    ]
    return polygons(outline.difference(shapely.union_all(gone))) if gone else [outline]


def with_tongues(cuts: Sequence[Any]) -> list[Any]:
    """Notches of a board, seen along it, with the tongues between two of them that are too narrow for a fastener."""
    found = list(cuts)
    for p, q in itertools.permutations(cuts, 2):
        (_, b, c, d), (e, f, _, h) = p.bounds, q.bounds
        low, high = max(b, f), min(d, h)
        if 0 < e - c < HOLDS_A_FASTENER and low < high:
            found.append(box(c, low, e, high))
    return found


def polygons(shape: Any) -> list[Polygon]:
    """The polygons of any geometry, without lines and points that two touching outlines leave behind."""
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    return [g for g in getattr(shape, "geoms", []) if isinstance(g, Polygon) and not g.is_empty]
