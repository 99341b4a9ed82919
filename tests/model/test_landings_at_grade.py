"""Stairs that come down to the ground halfway, cross a pad that lies on it, and go on down a slope.

Grade is worked out by hand; the program's own checks of its solids are asked for the rest."""

from __future__ import annotations

import numpy as np
import pytest

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import Deck, build
from plumbcut.model.design.advised import checked_with_mends
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.fasteners import fasteners
from plumbcut.model.rules.check_landings import OFF_PAD
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import check_solids
from plumbcut.model.rules.checks import check_deck

SLOPE = 0.15


def on_a_slope(slope: float = SLOPE, surface: float = 40.0, **stair) -> Deck:
    """A deck 168 in wide whose stair leaves to the right, down the slope of the ground."""
    stair = {"edge": "right", "width": 40, "landings": [{"after_risers": 11}], **stair}
    given = {"outline": {"width": 168, "depth": 132}, "levels": {"surface": surface, "slope_x": -slope}}
    return build(Parameters.model_validate({**given, "stair": [stair]}))


def unheld(d: Deck) -> list[str]:
    c = Checking(d, measure_all(d.parts))
    check_solids(c)
    return [f"{r.rule}: {worded(r.place)}: {worded(r.why)}" for r in c.results if r.result == "not met"]


def test_a_stair_goes_on_from_a_pad_on_the_ground_with_all_rises_alike():
    """11 rises of 7-1/2 in reach the ground, 15 in 100 deeper at their foot; past the pad, 46 in on, it lies 6.9 in
    deeper: one more rise, and all of them a little less. The pad's top is on the ground, not a rise above it."""
    d = on_a_slope()
    plan = d.layout.stair_plans[0]
    assert [f.risers for f in plan.flights] == [11, 1] and plan.landings[0].on_ground
    pad = next(p for p in d.roles("pad") if "landing" in p.where)
    over = pad.box[1, 2] - (-SLOPE * pad.box[0, 0])
    assert 0 <= over < plan.rise / 2 and pad.box[0, 2] <= -SLOPE * pad.box[1, 0] + 1e-9
    flights = Checking(d, measure_all(d.parts)).seen.flights(0)
    assert np.allclose([r for f in flights for r in f.rises], plan.rise) and len(flights) == 2
    assert not unheld(d)
    assert not [r for r in check_deck(d) if r.result == "not met" and r.rule.startswith(("rise", "landing"))]


@pytest.mark.parametrize("slope, surface", [(0.0, 82.5), (0.05, 68.0)])
def test_where_the_ground_hardly_falls_on_the_landing_is_the_foot(slope, surface):
    plan = on_a_slope(slope, surface).layout.stair_plans[0]
    assert (len(plan.flights), plan.risers) == (1, 11)
    assert any("it is the pad at its foot" in worded(n) for n in plan.notes)


@pytest.mark.parametrize("kind", [{}, {"stringer_kind": "solid"}, {"tread": "bordered"}, {"risers": "open"}])
def test_a_flight_hangs_on_a_header_anchored_to_the_pads_edge(kind):
    """Ground that falls by 22 in 100 asks for two more rises: their stringers begin at a header as thick as the deck's
    joists, which lies against the concrete all along."""
    d = on_a_slope(0.22, 24.0, **kind)
    plan = d.layout.stair_plans[0]
    below = plan.flights[1]
    assert below.risers == 2 and not unheld(d)
    header = next(p for p in d.roles("stair header") if "landing" in p.where)
    pad = next(p for p in d.roles("pad") if "landing" in p.where)
    assert pad.id in header.carried_by and np.isclose(header.box[0, 0], pad.box[1, 0])
    strings = [p for p in d.roles("stringer") if "flight 2" in p.where]
    assert strings and all(header.id in s.carried_by and np.isclose(s.box[0, 0], header.box[1, 0]) for s in strings)
    # 40 in of header: 4 in from each end and at most 16 in between, as its row says (common practice, no source)
    counted = {h.item: h.places for h in fasteners(measure_all(d.parts), d.contacts)}
    assert counted["header anchor"] == 3


def test_no_wood_is_in_the_ground_where_more_rises_would_put_the_pad_deeper():
    """Down to the ground the rises come out at 7.2 in; two more of 7.5 in would put the landing into it."""
    d = on_a_slope(0.22, 20.0)
    assert d.layout.stair_plans[0].landings[0].on_ground and not unheld(d)


TURNS = {
    "left": ({"surface": 40, "slope_x": -0.2}, 100, 7),
    "right": ({"surface": 73.6, "slope_x": 0.2}, 28, 7),
    "back": ({"surface": 40, "slope_y": -0.2}, 64, 3),
}


@pytest.mark.parametrize("turn", TURNS)
def test_a_stair_turns_on_a_pad(turn):
    """Ground that falls to the side to which the stair turns: along the front edge, or towards the house."""
    levels, at, after = TURNS[turn]
    stair = {"edge": "front", "width": 40, "at": at, "landings": [{"after_risers": after, "turn": turn}]}
    given = {"outline": {"width": 168, "depth": 132}, "levels": levels, "stair": [stair]}
    d = build(Parameters.model_validate(given))
    plan = d.layout.stair_plans[0]
    assert plan.landings[0].on_ground and plan.flights[1].risers > 1 and not unheld(d)
    header = next(p for p in d.roles("stair header") if "landing" in p.where)
    assert any(i.startswith("PD") for i in header.carried_by)


@pytest.mark.parametrize(
    "slope, depth, result, mend",
    [(0.1, 40, "met", ""), (0.15, 44, "not met", "stair.0.pad.depth = 40.0625"), (0.22, 40, "not met", "stair.0.at")],
)
def test_the_drop_from_a_foot_pad_is_held_against_the_highest_rise(slope, depth, result, mend):
    """Over the 7-3/4 in that a rise may be (IRC 2018 R311.7.5.1) there is no step for it. The ground is as high as the
    pad under its back, so that the drop is what the ground falls from there to the pad's front."""
    d = on_a_slope(slope, 40.0, landings=[], pad={"depth": depth})
    (row,) = [r for r in checked_with_mends(d) if r.rule == OFF_PAD]
    pad = d.roles("pad")[0]
    assert np.isclose(row.measured, pad.box[1, 2] + slope * pad.box[1, 0]) and row.limit == 7.75
    assert row.result == result and mend in worded(row.why)
    assert (row.measured <= 7.75) == (result == "met")


def test_no_drop_is_judged_where_the_rise_was_measured():
    d = on_a_slope(0.15, 40.0, landings=[], total_rise=82)
    assert [r.result for r in check_deck(d) if r.rule == OFF_PAD] == ["not checked"]


def test_a_pad_as_shallow_as_told_does():
    d = on_a_slope(0.15, 40.0, landings=[], pad={"depth": 40.0625})
    assert [r.result for r in check_deck(d) if r.rule in (OFF_PAD, "landing length")] == ["met"] * 3


def test_no_other_place_is_named_of_a_stair_as_wide_as_its_edge():
    d = on_a_slope(0.22, 40.0, landings=[], pad={"depth": 40}, width=132)
    (row,) = [r for r in checked_with_mends(d) if r.rule == OFF_PAD]
    assert "stair.0.width" in worded(row.why) and "stair.0.at" not in worded(row.why)
