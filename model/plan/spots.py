"""Places in plan that the stages hold: planes, strips, posts, bays, stairs, footings. Plan coordinates in inches."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from types import MappingProxyType

import numpy as np
from shapely.affinity import translate
from shapely.geometry import Point, Polygon, box

from ...shared.said import Words
from ..input.stair_tables import Stair
from .edges import Edge
from .flight import Flight


@dataclass(frozen=True)
class Planes:
    """Levels above the datum. `grade(x, y)` is a plane that may slope."""

    surface_top: float
    frame_top: float
    frame_bottom: float
    grade_origin: float
    slope_x: float
    slope_y: float

    def grade(self, x: float, y: float) -> float:
        return self.grade_origin + self.slope_x * x + self.slope_y * y

    def lowest_round(self, footprint: Polygon) -> float:
        """Grade on the low side of what stands in the ground."""
        return min(self.grade(x, y) for x, y in footprint.exterior.coords)


@dataclass(frozen=True)
class Strip:
    """A band of the frame's plan that must carry something: the inner or outer half of a border board, or field ends.

    `edge` names the outline edge it follows (None under a breaker); `lengthwise` says that it runs along the joists.
    """

    polygon: Polygon
    edge: str | None
    purpose: str  # "border" | "field ends" | "breaker"
    lengthwise: bool
    direction: tuple[float, float]


@dataclass(frozen=True)
class FieldBoard:
    """One field board: its outline along and square to the boards, and the run it lies in (1 is the outermost)."""

    outline: Polygon
    run: int


UNDER_JOINTS = "under butt joints"  # where a second joist or a cleat is


@dataclass(frozen=True)
class JointSupport:
    """What lies beside a joist under butt joints, a second joist or a cleat ("joint cleat"): its plan, and which way
    it runs."""

    role: str
    polygon: Polygon
    direction: tuple[float, float]


@dataclass(frozen=True, eq=False)
class FieldLaid:
    """The field boards in their own axes `x` and `y`, the limits (n, 2) of the runs across them, what must lie beside
    joists under their joints, and notes on what could not be laid as asked."""

    x: np.ndarray
    y: np.ndarray
    limits: np.ndarray
    boards: tuple[FieldBoard, ...]
    beside_joists: tuple[JointSupport, ...]
    notes: tuple[Words, ...]


@dataclass(frozen=True)
class PostSpot:
    """Where a guard post stands: its plan square, the edges it guards, and why it is there."""

    polygon: Polygon
    centre: tuple[float, float]
    direction: tuple[float, float]  # along one face
    edges: tuple[str, ...]
    kind: str  # "corner" | "end" | "stair" | "line"
    stair: int | None = None


@dataclass(frozen=True)
class BaySpot:
    """A guard bay along an edge, between two of the layout's post spots (their indices), from start to end of the
    edge."""

    edge: str
    first: int
    last: int


@dataclass(frozen=True)
class SharedPost:
    """A post at the top of another stair, at the corner where the two meet, on which the guard of a stair begins on a
    side: the other stair's number, its side, and the post's plan square."""

    side: str
    stair: int
    its_side: str
    polygon: Polygon


@dataclass(frozen=True)
class StairSpot:
    """Where a stair leaves the deck: `start` to `end` along its edge (outer faces of the outer stringers)."""

    index: int
    edge: Edge
    start: float
    end: float
    parameters: Stair
    cleats: tuple[Polygon, ...] = ()  # behind the rim, from frame top down to the stair header
    own_posts: tuple[str, ...] = ()  # "start", "end": the sides whose post at the top stands on the stringer
    # of steps that go on round a corner: the mitres of the start and the end side, as a flight has them, and all stairs
    # that they make one with, itself among them
    mitres: tuple[float, float] = (0.0, 0.0)
    wrapped: tuple[StairSpot, ...] = ()
    # where another stair reaches the same corner: how far down own posts stand, and posts of that stair that serve both
    posts_down: tuple[tuple[str, float], ...] = ()
    shared_posts: tuple[SharedPost, ...] = ()
    walled: tuple[str, ...] = ()  # sides beside the house's wall, so near that no post fits between: it is the guard

    @property
    def open_sides(self) -> tuple[str, ...]:
        """The sides on which its steps end: where no mitre joins them to others."""
        return tuple(side for side, slope in zip(("start", "end"), self.mitres) if not slope)

    @property
    def guardable(self) -> tuple[str, ...]:
        """The open sides that no wall stands beside."""
        return tuple(side for side in self.open_sides if side not in self.walled)

    def shared_post(self, side: str) -> SharedPost | None:
        """The post of another stair that serves a side at its top."""
        return next((p for p in self.shared_posts if p.side == side), None)

    @property
    def trimmed(self) -> tuple[float, float]:
        """`start` and `end` with the skirts added: over this stretch the fascia gives way to the stair."""
        return self.start, self.end

    @property
    def out(self) -> np.ndarray:
        return -self.edge.inward


@dataclass(frozen=True)
class SeatNotch:
    """The notch at the upper end of a post for a beam: its shoulder is `depth` deep from the post's outer face, and the
    rest goes up `beside` it; `inward` is the plan unit vector from that face into the post."""

    depth: float
    beside: float
    inward: tuple[float, float]


@dataclass(frozen=True)
class Stand:
    """What stands on a footing: the plan square of a post, and the level of what it carries. `stair` numbers the stair
    whose landing or cross piece that is; a beam's else. `notch` is that of a post in which the beam sits, at that
    level. `fall` is the fall of its top, inches an inch along each plan axis, about its middle at `top`."""

    square: Polygon
    top: float
    where: str
    edge: str | None
    stair: int | None = None
    notch: SeatNotch | None = None
    fall: tuple[float, float] = (0.0, 0.0)

    @property
    def centre(self) -> tuple[float, float]:
        c = self.square.centroid
        return c.x, c.y

    @property
    def unnotched(self) -> Stand:
        """Without the notch, in the middle under the beam."""
        if self.notch is None:
            return self
        along = np.asarray(self.square.exterior.coords) @ np.asarray(self.notch.inward)
        back = (self.notch.depth - (along.max() - along.min())) / 2
        return replace(self, square=translate(self.square, *(back * w for w in self.notch.inward)), notch=None)


@dataclass(frozen=True)
class FootingSpot:
    """One footing: its plan centre, size, levels, and what stands on it. `posted` False: no room for a post, the beam
    bears on the post base, or where there is none on the concrete."""

    centre: tuple[float, float]
    size: float
    bottom: float
    top: float
    stands: tuple[Stand, ...]
    posted: bool
    round: bool

    @property
    def polygon(self) -> Polygon:
        return self.outline()

    def outline(self, sides: int = 16) -> Polygon:
        """Its plan; a round one as a polygon of four times so many sides that holds the circle."""
        if sides not in self._outlines:  # every piece of every stair asks for it
            (x, y), h = self.centre, self.size / 2
            circle = Point(x, y).buffer(h / math.cos(math.pi / (4 * sides)), quad_segs=sides) if self.round else None
            self._outlines[sides] = circle or box(x - h, y - h, x + h, y + h)
        return self._outlines[sides]

    @cached_property
    def _outlines(self) -> dict[int, Polygon]:
        return {}


@dataclass(frozen=True)
class PadSpot:
    """The pad under the foot of a stair, or one that is its landing `landing`, clear of the footings and of the pads
    before it: plan, level of its top."""

    stair: int
    polygon: Polygon
    top: float
    thickness: float
    landing: int | None = None


@dataclass(frozen=True)
class StairPost:
    """A guard post of a stair outside its outer stringers. `bottom` is where it ends below; `x` its centre in its
    flight.

    `kind`: "foot" (beside the last tread), "mid" (between), "top" (of a flight that leaves a landing), "landing".
    """

    polygon: Polygon
    centre: tuple[float, float]
    flight: int
    side: str  # "start" | "end"
    kind: str
    x: float
    bottom: float


@dataclass(frozen=True)
class Landing:
    """A platform between two flights, its plan in the coordinates of the flight above: frame from `back` to `front`,
    its boards from `clear` (the last riser's face) on; s over `sides`, 0 to the stair's width, or where the stair turns
    back over both flights and the `space` between them. `towards` is the side of the flight above on which the next one
    leaves, "" for straight on. `bays` are pairs of positions in `StairPlan.posts` between which a level guard runs.
    One `on_ground`, where a frame would stand in it, is a concrete pad with its top at `level`. Where another flight
    passes under the flight above it, its rims across run on by `ears` past that side, on legs outside that flight, and
    the legs under its middle stand `moved` out of it. Its legs stand `post_spacing` apart at most, if that is given.
    """

    index: int
    level: float
    frame_top: float
    frame_bottom: float
    back: float
    clear: float
    front: float
    turn: str
    above: Flight
    sides: tuple[float, float]
    towards: str = ""  # "start" | "end"
    space: float = 0.0
    on_ground: bool = False
    bays: tuple[tuple[int, int], ...] = ()
    ears: float = 0.0
    moved: float = 0.0
    rim_plies: int = 1
    post_spacing: float | None = None

    @property
    def outer(self) -> str:
        """The side of the flight above that the next one does not leave on."""
        return "start" if self.towards == "end" else "end"

    @property
    def rims_across(self) -> tuple[float, float]:
        """(s0, s1) of its rims across: its sides, and the ears past one of them."""
        low, high = self.sides
        return (low - self.ears, high) if self.outer == "start" else (low, high + self.ears)

    def middle_leg(self, size: float) -> float:
        """s of the near side of the legs under the middle of its rims, of posts of that size."""
        return sum(self.between) / 2 - size / 2 + (self.moved if self.towards == "end" else -self.moved)

    @property
    def polygon(self) -> Polygon:
        return self.above.rectangle(self.back, self.front, *self.sides)

    @property
    def between(self) -> tuple[float, float]:
        """(s0, s1) of the space between two flights side by side; where the stair does not turn back, the side on which
        the next flight leaves."""
        w, s = self.above.width, self.space
        return (w, w + s) if self.towards == "end" else (-s, 0.0)

    def shares_post(self, size: float) -> bool:
        """Whether between two flights side by side there is room for no more than two guard posts of that size, so that
        one in the middle serves both."""
        return self.turn == "back" and self.space <= 2 * size + 1e-9

    def legs(self, size: float) -> list[Polygon]:
        """Plan squares of the posts of that size under its corners or ears, where it is as wide as two flights under
        the middle of its two rims, and between where those stand further apart than asked for."""
        low, high = self.rims_across
        across = [low, high - size]
        if self.turn == "back":
            across.insert(1, self.middle_leg(size))
        ends = [self.back, self.front - size]
        corners = [(x, s) for x in ends for s in self._between(across)]
        beside = [(x, s) for x in self._between(ends)[1:-1] for s in (self.sides[0], self.sides[1] - size)]
        return [self.above.rectangle(x, x + size, s, s + size) for x, s in corners + beside]

    def _between(self, places: Sequence[float]) -> list[float]:
        """Places along a line, others added evenly between those that are further apart than legs may stand."""
        if self.post_spacing is None:
            return list(places)
        found = [places[0]]
        for a, b in itertools.pairwise(places):
            n = max(1, math.ceil((b - a) / self.post_spacing - 1e-9))
            found += [a + (b - a) * k / n for k in range(1, n + 1)]
        return found

    @property
    def post_bottom(self) -> float:
        """Level at which the guard posts beside it end: they are bolted to its frame, or stand on the pad."""
        return self.level if self.on_ground else self.frame_bottom


@dataclass(frozen=True)
class CrossPiece:
    """A cross piece under the stringers of a flight, its middle at `x`, and the posts under it: their plan squares and
    the level of their tops, which fall with the flight, in the middle."""

    flight: Flight
    x: float
    post_top: float
    squares: tuple[Polygon, ...]


@dataclass(frozen=True)
class StairPlan:
    """One whole stair. `total_rise` from the foot to the surface; `risers` in all flights; `notes` for the drawings.

    `rails` lists, for each flight and side, the chain of guard posts from top to foot: positions in `posts`, or -1 for
    the layout's own post at the deck (`top_post[side]` is its position in `layout.posts`).
    """

    index: int
    spot: StairSpot
    total_rise: float
    risers: int
    rise: float
    flights: tuple[Flight, ...]
    landings: tuple[Landing, ...]
    pad: Polygon
    pad_top: float
    pad_thickness: float
    guarded: bool
    posts: tuple[StairPost, ...] = ()
    rails: tuple[tuple[int, str, tuple[int, ...]], ...] = ()
    top_post: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))
    carriers: tuple[CrossPiece, ...] = ()
    notes: tuple[Words, ...] = ()
