"""Guards: posts with sleeves and caps, level bays along the edges and round landings, and the guards and handrails of
stairs.

Every rail stops at a post's face, or at the face of the sleeve round it; a post is as high as what it carries asks for.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from ...shared.as_toml import up_to
from ...shared.errors import DesignError
from ...shared.points import pair
from ...shared.practice import practice
from ...shared.said import decimal, said
from ...shared.stock import Stock, lumber, sold
from ..input.parameters import Sleeve
from ..plan.flight import SAME, Flight
from ..plan.handrail_posts import handrail_sides
from ..plan.rail_lay import top_rail_section
from ..plan.spots import StairPlan, StairPost
from ..plan.stages import LevelPlan, Posted, Setting
from ..plan.stair_flights import EXPANSION_JOINT
from ..plan.stair_posts import guard_line
from ..solid.part import Part, Workshop
from .concrete_under import CURVE
from .corner_bay import corner_run
from .rails import level_bay, level_run
from .stair_guards import flight_top, guard_bay, handrail, handrail_ends, handrail_top, span_x

CAPS_TOUCH = 1e-6  # square inches: caps that share no more only touch
STOP_STOCK = ("1x2", "2x2", "4x4")
STANDS_BY = 1e-6  # inches: a sleeve that overlaps a tread by less only touches it
CAP_THICKNESS, CAP_OVER = practice("post cap thickness"), practice("post cap overhang")
LEAST_CAP_OVER = 1 / 64  # inches by which a cap stands over its post; less is cut flush with it; our own


@dataclass
class _Post:
    """A post before it is cut: how high it must be grows with what is fixed to it."""

    polygon: Polygon
    direction: tuple[float, float]
    bottom: float
    floor: float  # level of the surface or tread it rises from: a sleeve stands here
    about: dict
    top: float = -1e9
    face: Polygon = None  # what rails stop at
    stop: np.ndarray | None = None  # plan unit vector of the face with a stop under the sleeve, which stands on nothing

    def reach(self, level: float) -> None:
        self.top = max(self.top, level)


def check_guard(layout: Setting) -> None:
    """Raises DesignError, naming the key, for guards whose pieces cannot be fitted together."""
    g, stock = layout.parameters.guard, layout.parameters.stock
    post = stock(g.post)
    if abs(post.width - post.thickness) > 1e-9:
        square = next(s.name for s in sold() if s.thickness == s.width >= post.thickness)
        raise DesignError("guard.post", f"{g.post} is not square, as a guard post is", ("guard.post", square))
    for key in ("top_rail", "bottom_rail"):
        rail = stock(getattr(g, key))
        if rail.thickness > post.width:
            thin = next(s.name for s in sold() if s.thickness <= post.width and s.width <= rail.width)
            raise DesignError(f"guard.{key}", f"{rail.name} is thicker than the {g.post} post", (f"guard.{key}", thin))
    wide, high = top_rail_section(g, stock)
    if wide > post.width:
        raise DesignError(
            "guard.top_rail_lies",
            f"{g.top_rail} laid flat is wider than the {g.post} post, so that rails would meet at a corner",
            ("guard.top_rail_lies", "on edge"),
        )
    room = g.height - high - g.bottom_gap - stock(g.bottom_rail).width
    if room < 1:
        raise DesignError(
            "guard.height",
            f"a guard {g.height:g} in high has no room for its balusters: rails and bottom gap take"
            f" {g.height - room:g} in",
            ("guard.height", up_to(g.height - room + 1)),
        )
    if g.sleeve is not None:
        inner = g.sleeve.size - 2 * g.sleeve.wall
        if inner < post.width - 1e-9:
            raise DesignError(
                "guard.sleeve.size",
                f"the sleeve is {inner:g} in wide inside; the {g.post} post needs {post.width:g} in",
                ("guard.sleeve.size", up_to(post.width + 2 * g.sleeve.wall)),
            )
        if g.sleeve.length < g.height:
            raise DesignError(
                "guard.sleeve.length",
                f"a sleeve of {g.sleeve.length:g} in is shorter than the guard of {g.height:g} in",
                ("guard.sleeve.length", up_to(g.height)),
            )


def build_guards(layout: LevelPlan, shop: Workshop) -> list[Part]:
    """All pieces of the guards. Raises DesignError where they cannot be fitted together."""
    check_guard(layout)
    plans = layout.stair_plans
    deck = _deck_posts(layout)
    stairs = [_stair_posts(layout, plan) for plan in plans]
    chains = [_chains(plan, plans, deck, stairs) for plan in plans]
    for plan, sides in zip(plans, chains):
        _over_treads(layout, plan, sides)
    _sleeves(layout, deck + [p for own in stairs for p in own])
    for plan, sides in zip(plans, chains):
        for flight, side, posts in sides:
            _raise_posts(layout, plan, flight, side, posts)
    for post in (p for own in stairs for p in own):  # one at a step alone carries nothing that slopes
        if post.top < post.floor:
            post.reach(post.floor + layout.parameters.guard.height + layout.parameters.guard.post_above)
    parts = []
    for bay in layout.bays:
        e = layout.outline[bay.edge]
        inside = layout.rim_of(e) + layout.parameters.stock(layout.parameters.guard.post).width / 2
        run = level_run(deck[bay.first].face, deck[bay.last].face, e.point(0.0, inside), e.direction)
        if run is not None:
            n = layout.bays.index(bay)
            parts += level_bay(
                shop,
                layout.parameters.guard,
                run,
                layout.planes.surface_top,
                layout.parameters.stock,
                where=f"{e.name} edge",
                edge=e.name,
                step=n,
            )
    for plan, sides in zip(plans, chains):
        parts += _corner_bays(layout, shop, plan, sides, deck)
    for plan, own, sides in zip(plans, stairs, chains):
        parts += _landing_bays(layout, shop, plan, own)
        for flight, side, posts in sides:
            parts += _side(layout, shop, plan, flight, side, posts)
    for post in deck + [p for own in stairs for p in own]:
        parts += _post(layout, shop, post)
    return parts


def _deck_posts(layout: Posted) -> list[_Post]:
    top = layout.planes.surface_top
    g = layout.parameters.guard
    posts = []
    for spot in layout.posts:
        edge = spot.edges[0] if spot.edges else None
        post = _Post(
            spot.polygon,
            spot.direction,
            layout.planes.frame_bottom,
            top,
            {"where": f"{edge} edge" if edge else "", "edge": edge},
        )
        post.reach(top + g.height + g.post_above if g.sleeve is None else top + g.sleeve.length)
        posts.append(post)
    return posts


def _stair_posts(layout: LevelPlan, plan: StairPlan) -> list[_Post]:
    posts = []
    for spot in plan.posts:
        f = plan.flights[spot.flight]
        wide = _sleeve_square(layout, spot.polygon)
        x0, x1 = span_x(f, wide)
        beside = [t.top for t in f.treads if t.back < x1 and t.front > x0]
        floor = max(beside, default=f.foot)
        if f.solid:  # the stringer stands above the nosings
            floor = max(floor, f.upper_edge(x0))
        if spot.kind in ("top", "landing"):
            floor = next(m.level for m in plan.landings if abs(m.post_bottom - spot.bottom) < 1e-6)
        post = _Post(
            spot.polygon,
            pair(f.out),
            spot.bottom + _off_the_pad(layout, plan, spot),
            floor,
            {"where": f"stair {plan.index + 1}", "stair": plan.index},
        )
        # over a solid stringer's edge, which meets the sleeve along a line, or past the ends of the treads
        if spot.kind in ("mid", "foot") and (f.solid or _past_the_treads(layout, plan, f, wide)):
            post.stop = f.across if spot.side == "end" else -f.across
        posts.append(post)
    for landing in plan.landings:
        for n in {n for bay in landing.bays for n in bay}:
            posts[n].reach(landing.level + layout.parameters.guard.height + layout.parameters.guard.post_above)
            if plan.posts[n].kind == "foot" and posts[n].floor <= landing.level:
                posts[n].floor, posts[n].stop = landing.level, None
    return posts


def _past_the_treads(layout: LevelPlan, plan: StairPlan, f: Flight, sleeve: Polygon) -> bool:
    """Whether a sleeve stands past the ends of a flight's treads: between two flights that lie further apart than a
    post is wide."""
    p = plan.spot.parameters
    reach = (layout.parameters.trim.thickness if p.skirts else 0.0) + p.side_overhang
    at = [f.position(q)[1] for q in sleeve.exterior.coords]
    return min(at) > f.width + reach - STANDS_BY or max(at) < STANDS_BY - reach


def _off_the_pad(layout: LevelPlan, plan: StairPlan, spot: StairPost) -> float:
    """How far over the foot pad a guard post ends that its stringer carries: nothing, unless the pad gives way to a
    footing under part of it, which may come up past the pad."""
    if spot.kind != "foot" or spot.flight < len(plan.flights) - 1:
        return 0.0
    pads = [p.polygon for p in layout.pads if p.stair == plan.index and p.landing is None]
    cut = any(0 < p.intersection(spot.polygon).area < spot.polygon.area - 1e-3 for p in pads)
    under = [f for f in layout.footings if f.outline(CURVE).intersection(spot.polygon).area > 0]
    higher = max((f.top - spot.bottom for f in under), default=0.0)
    return EXPANSION_JOINT + max(higher, 0.0) if cut or higher > 1e-6 else 0.0


def _chains(
    plan: StairPlan, plans: Sequence[StairPlan], deck: list[_Post], stairs: list[list[_Post]]
) -> list[tuple[Flight, str, list[_Post]]]:
    """For each flight and side of one of the `plans` the posts from top to foot: the deck's, of all `stairs` its own,
    or one of another that serves both."""
    chains, own = [], stairs[plans.index(plan)]
    for index, side, chain in plan.rails:
        posts, shared = [own[n] for n in chain if n >= 0], plan.spot.shared_post(side)
        if chain[0] < 0 and shared:
            k, owner = next((k, p) for k, p in enumerate(plans) if p.index == shared.stair)
            head = next(c[0] for n, s, c in owner.rails if n == 0 and s == shared.its_side)
            posts.insert(0, stairs[k][head])
        elif chain[0] < 0 and plan.top_post.get(side, -1) >= 0:
            posts.insert(0, deck[plan.top_post[side]])
        chains.append((plan.flights[index], side, posts))
    return chains


def _over_treads(layout: Setting, plan: StairPlan, sides: list[tuple[Flight, str, list[_Post]]]) -> None:
    """A sleeve round another stair's post, on which a guard begins too, stands on the higher of both stairs' treads."""
    for f, side, posts in sides:
        if f.index == 0 and plan.spot.shared_post(side):
            x0, x1 = span_x(f, _sleeve_square(layout, posts[0].polygon))
            posts[0].floor = max([posts[0].floor, *(t.top for t in f.treads if t.back < x1 and t.front > x0)])


def _raise_posts(layout: Setting, plan: StairPlan, f: Flight, side: str, posts: list[_Post]) -> None:
    """A post reaches over the rails that meet it: by its full measure on the slope, and never ends below one at its
    top."""
    g = layout.parameters.guard
    if plan.guarded:
        above = (
            g.post_above if f.index == 0 and plan.top_post[side] < 0 else 0.0
        )  # a deck's or a landing's has it already
        posts[0].reach(flight_top(g, f, span_x(f, posts[0].face)[1]) + above)
        for post in posts[1:]:
            post.reach(flight_top(g, f, span_x(f, post.face)[0]) + g.post_above)
    if side in handrail_sides(layout, plan.spot, f.risers):
        upper, lower = handrail_ends(layout, f, posts[0].face, posts[-1].face)
        posts[0].reach(handrail_top(g, f, upper))
        posts[-1].reach(handrail_top(g, f, lower - g.handrail_size))


def _side(layout: LevelPlan, shop: Workshop, plan: StairPlan, f: Flight, side: str, posts: list[_Post]) -> list[Part]:
    about = {
        "where": f"stair {plan.index + 1}" + (f" flight {f.index + 1}" if len(plan.flights) > 1 else ""),
        "stair": plan.index,
    }
    parts = []
    if plan.guarded:
        line = guard_line(layout, plan, f, side)
        if line is None and _one_post_for_two(layout, plan, f, side):  # rails lie narrow, so that both fit before it
            half = layout.parameters.stock(layout.parameters.guard.post).width / 2
            line = (-half if side == "start" else f.width + half, half)
        for n, (a, b) in enumerate(itertools.pairwise(posts)):
            parts += guard_bay(shop, layout, f, side, a.face, b.face, line, step=n, **about)
    if side in handrail_sides(layout, plan.spot, f.risers):
        parts += handrail(shop, layout, f, side, [p.face for p in posts], **about)
    return parts


def _corner_bays(
    layout: LevelPlan, shop: Workshop, plan: StairPlan, sides: list[tuple[Flight, str, list[_Post]]], deck: list[_Post]
) -> list[Part]:
    """What closes the deck's corner beside a stair whose guard begins on its stringer. It lies narrow, at a slant."""
    g, parts, level = layout.parameters.guard, list[Part](), layout.planes.surface_top
    narrow = g.model_copy(update={"top_rail_lies": "on edge"})
    for f, side, posts in sides:
        if f.index or side not in plan.spot.own_posts or not plan.guarded or not deck:
            continue
        corner, edge = min(deck, key=lambda p: p.face.distance(posts[0].face)), plan.spot.edge
        run = corner_run(layout, plan, side, corner.face, posts[0].face)
        if run is not None:
            posts[0].reach(level + g.height + g.post_above)
            about = {"where": f"{edge.name} edge, beside stair {plan.index + 1}", "edge": edge.name, "step": plan.index}
            parts += level_bay(shop, narrow, run, level, layout.parameters.stock, **about)
    return parts


