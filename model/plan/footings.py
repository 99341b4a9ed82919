"""Footings under the posts of beams and landings, and the pads under stairs, in plan.

One rule for all of them: footings that would overlap are one larger footing; a pad gives way to footings and to the
pads before it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Point, Polygon

from ...shared.as_toml import up_to
from ...shared.errors import DesignError
from ...shared.points import Vector, pair
from ...shared.practice import practice
from .beam_run import BeamRun, largest
from .beside_house import before_house
from .edges import FAR
from .hip import HipPly, hip_plies
from .house_places import as_deep_as_foundation
from .post_plan import CLEAT_THICKNESS
from .seats import notch_of, post_square
from .spots import FootingSpot, Landing, PadSpot, StairPlan, Stand
from .stages import Beamed, Setting, Stepped
from .stair_flights import EXPANSION_JOINT, down_to_ground

SHORTEST_POST = practice("shortest post")
SKIRT_OUTSIDE = 2.0  # inches: skirts stand outside the stringers by less than this
POST_GAP = practice("room between two posts")
PAST_POST = practice("footing past a post")
POSTS_AS_ONE = 1e-6  # inches: posts whose middles are no further apart stand in one place


class TooLow(DesignError):
    """The beam's underside lies so low that its bearing would be in the ground: other beams are tried."""


def even(size: float) -> float:
    """The next even number of inches."""
    return 2.0 * math.ceil(size / 2 - 1e-9)


def apart(layout: Setting, p: Vector, q: Vector) -> float:
    """The distance at which two footings of half that size each just touch."""
    d = np.abs(np.subtract(p, q))
    return float(np.hypot(*d)) if _round(layout) else float(d.max())


def _round(layout: Setting) -> bool:
    return layout.parameters.frame.footing.shape == "round"


def stands(layout: Beamed, runs: Sequence[BeamRun]) -> list[Stand]:
    """Everything that wants a footing: the posts of the beams, then those under the landings and cross pieces of
    stairs."""
    found = [
        Stand(
            post_square(layout, run, c),
            layout.beam_bottom(run.flush),
            run.where,
            run.edge,
            notch=notch_of(layout, run, c),
        )
        for run in runs
        for c in run.posts
    ]
    w = layout.parameters.stock(layout.parameters.frame.post).width
    for plan in layout.stair_plans:
        for landing in plan.landings:
            if landing.on_ground:
                continue
            f, where = landing.above, f"stair {plan.index + 1} landing {landing.index + 1}"
            if min(f.width, landing.front - landing.back) < 2 * w:
                raise DesignError(
                    f"stair.{plan.index}.width",
                    f"a landing {f.width:g} in wide has no room for posts {w:g} in wide under its corners",
                    (f"stair.{plan.index}.width", up_to(2 * w)),
                )
            found += [
                Stand(square, landing.frame_bottom, where, plan.spot.edge.name, plan.index)
                for square in landing.legs(w)
            ]
        for carrier in plan.carriers:
            f, where = carrier.flight, f"stair {plan.index + 1} flight {carrier.flight.index + 1} cross piece"
            fall = pair(f.out * f.slope)
            found += [
                Stand(q, carrier.post_top, where, plan.spot.edge.name, plan.index, fall=fall) for q in carrier.squares
            ]
    return found


def footings(layout: Beamed, runs: Sequence[BeamRun], size: float, dug: bool = True) -> tuple[FootingSpot, ...]:
    """The footings of all posts, of which each alone wants one of `size`; those that would overlap are one, with at
    least the area they had. Raises DesignError where the concrete cannot end where the file says, and unless `dug`
    TooLow where what a footing carries lies in the ground."""
    groups = [[s] for s in stands(layout, runs)]
    plans = [_plan(g, _round(layout), size) for g in groups]
    while True:
        pair = next(
            ((i, j) for i in range(len(plans)) for j in range(i) if _reaches(layout, plans[i], [plans[j]])),
            None,
        )
        if pair is None:
            break
        i, j = pair
        groups[j] += groups.pop(i)
        plans.pop(i)
        wide = _plan(groups[j], _round(layout), size)
        others = [p for k, p in enumerate(plans) if k != j]
        plans[j] = _tight(groups[j], _round(layout), size) if _reaches(layout, wide, others) else wide
    found = tuple(_levels(layout, tuple(g), c, side, dug) for g, (c, side) in zip(groups, plans))
    _as_asked(layout, found)
    return found


def _plan(group: Sequence[Stand], round_: bool, size: float) -> tuple[tuple[float, float], float]:
    """(centre, size) of the footing under some posts, of which each alone wants one of `size`."""
    if len(group) == 1:
        return group[0].centre, size
    centres = np.array([s.centre for s in group])
    if round_:
        feet = shapely.MultiPoint(centres)
        across = 2 * shapely.minimum_bounding_radius(feet)
        # round posts that stand in one place, one over the other, there is no circle
        middle = (shapely.minimum_bounding_circle(feet) if across > POSTS_AS_ONE else feet).centroid.coords[0]
    else:
        middle, across = tuple((centres.min(axis=0) + centres.max(axis=0)) / 2), float(np.ptp(centres, axis=0).max())
    return pair(middle), even(max(across + size, size * math.sqrt(len(group))))


