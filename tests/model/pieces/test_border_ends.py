"""Ends of the border, of breakers and of boards ripped narrow, which mitres, notches and what stands in the line of
their own strips leave on too little: on whole decks shrunk from ones drawn by lot. Figures: common practice, no
source."""

from __future__ import annotations

import pytest
from test_board_ends import deck, faults

from plumbcut.model.measuring.bearing import bearing_report
from plumbcut.model.solid.board_ends import STANDS_OUT

TONGUED = [[91.9, 157.7], [0, 52.8], [81.3, 0], [132.1, 78.1], [120.7, 137.4]]
FAN = [[0, 86], [0, 42], [42, 8], [107, 0], [164, 22]]
RING = [[126, 7], [164, 59], [154, 125], [102, 166], [38, 159], [0, 108], [10, 42], [62, 0]]
TAPERED = [[107, 0], [104, 71], [138, 71], [112, 117], [86, 175], [112, 213], [82, 266], [26, 175], [26, 11]]
STEP = [[0, 39], [73, 39], [140, 0], [140, 122], [0, 122]]


def test_a_tongue_of_the_border_beside_a_corners_post_is_sawn_off_where_it_stands_out_too_far():
    """Between a 6x6 post's notch and the border's edge 0.54 in are left, which ran on 2.98 in past the post's block:
    at most 2 in stay."""
    made = deck(
        {"points": TONGUED},
        {"surface": 184},
        frame={"rim_plies": 2},
        surface={"border": {"courses": 3}},
        guard={"post": "6x6"},
    )
    tongues = [e for e in bearing_report(made.parts) if e.part.role == "border" and e.width < 1]
    assert tongues and max(e.overhang for e in tongues) <= STANDS_OUT
    assert faults(made) == []


def test_an_end_of_the_border_between_a_posts_notch_and_its_mitre_gets_a_block():
    """It was 2.06 in wide and stood out 2.07 in past the post's block."""
    made = deck(
        {"points": FAN, "house": ["e1"]}, {"surface": 171}, frame={"joist": "4x10"}, surface={"border": {"courses": 2}}
    )
    assert faults(made) == []


def test_an_end_of_a_breaker_gets_a_block():
    """On a ring of eight its strips find no hold beside the corner of two edges: the end lay on nothing."""
    made = deck(
        {"points": RING, "house": ["e6"]},
        {"surface": 12},
        frame={"joist_spacing": 19},
        surface={"border": {"courses": 3}, "direction": 54, "breakers": [90]},
    )
    assert faults(made) == []


@pytest.mark.parametrize(
    "outline, levels, sections",
    [
        (
            {"points": TAPERED, "house": ["e8"]},
            {"surface": 18},
            {"surface": {"board_width": 3.5, "border": {"courses": 2}}},
        ),
        ({"points": STEP}, {"surface": 57}, {"surface": {"overhang": 1.2}, "stair": [{"edge": "e1", "at": 17}]}),
    ],
)
def test_a_board_ripped_narrow_beside_a_strip_gets_a_block_that_lies_partly_under_it(outline, levels, sections):
    """A taper that ends half an inch wide, a rip between two posts: blocks that begin at the board's own edge have no
    room beside what stands there, one a little further out has."""
    assert faults(deck(outline, levels, **sections)) == []


def test_a_joint_of_the_border_keeps_off_a_joist_beside_a_bay_too_narrow_for_blocks():
    """A rim runs on as a joist 2.25 in beside the joist on which the second course was joined: no block fits between
    them, and its end bore 1.25 in, less than half of what two 1-1/2 in members leave beside the joint's gap."""
    made = deck(
        {
            "points": [[0, 52], [66, 52], [66, 26], [159, 26], [159, 131], [0, 131]],
            "house": ["e5", "e6"],
        },
        {"surface": 40},
        frame={"joist_spacing": 24},
        surface={"board_length": 96, "border": {"courses": 3, "at_house": True}, "overhang": 1, "direction": 0},
        guard={"edges": []},
    )
    joints = [e for e in bearing_report(made.parts) if e.part.role == "border" and e.gap is not None]
    assert joints and all(e.length >= (2 * 1.5 - e.gap) / 2 - 0.01 for e in joints)
