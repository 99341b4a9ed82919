"""The frame's concrete that comes up where pieces of a stair lie: what they are scribed to. Lengths in inches."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ..plan.flight import Flight
from ..plan.stages import LevelPlan

CURVE = 64  # sides of a quarter of a footing's outline: what is cut to it is as near as a saw comes
GRAZED = 5e-4  # cubic inches: a footing whose edge only touches a piece is no reason to cut it; half of what overlaps
CLEAR = 1e-8  # inches above what a stair stands on: concrete no higher is what it stands on


@dataclass(frozen=True)
class Rise:
    """Concrete under part of a flight: its extent along the flight (x) and across (s), and its top."""

    x: tuple[float, float]
    s: tuple[float, float]
    top: float


def under(layout: LevelPlan, flight: Flight, x0: float, x1: float, s0: float, s1: float) -> Iterator[Rise]:
    """The footings whose tops lie above what the flight stands on, as far as they lie within a rectangle of it."""
    strip = flight.rectangle(x0, x1, s0, s1)
    for footing in layout.footings:
        if footing.top <= flight.bearing + CLEAR:
            continue
        hit = footing.outline(CURVE).intersection(strip)
        if hit.area * (footing.top - flight.bearing) > GRAZED:
            at = [flight.position(q) for q in hit.exterior.coords]
            (xs, ss) = zip(*at)
            yield Rise((min(xs), max(xs)), (min(ss), max(ss)), footing.top)
