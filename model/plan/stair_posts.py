"""Guard posts of a stair in plan: beside the last tread, between, and round a landing. All stand outside the stringers.

Their inner faces touch the outer faces of the outer stringers, or of a landing's rims, so that one plane carries the
guard from the deck to the foot.
"""

from __future__ import annotations

import math
from dataclasses import replace
from types import MappingProxyType

from .flight import Flight
from .spots import Landing, StairPlan, StairPost
from .stages import Posted

SIDES = ("start", "end")
LEAST_LANDING_BAY = 3.5  # inches clear between two posts of a landing: a smaller opening needs no rail


def with_posts(layout: Posted, plan: StairPlan) -> StairPlan:
    """The plan with its posts, the chain of posts along each side of each flight, and the level bays of its
    landings."""
    size = layout.parameters.stock(layout.parameters.guard.post).width
    posts: list[StairPost] = []
    rails, landings = [], []
    top_post = {side: deck_post(layout, plan.flights[0], side, size) for side in SIDES}
    tops = dict.fromkeys(SIDES, -1)

    def add(flight: Flight, x: float, s: float, side: str, kind: str, bottom: float) -> int:
        """Position of a post whose low corner is at (x, s); one that is there already is shared."""
        square = flight.rectangle(x, x + size, s, s + size)
        for n, other in enumerate(posts):
            if math.dist(other.centre, square.centroid.coords[0]) < 1e-6:
                return n
        posts.append(
            StairPost(square, flight.point(x + size / 2, s + size / 2), flight.index, side, kind, x + size / 2, bottom)
        )
        return len(posts) - 1

    for flight in plan.flights:
        landing = plan.landings[flight.index] if flight.index < len(plan.landings) else None
        feet = {}
        for side in SIDES:
            s = -size if side == "start" else flight.width
            if tops[side] >= 0:
                first = flight.position(posts[tops[side]].centre)[0]
            else:
                first = _deck_x(layout, flight, top_post[side], size)
            last = _foot_end(landing, side, flight.lowest, size) - size / 2
            bays = max(
                1,
                math.ceil(
                    (last - first) * flight.hypotenuse / flight.going / layout.parameters.guard.post_spacing - 1e-9
                ),
            )
            chain = [tops[side]]
            for k in range(1, bays):
                # no nearer than the stringer's upper end: above it there is nothing to bolt to
                x = max(first + (last - first) * k / bays - size / 2, 0.0)
                chain.append(add(flight, x, s, side, "mid", max(flight.lower_edge(x + size / 2), flight.foot)))
            bottom = landing.frame_bottom if landing else flight.ground_at(side)
            feet[side] = add(flight, last - size / 2, s, side, "foot", bottom)
            rails.append((flight.index, side, (*chain, feet[side])))
        if landing:
            tops, bays = _round_landing(add, plan, landing, feet, size, posts)
            landings.append(replace(landing, bays=tuple(bays)))
    return replace(
        plan, posts=tuple(posts), rails=tuple(rails), landings=tuple(landings), top_post=MappingProxyType(top_post)
    )


def _round_landing(add, plan: StairPlan, landing: Landing, feet, size: float, posts):
    """(top posts of the next flight by side, level bays)."""
    f, nxt, low = landing.above, plan.flights[landing.index + 1], landing.frame_bottom
    w, front = f.width, landing.front
    bays = []

    def bay(a: int, b: int) -> None:
        if posts[a].polygon.distance(posts[b].polygon) > LEAST_LANDING_BAY:
            bays.append((a, b))

    if landing.turn == "straight":
        tops = {side: add(nxt, -size, -size if side == "start" else w, side, "top", low) for side in SIDES}
        for side in SIDES:
            bay(feet[side], tops[side])
        return tops, bays
    # the side away from the turn, then the front, then the inner corner
    far, near = ("start", "end") if landing.turn == "left" else ("end", "start")
    s_far = -size if far == "start" else w
    corner = add(f, front - size, s_far, far, "landing", low)
    beside = add(f, front, 0.0 if far == "start" else w - size, far, "landing", low)
    outer = add(nxt, -size, -size if far == "start" else nxt.width, far, "top", low)
    inner = add(nxt, 0.0, -size if near == "start" else nxt.width, near, "top", low)
    bay(feet[far], corner)
    bay(beside, outer)
    bay(feet[near], inner)
    return {far: outer, near: inner}, bays


def _foot_end(landing: Landing | None, side: str, run: float, size: float) -> float:
    """x of the front of the foot post: at the last riser, unless the next flight's inner post stands so near that one
    post on the landing's rim serves both."""
    if landing and landing.turn != "straight" and (landing.turn == "left") == (side == "end"):
        inner = landing.front - landing.above.width
        if inner - run < size + 1.0:
            return inner
    return run


def _deck_x(layout: Posted, flight: Flight, post: int, size: float) -> float:
    if post >= 0:
        return flight.position(layout.posts[post].centre)[0]
    return -(layout.rim + size / 2)


def deck_post(layout: Posted, flight: Flight, side: str, size: float) -> int:
    """Position in the layout's posts of the one at the top of the flight; -1 where none stands there."""
    s = -size / 2 if side == "start" else flight.width + size / 2
    want = flight.point(-(layout.rim + size / 2), s)
    near = sorted((math.dist(p.centre, want), n) for n, p in enumerate(layout.posts))
    return near[0][1] if near and near[0][0] < size else -1
