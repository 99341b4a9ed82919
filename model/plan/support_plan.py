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
from shapely.geometry import Polygon

from ...shared.errors import DesignError
from ...shared.standards import beam_span, estimate, footing
from ...shared.stock import lumber
from ..strength.nds import Lumber, NoValue
from ..strength.spans import JOIST_OVERHANG_SHARE, longest_beam_span
from .beam_lines import beam_runs, width
from .beam_run import BeamRun
from .joist_spans import longest_span
from .places import FootingSpot
from .stages import Beamed, LevelPlan, Setting, Stepped, grown

OVERHANG = estimate("beam overhang past its end post")
SHORTEST_POST = 1.5  # inches: less cannot be cut and fixed; our own
SMALLER_BEAMS = ("2x8", "2x6")  # tried in turn under a deck too low for the default beam
FURTHEST_MOVE = 24.0  # inches a post may be moved along its beam to keep its footing clear of another's; our own
POST_GAP = 1.0  # inches between two posts, so that their bases can be bolted down; our own


class _TooLow(Exception):
    """The beam's underside lies lower than its bearing can."""


def supported(plain: Stepped) -> LevelPlan:
    """The plan with beams on their posts, and footings under them.

    Raises DesignError where an explicit beam line misses the deck, two posts cannot stand side by side, or the deck is
    too low for any beam under its joists.
    """
    f = plain.parameters.frame
    sizes = [f.beam]
    if "beam" not in f.model_fields_set:
        sizes += [s for s in SMALLER_BEAMS if lumber(s).width < lumber(f.beam).width]
    for k, size in enumerate(sizes):
        layout = grown(plain, Beamed, beam=lumber(size))
        try:
            runs, side = _planned(layout)
            footings = _footings(layout, runs, side)
        except _TooLow as low:
            if k + 1 < len(sizes):
                continue
            raise DesignError("levels.surface", str(low)) from None
        break
    notes = tuple(_notes(layout, footings))
    return grown(layout, LevelPlan, runs=runs, footings=footings, footing_size=side, notes=notes)


def _notes(layout: Beamed, footings: Sequence[FootingSpot]) -> Iterator[str]:
    """What was chosen for the builder, in words."""
    f = layout.parameters.frame
    if layout.beam.name != f.beam:
        yield f"The deck is too low for a {f.beam} beam: the beams are {layout.beam.name}."
    direct = sum(len(s.posts) for s in footings if not s.posted)
    if direct:
        yield (
            f"No room for posts at {direct} of {sum(len(s.posts) for s in footings)} places: the beam bears on the post"
            " base there, and the concrete is finished to suit."
        )
    shared = [s for s in footings if len(s.posts) > 1]
    if shared:
        yield (
            f"{len(shared)} footing{'s' if len(shared) > 1 else ''} made larger to carry"
            f" {', '.join(str(len(s.posts)) for s in shared)} posts that stand too close together for footings of their"
            " own."
        )


def _planned(layout: Beamed) -> tuple[tuple[BeamRun, ...], float]:
    """The beams on their posts, and the size of a footing under one post."""
    f = layout.parameters.frame
    runs = tuple(beam_runs(layout))
    span = longest_span(layout, runs)
    spacings = [f.post_spacing or _post_spacing(layout, run, span) for run in runs]
    side = 0.0
    for _ in range(3):  # a larger footing may move a post, and a moved post may want a larger footing
        runs = _with_posts(layout, runs, spacings, side)
        size = f.footing.size or max(side, _footing_size(layout, runs, span))
        if size == side:
            break
        side = size
    return runs, side


