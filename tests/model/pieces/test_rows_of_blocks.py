"""Blocks between joists and beside posts: each is nailed to a member, none stands in another's place. Decks are
invented; common practice, no source."""

from __future__ import annotations

from shapely.geometry import box
from test_board_ends import deck, faults

from plumbcut.model.pieces import frame as frame_pieces

RING = [
    [87.803, 0], [76.039, 30], [43.901, 51.962], [0, 60], [-43.901, 51.962], [-76.039, 30], [-87.803, 0],
    [-76.039, -30], [-43.901, -51.962], [0, -60], [43.901, -51.962], [76.039, -30],
]  # fmt: skip


def test_a_block_of_a_row_that_meets_blocks_and_posts_alone_is_left_out():
    """One between a guard post and a block over a beam: nothing carried it."""
    made = deck(
        {"points": RING, "house": ["e9"]},
        {"surface": 62.17, "slope_y": -0.03},
        frame={
            "rim_plies": 2,
            "beam_plies": 1,
            "blocking_rows": 2,
            "blocking_pattern": "in line",
            "joist": "2x10",
            "joist_spacing": 24,
            "post": "8x8",
            "post_spacing": 96,
        },
        guard={"post": "6x6"},
    )
    assert faults(made) == []
    assert any(p.where == "between joists" for p in made.roles("blocking"))


def test_a_block_cut_off_where_its_row_ends_is_left_out():
    """Its row ended in the air; a corner of it met the block beside, and counted as held."""
    across, low, high = (1.0, 0.0), 0.0, 30.0
    assert frame_pieces._within(box(4, 0, 26, 1.5), across, low, high)
    assert not frame_pieces._within(box(0, 0, 26, 1.5), across, low, high)
    assert not frame_pieces._within(box(4, 0, 30, 1.5), across, low, high)


def test_a_strip_moved_behind_cleats_keeps_clear_of_the_rest_of_its_line():
    """Joists of 2 in, cleats of 1-1/2 in: moved by the cleats alone it lay half an inch in the strip beside it."""
    stock = {"name": "50x200", "thickness": 2, "width": 8, "lengths": [192], "standard": "invented values"}
    values = {"Fb": 1160, "Fv": 130, "Fc_perp": 174, "Fc": 1015, "E": 1595000, "Emin": 638000}
    made = deck(
        {"width": 96, "depth": 117},
        {"surface": 41},
        frame={"joist": "50x200"},
        surface={"border": {"courses": 3}, "overhang": 1.2},
        trim={"fascia": False},
        lumber={"stock": [stock | values]},
        stair=[{"edge": "front", "at": 15}],
    )
    assert made.clashes == []


def test_two_posts_one_before_the_other_on_a_landing_share_their_block():
    """A wide landing after another: the block behind both was built twice in one place."""
    landings = [
        {"after_risers": 7, "turn": "left", "depth": 48},
        {"after_risers": 15, "turn": "left", "depth": 42},
        {"after_risers": 18, "turn": "right", "depth": 48},
    ]
    made = deck(
        {"width": 147, "depth": 59, "house": []},
        {"surface": 170},
        frame={"rim_plies": 2, "joist_spacing": 8, "joist": "2x8"},
        stair=[{"edge": "back", "width": 96, "at": 38.8, "landings": landings}],
    )
    assert made.clashes == []
