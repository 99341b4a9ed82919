"""A landing between two flights: rims, joists, boards, fascia, and a header below; `support` has the posts under it.

In the coordinates of the flight above. Its joists lie under that flight's stringers, which stand on the frame; the
boards start at the last riser.
"""

from __future__ import annotations

import itertools
import math

from shapely.geometry import box

from ...shared.practice import practice
from ..plan.spots import Landing, StairPlan
from ..plan.stages import LevelPlan, Setting
from ..solid.part import Part, Workshop
from .edge_boards import board_stock
from .stringers import header_boards
from .treads import courses, lengths, notched, world

JOIST_SPACING = practice("joist spacing of a landing")
ONLY_TOUCHES = 1e-6  # inches: pieces that only touch are not in each other's way
LEAST_LANDING_FASCIA = 2.5  # inches: a shorter stretch of fascia is left out


def build_landing(layout: LevelPlan, shop: Workshop, plan: StairPlan, landing: Landing) -> list[Part]:
    """All pieces of one landing but its guards and the posts under its corners."""
    about = {
        "where": f"stair {plan.index + 1} landing {landing.index + 1}",
        "stair": plan.index,
        "edge": plan.spot.edge.name,
    }
    return (
        _frame(layout, shop, landing, about)
        + _header(layout, shop, plan, landing, about)
        + _boards(layout, shop, plan, landing, about)
        + _fascia(layout, shop, plan, landing, about)
    )


def joist_places(landing: Landing, thickness: float) -> list[float]:
    """s of every joist's start side face: under the inner stringers, and between where those are further apart than 16
    in."""
    places: list[float] = []
    stops = landing.above.stringers
    for a, b in itertools.pairwise(stops):
        n = max(1, math.ceil((b - a) / JOIST_SPACING - 1e-9))
        places += [a + (b - a) * k / n for k in range(1, n + 1)]
    return places[:-1]


def _frame(layout: Setting, shop: Workshop, landing: Landing, about) -> list[Part]:
    """Rims across run through, those along butt between them as the joists do."""
    f, stock = landing.above, layout.joist
    t, low, high = stock.thickness, landing.frame_bottom, landing.frame_top
    x0, x1 = landing.back, landing.front
    parts = [
        shop.upright("rim", stock, f.rectangle(x, x + t, 0.0, f.width), low, high, tuple(f.across), **about)
        for x in (x0, x1 - t)
    ]
    for s in (0.0, f.width - t):
        parts.append(
            shop.upright("rim", stock, f.rectangle(x0 + t, x1 - t, s, s + t), low, high, tuple(f.out), **about)
        )
    for s in joist_places(landing, t):
        parts.append(
            shop.upright("joist", stock, f.rectangle(x0 + t, x1 - t, s, s + t), low, high, tuple(f.out), **about)
        )
    return parts


def _header(layout: Setting, shop: Workshop, plan: StairPlan, landing: Landing, about) -> list[Part]:
    """Under the rim that the next flight leaves, between the corner posts."""
    f, w, t = landing.above, layout.parameters.stock(layout.parameters.frame.post).width, layout.joist.thickness
    sides = {
        "straight": (landing.front - t, landing.front, w, f.width - w),
        "left": (landing.back + w, landing.front - w, f.width - t, f.width),
        "right": (landing.back + w, landing.front - w, 0.0, t),
    }
    along = f.across if landing.turn == "straight" else f.out
    return [
        shop.upright("stair header", stock, f.rectangle(*sides[landing.turn]), low, high, tuple(along), **about)
        for stock, low, high in header_boards(layout, landing.frame_bottom, plan.flights[landing.index + 1])
    ]


