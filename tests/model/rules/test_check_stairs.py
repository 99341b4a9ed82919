"""What is measured of flights that are unlike the demos': stringers with a single tread."""

from __future__ import annotations

import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.checks import check_deck


@pytest.mark.parametrize("stock, result", [("2x12", "met"), ("2x10", "not met")])
def test_stringers_of_one_tread_are_judged_by_the_stock_they_are_cut_from(stock, result):
    """AWC DCA 6 stair requirements: stringers of 2x12 (11-1/4 in, NDS Table 1A). Cut for one tread, as much wood is
    not left in any place."""
    file = {"outline": {"width": 150, "depth": 110}, "levels": {"surface": 14}}
    deck = build(Parameters.model_validate(file | {"stair": [{"edge": "front", "stringer": stock}]}))
    assert max(m.width for m in measure_all(deck.roles("stringer"))) < 11
    assert {r.result for r in check_deck(deck) if r.rule == "stringer stock"} == {result}
