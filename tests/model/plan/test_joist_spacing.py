"""The spacing of joists that the boards ask for, drawn and checked: IRC Table R507.7 (12 and 16 in for 5/4 boards, 16
and 24 in for 2x boards, on the skew and square; note a, from memory: on the skew up to 45 degrees)."""

from __future__ import annotations

import itertools
import math
from functools import cache

import numpy as np
import pytest

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.check_boards import check_boards
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import BOARD_SPAN, check_solids
from plumbcut.model.structure.structure import analyse

TWO_BY = {"board_thickness": 1.5, "material": "treated lumber", "fastening": "face"}
FIVE_FOUR = {"material": "treated lumber", "fastening": "face"}


@cache
def _built(given: str, spacing):
    frame = {} if spacing is None else {"joist_spacing": spacing}
    sections = {"outline": {"width": 210, "depth": 150}, "levels": {"surface": 40}, "surface": eval(given)}
    return build(Parameters.model_validate({**sections, "frame": frame}))


def built(surface, spacing=None):
    return _built(repr(surface), spacing)


def checked(deck, check):
    c = Checking(deck, measure_all(deck.parts))
    check(c)
    return c.results


def on_centre(deck) -> float:
    """The widest distance between neighbouring joists, rims and blocking that lies along them, square to the joists, on
    centre."""
    across = deck.layout.across
    at = sorted(
        float(np.asarray(p.footprint.centroid.coords[0]) @ across)
        for p in deck.parts
        if p.role in ("joist", "rim", "border blocking") and abs(float(np.dot(p.place.x[:2], deck.layout.along))) > 0.99
    )
    return max(b - a for a, b in itertools.pairwise(at))


@pytest.mark.parametrize(
    "surface, wanted",
    [
        (FIVE_FOUR, 16),
        ({**FIVE_FOUR, "direction": 45}, 12),
        ({**FIVE_FOUR, "direction": -30}, 12),  # the row for the skew decides as soon as boards are out of square
        ({**FIVE_FOUR, "direction": 2}, 16),  # as much as a frame that was meant square is out of it
        (TWO_BY, 16),  # the usual spacing, closer than the row's
        ({**TWO_BY, "direction": 45}, 16),
        ({"direction": 45}, 12),  # composite boards without a maker's value: as lumber of their thickness
        ({"direction": 45, "max_span_45": 10}, 10),
        ({"max_span": 14, "max_span_45": 10}, 14),
        ({"direction": 45, "max_span_45": 16}, 16),  # the maker's value takes the place of the row
        ({**FIVE_FOUR, "direction": 45, "max_span_45": 16}, 12),  # but not where the boards are lumber
    ],
)
def test_joists_stand_as_the_boards_ask_where_the_file_does_not_say(surface, wanted):
    deck = built(surface)
    assert deck.layout.joist_spacing == wanted
    assert wanted - 1.0 <= on_centre(deck) <= wanted + 0.01


def test_beyond_the_published_angle_no_board_spans_further_than_at_it():
    """At 60 degrees from square (10-1/2 in clear square to the joists at 12 in on centre, 14.85 in along the board at
    45): 1-1/2 + 14.85 x cos 60 = 8.9 in, marked at whole inches."""
    deck = built({**FIVE_FOUR, "direction": 60})
    assert deck.layout.joist_spacing == 8
    (row,) = [r for r in checked(deck, lambda c: check_boards(c, analyse(deck))) if r.rule == "board span"]
    assert row.result == "not checked" and "the row goes to 45" in worded(row.why)
    rows = [r for r in checked(deck, check_solids) if r.rule == BOARD_SPAN]
    assert [r.result for r in rows] == ["met"]


@pytest.mark.parametrize(
    "surface, limit",
    [
        ({**FIVE_FOUR, "direction": 45}, 12),
        ({**TWO_BY, "direction": 45}, 16),
        ({"direction": 45, "max_span_45": 14}, 14),
    ],
)
def test_a_wider_spacing_that_the_file_gives_is_drawn_and_said(surface, limit):
    """On centre, square to the joists, and the clear span along the board: both measured on the solids."""
    deck = built(surface, 20)
    assert on_centre(deck) == pytest.approx(20, abs=0.01)
    (row,) = [r for r in checked(deck, lambda c: check_boards(c, analyse(deck))) if r.rule == "board span"]
    assert row.result == "not met" and row.limit == limit and row.measured == pytest.approx(20, abs=0.02)
    rows = [r for r in checked(deck, check_solids) if r.rule == BOARD_SPAN]
    clear = (20 - 1.5) / math.cos(math.radians(45))
    assert rows and max(r.measured for r in rows) == pytest.approx(clear, abs=0.02)
    assert {round(r.limit, 2) for r in rows} == {round((limit - 1.5) / math.cos(math.radians(45)) + 0.01, 2)}


@pytest.mark.parametrize("surface", [FIVE_FOUR, {**FIVE_FOUR, "direction": 45}, {**TWO_BY, "direction": 30}])
def test_boards_on_the_spacing_they_ask_for_meet_both_checks(surface):
    deck = built(surface)
    (row,) = [r for r in checked(deck, lambda c: check_boards(c, analyse(deck))) if r.rule == "board span"]
    assert row.result == "met"
    assert not [r for r in checked(deck, check_solids) if r.result == "not met"]
