"""Blocking beside and behind guard posts: every block of it meets a member at either end. The program's own reading of
free ends, and of pieces that nothing carries, is asked, on decks shrunk from ones drawn by lot."""

from __future__ import annotations

import math

import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.loose_ends import free_ends, touching
from plumbcut.model.measuring.stands_on import loose


def ring(corners: int, radius: float) -> dict:
    turns = [2 * math.pi * k / corners for k in range(corners)]
    return {"points": [[radius * math.cos(t), radius * math.sin(t)] for t in turns], "house": []}


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
}


@pytest.mark.parametrize("name", DECKS)
def test_every_block_at_a_post_is_held_at_both_ends(name):
    d = build(Parameters.model_validate({"levels": {"surface": 50}, **DECKS[name]}))
    assert any(p.role == "post blocking" for p in d.parts)
    blocks = [e.part for e in free_ends(d.parts, touching(d.contacts))] + loose(d.parts)
    assert not [p.id for p in blocks if p.role == "post blocking"]


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
