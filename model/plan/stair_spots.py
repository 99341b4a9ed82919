"""Where stairs leave the deck. Plan coordinates, inches."""

from __future__ import annotations

from ...shared.errors import DesignError
from ...shared.practice import practice
from .beside_house import walled_at_edge
from .spots import StairSpot
from .stages import Setting
from .wrapped_steps import joined_at_corners

EDGE_TO_POST = practice("surface edge to a handrail post")
ROUNDED_OFF = 1e-3  # inches by which an edge may be short of a stair as wide: its corners are written with few digits


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
        if start < -ROUNDED_OFF or end > edge.length + ROUNDED_OFF:
            wider = stair.width > edge.length + ROUNDED_OFF  # wherever it stands
            raise DesignError(
                f"{key}.width" if wider else f"{key}.at",
                f"a stair {stair.width:g} in wide at {start:g} in does not fit on edge {edge.name}, {edge.length:g} in"
                " long",
            )
        start, end = max(start, 0.0), min(end, edge.length)
        for other in spots:
            if other.edge is edge and start < other.end and end > other.start:
                raise DesignError(f"{key}.at", f"overlaps stair {other.index + 1}")
        walled = walled_at_edge(layout, edge, start, end)
        spots.append(StairSpot(i, edge, start, end, stair, walled=walled))
    return joined_at_corners(layout, spots)


def past_the_edge(layout: Setting, spot: StairSpot) -> float:
    """How far past the face of the deck's edge a post on the stringer at the top of a stair begins, with its sleeve: at
    the top riser, where guard and handrail begin, or at the face of the fascia; the surface is notched for it
    (`stair_posts.through_surface`)."""
    trim = layout.parameters.trim
    face = trim.thickness if trim.fascia else 0.0
    return max(layout.overhang(spot.edge) - spot.parameters.nosing, face) + sleeve_wall(layout)


def side_reach(layout: Setting, spot: StairSpot) -> float:
    """How far a tread passes the outer face of the outer stringer on each side."""
    p = spot.parameters
    return p.side_overhang + (layout.parameters.trim.thickness if p.skirts else 0.0)


def sleeve_wall(layout: Setting) -> float:
    """How far a sleeve stands out from its guard post, inches; nothing without one."""
    g = layout.parameters.guard
    return max((g.sleeve.size - layout.parameters.stock(g.post).width) / 2, 0.0) if g.sleeve else 0.0
