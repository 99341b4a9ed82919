"""Bays, corners and tips that joists on their spacing do not serve: what carries the boards there. Each deck is one by
lot on which the program said a fault of its own before; both judges look at it anew."""

from __future__ import annotations

import decks
import pytest
import shapely
from four_ways import nothing_found

from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.board_shapes import NECK, apart_at_necks, without_slivers
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.solid.board_ends import bears, end_faces, on_both_halves

WHAT = {
    1788: "a bay that tapers between the last joist and a slanted rim",
    7977: "a bay that tapers at a ledger",
    6152: "a board that a corner all but cuts through",
    7447: "boards over blocks that run as the joists do, askew to them",
    7728: "a butt joint of a board that tapers from its end",
    7739: "a border end of which one half lay on nothing",
    6971: "an end past its last bearing where no block is held by two members",
    7380: "strips too thin to hold beside a notch turned against its board",
    12105: "an end whose best block lay behind its joist",
    998: "a block between two rims that met them along a line",
}


def _made(seed: int) -> Deck:
    return build(Parameters.model_validate(decks.parameters(seed)))


@pytest.mark.parametrize("seed", WHAT, ids=WHAT.get)
def test_neither_judge_finds_anything(seed: int):
    nothing_found(_made(seed), decks.parameters(seed))


def test_blocks_are_for_odd_bays_alone():
    """Joists 16 in apart under boards at 60 degrees, as the file gives them, are left so and said."""
    file = {
        "outline": {"width": 174, "depth": 129},
        "levels": {"surface": 30},
        "surface": {"direction": 60, "material": "composite board"},
        "frame": {"joist_spacing": 16},
    }
    deck = build(Parameters.model_validate(file))
    assert any("clear span" in f for f in decks.faults(deck))
    assert not [p for p in deck.parts if p.where == "under the field"]


def test_a_neck_is_cut_through_square_and_a_strip_beside_a_notch_is_not():
    corner = shapely.Polygon([(0, 0), (60, 0), (60, 3.5), (35, 3.5), (30, 0.4), (25, 3.5), (0, 3.5)])
    left, right = sorted(apart_at_necks(corner, 0.125), key=lambda g: g.bounds)
    assert (left.bounds[2], right.bounds[0]) == (29.9375, 30.0625)
    wider = shapely.Polygon([(0, 0), (60, 0), (60, 3.5), (35, 3.5), (30, NECK + 0.01), (25, 3.5), (0, 3.5)])
    assert apart_at_necks(wider, 0.125) == [wider]
    notch = shapely.Polygon([(0, 0), (60, 0), (60, 3.5), (32, 3.5), (32, 0.6), (28, 0.6), (28, 3.5), (0, 3.5)])
    assert apart_at_necks(notch, 0.125) == [notch]


def test_a_strip_aslant_beside_a_notch_is_cut_off_and_a_wide_one_is_not():
    """A board at 45 degrees before a border, notched round a post that stands square to that: what is left between
    notch and border is as wide as the border lies off the notch."""
    r = 2**0.5
    board = shapely.Polygon([(0, 0), (18, 0), (14, 4), (0, 4)])
    for wide in (0.375, 0.6):
        along, high = (9, 30), (18 / r - wide - 2, 18 / r - wide)  # across and along the board's slanted end
        corners = [
            (t, n) for t, n in zip((along[0], along[1], along[1], along[0]), (high[0], high[0], high[1], high[1]))
        ]
        notch = shapely.Polygon([((n + t) / r, (n - t) / r) for t, n in corners])
        cut = board.difference(notch)
        sound = without_slivers(cut, [notch], 0.5)
        gone = cut.area - sum(g.area for g in sound)
        strip = wide * (18 / r - 9)
        assert (0.9 * strip < gone < 1.1 * strip) if wide < 0.5 else gone == 0.0, (wide, gone, strip)
    whole = shapely.Polygon([(0, 0), (40, 0), (60, 5), (0, 5)])  # a board's own sharp tip stays
    assert without_slivers(whole, [shapely.box(10, 4, 14, 6)], 0.5)[0].equals(whole)


def test_a_border_end_bears_on_both_halves_of_its_width():
    board, under = shapely.box(0, 0, 60, 5.5), shapely.box(-1, -1, 61, 2.5)
    for faces in end_faces(board).values():
        assert bears(board, faces, under) and not on_both_halves(board, faces, under)
        assert on_both_halves(board, faces, shapely.box(-1, -1, 61, 3.0))


def test_cleats_under_ends_are_nailed_to_joists():
    deck = _made(6971)
    cleats = deck.roles("joint cleat")
    assert cleats and all(deck.by_id[i].role == "joist" for p in cleats for i in p.carried_by)


def test_rows_that_end_in_a_corner_leave_the_rip_there():
    """Before a slanted front there is no first run to share a rip with: the run at the house stays whole."""
    for depth, courses in ((181, 3), (179.5, 1)):
        file = {
            "outline": {"points": [[0, 0], [163, -38], [248, 57], [231, depth], [0, depth]], "house": ["e4"]},
            "levels": {"surface": 34},
            "surface": {"border": {"courses": courses}},
        }
        limits = lay_out(Parameters.model_validate(file)).field.limits
        assert limits[-1, 1] - limits[-1, 0] == pytest.approx(5.5)


def test_posts_next_to_one_another_ask_for_one_block():
    """Behind the corner post and the stair's post beside it the blocks under the field ends lay one in the other."""
    file = decks.parameters(9037)
    file["stair"] = [s for s in file["stair"] if s["edge"] == "e4"]
    assert build(Parameters.model_validate(file)).clashes == []
