"""Where the steps of two flights go on round a corner, and how far apart what carries them lies there, off the solids.
Inches."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from .flight_seen import FlightSeen, along, heading
from .measure import Measured

ON_ITS_SEAT = 1e-3  # inches: a corner so near a tread's underside lies on it


@dataclass(frozen=True, eq=False)
class CornerSeen:
    """Two flights whose treads are mitred with each other: `first` has the corner on its left, going down, `second` on
    its right. `plies` are those of the hip stringer between them, each flight's own, in the same order."""

    first: FlightSeen
    second: FlightSeen
    plies: tuple[Measured, Measured]

    @property
    def out(self) -> np.ndarray:
        """(2,) plan direction of the mitre, going down."""
        return heading(self.plies[0])

    @property
    def across(self) -> np.ndarray:
        """(2,) to the left of someone walking down the mitre."""
        return np.array([-self.out[1], self.out[0]])

    @property
    def station(self) -> float:
        """Place of the mitre along `across`: where both plies meet."""
        return (along(self.plies[0], self.across)[1] + along(self.plies[1], self.across)[0]) / 2

    @property
    def turn(self) -> float:
        """Degrees by which the way down turns from the first flight to the second."""
        return math.degrees(math.acos(float(np.clip(self.first.out @ self.second.out, -1.0, 1.0))))


def corners_seen(flights: Sequence[FlightSeen]) -> list[CornerSeen]:
    """The corners round which steps go on, in the order of the flights that have them on their left."""
    found: list[CornerSeen] = []
    for first, second in itertools.permutations(flights, 2):
        for a, b in itertools.product(_own(first, 1), _own(second, 0)):
            if a.part.footprint.distance(b.part.footprint) < ON_ITS_SEAT and heading(a) @ heading(b) > 1 - 1e-6:
                found.append(CornerSeen(first, second, (a, b)))
    return found


def _own(f: FlightSeen, side: int) -> list[Measured]:
    """A flight's own plies of hip stringers on its right (0) or left (1) side, going down."""
    middle = sum(f.sides) / 2
    mine = [h for h in f.hips if h.part.stair == f.stair]
    return [h for h in mine if (sum(along(h, f.across)) / 2 > middle) == bool(side)]


def mitre_gaps(f: FlightSeen) -> list[float]:
    """From middle to middle, along each tread, of the stringers, jack stringers and plies of hip stringers under it,
    just behind the front corner of the seat that the ply gives it: there the mitre is furthest away."""
    found: list[float] = []
    for tread in f.treads if f.hips else ():
        under = {i for m in tread.pieces for i in m.carried_by}
        level = min(float(m.box[0][2]) for m in tread.pieces)
        for hip in (h for h in f.hips if h.id in under):
            v = hip.part.vertices
            front = float((v[np.abs(v[:, 2] - level) < ON_ITS_SEAT][:, :2] @ f.out).max()) - ON_ITS_SEAT
            others = [m for m in (*f.stringers, *f.jacks) if m.id in under]
            middles = sorted(_middle(f, m, front) for m in (*others, hip))
            found += [b - a for a, b in itertools.pairwise(middles)]
    return found


def _middle(f: FlightSeen, m: Measured, at: float) -> float:
    """Where a piece's middle lies across a flight, on a line so far along it; that of the whole piece past its end."""
    low, high = along(m, f.across)
    line = shapely.LineString([f.out * at + f.across * s for s in (low - 1, high + 1)])
    cut = shapely.get_coordinates(line.intersection(m.part.footprint)) @ f.across
    return float(cut.min() + cut.max()) / 2 if len(cut) else (low + high) / 2
