"""`Part`: one piece of the deck, and `Workshop`, in which the rooms of the model make their parts.

World coordinates: x to the right of the sheet, y up the sheet, z up from the datum, inches, right-handed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from shapely.geometry import MultiPoint, Polygon

from ...shared.points import Vector, triple
from ...shared.stock import Stock
from .kernel import Shape, Shapes, located
from .roles import ROLES

if TYPE_CHECKING:
    import cadquery as cq
    from OCP.TopLoc import TopLoc_Location


@dataclass(frozen=True)
class Place:
    """A right-handed placement: local (a, b, c) lies at origin + a*x + b*y + c*z. `x`, `y` are unit vectors, world
    inches."""

    origin: tuple[float, float, float]
    x: tuple[float, float, float] = (1.0, 0.0, 0.0)
    y: tuple[float, float, float] = (0.0, 1.0, 0.0)

    @cached_property
    def matrix(self) -> np.ndarray:
        """(4, 4) local to world."""
        (ax, ay, az), (bx, by, bz), (ox, oy, oz) = self.x, self.y, self.origin
        return np.array(
            [
                [ax, bx, ay * bz - az * by, ox],
                [ay, by, az * bx - ax * bz, oy],
                [az, bz, ax * by - ay * bx, oz],
                [0.0, 0.0, 0.0, 1.0],
            ]
        )

    @property
    def z(self) -> tuple[float, float, float]:
        return tuple(self.matrix[:3, 2])

    @cached_property
    def location(self) -> cq.Location:
        import cadquery as cq

        return cq.Location(self.kernel_location)

    @cached_property
    def kernel_location(self) -> TopLoc_Location:
        """The same as the kernel's own: what cadquery makes by way of a plane, without the plane."""
        return located(self.origin, self.x, self.z)

    def world(self, points: Sequence[Vector] | np.ndarray) -> np.ndarray:
        """(n, 2) or (n, 3) local points to (n, 3) world points."""
        p = np.asarray(points, float)
        if p.shape[1] == 2:
            p = np.column_stack([p, np.zeros(len(p))])
        return p @ self.matrix[:3, :3].T + self.matrix[:3, 3]


@dataclass(frozen=True, eq=False)
class Part:
    """One piece. `mark` is shared by identical pieces, `id` (`J3-07`) is this piece alone; `deck` sets both.

    `carried_by` holds the ids of the pieces that carry it, found from contacts of the solids. `where` is a short place
    in words ("front edge", "stair 1 tread 3") for messages; `edge` names the outline edge and `stair` numbers the stair
    (0-based) it belongs to, where it does; `step` numbers a tread, riser or guard bay within its run.
    """

    role: str
    stock: Stock
    shape: Shape
    place: Place
    where: str = ""
    edge: str | None = None
    stair: int | None = None
    step: int | None = None
    mark: str = ""
    id: str = ""
    carried_by: tuple[str, ...] = ()

    @property
    def group(self) -> str:
        return ROLES[self.role].group

    @cached_property
    def solid(self) -> cq.Solid:
        """The cadquery solid in world coordinates (the shared shape, moved by a location)."""
        return self.shape.solid.moved(self.place.location)

    @cached_property
    def vertices(self) -> np.ndarray:
        """(n, 3) world points of both end rings of the prism (a circle as a 64-gon)."""
        ring = np.asarray(self.shape.outline) if self.shape.circle is None else _circle(self.shape.circle)
        low = np.column_stack([ring, np.zeros(len(ring))])
        return self.place.world(np.vstack([low, low + (0, 0, self.shape.thickness)]))

    @cached_property
    def box(self) -> np.ndarray:
        """(2, 3) world bounding box: lowest corner, highest corner."""
        return np.array([self.vertices.min(axis=0), self.vertices.max(axis=0)])

    @cached_property
    def footprint(self) -> Polygon:
        """The plan view of the piece as a shapely polygon in world x-y (exact for upright and lying prisms)."""
        if abs(abs(self.place.z[2]) - 1) < 1e-9:
            rings = [self.shape.polygon.exterior.coords, *(h.coords for h in self.shape.polygon.interiors)]
            flat = [self.place.world(np.asarray(r)[:, :2])[:, :2] for r in rings]
            return Polygon(flat[0], flat[1:])
        return MultiPoint(self.vertices[:, :2]).convex_hull

    @cached_property
    def plan_middle(self) -> tuple[float, float]:
        """Middle of the plan box, world inches."""
        (x0, y0, _), (x1, y1, _) = self.box
        return (float(x0 + x1) / 2, float(y0 + y1) / 2)

    @cached_property
    def _reaches(self) -> dict[tuple[float, float], tuple[float, float]]:
        return {}

    def reach(self, axis: Sequence[float]) -> tuple[float, float]:
        """Lowest and highest station along a plan direction: asked of every piece for every flight and beam, so it is
        kept."""
        key = (float(axis[0]), float(axis[1]))
        if key not in self._reaches:
            s = self.vertices[:, :2] @ np.asarray(key)
            self._reaches[key] = (float(s.min()), float(s.max()))
        return self._reaches[key]

    def replaced(self, **changes: Any) -> Part:
        """The same piece with other fields. Where its shape and place stay, so does what was read off them."""
        made = replace(self, **changes)
        if not changes.keys() & {"shape", "place"}:
            made.__dict__.update({name: self.__dict__[name] for name in _READ_OFF if name in self.__dict__})
        return made


