"""Stairs as solids: header and cleats at the deck, then flight by flight stringers, skirts, treads, risers; landings;
the pad."""

from __future__ import annotations

from typing import Any

from ...shared.said import Words
from ..plan.flight import Flight
from ..plan.spots import PadSpot, StairPlan
from ..plan.stages import LevelPlan
from ..solid.part import Part, Place, Workshop
from .box_steps import build_boxes
from .hip_stringer import build_hips
from .stair_header import build_header, build_pad_header
from .stair_landing import build_landing
from .stringers import build_carriers, build_skirts, build_stringers
from .support import CONCRETE_STOCK
from .treads import build_risers, build_treads


def build_stairs(layout: LevelPlan, shop: Workshop, notes: list[Words] | None = None) -> list[Part]:
    """All pieces of all stairs but their guards. What a builder should know is added to `notes`."""
    parts: list[Part] = []
    for plan in layout.stair_plans:
        parts += build_header(layout, shop, plan)
        for flight in plan.flights:
            where = flight_name(plan, flight)
            parts += build_pad_header(layout, shop, plan, flight)
            parts += build_stringers(layout, shop, plan, flight, where)
            parts += build_hips(layout, shop, plan, flight, where)
            parts += build_boxes(layout, shop, plan, flight, where)
            parts += build_skirts(layout, shop, plan, flight, where)
            parts += build_risers(layout, shop, plan, flight, where)
            parts += build_treads(layout, shop, plan, flight, where)
        parts += build_carriers(shop, plan)
        for landing in plan.landings:
            if not landing.on_ground:
                parts += build_landing(layout, shop, plan, landing)
        if notes is not None:
            notes += plan.notes
    return parts + [_pad(shop, layout.stair_plans[spot.stair], spot) for spot in layout.pads]


def _pad(shop: Workshop, plan: StairPlan, spot: PadSpot) -> Part:
    """The foot pad, or a landing of concrete; where the stringers' feet were measured one by one the foot pad's top
    follows them across the stair."""
    pad, flight = plan.spot.parameters.pad, plan.flights[-1 if spot.landing is None else spot.landing]
    place = "foot" if spot.landing is None else f"landing {spot.landing + 1}"
    about: dict[str, Any] = {
        "where": f"stair {plan.index + 1} {place}",
        "edge": plan.spot.edge.name,
        "stair": plan.index,
    }
    if not flight.feet:
        low = spot.top - spot.thickness
        return shop.upright("pad", CONCRETE_STOCK, spot.polygon, low, spot.top, tuple(flight.across), **about)
    at = [flight.position(q) for q in plan.pad.exterior.coords]
    (x0, s0), (x1, s1) = (tuple(f(v) for v in zip(*at)) for f in (min, max))
    low = min(flight.feet) - pad.thickness
    (ox, oy), (ax, ay) = flight.point(x0, 0.0), map(float, flight.across)
    ring = [*flight.ground(s0, s1), (s1, low), (s0, low)]
    return shop.prism(
        "pad", CONCRETE_STOCK, ring, x1 - x0, Place((ox, oy, 0.0), (ax, ay, 0.0), (0.0, 0.0, 1.0)), **about
    )


def flight_name(plan: StairPlan, flight: Flight) -> str:
    """ "stair 1", or "stair 1 flight 2" where there are several."""
    return f"stair {plan.index + 1}" + (f" flight {flight.index + 1}" if len(plan.flights) > 1 else "")
