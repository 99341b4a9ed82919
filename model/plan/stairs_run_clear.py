"""Stairs that run into what stands beside them, the house's wall or the deck round a reflex corner, or into the deck
that they pass under, are refused: no cut of theirs would mend it. Lengths in inches, plan coordinates."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from ...shared.as_toml import down_to, up_to
from ...shared.errors import DesignError
from .edges import WALL_RUNS_ON, Edge, in_line
from .flight import Flight
from .rail_lay import top_rail_section
from .spots import Landing, StairPlan
from .stages import Posted
from .stair_spots import side_reach, sleeve_wall
from .stairs_under_deck import check_passes_under, with_landing

LEAST_IN = 1.0  # square inches of a flight or landing in the wall that are no rounding; our own
LEAST_MET = 0.01  # square inches of plan in the deck that are no rounding; our own
NARROWEST = 24.0  # inches: no narrower stair is named as one that would do; our own
DECK_BAND = 12.0  # inches of the deck behind an edge that a stair beside it could run into; our own


def check_runs_clear(layout: Posted, plan: StairPlan) -> None:
    """Raises DesignError, naming the key and where there is one a value that would do."""
    _check_wall(layout, plan)
    check_passes_under(layout, plan)
    f = plan.flights[0]
    needs = {side: _needed(layout, plan, side) for side in ("start", "end")}
    met = {side for side in needs if _meets_deck(layout, plan, side)}
    if not met or f.one_step:
        return
    spot, key = plan.spot, f"stair.{plan.index}"
    edge, outline = spot.edge, layout.outline
    side = "start" if "start" in met else "end"
    beside = (outline.before(edge) if side == "start" else outline.after(edge)).name
    text = f"the stair would run into the deck beside it along edge {beside}: its posts, treads or skirts have no room"
    low, high = up_to(needs["start"]), edge.length - needs["end"]
    if low + spot.end - spot.start <= high + 1e-9:
        at = min(max(spot.start, low), down_to(high - (spot.end - spot.start)))
        raise DesignError(f"{key}.at", text, (f"{key}.at", at))
    wide = down_to(high - low)
    values = [(f"{key}.at", low), (f"{key}.width", wide)] if wide >= NARROWEST else []
    raise DesignError(f"{key}.at", text, values=values)


class HouseEnds(DesignError):
    """A stair goes where the house's wall was taken to run on: there it does not."""


def _check_wall(layout: Posted, plan: StairPlan) -> None:
    """Where a turn leads a flight or its landing into the wall, that turn is to blame; else the place at the edge."""
    spot = plan.spot
    into = _into_wall(layout, plan.flights, plan.landings)
    if not into:
        return
    key = f"stair.{spot.index}"
    if not layout.parameters.site.house and layout.outline.wall_runs_on > 0:
        # so the house ends before it: the file sets the stair there
        raise HouseEnds(f"{key}.at", "the stair goes on beside the house")
    turned: list[Landing] = [m for m in plan.landings if m.index < min(into) and m.turn != "straight"]
    if not turned:
        values = [(f"{key}.at", at) for at in _beside_wall(layout, plan)]
        raise DesignError(f"{key}.at", "the stair would run into the house's wall", values=values)
    last = turned[-1]
    name = "side" if last.turn == "back" else "turn"
    tries = [("side", way) for way in ("left", "right") if last.turn == "back"]
    hands = ("right", "straight") if last.turn == "left" else ("left", "straight", "right")
    tries += [("turn", turn) for turn in hands if turn != last.turn]
    clear = (
        (f"{key}.landings.{last.index}.{k}", value)
        for k, value in tries
        if not _into_wall(layout, *with_landing(layout, plan, last.index, {k: value}))
    )
    text = "so turned the stair would run into the house's wall"
    raise DesignError(f"{key}.landings.{last.index}.{name}", text, values=[*itertools.islice(clear, 1)])


def _beside_wall(layout: Posted, plan: StairPlan) -> list[float]:
    """Where along its edge a stair without turns would run clear of the wall: the place nearest to its own, if any."""
    spot, wide = plan.spot, plan.spot.end - plan.spot.start
    edge = spot.edge
    stands = shapely.get_coordinates([shape for _, shape in _covered(plan.flights, plan.landings)])
    down = -min(edge.position(q)[1] for q in stands)
    before = edge.rectangle(0.0, edge.length, -down, 0.0)
    met = [edge.position(q) for q in shapely.get_coordinates(layout.house_wall.intersection(before))]
    if not met:
        return []
    low, high = min(s for s, _ in met), max(s for s, _ in met)
    room = edge.length - wide
    places = [at for at in (down_to(low - wide), up_to(high)) if 0.0 <= at <= room]
    return sorted(places, key=lambda at: abs(at - spot.start))[:1]


def _into_wall(layout: Posted, flights: Sequence[Flight], landings: Sequence[Landing]) -> list[int]:
    """The numbers of the flights that lie in the house's wall, or whose landing does."""
    return _into(layout.house_wall, flights, landings)


