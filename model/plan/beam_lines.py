"""Where beams go, in plan.

A beam follows every free edge across the joists, set back by the cantilever; where two such edges meet at an angle
their beams are mitred over a shared post. Where joists would still span further than the published table allows,
straight beams are added between, so that the clear spans of the joists are as even as their slanted or stepped supports
let them be.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely.geometry import Polygon
from shapely.ops import unary_union

from ...shared.errors import DesignError
from ...shared.points import Vector, pair
from ..solid.union import united
from .beam_run import LEAST_BEAM, BeamRun, cut_clear, largest, trimmed
from .beams_facing import in_the_way, nearer
from .beside_headers import LEAST_HUNG, LEAST_THROUGH, TOUCHES, cuts_off, off_headers
from .edges import Edge
from .footings import POST_GAP
from .long_spans import allowed_joist_span, slanted, too_long, whole_joists
from .off_the_wall import off_the_wall
from .post_plan import CLEAT_THICKNESS
from .run_through import lines_of, lines_through, run_on
from .seats import check_seats, least_bearing, width
from .short_beams import run_on_for_posts, without_needless
from .stages import Beamed, Setting

BETWEEN = "between"  # the name in the file of beams that are added between the supports
STEP_NEARER = 0.5  # inches by which a beam without room comes nearer to its edge at a time; our own
FITTING = 1 / 16  # inches kept between a flush beam and a guard post beside it; our own
HEADER_ROOM = 6.0  # inches kept between a beam's end and the header of a stair beside it; our own
BEAMS_APART = (
    12.0  # inches kept between a beam and one that is added beside it: room for two posts and their bases; our own
)


def beam_runs(layout: Beamed) -> list[BeamRun]:
    """All beams without their posts. Raises DesignError where one does not fit, or their posts are too small for their
    notches."""
    check_seats(layout)
    _check_names(layout)
    lines = layout.parameters.frame.beam_lines
    edges = [*_flush_edges(layout), *_along_edges(layout)]
    return _between(layout, edges) if lines is None else edges + _explicit(layout, lines, edges)


def _check_names(layout: Beamed) -> None:
    """Raises DesignError for a position given to a beam line that there is none of."""
    f = layout.parameters.frame
    lines = [BETWEEN] if f.beam_lines is None else [str(n + 1) for n in range(len(f.beam_lines))]
    known = [*(e.name for e in layout.outline.edges if _carries(layout, e)), *lines]
    for name in f.beam_line_position:
        if name not in known:
            there = {n: position for n, position in f.beam_line_position.items() if n in known}
            other = next((n for n in known if n not in there), None)
            raise DesignError(
                f"frame.beam_line_position.{name}",
                f"no beam line {name!r}; the lines here are {', '.join(known)}",
                ("frame.beam_line_position", there | ({other: f.beam_line_position[name]} if other else {})),
            )


def _flush(layout: Setting, e: Edge) -> bool:
    """Whether an edge's rim is its beam."""
    return _carries(layout, e) and layout.flush_line(e.name)


def beam_under(layout: Setting, e: Edge) -> bool:
    """Whether an edge has a beam behind it under the joists: with `frame.beam_lines`, where the file says so."""
    f = layout.parameters.frame
    wanted = f.beam_lines is None or e.name in f.beam_line_position
    return wanted and _carries(layout, e) and not layout.flush_line(e.name)


def _carries(layout: Setting, e: Edge) -> bool:
    """True for an edge that wants a beam behind it: across the joists, not on a ledger, long enough for a beam and wide
    enough for a joist to end on."""
    wide = e.length >= LEAST_BEAM and e.length * abs(float(e.direction @ layout.across)) >= layout.joist_spacing
    return wide and not layout.is_lengthwise(e) and not layout.has_ledger(e)


