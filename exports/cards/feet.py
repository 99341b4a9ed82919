"""The footings on a card, and from where a straight way to one of them meets no other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from ..drafting.drawing import Point

_SIDES = 32  # of the polygon that is drawn for a circle, as `shapely.buffer` makes it
_SURE = 1e-6  # inches: a way nearer than this to a polygon's outer or inner circle is looked at by itself


class Feet:
    """Footings as circles drawn as polygons: `middles` in plan, `halves` inches from a middle to the edge."""

    def __init__(self, middles: Sequence[Point], halves: Sequence[float]):
        self.middles, self.halves = np.asarray(middles, float).reshape(-1, 2), np.asarray(halves, float)
        self.shapes = shapely.buffer(shapely.points(self.middles), self.halves)

    def clear(self, spots: np.ndarray, own: int) -> np.ndarray:
        """(n, 2) -> (n,): whether the straight way from each spot to the middle of the footing `own` meets no other."""
        (x, y), (px, py) = self.middles[own], spots.T
        ux, uy = x - px, y - py
        long = ux**2 + uy**2
        apart = np.hypot(self.middles[:, 0] - x, self.middles[:, 1] - y)
        near = np.nonzero(apart < self.halves + np.sqrt(long.max(initial=0.0)) + _SURE)[0]
        near = near[near != own]
        (mx, my), half = self.middles[near].T, self.halves[near]
        dx, dy = mx - px[:, None], my - py[:, None]
        share = np.clip((dx * ux[:, None] + dy * uy[:, None]) / np.maximum(long, 1e-12)[:, None], 0.0, 1.0)
        off = np.hypot(dx - share * ux[:, None], dy - share * uy[:, None])
        met = (off < half * np.cos(np.pi / _SIDES) - _SURE).any(1)
        for way, foot in zip(*np.nonzero((off < half + _SURE) & ~met[:, None])):
            met[way] |= shapely.intersects(shapely.linestrings([spots[way], (x, y)]), self.shapes[near[foot]])
        return ~met
