"""Low decks and stairs on sloping ground: no wood in the ground, no concrete in wood, every base on its concrete. The
program's own checks of its solids are asked; what the ground is at a place is worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.check_landings import OVER_PAD
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import BASE_IN_GROUND, FOOTING, GROUND, OVERLAP, check_solids
from plumbcut.model.rules.checks import check_deck


def deck(width: float, depth: float, levels: dict, **sections) -> Deck:
    given = {"outline": {"width": width, "depth": depth}, "levels": levels, **sections}
    return build(Parameters.model_validate(given))


def faults(d: Deck) -> list[str]:
    c = Checking(d, measure_all(d.parts))
    check_solids(c)
    asked = (FOOTING, GROUND, BASE_IN_GROUND, OVERLAP)
    return [f"{r.rule}: {worded(r.place)}" for r in c.results if r.result == "not met" and r.rule in asked]


def of(d: Deck, role: str):
    return [p for p in d.parts if p.role == role]


def test_guard_posts_under_open_risers_stand_out_of_the_ground():
    """Such a post ends under the last nosing, past the riser; where grade rises away from the deck the pad lies as
    high as the ground is there: 8 in 100 of the distance from the front edge."""
    stair = {"edge": "front", "risers": "open", "guards": "both", "going": 10}
    d = deck(120, 100, {"surface": 39, "slope_y": -0.08}, stair=[stair])
    posts = [p for p in of(d, "guard post") if p.stair == 0]
    foot = min(float(p.box[0, 1]) for p in posts)
    assert foot < 0 and not faults(d)
    assert min(float(p.box[0, 2]) for p in posts) >= -0.08 * foot - 1e-9


def test_a_stairs_header_ends_over_the_ground_behind_it():
    """Grade rises 6 in 100 towards the house: the header, its plies and cleats end where that is highest under them,
    4-1/2 in behind the rim's face."""
    d = deck(150, 60, {"surface": 13, "slope_y": 0.06}, frame={"post_base": 0.5}, stair=[{"edge": "front"}])
    headers = of(d, "stair header")
    assert headers and not faults(d)
    assert min(float(h.box[0, 2]) for h in headers) >= 0.06 * 3.0 - 1e-9


FLUSH = {"joist": "2x6", "beam_position": "flush", "post_base": 0.5, "footing": {"above_grade": 0, "size": 30}}


def test_concrete_under_two_posts_ends_over_the_higher_ground():
    """Two posts of a flush beam too near each other for footings of their own: the one uphill stands on as much of
    concrete as one alone would, over the ground at its uphill face, half of a 6x6 past its middle."""
    stair = {"edge": "front", "width": 36, "rise": 6.5, "at": 18}
    d = deck(100, 60, {"surface": 17, "slope_x": -0.06}, frame=FLUSH, stair=[stair])
    shared = next(f for f in d.layout.footings if len(f.stands) == 2)
    uphill = min(s.centre[0] for s in shared.stands)
    assert not faults(d) and np.isclose(shared.top, -0.06 * (uphill - 5.5 / 2))


@pytest.mark.parametrize("slope", [-0.08, 0.08])
@pytest.mark.parametrize("above", [0, 0.25, 2])
def test_post_bases_are_clear_of_the_soil_uphill_of_them(slope, above):
    """Under the landing and the cross pieces of a long stair, up and down the hill, as under the deck: a base is clear
    at its uphill edge, though the concrete ends no more than `above` over the ground at its middle."""
    stair = {"edge": "front", "landings": [{"after_risers": 8, "turn": "left"}]}
    frame = {"support": "free-standing", "footing": {"above_grade": above}}
    d = deck(150, 110, {"surface": 130, "slope_x": 0.05, "slope_y": slope}, frame=frame, stair=[stair])
    bases = of(d, "post base")
    assert {b.stair for b in bases} == {None, 0} and not faults(d)
    for b in bases:
        assert float(b.box[0, 2]) >= max(0.05 * x + slope * y for x, y, _ in b.vertices) - 1e-9


def test_a_skirt_and_a_header_are_cut_over_concrete_that_reaches_under_them():
    """The posts beside a stair stand on one wide footing, uphill of the stair's pad and so higher than that."""
    stair = {"edge": "front", "width": 36, "rise": 6.5, "at": 30}
    d = deck(100, 60, {"surface": 13.5, "slope_y": 0.05}, frame=FLUSH, stair=[stair])
    assert of(d, "skirt") and of(d, "stair header") and not faults(d)


