"""Beams between the supports, in line with the beam of an edge: they end clear of it. The outline is that of a deck by
lot on which both judges found an overlap."""

from __future__ import annotations

from four_ways import nothing_found

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters

POINTS = [
    [0, -28], [-40, -28], [-40, -56], [-89, -56], [-89, -20], [-140, -20], [-140, -44.75], [-155.25, -60],
    [-179.7, -60], [-192, -47.7], [-192, -18], [-238, -18], [-238, -52], [-296, -52], [-296, -18], [-338.23, -18],
    [-352, -31.77], [-352, -56], [-379.17, -56], [-399, -36.17], [-399, -12], [-456, -19], [-441, -141], [0, -141],
]  # fmt: skip


def test_a_beam_under_the_whole_of_a_joist_does_not_run_into_the_next_in_its_line():
    file = {
        "outline": {"points": POINTS, "house": ["e23"]},
        "levels": {"surface": 44},
        "loads": {"ground_snow_psf": 50},
        "lumber": {"species": "redwood"},
        "guard": {"edges": []},
        "frame": {"support": "free-standing", "joist": "2x6", "rim_plies": 2, "beam_plies": 1, "beam": "6x8"}
        | {"post": "6x6", "house_gap": 6, "joist_spacing": 24, "post_base": 1.0},
        "surface": {"material": "composite board", "board_width": 3.5, "border": {"courses": 3}},
    }
    deck = build(Parameters.model_validate(file))
    assert any(run.where == "between the supports" for run in deck.layout.runs)
    assert not deck.clashes
    nothing_found(deck, file)
