"""Load combinations (ASCE 7, allowable stress) and the envelope of patterned loads on a beam.

Live and snow load may stand on any of a beam's spans and overhangs and be absent from the others; each response is the
worst over all such patterns, found exactly by adding up only the segments that make it worse. Inches, pounds.
"""
from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Sequence

import numpy as np

from ..shared.standards import table
from .beams import AnyLoad, Beam, Load, PointLoad

KINDS = ("dead", "live", "snow")


@dataclass(frozen=True)
class Combination:
    """Factors on dead, live and snow load; `duration` names the load duration factor CD of its shortest load."""

    name: str
    dead: float
    live: float
    snow: float
    duration: str
    source: str

    def factor(self, kind: str) -> float:
        return getattr(self, kind)


@lru_cache(maxsize=None)
def combinations() -> tuple[Combination, ...]:
    """All combinations in the data, dead load first."""
    return tuple(
        Combination(r["name"], float(r["dead"]), float(r["live"]), float(r["snow"]), r["duration"], r["source"] + (" (from memory)" if r["how"] == "memory" else ""))
        for r in table("combinations")
    )


def those_that_count(live: bool, snow: bool) -> tuple[Combination, ...]:
    """The combinations without those that only repeat another for want of live or snow load."""
    return tuple(c for c in combinations() if (live or not c.live) and (snow or not c.snow))


def within(load: AnyLoad, start: float, end: float, last: bool) -> AnyLoad | None:
    """The part of a load on a segment; a point load on the border of two belongs to the one on its right (`last`: both)."""
    if isinstance(load, PointLoad):
        return load if start <= load.x < end or (last and load.x >= end) else None
    a, b = max(load.start, start), min(load.end, end)
    if b <= a:
        return None
    slope = (load.last - load.w0) / (load.end - load.start)
    return Load(a, b, load.w0 + slope * (a - load.start), load.w0 + slope * (b - load.start))


@dataclass(frozen=True)
class Envelope:
    """The worst responses of a beam over all patterns, for one combination, and where.

    `most`, `least` (n,) reactions a support, lb up; `shear` greatest absolute; `sag`, `hog` greatest moments (hog given
    positive), each with its place in inches from the left end.
    """

    most: np.ndarray
    least: np.ndarray
    shear: float
    shear_at: float
    sag: float
    sag_at: float
    hog: float
    hog_at: float


class Patterns:
    """The responses of a beam to dead load everywhere and to live and snow load segment by segment.

    `loads` maps dead, live, snow to their unfactored loads. Solving is linear, so each segment is solved once.
    """

    def __init__(self, beam: Beam, loads: dict[str, Sequence[AnyLoad]], ei: float = 1.0):
        self.beam, self.ei = beam, ei
        self.loads = {kind: list(loads.get(kind, ())) for kind in KINDS}
        segments = beam.segments
        self._cases: list[tuple[str, int, list[AnyLoad]]] = []
        if self.loads["dead"]:
            self._cases.append(("dead", -1, self.loads["dead"]))
        for kind in ("live", "snow"):
            for i, (a, b) in enumerate(segments):
                on = [p for load in self.loads[kind] if (p := within(load, a, b, last=i == len(segments) - 1))]
                if on:
                    self._cases.append((kind, i, on))

    @cached_property
    def _solved(self):
        return [(kind, i, self.beam.solve(loads, self.ei)) for kind, i, loads in self._cases]

    @cached_property
    def x(self) -> np.ndarray:
        """Places at which responses are read: every node of every case, and 32 steps between."""
        nodes = np.unique(np.concatenate([[0.0, self.beam.length]] + [s.nodes for _, _, s in self._solved]))
        inner = np.linspace(0, 1, 33)[:-1]
        return np.append((nodes[:-1, None] + np.diff(nodes)[:, None] * inner).ravel(), nodes[-1])

    @cached_property
    def _read(self):
        """(shear just left, shear just right, moment, deflection, reactions) of each case on the common places."""
        return [(kind, s.at(self.x, "left")[0], *s.at(self.x), s.reactions) for kind, _, s in self._solved]

    def _worst(self, column: int, factors: dict[str, float], size: int) -> tuple[np.ndarray, np.ndarray]:
        high, low = np.zeros(size), np.zeros(size)
        for case in self._read:
            value = factors[case[0]] * case[column]
            if case[0] == "dead":
                high, low = high + value, low + value
            else:
                high, low = high + np.maximum(value, 0), low + np.minimum(value, 0)
        return high, low

    def envelope(self, combination: Combination) -> Envelope:
        factors = {k: combination.factor(k) for k in KINDS}
        n = len(self.x)
        shears = [np.maximum(np.abs(h), np.abs(l)) for h, l in (self._worst(1, factors, n)[:], self._worst(2, factors, n)[:])]
        shears[0][0] = shears[1][-1] = 0.0  # outside the beam
        shear = np.maximum(*shears)
        sag, hog = self._worst(3, factors, n)
        most, least = self._worst(5, factors, len(self.beam.supports))
        at = [int(a.argmax()) for a in (shear, sag, -hog)]
        return Envelope(
            most, least, float(shear[at[0]]), float(self.x[at[0]]), max(0.0, float(sag[at[1]])), float(self.x[at[1]]),
            max(0.0, float(-hog[at[2]])), float(self.x[at[2]]),
        )

    def deflections(self, live: float = 1.0, snow: float = 1.0, dead: float = 0.0) -> list[tuple[float, float, float, float]]:
        """(start, end, greatest absolute deflection, its place) of every segment under factored loads, worst pattern."""
        high, low = self._worst(4, {"live": live, "snow": snow, "dead": dead}, len(self.x))
        size = np.maximum(np.abs(high), np.abs(low))
        found = []
        for a, b in self.beam.segments:
            inside = np.flatnonzero((self.x >= a - 1e-9) & (self.x <= b + 1e-9))
            at = inside[size[inside].argmax()]
            found.append((a, b, float(size[at]), float(self.x[at])))
        return found
