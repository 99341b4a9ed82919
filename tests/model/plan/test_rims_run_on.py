"""A rim along the joists runs on past a reflex corner as a joist, as far as nothing stands in its place."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from shapely.geometry import box

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.solid.union import united

# the rim of the bay's side runs on towards a ledger round a corner of the house, in the same line
TO_A_LEDGER = {
    "outline": {
        "points": [[0, 40], [62, 40], [62, 0], [140, 0], [140, 140], [62, 140], [62, 109], [0, 109]],
        "house": ["e5", "e6", "e7"],
    },
    "levels": {"surface": 40},
}
# ... towards the guard post beside a stair
TO_A_POST = {
    "outline": {"points": [[0, 0], [100, 0], [100, 90], [150, 90], [150, 170], [0, 170]], "house": ["e6", "e1"]},
    "levels": {"surface": 30},
    "stair": [{"edge": "e5", "width": 40, "at": 54}],
}
# ... towards the rim of an edge 2 in off its own line, two plies each
TO_A_RIM = {
    "outline": {
        "points": [[0, 0], [60, 0], [60, -40], [110, -40], [110, 2], [170, 2], [170, 90], [0, 90]],
        "house": ["e7"],
    },
    "levels": {"surface": 40},
    "frame": {"joist_direction": "x", "rim_plies": 2},
}
# ... in the line of an edge that faces the other way, from outside
ALONG_AN_EDGE = {
    "outline": {
        "points": [[0, 0], [60, 0], [60, -40], [170, -40], [170, 0], [120, 0], [120, 80], [0, 80]],
        "house": [],
    },
    "levels": {"surface": 40},
    "frame": {"support": "free-standing", "joist_direction": "x"},
}


@pytest.mark.parametrize(
    "sections", [TO_A_LEDGER, TO_A_POST, TO_A_RIM, ALONG_AN_EDGE], ids=["ledger", "post", "rim", "along an edge"]
)
def test_a_rim_that_runs_on_stops_at_what_stands_in_its_place(sections):
    deck = build(Parameters.model_validate(sections))
    assert not deck.clashes
    along = deck.layout.along
    long = [e for e, _, q in deck.layout.rims if np.ptp(np.asarray(q.exterior.coords) @ along) > e.length + 6]
    assert any(deck.layout.is_lengthwise(e) for e in long)  # one does run on
    for p in deck.parts:
        if p.role == "rim":
            assert p.carried_by, p.id
            assert len(p.shape.outline) == 4  # cut square, as thick all along


def test_the_rim_runs_on_past_the_end_of_a_ledger_along_the_joists():
    """Round a corner of the house a ledger ends with its wall, and no member of it stood in the corner: a hole as wide
    as the ledger and as deep as the rim, over which boards ended in the air."""
    layout = lay_out(
        Parameters.model_validate(
            {
                "outline": {"points": [[130, 0], [130, 120], [-40, 120], [-40, 65], [0, 65], [0, 0]], "house": ["e5"]},
                "levels": {"surface": 60},
                "frame": {"joist_direction": "y", "rim_plies": 2},
            }
        )
    )
    whole = united([polygon for _, _, polygon in layout.rims])
    assert box(0, 65, 1.5, 68).difference(whole).area < 1e-6
    assert whole.area == pytest.approx(sum(polygon.area for _, _, polygon in layout.rims))


def test_no_tip_of_a_rim_that_runs_on_stays_in_a_ledger():
    """Ten degrees askew, with corners to three places: a tip of 0.0009 sq in of plan, 5-1/2 in deep, is a clash."""
    points = [[10.072, 57.119], [69.16, 46.7], [64.298, 19.125], [152.931, 3.497], [173.247, 118.72]]
    layout = lay_out(
        Parameters.model_validate(
            {
                "outline": {
                    "points": [*points, [84.615, 134.348], [80.1, 108.743], [21.011, 119.162]],
                    "house": ["e5", "e6", "e7", "e8"],
                },
                "levels": {"surface": 10},
                "frame": {"joist": "2x6", "rim_plies": 2, "joist_spacing": 19.2, "beam_position": "flush"},
            }
        )
    )
    shared = [
        a.intersection(b).area for (_, _, a), (_, _, b) in itertools.combinations(layout.rims, 2) if a.intersects(b)
    ]
    assert shared and max(shared) < 5e-5
