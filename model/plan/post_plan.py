"""Where guard posts stand, and the cleats that carry the headers of stairs beside them.

A guard post stands inside the rim, bolted to it. Corner, end and stair posts are fixed by the outline; posts between
them are spaced evenly and then moved, by the least amount, clear of the joists.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.ops import unary_union

from ...shared.points import pair
from ...shared.practice import practice
from ...shared.stock import lumber
from ..input.surveyed import surveyed
from .board_shapes import polygons
from .edges import FAR, Edge, in_line
from .guard_need import stair_has_guard
from .handrail_posts import sides_at_deck
from .line_stations import clear_of, is_clear, stations
from .posts_at_corner import posts_shared
from .spots import BaySpot, PostSpot, StairSpot
from .stages import Entered, Joisted, Posted, Setting, grown
from .stair_flights import hangs_at_deck, leaves_by_one_step

# inches along its edge within which a post that stands is one of the design's (our own: half the closest spacing)
REACH = 12.0
ONE_PLACE = 1e-6  # square inches: posts that share more stand in one place
ROUNDED_CORNER = 0.01  # inches by which a file's corners, given to so many places, let a piece reach too far
CLEAT_TOUCHES = 1e-3  # square inches: what shares less only touches
CLEAT_THICKNESS, CLEAT_WIDTH = lumber("2x4").thickness, lumber("2x4").width  # laid flat behind the rim
POST_ROOM = 8.0  # inches behind a rim that a post with its block needs clear of joists (our own)
CLEAT_SPACING = practice("cleat spacing")


def fixed_posts(layout: Entered) -> list[PostSpot]:
    """The posts in corners and beside stairs, which give way to nothing."""
    posts = _Posts(layout)
    for e in layout.outline.edges:
        _pairs(layout, posts, e)
    _as_they_stand(layout, posts.spots)
    return posts.spots


def plan_posts(
    layout: Joisted, joists: Sequence[tuple[float, Polygon]], held: Sequence[PostSpot] = ()
) -> tuple[Posted, list[PostSpot]]:
    """The fixed posts and those between them, clear of `joists`; the bays; and the cleats of the stairs' headers. With
    it the posts between, the `held` ones first, for which joists have to leave room: those leave none so near."""
    posts, no_room = _Posts(layout), list[PostSpot]()
    bays: list[BaySpot] = []
    for e in layout.outline.edges:
        for first, last in _pairs(layout, posts, e):
            if first != last:
                between, more = _line_posts(layout, e, posts.spots, first, last, posts.size, joists, held)
                no_room += more
                bays += [BaySpot(e.name, i, j) for i, j in itertools.pairwise([first, *between, last])]
    _as_they_stand(layout, posts.spots)
    size = layout.parameters.stock(layout.parameters.guard.post).width
    stairs: list[StairSpot] = []
    for spot in layout.stairs:
        stood = [p.polygon for p in posts.spots] + [j for _, j in joists] + [c for s in stairs for c in s.cleats]
        stairs.append(_with_own_posts(layout, _with_cleats(layout, spot, stood), posts.spots, size))
    posted = grown(layout, Posted, posts=tuple(posts.spots), bays=tuple(bays), stairs=posts_shared(layout, stairs))
    return posted, no_room


def _pairs(layout: Entered, posts: _Posts, e: Edge) -> list[tuple[int, int]]:
    """Sets the fixed posts of an edge; between the two of each pair the edge is guarded."""
    beside_stairs = _stair_posts(layout, e, posts.size)
    if e.name not in layout.guarded:
        for (index, _), along in beside_stairs.items():
            if along is not None:
                posts.beside(e, along, index)
        return []
    # round a corner that steps go round there is none either, and no post
    # nor between a stair and the house's wall so near beside it that no post fits there
    joined = {side for s in layout.stairs if s.edge is e for side in ("start", "end") if side not in s.guardable}
    joined |= {end for end in ("start", "end") if _stairs_meet(layout, e, end, posts.size)}
    ends = [] if "start" in joined else [posts.corner(e, True)]
    # up to a stair that reaches the corner there is nothing to guard
    for (index, side), along in beside_stairs.items():
        if along is None and side in joined:
            continue
        ends.append(posts.corner(e, side == "start") if along is None else posts.beside(e, along, index))
    if "end" not in joined:
        ends.append(posts.corner(e, False))
    return list(zip(ends[::2], ends[1::2]))


def _stairs_meet(layout: Entered, e: Edge, end: str, size: float) -> bool:
    """Whether stairs reach the convex corner at an end of an edge from both edges, with posts on their stringers: no
    guard of the deck is left there."""
    outline = layout.outline
    before, after = (outline.before(e), e) if end == "start" else (e, outline.after(e))
    reach = [_stair_posts(layout, edge, size) for edge in (before, after)]
    up_to = [
        any(s == side and at is None and stair_has_guard(layout, layout.stairs[n]) for (n, s), at in found.items())
        for side, found in zip(("end", "start"), reach)
    ]
    return all(up_to) and outline.turn(after) > 0


class _Posts:
    """Guard posts as they are set, one by one: each corner's once."""

    def __init__(self, layout: Entered):
        self.layout, self.spots = layout, list[PostSpot]()
        self.size = layout.parameters.stock(layout.parameters.guard.post).width
        self._at_corner: dict[int, int] = {}

    def corner(self, edge: Edge, at_start: bool) -> int:
        """Position in `spots` of the post in the corner at an edge's start or end."""
        outline = self.layout.outline
        second = edge if at_start else outline.after(edge)
        if second.index not in self._at_corner:
            spot = _corner_post(self.layout, outline.before(second), second, self.size)
            self._at_corner[second.index] = self._one_place(spot)
        return self._at_corner[second.index]

    def beside(self, edge: Edge, along: float, stair: int) -> int:
        """Position in `spots` of the post beside a stair; one right at a corner shares the corner's post."""
        return self._one_place(_square(self.layout, edge, along, self.size, "stair", stair))

    def _one_place(self, spot: PostSpot) -> int:
        """Position in `spots` of a post, or of the one that stands in its place already and serves its edges too."""
        for n, p in enumerate(self.spots):
            if math.dist(p.centre, spot.centre) < self.size or p.polygon.intersection(spot.polygon).area > ONE_PLACE:
                # a corner's post stays where it is, whichever of the two came first
                kept, other = (spot, p) if p.kind == "stair" and spot.kind in ("corner", "end") else (p, spot)
                self.spots[n] = replace(kept, edges=tuple(dict.fromkeys((*kept.edges, *other.edges))))
                return n
        self.spots.append(spot)
        return len(self.spots) - 1


