"""The frame of a landing, chosen where the file leaves it out: plies of its rims, posts between those at its corners,
blocks behind the guard posts on its rims. Decks and sizes are invented."""

from __future__ import annotations

import decks
import pytest
from four_ways import in_ways
from test_turning_stairs import EDGES, OTHER_HAND

from plumbcut.exports.report import design_lines
from plumbcut.model.design.designed import designed
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.checks import check_deck

POINTS = [(0.0, 0.0), (190.0, 0.0), (190.0, 141.0), (0.0, 141.0)]


def file_of(width: float, depth: float, turn: str, way: str, **landing) -> dict:
    points, edges = [list(p) for p in POINTS], EDGES
    if way == "in a mirror":
        points, edges = [[-x, y] for x, y in reversed(POINTS)], ["back", "right", "front", "left"]
        turn = OTHER_HAND.get(turn, turn)
    stop = {"after_risers": 4, "depth": depth, "turn": turn}
    return {
        "outline": {"points": points, "edges": edges, "house": ["back"]},
        "levels": {"surface": 67, "slope_x": 0.02 if way == "on a slope" else 0.0},
        "frame": {"joist": "2x10"},
        "stair": [{"edge": "front", "width": width, "landings": [stop | landing]}],
    }


CASES = {
    "wide, to the left": (94, 60, "left", {"rim_plies"}),
    "wide, straight": (94, 60, "straight", {"rim_plies"}),
    "wider, to the left": (140, 72, "left", {"post_spacing"}),
    "wider, straight": (140, 72, "straight", {"post_spacing"}),
}


@pytest.mark.parametrize(("name", "way"), in_ways(CASES, ("as drawn", "in a mirror", "on a slope")))
def test_a_landings_frame_is_chosen_so_that_it_carries(name, way):
    width, depth, turn, chosen = CASES[name]
    file = file_of(width, depth, turn, way)
    found = designed(Parameters.model_validate(file))
    assert not found.faults and {c.key for c in found.chosen} == {f"stair.0.landings.0.{k}" for k in chosen}
    said = decks.said(found.deck)
    unsaid, _ = decks.compared(said, decks.oracle(found.deck, file))
    assert not [f"{r.rule}: {r.why}" for r in said] and not unsaid
    held = [r for r in check_deck(found.deck, measure_all(found.deck.parts)) if r.rule == "guard-post blocking"]
    assert [r.result for r in held] == ["met"]


def test_what_the_file_gives_of_a_landing_stays():
    found = designed(Parameters.model_validate(file_of(94, 60, "left", "as drawn", rim_plies=1, post_spacing=200)))
    assert not found.chosen and {(m.kind, m.where) for m, _ in found.faults} == {("rim", "stair 1 landing 1")}


def test_what_was_chosen_can_be_pinned():
    """The lines printed name the stair and the landing, and a file that gives them has nothing left to choose."""
    found = designed(Parameters.model_validate(file_of(94, 60, "left", "as drawn")))
    assert any(line.startswith("# stair 1 landing 1: rim_plies = 2") for line in design_lines(found))
    pinned = designed(Parameters.model_validate(file_of(94, 60, "left", "as drawn", rim_plies=2)))
    assert (pinned.built, pinned.chosen, pinned.faults) == (1, (), [])
