"""Which pieces run along the edge whose boards are kept whole, and which of them are joined.

A piece kept whole is the first one out of a board bought for it.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np

from ..measuring.measure import Measured
from ..plan.border_and_field import field_begins
from ..plan.edges import Edge
from ..plan.stages import Bordered, Setting

NEXT = 0.5  # inches from the line where the field begins within which a run is the one next to the edge
JOINED = (
    0.25  # inches beyond the end gap within which two pieces in line are joined and not parted by a post or a stair
)


def kept_whole(layout: Bordered, measured: Sequence[Measured], edge: Edge | None) -> list[Measured]:
    """The pieces that run along an edge: every border course and fascia board of it, and, where the field boards run
    along it, those next to it. Landings of stairs have no such edge. In the order given."""
    if edge is None:
        return []
    begins = field_begins(layout, edge)
    along = edge.parallel_to(layout.board_direction)

    def runs_along(m: Measured) -> bool:
        if m.box[1, 2] < layout.planes.frame_top - NEXT:  # of a landing, which is named by the edge its stair leaves
            return False
        if m.role in ("border", "fascia"):
            return m.part.edge == edge.name
        if m.role != "board" or not along:
            return False
        at, inside = np.array([edge.position(q) for q in m.part.footprint.exterior.coords]).T
        return abs(inside.min() - begins) < NEXT and min(at.max(), edge.length) - max(at.min(), 0.0) > 1.0

    return [m for m in measured if runs_along(m)]


def joints(layout: Setting, pieces: Sequence[Measured], edge: Edge) -> list[tuple[Measured, Measured]]:
    """Pieces kept whole that are joined end to end, because what runs along the edge is longer than a board: neighbours
    in one line (course, run or fascia) with no more than the end gap between them."""
    heaps: dict[tuple, list[tuple[float, float, Measured]]] = {}
    for m in pieces:
        at, _inside = np.array([edge.position(q) for q in m.part.footprint.exterior.coords]).T
        heaps.setdefault((m.role, m.part.where), []).append((float(at.min()), float(at.max()), m))
    reach = layout.parameters.surface.end_gap + JOINED
    out = []
    for heap in heaps.values():
        heap.sort(key=lambda h: h[:2])
        out += [(a[2], b[2]) for a, b in itertools.pairwise(heap) if b[0] - a[1] <= reach]
    return out
