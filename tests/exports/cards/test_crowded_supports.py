"""The card of posts and footings: of a deck askew its figures are those along the house edge and square to it; where
stairs bring many footings near one another every name stands clear beside its own. Decks are invented."""

from __future__ import annotations

import math
from functools import cache

import pytest
import shapely

from plumbcut.exports.cards import build_cards
from plumbcut.exports.drafting import annotate
from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.sheets import build_drawing
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.shared.units import feet_inches

SIDES = ["front", "right", "back", "left"]


@cache
def askew():
    c, s = math.cos(math.radians(20)), math.sin(math.radians(20))
    points = [[x * c - y * s, x * s + y * c] for x, y in ((0, 0), (210, 0), (210, 160), (0, 160))]
    turns = [{"after_risers": 4, "depth": 42, "turn": "left"}, {"after_risers": 6, "depth": 42, "turn": "left"}]
    stairs = [{"edge": "front", "at": 90, "landings": turns}, {"edge": "left", "width": 40}]
    file = {"outline": {"points": points, "edges": SIDES, "house": ["back"]}, "levels": {"surface": 76}}
    return build(Parameters.model_validate({**file, "frame": {"joist": "2x10"}, "stair": stairs}))


@cache
def crowded():
    points = [[0, 0], [190, 0], [240, 50], [240, 170], [0, 170]]
    back = {"after_risers": 8, "depth": 44, "turn": "back", "side": "left"}
    ahead = {"after_risers": 9, "depth": 40, "turn": "straight"}
    stairs = [
        {"edge": "front", "at": 40, "landings": [back]},
        {"edge": "right", "at": 30, "width": 40, "landings": [ahead]},
    ]
    file = {"outline": {"points": points, "edges": ["front", "clip", *SIDES[1:]], "house": ["back"]}}
    return build(
        Parameters.model_validate({**file, "levels": {"surface": 118}, "frame": {"joist": "2x10"}, "stair": stairs})
    )


@cache
def view(deck) -> d.View:
    cards = build_cards(deck(), measure_all(deck().parts))
    return next(v for v in cards.views() if v.name == "posts and footings")


def names(drawn: d.View) -> dict[str, d.Text]:
    return {i.mark: i for i in drawn.items if type(i) is d.Text and i.layer == "A-ANNO-IDEN"}


def test_figures_of_a_deck_askew_are_along_its_house_edge_and_square_to_it():
    """Off the solids: from the left end of the back edge, turned back by 20 degrees, to each footing's centre."""
    figures = {i.text for i in view(askew).items if type(i) is d.Text and i.layer == "A-ANNO-DIMS"}
    c, s = math.cos(math.radians(20)), math.sin(math.radians(20))
    for f in askew().roles("footing"):
        x, y = f.box[:, 0].mean(), f.box[:, 1].mean()
        along, out = x * c + y * s, 160 - (-x * s + y * c)
        assert feet_inches(along) in figures and feet_inches(out) in figures
    assert any(f.startswith("-") for f in figures)  # the posts of the stair at the left


@pytest.mark.parametrize("deck", [askew, crowded])
def test_every_name_stands_clear_and_beside_its_own_footing(deck):
    drawn = view(deck)
    assert not annotate.overlaps(drawn.items, drawn.scale)
    rings = {i.mark: shapely.Point(i.centre).buffer(i.radius) for i in drawn.items if type(i) is d.Circle}
    found = names(drawn)
    assert len(rings) == len(found) == len(deck().roles("footing"))
    for mark, text in found.items():
        led = shapely.LineString([text.at, rings[mark].centroid])
        assert not any(led.intersects(ring) for other, ring in rings.items() if other != mark)


def test_every_post_is_set_out_where_it_stands():
    """Also those that share a footing, on the card and on the footing plan: off the solids, from the left end of the
    back edge (at 0, 170)."""
    deck = crowded()
    tables = [i for s in build_cards(deck, measure_all(deck.parts)).sheets for i in s.items if type(i) is d.Table]
    rows = [r for t in tables if "ALONG" in t.head for r in t.rows]
    (plan,) = (s for s in build_drawing(deck, measure_all(deck.parts)).sheets if s.number == "S-101")
    words = " ".join(i.text for i in plan.items if type(i) is d.Text)
    shared = 0
    for p in (p for p in deck.parts if p.role == "post"):
        x, y = p.plan_middle
        along, out = feet_inches(x) if x > -1 / 32 else f"-{feet_inches(-x)}", feet_inches(170 - y)
        (row,) = (r for r in rows if p.id in r[0].replace(" ON ", " ").split()[: -1 if "BESIDE" in r[0] else None])
        assert row[1:3] == [along, out], (p.id, row)
        if "BESIDE" in row[0]:
            shared += 1
            assert f"{p.id} ON {row[0].split()[-1]}: {along}, {out}" in " ".join(words.split())
    assert shared
