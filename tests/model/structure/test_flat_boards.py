"""Boards laid flat against a published table of treads, and a second solver (Pynite)."""

from __future__ import annotations

import Pynite
import pytest
from plain_frame import loads

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.check_boards import check_boards
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.strength.nds import Lumber, NoValue
from plumbcut.model.structure.flat_boards import FlatBoard, check_flat_board, span_that_does
from plumbcut.model.structure.structure import analyse
from plumbcut.shared.standards import assumed, limit
from plumbcut.shared.stock import Stock, lumber

SP = Lumber()  # southern pine No.2, wet
E_WET = 1.4e6 * 0.9  # psi: NDS Supplement Table 4B, CM 0.9 (from memory)
TREAD = assumed("tread_deflection_ratio")
SINGLE = limit("stair_tread_concentrated_load", "IRC 2021")


def board(size, span, gap=0.0):
    s = lumber(size)
    return FlatBoard(s, s.width, s.thickness, span, s.width + gap)


@pytest.mark.parametrize(
    "size, span, met",
    [
        ("2x8", 36.0, True),  # DCA 6-2012 Table 6: southern pine between solid stringers (from memory)
        ("2x6", 34.5, False),  # DCA 6 as read in a forum (seen): two 2x6 do not span so far
    ],
)
def test_treads_come_out_as_the_guide_has_them(size, span, met):
    found = check_flat_board(board(size, span), SP, loads(), TREAD, SINGLE)
    assert {v.check for v in found} == {"bending", "shear", "deflection"}
    assert ({v.result for v in found} == {"met"}) == met


def simple(span, breadth, depth, point=0.0, line=0.0):
    """Greatest moment, shear and deflection of a simple beam, lb and in, by Pynite."""
    model = Pynite.FEModel3D()
    model.add_material("wood", E_WET, E_WET, 0.3, 0.0)
    inertia = breadth * depth**3 / 12
    model.add_section("flat", breadth * depth, inertia, inertia, 1.0)
    for name, x in (("a", 0.0), ("b", span)):
        model.add_node(name, x, 0, 0)
        model.def_support(name, name == "a", True, True, True, False, False)
    model.add_member("m", "a", "b", "wood", "flat")
    model.add_member_pt_load("m", "FY", -point, span / 2)
    model.add_member_dist_load("m", "FY", -line, -line)
    model.analyze_linear()
    m = model.members["m"]
    return abs(m.min_moment("Mz")), m.max_shear("Fy"), abs(m.min_deflection("dy"))


@pytest.mark.parametrize("span, psf", [(24.0, (40, 10)), (16.0, (400, 10))])
def test_a_boards_stresses_by_a_second_solver(span, psf):
    """Each check is the worse of 300 lb at mid-span and of the uniform load on the board's width and one gap; the shear
    of a single load is all of it beside a bearing."""
    live, dead = psf
    b = board("2x6", span, gap=0.25)
    found = {v.check: v for v in check_flat_board(b, SP, loads(live, dead), TREAD, SINGLE)}
    one, all_over, moving = (
        simple(span, 5.5, 1.5, **how)
        for how in ({"point": 300}, {"line": (live + dead) * 5.75 / 144}, {"line": live * 5.75 / 144})
    )
    assert found["bending"].demand == pytest.approx(max(one[0], all_over[0]) / (5.5 * 1.5**2 / 6), rel=1e-3)
    assert found["shear"].demand == pytest.approx(1.5 * max(300, all_over[1]) / (5.5 * 1.5), rel=1e-3)
    assert found["deflection"].demand == pytest.approx(max(one[2], moving[2]), rel=1e-3)
    assert found["deflection"].capacity == span / 288


@pytest.mark.parametrize("point", [SINGLE, None])
def test_on_the_span_that_does_a_check_stands_on_its_limit(point):
    seen = 0
    for v in check_flat_board(board("2x6", 60.0), SP, loads(200), TREAD, point):
        if (most := span_that_does(board("2x6", 60.0), v)) is not None:
            again = next(
                w for w in check_flat_board(board("2x6", most), SP, loads(200), TREAD, point) if w.check == v.check
            )
            assert again.ratio == pytest.approx(1, abs=0.03) or again.combination != v.combination
            seen += 1
    assert seen >= 2


def test_a_board_of_no_published_strength_gives_none():
    with pytest.raises(NoValue):
        check_flat_board(
            FlatBoard(Stock("1 x 5.5", 1.0, 5.5, "treated lumber"), 5.5, 1.0, 16, 5.75), SP, loads(), TREAD
        )


def rows(surface, **stair):
    given = {"outline": {"width": 200, "depth": 130}, "levels": {"surface": 40}, "surface": surface}
    sides = [{"edge": "front", "at": 60, **stair}, {"edge": "right", "at": 40, **stair}]
    deck = build(Parameters.model_validate({**given, "stair": sides}))
    c = Checking(deck, measure_all(deck.parts))
    check_boards(c, analyse(deck))
    return c.results


def test_treads_without_published_values_are_one_row_of_a_kind_and_the_makers_value_decides():
    [row] = [r for r in rows({}) if r.rule == "tread span"]
    assert row.result == "not checked" and "stair.tread_max_span" in worded(row.why) and len(row.ids) == 4
    found = [r for r in rows({}, tread_max_span=16) if r.rule == "tread span"]
    assert [r.result for r in found] == ["met", "met"] and {r.limit for r in found} == {16}
    found = [r for r in rows({}, tread_max_span=8) if r.rule == "tread span"]
    assert [r.result for r in found] == ["not met"] * 2
    assert all("8 in on centre would do (stair.stringer_spacing)" in worded(r.why) for r in found)


def test_boards_of_2x_lumber_are_calculated_and_those_of_5_4_have_their_table_alone():
    """2x6 on joists 16 in apart, w L2 / 8 on 5-3/4 in (handbook)."""
    two_by = {"material": "treated lumber", "board_thickness": 1.5}
    found = {r.rule: r for r in rows(two_by) if r.rule.startswith(("board", "tread"))}
    assert {f"{k}, {c}" for k in ("board", "tread") for c in ("bending", "shear", "deflection")} <= set(found)
    span = found["board span"].measured
    assert found["board, bending"].measured == pytest.approx(50 * 5.75 / 144 * span**2 / 8 / 2.0625, rel=1e-3)
    assert {r.result for r in found.values()} == {"met"}
    five_four = {"material": "treated lumber", "board_thickness": 1.0}
    assert "board, bending" not in {r.rule for r in rows(five_four)}
