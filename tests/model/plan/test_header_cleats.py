"""The cleats that hang a stair's header from the rim stand clear of the joists and posts there; joists that would
take the room of all but one give way."""

from __future__ import annotations

import math

import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.loose_ends import tipping_headers, touching

# joists 8 in apart cross the rims at 30 degrees: 8 in behind the rim they shut it whole
STEEP = {
    "outline": {
        "points": [
            [0, 104.394],
            [-84.004, 52.197],
            [-84.004, -52.197],
            [0, -104.394],
            [84.004, -52.197],
            [84.004, 52.197],
        ],
        "house": ["e4"],
    },
    "levels": {"surface": 30},
    "frame": {"support": "ledger", "joist_direction": "x", "joist_spacing": 8},
    "stair": [{"edge": "e1", "width": 48}, {"edge": "e3", "width": 36, "at": 38.5}],
}
# a joist runs out on the rim in the middle of the stair, and shuts that half of it
RUNS_OUT = {
    "outline": {"points": [[-8, 25], [97, 25], [97, 95], [0, 95]], "house": ["e2", "e3"]},
    "levels": {"surface": 35},
    "frame": {"support": "ledger", "joist_direction": "y", "joist_spacing": 8, "rim_plies": 2},
    "stair": [{"edge": "e4", "width": 36}],
}


def nearly_along(width: float, far: float, at: float) -> dict:
    """A stair on an edge 3 to 5 degrees out of the joists' line: one of them runs right behind the whole header."""
    return {
        "outline": {"points": [[0, 0], [width, 0], [far, 104], [0, 104]], "house": ["e4"]},
        "levels": {"surface": 40},
        "frame": {"support": "free-standing", "joist_direction": "y", "joist_spacing": 16},
        "stair": [{"edge": "e2", "width": 36, "at": at}],
    }


ALONG = nearly_along(98, 103.5, 20)  # the joist goes on either side of the cleats' room
POST_TOO = nearly_along(106, 115.1, 34)  # it gives way to a guard post first, and lies in their room then


@pytest.mark.parametrize(
    "sections", [STEEP, RUNS_OUT, ALONG, POST_TOO], ids=["steep", "runs out", "along", "beside a post"]
)
def test_a_header_hangs_at_two_places_on_a_rim_that_joists_cross_at_a_slant(sections):
    deck = build(Parameters.model_validate(sections))
    headers = [p for p in deck.parts if p.role == "stair header"]
    assert {p.stair for p in headers} == set(range(len(deck.parameters.stair)))
    assert not tipping_headers(deck.parts, touching(deck.contacts))
    assert not deck.clashes


def test_a_beam_cuts_no_piece_off_a_header_that_is_too_short_to_be_hung():
    """12 in inside the right edge, 243 in out, the beam would stand 4 in short of the header's end at 235 in; 14 in
    inside it leaves 6 in, which hang on the beam and a cleat. A note says it."""
    deck = build(
        Parameters.model_validate(
            {
                "outline": {"width": 243, "depth": 120, "house": []},
                "levels": {"surface": 38},
                "frame": {"support": "free-standing", "joist_direction": "x"},
                "stair": [{"edge": "front", "at": 180, "width": 55}],
            }
        )
    )
    assert next(r for r in deck.layout.runs if r.edge == "right").start[0] == pytest.approx(243 - 14 - 1.5)
    assert not tipping_headers(deck.parts, touching(deck.contacts))
    assert any("Beams stand further in than the cantilever" in str(n) for n in deck.notes)


@pytest.mark.parametrize("out, frame", [(40, {"joist": "2x8"}), (15, {"joist": "2x10", "rim_plies": 2})])
def test_a_header_at_a_sharp_corner_hangs_at_two_places(out, frame):
    """A slanted side meets the ledger at less than a right angle, which slants in over the cleat's place there: the
    cleat moves along the header until it is clear of it."""
    given = {
        "outline": {
            "points": [[0, 0], [150, 0], [150 + out, 120], [0, 120]],
            "edges": ["front", "side", "back", "left"],
            "house": ["back"],
        },
        "levels": {"surface": 80},
        "frame": frame,
        "stair": [{"edge": "side", "at": math.hypot(out, 120) - 19, "width": 18}],
    }
    deck = build(Parameters.model_validate(given))
    assert deck.roles("stair header")
    assert not tipping_headers(deck.parts, touching(deck.contacts))


def test_thick_joists_on_the_skew_leave_room_for_a_cleat_at_either_end():
    """Joists 3-1/2 in thick at 8 in, which meet the edge at 35 degrees, left a header one cleat."""
    ring = [[0, 111.018], [-79.674, 55.509], [-79.674, -55.509], [0, -111.018], [79.674, -55.509], [79.674, 55.509]]
    deck = build(
        Parameters.model_validate(
            {
                "outline": {"points": ring, "house": ["e5", "e6"]},
                "levels": {"surface": 115.03, "slope_y": 0.04},
                "frame": {
                    "joist": "4x8",
                    "joist_spacing": 8,
                    "beam_plies": 4,
                    "post": "8x8",
                    "blocking_rows": 2,
                    "rim_plies": 1,
                },
                "stair": [{"edge": "e3", "width": 36, "rise": 7.75, "going": 10.5, "skirts": False, "at": 24.2}],
            }
        )
    )
    assert tipping_headers(deck.parts, touching(deck.contacts)) == []