def _one_post_for_two(layout: LevelPlan, plan: StairPlan, f: Flight, side: str) -> bool:
    """Whether another stair's guard begins on the deck's post at which a flight's does, and both rails would lie in one
    place before it: they go one way, or round a corner both stand out past the post's middle."""
    top = plan.top_post.get(side, -1) if f.index == 0 else -1
    if top < 0:
        return False
    ends = (
        (o, s) for o in layout.stair_plans if o.guarded and o is not plan for s, n in o.top_post.items() if n == top
    )
    out = _past_the_post(layout, plan, side)
    return any(float(o.flights[0].out @ f.out) > SAME or min(out, _past_the_post(layout, o, s)) > SAME for o, s in ends)


def _past_the_post(layout: LevelPlan, plan: StairPlan, side: str) -> float:
    """How far the middle of a stair's guard lies past that of the deck's post on which it begins, away from its
    steps."""
    f, half = plan.flights[0], layout.parameters.stock(layout.parameters.guard.post).width / 2
    s = f.position(layout.posts[plan.top_post[side]].centre)[1]
    return s + half if side == "start" else f.width + half - s


def _landing_bays(layout: Setting, shop: Workshop, plan: StairPlan, own: list[_Post]) -> list[Part]:
    parts = []
    for landing in plan.landings:
        for n, (i, j) in enumerate(landing.bays):
            a, b = np.array(own[i].polygon.centroid.coords[0]), np.array(own[j].polygon.centroid.coords[0])
            run = level_run(own[i].face, own[j].face, a, (b - a) / np.hypot(*(b - a)))
            if run is not None and plan.guarded:
                about = {"where": f"stair {plan.index + 1} landing {landing.index + 1}", "stair": plan.index, "step": n}
                parts += level_bay(shop, layout.parameters.guard, run, landing.level, layout.parameters.stock, **about)
    return parts


