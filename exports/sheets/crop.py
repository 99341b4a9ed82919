"""Linework cropped to a window, exactly: a detail or a stair section carries no more of the deck than it shows."""

from __future__ import annotations

from dataclasses import replace

import shapely

from ..drafting import drawing as d
from ..linework.views import CutFace, Linework, ViewLine


def cropped(work: Linework, window: d.Box) -> Linework:
    """Lines clipped to the window (Liang and Barsky, 1984), cut faces intersected with it, circles kept if inside."""
    x0, y0, x1, y1 = window
    frame = shapely.box(*window)
    lines = []
    for l in work.lines:
        ends = clipped(l.a, l.b, window)
        if ends:
            lines.append(ViewLine(l.part, l.kind, *ends, l.depth))
    cuts = []
    for c in work.cuts:
        piece = c.polygon if frame.contains(c.polygon) else c.polygon.intersection(frame)
        cuts += [
            CutFace(c.part, p)
            for p in getattr(piece, "geoms", [piece])
            if p.geom_type == "Polygon" and (piece is c.polygon or _worth(p))
        ]
    rounds = [
        r
        for r in work.rounds
        if x0 <= r.centre[0] - r.radius
        and r.centre[0] + r.radius <= x1
        and y0 <= r.centre[1] - r.radius
        and r.centre[1] + r.radius <= y1
    ]
    return replace(work, lines=lines, cuts=cuts, rounds=rounds)


def _worth(piece) -> bool:
    """Whether enough of a cropped face is left to be read: a thinner sliver would be a black bar at the edge."""
    x0, y0, x1, y1 = piece.bounds
    return min(x1 - x0, y1 - y0) > 0.5


def clipped(a: d.Point, b: d.Point, window: d.Box) -> tuple[d.Point, d.Point] | None:
    """The stretch of a-b inside the window; None if there is none longer than 1e-3 in."""
    x0, y0, x1, y1 = window
    dx, dy = b[0] - a[0], b[1] - a[1]
    t0, t1 = 0.0, 1.0
    for step, gap in ((-dx, a[0] - x0), (dx, x1 - a[0]), (-dy, a[1] - y0), (dy, y1 - a[1])):
        if step == 0:
            if gap < 0:
                return None
            continue
        t = gap / step
        if step < 0:
            t0 = max(t0, t)
        else:
            t1 = min(t1, t)
    if (t1 - t0) * (dx * dx + dy * dy) ** 0.5 < 1e-3:
        return None
    p = a if t0 == 0 else (a[0] + dx * t0, a[1] + dy * t0)
    q = b if t1 == 1 else (a[0] + dx * t1, a[1] + dy * t1)
    return p, q
