"""How far apart what carries mitred treads lies near the mitre, off the solids. Inches."""

from __future__ import annotations

import itertools

import numpy as np
import shapely

from .flight_seen import FlightSeen, along
from .measure import Measured

ON_ITS_SEAT = 1e-3  # inches: a corner so near a tread's underside lies on it


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
