"""Two stairs that reach one convex corner, each from its own edge, with posts on their stringers there: one post serves
both guards where it stands in the line of both, else the second stair's is moved down, clear of the first's.

Common practice, no source. Lengths in inches, plan coordinates.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from shapely.geometry import Polygon

from .edges import square
from .guard_need import stair_has_guard
from .rail_lay import top_rail_section
from .spots import SharedPost, StairSpot
from .stages import Setting
from .stair_spots import past_the_edge, sleeve_wall

_STEP = 1 / 16  # inches by which a post is moved down
_FURTHEST = 24.0  # inches down within which it has to be clear; our own
_DOWN = 120.0  # inches of a stair looked at beside such a post; our own
_CLEAR = 1e-6  # square inches
ON_POST = 0.5  # of a rail's width that has to end on a post; our own


def posts_shared(layout: Setting, stairs: Sequence[StairSpot]) -> tuple[StairSpot, ...]:
    """The stairs, with the posts at their tops that another's serves, or that stand further down."""
    found = {s.index: s for s in stairs}
    for before, after in _meeting(layout, stairs):
        (one, one_side), (two, two_side) = sorted(((before, "end"), (after, "start")), key=lambda p: p[0].index)
        one, two = found[one.index], found[two.index]
        stand = one_side in one.own_posts, two_side in two.own_posts
        if not all(stand):  # a handrail's alone keeps clear of the other's steps
            one = _clear_of(layout, one, one_side, [_steps(two)]) if stand[0] else one
            two = _clear_of(layout, two, two_side, [_steps(one)]) if stand[1] else two
            found |= {one.index: one, two.index: two}
            continue
        one = _clear_of(layout, one, one_side, [_steps(two)])
        if _serves(layout, one, one_side, two, two_side):
            two = _sharing(layout, two, two_side, one, one_side)
        elif _serves(layout, two, two_side, one, one_side):
            one = _sharing(layout, one, one_side, two, two_side)
        else:
            two = _clear_of(layout, two, two_side, [_steps(one), _guard_of(layout, one, one_side)])
        found |= {one.index: one, two.index: two}
    return tuple(found[s.index] for s in stairs)


def _meeting(layout: Setting, stairs: Sequence[StairSpot]) -> Iterator[tuple[StairSpot, StairSpot]]:
    """Stairs whose edges meet in a convex corner, the one of the edge before it first."""
    for before in stairs:
        second = layout.outline.after(before.edge)
        yield from ((before, s) for s in stairs if s.edge is second and layout.outline.turn(second) > 0)


def _square_of(layout: Setting, spot: StairSpot, side: str, more: float = 0.0) -> Polygon:
    """The plan of the post on a stair's stringer at its top, and `more` round it."""
    size, x = layout.parameters.stock(layout.parameters.guard.post).width, post_x(layout, spot, side)
    low = spot.start - size if side == "start" else spot.end
    return spot.edge.rectangle(low - more, low + size + more, -x - size - more, -x + more)


def post_x(layout: Setting, spot: StairSpot, side: str) -> float:
    """How far out from the edge the post on the stringer at the top of a stair begins."""
    return dict(spot.posts_down).get(side, past_the_edge(layout, spot))


def _steps(spot: StairSpot) -> Polygon:
    return spot.edge.rectangle(spot.start, spot.end, -_DOWN, 0.0)


def _guard_of(layout: Setting, spot: StairSpot, side: str) -> Polygon:
    """The plan of a stair's guard on a side, with sleeves, from its first post down."""
    size, wall = layout.parameters.stock(layout.parameters.guard.post).width, sleeve_wall(layout)
    x, low = post_x(layout, spot, side), spot.start - size if side == "start" else spot.end
    return spot.edge.rectangle(low - wall, low + size + wall, -x - _DOWN, wall - x)


def _clear_of(layout: Setting, spot: StairSpot, side: str, others: Sequence[Polygon]) -> StairSpot:
    """The stair with its post on a side as far down as keeps it, with its sleeve, clear of others; where it was when
    none within `_FURTHEST` is."""
    at, wall = past_the_edge(layout, spot), sleeve_wall(layout)
    for n in range(math.ceil(_FURTHEST / _STEP)):
        moved = replace(spot, posts_down=(*((s, x) for s, x in spot.posts_down if s != side), (side, at + n * _STEP)))
        here = _square_of(layout, moved, side, wall)
        if all(here.intersection(o).area < _CLEAR for o in others):
            return moved if n else spot
    return spot


def _serves(layout: Setting, owner: StairSpot, side: str, guest: StairSpot, other: str) -> bool:
    """Whether the post of one stair stands where the other's guard would begin: in the line of its rails, square to
    them, and no further down than its own post would reach."""
    if not (stair_has_guard(layout, owner) and stair_has_guard(layout, guest)):
        return False
    corner = guest.edge if other == "start" else layout.outline.after(guest.edge)
    g, stock = layout.parameters.guard, layout.parameters.stock
    size, wide = stock(g.post).width, top_rail_section(g, stock)[0]
    line = guest.start - size / 2 if other == "start" else guest.end + size / 2
    at = [guest.edge.position(q) for q in _square_of(layout, owner, side).exterior.coords]
    low, high = min(s for s, _ in at), max(s for s, _ in at)
    down = -min(inside for _, inside in at)
    shared = min(high, line + wide / 2) - max(low, line - wide / 2)
    own = past_the_edge(layout, guest)
    reaches = own < down <= own + size + _CLEAR
    return square(layout.outline.turn(corner)) and reaches and shared >= ON_POST * wide


def _sharing(layout: Setting, guest: StairSpot, side: str, owner: StairSpot, its: str) -> StairSpot:
    shared = SharedPost(side, owner.index, its, _square_of(layout, owner, its))
    return replace(
        guest, own_posts=tuple(s for s in guest.own_posts if s != side), shared_posts=(*guest.shared_posts, shared)
    )
