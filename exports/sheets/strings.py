"""Strings of dimensions round a view."""
from __future__ import annotations

from dataclasses import dataclass, field
from typing import Iterable

from .. import drawing as d
from .. import style


@dataclass
class Strings:
    """Dimension strings round a view, outside `box`: each lies on the nearest line of its side that is free along it."""

    view: d.View
    box: d.Box
    start: float = 0.45  # paper inches from the view to the first string
    _taken: dict[str, list[list[tuple[float, float]]]] = field(default_factory=dict)

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
        off = (self.start + style.DIM_SPACING * level) * self.view.scale
        return {"below": (x0, y0 - off), "above": (x0, y1 + off), "left": (x0 - off, y0), "right": (x1 + off, y0)}[side]

    def chain(self, side: str, points: Iterable[d.Point], **more) -> list[d.Dimension]:
        """A string through all the points; nothing where they give no length."""
        axis = 0 if side in ("below", "above") else 1
        points = list(points)
        stations = [p[axis] for p in points]
        if not points or max(stations) - min(stations) < 1 / 16:
            return []
        dims = d.chain(points, self._at(side, min(stations), max(stations)), 90.0 * axis, **more)
        self.view.add(*dims)
        return dims
