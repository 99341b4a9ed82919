"""Posts under the beams and footings under the posts, in plan, and the sizes that a deck's height and load ask for.

Posts stand under corners and near ends of beams and evenly between, no further apart than the table's beam span. A post
that would crowd one of another beam is moved along its own beam where overhang and spacing allow; footings that would
still overlap become one larger footing. On a deck too low for posts the beam bears on the post base itself.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon

from ...shared.errors import DesignError
from ...shared.practice import estimate
from ...shared.said import Words, length, listed, said
from ...shared.standards import beam_span, footing
from ...shared.stock import Stock
from ..input.parameters import Parameters
from ..strength.nds import Lumber, NoValue
from ..strength.spans import JOIST_OVERHANG_SHARE, longest_beam_span
from .beam_lines import beam_runs, beam_under, off_the_cantilever
from .beam_run import BeamRun
from .beside_headers import TOUCHES
from .clear_marks import clear_marks
from .clear_of_posts import clear_places
from .corner_seats import LEAST_ACROSS_RIM, inside_wrapped, into_corner
from .footings import POST_GAP, TooLow, even, footings, plan_pads
from .house_places import from_wall, kept_clear_of_posts, ways_out
from .joist_spans import carried_by, longest_span
from .off_the_wall import short_of_the_wall
from .post_places import OVERHANG, PostsStood, clear_place
from .seats import is_notched, post_centre, post_square, shortest_braced
from .spots import FootingSpot
from .stages import Beamed, Laid, LevelPlan, Setting, grown
from .stairs_below import feet_below, stairs_below

SMALLER_BEAMS = ("2x8", "2x6")  # tried in turn under a deck too low for the default beam
LEAST_SPACING = 24.0  # inches between posts, however heavy the load; our own
MOST_PASSES = 3  # times that beams are laid again for footings in the house's wall; our own
SAME_POST = 1.0  # inches: mitred beams whose ends are nearer share a post; our own


def supported(plain: Laid, dug: bool = True) -> LevelPlan:
    """The plan with beams on their posts, and footings under them.

    Raises DesignError where an explicit beam line misses the deck, or two posts cannot stand side by side, and TooLow
    where the deck is too low for any beam under its joists, unless they may be `dug` in.
    """
    f, stock = plain.parameters.frame, plain.parameters.stock
    sizes = [f.beam if plain.some_under else f.joist]
    if "beam" not in f.model_fields_set and plain.some_under:
        sizes += [s for s in SMALLER_BEAMS if stock(s).width < stock(f.beam).width]
    for k, size in enumerate(sizes):
        layout = grown(plain, Beamed, beam=stock(size), at_wall=0.0)
        try:
            layout, runs, side, found = _out_of_the_wall(layout, dug and k + 1 == len(sizes))
        except TooLow:
            if k + 1 < len(sizes):
                continue
            raise
        if k + 1 == len(sizes) or not in_ground(layout, runs):
            break
    notes = tuple(_notes(layout, runs, found))
    return grown(
        layout, LevelPlan, runs=runs, footings=found, pads=plan_pads(layout, found), footing_size=side, notes=notes
    )


def _out_of_the_wall(layout: Beamed, dug: bool) -> tuple[Beamed, tuple[BeamRun, ...], float, tuple[FootingSpot, ...]]:
    """The beams on their posts, the size of a footing under one post, and the footings. Where one came to stand in the
    house's wall, since no more room was kept there than a usual one needs, the beams are laid again with as much as it
    takes. Raises what `_planned` and `footings` do."""
    runs, side = _planned(layout)
    found = footings(layout, runs, side, dug)
    best = layout, runs, side, found
    for _ in range(MOST_PASSES):
        wanted = max((s.size for s in _in_the_wall(layout, found)), default=0.0)
        if wanted <= layout.at_wall or all(r.flush for r in runs):
            break
        layout = grown(layout, Beamed, at_wall=wanted)
        with contextlib.suppress(DesignError):  # without room so far in, the beams stay where they were
            runs, side = _planned(layout)
            found = footings(layout, runs, side, dug)
            if _deep_in_the_wall(layout, found) < _deep_in_the_wall(layout, best[3]) - TOUCHES:
                best = layout, runs, side, found
    return best


def _in_the_wall(layout: Beamed, spots: Sequence[FootingSpot]) -> list[FootingSpot]:
    """The footings of beams that stand in the house's wall."""
    own = [s for s in spots if any(t.stair is None for t in s.stands)] if not layout.house_wall.is_empty else []
    return [s for s in own if from_wall(layout, s.centre, s.size) < -TOUCHES]