def test_a_guard_post_over_a_pads_edge_ends_above_it():
    """The pad lies as high as the ground on one side of the stair; on the other, 36 in down a slope of 6 in 100, a
    footing comes up into it, and it leaves half an inch round that: there the post hangs on its stringer."""
    stair = {"edge": "front", "width": 36, "rise": 6.5, "at": 22, "guards": "both"}
    d = deck(120, 60, {"surface": 12, "slope_x": -0.06}, frame=FLUSH, guard={"post": "6x6"}, stair=[stair])
    over = sorted(float(p.box[0, 2]) - d.layout.pads[0].top for p in of(d, "guard post") if p.stair == 0)
    assert np.allclose(over, [0.0, 0.5]) and not faults(d)


def test_concrete_ends_under_the_guard_post_that_it_reaches_under():
    """The footing of the deck's corner, uphill of the stair, with its edge under the post at the stair's foot."""
    frame = {**FLUSH, "footing": {"above_grade": 0, "size": 36}}
    stair = {"edge": "front", "width": 36, "rise": 6.5, "at": 22, "guards": "both"}
    d = deck(120, 60, {"surface": 12, "slope_x": -0.06}, frame=frame, guard={"post": "6x6"}, stair=[stair])
    assert of(d, "guard post") and not faults(d)


def test_a_footing_is_no_smaller_than_the_foot_of_its_post():
    """A load so small asks for 8 in of concrete (IRC 2021 Table R507.3.1); a post 7-1/2 in square has a diagonal of
    10.6 in."""
    d = deck(42, 40, {"surface": 40}, frame={"post": "8x8"})
    assert {f.size for f in d.layout.footings} == {12.0} and not faults(d)


def pad_rows(d: Deck) -> list:
    return [r for r in check_deck(d) if r.rule == OVER_PAD]


def test_no_ground_lies_over_the_pad_where_grade_rises_in_front_of_the_stair():
    """Grade rises 8 in 100 away from the deck: the pad's top is level with it at the pad's far side (common practice,
    no source), and the risers come out alike down to there."""
    d = deck(120, 100, {"surface": 39, "slope_y": -0.08}, stair=[{"edge": "front"}])
    pad = of(d, "pad")[0]
    assert np.isclose(pad.box[1, 2], -0.08 * pad.box[0, 1])
    assert [r.result for r in pad_rows(d)] == ["met"] and not faults(d)
    steps = sorted({round(float(p.box[1, 2]), 6) for p in of(d, "tread")} | {39.0, round(float(pad.box[1, 2]), 6)})
    assert np.allclose(np.diff(steps), np.diff(steps)[0])


def test_a_pad_stands_on_the_ground_on_its_low_side():
    """1 in 6 down over its depth is more than the 4 in of concrete that the file gives: it is cast thicker, and a note
    says so."""
    d = deck(120, 100, {"surface": 39, "slope_y": 1 / 6}, stair=[{"edge": "front"}])
    pad = of(d, "pad")[0]
    assert np.isclose(pad.box[0, 2], pad.box[0, 1] / 6) and np.ptp(pad.box[:, 2]) > 4
    assert any("thick, not 4" in worded(n) for n in d.notes)


def test_ground_that_would_take_the_stair_is_cut_back_over_the_pad():
    """A surface 9 in over grade that rises 1 in 7: at the far side of the pad it is higher than half of the step, so
    the pad lies as high as the ground at the foot, and the row says what has to be cut."""
    d = deck(120, 100, {"surface": 9, "slope_y": -1 / 7}, stair=[{"edge": "front"}])
    (row,), pad = pad_rows(d), of(d, "pad")[0]
    assert row.result == "not met" and np.isclose(row.measured, -pad.box[0, 1] / 7 - pad.box[1, 2])


@pytest.mark.parametrize("slope", [0.0, 0.07])
@pytest.mark.parametrize("width", [42, 60])
def test_footings_under_a_last_short_flight_are_cast_with_its_pad(slope, width):
    """One tread down from a landing to the ground: the footings of the landing's posts reach under the pad at the foot
    and come up to its top, so that the stringers stand on concrete and the floor before the lowest riser is whole."""
    stair = {"edge": "front", "width": width, "landings": [{"after_risers": 13, "turn": "straight"}]}
    outline, levels = {"width": 204, "depth": 176}, {"surface": 111, "slope_x": slope, "slope_y": slope / 2}
    d = build(Parameters.model_validate({"outline": outline, "levels": levels, "stair": [stair]}))
    (pad,) = of(d, "pad")
    under = [p for p in of(d, "footing") if p.footprint.distance(pad.footprint) < 0.01 and p.stair == 0]
    assert under and all(p.box[1, 2] == pytest.approx(pad.box[1, 2]) for p in under)
    assert not d.clashes
    rows = {"landing length", "landing width", "end of a member held", FOOTING, GROUND, OVERLAP}
    bad = [f"{r.rule}: {worded(r.place)}" for r in check_deck(d) if r.result == "not met" and r.rule in rows]
    assert not bad
