"""Stairs of low decks, whose headers and stringers come where the frame's posts and concrete are: nothing may stand in
anything else, and everything is held. Decks are invented; how pieces are cut there is common practice without a
source."""

from __future__ import annotations

import math

import pytest
from test_board_ends import deck, faults

from plumbcut.model.deck import Deck
from plumbcut.model.pieces.support import _base_and_post
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.stock import lumber

CORNERS = {6: 64, 8: 64}  # radius by count of corners, inches


def round_deck(corners: int, surface: float, post: str, footing: float | None) -> Deck:
    """A free-standing ring of equal edges with stairs 40 in wide in the middle of three of them."""
    r = CORNERS[corners]
    turns = [2 * math.pi * (k + 0.5) / corners for k in range(corners)]
    frame = {"support": "free-standing", "post": post, "joist": "2x6"}
    if footing:
        frame["footing"] = {"size": footing}
    at = r * math.sin(math.pi / corners) - 20
    return deck(
        {"points": [[round(r * math.cos(a), 2), round(r * math.sin(a), 2)] for a in turns], "house": []},
        {"surface": surface},
        frame=frame,
        guard={"edges": []},
        stair=[{"edge": e, "width": 40, "at": at} for e in ("e1", "e2", "e3")],
    )


@pytest.mark.parametrize("corners", CORNERS)
@pytest.mark.parametrize(
    ("surface", "post", "footing"),
    [(8.5, "6x6", None), (8.5, "8x8", None), (8.5, "6x6", 32), (12, "6x6", 32), (12, "8x8", None), (21, "8x8", 32)],
)
def test_no_post_or_concrete_stands_in_a_stair(corners, surface, post, footing):
    assert faults(round_deck(corners, surface, post, footing)) == []


def test_a_header_is_butted_to_a_post_that_stands_in_its_line():
    made = round_deck(8, 12, "8x8", None)
    posts = {p.id for p in made.roles("post")}
    headers = {p.id for p in made.roles("stair header")}
    met = [c for c in made.contacts if {c.id_a, c.id_b} & posts and {c.id_a, c.id_b} & headers]
    ends = [c.area for c in met if c.kind == "end"]
    assert len(ends) >= len(headers) and min(ends) >= 1.5 * 4.5 - 1e-6  # 1 1/2 in thick, the post 4 1/2 in high there


def test_stringers_and_risers_are_scribed_over_concrete_that_comes_up_under_them():
    made = round_deck(6, 8.5, "6x6", 32)
    footings = {p.id: p for p in made.roles("footing")}
    over = [
        (made.by_id[c.id_a], footings[c.id_b])
        for c in made.contacts
        if c.id_b in footings and made.by_id[c.id_a].role in ("stringer", "riser")
    ]
    assert {p.role for p, _ in over} == {"stringer", "riser"}
    for piece, footing in over:
        assert piece.box[1, 2] > footing.box[1, 2]  # it goes on above the concrete
    widths = {p.stock.width for p in made.roles("stringer")}
    assert len(widths) == 1 and len({p.mark for p in made.roles("stringer")}) > 1  # cut ones have a mark of their own


def test_posts_wider_than_their_beam_stand_clear_of_a_header_that_hangs_beside_them():
    made = deck(
        {"width": 96, "depth": 74, "house": []},
        {"surface": 19},
        frame={
            "support": "free-standing",
            "post": "8x8",
            "beam": "2x6",
            "beam_position": "under",
            "beam_plies": 2,
            "cantilever": 3,
        },
        guard={"edges": []},
        stair=[{"edge": "front", "width": 42, "at": 30}],
    )
    assert made.clashes == [] and faults(made) == []
    (front, *_) = sorted(float(p.box[0, 1]) for p in (made.roles("post") or made.roles("post base")))
    assert front >= 1.5 + 1.5 - 1e-6  # behind the rim and the cleats


def test_a_post_under_a_cross_piece_that_finds_no_room_is_left_out():
    """Over concrete that rises to the cross piece's lower side nothing is cut: the checks say that nothing carries it,
    where an outline without area ended the program."""
    made = deck({"width": 200, "depth": 130}, {"surface": 120}, stair=[{"edge": "front", "at": 60, "width": 36}]).layout
    stands = [s for f in made.footings for s in f.stands if any(s.fall)]
    assert stands
    for s in stands:
        foot = s.top - made.parameters.frame.post_base
        low = _base_and_post(made, Workshop(), s, foot - 0.5, lumber("4x4"), where="", edge="", stair=0)
        whole = _base_and_post(made, Workshop(), s, foot - 20, lumber("4x4"), where="", edge="", stair=0)
        assert [p.role for p in low] == ["post base"] and [p.role for p in whole] == ["post base", "post"]


def test_a_stringer_that_a_footing_only_grazes_is_not_cut():
    """The footing's circle ends where the stringers begin: none has a notch, and so no throat."""
    made = deck(
        {"points": [[0, 0], [207, 0], [207, 161], [0, 161]], "edges": ["f", "r", "b", "l"], "house": ["b"]},
        {"surface": 14},
        frame={"joist": "2x6"},
        stair=[
            {"edge": "l", "width": 95, "at": 66, "wrap": True, "rise": 7.5},
            {"edge": "f", "width": 110, "at": 0, "rise": 7.5},
        ],
    )
    stringers = made.roles("stringer")
    touched = [p for p in made.roles("footing") if p.box[1, 2] > 0 and abs(p.box[0, 0]) < 0.01]
    assert touched and min(abs(t.box.mean(axis=0)[1] - s.box.mean(axis=0)[1]) for t in touched for s in stringers) < 0.9
    assert {len(p.vertices) for p in stringers} == {8} and faults(made) == []