def _footing_size(layout: Setting, runs: list[BeamRun], span: float) -> float:
    """A size for all footings from the greatest load of any post: the table's, or load over soil bearing where that is
    more.

    The load is estimated high (a post between two beam spans takes 5/4 of its share, a joist's overhang levers load
    onto its beam: both are handbook reactions); the checks judge the footings by the load path of the finished model.
    """
    p = layout.parameters
    f, loads = p.frame, p.loads
    area = 0.0
    for run in runs:
        wide = _tributary(layout, run, span)
        at = sorted(run.position(q) for q in run.posts)
        for k, a in enumerate(at):
            low = (a - at[k - 1]) / 2 if k else a
            high = (at[k + 1] - a) / 2 if k + 1 < len(at) else run.length - a
            area = max(
                area,
                (low + high)
                * estimate("reaction between two beam spans" if 0 < k < len(at) - 1 else "reaction at a beam's end")
                * wide
                / 144,
            )
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
    row = footing(p.local.edition, loads.soil_bearing_psf, tributary_sqft=area)
    if row is not None:
        size = max(size, float((row.square if f.footing.shape == "square" else row.round).value))
    return _even(size)


def _even(size: float) -> float:
    return 2.0 * math.ceil(size / 2 - 1e-9)


def _tributary(layout: Setting, run: BeamRun, span: float) -> float:
    """Inches of joist that a beam carries: a joist's reaction over its load, for the overhang at a free edge; between
    spans 5/4 of a span, the middle reaction of a joist that runs on over two (handbook), and a little for unequal
    ones."""
    c = layout.parameters.frame.cantilever
    return (
        (span + c) ** 2 / (2 * span)
        if run.edge is not None and span > 0
        else estimate("reaction between two joist spans") * span
    )


def _post_spacing(layout: Beamed, run: BeamRun, span: float) -> float:
    """What both the published table and the calculation allow a beam between its posts.

    The table is entered with the joist span that loads the beam as much: its own assumption is a joist that overhangs
    by a quarter, (1 + 1/4)^2 / 2 = 0.78125 of the joist span (the same reading as `model/prescribed`).
    """
    p = layout.parameters
    joists = max(span, _tributary(layout, run, span) / JOIST_OVERHANG_SHARE)
    return _allowed_span(
        p.lumber.species,
        p.lumber.grade,
        p.lumber.wet,
        p.lumber.incised,
        layout.beam.name,
        p.frame.beam_plies,
        round(joists, 6),
        max(p.loads.live_psf, p.loads.ground_snow_psf),
        p.loads.dead_psf,
        p.local.edition,
    )


@lru_cache(maxsize=512)
def _allowed_span(
    species, grade, wet, incised, beam: str, plies: int, joists: float, live: float, dead: float, edition
) -> float:
    row = beam_span(species, plies, beam, joists / 12, edition)
    allowed = float(row.value) if row else estimate("post spacing without a table")
    with contextlib.suppress(NoValue):
        allowed = min(
            allowed, longest_beam_span(Lumber(species, grade, wet, incised), beam, plies, joists / 12, live, dead).value
        )
    return max(allowed, 24.0)


def _marks(layout: Setting, run: BeamRun, spacing: float) -> list[float]:
    """Even places of the posts along a beam: under its mitres, else back from its tips."""
    f = layout.parameters.frame
    half = lumber(f.post).width / 2
    low, high = run.extent(run.polygon)
    tips = max(0.0, -low), max(0.0, high - run.length)  # how far bevelled plies reach past the centre line
    free = [not m for m in run.mitred]

    def ends(overhang: float | None, count: int) -> tuple[float, float]:
        """First and last post along the centre line."""
        if overhang is None:  # a quarter of the span behind it at most
            overhang = min(OVERHANG, (run.length + sum(tips)) / (4 * count + sum(free)))
        inset = [max(overhang - tip, half) if f else 0.0 for tip, f in zip(tips, free)]
        return inset[0], run.length - inset[1]

    count = 1
    first, last = ends(f.beam_overhang, count)
    while (last - first) / count > spacing + 1e-9:
        count += 1
        first, last = ends(f.beam_overhang, count)
    if last - first >= 2 * half + POST_GAP:
        return [first + (last - first) * k / count for k in range(count + 1)]
    return [0.0] if run.mitred[0] else [run.length] if run.mitred[1] else [run.length / 2]