def _deep_in_the_wall(layout: Beamed, spots: Sequence[FootingSpot]) -> float:
    """Inches that footings of beams stand in the house's wall, all together."""
    return sum(-from_wall(layout, s.centre, s.size) for s in _in_the_wall(layout, spots))


def in_ground(layout: Beamed, runs: Sequence[BeamRun]) -> bool:
    """Whether a beam would lie in the ground somewhere: grade may slope up to it between its posts."""
    return any(
        layout.planes.grade(x, y) > layout.beam_bottom(r.flush)
        for r in runs
        for p in r.plies
        for x, y in p.exterior.coords
    )


def _notes(layout: Beamed, runs: Sequence[BeamRun], spots: Sequence[FootingSpot]) -> Iterator[Words]:
    """What was chosen for the builder, in words."""
    f, flush = layout.parameters.frame, [r for r in runs if r.flush]
    plies = max(f.rim_plies, f.beam_plies)
    if layout.flush and len(flush) == len(runs):
        yield (
            f"The beams are flush: {plies} plies of {layout.joist.name} at joist level, the"
            " rims of the free edges across the joists among them, and the joists hang on them (frame.beam_position)."
        )
    elif flush:
        yield (
            f"{len(flush)} of {len(runs)} beams are flush: {plies} plies of {layout.joist.name} at joist level,"
            f" and the joists hang on them ({', '.join(dict.fromkeys(r.where for r in flush))}) (frame.beam_position)."
        )
    if len(flush) < len(runs) and layout.beam.name != f.beam:
        yield f"The deck is too low for a {f.beam} beam: the beams are {layout.beam.name} (frame.beam, levels.surface)."
    nearer = off_the_cantilever(layout, runs, -1)
    if nearer:
        yield said(
            "Between the beams beside them some beams have no room as far in as the cantilever of {given}: {places}"
            " (frame.cantilever).",
            given=length(f.cantilever),
            places=listed([said("{back} at the {e} edge", back=length(back), e=e) for e, back in nearer.items()]),
        )
    further = off_the_cantilever(layout, runs, 1)
    if further:
        yield said(
            "Beams stand further in than the cantilever of {given}, clear of the header or the frames of a stair, or"
            " their footings of the house: {places} (frame.cantilever).",
            given=length(f.cantilever),
            places=listed([said("{back} at the {e} edge", back=length(back), e=e) for e, back in further.items()]),
        )
    short = [r.where for r in runs if _too_short_for_overhang(layout, r)]
    if short:
        yield (
            f"frame.beam_overhang is not kept at {len(short)} of {len(runs)} beams ({', '.join(dict.fromkeys(short))}):"
            " they are too short for two posts so far from their ends."
        )
    direct = sum(len(s.stands) for s in spots if not s.posted)
    if direct:
        yield (
            f"No room for posts at {direct} of {sum(len(s.stands) for s in spots)} places: the beam bears on the post"
            " base there, and the concrete is finished to suit (levels.surface)."
        )
    if f.beam_seat == "notched post":
        posts = [s for spot in spots if spot.posted for s in spot.stands if s.stair is None]
        whole = sum(s.notch is None for s in posts)
        if whole:
            yield (
                f"{whole} of {len(posts)} posts under beams have a cap and no notch: where two beams end on a post in a"
                " mitre, and under flush beams, a notch holds no beam (frame.beam_seat)."
            )
    shared = [s for s in spots if len(s.stands) > 1]
    if shared:
        yield (
            f"{len(shared)} footing{'s' if len(shared) > 1 else ''} made larger to carry"
            f" {', '.join(str(len(s.stands)) for s in shared)} posts that stand too close together for footings of"
            " their own (frame.footing.size)."
        )