def _side(layout: Beamed, edge: Edge, other: Edge, backs: dict[str, float]) -> float:
    """Inside distance of a neighbour that carries no beam, at which this edge's beam ends."""
    second = edge if layout.outline.before(edge) is other else other
    t = layout.joist.thickness
    if layout.has_ledger(other):
        return t
    if _flush(layout, other):
        return _beside_flush(layout, other)
    if layout.outline.turn(second) < 0:  # run on under the rim that runs on past a reflex corner
        s = layout.parameters.surface
        strips = layout.field_inset[other.name] + s.end_gap + t if s.border.courses else 0.0
        return max(layout.rim_of(other), strips)
    first = other if layout.outline.before(edge) is other else edge
    back = backs[edge.name]
    faces = [
        other.position(layout.outline.corner(first, *((0.0, second, d) if first is other else (d, second, 0.0))))[0]
        for d in (back, back + width(layout, False))
    ]
    askew = abs(float(edge.direction @ other.inward)) < LEAST_THROUGH
    for stair in layout.hung if askew else ():  # a stair's header hangs below the rim there
        if stair.edge is other and stair.start - HEADER_ROOM < max(faces) and min(faces) < stair.end + HEADER_ROOM:
            return behind_cleats(layout, other)
    return 0.0


def behind_cleats(layout: Setting, edge: Edge) -> float:
    """Inside distance free of the header of a stair and the cleats that hang it."""
    return layout.rim_of(edge) + CLEAT_THICKNESS


def _beside_flush(layout: Setting, edge: Edge) -> float:
    """Inside distance free of the posts under an edge that is a beam."""
    post = layout.parameters.stock(layout.parameters.frame.post).width
    return max(_under_flush(layout, edge) + post / 2, layout.rim_of(edge)) + POST_GAP


def _under_flush(layout: Setting, edge: Edge) -> float:
    """Inside an edge that is a beam, the middle of its posts: their outer faces lie in the rim's. Where they come out
    behind it by less than the least bearing, on which the rim beside it would end, they stand further in by the
    rest."""
    post, rim = layout.parameters.stock(layout.parameters.frame.post).width, layout.rim_of(edge)
    behind, least = post - rim, least_bearing(layout)
    return max(post, rim) / 2 + (least - behind if TOUCHES < behind < least else 0.0)


def _set_back(layout: Beamed, edge: Edge) -> float:
    """Of a beam's outer face: the cantilever, or as much as the header of a stair on that edge asks for; a little more
    where the beam would cut off a header beside it a piece too short to be hung."""
    back, wide = max(layout.parameters.frame.cantilever, _least_back(layout, edge)), width(layout, False)
    beside = (layout.outline.before(edge), layout.outline.after(edge))
    headers = [
        sorted(edge.position(s.edge.point(a))[1] for a in (s.start, s.end))
        for s in layout.hung
        if s.edge in beside and abs(float(edge.direction @ s.edge.inward)) >= LEAST_THROUGH
    ]

    places = (back + step for step in np.arange(0.0, LEAST_HUNG + wide + STEP_NEARER, STEP_NEARER))
    return next((float(at) for at in places if not cuts_off(headers, float(at), wide)), back)


def _least_back(layout: Beamed, edge: Edge) -> float:
    """What the header of a stair on an edge asks for; where that hangs lower than the beam, its posts, which are
    wider, stand clear of it too. Of the frames of box steps, that come up to the edge, the posts alone stand clear."""
    f, first = layout.parameters.frame, [p.flights[0] for p in layout.stair_plans if p.spot.edge is edge]
    headers, boxes = [h for h in first if h.hangs], [h for h in first if h.box and not h.one_step]
    lower = any(h.plumb_bottom < layout.beam_bottom(False) for h in headers)
    proud = 0.0
    if (lower or boxes) and f.beam_seat != "notched post":
        proud = max(0.0, (layout.parameters.stock(f.post).width - width(layout, False)) / 2)
    return max((behind_cleats(layout, edge) if headers else 0.0) + proud, off_the_wall(layout, edge))