def _with_posts(layout: Beamed, runs: Sequence[BeamRun], spacings: list[float], side: float) -> tuple[BeamRun, ...]:
    """The runs with their posts on footings of a size: mitres first, which cannot move, then the others in order."""
    taken: list[tuple[float, float]] = []
    squares: list[Polygon] = []
    places = [_marks(layout, run, spacing) for run, spacing in zip(runs, spacings)]
    posts: list[list[tuple[float, float]]] = [[] for _ in runs]

    def stand(n: int, at: float) -> None:
        point = runs[n].point(at)
        posts[n].append(point)
        taken.append(point)
        squares.append(post_square(layout, runs[n], point))

    for n, (run, marks) in enumerate(zip(runs, places)):
        for end, at in ((0, 0.0), (1, run.length)):
            if (
                run.mitred[end]
                and at in (marks[0], marks[-1])
                and not any(math.dist(run.point(at), c) < 1.0 for c in taken)
            ):
                stand(n, at)
    for n, (run, marks, spacing) in enumerate(zip(runs, places, spacings)):
        for k, mark in enumerate(marks):
            if (mark == 0.0 and run.mitred[0]) or (mark == run.length and run.mitred[1]):
                continue
            at = _clear_place(layout, run, marks, k, spacing, side, taken, squares)
            if at is not None:
                marks[k] = at
                stand(n, at)
    return tuple(replace(run, posts=tuple(sorted(p, key=run.position))) for run, p in zip(runs, posts))


def _clear_place(
    layout: Beamed, run: BeamRun, marks: list[float], k: int, spacing: float, size: float, taken, squares
) -> float | None:
    """The place nearest to a post's even one where its footing, or else the post itself, clears those that stand; None
    where a post that stands already carries this beam as well."""
    half = lumber(layout.parameters.frame.post).width / 2
    even = marks[k]

    def crowded(at: float, apart: float) -> bool:
        p = run.point(at)
        return any(_apart(layout, p, q) < apart for q in taken)

    def clear(at: float) -> bool:
        square = post_square(layout, run, run.point(at))
        return all(square.distance(o) >= POST_GAP - 1e-9 for o in squares)

    if not crowded(even, size) and clear(even):
        return even
    movable = (0 < k < len(marks) - 1) or layout.parameters.frame.beam_overhang is None
    steps = [s * d for d in np.arange(0.5, FURTHEST_MOVE + 0.1, 0.5) for s in (1, -1)] if movable else []
    places = [even, *(even + s for s in steps if _allowed(run, marks, k, even + s, spacing, half))]
    for at in places:
        if not crowded(at, size - 1e-9) and clear(at):
            return at
    for at in places:  # the footings become one
        if clear(at):
            return at
    shared = post_square(layout, run, run.point(even))
    if any(o.intersection(run.polygon).area >= 1.5 * width(layout) and o.distance(shared) < POST_GAP for o in squares):
        return None
    anywhere = sorted(np.arange(half, run.length - half, 0.5), key=lambda at: abs(at - even))
    for at in anywhere:
        if clear(at):
            return float(at)
    key = "frame.beam_lines" if layout.parameters.frame.beam_lines is not None else "frame.cantilever"
    raise DesignError(
        key,
        f"leaves no room for a post under the beam {run.where} beside the posts of its neighbours: move the beams"
        " apart",
    )


def _allowed(run: BeamRun, marks: list[float], k: int, at: float, spacing: float, half: float) -> bool:
    """Whether a post may move there: spans within the spacing, overhangs at most the usual one and a quarter of the
    span."""
    low, high = run.extent(run.polygon)
    if not half <= at <= run.length - half:
        return False
    others = [*marks[:k], *marks[k + 1 :]]
    if not others:
        return True
    gaps = [
        abs(at - o)
        for o in (marks[k - 1] if k else None, marks[k + 1] if k + 1 < len(marks) else None)
        if o is not None
    ]
    if max(gaps) > spacing + 1e-9 or min(gaps) < 2 * half + POST_GAP:
        return False
    out = at - low if k == 0 else high - at if k == len(marks) - 1 else 0.0
    return (
        out <= max(OVERHANG, (marks[k] - low if k == 0 else high - marks[k])) and out <= min(gaps) / 4 + 1e-9
    ) or out <= half + 1e-9


