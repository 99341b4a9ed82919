"""What carries mitred treads where steps go on round a corner: a hip stringer of two plies on the mitre, one a flight,
on a block before the corner of the rims; and between it and the flight's own stringers jack stringers, square to the
edge, that begin at the hip. Common practice, no source. Inches throughout; coordinates as `flight` tells.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Polygon

from .flight import SAME, Flight

BLOCK_BEFORE = 1.5  # inches of the block before the corner, to which both plies are nailed; our own
ASKEW = 0.25  # inches: so much less than the spacing, as a bearing is measured in its middle, and a slanted one is long
LEAST_SEAT = 2.0  # inches: a jack carries no tread with less; our own


@dataclass(frozen=True)
class Jack:
    """A jack stringer in its flight: s of its start side face, x at which it begins, and the plan in (x, s) of the
    block that fills the corner between its square end and the hip."""

    s: float
    x: float
    wedge: Polygon


@dataclass(frozen=True)
class HipPly:
    """The ply of a hip stringer that lies on one side of a flight. `flight` has the mitre for its way down, its treads
    as deep as they are there, and its plumb cuts so far back that a square ply stays behind the risers, which meet on
    the mitre; `slope` is that of the mitre in the flight that it belongs to."""

    flight: Flight
    side: str
    slope: float

    @property
    def s(self) -> float:
        """Its start side face, in its own coordinates."""
        return -self.flight.stock_thickness if self.side == "end" else 0.0

    @property
    def block(self) -> list[tuple[float, float]]:
        """The plan ring of the block in the corner, for this ply and the next flight's: before the corner as wide as
        both, notched over it to the faces of both rims."""
        t = self.flight.stock_thickness
        back = -t * self.slope
        return [(BLOCK_BEFORE, -t), (BLOCK_BEFORE, t), (back, t), (0.0, 0.0), (back, -t)]


def hip_plies(flight: Flight) -> list[HipPly]:
    """The plies of hip stringers that carry a flight: one on each mitred side, none of one step."""
    found = []
    for side, slope, sign in zip(("start", "end"), flight.mitres, (-1.0, 1.0)):
        if not slope or not flight.hangs:
            continue
        sine = 1 / math.sqrt(1 + slope**2)
        hip = replace(
            flight,
            origin=np.asarray(flight.point(0.0, flight.side_at(side, 0.0))),
            out=(flight.out + flight.across * (sign * slope)) * sine,
            going=flight.going / sine,
            lead=(flight.stringer_face(1) - flight.going) / sine - flight.stock_thickness * slope,
            nosing=0.0,
            closed=False,
            mitres=(0.0, 0.0),
        )
        found.append(HipPly(hip, side, slope))
    return found


def jacks(flight: Flight, side: str) -> list[Jack]:
    """As few jack stringers as leave no tread a wider gap under its front edge than the file allows between stringers:
    from step to step on, where the ply lies further from the last one than that."""
    slope, t, room = flight.mitres[side == "end"], flight.stock_thickness, flight.hip_room(int(side == "end"))
    spacing = flight.spacing - ASKEW
    last, made = -room - t / 2, list[float]()  # the middle of the flight's last stringer, past the end of the edge
    for k in range(1, flight.risers):
        front = flight.stringer_face(k)
        gap = front * slope - room / 2 - last  # to the ply's middle
        furthest = (front - LEAST_SEAT) * slope - room - t / 2
        count = math.ceil(gap / spacing - SAME) - 1
        reach = min(last + count * spacing, furthest)
        if count < 1 or reach - last < t + LEAST_SEAT:
            continue
        count = math.ceil((reach - last) / spacing - SAME)
        made += [last + (reach - last) * n / count for n in range(1, count + 1)]
        last = reach
    return [_jack(flight, side, m, slope, room) for m in made]


def _jack(flight: Flight, side: str, middle: float, slope: float, room: float) -> Jack:
    t = flight.stock_thickness
    x = (middle + t / 2 + room) / slope  # its corner that is nearer to the ply there
    at, sign = flight.side_at(side, 0.0), 1.0 if side == "end" else -1.0
    low, high = at + sign * (middle - t / 2), at + sign * (middle + t / 2)
    return Jack(min(low, high), x, Polygon([(x, low), (x, high), (x - t / slope, low)]))
