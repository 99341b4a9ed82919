"""Every number of a stair before a solid is made: equal rises, flights, landings, treads, posts, the foot pad.

The coordinates of a flight are told in `flight`. Inches throughout.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from shapely.geometry import Polygon

from ...shared.errors import DesignError
from ...shared.said import Words, decimal, length, said
from ..input.surveyed import surveyed
from .beside_house import before_house
from .flight import SAME, Flight
from .guard_need import stair_has_guard
from .handrail_posts import with_handrail_posts
from .spots import Landing, StairPlan, StairSpot
from .stages import Posted
from .stair_carriers import plan_carriers
from .stair_flights import EXPANSION_JOINT, divided, down_to_ground, ends_on, flights_and_landings, foot_pad
from .stair_posts import with_posts
from .stairs_run_clear import check_runs_clear, ends_the_house
from .wrapped_steps import wanted_rise

SHOWN_RISE = 1 / 32  # inches: half of what a dimension shows; a rise changed by less is the wanted one


def plan_stair(layout: Posted, spot: StairSpot) -> StairPlan:
    """The division and geometry of one stair. Raises DesignError, naming the key, for a stair that cannot be built."""
    p = spot.parameters
    risers, total = divided(layout, spot)
    rise = total / risers
    flights, landings = flights_and_landings(layout, spot, risers, rise)
    stands = surveyed(layout.parameters)
    if stands and spot.index in stands.rises:
        flights[-1] = replace(flights[-1], feet=tuple(layout.planes.surface_top - r for r in stands.rises[spot.index]))
    _check_turns(flights, landings)
    notes = _landing_notes(spot, risers, landings)
    carriers, without = plan_carriers(layout, flights, landings) if p.carriers == "auto" else ((), [])
    notes += [*without, *_rise_note(layout, spot, risers, rise), *_wall_notes(layout, spot, flights, landings)]
    foot, pad_level = flights[-1], flights[-1].foot
    pad = foot_pad(layout, spot, foot, risers)
    notes += _pad_notes(layout, spot, foot, pad)
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
        p.pad.thickness,
        stair_has_guard(layout, spot),
        notes=tuple(notes),
        carriers=carriers,
    )
    plan = with_posts(layout, plan) if plan.guarded else with_handrail_posts(layout, plan)
    check_runs_clear(layout, plan)
    pad = _under_posts(layout, plan)
    if p.total_rise is not None:  # measured on site: grade there is not the plane's
        return replace(plan, pad=pad)
    thick = down_to_ground(layout, pad, pad_level, p.pad.thickness)
    if thick > p.pad.thickness + SHOWN_RISE:
        text = "stair {stair}: pad {thick} thick, not {given}: so it stands on the ground on its low side ({key})"
        key, given = f"stair.{spot.index}.pad.thickness", length(p.pad.thickness)
        notes.append(said(text, stair=spot.index + 1, thick=length(thick), given=given, key=key))
    return replace(plan, pad=pad, pad_thickness=thick, notes=tuple(notes))


def _pad_notes(layout: Posted, spot: StairSpot, foot: Flight, pad: Polygon) -> Iterator[Words]:
    """How the pad at the foot lies to the grade plane."""
    pad_level, centre = foot.foot, foot.point(foot.run, foot.width / 2)
    if spot.parameters.total_rise is not None and abs(layout.planes.grade(*centre) - pad_level) > 0.5:
        yield said(
            "stair {stair}: the total rise given puts the pad {off} from the sloped grade plane ({key})",
            key=f"stair.{spot.index}.total_rise",
            stair=spot.index + 1,
            off=decimal(pad_level - layout.planes.grade(*centre), 1, signed=True),
        )
    levels = [layout.planes.grade(x, y) for x, y in list(pad.exterior.coords)[:4]]
    if max(levels) - min(levels) > 0.01:
        yield said(
            "stair {stair}: pad level at {pad}; grade varies from {low} to {high} across it ({key})",
            key="levels.slope_x, levels.slope_y",
            stair=spot.index + 1,
            pad=decimal(pad_level),
            low=decimal(min(levels), bare=True),
            high=decimal(max(levels)),
        )


def _under_posts(layout: Posted, plan: StairPlan) -> Polygon:
    """The foot pad, drawn back under the posts beside the lowest riser where they reach back past the stringers'
    heels."""
    foot, last = plan.flights[-1], len(plan.flights) - 1
    stand = [p.polygon for p in plan.posts if p.kind == "foot" and p.flight == last]
    corners = [foot.position(q) for q in plan.pad.exterior.coords]
    x0, x1 = (f(x for x, _ in corners) for f in (min, max))
    back = min([foot.position(q)[0] for p in stand for q in p.exterior.coords], default=x0)
    if back >= x0 - SHOWN_RISE:
        return plan.pad
    return before_house(layout, foot.whole(back, x1, plan.spot.parameters.pad.side, EXPANSION_JOINT / 2))


def _check_turns(flights: list[Flight], landings: list[Landing]) -> None:
    """Raises DesignError for a stair that turns back at one step: both landings would lie in one place."""
    for landing in landings:
        if landing.turn == "back" and (landing.above.one_step or flights[landing.index + 1].one_step):
            key = f"stair.{landing.above.stair}.landings.{landing.index}.turn"
            raise DesignError(key, "no stair turns back over a single step", (key, "left"))


def _landing_notes(spot: StairSpot, risers: int, landings: list[Landing]) -> list[Words]:
    """What was made of the landings asked for."""
    p, stair = spot.parameters, spot.index + 1
    notes: list[Words] = [
        said(
            'stair {stair} landing {landing}: {key} is for turn = "back" and was not used ({turn})',
            stair=stair,
            landing=j + 1,
            key=key,
            turn=f"stair.{spot.index}.landings.{j}.turn",
        )
        for j, stop in enumerate(p.landings)
        for key in ("side", "space")
        if stop.turn != "back" and key in stop.model_fields_set
    ]
    for landing, stop in zip(landings, p.landings):
        unused = sorted({"rim_plies", "post_spacing"} & stop.model_fields_set) if landing.on_ground else []
        text = "stair {stair} landing {landing}: {key} is for a frame and was not used ({whole})"
        of = f"stair.{spot.index}.landings.{landing.index}"
        notes += [said(text, stair=stair, landing=landing.index + 1, key=k, whole=f"{of}.{k}") for k in unused]
        j = landing.index + 1
        deep = landing.front - landing.clear
        if stop.turn in ("left", "right") and deep > stop.depth + SAME:
            text = "stair {stair} landing {landing}: made {deep} deep, as wide as the flight that leaves its side"
            if deep > p.width + SAME:
                text += ", so that its guard stands clear of what the one step above leaves"
            notes.append(said(text + " ({key})", stair=stair, landing=j, deep=decimal(deep, None), key=f"{of}.depth"))
        if landing.on_ground:
            text = "stair {stair} landing {landing}: a concrete pad, as a frame would stand in the ground there ({key})"
            notes.append(said(text, stair=stair, landing=j, key=f"{of}.after_risers"))
    if ends_on(spot, risers):
        text = "stair {stair} landing {landing}: lies where the stair reaches the ground; it is the pad at its foot"
        key = f"stair.{spot.index}.landings.{len(landings)}.after_risers"
        notes.append(said(text + " ({key})", stair=stair, landing=len(landings) + 1, key=key))
    return notes


def _wall_notes(layout: Posted, spot: StairSpot, flights: list[Flight], landings: list[Landing]) -> list[Words]:
    """That a side has neither guard nor handrail because the house's wall is taken to stand beside it, or that the wall
    is taken to end where the stair goes."""
    text = "stair {stair}: neither guard nor handrail on its {hand} going down, where the house's wall stands beside it"
    if not layout.parameters.site.house:
        text += ", taken to run on past the deck's corner (site.house says where it ends)"
    hands = {"start": "right", "end": "left"}
    notes: list[Words] = [said(text, stair=spot.index + 1, hand=hands[side]) for side in spot.walled]
    if ends_the_house(layout, flights, landings):
        ends = "stair {stair} goes past the house, which is taken to end at the deck's corner (site.house says where)"
        notes.append(said(ends, stair=spot.index + 1))
    return notes


def _rise_note(layout: Posted, spot: StairSpot, risers: int, rise: float) -> list[Words]:
    """That the wanted rise, where the file gives one, was changed to come out even; where it leaves it out, that a
    riser more was taken for the throat of a hip stringer."""
    wanted, at_mitre = spot.parameters.rise, wanted_rise(layout, spot)
    if at_mitre < wanted and risers > 1 and rise * risers / (risers - 1) <= wanted:
        text = (
            "stair {stair}: {n} rises of {rise} each, a riser more than the highest rise asks for: over {most} the"
            " notches of a hip stringer leave less than its published throat ({key})"
        )
        key = f"stair.{spot.index}.rise"
        return [said(text, stair=spot.index + 1, n=risers, rise=decimal(rise), most=decimal(at_mitre), key=key)]
    if "rise" not in spot.parameters.model_fields_set or wanted - rise <= SHOWN_RISE:
        return []
    return [
        said(
            "stair {stair}: {n} rises of {rise} each from the surface to the foot, where {wanted} was wanted: all come"
            " out alike ({key})",
            key=f"stair.{spot.index}.rise",
            stair=spot.index + 1,
            n=risers,
            rise=decimal(rise),
            wanted=decimal(wanted, None),
        )
    ]
