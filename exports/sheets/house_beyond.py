"""The wall of the existing house behind the deck in an elevation: as much of it as the deck leaves to be seen, with
what the file says is in it. Lengths in inches."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPoint, Polygon
from shapely.geometry.base import BaseGeometry

from ..drafting import drawing as d
from ..drafting.symbols import break_line
from ..linework.eye import Eye
from .crop import clipped
from .house import goes_on, hidden_from, shown_between
from .stage import Stage

BEYOND = 12.0  # past the deck's corner that a wall which goes on is drawn; our own
IN_WALL = ("window", "egress window", "vent", "meter")
_FACES_EYE = -0.999  # cosine
_SHORTEST = 0.5  # a shorter rest of a line between two pieces is left out; our own

_Stroke = tuple[d.Point, d.Point]


@dataclass(frozen=True, eq=False)
class WallBeyond:
    """A house edge that faces the eye: its two ends in the view, whether the wall goes on past them, its depth, and
    the openings in it as (name, u from, u to, bottom, top)."""

    low: float
    high: float
    on: tuple[bool, bool]
    depth: float
    openings: tuple[tuple[str, float, float, float, float], ...]


def walls_beyond(stage: Stage, eye: Eye) -> list[WallBeyond]:
    """The house walls that look to where the eye stands."""
    right, toward, found = np.asarray(eye.right[:2]), np.asarray(eye.toward[:2]), []
    for e in stage.house_edges:
        if float(np.dot(-np.asarray(e.inward), toward)) > _FACES_EYE:
            continue
        on = goes_on(stage, e, -1), goes_on(stage, e, 1)
        ends = [e.point(-BEYOND if on[0] else 0.0, 0.0), e.point(e.length + (BEYOND if on[1] else 0.0), 0.0)]
        (u0, on0), (u1, on1) = sorted((float(np.dot(p, right)), goes) for p, goes in zip(ends, on))
        things = [t for t in stage.deck.parameters.house.at_wall if t.edge == e.name and t.kind in IN_WALL]
        openings = []
        for t in things:
            a, b = sorted(float(np.dot(e.point(at, 0.0), right)) for at in (t.at, t.at + t.width))
            openings.append((t.called, a, b, t.bottom, t.top))
        found.append(WallBeyond(u0, u1, (on0, on1), float(np.dot(ends[0], toward)), tuple(openings)))
    return found


def behind_the_deck(
    stage: Stage, eye: Eye, walls: Sequence[WallBeyond], before: BaseGeometry, top: float, scale: float
) -> list[d.AnyItem]:
    """What is seen of the `walls` up to `top`, where they are broken off: their ends, or a break where they go on, and
    the openings; nothing where a piece of the deck, or the house itself (`before`), stands in front."""
    out: list[d.AnyItem] = []
    for w in walls:
        shown = shown_between(hidden_from(before, w.depth))
        ground = stage.ground(eye, w.depth * np.asarray(eye.toward[:2]))
        for stroke in _strokes(w, ground, top):
            for part in _seen_of(stroke, shown):
                out += [d.Line(a, b, layer="A-WALL-ELEV") for a, b in _free(part, *_silhouettes(stage, eye))]
        for u0, u1 in shown:
            a, b = max(w.low, u0), min(w.high, u1)
            if b - a > BEYOND:
                out += break_line((a, top), (b, top), scale)
    return out


def _strokes(w: WallBeyond, ground, top: float) -> Iterator[_Stroke]:
    for u, on in zip((w.low, w.high), w.on):
        if not on:
            yield (u, ground(u)), (u, top)
    for _, a, b, low, high in w.openings:
        # what lies under grade is a well, and not seen from here; what reaches past the break is broken off with it
        low = max(low, ground((a + b) / 2))
        if min(high, top) > low:
            ring = [(a, min(high, top)), (a, low), (b, low), (b, min(high, top))]
            yield from itertools.pairwise(ring)
            if high < top:
                yield ring[-1], ring[0]


def _seen_of(stroke: _Stroke, shown: Sequence[tuple[float, float]]) -> Iterator[_Stroke]:
    for u0, u1 in shown:
        part = clipped(*stroke, (u0, -math.inf, u1, math.inf))
        if part:
            yield part


def _silhouettes(stage: Stage, eye: Eye) -> tuple[np.ndarray, shapely.STRtree]:
    """What each piece hides, seen as if it were filled out between its corners: worked out once for all scales that
    are tried."""

    def make() -> tuple[np.ndarray, shapely.STRtree]:
        hulls = [MultiPoint(eye.flat(p.vertices)).convex_hull for p in stage.parts]
        shapes = np.array([h for h in hulls if isinstance(h, Polygon)], dtype=object)
        return shapes, shapely.STRtree(shapes)

    return stage.once(("silhouettes", eye), make)


def _free(stroke: _Stroke, shapes: np.ndarray, tree: shapely.STRtree) -> list[_Stroke]:
    line = LineString(stroke)
    rest = line.difference(shapely.union_all(shapes[tree.query(line)]))
    lines = [g for g in shapely.get_parts(rest) if g.length > _SHORTEST]
    return [(tuple(g.coords[0]), tuple(g.coords[-1])) for g in lines]
