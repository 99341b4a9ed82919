"""Where a rim longer than the yard sells is joined, and what holds the joist beside a doubled one over a beam."""

from __future__ import annotations

import itertools

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.rules.checks import check_deck

# an octagon's bay out of the front, three courses of border: the first joist stands two spacings from the corner
BAY = {
    "outline": {"points": [[0, 72], [78, 72], [108, 30], [162, 30], [192, 72], [270, 72], [270, 186], [0, 186]]},
    "levels": {"surface": 45},
    "surface": {"border": {"courses": 3}},
}
# a corner cut off beside the house: the beam between the supports ends under the second of two joists
CUT_OFF = {
    "outline": {
        "points": [[0, 0], [225, 0], [225, 108], [168, 165], [0, 165]],
        "edges": ["front", "right", "cut", "back", "left"],
        "house": ["back"],
    },
    "levels": {"surface": 26},
}


def test_a_rim_is_not_joined_over_the_first_of_its_supports():
    """Statics: the length past a joint over an end support turns about it; there is a support on both sides."""
    deck = build(Parameters.model_validate(BAY))
    back = sorted((p for p in deck.parts if p.role == "rim" and p.edge == "e7"), key=lambda p: p.box[0, 0])
    joists = [p.box[:, 0].mean() for p in deck.parts if p.role == "joist" and p.box[1, 1] > 184]
    assert len(back) > 1
    for a, b in itertools.pairwise(back):
        assert a.box[1, 0] == b.box[0, 0]
        assert min(joists) + 1 < a.box[1, 0] < max(joists) - 1


def test_the_second_of_two_joists_at_a_beam_s_end_has_a_block_beyond_it():
    """Common practice, no source: a joist over a beam is kept upright by a block, the outer of two by one past the
    beam's end."""
    deck = build(Parameters.model_validate(CUT_OFF))
    found = [r for r in check_deck(deck) if r.rule == "blocking over beams"]
    assert [r.result for r in found] == ["met"]
