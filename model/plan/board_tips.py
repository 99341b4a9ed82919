"""Tips of boards that stand out past the frame and bear on nothing: cut back until the end rests on a rim.

Without a border the boards themselves make the surface's edge. At a corner, or at an edge that is cut on the skew, a
board's end may lie in the overhang alone: a carpenter saws it off square where it is borne, and leaves out a strip
that nowhere reaches the frame (common practice, no source). Outlines are along and square to the boards; inches.
"""

from __future__ import annotations

from typing import Any

import shapely
from shapely.geometry import Polygon, box

from ..solid.board_ends import bears, end_faces
from .board_shapes import polygons
from .edges import FAR

STEP_BACK = 0.25  # inches by which a tip is cut back at a time (our own)
BARED = 12.0  # square inches of the frame that a tip sawn off may leave bare: a scrap (our own)
ON_FRAME = 1 / 3  # of a board's area: one that lies with less on the frame cannot be held there (our own)


def cut_back(outline: Polygon, frame: Any) -> Polygon | None:
    """The outline with either end borne on `frame`, all that can carry it in plan; as it is where no cut would do that
    leaves the frame covered; None where too little of it lies there."""
    if frame.contains(outline):
        return outline
    cut = outline
    for name, sense in (("A", -1), ("B", 1)):
        trimmed = _end_cut(cut, name, sense, frame)
        if trimmed is None:
            return outline if outline.intersection(frame).area > ON_FRAME * outline.area else None
        cut = trimmed
    return cut


def _end_cut(outline: Polygon, name: str, sense: int, frame: Any) -> Polygon | None:
    u0, _, u1, _ = outline.bounds
    at, cut = 0.0, outline
    while at < u1 - u0:
        if bears(cut, end_faces(cut)[name], frame):
            return cut
        at += STEP_BACK
        low, high = (u0 + at, FAR) if sense < 0 else (-FAR, u1 - at)
        cut = max(polygons(shapely.intersection(outline, box(low, -FAR, high, FAR))), key=lambda g: g.area, default=cut)
        if outline.difference(cut).intersection(frame).area > BARED:
            break
    return None
