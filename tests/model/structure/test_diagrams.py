"""Diagrams of members against textbook beams and against the numbers of the checks that they belong to."""

from __future__ import annotations

import numpy as np
import pytest
from plain_frame import analysed, line_of, loads, verdict_of

from plumbcut.model.solid.part import Workshop
from plumbcut.model.strength.beams import Load
from plumbcut.model.strength.loads import those_that_count
from plumbcut.model.structure.diagrams import of_stringer, spread_over, standing_out, under_a_load
from plumbcut.model.structure.stringer_checks import ON_ONE_TREAD, Stringer
from plumbcut.shared.stock import lumber

L, STRIP = 96.0, 12.0  # inches
W = 50 * STRIP / 144  # pounds an inch under 10 + 40 psf


def stringer(places):
    """A solid one of two spans or one, under an even strip of treads."""
    part = Workshop().box_along("stringer", lumber("2x12"), (0, 0, 0), (1, 0, 0), (0, 0, 1), 1.5, 11.25)
    return Stringer(part, places[-1], places, (Load(0.0, places[-1], STRIP / 144),), 1.5, 11.25, False, 1.0)


def drawn(places):
    return of_stringer(stringer(places), loads(), "IRC 2021", those_that_count(loads())[-1])


def test_a_simple_span_has_w_l2_over_8_and_w_l_over_2():
    """AISC Manual Table 3-23, case 1."""
    d = drawn((0.0, L))
    assert d.curves.moment.max() == pytest.approx(W * L**2 / 8, rel=1e-3)
    assert d.curves.x[d.curves.moment[0].argmax()] == pytest.approx(L / 2, abs=L / 60)
    assert (d.curves.shear.max(), d.curves.shear.min()) == pytest.approx((W * L / 2, -W * L / 2))
    assert [h.most for h in d.held] == pytest.approx([W * L / 2] * 2)
    assert [l.w0 for l in d.spread] == pytest.approx([W])


def test_two_spans_hog_over_the_middle_and_sag_most_with_one_loaded():
    """Loaded both, w l2 / 8 over the middle support (Table 3-23, case 39 by symmetry); with live load on one alone that
    one sags as under dead load on both and live on one: 0.07 w l2 dead (9/128) and 0.0957 w l2 live (49/512)."""
    d = drawn((0.0, L, 2 * L))
    assert -d.curves.moment.min() == pytest.approx(W * L**2 / 8, rel=1e-3)
    dead, live = W / 5, W * 4 / 5
    assert d.curves.moment.max() == pytest.approx((9 / 128 * dead + 49 / 512 * live) * L**2, rel=5e-3)


def test_single_loads():
    """P L / 4 in the middle, P beside a bearing; P x lever where a post is held."""
    d = under_a_load(L, 200.0, "post", "")
    assert (d.curves.moment.max(), d.curves.shear.max()) == pytest.approx((200 * L / 4, 200))
    d = standing_out(38.0, 200.0, "rim", "")
    assert (-d.curves.moment.min(), d.curves.shear.max()) == pytest.approx((200 * 38.0, 200))
    d = of_stringer(stringer((0.0, L)), loads(), "IRC 2021", those_that_count(loads())[-1], ON_ONE_TREAD)
    assert d.curves.moment.max() == pytest.approx(300 * L / 4 + W / 5 * L**2 / 8)  # Table R301.5 footnote c
    assert (d.single[0].p, d.single[0].x, d.anywhere) == (300, L / 2, True)
    assert spread_over(L, W, "stringer", "").curves.moment.max() == pytest.approx(W * L**2 / 8)


@pytest.mark.parametrize("splice", [None, 72.75, (72.75, None)], ids=["whole", "spliced", "one ply spliced"])
def test_moment_and_shear_are_those_of_the_checks(splice):
    """Of every member, of beams over three posts too: the greatest drawn is what the checks are made of, hinges and
    shares of plies included."""
    s = analysed(posts=(12.0, 72.75, 133.5), splice=splice)
    for r in s.of("joist", "beam", "rim"):
        d = r.diagram(s.loads)
        sag, hog = (verdict_of(r, f"bending, {how}") for how in ("sagging", "hogging"))
        worse = max((sag, hog), key=lambda v: line_of(v, "moment M").value)
        assert np.abs(d.curves.moment).max() == pytest.approx(12 * line_of(worse, "moment M").value, rel=1e-6)
        assert np.abs(d.curves.shear).max() == pytest.approx(line_of(verdict_of(r, "shear"), "shear V").value, rel=1e-6)
        assert d.moment_of == ("1 of 2 plies" if r.kind == "beam" and isinstance(splice, tuple) else "")
        pressed = [f.value for f in r.facts if f.label.startswith("reaction")]
        assert [h.most for h in d.held] == pytest.approx(pressed)


def test_what_is_drawn_on_a_member_is_what_it_carries():
    """With every span loaded what stands on the beam is what its posts get: statics of the whole frame."""
    s = analysed()
    (beam,) = s.of("beam")
    d = beam.diagram(s.loads)
    posts = [f.value for r in s.of("post") for f in r.facts if f.label == "tributary area"]
    assert sum(p.p for p in d.single) == pytest.approx(50 * sum(posts), rel=1e-3)
