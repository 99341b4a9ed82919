"""Prisms as edges and front faces in view coordinates: what the hidden-line removal works on.

A prism projects exactly: its two caps and its sides are planar, so every edge stays a segment and every face a polygon
whose depth is linear in the view's u and v. Faces that are not convex are divided into triangles once a shape, because
a convex face clips a segment in one closed step. Lengths in inches.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry import Polygon

if TYPE_CHECKING:
    from ...model.solid.kernel import Shape
    from ...model.solid.part import Part
    from .eye import Eye

FACING = 1e-7  # a face this little turned towards the eye is seen on edge
ROUND_SIDES = 64  # facets that stand in for a round side when it hides or is hidden; its silhouette is exact


@dataclass(frozen=True)
class Topology:
    """A shape's corners and what joins them, in local coordinates.

    `corners` (n, 3); `edges` (k, 2) corner numbers; `sides` (k, 2) the two faces of each edge; `normals` (f, 3);
    `pieces`: convex pieces of the faces, those of k corners together as (face numbers (m,), corner numbers (m, k) in
    ring order); `smooth` (k,) marks edges between facets of a round side, which are drawn only where they are the
    silhouette; `rim` (k,) is 1 or 2 for the edges of a round cap (bottom, top), 0 elsewhere.
    """

    corners: np.ndarray
    edges: np.ndarray
    sides: np.ndarray
    normals: np.ndarray
    pieces: tuple[tuple[np.ndarray, np.ndarray], ...]
    smooth: np.ndarray
    rim: np.ndarray


def _convex(ring: np.ndarray) -> bool:
    d = np.roll(ring, -1, axis=0) - ring
    e = np.roll(d, -1, axis=0)
    return bool(np.all(d[:, 0] * e[:, 1] - d[:, 1] * e[:, 0] > -1e-9))


def triangles(polygon: Polygon) -> list[np.ndarray]:
    """The polygon (holes and all) as convex rings: itself if it is convex, else triangles that add no corners."""
    polygon = shapely.orient_polygons(polygon)
    if not polygon.interiors:
        ring = np.asarray(polygon.exterior.coords)[:-1, :2]
        if _convex(ring):
            return [ring]
    parts = shapely.constrained_delaunay_triangles(polygon)
    return [np.asarray(t.exterior.coords)[:-1, :2] for t in shapely.orient_polygons(parts).geoms]


def _topology(rings: list[np.ndarray], thickness: float, smooth: bool) -> Topology:
    flat = np.vstack(rings)
    n = len(flat)
    following = np.arange(n) + 1
    start = 0
    for r in rings:  # each ring closes on itself
        following[start + len(r) - 1] = start
        start += len(r)
    low = np.column_stack([flat, np.zeros(n)])
    corners = np.vstack([low, low + (0, 0, thickness)])
    before = np.empty(n, int)
    before[following] = np.arange(n)
    side = np.arange(n) + 2  # face 0 is the bottom cap, 1 the top, 2 + i the side on ring edge i
    d = flat[following] - flat
    out = np.column_stack([d[:, 1], -d[:, 0], np.zeros(n)])  # material lies to the left of every ring
    normals = np.vstack([[(0, 0, -1), (0, 0, 1)], out / np.linalg.norm(out, axis=1, keepdims=True)])
    i = np.arange(n)
    edges = np.vstack(
        [np.column_stack([i, following]), np.column_stack([i + n, following + n]), np.column_stack([i, i + n])]
    )
    sides = np.vstack(
        [np.column_stack([side, 0 * i]), np.column_stack([side, 0 * i + 1]), np.column_stack([side, side[before]])]
    )
    pieces = [(int(side[k]), (k, int(following[k]), int(following[k]) + n, k + n)) for k in range(n)]
    cap = Polygon(rings[0], rings[1:])
    number = {(round(x, 9), round(y, 9)): k for k, (x, y) in enumerate(flat)}
    for ring in triangles(cap):
        ids = tuple(number[(round(x, 9), round(y, 9))] for x, y in ring)
        pieces += [(0, ids), (1, tuple(k + n for k in ids))]
    is_smooth = np.concatenate([np.zeros(2 * n, bool), np.full(n, smooth)])
    rim = np.concatenate([np.full(n, 1 * smooth), np.full(n, 2 * smooth), np.zeros(n, int)])
    by_size = [[p for p in pieces if len(p[1]) == k] for k in sorted({len(ids) for _, ids in pieces})]
    grouped = tuple((np.array([f for f, _ in same]), np.array([ids for _, ids in same])) for same in by_size)
    return Topology(corners, edges, sides, normals, grouped, is_smooth, rim)


@lru_cache(maxsize=8192)
def _of_shape(shape: Shape) -> Topology:
    oriented = shapely.orient_polygons(shape.polygon)
    rings = [
        np.asarray(oriented.exterior.coords)[:-1, :2],
        *(np.asarray(h.coords)[:-1, :2] for h in oriented.interiors),
    ]
    return _topology(rings, shape.thickness, False)


@lru_cache(maxsize=1024)
def _of_round(radius: float, thickness: float, phase: float) -> Topology:
    a = phase + np.linspace(0, 2 * np.pi, ROUND_SIDES, endpoint=False)
    return _topology([radius * np.column_stack([np.cos(a), np.sin(a)])], thickness, True)


def topology(part: Part, toward: np.ndarray) -> Topology:
    """The part's topology; a round piece is faceted so that two corners lie on its silhouette seen from `toward`."""
    if part.shape.circle is None:
        return _of_shape(part.shape)
    local = part.place.matrix[:3, :3].T @ toward
    phase = np.arctan2(local[1], local[0]) + np.pi / 2 if np.hypot(local[0], local[1]) > FACING else 0.0
    return _of_round(part.shape.circle, part.shape.thickness, round(float(phase), 12))


