"""Straight prismatic beams on any supports: reactions, shear, moment and deflection, exact for piecewise linear loads.

Macaulay's method: loads and reactions are steps in moment, shear, intensity or its slope; the reactions follow from
zero deflection at the supports and from balance, in one small linear system of a beam of unit length. There is no mesh,
and a load may start as near to a support as it likes. Euler-Bernoulli: shear deflection is left out, as in the span
tables. Inches, pounds; loads and deflections positive downwards, moment positive when it sags, shear positive where it
pushes the part left of the cut upwards. Checked in tests/test_beams.py against handbook formulas and an independent
library.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

_SAME = 1e-9  # of the length: supports nearer than this are one


@dataclass(frozen=True)
class Support:
    """At `x` inches from the left end; `fixed` also holds the rotation."""

    x: float
    fixed: bool = False


@dataclass(frozen=True)
class Load:
    """Pounds an inch from `start` to `end`, varying linearly from `w0` to `w1` (`w1` None: uniform)."""

    start: float
    end: float
    w0: float
    w1: float | None = None

    @property
    def last(self) -> float:
        return self.w0 if self.w1 is None else self.w1

    @property
    def total(self) -> float:
        return (self.w0 + self.last) / 2 * (self.end - self.start)

    def scaled(self, factor: float) -> Load:
        return Load(self.start, self.end, self.w0 * factor, self.last * factor)


@dataclass(frozen=True)
class PointLoad:
    """Pounds at `x`."""

    x: float
    p: float

    @property
    def total(self) -> float:
        return self.p

    def scaled(self, factor: float) -> PointLoad:
        return PointLoad(self.x, self.p * factor)


AnyLoad = Load | PointLoad


class Beam:
    """A beam of a `length` on its supports. Raises ValueError when it could fall (fewer than two supports and none
    fixed)."""

    def __init__(self, length: float, supports: Sequence[Support | float]):
        self.length = float(length)
        self.supports = tuple(
            sorted((s if isinstance(s, Support) else Support(float(s)) for s in supports), key=lambda s: s.x)
        )
        if self.length <= 0:
            raise ValueError(f"a beam of length {self.length:g} in")
        if any(s.x < -_SAME * self.length or s.x > self.length * (1 + _SAME) for s in self.supports):
            raise ValueError(f"a support lies off the beam of {self.length:g} in")
        xs = [s.x for s in self.supports]
        if any(b - a <= _SAME * self.length for a, b in itertools.pairwise(xs)):
            raise ValueError("two supports at one place")
        if len(self.supports) < 2 and not any(s.fixed for s in self.supports):
            raise ValueError("a beam needs two supports, or one that holds its rotation")

    @cached_property
    def segments(self) -> list[tuple[float, float]]:
        """The spans and overhangs, left to right, as (start, end)."""
        ends = [0.0, *(s.x for s in self.supports), self.length]
        return [(a, b) for a, b in itertools.pairwise(ends) if b - a > _SAME * self.length]

    def solve(self, loads: Sequence[AnyLoad], ei: float = 1.0) -> Solved:
        """All responses under the loads. `ei` (lb in2) only scales deflections and rotations."""
        for load in loads:
            marks = [load.x] if isinstance(load, PointLoad) else [load.start, load.end]
            if min(marks) < -1e-6 * self.length or max(marks) > self.length * (1 + 1e-6):
                raise ValueError(f"a load at {marks} lies off the beam of {self.length:g} in")
        l = self.length
        xs = np.array([s.x for s in self.supports]) / l
        turned = np.array([s.x for s in self.supports if s.fixed]) / l
        known = _Terms.of_loads(loads, l)
        n, m = len(xs), len(turned)
        # unknowns: n reactions, m fixing moments, rotation and deflection at the left end
        matrix, right = np.zeros((n + m + 2, n + m + 2)), np.zeros(n + m + 2)
        matrix[:n, :n] = _macaulay(xs[:, None] - xs, 3)
        matrix[:n, n : n + m] = _macaulay(xs[:, None] - turned, 2)
        matrix[:n, -2], matrix[:n, -1] = xs, 1.0
        right[:n] = -known.read(xs)[3]
        matrix[n : n + m, :n] = _macaulay(turned[:, None] - xs, 2)
        matrix[n : n + m, n : n + m] = _macaulay(turned[:, None] - turned, 1)
        matrix[n : n + m, -2] = 1.0
        right[n : n + m] = -known.read(turned)[2]
        v, moment, _, _ = (float(a[0]) for a in known.read(np.array([1.0])))
        matrix[-2, :n] = 1.0  # nothing is left beyond the right end: shear and moment are zero there
        matrix[-1, :n], matrix[-1, n : n + m] = 1.0 - xs, 1.0
        right[-2:] = -v, -moment
        found = np.linalg.solve(matrix, right)
        held = _Terms(
            np.concatenate([known.x, xs, turned]),
            np.concatenate([known.moment, np.zeros(n), found[n : n + m]]),
            np.concatenate([known.force, found[:n], np.zeros(m)]),
            np.concatenate([known.w, np.zeros(n + m)]),
            np.concatenate([known.slope, np.zeros(n + m)]),
        )
        fixing = iter(found[n : n + m] * l)
        nodes = [0.0, l, *(s.x for s in self.supports)]
        for load in loads:
            nodes += [load.x] if isinstance(load, PointLoad) else [load.start, load.end]
        return Solved(
            np.unique(np.clip(nodes, 0, l)),
            found[:n],
            np.array([next(fixing) if s.fixed else 0.0 for s in self.supports]),
            held,
            float(found[-2]),
            float(found[-1]),
            l,
            ei,
        )


def _macaulay(d: np.ndarray, power: int) -> np.ndarray:
    """The singularity function <d>^power / power!, 0 to the left; <0>^0 is 1."""
    if power == 0:
        return (d >= 0).astype(float)
    return np.maximum(d, 0.0) ** power / (1, 1, 2, 6, 24, 120)[power]


@dataclass(frozen=True)
class _Terms:
    """Steps in moment, shear, intensity and its slope at places of a beam of unit length (upward positive)."""

    x: np.ndarray
    moment: np.ndarray
    force: np.ndarray
    w: np.ndarray
    slope: np.ndarray

    @staticmethod
    def of_loads(loads: Sequence[AnyLoad], l: float) -> _Terms:
        rows = []
        for load in loads:
            if isinstance(load, PointLoad):
                rows.append((load.x / l, 0.0, -load.p, 0.0, 0.0))
            elif load.end - load.start > _SAME * l:
                slope = (load.last - load.w0) / (load.end - load.start) * l * l
                rows.append((load.start / l, 0.0, 0.0, -load.w0 * l, -slope))
                rows.append((load.end / l, 0.0, 0.0, load.last * l, slope))
        return _Terms(*np.array(rows).reshape(-1, 5).T)

    @cached_property
    def _states(self) -> tuple[np.ndarray, np.ndarray]:
        """(k,) places of the steps in order, and (6, k + 1) what stands just right of each, before the first nothing:
        slope and intensity of the load, shear, moment, rotation, deflection. Carried from step to step, so that it
        costs as many sums as there are steps and not as many as steps times places."""
        order = np.argsort(self.x, kind="stable")
        x = self.x[order]
        d = np.diff(x)
        jumps = (self.slope, self.w, self.force, self.moment, np.zeros_like(x), np.zeros_like(x))
        found = np.zeros((6, len(x) + 1))
        for k, jump in enumerate(jumps):
            grown = sum((found[k - n, 1:-1] * d**n / math.factorial(n) for n in range(1, k + 1)), np.zeros_like(d))
            found[k, 1:] = np.cumsum(jump[order] + np.concatenate([[0.0], grown])[: len(x)])
        return x, found

    def read(self, x: np.ndarray, left: bool = False):
        """Shear, moment, rotation and deflection (both without their starting values) at places (n,)."""
        at, states = self._states
        k = np.searchsorted(at, x, "left" if left else "right")
        slope, w, shear, moment, rotation, rise = states[:, k]
        one = x - np.concatenate([[0.0], at])[k]
        two = one * one / 2  # each power from the one before: a general power of an array costs ten times as much
        three = two * one / 3
        four = three * one / 4
        five = four * one / 5
        return (
            shear + one * w + two * slope,
            moment + one * shear + two * w + three * slope,
            rotation + one * moment + two * shear + three * w + four * slope,
            rise + one * rotation + two * moment + three * shear + four * w + five * slope,
        )


@dataclass(frozen=True)
class Solved:
    """Responses of a beam. `reactions` (n,) lb up and `fixing` (n,) lb in, a support; the rest is read at places by
    `at`."""

    nodes: np.ndarray
    reactions: np.ndarray
    fixing: np.ndarray
    terms: _Terms
    rotation: float
    rise: float
    length: float
    ei: float

    def at(
        self, x: float | Sequence[float] | np.ndarray, side: str = "right"
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """(shear, moment, deflection) at places `x` (n,); where shear jumps, the value just to the `side`."""
        share = np.asarray(x, float) / self.length
        shear, moment, _, rise = self.terms.read(share, left=side == "left")
        deflection = -(rise + self.rotation * share + self.rise) * self.length**3 / self.ei
        return shear, moment * self.length, deflection

    def both_sides(self, x: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """Shear just left and just right of places `x` (n,), moment and deflection there."""
        shear, moment, deflection = self.at(x)
        return self.terms.read(x / self.length, left=True)[0], shear, moment, deflection

    def grid(self, per_piece: int = 64) -> np.ndarray:
        """Places from end to end, every node and evenly spaced ones between (middles included)."""
        inner = np.linspace(0, 1, per_piece + 1)[:-1]
        return np.append((self.nodes[:-1, None] + np.diff(self.nodes)[:, None] * inner).ravel(), self.nodes[-1])

    def greatest_shear(self) -> float:
        """The greatest absolute shear, both sides of every jump looked at (between jumps it is greatest at an end or a
        node)."""
        x = self.grid()
        return float(max(np.abs(self.at(x[:-1], "right")[0]).max(), np.abs(self.at(x[1:], "left")[0]).max()))
