"""Frames of decks left to the program that once failed: beside a wall, in corners, under heavy loads."""

from __future__ import annotations

import math

import numpy as np

from plumbcut.model.design.costs import Costs
from plumbcut.model.design.designed import designed
from plumbcut.model.design.estimate import estimated
from plumbcut.model.design.joist_rows import rows_of
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.plan.house_places import from_wall
from plumbcut.model.plan.joist_spans import spans
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.plan.long_spans import allowed_joist_span, calculated_joist_span
from plumbcut.model.plan.off_the_wall import PAST_LAST_JOIST
from plumbcut.model.rules.check_frame import check_frame
from plumbcut.model.rules.check_house import OFF_WALL, check_house
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.strength.nds import Lumber, modulus
from plumbcut.model.structure.structure import analyse


def read(points, house, surface, **more) -> Parameters:
    plain = {
        "outline": {"points": points, "house": house},
        "levels": {"surface": surface},
        "local": {"frost_depth": 36.0},
    }
    return Parameters.model_validate(plain | more)


def not_met(made) -> list[str]:
    c = Checking(made.deck, measure_all(made.deck.parts))
    check_frame(c, analyse(made.deck))
    check_house(c)
    return [str(r.rule) for r in c.results if r.result == "not met"]


U_SHAPE = [(0, 0), (336, 0), (336, 192), (228, 192), (228, 108), (108, 108), (108, 192), (0, 192)]
WRAP = [(0, 0), (288, 0), (288, 240), (168, 240), (168, 108), (0, 108)]
TRAPEZE = [(39.5, 0), (160.5, 0), (189, 199), (0, 199)]
CLIPPED = [(36, 0), (216, 0), (258, 48), (258, 168), (0, 168), (0, 48)]
SOFT = {"soil_bearing_psf": 1000.0}


def test_beams_are_laid_again_where_footings_come_out_larger_than_the_room_at_the_wall():
    p = read([(0, 0), (240, 0), (240, 168), (0, 168)], ["e3"], 44.0, frame={"support": "free-standing"}, loads=SOFT)
    layout = lay_out(p)
    assert layout.footing_size > 27.0
    assert layout.at_wall == layout.footing_size
    assert all(from_wall(layout, s.centre, s.size) >= -1e-3 for s in layout.footings)


def test_a_usual_footing_leaves_the_beams_where_they_were():
    layout = lay_out(read([(0, 0), (240, 0), (240, 168), (0, 168)], ["e3"], 44.0, frame={"support": "free-standing"}))
    assert layout.at_wall == 0.0


def test_a_last_post_at_the_wall_takes_all_that_the_span_behind_it_leaves():
    frame = {"support": "free-standing", "beam_lines": [60, 150], "joist_direction": "x", "post_spacing": 200}
    p = read([(0, 0), (210, 0), (210, 78), (0, 78)], ["e3"], 44.0, loads=SOFT, frame=frame)
    for run in lay_out(p).runs:
        at = sorted(run.position(q) for q in run.posts)
        assert run.length - at[-1] > run.length / 6  # of both ends at the wall it would be no more
        assert run.length - at[-1] <= (at[1] - at[0]) / 4 + 1e-6


def test_joists_under_snow_span_no_further_than_the_calculation_lets_them():
    p = read(U_SHAPE, ["e4"], 58.0, loads={"ground_snow_psf": 70.0}, frame={"support": "free-standing"})
    layout = lay_out(p)
    assert allowed_joist_span(layout) <= calculated_joist_span(p, layout.joist, layout.joist_spacing)
    longest = max(hi - lo for _, piece in layout.joist_lines for lo, hi in spans(layout, piece, layout.runs))
    assert longest <= calculated_joist_span(p, layout.joist, layout.joist_spacing) + 1e-6
    assert allowed_joist_span(lay_out(read(U_SHAPE, ["e4"], 58.0))) > allowed_joist_span(layout)


def test_a_joist_is_bent_by_snow_for_as_long_as_snow_lies():
    """By hand, southern pine No.2 2x8 at 16 in, Fb 925 psi, Cr 1.15: D + L at CD 1.0, D + 0.75 L + 0.75 S at 1.15 (NDS
    Table 2.3.2)."""
    section = 1.5 * 7.25**2 / 6
    bent = lambda psf, cd: math.sqrt(8 * 925 * 1.15 * cd * section / (psf * 16 / 144))
    for snow, psf, cd in ((0.0, 50.0, 1.0), (40.0, 70.0, 1.15), (70.0, 92.5, 1.15)):
        p = read(U_SHAPE, ["e4"], 58.0, loads={"ground_snow_psf": snow})
        assert math.isclose(calculated_joist_span(p, p.stock("2x8"), 16.0), bent(psf, cd), rel_tol=1e-3)


