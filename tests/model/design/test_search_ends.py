"""A search that ends with one key left to change, and joists that may run square to either of two house edges."""

from __future__ import annotations

import pytest

from plumbcut.model.design.advised import checked_with_mends
from plumbcut.model.design.costs import Costs
from plumbcut.model.design.designed import Designed, designed
from plumbcut.model.input.parameters import Parameters

TUB = {
    "outline": {"width": 237, "depth": 151},
    "levels": {"surface": 31},
    "area_load": [{"name": "tub", "psf": 100, "polygon": [[21, 19], [107, 19], [107, 101], [21, 101]]}],
    "local": {"frost_depth": 36},
}
ASKEW = {
    "outline": {"points": [[0, 0], [223, 0], [223, 97], [163, 157], [0, 157]], "house": ["e3", "e4"]},
    "levels": {"surface": 53},
    "local": {"frost_depth": 36},
}


def cost(made: Designed) -> float:
    return Costs().of_deck(made.deck)


def test_a_tub_is_borne_though_it_asks_for_more_than_is_looked_at():
    """Joists deeper and closer and larger footings at once: more steps than the frames that are built take in turn."""
    assert not designed(Parameters.model_validate(TUB)).faults


def test_of_two_house_edges_the_joists_run_square_to_the_one_that_costs_less():
    free = designed(Parameters.model_validate(ASKEW))
    assert [r.rule for r in checked_with_mends(free.deck, None, free.structure) if r.result == "not met"] == []
    (turn,) = [c for c in free.chosen if c.key == "joist_direction"]
    assert turn.value == "y" and "joist_direction" in free.deck.chosen
    pinned = designed(Parameters.model_validate(ASKEW | {"frame": {"joist_direction": "y"}}))
    assert cost(free) == pytest.approx(cost(pinned))
    assert any("joist_direction" in str(note) for note in free.deck.notes)


def test_joists_stay_as_they_are_where_it_is_said_how_they_run():
    given = designed(Parameters.model_validate(ASKEW | {"frame": {"joist_direction": "x"}}))
    assert given.deck.parameters.frame.joist_direction == "x" and "joist_direction" not in given.deck.chosen