def _apart(layout: Setting, p, q) -> float:
    """The distance at which two footings of half that size each just touch."""
    d = np.abs(np.subtract(p, q))
    return float(np.hypot(*d)) if layout.parameters.frame.footing.shape == "round" else float(d.max())


def _footings(layout: Beamed, runs: Sequence[BeamRun], size: float) -> tuple[FootingSpot, ...]:
    """The footings of all posts; those that would overlap are one, with at least the area they had."""
    groups = [[(run, c)] for run in runs for c in run.posts]
    round_ = layout.parameters.frame.footing.shape == "round"
    plans = [_plan(g, round_, size) for g in groups]
    while True:
        pair = next(
            (
                (i, j)
                for i in range(len(plans))
                for j in range(i)
                if _apart(layout, plans[i][0], plans[j][0]) < (plans[i][1] + plans[j][1]) / 2 - 1e-6
            ),
            None,
        )
        if pair is None:
            break
        i, j = pair
        groups[j] += groups.pop(i)
        plans.pop(i)
        plans[j] = _plan(groups[j], round_, size)
    return tuple(_levels(layout, tuple(g), c, side) for g, (c, side) in zip(groups, plans))


def _plan(posts, round_: bool, size: float) -> tuple[tuple[float, float], float]:
    """(centre, size) of the footing under some posts, of which each alone wants one of `size`."""
    if len(posts) == 1:
        return posts[0][1], size
    centres = np.array([c for _, c in posts])
    if round_:
        circle = shapely.minimum_bounding_circle(shapely.MultiPoint(centres))
        middle, across = circle.centroid.coords[0], 2 * shapely.minimum_bounding_radius(shapely.MultiPoint(centres))
    else:
        middle, across = tuple((centres.min(axis=0) + centres.max(axis=0)) / 2), float(np.ptp(centres, axis=0).max())
    return tuple(map(float, middle)), _even(max(across + size, size * math.sqrt(len(posts))))


def _levels(layout: Beamed, posts, centre, size: float) -> FootingSpot:
    f, beam = layout.parameters.frame, layout.planes.frame_bottom - layout.beam.width
    grade = layout.planes.grade(*centre)
    low = grade - layout.parameters.footing_depth
    if f.footing.shape == "square":
        top = low + f.footing.thickness
        if beam - top < f.post_base + SHORTEST_POST - 1e-9:
            raise DesignError(
                "frame.footing.thickness",
                f"leaves {beam - top:.2f} in between the pad's top and the beam {posts[0][0].where}: make the pad"
                " thinner or deeper",
            )
        return FootingSpot(centre, size, low, top, posts, True)
    top = grade + f.footing.above_grade
    if beam - top >= f.post_base + SHORTEST_POST - 1e-9:
        return FootingSpot(centre, size, low, top, posts, True)
    needed = beam - f.post_base
    lowered = needed < top - 1e-9
    if needed < grade - 1e-9 or (lowered and "above_grade" in f.footing.model_fields_set):
        least = grade + (f.footing.above_grade if needed >= grade - 1e-9 else 0.0)
        raise _TooLow(
            f"leaves {beam - grade:.2f} in between grade and the underside of the {layout.beam.name} beam"
            f" {posts[0][0].where}, and the beam's bearing on a post base wants {least - grade + f.post_base:.2f} in:"
            f" raise the surface by {least - needed:.2f} in, or take a shallower beam or joist"
        )
    return FootingSpot(centre, size, low, needed, posts, False)


def post_square(layout: Setting, run: BeamRun, centre) -> Polygon:
    """The plan square of a post, one face along its beam."""
    h, d = lumber(layout.parameters.frame.post).width / 2, run.direction
    n, c = np.array([-d[1], d[0]]), np.asarray(centre)
    return Polygon([c - d * h - n * h, c + d * h - n * h, c + d * h + n * h, c - d * h + n * h])
