"""Where stairs leave the deck. Plan coordinates, inches."""

from __future__ import annotations

from collections.abc import Iterable

from shapely.geometry import Polygon

from ...shared.errors import DesignError
from ...shared.practice import practice
from .spots import StairSpot
from .stages import Setting

EDGE_TO_POST = practice("surface edge to a handrail post")
CORNER_EAR = 4.0  # inches along the surface's edge beside a post at its corner: what is left there is cut away; our own


def plan_stairs(layout: Setting) -> tuple[StairSpot, ...]:
    """The stretch of its edge that each stair takes. Raises DesignError for a stair off its edge or over another."""
    spots: list[StairSpot] = []
    for i, stair in enumerate(layout.parameters.stair):
        key = f"stair.{i}"
        if stair.edge not in layout.outline:
            raise DesignError(f"{key}.edge", f"no edge {stair.edge!r}; the edges are {', '.join(layout.outline.names)}")
        edge = layout.outline[stair.edge]
        if edge.house:
            raise DesignError(f"{key}.edge", f"edge {edge.name} lies against the house")
        start = (edge.length - stair.width) / 2 if stair.at is None else stair.at
        end = start + stair.width
        if start < -1e-9 or end > edge.length + 1e-9:
            raise DesignError(
                f"{key}.at",
                f"a stair {stair.width:g} in wide at {start:g} in does not fit on edge {edge.name}, {edge.length:g} in"
                " long",
            )
        for other in spots:
            if other.edge is edge and start < other.end and end > other.start:
                raise DesignError(f"{key}.at", f"overlaps stair {other.index}")
        spots.append(StairSpot(i, edge, start, end, stair))
    return tuple(spots)


def past_the_edge(layout: Setting, spot: StairSpot, side: str) -> float:
    """How far past the face of the deck's edge a post on the stringer at the top of a stair begins, with its sleeve: at
    the top riser, where guard and handrail begin, the surface notched for it; at a corner out of square, where that
    would leave the border a loose tip, before the surface's edge."""
    lead = layout.overhang(spot.edge)
    clear = max(lead - spot.parameters.nosing, 0.0) if _square(layout, spot, side) else lead + EDGE_TO_POST
    return clear + sleeve_wall(layout)


def own_posts(layout: Setting, spots: Iterable[StairSpot]) -> list[Polygon]:
    """The plans of those posts, with their sleeves, of all stairs that have one; on past the corner, where a thin ear
    of the surface would be left."""
    size, wall = layout.parameters.stock(layout.parameters.guard.post).width, sleeve_wall(layout)
    found = []
    for spot in spots:
        for side in spot.own_posts:
            near, past = past_the_edge(layout, spot, side) - wall, CORNER_EAR if _square(layout, spot, side) else 0.0
            low, high = size + wall + past, wall
            a, b = (spot.start - low, spot.start + high) if side == "start" else (spot.end - high, spot.end + low)
            found.append(spot.edge.rectangle(a, b, -(near + size + 2 * wall), -near))
    return found


def _square(layout: Setting, spot: StairSpot, side: str) -> bool:
    """Whether the corner on that side of a stair is square and convex."""
    edge = spot.edge
    beside, corner = (layout.outline.before(edge), edge) if side == "start" else (layout.outline.after(edge),) * 2
    return layout.outline.turn(corner) > 0 and abs(float(beside.direction @ edge.direction)) < 1e-6


def sleeve_wall(layout: Setting) -> float:
    """How far a sleeve stands out from its guard post, inches; nothing without one."""
    g = layout.parameters.guard
    return max((g.sleeve.size - layout.parameters.stock(g.post).width) / 2, 0.0) if g.sleeve else 0.0