def _planned(layout: Beamed) -> tuple[tuple[BeamRun, ...], float]:
    """The beams on their posts, and the size of a footing under one post."""
    f = layout.parameters.frame
    runs = tuple(short_of_the_wall(layout, run) for run in beam_runs(layout))
    span = longest_span(layout, runs)
    spacings = [f.post_spacing or _post_spacing(layout, run, span, runs) for run in runs]
    found = _on_footings(layout, runs, spacings, spacings, span)
    kept = kept_clear_of_posts(layout)
    for more in (1, 2) if kept and f.post_spacing is None else ():
        crowded = [_standing_in(run, found[1], kept) for run in found[0]]
        if not any(crowded):
            break
        # with a post or two more the others find room on either side of what is kept clear
        grid = [_closer(run, s, more) if n else s for run, s, n in zip(found[0], spacings, crowded)]
        tried = _on_footings(layout, runs, spacings, grid, span)
        if sum(_standing_in(run, tried[1], kept) for run in tried[0]) < sum(crowded):
            found = tried
    return found


def _standing_in(run: BeamRun, side: float, kept: Sequence[Polygon]) -> int:
    """How many of a beam's footings of a size stand in places that are kept clear."""
    feet = [Point(q).buffer(side / 2) for q in run.posts]
    return sum(any(foot.intersects(place) for place in kept) for foot in feet)


def _closer(run: BeamRun, spacing: float, more: int) -> float:
    """The spacing at which so many more posts stand between a beam's first and last."""
    at = [run.position(q) for q in run.posts]
    return min(spacing, (max(at) - min(at)) / (len(at) - 1 + more) + TOUCHES) if len(at) > 1 else spacing


def _on_footings(
    layout: Beamed, runs: tuple[BeamRun, ...], spacings: list[float], grid: list[float], span: float
) -> tuple[tuple[BeamRun, ...], float]:
    """The beams on posts no further apart than their `spacings`, set out first at those of the `grid`, and the size of
    a footing."""
    f, side = layout.parameters.frame, 0.0
    for _ in range(3):  # a larger footing may move a post, and a moved post may want a larger footing
        runs = _with_posts(layout, runs, spacings, grid, side)
        size = f.footing.size or max(side, _footing_size(layout, runs, span))
        if size == side:
            break
        side = size
    return runs, side


def _footing_size(layout: Beamed, runs: Sequence[BeamRun], span: float) -> float:
    """A size for all footings from the greatest load of any post: the table's, or load over soil bearing where that is
    more; no less than a post's foot asks for.

    The load is estimated high (a post between two beam spans takes 5/4 of its share, a joist's overhang levers load
    onto its beam: both are handbook reactions); the checks judge the footings by the load path of the finished model.
    """
    p = layout.parameters
    stood = [q for run in runs for q in run.posts]
    carried = [0.0] * len(stood)  # square feet of deck
    for run in runs:
        wide, _ = _tributary(layout, run, span, runs)
        at = sorted((run.position(q), k) for k, q in enumerate(stood) if q in run.posts or _at_mitre(run, q))
        for n, (a, k) in enumerate(at):
            low = (a - at[n - 1][0]) / 2 if n else a
            high = (at[n + 1][0] - a) / 2 if n + 1 < len(at) else run.length - a
            factor = "reaction between two beam spans" if 0 < n < len(at) - 1 else "reaction at a beam's end"
            carried[k] += (low + high) * estimate(factor) * wide / 144
    return footing_for(p, max(carried, default=0.0))


