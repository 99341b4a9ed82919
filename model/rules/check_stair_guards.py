"""Guard rules on the open sides of flights: where one is needed, its height over the nosings, openings, the triangle.

Openings are found by looking square at the side of the flight, as far up as the least height of a stair's guard.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
from shapely.geometry import Polygon
from shapely.ops import unary_union

from ...shared.said import Words, decimal, said, together
from ..measuring.flight_seen import FlightSeen, along, runs_with
from ..measuring.measure import Measured
from ..measuring.silhouette import openings, seen, top_at, widest
from ..plan.beside_house import closes
from ..solid.roles import named
from .check_result import Checking, places

BARRIER = named("bars")
_STANDS = ("guard post", "post sleeve")
BESIDE_WALL = "the house's wall stands beside it"
NOT_BESIDE = 12.0  # inches: posts further apart have no guard's corner between them; our own
SLOPING = 3.0  # degrees: a guard bay less steep is level


def check_flight_guards(c: Checking, f: FlightSeen) -> None:
    """Both sides of a flight: where it is open more than the trigger above grade there must be a guard. One step has no
    side of its own: it lies between the edges of what it leaves and what it lands on."""
    if not f.treads:
        return
    trigger = c.row("guard_required_height_above_grade")
    within = c.row("guard_required_horizontal_reach")
    sphere = c.row("guard_opening_sphere")  # a narrower opening at the guard's end is none
    reach, room = float(within.value), float(sphere.value)
    for side, at, mitred in zip(("right going down", "left going down"), f.sides, f.mitred):
        place = f"{f.name} {side}"
        heights = [
            t.level - min(c.deck.planes.grade(*(f.out * t.front + f.across * (at + o))) for o in (-reach, 0.0, reach))
            for t in f.steps
        ]
        open_to = [t.front for t, h in zip(f.steps, heights) if h > float(trigger.value) + 1e-6]
        barrier = _on_side(c, f, at)
        rails = [m for m in barrier if m.role == "top rail" and abs(m.axis[2]) > 0.05]
        if c.lacks("guard needed on a stair", place, trigger, within, sphere, ids=places(rails)):
            pass
        elif mitred:
            c.state("guard needed on a stair", trigger, True, place, "its steps go on there, round the corner")
        elif _beside_wall(c, f, at, room):
            c.state("guard needed on a stair", trigger, True, place, BESIDE_WALL)
        elif not open_to:
            c.state(
                "guard needed on a stair",
                trigger,
                True,
                place,
                none_needed(said("at most {height}", height=above(heights)), rails),
            )
        elif not rails:
            c.state("guard needed on a stair", trigger, False, place, together(above(heights), "no guard found"))
        else:
            spans = [along(m, f.out) for m in barrier if m.role in ("top rail", "guard post", "post sleeve")]
            whole = min(a for a, _ in spans) < f.top.front + room and max(b for _, b in spans) > max(open_to) - room
            c.state(
                "guard needed on a stair",
                trigger,
                whole,
                place,
                together(above(heights), "a guard runs along it" if whole else "the guard stops short"),
                places(rails),
            )
        if rails:
            _stair_height(c, f, rails, place)
            _stair_openings(c, f, barrier, rails, place)
            _beside_the_deck(c, f, barrier, rails, place)


def _beside_wall(c: Checking, f: FlightSeen, at: float, within: float) -> bool:
    """Whether the house's wall stands beside a side of a flight, less than the ball off it."""
    start, end = (f.out * x + f.across * at for x in (f.top.front, f.last.front))
    return closes(c.deck.layout.house_wall, start, end, f.across if at > sum(f.sides) / 2 else -f.across, within)


def _beside_the_deck(
    c: Checking, f: FlightSeen, barrier: Sequence[Measured], rails: Sequence[Measured], place: str
) -> None:
    """Where a flight's rails begin at a post of its own, what is left open between that and the deck's post beside
    it."""
    own_posts = [m for m in barrier if m.role == "guard post" and m.part.stair is not None]
    head = min(own_posts, key=lambda m: along(m, f.out)[0], default=None)
    leaves_the_deck = any(m.part.stair is None for m in f.top.pieces)
    if head is None or not leaves_the_deck or along(head, f.out)[0] > min(along(m, f.out)[0] for m in rails):
        return
    stands = [m for m in c.of(*_STANDS) if m.part.stair is None]
    own = [m for m in c.of(*_STANDS) if m.part.stair == f.stair and m.part.footprint.intersects(head.part.footprint)]
    sticks = c.of("baluster")
    gaps = [(_left_open(a, b, sticks), b) for a in (head, *own) for b in stands if _apart(a, b) < NOT_BESIDE]
    gap, other = min(gaps, key=lambda g: g[0], default=(NOT_BESIDE, head))
    if gap < NOT_BESIDE:
        rule, row, ids = "guard opening at the corner", c.row("guard_opening_sphere"), places([head, other])
        if not c.lacks(rule, place, row, ids=ids):
            c.add(rule, row, "less than", gap, place, ids)


def _apart(a: Measured, b: Measured) -> float:
    return a.part.footprint.distance(b.part.footprint)