def _along_edges(layout: Beamed) -> list[BeamRun]:
    """The beams behind edges under the joists. Where those of edges that face each other are in each other's way, they
    come nearer to their edges, by `STEP_NEARER` at a time, as far as that helps."""
    edges = [e for e in layout.outline.edges if beam_under(layout, e)]
    least = {e.name: _least_back(layout, e) for e in edges}
    post = layout.parameters.stock(layout.parameters.frame.post).width
    backs = _with_room(layout, {e.name: _set_back(layout, e) for e in edges})
    while True:
        runs, kept = _laid(layout, backs)
        # two posts, the second beside the beam that cuts the piece off
        least_piece = 2 * (post + POST_GAP) + post / 2
        wide = width(layout, False)
        # room for posts of both; and nearer than a joist is deep, both would hold it in one place
        apart = max(post - wide + POST_GAP, layout.joist.width - 2 * wide + layout.beam.thickness + TOUCHES)
        crowded = in_the_way(layout.outline, runs, kept, apart, least_piece)
        moved = nearer({name: backs[name] for name in crowded}, least, STEP_NEARER)
        if not moved:
            break
        backs = _with_room(layout, backs | moved)

    def along(run: BeamRun) -> tuple[int, float]:
        assert run.edge is not None  # each was laid behind one above
        edge = layout.outline[run.edge]
        return edge.index, edge.position(run.start)[0]

    return sorted(without_needless(layout, run_on_for_posts(layout, kept)), key=along)


def _laid(layout: Beamed, backs: dict[str, float]) -> tuple[list[BeamRun], list[BeamRun]]:
    """The beams behind edges at these distances inside them, and what is left of them where they cross."""
    runs = []
    for e in layout.outline.edges:
        if e.name not in backs:
            continue
        plies, start, end = _plies_behind(layout, e, backs)
        mitred = layout.outline.before(e).name in backs, layout.outline.after(e).name in backs
        runs.append(BeamRun(plies, start, end, f"behind the {e.name} edge", e.name, mitred=mitred))
    runs = [piece for run in runs if (piece := _inside(layout, run)) is not None]
    kept = trimmed(sorted(runs, key=lambda r: -r.length))  # where two cross, the longer one runs through
    return runs, [r for r in kept if r in runs or not _in_a_cantilever(layout, r, kept)]


def _with_room(layout: Beamed, backs: dict[str, float]) -> dict[str, float]:
    """Inside each edge with a beam under the joists, that beam's outer face: as wanted, less where it leaves no room
    for the beam between its neighbours. There all three come nearer to their edges, by `STEP_NEARER` at a time. Where
    that is no help an edge too short for two posts has no beam: its joists reach past its neighbours'. Raises
    DesignError at any other."""
    backs = dict(backs)
    short = 2 * (2 * layout.parameters.stock(layout.parameters.frame.post).width + POST_GAP)  # it narrows inwards
    for e in [layout.outline[name] for name in backs] * 2:  # the second time those beside one that came nearer
        while e.name in backs and not _has_room(layout, e, *_plies_behind(layout, e, backs)):
            near = [o for o in (layout.outline.before(e), e, layout.outline.after(e)) if o.name in backs]
            moved = {o.name: max(_least_back(layout, o), backs[o.name] - STEP_NEARER) for o in near}
            if all(moved[name] >= backs[name] for name in moved):
                if e.length < short:
                    del backs[e.name]
                    break
                raise DesignError(
                    "frame.cantilever",
                    f"leaves no room for a beam behind edge {e.name}; make the cantilever shorter or give"
                    " frame.beam_lines",
                )
            backs |= moved
    return backs


def off_the_cantilever(layout: Beamed, runs: Sequence[BeamRun], way: int) -> dict[str, float]:
    """Inside each edge whose beam's outer face stands off the file's cantilever, that face: nearer (`way` -1) where it
    has no room, or further in (1) for a stair."""
    found, given = {}, layout.parameters.frame.cantilever
    for run in runs:
        if run.edge is not None and not run.flush:
            edge = layout.outline[run.edge]
            found[edge.name] = min(edge.position(q)[1] for p in run.plies for q in p.exterior.coords)
    return {name: back for name, back in found.items() if way * (back - given) > TOUCHES}


