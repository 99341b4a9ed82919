"""Rims, ledgers and joists in plan, clipped to any outline.

Joists are centred at multiples of the spacing from the outer face of the starting rim, as a carpenter marks them. Where
a lengthwise support strip or a rim already lies within an inch of a joist's place, it stands in for the joist. Where a
guard post at a corner or a stair stands in a joist's place, a joist goes on either side of it instead. Joists that
stand already are taken as they lie, each along its own line.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

from ...shared.errors import DesignError
from ...shared.points import Vector
from ..input.surveyed import SurveyedJoist, SurveyedPost, surveyed
from ..solid.union import united, without_spikes
from .edges import FAR, Edge, in_line, square, still
from .spots import PostSpot
from .stages import Entered, Joisted, Rim, Setting, Surfaced, grown

IN_PLACE_OF_A_JOIST = 1.0  # inches of clear space below which a lengthwise member stands in for a joist
FACES_MEET = 1e-3  # inches: faces nearer than this meet
SLIVER = 0.6  # inches: a strip beside a joist's end no wider than this is no part of it (our own)
WIDER = 0.01  # inches by which a bay may be wider than the spacing leaves: rounding
HITS = 0.01  # square inches of plan: a joist that shares more with what stands in its place gives way
CROSSES = 1e-3  # square inches: members that share less in plan only touch
MOST_HALVINGS = 4  # each halves the bays that are too wide
HAIR_WIDE = 1e-5  # inches: half of what rounding alone lets two members overlap, however long
# inches: two measured pieces that overlap by more cannot both stand where they were measured (our own)
STANDS_CLEAR = 0.5


def rims(layout: Setting, posts: Sequence[Polygon] = ()) -> tuple[Rim, ...]:
    """(edge, ply, plan footprint) of every rim and ledger, outer ply first. `posts`: guard posts that cannot give way.

    At square corners, and against a ledger, one member runs through and the other butts: ledgers before members across
    the joists before those along them. At other corners both are mitred on the bisector. A rim along the joists runs on
    past a reflex corner as a joist, so that the other arm of the corner has something to hang on, as far as nothing
    stands in its place.
    """
    laid: list[tuple[Edge, int, Polygon, bool]] = []
    for e in layout.outline.edges:
        thickness = layout.joist.thickness
        plies = 1 if layout.has_ledger(e) else layout.rim_plies(e)
        for k in range(plies):
            near, far = {e.name: k * thickness}, {e.name: (k + 1) * thickness}
            for other in (layout.outline.before(e), layout.outline.after(e)):
                near[other.name], far[other.name] = _corner(layout, e, other, k)
            laid.append((e, k, layout.outline.strip(e, near, far), FAR in near.values()))
    result: list[Rim] = []
    for e, k, polygon, runs_on in laid:
        if runs_on:
            others = [q for o, _, q, far in laid if o is not e and not far]
            own = (_own(o, q) for o, _, q, far in laid if o is not e and far)
            others += [q for q in own if q.difference(polygon).area > CROSSES]  # else in line with this one
            passed = [q for o, _, q in result if layout.is_lengthwise(o)]
            kept = _as_far_as_free(layout, e, polygon, others, posts, passed)
            result += [] if kept is None else [(e, k, kept)]
        else:
            result.append((e, k, polygon))
    return tuple(result)


def _own(edge: Edge, polygon: Polygon) -> Polygon:
    """What of a rim that runs on lies along its own edge."""
    return polygon.intersection(edge.rectangle(0, edge.length, -1, FAR))


def _as_far_as_free(
    layout: Setting,
    edge: Edge,
    polygon: Polygon,
    others: Sequence[Polygon],
    posts: Sequence[Polygon],
    passed: Sequence[Polygon],
) -> Polygon | None:
    """A rim that runs on, from its edge as far as the rims and ledgers across the joists, or where something else
    stands in its place: `others`, rims and ledgers, or before it a guard post with the block along its back. An edge in
    line with one of the rims `passed` already has its rim, or what is left of it."""
    t = layout.joist.thickness
    rest = unary_union(_areas(layout.outline.polygon.intersection(polygon)))
    across, in_line_with = _end_bands(layout, edge), unary_union([q.buffer(1e-6) for q in passed])
    stops = [(q, 0.0) for q in (across, in_line_with, *others)] + [(q, t) for q in posts]
    for other, room in stops:
        for hit in _areas(rest.intersection(other)):
            if room or _extent(hit, edge.inward) < t - FACES_MEET:  # never planed thinner for what stands beside it
                s = [edge.position(q)[0] for q in hit.exterior.coords]
                hit = edge.rectangle(min(s) - room, max(s) + room, -FAR, FAR)
            rest = rest.difference(hit)
        if not rest.intersection(other).buffer(-HAIR_WIDE).is_empty:  # a tip is a clash over its depth
            rest = rest.difference(other)
    pieces = [without_spikes(g) for g in _areas(rest.difference(across)) if g.area > 6 * t]
    return max(pieces, key=lambda g: (round(_own(edge, g).area, 6), g.area), default=None)


def _areas(shape: Any) -> list[Polygon]:
    """The polygons of a plan geometry in which two members share more than they touch."""
    return [g for g in shapely.get_parts(shape) if isinstance(g, Polygon) and g.area > CROSSES]


def running_on(layout: Joisted) -> tuple[tuple[float, Polygon], ...]:
    """(position across, plan footprint) of rims that run on past a reflex corner: to posts of other edges they are
    joists."""
    found = [
        poly for e, _, poly in layout.rims if layout.is_lengthwise(e) and _extent(poly, layout.along) > e.length + 6
    ]
    return tuple((float(np.dot(p.centroid.coords[0], layout.across)), p) for p in found)


def _end_bands(layout: Setting, edge: Edge):
    """Rims and ledgers across the joists: where a running-on rim stops. At the neighbours of its own edge, and of those
    in line with it, it is cut to their corner, or by their rims: a mitred one would take the whole corner."""
    edges = layout.outline.edges
    own = [o for o in edges if all(abs(edge.position(p)[1]) < FACES_MEET for p in (o.start, o.end))]
    skip = {n.name for o in own for n in (o, layout.outline.before(o), layout.outline.after(o))}
    bands = []
    for o in edges:
        if o.name in skip or layout.is_lengthwise(o):
            continue
        none = dict.fromkeys(layout.outline.names, 0.0)
        bands.append(layout.outline.strip(o, none, {**none, o.name: layout.rim_of(o)}))
    return unary_union(shapely.make_valid(np.array(bands, dtype=object)))  # a short edge's may cross itself


def _corner(layout: Setting, edge: Edge, other: Edge, ply: int) -> tuple[float, float]:
    """The neighbour's two distances at which this edge's ply ends."""
    outline, t = layout.outline, layout.joist.thickness
    second = edge if outline.before(edge) is other else other
    turn = outline.turn(second)
    if in_line(turn):
        return 0.0, 0.0
    across = not (layout.is_lengthwise(edge) or layout.is_lengthwise(other))
    if turn < 0 and square(turn) and (across or (layout.has_ledger(edge) and layout.has_ledger(other))):
        # round a corner of the house, or where both cross the joists at a slant and neither runs on as one, one member
        # runs past the other's end, so that the corner is no hole
        return (layout.rim_of(other),) * 2 if _rank(layout, edge) > _rank(layout, other) else (0.0, 0.0)
    if turn < 0 and square(turn) and any(layout.has_ledger(e) and layout.is_lengthwise(e) for e in (edge, other)):
        return (0.0, 0.0) if layout.has_ledger(edge) else (layout.rim_of(other),) * 2  # a ledger ends with its wall
    if turn < 0 and (square(turn) or layout.is_lengthwise(edge) or layout.is_lengthwise(other)):
        runs_on = layout.is_lengthwise(edge) and not layout.has_ledger(edge)
        return (FAR, FAR) if runs_on else (0.0, 0.0)
    if not (square(turn) or layout.has_ledger(edge) or layout.has_ledger(other)):
        if ply >= layout.rim_plies(other):  # behind the last ply of a thinner neighbour it ends on that one's face
            return (layout.rim_of(other),) * 2
        return ply * t, (ply + 1) * t
    through = _rank(layout, edge) > _rank(layout, other)
    return (0.0, 0.0) if through else (layout.rim_of(other),) * 2


def _rank(layout: Setting, e: Edge):
    """Of two members that meet at a square corner the higher one runs through."""
    near = layout.distance_out(e.point(e.length / 2))
    return layout.has_ledger(e), not layout.is_lengthwise(e), round(e.length, 3), [-x for x in near]


def set_out_joists(
    layout: Entered, fixed: Sequence[PostSpot], stood: Sequence[Rim], free: Sequence[Polygon] = ()
) -> Joisted:
    """The plan with its joists; where the deck's middle lies as near to one end as to the other they are set out from
    the end from which they are fewest, and of equally many shortest together. `fixed` are guard posts that cannot give
    way, `stood` the rims and ledgers; in what is to be left `free` no joist lies either."""
    across, along = layout.from_ends
    corners = np.asarray(layout.outline.polygon.exterior.coords) @ across
    middle = float(np.dot(layout.outline.polygon.centroid.coords[0], across))
    alike = abs(corners.min() + corners.max() - 2 * middle) < WIDER
    choices = []
    for sign in (1, -1) if alike else (1,):
        there = replace(layout, from_ends=(still(across * sign), along))
        lines = _joist_lines(there, fixed, stood, free)
        choices.append((len(lines), round(sum(q.length for _, q in lines), 3), there, lines))
    *_, chosen, lines = min(choices, key=lambda choice: choice[:2])  # of equal ones the first
    return grown(chosen, Joisted, rims=tuple(stood), joist_lines=lines)


def _joist_lines(
    layout: Surfaced, fixed: Sequence[PostSpot], stood: Sequence[Rim], free: Sequence[Polygon]
) -> tuple[tuple[float, Polygon], ...]:
    """(position across, plan footprint) of every joist."""
    stands = surveyed(layout.parameters)
    if stands and stands.joists:
        measured = [measured_post(layout, p) for p in stands.posts]
        return tuple(_surveyed_lines(layout, stands.joists, [p.polygon for p in fixed] + measured, stood))
    t, spacing = layout.joist.thickness, layout.joist_spacing
    corners = np.asarray(layout.outline.polygon.exterior.coords) @ layout.across
    low, high = float(corners.min()), float(corners.max())
    start, step = (low, spacing) if layout.ahead(layout.across) > 0 else (high, -spacing)
    taken = [s.polygon for s in layout.strips if s.lengthwise]
    rim_footprints = [poly for _, _, poly in stood]
    obstacles = taken + [poly for e, _, poly in stood if layout.is_lengthwise(e)]
    count = int((high - low) / spacing + 1e-9)
    gives_way_to = [*free, *(p.polygon for p in sorted(fixed, key=lambda p: layout.distance_out(p.centre)))]
    wanted = [start + k * step for k in range(1, count + 1)]
    lines: list[tuple[float, Polygon]] = []

    def clip(w: float) -> list[Polygon]:
        return _clip(layout, w, obstacles, rim_footprints)

    for v in wanted:
        for at, piece in _run_through(layout, v, obstacles, rim_footprints):
            hit = next((p for p in gives_way_to if p.intersection(piece).area > HITS), None)
            lines += [(at, piece)] if hit is None else _apart(_beside(layout, piece, hit, free, clip), lines, t)
    lines = _in_order(layout, lines)
    for _ in range(MOST_HALVINGS):
        more = _in_wide_bays(layout, lines, obstacles, rim_footprints)
        more = [(v, q) for v, q in more if not any(p.intersection(q).area > CROSSES for p in free)]
        if not more:
            break
        for v, q in list(more):
            hit = next((p for p in gives_way_to if p.intersection(q).area > HITS), None)
            beside = _apart(_beside(layout, q, hit, free, clip), lines, t) if hit is not None else []
            if beside:
                more.remove((v, q))
                more += beside
        lines = _in_order(layout, lines + more)
    return tuple(lines)


def _apart(
    found: Iterable[tuple[float, Polygon]], lines: Sequence[tuple[float, Polygon]], t: float
) -> list[tuple[float, Polygon]]:
    """Those of the joists found, `t` thick, that overlap neither one of `lines` nor one found before."""
    kept: list[tuple[float, Polygon]] = []
    for w, q in found:
        if not any(abs(w - u) < t - 1e-6 and q.intersection(o).area > CROSSES for u, o in (*lines, *kept)):
            kept.append((w, q))
    return kept


def _beside(
    layout: Setting,
    piece: Polygon,
    hit: Polygon,
    free: Sequence[Polygon],
    clip: Callable[[float], list[Polygon]],
) -> Iterator[tuple[float, Polygon]]:
    """The joists on either side of what one hits, first the side that joists are set out from; past what is to be left
    `free` as well."""
    left = [f for f in free if f is not hit]
    for w in _sides(hit, layout.across, layout.joist.thickness)[:: layout.ahead(layout.across)]:
        for q in clip(w):
            if not q.buffer(IN_PLACE_OF_A_JOIST + layout.joist.thickness).intersects(piece):
                continue
            further = next((f for f in left if f.intersection(q).area > HITS), None)
            if further is None:
                yield w, q
            else:
                yield from _beside(layout, q, further, left, clip)


def _run_through(layout: Setting, v: float, obstacles, rim_footprints) -> list[tuple[float, Polygon]]:
    """The joists at a place; one that would stop in the air, because something stands in for it from there on, goes
    beside that instead, as far as the rims let it."""
    t, a = layout.joist.thickness, layout.across
    pieces = _clip(layout, v, obstacles, rim_footprints)
    ends = united(rim_footprints).buffer(2 * FACES_MEET)
    if not any(stops_short(layout, q, ends) for q in pieces):
        return [(v, q) for q in pieces]
    places = sorted(
        (w for o in obstacles for side in _sides(o, a, t) for w in [side] if abs(w - v) < t + IN_PLACE_OF_A_JOIST),
        key=lambda w: (round(abs(w - v), 6), w * layout.ahead(a)),
    )
    for w in places:
        moved = _clip(layout, w, obstacles, rim_footprints, near=-FACES_MEET)
        if moved and not any(stops_short(layout, q, ends) for q in moved):
            return [(w, q) for q in moved]
    return [(v, q) for q in pieces]


def _sides(obstacle: Polygon, across, t: float) -> tuple[float, float]:
    """Where the middle of a joist lies that stands against one side or the other."""
    s = np.asarray(obstacle.exterior.coords) @ across
    return float(s.min()) - t / 2, float(s.max()) + t / 2


def stops_short(layout: Setting, piece: Polygon, ends: Any) -> bool:
    """Whether an end of a joist meets less than half its thickness of a rim or ledger: of `ends`, their
    footprints in plan."""
    b = layout.along
    ring = np.asarray(piece.exterior.coords)
    s = ring @ b
    for at, sign in ((s.min(), -1), (s.max(), 1)):
        face = LineString(
            [layout.across * x + b * (at + sign * FACES_MEET) for x in np.sort(ring @ layout.across)[[0, -1]]]
        )
        if face.intersection(ends).length < layout.joist.thickness / 2:
            return True
    return False


def _in_order(layout: Setting, lines):
    """Joists from the low end of the plan on; of two that overlap the one nearer to where they are set out from."""
    along, first = layout.from_ends[1], layout.ahead(layout.across)
    lines.sort(key=lambda item: (round(first * item[0], 6), float(np.dot(item[1].centroid.coords[0], along))))
    kept = _without_overlap(lines, layout.joist.thickness)
    kept.sort(key=lambda item: (round(item[0], 6), item[1].bounds))
    return kept


def _in_wide_bays(layout: Setting, lines, obstacles, rim_footprints) -> list[tuple[float, Polygon]]:
    """A joist down the middle of every bay that is wider in the clear than joists at the spacing leave.

    Such bays come about where something stands in for a joist beside its place, or a joist's place was too near a rim.
    """
    t, a, b = layout.joist.thickness, layout.across, layout.along
    clear = layout.joist_spacing - t + WIDER
    members = np.array([q for _, q in lines] + obstacles + rim_footprints, dtype=object)
    along = [np.asarray(q.exterior.coords) @ b for q in members]
    breaks = np.unique(np.round([f(s) for s in along for f in (np.min, np.max)], 3))
    found: list[tuple[float, Polygon]] = []
    stretches = [(low, high) for low, high in itertools.pairwise(breaks) if high - low >= 2 * t]
    # a bay beside a rim that slants is widest at one end of it
    ends = [at for low, high in stretches for at in (low + t / 2, high - t / 2)]
    places = [(low + high) / 2 for low, high in stretches] + ends
    for at in places:
        line = LineString([b * at - a * FAR, b * at + a * FAR])
        spans = sorted(
            (float(s.min()), float(s.max()))
            for cut in shapely.get_parts(shapely.intersection(members, line))
            if cut.length > 1e-6
            for s in [np.asarray(cut.coords) @ a]
        )
        reach = spans[0][1] if spans else 0.0
        for start, end in spans[1:]:
            middle = Point(a * (reach + start) / 2 + b * at)
            if (
                start - reach > clear
                and layout.inner.contains(middle)
                and not any(q.distance(middle) < clear / 2 for _, q in found)
            ):
                v = (reach + start) / 2
                pieces = _clip(layout, v, obstacles, rim_footprints)
                found += [(v, q) for q in pieces if q.buffer(1e-6).contains(middle)]
            reach = max(reach, end)
    return found


def _without_overlap(lines, t):
    kept: list[tuple[float, Polygon]] = []
    for v, piece in lines:
        if any(abs(v - u) < t - 1e-6 and piece.intersection(o).area > 1e-3 for u, o in kept):
            continue
        kept.append((v, piece))
    return kept


def _clip(layout: Setting, v: float, obstacles, rim_footprints, near: float = IN_PLACE_OF_A_JOIST) -> list[Polygon]:
    """Footprints of a joist centred at v: inside the rims, at full thickness all along, clear of lengthwise members."""
    t = layout.joist.thickness
    a, b = layout.across, layout.along
    corners = ((-t / 2, -FAR), (t / 2, -FAR), (t / 2, FAR), (-t / 2, FAR))
    band = Polygon([a * (v + aside) + b * at for aside, at in corners])
    wide = Polygon(
        [
            a * (v - t / 2 - near) - b * FAR,
            a * (v + t / 2 + near) - b * FAR,
            a * (v + t / 2 + near) + b * FAR,
            a * (v - t / 2 - near) + b * FAR,
        ]
    )
    room = layout.inner.intersection(band).difference(united(rim_footprints))
    pieces = []
    for piece in getattr(room, "geoms", [room]):
        if piece.area < 6 * t or piece.area < 0.5 * t * _extent(piece, b):
            continue
        close = unary_union([o.intersection(wide) for o in obstacles if o.intersects(wide)])
        rest = piece
        if not close.is_empty and close.area > 0:
            lengths = sorted(
                (float((np.asarray(g.exterior.coords) @ b).min()), float((np.asarray(g.exterior.coords) @ b).max()))
                for g in getattr(close, "geoms", [close])
                if g.area > 1e-6
            )
            for lo, hi in lengths:
                block = Polygon(
                    [a * (v - t) + b * lo, a * (v + t) + b * lo, a * (v + t) + b * hi, a * (v - t) + b * hi]
                )
                rest = rest.difference(block)
        pieces += [_whole(g) for g in getattr(rest, "geoms", [rest]) if g.area > 0.6 * piece.area]
    return pieces


def _whole(piece: Polygon) -> Polygon:
    """A joist without the slivers that run on beside what stops it."""
    if piece.convex_hull.area - piece.area < SLIVER:
        return piece
    opened = piece.buffer(-SLIVER / 2, join_style="mitre").buffer(SLIVER / 2, join_style="mitre")
    return max(getattr(opened, "geoms", [opened]), key=lambda g: g.area)


def _surveyed_lines(
    layout: Surfaced, joists: tuple[SurveyedJoist, ...], posts: list[Polygon], stood: Sequence[Rim]
) -> list[tuple[float, Polygon]]:
    """Joists along the lines on which they lie, moved aside by what little they would stand in a guard post."""
    t = layout.joist.thickness
    room = layout.inner.difference(united([poly for _, _, poly in stood]))
    taken = [s.polygon for s in layout.strips if s.lengthwise]
    lines = []
    for joist in joists:
        start, end = (np.asarray(p, float) for p in joist.line)
        d = (end - start) / np.hypot(*(end - start))
        n = np.array([-d[1], d[0]])

        def footprint(aside: float) -> Polygon | None:
            a, b, h = start - d * t + n * aside, end + d * t + n * aside, n * t / 2
            band = Polygon([a - h, b - h, b + h, a + h])
            whole = room.intersection(band)
            cut = whole.difference(unary_union([s for s in taken if s.intersection(band).area > 0.5 * t * t]))
            pieces = [g for g in getattr(cut, "geoms", [cut]) if g.area >= 6 * t and g.area >= 0.5 * t * _extent(g, d)]
            return min(pieces, key=lambda g: g.distance(Point((start + end) / 2)), default=None)

        piece = footprint(0.0)
        for post in posts:
            if piece is None or post.intersection(piece).area < 1e-6:
                continue
            across = np.asarray(post.exterior.coords) @ n - float(start @ n)
            aside = min(across.max() + t / 2, across.min() - t / 2, key=abs)
            if joist.key and abs(aside) > STANDS_CLEAR:
                raise DesignError(
                    joist.key, f"a joist there would stand {abs(aside):.2f} in deep in a guard post: measure both again"
                )
            piece = footprint(float(aside))
        if piece is not None:
            lines.append((float(np.asarray(piece.centroid.coords[0]) @ layout.across), piece))
    lines.sort(key=lambda item: (round(item[0], 6), item[1].bounds))
    return lines


def measured_post(layout: Setting, post: SurveyedPost) -> Polygon:
    """The plan of a guard post as it stands."""
    return layout.outline[post.edge].rectangle(post.at, post.at + post.size, post.inside, post.inside + post.depth)


def centre_line(layout: Setting, joist: Polygon) -> tuple[float, float]:
    """(position across the joists at the plan's origin, its change an inch along them) of a joist's middle line."""
    ring = np.asarray(joist.exterior.coords)
    steps = np.diff(ring, axis=0)
    k = int(np.argmax(np.hypot(*steps.T)))
    d = steps[k] / np.hypot(*steps[k])
    n = np.array([-d[1], d[0]])
    middle = (ring[k] + ring[k + 1]) / 2
    middle = (
        middle + n * np.sign(float((np.asarray(joist.centroid.coords[0]) - middle) @ n)) * layout.joist.thickness / 2
    )
    slope = float(d @ layout.across) / float(d @ layout.along)
    slope = 0.0 if abs(slope) < 1e-9 else slope
    return float(middle @ layout.across) - slope * float(middle @ layout.along), slope


def direction_of(layout: Setting, joist: Polygon) -> tuple[float, float]:
    """The plan unit vector along a joist."""
    way = layout.along + layout.across * centre_line(layout, joist)[1]
    x, y = way / np.hypot(*way)
    return float(x), float(y)


def crossing(layout: Setting, joist: Polygon, point: Vector, direction: Vector) -> float:
    """Where a joist's middle line crosses the line through `point` along `direction`, measured along it from the plan's
    origin."""
    base, slope = centre_line(layout, joist)
    p, d = np.asarray(point, float), np.asarray(direction, float)
    off = base + slope * float(p @ layout.along) - float(p @ layout.across)
    return float(p @ d) + off / (float(d @ layout.across) - slope * float(d @ layout.along))


def _extent(piece: Polygon, direction) -> float:
    along = np.asarray(piece.exterior.coords) @ direction
    return float(along.max() - along.min())
