"""How much room the face of the house's wall leaves beside a stair. Inches, plan coordinates."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from ...shared.points import Vector
from .beam_run import largest
from .edges import Edge
from .flight import Flight
from .stages import Setting

SIDES = ("start", "end")
_NEAR = 24.0  # inches beside a stair within which a wall matters to it; our own
AT_TOP = 12.0  # inches out from the edge over which the wall is looked for beside a stair's top; our own
_TOUCHES = 1e-6  # square inches, or inches


def room_past(wall: BaseGeometry, band: Polygon, past: Callable[[Vector], float]) -> float:
    """Inches between a side of a stair and the wall: the least that `past` says of the corners of the wall within a
    `band` beside that side; infinite where no wall lies in it."""
    hit = wall.intersection(band)
    found = [
        past(q)
        for g in getattr(hit, "geoms", [hit])
        if isinstance(g, Polygon) and g.area > _TOUCHES
        for q in g.exterior.coords
    ]
    least = min(found, default=float("inf"))
    return least if least > _TOUCHES else 0.0


def room_beside(layout: Setting, flight: Flight, side: str, x0: float, x1: float) -> float:
    """Room beside a side of a flight between two stations."""
    wall, w = layout.house_wall, flight.width
    if side == "start":
        return room_past(wall, flight.rectangle(x0, x1, -_NEAR, 0.0), lambda q: -flight.position(q)[1])
    return room_past(wall, flight.rectangle(x0, x1, w, w + _NEAR), lambda q: flight.position(q)[1] - w)


def holds_no_post(layout: Setting, room: float) -> bool:
    """Whether so much room beside a stair holds no guard post with its sleeve: there the wall stands for a guard."""
    g = layout.parameters.guard
    size = layout.parameters.stock(g.post).width
    return room < (max(size, (size + g.sleeve.size) / 2) if g.sleeve else size) - _TOUCHES


def walled_at_edge(layout: Setting, edge: Edge, start: float, end: float) -> tuple[str, ...]:
    """The sides of a stair from `start` to `end` along an edge that stand so near the wall that no post fits
    between."""
    before, after = edge.rectangle(start - _NEAR, start, -AT_TOP, 0.0), edge.rectangle(end, end + _NEAR, -AT_TOP, 0.0)
    room = {
        "start": room_past(layout.house_wall, before, lambda q: start - edge.position(q)[0]),
        "end": room_past(layout.house_wall, after, lambda q: edge.position(q)[0] - end),
    }
    return tuple(side for side in SIDES if holds_no_post(layout, room[side]))


def walled(layout: Setting, flight: Flight) -> tuple[str, ...]:
    """The same of a flight."""
    x1 = max(flight.run, AT_TOP)
    return tuple(side for side in SIDES if holds_no_post(layout, room_beside(layout, flight, side, 0.0, x1)))


def closes(wall: BaseGeometry, start: Vector, end: Vector, out: Vector, within: float) -> bool:
    """Whether the wall stands less than `within` outside a line, along all of it but for less than that at its
    ends."""
    shift = np.asarray(out, float) * (within - _TOUCHES)
    line = LineString([np.asarray(start) + shift, np.asarray(end) + shift])
    return line.difference(wall).length < within


def before_house(layout: Setting, polygon: Polygon) -> Polygon:
    """What of a plan lies before the face of the wall, in one piece; all of it where none would be left."""
    if polygon.intersection(layout.house_wall).area < _TOUCHES:
        return polygon
    return largest(polygon.difference(layout.house_wall)) or polygon
