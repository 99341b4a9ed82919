"""One piece as it lies on the saw table, read off its faces: length, long and short points, end cuts, notches, holes.

Saw axes: `u` along the piece from end A (left) to end B (right), `v` across its width away from you, `w` up through
its thickness; right-handed. The thickness is the cross size that equals its stock's, or else the smaller one.
Everything is found from the faces, edges and vertices of the solid. Inches and degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon
from shapely.ops import unary_union

from ..solid.faces import Reading, read
from ..solid.kernel import Shape
from ..solid.part import Part

_END = 0.17  # cosine to the long axis: a side that tapers by less than 10 degrees is a rip and not an end cut
_FIT = 0.02  # inches by which a piece may exceed its stock's section and still be cut from it
_LEAST = 1e-3  # square inches of section
_TIP = 0.01  # inches by which a tip stands out past the long edges of a piece: two cuts meet there between them
_CORNER = 1e-4  # inches inside the section at which a long edge is followed to the ends


@dataclass(frozen=True)
class EndCut:
    """A saw cut at end "A" (left) or "B" (right): the plane's outward normal as saw settings.

    The blade, square to the piece, is turned by `mitre` in the plane of the table and tilted by `bevel` from upright.
    `mitre` > 0 has the long point on the near edge at end A or B alike (the end face looks away from you), < 0 on the
    far edge. `bevel` > 0 has the long point underneath (the end face looks up), < 0 on top. Both 0 is a square cut.
    `area` of the end face is in square inches. With n the unit normal in saw axes, bevel = asin(n_w) and mitre =
    atan2(n_v, |n_u|): the plane of a blade tilted by b after a turn of m has n = (cos b cos m, cos b sin m, sin b).
    """

    end: str
    mitre: float
    bevel: float
    area: float

    @property
    def square(self) -> bool:
        return abs(self.mitre) < 0.05 and abs(self.bevel) < 0.05


@dataclass(frozen=True)
class Notch:
    """Wood taken out of an edge: from `start` to `start + width` along the piece from end A's tip, `depth` in from
    `edge`.

    `edge` is "near", "far" (edges of the width), "bottom" or "top" (faces), or "end" for one out of the middle of an
    end: that goes `width` into the end and is `depth` across. `corner` is "A" or "B" where the notch runs out of that
    end. `points` are its corners on the saw table, (u from end A's tip, distance across from the near or bottom side).
    """

    start: float
    width: float
    depth: float
    edge: str
    corner: str
    points: tuple[tuple[float, float], ...]


def end_span(n: Notch) -> tuple[float, float]:
    """From where to where across the piece, from the near (or bottom) side, a notch out of the middle of an end
    goes."""
    across = [v for _, v in n.points]
    return min(across), max(across)


@dataclass(frozen=True)
class Hole:
    """An opening right through: centre from end A's tip and from the near (or bottom) edge, and its sizes."""

    at: float
    across: float
    length: float
    width: float


@dataclass(frozen=True, eq=False)
class Sizes:
    """A shape's measurements.

    `long_point` is the longest of the four long edges, or the length from tip to tip where two cuts of one end meet
    between them (a stringer, a pointed board); `short_point` is the shortest edge. `axes` (3, 3) rows are u, v, w in
    the solid's own axes, `origin` (3,) the corner of its saw box. `edges` holds the lengths of the four long edges:
    near bottom, far bottom, far top, near top. `ends` the main cut at each end, `cuts` every end cut (a clipped corner
    has two at one end). `rip` is the width where it is less than the stock's, else None. `outline` is the piece seen
    square to its wide face ("face") or its edge ("edge"), whichever shows its cuts, as saw points; `profile` says
    which. `end_faces` are the positions in the reading of the main end faces.
    """

    volume: float
    surface: float
    length: float
    width: float
    thickness: float
    long_point: float
    short_point: float
    edges: tuple[float, float, float, float]
    ends: tuple[EndCut, EndCut]
    cuts: tuple[EndCut, ...]
    notches: tuple[Notch, ...]
    holes: tuple[Hole, ...]
    rip: float | None
    axes: np.ndarray
    origin: np.ndarray
    outline: tuple[tuple[float, float], ...]
    profile: str
    end_faces: tuple[int, int]


_SIZES: WeakKeyDictionary[Shape, dict[tuple[float, float], Sizes]] = WeakKeyDictionary()


def sizes_of(part: Part) -> Sizes:
    """The measurements of a piece's shape in saw axes, read once for all pieces that share it."""
    known = _SIZES.setdefault(part.shape, {})
    key = (part.stock.thickness, part.stock.width)
    if key not in known:
        known[key] = sizes(read(part.shape), key)
    return known[key]


def sizes(reading: Reading, section: tuple[float, float]) -> Sizes:
    """Measures a solid whose stock is dressed to `section` = (thickness, width), which tells the long axis of a short
    piece from its width; pieces that fit no section lie along their longest side."""
    axes = _axes(reading, section)
    points = reading.vertices @ axes.T
    origin = points.min(axis=0)
    length, width, thickness = (float(x) for x in np.ptp(points, axis=0))
    faces = [(axes @ f.normal, [r @ axes.T - origin for r in f.rings], k) for k, f in enumerate(reading.faces)]
    across, profile = _profile(reading, axes)
    outline, inner = _outline(faces, across)
    notches = tuple(_notches(outline, across, length, (length, width, thickness)[across]))
    ends_at = [sorted(_exposed(faces, sign), key=lambda f: -f[2]) for sign in (-1.0, 1.0)]
    ends_at = [_without_notch_walls(exposed, notches, across) for exposed in ends_at]
    cuts = [[_cut(end, n, area) for n, _, area, _, _ in exposed] for end, exposed in zip("AB", ends_at)]
    edges, tips = _edges(ends_at, width, thickness)
    tip_to_tip = tips[0] > _TIP or tips[1] < length - _TIP
    narrower = abs(thickness - section[0]) < _FIT and width < section[1] - _FIT
    return Sizes(
        reading.volume,
        reading.area,
        length,
        width,
        thickness,
        length if tip_to_tip else max(edges),
        min(edges),
        edges,
        (cuts[0][0], cuts[1][0]),
        tuple(cuts[0] + cuts[1]),
        notches,
        tuple(_holes(inner)),
        width if narrower and not reading.round else None,
        axes,
        origin,
        tuple(map(tuple, outline.round(9).tolist())),
        profile,
        (ends_at[0][0][4], ends_at[1][0][4]),
    )


def _axes(reading: Reading, section: tuple[float, float]) -> np.ndarray:
    """Rows u, v, w. Local x first, the extrusion next, then the longest edge (a stringer's underside)."""
    small, large = sorted(section)
    eye = np.eye(3)
    choices = [(0, 1, 2), (2, 0, 1), (1, 0, 2)]
    sloped = _longest_edge(reading)
    frames = [np.array([eye[u], eye[v], eye[w]]) for u, v, w in choices] + ([sloped] if sloped is not None else [])

    def cross(frame):
        size = np.ptp(reading.vertices @ frame.T, axis=0)
        return size[0], *sorted(size[1:])

    fits = [f for f in frames if cross(f)[1] <= small + _FIT and cross(f)[2] <= large + _FIT]
    # what fits no section (a footing, a sleeve, a piece too wide for its stock) lies so that it is narrowest
    if reading.round:  # only its round ends are ends, however low it is
        fits = [frames[1]]
    frame = fits[0] if fits else min(frames, key=lambda f: round(cross(f)[2], 6))
    size = np.ptp(reading.vertices @ frame.T, axis=0)
    u, a, b = frame
    matches = [abs(x - section[0]) < _FIT for x in size[1:]]
    # a sliver ripped narrower than it is thick keeps its stock's thickness; else the greater cross size is the width
    swap = matches[0] if matches[0] != matches[1] else size[2] > size[1] + 1e-9
    if swap:
        a, b = b, a
    return _saw_frame(u, a, b)


def _saw_frame(u, v, w) -> np.ndarray:
    """Right-handed, with local z up or away from you, so that the top in the deck is the top or the far edge."""
    up = np.array([0.0, 0.0, 1.0])
    if abs(u @ up) > 0.5:  # a post stands along its extrusion: any turn will do
        return np.array([u, v, np.cross(u, v)])
    if abs(w @ up) > abs(v @ up):
        w = w if w @ up > 0 else -w
        return np.array([u, np.cross(w, u), w])
    v = v if v @ up > 0 else -v
    return np.array([u, v, np.cross(u, v)])


def _longest_edge(reading: Reading) -> np.ndarray | None:
    best, frame = 0.0, None
    for axis, cap, _ in reading.extrusion:
        steps = np.roll(cap.outer, -1, axis=0) - cap.outer
        lengths = np.linalg.norm(steps, axis=1)
        k = int(lengths.argmax())
        if lengths[k] > best + 1e-9:
            u = steps[k] / lengths[k]
            u = u if (u[np.abs(u).argmax()] > 0) else -u
            best, frame = lengths[k], np.array([u, np.cross(axis, u), axis])
    return frame


def _exposed(faces, sign: float):
    """End faces at one end: those that look out of it and are not behind another. (normal, ring, area seen, region,
    index)."""
    looking = [f for f in faces if f[0][0] * sign > _END] or [
        f for f in faces if f[0][0] * sign > _LEAST
    ]  # a piece ripped to a point
    looking.sort(key=lambda f: -(f[1][0][:, 0] * sign).max())
    covered, out = Polygon(), []
    for n, rings, k in looking:
        flat = Polygon(rings[0][:, 1:], [r[:, 1:] for r in rings[1:]])
        fresh = flat.difference(covered)
        if fresh.area > _LEAST:
            out.append((n, rings[0], fresh.area / abs(n[0]), fresh, k))
            covered = unary_union([covered, flat])
    if not out:
        raise ValueError("a piece without end faces cannot be measured")
    return out


def _cut(end: str, n: np.ndarray, area: float) -> EndCut:
    bevel = math.degrees(math.asin(max(-1.0, min(1.0, float(n[2])))))
    mitre = math.degrees(math.atan2(float(n[1]), abs(float(n[0]))))
    return EndCut(end, _clean(mitre), _clean(bevel), float(area))


def _clean(angle: float) -> float:
    return 0.0 if abs(angle) < 1e-6 else angle


def _without_notch_walls(exposed, notches: tuple[Notch, ...], across: int):
    """A notch that runs out of an end leaves its inner wall looking out of it: that is set out as a notch and no end
    cut."""
    walls = [(np.array(a), np.array(b)) for n in notches if n.corner for a, b in zip(n.points, n.points[1:])]

    def is_wall(ring):
        flat = ring[:, [0, across]]
        return any(
            np.allclose(flat.min(axis=0), np.minimum(a, b), atol=1e-6)
            and np.allclose(flat.max(axis=0), np.maximum(a, b), atol=1e-6)
            for a, b in walls
        )

    return [e for e in exposed if not is_wall(e[1])] or exposed


def _edges(ends_at, width: float, thickness: float) -> tuple[tuple[float, float, float, float], tuple[float, float]]:
    """Length along each long edge, corner notches filled: where the edge meets the end face nearest to it, or its
    plane; and how far out the first of them begins and the last ends."""
    inset_v, inset_w = min(_CORNER, width / 4), min(_CORNER, thickness / 4)
    corners = [
        (inset_v, inset_w),
        (width - inset_v, inset_w),
        (width - inset_v, thickness - inset_w),
        (inset_v, thickness - inset_w),
    ]
    true = [(0.0, 0.0), (width, 0.0), (width, thickness), (0.0, thickness)]
    out, reached = [], []
    for corner, (v, w) in zip(corners, true):
        at = []
        for exposed in ends_at:
            spot = shapely.Point(corner)
            n, ring, *_ = min(exposed, key=lambda f: f[3].distance(spot))
            at.append(float(ring[0, 0] - (n[1] * (v - ring[0, 1]) + n[2] * (w - ring[0, 2])) / n[0]))
        out.append(max(0.0, at[1] - at[0]))
        reached.append(at)
    near_low, far_low, far_high, near_high = (round(x, 9) for x in out)
    return (near_low, far_low, far_high, near_high), (min(a for a, _ in reached), max(b for _, b in reached))


def _profile(reading: Reading, axes: np.ndarray) -> tuple[int, str]:
    """Across which saw axis the outline is drawn: 1 (the wide face shows u and v) or 2 (the edge shows u and w)."""
    for direction, across, name in ((2, 1, "face"), (1, 2, "edge")):
        for axis, _, _ in reading.extrusion:
            if abs(axes[direction] @ axis) > 1 - 1e-9:
                plain = len(reading.faces) <= 6
                if not plain or direction == 2:
                    return across, name
    return (
        (1, "face")
        if any(abs(axes[2] @ a) > 1 - 1e-9 for a, _, _ in reading.extrusion) or not reading.extrusion
        else (2, "edge")
    )


def _outline(faces, across: int) -> tuple[np.ndarray, list[np.ndarray]]:
    """The outline seen square to the face (u, v) or to the edge (u, w), anticlockwise, and the rings inside it."""
    normal = 2 if across == 1 else 1
    flat = [
        Polygon(r[0][:, [0, across]], [h[:, [0, across]] for h in r[1:]]) for n, r, _ in faces if abs(n[normal]) > 0.01
    ]
    whole = unary_union([f if f.is_valid else f.buffer(0) for f in flat])
    if whole.geom_type != "Polygon":
        whole = MultiPoint(np.vstack([r[0][:, [0, across]] for _, r, _ in faces])).convex_hull
    whole = shapely.geometry.polygon.orient(whole)
    ring = np.asarray(whole.exterior.coords)[:-1]
    return ring, [np.asarray(h.coords)[:-1] for h in whole.interiors]


def _notches(ring: np.ndarray, across: int, length: float, size: float) -> list[Notch]:
    """Pockets of the outline: runs of vertices that lie inside its convex hull, each with its lid on the hull."""
    hull = MultiPoint(ring).convex_hull
    if hull.geom_type != "Polygon" or hull.area - Polygon(ring).area < 1e-4:
        return []
    on_hull = shapely.distance(hull.exterior, shapely.points(ring)) < 1e-6
    start = int(np.argmax(on_hull))
    order = [*np.roll(np.arange(len(ring)), -start).tolist(), start]
    out, pocket = [], [order[0]]
    for k in order[1:]:
        pocket.append(k)
        if on_hull[k]:
            if len(pocket) > 2:
                out.append(_notch(ring[pocket], across, length, size))
            pocket = [k]
    return sorted((n for n in out if n), key=lambda n: (n.start, n.edge))


def _notch(points: np.ndarray, across: int, length: float, size: float) -> Notch | None:
    (u0, t0), (u1, t1) = points.min(axis=0), points.max(axis=0)
    lid = points[-1] - points[0]
    low, high = ("near", "far") if across == 1 else ("bottom", "top")
    if abs(lid[1]) < 1e-6:  # the lid lies along an edge: an ordinary notch
        edge, corner = (low if points[0, 1] < points[1:-1, 1].mean() else high), ""
        depth = t1 - t0
    elif abs(lid[0]) < 1e-6:  # the lid closes an end: a slot in the end
        edge, corner, depth = "end", "A" if u0 < length / 2 else "B", t1 - t0
    else:  # out of a corner
        middle = points[1:-1].mean(axis=0) - (points[0] + points[-1]) / 2
        edge = low if middle[1] > 0 else high
        corner = "A" if (u0 + u1) / 2 < length / 2 else "B"
        depth = (size - t0) if edge == high else t1
    if (u1 - u0) * depth < 1e-4:
        return None
    return Notch(float(u0), float(u1 - u0), float(depth), edge, corner, tuple(map(tuple, points.round(9).tolist())))


def _holes(inner: list[np.ndarray]) -> list[Hole]:
    out = []
    for ring in inner:
        low, high = ring.min(axis=0), ring.max(axis=0)
        (u, v), (lu, lv) = (low + high) / 2, high - low
        out.append(Hole(float(u), float(v), float(lu), float(lv)))
    return sorted(out, key=lambda h: (h.at, h.across))
