"""What the house as found asks of the plan: places before its wall that are kept clear, how deep footings beside its
own go down, and in words what was chosen or assumed of it. Inches, plan coordinates."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shapely.geometry import Point, Polygon
from shapely.ops import nearest_points

from ...shared.errors import DesignError
from ...shared.practice import practice
from ...shared.said import Words, length, listed, said
from ...shared.standards import clause, find_limit
from ..input.house_table import BAY, EGRESS_WINDOW, AtWall
from ..input.parameters import Parameters
from .edges import FAR, FrameOutline
from .stages import Setting

BESIDE_FOUNDATION = practice("footing beside the house's foundation")
_CLEAR_BEFORE = {
    "window": practice("clear before a window"),
    "vent": practice("clear before a vent"),
    "meter": practice("clear before a meter"),
}


@dataclass(frozen=True)
class ClearPlace:
    """The place before something in the house's wall: its plan, and the levels between which it is kept clear; `number`
    is its place in the file's list, from 0."""

    thing: AtWall
    number: int
    polygon: Polygon
    bottom: float
    top: float


def check_at_wall(p: Parameters, outline: FrameOutline) -> None:
    """Raises DesignError for something at a wall that the deck does not lie against."""
    against = [e.name for e in outline.edges if e.house]
    for n, thing in enumerate(p.house.at_wall):
        if thing.edge not in against:
            key = f"house.at_wall.{n}.edge"
            told = f"the edges against the house are {', '.join(against)}" if against else "outline.house names none"
            raise DesignError(key, f"no house edge {thing.edge!r}; {told}", (key, against[0]) if against else None)


def clear_before(p: Parameters, thing: AtWall) -> float:
    """How far out from the wall nothing may stand: as given, else what a rule asks for or is practice; 0 before a
    bay."""
    if thing.clear is not None or thing.kind == BAY:
        return thing.clear or 0.0
    if thing.kind == EGRESS_WINDOW:
        row = find_limit("egress_well_projection_min", p.local.edition)
        return thing.width if row is None else float(row.value)
    return _CLEAR_BEFORE[thing.kind]


def clear_places(layout: Setting) -> tuple[ClearPlace, ...]:
    """Every place before the wall that is kept clear, in the file's order."""
    p = layout.parameters
    gap = p.frame.house_gap if p.free_standing else 0.0
    found = []
    for n, thing in enumerate(p.house.at_wall):
        out = clear_before(p, thing)
        if out > 0:
            plan = layout.outline[thing.edge].rectangle(thing.at, thing.at + thing.width, -gap, out - gap)
            found.append(ClearPlace(thing, n, plan, thing.bottom, thing.top))
    return tuple(found)


def kept_clear_of_posts(layout: Setting) -> list[Polygon]:
    """The plan of the places that posts, coming up from the ground, would stand in."""
    return [c.polygon for c in clear_places(layout) if c.bottom < layout.planes.frame_bottom]


def ways_out(layout: Setting) -> list[Polygon]:
    """Before egress windows below the surface, all that lies straight out: a post that stands there, or with its knee
    brace beside it, is in the way. Beams that cross it carry such braces as far in as they reach."""
    f, found = layout.parameters.frame, []
    brace = practice("leg of a knee brace") if f.brace_leg is None else f.brace_leg
    brace += layout.parameters.stock(f.brace).width / math.sqrt(2.0) + layout.parameters.stock(f.post).width / 2
    for thing in layout.parameters.house.at_wall:
        if thing.kind == EGRESS_WINDOW and thing.top < layout.planes.surface_top:
            edge = layout.outline[thing.edge]
            crossed = f.knee_braces is not False and not edge.parallel_to(layout.along)
            past = brace if crossed else 0.0
            found.append(edge.rectangle(thing.at - past, thing.at + thing.width + past, 0.0, FAR))
    return found