def _boards(layout: Setting, shop: Workshop, plan: StairPlan, landing: Landing, about) -> list[Part]:
    """Boards across the joists, front board first; their ends pass the rims as treads pass the stringers."""
    s, f = layout.parameters.surface, landing.above
    stock = board_stock(s.board_thickness, s.board_width, s.material)
    reach = {"start": _reach(layout, plan), "end": _reach(layout, plan)}
    if landing.turn != "straight":
        reach["end" if landing.turn == "left" else "start"] = f.lead
    front = landing.front + (f.lead if landing.turn == "straight" else _reach(layout, plan))
    low, high = -reach["start"], f.width + reach["end"]
    middles = [p + layout.joist.thickness / 2 for p in joist_places(landing, layout.joist.thickness)]
    notches = _notches(layout, plan, landing, low, high, front)
    parts = []
    for at, width in courses(front - landing.clear, s.board_width, s.edge_gap, s.sliver):
        x = front - at
        for a, b in lengths(low, high, s.board_length, middles, s.end_gap):
            outline = notched(box(x - width, a, x, b), notches)
            parts.append(
                shop.upright(
                    "board", stock, world(f, outline), landing.frame_top, landing.level, tuple(f.across), **about
                )
            )
    return parts


def _reach(layout: Setting, plan: StairPlan) -> float:
    trim = layout.parameters.trim
    return plan.spot.parameters.side_overhang + (trim.thickness if trim.fascia else 0.0)


def _notches(layout: Setting, plan: StairPlan, landing: Landing, low: float, high: float, front: float):
    """(x0, x1, s0, s1) round every guard post that stands in the boards' way, open to the outside."""
    c = layout.parameters.surface.notch_clearance
    found = []
    for x0, x1, s0, s1 in _post_boxes(plan, landing):
        if x1 + c <= landing.clear or x0 - c >= front or s1 + c <= low or s0 - c >= high:
            continue
        a, b = x0 - c, x1 + c
        if x0 >= landing.front - 1e-6:  # in front of the frame
            found.append((a, front + 1, s0 - c, s1 + c))
        elif s0 < 0:
            found.append((a, b, low - 1, s1 + c))
        else:
            found.append((a, b, s0 - c, high + 1))
    return found


def _post_boxes(plan: StairPlan, landing: Landing) -> list[tuple[float, float, float, float]]:
    f = landing.above
    found = []
    for post in plan.posts:
        if post.flight in (f.index, f.index + 1):
            at = [f.position(q) for q in post.polygon.exterior.coords]
            xs, ss = [a[0] for a in at], [a[1] for a in at]
            found.append((min(xs), max(xs), min(ss), max(ss)))
    return found


def _fascia(layout: Setting, shop: Workshop, plan: StairPlan, landing: Landing, about) -> list[Part]:
    """On the rims beside and before the landing, giving way to guard posts and to the next flight."""
    trim, f = layout.parameters.trim, landing.above
    if not trim.fascia:
        return []
    t, low, high = trim.thickness, landing.frame_bottom, landing.frame_top
    x0, x1, w = landing.back, landing.front, f.width
    taken = _post_boxes(plan, landing)
    fronts: list[
        tuple[float, float, float, float]
    ] = []  # with a straight landing the next flight's first riser covers the front
    if landing.turn == "left":
        taken.append((x1 - w, x1, w, w + t))
        fronts = [(x1, x1 + t, -t, w)]
    elif landing.turn == "right":
        taken.append((x1 - w, x1, -t, 0.0))
        fronts = [(x1, x1 + t, 0.0, w + t)]
    stock = board_stock(t, high - low, trim.material)
    parts = []
    for a, b, c, d in [(x0, x1, -t, 0.0), (x0, x1, w, w + t)]:
        busy = [(q[0], q[1]) for q in taken if q[2] < d - ONLY_TOUCHES and q[3] > c + ONLY_TOUCHES]
        parts += [
            shop.upright("fascia", stock, f.rectangle(u, v, c, d), low, high, tuple(f.out), **about)
            for u, v in _free(a, b, busy)
        ]
    for a, b, c, d in fronts:
        busy = [(q[2], q[3]) for q in taken if q[0] < b - ONLY_TOUCHES and q[1] > a + ONLY_TOUCHES]
        parts += [
            shop.upright("fascia", stock, f.rectangle(a, b, u, v), low, high, tuple(f.across), **about)
            for u, v in _free(c, d, busy)
        ]
    return parts


def _free(low: float, high: float, busy) -> list[tuple[float, float]]:
    """What is left of a stretch outside others, crumbs left out."""
    found, at = [], low
    for a, b in sorted(busy):
        found.append((at, min(a, high)))
        at = max(at, b)
    found.append((at, high))
    return [(a, b) for a, b in found if b - a >= LEAST_LANDING_FASCIA]
