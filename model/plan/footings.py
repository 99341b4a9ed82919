"""Footings under the posts of beams and landings, and the pads under stairs, in plan.

One rule for all of them: footings that would overlap are one larger footing; a pad gives way to footings and to the
pads before it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Point, Polygon

from ...shared.errors import DesignError
from ...shared.points import Vector, pair
from ...shared.practice import practice
from .beam_run import BeamRun
from .seats import notch_of, post_square
from .spots import FootingSpot, PadSpot, Stand
from .stages import Beamed, Setting, Stepped

SHORTEST_POST = practice("shortest post")
SKIRT_OUTSIDE = 2.0  # inches: skirts stand outside the stringers by less than this
POST_GAP = practice("room between two posts")
EXPANSION_JOINT = (
    0.5  # inches left round a footing that comes up through a pad, for an expansion strip; common practice, no source
)


class TooLow(DesignError):
    """The beam's underside lies lower than its bearing can."""


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
    """Everything that wants a footing: the posts of the beams, then those under the corners of the landings."""
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
            f, where = landing.above, f"stair {plan.index + 1} landing {landing.index + 1}"
            if min(f.width, landing.front - landing.back) < 2 * w:
                raise DesignError(
                    f"stair.{plan.index}.width",
                    f"a landing {f.width:g} in wide has no room for posts {w:g} in wide under its corners: at least"
                    f" {2 * w:g} in is wanted",
                )
            found += [
                Stand(square, landing.frame_bottom, where, plan.spot.edge.name, plan.index)
                for square in landing.legs(w)
            ]
    return found


def footings(layout: Beamed, runs: Sequence[BeamRun], size: float) -> tuple[FootingSpot, ...]:
    """The footings of all posts, of which each alone wants one of `size`; those that would overlap are one, with at
    least the area they had. Raises TooLow where a beam lies too low for its bearing, DesignError where a landing
    does."""
    groups = [[s] for s in stands(layout, runs)]
    plans = [_plan(g, _round(layout), size) for g in groups]
    while True:
        pair = next(
            (
                (i, j)
                for i in range(len(plans))
                for j in range(i)
                if apart(layout, plans[i][0], plans[j][0]) < (plans[i][1] + plans[j][1]) / 2 - 1e-6
            ),
            None,
        )
        if pair is None:
            break
        i, j = pair
        groups[j] += groups.pop(i)
        plans.pop(i)
        plans[j] = _plan(groups[j], _round(layout), size)
    return tuple(_levels(layout, tuple(g), c, side) for g, (c, side) in zip(groups, plans))


def _plan(group: Sequence[Stand], round_: bool, size: float) -> tuple[tuple[float, float], float]:
    """(centre, size) of the footing under some posts, of which each alone wants one of `size`."""
    if len(group) == 1:
        return group[0].centre, size
    centres = np.array([s.centre for s in group])
    if round_:
        circle = shapely.minimum_bounding_circle(shapely.MultiPoint(centres))
        middle, across = circle.centroid.coords[0], 2 * shapely.minimum_bounding_radius(shapely.MultiPoint(centres))
    else:
        middle, across = tuple((centres.min(axis=0) + centres.max(axis=0)) / 2), float(np.ptp(centres, axis=0).max())
    return pair(middle), even(max(across + size, size * math.sqrt(len(group))))


def _levels(layout: Beamed, group: tuple[Stand, ...], centre, size: float) -> FootingSpot:
    f, lowest = layout.parameters.frame, min(group, key=lambda s: s.top)
    grade = layout.planes.grade(*centre)
    low = grade - layout.parameters.footing_depth
    room = f.post_base + SHORTEST_POST
    top = grade + f.footing.above_grade if _round(layout) else low + f.footing.thickness
    if _round(layout):
        top = min(top, max(_under_a_stair(layout, centre, size), grade))
    if lowest.top - top >= room - 1e-9:
        return FootingSpot(centre, size, low, top, group, True, _round(layout))
    if lowest.stair is not None:
        raise DesignError(
            "levels.surface",
            f"leaves {lowest.top - top - f.post_base:.2f} in between the post base and what the post carries"
            f" {lowest.where}, at least {SHORTEST_POST:g} in is wanted: raise the surface or lower"
            " frame.footing.above_grade",
        )
    if not _round(layout):
        raise DesignError(
            "frame.footing.thickness",
            f"leaves {lowest.top - top:.2f} in between the pad's top and the beam {lowest.where}: make the pad"
            " thinner or deeper",
        )
    needed = lowest.top - f.post_base
    lowered = needed < top - 1e-9
    stock = layout.beam_stock(lowest.top > layout.planes.frame_bottom - 1e-9)
    if needed < grade - 1e-9 or (lowered and "above_grade" in f.footing.model_fields_set):
        least = grade + (f.footing.above_grade if needed >= grade - 1e-9 else 0.0)
        raise TooLow(
            "levels.surface",
            f"leaves {lowest.top - grade:.2f} in between grade and the underside of the {stock.name} beam"
            f" {lowest.where}, and the beam's bearing on a post base wants {least - grade + f.post_base:.2f} in:"
            f" raise the surface by {least - needed:.2f} in, or take a shallower beam or joist",
        )
    plain = tuple(s.unnotched for s in group)
    return FootingSpot(plain[0].centre if len(plain) == 1 else centre, size, low, needed, plain, False, True)


def _under_a_stair(layout: Stepped, centre, size: float) -> float:
    """The level up to which a footing may come where the foot of a stair passes over it: that of the pad, on which the
    stringers' level cuts lie; it is cast with the pad there."""
    circle = Point(centre).buffer(size / 2)
    levels = [math.inf]
    for plan in layout.stair_plans:
        foot = plan.flights[-1]
        if foot.rectangle(0.0, foot.run, -SKIRT_OUTSIDE, foot.width + SKIRT_OUTSIDE).intersects(circle):
            levels.append(plan.pad_top)
    return min(levels)


def plan_pads(layout: Stepped, spots: Sequence[FootingSpot]) -> tuple[PadSpot, ...]:
    """The pads of all stairs, each clear of the footings that come up through it and of the pads before it."""
    found: list[PadSpot] = []
    for plan in layout.stair_plans:
        thickness = plan.spot.parameters.pad.thickness
        rest = plan.pad
        for spot in spots:
            if spot.top > plan.pad_top - thickness and spot.bottom < plan.pad_top:
                cast_together = spot.round and abs(spot.top - plan.pad_top) < 1e-6
                rest = rest.difference(
                    spot.outline(64) if cast_together else spot.outline().buffer(EXPANSION_JOINT, join_style="mitre")
                )
        for other in found:
            if other.top - other.thickness < plan.pad_top and plan.pad_top - thickness < other.top:
                rest = rest.difference(other.polygon)
        pieces = [g for g in getattr(rest, "geoms", [rest]) if isinstance(g, Polygon) and not g.is_empty]
        largest = max(pieces, key=lambda g: g.area, default=None)
        if largest is not None:
            found.append(PadSpot(plan.index, largest, plan.pad_top, thickness))
    return tuple(found)
