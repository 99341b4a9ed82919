"""What lies at joist level in plan: claimed footprints, which never overlap since each is cut to what is free."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely import STRtree
from shapely.geometry import Point, Polygon

from ...shared.points import Vector
from ...shared.practice import practice

SHORTEST_BLOCK = practice("shortest block")
TOUCHING = 1e-4
THINNEST = practice("thinnest block")
FACE_GRID = 0.03  # inches: faces nearer than this meet
LEAST_FACE_MET = 0.25  # inches of a face in plan: less is a corner that only touches (our own)
EDGE_GRID = 1e-9  # inches: shared edges that differ in their last bits are one edge on it


@dataclass
class Claim:
    """A claimed footprint: role, plan polygon, direction of its long axis, and where it is."""

    role: str
    polygon: Polygon
    direction: tuple[float, float]
    where: str
    edge: str | None = None


class Claims:
    """The plan at joist level, filling up. `free` cuts a shape to what is still free; `claim` takes footprints."""

    def __init__(self) -> None:
        self.members: list[Claim] = []
        self.posts: list[Polygon] = []  # guard posts: nothing lies in them, blocks may be nailed to them
        self.cleats: list[Polygon] = []  # of stair headers: nothing lies in them
        self._tree: STRtree | None = None
        self._shapes: list[Polygon] = []

    def claim(self, members: list[Claim]) -> None:
        self.members += members
        self._tree = None

    def near(self, shape: Any) -> list[Polygon]:
        """Claimed footprints, guard posts and cleats that touch a shape."""
        if self._tree is None:
            self._shapes = [m.polygon for m in self.members] + self.posts + self.cleats
            self._tree = STRtree(self._shapes)
        return [self._shapes[i] for i in self._tree.query(shape, predicate="dwithin", distance=TOUCHING)]

    def free(self, shape: Any) -> list[Polygon]:
        around = self.near(shape)
        rest = shapely.difference(shape, shapely.union_all(around), grid_size=EDGE_GRID) if around else shape
        return [g for g in getattr(rest, "geoms", [rest]) if isinstance(g, Polygon) and g.area > 0.05]

    def held(self, piece: Polygon, direction: Vector) -> bool:
        """Whether both ends of a piece meet a member, a cleat or a guard post over a face, not along a line alone."""
        skin = piece.buffer(FACE_GRID, join_style="mitre")
        around = [o for o in self.near(piece) if skin.intersection(o).area > FACE_GRID * LEAST_FACE_MET]
        s = np.asarray(piece.exterior.coords)[:-1]
        along = s @ np.asarray(direction)
        for end in (along.min(), along.max()):
            corner = s[np.abs(along - end) < 1e-6].mean(axis=0)
            # a bevelled end meets its carrier along its whole face: the middle of the face at that end is asked
            near = s[np.argsort(np.abs(along - end))[:2]].mean(axis=0)
            if not any(o.distance(Point(near)) < 0.02 or o.distance(Point(corner)) < TOUCHING for o in around):
                return False
        return True


def length_along(piece: Polygon, direction: Vector) -> float:
    """The extent of a plan polygon along a unit direction, inches."""
    along = np.asarray(piece.exterior.coords) @ np.asarray(direction)
    return float(along.max() - along.min())


def is_block(piece: Polygon, direction: Vector) -> bool:
    """Long enough to be nailed and not planed away lengthwise by what stands beside it."""
    length, thickness = length_along(piece, direction), length_along(piece, (-direction[1], direction[0]))
    return (
        length >= SHORTEST_BLOCK
        and piece.area >= SHORTEST_BLOCK * thickness
        and piece.area > 0.5 * length * thickness + 1e-6
        and thickness > THINNEST
    )
