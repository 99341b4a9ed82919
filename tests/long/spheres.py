"""Which balls pass a guard straight through, sampled in space on `model.glb` alone: none of the program's own openings
is asked. Inches.

Round every top rail all pieces near its plane are seen square to it. At places between the floor or the treads and the
rail the widest disc is found that meets none of them: a ball of that size goes through.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from read_back import Piece

STEP = 0.25  # inches between the places looked at
SLAB = 5.5  # inches to either side of a rail's plane within which pieces bar the way or are walked on
PARALLEL = 0.999  # cosine: rails of two flights that pass each other are not
WALKED = ("board", "border", "breaker", "tread", "pad")


@dataclass(frozen=True)
class Opening:
    """The widest ball at a rail, above its bottom rail or below: its diameter, where it passes, and what rail that
    is."""

    rail: str
    sloping: bool
    below: bool
    size: float
    at: tuple[float, float]


def openings(pieces: Sequence[Piece]) -> Iterator[Opening]:
    for rail in pieces:
        if rail.role == "top rail":
            yield from _openings(rail, pieces)


def _openings(rail: Piece, pieces: Sequence[Piece]) -> Iterator[Opening]:
    axis = _axis(rail)
    along = axis[:2] / np.linalg.norm(axis[:2])
    out = np.array([-along[1], along[0]])
    plane = float((rail.corners[:, :2] @ out).mean())
    ends = rail.corners[:, :2] @ along
    low, high = float(ends.min()), float(ends.max())
    near = [p for p in pieces if _in_slab(p, out, plane) and _beside(p, along, low - 12, high + 12)]
    near = [p for p in near if p.box[0, 2] < rail.box[1, 2] + 6 and p.box[1, 2] > rail.box[0, 2] - 60]
    seen = shapely.union_all([_seen(p, along) for p in near])
    shapely.prepare(seen)
    top = _seen(rail, along)
    under = [p for p in near if p.role == "bottom rail" and abs(float(_axis(p) @ axis)) > PARALLEL]
    s, z = np.meshgrid(np.arange(low, high, STEP), np.arange(rail.box[0, 2] - 45, rail.box[1, 2], STEP))
    s, z = s.ravel(), z.ravel()
    roof = _lowest(top, s)
    floor = np.full(len(s), -np.inf)
    for p in near:
        if p.role in WALKED:
            t = p.corners[:, :2] @ along
            here = (s >= t.min()) & (s <= t.max()) & (p.box[1, 2] < roof - 6)
            floor[here] = np.maximum(floor[here], p.box[1, 2])
    inside = (z < roof) & (z > floor) & np.isfinite(floor) & np.isfinite(roof)  # at its very tip a rail is none
    at = shapely.points(s[inside], z[inside])
    size = 2 * shapely.distance(seen, at)
    rails = shapely.union_all([_seen(p, along) for p in under])
    lower = z[inside] < _lowest(rails, s[inside]) if under else np.zeros(len(at), bool)
    for below in (False, True):
        mine = np.flatnonzero(lower == below)
        if len(mine):
            k = mine[size[mine].argmax()]
            where = (float(s[inside][k]), float(z[inside][k]))
            yield Opening(rail.id, abs(axis[2]) > 0.05, below, float(size[k]), where)


def _axis(p: Piece) -> np.ndarray:
    """(3,) unit vector along a piece: the way of most of its edges. Its own long edges are drawn more than once,
    a face's diagonal once, so that plumb ends do not tilt it."""
    edges = (p.triangles - np.roll(p.triangles, 1, axis=1)).reshape(-1, 3)
    long = np.linalg.norm(edges, axis=1)
    ways = edges[long > 1e-6] / long[long > 1e-6, None]
    sign = np.sign(ways[np.arange(len(ways)), np.argmax(np.abs(ways) > 1e-4, axis=1)])
    each, which = np.unique(np.round(ways * sign[:, None], 3), axis=0, return_inverse=True)
    way = each[np.bincount(which.ravel(), long[long > 1e-6]).argmax()]
    return way / np.linalg.norm(way)


def _in_slab(p: Piece, out: np.ndarray, plane: float) -> bool:
    d = p.corners[:, :2] @ out - plane
    return bool(d.min() < SLAB and d.max() > -SLAB)


def _beside(p: Piece, along: np.ndarray, low: float, high: float) -> bool:
    t = p.corners[:, :2] @ along
    return bool(t.min() < high and t.max() > low)


def _seen(p: Piece, along: np.ndarray):
    flat = np.stack([p.triangles[:, :, :2] @ along, p.triangles[:, :, 2]], axis=-1)
    shapes = shapely.polygons(flat)
    return shapely.union_all(shapes[shapely.area(shapes) > 1e-6])


def _lowest(shape, s: np.ndarray) -> np.ndarray:
    """The lowest place of a shape over each station; infinite where there is none."""
    low = np.full(len(s), np.inf)
    for at in np.unique(s):
        cut = shapely.intersection(shape, shapely.LineString([(at, -1e4), (at, 1e4)]))
        if not cut.is_empty:
            low[s == at] = cut.bounds[1]
    return low
