"""Rims along the joists under a stair are judged on the plan before anything is built: as the finished solids are.

The decks are invented. The oracle is the calculation of the finished deck's own member, by its measured loads.
"""

from __future__ import annotations

import pytest

from plumbcut.model.deck import build
from plumbcut.model.design.designed import designed
from plumbcut.model.design.stair_rims import bent_rims, plies_asked
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.structure.structure import analyse

FREE = {"points": [[0, 0], [190, 0], [190, 140], [0, 140]], "edges": ["front", "right", "back", "left"], "house": []}
DECKS = {
    "ledger, side stair": {"outline": {"width": 150, "depth": 139}, "stair": [{"edge": "left", "width": 48}]},
    "on two beams, high": {
        "outline": FREE,
        "frame": {"joist_direction": "x"},
        "levels": {"surface": 70},
        "stair": [{"edge": "front", "width": 40}],
    },
    "a long flight on a cross piece": {
        "outline": {"width": 182, "depth": 150},
        "levels": {"surface": 128},
        "stair": [{"edge": "right", "width": 44}],
    },
    "snow": {
        "outline": {"width": 160, "depth": 128},
        "stair": [{"edge": "right", "width": 52}],
        "loads": {"ground_snow_psf": 60},
    },
}


def file(name: str, **frame) -> Parameters:
    given = {"levels": {"surface": 44}} | DECKS[name]
    return Parameters.model_validate(given | {"frame": given.get("frame", {}) | {"cantilever": 12.0} | frame})


@pytest.mark.parametrize("name", DECKS)
def test_a_rim_is_estimated_as_it_will_be_measured(name: str):
    deck = build(file(name))
    for rim in bent_rims(deck.layout):
        results = analyse(deck).results
        rows = [v for r in results if r.kind == "rim" and r.where.startswith(rim.edge) for v in r.calculation]
        found = max(v.ratio or 0.0 for v in rows if v.check == "bending, sagging")
        assert 0.9 * found < rim.share < 1.15 * found
        break
    else:
        pytest.fail("no rim along the joists carries a stair")


def test_a_rim_that_asks_for_it_is_doubled_before_anything_is_built():
    p = file("ledger, side stair")
    assert bent_rims(build(p).layout)[0].share > 1.2
    found = designed(p)
    (chosen,) = found.chosen
    assert (chosen.key, chosen.value) == ("rim_plies", 2) and "carries a stair" in str(chosen.why)
    assert found.built == 1 and not found.faults


@pytest.mark.parametrize(("depth", "width", "past", "plies"), [(164, 36, 24, 1), (172, 48, 12, 2)])
def test_a_ply_goes_that_deeper_joists_make_needless(depth: int, width: int, past: int, plies: int):
    """Of 2x8, the joists that are tried first, the rims ask for one ply more than of those that come to be chosen."""
    frame = {"cantilever": past, "joist_spacing": 16, "beam": "2x12", "beam_plies": 3, "beam_lines": [past + 2.25]}
    deck = {"outline": {"width": 190, "depth": depth}, "levels": {"surface": 40}, "frame": frame}
    p = Parameters.model_validate(deck | {"stair": [{"edge": "left", "width": width}]})
    assert p.frame.joist == "2x8" and plies_asked(bent_rims(build(p).layout)) == plies + 1
    found = designed(p)
    assert {c.key: c.value for c in found.chosen if c.key != "rim_plies"} == {"joist": "2x10"}
    assert found.deck.parameters.frame.rim_plies == plies and not found.faults


def test_rims_that_no_stair_hangs_on_are_left_to_the_checks():
    plain = {"outline": {"width": 150, "depth": 139}, "levels": {"surface": 44}}
    assert bent_rims(build(Parameters.model_validate(plain)).layout) == []
