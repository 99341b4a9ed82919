"""Where a ledger is bored: IRC Table R507.9.1.3(2), 2 to 5 in off the ends, no two further apart than the spacing, and
clear of the joists where a bay leaves room."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plumbcut.model.order.ledger_places import CLEAR_OF_JOIST, bored


@given(
    long=st.floats(20, 300),
    every=st.sampled_from([12.0, 16.0, 24.0]),
    spacing=st.sampled_from([9.0, 11.0, 15.0, 18.0, 23.0, 29.0]),
    begin=st.floats(0, 12),
)
def test_no_two_are_too_far_apart_and_none_meets_a_joist(long, every, spacing, begin):
    joists = [(x, x + 1.5) for k in range(40) if (x := begin + k * every) < long - 1.5]
    places = bored(long, joists, spacing)
    assert 2 - 1e-6 <= places[0] <= 5 + 1e-6 and 2 - 1e-6 <= long - places[-1] <= 5 + 1e-6
    assert all(0 < b - a <= spacing + 1e-6 for a, b in itertools.pairwise(places))
    room = every - 1.5 - 2 * CLEAR_OF_JOIST
    if spacing / 2 > every - room:  # a free stretch always lies between half the spacing and the whole
        inner = places[1:-1]
        assert all(not a - CLEAR_OF_JOIST + 1e-6 < s < b + CLEAR_OF_JOIST - 1e-6 for s in inner for a, b in joists)


def test_places_by_hand():
    """Joists 16 in on centre from 0; 15 in apart at most: 3.5, then as far as 18.5, which clears the joist at 16 to
    17.5 only from 19 on, so the place before it at 14.5."""
    joists = [(16.0 * k, 16.0 * k + 1.5) for k in range(5)]
    assert bored(60.0, joists, 15.0)[:3] == pytest.approx([3.5, 14.5, 29.5])


def test_a_short_ledger_has_one_in_the_middle():
    assert bored(6.0, [], 15.0) == [3.0]
