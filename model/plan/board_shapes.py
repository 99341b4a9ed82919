"""Boards in plan: seen along their own axes, taken apart into polygons, and whether a piece is too small to fasten."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..solid.union import united
from .stages import Joisted

SCRAP, SCRAP_BEARING = 12.0, 1.0  # square inches: a piece this small needs that much bearing for one fastener
NOTCH_ROOM = 3.0  # a joint keeps this far from a notch, so that neither end is left thin


def local(polygon: Polygon, x: np.ndarray, y: np.ndarray) -> Any:
    """A plan geometry seen along the unit vectors x and y (about the plan's origin)."""
    turn = np.array([x, y], float)
    return shapely.transform(polygon, lambda p: p @ turn.T)


def fastened(layout: Joisted, outlines: Sequence[Polygon], x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Which `local` outlines can be fastened: all but scraps, which are small pieces with next to nothing under them
    (the tip beyond a rim, the rest beside a notch). The plan of rims, joists and support strips stands for what is
    there."""
    flat = np.array(list(outlines), dtype=object)
    area = shapely.area(flat)
    keep = area >= SCRAP_BEARING
    doubtful = np.flatnonzero(keep & (area < SCRAP))
    if len(doubtful):
        plan = [
            layout.outline.polygon.difference(layout.inner),
            *(j for _, j in layout.joist_lines),
            *(s.polygon for s in layout.strips),
        ]
        # turned first: a union turned afterwards can come out crossing itself in its last bits
        under = united([local(q, x, y) for q in plan])
        keep[doubtful] = shapely.area(shapely.intersection(flat[doubtful], under)) >= SCRAP_BEARING
    return keep


def polygons(shape: Any) -> list[Polygon]:
    """The polygons of any geometry, without lines and points that two touching outlines leave behind."""
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    return [g for g in getattr(shape, "geoms", []) if isinstance(g, Polygon) and not g.is_empty]
