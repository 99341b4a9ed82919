"""Fascia: the face trim on every free edge, mitred at corners, joined on backing, giving way where a stair leaves.

Its outer face and the surface's outer edge agree through `Setting.overhang`. Long axis = local x = along the edge.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from ...shared.practice import practice
from ..plan.board_shapes import local, polygons
from ..plan.edges import Edge
from ..plan.spots import StairSpot
from ..plan.stages import Joisted
from ..solid.part import Part, Workshop
from .edge_boards import SNAP, flat_parts, flat_place, split_along, trim_stock

LEAST_FASCIA = practice("shortest block")  # inches: a shorter stretch cannot be held in a saw, nor nailed
AT_CORNER_OPEN = 0.5  # inches from a corner within which a stair reaches it; our own


def build_trim(layout: Joisted, shop: Workshop) -> list[Part]:
    """Fascia boards from frame top down by `trim.height` (or the frame's depth)."""
    trim = layout.parameters.trim
    if not trim.fascia:
        return []
    top, height = layout.planes.frame_top, layout.fascia_height
    stock = trim_stock(trim, layout.parameters.maker.fascia, height)
    parts = []
    for edge in (e for e in layout.outline.edges if not e.house):
        place = flat_place(edge.direction, edge.inward, top - height)
        for stretch in _stretches(layout, edge):
            if _on_the_frame(stretch) < LEAST_FASCIA:
                continue
            pieces, _ = split_along(layout, edge, stretch, trim.length, layout.parameters.surface.end_gap)
            pieces = [p for p in pieces if _on_the_frame(p) >= LEAST_FASCIA]
            about = {"where": f"{edge.name} edge", "edge": edge.name}
            parts += flat_parts(shop, "fascia", stock, pieces, height, place, [about] * len(pieces))
    return parts


def _stretches(layout: Joisted, edge: Edge) -> list[Polygon]:
    """The plans of what stairs leave of an edge's fascia, in the edge's own axes."""
    trim, x, y = layout.parameters.trim, edge.direction, edge.inward
    outside = {e.name: 0.0 if e.house else -trim.thickness for e in layout.outline.edges}
    start = float(np.dot(edge.start, x))
    ends = {e.name: 0.0 for e in _open_beyond(layout, edge)}
    whole = local(layout.outline.strip(edge, dict.fromkeys(outside, 0.0), outside | ends), x, y)
    _, v0, _, v1 = whole.bounds
    stairs = [(start + s.trimmed[0], start + s.trimmed[1]) for s in layout.stairs if s.edge.name == edge.name]
    rest = whole.difference(shapely.union_all([box(a, v0 - 1, b, v1 + 1) for a, b in stairs])) if stairs else whole
    return polygons(rest)


def scraps_beside(layout: Joisted, spot: StairSpot) -> list[Polygon]:
    """The plans of the stretches of fascia right beside a stair that are too short to be pieces of their own: its top
    riser takes them. One between two stairs is the first one's."""
    if not layout.parameters.trim.fascia:
        return []
    edge, found = spot.edge, []
    at = float(np.dot(edge.start, edge.direction))
    for stretch in _stretches(layout, edge):
        low, _, high, _ = stretch.bounds
        beside = [s.index for s in layout.stairs if s.edge is edge and _ends_at(s, low - at, high - at)]
        if 0 < _on_the_frame(stretch) < LEAST_FASCIA and min(beside, default=None) == spot.index:
            found.append(Polygon(np.asarray(stretch.exterior.coords) @ np.array([edge.direction, edge.inward])))
    return found


def _ends_at(spot: StairSpot, low: float, high: float) -> bool:
    """Whether a stretch of an edge begins where a stair ends, or ends where it begins."""
    return min(abs(low - spot.trimmed[1]), abs(high - spot.trimmed[0])) < SNAP


def _open_beyond(layout: Joisted, edge: Edge) -> list[Edge]:
    """The neighbours round a convex corner whose fascia a stair leaves open there: the edge's own ends square."""
    outline, found = layout.outline, []
    for other, second in ((outline.before(edge), edge), (outline.after(edge), outline.after(edge))):
        at = other.length if second is edge else 0.0
        near = [
            s for s in layout.stairs if s.edge.name == other.name for t in s.trimmed if abs(t - at) < AT_CORNER_OPEN
        ]
        if near and outline.turn(second) > 0:
            found.append(other)
    return found


def _on_the_frame(piece: Polygon) -> float:
    """Length of a `local` piece's inner side, which lies on the rim."""
    ring = np.asarray(piece.exterior.coords)
    inner = ring[np.abs(ring[:, 1] - ring[:, 1].max()) < 1e-6, 0]
    return float(np.ptp(inner))
