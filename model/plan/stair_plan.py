"""Every number of a stair before a solid is made: equal rises, flights, landings, treads, posts, the foot pad.

The coordinates of a flight are told in `flight`. Inches throughout.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np
from shapely.geometry import Polygon

from ...shared.errors import DesignError
from ...shared.stock import lumber
from ..input.parameters import StairLanding
from ..input.standing import standing
from .flight import SAME, Flight
from .layout import Layout, StairSpot
from .post_plan import stair_has_guard

MOST_TRIALS = 20  # each changes the pad's level less than the one before
MOST_RISERS = 200  # a stair longer than this never reaches grade


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
    its boards from `clear` (the last riser's face) on; s from 0 to the stair's width. `bays` are pairs of positions in
    `StairPlan.posts` between which a level guard runs."""

    index: int
    level: float
    frame_top: float
    frame_bottom: float
    back: float
    clear: float
    front: float
    turn: str
    above: Flight
    bays: tuple[tuple[int, int], ...] = ()

    @property
    def polygon(self) -> Polygon:
        return self.above.rectangle(self.back, self.front, 0.0, self.above.width)


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
    guarded: bool
    posts: tuple[StairPost, ...] = ()
    rails: tuple[tuple[int, str, tuple[int, ...]], ...] = ()
    top_post: dict[str, int] = field(default_factory=dict)
    notes: tuple[str, ...] = ()


def plan_stair(layout: Layout, spot: StairSpot) -> StairPlan:
    """The division and geometry of one stair. Raises DesignError, naming the key, for a stair that cannot be built.

    The fewest equal rises not higher than the wanted one are taken. Where grade slopes, the total rise depends on how
    far out the foot is and so on the number of risers: the first number that fits its own foot is the answer.
    """
    key, p = f"stair.{spot.index}", spot.parameters
    if p.stringer_kind == "solid" and p.tread == "bordered":
        raise DesignError(
            f"{key}.tread", 'a bordered tread laps over its stringers; with solid stringers take tread = "boards"'
        )
    last = 0
    for j, landing in enumerate(p.landings):
        if landing.after_risers < last + 2:
            raise DesignError(
                f"{key}.landings.{j}.after_risers",
                f"a flight needs at least 2 risers; count from the deck down, so this must be {last + 2} or more",
            )
        last = landing.after_risers
    if p.nosing > layout.overhang(spot.edge) + p.going - 2:
        raise DesignError(
            f"{key}.nosing", f"a nosing of {p.nosing:g} in leaves the first tread no seat on its stringers"
        )
    risers, total = _divide(layout, spot, key)
    if risers < last + 2:
        j = len(p.landings) - 1
        raise DesignError(
            f"{key}.landings.{j}.after_risers",
            f"the stair has {risers} risers, so no flight of 2 or more is left below a landing after {last}",
        )
    rise = total / risers
    flights, landings = _run(layout, spot, risers, rise)
    stands = standing(layout.parameters)
    if stands and spot.index in stands.rises:
        flights[-1] = replace(flights[-1], feet=tuple(layout.planes.surface_top - r for r in stands.rises[spot.index]))
    notes = _landing_notes(key, p, flights)
    frame = layout.parameters.frame
    room = frame.post_base + (frame.footing.above_grade if frame.footing.shape == "round" else 0.0)
    for landing in landings:
        for x, y in list(landing.polygon.exterior.coords)[:4]:
            if landing.frame_bottom - room < layout.planes.grade(x, y) + 0.5:
                raise DesignError(
                    f"{key}.landings.{landing.index}.after_risers",
                    "the landing's frame would stand in the ground; end the stair on a pad there",
                )
    foot = flights[-1]
    pad_level = foot.foot
    centre = foot.point(foot.run, foot.width / 2)
    if p.total_rise is not None and abs(layout.planes.grade(*centre) - pad_level) > 0.5:
        notes.append(
            f"stair {spot.index + 1}: the total rise given puts the pad {pad_level - layout.planes.grade(*centre):+.1f}"
            " in from the sloped grade plane"
        )
    pad = foot.rectangle(max(foot.heel, 0.0), foot.run + p.pad.depth, -p.pad.side, foot.width + p.pad.side)
    levels = [layout.planes.grade(x, y) for x, y in list(pad.exterior.coords)[:4]]
    if max(levels) - min(levels) > 0.01:
        notes.append(
            f"stair {spot.index + 1}: pad level at {pad_level:.2f} in; grade varies from {min(levels):.2f} to"
            f" {max(levels):.2f} in across it"
        )
    plan = StairPlan(
        spot.index,
        spot,
        total,
        risers,
        rise,
        tuple(flights),
        tuple(landings),
        pad,
        pad_level,
        stair_has_guard(layout, spot),
        notes=tuple(notes),
    )
    if not plan.guarded:
        from .handrail_posts import with_handrail_posts

        return with_handrail_posts(layout, plan)
    from .stair_posts import with_posts

    return with_posts(layout, plan)


