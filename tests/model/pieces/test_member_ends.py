"""Ends of members where edges, breakers and joists lie a little out of each other's line: each meets a face of what
holds it. Decks and sizes are invented; that every end is nailed to a face is common practice, no source."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Polygon

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.contacts import contacts
from plumbcut.model.measuring.loose_ends import ALONG_A_LINE, free_ends, loose_stringers, touching
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.pieces.claims import Claim, Claims
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import LINE, MEMBER_END, check_solids
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.stock import lumber

BASE = {"levels": {"surface": 40}, "guard": {"edges": []}}


def built(points, **sections):
    file = {**BASE, "outline": {"points": points}, **sections}
    return build(Parameters.model_validate(file))


def open_ends(deck) -> list[str]:
    """Members of which an end meets nothing, or something along a line only."""
    c = Checking(deck, measure_all(deck.parts))
    check_solids(c)
    return [r.why for r in c.results if r.rule in (LINE, MEMBER_END) and r.result == "not met"]


def turned(points, degrees):
    return [[float(x), float(y)] for x, y in affinity.rotate(Polygon(points), degrees, (0, 0)).exterior.coords[:-1]]


def two(first, second, along):
    """Two uprights 9.25 in deep, each (outline, direction)."""
    shop, stock = Workshop(), lumber("2x10")
    return [
        shop.upright("joist", stock, first, 0, stock.width, (0, 1)),
        shop.upright("border blocking", stock, second, 0, stock.width, along),
    ]


def test_a_bevel_at_a_small_angle_is_an_end():
    """8 degrees: the bevel of a member 1.5 in thick is 1.5 / sin 8 = 10.8 in long."""
    d = np.array([-math.sin(math.radians(8)), math.cos(math.radians(8))])
    n = np.array([d[1], -d[0]]) * 1.5
    # its left side runs into the joist's right face at x = 0, its right side reaches it 10.8 in further up
    low, high = 5.0, 5.0 + 1.2 / math.sin(math.radians(8))  # of which 0.3 in is cut off square
    foot = np.array([0, low]) - d * 30
    block = [tuple(foot), tuple(foot + n), tuple(np.array([0, high]) + n / 5), (0.0, high), (0.0, low)]
    parts = two([(-1.5, 0), (0, 0), (0, 60), (-1.5, 60)], block, tuple(d))
    ends = [e.end for e in free_ends(parts, touching(contacts(parts))) if e.part is parts[1]]
    assert ends == ["A"]  # the foot alone stands free


def test_a_ply_beside_a_member_holds_no_end_of_it():
    parts = two([(-1.5, 0), (0, 0), (0, 60), (-1.5, 60)], [(0, 10), (1.5, 10), (1.5, 40), (0, 40)], (0, 1))
    ends = [(e.end, e.area) for e in free_ends(parts, touching(contacts(parts))) if e.part is parts[1]]
    assert sorted(ends) == [("A", 0.0), ("B", 0.0)] and ALONG_A_LINE > 0


def test_a_bevel_holds_the_end_that_it_looks_out_at_and_not_the_other():
    """A strip sawn to a wedge along a block's side: its thick end stands free."""
    joist, way = [(0, 0), (1.5, 0), (1.5, 30), (0, 30)], np.array([0.9, 7.0]) / math.hypot(0.9, 7.0)
    wedge = [(1.5, 5), (2, 5), (2.9, 12), (1.5, 12)]
    parts = two(joist, wedge, tuple(way))
    assert [e.end for e in free_ends(parts, touching(contacts(parts))) if e.part is parts[1]] == ["B"]
    claims = Claims()
    claims.claim([Claim("joist", Polygon(joist), (0, 1), "field")])
    assert not claims.held(Polygon(wedge), way) and claims.end_meets(Polygon(wedge), way, -1) > 6.9
    claims.claim([Claim("joist", Polygon([(0, 12), (20, 12), (20, 13.5), (0, 13.5)]), (1, 0), "field")])
    assert claims.held(Polygon(wedge), way)


def test_a_block_is_held_where_its_ends_meet_faces_and_not_corners():
    """Blocks between two joists 16 in apart, and a second ply of one: it touches the corner of the first alone."""
    claims = Claims()
    for x in (-1.5, 14.5):
        claims.claim([Claim("joist", Polygon([(x, 0), (x + 1.5, 0), (x + 1.5, 60), (x, 60)]), (0, 1), "field")])
    square = Polygon([(0, 20), (14.5, 20), (14.5, 21.5), (0, 21.5)])
    assert claims.held(square, (1, 0))
    assert not claims.held(Polygon([(0, 20), (9, 20), (9, 21.5), (0, 21.5)]), (1, 0))  # one end in the air
    claims.claim([Claim("blocking", Polygon([(0, 30), (12, 30), (12, 31.5), (0, 31.5)]), (1, 0), "between joists")])
    assert not claims.held(Polygon([(0, 31.5), (12, 31.5), (11.8, 33), (0, 33)]), (1, 0))


