"""Every number of a stair before a solid is made: equal rises, flights, landings, treads, posts, the foot pad.

The coordinates of a flight are told in `flight`. Inches throughout.
"""

from __future__ import annotations

from dataclasses import replace

from ...shared.errors import DesignError
from ...shared.said import Words, decimal, said
from ..input.stair_tables import Stair
from ..input.surveyed import surveyed
from .flight import Flight
from .guard_need import stair_has_guard
from .handrail_posts import with_handrail_posts
from .spots import StairPlan, StairSpot
from .stages import Posted
from .stair_flights import divided, flights_and_landings
from .stair_posts import with_posts


def plan_stair(layout: Posted, spot: StairSpot) -> StairPlan:
    """The division and geometry of one stair. Raises DesignError, naming the key, for a stair that cannot be built."""
    key, p = f"stair.{spot.index}", spot.parameters
    risers, total = divided(layout, spot)
    rise = total / risers
    flights, landings = flights_and_landings(layout, spot, risers, rise)
    stands = surveyed(layout.parameters)
    if stands and spot.index in stands.rises:
        flights[-1] = replace(flights[-1], feet=tuple(layout.planes.surface_top - r for r in stands.rises[spot.index]))
    notes = _landing_notes(p, flights)
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
            said(
                "stair {stair}: the total rise given puts the pad {off} from the sloped grade plane",
                stair=spot.index + 1,
                off=decimal(pad_level - layout.planes.grade(*centre), 1, signed=True),
            )
        )
    pad = foot.rectangle(max(foot.heel, 0.0), foot.run + p.pad.depth, -p.pad.side, foot.width + p.pad.side)
    levels = [layout.planes.grade(x, y) for x, y in list(pad.exterior.coords)[:4]]
    if max(levels) - min(levels) > 0.01:
        notes.append(
            said(
                "stair {stair}: pad level at {pad}; grade varies from {low} to {high} across it",
                stair=spot.index + 1,
                pad=decimal(pad_level),
                low=decimal(min(levels), bare=True),
                high=decimal(max(levels)),
            )
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
    return with_posts(layout, plan) if plan.guarded else with_handrail_posts(layout, plan)


def _landing_notes(p: Stair, flights: list[Flight]) -> list[Words]:
    unused: list[Words] = [
        said(
            'stair {stair} landing {landing}: {key} is for turn = "back" and was not used',
            stair=flights[0].stair + 1,
            landing=j + 1,
            key=key,
        )
        for j, stop in enumerate(p.landings)
        for key in ("side", "space")
        if stop.turn != "back" and key in stop.model_fields_set
    ]
    return unused + [
        said(
            "stair {stair} landing {landing}: made {deep} deep, as wide as the flight that leaves its side",
            stair=flights[0].stair + 1,
            landing=j + 1,
            deep=decimal(p.width, None),
        )
        for j, stop in enumerate(p.landings)
        if stop.turn in ("left", "right") and stop.depth < p.width
    ]