def _tight(group: Sequence[Stand], round_: bool, size: float) -> tuple[tuple[float, float], float]:
    """The same of no more than the area that they had, as far as it lies under all of their posts: where one wide
    enough to hold each footing whole would reach the next, and that one the next, down a row of posts."""
    feet = shapely.MultiPoint([q for s in group for q in s.square.exterior.coords])
    if round_:
        middle, across = shapely.minimum_bounding_circle(feet).centroid, 2 * shapely.minimum_bounding_radius(feet)
    else:
        middle, across = feet.envelope.centroid, max(np.ptp(np.reshape(feet.bounds, (2, 2)), axis=0))
    return pair(middle.coords[0]), even(max(across + 2 * PAST_POST, size * math.sqrt(len(group))))


def _reaches(layout: Setting, plan: tuple[Vector, float], others: Sequence[tuple[Vector, float]]) -> bool:
    """Whether a footing, by centre and size, overlaps any of the others."""
    return any(apart(layout, plan[0], c) < (plan[1] + side) / 2 - 1e-6 for c, side in others)


def _levels(layout: Beamed, group: tuple[Stand, ...], centre, size: float, dug: bool) -> FootingSpot:
    """Where there is no room for a post the beam bears on the post base, and the concrete ends under that: `dug` says
    that it may do so below grade, in a beam's trench."""
    f, lowest = layout.parameters.frame, min(group, key=lambda s: s.top)
    grade = layout.planes.grade(*centre)
    low = lowest_ground(layout, centre, size) - layout.parameters.footing_depth
    low = as_deep_as_foundation(layout, centre, size, low)
    top = low + f.footing.thickness
    # the highest ground at the bases, which stand apart where footings became one
    soil = max(layout.planes.grade(x, y) for s in group for x, y in s.square.exterior.coords)
    if _round(layout):  # over the highest ground under its posts, and no base in it
        highest = max(layout.planes.grade(*s.centre) for s in group)
        top = max(soil, min(highest + f.footing.above_grade, _under_a_stair(layout, centre, size)))
        top = max(top, *_cast_with(layout, centre, size))
        # under a stair that lies lower yet it ends there, but no base in the ground: the stair is scribed to it
        top = max(soil, min(top, _stair_over(layout, centre, size)))
    if lowest.top - top >= f.post_base + SHORTEST_POST - 1e-9:
        return FootingSpot(centre, size, low, top, group, True, _round(layout))
    needed = lowest.top - f.post_base
    stock = layout.beam_stock(lowest.top > layout.planes.frame_bottom - 1e-9)
    if needed < (soil if _round(layout) else grade) - 1e-9 and not dug:
        raise TooLow("levels.surface", f"leaves no room for a {stock.name} beam {lowest.where} above the ground")
    plain = tuple(s.unnotched for s in group)
    alone = plain[0].centre if len(plain) == 1 else centre
    low = min(low, needed - f.footing.thickness)
    return FootingSpot(alone, size, low, needed, plain, False, _round(layout))


def lowest_ground(layout: Setting, centre: Sequence[float], size: float) -> float:
    """Grade on the low side of a footing: on a slope that is where frost and rain reach its underside first."""
    slopes = abs(layout.planes.slope_x), abs(layout.planes.slope_y)
    falls = math.hypot(*slopes) if _round(layout) else sum(slopes)
    return layout.planes.grade(*centre) - size / 2 * falls


def _as_asked(layout: Beamed, spots: Sequence[FootingSpot]) -> None:
    """Raises DesignError where a pad could not lie as deep as the file asks for. Round concrete that ends lower than
    asked for is drawn, and a note says so."""
    f = layout.parameters.frame
    asked = f.footing.model_fields_set
    direct = [s for s in spots if not s.posted]
    deep = [lowest_ground(layout, s.centre, s.size) - s.bottom for s in direct]
    if not _round(layout) and "depth" in asked and deep and max(deep) > layout.parameters.footing_depth + 1e-9:
        raise DesignError(
            "frame.footing.depth",
            f"got {layout.parameters.footing_depth:g} in; a pad {f.footing.thickness:g} in thick lies deeper under what"
            " it carries",
            ("frame.footing.depth", up_to(max(deep))),
        )


