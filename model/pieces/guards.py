"""Guards: posts with sleeves and caps, level bays along the edges and round landings, and the guards and handrails of
stairs.

Every rail stops at a post's face, or at the face of the sleeve round it; a post is as high as what it carries asks for.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from shapely.geometry import Polygon

from ...shared.as_toml import down_to, up_to
from ...shared.errors import DesignError
from ...shared.points import pair
from ...shared.stock import sold
from ..input.guard_table import Guard
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
from .guard_posts import CAP_OVER, GuardPost, RailEnd, clear_rails, cut_post, fit_sleeves, sleeve_square
from .rails import level_bay, level_run
from .stair_guards import bottom_rail_at, flight_top, guard_bay, handrail, handrail_ends, handrail_top, span_x

STANDS_BY = 1e-6  # inches: a sleeve that overlaps a tread by less only touches it


def check_guard(layout: Setting) -> None:
    """Raises DesignError, naming the key, for guards whose pieces cannot be fitted together."""
    g, stock = layout.parameters.guard, layout.parameters.stock
    post = stock(g.post)
    if abs(post.width - post.thickness) > 1e-9:
        square = next(s.name for s in sold() if s.thickness == s.width >= post.thickness)
        raise DesignError("guard.post", f"{g.post} is not square, as a guard post is", ("guard.post", square))
    for key in ("top_rail", "bottom_rail") if g.kit is None else ():
        rail = stock(getattr(g, key))
        if rail.thickness > post.width:
            thin = next(s.name for s in sold() if s.thickness <= post.width and s.width <= rail.width)
            raise DesignError(f"guard.{key}", f"{rail.name} is thicker than the {g.post} post", (f"guard.{key}", thin))
    wide, high = top_rail_section(g, stock)
    if g.kit is not None and wide > post.width:
        raise DesignError(
            "guard.kit.rail_width",
            f"{wide:g} in is more than the {g.post} post is wide, so that rails would meet at a corner",
            ("guard.kit.rail_width", down_to(post.width)),
        )
    if wide > post.width:
        raise DesignError(
            "guard.top_rail_lies",
            f"{g.top_rail} laid flat is wider than the {g.post} post, so that rails would meet at a corner",
            ("guard.top_rail_lies", "on edge"),
        )
    room = g.height - high - g.bottom_gap - stock(g.bottom_rail).width
    if room < 1:
        raise DesignError(
            "guard.height" if g.kit is None else "guard.kit.top",
            f"a guard {g.height:g} in high has no room for its balusters: rails and bottom gap take"
            f" {g.height - room:g} in",
            ("guard.height" if g.kit is None else "guard.kit.top", up_to(g.height - room + 1)),
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


def check_kit(layout: LevelPlan) -> None:
    """Raises DesignError for a kit without rails for the stairs that have guards."""
    kit = layout.parameters.guard.kit
    guarded = [p.index + 1 for p in layout.stair_plans if p.guarded]
    if kit is not None and kit.stairs is None and guarded:
        raise DesignError(
            "guard.kit.stairs",
            f"is missing, and stair {guarded[0]} has guards: give the kit's rails for stairs (rail_lengths, pitch,"
            " hole, least_end)",
        )


def build_guards(layout: LevelPlan, shop: Workshop) -> list[Part]:
    """All pieces of the guards. Raises DesignError where they cannot be fitted together."""
    check_guard(layout)
    check_kit(layout)
    plans = layout.stair_plans
    deck = _deck_posts(layout)
    stairs = [_stair_posts(layout, plan) for plan in plans]
    chains = [_chains(plan, plans, deck, stairs) for plan in plans]
    for plan, sides in zip(plans, chains):
        _over_treads(layout, plan, sides)
    fit_sleeves(layout, deck + [p for own in stairs for p in own])
    for plan, sides in zip(plans, chains):
        for flight, side, posts in sides:
            _raise_posts(layout, plan, flight, side, posts)
    for post in (p for own in stairs for p in own):  # one at a step alone carries nothing that slopes
        if post.top < post.floor:
            post.reach(post.floor + layout.parameters.guard.height + layout.parameters.guard.post_above)
    for plan, own, sides in zip(plans, stairs, chains):
        _meet_rails(layout, plan, own, sides)
    for post in (p for own in stairs for p in own if p.sleeved):
        clear_rails(post)
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
        parts += cut_post(layout, shop, post)
    return parts


def post_height(g: Guard) -> float:
    """Inches of a post above the surface: so far that its cap lies on its sleeve, or under that by its kit."""
    by_kit = g.kit is not None and g.kit.post_height is not None
    return g.height + g.post_above if g.sleeve is None or by_kit else g.sleeve.length


def _sleeve_over(g: Guard) -> float:
    """How far the sleeve of a post of a level guard ends over it."""
    return 0.0 if g.sleeve is None else g.sleeve.length - post_height(g)


def _deck_posts(layout: Posted) -> list[GuardPost]:
    top = layout.planes.surface_top
    g = layout.parameters.guard
    posts = []
    for spot in layout.posts:
        edge = spot.edges[0] if spot.edges else None
        post = GuardPost(
            spot.polygon,
            spot.direction,
            layout.planes.frame_bottom,
            top,
            {"where": f"{edge} edge" if edge else "", "edge": edge},
            sleeve_over=_sleeve_over(g),
        )
        post.reach(top + post_height(g))
        posts.append(post)
    return posts


def _stair_posts(layout: LevelPlan, plan: StairPlan) -> list[GuardPost]:
    posts = []
    for spot in plan.posts:
        f = plan.flights[spot.flight]
        wide = sleeve_square(layout, spot.polygon)
        x0, x1 = span_x(f, wide)
        beside = [t.top for t in f.treads if t.back < x1 and t.front > x0]
        floor = max(beside, default=f.foot)
        if f.solid:  # the stringer stands above the nosings
            floor = max(floor, f.upper_edge(x0))
        if spot.kind in ("top", "landing"):
            floor = next(m.level for m in plan.landings if abs(m.post_bottom - spot.bottom) < 1e-6)
        post = GuardPost(
            spot.polygon,
            pair(f.out),
            spot.bottom + _off_the_pad(layout, plan, spot),
            floor,
            {"where": f"stair {plan.index + 1}", "stair": plan.index},
            sleeve_over=_sleeve_over(layout.parameters.guard),
        )
        post.aside = f.across if spot.side == "end" else -f.across
        # over a solid stringer's edge, which meets the sleeve along a line, or past the ends of the treads
        past, notched = _past_the_treads(layout, plan, f, wide)
        if spot.kind == "foot" and f.index < len(plan.landings) and past:  # down on the landing, between two flights
            post.floor = plan.landings[f.index].level
        elif spot.kind in ("mid", "foot") and (f.solid or past or notched):
            post.stop = post.aside
        posts.append(post)
    for landing in plan.landings:
        for n in {n for bay in landing.bays for n in bay}:
            posts[n].reach(landing.level + layout.parameters.guard.height + layout.parameters.guard.post_above)
            if plan.posts[n].kind == "foot" and posts[n].floor <= landing.level:
                posts[n].floor, posts[n].stop = landing.level, None
    return posts


def _past_the_treads(layout: LevelPlan, plan: StairPlan, f: Flight, sleeve: Polygon) -> tuple[bool, bool]:
    """Whether a sleeve stands past the ends of a flight's treads, and whether it stands where they are notched round
    the post up to the stringer: between two flights that lie further apart than a post is wide."""
    p = plan.spot.parameters
    reach = (layout.parameters.trim.thickness if p.skirts else 0.0) + p.side_overhang
    at = [f.position(q)[1] for q in sleeve.exterior.coords]
    past = max(min(at) - f.width, -max(at))
    return past > reach - STANDS_BY, past > -layout.parameters.surface.notch_clearance - STANDS_BY


def _off_the_pad(layout: LevelPlan, plan: StairPlan, spot: StairPost) -> float:
    """How far over the foot pad a guard post ends that its stringer carries: nothing, unless the pad gives way to a
    footing under part of it, which may come up past the pad."""
    if spot.kind not in ("foot", "mid") or (spot.kind == "foot" and spot.flight < len(plan.flights) - 1):
        return 0.0
    pads = [p.polygon for p in layout.pads if p.stair == plan.index and p.landing is None]
    cut = any(0 < p.intersection(spot.polygon).area < spot.polygon.area - 1e-3 for p in pads)
    under = [f for f in layout.footings if f.outline(CURVE).intersection(spot.polygon).area > 0]
    higher = max((f.top - spot.bottom for f in under), default=0.0)
    return EXPANSION_JOINT + max(higher, 0.0) if cut or higher > 1e-6 else 0.0


def _chains(
    plan: StairPlan, plans: Sequence[StairPlan], deck: list[GuardPost], stairs: list[list[GuardPost]]
) -> list[tuple[Flight, str, list[GuardPost]]]:
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


def _over_treads(layout: Setting, plan: StairPlan, sides: list[tuple[Flight, str, list[GuardPost]]]) -> None:
    """A sleeve round another stair's post, on which a guard begins too, stands on the higher of both stairs' treads."""
    for f, side, posts in sides:
        if f.index == 0 and plan.spot.shared_post(side):
            x0, x1 = span_x(f, sleeve_square(layout, posts[0].polygon))
            posts[0].floor = max([posts[0].floor, *(t.top for t in f.treads if t.back < x1 and t.front > x0)])


def _raise_posts(layout: Setting, plan: StairPlan, f: Flight, side: str, posts: list[GuardPost]) -> None:
    """A post reaches over the rails that meet it: by its full measure on the slope, and never ends below one at its
    top."""
    g = layout.parameters.guard
    if plan.guarded:
        above = (
            g.post_above if f.index == 0 and plan.top_post[side] < 0 else 0.0
        )  # a deck's or a landing's has it already
        posts[0].reach(flight_top(g, f, span_x(f, posts[0].face)[1]) + above)
        for post in posts[1:]:
            post.reach(flight_top(g, f, span_x(f, post.face)[0]) + (g.post_above if g.kit is None else 0.0))
        if g.kit is not None:
            _caps_alike(g, f, posts)
    if side in handrail_sides(layout, plan.spot, f.risers):
        upper, lower = handrail_ends(layout, f, posts[0].face, posts[-1].face)
        for post, x in ((posts[0], upper), (posts[-1], lower - g.handrail_size)):
            post.reach(handrail_top(g, f, x) - (post.end - post.top))  # it meets the sleeve


def _caps_alike(g: Guard, f: Flight, posts: list[GuardPost]) -> None:
    """Of each bay of a kit's the lower post is cut so that its cap is as far over the rail as at the upper one; so far
    at least that the cap's edge, which stands out over the rail, clears it. What makes a flight's first post higher
    than its own rails do, another flight that comes down to it, is no measure for the posts below; nor does a sleeve
    become longer by it than it is sold."""
    sold = g.kit.sleeve_sold if g.kit is not None and g.kit.sleeve_sold is not None else math.inf
    for a, b in itertools.pairwise(posts):
        top = flight_top(g, f, span_x(f, a.face)[1])
        a.reach(top + CAP_OVER * f.slope - (a.end - a.top))
        clear = a.end - top
        if a is posts[0]:
            own = a.floor + g.height + g.post_above + a.end - a.top - top
            clear = min(clear, max(own, CAP_OVER * f.slope))
        low = flight_top(g, f, span_x(f, b.face)[0])
        if b.sleeved:
            clear = min(clear, max(b.floor + sold - low, CAP_OVER * f.slope))
        b.reach(low + clear - (b.end - b.top))


def _rail_end(layout: Setting, f: Flight, post: GuardPost, end: int) -> RailEnd:
    """The bottom rail of a flight where it leaves a post downwards (`end` -1), or comes down to one (0)."""
    x, inner = span_x(f, post.face)[end], span_x(f, post.polygon)[end]
    return RailEnd(*bottom_rail_at(layout, f, x), bottom_rail_at(layout, f, min(x, inner))[1])


def _level_end(layout: Setting, level: float) -> RailEnd:
    g = layout.parameters.guard
    low, high = level + g.bottom_gap, level + g.bottom_gap + layout.parameters.stock(g.bottom_rail).width
    return RailEnd(low, high, high)


def _meet_rails(
    layout: Setting, plan: StairPlan, own: list[GuardPost], sides: list[tuple[Flight, str, list[GuardPost]]]
) -> None:
    """Sets the bottom rails that end on the posts of a stair."""
    if not plan.guarded:
        return
    for f, _side_of, posts in sides:
        for a, b in itertools.pairwise(posts):
            a.ends.append(_rail_end(layout, f, a, -1))
            b.ends.append(_rail_end(layout, f, b, 0))
    for landing in plan.landings:
        for n in itertools.chain.from_iterable(landing.bays):
            own[n].ends.append(_level_end(layout, landing.level))


def _side(
    layout: LevelPlan, shop: Workshop, plan: StairPlan, f: Flight, side: str, posts: list[GuardPost]
) -> list[Part]:
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
            under = a.under(_rail_end(layout, f, a, -1)), b.under(_rail_end(layout, f, b, 0))
            parts += guard_bay(shop, layout, f, side, a.face, b.face, line, under, step=n, **about)
    if side in handrail_sides(layout, plan.spot, f.risers):
        parts += handrail(shop, layout, f, side, [p.face for p in posts], **about)
    return parts


def _corner_bays(
    layout: LevelPlan,
    shop: Workshop,
    plan: StairPlan,
    sides: list[tuple[Flight, str, list[GuardPost]]],
    deck: list[GuardPost],
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
            about: dict[str, Any] = {
                "where": f"{edge.name} edge, beside stair {plan.index + 1}",
                "edge": edge.name,
                "step": plan.index,
            }
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


def _landing_bays(layout: Setting, shop: Workshop, plan: StairPlan, own: list[GuardPost]) -> list[Part]:
    parts = []
    about: dict[str, Any]
    for landing in plan.landings:
        for n, (i, j) in enumerate(landing.bays):
            a, b = np.array(own[i].polygon.centroid.coords[0]), np.array(own[j].polygon.centroid.coords[0])
            way, end, stock = (b - a) / np.hypot(*(b - a)), _level_end(layout, landing.level), layout.parameters.stock
            run = level_run(own[i].face, own[j].face, a, way)
            if run is not None and plan.guarded:
                low = level_run(own[i].under(end), own[j].under(end), a, way)
                about = {"where": f"stair {plan.index + 1} landing {landing.index + 1}", "stair": plan.index, "step": n}
                parts += level_bay(shop, layout.parameters.guard, run, landing.level, stock, low, **about)
    return parts