def _stair_posts(layout: Entered, e: Edge, size: float) -> dict[tuple[int, str], float | None]:
    """Where along an edge posts stand beside its stairs, by stair and side, in order along it; None where a side
    reaches so far into the corner that its post stands on the stringer instead."""
    found: dict[tuple[int, str], float | None] = {}
    room = layout.rim_of(e) + size
    for spot in sorted((s for s in layout.stairs if s.edge is e), key=lambda s: (s.start, s.end, s.index)):
        guarded = e.name in layout.guarded or stair_has_guard(layout, spot)
        wanted = ("start", "end") if guarded else sides_at_deck(layout, spot)
        for side in (side for side in wanted if side in spot.guardable):
            along = spot.start - size / 2 if side == "start" else spot.end + size / 2
            if along - size / 2 >= room - size - 1e-6 and along + size / 2 <= e.length - room + size + 1e-6:
                found[spot.index, side] = along
            else:
                found[spot.index, side] = along if guarded and _served_by_corner(layout, e, along, size) else None
    return found


def _with_own_posts(layout: Entered, spot: StairSpot, posts: Sequence[PostSpot], size: float) -> StairSpot:
    """A stair with the sides at whose top its posts stand on the stringers, where it has any there: where it reaches so
    far into a corner, or where the one of `posts` in the corner, which stands for that beside it, is set too far in,
    stands turned to the stair, or so far past it that its rails would miss half of its face."""
    if leaves_by_one_step(layout, spot):
        return spot
    inside, found = layout.rim_of(spot.edge) + size / 2, []
    for (n, side), at in _stair_posts(layout, spot.edge, size).items():
        near = [
            p
            for p in posts
            if at is not None
            and math.dist(p.centre, spot.edge.point(at, inside)) < size
            and abs(spot.edge.position(p.centre)[0] - at) <= size / 2 + 1e-6
        ]
        there = any(
            spot.edge.parallel_to(p.direction) or spot.edge.parallel_to((-p.direction[1], p.direction[0])) for p in near
        )
        if n == spot.index and not there:
            found.append(side)
    return replace(spot, own_posts=tuple(found))


def _served_by_corner(layout: Entered, e: Edge, along: float, size: float) -> bool:
    """Whether the post in the corner stands where the guard of a stair beside it can end: in front of more than half of
    the post that has no room beside it, and set no further in."""
    if e.name not in layout.guarded:
        return False
    first, second = (layout.outline.before(e), e) if along < e.length / 2 else (e, layout.outline.after(e))
    at, inside = e.position(_corner_post(layout, first, second, size).centre)
    return abs(at - along) <= size / 2 and math.hypot(at - along, inside - layout.rim_of(e) - size / 2) < size


