"""Beams on posts on footings.

Beams sit on caps on top of the posts, where the whole section bears and a cap can be had for one to four plies, or in
notches at their upper ends. Posts stand on bases that hold them off the concrete; under a low deck the beam bears on
the base itself.
"""

from __future__ import annotations

import math

import numpy as np
from shapely.geometry import Polygon

from ...shared.points import triple
from ...shared.stock import Stock
from ..plan.beam_run import BeamRun
from ..plan.splits import LEAST_LENGTH, joints
from ..plan.spots import FootingSpot, SeatNotch, Stand
from ..plan.stages import Beamed, LevelPlan, Setting
from ..solid.part import Part, Place, Workshop

CONCRETE_STOCK = Stock("concrete", 0.0, 0.0, "concrete")


def build_support(layout: LevelPlan, shop: Workshop) -> list[Part]:
    """Beam plies, posts, post bases and footings as parts."""
    parts = []
    for run in layout.runs:
        if not run.flush:  # flush ones are members of the frame
            parts += _beam(layout, shop, run)
    for spot in layout.footings:
        parts += _footing(layout, shop, spot)
    return parts


def _beam(layout: Beamed, shop: Workshop, run: BeamRun) -> list[Part]:
    stock, top = layout.beam, layout.planes.frame_bottom
    return [
        shop.upright(
            "beam", stock, piece, top - stock.width, top, run.direction, where=run.where, edge=run.edge, step=k
        )
        for k, piece in beam_lengths(layout, run)
    ]


def beam_lengths(layout: Beamed, run: BeamRun) -> list[tuple[int, Polygon]]:
    """(ply, outline) of a beam's lengths: spliced over posts, each ply over others."""
    longest, trim = layout.parameters.longest(layout.beam_stock(run.flush)), layout.parameters.order.end_trim
    at_posts = sorted(run.position(p) for p in run.posts)
    found: list[tuple[int, Polygon]] = []
    cuts: list[float] = []
    for k, ply in enumerate(run.plies):
        low, high = run.extent(ply)
        inner = [p for p in at_posts if low + LEAST_LENGTH < p < high - LEAST_LENGTH]
        turned = layout.ahead(run.direction) < 0
        cuts = joints(low, high, inner, longest, trim=trim, beside=cuts, backwards=turned)
        found += [(k, piece) for piece in _cut(ply, run, cuts)]
    return found


def _cut(ply: Polygon, run: BeamRun, cuts: list[float]) -> list[Polygon]:
    if not cuts:
        return [ply]
    low, high = run.extent(ply)
    return [ply.intersection(run.band(a, b)) for a, b in zip([low - 1, *cuts], [*cuts, high + 1])]


def _footing(layout: Setting, shop: Workshop, spot: FootingSpot) -> list[Part]:
    """A footing with the posts that stand on it, or the bases that the beam bears on."""
    stock, first = layout.parameters.stock(layout.parameters.frame.post), spot.stands[0]
    about = {"where": first.where, "edge": first.edge, "stair": first.stair}
    parts = [_concrete(shop, spot, **about)]
    for s in spot.stands:
        about = {"where": s.where, "edge": s.edge, "stair": s.stair}
        parts += _base_and_post(layout, shop, s, spot.top, stock, **about)
    return parts


def _concrete(shop: Workshop, spot: FootingSpot, **about) -> Part:
    low, high = spot.bottom, spot.top
    if spot.round:
        return shop.cylinder(
            "footing", CONCRETE_STOCK, (*spot.centre, low), (0, 0, 1), spot.size / 2, high - low, **about
        )
    return shop.upright("footing", CONCRETE_STOCK, spot.polygon, low, high, **about)


def _base_and_post(layout: Setting, shop: Workshop, stand: Stand, foot: float, stock: Stock, **about) -> list[Part]:
    """A post base and the post on it, from the concrete at `foot` up to what it carries; the base alone where it
    reaches so far."""
    base, square, top = layout.parameters.frame.post_base, stand.square, stand.top
    parts = []
    if base > 0:
        parts.append(
            shop.upright(
                "post base", Stock("post base", base, stock.width, "steel"), square, foot, foot + base, **about
            )
        )
    if stand.notch is not None:
        parts.append(_notched_post(shop, stand, stand.notch, foot + base, stock, **about))
    elif any(stand.fall):
        if top - foot - base > math.hypot(*stand.fall) * stock.width / 2 + 1e-6:  # its low side has a length too
            parts.append(_pitched_post(shop, stand, foot + base, stock, **about))
    elif top - foot - base > 1e-6:
        c, (x, y) = square.centroid, list(square.exterior.coords)[:2]
        d = np.subtract(y, x) / math.dist(x, y)
        h = stock.width
        parts.append(
            shop.box_along("post", stock, (c.x, c.y, foot + base), (c.x, c.y, top), (d[0], d[1], 0.0), h, h, **about)
        )
    return parts


def _pitched_post(shop: Workshop, stand: Stand, low: float, stock: Stock, **about) -> Part:
    """A post from `low` up to a cross piece under stringers, its top cut to their pitch: its side view, extruded across
    the flight."""
    half, (fx, fy) = stock.width / 2, stand.fall
    slope = math.hypot(fx, fy)
    out = np.array([fx, fy, 0.0]) / slope
    across = np.cross((0.0, 0.0, 1.0), out)
    origin = np.array([*stand.centre, low]) - across * half
    high = stand.top - low
    ring = [(0.0, -half), (0.0, half), (high - slope * half, half), (high + slope * half, -half)]
    return shop.prism("post", stock, ring, stock.width, Place(triple(origin), (0.0, 0.0, 1.0), triple(out)), **about)


def _notched_post(shop: Workshop, stand: Stand, notch: SeatNotch, low: float, stock: Stock, **about) -> Part:
    """A post from `low` up to the shoulder of its notch, and on beside the beam: its side view, extruded along the
    beam."""
    size, shoulder = stock.width, stand.top - low
    inward = np.array([*notch.inward, 0.0])
    along = np.cross((0.0, 0.0, 1.0), inward)
    corner = np.array([*stand.centre, low]) - (inward + along) * size / 2
    top = shoulder + notch.beside
    ring = [(0, 0), (shoulder, 0), (shoulder, notch.depth), (top, notch.depth), (top, size), (0, size)]
    return shop.prism("post", stock, ring, size, Place(triple(corner), (0.0, 0.0, 1.0), triple(inward)), **about)
