"""What every end of a surface board rests on, measured from the solids: no plan, no parameter is looked at.

At each end face of a board the last inches of its underside are laid over the tops of the frame's solids in the same
plane. Lengths in inches, areas in square inches.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from ...shared.practice import practice
from ..plan.board_shapes import NECK
from ..solid.board_ends import LEAST_BEARING, LEAST_HALF, POINT, SOME_OF_HALF, ZONE, EndFace, end_faces, overhang, zone
from ..solid.clear_spans import LINES
from ..solid.faces import by_shape, matrices, read
from ..solid.part import Part
from ..solid.roles import named
from .contacts import PLANE, fills_box

JOINT_REACH = 1.0  # end faces that look at each other across less than this are a butt joint
HALF_BEARING = practice("bearing of half a border")  # width that carries one half of it
_STEP = 0.5  # inches between the sections at which a border's halves are looked at
_GRID = 1e-6  # inches
_PER_INCH = round(1 / _GRID)
_AREAS = (3, 6)  # shapely's type ids of polygons and of several
_SURFACE = named("walked")
_CARRYING = ("frame", "blocking")


@dataclass(frozen=True, eq=False)
class EndBearing:
    """One end of one board. `end` is "A" (low local x) or "B"; `width` of the end face(s), `area` borne within `ZONE`
    of them, `length` = area / width, the mean bearing; `overhang` the least distance from an end face to what bears
    more than an outer part of its width (inf without any bearing, else at most `ZONE`); `halves` the area under the
    board's right half (looking along its long axis) and its left half, None where a notch took that half. `by` are ids
    (or roles) of what carries it, `joint` says that another board goes on from here; where it goes on in line, `gap` is
    what the butt joint leaves open (None: a mitre, or no joint)."""

    part: Part
    end: str
    width: float
    area: float
    overhang: float
    halves: tuple[float | None, float | None]
    point: tuple[float, float, float]
    by: tuple[str, ...]
    joint: bool
    gap: float | None
    along: float = 0.0  # at a butt joint: what half of the lines along the board bear behind its end, square to that

    @property
    def length(self) -> float:
        return self.area / self.width

    @property
    def seat(self) -> float:
        """What the end of a butt joint bears: the mean, or what half of its lines keep to. A board that tapers from its
        end has a lesser mean on the same joist, one cut askew to the joist lesser lines on one half."""
        return max(self.length, self.along)

    @property
    def borne(self) -> bool:
        """True where the end has `LEAST_BEARING` and, on a border, both its halves carry some of it."""
        halved = self.part.role != "border" or all(h is None or h > SOME_OF_HALF * self.width for h in self.halves)
        return self.length >= LEAST_BEARING - 1e-6 and halved

    def __str__(self) -> str:
        name = f"{self.part.role} {self.part.id or self.part.where}, end {self.end}".strip()
        x, y, _ = self.point
        return (
            f"{name} at ({x:.2f}, {y:.2f}): bears {self.length:.3f} in of its {self.width:.2f} in wide end on"
            f" {', '.join(self.by) or 'nothing'}"
        )


def bearing_report(parts: Sequence[Part]) -> list[EndBearing]:
    """Both ends of every board, border and breaker, in the order of `parts`. Those not `borne` come from a frame that
    leaves them hanging. The part must lie flat: its outline extruded upwards."""
    boards = [p for p in parts if p.role in _SURFACE]
    tops = _faces_up([p for p in parts if p.group in _CARRYING], 1.0)
    if not boards:
        return []
    undersides, ends_in_plan, about = [], [], []
    for part, underside, ends in _ends(boards):
        back = np.array(part.place.x[:2])
        for name, faces in ends.items():
            undersides.append(underside)
            last = [zone(a, b, n, back) for a, b, n in faces]
            ends_in_plan.append(last[0] if len(last) == 1 else shapely.union_all(last, grid_size=_GRID))
            about.append((part, name, faces))
    zones = _shared(np.array(undersides, dtype=object), np.array(ends_in_plan, dtype=object))
    by_zone = _laid_over(zones, [part.box[0, 2] for part, *_ in about], tops)
    gaps = _joints(about)
    report = []
    borne = np.array([carried for carried, _ in by_zone], dtype=object)
    right = shapely.polygons([_right_half(part) for part, *_ in about])
    areas = [shapely.area(g).tolist() for g in (zones, borne)]
    right_areas = [shapely.area(shapely.intersection(g, right)).tolist() for g in (zones, borne)]
    for k, (part, name, faces) in enumerate(about):
        width = sum(float(np.hypot(*(b - a))) for a, b, _ in faces)
        parts_borne, by = by_zone[k]
        (whole, area), (there, on_right) = (a[k] for a in areas), (a[k] for a in right_areas)
        halves = (
            on_right if there > LEAST_HALF else None,
            area - on_right if whole - there > LEAST_HALF else None,
        )
        a, b, _ = max(faces, key=_long)
        x, y = (a + b) / 2
        # nothing but a strip under an outer part of its width: what lies there ends further back than it was looked at
        out = min(overhang(parts_borne, faces, np.array(part.place.x[:2])), ZONE) if area else np.inf
        report.append(
            EndBearing(
                part,
                name,
                width,
                area,
                out,
                halves,
                (float(x), float(y), float(part.box[0, 2])),
                by,
                k in gaps,
                gaps.get(k),
                _along(parts_borne, max(faces, key=_long), np.array(part.place.x[:2]))
                if gaps.get(k) is not None
                else 0.0,
            )
        )
    return report


def _long(face: EndFace) -> float:
    return float(np.hypot(*(face[1] - face[0])))


def _along(borne: Any, face: EndFace, axis: np.ndarray) -> float:
    """What half of the lines at even parts of an end face bear behind it, measured square to it: a board that tapers
    from there bears no less than one of even width."""
    a, b, n = face
    back = -axis * np.sign(axis @ n) * ZONE / abs(float(axis @ n))
    at = a + np.array(LINES)[:, None] * (b - a)
    lines = shapely.linestrings(np.stack([at, at + back], axis=1))
    return float(np.median(shapely.length(shapely.intersection(lines, borne)))) * abs(float(axis @ n))


def _right_half(part: Part) -> np.ndarray:
    """(4, 2) corners of all that lies right of the middle of a board's width, looking along it."""
    axis = np.array(part.place.x[:2])
    side = np.array([-axis[1], axis[0]])
    across = np.asarray(part.footprint.exterior.coords) @ side
    middle = (across.min() + across.max()) / 2
    corner, far = axis * 1e4, side * (middle - 1e3)
    return np.array([far - corner, far + corner, side * middle + corner, side * middle - corner])


