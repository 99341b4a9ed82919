"""Stairs about as wide as a clipped edge, at corners of 30, 45 and 60 degrees: their posts stand clear of the fascia
and boards of the edges beside them, as both judges find on decks as drawn, in a mirror, turned and on a slope. Decks
are invented."""

from __future__ import annotations

import copy
import math

import pytest
from four_ways import in_ways, nothing_found, seen

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters

SLEEVE = {"sleeve": {"size": 4.5, "length": 44}, "post_above": 3}
CASES = {  # what is cut off the corner along front and side, how much narrower than the edge the stair is, its guard
    "60 and 30 degrees": (30, 52, 10.0, {}),
    "60 and 30 degrees, sleeves": (30, 52, 10.0, SLEEVE),
    "30 and 60 degrees": (52, 30, 10.0, {}),
    "14 in narrower": (52, 30, 14.0, {}),
    "14 in narrower, sleeves": (30, 52, 14.0, SLEEVE),
    "45 degrees": (40, 40, 7.0, {}),
}


@pytest.mark.parametrize(("name", "way"), in_ways(CASES))
def test_a_stair_on_a_clipped_edge_stands_clear_of_the_edges_beside_it(name, way):
    front, side, narrower, guard = CASES[name]
    points = [[0, 0], [180 - front, 0], [180, side], [180, 150], [0, 150]]
    wide = math.floor(16 * (math.hypot(front, side) - narrower)) / 16
    stair = {"edge": "clip", "width": wide}
    file = seen(points, ["front", "clip", "right", "back", "left"], 44, [stair], way)
    file["guard"] = copy.deepcopy(guard)
    deck = build(Parameters.model_validate(file))
    assert not deck.clashes
    nothing_found(deck, file)
