"""Blocking beside and behind guard posts: every block of it meets a member at either end. The program's own reading of
free ends, and of pieces that nothing carries, is asked, on decks shrunk from ones drawn by lot."""

from __future__ import annotations

import math

import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.loose_ends import free_ends, touching
from plumbcut.model.measuring.measure import measure
from plumbcut.model.measuring.stands_on import loose
from plumbcut.model.plan.layout import lay_out


def ring(corners: int, radius: float) -> dict:
    turns = [2 * math.pi * k / corners for k in range(corners)]
    return {"points": [[radius * math.cos(t), radius * math.sin(t)] for t in turns], "house": []}


ALONG = {"joist": "2x8", "joist_direction": "x"}
ACROSS_SIX = {
    "guard": {"post": "6x6", "post_spacing": 48},
    "surface": {"border": {"courses": 0}, "direction": 90},
}

DECKS = {
    # three courses of border lie on strips along the sides, and the first joist lies past them: more than a bay off
    "a wide first bay": {
        "outline": {"width": 108, "depth": 100},
        "surface": {"border": {"courses": 3}},
        "frame": {"joist_spacing": 16},
        "stair": [{"edge": "right", "width": 36}],
    },
    # the post in the corner stands in a joist, which leaves a splinter of the block on its inner side
    "a post in a joist": {
        "outline": {"width": 100, "depth": 137, "house": ["left"]},
        "frame": {"joist_spacing": 8, "joist": "2x6"},
        "surface": {"border": {"courses": 0}},
        "stair": [{"edge": "back", "at": 15.4}],
    },
    # a corner of a slanted rim and a ledger along the joists: no member crosses a block along the ledger
    "a slanted rim at a ledger": {
        "outline": {"points": [[0, 0], [-165, 0], [-151, -90], [0, -90]], "house": ["e3"]},
        "frame": {"joist_direction": "x", "joist": "2x8"},
    },
    # a joist that runs against the post's side leaves a tip of the block beside it
    "a joist at the side of a post": {
        "outline": ring(8, 70),
        "frame": {"joist_spacing": 8, "joist": "2x8"},
        "guard": {"post": "6x6"},
    },
    # a joist that ends on the post's back: the block behind it reaches one block beside it and not the other
    "a joist on the back of a post": {
        "outline": ring(9, 76),
        "frame": {"joist_spacing": 12, "joist": "2x8"},
        "guard": {"post": "6x6"},
    },
    # a joist down the middle of the bay behind a rim that a joist's place was too near: it ran from corner's post to
    # corner's post
    "a bay halved beside a rim": {
        "outline": {"points": [[0, 0], [94, 0], [94, 92], [130, 92], [130, 152], [0, 152]], "house": ["e5"]},
        "frame": {**ALONG, "joist_spacing": 8, "rim_plies": 2, "beam_position": "flush"},
        **ACROSS_SIX,
    },
    # joists that run into the posts along a rim a little out of their line: the blocks beside those stopped on them
    "joists into the posts of a slanted rim": {
        "outline": {"points": [[0, 0], [170, 5], [170, 118], [0, 118]], "house": ["e3"]},
        "frame": {**ALONG, "joist_spacing": 8},
        **ACROSS_SIX,
    },
    # the block on the inner side of a post square to the slanted rim ended where the skew block beside it only just
    # touched it
    "a post in a corner a little out of square": {
        "outline": {"points": [[0, 0], [140, 5], [140, 126], [0, 126]], "house": ["e3"]},
        "frame": {**ALONG, "joist_spacing": 8, "beam_position": "flush"},
        "guard": {"post_spacing": 72},
        "surface": {"border": {"courses": 0}, "direction": 90},
    },
    # neither edge of the corner is square to the boards, which the post's notch cuts in two: so ended the block under
    # their new ends
    "a post between two edges out of square": {
        "outline": {"points": [[12, 0], [230, 12], [230, 124], [0, 124]], "house": ["e3"]},
        "frame": {"joist": "2x10", "joist_direction": "x"},
        "guard": {"post": "6x6"},
        "surface": {"border": {"courses": 2}},
    },
    # a joist whose end is cut along the rim, over 11 in, and that nothing else carries
    "a joist cut along a slanted rim": {
        "outline": {"points": [[0, 0], [170, 10], [170, 131], [0, 131]], "house": ["e3"]},
        "frame": {**ALONG, "joist_spacing": 8, "rim_plies": 2},
        "guard": {"post_spacing": 48},
        "surface": {"border": {"courses": 0}, "direction": 90},
    },
}


