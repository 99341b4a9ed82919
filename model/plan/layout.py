"""Plane geometry of the whole deck: what every room of the model agrees on before a solid is made.

The rooms know each other only through this: the outline and its edges, the reference planes, where joists run, where
the surface, its border and its field lie, which strips under it want support, where guard posts and stairs stand. Plan
coordinates in inches; "inside" is measured inwards from the frame's outer face, negative outside it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from shapely.geometry import Polygon

from ...shared.errors import DesignError
from ...shared.stock import Stock, lumber
from ..input.parameters import Parameters, Stair
from ..input.standing import standing
from .edges import Edge, Outline

RECTANGLE = ["front", "right", "back", "left"]
GUARD_TRIGGER_ITEM = "guard_required_height_above_grade"  # the published trigger (data row of shared/standards)


@dataclass(frozen=True)
class Planes:
    """Levels above the datum. `grade(x, y)` is a plane that may slope."""

    surface_top: float
    frame_top: float
    frame_bottom: float
    grade_origin: float
    slope_x: float
    slope_y: float

    def grade(self, x: float, y: float) -> float:
        return self.grade_origin + self.slope_x * x + self.slope_y * y


@dataclass(frozen=True)
class Strip:
    """A band of the frame's plan that must carry something: the inner or outer half of a border board, or field ends.

    `edge` names the outline edge it follows (None under a breaker); `lengthwise` says that it runs along the joists.
    """

    polygon: Polygon
    edge: str | None
    purpose: str  # "border" | "field ends" | "breaker"
    lengthwise: bool
    direction: tuple[float, float]


@dataclass(frozen=True)
class PostSpot:
    """Where a guard post stands: its plan square, the edges it guards, and why it is there."""

    polygon: Polygon
    centre: tuple[float, float]
    direction: tuple[float, float]  # along one face
    edges: tuple[str, ...]
    kind: str  # "corner" | "end" | "stair" | "line"
    stair: int | None = None


@dataclass(frozen=True)
class Bay:
    """A guard bay along an edge, between two of the layout's post spots (their indices), from start to end of the
    edge."""

    edge: str
    first: int
    last: int


@dataclass(frozen=True)
class StairSpot:
    """Where a stair leaves the deck: `start` to `end` along its edge (outer faces of the outer stringers)."""

    index: int
    edge: Edge
    start: float
    end: float
    parameters: Stair
    cleats: tuple[Polygon, ...] = ()  # behind the rim, from frame top down to the stair header

    @property
    def trimmed(self) -> tuple[float, float]:
        """`start` and `end` with the skirts added: over this stretch the fascia gives way to the stair."""
        return self.start, self.end

    @property
    def out(self) -> np.ndarray:
        return -self.edge.inward


@dataclass
class Layout:
    """Everything plane about one deck. Built by `lay_out`; read-only afterwards."""

    parameters: Parameters
    outline: Outline
    planes: Planes
    along: np.ndarray  # (2,) unit vector of the joists
    across: np.ndarray  # (2,) unit vector square to them
    joist: Stock
    rim: float  # thickness of the rim, all plies
    surface_outer: Polygon = None  # outer edge of the finished surface
    border: list[tuple[str, int, Polygon]] = field(default_factory=list)  # edge, course (0 outermost), board outline
    field_inset: dict[str, float] = field(
        default_factory=dict
    )  # inside distance of the border's inner edge, or of the surface's edge
    board_direction: np.ndarray = None
    field_polygon: Polygon = None  # what field boards may cover: end and edge gaps taken off
    breakers: list[Polygon] = field(default_factory=list)
    strips: list[Strip] = field(default_factory=list)
    joist_lines: list[tuple[float, Polygon]] = field(default_factory=list)  # position across, plan footprint
    posts: list[PostSpot] = field(default_factory=list)
    bays: list[Bay] = field(default_factory=list)
    stairs: list[StairSpot] = field(default_factory=list)
    guarded: list[str] = field(default_factory=list)
    footing_size: float = 0.0  # diameter or side of a footing under one post; set by `support_plan.plan_beams`
    beam: Stock = (
        None  # set by `support_plan.plan_beams`: the file's, or a shallower one on a deck too low for the default
    )
    whole_edge: Edge | None = None  # the edge whose boards are kept whole (`model/whole_edge`)
    notes: list[str] = field(default_factory=list)  # choices made for the builder, in words

    def is_lengthwise(self, edge: Edge) -> bool:
        """True where the edge runs along the joists."""
        return edge.parallel_to(self.along)

    def has_ledger(self, edge: Edge) -> bool:
        return edge.house and self.parameters.frame.support == "ledger"

    def overhang(self, edge: Edge) -> float:
        """Outer edge of the surface past the frame's outer face (negative at the house)."""
        s, t = self.parameters.surface, self.parameters.trim
        if edge.house:
            return -s.house_gap
        return s.edge_overhang.get(edge.name, s.overhang) + (t.thickness if t.fascia else 0.0)

    @cached_property
    def inner(self) -> Polygon:
        """The plan inside rims and ledgers, where joists and blocks lie."""
        return self.outline.inset(self.rim_of, "frame.rim_plies")

    def rim_of(self, edge: Edge) -> float:
        return self.joist.thickness if self.has_ledger(edge) else self.rim


