"""How far a notched board spans, on joists drawn by hand: beside the notch what it leaves of the board counts."""

from __future__ import annotations

import pytest

from plumbcut.model.measuring.board_spans import board_spans
from plumbcut.model.measuring.contacts import contacts
from plumbcut.model.measuring.loose_ends import touching
from plumbcut.model.solid.part import Workshop
from plumbcut.model.solid.roles import named
from plumbcut.shared.stock import Stock, lumber

BOARD = Stock("5/4x6", 1.0, 5.5, "composite board")


def longest(joists, notch: tuple[float, float, float]) -> float:
    """The clear span of a board 128 in long over 2x8 joists at `joists`, a notch (from, to, so deep) in its side."""
    shop, (a, b, deep) = Workshop(), notch
    ring = [(0, 0), (129.5, 0), (129.5, 5.5), (b, 5.5), (b, 5.5 - deep), (a, 5.5 - deep), (a, 5.5), (0, 5.5)]
    parts = [shop.upright("board", BOARD, ring, 0.0, 1.0, (1, 0))]
    for x in joists:
        box = [(x, -20), (x + 1.5, -20), (x + 1.5, 20), (x, 20)]
        parts.append(shop.upright("joist", lumber("2x8"), box, -7.25, 0.0, (0, 1)))
    parts = [p.replaced(mark=p.role, id=f"{p.role}-{k}") for k, p in enumerate(parts)]
    (found,) = board_spans(parts, touching(contacts(parts)), named("under boards"))
    return found.length


@pytest.mark.parametrize("deep", [1.0, 2.0, 3.5, 4.5])
def test_a_strip_left_beside_a_long_notch_spans_from_joist_to_joist(deep):
    """Joists at 16 in on centre leave 14.5 in, under the strip as under the whole board."""
    assert longest([16.0 * k for k in range(9)], (36.0, 84.0, deep)) == pytest.approx(14.5, abs=1e-3)


@pytest.mark.parametrize("deep", [2.0, 3.5, 4.5])
def test_a_strip_beside_a_notch_spans_as_far_as_nothing_bears_it(deep):
    """Without the joists at 48 and 64 in the strip spans from 33.5 to 80: 46.5 in, however narrow it is."""
    joists = [16.0 * k for k in range(9) if k not in (3, 4)]
    assert longest(joists, (36.0, 76.0, deep)) == pytest.approx(46.5, abs=1e-3)


def test_a_notch_that_leaves_no_line_of_the_board_is_spanned_over():
    """A strip narrower than a tenth of the board is none: the board spans the notch from joist to joist, 33.5 to 96."""
    joists = [16.0 * k for k in range(9)]
    assert longest(joists, (36.0, 84.0, 5.2)) == pytest.approx(96.0 - 33.5, abs=1e-3)