def _plies_behind(
    layout: Beamed, e: Edge, backs: dict[str, float]
) -> tuple[tuple[Polygon, ...], tuple[float, float], tuple[float, float]]:
    """The plies of a beam behind an edge in plan, and the start and the end of its centre line."""
    f, t = layout.parameters.frame, layout.beam.thickness
    b, a = layout.outline.before(e), layout.outline.after(e)

    def at(distance: float):
        d = {e.name: backs[e.name] + distance}
        for other in (b, a):
            d[other.name] = backs[other.name] + distance if other.name in backs else _side(layout, e, other, backs)
        return d

    plies = tuple(layout.outline.strip(e, at(k * t), at((k + 1) * t)) for k in range(f.beam_plies))
    middle = layout.outline.strip(e, at(f.beam_plies * t / 2), at(f.beam_plies * t / 2 + 1e-3))
    return plies, tuple(middle.exterior.coords[0]), tuple(middle.exterior.coords[1])


def _has_room(
    layout: Beamed, e: Edge, plies: Sequence[Polygon], start: tuple[float, float], end: tuple[float, float]
) -> bool:
    whole = all(p.is_valid and p.area >= LEAST_BEAM * layout.beam.thickness for p in plies)
    return whole and float(np.dot(np.subtract(end, start), e.direction)) >= LEAST_BEAM


def _in_a_cantilever(layout: Beamed, piece: BeamRun, runs: Sequence[BeamRun]) -> bool:
    """Whether a piece cut off a beam lies before that of another edge, whose joists pass over that one there and need
    no second beam, and has no room for two posts clear of the other's."""
    post = layout.parameters.stock(layout.parameters.frame.post).width
    if any(piece.mitred) or piece.length >= 2 * (post + POST_GAP):
        return False
    corners = piece.polygon.exterior.coords
    for run in runs:
        assert run.edge is not None
        edge = layout.outline[run.edge]
        at = [edge.position(q) for q in corners]
        back = max(edge.position(q)[1] for q in run.polygon.exterior.coords)
        if run.edge != piece.edge and all(inside < back + TOUCHES for _, inside in at):
            low, high = run.extent(run.polygon)
            if all(low - TOUCHES < run.position(q) < high + TOUCHES for q in corners):
                return True
    return False


def _flush_edges(layout: Beamed) -> list[BeamRun]:
    """The rims of the free edges across the joists, which are beams themselves. Their line is that of the posts, whose
    outer faces lie in the rim's."""
    plies: dict[str, list[Polygon]] = {}
    for e, _, polygon in layout.rims:
        if _flush(layout, e):
            plies.setdefault(e.name, []).append(polygon)
    runs = []
    for name, found in plies.items():
        e = layout.outline[name]
        inside = _under_flush(layout, e)
        before, after = layout.outline.before(e), layout.outline.after(e)
        along = [[e.position(q)[0] for q in p.exterior.coords] for p in found]
        low, high = max(min(a) for a in along), min(max(a) for a in along)
        mitred = _mitred(layout, e, before), _mitred(layout, e, after)
        start, end = e.point(low, inside), e.point(high, inside)
        start = layout.outline.corner(before, inside, e, inside) if mitred[0] else _clear_of(layout, e, before, start)
        end = layout.outline.corner(e, inside, after, inside) if mitred[1] else _clear_of(layout, e, after, end)
        if high - low >= LEAST_BEAM:
            where = f"flush at the {name} edge"
            runs.append(BeamRun(tuple(found), pair(start), pair(end), where, name, mitred=mitred, flush=True))
    return runs


def _clear_of(layout: Setting, edge: Edge, other: Edge, end: Vector) -> tuple[float, float]:
    """The end of a flush beam's line, moved along its edge until the post there stands clear of the rim of a neighbour
    that lies on a beam of its own: it would carry a corner of it."""
    half = layout.parameters.stock(layout.parameters.frame.post).width / 2
    way = edge.direction * (1 if layout.outline.before(edge) is other else -1)
    rate, at = float(way @ other.inward), np.asarray(end, float)
    if not beam_under(layout, other) or rate < 1e-6:
        return pair(at)
    corners = [at + way * half + way * u + edge.inward * v for u in (-half, half) for v in (-half, half)]
    least = min(other.position(c)[1] for c in corners)
    return pair(at + way * max(0.0, (layout.rim_of(other) + TOUCHES - least) / rate))