def read_outline(p: Parameters) -> Outline:
    """The outline of a parameter file. Raises DesignError for a crossing outline, odd names or an unknown house
    edge."""
    o = p.outline
    if o.points is None:
        points = [(0.0, 0.0), (o.width, 0.0), (o.width, o.depth), (0.0, o.depth)]
    else:
        points = [tuple(map(float, q)) for q in o.points]
    names = o.edges or (RECTANGLE if o.points is None else [f"e{i + 1}" for i in range(len(points))])
    if len(names) != len(points):
        raise DesignError("outline.edges", f"got {len(names)} names for {len(points)} edges")
    if len(set(names)) != len(names):
        raise DesignError("outline.edges", "two edges have the same name")
    ring = Polygon(points)
    if not ring.is_valid or ring.area <= 0:
        raise DesignError("outline.points", "the outline crosses itself or has no area")
    if not ring.exterior.is_ccw:
        raise DesignError("outline.points", "the corners run clockwise; list them counter-clockwise")
    house = o.house if o.house is not None else (["back"] if o.points is None else [])
    for name in house:
        if name not in names:
            raise DesignError("outline.house", f"no edge {name!r}; the edges are {', '.join(names)}")
    outline = Outline(points, names, set(house))
    for e in outline.edges:
        if e.length < 6:
            raise DesignError("outline.points", f"edge {e.name} is only {e.length:g} in long; the least is 6 in")
    if p.frame.support == "ledger" and not house:
        raise DesignError(
            "outline.house", 'a ledger needs a house edge: name one, or set frame.support = "free-standing"'
        )
    return outline


def _directions(p: Parameters, outline: Outline) -> tuple[np.ndarray, np.ndarray]:
    choice = p.frame.joist_direction
    if choice == "auto":
        house = next((e for e in outline.edges if e.house), None)
        choice = "x" if house is not None and abs(house.direction[1]) > 0.7071 else "y"
    return (
        (np.array([1.0, 0.0]), np.array([0.0, 1.0])) if choice == "x" else (np.array([0.0, 1.0]), np.array([1.0, 0.0]))
    )


def _standing_directions(p: Parameters, along: np.ndarray, across: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The mean direction of the joists as they lie, and square to it."""
    stands = standing(p)
    if not stands or not stands.joists:
        return along, across
    ways = [np.subtract(*j.line[::-1]) for j in stands.joists]
    mean = sum(w * np.sign(w @ along) for w in ways)
    mean = mean / np.hypot(*mean)
    side = np.array([mean[1], -mean[0]])
    return mean, side * np.sign(side @ across)


def lay_out(p: Parameters) -> Layout:
    """The whole plan of one parameter file. Raises DesignError, naming the key, for a design that cannot be drawn."""
    from .joist_plan import joist_lines, running_on
    from .post_plan import guard_edges, plan_posts, plan_stairs
    from .surface_plan import plan_surface
    from .whole_edge import whole_edge

    outline = read_outline(p)
    joist = lumber(p.frame.joist)
    top = p.levels.surface - p.surface.board_thickness
    planes = Planes(p.levels.surface, top, top - joist.width, p.levels.grade, p.levels.slope_x, p.levels.slope_y)
    along, across = _standing_directions(p, *_directions(p, outline))
    layout = Layout(p, outline, planes, along, across, joist, p.frame.rim_plies * joist.thickness)
    _ = layout.inner  # a deck too narrow for its rims is refused here
    for name in p.surface.edge_overhang:
        if name not in outline:
            raise DesignError(
                f"surface.edge_overhang.{name}", f"no edge {name!r}; the edges are {', '.join(outline.names)}"
            )
    layout.whole_edge = whole_edge(outline, p.order.whole_edge)
    plan_surface(layout)
    layout.stairs = plan_stairs(layout)
    layout.guarded = guard_edges(layout)
    fixed = plan_posts(layout)
    layout.joist_lines = joist_lines(layout, fixed)
    plan_posts(layout, layout.joist_lines + running_on(layout))
    return layout
