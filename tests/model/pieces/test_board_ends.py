"""What every board's end rests on, on whole decks shrunk from ones drawn by lot. The figures are common practice
without a source."""

from __future__ import annotations

import math

import pytest
import shapely
from shapely.geometry import box

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.bearing import bearing_report, half_bearings, hanging
from plumbcut.model.measuring.board_spans import board_spans
from plumbcut.model.measuring.loose_ends import touching
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.pieces import end_blocks
from plumbcut.model.plan.board_runs import FRAGILE
from plumbcut.model.plan.board_shapes import fastened, without_strips
from plumbcut.model.plan.splits import split
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import check_solids
from plumbcut.model.solid.board_ends import LEAST_BEARING, NOTCH, bears, on_both_halves
from plumbcut.model.solid.part import Workshop
from plumbcut.model.solid.roles import named
from plumbcut.shared.stock import Stock, lumber

LOW = {"surface": 20}  # inches above grade: no guard, so no posts to notch round


def deck(outline: dict, levels: dict = LOW, **sections) -> Deck:
    return build(Parameters.model_validate({"outline": outline, "levels": levels, **sections}))


def faults(made: Deck) -> list[str]:
    """What the program says against its own solids."""
    c = Checking(made, measure_all(made.parts))
    check_solids(c)
    return [f"{r.rule} | {worded(r.place)} | {worded(r.why)}" for r in c.results if r.result == "not met"]


def test_ends_taken_for_borne_at_one_look_are_borne_one_by_one(monkeypatch):
    """What is left out of the search for blocks bears by the slow way too; on this deck most ends do, and some need a
    block."""
    seen = {True: 0, False: 0}
    at_once = end_blocks._surely_borne

    def watched(claims, ends, back, least):
        found = at_once(claims, ends, back, least)
        borne = bears if least == LEAST_BEARING else on_both_halves  # those of a border
        under = shapely.transform(shapely.union_all([m.polygon for m in claims.members]), lambda p: p @ back)
        for (outline, faces), sure in zip(ends, found):
            seen[bool(sure)] += 1
            assert borne(outline, faces, under) or not sure
        return found

    monkeypatch.setattr(end_blocks, "_surely_borne", watched)
    points = [[74, -5.1], [50.4, -32], [52, -59], [25.7, -59], [2, -82.7], [2, -115], [139, -115], [139, 0]]
    frame = {"joist_direction": "y", "joist_spacing": 19.2, "rim_plies": 2}
    deck({"points": points, "house": ["e7"]}, surface={"border": {"courses": 3}}, trim={"fascia": False}, frame=frame)
    assert seen[True] > 20 and seen[True] > 4 * seen[False] > 0


NARROW = {"board_width": 3.5, "overhang": 1.25}


@pytest.mark.parametrize(("courses", "inner"), [(1, False), (2, True)])
def test_a_border_is_of_boards_wide_enough_to_bear_beside_what_overhangs(courses, inner):
    # with a fascia of 3/4 in the surface stands 2 in out: the outer half of a board of 3.5 in would lie in the air
    made = deck({"width": 150, "depth": 110}, surface={**NARROW, "border": {"courses": courses, "at_house": inner}})
    assert {p.stock.width for p in made.roles("border")} == {5.5} and {p.stock.width for p in made.roles("board")} == {
        3.5
    }
    assert hanging(made.parts) == [] and faults(made) == []
    assert max(h.gap for h in half_bearings(made.parts)) <= 3.0  # a mitre's tip
    assert any('border is of boards 5 1/2"' in worded(n) for n in made.notes)


def test_a_border_as_narrow_as_the_file_asks_stays_and_is_said():
    made = deck({"width": 150, "depth": 110}, surface={**NARROW, "border": {"width": 3.5}})
    assert {p.stock.width for p in made.roles("border")} == {3.5}
    assert any("one half of the border rests on nothing" in f for f in faults(made))


def test_a_border_that_bears_is_as_wide_as_the_boards():
    made = deck({"width": 150, "depth": 110}, surface={"board_width": 3.5}, trim={"fascia": False})
    assert {p.stock.width for p in made.roles("border")} == {3.5} and faults(made) == []


