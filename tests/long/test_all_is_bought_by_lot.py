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

# 305 has blocking longer than any lumber sold, 310 and 344 boards with a tip past it, 315 and 337 such stringers
SEEDS = (300, 301, 302, 303, 305, 308, 310, 315, 337, 344)


@pytest.mark.parametrize("seed", SEEDS)
def test_bought_length_covers_need(seed):
    deck = build(parameters(seed))
    held(deck, measure_all(deck.parts))
