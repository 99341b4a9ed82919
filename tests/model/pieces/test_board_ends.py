"""What every board's end rests on, on whole decks shrunk from ones drawn by lot. The figures are common practice
without a source."""

from __future__ import annotations

import pytest

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.bearing import half_bearings, hanging
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import check_solids

LOW = {"surface": 20}  # inches above grade: no guard, so no posts to notch round


def deck(outline: dict, levels: dict = LOW, **sections) -> Deck:
    return build(Parameters.model_validate({"outline": outline, "levels": levels, **sections}))


def faults(made: Deck) -> list[str]:
    """What the program says against its own solids."""
    c = Checking(made, measure_all(made.parts))
    check_solids(c)
    return [f"{r.rule} | {worded(r.place)} | {worded(r.why)}" for r in c.results if r.result == "not met"]


NARROW = {"board_width": 3.5, "overhang": 1.25}


@pytest.mark.parametrize(("courses", "inner"), [(1, False), (2, True)])
def test_a_border_is_of_boards_wide_enough_to_bear_beside_what_overhangs(courses, inner):
    # with a fascia of 3/4 in the surface stands 2 in out: the outer half of a board of 3.5 in would lie in the air
    made = deck({"width": 150, "depth": 110}, surface={**NARROW, "border": {"courses": courses, "at_house": inner}})
    assert {p.stock.width for p in made.roles("border")} == {5.5} and {p.stock.width for p in made.roles("board")} == {
        3.5
    }
    assert hanging(made.parts) == [] and faults(made) == []
    assert max(h.gap for h in half_bearings(made.parts)) <= 3.0  # a mitre's tip
    assert any('border is of boards 5 1/2"' in worded(n) for n in made.notes)


def test_a_border_as_narrow_as_the_file_asks_stays_and_is_said():
    made = deck({"width": 150, "depth": 110}, surface={**NARROW, "border": {"width": 3.5}})
    assert {p.stock.width for p in made.roles("border")} == {3.5}
    assert any("one half of the border rests on nothing" in f for f in faults(made))


def test_a_border_that_bears_is_as_wide_as_the_boards():
    made = deck({"width": 150, "depth": 110}, surface={"board_width": 3.5}, trim={"fascia": False})
    assert {p.stock.width for p in made.roles("border")} == {3.5} and faults(made) == []
