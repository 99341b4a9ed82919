"""The union of plan footprints, proof against a fault of the geometry library."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely
import shapely.errors
from shapely.geometry.base import BaseGeometry

UNION_GRID = 1e-9  # inches: on it nothing is lost
_ROUNDING = 1e-9  # share of an area


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