def footing_for(p: Parameters, area: float) -> float:
    """Inches across of a footing that carries so many square feet of deck: the table's, or load over soil bearing."""
    f, loads = p.frame, p.loads
    load = area * (
        max(loads.live_psf, loads.ground_snow_psf) + loads.dead_psf + estimate("own weight of posts and beams")
    )
    height = (f.footing.thickness if f.footing.shape == "square" else p.footing_depth + f.footing.above_grade) / 12
    net = max(
        loads.soil_bearing_psf - estimate("weight of concrete") * height,
        estimate("least net soil bearing") * loads.soil_bearing_psf,
    )
    need = load / net * 144
    size = math.sqrt(need) if f.footing.shape == "square" else 2 * math.sqrt(need / math.pi)
    post = p.stock(f.post).width  # stands on the concrete with its whole foot
    size = max(size, post if f.footing.shape == "square" else post * math.sqrt(2))
    row = footing(p.local.edition, loads.soil_bearing_psf, tributary_sqft=area)
    if row is not None:
        size = max(size, float((row.square if f.footing.shape == "square" else row.round).value))
    return even(size)


def _at_mitre(run: BeamRun, post: tuple[float, float]) -> bool:
    """Whether a post, of whichever beam, stands under a mitred end of this one."""
    ends = ((run.start, run.mitred[0]), (run.end, run.mitred[1]))
    return any(mitred and math.dist(post, end) < SAME_POST for end, mitred in ends)


def _tributary(layout: Beamed, run: BeamRun, span: float, runs: Sequence[BeamRun]) -> tuple[float, float]:
    """Inches of joist that a beam carries, and the longest span of a joist on it: a joist's reaction over its load, for
    the overhang at a free edge; between spans 5/4 of a span, the middle reaction of a joist that runs on over two
    (handbook), and a little for unequal ones. Under a line that the file gives, and one of an edge that runs on under
    other joists, by those that lie on it."""
    between = estimate("reaction between two joist spans")
    given = run.edge is None and not run.flush and layout.parameters.frame.beam_lines is not None
    if given or run.through:
        return carried_by(layout, run, runs, between)
    c = 0.0 if run.flush else layout.parameters.frame.cantilever
    return (span + c) ** 2 / (2 * span) if run.edge is not None and span > 0 else between * span, span


def _post_spacing(layout: Beamed, run: BeamRun, span: float, runs: Sequence[BeamRun]) -> float:
    """What both the published table and the calculation allow a beam between its posts; of the file's own stock, which
    no table knows, the calculation.

    The table is entered with the joist span that loads the beam as much: its own assumption is a joist that overhangs
    by a quarter, (1 + 1/4)^2 / 2 = 0.78125 of the joist span (the same reading as `model/structure/prescribed`).
    """
    p = layout.parameters
    carried, longest = _tributary(layout, run, span, runs)
    joists = max(longest, carried / JOIST_OVERHANG_SHARE)
    if joists <= 0:  # a given line on which no joist lies
        return estimate("post spacing without a table")
    return allowed_span(
        Lumber.of(p.lumber),
        layout.beam_stock(run.flush),
        p.frame.beam_plies,
        round(joists, 6),
        max(p.loads.live_psf, p.loads.ground_snow_psf),
        p.loads.dead_psf,
        p.local.edition,
        p.stock(p.frame.post).width,
    )


@lru_cache(maxsize=512)
def allowed_span(
    wood: Lumber, beam: Stock, plies: int, joists: float, live: float, dead: float, edition: str, seat: float
) -> float:
    if beam.given:  # no table knows it: the calculation alone, the post's width with it
        return max(longest_beam_span(wood, beam, plies, joists / 12, live, dead, seat=seat).value, LEAST_SPACING)
    row = beam_span(wood.species, plies, beam.name, joists / 12, edition)
    allowed = float(row.value) if row else estimate("post spacing without a table")
    with contextlib.suppress(NoValue):
        allowed = min(allowed, longest_beam_span(wood, beam, plies, joists / 12, live, dead).value)
    return max(allowed, LEAST_SPACING)