def _sides(post: _Post) -> tuple[float, float]:
    """A post's size along its direction and square to it: the stock's, or what was measured where it stands."""
    ring, d = np.asarray(post.polygon.exterior.coords), np.asarray(post.direction)
    return float(np.ptp(ring @ d)), float(np.ptp(ring @ np.array([-d[1], d[0]])))


def _sleeve_square(layout: Setting, polygon: Polygon) -> Polygon:
    """The outside of the sleeve round a post; the post itself where there are no sleeves."""
    sleeve = layout.parameters.guard.sleeve
    if sleeve is None:
        return polygon
    side = layout.parameters.stock(layout.parameters.guard.post).width
    return polygon.buffer((sleeve.size - side) / 2, join_style="mitre")


def _sleeves(layout: Setting, posts: list[_Post]) -> None:
    """What rails stop at: the sleeve, or the bare post where a neighbour stands too close for sleeves on both."""
    wall = layout.house_wall
    for post in posts:
        wide = _sleeve_square(layout, post.polygon)
        crowded = wide.intersection(wall).area > 1e-6 or any(
            o is not post and _sleeve_square(layout, o.polygon).intersection(wide).area > 1e-6 for o in posts
        )
        post.face = post.polygon if crowded else wide
    for post in posts:
        near = [o.face for o in posts if o is not post and o.face.distance(post.face) < 4 * CAP_OVER]
        room = [_cap_room(post.face, face) for face in near] + ([] if wall.is_empty else [post.face.distance(wall)])
        over = min([CAP_OVER, *room])
        post.about["cap_over"] = over if over >= LEAST_CAP_OVER else 0.0  # posts that touch leave rounding


