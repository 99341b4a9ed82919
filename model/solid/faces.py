"""What the kernel says a solid is: its faces with outward normals, its vertices, its volume. Read off the BRep alone.

Everything measured starts here: the parameters and the outline a piece was made from are never looked at. One shape is
read once, however many pieces share it; `placed` moves the reading to where each piece stands. Lengths in inches.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any
from weakref import WeakKeyDictionary

import numpy as np
import shapely
from shapely.geometry import Polygon

from .kernel import Shape
from .part import Part

GRID = 1e-7  # inches: coordinates are rounded to it where outlines that all but coincide are laid over each other
CIRCLE_STEPS = 128  # a round edge is read as this many chords (area 0.04 % small); volumes never come from chords


@dataclass(frozen=True, eq=False)
class Face:
    """A planar face: outward unit `normal` (3,), `rings` of (n, 3) points, outer first, `area` in square inches."""

    normal: np.ndarray
    rings: tuple[np.ndarray, ...]
    area: float

    @property
    def outer(self) -> np.ndarray:
        return self.rings[0]

    def flat(self, axes: np.ndarray) -> Polygon:
        """The face seen along a direction: its points on the two rows of `axes` (2, 3), as a polygon."""
        rings = [r @ axes.T for r in self.rings]
        return Polygon(rings[0], rings[1:])


@dataclass(frozen=True, eq=False)
class Reading:
    """One solid as read: planar `faces`, all `vertices` (n, 3), kernel `volume` and `area`, whether any face is
    `round`."""

    faces: tuple[Face, ...]
    vertices: np.ndarray
    volume: float
    area: float
    round: bool

    @cached_property
    def extent(self) -> np.ndarray:
        """(3,) sizes of the box in the solid's own axes."""
        return np.ptp(self.vertices, axis=0)

    @cached_property
    def flat_points(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Outer rings end to end (m, 3), the face each point belongs to (m,), and the faces' normals (f, 3)."""
        points = np.vstack([f.outer for f in self.faces])
        index = np.repeat(np.arange(len(self.faces)), [len(f.outer) for f in self.faces])
        return points, index, np.array([f.normal for f in self.faces])

    @cached_property
    def extrusion(self) -> tuple[tuple[np.ndarray, Face, float], ...]:
        """The directions along which the solid is a prism: (unit axis, cap at the low end, length). A box has three."""
        found = []
        for i, low in enumerate(self.faces):
            for high in self.faces[i + 1 :]:
                if low.normal @ high.normal > -1 + 1e-9 or abs(low.area - high.area) > 1e-6 * low.area:
                    continue
                axis = high.normal
                h = float(high.outer[0] @ axis - low.outer[0] @ axis)
                along = self.vertices @ axis
                slant = high.outer.mean(axis=0) - low.outer.mean(axis=0) - axis * h
                if not self.round and abs(slant).max() > 1e-6:
                    # a plumb baluster with bevelled ends: equal caps and the right volume, but no straight prism
                    continue
                at_caps = np.minimum(abs(along - along.min()), abs(along - along.max())) < 1e-6
                if (
                    h > 0
                    and at_caps.all()
                    and abs(self.volume - low.area * h) < 1e-3 * (self.volume if self.round else 1e-2)
                ):
                    found.append((axis, low, h))
        return tuple(found)


_READ: WeakKeyDictionary[Shape, Reading] = WeakKeyDictionary()


def read(shape: Shape) -> Reading:
    """The faces, vertices and volume of a shape's solid in its own axes; read once and kept as long as the shape
    lives."""
    found = _READ.get(shape)
    if found is None:
        found = _READ[shape] = read_solid(shape.solid)
    return found


def read_solid(solid: Any) -> Reading:
    """The same for any cadquery solid, in the axes it is in.

    Raises ValueError where the solid has no volume: nothing measured off it would mean anything.
    """
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    body = solid.wrapped
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(body, properties)
    volume = properties.Mass()
    if abs(volume) < 1e-9:
        raise ValueError("a solid without volume cannot be measured")
    faces, is_round, area = _faces(body, inside_out=volume < 0)
    points = [p for f in faces for r in f.rings for p in r]
    return Reading(tuple(faces), np.unique(np.round(points, 9), axis=0), abs(volume), area, is_round)


def _faces(body, inside_out: bool):
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.BRepGProp import BRepGProp
    from OCP.GeomAbs import GeomAbs_Plane
    from OCP.GProp import GProp_GProps
    from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    def surface_area(face) -> float:
        properties = GProp_GProps()
        BRepGProp.SurfaceProperties_s(face, properties)
        return properties.Mass()

    rings_of = _ring_reader()
    faces, is_round, total = [], False, 0.0
    explorer = TopExp_Explorer(body, TopAbs_FACE)
    while explorer.More():
        face = TopoDS.Face_s(explorer.Current())
        explorer.Next()
        surface = BRepAdaptor_Surface(face, False)
        if surface.GetType() != GeomAbs_Plane:
            is_round = True
            total += surface_area(face)
            continue
        plane = surface.Plane()
        axis = plane.Axis().Direction()
        # the plane's own axes may be left-handed, in which case its normal is the other way round
        outward = 1.0 if plane.Position().Direct() else -1.0
        if (face.Orientation() == TopAbs_REVERSED) != inside_out:
            outward = -outward
        normal = outward * np.array([axis.X(), axis.Y(), axis.Z()]) + 0.0
        rings, curved = rings_of(face)
        if curved:
            area = surface_area(face)
        else:
            area = _ring_area(rings[0], normal) - sum(_ring_area(r, normal) for r in rings[1:])
        total += area
        faces.append(Face(normal, tuple(rings), area))
    return faces, is_round, total


def _ring_reader():
    """A function from a kernel face to its rings, outer first, and whether any edge is curved. The kernel is looked up
    once."""
    from OCP.BRep import BRep_Tool
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.BRepTools import BRepTools, BRepTools_WireExplorer
    from OCP.GeomAbs import GeomAbs_Line
    from OCP.TopAbs import TopAbs_REVERSED, TopAbs_WIRE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    def ring(wire, face) -> tuple[np.ndarray, bool]:
        points, curved = [], False
        edges = BRepTools_WireExplorer(wire, face)
        while edges.More():
            edge = edges.Current()
            curve = BRepAdaptor_Curve(edge)
            if curve.GetType() == GeomAbs_Line:
                p = BRep_Tool.Pnt_s(edges.CurrentVertex())
                points.append((p.X(), p.Y(), p.Z()))
            else:
                curved = True
                ends = curve.FirstParameter(), curve.LastParameter()
                if edge.Orientation() == TopAbs_REVERSED:
                    ends = ends[::-1]
                for t in np.linspace(*ends, CIRCLE_STEPS, endpoint=False).tolist():
                    p = curve.Value(t)
                    points.append((p.X(), p.Y(), p.Z()))
            edges.Next()
        return np.array(points), curved

    def rings(face) -> tuple[list[np.ndarray], bool]:
        outer = BRepTools.OuterWire_s(face)
        found: list[np.ndarray] = []
        curved = False
        wires = TopExp_Explorer(face, TopAbs_WIRE)
        while wires.More():
            wire = TopoDS.Wire_s(wires.Current())
            wires.Next()
            points, bent = ring(wire, face)
            curved |= bent
            found.insert(0 if wire.IsSame(outer) else len(found), points)
        return found, curved

    return rings


def _ring_area(ring: np.ndarray, normal: np.ndarray) -> float:
    """Area from the ring's shadow along the axis its normal is nearest to."""
    k = int(np.abs(normal).argmax())
    x, y = ring[:, (k + 1) % 3], ring[:, (k + 2) % 3]
    x, y = x - x[0], y - y[0]
    twice = x[:-1] @ y[1:] - x[1:] @ y[:-1]
    return abs(float(twice / normal[k])) / 2


def by_shape(parts: Sequence[Part]) -> dict[Shape, list[int]]:
    """Positions in `parts` of the pieces that share each shape."""
    groups: dict[Shape, list[int]] = {}
    for i, part in enumerate(parts):
        groups.setdefault(part.shape, []).append(i)
    return groups


def matrices(parts: Sequence[Part]) -> np.ndarray:
    """(n, 4, 4) placements."""
    return np.array([p.place.matrix for p in parts]).reshape(-1, 4, 4)


def boxes(parts: Sequence[Part]) -> np.ndarray:
    """(n, 2, 3) world boxes, lowest then highest corner, from the vertices of the solids.

    A round piece's box is that of its chords, at most 0.03 % of the radius small.
    """
    out = np.empty((len(parts), 2, 3))
    for shape, index in by_shape(parts).items():
        m = matrices([parts[i] for i in index])
        world = np.einsum("nij,vj->nvi", m[:, :3, :3], read(shape).vertices) + m[:, None, :3, 3]
        out[index, 0], out[index, 1] = world.min(axis=1), world.max(axis=1)
    return out


def near_pairs(low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """(m, 2) sorted index pairs i < j whose boxes meet, from (n, 3) lowest and highest corners."""
    if len(low) < 2:
        return np.empty((0, 2), int)
    plan = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    i, j = shapely.STRtree(plan).query(plan)
    keep = i < j
    i, j = i[keep], j[keep]
    keep = ((low[i] <= high[j]) & (low[j] <= high[i])).all(axis=1)
    pairs = np.column_stack([i[keep], j[keep]])
    return pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]
