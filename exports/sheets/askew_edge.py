"""Strings of the surface plan along an edge that lies askew to the deck: its guard posts, and its stairs between the
ends of the finished surface there."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
import shapely

from ...model.measuring.flight_seen import FlightSeen
from ...model.solid.part import Part
from ...model.solid.roles import named
from ..drafting import drawing as d
from . import in_plan
from .askew import askew
from .stage import Stage
from .stair_section import stringers_of

_OFF, _OFF_STAIR = 0.55, 0.3  # paper inches from the edge, or from what its stairs reach, to the first string
_FIGURES = 0.15  # paper inches beside a string that its figures take up
_NEAR_EDGE = 9.0  # inches from the frame's edge within which the side of the surface is its own


def askew_edge(stage: Stage, view: d.View, e, posts: Sequence[Part], marks: Sequence[d.Box]) -> None:
    """The strings of edge `e`, outside the surface, past the foot of its stairs and clear of the `marks` of sections,
    whose boxes are in the deck's own coordinates."""
    along, n = np.asarray(e.direction), -np.asarray(e.inward)
    stations = {round(float(np.dot(in_plan.centre(p), along)), 4): in_plan.centre(p) for p in posts}
    first, last = float(np.dot(e.start, along)), float(np.dot(e.end, along))
    chains = [[p for s, p in sorted(stations.items()) if first - 6 <= s <= last + 6]]
    far = float(np.dot(e.start, n)) + _OFF * view.scale
    stairs = {f.stair: f for f in reversed(stage.flights) if stage.deck.parameters.stair[f.stair].edge == e.name}
    if stairs:
        (a, b), face = surface_side(stage, e)
        for f in stairs.values():
            at = [along * s + n * face for s in (a, *stair_sides(stage, f, e, along), b)]
            chains.append([(float(x), float(y)) for x, y in at])
        before = [p for p in stage.of(*named("surface plan")) if in_plan.overlap(in_plan.reach(p, along), (a, b)) > 0]
        far = max([far, *(in_plan.reach(p, n)[1] + _OFF_STAIR * view.scale for p in before)])
    angle = float(np.degrees(np.arctan2(along[1], along[0])))
    around = shapely.union_all([askew(stage).outline(m) for m in marks]) if stairs else shapely.Point()
    step = stage.string_spacing * view.scale
    for points in (c for c in chains if len(c) > 1):
        while _line(along, n, (first, last), far).buffer(_FIGURES * view.scale).intersects(around):
            far += step
        x, y = along * (first + last) / 2 + n * far
        view.add(*d.chain(points, (float(x), float(y)), angle))
        far += step


def _line(along: np.ndarray, n: np.ndarray, ends: tuple[float, float], far: float) -> shapely.LineString:
    return shapely.LineString([along * s + n * far for s in ends])


def stair_sides(stage: Stage, f: FlightSeen, e, axis: np.ndarray) -> tuple[float, float]:
    """Outer faces of a stair's stringers along a direction square to its travel; of one step, its own sides. Where its
    steps go on round a corner its side is the end of the surface at its edge `e`."""
    if f.stringers:
        reaches = [in_plan.reach(p, axis) for p in stringers_of(f)]
        low, high = min(r[0] for r in reaches), max(r[1] for r in reaches)
    else:
        low, high = sorted(float(axis @ f.across) * s for s in f.sides)
    ends = sorted(float(axis @ np.asarray(e.direction)) * s for s in surface_side(stage, e)[0])
    at_low, at_high = f.mitred if float(axis @ f.across) > 0 else f.mitred[::-1]
    return ends[0] if at_low else low, ends[1] if at_high else high


def surface_side(stage: Stage, e) -> tuple[tuple[float, float], float]:
    """The side of the finished surface at an edge: its ends as stations along the edge, and how far out it lies."""
    along, n = np.asarray(e.direction), -np.asarray(e.inward)
    ends, own = (float(np.dot(e.start, along)), float(np.dot(e.end, along))), float(np.dot(e.start, n))
    near = [
        ((float(np.dot(p, along)), float(np.dot(q, along))), float(np.dot(p, n)))
        for p, q in itertools.pairwise(stage.deck.layout.surface_outer.exterior.coords)
        if abs(float(np.dot(np.subtract(q, p), n))) < 1e-3 and abs(float(np.dot(p, n)) - own) < _NEAR_EDGE
    ] or [(ends, own)]
    (a, b), face = max(near, key=lambda side: in_plan.overlap((min(side[0]), max(side[0])), ends))
    return (min(a, b), max(a, b)), face