def hanging(parts: Sequence[Part]) -> list[EndBearing]:
    """The ends that do not bear."""
    return [e for e in bearing_report(parts) if not e.borne]


@dataclass(frozen=True, eq=False)
class HalfBearing:
    """The half of a border board on one side of its middle line: `side` "right" or "left" of its long axis, and the
    longest stretch `gap` along it, in inches, over which less than `HALF_BEARING` of that half's width rests on
    anything."""

    part: Part
    side: str
    gap: float


def half_bearings(parts: Sequence[Part]) -> list[HalfBearing]:
    """Both halves of every border board: a border carried under one half only tips when it is stepped on. Found at
    sections `_STEP` apart; where a mitre or notch leaves less of the half, half of what is left must be carried."""
    boards = [p for p in parts if p.role == "border"]
    if not boards:
        return []
    tops = _faces_up([p for p in parts if p.group in _CARRYING], 1.0)
    borne = _laid_over([p.footprint for p in boards], [p.box[0, 2] for p in boards], tops)
    found = []
    for part, (carried, _) in zip(boards, borne):
        axis = np.array(part.place.x[:2])
        turn = np.array([axis, [-axis[1], axis[0]]])
        flat, carried = (shapely.transform(g, lambda q: q @ turn.T) for g in (part.footprint, carried))
        u0, v0, u1, v1 = flat.bounds
        at = np.arange(u0 + _STEP / 2, u1, _STEP)
        for side, a, b in (("right", v0, (v0 + v1) / 2), ("left", (v0 + v1) / 2, v1)):
            lines = shapely.linestrings(np.stack([np.column_stack([at, np.full_like(at, v)]) for v in (a, b)], axis=1))
            there, rests = (
                shapely.length(shapely.intersection(lines, shapely.set_precision(g, _GRID))) for g in (flat, carried)
            )
            short = rests < np.minimum(HALF_BEARING, there / 2) - 1e-6
            edges = np.flatnonzero(np.diff(np.concatenate([[0], short.astype(int), [0]])))
            found.append(HalfBearing(part, side, float(max(edges[1::2] - edges[::2], default=0)) * _STEP))
    return found


def _faces_up(parts: Sequence[Part], sense: float):
    """(polygons, heights, owners) of all level faces that look up (`sense` 1) or down (-1), in the plan."""
    polygons, heights, owners = [], [], []
    for shape, index in by_shape(parts).items():
        placed = matrices([parts[i] for i in index])
        for face in read(shape).faces:
            looks = sense * (placed[:, 2, :3] @ face.normal) >= 1 - 1e-6
            for k, m in zip(np.asarray(index)[looks].tolist(), placed[looks]):
                rings = [r @ m[:3, :3].T + m[:3, 3] for r in face.rings]
                polygons.append(shapely.Polygon(rings[0][:, :2], [r[:, :2] for r in rings[1:]]))
                heights.append(float(rings[0][0, 2]))
                owners.append(parts[k])
    return np.array(polygons, dtype=object), np.array(heights), owners


