"""Fascia: the face trim on every free edge, mitred at corners, joined on backing, giving way where a stair leaves.

Its outer face and the surface's outer edge agree through `Setting.overhang`. Long axis = local x = along the edge.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from ..plan.board_shapes import local, polygons
from ..plan.edges import Edge
from ..plan.stages import Joisted
from ..solid.part import Part, Workshop
from .edge_boards import board_stock, flat_parts, flat_place, split_along

LEAST_FASCIA = 0.5  # inches: a shorter stretch of fascia cannot be fastened and is left open


def build_trim(layout: Joisted, shop: Workshop) -> list[Part]:
    """Fascia boards from frame top down by `trim.height` (or the frame's depth)."""
    trim = layout.parameters.trim
    if not trim.fascia:
        return []
    top = layout.planes.frame_top
    height = trim.height or top - layout.planes.frame_bottom
    stock = board_stock(trim.thickness, height, trim.material)
    outside = {e.name: 0.0 if e.house else -trim.thickness for e in layout.outline.edges}
    parts = []
    for edge in layout.outline.edges:
        if edge.house:
            continue
        x, y = edge.direction, edge.inward
        start = float(np.dot(edge.start, x))
        ends = {e.name: 0.0 for e in _open_beyond(layout, edge)}
        whole = local(layout.outline.strip(edge, dict.fromkeys(outside, 0.0), outside | ends), x, y)
        _, v0, _, v1 = whole.bounds
        stairs = [(start + s.trimmed[0], start + s.trimmed[1]) for s in layout.stairs if s.edge.name == edge.name]
        rest = whole.difference(shapely.union_all([box(a, v0 - 1, b, v1 + 1) for a, b in stairs])) if stairs else whole
        place = flat_place(x, y, top - height)
        for stretch in polygons(rest):
            pieces, _ = split_along(layout, edge, stretch, trim.length, layout.parameters.surface.end_gap)
            pieces = [p for p in pieces if _on_the_frame(p) >= LEAST_FASCIA]
            about = {"where": f"{edge.name} edge", "edge": edge.name}
            parts += flat_parts(shop, "fascia", stock, pieces, height, place, [about] * len(pieces))
    return parts


def _open_beyond(layout: Joisted, edge: Edge) -> list[Edge]:
    """The neighbours round a convex corner whose fascia a stair leaves open there: the edge's own ends square."""
    outline, found = layout.outline, []
    for other, second in ((outline.before(edge), edge), (outline.after(edge), outline.after(edge))):
        at = other.length if second is edge else 0.0
        near = [s for s in layout.stairs if s.edge.name == other.name for t in s.trimmed if abs(t - at) < LEAST_FASCIA]
        if near and outline.turn(second) > 0:
            found.append(other)
    return found


def _on_the_frame(piece: Polygon) -> float:
    """Length of a `local` piece's inner side, which lies on the rim."""
    ring = np.asarray(piece.exterior.coords)
    inner = ring[np.abs(ring[:, 1] - ring[:, 1].max()) < 1e-6, 0]
    return float(np.ptp(inner))
