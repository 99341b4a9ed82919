"""Thermal movement against coefficient times length, and what a gap becomes at the extremes."""

from __future__ import annotations

import math

import pytest
from conftest import demo_deck, demo_measured
from hypothesis import given
from hypothesis import strategies as st

from plumbcut.exports.cards import build_cards
from plumbcut.exports.drafting.drawing import Text
from plumbcut.model.deck import build
from plumbcut.model.input.gaps_table import Gaps
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.gaps import (
    LAID_WITH_GAPS,
    celsius,
    coefficient_source,
    end_gap,
    longest_boards,
    movement,
    moving,
)
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.parameter_file import read
from plumbcut.shared.errors import InputError
from plumbcut.shared.stock import material

COMPOSITE, WOOD = material("composite board"), material("treated lumber")


def test_worked_example():
    # the linear law of expansion by hand: 192 in x 3.0e-5 per degF x 80 degF = 0.4608 in
    assert movement(192, 3e-5, 80) == pytest.approx(0.461, abs=5e-4)
    assert movement(192, 3e-5, -80) == -movement(192, 3e-5, 80)


def test_gap_of_the_worked_board():
    # laid at 50 degF, hottest 130: the board grows 0.4608 in; 7/16 = 0.4375 is too little, 1/2 is the next sixteenth
    found = end_gap(192, COMPOSITE, 50.0, Gaps(summer_f=130, winter_f=0, limit=0.375))
    assert found.least == pytest.approx(192 * COMPOSITE.thermal_per_degF * 80)
    assert found.gap == 0.5
    assert found.summer == pytest.approx(0.5 - 0.4608)
    assert found.winter == pytest.approx(0.5 + 192 * 3e-5 * 50)
    assert not found.closes and found.opens_beyond
    # 0.375 / (3.0e-5 x 130) = 96.15 in is the longest board for which one gap keeps both
    assert found.longest == pytest.approx(96.1538, abs=1e-3)


@given(length=st.floats(12, 288), laid=st.floats(-20, 120), limit=st.floats(0.1, 2.0))
def test_no_gap_closes_and_the_limit_is_told(length, laid, limit):
    gaps = Gaps(summer_f=130, winter_f=-20, limit=limit)
    found = end_gap(length, COMPOSITE, laid, gaps)
    assert 0 <= found.gap - found.least < 1 / 16 + 1e-6
    assert not found.closes
    # from winter to summer the joint loses exactly what the board grows
    assert found.winter - found.summer == pytest.approx(movement(length, COMPOSITE.thermal_per_degF, 150))
    # one gap keeps both exactly for boards no longer than the longest that can
    if abs(length - found.longest) > 1e-6 and 0 <= laid <= 120:
        assert found.opens_beyond == (length > found.longest)


def test_lumber_hardly_moves_along_the_grain():
    found = end_gap(192, WOOD, 50.0, Gaps())
    assert found.least == pytest.approx(192 * 2.1e-6 * 80) and found.gap == 1 / 16
    assert not found.closes and not found.opens_beyond


def test_hotter_than_the_summer_given():
    found = end_gap(192, COMPOSITE, 140.0, Gaps(summer_f=130))
    assert found.least == 0.0 and found.gap == 0.0 and found.summer > 0


def test_source_says_how_far_it_can_be_trusted():
    assert "DOUBTFUL" in coefficient_source(COMPOSITE) and "memory" in coefficient_source(COMPOSITE)
    assert "Wood Handbook" in coefficient_source(WOOD) and "memory" in coefficient_source(WOOD)
    assert "DOUBTFUL" not in coefficient_source(WOOD)


def parameters(gaps, **sections):
    return Parameters.model_validate(
        {"outline": {"width": 198, "depth": 150}, "levels": {"surface": 20}, "gaps": gaps, **sections}
    )


