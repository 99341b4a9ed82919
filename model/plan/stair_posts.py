"""Guard posts of a stair in plan: beside the last tread, between, and round a landing. All stand outside the stringers.

Their inner faces touch the outer faces of the outer stringers, or of a landing's rims, so that one plane carries the
guard from the deck to the foot.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from types import MappingProxyType

from shapely.geometry import Polygon

from ...shared.as_toml import up_to
from ...shared.errors import DesignError
from ...shared.practice import practice
from ..input.guard_table import Guard
from .beside_house import SIDES, holds_no_post, room_beside, walled
from .flight import Flight
from .line_stations import among
from .posts_at_corner import post_x
from .rail_lay import top_rail_section
from .spots import Landing, StairPlan, StairPost, StairSpot
from .stages import Posted, Setting, Stepped
from .stair_flights import fallen_apart
from .stair_spots import EDGE_TO_POST, sleeve_wall

CORNER_EAR = 4.0  # inches along the surface's edge beside a post at its corner: what is left there is cut away; our own
LEAST_EAR = 2.0  # inches of it that are left standing; our own
APART = practice("room between two posts")
LEAST_LANDING_BAY = 3.5  # inches clear between two posts of a landing: a smaller opening needs no rail


def with_posts(layout: Posted, plan: StairPlan) -> StairPlan:
    """The plan with its posts, the chain of posts along each side of each flight, and the level bays of its landings.
    Raises DesignError, naming the key, where two flights leave their guards no room."""
    size = layout.parameters.stock(layout.parameters.guard.post).width
    posts: list[StairPost] = []
    rails, landings, tops = [], [], dict.fromkeys(SIDES, -1)
    top_post = {side: deck_post(layout, plan.spot, plan.flights[0], side, size) for side in plan.spot.guardable}
    single = {f.index + d for f in plan.flights if f.one_step for d in (-1, 0, 1)}

    def add(flight: Flight, x: float, s: float, side: str, kind: str, bottom: float) -> int:
        """Position of a post whose low corner is at (x, s); one that stands there on the same landing is shared."""
        square = flight.rectangle(x, x + size, s, s + size)
        for n, other in enumerate(posts):
            if math.dist(other.centre, square.centroid.coords[0]) < 1e-6 and abs(other.bottom - bottom) < 1e-6:
                return n
            beside_a_step = flight.index in single and abs(other.flight - flight.index) <= 1
            if beside_a_step and other.polygon.intersection(square).area > 1e-6:
                return n
        posts.append(
            StairPost(square, flight.point(x + size / 2, s + size / 2), flight.index, side, kind, x + size / 2, bottom)
        )
        return len(posts) - 1

    for flight in plan.flights:
        landing = plan.landings[flight.index] if flight.index < len(plan.landings) else None
        if landing and landing.turn == "back":
            _check_space(layout, landing, size)
        feet = {}
        for side in _guarded_sides(layout, plan, flight):
            s = -size if side == "start" else flight.width
            if flight.one_step:  # no rail along it: the post at its top guards the landing below too
                if landing:
                    x = flight.lead + EDGE_TO_POST + sleeve_wall(layout)
                    feet[side] = tops[side] if tops[side] >= 0 else add(flight, x, s, side, "foot", landing.post_bottom)
                continue
            if flight.index == 0 and side in plan.spot.own_posts:
                x = post_x(layout, plan.spot, side)
                tops[side] = add(flight, x, s, side, "mid", max(flight.lower_edge(x + size / 2), flight.foot))
            first = _head_x(layout, plan, flight, side, posts, tops[side], top_post)
            # past the last riser where the post at the head stands that far along a short flight
            last = max(_foot_end(landing, side, flight.lowest, size) - size / 2, first + size + APART)
            chain = [tops[side]]
            for centre in _between(layout, plan, flight, side, first, last):
                # no nearer than the stringer's upper end: above it there is nothing to bolt to
                x = max(centre - size / 2, 0.0)
                chain.append(add(flight, x, s, side, "mid", max(flight.lower_edge(x + size / 2), flight.foot)))
            bottom = landing.post_bottom if landing else flight.ground_at(side)
            aside = _aside(landing, side, size)
            feet[side] = add(flight, last - size / 2, s + aside, side, "foot", bottom)
            rails.append((flight.index, side, (*chain, feet[side])))
        if landing:
            spacing = layout.parameters.guard.post_spacing
            open_to = _guarded_sides(layout, plan, plan.flights[landing.index + 1]), _open_beside(layout, landing)
            tops, bays = _round_landing(
                add, plan, landing, feet, posts, (size, layout.joist.thickness, spacing), open_to
            )
            landings.append(replace(landing, bays=tuple(bays)))
    return replace(
        plan, posts=tuple(posts), rails=tuple(rails), landings=tuple(landings), top_post=MappingProxyType(top_post)
    )


def _head_x(layout: Posted, plan: StairPlan, flight: Flight, side: str, posts, top: int, top_post) -> float:
    """x of the middle of the post at which a flight's guard begins on a side: one of the stair's own, of another stair
    that meets it in a corner, or of the deck."""
    head = plan.spot.shared_post(side) if flight.index == 0 else None
    if head is None:
        head = posts[top] if top >= 0 else layout.posts[top_post[side]]
    return flight.position(head.polygon.centroid.coords[0])[0]


def _guarded_sides(layout: Setting, plan: StairPlan, flight: Flight) -> tuple[str, ...]:
    """The sides of a flight that are neither mitred nor beside the house's wall."""
    if flight.index == 0:
        return plan.spot.guardable
    beside_wall = walled(layout, flight)
    return tuple(side for side in plan.spot.open_sides if side not in beside_wall)


