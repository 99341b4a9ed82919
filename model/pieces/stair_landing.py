"""A landing between two flights: rims, joists, boards, fascia, and a header below; `support` has the posts under it.

In the coordinates of the flight above. Its joists lie under that flight's stringers, which stand on the frame; the
boards start at the last riser.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import box

from ...shared.practice import practice
from ..plan.beside_house import room_beside
from ..plan.spots import Landing, StairPlan
from ..plan.stages import LevelPlan, Setting
from ..solid.part import Part, Workshop
from .edge_boards import board_stock, trim_stock
from .stair_header import between_supports, header_boards
from .stringers import beside_fascia
from .treads import EAR, courses, lengths, notched, world

JOIST_SPACING = practice("joist spacing of a landing")
LEAST_BLOCK = 3.0  # inches: a joist nearer to the rim leaves no room to nail a shorter block; our own
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
        _frame(layout, shop, plan, landing, about)
        + _header(layout, shop, plan, landing, about)
        + _boards(layout, shop, plan, landing, about)
        + _fascia(layout, shop, plan, landing, about)
    )


def joist_places(layout: Setting, plan: StairPlan, landing: Landing) -> list[float]:
    """s of every joist's start side face: in line with the inner stringers of the flights that run along it, and
    between where those, or the rims below one step, are further apart than 16 in, or than the deck's joists are."""
    f, thickness, most = landing.above, layout.joist.thickness, min(JOIST_SPACING, layout.joist_spacing)
    stops = f.stringers or [0.0, f.width - thickness]
    if landing.turn == "back":
        nxt = plan.flights[landing.index + 1]
        stops += [f.position(nxt.point(0.0, s))[1] - thickness for s in nxt.stringers]
    places: list[float] = []
    for a, b in itertools.pairwise(sorted(stops)):
        n = max(1, math.ceil((b - a) / most - 1e-9))
        places += [a + (b - a) * k / n for k in range(1, n + 1)]
    # the last is the rim's own; one of thicker stock or more plies may reach into a joist before it
    rim, (low, high) = landing.rim_plies * thickness, landing.sides
    return [s for s in places[:-1] if low + rim <= s + 1e-6 and s + thickness <= high - rim + 1e-6]


def _frame(layout: Setting, shop: Workshop, plan: StairPlan, landing: Landing, about) -> list[Part]:
    """Rims across run through, those along butt between them as the joists do."""
    f, stock = landing.above, layout.joist
    t, bottom, top = stock.thickness, landing.frame_bottom, landing.frame_top
    n, (low, high) = landing.rim_plies, landing.sides
    x0, x1 = landing.back + n * t, landing.front - n * t  # between the rims across
    parts = [
        shop.upright("rim", stock, f.rectangle(x, x + t, *landing.rims_across), bottom, top, tuple(f.across), **about)
        for k in range(n)
        for x in (landing.back + k * t, landing.front - (k + 1) * t)
    ]
    beside = [s for k in range(n) for s in (low + k * t, high - (k + 1) * t)]
    joists = [*joist_places(layout, plan, landing), *_second_joists(layout, plan, landing)]
    for role, places in (("rim", beside), ("joist", joists)):
        parts += [
            shop.upright(role, stock, f.rectangle(x0, x1, s, s + t), bottom, top, tuple(f.out), **about) for s in places
        ]
    parts += [
        shop.upright("post blocking", stock, f.rectangle(x, x + t, *s), bottom, top, tuple(f.across), **about)
        for x, s in _behind_posts(plan, landing, (x0, x1), sorted(joists), t)
    ]
    return parts


