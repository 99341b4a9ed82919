"""The plan of one level as a chain of frozen stages, each made from the one before and holding all that it holds.

    Setting -> Bordered -> Surfaced -> Entered -> Joisted -> Posted -> Stepped -> Laid -> Beamed -> LevelPlan

`layout.lay_out` makes the chain; a function asks for the earliest stage that has what it uses. A second level is
another chain. Plan coordinates in inches; "inside" is measured inwards from the frame's outer face, negative outside.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cached_property
from typing import TypeVar

import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from ...shared.points import Vector
from ...shared.said import Words
from ...shared.stock import Stock
from ..input.parameters import Parameters
from .beam_run import BeamRun
from .begin_at import in_steps
from .edges import Edge, FrameOutline
from .spots import BaySpot, FieldLaid, FootingSpot, PadSpot, Planes, PostSpot, StairPlan, StairSpot, Strip

Rim = tuple[Edge, int, Polygon]  # of a rim or ledger: its edge, the ply (0 outermost), plan footprint


@dataclass(frozen=True)
class Setting:
    """The outline on its levels, and which way the joists run."""

    parameters: Parameters
    outline: FrameOutline
    planes: Planes
    along: np.ndarray  # (2,) unit vector of the joists, read-only
    across: np.ndarray  # (2,) unit vector square to them, read-only
    joist: Stock
    flush: bool  # beams at joist level, where the file does not say it of a single one
    joist_spacing: float  # on centre
    # unit vectors across and along that point away from where things are set out (`begin_at`), read-only
    from_ends: tuple[np.ndarray, np.ndarray]

    def ahead(self, direction: Vector) -> int:
        """1 where a plan vector points away from the ends that things are set out from, else -1: across the joists
        first, along them where it points neither way across."""
        across, along = (float(np.dot(direction, way)) for way in self.from_ends)
        return -1 if (along if abs(across) < 1e-6 else across) < 0 else 1

    def distance_out(self, point: Vector) -> tuple[int, int]:
        """How far a plan point lies from where things are set out, across the joists and along them: what comes first
        of things that can stand in each other's way. In steps so small that rounding shows nowhere."""
        x, y = (int(in_steps(float(np.dot(point, way)))) for way in self.from_ends)
        return x, y

    def is_lengthwise(self, edge: Edge) -> bool:
        """True where the edge runs along the joists."""
        return edge.parallel_to(self.along)

    def has_ledger(self, edge: Edge) -> bool:
        return edge.house and not self.parameters.free_standing

    @property
    def ledger(self) -> Stock:
        """As given, else the stock of the joists: a deeper one would stand in beams that run up to it."""
        p = self.parameters
        return p.stock(p.frame.ledger) if p.frame.ledger else self.joist

    def overhang(self, edge: Edge) -> float:
        """Outer edge of the surface past the frame's outer face (negative at the house)."""
        s, t = self.parameters.surface, self.parameters.trim
        if edge.house:
            return -s.house_gap
        return s.edge_overhang.get(edge.name, s.overhang) + (t.thickness if t.fascia else 0.0)

    @cached_property
    def inner(self) -> Polygon:
        """The plan inside rims and ledgers, where joists and blocks lie. Raises DesignError where none is left."""
        return self.outline.inset(self.rim_of, "frame.rim_plies")

    @cached_property
    def house_wall(self) -> BaseGeometry:
        """The plan of the house's wall and what lies behind it; empty without a house edge."""
        return self.wall_running_on()

    def wall_running_on(self, by: float | None = None) -> BaseGeometry:
        """The same where the wall, if the file does not say where the house is, runs on by so many inches."""
        gap = self.parameters.frame.house_gap if self.parameters.free_standing else 0.0
        return self.outline.house_wall(gap, self.parameters.site.house, by)

    def flush_line(self, name: str) -> bool:
        """Whether beams of that name lie at joist level: of an edge, a number of `frame.beam_lines`, or "between"."""
        asked = self.parameters.frame.beam_line_position.get(name)
        return self.flush if asked is None else asked == "flush"

    @property
    def some_under(self) -> bool:
        """Whether any beam is meant to lie under the joists."""
        return not self.flush or "under" in self.parameters.frame.beam_line_position.values()

    def rim_plies(self, edge: Edge) -> int:
        """Members side by side in the rim of a free edge: where its beam is flush the rim is one, of its plies."""
        f = self.parameters.frame
        return max(f.rim_plies, f.beam_plies) if self.flush_line(edge.name) else f.rim_plies

    @property
    def fascia_height(self) -> float:
        """Inches of the fascia's boards, from the frame's top down: as given, else as deep as the frame; 0 without."""
        trim, planes = self.parameters.trim, self.planes
        return (trim.height or planes.frame_top - planes.frame_bottom) if trim.fascia else 0.0

    def rim_of(self, edge: Edge) -> float:
        """Thickness of the rim of an edge, all plies, or of its ledger."""
        return self.joist.thickness * (1 if self.has_ledger(edge) else self.rim_plies(edge))


