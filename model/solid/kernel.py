"""The geometry kernel behind one door, so that the fast way is written once.

Nearly every piece is a prism: a finished outline (mitres, notches and sawteeth already in it) extruded once. Building
it straight from kernel calls is about three times as fast as a wire and extrude through the workplane, and thirty times
as fast as boolean cuts. Nothing here knows a deck. Lengths in inches.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from shapely.geometry import Point, Polygon
from shapely.geometry.polygon import orient

from ...shared.points import pair

if TYPE_CHECKING:  # cadquery costs seconds to import: `--help` and a file that fails validation never need it
    import cadquery as cq
    from OCP.TopLoc import TopLoc_Location

PrismOutline = tuple[tuple[float, float], ...]

_SAME = 1e-6  # inches: outlines that agree this closely are one shape
_STRAIGHT = 1e-9  # a vertex this little off the line (relative to its sides) would only add a needless face


def tidy(ring: Sequence[Sequence[float]]) -> PrismOutline:
    """An open ring without hairs and without repeated or collinear vertices (each would make a needless face). (n, 2)
    in, (m, 2) out."""
    points = [pair(p[:2]) for p in ring]
    if len(points) > 1 and abs(points[0][0] - points[-1][0]) <= _SAME and abs(points[0][1] - points[-1][1]) <= _SAME:
        points.pop()
    kept: list[tuple[float, float]] = []
    for p in points:
        if not kept or abs(p[0] - kept[-1][0]) > _SAME or abs(p[1] - kept[-1][1]) > _SAME:
            kept.append(p)
    changed = True
    while changed and len(kept) > 3:
        changed = False
        for i in range(len(kept)):
            (ax, ay), (bx, by), (cx, cy) = kept[i - 1], kept[i], kept[(i + 1) % len(kept)]
            ux, uy, vx, vy = bx - ax, by - ay, cx - bx, cy - by
            u, v, turn = abs(ux) + abs(uy), abs(vx) + abs(vy), abs(ux * vy - uy * vx)
            hair = ux * vx + uy * vy < 0 and turn <= _SAME * max(u, v)  # out and back: a mesh of it is no solid
            if hair or turn <= max(_STRAIGHT * u * v, 1e-9):
                del kept[i]
                changed = True
                break
    return tuple(kept)


class Shape:
    """A prism in its own coordinates: `outline` in the local x-y plane, extruded from z = 0 to `thickness`.

    Local x is the piece's long axis, so a piece's length is read along it. `circle` (a radius) makes a round prism
    about the local origin instead; `holes` are rings inside the outline. Equal shapes are shared: use `Shapes.prism`.
    """

    def __init__(
        self, outline: PrismOutline, thickness: float, holes: tuple[PrismOutline, ...] = (), circle: float | None = None
    ):
        self.outline, self.thickness, self.holes, self.circle = outline, thickness, holes, circle

    @cached_property
    def polygon(self) -> Polygon:
        """The outline as a shapely polygon (a circle as its 128-gon: for plans, never for volumes)."""
        if self.circle is not None:
            return Point(0, 0).buffer(self.circle, quad_segs=32)
        return Polygon(self.outline, self.holes)

    @cached_property
    def solid(self) -> cq.Solid:
        """The cadquery solid in local coordinates."""
        import cadquery as cq

        return cq.Solid(_prism(self)) if self.circle is None else cq.Solid.makeCylinder(self.circle, self.thickness)


def _wire(ring: PrismOutline):
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakePolygon
    from OCP.gp import gp_Pnt

    maker = BRepBuilderAPI_MakePolygon()
    for x, y in ring:
        maker.Add(gp_Pnt(x, y, 0))
    maker.Close()
    return maker.Wire()


def _prism(shape: Shape):
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Vec
    from OCP.TopoDS import TopoDS

    face = BRepBuilderAPI_MakeFace(_wire(shape.outline), True)
    for hole in shape.holes:  # clockwise rings bound the material from inside
        face.Add(TopoDS.Wire_s(_wire(hole).Reversed()) if _area(hole) > 0 else _wire(hole))
    return TopoDS.Solid_s(BRepPrimAPI_MakePrism(face.Face(), gp_Vec(0, 0, shape.thickness)).Shape())


def _area(ring: PrismOutline) -> float:
    xy = np.asarray(ring)
    x, y = xy[:, 0], xy[:, 1]
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2


class Shapes:
    """A store in which identical pieces find their shared shape."""

    def __init__(self) -> None:
        self._known: dict[tuple, Shape] = {}
        self._asked: dict[tuple, tuple[Shape, tuple[float, float], bool]] = {}  # by the outline as it was given

    def prism(
        self, outline: Any, thickness: float, holes: Sequence[Any] = ()
    ) -> tuple[Shape, tuple[float, float], bool]:
        """The shared shape of a ring, the local point its own origin was moved to, and whether it was turned end for
        end.

        The ring is moved so that its box starts at (0, 0). A piece turned end for end is still the same piece on the
        saw table, so of the ring and its half turn the smaller one is kept; mirror images stay two shapes. Raises
        ValueError where the ring crosses itself or has no area: the kernel would make a volume of 0 without a word.
        """
        asked = (_plain(outline), tuple(_plain(h) for h in holes), thickness)
        if asked not in self._asked:
            self._asked[asked] = self._prism(outline, thickness, holes)
        return self._asked[asked]

    def _prism(self, outline: Any, thickness: float, holes: Sequence[Any]) -> tuple[Shape, tuple[float, float], bool]:
        polygon = orient(Polygon(outline, holes))
        if not polygon.is_valid:  # corners that differ in their last bits turn into a loop when the plan is turned
            polygon = orient(Polygon(tidy(outline), [tidy(h) for h in holes]))
        if not polygon.is_valid or polygon.area < 1e-6 or thickness <= 0:
            raise ValueError(f"no solid from an outline of area {polygon.area:.6g} and thickness {thickness:.6g}")
        ring, inner = tidy(polygon.exterior.coords), tuple(tidy(h.coords) for h in polygon.interiors)
        x0, y0, x1, y1 = polygon.bounds
        straight = (
            _started(ring, lambda x, y: (x - x0, y - y0)),
            [_started(h, lambda x, y: (x - x0, y - y0)) for h in inner],
        )
        turned = (
            _started(ring, lambda x, y: (x1 - x, y1 - y)),
            [_started(h, lambda x, y: (x1 - x, y1 - y)) for h in inner],
        )
        keys = [
            (_rounded(r), tuple(sorted(_rounded(h) for h in hs)), round(thickness, 6)) for r, hs in (straight, turned)
        ]
        turn = keys[1] < keys[0]
        outer, holes_in = turned if turn else straight
        shape = self._known.setdefault(keys[turn], Shape(outer, thickness, tuple(holes_in)))
        return shape, ((x1, y1) if turn else (x0, y0)), turn

    def __len__(self) -> int:
        return len(self._known)

    def keep(self, used: Iterable[Shape]) -> None:
        """Forget every shape but those `used`, so that a store kept over many builds does not grow without end."""
        used = set(used)
        self._known = {key: shape for key, shape in self._known.items() if shape in used}
        self._asked = {key: made for key, made in self._asked.items() if made[0] in used}

    def round(self, radius: float, thickness: float) -> Shape:
        """The shared shape of a cylinder about the local origin."""
        if radius <= 0 or thickness <= 0:
            raise ValueError(f"no cylinder of radius {radius:.6g} and height {thickness:.6g}")
        return self._known.setdefault(
            ("round", round(radius, 6), round(thickness, 6)), Shape((), thickness, (), radius)
        )


def _plain(ring: Any) -> PrismOutline:
    return tuple((float(p[0]), float(p[1])) for p in ring)


def _started(ring: PrismOutline, move) -> PrismOutline:
    """The ring moved, starting at its lowest vertex in (x, y), so that equal rings compare equal."""
    points = [move(x, y) for x, y in ring]
    points = [(x + 0.0, y + 0.0) for x, y in points]
    start = min(range(len(points)), key=lambda i: (round(points[i][0], 5), round(points[i][1], 5)))
    return tuple(points[start:] + points[:start])


def _rounded(ring: PrismOutline) -> tuple:
    return tuple((round(x, 5) + 0.0, round(y, 5) + 0.0) for x, y in ring)


def located(origin: Sequence[float], x: Sequence[float], z: Sequence[float]) -> TopLoc_Location:
    """The kernel's location of a right-handed placement by its origin, local x and local z (world inches)."""
    from OCP.gp import gp_Ax3, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
    from OCP.TopLoc import TopLoc_Location

    turn = gp_Trsf()
    turn.SetTransformation(gp_Ax3(gp_Pnt(*origin), gp_Dir(gp_Vec(*z).Normalized()), gp_Dir(gp_Vec(*x).Normalized())))
    turn.Invert()
    return TopLoc_Location(turn)
