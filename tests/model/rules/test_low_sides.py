"""What slopes and notches leave: depths of footings on their low side, landings beside posts, ties near a ledger's
end. Decks are invented."""

from __future__ import annotations

import math

import pytest

from plumbcut.model.deck import Deck, build
from plumbcut.model.design.advised import checked_with_mends
from plumbcut.model.design.designed import designed
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.would_do import with_value
from plumbcut.model.rules.check_ledger import HOLD_DOWNS_NEAR
from plumbcut.model.rules.checks import check_deck

SLOPE = {"grade": 0.0, "slope_x": 1 / 9, "slope_y": -1 / 6}


def on_a_slope(shape: str) -> Deck:
    file = {
        "outline": {"width": 190, "depth": 130},
        "levels": {"surface": 70, **SLOPE},
        "local": {"frost_depth": 40},
        "frame": {"footing": {"shape": shape}},
    }
    return build(Parameters.model_validate(file))


@pytest.mark.parametrize("shape", ["round", "square"])
def test_footings_reach_the_frost_line_on_their_low_side(shape):
    """Own reading of the solids: the lowest point of the ground round each footing, and its underside."""
    deck = on_a_slope(shape)
    footings = deck.roles("footing")
    assert footings
    for f in footings:
        (x0, y0, bottom), (x1, y1, _) = f.box.tolist()
        half = (x1 - x0) / 2
        fall = half * (math.hypot(1 / 9, 1 / 6) if shape == "round" else 1 / 9 + 1 / 6)
        lowest = (x0 + x1) / 2 / 9 - (y0 + y1) / 2 / 6 - fall
        assert lowest - bottom >= 40 - 1e-6
    rows = [r for r in check_deck(deck) if r.rule == "frost depth"]
    assert rows and all(r.result == "met" and 40 - 0.01 <= r.measured < 41 for r in rows)


def test_a_footing_too_shallow_on_its_low_side_is_said():
    file = {
        "outline": {"width": 190, "depth": 130},
        "levels": {"surface": 70, **SLOPE},
        "local": {"frost_depth": 40},
        "frame": {"footing": {"depth": 39.5}},
    }
    rows = [r for r in check_deck(build(Parameters.model_validate(file))) if r.rule == "frost depth"]
    assert {r.result for r in rows} == {"not met"} and all(r.measured == pytest.approx(39.5, abs=0.05) for r in rows)


def test_a_corner_left_open_beside_a_post_ends_no_landing():
    """Boards at 60 degrees leave out a corner too small to hold between border and post: one steps over it."""
    points = [[0, 0], [208.66, 0], [208.66, 68.9], [253.94, 68.9], [253.94, 153.54], [0, 153.54]]
    file = {
        "outline": {"points": points, "edges": ["a", "b", "c", "d", "back", "f"], "house": ["back"]},
        "levels": {"surface": 44.09, "slope_x": 0.02},
        "surface": {"direction": 60},
        "stair": [{"edge": "f", "width": 43.3}],
    }
    deck = designed(Parameters.model_validate(file)).deck
    (top,) = [r for r in check_deck(deck) if r.rule == "landing length" and "at the top" in str(r.place)]
    assert top.result == "met" and top.measured >= 72


def test_ties_too_far_from_the_ledgers_end_name_a_border_that_does():
    """Under three courses along a side no joist hangs on the ledger within 24 in of its end (IRC R507.9.2)."""
    file = {
        "outline": {"width": 208, "depth": 217, "house": ["back"]},
        "levels": {"surface": 60},
        "frame": {"joist": "2x8", "beam_lines": [24, 114]},
        "surface": {"border": {"courses": 3}},
    }
    deck = build(Parameters.model_validate(file))
    (row,) = [r for r in checked_with_mends(deck) if r.rule == HOLD_DOWNS_NEAR]
    assert row.result == "not met" and row.measured > 24
    less = build(with_value(deck.parameters, "surface.border.courses", 2))
    assert str(row.why).count("surface.border.courses = 2") == 1
    (row,) = [r for r in check_deck(less) if r.rule == HOLD_DOWNS_NEAR]
    assert row.result == "met"
