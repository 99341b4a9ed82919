"""Which sides of a stair get a handrail, and the posts that carry one where the stair has no guard."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from types import MappingProxyType

from shapely.geometry import Polygon

from ...shared.standards import find_limit, limit
from .flight import Flight
from .posts_at_corner import post_x
from .spots import StairPlan, StairPost, StairSpot
from .stages import Posted, Setting
from .stair_flights import divided, flights_and_landings
from .stair_posts import deck_post


def handrail_sides(layout: Setting, spot: StairSpot, risers: int) -> tuple[str, ...]:
    """The sides of a flight of so many risers that get a handrail; going down, the right hand is on the start side."""
    choice = spot.parameters.handrail
    if risers == 1:  # one step has no length for one
        return ()
    if choice == "auto":
        needed = risers >= limit("handrail_required_min_risers", layout.parameters.local.edition).value
        return spot.guardable[:1] if needed else ()
    asked = {"right": ("start",), "left": ("end",), "both": ("start", "end"), "none": ()}[choice]
    return tuple(side for side in asked if side in spot.guardable)


def sides_at_deck(layout: Setting, spot: StairSpot) -> tuple[str, ...]:
    """The sides on which a stair without a guard wants a post in the deck's frame for its handrail."""
    if spot.parameters.handrail == "none":
        return ()
    risers, total = divided(layout, spot)
    return handrail_sides(layout, spot, flights_and_landings(layout, spot, risers, total / risers)[0][0].risers)


def with_handrail_posts(layout: Posted, plan: StairPlan) -> StairPlan:
    """A plan without a guard, with a post at the top and the foot of every handrail: `rails` has their chains.

    At the deck it is the layout's own post, or where a corner leaves no room for it one on the stringer, the surface
    notched round it; at a landing one beside its rim, at the foot one beside the last tread.
    """
    size = layout.parameters.stock(layout.parameters.guard.post).width
    posts: list[StairPost] = []
    rails, top_post = [], {}

    def add(flight, x: float, side: str, kind: str, bottom: float) -> int:
        s = -size if side == "start" else flight.width
        square = flight.rectangle(x, x + size, s, s + size)
        for n, other in enumerate(posts):
            if other.polygon.intersection(square).area > 1e-6:
                return n  # one post serves two flights at an inner corner
        posts.append(
            StairPost(square, flight.point(x + size / 2, s + size / 2), flight.index, side, kind, x + size / 2, bottom)
        )
        return len(posts) - 1

    for flight in plan.flights:
        above = plan.landings[flight.index - 1] if flight.index else None
        landing = plan.landings[flight.index] if flight.index < len(plan.landings) else None
        for side in handrail_sides(layout, plan.spot, flight.risers):
            if above is None:
                first = -1
                top_post[side] = deck_post(layout, plan.spot, flight, side, size)
                if top_post[side] < 0:  # no room for one beside the stair, at a corner
                    x = post_x(layout, plan.spot, side)
                    first = add(flight, x, side, "mid", max(flight.lower_edge(x + size / 2), flight.foot))
            else:
                x = -size  # beside the landing's rim; at an inner corner before it, beside another flight inside it
                if side == above.towards:
                    x = -size - above.rim_plies * layout.joist.thickness if above.turn == "back" else 0.0
                first = add(flight, x, side, "top", above.post_bottom)
            foot = add(
                flight, flight.lowest - size, side, "foot", landing.post_bottom if landing else flight.ground_at(side)
            )
            rails.append((flight.index, side, (first, foot)))
    return replace(plan, posts=tuple(posts), rails=tuple(rails), top_post=MappingProxyType(top_post))


def post_face(flight: Flight, side: str, posts: Iterable[Polygon]) -> float:
    """How far the post that stands furthest in reaches into a flight from its side; negative clear of it."""
    s = [flight.position(q)[1] for post in posts for q in post.exterior.coords]
    return max(s) if side == "start" else flight.width - min(s)


def rails_keep_aside(layout: Posted, plan: StairPlan) -> bool:
    """Whether no handrail of a stair projects further from its side than is published; true where the edition has no
    such limit."""
    p = layout.parameters
    most = find_limit("handrail_projection_max", p.local.edition)
    thicker = (p.guard.sleeve.size - p.stock(p.guard.post).width) / 2 if p.guard.sleeve else 0.0
    for index, side, chain in plan.rails:
        flight = plan.flights[index]
        if most is None or side not in handrail_sides(layout, plan.spot, flight.risers):
            continue
        own = [plan.posts[n].polygon for n in chain if n >= 0]
        own += [p.polygon for p in (plan.spot.shared_post(side),) if p and -1 in chain]
        own += [layout.posts[plan.top_post[side]].polygon] if -1 in chain and plan.top_post.get(side, -1) >= 0 else []
        reach = post_face(flight, side, own) + thicker + p.guard.handrail_clearance + p.guard.handrail_size
        if reach > most.value + 1e-6:
            return False
    return True