@pytest.mark.parametrize(
    ("surface", "plies"),
    [
        # under a border 2 1/2 in in from the rim's outer face its block reaches 3 in in, and the field's ends begin at
        # 2 5/8 in: of a block there 1 1/8 in would be left, too thin for screws
        ({"board_width": 3.5, "direction": 45, "border": {"width": 3.5}}, 1),
        # the block under the border begins at the inner face of the rim's two plies
        ({"board_width": 5.5, "direction": -30, "overhang": 1.25}, 2),
    ],
)
def test_blocks_under_a_border_and_the_field_beside_it_leave_one_another_their_thickness(surface, plies):
    made = deck(
        {"width": 86, "depth": 73},
        surface=surface,
        trim={"fascia": False},
        frame={"rim_plies": plies, "joist_spacing": 16},
    )
    assert [str(e) for e in hanging(made.parts)] == []


def test_joists_of_a_landing_stand_no_further_apart_than_the_decks():
    stair = {"edge": "front", "landings": [{"after_risers": 6, "turn": "left"}]}
    made = deck(
        {"width": 150, "depth": 110},
        {"surface": 100},
        frame={"joist_spacing": 8},
        stair=[stair],
    )
    assert any(p.role == "joist" and p.stair == 0 for p in made.parts)
    assert [f for f in faults(made) if f.startswith("clear span")] == []


def test_the_two_ends_of_a_short_piece_are_no_joint():
    shop = Workshop()
    joist = shop.upright("joist", lumber("2x8"), [(0, 0), (1.5, 0), (1.5, 60), (0, 60)], 0, 7.25, (0, 1))
    board = Stock("board", 1.0, 5.5, "composite board")
    crumb = shop.upright("board", board, [(0, 20), (1, 20), (1, 25.5), (0, 25.5)], 7.25, 8.25, (1, 0))
    ends = bearing_report([joist, crumb])
    assert len(ends) == 2 and all(e.gap is None and not e.joint for e in ends)


BARE = {"border": {"courses": 0}}


def test_rows_are_moved_where_a_board_at_some_edge_would_lie_before_its_rim():
    # from the front edge rows come out so that at the step of 6 in a strip 3/4 in wide is left, all of it overhang
    points = [[0, 20], [44, 20], [44, 44], [92, 44], [92, 14], [139, 14], [139, 100], [0, 100]]
    made = deck({"points": points, "house": ["e7"]}, surface={**BARE, "overhang": 0.5})
    assert faults(made) == []
    assert any("reach over its rim" in worded(n) for n in made.notes)


def test_rows_at_an_edge_that_the_file_names_stay():
    points = [[0, 20], [44, 20], [44, 44], [92, 44], [92, 14], [139, 14], [139, 100], [0, 100]]
    made = deck({"points": points, "house": ["e7"]}, surface={**BARE, "overhang": 0.5}, order={"whole_edge": "e5"})
    assert not any("reach over its rim" in worded(n) for n in made.notes)


ROUND = {
    "points": [[0, 0], [250, 0], [250, 119.5], [102, 119.5], [102, 230], [0, 230]],
    "house": ["e3", "e4"],
    "edges": ["e1", "e2", "e3", "e4", "e5", "e6"],
}


def at_the_wall(made) -> list[float]:
    """How much of each board lies beside the house's corner, across it, within an inch of the wall at 119.5 in."""
    beside = [p.footprint.intersection(box(110, 118, 250, 120)) for p in made.parts if p.role == "board"]
    whole = [p.footprint.intersection(box(110, 100, 240, 120)).bounds for p in made.parts if p.role == "board"]
    return [b[3] - b[1] for g, b in zip(beside, whole) if g.area > 0.01 and g.bounds[3] > 119]


@pytest.mark.parametrize(
    ("more", "sliver"),
    [({}, False), ({"order": {"whole_edge": "e1"}}, True), ({"surface": {"rip": "last"}}, True)],
    ids=["moved", "the file's whole edge", "the file's rip"],
)
def test_rows_are_moved_where_a_sliver_would_lie_along_a_corner_of_the_house(more, sliver):
    """From the front's border (5-1/2 in of board, 1/4 in gaps, 1-3/4 in overhang and fascia) rows begin at 4 in and end
    every 5-3/4 in: at 119 in one begins, and 1/4 in of it would be left before the gap at the wall."""
    made = deck(ROUND, **{"frame": {"support": "free-standing"}, **more})
    widths = at_the_wall(made)
    assert widths and (min(widths) < 2.0) is sliver
    assert any("sliver" in worded(n) for n in made.notes) is not sliver
    if not sliver:
        assert faults(made) == []