def foundation_level(layout: Setting, centre: Sequence[float]) -> float | None:
    """The level of the underside of the house's own footing at the place of its wall nearest to a point; None where the
    file does not say how deep it lies, or no wall is there."""
    depth, wall = layout.parameters.house.footing_depth, layout.house_wall
    if depth is None or wall.is_empty:
        return None
    nearest = nearest_points(wall, Point(centre))[0]
    return layout.planes.grade(nearest.x, nearest.y) - depth


def from_wall(layout: Setting, centre: Sequence[float], size: float) -> float:
    """Inches from the house's wall to the near side of a footing of a size; infinite without a wall."""
    wall = layout.house_wall
    return math.inf if wall.is_empty else wall.distance(Point(centre)) - size / 2


def as_deep_as_foundation(layout: Setting, centre: Sequence[float], size: float, low: float) -> float:
    """The level of a footing's underside: `low`, or further down to that of the house's own footing where it stands
    beside that one and the file leaves its depth out."""
    level = foundation_level(layout, centre)
    if level is None or layout.parameters.frame.footing.depth is not None:
        return low
    return min(low, level) if from_wall(layout, centre, size) < BESIDE_FOUNDATION else low


def floor_over_band(p: Parameters) -> float:
    """Finish and subfloor over the house's band joist, inches: as given, else as is usual."""
    given = p.house.floor_thickness
    return practice("floor over the band joist") if given is None else given


def band_joist_top(p: Parameters) -> float | None:
    """The level of the top of the house's band joist; None where the file does not say how high its floor is."""
    return None if p.house.floor is None else p.house.floor - floor_over_band(p)


def house_chosen(layout: Setting) -> Iterator[tuple[str, str | float, Words]]:
    """What the house decided where the file left it out: key, value, and why."""
    p, house = layout.parameters, layout.parameters.house
    if p.levels.surface is None:
        below = length(practice("surface below a door sill"))
        why = said("{below} below the door's sill (common practice, no source)", below=below)
        yield "levels.surface", p.surface_level, why
    if p.frame.support is None and house.against_a_ledger and any(e.house for e in layout.outline.edges):
        why = listed([of_wall(p, key) for key in house.against_a_ledger], "; ")
        yield "frame.support", "free-standing", why


def house_notes(layout: Setting) -> Iterator[Words]:
    """What the house decided, and what of it is assumed, in words."""
    p, house = layout.parameters, layout.parameters.house
    for key, value, why in house_chosen(layout):
        told = length(value) if isinstance(value, float) else f"{value}, not ledger"
        yield said("{key} chosen: {value}: {why}", key=key, value=told, why=why)
    if not any(e.house for e in layout.outline.edges):
        return
    if not p.free_standing and (house.wall is None or house.band_joist is None):
        missing = [k for k, v in (("house.wall", house.wall), ("house.band_joist", house.band_joist)) if v is None]
        yield (
            f"The house behind the ledger is not described: {assumed_wall(p)} is assumed. Open it up and look, then say"
            f" what is there ({', '.join(missing)})."
        )


def assumed_wall(p: Parameters) -> str:
    """What is assumed of the wall where the file does not say it."""
    house = p.house
    if house.wall is None and house.band_joist is None:
        return "siding on a solid band joist"
    return "siding" if house.wall is None else "a solid band joist of sawn lumber"


def of_wall(p: Parameters, key: str) -> Words:
    """Why no ledger hangs there, with its source, by the key of the file that says so."""
    if key == "house.wall":
        row = "ledger on veneer" if p.house.wall == "veneer" else "ledger on masonry"
        return said("the wall is {wall} ({source})", wall=str(p.house.wall), source=clause(row).citation)
    if key == "house.band_joist" and p.house.band_joist != "cantilevered bay":
        return said(
            "the floor is closed by {band} ({source})",
            band="an I-joist" if p.house.band_joist == "i-joist" else "the ends of trusses",
            source=clause("band joist under a ledger").citation,
        )
    what = "the floor stands out past the wall below"
    if key != "house.band_joist":
        what = f"{p.house.at_wall[int(key.rpartition('.')[2])].called} stands out past the wall below"
    return said("{what} ({source})", what=what, source=clause("ledger on a cantilever or bay").citation)
