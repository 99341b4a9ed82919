"""What hangs a stair's header, and what lies at its foot: cleats that find a board in front of them, and concrete clear
of the fascia. Decks are invented, shrunk from decks by lot on which both judges found a fault."""

from __future__ import annotations

import pytest
from four_ways import nothing_found

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import check_solids
from plumbcut.model.structure.verdicts import NOT_MET

PLAIN = {"width": 230, "depth": 104, "edges": ["front", "right", "back", "left"]}
CASES = {
    # the stretch of the second ply beside a post hangs at one place alone and is left out, with the cleat behind it
    "a post behind the first ply": {
        "outline": PLAIN | {"house": ["back"]},
        "levels": {"surface": 27},
        "frame": {"beam_position": "flush", "cantilever": 6, "post": "4x4", "joist": "2x10"} | {"joist_spacing": 12},
        "guard": {"edges": []},
        "surface": {"material": "treated lumber", "board_thickness": 1.5, "border": {"courses": 0}},
        "loads": {"live_psf": 60},
        "lumber": {"species": "hem-fir"},
        "stair": [{"edge": "front", "width": 36, "rise": 6.5, "going": 10, "skirts": False, "at": 146.4}],
    },
    # a cleat right behind a post would meet the header's boards on both sides of it along its corners alone
    "a post right before a cleat": {
        "outline": {"points": [[-7, 0], [-7, 85], [-48, 85], [-48, 140], [-126, 140], [-126, 0]], "house": []},
        "levels": {"surface": 15.08, "slope_y": 0.04},
        "frame": {"joist": "4x8", "joist_direction": "y", "joist_spacing": 24, "cantilever": 24, "post": "4x4"}
        | {"beam_plies": 1, "beam_overhang": 0},
        "surface": {"material": "pvc board", "border": {"courses": 3}, "overhang": 0.5},
        "stair": [{"edge": "e6", "width": 60, "rise": 7.75, "going": 11}],
    },
    # the ground rises in front: the pad lies higher than the fascia reaches down, and begins before it
    "ground that rises to the fascia": {
        "outline": PLAIN | {"width": 97, "depth": 88, "house": []},
        "levels": {"surface": 9.36, "slope_y": -0.03},
        "frame": {"joist": "2x8", "joist_spacing": 12},
        "stair": [{"edge": "front", "width": 60, "rise": 6.5, "going": 11, "skirts": False}],
    },
}


@pytest.mark.parametrize("name", CASES)
def test_nothing_is_found_at_a_stairs_head_and_foot(name: str):
    deck = build(Parameters.model_validate(CASES[name]))
    seen = Checking(deck, measure_all(deck.parts))
    check_solids(seen)
    assert [(r.rule, r.place) for r in seen.results if r.result == NOT_MET] == []
    nothing_found(deck, CASES[name])
