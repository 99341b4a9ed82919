"""Two flights of a stair that turns back, so near each other that their guards share a post: what is beside it."""

from __future__ import annotations

import pytest

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import check_solids
from plumbcut.model.rules.checks import check_deck

SPACES = (3.5, 4.0, 5.5)
STAIRS = ({}, {"stringer_kind": "solid"}, {"skirts": False})
SLEEVES = (None, {}, {"size": 5})
# each two of the three with one another once
PAIRED = [(space, stair, SLEEVES[(i + j) % 3]) for i, space in enumerate(SPACES) for j, stair in enumerate(STAIRS)]


@pytest.mark.parametrize("space, stair, sleeve", PAIRED)
def test_nothing_is_loose_or_overlaps_however_narrow_the_space_is(space, stair, sleeve):
    """A sleeve stands on the treads, or where they are notched up to the stringer on a stop; a skirt on a solid
    stringer leaves the bottom rail its place; a tread is notched round a post off its stringer by 1 in too."""
    landing = {"after_risers": 8, "turn": "back", "space": space}
    given = {
        "outline": {"width": 170, "depth": 130},
        "levels": {"surface": 110},
        "guard": {} if sleeve is None else {"sleeve": sleeve},
        "stair": [{"edge": "front", "width": 40, "landings": [landing], **stair}],
    }
    deck = build(Parameters.model_validate(given))
    c = Checking(deck, measure_all(deck.parts))
    check_solids(c)
    assert not [(r.rule, worded(r.place), worded(r.why)) for r in c.results if r.result == "not met"]


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("plies", [1, 2])
def test_the_post_of_two_flights_closes_the_landings_edge_behind_rims_of_two_plies_too(plies, side):
    """It stands in the middle of the space between them, and leaves less beside it than the ball of 4 in (IRC 2021
    R312.1.3)."""
    landing = {"after_risers": 8, "turn": "back", "side": side, "rim_plies": plies}
    outline = {"width": 170, "depth": 130}
    stair = {"edge": "front", "width": 40, "landings": [landing]}
    given = {"outline": outline, "levels": {"surface": 110}, "stair": [stair]}
    deck = build(Parameters.model_validate(given))
    space = deck.layout.stair_plans[0].landings[0].space
    assert (space - 3.5) / 2 < 4.0
    rows = [r for r in check_deck(deck) if r.rule == "guard needed" and "landing" in worded(r.place)]
    assert rows and {r.result for r in rows} == {"met"}
