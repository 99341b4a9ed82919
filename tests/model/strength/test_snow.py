"""Snow from a roof above against figures worked out elsewhere, and against what the standard's text says of it."""

from __future__ import annotations

import pytest

from plumbcut.model.strength.snow import drift, drift_height, sliding, snow_density


def test_drift_heights_worked_out_elsewhere():
    """Figures of a public engineering specification for ASCE 7-16 Fig. 7.6-1 (seen): a short roof is taken as 20 ft,
    and 30 ft under 30 psf give 1.860 ft."""
    assert drift_height(15.25, 42.9) == pytest.approx(1.6478, abs=5e-5)
    assert drift_height(30, 30) == pytest.approx(1.860, abs=5e-4)
    assert snow_density(42.9) == pytest.approx(19.577, abs=5e-4)
    assert snow_density(300) == 30


def test_a_windward_drift_worked_out_elsewhere():
    """The same (seen): 0.75 of 1.6478 ft is 1.2359 ft high, 4.9434 ft wide and 24.194 psf at its highest."""
    found = drift(ground=42.9, roof=1e-3, lower=15.25, above=9.0)
    assert found.windward
    assert (found.height, found.width) == (pytest.approx(1.2359, abs=5e-5), pytest.approx(4.9434, abs=2e-4))
    assert found.peak == pytest.approx(24.194, abs=1e-3)
    assert found.each_foot == pytest.approx(found.peak * found.width / 2)


def test_off_a_very_short_roof_no_more_drifts_than_lies_on_it():
    """Its volume, hd times 4 hd over 2, at half the snow on it: hd = root of (pg lu / 4 density)."""
    hd = drift_height(2, 50)
    assert 2 * hd**2 * snow_density(50) == pytest.approx(50 * 2 / 2)


def test_no_drift_stands_above_the_eave_and_it_grows_wider_instead():
    whole, low = drift(30, 60, 10, above=20), drift(30, 60, 10, above=3.2)
    assert whole.width == pytest.approx(4 * whole.height)
    assert low.height == pytest.approx(low.clear) and low.clear < whole.height
    assert low.width == pytest.approx(min(4 * whole.height**2 / low.clear, 8 * low.clear))
    balanced = 30 / snow_density(30)
    assert drift(30, 60, 10, above=1.19 * balanced) is None and drift(30, 60, 10, above=1.21 * balanced) is not None


def test_a_gap_takes_from_the_drift_until_none_is_left():
    """A sixth of six times the height less the gap, from memory."""
    d = drift(30, 30, 10, above=3, gap=10)
    assert not d.windward and d.height == pytest.approx((18 - 10) / 6) and d.width == pytest.approx(8)
    assert drift(30, 30, 10, above=3, gap=18) is None


def test_what_slides_lies_even_over_fifteen_feet():
    """0.4 pf W: 21 psf on 15 ft are 126 lb on a foot of eave, 8.4 psf."""
    found = sliding(21, 15, 6 / 12, slippery=False, above=9)
    assert found.each_foot == pytest.approx(126) and found.psf == pytest.approx(8.4) and found.reach == 15
    assert sliding(21, 15, 2 / 12, slippery=False, above=9) is None
    assert sliding(21, 15, 2 / 12, slippery=True, above=9) == found
    assert sliding(21, 15, 6 / 12, False, above=9, gap=5).reach == 10
    assert sliding(21, 15, 6 / 12, False, above=4, gap=5) is None
