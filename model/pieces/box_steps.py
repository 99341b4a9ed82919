"""Box steps: the frame of each, front and back running through, sides and inner pieces butted between them.

Each frame reaches back to the face that the steps leave; the lowest stands on the pad, each other on the one below
(common practice, no source).
"""

from __future__ import annotations

from typing import Any

import shapely
from shapely.geometry import box

from ...shared.stock import Stock
from ..plan.board_shapes import polygons
from ..plan.flight import Flight
from ..plan.header_stock import as_thick
from ..plan.spots import StairPlan
from ..plan.stages import LevelPlan
from ..solid.part import Part, Workshop
from .concrete_under import under
from .stringers import CUT_GRID, step_frames
from .treads import lengths, on_its_face

LONGEST_FRONT = 240.0  # inches: a longer one is butted over an inner piece; common practice, no source


def build_boxes(layout: LevelPlan, shop: Workshop, plan: StairPlan, flight: Flight, where: str) -> list[Part]:
    """The frames of the box steps of a flight, of the narrowest stock that they can be ripped from."""
    if not flight.box or flight.one_step:
        return []
    sizes, parts, t = as_thick(layout.parameters, layout.joist), list[Part](), flight.stock_thickness
    middles = [s + t / 2 for s in flight.stringers[1:-1]]
    for k, side in enumerate(step_frames(flight), 1):
        x0, low, x1, high = side.bounds
        stock = next(s for s in sizes if s.width >= high - low - 1e-9)
        about = {"where": f"{where} step {k}", "edge": plan.spot.edge.name, "stair": plan.index, "step": k}
        out = tuple(map(float, flight.out))
        for x in (x0, x1 - t):
            for a, b in lengths(0.0, flight.width, LONGEST_FRONT, middles, 0.0):
                parts += _across(layout, shop, flight, stock, (x, a, b), (low, high), about)
        for s in flight.stringers:
            bottom = max([low, *(r.top for r in under(layout, flight, x0 + t, x1 - t, s, s + t))])
            outline = flight.rectangle(x0 + t, x1 - t, s, s + t)
            if bottom < high:
                parts.append(shop.upright("step frame", stock, outline, bottom, high, out, **about))
    return parts


def _across(
    layout: LevelPlan,
    shop: Workshop,
    flight: Flight,
    stock: Stock,
    at: tuple[float, float, float],
    levels: tuple[float, float],
    about: dict[str, Any],
) -> list[Part]:
    """A front or a back whose outer or inner face is `at` x, from s to s; cut out over concrete that comes up under
    it."""
    (x, a, b), (low, high), t = at, levels, flight.stock_thickness
    taken = [box(r.s[0], low, r.s[1], r.top) for r in under(layout, flight, x, x + t, a, b) if r.top > low]
    if not taken:
        outline = flight.rectangle(x, x + t, a, b)
        return [shop.upright("step frame", stock, outline, low, high, tuple(map(float, flight.across)), **about)]
    rest = shapely.set_precision(box(a, low, b, high).difference(shapely.union_all(taken)), CUT_GRID)
    rings = (list(g.exterior.coords)[:-1] for g in polygons(rest))
    return [on_its_face(shop, "step frame", stock, flight, x, t, ring, about) for ring in rings]
