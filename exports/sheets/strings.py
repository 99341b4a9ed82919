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


def too_near(places: Iterable[float], scale: float) -> bool:
    """Whether a string through the places has a step in which its figures have no room."""
    return any(b - a < NEAR * scale for a, b in itertools.pairwise(sorted(places)))


@dataclass
class Strings:
    """Dimension strings round a view, outside `box`: each lies on the nearest line of its side that is free along
    it. Where the deck lies askew, `turned` has its coordinates: box, blocks and points are given in those."""

    view: d.View
    box: d.Box
    start: float = 0.45  # paper inches from the view to the first string
    spacing: float = style.DIM_SPACING  # paper inches from string to string
    blocks: list[d.Box] = field(
        default_factory=list
    )  # things at the sides of the view that extension lines must not cross
    turned: Askew | None = None
    stairs: shapely.Geometry | None = None  # past which extension lines begin, in the same coordinates
    _taken: dict[str, list[list[tuple[float, float]]]] = field(default_factory=dict)
    _drawn: dict[tuple[str, str], list[np.ndarray]] = field(default_factory=dict)

    def _at(self, side: str, low: float, high: float) -> d.Point:
        levels = self._taken.setdefault(side, [])
        clear = 0.6 * self.view.scale  # room for the figures of narrow spaces that stand beyond an end
        level = len(levels)
        while level and all(high + clear < a or low - clear > b for a, b in levels[level - 1]):
            level -= 1
        if level == len(levels):
            levels.append([])
        levels[level].append((low, high))
        x0, y0, x1, y1 = self.box
        off = (self.start + self.spacing * level) * self.view.scale
        return {"below": (x0, y0 - off), "above": (x0, y1 + off), "left": (x0 - off, y0), "right": (x1 + off, y0)}[side]

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

    def chain(self, side: str, points: Iterable[d.Point], **more) -> list[d.Dimension]:
        """A string through all the points; nothing where they give no length."""
        axis = 0 if side in ("below", "above") else 1
        points = list(points)
        stations = [p[axis] for p in points]
        if not points or max(stations) - min(stations) < 1 / 16 or self._is_there(side, stations, more):
            return []
        points = [self._past(side, p) for p in points]
        at, angle = self._at(side, min(stations), max(stations)), 90.0 * axis
        if self.turned is not None and self.turned.degrees:
            points, at, angle = [*map(self.turned.back, points)], self.turned.back(at), angle + self.turned.degrees
        dims = d.chain(points, at, angle, **more)
        self.view.add(*dims)
        return dims
