"""Bought length covers need on decks by lot of `irregular_decks`, as `tests/model/order/test_all_is_bought` reads."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from irregular_decks import parameters

from plumbcut.model.deck import build
from plumbcut.model.measuring.measure import measure_all

sys.path.append(str(Path(__file__).parents[1] / "model" / "order"))
from test_all_is_bought import held


@pytest.mark.parametrize("seed", range(300, 310))
def test_bought_length_covers_need(seed):
    deck = build(parameters(seed))
    held(deck, measure_all(deck.parts))
