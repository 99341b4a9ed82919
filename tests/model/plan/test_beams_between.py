"""Beams added between the supports: which members they run under, and where they lie."""

from __future__ import annotations

import pytest
from shapely.geometry import Polygon

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.even_lines import even_lines


@pytest.mark.parametrize("plies", [1, 3])
def test_a_beam_between_runs_on_under_all_plies_of_the_rims_beside_its_joists(plies):
    """Two border courses push the first joist 17.2 in from the edge: a beam that ended a spacing past it would stop
    3.7 in inside, under one ply of three, or short of the one."""
    deck = build(
        Parameters.model_validate(
            {
                "outline": {"width": 100, "depth": 210, "house": []},
                "levels": {"surface": 40},
                "surface": {"direction": 45, "border": {"courses": 2}},
                "frame": {"support": "free-standing", "rim_plies": plies, "joist_direction": "y"},
            }
        )
    )
    under = next(r.polygon for r in deck.layout.runs if r.edge is None)
    rims = [p for p in deck.parts if p.role == "rim" and p.edge in ("left", "right")]
    assert len(rims) == 2 * plies
    for rim in rims:
        # across the whole rim, over the beam's 3 in
        assert Polygon(rim.footprint).intersection(under).area == pytest.approx(1.5 * 3.0, abs=1e-3)


def test_a_line_between_two_supports_lies_in_the_very_middle():
    """Joists from 15 in to 198 in over a beam 3 in wide: (183 - 3) / 2 on either side, 15 + 90 + 1.5 = 106.5 in."""
    assert even_lines([[12.0, 15.0, 198.0], [24.0, 15.0, 198.0]], 100.0, 3.0, 12.0) == [(106.5, 12.0, 24.0)]


def test_a_beam_between_slanted_ones_ends_under_no_part_of_a_joist():
    """Twelve inches clear of the beams behind the slanted sides its end came under 0.5 in of the joist at the ledger's
    end."""
    deck = build(
        Parameters.model_validate(
            {
                "outline": {
                    "points": [[0, 0], [210, 0], [180, 150], [40, 150]],
                    "edges": ["front", "right", "back", "left"],
                    "house": ["back"],
                },
                "levels": {"surface": 100},
                "frame": {"joist": "2x6"},
            }
        )
    )
    under = next(r.polygon for r in deck.layout.runs if r.edge is None)
    crossed = [a for p in deck.roles("joist") if (a := p.footprint.intersection(under).area) > 0.01]
    assert len(crossed) > 5 and crossed == pytest.approx([1.5 * 3.0] * len(crossed), abs=1e-3)


def test_a_beam_is_kept_clear_of_plies_that_differ_in_their_last_bits():
    """Of four plies behind a slanted side the common outline, grown by 12 in at once, came out crossing itself."""
    ring = [[85.241, 0], [0, 66], [-42.62, 57.158], [-73.821, 33], [-85.241, 0], [-73.821, -33], [-42.62, -57.158]]
    deck = build(
        Parameters.model_validate(
            {
                "outline": {"points": [*ring, [0, -66]]},
                "levels": {"surface": 20},
                "frame": {"joist": "2x6", "beam_plies": 4, "joist_spacing": 19},
                "lumber": {"species": "redwood"},
            }
        )
    )
    runs = deck.layout.runs
    assert any(run.edge is None for run in runs) and deck.clashes == []
    assert all(run.grown_by(0.5).area > run.polygon.area for run in runs)