def _open_beside(layout: Setting, landing: Landing) -> tuple[str, ...]:
    """The sides of a landing, as those of the flight above it, beside which the house's wall leaves room for posts."""
    back, front = landing.back, landing.front
    return tuple(s for s in SIDES if not holds_no_post(layout, room_beside(layout, landing.above, s, back, front)))


def _check_space(layout: Setting, landing: Landing, size: float) -> None:
    """Raises DesignError where neither one post for both flights nor one for each fits between them."""
    g, key = layout.parameters.guard, f"stair.{landing.above.stair}.landings.{landing.index}.space"
    if landing.space < size - 1e-9:
        raise DesignError(
            key, f"{landing.space:g} in leaves no room for a guard post {size:g} in wide", (key, up_to(size))
        )
    if landing.shares_post(size) and 2 * _rail_thickness(g, layout, landing.space) > max(size, landing.space) + 1e-9:
        raise DesignError(
            key,
            f"the rails of both flights do not fit side by side on one post {size:g} in wide",
            (key, up_to(2 * size)),
        )


def _rail_thickness(guard: Guard, layout: Setting, space: float) -> float:
    """What a guard takes across where two flights share a post between them."""
    stock = layout.parameters.stock
    top, _ = top_rail_section(guard, stock, space / 2)
    return max(top, stock(guard.bottom_rail).thickness, guard.baluster)


def guard_line(layout: Setting, plan: StairPlan, flight: Flight, side: str) -> tuple[float, float] | None:
    """(s of their middle, room across) of a flight's rails on a side where they share a post with the flight beside it:
    each flight's on its own half of the post and of the space. None where they run through the middle of posts of
    their own."""
    size = layout.parameters.stock(layout.parameters.guard.post).width
    spaces = [m.space for m in _landings_of(plan, flight) if m.towards == side and m.shares_post(size)]
    if not spaces:
        return None
    thick = _rail_thickness(layout.parameters.guard, layout, min(spaces))
    off = min((max(spaces) - size + thick) / 2, (min(spaces) - thick) / 2)
    return flight.width + off if side == "end" else -off, min(spaces) / 2


def _landings_of(plan: StairPlan, flight: Flight) -> list[Landing]:
    """The landings above and below a flight at which the stair turns back: its side towards the other flight is named
    alike in both."""
    return [m for m in plan.landings if m.turn == "back" and m.index in (flight.index - 1, flight.index)]


def _aside(landing: Landing | None, side: str, size: float) -> float:
    """How far out from its stringer the post at a flight's foot stands: in the middle of the space where it serves the
    next flight too."""
    if landing is None or side != landing.towards or not landing.shares_post(size):
        return 0.0
    return (landing.space - size) / 2 * (1 if side == "end" else -1)


