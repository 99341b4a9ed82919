"""What of each face the eye sees: exact visible regions of the pieces' faces, hidden faces and parts of faces taken
away.

Every piece is a prism, so a face is a flat polygon and its depth over the picture a linear function. Pieces do not
overlap, so most often one plane tells whether a piece stands before a face: the face's own, or one that bounds the
piece. Then the piece's silhouette is taken out of the face. Only where no plane parts them (notched and sawtoothed
pieces) are their faces compared over the overlap. Nothing is sampled, so the same regions serve a vector picture and a
bitmap of any size. Inches.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from ...model.solid.kernel import Shape
from ...model.solid.part import Part
from .eye import Eye
from .mesh import rings

_TOUCH = 1e-4  # inches of depth: faces this close lie on one another
_THIN = 2e-3  # inches: what is left narrower than this is a rounding crumb, no face
_LIGHT = np.array(
    [-0.35, 0.75, 0.56]
)  # towards the light in view axes: over the left shoulder, so every side is modelled


@dataclass(frozen=True)
class Seen:
    """A visible stretch of one face: its region in the picture, the piece, how lit it is (0..1) and whether it is one
    of the many flats that stand for a round side. `depth` (of the region's middle) grows towards the eye."""

    part: Part
    region: Polygon
    light: float
    flat_of_round: bool
    depth: float


def visible(parts: Sequence[Part], view: Eye, shift: Callable[[Part], Sequence[float]] | None = None) -> list[Seen]:
    """The visible regions of all pieces, farthest first. `shift` moves a piece (world inches) before it is seen."""
    if not parts:
        return []
    faces = _Faces(parts, view, shift)
    left = _take_away(faces)
    pieces, i = shapely.get_parts(left, return_index=True)
    whole = shapely.area(pieces) > _THIN * shapely.length(pieces) / 2  # lines and points have no area
    pieces, i = pieces[whole], i[whole]
    xy = shapely.get_coordinates(shapely.centroid(pieces))
    depth = np.einsum("nk,nk->n", faces.plane[i], np.column_stack([xy, np.ones(len(xy))]))
    return [
        Seen(parts[faces.owner[i[n]]], pieces[n], float(faces.light[i[n]]), bool(faces.round[i[n]]), float(depth[n]))
        for n in np.argsort(depth, kind="stable")
    ]


class _Faces:
    """Every face that looks at the eye, in view axes: `outline` in the picture, outward `normal` and `offset` (normal .
    p), `plane` (depth = plane . (x, y, 1)), corners, the piece that owns it; and of every piece its silhouette,
    corners, whether it is convex, and the planes that bound it."""

    def __init__(self, parts, view: Eye, shift):
        axes = view.axes
        local: dict[Shape, list] = {}
        loops_of, normals, offsets, lights, rounds, owners, corners = [], [], [], [], [], [], []
        self.bounding, self.convex, self.body = [], [], []
        for k, part in enumerate(parts):
            if part.shape not in local:
                local[part.shape] = _local_faces(part.shape)
            turn = axes @ part.place.matrix[:3, :3]
            move = axes @ (part.place.matrix[:3, 3] + (np.asarray(shift(part), float) if shift else 0.0))
            bounding = []
            for normal, loops, is_round, bounds in local[part.shape]:
                n = turn @ normal
                points = [loop @ turn.T + move for loop in loops]
                if bounds:
                    bounding.append((*n, n @ points[0][0]))
                if n[2] < 1e-6:
                    continue
                loops_of.append(points)
                normals.append(n)
                offsets.append(n @ points[0][0])
                lights.append(_lit(n, float(axes[:, 2] @ n)))
                rounds.append(is_round)
                owners.append(k)
                corners.append(np.vstack(points))
            self.bounding.append(np.array(bounding).reshape(-1, 4))
            self.convex.append(all(bounds for *_, bounds in local[part.shape]))
            low = np.vstack(list(local[part.shape][1][1]))  # the low end's rings, then the high end's
            both = np.vstack([low, low + (0, 0, part.shape.thickness)])
            self.body.append(both @ turn.T + move)
        self.outline = _polygons(loops_of)
        self.normal, self.offset = np.array(normals), np.array(offsets)
        self.plane = np.column_stack([-self.normal[:, :2], self.offset]) / self.normal[:, 2:]
        self.light, self.round, self.owner, self.corners = np.array(lights), np.array(rounds), np.array(owners), corners
        self.near = np.array([c[:, 2].max() for c in corners])
        self.far = np.array([c[:, 2].min() for c in corners])
        self.convex = np.array(self.convex)
        self.first = np.searchsorted(
            self.owner, np.arange(len(parts) + 1)
        )  # a piece's faces are first[k] .. first[k + 1]
        self.silhouette = np.array(
            [shapely.union_all(self.outline[a:b]) for a, b in zip(self.first, self.first[1:])], object
        )


def _polygons(faces: list[list[np.ndarray]]) -> np.ndarray:
    """Each face's rings (outer first, any columns after x and y) as a polygon, all made at once."""
    outer = [loops[0][:, :2] for loops in faces]
    made = shapely.polygons(
        shapely.linearrings(np.vstack(outer), indices=np.repeat(np.arange(len(outer)), [len(r) for r in outer]))
    )
    for n, loops in enumerate(faces):
        if len(loops) > 1:
            made[n] = Polygon(outer[n], [p[:, :2] for p in loops[1:]])
    return made


def _local_faces(shape: Shape) -> list[tuple[np.ndarray, list[np.ndarray], bool, bool]]:
    """Of each face, in the shape's own axes: outward normal, rings (n, 3), is it a flat of a round side, does it bound
    the whole shape (all of it lies on the inner side of the face's plane)."""
    loops, t = rings(shape), shape.thickness

    def at(z):
        return [np.column_stack([r, np.full(len(r), z)]) for r in loops]

    found = [(np.array([0.0, 0.0, 1.0]), at(t), False, True), (np.array([0.0, 0.0, -1.0]), at(0.0), False, True)]
    for ring in loops:
        for a, b in zip(ring, np.roll(ring, -1, axis=0)):
            d = b - a
            normal = np.array([d[1], -d[0], 0.0]) / np.hypot(*d)
            bounds = bool(((loops[0] - a) @ normal[:2] < _TOUCH).all()) and ring is loops[0]
            quad = np.array([[*a, 0.0], [*b, 0.0], [*b, t], [*a, t]])
            found.append((normal, [quad], shape.circle is not None, bounds))
    return found


def _lit(normal: np.ndarray, rise: float) -> float:
    """0..1 from the normal in view axes and its upward part: an even sky and one light, so that the faces of a box
    differ."""
    lamp = max(0.0, float(normal @ _LIGHT) / float(np.linalg.norm(_LIGHT)))
    return 0.52 + 0.12 * (rise + 1) / 2 + 0.36 * lamp


def _take_away(f: _Faces) -> np.ndarray:
    """Each outline less all that stands before it."""
    i, k = shapely.STRtree(f.silhouette).query(f.outline)
    front, doubt = _order(f, i, k)
    hidden_by, hider = i[front], f.silhouette[k[front]]
    covered = np.zeros(len(f.outline), bool)
    shapely.prepare(hider)
    covered[hidden_by[shapely.covers(hider, f.outline[hidden_by])]] = True
    i, j = _face_pairs(f, i[doubt], k[doubt])
    open_ = ~covered[i]
    i, j = i[open_], j[open_]
    partly = _in_front(f, i, j)
    good = ~shapely.is_empty(partly)
    keep = ~covered[hidden_by]
    hidden_by = np.concatenate([hidden_by[keep], i[good]])
    hider = np.concatenate([hider[keep], partly[good]])
    left = f.outline.copy()
    left[covered] = Polygon()
    # one hider of every face at a time, the largest first, all faces at once: what is gone needs no further work
    order = np.lexsort((-shapely.area(hider), hidden_by))
    hidden_by, hider = hidden_by[order], hider[order]
    turn = np.arange(len(hidden_by)) - np.searchsorted(hidden_by, hidden_by)
    for n in range(int(turn.max(initial=-1)) + 1):
        now = np.flatnonzero(turn == n)
        now = now[shapely.intersects(left[hidden_by[now]], hider[now])]
        left[hidden_by[now]] = shapely.difference(left[hidden_by[now]], hider[now])
    return left


def _order(f: _Faces, i: np.ndarray, k: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Of the pairs (face i, piece k): which pieces surely stand before the face, and which pairs no plane decides."""
    own = f.owner[i] == k
    verts = np.concatenate(f.body)
    counts = np.array([len(b) for b in f.body])
    starts = np.concatenate([[0], np.cumsum(counts)])
    rows, spans = _gather(starts[k], counts[k])
    over = np.einsum("nk,nk->n", verts[rows], np.repeat(f.normal[i], counts[k], axis=0)) - np.repeat(
        f.offset[i], counts[k]
    )
    least, most = np.minimum.reduceat(over, spans), np.maximum.reduceat(over, spans)
    front = ~own & (least >= -_TOUCH) & (most > _TOUCH)
    open_ = ~front & (most > _TOUCH) & ~(own & f.convex[k])
    for n in np.flatnonzero(open_ & ~own):
        planes = f.bounding[k[n]]
        beyond = planes[:, :3] @ f.corners[i[n]].T - planes[:, 3:]
        outside = (beyond > -_TOUCH).all(axis=1)
        if outside.any():  # a plane parts them: it says which of the two is nearer
            front[n] = bool((planes[outside, 2] < -1e-9).any())
            open_[n] = False
    return front, open_


def _gather(start: np.ndarray, count: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rows start .. start + count of each entry, one after another, and where each entry begins in that list."""
    begin = np.concatenate([[0], np.cumsum(count)[:-1]])
    return np.arange(count.sum()) - np.repeat(begin - start, count), begin


def _face_pairs(f: _Faces, i: np.ndarray, k: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Pairs (face, face of piece k) whose outlines may overlap with the second the nearer."""
    count = f.first[k + 1] - f.first[k]
    if not len(i) or not count.sum():
        return np.zeros(0, int), np.zeros(0, int)
    j, _ = _gather(f.first[k], count)
    i = np.repeat(i, count)
    keep = (i != j) & (f.near[j] > f.far[i] + _TOUCH)
    i, j = i[keep], j[keep]
    meets = shapely.intersects(f.outline[i], f.outline[j])
    return i[meets], j[meets]


def _in_front(f: _Faces, i: np.ndarray, j: np.ndarray) -> np.ndarray:
    """The part of face j's overlap with face i in which j is the nearer: all, none, or one side of the line where they
    meet."""
    common = shapely.intersection(f.outline[i], f.outline[j])
    slope = f.plane[j] - f.plane[i]  # depth of j over depth of i, as a function of the picture
    xy, owner = shapely.get_coordinates(common, return_index=True)
    over = np.einsum("nk,nk->n", np.column_stack([xy, np.ones(len(xy))]), slope[owner])
    most, least = np.full(len(i), -np.inf), np.full(len(i), np.inf)
    np.maximum.at(most, owner, over)
    np.minimum.at(least, owner, over)
    none = (most <= _TOUCH) | (shapely.area(common) < 1e-9)
    common[none] = Polygon()
    for k in np.flatnonzero(~none & (least < -_TOUCH)):
        common[k] = common[k].intersection(_half_plane(slope[k], common[k].bounds))
    return common


def _half_plane(slope: np.ndarray, bounds) -> Polygon:
    """Where slope . (x, y, 1) > 0, as far as the bounds reach."""
    x0, y0, x1, y1 = bounds
    size = 4 * max(x1 - x0, y1 - y0, 1.0)
    g = slope[:2]
    length = float(np.hypot(*g))
    if length < 1e-12:
        return shapely.box(x0 - 1, y0 - 1, x1 + 1, y1 + 1) if slope[2] > 0 else Polygon()
    n = g / length
    along = np.array([-n[1], n[0]])
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    on = middle - n * (slope @ (*middle, 1.0)) / length
    return Polygon([on + along * size, on - along * size, on - along * size + n * size, on + along * size + n * size])
