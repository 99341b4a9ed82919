"""Where a note's arrow ends: on linework or hatching of what it names, or the note is not there."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from ..drafting import drawing as d

ON_THE_LINE = 1 / 64  # paper inches off the linework at which an arrow still touches it
_STEPS = 32  # sides of a circle that a tip is moved on to


def named(item: d.AnyItem) -> tuple[str, str]:
    """What an item draws, or what a note names: a piece, or a thing of no piece."""
    return item.mark, item.thing


def _drawn(item: d.AnyItem) -> BaseGeometry | None:
    if isinstance(item, d.Hatch):
        return shapely.Polygon(item.outline, item.holes)
    if isinstance(item, d.Line):
        return shapely.LineString([item.a, item.b])
    if isinstance(item, d.Polyline):
        return shapely.LineString(item.points + item.points[: item.closed])
    if isinstance(item, d.Circle):
        return shapely.Point(item.centre).buffer(item.radius, _STEPS).exterior
    return None


def on_what_they_name(view: d.View) -> None:
    """Every note of the view that names a piece or a thing is moved, tip by tip, on to the nearest of what is drawn of
    it; one that names what the view does not show is taken off."""
    shapes: dict[tuple[str, str], list[BaseGeometry]] = {}
    for item in view.items:
        if any(named(item)) and (shape := _drawn(item)) is not None:
            shapes.setdefault(named(item), []).append(shape)
    kept = []
    for item in view.items:
        if isinstance(item, d.Leader) and item.at is None and any(named(item)):
            some = shapes.get(named(item))
            if not some:
                continue
            whole = shapely.union_all(some) if len(some) < 200 else shapely.GeometryCollection(some)
            tips = [_moved(tip, whole, ON_THE_LINE * view.scale) for tip in (item.tip, *item.tips)]
            item.tip, item.tips = tips[0], list(dict.fromkeys(tips[1:]))
        kept.append(item)
    view.items[:] = kept


def _moved(tip: d.Point, shape: BaseGeometry, close: float) -> d.Point:
    at = shapely.Point(tip)
    if shape.distance(at) <= close:
        return tip
    line = shapely.shortest_line(at, shape)
    x, y = line.coords[-1]
    return float(x), float(y)
