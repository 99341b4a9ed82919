"""Which way the joists run when the file does not say: by the house, and by the boards. Invented decks."""

from __future__ import annotations

import math
from collections import Counter

import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.bearing import hanging
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import check_solids

RECTANGLE = ([[0, 0], [203, 0], [203, 127], [0, 127]], "e3", "e1")
ELL = ([[0, 0], [90, 0], [90, 60], [203, 60], [203, 147], [0, 147]], "e5", "e3")

TIE = 0.003  # square inches: areas of whole eighths would else be rounded up or down by their last bits


def deck(outline=RECTANGLE, turned=0.0, **sections):
    corners, house, stair = outline
    c, s = math.cos(math.radians(turned)), math.sin(math.radians(turned))
    points = [[c * x - s * y, s * x + c * y] for x, y in corners]
    file = {"outline": {"points": points, "house": [house]}, "levels": {"surface": 41}}
    return build(Parameters.model_validate(file | {"stair": [{"edge": stair, "width": 44}]} | sections))


def faults(made) -> list:
    c = Checking(made, measure_all(made.parts))
    check_solids(c)
    return [r for r in c.results if r.result == "not met"]


def bought(made) -> Counter:
    """Every piece by kind its face and its thickness, to a hundredth of an inch."""
    return Counter((p.role, round(p.shape.polygon.area + TIE, 2), round(p.shape.thickness, 3)) for p in made.parts)


@pytest.mark.parametrize("outline", [RECTANGLE, ELL], ids=["rectangle", "L"])
@pytest.mark.parametrize("turned", [30, -17, 90, 120])
def test_a_deck_on_a_house_that_stands_askew_is_the_same_deck(outline, turned):
    askew = deck(outline, turned)
    assert bought(askew) == bought(deck(outline))
    assert not faults(askew)


def test_boards_square_to_the_house_turn_the_joists():
    made = deck(surface={"direction": 90})
    assert abs(made.layout.along @ [1, 0]) == 1
    assert not hanging(made.parts) and not faults(made)
    assert abs(deck(surface={"direction": 45}).layout.along @ [0, 1]) == 1  # on the skew they rest on either


def test_without_a_house_the_deck_stands_by_itself():
    corners, _, stair = RECTANGLE
    file = {"outline": {"points": corners}, "levels": {"surface": 41}, "stair": [{"edge": stair}]}
    made = build(Parameters.model_validate(file))
    assert not [p for p in made.parts if p.role == "ledger"]
    assert not faults(made)