@given(length=st.floats(12, 288), coefficient=st.floats(1e-6, 1e-4), laid=st.floats(-20, 120))
def test_a_coefficient_given_is_the_one_used(length, coefficient, laid):
    """Against coefficient x length x degrees, the value being the file's and not the row's."""
    p = parameters({"coefficient": coefficient, "summer_f": 130, "winter_f": -20})
    found = end_gap(length, moving("composite board", "board", p), laid, p.gaps)
    assert found.least == pytest.approx(coefficient * length * (130 - laid))
    assert found.winter - found.summer == pytest.approx(coefficient * length * 150)
    assert found.longest == pytest.approx(0.375 / (coefficient * 150))
    assert found.source == "given in the parameter file (gaps.coefficient)"


def test_whose_coefficient_is_given():
    surface, trim = {"material": "composite board"}, {"material": "pvc board"}
    both = parameters({"coefficient": 1.5e-5}, surface=surface, trim=surface)
    assert [moving("composite board", r, both).thermal_per_degF for r in LAID_WITH_GAPS] == [1.5e-5] * len(
        LAID_WITH_GAPS
    )
    # another material's trim keeps its row, doubtful as it is, until its own value is given
    other = parameters({"coefficient": 1.5e-5}, surface=surface, trim=trim)
    assert moving("pvc board", "fascia", other) == material("pvc board")
    own = parameters({"coefficient": 1.5e-5, "trim_coefficient": 4e-5}, surface=surface, trim=trim)
    assert (
        moving("pvc board", "fascia", own).thermal_per_degF == 4e-5 and not moving("pvc board", "fascia", own).doubtful
    )
    assert moving("composite board", "tread", own).thermal_per_degF == 1.5e-5
    assert moving("composite board", "board", parameters({})) == COMPOSITE and COMPOSITE.doubtful


def test_a_printed_value_serves_longer_boards_and_the_card_says_whose_it_is():
    """The boards of a 16 ft run: with the doubtful row no single gap serves them, with the printed 1.2e-5 one does."""
    p = parameters({"coefficient": 1.2e-5})
    drawing_deck = build(p)
    measured = measure_all(drawing_deck.parts)
    by_row, by_file = longest_boards(measured), longest_boards(measured, p)
    assert any(end_gap(b.length, b.material, 50.0, p.gaps).opens_beyond for b in by_row)
    assert not any(end_gap(b.length, b.material, 50.0, p.gaps).opens_beyond for b in by_file)
    cards = build_cards(drawing_deck, measured, temperature_f=50.0)
    lettered = [i.text for s in cards.sheets if "GAP CARD" in s.name for i in s.items if isinstance(i, Text)]
    assert any("0.0000120" in t and "GAPS.COEFFICIENT" in t for t in lettered) and not any(
        "DOUBTFUL" in t for t in lettered
    )


@pytest.mark.parametrize("value", ["0", "1.6", '"1e-5"', "-1e-5"])
def test_a_coefficient_out_of_range_is_refused(tmp_path, value):
    path = tmp_path / "d.toml"
    path.write_text(f"[outline]\nwidth = 144\ndepth = 120\n[levels]\nsurface = 20\n[gaps]\ncoefficient = {value}\n")
    with pytest.raises(InputError) as e:
        read(path)
    (fault,) = e.value.faults
    assert (fault.line, fault.key) == (7, "gaps.coefficient") and (
        "1e-07" in fault.message or "a number" in fault.message
    )


def test_celsius():
    assert celsius(32) == 0 and celsius(212) == pytest.approx(100) and celsius(-40) == pytest.approx(-40)


def test_longest_boards_are_the_longest_solids(demo):
    parts = demo_deck(demo).parts
    found = longest_boards(demo_measured(demo))
    assert {b.role for b in found} == {p.role for p in parts} & set(LAID_WITH_GAPS)
    for board in found:
        mine = [p for p in parts if p.role == board.role and p.stock.material == board.material.name]
        # the kernel's own box: as long as the piece where it lies along an axis, its diagonal never less than its
        # length
        boxes = [p.solid.BoundingBox() for p in mine]
        assert (
            board.length
            >= max(max(b.xlen, b.ylen) for p, b in zip(mine, boxes) if max(map(abs, p.place.x[:2])) > 1 - 1e-9) - 1e-6
        )
        own = next(b for p, b in zip(mine, boxes) if p.mark == board.mark)
        assert board.length <= math.hypot(own.xlen, own.ylen, own.zlen) + 1e-6