def _left_open(a: Measured, b: Measured, sticks: Sequence[Measured]) -> float:
    """The widest that is left between two posts in plan, and the balusters between them."""
    whole = a.part.footprint.union(b.part.footprint).convex_hull
    between = [m for m in sticks if whole.contains(m.part.footprint.centroid)]
    row = [a, *sorted(between, key=lambda m: _apart(a, m)), b]
    return max(_apart(p, q) for p, q in itertools.pairwise(row))


def _on_side(c: Checking, f: FlightSeen, at: float) -> list[Measured]:
    low, high = f.foot - 2, f.top.level + 60
    others = [b for b in c.seen.bays if b.slope > SLOPING and not runs_with(f, b.top)]
    taken = {m.id for b in others for m in (b.top, b.bottom, *b.balusters)}
    found = []
    for m in c.of(*BARRIER):
        if m.id in taken:  # another flight's, over, under or beside this one
            continue
        s0, s1 = along(m, f.across)
        a0, a1 = along(m, f.out)
        deck_post = m.part.stair is None and m.role in ("guard post", "post sleeve")
        if m.part.stair != f.stair and not deck_post:
            continue
        if (
            s0 > at - 7
            and s1 < at + 7
            and a1 > f.top.front - 12
            and a0 < f.last.front + 14
            and low < m.box[1][2]
            and m.box[0][2] < high
        ):
            found.append(m)
    return found


def _stair_height(c: Checking, f: FlightSeen, rails, place: str) -> None:
    heights = []
    for t in f.steps:
        tops = [z for m in rails if (z := top_at(m.part, f.out, t.front)) is not None]
        if tops:
            heights.append(max(tops) - t.level)
    if heights:
        c.add(
            "guard height on a stair",
            c.row("guard_height_min_open_side_of_stair"),
            "at least",
            min(heights),
            place,
            places(rails),
        )


def _stair_openings(c: Checking, f: FlightSeen, barrier, rails, place: str) -> None:
    limit, triangle = c.row("guard_opening_sphere_stair_side"), c.row("guard_triangle_sphere")
    height = c.row("guard_height_min_open_side_of_stair")
    if c.lacks("stair guard opening", place, height) and c.lacks("triangle under a stair guard", place, height):
        return
    least = float(height.value)
    steps = f.steps
    sloped = [m for m in barrier if m.role in ("top rail", "bottom rail") and abs(m.axis[2]) > 0.05]
    a0 = min(along(m, f.out)[0] for m in sloped)
    a1 = max(along(m, f.out)[1] for m in sloped)
    slope = (steps[0].level - steps[-1].level) / (steps[-1].front - steps[0].front)
    ring = [(a0, f.top.level), (f.top.front, f.top.level)]
    for upper, lower in zip(steps, [*f.treads, None]):
        level = lower.level if lower else f.foot
        ring.append((upper.front, level))
        if lower:
            ring.append((lower.front, level))
    ring = [p for p in ring if p[0] <= a1 + 1e-9]
    ring.append((a1, ring[-1][1]))
    over = [(a, f.top.level + least - max(0.0, a - f.top.front) * slope) for a in (a1, f.top.front, a0)]
    region = Polygon([*ring, *over]).buffer(0)
    own = [
        m.part
        for m in c.of("stringer", "tread", "riser", "skirt", "border", "board", "fascia")
        if m.part.stair == f.stair or m in f.top.pieces
    ]
    bottoms = [m for m in barrier if m.role == "bottom rail"]
    under = unary_union([_below(seen(m.part, f.out)) for m in bottoms]) if bottoms else Polygon()
    found = openings(region, [m.part for m in barrier] + own, f.out)
    low = [under.contains(o.representative_point()) for o in found]
    for name, row, chosen in (
        ("stair guard opening", limit, [o for o, below in zip(found, low) if not below]),
        ("triangle under a stair guard", triangle, [o for o, below in zip(found, low) if below]),
    ):
        if (most := widest(chosen)) is not None:
            ball, opening = most
            c.add(
                name,
                row,
                "less than",
                ball,
                place,
                places(rails),
                why=said("widest at {at} from the top nosing", at=decimal(float(opening.centroid.x - f.top.front), 1)),
            )
        else:
            c.skip(name, row, place, "no such opening found")


def above(heights: Sequence[float]) -> Words:
    """The greatest height of a flight's steps above grade."""
    return said("{high} above grade", high=decimal(max(heights)))


def none_needed(height: Words, rails: Sequence[Measured]) -> Words:
    """Why an edge needs no guard, and whether it has one."""
    return said("{height}: none needed" + (", there is one" if rails else ""), height=height)


def _below(shape) -> Polygon:
    """All that lies under a piece as seen."""
    x0, z0, x1, _ = shape.bounds
    ring = np.asarray(shape.convex_hull.exterior.coords)
    lower = sorted({(float(x), float(z)) for x, z in ring})
    ends = [min((p for p in lower if abs(p[0] - x) < 1e-6), key=lambda p: p[1]) for x in (x0, x1)]
    return Polygon([ends[0], ends[1], (x1, z0 - 60), (x0, z0 - 60)])