def _cap_room(face: Polygon, other: Polygon) -> float:
    """How far the caps of two posts may pass their faces: half of what is between them, less where corners of turned
    ones would meet."""
    half = face.distance(other) / 2
    wide, beside = (f.buffer(half, join_style="mitre") for f in (face, other))
    return half if wide.intersection(beside).area < CAPS_TOUCH else half / math.sqrt(2)


def _stop(shop: Workshop, sleeve: Sleeve, post: _Post, centre: tuple[float, float], about: dict) -> list[Part]:
    """A strip across the post's outer face, on which a sleeve stands that nothing else is under: the thinnest that
    reaches past the gap round the post under the sleeve's wall."""
    side, depth = _sides(post)
    gap = sleeve.size / 2 - sleeve.wall - depth / 2
    stock = next((s for s in map(lumber, STOP_STOCK) if s.thickness > gap + sleeve.wall / 2), None)
    if post.stop is None or stock is None:
        return []
    x, y = np.asarray(centre) + post.stop * (depth + stock.thickness) / 2
    z, (dx, dy) = post.floor - stock.width / 2, np.asarray(post.direction) * side / 2
    start, end = (x - dx, y - dy, z), (x + dx, y + dy, z)
    return [shop.box_along("sleeve stop", stock, start, end, (0.0, 0.0, 1.0), stock.width, stock.thickness, **about)]


