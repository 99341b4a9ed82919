"""The edge whose boards are kept whole: which edge that is, and which pieces run along it.

A piece kept whole is the first one out of a board bought for it (`order`), and no run is ripped at that edge
(`board_runs`).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ...shared.errors import DesignError
from .edges import Edge, Outline

if TYPE_CHECKING:
    from ..measuring.measure import Measured
    from .layout import Layout

AUTO, NONE = "auto", "none"
AWAY = 0.7  # cosine: an edge that looks within 45 degrees of straight away from the house faces the garden
NEXT = 0.5  # inches from the line where the field begins within which a run is the one next to the edge
JOINT = 0.25  # inches beyond the end gap within which two pieces in line are joined and not parted by a post or a stair


def most_seen(outline: Outline) -> Edge | None:
    """The longest free edge that faces away from the house; the longest free edge where none does, or where no house is
    named.

    That is the edge which stands before whoever comes up to the deck, at eye level where the deck is high (common
    practice, no source). Of two equally long ones the one farther from the house, then the one named first. None
    without a free edge.
    """
    free = [e for e in outline.edges if not e.house]
    house = [e for e in outline.edges if e.house]
    away = sum((e.inward * e.length for e in house), np.zeros(2))
    size = float(np.hypot(*away))
    way = away / size if size > 1e-6 else np.zeros(2)
    facing = [e for e in free if float(-e.inward @ way) > AWAY] or free
    return max(
        facing,
        key=lambda e: (round(e.length, 3), round(float(np.asarray(e.point(e.length / 2)) @ way), 3), -e.index),
        default=None,
    )


def whole_edge(outline: Outline, wanted: str) -> Edge | None:
    """The edge that `order.whole_edge` asks for: by name, "auto" or "none". Raises DesignError for another name and for
    an edge against the house, whose boards nobody sees the ends of."""
    if wanted == NONE:
        return None
    if wanted == AUTO:
        return most_seen(outline)
    free = [e.name for e in outline.edges if not e.house]
    if wanted not in free:
        given = f"edge {wanted!r} lies against the house" if wanted in outline else f"no edge {wanted!r}"
        raise DesignError("order.whole_edge", f'{given}; wanted "auto", "none" or one of {", ".join(free)}')
    return outline[wanted]


def field_begins(layout: Layout, edge: Edge) -> float:
    """Inside an edge, where the field boards that run along it begin: the surface's edge, or a gap from the border."""
    s = layout.parameters.surface
    inside = layout.field_inset[edge.name]
    bordered = s.border.courses > 0 and (not edge.house or s.border.at_house)
    return inside + s.edge_gap if bordered else inside


def kept_whole(layout: Layout, measured: Sequence[Measured], edge: Edge | None) -> list[Measured]:
    """The pieces that run along an edge: every border course and fascia board of it, and, where the field boards run
    along it, those next to it. In the order given."""
    if edge is None:
        return []
    begins = field_begins(layout, edge)
    along = edge.parallel_to(layout.board_direction)

    def runs_along(m: Measured) -> bool:
        if m.role in ("border", "fascia"):
            return m.part.edge == edge.name
        if m.role != "board" or not along:
            return False
        at, inside = np.array([edge.position(q) for q in m.part.footprint.exterior.coords]).T
        return abs(inside.min() - begins) < NEXT and min(at.max(), edge.length) - max(at.min(), 0.0) > 1.0

    return [m for m in measured if runs_along(m)]


def joints(layout: Layout, pieces: Sequence[Measured], edge: Edge) -> list[tuple[Measured, Measured]]:
    """Pieces kept whole that are joined end to end, because what runs along the edge is longer than a board: neighbours
    in one line (course, run or fascia) with no more than the end gap between them."""
    heaps: dict[tuple, list[tuple[float, float, Measured]]] = {}
    for m in pieces:
        at, _inside = np.array([edge.position(q) for q in m.part.footprint.exterior.coords]).T
        heaps.setdefault((m.role, m.part.where), []).append((float(at.min()), float(at.max()), m))
    reach = layout.parameters.surface.end_gap + JOINT
    out = []
    for heap in heaps.values():
        heap.sort(key=lambda h: h[:2])
        out += [(a[2], b[2]) for a, b in itertools.pairwise(heap) if b[0] - a[1] <= reach]
    return out