def plan_all_stairs(layout: Layout) -> list[StairPlan]:
    """The plans of all stairs of a layout, in its order."""
    return [plan_stair(layout, spot) for spot in layout.stairs]


def _divide(layout: Layout, spot: StairSpot, key: str) -> tuple[int, float]:
    """(risers, total rise)."""
    p = spot.parameters
    for n in range(1, MOST_RISERS + 1):
        total = p.total_rise
        if total is None:
            total = _to_the_pad(layout, spot, n)
        if total <= 0:
            raise DesignError(f"{key}.edge", f"grade at the stair's foot lies {-total:g} in above the surface")
        if n == 1 and total <= p.rise + SAME:
            raise DesignError(
                f"{key}.rise", f"a total rise of {total:.4g} in is one step of at most {p.rise:g} in: it needs no stair"
            )
        if total / n <= p.rise + SAME:
            return n, total
    raise DesignError(f"{key}.rise", f"grade falls away as fast as the stair; {MOST_RISERS} risers do not reach it")


def _to_the_pad(layout: Layout, spot: StairSpot, risers: int) -> float:
    """Total rise of so many risers down to the pad. The rise moves the heels of the stringers, and they where the pad
    lies."""
    p, rise, total = spot.parameters, spot.parameters.rise, math.inf
    for _ in range(MOST_TRIALS):
        before, total = (
            total,
            layout.planes.surface_top - _highest(layout, _run(layout, spot, risers, rise)[0][-1], p.pad.side),
        )
        if total <= 0 or abs(total - before) < SAME:
            break
        rise = total / risers
    return total


def _highest(layout: Layout, foot: Flight, side: float) -> float:
    """Highest grade under the foot of a stair and the posts beside it: there the pad's top lies, so that no wood is in
    the ground."""
    stands = foot.rectangle(max(foot.heel, 0.0), foot.run, -side, foot.width + side)
    return max(layout.planes.grade(x, y) for x, y in stands.exterior.coords)


def _run(layout: Layout, spot: StairSpot, risers: int, rise: float) -> tuple[list[Flight], list[Landing]]:
    """Flights and landings of so many risers; landings that lie below the last but one riser are left out."""
    p, surface, trim = spot.parameters, layout.parameters.surface, layout.parameters.trim
    stock = lumber(p.stringer)
    origin, out = np.asarray(spot.edge.point(spot.start, 0.0)), spot.out
    stops: list[StairLanding] = [s for s in p.landings if s.after_risers + 2 <= risers]
    counts = np.diff([0, *[s.after_risers for s in stops], risers]).tolist()
    top, flights, landings = layout.planes.surface_top, [], []
    closed, lead = p.risers == "closed", layout.overhang(spot.edge)
    # without fascia a riser board still covers the rim where the overhang leaves room for it
    faced = trim.fascia or (closed and lead - p.nosing >= trim.thickness - 1e-9)
    for i, count in enumerate(counts):
        bottom = top - count * rise
        on_landing = i < len(stops)
        flight = Flight(
            spot.index,
            i,
            origin,
            out,
            p.width,
            count,
            rise,
            p.going,
            top,
            bottom - (surface.board_thickness if on_landing else 0.0),
            lead,
            p.nosing,
            trim.thickness,
            faced,
            closed,
            p.stringer_kind == "solid",
            surface.board_thickness,
            stock.width,
            stock.thickness,
            p.stringer_spacing,
        )
        flights.append(flight)
        if not on_landing:
            break
        stop = stops[i]
        depth = stop.depth if stop.turn == "straight" else max(stop.depth, p.width)
        front = flight.run + depth
        landings.append(
            Landing(
                i,
                bottom,
                flight.bearing,
                flight.bearing - layout.joist.width,
                flight.heel,
                flight.run,
                front,
                stop.turn,
                flight,
            )
        )
        if stop.turn == "straight":
            origin = np.asarray(flight.point(front, 0.0))
        elif stop.turn == "left":
            origin, out = np.asarray(flight.point(front, p.width)), flight.across
        else:
            origin, out = np.asarray(flight.point(front - p.width, 0.0)), -flight.across
        top = bottom
    return flights, landings


def _landing_notes(key: str, p, flights: list[Flight]) -> list[str]:
    return [
        f"stair {flights[0].stair + 1} landing {j + 1}: made {p.width:g} in deep, as wide as the flight that leaves its"
        " side"
        for j, stop in enumerate(p.landings)
        if stop.turn != "straight" and stop.depth < p.width
    ]