def test_the_tip_of_a_board_that_lies_in_the_overhang_alone_is_sawn_off():
    turn = [math.radians(90 + 40 * k) for k in range(9)]
    points = [[round(82 * math.cos(a), 3), round(114.6 * math.sin(a), 3)] for a in turn]
    made = deck(
        {"points": points, "house": []},
        surface={**BARE, "overhang": 1.25},
        frame={"support": "free-standing", "joist_direction": "x"},
    )
    assert [str(e) for e in hanging(made.parts)] == []
    assert any("too small to fasten" in worded(n) for n in made.notes)


def test_an_edge_whose_line_meets_the_deck_again_keeps_its_own_rim():
    points = [
        [48, 0],
        [48, -52],
        [4, -52],
        [4, -112],
        [70, -112],
        [70, -160],
        [10, -160],
        [10, -330],
        [139, -330],
        [139, 0],
    ]
    made = deck({"points": points, "house": ["e10"]}, surface=BARE)
    rim = shapely.union_all([p.footprint for p in made.roles("rim") if p.where == "e1 edge"])
    assert rim.intersection(shapely.LineString([(48.75, 0), (48.75, -52)])).length > 48
    assert [str(e) for e in hanging(made.parts)] == []


def test_a_block_behind_the_rim_runs_on_where_a_stair_needs_no_header():
    # its stringers end within the rim's depth: the header and the cleats that would hang it are not built
    made = deck(
        {"width": 89, "depth": 64},
        {"surface": 60},
        surface={"border": {"courses": 2}},
        frame={"joist": "2x12", "joist_direction": "x", "rim_plies": 2, "joist_spacing": 24},
        stair=[{"edge": "front", "width": 42, "rise": 7.5, "going": 10.5, "stringer_kind": "solid", "at": 14.5}],
    )
    assert made.roles("stair header") == [] and made.roles("stringer") != []
    assert faults(made) == []


def test_field_ends_where_an_edge_runs_nearly_along_the_joists_get_blocks_across():
    points = [[74, -5.1], [50.4, -32], [52, -59], [25.7, -59], [2, -82.7], [2, -115], [139, -115], [139, 0]]
    made = deck(
        {"points": points, "house": ["e7"]},
        surface={"border": {"courses": 3}},
        trim={"fascia": False},
        frame={"joist_direction": "y", "joist_spacing": 19.2, "rim_plies": 2},
    )
    assert [str(e) for e in hanging(made.parts)] == []


def rim_area_missing(made: Deck) -> float:
    """Square inches of the band along the outline, nearly as wide as a rim, in which no rim or ledger lies."""
    rims = shapely.union_all([p.footprint for p in made.roles("rim", "ledger")])
    shape = made.layout.outline.polygon
    band = shape.difference(shape.buffer(-1.4, join_style="mitre"))
    return float(band.difference(rims.buffer(1e-3)).area)


def test_a_rim_that_runs_on_past_a_reflex_corner_is_mitred_at_its_other_end():
    made = deck(
        {"points": [[0, 40], [14, 26], [60, 26], [60, 0], [130, 0], [130, 110], [0, 110]], "house": ["e6"]},
        frame={"joist_direction": "x"},
    )
    assert rim_area_missing(made) == pytest.approx(0.0, abs=1e-6) and faults(made) == []


def test_rims_of_which_neither_runs_along_the_joists_leave_no_hole_at_a_reflex_corner():
    # an L of square corners, turned by 27 degrees
    c, s = math.cos(math.radians(27)), math.sin(math.radians(27))
    shape = [(0, 0), (60, 0), (60, 40), (130, 40), (130, 110), (0, 110)]
    points = [[round(x * c - y * s, 3), round(x * s + y * c, 3)] for x, y in shape]
    made = deck({"points": points}, frame={"joist_direction": "y"}, surface={"border": {"courses": 0}})
    assert rim_area_missing(made) == pytest.approx(0.0, abs=1e-6) and faults(made) == []


