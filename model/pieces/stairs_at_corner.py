"""Two stairs that reach one convex corner, each from its own edge: what of the one is in the other's way there.

The stair that the file names first runs through, the other's pieces are cut to its faces; trim gives way to what
carries (common practice, no source).
"""

from __future__ import annotations

from shapely.geometry import Polygon

from ..plan.flight import Flight
from ..plan.spots import StairPlan
from ..plan.stages import LevelPlan

_MEETS = 1e-6  # square inches

SideStretch = tuple[float, float, float, float]  # x0, x1, s0, s1 of a flight


def at_one_corner(layout: LevelPlan, plan: StairPlan) -> list[StairPlan]:
    """The other stairs whose edges meet a stair's own at a convex corner; not those that go on as it there, mitred."""
    outline = layout.outline
    found = []
    for other in layout.stair_plans:
        for first, second in ((plan.spot, other.spot), (other.spot, plan.spot)):
            meet = outline.after(first.edge) is second.edge and outline.turn(second.edge) > 0
            if meet and not (first.mitres[1] and second.mitres[0]):
                found.append(other)
                break
    return found


def running_through(layout: LevelPlan, plan: StairPlan) -> list[StairPlan]:
    """Those of them that run through."""
    return [other for other in at_one_corner(layout, plan) if other.index < plan.index]


def in_the_way(
    layout: LevelPlan,
    plan: StairPlan,
    flight: Flight,
    within: SideStretch,
    start: float,
    past: float,
    clear: float = 0.0,
) -> list[SideStretch]:
    """What those stairs take of the stretch `within` of a stair's top flight: their own top flights from x = `start` on
    over their widths, of one that runs through also its skirts and as much `past` them, and their posts with what is
    left `clear` round them."""
    if flight.index:
        return []
    x0, x1, s0, s1 = within
    stretch, found = flight.rectangle(x0, x1, s0, s1), []
    for other in at_one_corner(layout, plan):
        f = other.flights[0]
        skirt = layout.parameters.trim.thickness if other.spot.parameters.skirts else 0.0
        beside = past + skirt if other.index < plan.index else 0.0
        taken = [f.rectangle(start, f.run + f.nosing, -beside, f.width + beside)]
        taken += [p.polygon.buffer(clear, join_style="mitre") for p in other.posts]
        for piece in (t.intersection(stretch) for t in taken):
            if isinstance(piece, Polygon) and piece.area > _MEETS:
                at = [flight.position(q) for q in piece.exterior.coords]
                (a, b), (low, high) = ((min(v), max(v)) for v in zip(*at))
                found.append((a, b, low, high))
    return found
