"""Fasteners in single shear against printed and recomputed values of the NDS tables (dry, CD 1)."""

from __future__ import annotations

import pytest

from plumbcut.model.strength.dowels import Dowel, InWood, lateral, ledger_dowels, nail, withdrawal, yield_loads
from plumbcut.model.strength.nds import Lumber

DF, SP, HF = 0.50, 0.55, 0.43  # specific gravities, NDS Table 12.3.3A (seen)


@pytest.mark.parametrize(
    "diameter, fyb, gravity, pounds",
    [
        (0.162, 90_000, DF, 141),  # 16d common, NDS-2005 Table 11N (seen)
        (0.148, 90_000, DF, 118),  # 10d common, Table 12N (from memory)
        (0.162, 90_000, SP, 154),
        (0.162, 90_000, HF, 122),
    ],
)
def test_nails_of_the_table_come_out(diameter, fyb, gravity, pounds):
    found = yield_loads(Dowel("nail", diameter, fyb), InWood(1.5, 10 * diameter, gravity, False))
    assert min(found.values()) == pytest.approx(pounds, abs=1)


@pytest.mark.parametrize(
    "gravity, main, across, pounds",
    [(DF, 1.5, False, 483), (DF, 1.5, True, 217), (DF, 3.5, True, 330), (SP, 1.5, True, 252), (SP, 3.5, True, 364)],
)
def test_bolts_of_half_an_inch_come_out(gravity, main, across, pounds):
    """NDS 12.3 yield equations, side member 1.5 in, along or square to the grain of both (from memory)."""
    _, bolt = ledger_dowels()
    assert min(yield_loads(bolt, InWood(1.5, main, gravity, across)).values()) == pytest.approx(pounds, rel=0.01)


def test_a_lag_screw_of_half_an_inch_comes_out():
    """Douglas fir, 8 D into it: 204 lb square to the grain of both, mode IIIs with its root diameter (from memory)."""
    lag, _ = ledger_dowels()
    found = yield_loads(lag, InWood(1.5, 4.0, DF, True), 0.5)
    assert min(found, key=found.get) == "IIIs" and found["IIIs"] == pytest.approx(204, rel=0.02)


def test_what_is_adjusted():
    """CD 0.9, CM 0.7, Ceg 0.67 (from memory) on the least mode."""
    dry, wet = Lumber(wet=False), Lumber()
    plain = lateral(nail(), dry, 1.5, 1.5, "live (occupancy)").value
    assert lateral(nail(), wet, 1.5, 1.5, "live (occupancy)").value == pytest.approx(0.7 * plain)
    assert lateral(nail(), wet, 1.5, 1.5, "permanent", in_end=True).value == pytest.approx(0.9 * 0.7 * 0.67 * plain)


@pytest.mark.parametrize("species, printed", [("southern pine", 437), ("Douglas fir-larch", 378), ("hem-fir", 302)])
def test_lag_screws_are_pulled_out_by_the_printed_values(species, printed):
    """NDS Table 12.2A (seen), 1/2 in, pounds an inch of thread: 437, 378 and 302 for G 0.55, 0.50 and 0.43."""
    dry = Lumber(species, wet=False)
    assert withdrawal(dry, 1.0, "live (occupancy)").value == pytest.approx(printed, abs=0.6)
    assert withdrawal(Lumber(species), 1.5, "snow").value == pytest.approx(1.5 * 0.7 * 1.15 * printed, rel=2e-3)
