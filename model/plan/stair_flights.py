"""The division of a stair into equal rises, and its flights and landings in plan.

The coordinates of a flight are told in `flight`. Inches throughout.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from shapely.geometry import Polygon

from ...shared.as_toml import down_to
from ...shared.errors import DesignError
from ...shared.practice import practice
from ..input.stair_tables import StairLanding
from ..input.surveyed import surveyed
from .beside_house import before_house
from .edges import still
from .flight import SAME, Flight
from .header_stock import as_thick
from .rail_lay import top_rail_section
from .spots import Landing, StairSpot
from .stages import Setting
from .wrapped_steps import check_wrapped, wanted_rise

# inches left round what comes up through a pad, for an expansion strip; common practice, no source
EXPANSION_JOINT = 0.5
MOST_TRIALS = 20  # each changes the pad's level less than the one before
BESIDE_A_FLIGHT = 0.5  # inches between a flight's guard posts and a landing's legs beside it; our own
LIKELY_FOOTING = 24.0  # inches across, of a leg's footing that the file leaves out: it is not known yet; our own
UNDER_A_SIDE = 2.0  # inches of a flight beside its guard that nobody walks, where a footing may come up; our own
CAP_ROOM = practice("post cap thickness") + 0.5  # inches over a post: its cap, and air
MOST_BOXED = 3  # risers of box steps; common practice, no source
LEAST_LEFT = 0.5  # of a stair's rise, which ground that rises in front of its foot may not take; our own
LEAST_ON = 0.5  # of a rise, by which ground has to fall past a landing for the stair to go on from there; our own
MOST_RISERS = 200  # a stair longer than this never reaches grade


def divided(layout: Setting, spot: StairSpot) -> tuple[int, float]:
    """(risers, total rise) of one stair. Raises DesignError, naming the key, for a stair that cannot be built.

    The fewest equal rises not higher than the wanted one are taken. Where grade slopes, the total rise depends on how
    far out the foot is and so on the number of risers: the first number that fits its own foot is the answer.
    """
    key, p = f"stair.{spot.index}", spot.parameters
    if p.stringer_kind == "solid" and p.tread == "bordered":
        raise DesignError(
            f"{key}.tread", "a bordered tread laps over its stringers, and these are solid", (f"{key}.tread", "boards")
        )
    last = 0
    for j, landing in enumerate(p.landings):
        if landing.after_risers <= last:
            raise DesignError(
                f"{key}.landings.{j}.after_risers",
                f"got {landing.after_risers}; a flight has at least one riser, counted from the deck down",
                (f"{key}.landings.{j}.after_risers", last + 1),
            )
        last = landing.after_risers
    if p.nosing > layout.overhang(spot.edge) + p.going - 2:
        raise DesignError(
            f"{key}.nosing",
            f"a nosing of {p.nosing:g} in leaves the first tread no seat on its stringers",
            (f"{key}.nosing", down_to(layout.overhang(spot.edge) + p.going - 2)),
        )
    if spot.wrapped:
        check_wrapped(layout, spot)
    if p.kind == "box" and p.landings:
        raise DesignError(f"{key}.kind", "box steps have no landings", (f"{key}.kind", "stringers"))
    risers, total = _divide(layout, spot, key)
    if p.kind == "box":
        _check_box(layout, spot, risers, total)
    beyond = next((j for j, landing in enumerate(p.landings) if landing.after_risers > risers), None)
    if beyond is not None:
        # one alone can lie at the foot: of several, those before the ground is reached
        left = [stop.model_dump(exclude_unset=True) for stop in p.landings[:beyond]]
        alone = beyond + 1 == len(p.landings) and all(stop.after_risers < risers for stop in p.landings[:beyond])
        would_do = None if alone else (f"{key}.landings", left)
        raise DesignError(
            f"{key}.landings.{beyond}.after_risers",
            f"got {p.landings[beyond].after_risers}; the stair reaches the ground after {risers} risers",
            would_do or (f"{key}.landings.{beyond}.after_risers", risers),
        )
    return risers, total


def _check_box(layout: Setting, spot: StairSpot, risers: int, total: float) -> None:
    """Raises DesignError, naming the key, for box steps that nobody builds of lumber."""
    key = f"stair.{spot.index}.kind"
    stands = surveyed(layout.parameters)
    if risers > MOST_BOXED:
        text = f"the stair has {risers} risers; box steps have at most {MOST_BOXED}"
        raise DesignError(key, text, (key, "stringers"))
    if stands and spot.index in stands.rises:
        text = "each step stands level on the one below, and this foot was measured stringer by stringer"
        raise DesignError(key, text, (key, "stringers"))
    widest = as_thick(layout.parameters, layout.joist)[-1]
    if risers > 1 and total / risers > widest.width + SAME:
        raise DesignError(
            f"stair.{spot.index}.rise",
            f"rises of {total / risers:.4g} in ask for frames wider than {widest.name}",
            (f"stair.{spot.index}.rise", down_to(widest.width)),
        )


def leaves_by_one_step(layout: Setting, spot: StairSpot) -> bool:
    """Whether a stair has no stringers at the deck: one step down is the ground or its first landing."""
    return _first_flight(layout, spot).one_step


def hangs_at_deck(layout: Setting, spot: StairSpot) -> bool:
    """Whether a stair has stringers that hang from the deck's edge."""
    return _first_flight(layout, spot).hangs


