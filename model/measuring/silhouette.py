"""Pieces seen square to a vertical plane: outlines, levels at a place, and the widest ball that passes between them.

A view is a horizontal unit vector `right`; a piece is seen as the polygon of (distance along `right`, z). Inches.
Identical pieces that stand alike are seen alike: their outline is worked out once a shape and moved.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from weakref import WeakKeyDictionary

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon

from ..solid.faces import read
from ..solid.kernel import Shape
from ..solid.part import Part

NEARLY = 1e-3  # inches: how closely the widest ball of an irregular opening is searched; added to it twice over
_SEEN: WeakKeyDictionary[Shape, dict[tuple, Polygon]] = WeakKeyDictionary()


def seen(part: Part, right: Sequence[float] | np.ndarray) -> Polygon:
    """The outline of a piece in the view, exact for every prism: the union of its faces as seen."""
    r = np.asarray(right, float)
    axes = np.array([[r[0], r[1], 0.0], [0.0, 0.0, 1.0]])
    m = part.place.matrix
    turned = axes @ m[:3, :3]  # (2, 3): local coordinates to the view
    known = _SEEN.setdefault(part.shape, {})
    key = tuple(np.round(turned.ravel(), 12) + 0.0)
    if key not in known:
        known[key] = _outline(part.shape, turned)
    return shapely.transform(known[key], lambda points: points + axes @ m[:3, 3])


def _outline(shape: Shape, turned: np.ndarray) -> Polygon:
    reading = read(shape)
    flat = []
    for face in reading.faces:
        rings = [ring @ turned.T for ring in face.rings]
        polygon = Polygon(rings[0], rings[1:])
        if polygon.is_valid and polygon.area > 1e-9:
            flat.append(polygon)
    if reading.round or not flat:
        return MultiPoint(reading.vertices @ turned.T).convex_hull
    return shapely.union_all(flat)


def top_at(part: Part, right: Sequence[float] | np.ndarray, at: float) -> float | None:
    """Highest level of a piece at a distance along the view; None where it does not reach there."""
    low, high = span(part, right)
    if at < low or at > high:
        return None
    cut = seen(part, right).intersection(shapely.LineString([(at, -1e5), (at, 1e5)]))
    return None if cut.is_empty else float(cut.bounds[3])


def span(part: Part, right: Sequence[float] | np.ndarray) -> tuple[float, float]:
    """(least, greatest) distance along the view."""
    s = part.vertices[:, :2] @ np.asarray(right, float)
    return float(s.min()), float(s.max())


def openings(region: Polygon, parts: Iterable[Part], right: Sequence[float] | np.ndarray) -> list[Polygon]:
    """The outline of every opening that pieces leave in a region of the view.

    Outlines that lie outside the region do not count; an opening is what is left of the region.
    """
    outlines = np.array([seen(p, right) for p in parts], object)
    outlines = outlines[shapely.intersects(outlines, region)] if len(outlines) else outlines
    rest = region.difference(shapely.union_all(outlines).buffer(1e-7)) if len(outlines) else region
    return [g for g in getattr(rest, "geoms", [rest]) if isinstance(g, Polygon) and g.area > 0.01]


def widest(found: Sequence[Polygon]) -> tuple[float, Polygon] | None:
    """(diameter of the largest ball that passes, outline) of the opening that lets most through; None without openings.

    An opening is looked into only while its box could still let a larger ball through than the largest found.
    """
    if not found:
        return None
    low, high = shapely.bounds(np.array(found, object)).reshape(-1, 2, 2).transpose(1, 0, 2)
    most = (high - low).min(axis=1)
    best = None
    for k in np.argsort(-most, kind="stable"):
        if best is not None and most[k] <= best[0] + 1e-9:
            break
        size = ball(found[k])
        if best is None or size > best[0]:
            best = (size, found[k])
    return best


def ball(opening: Polygon) -> float:
    """Diameter of the largest circle inside an opening: exact for an upright rectangle, else never less than true and
    at most 4e-3 in more, so that a ball is never taken for too large to pass."""
    x0, y0, x1, y1 = opening.bounds
    most = min(x1 - x0, y1 - y0)
    if abs(opening.area - (x1 - x0) * (y1 - y0)) < 1e-6 * opening.area:
        return most
    circle = shapely.maximum_inscribed_circle(opening, tolerance=NEARLY)
    return min(2 * circle.length + 2 * NEARLY, most)