def test_a_joist_is_deflected_by_live_load_or_snow_not_by_three_quarters_of_both():
    """As its members are judged: L/360 under 90 psf would be 108.4 in, under the greater of both it is 124; what
    is left to govern is D + 0.75 L + 0.75 S in bending."""
    p = read(U_SHAPE, ["e4"], 58.0, loads={"ground_snow_psf": 60.0, "live_psf": 60.0, "dead_psf": 0.0})
    e, section = modulus(Lumber.of(p.lumber), "2x8").value, 1.5 * 7.25**2 / 6
    deflected = lambda psf: (384 * e * section * 7.25 / 2 / (5 * 360 * psf * 16 / 144)) ** (1 / 3)
    bent = math.sqrt(8 * 925 * 1.15 * 1.15 * section / (90 * 16 / 144))
    assert deflected(90) < bent < deflected(60)
    assert math.isclose(calculated_joist_span(p, p.stock("2x8"), 16.0), bent, rel_tol=1e-3)


def test_a_trapeze_without_a_ledger_lays_its_joists_along_the_house_where_corners_fail_the_other_way():
    p = read(TRAPEZE, ["e3"], 100.0, frame={"support": "free-standing"}, loads={"soil_bearing_psf": 2000.0})
    made = designed(p)
    assert not_met(made) == []
    assert made.deck.parameters.frame.joist_direction == "x"


def test_guard_posts_that_fail_leave_the_frame_alone():
    p = read(
        [(0, 0), (168, 0), (168, 132), (0, 132)],
        ["e3"],
        44.0,
        lumber={"species": "spruce-pine-fir"},
        guard={"height": 42.0},
        loads={"soil_bearing_psf": 3000.0},
    )
    made = designed(p)
    kinds = {m.kind for m, _ in made.faults}
    assert kinds == {"guard post"}
    assert made.built <= 4


def test_a_clipped_deck_in_spruce_on_soft_soil_takes_a_straight_beam():
    p = read(CLIPPED, ["e4"], 38.0, loads=SOFT, lumber={"species": "spruce-pine-fir"}, stair=[{"edge": "e1"}])
    made = designed(p)
    assert not_met(made) == []
    assert len(made.deck.roles("post")) == 4  # nine with beams along the edges


def test_the_last_post_in_an_obtuse_corner_bears_the_rim_mitred_there():
    p = read([(36, 0), (204, 0), (240, 36), (240, 132), (0, 132), (0, 36)], ["e4"], 14.0)
    assert not_met(designed(p)) == []


def test_no_piece_of_a_flush_beam_is_left_beside_the_joists_it_is_added_for():
    p = read([(0, 0), (156, 0), (156, -84), (264, -84), (264, 132), (0, 132)], ["e5"], 14.0)
    layout = lay_out(p)
    added = [r for r in layout.runs if r.edge is None]
    assert len(added) == 1 and added[0].length > 100
    assert not_met(designed(p)) == []


def test_a_beam_that_runs_up_to_a_ledger_ends_past_the_last_joist_where_its_footing_has_no_room():
    p = read(WRAP, ["e4", "e5"], 44.0, loads={"ground_snow_psf": 70.0} | SOFT)
    layout = lay_out(p)
    run = next(r for r in layout.runs if r.edge == "e6")
    joists = max(y for _, piece in layout.joist_lines for _, y in piece.exterior.coords if y < 108)
    assert max(y for ply in run.plies for _, y in ply.exterior.coords) == joists + 1.5 + PAST_LAST_JOIST
    assert OFF_WALL not in not_met(designed(p))


def test_joists_hang_askew_on_a_wall_that_stands_askew_to_the_deck():
    p = read([(0, 0), (230, 0), (230, 170), (0, 110)], ["e3"], 42.0, stair=[{"edge": "e1"}])
    made = designed(p)
    assert not_met(made) == []
    assert made.deck.parameters.frame.joist_direction == "y"
    assert len(made.deck.roles("post")) <= 6  # ten, some two feet apart, with joists square to the wall


def test_loads_of_an_area_count_before_a_frame_is_built():
    ring = [(117.61, 23.84), (38.16, 113.77), (-79.45, 89.93), (-117.61, -23.84), (-38.16, -113.77), (79.45, -89.93)]
    tub = {"name": "tub", "polygon": [[-40, -40], [44, -40], [44, 44], [-40, 44]], "psf": 100.0}
    plain, loaded = (lay_out(read(ring, [], 30.0, **more)) for more in ({}, {"area_load": [tub]}))
    rows = rows_of(loaded)
    assert max(rows.more_load(120.0)) > 80 and min(rows.more_load(120.0)) == 0
    assert max(rows.weighs_more(50.0)) > 1.5 and max(rows_of(plain).weighs_more(50.0)) == 1
    apart = [
        min(np.max(np.diff([0.0, *e.keys["beam_lines"]])) for e in estimated(layout, set(), Costs()))
        for layout in (plain, loaded)
    ]
    assert apart[1] < apart[0]
