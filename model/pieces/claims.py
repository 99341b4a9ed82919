"""What lies at joist level in plan: claimed footprints, which never overlap since each is cut to what is free."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
import shapely.errors
from shapely import STRtree
from shapely.geometry import MultiPolygon, Polygon

from ...shared.points import Vector
from ...shared.practice import practice
from ..plan.board_shapes import polygons
from ..plan.edges import parallel
from ..plan.joist_plan import FACES_MEET
from ..solid.roles import in_group
from ..solid.union import united

SHORTEST_BLOCK = practice("shortest block")
TOUCHING = 1e-4
THINNEST = practice("thinnest block")
LEAST_FACE_MET = 0.25  # inches of a face in plan: less is a corner that only touches (our own)
A_SIDE = 0.9998  # cosine within which an edge in plan is a side of its piece and no bevel; ours
END_ZONE = 1.5  # inches from an end within which what touches holds it, as it is measured (our own)
BLOCKING = in_group("blocking")
SURE_BY = 1e-6  # inches more or less than that: no rounding changes it
EDGE_GRID = 1e-9  # inches: shared edges that differ in their last bits are one edge on it


def _without(there: Any, taken: Any) -> Any:
    """A plan shape less what is taken of it. Where GEOS gives up on edges that all but coincide, or on a line that was
    left between two shapes, the areas alone are taken as they lie."""
    try:
        return shapely.difference(there, taken, grid_size=EDGE_GRID)
    except shapely.errors.GEOSException:
        areas = [shapely.union_all(polygons(shapely.make_valid(shape))) for shape in (there, taken)]
        return shapely.difference(*areas)


@dataclass
class Claim:
    """A claimed footprint: role, plan polygon, direction of its long axis, and where it is."""

    role: str
    polygon: Polygon
    direction: tuple[float, float]
    where: str
    edge: str | None = None


class Footprints:
    """Footprints that blocks are held between, found by where they lie."""

    def __init__(self, footprints: Sequence[Polygon]) -> None:
        self.tree = STRtree(footprints)
        # each as far as a face may lie from it, made when it is first asked for
        self._faces, self._made = np.full(len(footprints), None, dtype=object), np.zeros(len(footprints), bool)

    def near(self, shape: Any) -> list[Polygon]:
        """Those that touch a shape."""
        return list(self.tree.geometries[self.tree.query(shape, predicate="dwithin", distance=TOUCHING)])

    def meets(self, pieces: Sequence[Polygon], direction: Vector) -> tuple[np.ndarray, np.ndarray]:
        """(n, 2) whether one neighbour alone surely meets enough of an end of each piece, ahead and behind, and whether
        all of them together surely meet too little. Nearly always one of the two is so; neither is where an end has to
        be looked at by itself."""
        if not pieces:
            return np.zeros((0, 2), bool), np.zeros((0, 2), bool)
        sides = [_ends(g, direction, sign) for g in pieces for sign in (1, -1)]
        lines = shapely.linestrings(np.concatenate(sides))
        end = np.repeat(np.arange(len(sides)), [len(s) for s in sides])
        piece, other = self.tree.query(np.array(pieces), predicate="dwithin", distance=TOUCHING)
        new = np.unique(other[~self._made[other]])
        self._faces[new], self._made[new] = shapely.buffer(self.tree.geometries[new], FACES_MEET), True
        of_piece = [other[piece == k] for k in range(len(pieces))]
        line = np.repeat(np.arange(len(lines)), [len(of_piece[e // 2]) for e in end])
        faces = self._faces[np.concatenate([of_piece[e // 2] for e in end])]
        met = shapely.length(shapely.intersection(lines[line], faces))
        least, most = np.zeros(len(sides)), np.bincount(end[line], met, len(sides))
        np.maximum.at(least, end[line], met)
        enough, little = least > LEAST_FACE_MET + SURE_BY, most < LEAST_FACE_MET - SURE_BY
        return enough.reshape(-1, 2), little.reshape(-1, 2)


class Claims:
    """The plan at joist level, filling up. `free` cuts a shape to what is still free; `claim` takes footprints."""

    def __init__(self) -> None:
        self.members: list[Claim] = []
        self.posts: list[Polygon] = []  # guard posts: nothing lies in them, blocks may be nailed to them
        self.cleats: list[Polygon] = []  # of stair headers: nothing lies in them
        self._now: Footprints | None = None

    def claim(self, members: list[Claim]) -> None:
        self.members += members
        self._now = None

    def cut(self, member: Claim, shape: Polygon) -> None:
        """Changes the footprint of a claimed member."""
        member.polygon, self._now = shape, None

    @property
    def _standing(self) -> Footprints:
        if self._now is None:
            self._now = Footprints([m.polygon for m in self.members] + self.posts + self.cleats)
        return self._now

    def near(self, shape: Any) -> list[Polygon]:
        """Claimed footprints, guard posts and cleats that touch a shape."""
        return self._standing.near(shape)

    def free(self, shape: Any) -> list[Polygon]:
        around, there = self.near(shape), MultiPolygon(polygons(shape))  # without lines that it only touches
        rest = _without(there, united(around)) if around else there
        return [g for g in getattr(rest, "geoms", [rest]) if isinstance(g, Polygon) and g.area > 0.05]

    def held(self, piece: Polygon, direction: Vector) -> bool:
        """Whether both ends of a piece meet a member, a cleat or a guard post over a face, not along a line alone."""
        touching = _faces_of(self.near(piece))
        return all(_end_meets(piece, direction, sign, touching) >= LEAST_FACE_MET for sign in (1, -1))

    def drop_loose(self, role: str, way: Vector) -> None:
        """Takes out the members of a role, lying `way`, of which an end meets nothing over a face, and with them the
        blocks that they alone held; not where that would loosen one behind a guard post."""
        alike = [m for m in self.members if m.role == role and parallel(m.direction, way)]
        for m in [m for m in alike if not self._stays(m)]:
            if any(m is o for o in self.members):
                self._drop(m)

    def _drop(self, first: Claim) -> None:
        before, loose = self.members, [first]
        while loose:
            if any(m.role == "post blocking" for m in loose):
                self.members, self._now = before, None
                return
            gone = shapely.union_all([m.polygon for m in loose])
            self.members = [m for m in self.members if not any(m is o for o in loose)]
            self._now = None
            beside = [m for m in self.members if m.role in BLOCKING and m.polygon.distance(gone) < TOUCHING]
            loose = [m for m in beside if not self._stays(m)]

    def _stays(self, m: Claim) -> bool:
        return all(self.end_meets(m.polygon, m.direction, sign) >= LEAST_FACE_MET for sign in (1, -1))

    def all_held(self, pieces: Sequence[Polygon], direction: Vector) -> list[Polygon]:
        """Those of some pieces that are `held`, in their order: asked of all of them at once."""
        enough, little = self._standing.meets(pieces, direction)
        found = zip(pieces, enough.tolist(), little.tolist())
        return [g for g, sure, never in found if all(sure) or (not any(never) and self.held(g, direction))]

    def end_meets(self, piece: Polygon, direction: Vector, sign: int, around: list[Polygon] | None = None) -> float:
        """Inches of a piece's end, in plan, that lie against what stands there; `sign`: the end along `direction` or
        the other. A bevel is an end, however long, of the end that it looks out at; the sides of the piece are
        none."""
        others = around if around is not None else [q for q in self.near(piece) if q is not piece]
        return _end_meets(piece, direction, sign, _faces_of(others))


def _faces_of(others: list[Polygon]) -> Any:
    """All that a face may lie against at `others`."""
    return shapely.buffer(shapely.union_all(others), FACES_MEET)


def _end_meets(piece: Polygon, direction: Vector, sign: int, touching: Any) -> float:
    lines = shapely.linestrings(_ends(piece, direction, sign))
    return float(shapely.length(shapely.intersection(lines, touching)).sum())


def _ends(piece: Polygon, direction: Vector, sign: int) -> np.ndarray:
    """(n, 2, 2) the sides of a piece, in plan, that end it along a direction or, by `sign`, at its other end."""
    d, ring = np.asarray(direction) * sign, shapely.get_coordinates(piece.exterior)
    side = ring[1:] - ring[:-1]
    long, reach = np.hypot(*side.T), ring @ d
    outward = (side[:, 1] * d[0] - side[:, 0] * d[1]) * (1 if piece.exterior.is_ccw else -1)
    cuts = (long > FACES_MEET) & (np.abs(side @ d) < A_SIDE * long) & (outward > 0)
    ends = cuts & (reach.max() - np.maximum(reach[1:], reach[:-1]) < END_ZONE)
    return np.stack([ring[:-1][ends], ring[1:][ends]], axis=1)


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
