"""What every end of a surface board rests on, measured from the solids: no plan, no parameter is looked at.

At each end face of a board the last inches of its underside are laid over the tops of the frame's solids in the same plane.
Lengths in inches, areas in square inches.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

import numpy as np
import shapely

from .contacts import PLANE
from .faces import by_shape, matrices, read
from .part import Part

OVERHANG = 2.0  # inches a board's end may stand out past what carries it (our own: a rim's fascia and overhang, and no more)
ZONE = OVERHANG + 1.5  # how far from its end a board is looked at: that and the thickness of the member that should be there
LEAST_BEARING = 0.5  # mean length of bearing over the end's width below which an end counts as hanging (our own; half a butt joint on 1-1/2 in less its gap is 0.69)
NOTCH = 6.0  # a recess in an end no deeper than this is a notch round a post: what stands beside it is the end
JOINT_REACH = 1.0  # end faces that look at each other across less than this are a butt joint
_SURFACE = ("board", "border", "breaker")
_CARRYING = ("frame", "blocking")
_END = 0.17  # cosine to the long axis, as on the saw bench: a flatter side is an edge or a rip


@dataclass(frozen=True, eq=False)
class EndBearing:
    """One end of one board. `end` is "A" (low local x) or "B"; `width` of the end face(s), `area` borne within `ZONE` of them,
    `length` = area / width, the mean bearing; `overhang` the least distance from an end face to it (inf without any); `halves` the
    area under the half of the width to the right of the board's long axis and under the half to its left. `by` are ids (or
    roles) of what carries it, `joint` says that another board goes on from here."""

    part: Part
    end: str
    width: float
    area: float
    overhang: float
    halves: tuple[float, float]
    point: tuple[float, float, float]
    by: tuple[str, ...]
    joint: bool

    @property
    def length(self) -> float:
        return self.area / self.width

    @property
    def borne(self) -> bool:
        """True where the end has `LEAST_BEARING` and, on a border, both its halves carry some of it."""
        halved = self.part.role != "border" or min(self.halves) > 0.01 * self.width
        return self.length >= LEAST_BEARING - 1e-6 and halved

    def __str__(self) -> str:
        name = f"{self.part.role} {self.part.id or self.part.where}, end {self.end}".strip()
        x, y, _ = self.point
        return f"{name} at ({x:.2f}, {y:.2f}): bears {self.length:.3f} in of its {self.width:.2f} in wide end on {', '.join(self.by) or 'nothing'}"


def bearing_report(parts: Sequence[Part]) -> list[EndBearing]:
    """Both ends of every board, border and breaker, in the order of `parts`. Those not `borne` come from a frame that
    leaves them hanging. The part must lie flat: its outline extruded upwards."""
    boards = [p for p in parts if p.role in _SURFACE]
    tops = _faces_up([p for p in parts if p.group in _CARRYING], 1.0)
    if not boards:
        return []
    zones, about = [], []
    for part, underside, ends in _ends(boards):
        for name, faces in ends.items():
            zones.append(shapely.intersection(underside, shapely.union_all([_zone(*f) for f in faces])))
            about.append((part, name, faces))
    by_zone = _laid_over(zones, [part.box[0, 2] for part, *_ in about], tops)
    joints = _joints(about)
    report = []
    for k, (part, name, faces) in enumerate(about):
        width = sum(float(np.hypot(*(b - a))) for a, b, _ in faces)
        parts_borne, by = by_zone[k]
        axis = np.array(part.place.x[:2])
        side = np.array([-axis[1], axis[0]])
        across = [float(p @ side) for a, b, _ in faces for p in (a, b)]
        middle = (min(across) + max(across)) / 2
        corner = axis * 1e4
        right = shapely.Polygon([side * (middle - 1e3) - corner, side * (middle - 1e3) + corner, side * middle + corner, side * middle - corner])
        area = float(parts_borne.area)
        on_right = float(parts_borne.intersection(right).area)
        a, b, _ = max(faces, key=lambda f: np.hypot(*(f[1] - f[0])))
        x, y = (a + b) / 2
        lines = shapely.multilinestrings([[a, b] for a, b, _ in faces])
        overhang = float(parts_borne.distance(lines)) if area else np.inf
        report.append(EndBearing(part, name, width, area, overhang, (on_right, area - on_right), (float(x), float(y), float(part.box[0, 2])), by, joints[k]))
    return report


def hanging(parts: Sequence[Part]) -> list[EndBearing]:
    """The ends that do not bear."""
    return [e for e in bearing_report(parts) if not e.borne]


@dataclass(frozen=True, eq=False)
class HalfBearing:
    """The half of a border board on one side of its middle line: `side` "right" or "left" of its long axis, and the longest
    stretch `gap` along it, in inches, over which that half rests on nothing."""

    part: Part
    side: str
    gap: float


def half_bearings(parts: Sequence[Part]) -> list[HalfBearing]:
    """Both halves of every border board: a border carried under one half only tips when it is stepped on."""
    boards = [p for p in parts if p.role == "border"]
    if not boards:
        return []
    tops = _faces_up([p for p in parts if p.group in _CARRYING], 1.0)
    halves, about = [], []
    for part in boards:
        axis = np.array(part.place.x[:2])
        turn = np.array([axis, [-axis[1], axis[0]]])
        flat = shapely.transform(part.footprint, lambda q: q @ turn.T)
        u0, v0, u1, v1 = flat.bounds
        for side, a, b in (("right", v0, (v0 + v1) / 2), ("left", (v0 + v1) / 2, v1)):
            half = flat.intersection(shapely.box(u0, a, u1, b))
            halves.append(shapely.transform(half, lambda q: q @ turn))
            about.append((part, side, turn, half))
    found = []
    for (part, side, turn, half), (borne, _) in zip(about, _laid_over(halves, [p.box[0, 2] for p, *_ in about], tops)):
        taken = shapely.transform(borne, lambda q: q @ turn.T)
        reached, gap = half.bounds[0], 0.0
        for u0, _, u1, _ in sorted(g.bounds for g in getattr(taken, "geoms", [taken]) if not g.is_empty):
            gap, reached = max(gap, u0 - reached), max(reached, u1)
        found.append(HalfBearing(part, side, max(gap, half.bounds[2] - reached)))
    return found


def _faces_up(parts: Sequence[Part], sense: float):
    """(polygons, heights, owners) of all level faces that look up (`sense` 1) or down (-1), in the plan."""
    polygons, heights, owners = [], [], []
    for shape, index in by_shape(parts).items():
        placed = matrices([parts[i] for i in index])
        for face in read(shape).faces:
            for k, m in zip(index, placed):
                if sense * float((m[:3, :3] @ face.normal)[2]) < 1 - 1e-6:
                    continue
                rings = [r @ m[:3, :3].T + m[:3, 3] for r in face.rings]
                polygons.append(shapely.Polygon(rings[0][:, :2], [r[:, :2] for r in rings[1:]]))
                heights.append(float(rings[0][0, 2]))
                owners.append(parts[k])
    return np.array(polygons, dtype=object), np.array(heights), owners


def _ends(boards: Sequence[Part]):
    """(part, underside, {"A": [(from, to, outward normal)], "B": ...}): plan lines of the upright faces that end each board.

    A notch's walls look along the board too, but the board goes on beyond them; the wall of a notch in the end itself lies
    within `NOTCH` of the tip, and the tongues beside it are the end. What is left are tips, and the ends of shorter legs.
    """
    for shape, index in by_shape(boards).items():
        reading = read(shape)
        level = [f for f in reading.faces if abs(f.normal[2]) > 1 - 1e-6]
        under = min(level, key=lambda f: f.outer[:, 2].mean())
        x = reading.vertices[:, 0]
        ends: dict[str, list] = {}
        for name, sense in (("A", -1.0), ("B", 1.0)):
            found = []
            for f in reading.faces:
                if abs(f.normal[2]) > 1e-6 or sense * f.normal[0] < _END:
                    continue
                a, b = _line(f.outer)
                found.append((sense * max(sense * a[0], sense * b[0]), a, b, f.normal[:2]))
            tip = x.max() if sense > 0 else x.min()
            outline = shapely.Polygon(under.outer[:, :2])
            ends[name] = [(a, b, n) for far, a, b, n in found
                          if abs(far - tip) < 1e-6 or (abs(far - tip) > NOTCH and not _goes_on(outline, (a + b) / 2, sense, tip))]
        for i in index:
            m = boards[i].place.matrix
            turn, shift = m[:2, :2], m[:2, 3]
            rings = [r[:, :2] @ turn.T + shift for r in under.rings]
            yield boards[i], shapely.Polygon(rings[0], rings[1:]), {
                name: [(turn @ a + shift, turn @ b + shift, turn @ n) for a, b, n in faces] for name, faces in ends.items() if faces
            }


def _goes_on(outline, point, sense: float, tip: float) -> bool:
    ray = shapely.LineString([(point[0] + sense * 1e-3, point[1]), (tip + sense, point[1])])
    return outline.intersection(ray).length > 1e-3


def _line(ring: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The plan line of an upright face."""
    flat = np.unique(np.round(ring[:, :2], 9), axis=0)
    return flat[0], flat[-1]


