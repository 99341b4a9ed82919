"""Load combinations (ASCE 7, allowable stress) and the envelope of patterned loads on a beam.

Live and snow load may stand on any of a beam's spans and overhangs and be absent from the others; each response is the
worst over all such patterns, found by adding up only the segments that make it worse. Inches, pounds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Protocol

import numpy as np

from ...shared.standards import table
from .beams import AnyLoad, Beam, Load, PointLoad, Solved

OCCUPANTS = "live (occupancy)"  # the duration of a load that people bring


@dataclass(frozen=True)
class Combination:
    """Factors on dead, live and snow load; `duration` names the load duration factor CD of its shortest load."""

    name: str
    dead: float
    live: float
    snow: float
    duration: str
    source: str

    def psf(self, design: DesignLoads) -> tuple[float, float]:
        """(dead, live and snow together) in pounds a square foot, factors in."""
        return self.dead * design.dead_psf, self.live * design.live_psf + self.snow * design.ground_snow_psf


@cache
def combinations() -> tuple[Combination, ...]:
    """All combinations in the data, dead load first."""
    return tuple(
        Combination(
            r["name"],
            float(r["dead"]),
            float(r["live"]),
            float(r["snow"]),
            r["duration"],
            r["source"] + (" (from memory)" if r["how"] == "memory" else ""),
        )
        for r in table("combinations")
    )


class DesignLoads(Protocol):
    """Uniform loads in pounds a square foot, as the `[loads]` section of a parameter file gives them."""

    @property
    def dead_psf(self) -> float: ...

    @property
    def live_psf(self) -> float: ...

    @property
    def ground_snow_psf(self) -> float: ...


class LoadsAndSoil(DesignLoads, Protocol):
    """Those loads with what the soil under the footings is presumed to bear, pounds a square foot."""

    @property
    def soil_bearing_psf(self) -> float: ...


def those_that_count(design: DesignLoads) -> tuple[Combination, ...]:
    """The combinations without those that only repeat another for want of live or snow load."""
    return tuple(
        c for c in combinations() if (design.live_psf or not c.live) and (design.ground_snow_psf or not c.snow)
    )


def within(load: AnyLoad, start: float, end: float, last: bool) -> AnyLoad | None:
    """The part of a load on a segment; a point load on the border of two belongs to the one on its right (`last`:
    both)."""
    if isinstance(load, PointLoad):
        return load if start <= load.x < end or (last and load.x >= end) else None
    a, b = max(load.start, start), min(load.end, end)
    if b <= a:
        return None
    slope = (load.last - load.w0) / (load.end - load.start)
    return Load(a, b, load.w0 + slope * (a - load.start), load.w0 + slope * (b - load.start))


@dataclass(frozen=True)
class Envelope:
    """The worst responses of a beam over all patterns: `most`, `least` (n,) reactions a support, lb up; `shear`
    greatest absolute; `sag`, `hog` greatest moments (hog given positive); each with its place in inches from the left
    end."""

    most: np.ndarray
    least: np.ndarray
    shear: float
    shear_at: float
    sag: float
    sag_at: float
    hog: float
    hog_at: float


@dataclass(frozen=True)
class Curves:
    """Shear and moment along a beam: places `x` (n,) with `moment` (2, n) greatest and least, lb in; `shear_x` (k,)
    with `shear` (2, k) greatest and least, lb, twice at a place where it jumps."""

    x: np.ndarray
    shear_x: np.ndarray
    shear: np.ndarray
    moment: np.ndarray


class Patterns:
    """The responses of a beam to loads of 1 psf: steady ones all at once, moving ones segment by segment.

    A deck's dead, live and snow load all act on the same areas, so one solution of unit loads serves them all. `moving`
    differs from `steady` only where a carried piece's own worst pattern makes its reaction larger; `lifting` is then
    what the rest of its patterns take off: it stands elsewhere, so each may come without the other. `own` are pounds
    that are always there, beside the psf (the weight of a guard); `snows` sets of loads in pounds, snow from a roof
    above, of which one at a time lies there, whole, or none.
    """

    def __init__(
        self,
        beam: Beam,
        steady: Sequence[AnyLoad],
        moving: Sequence[AnyLoad] | None = None,
        lifting: Sequence[AnyLoad] = (),
        own: Sequence[AnyLoad] = (),
        ei: float = 1.0,
        snows: Sequence[Sequence[AnyLoad]] = (),
    ):
        self.beam, self.ei = beam, ei
        self._known: dict[tuple[float, float, float], Envelope] = {}
        self._snows = [beam.solve(loads, ei) for loads in snows]
        self._steady = beam.solve(steady, ei)
        self._own = beam.solve(own, ei)
        segments = beam.segments
        self._moving: list[Solved] = []
        self._places: list[tuple[float, int]] = []
        for kind, loads in enumerate((steady if moving is None else moving, lifting)):
            for i, (a, b) in enumerate(segments):
                on = [p for load in loads if (p := within(load, a, b, last=i == len(segments) - 1))]
                if on:
                    self._moving.append(beam.solve(on, ei))
                    self._places.append((a, kind))

    @cached_property
    def x(self) -> np.ndarray:
        """Places at which responses are read: every node of every case, and 32 steps between."""
        nodes = np.unique(np.concatenate([s.nodes for s in (self._steady, self._own, *self._moving, *self._snows)]))
        inner = np.linspace(0, 1, 33)[:-1]
        return np.append((nodes[:-1, None] + np.diff(nodes)[:, None] * inner).ravel(), nodes[-1])

    def _read(self, solved: Solved) -> tuple[np.ndarray, ...]:
        """Shear just left, shear just right, moment, deflection on the common places; reactions."""
        left, shear, moment, deflection = solved.both_sides(self.x)
        left[0] = shear[-1] = 0.0  # outside the beam
        return left, shear, moment, deflection, solved.reactions

    @cached_property
    def _unit(self) -> tuple[tuple, tuple, tuple]:
        """(steady, greatest moving, least moving), each a tuple of the five responses."""
        cases = [self._read(s) for s in self._moving]
        steady = self._read(self._steady)
        high = tuple(sum((np.maximum(c[k], 0) for c in cases), np.zeros_like(steady[k])) for k in range(5))
        low = tuple(sum((np.minimum(c[k], 0) for c in cases), np.zeros_like(steady[k])) for k in range(5))
        return steady, high, low

    @property
    def steady_reactions(self) -> np.ndarray:
        """(n,) square feet that load each support when the whole is loaded (reactions to 1 psf)."""
        return self._steady.reactions

    @property
    def moving_reactions(self) -> list[tuple[float, int, np.ndarray]]:
        """(start of a segment, 0 for what presses and 1 for what lifts, (n,) reactions to 1 psf on it alone), for
        every segment that is loaded."""
        return [(a, kind, s.reactions) for (a, kind), s in zip(self._places, self._moving)]

    @property
    def own_reactions(self) -> np.ndarray:
        """(n,) pounds on each support from the loads that are given in pounds."""
        return self._own.reactions

    @cached_property
    def _pounds(self) -> tuple[np.ndarray, ...]:
        return self._read(self._own)

    @property
    def snow_reactions(self) -> list[np.ndarray]:
        """(n,) pounds on each support from each set of snow loads."""
        return [s.reactions for s in self._snows]

    @cached_property
    def _snowed(self) -> list[tuple[np.ndarray, ...]]:
        return [self._read(s) for s in self._snows]

    def _worst(
        self, k: int, dead: float, moving: float, own: bool = True, snow: float = 0.0
    ) -> tuple[np.ndarray, np.ndarray]:
        steady, high, low = self._unit
        always = dead * steady[k] + (self._pounds[k] if own else 0.0)
        most, least = always + moving * high[k], always + moving * low[k]
        if snow and self._snows:
            none = np.zeros_like(most)
            most = most + snow * np.maximum.reduce([none, *(s[k] for s in self._snowed)])
            least = least + snow * np.minimum.reduce([none, *(s[k] for s in self._snowed)])
        return most, least

    def envelope(self, dead: float, moving: float, snow: float = 0.0) -> Envelope:
        """Under `dead` psf everywhere and `moving` psf wherever it is worst, with the share `snow` of those snow loads
        that make it worse."""
        if (dead, moving, snow) not in self._known:
            self._known[dead, moving, snow] = self._envelope(dead, moving, snow)
        return self._known[dead, moving, snow]

    def _envelope(self, dead: float, moving: float, snow: float) -> Envelope:
        shear = np.maximum.reduce([np.abs(a) for k in (0, 1) for a in self._worst(k, dead, moving, snow=snow)])
        sag, hog = self._worst(2, dead, moving, snow=snow)
        most, least = self._worst(4, dead, moving, snow=snow)
        at = [_greatest(a) for a in (shear, sag, -hog)]
        return Envelope(
            most,
            least,
            float(shear[at[0]]),
            float(self.x[at[0]]),
            max(0.0, float(sag[at[1]])),
            float(self.x[at[1]]),
            max(0.0, float(-hog[at[2]])),
            float(self.x[at[2]]),
        )

    def curves(self, dead: float, moving: float, snow: float = 0.0) -> Curves:
        """As `envelope`, at each place by itself."""
        sides = [self._worst(k, dead, moving, snow=snow) for k in (0, 1)]  # just left and just right of each place
        shear = np.array([np.column_stack([left, right]).ravel() for left, right in zip(*sides)])
        return Curves(self.x, np.repeat(self.x, 2), shear, np.array(self._worst(2, dead, moving, snow=snow)))

    def deflections(
        self, moving: float, dead: float = 0.0, own: bool = False, snow: float = 0.0
    ) -> list[tuple[float, float, float, float]]:
        """(start, end, greatest deflection down, greatest up) of every segment, worst patterns, psf loads; with what is
        always there where dead load is given, or `own`, and the share `snow` of the snow loads."""
        high, low = self._worst(3, dead, moving, own=own or dead > 0, snow=snow)
        found = []
        for a, b in self.beam.segments:
            inside = (self.x >= a - 1e-9) & (self.x <= b + 1e-9)
            found.append((a, b, max(0.0, float(high[inside].max())), max(0.0, float(-low[inside].min()))))
        return found


def _greatest(a: np.ndarray) -> int:
    """Where the greatest value stands first: supports alike bear alike but for the last bits, which name none."""
    return int(np.argmax(a >= a.max() - 1e-9 * abs(a.max())))
