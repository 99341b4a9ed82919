"""Stairs that get in their own way: what a row that is not met names is built, and nothing of the stair is left unmet.

Headroom 80 in (IRC 2018 R311.7.2), a landing 36 in long (IRC R311.7.6)."""

from __future__ import annotations

import pytest

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import Deck, build
from plumbcut.model.design.advised import checked_with_mends, values_of
from plumbcut.model.design.stair_ways import landings_that_do
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.would_do import with_value

OF_A_STAIR = (
    "headroom",
    "landing",
    "solids overlap",
    "stair",
    "rise",
    "guard needed",
    "beam overhang",
    "stringer span",
)


def turning(turn: str, after: tuple[int, ...], surface: float = 156.0, edge: str = "front", **landing) -> Deck:
    stops = [{"after_risers": k, "turn": turn, **landing} for k in after]
    given = {
        "outline": {"width": 170, "depth": 130},
        "levels": {"surface": surface},
        "stair": [{"edge": edge, "width": 40, "landings": stops}],
    }
    return build(Parameters.model_validate(given))


def unmet(deck: Deck) -> list:
    return [r for r in checked_with_mends(deck) if r.result == "not met" and r.rule.startswith(OF_A_STAIR)]


TOWERS = {
    "four flights, one over the other": ("back", (5, 10, 15), 156, {}),
    "the same to the right": ("back", (5, 10, 15), 156, {"side": "right"}),
    "round and round to the left": ("left", (5, 10, 15), 156, {}),
    "round and round to the right": ("right", (4, 8, 12, 16), 156, {}),
    "back under the deck": ("back", (5,), 120, {}),
    "under the deck in three flights": ("left", (4, 8), 120, {}),
}


@pytest.mark.parametrize("name", TOWERS)
def test_the_landings_named_leave_nothing_of_the_stair_unmet(name):
    turn, after, surface, landing = TOWERS[name]
    deck = turning(turn, after, surface, **landing)
    found = [r for r in unmet(deck) if not list(values_of(r, deck, [])) and "would do" not in worded(r.why)]
    assert unmet(deck) and not found, [(r.rule, worded(r.why)) for r in found]
    ((key, value),) = landings_that_do(deck, 0)
    assert key.startswith("stair.0.landings")
    assert not [(r.rule, worded(r.place), worded(r.why)) for r in unmet(build(with_value(deck.parameters, key, value)))]


def test_a_straight_stair_has_no_other_landings():
    assert not list(landings_that_do(turning("straight", (8,)), 0))


@pytest.mark.parametrize("edge, at", [("front", 116.0), ("right", 0.0)])
def test_a_stair_too_narrow_between_posts_at_a_clipped_corner_is_moved_off_it(edge, at):
    points = [[0, 0], [155, 0], [190, 35], [190, 130], [0, 130]]
    given = {
        "outline": {"points": points, "edges": ["front", "clip", "right", "back", "left"], "house": ["back"]},
        "levels": {"surface": 50},
        "stair": [{"edge": edge, "at": at, "width": 38, "guards": "both"}],
    }
    deck = build(Parameters.model_validate(given))
    (row,) = [r for r in unmet(deck) if r.rule == "stair width at its head"]
    ((key, value),) = values_of(row, deck, [])
    assert key == "stair.0.at"
    assert not [r for r in unmet(build(with_value(deck.parameters, key, value))) if r.rule.startswith("stair")]
