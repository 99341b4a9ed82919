"""Strings that set out the frames of stairs' landings on the plans of the deck, and the guard posts round a landing."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from ...model.solid.part import Part
from ..drafting import drawing as d
from ..linework.eye import Eye
from . import in_plan
from .askew import askew, square_to
from .landings_drawn import landings, seen_at, seen_box, stairs_with_landings
from .stage import Stage
from .strings import Strings

_ROOM_SHARED = 0.5  # paper inches from one line to the next in a string of several landings; our own
_ONE_LINE = 1 / 16
_GUARD_OFF = 8.0  # inches off the frame of a landing within which a guard post is fastened to it
_AT_CORNER = 3.0  # inches from an end of the frame within which a guard post stands at its corner; our own
_ALONG = 0.9999  # cosine above which a stair leaves the deck along its axes


@dataclass
class _LandingString:
    """Points of one string, and the stretches in it that must stay whole."""

    whole: list[tuple[float, float]]
    points: list[d.Point]

    def joined(self, other: _LandingString, axis: int, scale: float) -> bool:
        """Whether another's points were taken in: no stretch is cut by a point, every figure has room."""
        whole, points = [*self.whole, *other.whole], [*self.points, *other.points]
        stations = sorted({round(p[axis], 2) for p in points})
        cut = any(a + _ONE_LINE < s < b - _ONE_LINE for a, b in whole for s in stations)
        if cut or any(b - a < _ROOM_SHARED * scale for a, b in itertools.pairwise(stations)):
            return False
        self.whole, self.points = whole, points
        return True


def landing_strings(stage: Stage, view: d.View, strings: Strings, deck: d.Box, begin: d.Point | None = None) -> None:
    """Width and depth of every landing's frame, each tied to the point at which the strings of the plan `begin`, or to
    the side of the deck's frame that is nearer: the far one where the landing lies past it. `deck`, the box of that
    frame, and `strings` are in the deck's own coordinates. A stair askew to the deck has its strings along its own
    edge."""
    turned = askew(stage)
    runs: dict[str, list[_LandingString]] = {}
    for stair in stairs_with_landings(stage):
        frames = [l.frame for l in landings(stage, stair) if l.frame]
        if max(map(abs, turned.into(stage.seen.flights(stair)[0].out))) < _ALONG:
            _askew_landings(stage, view, stair, frames)
            continue
        for own in (turned.box([p.footprint for p in frame]) for frame in frames):
            for axis, side in enumerate(_sides(own, deck)):
                a, b = own[axis], own[axis + 2]
                tie = begin[axis] if begin else _tie((a, b), (deck[axis], deck[axis + 2]))
                points = [(s, own[1]) if axis == 0 else (own[0], s) for s in (tie, a, b)]
                run = _LandingString([(a, b)], points)
                if not any(r.joined(run, axis, view.scale) for r in runs.setdefault(side, [])):
                    runs[side].append(run)
    for side, found in runs.items():
        for run in found:
            strings.chain(side, run.points)


def _sides(own: d.Box, deck: d.Box) -> tuple[str, str]:
    """The sides of the plan on which a landing's width and depth stand: those nearer to it."""
    u, v = (own[0] + own[2] - deck[0] - deck[2]) / 2, (own[1] + own[3] - deck[1] - deck[3]) / 2
    return "above" if v > 0 else "below", "right" if u > 0 else "left"


def _tie(own: tuple[float, float], deck: tuple[float, float]) -> float:
    return deck[1] if own[0] > deck[1] - _ONE_LINE else deck[0]