def _between(layout: Posted, plan: StairPlan, flight: Flight, side: str, first: float, last: float) -> list[float]:
    """x of the middles of the posts between the first and the last of a side, evenly divided.

    Where the space between two flights is too narrow for a post of each, the post next to the one that they share
    stands where the two have fallen apart so far that the upper flight's post ends over the lower one's guard and the
    lower one's under the upper flight.
    """
    g = layout.parameters.guard
    size = layout.parameters.stock(g.post).width
    bays = max(1, math.ceil((last - first) * flight.hypotenuse / flight.going / g.post_spacing - 1e-9))
    places = [first + (last - first) * k / bays for k in range(1, bays)]
    for landing in _landings_of(plan, flight):
        if landing.towards != side or landing.space >= 2 * size - 1e-9:  # each stands in its own half
            continue
        apart = fallen_apart(layout, landing.above, landing.rim_plies * layout.joist.thickness)
        if landing.above is flight:
            places = [min(x, last - apart) for x in places]
        else:
            places = [max(x, first + apart) for x in places]
    return [x for x in places if first + size < x < last - size]


def _round_landing(add, plan: StairPlan, landing: Landing, feet, posts, sizes: tuple[float, float, float], open_to):
    """(top posts of the next flight by side, level bays). `sizes`: of a post, a rim's thickness, the greatest
    distance between posts. `open_to`: the sides of the next flight, and of the landing, that no wall stands beside."""
    if landing.on_ground:
        return _on_the_ground(add, plan, landing, feet, sizes[0], open_to[0]), []
    f, nxt, bottom = landing.above, plan.flights[landing.index + 1], landing.post_bottom
    (size, ply, spacing), (low, high), front = sizes, landing.sides, landing.front
    rim = landing.rim_plies * ply
    bays: list[tuple[int, int]] = []
    joists = [s + f.stock_thickness / 2 for s in f.stringers]
    if landing.turn == "back":
        joists += [f.position(nxt.point(0.0, s + nxt.stock_thickness / 2))[1] for s in nxt.stringers]

    def bay(a: int | None, b: int | None) -> None:
        if a is None or b is None or posts[a].polygon.distance(posts[b].polygon) <= LEAST_LANDING_BAY:
            return
        (x0, s0), (x1, s1) = (f.position(posts[n].centre) for n in (a, b))
        n = math.ceil(math.hypot(x1 - x0, s1 - s0) / spacing - 1e-9)
        line = [(x0 + (x1 - x0) * k / n, s0 + (s1 - s0) * k / n) for k in range(1, n)]
        if abs(x1 - x0) < 1e-6:  # along the front rim: before a joist, which holds the post; those lie under stringers
            line = [(x0, s) for s in among(s0, s1, size, spacing, joists)]
        chain = [a, *(add(f, x - size / 2, s - size / 2, posts[a].side, "landing", bottom) for x, s in line), b]
        bays.extend(itertools.pairwise(chain))

    if landing.turn == "straight":
        tops = {s: add(nxt, -size, -size if s == "start" else f.width, s, "top", bottom) for s in open_to[0]}
        for side in SIDES:
            bay(feet.get(side), tops.get(side))
        return tops, bays
    # the side away from the turn, then the front, then round to the next flight
    near, far = landing.towards, landing.outer
    ends = {"start": (low, low - size), "end": (high - size, high)}  # s along the front, and beside the landing
    behind = front - size - (rim if landing.ears else 0.0)  # past the corner runs the front rim on
    corner = add(f, behind, ends[far][1], far, "landing", bottom) if far in open_to[1] else None
    beside = add(f, front, ends[far][0], far, "landing", bottom)
    outer = add(nxt, -size, -size if far == "start" else nxt.width, far, "top", bottom)
    bay(feet.get(far), corner)
    if landing.turn == "back":
        last = add(f, front, ends[near][0], near, "landing", bottom)
        turned = add(f, front - size, ends[near][1], near, "landing", bottom)
        bay(beside, last)
        bay(turned, outer)
        s = -size if near == "start" else nxt.width
        shared = near in feet and landing.shares_post(size)
        inner = feet[near] if shared else add(nxt, -rim - size, s, near, "top", bottom)
    else:
        bay(beside, outer)
        inner = add(nxt, 0.0, -size if near == "start" else nxt.width, near, "top", bottom)
    bay(feet.get(near), inner)
    return {far: outer, near: inner}, bays


