"""Where loads beside the uniform ones stand in plan. Inches."""

from __future__ import annotations

from collections.abc import Sequence

from shapely.geometry import Polygon

from ...shared.as_toml import as_toml
from ...shared.errors import DesignError
from ..input.area_load import AreaLoad


def check_area_loads(loads: Sequence[AreaLoad], outline: Polygon) -> None:
    """Raises DesignError, naming the key, for a polygon that crosses itself, or lies nowhere on the deck."""
    for n, load in enumerate(loads):
        key, ring = f"area_load.{n}.polygon", Polygon(load.polygon)
        if not ring.is_valid or ring.area <= 0:
            hull = [list(q) for q in list(ring.convex_hull.exterior.coords)[:-1]] if ring.convex_hull.area > 0 else None
            text = f"the polygon of {load.name} crosses itself or has no area"
            raise DesignError(key, text, (key, hull) if hull else None)
        if not ring.intersection(outline).area > 0:
            x0, y0, x1, y1 = (round(float(v), 2) for v in outline.bounds)
            corners = f"{as_toml([x0, y0])} and {as_toml([x1, y1])}"
            text = f"{load.name} stands nowhere on the deck, which lies between {corners}"
            raise DesignError(key, text)
