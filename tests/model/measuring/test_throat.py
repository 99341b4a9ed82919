"""The least wood behind a stringer's notches, against right triangles."""

from __future__ import annotations

import math

import pytest

from plumbcut.model.measuring.throat import throat
from plumbcut.model.solid.part import Place, Workshop
from plumbcut.shared.stock import Stock

UPRIGHT = Place((0, 0, 0), (1, 0, 0), (0, 0, 1))  # the outline in a plumb plane


def test_throat_of_a_right_angled_stringer():
    """A 7 by 24 sawtooth step (7-24-25 triangle) on a straight lower edge: the throat is the height over the
    hypotenuse."""
    # steps of run 24 and rise 7; the lower edge is the line through the inner corners moved 10 in square to it, (7,
    # -24) / 2.5
    ring = [(0, 0), (24, 0), (24, 7), (48, 7), (48, 14), (72, 14), (72 + 2.8, 14 - 9.6), (0 + 2.8, -7 - 9.6)]
    part = Workshop().prism("stringer", Stock("2x12", 1.5, 11.25, "treated lumber"), ring, 1.5, UPRIGHT)
    found = throat(part)
    assert found.width == pytest.approx(10.0) and found.over_edge
    assert math.dist(found.inner, found.foot) == pytest.approx(10.0)
    low, high = part.box
    assert all(a - 1e-6 <= x <= b + 1e-6 for q in (found.inner, found.foot) for x, a, b in zip(q, low, high))


def test_a_stringer_without_notches_has_no_throat():
    ring = [(0, 0), (48, 0), (48, 11.25), (0, 11.25)]
    part = Workshop().prism("stringer", Stock("2x12", 1.5, 11.25, "treated lumber"), ring, 1.5, UPRIGHT)
    assert throat(part) is None


def test_a_short_jack_has_no_throat_over_a_lower_edge():
    """A block of 12-1/2 by 10 in with one step of 10-1/2 by 5-1/2 in cut out, between a level and a plumb cut alone:
    square to the pitch the wood behind the notch is 2 in to the plumb cut, over the sine of the pitch."""
    ring = [(0, 0), (12.5, 0), (12.5, 10), (10.5, 10), (10.5, 4.5), (0, 4.5)]
    long = math.hypot(10.5, 5.5)
    c, s = 10.5 / long, 5.5 / long
    along = [(x * c + z * s, -x * s + z * c) for x, z in ring]
    pitched = Place((0, 0, 0), (c, 0, s), (-s, 0, c))
    found = throat(Workshop().prism("jack stringer", Stock("2x12", 1.5, 11.25, "treated lumber"), along, 1.5, pitched))
    assert found.width == pytest.approx(2 / s) and not found.over_edge
    assert math.dist(found.inner, found.foot) == pytest.approx(found.width)
    assert found.foot[0] == pytest.approx(12.5)
