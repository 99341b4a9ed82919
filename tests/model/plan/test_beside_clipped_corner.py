"""A guarded stair on an edge that ends in a clipped corner: the post there is set past the corner of the edge's rim."""

import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.loose_ends import touching
from plumbcut.model.measuring.rail_ends import rail_ends


@pytest.mark.parametrize(
    "off, own", [(1, True), (2.25, True), (4, False), (5.75, False), (6, True), (7.5, True), (8, False)]
)
def test_a_stairs_rail_ends_on_half_of_a_post_however_far_from_the_corner_it_is(off, own):
    """The corner's post, 3-1/2 in square, is 2.4 in before the corner: one of the stair's own stands on its stringer
    where that is off by more than half of it. Half of a rail's end has to bear: common practice, no source."""
    points = [[0, 0], [155, 0], [190, 35], [190, 130], [0, 130]]
    given = {
        "outline": {"points": points, "edges": ["front", "clip", "right", "back", "left"], "house": ["back"]},
        "levels": {"surface": 50},
        "stair": [{"edge": "front", "at": 155 - 38 - off, "width": 38, "guards": "both"}],
    }
    deck = build(Parameters.model_validate(given))
    assert (deck.layout.stair_plans[0].spot.own_posts == ("end",)) is own
    ends = [e for e in rail_ends(deck.parts, touching(deck.contacts)) if e.part.stair == 0]
    assert ends and all(e.on >= e.area / 2 - 1e-6 for e in ends)