def _as_they_stand(layout: Setting, posts: list[PostSpot]) -> None:
    """The posts that a survey measured, in the places of the nearest ones planned."""
    stands = surveyed(layout.parameters)
    for post in stands.posts if stands else ():
        n = post_at(layout, posts, post.edge, post.at + post.size / 2)
        if n is not None:
            edge, old = layout.outline[post.edge], posts[n]
            polygon = edge.rectangle(post.at, post.at + post.size, post.inside, post.inside + post.depth)
            centre = edge.point(post.at + post.size / 2, post.inside + post.depth / 2)
            posts[n] = PostSpot(polygon, centre, tuple(edge.direction), old.edges, old.kind, old.stair)


def post_at(layout: Setting, posts: Sequence[PostSpot], edge: str, along: float) -> int | None:
    """The planned post behind an edge nearest to a place along it; None where there is none within `REACH`."""
    e, size = layout.outline[edge], layout.parameters.stock(layout.parameters.guard.post).width
    near = []
    for n, p in enumerate(posts):
        s, inside = e.position(p.centre)
        if abs(s - along) <= REACH and 0 < inside < layout.rim_of(e) + 1.5 * size:
            near.append((abs(s - along), n))
    return min(near)[1] if near else None


def _square(layout: Setting, edge: Edge, along: float, size: float, kind: str, stair=None) -> PostSpot:
    r = layout.rim_of(edge)
    polygon = edge.rectangle(along - size / 2, along + size / 2, r, r + size)
    return PostSpot(polygon, edge.point(along, r + size / 2), tuple(edge.direction), (edge.name,), kind, stair)


def _corner_post(layout: Entered, first: Edge, second: Edge, size: float) -> PostSpot:
    """A post in the corner of the rims, one face along a rim."""
    turn = layout.outline.turn(second)
    # square to an edge that lies along or across the joists, so that one whole face bears on its rim and takes a block
    # behind
    longer = sorted((second, first), key=lambda e: (-round(e.length, 3), layout.distance_out(e.point(e.length / 2))))
    squared = [e for e in longer if layout.is_lengthwise(e) or e.parallel_to(layout.across)]
    # where the corner is out of square one face alone is flat on a rim: not on a ledger, nor past a reflex corner on a
    # rim that ends there
    squared.sort(key=lambda e: (layout.has_ledger(e), turn < 0 and not layout.is_lengthwise(e)))
    d = (squared or longer)[0].direction
    n = np.array([-d[1], d[0]])

    def reach(e: Edge) -> float:
        return layout.rim_of(e) + size / 2 * (abs(float(d @ e.inward)) + abs(float(n @ e.inward)))

    if in_line(turn):
        c = np.asarray(second.point(0.0, reach(second)))
    else:
        c = np.asarray(layout.outline.corner(first, reach(first), second, reach(second)))
    h = size / 2
    polygon = Polygon([c - d * h - n * h, c + d * h - n * h, c + d * h + n * h, c - d * h + n * h])
    names = tuple(e.name for e in (first, second) if e.name in layout.guarded)
    return PostSpot(polygon, (float(c[0]), float(c[1])), pair(d), names, "corner" if len(names) > 1 else "end")


def _line_posts(layout, edge, posts, first, last, size, joists, held) -> tuple[list[int], list[PostSpot]]:
    """Positions of the posts between two, added to `posts`; and those of them that joists have to leave room for,
    `held` before or found now, since those leave none so near."""
    a, b = edge.position(posts[first].centre)[0], edge.position(posts[last].centre)[0]
    taken = [] if layout.is_lengthwise(edge) else _behind(edge, layout.rim_of(edge), POST_ROOM, [j for _, j in joists])
    most, ahead = layout.parameters.guard.post_spacing, layout.ahead(edge.direction)
    stand = sorted(s for p in held if p.edges == (edge.name,) for s in [edge.position(p.centre)[0]] if a < s < b)
    added, more = [], []
    for low, high in itertools.pairwise([a, *stand, b]):
        places = stations(low, high, size, most, taken, ahead)
        for at in [*places, *([high] if high < b else [])]:
            spot = _square(layout, edge, at, size, "line")
            if not any(p.polygon.intersection(spot.polygon).area > ONE_PLACE for p in posts):
                added.append(len(posts))
                posts.append(spot)
                more += [spot] if at in stand or not is_clear(at, size, taken) else []
    return added, more


def _behind(edge: Edge, behind: float, deep: float, shapes: Sequence[Polygon]) -> list[tuple[float, float]]:
    """From where to where along an edge each shape lies in the band from `behind` the edge so `deep`."""
    found = []
    for near in shapely.intersection(list(shapes), edge.rectangle(-1e3, edge.length + 1e3, behind, behind + deep)):
        if near.geom_type == "Polygon" and near.area > 0:
            along, inside = zip(*(edge.position(p) for p in near.exterior.coords))
            if max(inside) - min(inside) > ROUNDED_CORNER:
                found.append((min(along), max(along)))
    return found