@pytest.mark.parametrize("name", DECKS)
def test_every_block_at_a_post_is_held_at_both_ends(name):
    d = build(Parameters.model_validate({"levels": {"surface": 50}, **DECKS[name]}))
    assert any(p.role == "post blocking" for p in d.parts)
    blocks = [e.part for e in free_ends(d.parts, touching(d.contacts))] + loose(d.parts)
    assert not [p.id for p in blocks if p.role == "post blocking"]
    assert not [p.id for p in loose(d.parts) if p.role in ("joist", "border blocking")]


def test_a_joist_down_the_middle_of_a_wide_bay_gives_way_to_corner_posts():
    """As one at its place on the spacing does: it goes against their backs (common practice, no source)."""
    layout = lay_out(Parameters.model_validate({"levels": {"surface": 50}, **DECKS["a bay halved beside a rim"]}))
    corners = [p.polygon for p in layout.posts if p.kind == "corner"]
    assert len(corners) == 4
    assert not [v for v, q in layout.joist_lines if any(q.intersection(p).area > 0.01 for p in corners)]
    assert any(q.distance(p) < 1e-6 for _, q in layout.joist_lines for p in corners)


def test_a_piece_of_a_joist_between_two_posts_is_a_block_held_at_both_ends():
    """However long: what ends on posts and blocks alone is no joist (common practice, no source)."""
    deck = DECKS["joists into the posts of a slanted rim"]
    d = build(Parameters.model_validate({"levels": {"surface": 50}, **deck}))
    long = [p for p in d.parts if p.role == "border blocking" and measure(p).length > 24]
    assert long and not d.clashes
    assert not [e.part.id for e in free_ends(d.parts, touching(d.contacts)) if e.part in long]


def test_the_block_on_a_corner_posts_back_goes_on_to_a_rim_out_of_square():
    """Against the post alone its outer end met nothing: nailed through the rim as at a square corner (common practice,
    no source)."""
    outline = {"points": [[0, 30], [80, 0], [160, 30], [160, 115], [0, 115]], "house": ["e4"]}
    d = build(Parameters.model_validate({"outline": outline, "levels": {"surface": 45}}))
    rims = {p.id for p in d.parts if p.role == "rim" and p.edge in ("e1", "e2")}
    ends = {c.a.id for c in d.contacts if c.kind == "end" and c.b.id in rims and c.a.role == "post blocking"}
    posts = [p for p in d.parts if p.role == "guard post" and min(abs(p.box[:, 0].mean() - x) for x in (0, 160)) < 4]
    backs = [
        p.id
        for p in d.parts
        if p.role == "post blocking" and any(p.footprint.distance(q.footprint) < 0.01 for q in posts)
    ]
    assert len(ends & set(backs)) == 2
    assert not d.clashes


def test_a_block_beside_a_post_near_an_obtuse_corner_stays_inside_the_rims():
    """Its reach, square to the one rim, led out of the deck through the other: into a stair's stringers there."""
    given = {"outline": ring(9, 90), "guard": {"post": "6x6"}, "stair": [{"edge": "e1", "width": 36}]}
    d = build(Parameters.model_validate({"levels": {"surface": 34}, **given}))
    blocks = [p for p in d.parts if p.role == "post blocking"]
    assert blocks and not d.clashes
    assert not [p.id for p in blocks if p.footprint.difference(d.layout.inner).area > 0.01]
