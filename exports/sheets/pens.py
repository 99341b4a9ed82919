"""Linework of the views as items of the drawing: which layer, which hatch, whose mark."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from ..drafting import drawing as d
from ..drafting.layers import layer_for
from ..linework.views import CUT, HIDDEN, Linework

if TYPE_CHECKING:
    from ...model.solid.part import Part

Ground = Callable[[float], float]  # height of grade at the view's u
CONCRETE, STEEL = "concrete", "steel"


def name_of(part: Part) -> str:
    """What an item's extended data says of the piece: its own id, or its mark where it has none."""
    return part.id or part.mark


def items(
    work: Linework,
    kind: str,
    *,
    ground: Ground | None = None,
    own_ground: Callable[[float], Ground] | None = None,
    hatch: bool = True,
    window: d.Box | None = None,
) -> list[d.AnyItem]:
    """All of a linework as items. `kind` is plan, elevation or section. What lies under `ground` is drawn hidden, or
    under `own_ground`, which is grade at the line's own depth in the view.

    `window` leaves out what lies wholly outside it (a detail needs no more of the deck than it shows).
    """
    out: list[d.AnyItem] = []
    if hatch:
        for cut in work.cuts:
            if window is None or _touches(cut.polygon.bounds, window):
                out += [_hatch(cut.part, cut.polygon, work), *_edges(cut.part, cut.polygon)]
    groups: dict[tuple[int, str], list] = defaultdict(list)
    parts = {}
    for line in work.lines:
        if (line.kind == CUT and hatch) or (window is not None and not _touches(_box(line), window)):
            continue
        for a, b, under in _at_grade(line.a, line.b, own_ground(line.depth) if own_ground else ground):
            shown = HIDDEN if under and line.kind != CUT else line.kind
            parts[id(line.part)] = line.part
            groups[id(line.part), shown].append((a, b))
    for (which, shown), runs in zip(groups, joined(list(groups.values()))):
        part = parts[which]
        layer = layer_for(part.role, shown, kind)
        out += [_run(points, layer, name_of(part)) for points in runs]
    for r in work.rounds:
        box = (r.centre[0] - r.radius, r.centre[1] - r.radius, r.centre[0] + r.radius, r.centre[1] + r.radius)
        if window is None or _touches(box, window):
            out.append(d.Circle(r.centre, r.radius, layer=layer_for(r.part.role, r.kind, kind), mark=name_of(r.part)))
    return out


def outlines_of(shapes: Iterable[Polygon], layer: str) -> list[d.AnyItem]:
    """The outer edges of plan shapes."""
    return [d.Polyline([(x, y) for x, y in g.exterior.coords[:-1]], True, layer=layer) for g in shapes]


def joined(groups: list[list]) -> list[list[list[d.Point]]]:
    """Of each group of segments, those that meet end to end made into runs of points; a run that closes ends where it
    began."""
    runs: list[list[list[d.Point]]] = [[list(g[0])] if len(g) == 1 else [] for g in groups]
    many = [n for n, g in enumerate(groups) if len(g) > 1]
    if not many:
        return runs
    ends = np.array([[(round(x, 6) + 0.0, round(y, 6) + 0.0) for x, y in s] for n in many for s in groups[n]])
    group = np.repeat(np.arange(len(many)), [len(groups[n]) for n in many])
    lines, of = shapely.get_parts(
        shapely.line_merge(shapely.multilinestrings(shapely.linestrings(ends), indices=group)), return_index=True
    )
    xy, counts = shapely.get_coordinates(lines).tolist(), shapely.get_num_coordinates(lines).tolist()
    start = 0
    for n, count in zip(of.tolist(), counts):
        points = _straightened([(x, y) for x, y in xy[start : start + count]])
        start += count
        if len(points) > 1:
            runs[many[n]].append(points)
    return runs


def _straightened(points: list[d.Point]) -> list[d.Point]:
    kept = points[:1]
    for before, here, after in zip(points, points[1:], points[2:]):
        ux, uy, vx, vy = here[0] - before[0], here[1] - before[1], after[0] - here[0], after[1] - here[1]
        if abs(ux * vy - uy * vx) > 1e-6 * (math.hypot(ux, uy) * math.hypot(vx, vy)) + 1e-12 or ux * vx + uy * vy < 0:
            kept.append(here)
    return kept + points[-1:]


def _run(points, layer: str, mark: str) -> d.AnyItem:
    if len(points) == 2:
        return d.Line(points[0], points[1], layer=layer, mark=mark)
    closed = points[0] == points[-1]
    return d.Polyline(points[:-1] if closed else points, closed, layer=layer, mark=mark)


def _box(line) -> d.Box:
    return min(line.a[0], line.b[0]), min(line.a[1], line.b[1]), max(line.a[0], line.b[0]), max(line.a[1], line.b[1])


def _touches(a: d.Box, b: d.Box) -> bool:
    return a[0] <= b[2] and a[2] >= b[0] and a[1] <= b[3] and a[3] >= b[1]


def _at_grade(a, b, ground: Ground | None):
    """The line divided where it goes under grade: (a, b, is it under)."""
    if ground is None:
        return [(a, b, False)]
    over_a, over_b = a[1] - ground(a[0]), b[1] - ground(b[0])
    if over_a >= -1e-6 and over_b >= -1e-6:
        return [(a, b, False)]
    if over_a <= 1e-6 and over_b <= 1e-6:
        return [(a, b, True)]
    t = over_a / (over_a - over_b)
    m = (a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t)
    return [(a, m, over_a < 0), (m, b, over_b < 0)]


def long_axis(part: Part) -> np.ndarray:
    """World unit vector of a piece's longest side (of wood, its grain)."""
    shape = part.shape
    if shape.circle is not None:
        return np.asarray(part.place.z)
    x0, y0, x1, y1 = shape.polygon.bounds
    return part.place.matrix[:3, int(np.argmax([x1 - x0, y1 - y0, shape.thickness]))]


def _hatch(part: Part, polygon: Polygon, work: Linework) -> d.Hatch:
    ring = [(float(x), float(y)) for x, y in polygon.exterior.coords[:-1]]
    holes = [[(float(x), float(y)) for x, y in h.coords[:-1]] for h in polygon.interiors]
    pattern, angle = "end grain", 0.0
    if part.stock.material == CONCRETE:
        pattern = "concrete"
    elif part.stock.material == STEEL:
        pattern = "steel"
    else:
        along = work.view.axes @ long_axis(part)
        if abs(along[2]) < 0.7:
            pattern, angle = "long grain", round(math.degrees(math.atan2(along[1], along[0])) % 180, 6) + 0.0
    return d.Hatch(ring, holes, pattern, angle, layer=layer_for(part.role, "pattern", "section"), mark=name_of(part))


def _edges(part: Part, polygon: Polygon) -> Iterable[d.Polyline]:
    for ring in (polygon.exterior, *polygon.interiors):
        yield d.Polyline(
            [(float(x), float(y)) for x, y in ring.coords[:-1]],
            True,
            layer=layer_for(part.role, "cut", "section"),
            mark=name_of(part),
        )


def length(work_items: Iterable[d.AnyItem]) -> float:
    """Total length of lines and runs, inches."""
    total = 0.0
    for item in work_items:
        if isinstance(item, d.Line):
            total += math.dist(item.a, item.b)
        elif isinstance(item, d.Polyline):
            total += LineString(item.points + item.points[: item.closed]).length
    return total
