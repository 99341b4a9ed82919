"""Where two solids touch: planar faces that look at each other, lie in one plane and overlap.

Read off the solids of the pieces. All pairs are worked through as arrays, so that time grows with the number of
touching pairs and not with its square.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ..solid.faces import GRID, boxes, by_shape, matrices, near_pairs, read
from ..solid.part import Part
from .saw import sizes_of

PLANE = 1e-3  # inches: faces closer than this touch
LEAST_FACE = 0.01  # square inches: less than this is an edge, not a bearing
_OPPOSITE = -1 + 1e-6  # cosine between the normals of two faces that look at each other
_DOWN = 0.5  # a face is a bearing where its normal is within 60 degrees of the vertical


@dataclass(frozen=True, eq=False)
class Contact:
    """Two pieces that touch in one plane.

    `kind` is "bearing" (`a` rests on `b`: the normal points down), "end" (an end face of `a`, the main one of that end,
    meets `b`) or "side" (side to side). `i`, `j` are the positions of `a`, `b` in the list given. `area` in square
    inches, `normal` the unit vector from `a` into `b`, `point` the world centroid of the shared area, `low` and `high`
    corners of its box.
    """

    i: int
    j: int
    a: Part
    b: Part
    kind: str
    area: float
    normal: tuple[float, float, float]
    point: tuple[float, float, float]
    low: tuple[float, float, float]
    high: tuple[float, float, float]

    @property
    def id_a(self) -> str:
        return self.a.id

    @property
    def id_b(self) -> str:
        return self.b.id

    @property
    def z(self) -> float:
        """Height of the shared area's centroid."""
        return self.point[2]