def _marks(layout: Beamed, run: BeamRun, spacing: float, side: float) -> list[float]:
    """Even places of the posts along a beam, on footings of a size: under its mitres, else back from its tips."""
    f = layout.parameters.frame
    half = layout.parameters.stock(f.post).width / 2
    low, high = run.reach
    tips = max(0.0, -low), max(0.0, high - run.length)  # how far bevelled plies reach past the centre line
    free = [not m for m in run.mitred]

    def ends(overhang: float | None, count: int) -> tuple[float, float]:
        """First and last post along the centre line."""
        if overhang is None:  # a quarter of the span behind it at most
            overhang = min(OVERHANG, (run.length + sum(tips)) / (4 * count + sum(free)))
        inset = [max(overhang - tip, half) if at else 0.0 for tip, at in zip(tips, free)]
        if run.flush and run.edge is None:  # half of the post is under the rim that the beam ends on
            inset = [_inset(layout, run, x, half) for x in (0.0, run.length)]
        elif run.flush and f.beam_overhang is None:
            inset = [into_corner(layout, run, k, tips[k], half) if free[k] else 0.0 for k in (0, 1)]
        if f.beam_overhang is None and not layout.house_wall.is_empty:  # a footing keeps out of the wall
            at_wall = [_off_the_wall(layout, run, x, max(side, layout.at_wall) / 2) for x in (0.0, run.length)]
            held = [w == 0.0 or not at for w, at in zip(at_wall, free)]  # ends whose post stays where it is
            whole = run.length + sum(tips) - sum(x for x, stays in zip(inset, held) if stays)
            most = whole / (4 * count + 2 - sum(held))  # a quarter of the span behind it
            inset = [x if stays else max(x, min(w, most)) for x, w, stays in zip(inset, at_wall, held)]
        return inset[0], run.length - inset[1]

    count = 1
    # the rim along the joists hangs on a flush beam's very end: a post is there
    asked = 0.0 if run.flush and f.beam_overhang is None else f.beam_overhang
    first, last = ends(asked, count)
    while (last - first) / count > spacing + 1e-9:
        count += 1
        first, last = ends(asked, count)
    if _too_short_for_overhang(layout, run):
        first, last = ends(None, count)
    if last - first >= 2 * half + POST_GAP:
        return [*(first + (last - first) * k / count for k in range(count)), last]  # a mitre's place to the last bit
    return [0.0] if run.mitred[0] else [run.length] if run.mitred[1] else [run.length / 2]


def _kept_clear(layout: Setting, run: BeamRun, marks: list[float], spacing: float) -> list[float]:
    """The places of posts along a beam out of the stretches where the file wants none and out of ways out, where there
    are such; where it cannot be done for both, out of the first."""
    asked, ways = [place for _, place in clear_places(layout)], ways_out(layout)
    for kept in (asked + ways, asked) if ways else (asked,):
        found = _out_of(layout, run, marks, spacing, kept)
        if found is not None:
            return found
    return marks


def _out_of(
    layout: Setting, run: BeamRun, marks: list[float], spacing: float, places: Sequence[Polygon]
) -> list[float] | None:
    f, half = layout.parameters.frame, layout.parameters.stock(layout.parameters.frame.post).width / 2
    line = LineString([run.start, run.end])
    cut = [line.intersection(place.buffer(half, join_style="mitre")) for place in places]
    ends = [sorted(run.position(q) for q in c.coords) for c in cut if isinstance(c, LineString) and c.length]
    kept = [(low, high) for low, high in ends]
    free = f.beam_overhang is None and not run.flush
    movable = (free and not run.mitred[0], free and not run.mitred[1])
    return clear_marks(run.length, marks, spacing, kept, movable, (half, OVERHANG), 2 * half + POST_GAP)


def _off_the_wall(layout: Setting, run: BeamRun, end: float, radius: float) -> float:
    """How far in from an end of a beam a footing of a radius is out of the house's wall, to which it comes aslant."""
    away, inward = layout.house_wall.distance(Point(run.point(end))), 1.0 if end == 0.0 else -1.0
    short = radius - away
    if short <= 0:
        return 0.0
    gained = layout.house_wall.distance(Point(run.point(end + inward * short))) - away
    return short * short / gained if gained > LEAST_ACROSS_RIM * short else 0.0


def _too_short_for_overhang(layout: Setting, run: BeamRun) -> bool:
    """Whether two posts do not stand side by side under a beam with the overhang that the file asks for."""
    f = layout.parameters.frame
    asked = (f.beam_overhang or 0.0) * sum(not m for m in run.mitred)
    return asked > 0 and run.length - asked < layout.parameters.stock(f.post).width + POST_GAP