def _behind_posts(plan: StairPlan, landing: Landing, between: tuple[float, float], joists: list[float], t: float):
    """(x, (s0, s1)) of the blocks behind the guard posts that are bolted to the rims beside a landing `between` those
    across, from the rim to the next joist: a rim alone would turn under a push on the post. One at the foot or the top
    of a flight has its stringer too."""
    rim, (low, high) = landing.rim_plies * t, landing.sides
    found: list[tuple[float, tuple[float, float]]] = []
    for x0, x1, s0, s1 in _post_boxes(plan, landing, "landing"):
        if x0 < between[0] or x1 > between[1] or (s1 > low + ONLY_TOUCHES and s0 < high - ONLY_TOUCHES):
            continue
        if s1 <= low + ONLY_TOUCHES:
            stretch = _next_bay(low + rim, high - rim, joists, t)
        else:
            near, far = _next_bay(rim - high, rim - low, [-s - t for s in reversed(joists)], t)
            stretch = -far, -near
        block = (x0 + x1 - t) / 2, stretch
        if not any(np.allclose([block[0], *stretch], [x, *s], atol=ONLY_TOUCHES) for x, s in found):
            found.append(block)  # one serves two posts that stand one before the other
    return found


def _next_bay(face: float, end: float, joists: Sequence[float], t: float) -> tuple[float, float]:
    """From a rim's `face` to the next of the joists, or behind one that stands too near it for a block."""
    for s in joists:
        if s > face + LEAST_BLOCK:
            return face, s
        face = max(face, s + t)
    return face, end


def _seats(layout: Setting, plan: StairPlan, landing: Landing) -> list[float]:
    """s of the lines over which boards may be butted: the seam between a joist and a second one beside it, so that both
    ends bear, or where the file asks for one joist alone (`surface.joints`) its middle. All joints of a landing lie in
    one line, so that a cleat would be as long as a joist: it is one."""
    t, places = layout.joist.thickness, joist_places(layout, plan, landing)
    if layout.parameters.surface.joints == "single":
        return [p + t / 2 for p in places]
    ahead = [*places[1:], landing.sides[1] - landing.rim_plies * t]
    return [p + t for p, other in zip(places, ahead) if p + 2 * t <= other + ONLY_TOUCHES]


def _second_joists(layout: Setting, plan: StairPlan, landing: Landing) -> list[float]:
    """s of the start side face of the joists that boards' joints need beside those there."""
    if layout.parameters.surface.joints == "single":
        return []
    joined = (
        cut for field in _fields(layout, plan, landing) for cut in field.joints(layout, _seats(layout, plan, landing))
    )
    return sorted({round(cut, 6) for cut in joined})


def _header(layout: LevelPlan, shop: Workshop, plan: StairPlan, landing: Landing, about) -> list[Part]:
    """Under the rim that the next flight leaves, between the posts under the landing."""
    f, w, t = landing.above, layout.parameters.stock(layout.parameters.frame.post).width, layout.joist.thickness
    (low, high), middle = landing.sides, landing.middle_leg(w)
    sides = {
        ("straight", ""): (landing.front - t, landing.front, low + w, high - w),
        ("left", "end"): (landing.back + w, landing.front - w, high - t, high),
        ("right", "start"): (landing.back + w, landing.front - w, low, low + t),
        ("back", "end"): (landing.back, landing.back + t, middle + w, high - w),
        ("back", "start"): (landing.back, landing.back + t, low + w, middle),
    }
    along = f.out if landing.turn in ("left", "right") else f.across
    rectangle, nxt = f.rectangle(*sides[landing.turn, landing.towards]), plan.flights[landing.index + 1]
    return [
        shop.upright("stair header", stock, piece, bottom, top, tuple(along), **about)
        for stock, bottom, top in header_boards(layout, landing.frame_bottom, nxt, t, rectangle)
        for piece in between_supports(layout, rectangle, along, (bottom, top))
    ]


def _boards(layout: Setting, shop: Workshop, plan: StairPlan, landing: Landing, about) -> list[Part]:
    """Boards across the joists, front board first; their ends pass the rims as treads pass the stringers."""
    s, f = layout.parameters.surface, landing.above
    stock = board_stock(s.board_thickness, s.board_width, s.material)
    seats = _seats(layout, plan, landing)
    parts = []
    for field in _fields(layout, plan, landing):
        notches = _notches(layout, plan, landing, field)
        for at, width in field.courses(layout):
            x0, x1 = sorted((field.edge + field.way * at, field.edge + field.way * (at + width)))
            for a, b in field.pieces(layout, seats):
                outline = world(f, notched(box(x0, a, x1, b), notches))
                parts.append(
                    shop.upright("board", stock, outline, landing.frame_top, landing.level, tuple(f.across), **about)
                )
    return parts


