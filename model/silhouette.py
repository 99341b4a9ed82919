"""Pieces seen square to a vertical plane: outlines, levels at a place, and the widest ball that passes between them.

A view is a horizontal unit vector `right`; a piece is seen as the polygon of (distance along `right`, z). Inches.
"""
from __future__ import annotations

from typing import Iterable, Sequence

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon
from shapely.ops import unary_union

from .faces import read
from .part import Part


def seen(part: Part, right: Sequence[float]) -> Polygon:
    """The outline of a piece in the view, exact for every prism: the union of its faces as seen."""
    reading = read(part.shape)
    r = np.asarray(right, float)
    axes = np.array([[r[0], r[1], 0.0], [0.0, 0.0, 1.0]])
    m = part.place.matrix
    flat = []
    for face in reading.faces:
        rings = [(ring @ m[:3, :3].T + m[:3, 3]) @ axes.T for ring in face.rings]
        polygon = Polygon(rings[0], rings[1:])
        if polygon.is_valid and polygon.area > 1e-9:
            flat.append(polygon)
    if reading.round or not flat:
        return MultiPoint((reading.vertices @ m[:3, :3].T + m[:3, 3]) @ axes.T).convex_hull
    return unary_union(flat)


def top_at(part: Part, right: Sequence[float], at: float) -> float | None:
    """Highest level of a piece at a distance along the view; None where it does not reach there."""
    polygon = seen(part, right)
    cut = polygon.intersection(shapely.LineString([(at, -1e5), (at, 1e5)]))
    return None if cut.is_empty else float(cut.bounds[3])


def openings(region: Polygon, parts: Iterable[Part], right: Sequence[float]) -> list[tuple[float, Polygon]]:
    """(diameter of the largest ball that passes, outline) of every opening that pieces leave in a region of the view.

    Outlines that lie outside the region do not count; an opening is what is left of the region.
    """
    solid = unary_union([s for p in parts if (s := seen(p, right)).intersects(region)])
    rest = region.difference(solid.buffer(1e-7)) if not solid.is_empty else region
    found = []
    for piece in getattr(rest, "geoms", [rest]):
        if isinstance(piece, Polygon) and piece.area > 0.01:
            found.append((ball(piece), piece))
    return found


def ball(opening: Polygon) -> float:
    """Diameter of the largest circle inside an opening, to within 1e-4 in."""
    circle = shapely.maximum_inscribed_circle(opening, tolerance=5e-5)
    diameter = 2 * circle.length
    # a rectangle's answer is its smaller side exactly: the search may stop a hair under it, on the unsafe side
    if abs(opening.area - opening.minimum_rotated_rectangle.area) < 1e-6 * opening.area:
        ring = np.asarray(opening.minimum_rotated_rectangle.exterior.coords)
        diameter = float(min(np.hypot(*(ring[1] - ring[0])), np.hypot(*(ring[2] - ring[1]))))
    else:
        diameter += 1e-4
    return diameter
