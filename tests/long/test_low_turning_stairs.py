"""Stairs that turn back under a deck too low for them are refused in one line, with the risers above the landing that
would do; with these the whole deck is drawn without a fault. Decks and sizes are invented."""

from __future__ import annotations

import decks
import pytest
from test_turning_stairs import CORNERS, OTHER_HAND

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.plan.would_do import with_value
from plumbcut.shared.errors import DesignError


def file_of(surface: float, after: int, way: str, side: str = "left") -> dict:
    points, edges = [list(p) for p in CORNERS], ["front", "right", "back", "left"]
    if way == "in a mirror":
        points, edges = [[-x, y] for x, y in reversed(CORNERS)], ["back", "right", "front", "left"]
        side = OTHER_HAND[side]
    if way == "turned":
        points = [[0.8 * x - 0.6 * y, 0.6 * x + 0.8 * y] for x, y in points]
    stop = {"after_risers": after, "depth": 40, "turn": "back", "side": side}
    return {
        "outline": {"points": points, "edges": edges, "house": ["back"]},
        "levels": {"surface": surface, "slope_y": -0.004 if way == "on a slope" else 0.0},
        "frame": {"joist": "2x10"},
        "stair": [{"edge": "front", "landings": [stop]}],
    }


@pytest.mark.parametrize("surface, way", [(59, "as drawn"), (66, "in a mirror"), (59, "turned"), (66, "on a slope")])
def test_a_flight_that_comes_back_too_high_is_refused(surface, way, after=3):
    file = file_of(surface, after, way)
    with pytest.raises(DesignError, match="into the deck's own frame") as refused:
        build(Parameters.model_validate(file))
    ((key, value),) = refused.value.values
    assert key == refused.value.key == "stair.0.landings.0.after_risers" and value > after
    deck = build(with_value(Parameters.model_validate(file), key, value))
    assert not decks.faults(deck)


def test_a_flight_that_comes_back_low_enough_is_drawn():
    assert build(Parameters.model_validate(file_of(120, 8, "as drawn"))).layout.stair_plans


def test_where_no_risers_would_do_another_turn_is_named():
    """Back under the deck after two risers, one landing more after the next two: no count leads it clear."""
    file = file_of(48, 2, "as drawn")
    file["stair"][0]["landings"].append({"after_risers": 4, "turn": "straight"})
    with pytest.raises(DesignError, match="into the deck's own frame") as refused:
        build(Parameters.model_validate(file))
    ((key, value),) = refused.value.values
    assert (key, value) == ("stair.0.landings.0.turn", "straight")
    deck = build(with_value(Parameters.model_validate(file), key, value))
    assert not decks.faults(deck)


@pytest.mark.parametrize("edge, side, other", [("right", "left", "right"), ("left", "right", "left")])
def test_a_turn_into_the_houses_wall_names_one_that_does(edge, side, other):
    """A stair near the wall, turned back towards it or away from it; and one that turns against it by a quarter."""
    stop = {"after_risers": 8, "depth": 40, "turn": "back", "side": side}
    file = file_of(120, 8, "as drawn")
    file["site"] = {"house": [[-140, 156], [320, 156], [320, 400], [-140, 400]]}
    file["stair"] = [{"edge": edge, "at": 90 if edge == "right" else 24, "landings": [stop]}]
    toward = {"right": "left", "left": "right"}[edge]
    for landing, key, value in (
        (stop | {"side": toward}, "side", other),
        ({"after_risers": 8, "turn": toward}, "turn", other),
    ):
        file["stair"][0]["landings"] = [landing]
        with pytest.raises(DesignError, match="into the house's wall") as refused:
            build(Parameters.model_validate(file))
        ((named, would),) = refused.value.values
        assert named == f"stair.0.landings.0.{key}" and would == value
        build(with_value(Parameters.model_validate(file), named, would))


def beside_the_house(**site) -> dict:
    """A notched deck whose far side faces the house's wall, if that runs on past the deck's corner."""
    points = [[0, 0], [160, 0], [160, 60], [100, 60], [100, 110], [0, 110]]
    return {
        "outline": {"points": points, "house": ["e5"]},
        "levels": {"surface": 50},
        "stair": [{"edge": "e3", "width": 36, "at": 12}],
        "site": site,
    }


def test_a_straight_stair_past_the_houses_corner_says_that_the_house_ends_there():
    layout = lay_out(Parameters.model_validate(beside_the_house()))
    notes = [worded(n) for plan in layout.stair_plans for n in plan.notes]
    assert sum("is taken to end at the deck's corner" in n for n in notes) == 1
    clear = beside_the_house()
    clear["stair"] = [{"edge": "e1", "width": 36}]
    assert not any("taken to end" in worded(n) for n in lay_out(Parameters.model_validate(clear)).stair_plans[0].notes)


def test_a_straight_stair_into_the_wall_names_a_place_beside_it():
    file = beside_the_house(house=[[0, 110], [150, 110], [150, 200], [0, 200]])
    file["outline"]["points"] = [[0, 0], [260, 0], [260, 60], [100, 60], [100, 110], [0, 110]]
    file["stair"][0]["at"] = 120  # measured from the far corner: it ends 4 in from the inner one
    with pytest.raises(DesignError, match="into the house's wall") as refused:
        lay_out(Parameters.model_validate(file))
    ((key, at),) = refused.value.values
    assert key == "stair.0.at" and at < 120
    lay_out(with_value(Parameters.model_validate(file), key, at))