def _inset(layout: Setting, run: BeamRun, end: float, half: float) -> float:
    """From the end of a flush beam to the centre of its last post: none where half of the post is to carry the rim that
    it ends on; behind a ledger, and clear of a rim whose joists lie on a beam of their own, the whole post."""
    point, (dx, dy) = run.point(end), run.direction
    found = 0.0
    for e in layout.outline.edges:
        along, inside = e.position(point)
        if not (0 <= along <= e.length and abs(inside) < 2 * layout.rim_of(e)):
            continue
        if layout.has_ledger(e):
            found = max(found, half)
        elif beam_under(layout, e):
            x, y = (abs(float(np.dot(e.inward, way))) for way in ((dx, dy), (-dy, dx)))
            found = max(found, (layout.rim_of(e) + half * (x + y) + TOUCHES - inside) / max(x, LEAST_ACROSS_RIM))
    return found


def _with_posts(
    layout: Beamed, runs, spacings: list[float], grid: list[float], side: float, give_way: bool = True
) -> tuple[BeamRun, ...]:
    """The runs with their posts on footings of a size, no further apart than their `spacings`, set out first at those
    of the `grid`: those under mitres first, which do not move, then the others in order. Where a flight passes under a
    mitre the post may `give_way` to one of each beam, if there is room."""
    found = PostsStood((stairs_below(layout), feet_below(layout)), [place for _, place in clear_places(layout)])
    places = [
        _kept_clear(layout, run, _marks(layout, run, spacing, side), most)
        for run, spacing, most in zip(runs, grid, spacings)
    ]
    posts: list[list[tuple[float, float]]] = [[] for _ in runs]

    def stand(n: int, at: float) -> None:
        point = runs[n].point(at)
        posts[n].append(point)
        found.taken.append(post_centre(layout, runs[n], point))
        found.squares.append(post_square(layout, runs[n], point))
        if not is_notched(layout, runs[n], point):
            found.whole[runs[n].flush].append(found.squares[-1])

    def stood(run: BeamRun, at: float) -> bool:
        return any(math.dist(run.point(at), c) < SAME_POST for c in found.taken)

    below = shapely.union_all(found.stairs[0] if give_way else [])
    short = [run.length < shortest_braced(layout) for run in runs]  # a shared post stands square to the other beam
    for n in sorted(range(len(runs)), key=lambda n: (short[n], n)):
        run, marks = runs[n], places[n]
        for end, at in ((0, 0.0), (1, run.length)):
            inside = inside_wrapped(layout, run, end, at)
            clear = post_square(layout, run, run.point(inside)).intersection(below).area <= TOUCHES
            if run.mitred[end] and at in (marks[0], marks[-1]) and clear and not stood(run, at):
                stand(n, inside)
                if inside != at:
                    found.taken.append(run.point(at))  # so it stands for the other beam too
    in_turn = sorted(range(len(runs)), key=lambda n: layout.distance_out(runs[n].point(runs[n].length / 2)))
    for n in in_turn:
        run, marks, spacing = runs[n], places[n], spacings[n]
        for k, mark in list(enumerate(marks))[:: layout.ahead(run.direction)]:
            if ((mark == 0.0 and run.mitred[0]) or (mark == run.length and run.mitred[1])) and stood(run, mark):
                continue
            under = [r.polygon for r in runs if r is not run and not r.flush]
            if run.flush and any(o.intersection(run.polygon).contains(Point(run.point(mark))) for o in under):
                continue  # it lies on that beam there
            clear = clear_place(layout, run, marks, k, spacing, side, found, under)
            if clear == mark and mark in (0.0, run.length) and run.mitred[mark > 0]:
                return _with_posts(layout, runs, spacings, grid, side, give_way=False)
            if clear is not None:
                marks[k] = clear
                stand(n, clear)
    return tuple(replace(run, posts=tuple(sorted(p, key=run.position))) for run, p in zip(runs, posts))