def _zone(a, b, n) -> shapely.Polygon:
    return shapely.Polygon([a, b, b - n * ZONE, a - n * ZONE])


def _laid_over(zones, heights, tops):
    """For every zone the part of it that lies on level faces at its height, and whose they are."""
    polygons, z, owners = tops
    borne: list[list] = [[] for _ in zones]
    by: list[dict] = [{} for _ in zones]
    if len(polygons):
        i, j = shapely.STRtree(polygons).query(np.array(zones, dtype=object), predicate="intersects")
        keep = np.abs(np.asarray(heights)[i] - z[j]) < PLANE
        i, j = i[keep], j[keep]
        shared = shapely.intersection(np.array(zones, dtype=object)[i], polygons[j])
        for k, o, piece in zip(i.tolist(), j.tolist(), shared):
            if piece.area > 1e-6:
                borne[k].append(piece)
                by[k][owners[o].id or owners[o].role] = None
    return [(shapely.union_all(pieces), tuple(names)) for pieces, names in zip(borne, by)]


def _joints(about) -> list[bool]:
    """Which ends look at another piece's end across less than `JOINT_REACH` (square to the end, so that a mitre counts too)."""
    lines, owner = [], []
    for k, (_, _, faces) in enumerate(about):
        for a, b, n in faces:
            lines.append((a, b, n))
            owner.append(k)
    joint = [False] * len(about)
    middles = shapely.points([(a + b) / 2 for a, b, _ in lines])
    tree = shapely.STRtree([shapely.linestrings([a, b]) for a, b, _ in lines])
    for i, j in tree.query(middles, predicate="dwithin", distance=JOINT_REACH).T.tolist():
        if owner[i] != owner[j] and float(lines[i][2] @ lines[j][2]) < -1 + 1e-6:
            joint[owner[i]] = True
    return joint
