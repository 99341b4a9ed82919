"""How far a beam keeps off a house that carries no ledger. Inches."""

from __future__ import annotations

from .edges import Edge
from .seats import width
from .stages import Beamed

FOOTING_AT_WALL = 27.0  # inches across for which a beam beside the house has room, where none is given; our own


def off_the_wall(layout: Beamed, edge: Edge) -> float:
    """Inside an edge along the house, the outer face of a beam whose footings keep out of the wall; 0 along others, and
    where a ledger hangs."""
    f = layout.parameters.frame
    if not edge.house or layout.has_ledger(edge):
        return 0.0
    return max(0.0, ((f.footing.size or FOOTING_AT_WALL) - width(layout, False)) / 2 - f.house_gap)