class _World:
    """All faces of all parts in world coordinates as flat arrays."""

    def __init__(self, parts: Sequence[Part]):
        placed = matrices(parts)
        points, point_face, normals, owner, is_end, holes = [], [], [], [], [], {}
        faces = 0
        for shape, index in by_shape(parts).items():
            reading, m = read(shape), placed[index]
            local, local_face, n = reading.flat_points
            k, f = len(index), len(reading.faces)
            points.append((np.einsum("nij,vj->nvi", m[:, :3, :3], local) + m[:, None, :3, 3]).reshape(-1, 3))
            point_face.append((faces + local_face[None, :] + f * np.arange(k)[:, None]).reshape(-1))
            normals.append(np.einsum("nij,fj->nfi", m[:, :3, :3], n).reshape(-1, 3))
            owner.append(np.repeat(index, f))
            is_end.append(np.tile(np.isin(np.arange(f), sizes_of(parts[index[0]]).end_faces), k))
            for at, face in enumerate(reading.faces):
                if len(face.rings) > 1:
                    for copy in range(k):
                        holes[faces + copy * f + at] = [r @ m[copy, :3, :3].T + m[copy, :3, 3] for r in face.rings[1:]]
            faces += k * f
        self.points, self.point_face = np.vstack(points), np.concatenate(point_face)
        self.normals, self.owner, self.is_end = np.vstack(normals), np.concatenate(owner), np.concatenate(is_end)
        self.holes = holes
        self.start = np.searchsorted(self.point_face, np.arange(faces))
        self.count = np.append(self.start[1:], len(self.points)) - self.start
        self.offset = np.einsum("ij,ij->i", self.normals, self.points[self.start])
        self.low = np.minimum.reduceat(self.points, self.start)
        self.high = np.maximum.reduceat(self.points, self.start)
        order = np.argsort(self.owner, kind="stable")
        self.by_owner = order
        self.first = np.searchsorted(self.owner[order], np.arange(len(parts)))
        self.number = np.append(self.first[1:], faces) - self.first

    def face_pairs(self, pairs: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Faces (p, q) of each pair of parts that lie in one plane, look at each other and whose boxes meet."""
        na, nb = self.number[pairs[:, 0]], self.number[pairs[:, 1]]
        size = na * nb
        which = np.repeat(np.arange(len(pairs)), size)
        k = np.arange(size.sum()) - np.repeat(np.cumsum(size) - size, size)
        p = self.by_owner[self.first[pairs[which, 0]] + k // nb[which]]
        q = self.by_owner[self.first[pairs[which, 1]] + k % nb[which]]
        keep = np.abs(self.offset[p] + self.offset[q]) < 10 * PLANE  # cheap: opposite normals, one plane
        p, q = p[keep], q[keep]
        keep = np.einsum("ij,ij->i", self.normals[p], self.normals[q]) < _OPPOSITE
        p, q = p[keep], q[keep]
        # the offset is exact only at the origin: look at the distance where the two faces are
        gap = np.einsum("ij,ij->i", self.normals[p], self.points[self.start[q]]) - self.offset[p]
        keep = (
            (np.abs(gap) < PLANE)
            & (self.low[p] <= self.high[q] + PLANE).all(1)
            & (self.low[q] <= self.high[p] + PLANE).all(1)
        )
        return p[keep], q[keep]

    def polygons(self, faces: np.ndarray, drop: np.ndarray) -> np.ndarray:
        """The faces as shapely polygons, each seen along the axis `drop` (0, 1 or 2)."""
        keys, back = np.unique(faces * 3 + drop, return_inverse=True)
        f, axis = keys // 3, keys % 3
        n = self.count[f]
        at = np.repeat(self.start[f] - (np.cumsum(n) - n), n) + np.arange(n.sum())
        keep = np.array([[1, 2], [0, 2], [0, 1]])[axis]
        xy = np.take_along_axis(self.points[at], np.repeat(keep, n, axis=0), axis=1)
        out = shapely.polygons(shapely.linearrings(xy, indices=np.repeat(np.arange(len(f)), n)))
        for i, face in enumerate(f):
            if face in self.holes:
                inner = [shapely.Polygon(r[:, keep[i]]) for r in self.holes[face]]
                out[i] = out[i].difference(shapely.union_all(inner))
        return out[back]


def contacts(parts: Sequence[Part], least: float = LEAST_FACE) -> list[Contact]:
    """Every place where two pieces touch with more than `least` square inches, ordered by position in `parts`.

    Two faces touch when their normals are opposite, their planes are within 0.001 in and their areas overlap. A pair
    that touches in several planes (a tread in the corner of a stringer) has one contact a plane. A round face counts
    with its planar ends alone: a cylinder's side touches along a line.
    """
    parts = list(parts)
    if len(parts) < 2:
        return []
    box = boxes(parts)
    pairs = near_pairs(box[:, 0] - PLANE, box[:, 1] + PLANE)
    if not len(pairs):
        return []
    world = _World(parts)
    p, q = world.face_pairs(pairs)
    if not len(p):
        return []
    drop = np.abs(world.normals[p]).argmax(axis=1)
    shared, quick = _overlap(world.polygons(p, drop), world.polygons(q, drop))
    area = shapely.area(shared) / np.abs(world.normals[p, drop])
    keep = area >= least
    p, q, drop, area, shared, quick = p[keep], q[keep], drop[keep], area[keep], shared[keep], quick[keep]
    low, high, point = _raised(world, p, drop, shared, quick)
    return _contacts(parts, world, p, q, area, low, high, point)


def fills_box(polygons: np.ndarray, bounds: np.ndarray) -> np.ndarray:
    """(n,) whether each polygon is a rectangle square to the axes; `bounds` (n, 4) are its own."""
    return np.abs(shapely.area(polygons) - (bounds[:, 2:] - bounds[:, :2]).prod(axis=1)) < 1e-9


def _overlap(a: np.ndarray, b: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Shared polygons, and which of them are plain rectangles. Where both are rectangles square to the axes (most are)
    their bounds give it without the general intersection, which takes thirty times as long."""
    bounds_a, bounds_b = shapely.bounds(a), shapely.bounds(b)
    low, high = np.maximum(bounds_a[:, :2], bounds_b[:, :2]), np.minimum(bounds_a[:, 2:], bounds_b[:, 2:])
    quick = fills_box(a, bounds_a) & fills_box(b, bounds_b)
    low = np.minimum(low, high)  # boxes that only meet in an edge: an empty sliver, dropped by its area
    out = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    out[~quick] = shapely.intersection(a[~quick], b[~quick])
    # where edges all but coincide (a post turned on its base) the general intersection can lose the shared area; on a
    # grid it cannot
    lost = ~quick & (shapely.area(out) < LEAST_FACE) & ((high - low).prod(axis=1) > LEAST_FACE)
    out[lost] = shapely.intersection(a[lost], b[lost], grid_size=GRID)
    return out, quick


def _raised(world: _World, p, drop, shared, quick):
    """Boxes and centroids of the shared polygons, brought back from the two kept axes into the plane of face `p`."""
    n, d = world.normals[p], world.offset[p]
    keep = np.array([[1, 2], [0, 2], [0, 1]])[drop]
    rows = np.arange(len(p))[:, None]

    def lift(xy):
        out = np.empty((len(p), 3))
        out[rows, keep] = xy
        rest = np.take_along_axis(n, keep, axis=1)
        out[np.arange(len(p)), drop] = (d - (rest * xy).sum(axis=1)) / n[np.arange(len(p)), drop]
        return out

    bounds = shapely.bounds(shared)
    middle = (bounds[:, :2] + bounds[:, 2:]) / 2  # a rectangle's centroid; the others' is worked out
    middle[~quick] = shapely.get_coordinates(shapely.centroid(shared[~quick]))
    corners = np.array([lift(bounds[:, c]) for c in ([0, 1], [2, 1], [2, 3], [0, 3])])
    return corners.min(axis=0), corners.max(axis=0), lift(middle)


def _contacts(parts, world, p, q, area, low, high, point) -> list[Contact]:
    normal = world.normals[p]
    bearing = np.abs(normal[:, 2]) > _DOWN
    ends = world.is_end[p] | world.is_end[q]
    # a bearing points down from the piece carried; an end points out of the piece it is the end of
    swap = np.where(bearing, normal[:, 2] > 0, ~world.is_end[p] & world.is_end[q])
    normal = np.where(swap[:, None], -normal, normal) + 0.0
    i = np.where(swap, world.owner[q], world.owner[p])
    j = np.where(swap, world.owner[p], world.owner[q])
    kind = np.where(bearing, "bearing", np.where(ends, "end", "side"))
    order = np.lexsort((np.round(point[:, 2], 3), kind, j, i))
    columns = (i, j, kind, area, normal, point, low, high)
    return [
        Contact(i, j, parts[i], parts[j], kind, area, tuple(normal), tuple(point), tuple(low), tuple(high))
        for i, j, kind, area, normal, point, low, high in zip(*(column[order].tolist() for column in columns))
    ]
