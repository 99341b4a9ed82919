"""What would mend a rule of the house as found that is not met: the key of the file and the nearest value that passes,
in closed form."""

from __future__ import annotations

import math
from collections.abc import Iterator

from shapely.geometry import Point

from ...shared.as_toml import down_to, up_to
from ...shared.practice import practice
from ..deck import Deck, build
from ..measuring.hold_downs import from_ends
from ..plan.would_do import Value, with_value
from ..rules.check_house import (
    BAND_UNDER_LEDGER,
    BELOW_SILL,
    BESIDE_HOUSE,
    DOOR_SWUNG_OVER,
    LOWER_IN_BAND,
    OFF_WALL,
    ON_A_BAY,
    STEP_AT_DOOR,
    UPPER_IN_BAND,
    WALL_UNDER_LEDGER,
    WAY_OUT,
)
from ..rules.check_ledger import HOLD_DOWNS_NEAR
from ..rules.check_result import CheckResult


def house_mends(row: CheckResult, deck: Deck) -> Iterator[Value]:
    """The keys with the values that would each do; none for a rule of another room."""
    p = deck.parameters
    if row.rule in (WALL_UNDER_LEDGER, BAND_UNDER_LEDGER, ON_A_BAY):
        yield "frame.support", "free-standing"
    elif row.rule == LOWER_IN_BAND:
        yield "levels.surface", up_to(p.surface_level - (row.margin or 0.0))
    elif row.rule == UPPER_IN_BAND:
        yield "levels.surface", down_to(p.surface_level + (row.margin or 0.0))
    elif row.rule == OFF_WALL:
        yield from _off_wall(row, deck)
    elif row.rule == BESIDE_HOUSE and row.measured is not None:
        yield "frame.footing.depth", up_to(p.footing_depth + row.measured)
    elif row.rule == WAY_OUT:
        up = up_to(p.surface_level - (row.margin or 0.0))
        if p.house.sill is None or up <= p.house.sill - practice("surface below a door sill"):
            yield "levels.surface", up
    elif p.house.sill is not None and row.rule == BELOW_SILL:
        yield "levels.surface", p.house.sill - practice("surface below a door sill")
    elif row.rule == HOLD_DOWNS_NEAR and row.limit is not None:
        yield from _tied_nearer(row.limit, deck)
    elif p.house.sill is not None and row.rule in (STEP_AT_DOOR, DOOR_SWUNG_OVER) and row.limit is not None:
        yield "levels.surface", up_to(p.house.sill - row.limit)


def _off_wall(row: CheckResult, deck: Deck) -> Iterator[Value]:
    """The stair that stands on the footing as much further from the wall, or the whole deck where no ledger holds it:
    beams under the joists keep off the wall by themselves."""
    layout, short = deck.layout, -(row.margin or 0.0)
    footing = deck.by_id[row.ids[0]]
    middle = footing.box.mean(axis=0)[:2]
    spot = next((s for s in layout.footings if math.dist(s.centre, middle) < 1e-3), None)
    stairs = {s.stair for s in spot.stands} if spot else {None}
    if stairs == {None}:
        if deck.parameters.free_standing:
            yield "frame.house_gap", up_to(deck.parameters.frame.house_gap + short)
        return
    for k in sorted(s for s in stairs if s is not None):
        plan = next(p for p in layout.stair_plans if p.index == k)
        along, away = plan.spot.edge.direction, layout.house_wall.distance(Point(middle))
        if layout.house_wall.distance(Point(middle + along)) > away:
            yield f"stair.{k}.at", up_to(plan.spot.start + short)
        else:
            yield f"stair.{k}.at", down_to(plan.spot.start - short)


def _tied_nearer(limit: float, deck: Deck) -> Iterator[Value]:
    """Fewer courses of a border, over which no joist hangs near the ledger's end; each is tried."""
    p = deck.parameters
    for courses in range(p.surface.border.courses - 1, -1, -1):
        value = "surface.border.courses", courses
        tried = build(with_value(p, *value))
        if tried.tied_back and from_ends(tried.tied_back, tried.parts, tried.contacts)[0] <= limit:
            yield value
            return
