"""A stringer's set-out read off its solid: steps, cuts and the points along its edge. Inches, degrees.

The stringer lies at the saw with its top end to the left and its upper edge away from you. `u` runs along it from the
tip of the top end, `v` across from the lower edge.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ...model.measuring.measure import Measured
from ...model.measuring.saw import sizes_of
from ...model.measuring.throat import throat

PLUMB, LEVEL, OTHER = "plumb", "level", "along"


@dataclass(frozen=True)
class Side:
    """One edge of the outline from point `a` to `b` (u, v); `kind` says how it stands in the stair."""

    a: tuple[float, float]
    b: tuple[float, float]
    kind: str

    @property
    def length(self) -> float:
        return math.dist(self.a, self.b)


@dataclass(frozen=True)
class SetOut:
    """`outline` anticlockwise in (u, v); `sides` of it; `slope` degrees from level.

    `rises`, `runs` are the plumb and level sides between the treads from the top down: the numbers on the square.
    `seats` are the (u, v) of the seats' outer corners, where the square's tips lie on the upper edge. `plumb_cut`,
    `level_cut` lengths of the cuts at the top end and the foot; `first`, `last` heights of the lowest side (after the
    drop) and typical rise; `throat` the least width left.
    """

    outline: tuple[tuple[float, float], ...]
    sides: tuple[Side, ...]
    slope: float
    width: float
    length: float
    rises: tuple[float, ...]
    runs: tuple[float, ...]
    seats: tuple[tuple[float, float], ...]
    inner: tuple[tuple[float, float], ...]
    plumb_cut: float
    level_cut: float
    bottom_rise: float
    throat: float

    @property
    def rise(self) -> float:
        """The usual rise; of a single tread, whose lowest alone is cut, that of the pitch; of a solid stringer 0:
        its steps are set out by its treads."""
        return float(np.median(self.rises)) if self.rises else self.run * math.tan(math.radians(self.slope))

    @property
    def run(self) -> float:
        """The usual run: the first seat, behind the plumb cut, counts where there is no other."""
        return float(np.median(self.runs[1:] or self.runs)) if self.runs else 0.0

    @property
    def drop(self) -> float:
        """By how much the lowest rise is less than the others: the thickness of a tread, cut off the foot."""
        return self.rise - self.bottom_rise if self.runs else 0.0


def world_axes(m: Measured) -> np.ndarray:
    """(3, 3) rows: the saw axes u, v, w in the world."""
    return (m.part.place.matrix[:3, :3] @ sizes_of(m.part).axes.T).T


def _turned(m: Measured, flat: np.ndarray) -> np.ndarray:
    """Saw points with the top end to the left and the upper edge away from you: the piece laid on its other face, or
    turned about, where it has to be."""
    s, axes = sizes_of(m.part), world_axes(m)
    if axes[0][2] > 0:
        flat = flat * (-1, 1) + (s.length, 0)
    if axes[1][2] < 0:
        flat = flat * (1, -1) + (0, s.width)
    return flat


def on_saw(m: Measured, points) -> np.ndarray:
    """(n, 3) world points as (n, 2) of (u, v)."""
    s, place = sizes_of(m.part), m.part.place.matrix
    local = (np.asarray(points, float) - place[:3, 3]) @ place[:3, :3]
    return _turned(m, (local @ s.axes.T - s.origin)[:, :2])


def set_out(m: Measured) -> SetOut:
    """The set-out of one stringer (or skirt), measured off its solid."""
    s = sizes_of(m.part)
    u = world_axes(m)[0]
    ring = _turned(m, np.asarray(s.outline, float))
    if np.sum(ring[:, 0] * np.roll(ring[:, 1], -1) - ring[:, 1] * np.roll(ring[:, 0], -1)) < 0:
        ring = ring[::-1]
    u = -u if u[2] > 0 else u
    slope = math.degrees(math.atan2(-u[2], math.hypot(u[0], u[1])))
    c, t = math.cos(math.radians(slope)), math.sin(math.radians(slope))
    sides = []
    for a, b in zip(ring, np.roll(ring, -1, axis=0)):
        along = b - a
        level, plumb = along[0] * c + along[1] * t, -along[0] * t + along[1] * c  # in the stair: out, up
        kind = PLUMB if abs(level) < 1e-4 else LEVEL if abs(plumb) < 1e-4 else OTHER
        sides.append(Side(tuple(map(float, a)), tuple(map(float, b)), kind))
    edge = s.width
    seats = sorted({p for x in sides for p in (x.a, x.b) if abs(p[1] - edge) < 1e-3})
    ends = _cuts(sides, c, t)
    teeth = [x for x in sides if x.kind in (PLUMB, LEVEL) and x not in ends]
    rises = [x.length for x in sorted(teeth, key=lambda x: x.a[0]) if x.kind == PLUMB]
    runs = [x.length for x in sorted(teeth, key=lambda x: x.a[0]) if x.kind == LEVEL]
    foot, top = ends
    # of a cut one no upper edge is left; of a single tread nothing is left of the edges, and it has no notch
    along = any(x.kind == OTHER and min(x.a[1], x.b[1]) > edge - 1e-3 for x in sides)
    cut_teeth = bool(runs) and (bool(s.notches) or not along)
    bottom = rises.pop() if cut_teeth and rises else 0.0
    inner = sorted(
        {x.a for x in teeth if abs(x.a[1] - edge) > 1e-3} & {x.b for x in teeth if abs(x.b[1] - edge) > 1e-3}
    )
    return SetOut(
        tuple(map(tuple, ring.tolist())),
        tuple(sides),
        slope,
        s.width,
        s.length,
        tuple(rises) if cut_teeth else (),
        tuple(runs) if cut_teeth else (),
        tuple(seats),
        tuple(inner),
        top.length if top else 0.0,
        foot.length if foot else 0.0,
        bottom,
        behind.width if (behind := throat(m.part)) else s.width,
    )


def _cuts(sides, c: float, t: float):
    """(level cut at the foot, plumb cut at the top): the lowest level side, and the plumb side furthest up the
    slope."""

    def low(x):
        return -x.a[0] * t + x.a[1] * c

    def out(x):
        return x.a[0] * c + x.a[1] * t

    level = [x for x in sides if x.kind == LEVEL]
    plumb = [x for x in sides if x.kind == PLUMB]
    return min(level, key=low, default=None), min(plumb, key=out, default=None)
