"""Stairs that turn, held against both judges as whole decks by lot are: switchbacks, quarter turns with short and long
flights between, three flights, long straight ones; as drawn, in a mirror, and turned by 30 degrees on a slope. Decks
and sizes are invented."""

from __future__ import annotations

import copy
import math

import decks
import pytest
from four_ways import in_ways

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters

OTHER_HAND = {"left": "right", "right": "left"}


def landings(*rows) -> list[dict]:
    return [{"after_risers": n, "depth": 42, "turn": turn} for n, turn in rows]


CASES = {
    "switchback": (120, [{"edge": "front", "landings": landings((8, "back"))}]),
    "two lefts, two risers between": (100, [{"edge": "front", "landings": landings((5, "left"), (7, "left"))}]),
    "two rights, seven risers between": (110, [{"edge": "right", "landings": landings((4, "right"), (11, "right"))}]),
    "left and right, nine between": (130, [{"edge": "left", "landings": landings((4, "left"), (13, "right"))}]),
    "three flights": (120, [{"edge": "front", "landings": landings((5, "straight"), (10, "straight"))}]),
    "seventeen risers": (126, [{"edge": "front", "landings": landings((8, "straight"))}]),
    "two stairs": (
        90,
        [
            {"edge": "front", "at": 20, "landings": landings((6, "right"))},
            {"edge": "left", "at": 30, "landings": landings((6, "straight"))},
        ],
    ),
    "one riser to the ground": (64, [{"edge": "front", "landings": landings((8, "left"))}]),
}
CORNERS = [(0.0, 0.0), (180.0, 0.0), (180.0, 156.0), (0.0, 156.0)]
EDGES = ["front", "right", "back", "left"]


def file_of(name: str, way: str) -> dict:
    surface, stairs = copy.deepcopy(CASES[name])
    points, edges, slope = [list(p) for p in CORNERS], EDGES, 0.0
    if way == "in a mirror":
        points, edges = [[-x, y] for x, y in reversed(CORNERS)], ["back", "right", "front", "left"]
        for landing in (l for s in stairs for l in s["landings"]):
            landing["turn"] = OTHER_HAND.get(landing["turn"], landing["turn"])
            if landing["turn"] == "back":
                landing["side"] = "right"
    if way == "turned on a slope":
        c, s = math.cos(math.radians(30)), math.sin(math.radians(30))
        points, slope = [[x * c - y * s, x * s + y * c] for x, y in CORNERS], 0.02
    return {
        "outline": {"points": points, "edges": edges, "house": ["back"]},
        "levels": {"surface": surface, "slope_x": slope, "slope_y": slope},
        "frame": {"joist": "2x10"},
        "stair": stairs,
    }


@pytest.mark.parametrize(("name", "way"), in_ways(CASES, ("as drawn", "in a mirror", "turned on a slope")))
def test_a_stair_that_turns_has_no_fault(name, way):
    file = file_of(name, way)
    deck = build(Parameters.model_validate(file))
    said = decks.said(deck)
    unsaid, _ = decks.compared(said, decks.oracle(deck, file))
    assert not [f"{r.rule}: {r.why}" for r in said] and not unsaid
    assert len(deck.layout.stair_plans) == len(CASES[name][1])


@pytest.mark.parametrize("way", ["as drawn", "in a mirror", "turned on a slope"])
def test_a_sleeve_between_two_flights_stands_on_the_landing(way):
    """The one post between the flights stands past the ends of the treads, and so does the sleeve round it. On the
    lower flight a sleeve stands over a rail that would meet little of it, on a stop."""
    file = file_of("switchback", way) | {"guard": {"sleeve": {"size": 4.5}}}
    deck = build(Parameters.model_validate(file))
    said = decks.said(deck)
    unsaid, _ = decks.compared(said, decks.oracle(deck, file))
    assert not [f"{r.rule}: {r.why}" for r in said] and not unsaid
    assert len(deck.roles("sleeve stop")) == 1
    level = deck.layout.stair_plans[0].landings[0].level
    boards = {p.id for p in deck.roles("board") if p.stair == 0}
    assert [p for p in deck.roles("post sleeve") if abs(p.box[0, 2] - level) < 1e-6 and boards & set(p.carried_by)]