def _ends(boards: Sequence[Part]):
    """(part, underside, {"A": [(from, to, outward normal)], "B": ...}): plan lines of the upright faces that end each
    board (`end_faces`)."""
    for shape, index in by_shape(boards).items():
        level = [f for f in read(shape).faces if abs(f.normal[2]) > 1 - 1e-6]
        under = min(level, key=lambda f: f.outer[:, 2].mean())
        ends = end_faces(shapely.Polygon(under.outer[:, :2]))
        for i in index:
            m = boards[i].place.matrix
            turn, shift = m[:2, :2], m[:2, 3]
            rings = [r[:, :2] @ turn.T + shift for r in under.rings]
            yield (
                boards[i],
                shapely.Polygon(rings[0], rings[1:]),
                {
                    name: [(turn @ a + shift, turn @ b + shift, turn @ n) for a, b, n in faces]
                    for name, faces in ends.items()
                    if faces
                },
            )


def _shared(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """What outlines share, one by one, without the lines and points that they share as well. They often have edges in
    common up to the last bits of a turn: on a grid that is one edge."""
    bounds_a, bounds_b = shapely.bounds(a), shapely.bounds(b)
    low, high = np.maximum(bounds_a[:, :2], bounds_b[:, :2]), np.minimum(bounds_a[:, 2:], bounds_b[:, 2:])
    # most are rectangles, and share one: their bounds give it without the general intersection
    quick = (high - low > _GRID).all(axis=1) & fills_box(a, bounds_a) & fills_box(b, bounds_b)
    shared = np.empty(len(quick), dtype=object)
    shared[~quick] = shapely.intersection(a[~quick], b[~quick], grid_size=_GRID)
    shared[quick] = shapely.box(*(np.round(np.column_stack([low, high])[quick] * _PER_INCH) / _PER_INCH).T)
    for k in np.flatnonzero(~np.isin(shapely.get_type_id(shared), _AREAS)):
        shared[k] = shapely.MultiPolygon([g for g in shapely.get_parts(shared[k]) if g.geom_type == "Polygon"])
    return shared


def tops_at(boards: Sequence[Part], under: Sequence[Part]) -> list[list[tuple[Part, Any]]]:
    """For every board the parts of its footprint that lie on level tops of pieces `under` it, each with that piece."""
    return _pieces_over([p.footprint for p in boards], [p.box[0, 2] for p in boards], _faces_up(under, 1.0))


def _pieces_over(zones, heights, tops) -> list[list[tuple[Part, Any]]]:
    """For every zone what of it lies on level faces at its height, each with the piece whose face it is."""
    polygons, z, owners = tops
    found: list[list[tuple[Part, Any]]] = [[] for _ in zones]
    if len(polygons) and len(zones):
        i, j = shapely.STRtree(polygons).query(np.array(zones, dtype=object), predicate="intersects")
        keep = np.abs(np.asarray(heights)[i] - z[j]) < PLANE
        i, j = i[keep], j[keep]
        shared = _shared(np.array(zones, dtype=object)[i], polygons[j])
        for k, o, piece in zip(i.tolist(), j.tolist(), shared):
            if piece.area > 1e-6:
                found[k].append((owners[o], piece))
    return found


def _laid_over(zones, heights, tops):
    """For every zone the part of it that lies on level faces at its height, and whose they are."""
    return [
        (
            shapely.union_all([piece for _, piece in pieces], grid_size=_GRID),
            tuple(dict.fromkeys(part.id or part.role for part, _ in pieces)),
        )
        for pieces in _pieces_over(zones, heights, tops)
    ]


def _joints(about) -> dict[int, float | None]:
    """The ends that look at another piece's end across less than `JOINT_REACH` (square to the end, so that a mitre
    counts too), and the gap where the two pieces lie in one line: over half of what ends the board there at least, for
    of an end cut along a wall whose tip alone meets the next board the most is no joint; and wider than the neck at
    which a board that a corner all but cuts through is sawn, where no fastener is driven."""
    lines, owner = [], []
    wide = [sum(map(_long, faces)) for _, _, faces in about]
    for k, (_, _, faces) in enumerate(about):
        for a, b, n in faces:
            lines.append((a, b, n))
            owner.append(k)
    joint: dict[int, float | None] = {}
    middles = shapely.points([(a + b) / 2 for a, b, _ in lines])
    ends = np.array([shapely.linestrings([a, b]) for a, b, _ in lines], dtype=object)
    for i, j in shapely.STRtree(ends).query(middles, predicate="dwithin", distance=JOINT_REACH).T.tolist():
        if about[owner[i]][0] is about[owner[j]][0] or float(lines[i][2] @ lines[j][2]) >= -1 + 1e-6:
            continue  # the two ends of a short piece are no joint
        u, v = (np.array(about[owner[k]][0].place.x[:2]) for k in (i, j))
        apart = (lines[j][0] + lines[j][1] - lines[i][0] - lines[i][1]) / 2
        gap = float(apart @ lines[i][2])
        butt = abs(float(u @ v)) > 1 - 1e-6 and float(np.hypot(*apart)) < abs(gap) + POINT
        butt = butt and _long(lines[i]) > max(NECK, wide[owner[i]] / 2 - POINT)
        joint[owner[i]] = gap if butt else joint.get(owner[i])
    return joint
