"""The union of plan footprints, proof against a fault of the geometry library."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely
import shapely.errors
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

UNION_GRID = 1e-9  # inches: on it nothing is lost
_ROUNDING = 1e-9  # share of an area
_SPIKE, _SHORT = 1e-6, 1e-3  # inches: a spike is thinner and longer


def united(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    """The union of polygons. Where edges coincide but for their last bits (plies side by side) GEOS 3.14 can leave
    whole polygons out; less than the sum of their areas, that or shapes that overlap, is united anew on a grid."""
    found = shapely.union_all(shapes)
    whole = math.fsum(s.area for s in shapes)
    return found if found.area >= whole * (1 - _ROUNDING) else shapely.union_all(shapes, grid_size=UNION_GRID)


def common(a: BaseGeometry, b: BaseGeometry) -> BaseGeometry:
    """What two shapes share. Where GEOS gives up on edges that all but coincide, on a grid."""
    try:
        return a.intersection(b)
    except shapely.errors.GEOSException:
        return shapely.intersection(shapely.make_valid(a), shapely.make_valid(b), grid_size=UNION_GRID)


def without_spikes(shape: Polygon) -> Polygon:
    """A polygon without a spike of no width, which a difference along faces in one line but for their last bits may
    leave; any other stays as it is."""
    snapped = shapely.set_precision(shape, _SPIKE)
    same = max(abs(a - b) for a, b in zip(shape.bounds, snapped.bounds, strict=True)) < _SHORT
    return shape if same or not isinstance(snapped, Polygon) else snapped