def _mitred(layout: Setting, edge: Edge, other: Edge) -> bool:
    """Whether the rim of an edge meets the beam of its neighbour on the bisector."""
    return _flush(layout, other) and not edge.parallel_to(other.direction)


def _inside(layout: Setting, run: BeamRun) -> BeamRun | None:
    """The run, cut back to the outline where the far end of a long cantilever would come out of it again."""
    if run.polygon.difference(layout.outline.polygon.buffer(1e-3)).area < 1e-3:
        return run
    low, high = run.extent(run.polygon)
    out = run.polygon.difference(layout.outline.polygon)
    ends = [run.extent(g) for g in getattr(out, "geoms", [out]) if isinstance(g, Polygon) and g.area > 1e-3]
    middle = run.length / 2
    low = max([low - 1, *(b for _, b in ends if b < middle)])
    high = min([high + 1, *(a for a, _ in ends if a > middle)])
    return run.cut(low, high) if high - low >= LEAST_BEAM and not any(a < middle < b for a, b in ends) else None


def _straight(layout: Beamed, at: float, low: float, high: float, where: str, flush: bool) -> list[BeamRun]:
    """Straight beams centred at `at` along the joists, between two positions across them, clipped to the outline; under
    the joists clear of the posts of edges that are beams."""
    t, w = layout.beam_stock(flush).thickness, width(layout, flush)
    a, b = layout.across, layout.along

    def band(l0, l1, v0=low, v1=high):
        return Polygon([a * v0 + b * l0, a * v1 + b * l0, a * v1 + b * l1, a * v0 + b * l1])

    # a stair's header hangs below the rim that it leaves from: it is butted to a beam that goes through to carry that
    # rim, but not to one that runs nearly along it
    headers = [
        s.edge.rectangle(s.start - HEADER_ROOM, s.end + HEADER_ROOM, -1, behind_cleats(layout, s.edge))
        for s in layout.hung
        if flush or abs(float(a @ s.edge.inward)) < LEAST_THROUGH
    ]
    whole = layout.outline.polygon
    if flush:  # between rims, those that run on past a reflex corner among them
        whole = layout.inner.difference(united([poly for _, _, poly in layout.rims]))
    taken = [
        e.rectangle(0, e.length, -1, _beside_flush(layout, e))
        for e in layout.outline.edges
        if not flush and _flush(layout, e)
    ]
    room = whole.intersection(band(at - w / 2, at + w / 2)).difference(unary_union(headers + taken))
    runs = []
    for g in getattr(room, "geoms", [room]):
        if not isinstance(g, Polygon) or g.area < LEAST_BEAM * w:
            continue
        plies = [
            largest(g.intersection(band(at - w / 2 + k * t, at - w / 2 + (k + 1) * t)))
            for k in range(layout.parameters.frame.beam_plies)
        ]
        if any(p is None or p.area < 0.5 * LEAST_BEAM * t for p in plies):
            continue
        v = np.asarray(g.exterior.coords) @ a
        ends = [pair(a * x + b * at) for x in (v.min(), v.max())]
        runs.append(BeamRun(tuple(plies), ends[0], ends[1], where, flush=flush))
    return runs


def _clear_of_posts(layout: Beamed, at: float, low: float, high: float) -> float:
    """The place along the joists nearest to `at` where a flush beam between two positions across them stands in no
    guard post."""
    there = [r.polygon for r in _straight(layout, at, low, high, "", True)]
    if not any(post.polygon.intersects(p) for post in layout.posts for p in there):
        return at
    half = width(layout, True) / 2 + FITTING
    shut = []
    for post in layout.posts:
        ring = np.asarray(post.polygon.exterior.coords)
        across, along = ring @ layout.across, ring @ layout.along
        if across.max() > low and across.min() < high:
            shut.append((float(along.min()) - half, float(along.max()) + half))
    places = [at, *(end for pair_ in shut for end in pair_)]
    free = [p for p in places if not any(a + TOUCHES < p < b - TOUCHES for a, b in shut)]
    return min(free, key=lambda p: (round(abs(p - at), 6), p * layout.ahead(layout.along)))


