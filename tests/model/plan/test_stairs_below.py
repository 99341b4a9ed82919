"""Stairs that turn back under the deck: the posts of its beams stand clear of them, as a builder sets them (common
practice, no source), and what hangs over a flight is its headroom's, not its width's.

The decks are invented. What overlaps, and how wide a flight is, is measured on the solids.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.flight_seen import along, underside
from plumbcut.model.measuring.measure import measure_all
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


# from 10 ft down and back: the second flight ends under the deck, before its front beam
TEN_FEET = {
    "outline": {"width": 207, "depth": 161},
    "levels": {"surface": 120},
    "frame": {"joist": "2x10"},
    "stair": [{"edge": "front", "landings": [{"after_risers": 8, "depth": 39, "turn": "back"}]}],
}
# twice to the right, the last flight ends under the deck's corner on a slope: the corner's post has nowhere to go
CORNER = {
    "outline": {"width": 207, "depth": 161},
    "levels": {"surface": 103, "slope_x": 0.025, "slope_y": -0.03},
    "frame": {"joist": "2x10"},
    "stair": [
        {
            "edge": "right",
            "at": 30,
            "landings": [{"after_risers": n, "depth": 39, "turn": "right"} for n in (6, 8)],
        }
    ],
}


def at_the_foot(deck, rule):
    return [r for r in check_deck(deck) if r.rule == rule and str(r.place).endswith("landing at the foot")]


def test_no_post_stands_where_one_steps_off_a_flight_under_the_deck():
    """36 in from the lowest riser, over the flight's width (IRC 2021 R311.7.6, from memory), measured on the solids."""
    deck = build(Parameters.model_validate(TEN_FEET))
    lowest = next(p for p in deck.roles("riser") if p.where == "stair 1 flight 2 riser 8")
    (x0, _, _), (x1, y1, _) = lowest.box
    posts = [p.box for p in deck.roles("post", "post base")]
    assert any(b[1, 1] > y1 for b in posts)  # the front beam's, behind the riser
    assert not [b for b in posts if b[0, 0] < x1 and b[1, 0] > x0 and y1 < b[1, 1] and b[0, 1] < y1 + 36]
    assert [r.result for r in at_the_foot(deck, "landing length")] == ["met", "met"]


def test_a_post_that_stands_in_a_landing_ends_it_and_what_hangs_low_over_it_is_said():
    """Landing 36 in, headroom 80 in (IRC 2021 R311.7.6 and R311.7.2, from memory)."""
    deck = build(Parameters.model_validate(CORNER))
    length = at_the_foot(deck, "landing length")[-1]
    post = deck.by_id[length.ids[-1]]
    lowest = min((p for p in deck.roles("riser") if "flight 3" in p.where), key=lambda p: p.box[0, 2])
    assert post.role == "post" and length.result == "not met"
    assert length.measured == pytest.approx(lowest.box[0, 0] - post.box[1, 0], abs=1e-3)
    (over,) = at_the_foot(deck, "headroom at a landing")
    beam = deck.by_id[over.ids[0]]
    assert beam.role == "beam" and over.result == "not met"
    assert over.measured == pytest.approx(beam.box[0, 2] - lowest.box[0, 2], abs=1e-3)


def test_the_underside_of_a_stringer_is_lower_at_its_foot():
    """A cut stringer's lower edge runs to the pitch: rise 7.5 to going 10.5."""
    deck = build(Parameters.model_validate(TEN_FEET))
    stringer = next(m for m in measure_all(deck.roles("stringer")) if m.part.where == "stair 1 flight 1 stringer 1")
    (low, high), x = along(stringer, (0, 1)), stringer.box[0, 0]
    levels = [underside(stringer, np.array([[x, y]])) for y in (high, high - 21, low)]
    assert levels[0] - levels[1] == pytest.approx(15.0) and levels[2] >= stringer.box[0, 2] - 1e-6


@pytest.mark.parametrize("turned", [0, 30])
def test_posts_of_landings_one_over_the_other_have_a_footing_between_them(turned):
    """Back, back and back: the third landing lies under the first, and their posts stand in one place, on a deck askew
    but for the last bit."""
    c, s = math.cos(math.radians(turned)), math.sin(math.radians(turned))
    corners = [(0, 0), (207, 0), (207, 161), (0, 161)]
    file = {
        "outline": {
            "points": [[x * c - y * s, x * s + y * c] for x, y in corners],
            "edges": ["front", "right", "back", "left"],
            "house": ["back"],
        },
        "frame": {"joist": "2x10", "post": "6x6"},
        "levels": {"surface": 190},
        "stair": [
            {"edge": "left", "at": 60, "landings": [BACK | {"after_risers": n, "depth": 40} for n in (7, 14, 21)]}
        ],
    }
    layout = lay_out(Parameters.model_validate(file))
    first, _, third = layout.stair_plans[0].landings
    assert first.polygon.equals_exact(third.polygon, 1e-6)
    for leg in (q for m in (first, third) for q in m.legs(5.5)):
        assert any(f.outline(64).contains(leg.centroid) for f in layout.footings)
