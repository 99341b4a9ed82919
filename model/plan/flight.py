"""One straight flight of a stair in coordinates of its own.

`x` runs out and down from the face it leaves (the rim's outer face, or a landing's), `s` across from the outer face of
the stringer at the start side to that at the end side, `z` is a level above the datum. Going down, the start side is on
the right and the end side on the left. Inches throughout.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from shapely.geometry import Polygon

from ...shared.points import Vector
from ...shared.practice import practice

SAME = 1e-9  # a rise this little over the wanted one is the wanted one: 31 in makes four rises of 7-3/4 in
HOUSED = practice("solid stringer above its nosings")  # inches, square to its edge


def highest_rise(stock_width: float, going: float, throat: float) -> float:
    """The rise whose notch leaves a cut stringer so much throat: `Flight.throat` the other way about. Infinite where
    any rise does, 0 where none does."""
    notch = stock_width - throat
    return math.inf if notch >= going else max(notch, 0.0) * going / math.sqrt(going**2 - notch**2)


@dataclass(frozen=True)
class Tread:
    """Tread `number` (from 1 at the top of its flight): level of its top and of the seat below it, its back and front
    `x`."""

    number: int
    top: float
    seat: float
    back: float
    front: float

    @property
    def depth(self) -> float:
        return self.front - self.back


@dataclass(frozen=True, eq=False)
class Flight:
    """Equal risers in one straight run, from the surface it leaves (`top`) to the one it lands on (`foot`).

    `bearing` is the level on which the stringers stand: the pad's top, or a landing's frame below its boards. `feet`
    are the levels under each of them, from the start side on, where they were measured one by one. `lead` is how far
    the surface it leaves overhangs the face at x = 0, so that every going, from that edge on, is the same.

    A flight of one riser is one step: the face at x = 0 with its trim is the riser, and it has neither treads nor
    stringers.
    """

    stair: int
    index: int
    origin: np.ndarray  # (2,) plan point at x = 0, s = 0
    out: np.ndarray  # (2,) unit vector of travel, down
    width: float
    risers: int
    rise: float
    going: float
    top: float
    bearing: float
    lead: float
    nosing: float
    trim: float  # thickness of riser boards and skirts
    faced: bool  # a trim board covers the face at x = 0
    closed: bool
    solid: bool
    thickness: float  # of a tread
    stock_width: float  # of the stringer
    stock_thickness: float
    spacing: float
    feet: tuple[float, ...] = ()
    box: bool = False  # each step a frame of its own: `stringers` are its sides and inner pieces, as thick as a joist
    # how far its steps go on past the start and the end side, an inch for every inch out, where they are mitred with
    # those of the next edge: the cotangent of half the corner's angle; nothing where they end square
    mitres: tuple[float, float] = (0.0, 0.0)
    # x at which its stringers begin: past the header, of that thickness, on the edge of concrete that it leaves
    head: float = 0.0

    def on_foot(self, number: int) -> Flight:
        """The flight as stringer `number` (0 at the start side, -1 at the end side) sees it: standing at its own
        level."""
        return replace(self, bearing=self.feet[number], feet=()) if self.feet else self

    def ground_at(self, side: str) -> float:
        """Level of the ground beside the last riser, on the start or the end side."""
        return (self.feet[0] if side == "start" else self.feet[-1]) if self.feet else self.foot

    def ground(self, s0: float, s1: float) -> list[tuple[float, float]]:
        """(s, level) of the ground across the foot from s0 to s1: level under every stringer and beside the outer ones,
        even slopes between."""
        if not self.feet:
            return [(s0, self.bearing), (s1, self.bearing)]
        marks = [(s + d, z) for s, z in zip(self.stringers, self.feet) for d in (0.0, self.stock_thickness)]
        inside = [m for m in marks if s0 < m[0] < s1]
        at, level = zip(*marks)
        ends = [(s, float(np.interp(s, at, level))) for s in (s0, s1)]
        return [ends[0], *inside, ends[1]]

    @cached_property
    def across(self) -> np.ndarray:
        """(2,) unit vector from the start side to the end side: to the left of someone walking down."""
        return np.array([-self.out[1], self.out[0]])

    @property
    def foot(self) -> float:
        return self.top - self.risers * self.rise

    @property
    def one_step(self) -> bool:
        """Whether one steps from what it leaves to what it lands on."""
        return self.risers == 1

    @property
    def hangs(self) -> bool:
        """Whether it has stringers that hang from what it leaves."""
        return not self.one_step and not self.box

    @property
    def slope(self) -> float:
        """Fall of the pitch line, inches an inch."""
        return self.rise / self.going

    @property
    def hypotenuse(self) -> float:
        return math.hypot(self.rise, self.going)

    @property
    def throat(self) -> float:
        """What is left behind the notches of a cut stringer: W - R T / sqrt(R^2 + T^2) (similar triangles)."""
        return self.stock_width - self.rise * self.going / self.hypotenuse

    def point(self, x: float, s: float) -> tuple[float, float]:
        """Plan point of (x, s)."""
        p = self.origin + self.out * x + self.across * s
        return float(p[0]), float(p[1])

    def position(self, point: Vector) -> tuple[float, float]:
        """(x, s) of a plan point: the inverse of `point`."""
        d = np.asarray(point[:2], float) - self.origin
        return float(d @ self.out), float(d @ self.across)

    def rectangle(self, x0: float, x1: float, s0: float, s1: float) -> Polygon:
        return Polygon([self.point(x0, s0), self.point(x1, s0), self.point(x1, s1), self.point(x0, s1)])

    def side_at(self, side: str, x: float) -> float:
        """s of the end of its steps on a side, at x: the outer stringer's face, or the mitre."""
        start, end = self.mitres
        return -x * start if side == "start" else self.width + x * end

    def mitred(self, x0: float, x1: float, s0: float, s1: float, opening: float = 0.0) -> Polygon:
        """An (x, s) rectangle as far as it lies before the mitres, `opening` off each, square to it."""
        ring = []
        for side, s in (("start", s0), ("end", s1)):
            slope, sign = self.mitres[side == "end"], 1 if side == "start" else -1
            off = opening * math.sqrt(1 + slope**2)
            at = [(x, sign * max(sign * s, sign * self.side_at(side, x) + off) if slope else s) for x in (x0, x1)]
            turn = (off - sign * (s - self.side_at(side, 0.0))) / slope if slope else x0
            if x0 + SAME < turn < x1 - SAME:  # the mitre crosses this end between its corners
                at.insert(1, (turn, s))
            ring += at if side == "start" else at[::-1]
        return Polygon(ring)

    def whole(self, x0: float, x1: float, beside: float = 0.0, opening: float = 0.0) -> Polygon:
        """The plan of the flight from x0 to x1 and from end to end of its steps: `beside` past its outer stringers, on
        a side that is mitred to the mitre less the `opening`."""
        start, end = self.mitres
        ring = self.mitred(x0, x1, -math.inf if start else -beside, math.inf if end else self.width + beside, opening)
        return Polygon([self.point(x, s) for x, s in ring.exterior.coords])

    def riser_face(self, k: int) -> float:
        """x of the finished face below nosing k (k = 0: below the edge of the surface it leaves)."""
        return k * self.going + self.lead - self.nosing

    def stringer_face(self, k: int) -> float:
        """x of the stringer's plumb cut below nosing k; the riser board, if any, stands in front of it."""
        return self.head if k == 0 else self.riser_face(k) - (self.trim if self.closed else 0.0)

    def level(self, k: int) -> float:
        """Level of the top of tread k; k = 0 is the surface it leaves, k = risers the one it lands on."""
        return self.top - k * self.rise

    def seat(self, k: int) -> float:
        """Level of the stringer's seat under tread k: dropped by the tread's thickness."""
        return self.level(k) - self.thickness

    def nosing_point(self, k: int) -> tuple[float, float]:
        """(x, z) of nosing k; k = 0 is the edge of the surface it leaves."""
        return self.lead + k * self.going, self.level(k)

    @property
    def pitch_line(self) -> list[tuple[float, float]]:
        """(x, z) of every nosing from the upper surface's edge down to the last tread."""
        return [self.nosing_point(k) for k in range(self.risers)]

    def pitch_level(self, x: float) -> float:
        """Level of the pitch line (through the nosings, continued both ways) at x."""
        return self.top - (x - self.lead) * self.slope

    @property
    def back_of_first(self) -> float:
        """x at which tread 1 starts: the trim board, the bare face, or between solid stringers the header there."""
        return self.trim if self.faced else self.head if self.solid else 0.0

    @property
    def treads(self) -> list[Tread]:
        return [
            Tread(
                k,
                self.level(k),
                self.seat(k),
                self.back_of_first if k == 1 else self.riser_face(k - 1),
                self.nosing_point(k)[0],
            )
            for k in range(1, self.risers)
        ]

    @property
    def run(self) -> float:
        """x of the last riser's finished face: the total run of the flight."""
        return self.back_of_first if self.one_step else self.riser_face(self.risers - 1)

    @property
    def lowest(self) -> float:
        """x of the lowest riser, over which guard and handrail end: its face, or the last nosing where risers are
        open."""
        return self.run if self.closed else self.nosing_point(self.risers - 1)[0]

    @property
    def end(self) -> float:
        """x at which the stringers end at the foot: behind the last riser board, or flush with it where they are
        solid."""
        return self.run if self.solid else self.stringer_face(self.risers - 1)

    def upper_edge(self, x: float) -> float:
        """Level of the stringer stock's upper edge at x (through the seats' outer corners, or above the nosings)."""
        if self.solid:
            return self.pitch_level(x) + HOUSED * self.hypotenuse / self.going
        return self.seat(1) + (self.stringer_face(1) - x) * self.slope

    def lower_edge(self, x: float) -> float:
        """Level of the stringer stock's lower edge at x; frames of steps stand on the foot."""
        if self.box:
            return self.bearing
        return self.upper_edge(x) - self.stock_width * self.hypotenuse / self.going

    @property
    def plumb_bottom(self) -> float:
        """Level of the lower end of the stringers' plumb cut at their head; of one step, what it lands on."""
        return self.bearing if self.one_step else max(self.lower_edge(self.head), self.bearing)

    @property
    def heel(self) -> float:
        """x at which the lower edge meets the level cut at the foot."""
        if not self.hangs:
            return 0.0
        return max(0.0, (self.lower_edge(0.0) - max(self.feet, default=self.bearing)) / self.slope)

    @property
    def stringers(self) -> list[float]:
        """s of the start side face of every stringer: outer faces flush with the width, no wider apart than the
        spacing; none under one step."""
        if self.one_step:
            return []
        low, high = self.hip_room(0), self.width - self.stock_thickness - self.hip_room(1)
        count = max(1, math.ceil((high - low) / self.spacing - SAME))
        return [low + (high - low) * i / count for i in range(count + 1)]

    def hip_room(self, side: int) -> float:
        """How much of the edge, at x = 0, a ply of the hip stringer on the mitre takes on the start (0) or end side."""
        slope = self.mitres[side]
        return self.stock_thickness * math.sqrt(1 + slope**2) if slope else 0.0
