"""A stair as wide as a bay between two corners: a builder lets the corners' posts take its guards (common practice, no
source), where they stand before the place that its own would have.

The decks are invented; what overlaps and how wide the stair is left is measured on the solids.
"""

from __future__ import annotations

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
    """Wider than between those posts: its guards begin on its stringers, before the surface's edge, as the corner is
    out of square, and so does the handrail, after the top riser (IRC R311.7.8.4, from memory)."""
    deck = build(file(edge="bay", width=53))
    (plan,) = deck.layout.stair_plans
    assert plan.spot.own_posts == ("start", "end") and set(plan.top_post.values()) == {-1}
    assert {p.kind for p in plan.posts} == {"mid", "foot"}
    assert {r.rule for r in check_deck(deck) if r.result == "not met"} == {"handrail runs the whole flight"}
