"""What is measured of flights that are unlike the demos': stringers with a single tread."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.check_guards import check_guards
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.checks import check_deck


@pytest.mark.parametrize("stock, result", [("2x12", "met"), ("2x10", "not met")])
def test_stringers_of_one_tread_are_judged_by_the_stock_they_are_cut_from(stock, result):
    """AWC DCA 6 stair requirements: stringers of 2x12 (11-1/4 in, NDS Table 1A). Cut for one tread, as much wood is
    not left in any place."""
    file = {"outline": {"width": 150, "depth": 110}, "levels": {"surface": 14}}
    deck = build(Parameters.model_validate(file | {"stair": [{"edge": "front", "stringer": stock}]}))
    assert max(m.width for m in measure_all(deck.roles("stringer"))) < 11
    assert {r.result for r in check_deck(deck) if r.rule == "stringer stock"} == {result}


def widths(file: dict) -> dict[tuple[str, str], float]:
    deck = build(Parameters.model_validate({"outline": {"width": 210, "depth": 129}, **file}))
    rules = ("stair width", "stair width beside handrail", "handrail projection")
    return {(r.rule, str(r.place)): r.measured for r in check_deck(deck) if r.rule in rules}


def test_each_flight_of_a_switchback_is_measured_with_its_own_handrail():
    """IRC 2021 R311.7.1 (from memory): at most 4-1/2 in of handrail. A stair of 42 in between guards, its handrail 3 in
    deep: 39 in are left beside it, on either flight."""
    stair = {"edge": "front", "landings": [{"after_risers": 6, "turn": "back", "side": "left"}]}
    found = widths({"levels": {"surface": 72}, "stair": [stair]})
    for flight in ("stair 1 flight 1", "stair 1 flight 2"):
        each = [found[rule, flight] for rule in ("stair width", "stair width beside handrail", "handrail projection")]
        assert each == pytest.approx([42, 39, 3])


def test_blocks_under_a_bottom_rail_leave_a_stair_its_width():
    """The clause counts what stands above the handrail (from memory); a block 2 in high under a rail beside the top
    tread is not there."""
    found = widths({"levels": {"surface": 42}, "stair": [{"edge": "front", "width": 36}]})
    assert found["stair width", "stair 1"] == pytest.approx(36)


TURNING = {"edge": "front", "landings": [{"after_risers": 7, "turn": "back", "side": "left"}]}


def needed(deck, without=frozenset()) -> dict[str, str]:
    c = Checking(deck, measure_all([p for p in deck.parts if p.id not in without]))
    check_guards(c)
    return {str(r.place): r.result for r in c.results if r.rule == "guard needed" and "landing" in str(r.place)}


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_landing_at_which_the_stair_turns_back_is_looked_at_edge_by_edge(side):
    """Its boards make no rectangle: it is deeper under the flight that comes down. A bay taken out is seen."""
    stair = {**TURNING, "landings": [{**TURNING["landings"][0], "side": side}]}
    file = {"outline": {"width": 210, "depth": 129}, "levels": {"surface": 100}, "stair": [stair]}
    deck = build(Parameters.model_validate(file))
    found = needed(deck)
    assert len(found) >= 4 and set(found.values()) == {"met"}
    bay = next(p for p in deck.roles("top rail") if "landing" in p.where)
    away = {p.id for p in deck.roles("top rail") if (p.where, p.step) == (bay.where, bay.step)}
    assert "not met" in needed(deck, away).values()


def test_a_run_of_treads_round_a_corner_needs_one_handrail():
    """IRC R311.7.8 (from memory): on one side of each continuous run of treads. The middle one of three edges has a
    mitre at either end."""
    points = [[0, 0], [165, 0], [233, 51], [233, 171], [0, 171]]
    edges = ["front", "clip", "right", "back", "left"]
    stairs = [
        {"edge": "front", "width": 90, "at": 75, "wrap": True},
        {"edge": "clip", "width": 85, "at": 0, "wrap": True},
        {"edge": "right", "width": 60, "at": 0},
    ]

    def of(**more):
        outline = {"points": points, "edges": edges, "house": ["back"]}
        given = [{**s, **more} for s in stairs]
        deck = build(Parameters.model_validate({"outline": outline, "levels": {"surface": 36}, "stair": given}))
        return {str(r.place): r.result for r in check_deck(deck) if r.rule == "handrail needed"}

    assert of() == {"stair 1": "met", "stair 2": "met", "stair 3": "met"}
    assert set(of(handrail="none").values()) == {"not met"}


def test_a_turned_sheet_leaves_no_edge_of_a_turning_landing_between_its_posts():
    """Turned by 30 degrees on a slope: the posts at its corners are no part of its outline."""
    c, s = np.cos(np.radians(30)), np.sin(np.radians(30))
    points = [[x * c - y * s, x * s + y * c] for x, y in ((0, 0), (207, 0), (207, 161), (0, 161))]
    landing = {"after_risers": 8, "depth": 45, "turn": "back"}
    bare = {"stringer_kind": "solid", "risers": "open", "skirts": False}
    stair = {"edge": "right", "at": 50, "handrail": "both", **bare, "landings": [landing]}
    levels = {"surface": 115, "slope_x": -0.03, "slope_y": 0.02}
    outline = {"points": points, "edges": ["front", "right", "back", "left"], "house": ["back"]}
    file = {"outline": outline, "levels": levels, "frame": {"joist": "2x10"}, "stair": [stair]}
    found = needed(build(Parameters.model_validate(file)))
    assert len(found) >= 4 and set(found.values()) == {"met"}


def test_a_pad_that_the_houses_wall_cuts_is_as_long_as_its_whole_width_is():
    """A switchback whose pad lies partly at the house: y = 147 is its line, the pad goes on to 171 before it alone. By
    hand: 21 in and less than 36 in are left beside the wall."""
    corners = [[0, 0], [223, 0], [223, 147], [0, 147]]
    turn = {"after_risers": 9, "turn": "back", "side": "right"}
    file = {
        "outline": {"points": corners, "edges": ["front", "right", "back", "left"], "house": ["back"]},
        "levels": {"surface": 120},
        "frame": {"joist": "2x10"},
        "stair": [{"edge": "left", "at": 31, "landings": [turn]}],
    }
    deck = build(Parameters.model_validate(file))
    (row,) = [r for r in check_deck(deck) if r.rule == "landing length" and "flight 2 landing at the foot" in r.place]
    assert row.result == "not met" and row.measured < 21 + 1e-6


@pytest.mark.parametrize("turn", [0, 30])
def test_two_posts_that_touch_have_caps_flush_with_them(turn):
    """Turned, what is left between two posts that touch is a rounding, and a cap stands over nothing by that."""
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    corners = [[x * c - y * s, x * s + y * c] for x, y in ((0, 0), (187, 0), (187, 133), (0, 133))]
    file = {
        "outline": {"points": corners, "edges": ["front", "right", "back", "left"], "house": ["back"]},
        "levels": {"surface": 120},
        "frame": {"joist": "2x10"},
        "stair": [{"edge": "left", "at": 20, "landings": [{"after_risers": 8, "turn": "back"}]}],
    }
    deck = build(Parameters.model_validate(file))
    assert not deck.clashes and len(deck.roles("post cap")) == len(deck.roles("guard post"))
    assert {r.result for r in check_deck(deck) if r.rule == "landing length"} == {"met"}


@pytest.mark.parametrize("at, width, clear", [(0, 36.5, 31.5), (0, 48, 43), (60, 48, None)])
def test_a_corners_guard_post_narrows_the_head_of_a_stair(at, width, clear):
    """By hand: the post of 3-1/2 in stands inside the rim of 1-1/2 in, 5 in from the corner to its far face; IRC 2021
    R311.7.1 asks for 36 in."""
    file = {
        "outline": {"width": 200, "depth": 120},
        "levels": {"surface": 60},
        "stair": [{"edge": "front", "at": at, "width": width}],
    }
    rows = [r for r in check_deck(build(Parameters.model_validate(file))) if r.rule == "stair width at its head"]
    if clear is None:
        assert not rows
    else:
        assert [r.measured for r in rows] == [pytest.approx(clear)]
        assert rows[0].result == ("met" if clear >= 36 else "not met")


def test_the_load_on_a_handrail_is_told_between_its_brackets():
    """200 lb (Table R301.5) half way between two posts bends 1-1/2 in square, 0.5625 in3, with 200 L / 4 / 0.5625 psi;
    southern pine of 1,100 psi takes it over 4 x 1,100 x 0.5625 / 200 = 12.4 in."""
    file = {"outline": {"width": 145, "depth": 122}, "levels": {"surface": 60}, "stair": [{"edge": "front"}]}
    deck = build(Parameters.model_validate(file))
    [row] = [r for r in check_deck(deck) if r.rule == "handrail, load on it"]
    told = worded(row.why)
    apart, psi = (float(told.split(x)[1].split(" ")[0].replace(",", "")) for x in ("between posts ", "it with "))
    [rail] = [p for p in deck.roles("handrail") if p.id in row.ids]
    beside = [p for p in deck.roles("guard post") if abs(p.box[:, 0].mean() - rail.box[:, 0].mean()) < 6]
    down = sorted(float(p.box[:, 1].mean()) for p in beside if p.box[0, 1] < rail.box[1, 1])
    level = max(b - a for a, b in itertools.pairwise(down))
    assert apart == pytest.approx(level / np.hypot(*rail.place.x[:2]), abs=0.06)
    assert psi == pytest.approx(200 * apart / 4 / 0.5625, rel=2e-3) and "at most 12.4 in apart" in told
    assert row.result == "not checked"


@pytest.mark.parametrize("risers", ["open", "closed"])
def test_a_handrail_runs_from_the_top_riser_to_the_lowest_open_or_closed(risers):
    """An open riser has its place under the edge of the tread over it, less the nosing: a rail that ends over a closed
    one ends over it too."""
    stair = {"edge": "front", "risers": risers, "landings": [{"after_risers": 8, "turn": "right"}]}
    file = {"outline": {"width": 271, "depth": 150}, "levels": {"surface": 94}, "stair": [stair]}
    rows = [r for r in check_deck(build(Parameters.model_validate(file))) if r.rule == "handrail runs the whole flight"]
    assert len(rows) == 2 and all(r.result == "met" for r in rows)
