"""Every arrow of every detail ends on linework or hatching of what its words name."""

from __future__ import annotations

import math
import re
from functools import cache

import pytest
from conftest import DEMOS, demo_checks, demo_deck, demo_measured
from irregular_decks import parameters
from shapely import LineString, Point, Polygon

from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.sheets import build_drawing
from plumbcut.exports.sheets.detail import names
from plumbcut.exports.sheets.pointing import on_what_they_name
from plumbcut.model.design.designed import designed

ODD = (201, 203, 205)  # an L, one round the house, one of many sides: three of the generator's shapes
NEAR = 1 / 16  # paper inches
# words that a note to a piece of a role may have, where they are not the role's own
CALLED = {
    "guard post": "POST|ROUND THE POST",
    "post blocking": "BLOCK",
    "border blocking": "BLOCK",
    "blocking": "BLOCK|BREAKER|BESIDE",
    "board": "BOARD",
    "rim": "RIM|FASCIA|HEADER|BEAM",
    "beam": "BEAM|RIM",
    "border": "BORDER|BOARD",
    "riser": "RISER",
    "step frame": "STEP",
    "pad": "PAD",
    "post sleeve": "SLEEVE|POST",
    "stair header": "HEADER",
    "tread blocking": "BLOCK",
    "joint cleat": "CLEAT",
}


@cache
def set_of(name: str | int, paper: str) -> tuple[d.DrawingSet, dict[str, str]]:
    """The set of a demo or of a seed, and the role of each piece by id."""
    deck = demo_deck(name) if isinstance(name, str) else designed(parameters(name)).deck
    more = (demo_measured(name), demo_checks(name)) if isinstance(name, str) else (None, ())
    return build_drawing(deck, *more, paper=paper), {p.id: p.role for p in deck.parts}


def details(drawing: d.DrawingSet) -> list[d.View]:
    return [p.view for s in drawing.sheets if s.name == "DETAILS" for p in s.viewports]


def off(view: d.View, item: d.AnyItem, tip: d.Point) -> float:
    """Paper inches from a tip to the nearest of what is drawn of the thing that its note names."""
    far = math.inf
    for other in view.items:
        if (other.mark, other.thing) != (item.mark, item.thing):
            continue
        if isinstance(other, d.Hatch):
            far = min(far, Polygon(other.outline, other.holes).distance(Point(tip)))
        elif isinstance(other, d.Line):
            far = min(far, LineString([other.a, other.b]).distance(Point(tip)))
        elif isinstance(other, d.Polyline):
            far = min(far, LineString(other.points + other.points[: other.closed]).distance(Point(tip)))
        elif isinstance(other, d.Circle):
            far = min(far, abs(math.dist(tip, other.centre) - other.radius))
    return far / view.scale


def named_in(words: str, item: d.AnyItem, roles: dict[str, str]) -> bool:
    """Whether a note's words have the noun of the piece or thing that it says it names."""
    noun = CALLED.get(roles.get(item.mark, ""), roles.get(item.mark, item.thing)).upper()
    noun = {"POST": "POST", "LEDGER FASTENER": "SCREW|BOLT|FASTENER", "THREADED ROD": "ROD"}.get(noun, noun)
    noun = {"JOIST HANGER": "HANGER", "RAIL BRACKET": "BRACKET", "FOOT ANGLE": "ANGLE", "SLOPED HANGER": "HANGER"}.get(
        noun, noun
    )
    return re.search(noun, words.upper()) is not None


@pytest.mark.parametrize("paper", ["ARCH B", "letter"])
@pytest.mark.parametrize("name", [*DEMOS, *ODD])
def test_every_arrow_of_a_detail_points_at_what_it_names(name, paper):
    drawing, roles = set_of(name, paper)
    views, count = details(drawing), 0
    assert len(views) >= 5
    for view in views:
        for item in view.items:
            if isinstance(item, d.Leader) and item.head == "arrow":
                count += 1
                where = (view.name, item.text)
                assert item.mark or item.thing, where
                assert off(view, item, item.tip) <= NEAR, where
                assert named_in(item.text, item, roles), (*where, roles.get(item.mark))
    assert count > 3 * len(views)


def test_a_detail_of_each_kind_is_drawn_where_the_deck_has_it():
    has = {name: {v.name for v in details(set_of(name, "ARCH B")[0])} for name in DEMOS}
    assert {"Ledger", "Lateral load connection", "Border over the rim", "Rail at its post"} <= has["terrace"]
    assert {"Knee brace", "Beam on post", "Post on footing"} <= has["hillside"]
    assert "Breaker" in has["wraparound"]
    ways = [n for n in has["terrace"] if n.startswith("Guard post ")]
    assert {"Guard post in a corner", "Guard post at the house", "Guard post between blocks"} <= set(ways)


def test_a_note_of_what_is_not_drawn_is_not_there_and_one_beside_is_moved():
    view = d.View("some", 8.0, [d.Line((0, 0), (0, 10), layer="A-WALL", thing="wall")])
    view.add(names("wall", "WALL", (4.0, 5.0)), names("siding", "SIDING", (0.0, 5.0)))
    on_what_they_name(view)
    told = [i for i in view.items if isinstance(i, d.Leader)]
    assert [(i.text, i.tip) for i in told] == [("WALL", (0.0, 5.0))]
    told[0].tip = (1.0, 5.0)
    assert off(view, told[0], told[0].tip) == pytest.approx(1 / 8)
    assert NEAR < 1 / 8
    assert not named_in("SIDING", told[0], {}) and named_in("THE WALL", told[0], {})