def _on_the_ground(add, plan: StairPlan, landing: Landing, feet, size: float, sides) -> dict[str, int]:
    """Top posts of the next flight by side, on a landing of concrete, which wants no guard of its own."""
    nxt, tops = plan.flights[landing.index + 1], dict.fromkeys(SIDES, -1)
    inner = landing.towards if landing.turn != "back" or landing.shares_post(size) else ""
    for side in sides if not nxt.one_step else ():
        s = -size if side == "start" else nxt.width
        tops[side] = feet[side] if side == inner and side in feet else add(nxt, -size, s, side, "top", landing.level)
    return tops


def _foot_end(landing: Landing | None, side: str, run: float, size: float) -> float:
    """x of the front of the foot post: at the last riser, unless the next flight's inner post stands so near that one
    post on the landing's rim serves both."""
    if landing and landing.turn in ("left", "right") and side == landing.towards:
        inner = landing.front - landing.above.width
        if inner - run < size + 1.0:
            return inner
    return run


def deck_post(layout: Posted, spot: StairSpot, flight: Flight, side: str, size: float) -> int:
    """Position in the layout's posts of the one at the top of a flight that leaves an edge; -1 where that stands on the
    stringer, or is another stair's."""
    if side in spot.own_posts or spot.shared_post(side):
        return -1
    s = -size / 2 if side == "start" else flight.width + size / 2
    want = flight.point(-(layout.rim_of(spot.edge) + size / 2), s)
    near = sorted((math.dist(p.centre, want), n) for n, p in enumerate(layout.posts))
    return near[0][1] if near and near[0][0] < size else -1


def through_surface(layout: Stepped) -> list[Polygon]:
    """The plans of the stairs' posts, with their sleeves, that the surface is notched for: those at the top of a stair
    that stand on its stringers, on past a convex corner, where a thin ear of the surface would be left; and those
    beside the frame that rise past what overhangs it."""
    size, wall = layout.parameters.stock(layout.parameters.guard.post).width, sleeve_wall(layout)
    half, found = size / 2 + wall, []
    for plan in layout.stair_plans:
        heads = {chain[0] for index, side, chain in plan.rails if index == 0 and side in plan.spot.own_posts}
        for n, post in enumerate(plan.posts):
            if n in heads:
                f, past = plan.flights[0], wall + size
                if _convex(layout, plan.spot, post.side) and _to_corner(plan.spot, post.side) - past < LEAST_EAR:
                    past += CORNER_EAR
                low, high = (-past, wall) if post.side == "start" else (f.width - wall, f.width + past)
                found.append(f.rectangle(post.x - half, post.x + half, low, high))
                continue
            square = post.polygon.buffer(wall, join_style="mitre") if wall else post.polygon
            beside = square.intersects(layout.surface_outer) and not square.intersection(layout.outline.polygon).area
            if beside and _top_of(layout, plan, post) > layout.planes.frame_top:
                found.append(square)
    return found


def _to_corner(spot: StairSpot, side: str) -> float:
    """How far a side of a stair is from the corner at the end of its edge."""
    return spot.start if side == "start" else spot.edge.length - spot.end


def _convex(layout: Setting, spot: StairSpot, side: str) -> bool:
    """Whether the corner on that side of a stair is convex."""
    return layout.outline.turn(spot.edge if side == "start" else layout.outline.after(spot.edge)) > 0


def _top_of(layout: Setting, plan: StairPlan, post: StairPost) -> float:
    """Level that a post reaches at least: guard or handrail above the nosings beside it, or above its landing."""
    g, f = layout.parameters.guard, plan.flights[post.flight]
    return min(max(f.pitch_level(post.x), f.foot), f.top) + (g.height if plan.guarded else g.handrail_height)