def depths(parts: list[Part], view: Eye) -> tuple[np.ndarray, np.ndarray]:
    """Lowest and highest depth of each part, a round one as its 64-gon."""
    if not parts:
        return np.zeros(0), np.zeros(0)
    starts = np.cumsum([0] + [len(p.vertices) for p in parts[:-1]])
    depth = np.concatenate([p.vertices for p in parts]) @ np.asarray(view.toward)
    return np.minimum.reduceat(depth, starts), np.maximum.reduceat(depth, starts)


@dataclass
class Scene:
    """Edges and front faces of many parts in view coordinates (u, v, depth; depth grows towards the eye).

    `a`, `b` (e, 3) ends of each edge that could be seen; `owner` (e,) index of its part; `rim` (e,) numbers the round
    cap an edge belongs to, 0 for none. `faces`: arrays (f, k, 3), one for every number k of corners, of convex pieces
    of the faces turned to the eye.
    """

    a: np.ndarray
    b: np.ndarray
    owner: np.ndarray
    rim: np.ndarray
    faces: list[np.ndarray]


def scene(parts: Iterable[Part], view: Eye) -> Scene:
    """Everything of `parts` that faces the eye. An edge is kept if a face next to it does."""
    axes, toward = view.axes, np.asarray(view.toward)
    by_shape: dict[int, list[int]] = {}
    parts = list(parts)
    tops = [topology(p, toward) for p in parts]
    for i, top in enumerate(tops):
        by_shape.setdefault(id(top), []).append(i)
    starts, ends, owners, rims = [], [], [], []
    faces: dict[int, list[np.ndarray]] = {}
    for members in by_shape.values():
        top = tops[members[0]]
        m = np.array([parts[i].place.matrix for i in members])
        turn = axes @ m[:, :3, :3]  # (p, 3, 3): local to view
        shift = m[:, :3, 3] @ axes.T
        points = np.einsum("pij,nj->pni", turn, top.corners) + shift[:, None, :]
        facing = np.einsum("pj,fj->pf", turn[:, 2, :], top.normals)
        front = facing > FACING
        one, two = front[:, top.sides[:, 0]], front[:, top.sides[:, 1]]
        drawn = np.where(top.smooth, one ^ two, one | two)
        which, edge = np.nonzero(drawn)
        starts.append(points[which, top.edges[edge, 0]])
        ends.append(points[which, top.edges[edge, 1]])
        index = np.asarray(members)
        owners.append(index[which])
        square_on = front[:, 0] & (facing[:, 0] > 1 - 1e-9) | front[:, 1] & (facing[:, 1] > 1 - 1e-9)
        rims.append(np.where(square_on[which], top.rim[edge], 0))
        for face, ids in top.pieces:
            who, piece = np.nonzero(front[:, face])
            faces.setdefault(ids.shape[1], []).append(points[who[:, None], ids[piece]])
    if not starts:
        empty = np.zeros((0, 3))
        return Scene(empty, empty, np.zeros(0, int), np.zeros(0, int), [])
    return Scene(
        np.vstack(starts),
        np.vstack(ends),
        np.concatenate(owners),
        np.concatenate(rims),
        [np.concatenate(f) for f in faces.values()],
    )
