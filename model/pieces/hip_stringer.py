"""Hip and jack stringers of steps that go on round a corner, and the blocks between them and the corner's rims."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from shapely.geometry import Polygon, box

from ...shared.stock import Stock, sold
from ..plan.board_shapes import polygons
from ..plan.edges import FAR
from ..plan.flight import Flight
from ..plan.hip import BLOCK_BEFORE, LEAST_SEAT, HipPly, Jack, hip_plies, jacks
from ..plan.spots import StairPlan
from ..plan.stages import LevelPlan
from ..solid.part import Part, Workshop
from .concrete_under import under
from .stringers import scribed, side_outline, upright_outline
from .treads import world

LEAST_HELD = 1.0  # inches: a lower block between a jack and its hip is left out; our own


def build_hips(layout: LevelPlan, shop: Workshop, plan: StairPlan, flight: Flight, where: str) -> list[Part]:
    """The plies of a flight's hip stringers with their blocks, and its jack stringers with theirs; each corner's block
    belongs to the flight that ends there."""
    parts: list[Part] = []
    about: dict[str, Any] = {"edge": plan.spot.edge.name, "stair": plan.index}
    stock = layout.parameters.stock(plan.spot.parameters.stringer)
    t = stock.thickness
    for ply in hip_plies(flight):
        hip, name = ply.flight, f"{where} {'right' if ply.side == 'start' else 'left'} mitre"
        outline = scribed(layout, hip, _from(side_outline(hip), BLOCK_BEFORE), ply.s, t)
        place = f"{name} hip stringer"
        parts.append(upright_outline(shop, "hip stringer", stock, hip, outline, ply.s, t, where=place, **about))
        if ply.side == "end":
            concrete = [r.top for r in under(layout, hip, *_extent(ply.block))]
            levels = max(hip.lower_edge(BLOCK_BEFORE), flight.plumb_bottom, *concrete), hip.seat(1)
            parts.append(_block("hip block", shop, hip, Polygon(ply.block), levels, where=f"{name} block", **about))
        for n, jack in enumerate(jacks(flight, ply.side), 1):
            place = f"{name} jack stringer {n}"
            side = scribed(layout, flight, _jack_outline(flight, jack), jack.s, t)
            parts.append(_jack(shop, stock, flight, side, jack.s, where=place, **about))
            levels = _beside(flight, ply, jack, side)
            if levels[1] - levels[0] >= LEAST_HELD:
                at = f"{name} jack block {n}"
                parts.append(_block("jack block", shop, flight, jack.wedge, levels, where=at, **about))
    return parts


def _extent(ring: Sequence[tuple[float, float]]) -> tuple[float, float, float, float]:
    """x from and to, s from and to."""
    x0, s0, x1, s1 = Polygon(ring).bounds
    return x0, x1, s0, s1


def _from(outline: Polygon, x: float) -> Polygon:
    """What of a side view lies from x on."""
    return max(polygons(outline.intersection(box(x, -FAR, FAR, FAR))), key=lambda g: g.area)


def _jack_outline(flight: Flight, jack: Jack) -> Polygon:
    """A jack's side view: the stringer's from where it begins on, without a tip too thin to carry the tread above."""
    outline = _from(side_outline(flight), jack.x)
    for k in range(1, flight.risers - 1):
        if 0 < flight.stringer_face(k) - jack.x < LEAST_SEAT:
            outline = outline.difference(box(-FAR, flight.seat(k + 1), flight.stringer_face(k), FAR))
    return max(polygons(outline), key=lambda g: g.area)


def _jack(shop: Workshop, stock: Stock, flight: Flight, side: Polygon, s: float, **about: Any) -> Part:
    """A jack stringer; one under a single tread, its lower edge all level cut, is a square block, its grain level."""
    x0, low, x1, high = side.bounds
    if side.area < (x1 - x0) * (high - low) - 1e-6:
        return upright_outline(shop, "jack stringer", stock, flight, side, s, stock.thickness, **about)
    out = (float(flight.out[0]), float(flight.out[1]))
    return shop.upright(
        "jack stringer", stock, flight.rectangle(x0, x1, s, s + stock.thickness), low, high, out, **about
    )


def _beside(flight: Flight, ply: HipPly, jack: Jack, side: Polygon) -> tuple[float, float]:
    """From which to which level a jack and the hip's ply lie side by side, at the jack's upper end."""
    hip, begin = ply.flight, jack.wedge.exterior.coords
    first = min(float(x) for x, _ in begin)
    at = hip.position(flight.point(first, flight.side_at(ply.side, first)))[0] - hip.stock_thickness * ply.slope
    top = max(float(z) for x, z in side.exterior.coords if x < jack.x + 1e-6)
    return max(flight.bearing, flight.lower_edge(jack.x), hip.lower_edge(at)), top


def _block(role: str, shop: Workshop, flight: Flight, ring: Polygon, levels: tuple[float, float], **about: Any) -> Part:
    """An upright block of the smallest stock that its plan, in a flight's (x, s), goes into."""
    x0, s0, x1, s1 = ring.bounds
    thin, wide = sorted((x1 - x0, s1 - s0))
    fits = [s for s in sold() if s.thickness >= thin - 1e-6 and s.width >= wide - 1e-6]
    stock, out = (fits or sold()[-1:])[0], np.asarray(flight.out)
    return shop.upright(role, stock, world(flight, ring), *levels, (float(out[0]), float(out[1])), **about)