def _into(wall: BaseGeometry, flights: Sequence[Flight], landings: Sequence[Landing]) -> list[int]:
    return [n for n, shape in _covered(flights, landings) if shape.intersection(wall).area > LEAST_IN]


def _covered(flights: Sequence[Flight], landings: Sequence[Landing]) -> list[tuple[int, Polygon]]:
    """The plans of flights and landings, each with the number of the flight that comes to it."""
    found = [(f.index, f.rectangle(0.0, f.run, 0.0, f.width)) for f in flights]
    return found + [(m.index + (m.turn == "back"), m.polygon) for m in landings]


def ends_the_house(layout: Posted, flights: Sequence[Flight], landings: Sequence[Landing]) -> bool:
    """Whether a stair lies where the house's wall would have been taken to run on, and so says that it does not."""
    if layout.parameters.site.house or layout.outline.wall_runs_on > 0:
        return False
    return bool(_into(layout.wall_running_on(WALL_RUNS_ON), flights, landings))


def _reflex(layout: Posted, edge: Edge, side: str) -> tuple[Edge, float] | None:
    """The neighbour round a reflex corner at a side, and how many degrees the outline turns there."""
    outline = layout.outline
    other, second = (outline.before(edge), edge) if side == "start" else (outline.after(edge), outline.after(edge))
    turn = outline.turn(second)
    return None if turn >= 0 or in_line(turn) or other.house else (other, -turn)


def _has_posts(plan: StairPlan, side: str) -> bool:
    return any(index == 0 and s == side for index, s, _ in plan.rails)


def _rails(layout: Posted, f: Flight, x1: float) -> list[tuple[float, float]]:
    """How far the guard of a flight stands out from its stringer, and from which x on: its balusters and bottom rail
    all the way, its top rail, that ends at x1, where it has come down to the surface."""
    g, stock = layout.parameters.guard, layout.parameters.stock
    size, (wide, high) = stock(g.post).width, top_rail_section(g, stock)
    low = f.lead + (g.height - high * f.hypotenuse / f.going) / f.slope
    found = [((size + max(stock(g.bottom_rail).thickness, g.baluster)) / 2, f.lead)]
    return found + ([((size + wide) / 2, low)] if low < x1 else [])


def _reaches(layout: Posted, plan: StairPlan, side: str) -> list[tuple[float, float, float]]:
    """What stands beside a side of the top flight: how far out from the stringer, from which x on, and how much of the
    deck beside it, past its frame, it has to keep clear of."""
    f, spot, trim = plan.flights[0], plan.spot, layout.parameters.trim
    faced = trim.thickness if trim.fascia else 0.0
    found = [(0.0, 0.0, faced), (side_reach(layout, spot), f.back_of_first, faced)]
    if _has_posts(plan, side):
        size, beside = layout.parameters.stock(layout.parameters.guard.post).width, _reflex(layout, spot.edge, side)
        found.append((size + sleeve_wall(layout), max(f.riser_face(0), 0.0), faced))
        if plan.guarded and beside:
            found += [(reach, x0, layout.overhang(beside[0])) for reach, x0 in _rails(layout, f, _down_to(plan))]
    return found


def _needed(layout: Posted, plan: StairPlan, side: str) -> float:
    """How far from its corner a stair's side has to stay, to keep clear of the deck beside it all the way down."""
    beside = _reflex(layout, plan.spot.edge, side)
    if beside is None:
        return 0.0
    lean = math.radians(90 - beside[1])  # of the neighbour away from the stair

    def clear(reach: float, x0: float, off: float) -> float:
        return reach + max(off / math.cos(lean) - x * math.tan(lean) for x in (x0, _down_to(plan)))

    return max(0.0, *(clear(*r) for r in _reaches(layout, plan, side)))


def _meets_deck(layout: Posted, plan: StairPlan, side: str) -> bool:
    """Whether what stands beside a side of the top flight lies in the deck beside it."""
    beside, f = _reflex(layout, plan.spot.edge, side), plan.flights[0]
    if beside is None:
        return False
    other = beside[0]
    return any(
        _strip(f, side, reach, x0, _down_to(plan))
        .intersection(other.rectangle(0.0, other.length, -off, DECK_BAND))
        .area
        > LEAST_MET
        for reach, x0, off in _reaches(layout, plan, side)
    )


def _down_to(plan: StairPlan) -> float:
    """x at which the top flight ends, or the landing at its foot."""
    return plan.landings[0].front if plan.landings else plan.flights[0].run


def _strip(f: Flight, side: str, reach: float, x0: float, x1: float) -> Polygon:
    """The plan of a flight between two stations, and so far out on a side."""
    low, high = (-reach, f.width) if side == "start" else (0.0, f.width + reach)
    return f.rectangle(x0, x1, low, high)
