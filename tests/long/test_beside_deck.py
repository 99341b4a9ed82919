"""Stairs round a reflex corner, beside the deck that goes on there: one that would run into it is refused with values
that would do, and with these nothing lies in anything, as both judges find. Decks are invented."""

from __future__ import annotations

import pytest
from four_ways import in_ways, nothing_found, one_stair

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.would_do import with_value
from plumbcut.shared.errors import DesignError

LETTER_T = (
    [[0, 200], [0, 100], [70, 100], [70, 0], [170, 0], [170, 60], [210, 60], [210, 200]],
    ["left", "a", "b", "front", "c", "d", "right", "back"],
)
SLANT = ([[0, 150], [0, 0], [90, 0], [120, 60], [200, 60], [200, 150]], ["left", "front", "c", "d", "right", "back"])
CASES = {
    "as wide as its edge": (LETTER_T, 44, {"edge": "d", "width": 40}),
    "low": (LETTER_T, 22, {"edge": "d", "width": 40}),
    "box steps": (LETTER_T, 21, {"edge": "d", "width": 40, "kind": "box"}),
    "with a landing": (LETTER_T, 80, {"edge": "d", "width": 40, "landings": [{"after_risers": 5}]}),
    "on the longer edge": (LETTER_T, 21, {"edge": "c", "width": 55, "at": 4, "kind": "box"}),
    "at the corner, no skirts": (LETTER_T, 44, {"edge": "d", "width": 30, "at": 0, "skirts": False}),
    "a slanted edge": (SLANT, 44, {"edge": "d", "width": 60, "at": 0}),
}


@pytest.mark.parametrize(("name", "way"), in_ways(CASES))
def test_a_stair_in_the_deck_beside_it_is_refused_with_values_that_keep_it_clear(name, way):
    file = one_stair(CASES[name], way)
    parameters = Parameters.model_validate(file)
    with pytest.raises(DesignError) as refused:
        build(parameters)
    assert refused.value.key == "stair.0.at" and refused.value.values
    for key, value in refused.value.values:
        parameters = with_value(parameters, key, value)
        file["stair"][0][key.rpartition(".")[2]] = value
    deck = build(parameters)
    assert not deck.clashes
    nothing_found(deck, file)


@pytest.mark.parametrize("at", [5.25, 2.0])
def test_a_stair_beside_the_deck_is_drawn_as_soon_as_it_has_room(at):
    """1-3/4 in of overhanging boards and a top rail as wide as its 3-1/2 in post; where there is no guard 3/4 in of
    fascia, as much of a skirt, and 1/2 in of a tread."""
    file = one_stair(CASES["as wide as its edge" if at > 4 else "low"], "as drawn")
    file["stair"][0] |= {"at": at, "width": 34.75}
    assert not build(Parameters.model_validate(file)).clashes
    file["stair"][0]["at"] = at - 0.125
    with pytest.raises(DesignError):
        build(Parameters.model_validate(file))
