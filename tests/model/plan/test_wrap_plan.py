"""Which stairs go on round a corner, and what refuses them: with the value named the plan is drawn. Decks invented."""

from __future__ import annotations

import copy

import pytest

from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.hip import hip_plies, jacks
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.plan.would_do import with_value
from plumbcut.shared.errors import DesignError

FILE = {
    "outline": {"width": 174, "depth": 138},
    "levels": {"surface": 20},
    "stair": [{"edge": "front", "width": 174, "wrap": True}, {"edge": "right", "width": 138}],
}


def changed(**stairs: dict) -> dict:
    """The file with keys of the first and the second stair; those of other names are sections."""
    made = copy.deepcopy(FILE)
    for name, keys in stairs.items():
        at = {"first": made["stair"][0], "second": made["stair"][1]}.get(name)
        (made.setdefault(name, {}) if at is None else at).update(keys)
    return made


def plan_of(file: dict):
    return lay_out(Parameters.model_validate(file))


def test_either_stair_says_it_and_both_are_mitred():
    for file in (FILE, changed(first={"wrap": False}, second={"wrap": True})):
        first, second = plan_of(file).stair_plans
        assert first.flights[0].mitres == pytest.approx((0, 1)) and second.flights[0].mitres == pytest.approx((1, 0))
        assert first.pad_top == second.pad_top and first.rise == second.rise
    apart = plan_of(changed(first={"wrap": False}))
    assert [p.flights[0].mitres for p in apart.stair_plans] == [(0, 0), (0, 0)]


def test_grade_that_slopes_leaves_one_level_at_the_foot():
    """That of the highest ground under both feet, though each alone would end at its own."""
    levels = {"slope_x": 0.03, "slope_y": 0.02}
    both = plan_of(changed(levels=levels)).stair_plans
    alone = plan_of(changed(levels=levels, first={"wrap": False})).stair_plans
    assert both[0].pad_top == both[1].pad_top and both[0].risers == both[1].risers
    assert abs(alone[0].pad_top - alone[1].pad_top) > 1
    assert both[0].pad_top >= max(p.pad_top for p in alone) - 1


def test_a_stair_within_a_sixteenth_of_the_corner_reaches_it():
    """A slanted edge's length is no number that anybody writes out; common practice, no source."""
    first, second = plan_of(changed(first={"width": 173.96, "at": 0}, second={"width": 60, "at": 0.05})).stair_plans
    assert first.flights[0].width == pytest.approx(174) and second.spot.start == 0
    with pytest.raises(DesignError, match="no stair of an edge beside front reaches"):
        plan_of(changed(first={"width": 173, "at": 0}))


def test_jacks_begin_at_the_hip_and_one_step_has_none():
    flight = plan_of(FILE).stair_plans[0].flights[0]
    [ply] = hip_plies(flight)
    for jack in jacks(flight, "end"):
        corners = [ply.flight.position(flight.point(x, s)) for x, s in jack.wedge.exterior.coords]
        assert sum(abs(s + 1.5) < 1e-9 for _, s in corners) >= 2  # along the ply's outer face, 1-1/2 in off the mitre
    low = plan_of(changed(levels={"surface": 7.5})).stair_plans[0].flights[0]
    assert low.one_step and not hip_plies(low)


@pytest.mark.parametrize(
    "file, key",
    [
        (changed(second={"rise": 7}), "stair.1.rise"),
        (changed(second={"going": 11}), "stair.1.going"),
        (changed(second={"nosing": 1.25}), "stair.1.nosing"),
        (changed(second={"stringer": "2x10"}), "stair.1.stringer"),
        (changed(second={"total_rise": 20}), "stair.0.total_rise"),
        (changed(first={"kind": "box"}, second={"kind": "box"}), "stair.0.kind"),
        (changed(first={"stringer_kind": "solid"}), "stair.0.stringer_kind"),
        (changed(second={"tread": "bordered"}), "stair.1.tread"),
        (changed(levels={"surface": 40}, second={"landings": [{"after_risers": 2}]}), "stair.1.landings"),
        (changed(surface={"edge_overhang": {"right": 2}}), "surface.edge_overhang.right"),
        (changed(second={"at": 20, "width": 60}), "stair.0.wrap"),
    ],
)
def test_what_is_refused_names_values_that_would_do(file, key):
    with pytest.raises(DesignError) as refused:
        plan_of(file)
    assert refused.value.key == key and refused.value.values
    p = Parameters.model_validate(file)
    for name, value in refused.value.values:
        p = with_value(p, name, value)
    lay_out(p)


def test_a_sharp_corner_wants_a_width_for_its_hip():
    """At 30 degrees a ply takes 1.5 in over the sine of half of it, 5.8 in, of the edge; two stringers stand beside
    it."""
    file = {
        "outline": {"points": [[0, 0], [174, 0], [44, 75], [0, 75]], "house": ["e3"]},
        "levels": {"surface": 15},
        "stair": [{"edge": "e1", "width": 7, "at": 167, "wrap": True}, {"edge": "e2", "width": 40, "at": 0}],
    }
    with pytest.raises(DesignError) as refused:
        plan_of(file)
    assert refused.value.key == "stair.0.width" and 8.7 < float(refused.value.values[0][1]) < 9
