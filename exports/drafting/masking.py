"""What is drawn leaves room for the marks that stand on it: lines end at the ring of a section's mark, so that its
number and sheet can be read (common practice, no source)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from .drawing import AnyItem, Line, Polyline, Symbol
from .symbols import BUBBLE

_FINE = 32  # sides of a quarter of the ring


def masked(items: list[AnyItem], scale: float) -> list[AnyItem]:
    """The items in their order, every line and run of lines without what of it lies within the ring of a section's
    mark; hatching, lettering and dimensions as they are."""
    marks = [i for i in items if type(i) is Symbol and i.name.startswith("section ")]
    if not marks:
        return items
    rings = shapely.union_all(shapely.buffer(shapely.points([m.at for m in marks]), BUBBLE * scale, quad_segs=_FINE))
    which = [n for n, i in enumerate(items) if type(i) in (Line, Polyline)]
    paths = np.array([shapely.LineString(_path(items[n])) for n in which], object)
    met = shapely.intersects(paths, rings.buffer(-1e-3 * scale))
    cut = {n: shapely.difference(path, rings) for n, path, hit in zip(which, paths, met) if hit}
    out: list[AnyItem] = []
    for n, item in enumerate(items):
        out += _parts(item, cut[n]) if n in cut else [item]
    return out


def _path(item: Line | Polyline) -> list[tuple[float, float]]:
    if type(item) is Line:
        return [item.a, item.b]
    return [*item.points, item.points[0]] if item.closed else list(item.points)


def _parts(item: Line | Polyline, left: shapely.Geometry) -> list[AnyItem]:
    """What is left of a line as items of the same layer and mark."""
    found: list[AnyItem] = []
    for part in shapely.get_parts(left):
        points = [(float(x), float(y)) for x, y in part.coords]
        if len(points) > 1 and type(item) is Line:
            found.append(replace(item, a=points[0], b=points[-1]))
        elif len(points) > 1:
            found.append(replace(item, points=points, closed=False))
    return found
