"""Where two solids would have to be in one place, and how far apart two solids are. Read off the solids of the
pieces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import intersection
from shapely.geometry import MultiPoint, Polygon

from ..solid.faces import GRID, boxes, near_pairs, read
from ..solid.part import Part

SHRINK = 1e-4  # inches: boxes that only touch are not looked at again; nearly all pairs in a deck only touch
TOLERANCE = 1e-3  # cubic inches: a smaller overlap is rounding


@dataclass(frozen=True, eq=False)
class Clash:
    """Two pieces whose solids overlap by `volume` cubic inches; `low` and `high` are the corners of where to look."""

    a: Part
    b: Part
    volume: float
    low: tuple[float, float, float]
    high: tuple[float, float, float]

    def __str__(self) -> str:
        names = [f"{p.role} {p.id or p.mark}".strip() + (f" ({p.where})" if p.where else "") for p in (self.a, self.b)]
        return f"{names[0]} and {names[1]} overlap by {self.volume:.3f} cubic inches"


def clashes(parts: Sequence[Part], tolerance: float = TOLERANCE) -> list[Clash]:
    """Every pair of solids that overlaps by more than `tolerance` cubic inches, greatest first.

    Boxes first; then, where both pieces are prisms along one direction, the overlap of their outlines times the shared
    height; where they are not, whatever the shadow of one on the end of the other cannot rule out goes to the kernel.
    """
    parts = list(parts)
    if len(parts) < 2:
        return []
    box = boxes(parts)
    pairs = near_pairs(box[:, 0] + SHRINK, box[:, 1] - SHRINK)
    bodies: dict[int, _Body] = {}
    found = []
    for i, j in pairs.tolist():
        for k in (i, j):
            if k not in bodies:
                bodies[k] = _Body(parts[k])
        volume = overlap(bodies[i], bodies[j], tolerance)
        if volume > tolerance:
            low, high = np.maximum(box[i, 0], box[j, 0]), np.minimum(box[i, 1], box[j, 1])
            found.append(Clash(parts[i], parts[j], volume, tuple(low.tolist()), tuple(high.tolist())))
    return sorted(found, key=lambda c: (-round(c.volume, 6), c.a.id, c.b.id))


def distance(a: Part, b: Part) -> float:
    """Least distance between two solids in inches, from the kernel; 0 where they touch or overlap."""
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape

    return BRepExtrema_DistShapeShape(a.solid.wrapped, b.solid.wrapped).Value()


class _Body:
    """One part in the world: its vertices and the directions along which it is a prism."""

    def __init__(self, part: Part):
        self.part, reading, m = part, read(part.shape), part.place.matrix
        turn = m[:3, :3]
        self.round = reading.round
        self.vertices = reading.vertices @ turn.T + m[:3, 3]
        self.prisms = [
            (turn @ axis, [r @ turn.T + m[:3, 3] for r in cap.rings], height) for axis, cap, height in reading.extrusion
        ]


def overlap(a: _Body, b: _Body, tolerance: float = TOLERANCE) -> float:
    """Volume two bodies share, in cubic inches; 0 where it is certainly no more than `tolerance`."""
    for axis, rings, height in a.prisms:
        for other, rings_b, height_b in b.prisms:
            if abs(axis @ other) < 1 - 1e-12:
                continue
            low, low_b = rings[0][0] @ axis, rings_b[0][0] @ axis
            if axis @ other < 0:
                low_b -= height_b
            shared = min(low + height, low_b + height_b) - max(low, low_b)
            if shared <= 0:
                return 0.0
            if a.round or b.round:
                break  # chords would not do for a volume
            flat = _across(axis)
            one, two = _polygon(rings, flat), _polygon(rings_b, flat)
            # outlines that share an edge but for its last bits can come out as overlapping whole or not at all: on a
            # grid they do not
            return float(intersection(one, two, grid_size=GRID).area) * shared
    for one, two in ((a, b), (b, a)):
        for axis, rings, height in one.prisms:
            if one.round:
                continue
            flat = _across(axis)
            shadow = MultiPoint(two.vertices @ flat.T).convex_hull
            if two.round:
                shadow = shadow.buffer(1e-3 * max(np.ptp(two.vertices, axis=0)))  # chords lie inside the circle
            if intersection(_polygon(rings, flat), shadow, grid_size=GRID).area * height <= tolerance:
                return 0.0
    return _common(a.part, b.part)


def _across(axis: np.ndarray) -> np.ndarray:
    """(2, 3) two unit vectors square to `axis` and to each other."""
    u = np.cross(axis, np.eye(3)[np.abs(axis).argmin()])
    u /= np.linalg.norm(u)
    return np.array([u, np.cross(axis, u)])


def _polygon(rings: list[np.ndarray], flat: np.ndarray) -> Polygon:
    return Polygon(rings[0] @ flat.T, [r @ flat.T for r in rings[1:]])


def _common(a: Part, b: Part) -> float:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(BRepAlgoAPI_Common(a.solid.wrapped, b.solid.wrapped).Shape(), properties)
    return abs(properties.Mass())