def _post(layout: Setting, shop: Workshop, post: _Post) -> list[Part]:
    g = layout.parameters.guard
    stock = layout.parameters.stock(g.post)
    about = {k: v for k, v in post.about.items() if k != "cap_over"}
    x, y = post.polygon.centroid.coords[0]
    side, depth = _sides(post)
    parts = [
        shop.box_along(
            "guard post", stock, (x, y, post.bottom), (x, y, post.top), (*post.direction, 0.0), side, depth, **about
        )
    ]
    if post.face is not post.polygon and g.sleeve is not None:
        inner = post.polygon.buffer((g.sleeve.size - side) / 2 - g.sleeve.wall, join_style="mitre")
        hollow = Polygon(post.face.exterior.coords, [inner.exterior.coords])
        called = said("{size} sleeve", size=decimal(g.sleeve.size, None))
        name, material = f"{g.sleeve.size:g} in sleeve", layout.parameters.trim.material
        sleeve = Stock(name, g.sleeve.wall, g.sleeve.size, material, called=called)
        parts.append(shop.upright("post sleeve", sleeve, hollow, post.floor, post.top, post.direction, **about))
        parts += _stop(shop, g.sleeve, post, (x, y), about)
    if g.cap:
        plan = post.face.buffer(post.about["cap_over"], join_style="mitre") if post.about["cap_over"] > 0 else post.face
        size = plan.exterior.length / 4
        called = said("{size} post cap", size=decimal(size, None))
        cap = Stock(f"{size:g} in post cap", CAP_THICKNESS, size, stock.material, called=called)
        parts.append(shop.upright("post cap", cap, plan, post.top, post.top + CAP_THICKNESS, post.direction, **about))
    return parts