# kept properties that hang on shape and place alone
_READ_OFF = ("vertices", "box", "footprint", "plan_middle", "_reaches")


def _circle(radius: float, n: int = 64) -> np.ndarray:
    a = np.linspace(0, 2 * np.pi, n, endpoint=False)
    return radius * np.column_stack([np.cos(a), np.sin(a)])


@dataclass
class Workshop:
    """Where parts are made: it keeps the shared shapes, so that identical pieces are one shape at many places."""

    shapes: Shapes = field(default_factory=Shapes)

    def prism(
        self,
        role: str,
        stock: Stock,
        outline: Any,
        thickness: float,
        place: Place,
        holes: Sequence[Any] = (),
        **about: Any,
    ) -> Part:
        """A part from its finished outline in the local x-y plane of `place`, extruded along local z by `thickness`.

        `about` takes where, edge, stair, step. Raises ValueError for an outline that crosses itself.
        """
        shape, (ox, oy), turned = self.shapes.prism(outline, thickness, holes)
        sign = -1.0 if turned else 1.0
        return Part(
            role,
            stock,
            shape,
            Place(
                triple(place.world([(ox, oy)])[0]),
                triple(sign * c + 0.0 for c in place.x),
                triple(sign * c + 0.0 for c in place.y),
            ),
            **about,
        )

    def upright(
        self, role: str, stock: Stock, footprint: Any, z0: float, z1: float, along: Vector = (1.0, 0.0), **about: Any
    ) -> Part:
        """A part from its plan footprint (ring or shapely polygon, world x-y), standing from z0 to z1.

        `along` is the plan direction of its long axis. The usual way to make joists, boards, rims and posts' plans.
        """
        ring = footprint.exterior.coords if isinstance(footprint, Polygon) else footprint
        inner = [h.coords for h in footprint.interiors] if isinstance(footprint, Polygon) else []
        ux, uy = np.asarray(along, float) / np.hypot(*along)
        turn = np.array([[ux, uy], [-uy, ux]])
        place = Place((0.0, 0.0, z0), (ux, uy, 0.0), (-uy, ux, 0.0))
        local = [(turn @ np.asarray(p[:2])) for p in ring]
        holes = [[(turn @ np.asarray(p[:2])) for p in h] for h in inner]
        return self.prism(role, stock, local, z1 - z0, place, holes, **about)

    def box_along(
        self,
        role: str,
        stock: Stock,
        start: Vector,
        end: Vector,
        width_dir: Vector,
        width: float,
        depth: float,
        **about: Any,
    ) -> Part:
        """A square-ended stick from `start` to `end` (world points on its axis), `width` wide along `width_dir`,
        `depth` deep across both. For posts, balusters and rails whose ends are square."""
        a, b = np.asarray(start, float), np.asarray(end, float)
        length = float(np.linalg.norm(b - a))
        x = (b - a) / length
        y = np.asarray(width_dir, float)
        y = y - x * (y @ x)
        y /= np.linalg.norm(y)
        z = np.cross(x, y)
        place = Place(tuple(a - y * width / 2 - z * depth / 2), tuple(x), tuple(y))
        return self.prism(role, stock, [(0, 0), (length, 0), (length, width), (0, width)], depth, place, **about)

    def cylinder(
        self, role: str, stock: Stock, centre: Vector, axis: Vector, radius: float, height: float, **about: Any
    ) -> Part:
        """A round piece from the centre of one end along `axis`."""
        z = np.asarray(axis, float) / np.linalg.norm(axis)
        ref = np.array([1.0, 0, 0]) if abs(z[0]) < 0.9 else np.array([0, 1.0, 0])
        x = np.cross(np.cross(z, ref), z)
        x /= np.linalg.norm(x)
        y = np.cross(z, x)
        return Part(
            role,
            stock,
            self.shapes.round(radius, height),
            Place(triple(centre), triple(x), triple(y)),
            **about,
        )


def by_role(parts: Iterable[Part], *roles: str) -> list[Part]:
    return [p for p in parts if p.role in roles]