def test_no_strip_is_left_between_two_boards_beside_a_recess():
    # the row before the recess would hang together by a quarter of an inch along its 50 in
    made = deck(
        {
            "points": [[0, 0], [50, 0], [50, 34], [100, 34], [100, 0], [150, 0], [150, 90], [0, 90]],
            "house": ["e7"],
        },
        surface={"board_length": 192},
    )
    thick = [shapely.get_parts(p.footprint.buffer(-0.2, join_style="mitre")) for p in made.roles("board")]
    assert {sum(g.area > 1 for g in pieces) for pieces in thick} == {1}
    assert faults(made) == []


def test_a_bay_that_tapers_is_no_wider_at_its_wide_end():
    # the last bay is narrower than the spacing in its middle, and half an inch wider at the gable's point
    made = deck(
        {"points": [[0, 0], [128, 0], [128, 94.75], [64, 97.25], [0, 93.75]], "house": []},
        frame={"joist_spacing": 19.2, "joist_direction": "x"},
        surface={"border": {"courses": 0}, "material": "composite board", "board_thickness": 1.0},
    )
    assert len(made.roles("joist")) == 5 and faults(made) == []  # four at the spacing, one in the last bay


def test_a_board_cut_to_a_slanted_edge_spans_no_further_than_its_joists_stand_apart():
    points = [[0, 0], [120, 0], [120, 110], [100, 110], [0, round(110 - 100 * math.tan(math.radians(40)), 2)]]
    made = deck(
        {"points": points, "house": []},
        frame={"joist_direction": "y", "joist_spacing": 12},
        surface={"border": {"courses": 0}, "direction": 30, "material": "pvc board", "board_thickness": 1.0},
        trim={"fascia": False},
    )
    assert faults(made) == []
    spans = board_spans(made.parts, touching(made.contacts), named("under boards"))
    # joists 12 in on centre, crossed at 60 degrees: by hand
    assert max(s.length for s in spans) == pytest.approx((12 - 1.5) / math.sin(math.radians(60)), abs=1e-3)


def test_a_scrap_that_no_fastener_holds_is_left_out():
    layout = deck({"width": 110, "depth": 90}, frame={"joist": "2x8"}).layout
    x, y = (1.0, 0.0), (0.0, 1.0)  # all three lie at the front rim
    triangle = shapely.Polygon(
        [(20, 0), (22, 0), (20, 2)]
    )  # a circle of 0.6 in lies in it: nowhere 3/4 in from an edge
    square, past = shapely.box(20, 0, 22, 2), shapely.box(20, -1.6, 24, 0.3)  # all of one on the rim, 1.2 sq in of two
    assert fastened(layout, [triangle, square, past], x, y).tolist() == [False, True, False]


def test_of_two_short_pieces_a_stub_is_avoided():
    # 98 in out of 96: a cut at 4 in leaves one piece short of 48 in, as one at 40 in does, but that one is no stub
    assert split(0, 98, [4.0, 40.0], 96, 48) == [1]
    assert split(0, 98, [4.0], 96, 48) == [0]


def test_boards_more_askew_than_the_rows_know_are_held_to_what_the_plan_chose():
    """At 60 degrees joists 8 in apart give composite boards the clear span that 12 in give at 45: no row is taken off
    twice."""
    made = deck({"width": 174, "depth": 129}, surface={"direction": 60, "material": "composite board"})
    assert [f for f in faults(made) if f.startswith("clear span")] == []
    wide = deck(
        {"width": 174, "depth": 129},
        surface={"direction": 60, "material": "composite board"},
        frame={"joist_spacing": 16},
    )
    assert [f for f in faults(wide) if f.startswith("clear span")]


def test_a_scrap_at_the_far_end_of_a_strip_too_thin_to_hold_goes_with_it():
    """A board beside a border kept 1/8 in of its width over 65 in, and at the end 0.7 in across: nothing bore it."""
    board = shapely.Polygon(
        [(0, 0), (95.6, 0), (95.6, 3.5), (66, 3.5), (66, 0.125), (0.72, 0.125), (0.72, 3.5), (0, 3.5)]
    )
    (left,) = without_strips(board, board, FRAGILE, FRAGILE / 2, NOTCH)
    u0, v0, u1, v1 = left.bounds
    assert (u1, v0, v1) == (95.6, 0, 3.5) and u0 == pytest.approx(66, abs=FRAGILE)
    # what tapers to a point without a scrap stays whole
    taper = shapely.Polygon([(0, 0), (95.6, 0), (95.6, 3.5)])
    assert without_strips(taper, taper, FRAGILE, FRAGILE / 2, NOTCH) == [taper]