@pytest.mark.parametrize("at", [60.5, 61.0, 62.0])
def test_the_strips_of_a_breaker_run_on_past_a_corner_of_the_border_to_what_carries_them(at):
    """The breaker ends at a border that runs into it from one side; on the other the frame goes on."""
    points = [[0, 70], [57, 70], [57, 0], [150, 0], [150, 190], [0, 190]]
    deck = built(points, frame={"joist": "2x8", "joist_direction": "y"}, surface={"breakers": [at]})
    assert open_ends(deck) == []
    under = [p for p in deck.roles("border blocking") if "breaker" in p.where]
    assert under


@pytest.mark.parametrize("degrees", [12, 24, 33])
def test_rims_close_a_square_reflex_corner_that_both_cross_at_a_slant(degrees):
    """Neither runs on as a joist: one runs past the other's end, which butts on its face."""
    points = turned([[0, 0], [90, 0], [90, 60], [150, 60], [150, 130], [0, 130]], degrees)
    deck = built(points, frame={"joist": "2x8", "support": "free-standing", "rim_plies": 2})
    corner = np.asarray(points[2])
    met = [
        c
        for c in contacts(deck.roles("rim"))
        if c.kind == "end" and np.hypot(*(np.asarray(c.point[:2]) - corner)) < 3.5 and c.a.edge != c.b.edge
    ]
    assert sum(c.area for c in met) == pytest.approx(2 * 1.5 * 7.25, rel=0.01)  # both plies, over their whole ends
    assert open_ends(deck) == []


@pytest.mark.parametrize("out", [7.5, 8.0, 8.5])
def test_a_joist_beside_an_edge_a_little_out_of_its_line_ends_on_a_block(out):
    """The rim stands in for the joist from where they are less than an inch apart; it is needed up to there."""
    points = [[0, 0], [95.25, 0], [95.25 + out, 170], [0, 170]]
    frame = {"joist": "2x8", "joist_direction": "y", "joist_spacing": 8, "support": "free-standing"}
    deck = built(points, frame=frame, surface={"border": {"courses": 0}})
    assert open_ends(deck) == []
    assert any(p.where == "at the end of a joist" for p in deck.roles("blocking"))


@pytest.mark.parametrize(("reach", "loose"), [(0.1, ["head", "foot"]), (2.0, ["foot"])])
def test_a_stringer_that_meets_its_header_along_a_line_is_loose_there(reach, loose):
    """0.1 in of height by its thickness of 1.5 in; the foot stands on nothing here."""
    shop, stock = Workshop(), lumber("2x10")
    parts = [
        shop.upright("stair header", stock, [(0, 0), (1.5, 0), (1.5, 40), (0, 40)], 20, 29.25, (0, 1)),
        shop.upright("stringer", stock, [(1.5, 5), (40, 5), (40, 6.5), (1.5, 6.5)], 0, 20 + reach, (1, 0)),
    ]
    assert [end for _, end in loose_stringers(parts, touching(contacts(parts, 0)))] == loose


@pytest.mark.parametrize(
    "points, house, levels, frame, surface",
    [
        (
            [[-31, 287], [21, 287], [21, 257], [65, 257], [65, 293], [106, 293], [106, 387], [-31, 387]],
            [],
            {"surface": 2.65, "slope_y": -0.03},
            {"support": "free-standing", "joist": "2x6", "beam_plies": 4, "post": "6x6", "joist_spacing": 16}
            | {"post_base": 0.5, "footing": {"shape": "round", "above_grade": 0}, "blocking_pattern": "in line"},
            {"board_width": 3.5, "border": {"courses": 3}, "breakers": [63.2]},
        ),
        (
            [[48.89, 0], [23, -25.89], [23, -87], [56, -87], [56, -142], [150, -142], [150, 0]],
            ["e6"],
            {"surface": 26.18, "slope_x": 0.03, "slope_y": -0.08},
            {"joist": "2x6", "beam_plies": 2, "post": "4x4", "joist_spacing": 12, "blocking_pattern": "in line"}
            | {"post_base": 0.5, "footing": {"shape": "round", "above_grade": 0}, "post_spacing": 72},
            {"material": "treated lumber", "board_thickness": 1.5, "board_length": 240, "fastening": "face"}
            | {"overhang": 0.5, "border": {"courses": 3, "at_house": True}, "breakers": [75.4]},
        ),
    ],
)
def test_a_member_under_a_breaker_runs_on_to_what_holds_it(points, house, levels, frame, surface):
    """The strip of an edge that was to take it on gave way itself, and its end stopped in the air."""
    deck = built(points, outline={"points": points, "house": house}, levels=levels, frame=frame, surface=surface)
    assert open_ends(deck) == [] and deck.clashes == []
