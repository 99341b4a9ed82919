"""Strips that carry the border along a rim that runs along the joists, where a stair's header hangs from it."""

from __future__ import annotations

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.loose_ends import free_ends, touching
from plumbcut.model.measuring.stands_on import loose

TWO_PLIES = {
    "outline": {"width": 233, "depth": 79, "house": ["left"]},
    "levels": {"surface": 60},
    "frame": {"joist": "2x12", "rim_plies": 2},
    "stair": [{"edge": "front", "stringer_kind": "solid"}],
}


def test_a_strip_behind_a_header_lies_past_the_cleats_and_is_held():
    deck = build(Parameters.model_validate(TWO_PLIES))
    assert any(s.lengthwise and s.edge == "front" for s in deck.layout.strips)
    assert not free_ends(deck.parts, touching(deck.contacts)) and not loose(deck.parts)
    assert not deck.clashes