def _under_a_stair(layout: Stepped, centre, size: float) -> float:
    """The level up to which a footing comes where the foot of a stair passes over it: that of the pad, on which the
    stringers' level cuts lie."""
    circle = Point(centre).buffer(size / 2)
    levels = [math.inf]
    for plan in layout.stair_plans:
        foot = plan.flights[-1]
        if foot.rectangle(0.0, foot.run, -SKIRT_OUTSIDE, foot.width + SKIRT_OUTSIDE).intersects(circle):
            levels.append(plan.pad_top)
    return min(levels)


def _cast_with(layout: Stepped, centre, size: float) -> list[float]:
    """The levels of the pads that a footing is cast with, since stringers come down on it: below them it would leave a
    hole under their feet."""
    circle = Point(centre).buffer(size / 2)
    ends = ((p.pad_top, p.flights[-1]) for p in layout.stair_plans if not p.flights[-1].one_step)
    return [-math.inf] + [top for top, f in ends if f.rectangle(f.run - f.going, f.run, 0, f.width).intersects(circle)]


def _stair_over(layout: Stepped, centre, size: float) -> float:
    """The lowest level of what hangs over a footing of the stairs' stringers, skirts and guard posts, and of the
    headers at the deck."""
    circle = Point(centre).buffer(size / 2)
    levels = [math.inf]
    for plan in layout.stair_plans:
        header = -layout.rim_of(plan.spot.edge) - CLEAT_THICKNESS
        for f in (f for f in plan.flights if not f.one_step):
            over = f.rectangle(0.0 if f.index else header, f.run, -SKIRT_OUTSIDE, f.width + SKIRT_OUTSIDE)
            under = over.intersection(circle)
            if under.area > 0:
                x = max(f.position(q)[0] for q in under.exterior.coords)
                levels.append(max(f.bearing, f.lower_edge(max(x, 0.0))))
            levels += [_hip_over(ply, circle) for ply in hip_plies(f)]
        levels += [p.bottom for p in plan.posts if p.polygon.intersection(circle).area > 0]
    return min(levels)


def _hip_over(ply: HipPly, circle: Polygon) -> float:
    """The level of the lower edge of a hip stringer, or of its block in the corner, over a footing."""
    f, wide = ply.flight, ply.flight.stock_thickness
    over = f.rectangle(min(x for x, _ in ply.block), f.end, -wide, wide).intersection(circle)
    if over.area == 0:
        return math.inf
    return max(f.bearing, f.lower_edge(max(0.0, *(f.position(q)[0] for q in over.exterior.coords))))


def plan_pads(layout: Stepped, spots: Sequence[FootingSpot]) -> tuple[PadSpot, ...]:
    """The pads of all stairs, each clear of the footings that come up through it and of the pads before it."""
    found: list[PadSpot] = []
    for plan in layout.stair_plans:
        wanted = [_landing_pad(layout, plan, landing) for landing in plan.landings if landing.on_ground]
        wanted.append(PadSpot(plan.index, plan.pad, plan.pad_top, plan.pad_thickness))
        for pad in wanted:
            largest = _clear_of(pad, spots, found)
            if largest is not None:
                found.append(replace(pad, polygon=largest))
    return tuple(found)


def _landing_pad(layout: Stepped, plan: StairPlan, landing: Landing) -> PadSpot:
    """A landing of concrete: as far past the flight as the foot pad on each side, but where the next flight leaves it;
    so deep that it stands on the ground and that the next flight's stringers meet it over their whole plumb cut."""
    f, nxt, pad = landing.above, plan.flights[landing.index + 1], plan.spot.parameters.pad
    beside = 0.0 if nxt.one_step else FAR  # stringers, skirts, treads and rails run on from the edge that they leave
    low, high = landing.sides
    whole = f.rectangle(landing.back, landing.front + pad.side, low - pad.side, high + pad.side)
    clear = largest(whole.difference(nxt.rectangle(0.0, FAR, -beside, nxt.width + beside))) or whole
    polygon = before_house(layout, clear)
    depth = down_to_ground(layout, polygon, landing.level, max(pad.thickness, landing.level - nxt.plumb_bottom))
    return PadSpot(plan.index, polygon, landing.level, depth, landing.index)


def _clear_of(pad: PadSpot, spots: Sequence[FootingSpot], others: Sequence[PadSpot]) -> Polygon | None:
    """The largest piece of a pad clear of footings that come up through it and of other pads; None where none is
    left."""
    rest, low = pad.polygon, pad.top - pad.thickness
    for spot in spots:
        if spot.top > low and spot.bottom < pad.top:
            cast_together = spot.round and abs(spot.top - pad.top) < 1e-6
            rest = rest.difference(
                spot.outline(64) if cast_together else spot.outline().buffer(EXPANSION_JOINT, join_style="mitre")
            )
    for other in others:
        if other.top - other.thickness < pad.top and low < other.top:
            rest = rest.difference(other.polygon)
    pieces = [g for g in getattr(rest, "geoms", [rest]) if isinstance(g, Polygon) and not g.is_empty]
    return max(pieces, key=lambda g: g.area, default=None)
