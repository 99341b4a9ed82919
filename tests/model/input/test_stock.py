"""Stock against PS 20 dressed sizes and the handbook's density formula."""

import math

import pytest

from plumbcut.shared.errors import InputError
from plumbcut.shared.stock import Stock, lengths_sold, lumber, material, materials, nominal_sizes, weight


def test_dressed_sizes_follow_the_rule_of_the_lumber_standard():
    """PS 20: dimension lumber loses 1/2 in to 6 in wide and 3/4 in from 8 in; boards dress to 3/4 in; 5x and up lose
    1/2 in."""
    for name in nominal_sizes():
        thick, wide = name.split("x")
        stock = lumber(name)
        if thick in ("1", "5/4"):
            assert stock.thickness == (0.75 if thick == "1" else 1.0)
            assert stock.width == float(wide) - (0.75 if int(wide) >= 8 else 0.5)
        else:
            assert stock.thickness == float(thick) - 0.5
            assert stock.width == float(wide) - (0.75 if int(wide) >= 8 and int(thick) < 5 else 0.5)


def test_a_size_not_sold_and_a_material_not_known_are_refused_by_name():
    with pytest.raises(InputError, match=r"'2x7'.*2x6, 2x8"):
        lumber("2x7")
    with pytest.raises(InputError, match="'unobtainium'.*treated lumber"):
        material("unobtainium")


def test_southern_pine_weighs_what_the_supplement_s_formula_gives():
    """NDS Supplement 3.1.3 with G 0.55 at 19 percent, worked by hand: 34.32/1.09405 x 1.19 = 37.3 pcf."""
    assert material("treated lumber").density_pcf == pytest.approx(37.33, abs=0.01)
    # a 2x8 weighs density x 10.875/144 a foot
    assert weight(lumber("2x8"), 1.5 * 7.25 * 12) == pytest.approx(37.33 * 10.875 / 144, rel=1e-3)


def test_every_material_is_usable_and_names_its_source():
    for name in materials():
        m = material(name)
        assert 20 < m.density_pcf < 500 and 1e-6 < m.thermal_per_degF < 1e-4
        assert m.source and m.how in ("seen", "memory")
    assert material("composite board").doubtful  # a range from literature, never a fact


def test_a_long_board_moves_as_the_worked_example_says():
    """192 in at 3e-5 in/in/degF over 80 degF moves 0.461 in (worked from the literature range's value)."""
    assert math.isclose(192 * material("composite board").thermal_per_degF * 80, 0.461, abs_tol=5e-4)


def test_lengths_sold_are_common_practice():
    assert lengths_sold(lumber("2x10")) == tuple(12.0 * f for f in (8, 10, 12, 14, 16, 18, 20))
    for square in ("2x2", "4x4"):  # no yard keeps them in the long lengths of joists
        assert lengths_sold(lumber(square)) == tuple(12.0 * f for f in (8, 10, 12, 16))
    assert lengths_sold(Stock("board", 1.0, 5.5, "composite board")) == (144.0, 192.0, 240.0)
    assert lengths_sold(Stock("round footing", 18, 18, "concrete")) == ()
