"""Stairs that turn back under the deck: the posts of its beams stand clear of them, as a builder sets them (common
practice, no source), and what hangs over a flight is its headroom's, not its width's.

The decks are invented. What overlaps, and how wide a flight is, is measured on the solids.
"""

from __future__ import annotations

import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.rules.checks import check_deck

BACK = {"turn": "back", "side": "right"}
TALL = {
    "outline": {"width": 246, "depth": 160},
    "levels": {"surface": 156},
    "frame": {"joist": "2x10", "post": "6x6", "beam_seat": "notched post"},
    "stair": [{"edge": "right", "at": 36, "landings": [BACK | {"after_risers": 10}]}],
}
TOWER = {
    "outline": {"width": 213, "depth": 156},
    "levels": {"surface": 164},
    "frame": {"joist": "2x12", "post": "6x6"},
    "stair": [
        {
            "edge": "front",
            "at": 24,
            "width": 40,
            "landings": [{"after_risers": 8, "turn": "back"}, BACK | {"after_risers": 16}],
        }
    ],
}
LOW = {
    "outline": {"width": 225, "depth": 162},
    "levels": {"surface": 78},
    "frame": {"post": "6x6", "beam_seat": "notched post", "beam_lines": [26, 96], "beam_overhang": 18},
    "stair": [{"edge": "left", "at": 72, "landings": [BACK | {"after_risers": 5, "depth": 44}]}],
}


# down a slanting front and back under the mitre of its beams: each beam then has a post beside the flight
SLANT = {
    "outline": {"points": [[0, 0], [160, 0], [226, 66], [226, 150], [0, 150]], "house": ["e4"]},
    "levels": {"surface": 66},
    "stair": [{"edge": "e2", "landings": [BACK | {"after_risers": 4}]}],
}


def test_a_post_under_a_mitre_gives_way_to_a_flight_that_passes_there():
    deck = build(Parameters.model_validate(SLANT))
    assert not [c for c in deck.clashes if "post" in (c.a.role, c.b.role)]
    for run in deck.layout.runs[:2]:  # both have their own, and two posts at least
        assert any(run.mitred) and len(run.posts) >= 2 and all(0 < run.position(q) < run.length for q in run.posts)


@pytest.mark.parametrize("file", [TALL, TOWER, LOW], ids=["tall", "tower", "low"])
def test_posts_of_beams_stand_clear_of_a_stair_that_turns_back(file):
    parameters = Parameters.model_validate(file)
    layout = lay_out(parameters)
    under = layout.outline.polygon
    reach = [f.rectangle(0, f.run, 0, f.width) for p in layout.stair_plans for f in p.flights]
    reach += [m.polygon for p in layout.stair_plans for m in p.landings]
    assert any(g.intersection(under).area > 100 for g in reach)  # it does come back under the deck
    rows = check_deck(build(parameters))
    assert {r.result for r in rows if r.rule == "solids overlap"} == {"met"}
    assert all(r.measured > 30 for r in rows if r.rule.startswith("stair width"))