def _first_flight(layout: Setting, spot: StairSpot) -> Flight:
    risers, total = divided(layout, spot)
    return flights_and_landings(layout, spot, risers, total / risers)[0][0]


def ends_on(spot: StairSpot, risers: int) -> StairLanding | None:
    """The landing that lies where a stair of so many risers reaches the ground: its foot pad is that landing."""
    return next((s for s in spot.parameters.landings if s.after_risers == risers), None)


def _divide(layout: Setting, spot: StairSpot, key: str) -> tuple[int, float]:
    """(risers, total rise). Where the stair goes on from a landing on the ground, its rises are no higher than those
    down to there, so that none of it is in the ground above."""
    p, wanted = spot.parameters, wanted_rise(layout, spot)
    most, landed = math.inf, None
    for n in range(1, MOST_RISERS + 1):
        total = p.total_rise
        if total is None:
            total = _to_the_pad(layout, spot, n)
        if total <= 0:
            raise DesignError(f"{key}.edge", f"grade at the stair's foot lies {-total:g} in above the surface")
        if total / n > min(most, wanted if n > 1 else p.rise) + SAME:  # one step has no hip stringer
            continue
        if not _goes_on(layout, spot, n, total):
            return n, total
        most, landed = total / n, (n, total)
    if landed:
        return landed
    raise DesignError(f"{key}.rise", f"grade falls away as fast as the stair; {MOST_RISERS} risers do not reach it")


def _goes_on(layout: Setting, spot: StairSpot, risers: int, total: float) -> bool:
    """Whether a stair that reaches the ground at a landing after so many risers goes on down from there: where the
    ground at the next riser's foot lies by `LEAST_ON` of a rise deeper, so that the landing, with all rises alike, lies
    on the ground and not a step above it."""
    if spot.parameters.total_rise is not None or ends_on(spot, risers) is None:
        return False
    return _to_the_pad(layout, spot, risers + 1) - total >= LEAST_ON * total / risers


def _to_the_pad(layout: Setting, spot: StairSpot, risers: int) -> float:
    """Total rise of so many risers down to the pad. The rise moves the heels of the stringers, and they where the pad
    lies."""
    rise, total = spot.parameters.rise, math.inf
    for _ in range(MOST_TRIALS):
        feet = [(s, flights_and_landings(layout, s, risers, rise)[0][-1]) for s in spot.wrapped or (spot,)]
        level = max(_pad_level(layout, s, foot, risers) for s, foot in feet)  # steps that go round a corner have one
        before, total = total, layout.planes.surface_top - level
        if total <= 0 or abs(total - before) < SAME:
            break
        rise = total / risers
    return total


def _pad_level(layout: Setting, spot: StairSpot, foot: Flight, risers: int) -> float:
    """The level of a foot pad's top: that of the highest ground under it and under the posts beside the foot, which
    stand behind the lowest riser and may reach back past the stringers' heels, so that no wood is in the ground and no
    ground lies over the concrete. Where ground rising in front of the foot would take most of the stair, that of the
    highest under the foot alone: the ground is cut back there, and a check says so."""
    post, side = layout.parameters.stock(layout.parameters.guard.post).width, spot.parameters.pad.side
    back, beside = min(max(foot.heel, 0.0), foot.lowest - post), max(side, post)
    stands = before_house(layout, foot.whole(back, max(foot.run, foot.lowest), beside))
    under, whole = (
        max(layout.planes.grade(x, y) for x, y in g.exterior.coords)
        for g in (stands, foot_pad(layout, spot, foot, risers))
    )
    top = layout.planes.surface_top
    return max(under, whole) if top - whole >= LEAST_LEFT * (top - under) else under


def foot_pad(layout: Setting, spot: StairSpot, foot: Flight, risers: int) -> Polygon:
    """The plan of the concrete at the foot of a stair, or of the landing that lies there, up to the house's wall."""
    pad, ends = spot.parameters.pad, ends_on(spot, risers)
    deep = max(pad.depth, ends.depth if ends else 0.0)
    return before_house(layout, foot.whole(pad_back(layout, foot), foot.run + deep, pad.side, EXPANSION_JOINT / 2))