@dataclass(frozen=True)
class _Field:
    """Boards from `edge` on, where the first one lies whole, `way` +1 or -1 along x; s from `low` to `high`."""

    edge: float
    way: int
    depth: float
    low: float
    high: float

    def courses(self, layout: Setting) -> list[tuple[float, float]]:
        """As `courses`; but two boards over a rim that runs along them are not ripped alike: the one at the nosing is
        left as wide as it can be, so that it reaches over the rim to the joists."""
        s = layout.parameters.surface
        found = courses(self.depth, s.board_width, s.edge_gap, s.sliver)
        if self.way > 0 and len(found) == 2:
            wide = min(s.board_width, self.depth - s.edge_gap - s.sliver)
            found = [(0.0, wide), (wide + s.edge_gap, self.depth - wide - s.edge_gap)]
        return found

    def pieces(self, layout: Setting, seats: Sequence[float]) -> list[tuple[float, float]]:
        """(from, to) of the boards of one course, butted over some of the `seats`."""
        s = layout.parameters.surface
        inner = [m for m in seats if self.low < m < self.high]
        return lengths(self.low, self.high, s.board_length, inner, s.end_gap)

    def joints(self, layout: Setting, seats: Sequence[float]) -> list[float]:
        """The seats used."""
        pieces = self.pieces(layout, seats)
        return [(a[1] + b[0]) / 2 for a, b in itertools.pairwise(pieces)]


def _fields(layout: Setting, plan: StairPlan, landing: Landing) -> list[_Field]:
    """The stretches of a landing's boards: from its front back to the last riser; where the stair turns back also from
    the nosing of the next flight up to them, clear of the flight above."""
    f, reach, trim = landing.above, _reach(layout, plan), layout.parameters.trim
    ends = {side: min(reach, room) for side, room in _rooms(layout, landing).items()}
    if landing.turn in ("left", "right"):
        ends[landing.towards] = f.lead
    front = landing.front + (f.lead if landing.turn == "straight" else reach)
    low, high = landing.sides[0] - ends["start"], landing.sides[1] + ends["end"]
    fields = [_Field(front, -1, front - landing.clear, low, high)]
    if landing.turn == "back":
        gap, nosing = layout.parameters.surface.edge_gap, landing.back - f.lead
        beside = gap + (trim.thickness if plan.spot.parameters.skirts else 0.0)
        inner = (f.width + beside, high) if landing.towards == "end" else (low, -beside)
        fields.append(_Field(nosing, 1, landing.clear - gap - nosing, *inner))
    return fields


def _rooms(layout: Setting, landing: Landing) -> dict[str, float]:
    """How far a landing may reach past its sides before it is in the house's wall."""
    back, front = landing.back, landing.front
    return {side: room_beside(layout, landing.above, side, back, front) for side in ("start", "end")}


def _reach(layout: Setting, plan: StairPlan) -> float:
    trim = layout.parameters.trim
    return plan.spot.parameters.side_overhang + (trim.thickness if trim.fascia else 0.0)


