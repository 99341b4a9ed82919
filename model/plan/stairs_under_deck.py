"""A stair that turns back under a deck too low for it is refused: its guards would stand in the deck's own frame, and
nobody could walk there. Lengths in inches, plan coordinates."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from ...shared.errors import DesignError
from .flight import Flight
from .spots import Landing, StairPlan, StairSpot
from .stages import Posted
from .stair_flights import CAP_ROOM, divided, flights_and_landings

IN_THE_FRAME = 1.0  # square inches of plan under the deck that are no rounding; our own


def check_passes_under(layout: Posted, plan: StairPlan) -> None:
    """Raises DesignError, with the risers above the landing before it that would lead the stair clear of the frame, or
    another way for it to turn."""
    rail = layout.parameters.guard.height if plan.guarded else 0.0
    into = _first_over(layout, plan.flights, plan.landings, layout.planes.frame_bottom, rail)
    if into is None or into == 0:
        return
    landing = f"stair.{plan.index}.landings.{into - 1}"
    text = "so turned the stair would run into the deck's own frame: it comes back under it too high"
    clear = ((f"{landing}.{key}", value) for key, value in _clear_with(layout, plan, into - 1))
    raise DesignError(f"{landing}.after_risers", text, values=[*itertools.islice(clear, 1)])


def _first_over(
    layout: Posted, flights: Sequence[Flight], landings: Sequence[Landing], low: float, guard: float
) -> int | None:
    """The number of the first flight of which, or of the landing at whose foot, something is under the deck in plan and
    with a guard so high over a level `low`."""
    outline = layout.outline.polygon
    for f in flights:
        under = f.rectangle(f.lead, f.lowest, 0.0, f.width).intersection(outline) if f.lowest > f.lead else None
        if f.index and under is not None and under.area > IN_THE_FRAME:
            highest = min(f.position(q)[0] for q in under.convex_hull.exterior.coords)
            if f.pitch_level(highest) + guard > low:
                return f.index
        landing = next((m for m in landings if m.index == f.index), None)
        if landing is None or landing.polygon.intersection(outline).area <= IN_THE_FRAME:
            continue
        if landing.level + (0.0 if landing.on_ground else guard) > low:
            return f.index
    return None


def _clear_with(layout: Posted, plan: StairPlan, number: int) -> Iterator[tuple[str, int | str]]:
    """Numbers of risers down to a landing, more than are given, then other turns there, with which the whole stair
    stays clear: its posts too, which stand up past the rails, and of the beams under the joists."""
    p, stops = layout.parameters, plan.spot.parameters.landings
    low = layout.planes.frame_bottom - (0.0 if layout.flush else p.stock(p.frame.beam).width)
    post = p.guard.sleeve.length if p.guard.sleeve else p.guard.height + p.guard.post_above
    over = post + CAP_ROOM if plan.guarded else 0.0
    most = stops[number + 1].after_risers if number + 1 < len(stops) else plan.risers
    tries: list[tuple[str, int | str]] = [("after_risers", n) for n in range(stops[number].after_risers + 1, most)]
    tries += [("turn", turn) for turn in ("straight", "left", "right") if turn != stops[number].turn]
    for key, value in tries:
        if _first_over(layout, *with_landing(layout, plan, number, {key: value}), low, over) is None:
            yield key, value


def with_landing(
    layout: Posted, plan: StairPlan, number: int, keys: Mapping[str, object]
) -> tuple[Sequence[Flight], Sequence[Landing]]:
    """The flights and landings of a stair as they would lie with other values of a landing's keys."""
    stops = plan.spot.parameters.landings
    changed = [*stops[:number], stops[number].model_copy(update=keys), *stops[number + 1 :]]
    spot: StairSpot = replace(plan.spot, parameters=plan.spot.parameters.model_copy(update={"landings": changed}))
    risers, total = divided(layout, spot)
    return flights_and_landings(layout, spot, risers, total / risers)
