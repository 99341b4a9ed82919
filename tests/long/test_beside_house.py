"""Stairs beside the house: nothing of theirs is in its wall. Found on `model.glb` with a kernel of its own, apart from
the program's plan, on decks as drawn, in a mirror, turned by 30 degrees and on a slope. Decks are invented."""

from __future__ import annotations

import copy

import decks
import manifold3d
import numpy as np
import pytest
from four_ways import in_ways, nothing_found, seen

from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.rules.checks import check_deck
from plumbcut.shared.errors import DesignError

SQUARE = ([[0, 0], [180, 0], [180, 150], [0, 150]], ["front", "right", "back", "left"])
WEDGE = ([[0, 0], [150, 0], [186, 130], [0, 130]], ["front", "right", "back", "left"])  # acute at the house
STRAIGHT = {"landings": [{"after_risers": 6}]}
CASES = {
    "as wide as its edge": (SQUARE, 22, {"edge": "right", "width": 150}),
    "guarded": (SQUARE, 44, {"edge": "right", "width": 150}),
    "with a landing": (SQUARE, 90, {"edge": "right", "width": 150, **STRAIGHT}),
    "3 in off the wall": (SQUARE, 44, {"edge": "right", "width": 60, "at": 87}),
    "room for a post": (SQUARE, 44, {"edge": "right", "width": 60, "at": 86}),
    "box steps": (SQUARE, 21, {"edge": "right", "width": 150, "kind": "box"}),
    "one step": (SQUARE, 13.5, {"edge": "right", "width": 150, "rise": 14}),
    "solid stringers": (SQUARE, 44, {"edge": "right", "width": 150, "stringer_kind": "solid"}),
    "bordered treads": (SQUARE, 44, {"edge": "right", "width": 150, "tread": "bordered"}),
    "acute corner": (WEDGE, 44, {"edge": "right", "width": 130}),
}
NOT_ASKED = ("footing",)  # in the ground, where the house has its own
DEEP, WIDE, HIGH = 60.0, 2000.0, 2000.0
SHARED = 0.01  # cubic inches


def in_the_wall(deck: Deck, file: dict) -> list[str]:
    """Pieces that share space with a block behind the house edge, which is the outline's last, and its line."""
    (ax, ay), (bx, by) = (file["outline"]["points"][n] for n in (-1, 0))
    ux, uy = np.array([bx - ax, by - ay]) / np.hypot(bx - ax, by - ay)
    gap = file["frame"].get("house_gap", 0.0)
    block = manifold3d.Manifold.cube((2 * WIDE, DEEP, HIGH)).translate((-WIDE, -DEEP - gap, -HIGH / 2))
    wall = block.transform(np.array([[ux, -uy, 0, ax], [uy, ux, 0, ay], [0, 0, 1, 0]]))
    pieces = decks.oracle(deck, file).pieces
    return [p.id for p in pieces if p.role not in NOT_ASKED and (p.solid ^ wall).volume() > SHARED]


def file_of(name: str, way: str) -> dict:
    (points, edges), surface, stair = copy.deepcopy(CASES[name])
    # the edge at the house comes last, and runs from the last corner to the first
    order = edges.index("back") + 1
    points, edges = points[order:] + points[:order], edges[order:] + edges[:order]
    return seen(points, edges, surface, [stair], way)


@pytest.mark.parametrize(("name", "way"), in_ways(CASES))
def test_nothing_of_a_stair_is_in_the_wall_of_the_house(name, way):
    file = file_of(name, way)
    deck = build(Parameters.model_validate(file))
    assert in_the_wall(deck, file) == []
    nothing_found(deck, file)


def test_a_guard_stands_in_the_wall_of_a_house_that_the_judge_knows_and_the_program_does_not():
    """The judge finds what is there: the same stair where the file says that the house ends at the deck's corner."""
    file = file_of("guarded", "as drawn")
    file["site"] = {"house": [[0, 150], [180, 150], [180, 400], [0, 400]]}
    deck = build(Parameters.model_validate(file))
    found = {deck.by_id[i].role for i in in_the_wall(deck, file)}
    assert {"guard post", "top rail", "pad", "skirt", "tread"} <= found
    assert not [r for r in check_deck(deck) if r.rule.startswith("guard needed") and r.result == "not met"]


def test_the_wall_stands_for_the_guard_beside_it_and_the_handrail_is_on_the_other_side():
    deck = build(Parameters.model_validate(file_of("guarded", "in a mirror")))  # the wall is on the right going down
    rows = {r.place: r for r in check_deck(deck) if r.rule == "guard needed on a stair"}
    assert "wall" in rows["stair 1 right going down"].why and rows["stair 1 left going down"].result == "met"
    rails = deck.roles("handrail")
    assert rails and not [r for r in check_deck(deck) if r.rule.startswith("handrail") and r.result == "not met"]
    notes = [str(n) for n in deck.notes]
    assert any("wall" in n for n in notes)


@pytest.mark.parametrize("landing", [{"turn": "left"}, {"turn": "back", "side": "left"}])
def test_a_stair_that_turns_into_the_house_is_refused_with_a_turn_that_does_not(landing):
    file = file_of("room for a post", "as drawn")
    file["levels"]["surface"] = 110
    file["stair"][0] |= {"width": 42, "at": 100, "landings": [{"after_risers": 6, **landing}]}
    file["site"] = {"house": [[-100, 150], [500, 150], [500, 400], [-100, 400]]}
    with pytest.raises(DesignError) as refused:
        build(Parameters.model_validate(file))
    ((key, value),) = refused.value.values
    assert key == f"stair.0.landings.0.{'side' if landing['turn'] == 'back' else 'turn'}" and value == "right"
    file["stair"][0]["landings"][0][key.rpartition(".")[2]] = value
    deck = build(Parameters.model_validate(file))
    assert in_the_wall(deck, file) == [] and not deck.clashes


def test_where_the_file_does_not_say_how_wide_the_house_is_a_stair_may_turn_past_its_corner():
    """It is drawn whole, and a note says where the house is taken to end."""
    file = file_of("room for a post", "as drawn")
    file["levels"]["surface"] = 110
    file["stair"][0] |= {"width": 42, "at": 60, "landings": [{"after_risers": 6, "turn": "left"}]}
    deck = build(Parameters.model_validate(file))
    assert in_the_wall(deck, file) and not deck.clashes
    assert any("taken to end at the deck's corner" in str(n) for n in deck.notes)
