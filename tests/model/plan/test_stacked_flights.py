"""Stairs that turn back twice, so that one flight lies under another: what carries the upper landing stands clear of
the lower flight. Decks and sizes are invented."""

from __future__ import annotations

import pytest
import shapely

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.layout import lay_out

OUTLINE = {
    "points": [[0, 0], [221, 0], [221, 149], [0, 149]],
    "edges": ["front", "right", "back", "left"],
    "house": ["back"],
}


def turning(first: int, second: int, side: str, **landing):
    return [{"after_risers": n, "turn": "back", "side": side, **landing} for n in (first, second)]


STACKED = {
    "front": (150, 0.0, {"edge": "front", "at": 60, "landings": turning(7, 14, "left")}),
    "right, other hand, slope": (164, 0.03, {"edge": "right", "at": 60, "landings": turning(8, 16, "right")}),
    "deep landings": (158, 0.0, {"edge": "left", "at": 45, "landings": turning(8, 15, "left", depth=44)}),
}


def file(name: str) -> Parameters:
    surface, slope, stair = STACKED[name]
    levels = {"surface": surface, "slope_y": slope}
    return Parameters.model_validate({"outline": OUTLINE, "levels": levels, "stair": [stair]})


@pytest.mark.parametrize("name", STACKED)
def test_nothing_stands_in_a_flight_that_lies_under_another(name):
    deck = build(file(name))
    assert not [(c.a.id, c.b.id) for c in deck.clashes]
    legs = [p for p in deck.roles("post") if p.stair is not None]
    treads = [p for p in deck.roles("tread") if p.where.startswith("stair 1 flight 3")]
    walked = shapely.union_all([t.footprint for t in treads]).envelope
    assert treads and not any(p.footprint.intersection(walked).area > 1e-6 for p in legs)


@pytest.mark.parametrize("name", STACKED)
def test_the_ears_of_the_upper_landing_are_carried_and_the_lower_one_has_none(name):
    plan = lay_out(file(name)).stair_plans[0]
    upper, lower = plan.landings
    assert upper.ears > 0 and upper.moved > 0 and lower.ears == lower.moved == 0
    size = 5.5
    under = plan.flights[2].rectangle(0.0, plan.flights[2].run, 0.0, plan.flights[2].width)
    low, high = upper.rims_across
    for leg in upper.legs(size):
        at = [upper.above.position(q)[1] for q in leg.exterior.coords]
        assert low - 1e-6 <= min(at) and max(at) <= high + 1e-6
        assert leg.distance(under) > 3.5  # the guard post beside the flight


def test_a_stair_that_turns_back_once_has_legs_under_its_corners():
    stair = {"edge": "front", "at": 60, "landings": turning(7, 14, "left")[:1]}
    parameters = Parameters.model_validate({"outline": OUTLINE, "levels": {"surface": 110}, "stair": [stair]})
    (landing,) = lay_out(parameters).stair_plans[0].landings
    assert landing.ears == landing.moved == 0 and landing.rims_across == landing.sides