def down_to_ground(layout: Setting, polygon: Polygon, top: float, least: float) -> float:
    """How thick concrete of a plan is, so that it stands on the ground on its low side too; at `least` as asked for."""
    return max(least, top - min(layout.planes.grade(x, y) for x, y in polygon.exterior.coords))


def flights_and_landings(
    layout: Setting, spot: StairSpot, risers: int, rise: float
) -> tuple[list[Flight], list[Landing]]:
    """Flights and landings of so many risers; landings that lie at the last riser or below it are left out."""
    p, surface = spot.parameters, layout.parameters.surface
    origin, out = np.asarray(spot.edge.point(spot.start, 0.0)), spot.out
    stops: list[StairLanding] = [s for s in p.landings if s.after_risers < risers]
    counts = np.diff([0, *[s.after_risers for s in stops], risers]).tolist()
    top, flights, landings = layout.planes.surface_top, list[Flight](), list[Landing]()
    for i, count in enumerate(counts):
        bottom = top - count * rise
        on_landing = i < len(stops)
        bearing = bottom - (surface.board_thickness if on_landing else 0.0)
        on_pad = bool(landings) and landings[-1].on_ground
        flight = _flight(layout, spot, i, (origin, out), count, rise, (top, bearing), on_pad)
        if not on_landing:
            flights.append(flight)
            break
        turns = [s.turn == "back" for s in stops[max(i - 1, 0) : i + 2]]
        landing = _landing(layout, stops[i], flight, replace(flight, risers=counts[i + 1]), sum(turns) > 1)
        if _in_the_ground(layout, landing):
            flight = replace(flight, bearing=bottom)
            back = landing.back if landing.turn == "back" else pad_back(layout, flight)
            landing = replace(landing, above=flight, on_ground=True, back=back)
        flights.append(flight)
        landings.append(landing)
        origin, out = _below(landing)
        top = bottom
    return flights, [_over_another(layout, m, flights) for m in landings]


def _over_another(layout: Setting, landing: Landing, flights: Sequence[Flight]) -> Landing:
    """A landing at which the stair turns back, with its legs out of a later flight that passes under the one above it,
    and out of where one walks at its foot."""
    later = [f for f in flights[landing.index + 2 :] if f.out @ landing.above.out > 1 - 1e-9]
    if landing.turn != "back" or landing.on_ground or not later:
        return landing
    p = layout.parameters
    size, post = p.stock(p.frame.post).width, p.stock(p.guard.post).width
    concrete = (p.frame.footing.size or LIKELY_FOOTING) / 2 - size / 2 - UNDER_A_SIDE  # it stands up out of the ground
    wide, half = max(post + BESIDE_A_FLIGHT, concrete), landing.above.width
    under = later[0].rectangle(0.0, later[0].lowest + half, -wide, later[0].width + wide)
    if not any(leg.intersection(under).area > 1e-3 for leg in landing.legs(size)):
        return landing
    near = half + wide if landing.towards == "end" else -wide - size  # s of legs just past its inner guard
    return replace(landing, ears=wide + size, moved=abs(near - landing.middle_leg(size)))


def _landing(layout: Setting, stop: StairLanding, flight: Flight, following: Flight, stacked: bool = False) -> Landing:
    """The platform at the foot of a flight.

    Its frame begins under the heels of the stringers that stand on it. Where the stair turns back it begins one guard
    post and a rim behind the lowest riser, so that the post at the end of the upper flight's guard stands inside the
    rim that the next flight leaves, as one at the deck's edge does; the stringers bear on what lies before it.
    Between two flights there is room for their top rails side by side as these lie. `following` has as many risers as
    the next flight; `stacked`: the stair turns back at the landing before or after it too.
    """
    w = flight.width
    towards = {"left": "end", "right": "start"}.get(stop.side if stop.turn == "back" else stop.turn, "")
    back, space, sides = flight.heel, 0.0, (0.0, w)
    depth = stop.depth
    if stop.turn in ("left", "right"):
        depth = max(stop.depth, w, w + _beside_face(layout, flight) - flight.run)
    if stop.turn == "back":
        guard, stock = layout.parameters.guard, layout.parameters.stock
        post, rim = stock(guard.post).width, stop.rim_plies * layout.joist.thickness
        back = flight.lowest - post - rim
        space = max(post, guard.sleeve.size if guard.sleeve else 0.0, 2 * top_rail_section(guard, stock)[0])
        if stacked or min(flight.lowest, following.lowest) + rim < fallen_apart(layout, flight, rim):
            space = max(space, 2 * post)  # the guards of a flight so short would stand over each other
        space = space if stop.space is None else stop.space
        sides = (0.0, 2 * w + space) if towards == "end" else (-w - space, w)
    return Landing(
        flight.index,
        flight.foot,
        flight.bearing,
        flight.bearing - layout.joist.width,
        back,
        flight.run,
        flight.run + depth,
        stop.turn,
        flight,
        sides,
        towards,
        space,
        rim_plies=stop.rim_plies,
        post_spacing=stop.post_spacing,
    )


