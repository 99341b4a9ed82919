"""Strings of dimensions round a view."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from ..drafting import drawing as d
from ..drafting import style
from .askew import Askew

NEAR = 0.35  # paper inches from one thing to the next under which a mark or a figure each has no room; our own
MOST_ABREAST = 5  # strings at most beside one another at a side of a plan; our own
OUTERMOST = 0  # rank of a string that no other displaces: the overall size and the corners of the outline


def too_near(places: Iterable[float], scale: float) -> bool:
    """Whether a string through the places has a step in which its figures have no room."""
    return any(b - a < NEAR * scale for a, b in itertools.pairwise(sorted(places)))


@dataclass(eq=False)
class _Strung:
    """One string of a side: the stretch that it takes, its figures, and how readily it gives way (the highest rank
    first)."""

    low: float
    high: float
    dims: list[d.Dimension]
    rank: int


@dataclass
class Strings:
    """Dimension strings round a view, outside `box`, the shortest next to it: each lies on the nearest line of its side
    that is free along it. Where the deck lies askew, `turned` has its coordinates: box, blocks and points are given in
    those. Where `most` is given, no more strings than that stand abreast at a side: those of the highest rank are left
    out, and `left_out` tells it."""

    view: d.View
    box: d.Box
    start: float = 0.45  # paper inches from the view to the first string
    spacing: float = style.DIM_SPACING  # paper inches from string to string
    blocks: list[d.Box] = field(
        default_factory=list
    )  # things at the sides of the view that extension lines must not cross
    turned: Askew | None = None
    stairs: shapely.Geometry | None = None  # past which extension lines begin, in the same coordinates
    most: int | None = None
    left_out: bool = False
    _strung: dict[str, list[_Strung]] = field(default_factory=dict)
    _drawn: dict[tuple[str, str], list[np.ndarray]] = field(default_factory=dict)

    def _lay(self, side: str) -> None:
        """Every string of a side on its line, the shortest next to the view; more than may stand abreast are left
        out."""
        strung = self._strung[side]
        while True:
            levels: list[list[_Strung]] = []
            clear = 0.6 * self.view.scale  # room for the figures of narrow spaces that stand beyond an end
            for s in sorted(strung, key=lambda s: round(s.high - s.low, 2)):
                level = len(levels)
                while level and all(s.high + clear < o.low or s.low - clear > o.high for o in levels[level - 1]):
                    level -= 1
                if level == len(levels):
                    levels.append([])
                levels[level].append(s)
            spare = [s for s in strung if s.rank > OUTERMOST]
            if self.most is None or len(levels) <= self.most or not spare:
                break
            last = max(spare, key=lambda s: (s.rank, s.high - s.low))
            strung.remove(last)
            gone = {id(i) for i in last.dims}
            self.view.items = [i for i in self.view.items if id(i) not in gone]
            self.left_out = True
        for n, some in enumerate(levels):
            at = self._at(side, n)
            for s in some:
                for i in s.dims:
                    i.at = at

    def _at(self, side: str, level: int) -> d.Point:
        """A point of the side's line with a number, 0 next to the view."""
        x0, y0, x1, y1 = self.box
        off = (self.start + self.spacing * level) * self.view.scale
        at = {"below": (x0, y0 - off), "above": (x0, y1 + off), "left": (x0 - off, y0), "right": (x1 + off, y0)}[side]
        return self.turned.back(at) if self.turned is not None and self.turned.degrees else at

    def _past(self, side: str, p: d.Point) -> d.Point:
        """The point moved square to the string, so that its extension line begins beyond whatever stands in its way."""
        x, y = p
        for x0, y0, x1, y1 in self.blocks:
            if side in ("below", "above") and x0 < x < x1:
                y = min(y, y0) if side == "below" and y > y0 else max(y, y1) if side == "above" and y < y1 else y
            elif side in ("left", "right") and y0 < y < y1:
                x = min(x, x0) if side == "left" and x > x0 else max(x, x1) if side == "right" and x < x1 else x
        if self.stairs is not None:
            u0, v0, u1, v1 = self.box
            end = {
                "below": (x, min(y, v0)),
                "above": (x, max(y, v1)),
                "left": (min(x, u0), y),
                "right": (max(x, u1), y),
            }
            met = self.stairs.intersection(shapely.LineString([(x, y), end[side]]))
            if not met.is_empty:
                a, b, c, e = met.bounds
                return {"below": (x, b), "above": (x, e), "left": (a, y), "right": (c, y)}[side]
        return x, y

    def _is_there(self, side: str, stations: Sequence[float], more: dict) -> bool:
        """Whether a string through the same places stands at that side, its words the same; if not, it is noted."""
        mine = np.unique(np.round(stations, 6))
        mine = mine[np.diff(mine, prepend=-np.inf) > 1 / 32]
        drawn = self._drawn.setdefault((side, str(sorted(more.items()))), [])
        found = any(len(there) == len(mine) and np.allclose(there, mine, rtol=0, atol=1 / 16) for there in drawn)
        drawn.append(mine)
        return found

    def chain(self, side: str, points: Iterable[d.Point], rank: int = 1, **more) -> list[d.Dimension]:
        """A string through all the points; nothing where they give no length."""
        axis = 0 if side in ("below", "above") else 1
        points = list(points)
        stations = [p[axis] for p in points]
        if not points or max(stations) - min(stations) < 1 / 16 or self._is_there(side, stations, more):
            return []
        points, angle = [self._past(side, p) for p in points], 90.0 * axis
        if self.turned is not None and self.turned.degrees:
            points, angle = [*map(self.turned.back, points)], angle + self.turned.degrees
        dims = d.chain(points, points[0], angle, **more)
        self.view.add(*dims)
        self._strung.setdefault(side, []).append(_Strung(min(stations), max(stations), dims, rank))
        self._lay(side)
        return dims