def _askew_landings(stage: Stage, view: d.View, stair: int, frames: Sequence[Sequence[Part]]) -> None:
    """The sizes of the frames along the stair's own edge, tied to it; past all of the stair, on the side where nothing
    else stands: of two such sides that nearer to the upper right, as the deck's own strings stand below and left of
    it. Where there is none the stair's own plan has them alone."""
    edge = stage.edge(stage.deck.parameters.stair[stair].edge)
    turned = square_to(edge)
    own = turned.box([p.footprint for p in stage.parts if p.stair == stair])
    face, out = turned.into(edge.start), turned.into(edge.inward)
    outlines = [stage.deck.layout.outline.polygon, *(p.footprint for p in stage.parts if p.stair not in (None, stair))]
    strings, others = Strings(view, own, spacing=stage.string_spacing, turned=turned), shapely.union_all(outlines)
    off = (strings.start + strings.spacing) * view.scale
    for axis, sides in enumerate((("below", "above"), ("left", "right"))):
        tie = [face[axis]] if abs(out[axis]) > abs(out[1 - axis]) else []
        boxes = [turned.box([p.footprint for p in frame]) for frame in frames]
        stations = [s for box in boxes for s in (box[axis], box[axis + 2])] + tie
        open_: list[tuple[float, str]] = []
        for side, (near, far) in zip(
            sides, ((own[1 - axis] - off, own[1 - axis]), (own[3 - axis], own[3 - axis] + off))
        ):
            low, high = min(stations), max(stations)
            band = turned.outline((low, near, high, far) if axis == 0 else (near, low, far, high))
            if band.intersection(others).area < 1:
                open_.append((band.centroid.x + band.centroid.y, side))
        for box in boxes if open_ else ():
            at = [*tie, box[axis], box[axis + 2]]
            strings.chain(max(open_)[1], [(s, box[1]) if axis == 0 else (box[0], s) for s in at])


@dataclass(frozen=True)
class _GuardedSide:
    """The guard posts on one side of a landing: on which side of the view, along which of its axes, how far across, the
    ends of the frame there, and the middles of posts between."""

    name: str
    axis: int
    at: float
    ends: tuple[float, float]
    posts: tuple[float, ...]

    def point(self, station: float) -> d.Point:
        return (station, self.at) if self.axis == 0 else (self.at, station)

    @property
    def corners(self) -> list[tuple[float, float]]:
        """(middle, how far from its end of the frame) of the posts that stand at a corner."""
        low, high = self.ends
        off = ((s, min(s - low, high - s)) for s in self.posts)
        return [(s, o) for s, o in off if o < _AT_CORNER]


def guard_post_strings(
    stage: Stage, view: d.View, strings: Strings, eye: Eye, stair: int, frames: Sequence[Sequence[Part]]
) -> None:
    """On every side of a landing the guard posts fastened there, from end to end of its frame; `strings` lie in the
    view of `eye`. What stands alike on two sides is said once, and once for all how far posts stand from corners."""
    sides = [side for frame in frames for side in _guarded(stage, eye, stair, frame)]
    corners = [(side.point(s), off) for side in sides for s, off in side.corners]
    typical = len({stage.text(off) for _, off in corners}) == 1
    for side in sides:
        near = {s for s, _ in side.corners} if typical else set()
        ends = [e for e in side.ends if all(abs(s - e) > _AT_CORNER for s in near)]
        strings.chain(side.name, [side.point(s) for s in (*ends, *side.posts)])
    if corners and typical:
        words = f"GUARD POST, CENTRE {stage.inch(corners[0][1])} FROM THE CORNER OF THE FRAME, TYP."
        view.add(d.Leader(corners[0][0], words, tips=[p for p, _ in corners[1:]]))


def _guarded(stage: Stage, eye: Eye, stair: int, frame: Sequence[Part]) -> list[_GuardedSide]:
    x0, y0, x1, y1 = seen_box(eye, frame)
    posts = [seen_at(eye, in_plan.centre(p)) for p in stage.of("guard post") if p.stair == stair and _held(p, frame)]
    found: dict[tuple[int, ...], _GuardedSide] = {}
    for name, axis, at, out in (("below", 0, y0, -1), ("above", 0, y1, 1), ("left", 1, x0, -1), ("right", 1, x1, 1)):
        low, high = ((x0, x1), (y0, y1))[axis]
        beside = [p[axis] for p in posts if 0 < (p[1 - axis] - at) * out < _GUARD_OFF]
        mine = sorted(s for s in beside if low - _ONE_LINE < s < high + _ONE_LINE)
        if mine:
            side = _GuardedSide(name, axis, at, (low, high), tuple(mine))
            found.setdefault((axis, *(round(s * 16) for s in mine)), side)
    return list(found.values())


def _held(post: Part, frame: Sequence[Part]) -> bool:
    """Whether a guard post stands as high as a landing's frame, beside it."""
    low, high = min(p.box[0, 2] for p in frame), max(p.box[1, 2] for p in frame)
    return in_plan.overlap((float(post.box[0, 2]), float(post.box[1, 2])), (float(low), float(high))) > 0
