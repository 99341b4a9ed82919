"""Where along its beam a post finds room: nearest to its even place, clear of the posts, footings and stairs there are.

Moved at most `FURTHEST_MOVE`, within the spacing and the overhangs of its beam. Plan coordinates, inches.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry import Point, Polygon

from ...shared.errors import DesignError
from ...shared.practice import estimate
from .beam_lines import behind_cleats
from .beam_run import BeamRun
from .beside_headers import LEAST_HUNG, TOUCHES
from .edges import FAR
from .footings import POST_GAP, SHORTEST_POST, apart
from .seats import beside_notch, least_bearing, post_centre, post_square, width
from .spots import StairPlan
from .stages import Beamed

OVERHANG = estimate("beam overhang past its end post")
HEADER_HANGS = 16.0  # inches a stair's header and what hangs on it may reach below a flush beam; our own
LEAST_PAST = 0.1  # cosine of the angle to the joists from which these go past posts of a flush beam; our own
GRAZES = 1e-3  # square inches: a joist that shares more with a post's top lies on it
LEAST_POST_GAP = 0.5  # inches between the second post of a short beam and its neighbour's, for nails; our own
FURTHEST_MOVE = 24.0  # inches a post may be moved along its beam to keep its footing clear of another's; our own


@dataclass
class PostsStood:
    """The posts that have their place: centres `taken` (of their footings), plan `squares`, and those on whose `whole`
    top another beam, flush or not, may lie; `stairs`: what of them lies under the deck, and where one steps off;
    `kept`: places before edges where the file wants no post."""

    stairs: tuple[Sequence[Polygon], Sequence[Polygon]]
    kept: Sequence[Polygon] = ()
    taken: list[tuple[float, float]] = field(default_factory=list)
    squares: list[Polygon] = field(default_factory=list)
    whole: dict[bool, list[Polygon]] = field(default_factory=lambda: {False: [], True: []})


class _RoomBelow:
    """What bounds the places of a post under one beam: footings of a `size`, other posts, headers, stairs, beams."""

    def __init__(
        self, layout: Beamed, run: BeamRun, size: float, stood: PostsStood, under: Sequence[Polygon], marks: list[float]
    ):
        self.layout, self.run, self.size, self.stood, self.under = layout, run, size, stood, under
        squares = [post_square(layout, run, run.point(at)) for at in marks]
        # a beam that has no room for its posts out of such a place stands in it, and the checks say so
        self.kept = [place for place in stood.kept if not any(q.intersects(place) for q in squares)]
        self.headers, self.bottom = _headers(layout, run), layout.beam_bottom(run.flush)
        self.joists = _beside(layout, run)

    def crowded(self, at: float, least: float) -> bool:
        p = post_centre(self.layout, self.run, self.run.point(at))
        near = (q for q in self.stood.taken if abs(p[0] - q[0]) < least and abs(p[1] - q[1]) < least)
        return any(apart(self.layout, p, q) < least for q in near)

    def grazed(self, at: float) -> bool:
        """Whether a joist that goes past a post would lie on a corner of it, by less than it has to bear."""
        square = post_square(self.layout, self.run, self.run.point(at))
        least = least_bearing(self.layout) * self.layout.joist.thickness
        return any(GRAZES < square.intersection(q).area < least - 1e-6 for q in self.joists)

    def clear(
        self,
        at: float,
        wide: bool = True,
        in_headers: bool = False,
        off: Sequence[Polygon] = (),
        gap: float = POST_GAP,
    ) -> bool:
        layout, point, bottom = self.layout, self.run.point(at), self.bottom
        square = post_square(layout, self.run, point)
        low = bottom - layout.planes.grade(*point) < HEADER_HANGS
        # on a low deck the footing itself reaches up to what hangs there
        taken_up = Point(point).buffer(self.size / 2) if low and wide else square
        up = square if self.run.flush else beside_notch(layout, self.run, point)
        return (
            bool((shapely.distance(square, self.stood.squares) >= gap - 1e-9).all())
            and not any(
                taken_up.intersects(h) and not (in_headers and _stands_in_header(layout, bottom, plan, square))
                for h, plan in self.headers
            )
            and not any(square.intersection(s).area > TOUCHES for s in (*self.stood.stairs[0], *self.kept))
            and not any(Point(point).buffer(self.size / 2).intersects(s) for s in off)
            and not (up and any(up.intersects(o) for o in self.under))
        )


def clear_place(
    layout: Beamed,
    run: BeamRun,
    marks: list[float],
    k: int,
    spacing: float,
    size: float,
    stood: PostsStood,
    under: Sequence[Polygon],
) -> float | None:
    """The place nearest to a post's even one where its footing, or else the post itself, clears those that stand, and
    what goes up past them the beams `under` the joists; None where a post that stands whole already carries this beam
    as well."""
    room, half, even = (
        _RoomBelow(layout, run, size, stood, under, marks),
        layout.parameters.stock(layout.parameters.frame.post).width / 2,
        marks[k],
    )
    movable = (0 < k < len(marks) - 1) or layout.parameters.frame.beam_overhang is None
    first = layout.ahead(run.direction)
    steps = [s * d for d in np.arange(0.5, FURTHEST_MOVE + 0.1, 0.5) for s in (first, -first)] if movable else []

    def places() -> Iterator[float]:
        yield even  # nearly always it will do
        yield from (even + s for s in steps if _allowed(run, marks, k, even + s, spacing, half))

    # clear of where one steps off a stair, and under no part of a joist, if it can be
    for off, whole in itertools.product((stood.stairs[1], []), (True, False) if room.joists else (False,)):
        for at in places():
            if not room.crowded(at, size - 1e-9) and room.clear(at, off=off) and not (whole and room.grazed(at)):
                return at
    for in_headers in (False, True):  # the footings become one; then in the line of a stair's header
        for at in places():
            if room.clear(at, in_headers=in_headers):
                return at
    if len(marks) == 2 and room.clear(even, gap=LEAST_POST_GAP):
        return even  # a beam on two posts that all but touch is no beam on one
    if _carried_already(layout, run, even, stood.whole[run.flush]):
        return None
    steps_in = np.arange(half, run.length - half, 0.5)
    anywhere = sorted(steps_in if first > 0 else run.length - steps_in, key=lambda at: (abs(at - even), -first * at))
    for wide in (True, False):
        for at in anywhere:
            if room.clear(at, wide):
                return float(at)
    if room.headers or stood.stairs[0] or room.kept:  # a stair along the whole beam: the checks say what stands in what
        post = post_square(layout, run, run.point(even))
        return None if any(post.intersection(o).area > TOUCHES for o in stood.squares) else even
    key = "frame.beam_lines" if layout.parameters.frame.beam_lines is not None else "frame.cantilever"
    raise DesignError(
        key,
        f"leaves no room for a post under the beam {run.where} beside the posts of its neighbours: move the beams"
        " apart",
    )


def _carried_already(layout: Beamed, run: BeamRun, at: float, whole: Sequence[Polygon]) -> bool:
    """Whether one of the posts that stand `whole` carries a beam near a place along it."""
    post = post_square(layout, run, run.point(at))
    least = 1.5 * width(layout, run.flush)
    return any(o.intersection(run.polygon).area >= least and o.distance(post) < POST_GAP for o in whole)


def _allowed(run: BeamRun, marks: list[float], k: int, at: float, spacing: float, half: float) -> bool:
    """Whether a post may move there: spans within the spacing, overhangs at most the usual one and a quarter of the
    span."""
    low, high = run.reach
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


def _beside(layout: Beamed, run: BeamRun) -> list[Polygon]:
    """What of the joists along a slanted flush beam passes its posts: all but as far from their ends as they are deep,
    where they hang on it and what they lie on beside is no matter."""
    if not run.flush or abs(float(run.direction @ layout.along)) < LEAST_PAST:
        return []
    near = run.grown_by(layout.parameters.stock(layout.parameters.frame.post).width)
    found = []
    for _, piece in layout.joist_lines:
        if piece.intersects(near):
            s = np.asarray(piece.exterior.coords) @ layout.along
            low, high = float(s.min()) + layout.joist.width, float(s.max()) - layout.joist.width
            a, b = layout.along, layout.across * FAR
            ring = [a * low - b, a * low + b, a * high + b, a * high - b]
            found += [piece.intersection(Polygon(ring))] if low < high else []
    return found


def _headers(layout: Beamed, run: BeamRun) -> list[tuple[Polygon, StairPlan]]:
    """Where the headers of stairs hang below rims, with the stringers in front of them: a post of a flush beam stands
    there only where the beam finds none beside them."""
    if not run.flush:
        return []
    hung = [p for p in layout.stair_plans if p.spot in layout.hung]
    return [
        (s.edge.rectangle(s.start, s.end, -FURTHEST_MOVE, behind_cleats(layout, s.edge)), p)
        for p in hung
        for s in [p.spot]
    ]


def _stands_in_header(layout: Beamed, bottom: float, plan: StairPlan, post: Polygon) -> bool:
    """Whether a post under a beam may stand in the line of a stair's header, which is cut to its faces: high enough to
    be a post on concrete that stays below the stringers, and with no piece of header beside it too short to be
    hung."""
    f, spot = layout.parameters.frame, plan.spot
    dry = max(layout.planes.grade(x, y) for x, y in post.exterior.coords) - f.post_base
    if bottom - max(dry, plan.flights[0].bearing) < f.post_base + SHORTEST_POST:
        return False
    along = [spot.edge.position(q)[0] for q in post.exterior.coords]
    beside = min(along) - spot.start, spot.end - max(along)
    return all(left <= TOUCHES or left >= LEAST_HUNG for left in beside)
