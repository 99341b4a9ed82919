"""Guards and handrails along a flight: rails parallel to the pitch line with plumb ends, plumb balusters, mitred
returns.

Side views are drawn in the flight's own coordinates (x out and down, z a level) and extruded across it. A handrail and
its returns lie in one plane parallel to the pitch, so that the mitres are plain 45 degree cuts in that plane.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from shapely.geometry import Polygon

from ...shared.points import Vector, triple
from ...shared.practice import practice
from ...shared.standards import find_limit
from ...shared.stock import Stock, lumber
from ..input.guard_table import Guard
from ..plan.flight import Flight
from ..plan.handrail_posts import post_face
from ..plan.kit_cuts import kit_cut
from ..plan.rail_lay import top_rail_section
from ..plan.stages import Setting
from ..solid.part import Part, Place, Workshop
from .rails import LEAST_BAY, baluster_starts, baluster_stock, block_stock, blocked_over, bracket_stock, square_stock

OVER_NOSING = practice("bottom rail over the nosings")  # inches, plumb
LEAST_OVER = practice("least bottom rail over the nosings")
MARGIN = 1 / 16  # inches by which the sphere must not pass
BLOCK_DEEP, BLOCK_WIDE = lumber("2x4").thickness, lumber("2x4").width


def over_nosing(layout: Setting, f: Flight) -> float:
    """Height, plumb, of the bottom rail's underside above the pitch line.

    The largest ball in the triangle of riser, tread and rail has the diameter a + b - c of its sides; a, up the riser,
    is the rise, the rail's height and what the rail climbs over the nosing. So low that the published ball does not
    pass; where even the least height lets it, the check says so.
    """
    ball = find_limit("guard_triangle_sphere", layout.parameters.local.edition)
    if ball is None:  # an edition that limits no ball: the trade's own height, and the rule is not checked
        return OVER_NOSING
    run = 1 / f.slope
    tallest = (ball.value - MARGIN) / (1 + run - math.hypot(1, run))
    return max(LEAST_OVER, min(OVER_NOSING, tallest - f.rise - f.nosing * f.slope))


def span_x(f: Flight, polygon: Polygon) -> tuple[float, float]:
    """Least and greatest x of a plan polygon in a flight."""
    x = [f.position(p)[0] for p in polygon.exterior.coords]
    return min(x), max(x)


def span_s(f: Flight, polygon: Polygon) -> tuple[float, float]:
    s = [f.position(p)[1] for p in polygon.exterior.coords]
    return min(s), max(s)


def side_prism(
    shop: Workshop,
    f: Flight,
    role: str,
    stock: Stock,
    ring: Sequence[Vector],
    s0: float,
    s1: float,
    axis: Vector = (1.0, 0.0),
    **about: Any,
) -> Part:
    """A piece from its side view, a ring of (x, z), extruded across the flight from s0 to s1; `axis` (x, z) is its
    length."""
    ax, az = np.asarray(axis, float) / math.hypot(*axis)
    out = np.array([*f.out, 0.0])
    up = np.array([0.0, 0.0, 1.0])
    origin = np.array([*f.point(0.0, s1), 0.0])  # local z runs towards the start side
    place = Place(triple(origin), triple(out * ax + up * az), triple(up * ax - out * az))
    local = [(x * ax + z * az, z * ax - x * az) for x, z in ring]
    return shop.prism(role, stock, local, s1 - s0, place, **about)


def flight_top(guard: Guard, f: Flight, x: float) -> float:
    """Level of the top rail's upper edge at x."""
    return f.pitch_level(x) + guard.height


def bottom_rail_at(layout: Setting, f: Flight, x: float) -> tuple[float, float]:
    """Levels of the lower and upper edge of a flight's bottom rail at x."""
    plumb = f.hypotenuse / f.going  # plumb depth of an inch of rail
    low = f.pitch_level(x) + over_nosing(layout, f)
    return low, low + layout.parameters.stock(layout.parameters.guard.bottom_rail).width * plumb


def guard_bay(
    shop: Workshop,
    layout: Setting,
    f: Flight,
    side: str,
    first: Polygon,
    last: Polygon,
    shared: tuple[float, float] | None,
    under: tuple[Polygon, Polygon],
    **about: Any,
) -> list[Part]:
    """Rails and balusters of one bay of a flight between two posts (or their sleeves); nothing where they stand too
    close. `shared`: (s of their middle, room across) where another guard's rails end beside them, None where they run
    through the middle of the lower post. `under`: what the bottom rail ends on, the bare posts where it lies below
    their sleeves."""
    guard, size = layout.parameters.guard, layout.parameters.stock
    x0, x1 = span_x(f, first)[1], span_x(f, last)[0]
    if x1 - x0 < LEAST_BAY:
        return []
    line, room = shared or (sum(span_s(f, last)) / 2, math.inf)
    wide, high = top_rail_section(guard, size, room)
    top, bottom, stick = size(guard.top_rail), size(guard.bottom_rail), baluster_stock(guard)
    plumb = f.hypotenuse / f.going  # plumb depth of an inch of rail
    low = over_nosing(layout, f)
    axis = (f.going, -f.rise)

    def sloped(a: float, b: float, z0: float, z1: float):
        """The side view between two heights above the pitch line."""
        return [
            (a, f.pitch_level(a) + z0),
            (b, f.pitch_level(b) + z0),
            (b, f.pitch_level(b) + z1),
            (a, f.pitch_level(a) + z1),
        ]

    def laid(role: str, stock: Stock, ring, half: float, way) -> Part:
        return side_prism(shop, f, role, stock, ring, line - half, line + half, way, **about)

    upper, over = low + bottom.width * plumb, guard.height - high * plumb
    y0, y1 = span_x(f, under[0])[1], span_x(f, under[1])[0]
    parts: list[Part] = []
    kit = guard.kit
    if kit is not None and kit.bracket:
        for start, end, z0, z1 in ((x0, x1, over, guard.height), (y0, y1, low, upper)):
            for a, b in ((start, start + kit.bracket), (end - kit.bracket, end)):
                parts.append(laid("rail bracket", bracket_stock(kit), sloped(a, b, z0, z1), wide / 2, (0.0, 1.0)))
        x0, y0, x1, y1 = x0 + kit.bracket, y0 + kit.bracket, x1 - kit.bracket, y1 - kit.bracket
    parts += [
        laid("top rail", top, sloped(x0, x1, over, guard.height), wide / 2, axis),
        laid("bottom rail", bottom, sloped(y0, y1, low, upper), bottom.thickness / 2, axis),
    ]
    for a in _baluster_places(guard, x1 - x0, f):
        ring = sloped(x0 + a, x0 + a + guard.baluster, upper, over)
        parts.append(laid("baluster", stick, ring, guard.baluster / 2, (0.0, 1.0)))
    if (
        guard.foot_block and not f.solid and (x1 - x0) * plumb > blocked_over(guard)
    ):  # a solid stringer stands between tread and rail
        parts += _block(shop, f, side, line, block_stock(guard, bottom), low, (x0, x1), **about)
    return parts


