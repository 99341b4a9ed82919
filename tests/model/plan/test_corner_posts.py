"""A stair as wide as a bay between two corners: a builder lets the corners' posts take its guards (common practice, no
source), where they stand before the place that its own would have.

The decks are invented; what overlaps and how wide the stair is left is measured on the solids.
"""

from __future__ import annotations

import numpy as np

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.rules.checks import check_deck

BAY = {
    "outline": {
        "points": [[0, 72], [78, 72], [108, 30], [162, 30], [192, 72], [270, 72], [270, 186], [0, 186]],
        "edges": ["fl", "b1", "bay", "b3", "fr", "right", "back", "left"],
    },
    "levels": {"surface": 45},
}


def file(**stair) -> Parameters:
    return Parameters.model_validate(BAY | {"stair": [stair]})


def test_a_stair_between_the_corners_of_a_bay_ends_its_guards_on_their_posts():
    parameters = file(edge="bay", width=48)
    layout = lay_out(parameters)
    (plan,) = layout.stair_plans
    assert {layout.posts[n].kind for n in plan.top_post.values()} == {"corner"}
    rows = check_deck(build(parameters))
    found = {r.rule: r for r in rows if r.rule in ("solids overlap", "stair width", "landing length")}
    assert {r.result for r in found.values()} == {"met"} and 40 < found["stair width"].measured <= 48
    assert all(r.result != "not met" for r in rows if r.rule in ("guard opening", "guard needed on a stair"))


def test_beside_corner_posts_a_stair_has_posts_of_its_own_on_its_stringers():
    """Wider than between those posts: its guards begin on its stringers, and with them the handrail, over the top
    riser, out of square as at a square corner (IRC R311.7.8.4, from memory): the surface is notched for them."""
    deck = build(file(edge="bay", width=53))
    (plan,) = deck.layout.stair_plans
    assert plan.spot.own_posts == ("start", "end") and set(plan.top_post.values()) == {-1}
    assert {p.kind for p in plan.posts} == {"mid", "foot"}
    assert not {r.rule for r in check_deck(deck) if r.result == "not met"}


def test_at_a_sharp_corner_a_border_cut_for_the_post_of_a_stair_still_counts_as_borne():
    """The left edge's border lies on its rim to its mitre: that its point was cut away takes it off nothing (common
    practice, no source)."""
    deck = build(
        Parameters.model_validate(
            {
                "outline": {
                    "points": [[0, 0], [140, 33], [140, 141], [0, 141]],
                    "edges": ["front", "right", "back", "left"],
                },
                "levels": {"surface": 49},
                "stair": [{"edge": "front", "width": 143}],
            }
        )
    )
    found = [r for r in check_deck(deck) if r.result == "not met" and r.rule.startswith(("handrail", "bearing"))]
    assert deck.layout.stair_plans[0].spot.own_posts and not found


def test_between_two_wings_the_border_is_notched_for_posts_halfway_down_a_stair():
    """A stair down a bay 60 in wide: posts beside its stringers stand under the borders that overhang the bay (common
    practice, no source: a border is cut out round a post)."""
    points = [[0, 0], [58, 0], [58, 44], [118, 44], [118, 0], [176, 0], [176, 128], [0, 128]]
    edges = ["f1", "i1", "bay", "i2", "f2", "right", "back", "left"]
    deck = build(
        Parameters.model_validate(
            {
                "outline": {"points": points, "edges": edges, "house": ["back"]},
                "levels": {"surface": 53},
                "stair": [{"edge": "bay", "width": 50}],
            }
        )
    )
    over = [p for p in deck.roles("border") if p.edge in ("i1", "i2")]
    beside = [p for p in deck.layout.stair_plans[0].posts if any(p.polygon.distance(b.footprint) < 0.26 for b in over)]
    assert beside and not deck.clashes


def test_no_scrap_of_a_skirt_is_cut_for_behind_the_post_on_a_stringer():
    """Between the deck's face and a post 1 in out from it nothing wide enough to be nailed is left (common practice, no
    source: as short as the shortest block)."""
    deck = build(file(edge="bay", width=53))
    (flight,) = deck.layout.stair_plans[0].flights
    along = [np.ptp([flight.position(q)[0] for q in p.footprint.exterior.coords]) for p in deck.roles("skirt")]
    assert along and min(along) >= 2.5


def test_a_post_on_the_stringer_stands_before_the_fascia():
    """The surface overhangs by less than a nosing, and the post, square to the edge, began in the fascia's 1/2 in."""
    deck = build(
        Parameters.model_validate(
            {
                "outline": {"width": 117, "depth": 75, "house": ["back", "right"]},
                "levels": {"surface": 41},
                "frame": {"joist": "4x12", "joist_spacing": 8},
                "surface": {"overhang": 0.5},
                "trim": {"thickness": 0.5},
                "guard": {"post": "6x6"},
                "stair": [{"edge": "left", "width": 48}],
            }
        )
    )
    assert deck.layout.stair_plans[0].spot.own_posts == ("start", "end")
    assert deck.clashes == []