def behind_tipping_headers(layout: Posted, fixed: Sequence[PostSpot]) -> dict[tuple[int, int], Polygon]:
    """By stair and number, the plan of what joists have to leave free behind its header where those that meet the edge
    on the skew take the room of all cleats but one: their depth from end to end, with the fixed posts beside it; where
    the joists beside that would stand further apart than others, the room of a cleat at either end."""
    found = {}
    for spot in layout.stairs:
        centres = [spot.edge.position(c.centroid.coords[0])[0] for c in spot.cleats]
        hung = len(centres) > 1 and max(centres) - min(centres) >= CLEAT_WIDTH
        if hung or not hangs_at_deck(layout, spot):
            continue
        r = layout.rim_of(spot.edge)
        strip = spot.edge.rectangle(spot.start, spot.end, r, r + CLEAT_THICKNESS)
        beside = [p.polygon for p in fixed if p.polygon.distance(strip) < CLEAT_TOUCHES]
        free = unary_union([strip, *beside]).convex_hull
        if _wide_across(layout, free) <= layout.joist_spacing:
            found[spot.index, 0] = free
            continue
        half = CLEAT_WIDTH / 2
        ends = spot.start + half + 1, spot.end - half - 1
        for n, at in enumerate(ends, 1):
            room = spot.edge.rectangle(at - half, at + half, r, r + CLEAT_THICKNESS)
            there = any(abs(c - at) < abs(c - other) for c in centres for other in ends if other != at)
            if not there and _wide_across(layout, room) <= layout.joist_spacing - layout.joist.thickness:
                found[spot.index, n] = room
    return found


def _wide_across(layout: Setting, shape: Polygon) -> float:
    """How far a plan shape reaches across the joists."""
    return float(np.ptp(np.asarray(shape.exterior.coords) @ layout.across))


def _with_cleats(layout: Setting, spot: StairSpot, stood: Sequence[Polygon]) -> StairSpot:
    """The stair with the cleats behind its header: where a rim or ledger that slants in over them at a sharp corner
    leaves it fewer than two, those clear of that."""
    if not hangs_at_deck(layout, spot):  # no header hangs there
        return replace(spot, cleats=())
    cleats = _cleats(layout, spot, stood, [])
    if len(cleats) < 2:
        r = layout.rim_of(spot.edge)
        strip = spot.edge.rectangle(0.0, spot.edge.length, r, r + CLEAT_THICKNESS)
        over = _behind(spot.edge, r, CLEAT_THICKNESS, polygons(strip.difference(layout.inner)))
        cleats = max(cleats, _cleats(layout, spot, stood, over), key=len)
    return replace(spot, cleats=tuple(cleats))


def _cleats(
    layout: Setting, spot: StairSpot, stood: Sequence[Polygon], over: Sequence[tuple[float, float]]
) -> list[Polygon]:
    inset = CLEAT_WIDTH / 2 + 1
    before, after = layout.outline.before(spot.edge), layout.outline.after(spot.edge)
    a = max(spot.start + inset, layout.rim_of(before) + CLEAT_WIDTH / 2)
    b = min(spot.end - inset, spot.edge.length - layout.rim_of(after) - CLEAT_WIDTH / 2)
    if b <= a:
        a = b = (spot.start + spot.end) / 2
    count = max(1, math.ceil((b - a) / CLEAT_SPACING))
    r = layout.rim_of(spot.edge)
    cleats: list[Polygon] = []
    taken = [*_behind(spot.edge, r, CLEAT_THICKNESS, stood), *over]
    # nor in the rims of the edges beside it
    taken += [(-FAR, layout.rim_of(before)), (spot.edge.length - layout.rim_of(after), FAR + spot.edge.length)]
    # nor where those of a stair stand that this one goes on as, round a corner
    start, end = ((r + CLEAT_THICKNESS) * slope if slope else -FAR for slope in spot.mitres)
    taken += [(-FAR, start), (spot.edge.length - end, FAR + spot.edge.length)]
    ahead = layout.ahead(spot.edge.direction)
    for k in range(count + 1)[::ahead]:
        s = clear_of(a + (b - a) * k / count, CLEAT_WIDTH, taken, ahead)
        cleat = spot.edge.rectangle(s - CLEAT_WIDTH / 2, s + CLEAT_WIDTH / 2, r, r + CLEAT_THICKNESS)
        within = a - CLEAT_WIDTH <= s <= b + CLEAT_WIDTH and cleat.difference(layout.inner).area < CLEAT_TOUCHES
        if within and not any(cleat.intersection(o).area > CLEAT_TOUCHES for o in (*stood, *cleats)):
            cleats.append(cleat)
            taken += _behind(spot.edge, r, CLEAT_THICKNESS, [cleat])
    return cleats
