"""Rows of boards moved so that those at every edge without a border reach back over its rim, and none is a sliver.

Rows are laid from one edge. At another one that runs along them, where the outline steps back, the row there is cut to
what is left of it: less than the surface overhangs would lie in the air before the rim, and a strip along a corner of
the house would hang on the rest of its board (common practice, no source).
Lengths in inches; v square to the boards.
"""

from __future__ import annotations

import numpy as np

from ..solid.board_ends import LEAST_BEARING, ZONE
from .border_and_field import field_begins
from .edges import Edge
from .stages import Bordered
from .whole_edge import AUTO, NONE

LEAST_RIP = 0.125  # a gap this little wider than the edge gap is left open rather than filled
FIRST_STEP = 0.25  # between the widths tried of the first row (our own)


def borne_rows(layout: Bordered, y: np.ndarray, span: tuple[float, float], limits: np.ndarray) -> np.ndarray:
    """(n, 2) limits of the rows across `span`: those given, or where boards at some edge would lie before its rim, or
    be slivers, others of which fewest do. Rows stay that begin at an edge named in the file (`order.whole_edge`), and
    slivers where the file asks for them (`surface.rip`)."""
    s = layout.parameters.surface
    along = [e for e in layout.outline.edges if e.parallel_to(layout.board_direction)]
    edges = [e for e in along if layout.overhang(e) > 0 and not s.border.courses]

    def faults(rows: np.ndarray) -> tuple[float, float]:
        slivers = _slivers(layout, y, along, span, rows) if s.rip == "share" else 0.0
        return round(_in_the_air(layout, y, edges, rows), 3), round(slivers, 3)

    now = faults(limits)
    if not any(now) or layout.parameters.order.whole_edge not in (AUTO, NONE):
        return limits
    found = [
        _rows(*span, first, s.board_width, s.edge_gap)
        for first in np.arange(s.board_width, FIRST_STEP / 2, -FIRST_STEP)
    ]
    costs = [
        (*faults(rows), sum(np.ptp(rows[k]) < s.sliver for k in (0, -1)) + (rows[-1, 1] < span[1] - 1e-6))
        for rows in found
    ]
    best = min(range(len(found)), key=costs.__getitem__)
    return found[best] if costs[best][:2] < now else limits


def _rows(low: float, high: float, first: float, width: float, gap: float) -> np.ndarray:
    starts = np.concatenate([[low], np.arange(low + first + gap, high - LEAST_RIP, width + gap)])
    return np.column_stack([starts, np.minimum(np.append(starts[1:] - gap, starts[-1] + width), high)])


def _in_the_air(layout: Bordered, y: np.ndarray, edges: list[Edge], limits: np.ndarray) -> float:
    """Inches of edges along which the boards do not reach back over the rim."""
    return sum((e.length for e in edges if not _reaches(layout, y, e, limits)), 0.0)


def _slivers(
    layout: Bordered, y: np.ndarray, edges: list[Edge], span: tuple[float, float], limits: np.ndarray
) -> float:
    """Inches of edges between the ends of the `span` along which what is left of a row is narrower than a sliver."""
    least, found = layout.parameters.surface.sliver - 1e-6, 0.0
    for e in edges:
        up, v = float(e.inward @ y) > 0, float(np.asarray(e.point(e.length / 2, field_begins(layout, e))) @ y)
        left = (high - v if up else v - low for low, high in limits if low - 1e-6 < v < high + 1e-6)
        if min(abs(v - end) for end in span) > 1e-6 and any(1e-6 < width < least for width in left):
            found += e.length
    return found


def _reaches(layout: Bordered, y: np.ndarray, e: Edge, limits: np.ndarray) -> bool:
    """Whether the row at an edge, at either end of it, reaches so far over the rim that its ends bear, which stand out
    past the rims of its neighbours too, and those of its butt joints: over the rim as they would over two members."""
    out, up = layout.overhang(e), float(e.inward @ y) > 0
    s = layout.parameters.surface
    wide = s.board_width
    least = min(out * (ZONE - out) / (ZONE - out - LEAST_BEARING), wide) if ZONE - out > LEAST_BEARING else wide
    if e.length > s.board_length and s.joints != "single":
        on_two = layout.joist.thickness - s.end_gap / 2
        least = min(max(least, out * ZONE / (ZONE - on_two)), wide) if on_two < ZONE else least
    for along in (0.0, e.length):
        v = float(np.asarray(e.point(along, -out)) @ y)
        for low, high in limits:
            here = low + 1e-6 < v < high - 1e-6 or abs(v - (low if up else high)) <= 1e-6
            if here and LEAST_RIP <= (high - v if up else v - low) < least - 1e-6:
                return False
    return True