def _baluster_places(guard: Guard, clear: float, f: Flight) -> list[float]:
    """How far out from the upper end of a bay's rails each baluster begins: in the holes of a kit's, whose pitch runs
    along the rake."""
    if guard.kit is None or guard.kit.stairs is None:
        return baluster_starts(clear, guard.baluster, guard.gap)
    level = f.going / f.hypotenuse  # level distance of an inch along the rake
    cut = kit_cut(clear / level, guard.kit.stairs)
    return [(cut.end + k * guard.kit.stairs.pitch) * level - guard.baluster / 2 for k in range(cut.holes)]


def _block(
    shop: Workshop, f: Flight, side: str, line: float, stock, low: float, bay: tuple[float, float], **about
) -> list[Part]:
    """A block from the tread nearest to mid-bay up to the bottom rail, laid across so that it stands on the tread; none
    in a bay so short that it would stand in a post. `bay`: x of both ends."""
    tread = min(f.treads, key=lambda t: abs(t.front - sum(bay) / 2))
    b = tread.front - 0.75
    if not bay[0] <= b - BLOCK_DEEP < b <= bay[1]:
        return []
    a = b - BLOCK_DEEP
    outer = stock.thickness / 2
    s0, s1 = (line - outer, line - outer + BLOCK_WIDE) if side == "start" else (line + outer - BLOCK_WIDE, line + outer)
    ring = [(a, tread.top), (b, tread.top), (b, f.pitch_level(b) + low), (a, f.pitch_level(a) + low)]
    return [side_prism(shop, f, "foot block", stock, ring, s0, s1, (0.0, 1.0), **about)]


def handrail_ends(layout: Setting, f: Flight, first: Polygon, last: Polygon) -> tuple[float, float]:
    """x at which a handrail's upper surface begins and ends: over the top riser or higher, over the lowest or lower."""
    wide = layout.parameters.guard.handrail_size * f.going / f.hypotenuse
    p0, p1 = span_x(f, first)
    upper = min(p1 - wide, max(p0, f.riser_face(0)))
    q0, q1 = span_x(f, last)
    return upper, min(q1, max(f.lowest, q0 + wide))  # the return must meet the post


def handrail_top(guard: Guard, f: Flight, x: float) -> float:
    return f.pitch_level(x) + guard.handrail_height


def handrail(shop: Workshop, layout: Setting, f: Flight, side: str, posts: list[Polygon], **about: Any) -> list[Part]:
    """The graspable rail of one side of a flight and its two returns, from the first post of the side to the last."""
    guard = layout.parameters.guard
    size = guard.handrail_size
    stock = square_stock("handrail", size)
    inward = 1.0 if side == "start" else -1.0
    faces = [post_face(f, side, [p]) for p in posts]
    near = max(faces) + guard.handrail_clearance
    far = near + size
    cosine, sine = f.going / f.hypotenuse, f.rise / f.hypotenuse
    x0, x1 = handrail_ends(layout, f, posts[0], posts[-1])
    u0, u1 = x0 / cosine, x1 / cosine
    out, across, up = np.array([*f.out, 0.0]), np.array([*f.across, 0.0]) * inward, np.array([0.0, 0.0, 1.0])
    slope, normal = out * cosine - up * sine, out * sine + up * cosine
    base = f.point(0.0, 0.0 if side == "start" else f.width)
    origin = np.array([*base, handrail_top(guard, f, 0.0)])
    if inward > 0:  # then the piece is extruded up the normal, from its underside
        origin = origin - normal * size

    def piece(ring, along: bool) -> Part:
        if along:
            place = Place(triple(origin), triple(slope), triple(across))
            return shop.prism("handrail", stock, ring, size, place, **about)
        place = Place(triple(origin), triple(across), triple(-slope))
        return shop.prism("handrail", stock, [(t, -u) for u, t in ring], size, place, **about)

    return [
        piece([(u0, far), (u0 + size, near), (u1 - size, near), (u1, far)], True),
        piece([(u0, faces[0]), (u0 + size, faces[0]), (u0 + size, near), (u0, far)], False),
        piece([(u1 - size, faces[-1]), (u1, faces[-1]), (u1, far), (u1 - size, near)], False),
    ]