@dataclass(frozen=True)
class Bordered(Setting):
    """With the surface's edge, its border courses, and what is left for the field."""

    surface_outer: Polygon  # outer edge of the finished surface
    border: tuple[tuple[str, int, Polygon], ...]  # edge, course (0 outermost), board outline
    border_width: float  # of each course
    field_inset: Mapping[str, float]  # inside distance of the border's inner edge, or of the surface's edge
    board_direction: np.ndarray  # (2,) unit vector, read-only
    field_polygon: Polygon  # what field boards may cover: end and edge gaps taken off
    whole_edge: Edge | None  # the edge whose boards are kept whole (`whole_edge`)


@dataclass(frozen=True)
class Surfaced(Bordered):
    """With the breakers, and the strips under the surface that must carry something."""

    breakers: tuple[Polygon, ...]
    strips: tuple[Strip, ...]


@dataclass(frozen=True)
class Entered(Surfaced):
    """With the stretches of edge that the stairs take, and the names of the edges to guard."""

    stairs: tuple[StairSpot, ...]
    guarded: tuple[str, ...]


@dataclass(frozen=True)
class Joisted(Entered):
    """With rims and ledgers, and the joists between them."""

    rims: tuple[Rim, ...]
    joist_lines: tuple[tuple[float, Polygon], ...]  # position across, plan footprint


@dataclass(frozen=True)
class Posted(Joisted):
    """With the guard posts, the bays between them, and the cleats of the stairs' headers clear of both."""

    posts: tuple[PostSpot, ...]
    bays: tuple[BaySpot, ...]


@dataclass(frozen=True)
class Stepped(Posted):
    """With the plan of every stair."""

    stair_plans: tuple[StairPlan, ...]  # in the order of `stairs`

    @property
    def hung(self) -> tuple[StairSpot, ...]:
        """The stairs whose stringers hang at the deck's edge: all but those that leave it by one step, and box
        steps."""
        return tuple(p.spot for p in self.stair_plans if p.flights[0].hangs)


@dataclass(frozen=True)
class Laid(Stepped):
    """With the field boards, and the second joists or cleats under their butt joints."""

    field: FieldLaid


@dataclass(frozen=True)
class Beamed(Laid):
    """With the stock of the beams under the joists: the file's, or a shallower one on a deck too low for the default;
    flush beams are of the joists'."""

    beam: Stock
    at_wall: float  # inches across of the largest footing that came to stand in the house's wall before; 0 of none

    def beam_stock(self, flush: bool) -> Stock:
        return self.joist if flush else self.beam

    def beam_bottom(self, flush: bool) -> float:
        """Level of the underside of the beams at joist level, or under it."""
        return self.planes.frame_bottom - (0.0 if flush else self.beam.width)


@dataclass(frozen=True)
class LevelPlan(Beamed):
    """Everything plane about one level: also the beams on their posts, and the footings."""

    runs: tuple[BeamRun, ...]
    footings: tuple[FootingSpot, ...]
    pads: tuple[PadSpot, ...]  # under the stairs
    footing_size: float  # diameter or side of a footing under one post
    notes: tuple[Words, ...]  # choices made for the builder


S = TypeVar("S", bound="Setting")


def grown(before: Setting, stage: type[S], **more: object) -> S:
    """The next stage: all that the one before holds, with `more` added or put in its place."""
    made = stage(**{f.name: getattr(before, f.name) for f in fields(before)} | more)
    for dear in {"inner", "house_wall"} & before.__dict__.keys():  # they depend on the setting alone
        made.__dict__[dear] = before.__dict__[dear]
    return made