def _explicit(layout: Beamed, lines: Sequence[float], edges: Sequence[BeamRun]) -> list[BeamRun]:
    """The beams of `frame.beam_lines`, beside those of edges."""
    corners = np.asarray(layout.outline.polygon.exterior.coords)
    low = float((corners @ layout.along).min())
    across = corners @ layout.across
    runs: list[BeamRun] = []
    for i, line in enumerate(lines):
        flush, ends = layout.flush_line(str(i + 1)), (float(across.min()), float(across.max()))
        if flush and abs(clear := _clear_of_posts(layout, low + line, *ends) - low - line) > 0:
            raise DesignError(
                f"frame.beam_lines.{i}",
                f"a flush beam at {line:g} in along the joists stands in a guard post; {line + clear:.3f} in would do",
            )
        found = _straight(layout, low + line, *ends, f"beam line {i + 1}", flush)
        if not found:
            raise DesignError(
                f"frame.beam_lines.{i}", f"a beam at {line:g} in along the joists does not lie under the deck"
            )
        if any(_overlap(f, r) for f in found for r in (*runs, *edges)):
            raise DesignError(
                f"frame.beam_lines.{i}",
                f"a beam at {line:g} in along the joists overlaps another one; beams are {width(layout, flush):g} in"
                " wide",
            )
        runs += found
    return runs


def _overlap(a: BeamRun, b: BeamRun) -> bool:
    """Whether two beams lie in one another, or one at joist level along one under the joists, where its posts would
    stand; across it, it may lie on it."""
    if a.flush != b.flush and abs(float(a.direction @ b.direction)) < 1 - 1e-6:
        return False
    return a.polygon.intersection(b.polygon).area > 1e-3


def _under_any(layout: Beamed, piece: BeamRun, region: Sequence[Sequence[float]]) -> bool:
    """Whether a piece of a beam carries one of the joists that it is added for, by their positions across: past a rim
    or a beam that parts it, it may carry others alone."""
    at = np.asarray(piece.polygon.exterior.coords) @ layout.across
    more = 0.0 if piece.flush else layout.joist.thickness / 2  # an edge of a joist may lie on it
    return any(at.min() - more < v < at.max() + more for v, *_ in region)


def _under_whole_joists(layout: Beamed, run: BeamRun, piece: BeamRun, others: list[BeamRun]) -> BeamRun:
    """A piece of a straight beam that goes on under the whole of a joist, unless that runs it into another beam that it
    was cut clear of."""
    longer = whole_joists(layout, run, piece)
    return longer if cut_clear(longer, others) == [longer] else piece


def _between(layout: Beamed, runs: list[BeamRun]) -> list[BeamRun]:
    """The beams of edges, with those that halve, third, ... the spans that are longer than the table's: where such a
    line is that of an edge's beam that it meets, that one runs on."""
    flush, begin = layout.flush_line(BETWEEN), layout.ahead(layout.along)  # from this end on
    edges = list(runs)
    added: list[BeamRun] = []
    reach = layout.joist_spacing + layout.joist.thickness
    for region in too_long(layout, runs):
        rows = sorted([v, lo, hi] if begin > 0 else [v, -hi, -lo] for v, lo, hi in region)
        there = sorted({begin * at for at in lines_of(layout, runs)} if not flush else ())
        allowed = allowed_joist_span(layout)
        lines = lines_through(rows, allowed, width(layout, flush), layout.joist_spacing, there)
        for line, low, high in lines:
            at, others = begin * line, [begin * other for other, _, _ in lines if other != line]
            if flush:
                at = _clear_of_posts(layout, at, low - reach, high + reach)
            elif line not in there:
                at = off_headers(layout, at, others, region, width(layout, False), allowed)
            for run in _straight(layout, at, low - reach, high + reach, "between the supports", flush):
                level = [r for r in edges + added if r.flush == flush]
                pieces = cut_clear(run, level, BEAMS_APART if slanted(run, level, BEAMS_APART) else 0.0)
                pieces = [p for p in pieces if _under_any(layout, p, region)]
                pieces = pieces if flush else [_under_whole_joists(layout, run, p, level) for p in pieces]
                edges, pieces = run_on(edges, pieces)
                added += pieces
    return edges + added