def _beside_face(layout: Setting, flight: Flight) -> float:
    """Distance from the face that a flight leaves to the next one, where that runs along it: past the boards' edge
    there is room for its own guard posts, with their sleeves. A flight of one step is shorter than that."""
    guard = layout.parameters.guard
    post = layout.parameters.stock(guard.post).width
    sleeve = max(0.0, guard.sleeve.size - post) if guard.sleeve else 0.0
    return flight.lead + post + sleeve + BESIDE_A_FLIGHT


def fallen_apart(layout: Setting, upper: Flight, rim: float) -> float:
    """Distance from the middle of the post at the foot of a flight, where the stair turns back, beyond which a guard
    post of the next flight may stand under the upper one, and one of the upper flight over the next one's guard. `rim`
    is the thickness of the landing's rims."""
    g = layout.parameters.guard
    size = layout.parameters.stock(g.post).width
    over = g.height + g.post_above + CAP_ROOM

    def clear(d: float) -> bool:
        x = d - size - rim  # in the next flight, of the face towards the landing
        return upper.foot - (x - upper.lead) * upper.slope + over < upper.lower_edge(upper.lowest - d)

    return next(float(d) for d in itertools.count(math.ceil(size)) if clear(d))


def _below(landing: Landing) -> tuple[np.ndarray, np.ndarray]:
    """(origin, way down) of the flight that leaves a landing."""
    f, w, front = landing.above, landing.above.width, landing.front
    if landing.turn == "straight":
        return np.asarray(f.point(front, 0.0)), f.out
    if landing.turn == "left":
        return np.asarray(f.point(front, w)), f.across
    if landing.turn == "right":
        return np.asarray(f.point(front - w, 0.0)), -f.across
    return np.asarray(f.point(landing.back, landing.sides[1] if landing.towards == "end" else -landing.space)), -f.out


def pad_back(layout: Setting, flight: Flight) -> float:
    """x at which concrete under the foot of a flight begins: where the stringers' level cuts do; under one step before
    the face that is the riser, which may reach below it; in front of the deck's fascia beside the stair, where that
    comes down below its top."""
    if flight.one_step:
        return flight.run + EXPANSION_JOINT
    trim = layout.parameters.trim
    meets = trim.fascia and flight.index == 0 and flight.foot > layout.planes.frame_top - layout.fascia_height
    return max(flight.heel, trim.thickness) if meets else flight.heel


def _in_the_ground(layout: Setting, landing: Landing) -> bool:
    """Whether the frame of a landing, or the post bases under it, would stand in the ground at a corner."""
    frame = layout.parameters.frame
    room = frame.post_base + (frame.footing.above_grade if frame.footing.shape == "round" else 0.0)
    corners = list(landing.polygon.exterior.coords)[:4]
    return any(landing.frame_bottom - room < layout.planes.grade(x, y) + 0.5 for x, y in corners)


def _flight(
    layout: Setting,
    spot: StairSpot,
    index: int,
    start: tuple[np.ndarray, np.ndarray],
    risers: int,
    rise: float,
    levels: tuple[float, float],
    on_pad: bool,
) -> Flight:
    """One flight of a stair. `start`: its plan point at x = 0, s = 0 and its way down; `levels`: the surface it leaves
    and what its stringers stand on; `on_pad`: it leaves a landing of concrete, which has no overhang and no trim, but
    a header on its edge."""
    p, surface, trim = spot.parameters, layout.parameters.surface, layout.parameters.trim
    stock = layout.joist if p.kind == "box" else layout.parameters.stock(p.stringer)
    closed, lead = p.risers == "closed", 0.0 if on_pad else layout.overhang(spot.edge)
    # without fascia a riser board still covers the rim where the overhang leaves room for it
    faced = not on_pad and (trim.fascia or (closed and lead - p.nosing >= trim.thickness - 1e-9))
    return Flight(
        spot.index,
        index,
        still(start[0]),
        still(start[1]),
        spot.end - spot.start if spot.wrapped else p.width,
        risers,
        rise,
        p.going,
        levels[0],
        levels[1],
        lead,
        p.nosing,
        trim.thickness,
        faced,
        closed,
        p.stringer_kind == "solid" and p.kind != "box",
        surface.board_thickness,
        stock.width,
        stock.thickness,
        p.stringer_spacing,
        box=p.kind == "box",
        mitres=spot.mitres,
        head=layout.joist.thickness if on_pad and risers > 1 else 0.0,
    )
