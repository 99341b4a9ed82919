"""Where stairs leave the deck. Plan coordinates, inches."""

from __future__ import annotations

from ...shared.errors import DesignError
from .spots import StairSpot
from .stages import Setting


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
