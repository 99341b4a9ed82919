"""Two guarded stairs that reach one corner, each from its own edge: one post serves both guards, or the second one's is
moved down; nothing lies in anything, as both judges find on decks as drawn, in a mirror, turned and on a slope. Decks
are invented."""

from __future__ import annotations

import copy

import decks
import pytest
from four_ways import WAYS, in_ways, nothing_found, seen

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.rules.checks import check_deck

SQUARE = ([[0, 0], [180, 0], [180, 150], [0, 150]], ["front", "right", "back", "left"])
CLIPPED = ([[0, 0], [120, 0], [180, 60], [180, 150], [0, 150]], ["front", "clip", "right", "back", "left"])
FRONT, RIGHT = {"edge": "front", "width": 60, "at": 120}, {"edge": "right", "width": 60, "at": 0}
SLEEVE = {"sleeve": {"size": 4.5, "length": 44}, "post_above": 3}
SHARED = {
    "both to the corner": (SQUARE, 44, [FRONT, RIGHT], {}),
    "the other first": (SQUARE, 44, [RIGHT, FRONT], {}),
    "as wide as the edge": (SQUARE, 44, [RIGHT, {"edge": "front", "width": 180}], {}),
    "one 2 in off": (SQUARE, 44, [FRONT | {"at": 118}, RIGHT], {}),
    "the other 2 in off": (SQUARE, 44, [FRONT, RIGHT | {"at": 2}], {}),
    "sleeves": (SQUARE, 44, [FRONT, RIGHT], SLEEVE),
    "bordered treads": (SQUARE, 44, [FRONT | {"tread": "bordered"}, RIGHT | {"tread": "bordered"}], {}),
}
APART = {
    "both 2 in off": (SQUARE, 44, [FRONT | {"at": 118}, RIGHT | {"at": 2}], {}),
    "both 4 in off": (SQUARE, 44, [FRONT | {"at": 116}, RIGHT | {"at": 4}], {}),
}


def deck_of(case, way):
    (points, edges), surface, stairs, guard = copy.deepcopy(case)
    file = seen(points, edges, surface, stairs, way) | {"guard": guard}
    return file, build(Parameters.model_validate(file))


@pytest.mark.parametrize(("name", "way"), in_ways(SHARED | APART))
def test_two_guarded_stairs_at_one_corner_have_no_fault(name, way):
    file, deck = deck_of((SHARED | APART)[name], way)
    nothing_found(deck, file)
    rows = [r for r in check_deck(deck) if r.result == "not met" and r.rule.startswith(("guard", "handrail", "stair"))]
    assert not rows


@pytest.mark.parametrize("name", SHARED)
def test_one_post_stands_at_the_corner_and_the_rails_of_both_end_on_it(name):
    file, deck = deck_of(SHARED[name], "as drawn")
    pieces = decks.oracle(deck, file).pieces
    corner = [p for p in pieces if p.role == "guard post" and _off(p, 180, 0) < 6]
    assert len(corner) == 1
    square = deck.by_id[corner[0].id].footprint.buffer(0.51 if file["guard"] else 0.01, join_style="mitre")
    for role in ("top rail", "bottom rail"):
        met = [p for p in pieces if p.role == role and deck.by_id[p.id].footprint.intersects(square)]
        assert {deck.by_id[p.id].stair for p in met} == {0, 1}, role


def _off(piece, x: float, y: float) -> float:
    middle = piece.box.mean(axis=0)
    return float(max(abs(middle[0] - x), abs(middle[1] - y)))


@pytest.mark.parametrize("way", WAYS[2:])
def test_at_a_corner_out_of_square_the_second_post_stands_further_down(way):
    """No rail ends on a post turned to it; that the guard begins further down is said by a check."""
    stairs = [{"edge": "clip", "width": 46, "at": 38.8}, RIGHT | {"width": 46}]
    _, deck = deck_of((CLIPPED, 44, stairs, {}), way)
    assert not deck.clashes