def _notches(layout: Setting, plan: StairPlan, landing: Landing, field: _Field):
    """(x0, x1, s0, s1) round every guard post in the way of a field, open to the side on which it stands out."""
    c, far = layout.parameters.surface.notch_clearance, field.edge + field.way * field.depth
    back, front = sorted((field.edge, far))
    found = []
    # the next landing's rail begins at the post: no ear of a board is left beside it over a single step
    ear = EAR if plan.flights[landing.index + 1].one_step else 0.0
    for x0, x1, s0, s1 in _post_boxes(plan, landing):
        if x1 + c <= back or x0 - c >= front or s1 + c <= field.low or s0 - c >= field.high:
            continue
        a, b = x0 - c, x1 + c
        if x0 >= landing.front - ONLY_TOUCHES:  # in front of the frame
            s0 = field.low - 1 if s0 - c - field.low < ear else s0 - c
            s1 = field.high + 1 if field.high - s1 - c < ear else s1 + c
            found.append((a, front + 1, s0, s1))
        elif s0 < landing.sides[0] - ONLY_TOUCHES:
            found.append((a, b, field.low - 1, s1 + c))
        elif s1 > landing.sides[1] + ONLY_TOUCHES:
            found.append((a, b, s0 - c, field.high + 1))
        else:
            found.append((a, b, s0 - c, s1 + c))
    return found


def _post_boxes(plan: StairPlan, landing: Landing, kind: str = "") -> list[tuple[float, float, float, float]]:
    """(x0, x1, s0, s1) of the guard posts round a landing, of one kind or of all."""
    f = landing.above
    found = []
    for post in plan.posts:
        # one at the top of a single step stands beside the landing below it too
        if f.index - f.one_step <= post.flight <= f.index + 1 and kind in ("", post.kind):
            at = [f.position(q) for q in post.polygon.exterior.coords]
            xs, ss = [a[0] for a in at], [a[1] for a in at]
            found.append((min(xs), max(xs), min(ss), max(ss)))
    return found


def _fascia(layout: Setting, shop: Workshop, plan: StairPlan, landing: Landing, about) -> list[Part]:
    """On the rims beside and before the landing, giving way to guard posts and to the next flight; where the stair
    turns back also between the flights. Before a straight landing the next flight's first riser stands."""
    trim, f, w = layout.parameters.trim, landing.above, landing.above.width
    if not trim.fascia:
        return []
    t, bottom, top = trim.thickness, landing.frame_bottom, landing.frame_top
    x0, x1, (low, high) = landing.back, landing.front, landing.sides
    taken = _post_boxes(plan, landing)
    across = {
        "straight": [],
        "left": [(x1, x1 + t, -t, w)],
        "right": [(x1, x1 + t, 0.0, w + t)],
        "back": [(x1, x1 + t, low - t, high + t), (x0 - t, x0, *landing.between)],
    }[landing.turn]
    (ear_low, ear_high), ear = landing.rims_across, landing.rim_plies * layout.joist.thickness
    ears = [(a, b) for a, b in ((ear_low, low), (high, ear_high)) if b > a]
    taken += [(x, x + ear, a, b) for a, b in ears for x in (x0, x1 - ear)]
    if landing.turn in ("left", "right"):
        taken.append((x1 - w, x1, *((w, w + t) if landing.turn == "left" else (-t, 0.0))))
    stock = trim_stock(trim, layout.parameters.maker.fascia, top - bottom)
    parts = []
    # under one step the fascia beside the flight, if any, covers the corner
    starts = [f.run if f.one_step and beside_fascia(plan, f, side) else x0 for side in ("start", "end")]
    rooms = _rooms(layout, landing)
    for a, b, c, d, room in [
        (starts[0], x1, low - t, low, rooms["start"]),
        (starts[1], x1, high, high + t, rooms["end"]),
    ]:
        if room < t:
            continue
        busy = [(q[0], q[1]) for q in taken if q[2] < d - ONLY_TOUCHES and q[3] > c + ONLY_TOUCHES]
        parts += [
            shop.upright("fascia", stock, f.rectangle(u, v, c, d), bottom, top, tuple(f.out), **about)
            for u, v in _free(a, b, busy)
        ]
    for a, b, c, d in across:
        busy = [(q[2], q[3]) for q in taken if q[0] < b - ONLY_TOUCHES and q[1] > a + ONLY_TOUCHES]
        parts += [
            shop.upright("fascia", stock, f.rectangle(a, b, u, v), bottom, top, tuple(f.across), **about)
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
