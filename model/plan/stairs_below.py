"""What of the stairs lies under the deck, where one turns back, and the places before the house's wall that are kept
clear: the posts of the beams stand clear of it in plan, and where they can of the landing at a stair's foot."""

from __future__ import annotations

import shapely
from shapely.geometry import Polygon

from ...shared.standards import find_limit
from .footings import SKIRT_OUTSIDE
from .house_places import kept_clear_of_posts
from .stages import Stepped

POST_CLEAR = 0.5  # inches between a post and what of a stair stands or passes beside it; our own


def stairs_below(layout: Stepped) -> list[Polygon]:
    """The plan of what of the stairs lies under the deck, with the room that a post keeps clear of it: flights with
    their skirts and guards, landings, posts; and of the places before the wall."""
    found = kept_clear_of_posts(layout)
    post = layout.parameters.stock(layout.parameters.guard.post).width
    for plan in layout.stair_plans:
        beside = (post if plan.guarded else SKIRT_OUTSIDE) + POST_CLEAR
        found += [
            f.rectangle(0.0, f.run + f.nosing + POST_CLEAR, -beside, f.width + beside)
            for f in plan.flights
            if not f.one_step
        ]
        found += [m.polygon.buffer(beside, join_style="mitre") for m in plan.landings if not m.on_ground]
        found += [p.polygon.buffer(POST_CLEAR, join_style="mitre") for p in plan.posts]
        found += [q.buffer(POST_CLEAR, join_style="mitre") for c in plan.carriers for q in c.squares]
    return [g for g in found if shapely.intersects(g, layout.outline.polygon)]


def feet_below(layout: Stepped) -> list[Polygon]:
    """Where one steps off a flight onto the ground under the deck: as wide as the flight, as long as a landing has to
    be, none where the edition has no such length; and the places before the house's wall, which concrete keeps clear
    of too where it can."""
    kept = kept_clear_of_posts(layout)
    walked = find_limit("landing_length_min", layout.parameters.local.edition)
    if walked is None:
        return kept
    feet = [
        f.rectangle(f.run, f.run + walked.value, 0.0, f.width)
        for plan in layout.stair_plans
        for f in [*(m.above for m in plan.landings if m.on_ground), plan.flights[-1]]
    ]
    return kept + [g for g in feet if shapely.intersects(g, layout.outline.polygon)]
