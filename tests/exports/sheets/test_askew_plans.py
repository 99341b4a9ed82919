"""Plans of a deck that lies askew in its file, against those of the same deck square to the sheet: the same figures at
the same scale. The deck is invented."""

from __future__ import annotations

import math
import re
from functools import cache

import pytest

from plumbcut.exports.drafting import annotate
from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.sheets import build_drawing
from plumbcut.exports.sheets.footing_plan import footing_rows
from plumbcut.exports.sheets.stage import Stage
from plumbcut.exports.sheets.strings import Strings
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all

WIDE, DEEP = 230.0, 170.0
LANDINGS = [
    {"after_risers": 5, "depth": 42, "turn": "left"},
    {"after_risers": 7, "depth": 42, "turn": "right"},
]


@cache
def made(degrees: float):
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    corners = [(0, 0), (WIDE, 0), (WIDE, DEEP), (0, DEEP)]
    points = [[round(x * c - y * s, 6), round(x * s + y * c, 6)] for x, y in corners]
    edges = ["front", "right", "back", "left"]
    file = {
        "outline": {"points": points, "edges": edges, "house": ["back"]},
        "levels": {"surface": 112},
        "frame": {"joist": "2x10"},
        "stair": [{"edge": "left", "at": 20, "landings": LANDINGS}],
    }
    return build(Parameters.model_validate(file))


@cache
def view(degrees: float, name: str) -> d.View:
    drawing = build_drawing(made(degrees), measure_all(made(degrees).parts), paper="ARCH B")
    return next(v for v in drawing.views() if v.name == name)


def figures(degrees: float, name: str) -> list[d.Dimension]:
    return [i for i in view(degrees, name).items if type(i) is d.Dimension]


def length(i: d.Dimension) -> float:
    u = (math.cos(math.radians(i.angle)), math.sin(math.radians(i.angle)))
    return abs((i.b[0] - i.a[0]) * u[0] + (i.b[1] - i.a[1]) * u[1])


def rows(degrees: float) -> list[list[str]]:
    stage = Stage(made(degrees), measure_all(made(degrees).parts), (), "ARCH B", False, d.DrawingSet())
    return sorted(r[1:7] for r in footing_rows(stage))  # marks follow the sheet


@pytest.mark.parametrize("degrees", [30, -25])
def test_each_footing_is_told_along_the_house_edge(degrees):
    assert rows(degrees) == rows(0)


@pytest.mark.parametrize("name", ["footing plan", "framing plan", "surface plan"])
@pytest.mark.parametrize("degrees", [30, -25])
def test_a_plan_is_drawn_as_that_of_the_deck_square_to_the_sheet(degrees, name):
    """Turned so that the house is square to the sheet: the same figures level and upright at the same scale, their ends
    within what is drawn, nothing on anything else."""
    turned, square = view(degrees, name), view(0, name)
    assert turned.scale == square.scale
    for way in (0.0, 90.0):
        told = [sorted(round(length(i), 1) for i in figures(n, name) if i.angle == way) for n in (degrees, 0)]
        assert told[0] == pytest.approx(told[1], abs=0.11) and told[0]
    assert {i.angle for i in figures(degrees, name)} == {0.0, 90.0}
    drawn = [
        p for i in turned.items if type(i) in (d.Line, d.Polyline) for p in getattr(i, "points", None) or (i.a, i.b)
    ]
    for i in figures(degrees, name):
        axis = int(i.angle == 90.0)
        low, high = min(p[axis] for p in drawn), max(p[axis] for p in drawn)
        assert all(low - 0.1 < p[axis] < high + 0.1 for p in (i.a, i.b))
    assert not annotate.overlaps(turned.items, turned.scale)


def test_the_usual_spacing_of_joists_is_told_as_it_is():
    """So many of the spaces of 16 in as find room, in one figure."""
    told = [(i, re.match(r"(\d+) OF \d+ @ 1'-4\" = ", i.prefix)) for i in figures(30, "framing plan")]
    ((usual, words),) = [(i, found) for i, found in told if found]
    assert length(usual) == pytest.approx(16 * int(words[1]), abs=0.01)


def test_a_stair_on_an_askew_edge_has_its_width_and_place():
    """On a string along the edge, past the stair's foot, between the ends of the finished surface: three figures."""
    corners = [[0, 0], [150, 0], [230, 80], [230, 170], [0, 170]]
    file = {
        "outline": {"points": corners, "edges": ["front", "bevel", "right", "back", "left"], "house": ["back"]},
        "levels": {"surface": 44},
        "stair": [{"edge": "bevel", "width": 43}],
    }
    deck = build(Parameters.model_validate(file))
    plan = next(v for v in build_drawing(deck, measure_all(deck.parts)).views() if v.name == "surface plan")
    strung = [i for i in plan.items if type(i) is d.Dimension and abs(i.angle % 90 - 45) < 1e-6]
    (own,) = [i for i in strung if abs(length(i) - 43) < 0.02]
    beside = [i for i in strung if i.at == own.at and i is not own]
    # 1-3/4 in over the frame on all sides: the side of the surface is longer by twice 1-3/4 x tan 22.5 degrees
    whole = 80 * math.sqrt(2) + 3.5 * math.tan(math.radians(22.5))
    assert sorted(round(length(i), 2) for i in beside) == [pytest.approx((whole - 43) / 2, abs=0.02)] * 2
    out = (math.sqrt(0.5), -math.sqrt(0.5))
    foot = max(x * out[0] + y * out[1] for p in deck.parts if p.stair == 0 for x, y in p.footprint.exterior.coords)
    assert own.at[0] * out[0] + own.at[1] * out[1] > foot


def test_the_string_of_steps_round_a_corner_ends_at_the_corner():
    """As wide as the edge of the surface there, 1-3/4 in past the frame, and not as the outermost stringer stands."""
    stairs = [{"edge": "front", "width": 207, "wrap": True}, {"edge": "right", "width": 161}]
    outline = {"width": 207, "depth": 161, "house": ["back"]}
    deck = build(Parameters.model_validate({"outline": outline, "levels": {"surface": 19}, "stair": stairs}))
    plan = next(v for v in build_drawing(deck, measure_all(deck.parts)).views() if v.name == "surface plan")
    level = [length(i) for i in plan.items if type(i) is d.Dimension and not i.angle]
    assert sorted(round(x, 2) for x in level) == [1.75, 207 + 1.75, 207 + 3.5]


def test_of_flights_in_one_line_the_first_is_marked_at_the_deck():
    """The second stair goes straight on after its landing: one mark on the surface, one past its foot."""
    outline = {"width": 220, "depth": 120, "house": ["back"]}
    ahead = {"edge": "front", "at": 20, "landings": [{"after_risers": 6, "turn": "straight"}]}
    stairs = [{"edge": "right", "width": 40, "at": 30}, ahead]
    file = {"outline": outline, "levels": {"surface": 84}, "frame": {"joist": "2x10"}, "stair": stairs}
    deck = build(Parameters.model_validate(file))
    plan = next(v for v in build_drawing(deck, measure_all(deck.parts)).views() if v.name == "surface plan")
    foot = min(float(p.box[0, 1]) for p in deck.parts if p.role == "pad" and p.stair == 1)
    at = {
        i.values["NUMBER"]: i.at[1] for i in plan.items if type(i) is d.Symbol and i.values.get("NUMBER") in ("2", "3")
    }
    assert at["2"] > 0 > foot > at["3"]
    assert sum(type(i) is d.Symbol and i.values.get("NUMBER") == "2" for i in plan.items) == 1


def joists_told(degrees: float) -> list[tuple[int, float]]:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    corners = [(0, 0), (160, 0), (214, 54), (214, 170), (0, 170)]
    file = {
        "outline": {
            "points": [[x * c - y * s, x * s + y * c] for x, y in corners],
            "edges": ["front", "corner", "right", "back", "left"],
            "house": ["back"],
        },
        "levels": {"surface": 58},
    }
    deck = build(Parameters.model_validate(file))
    stage = Stage(deck, measure_all(deck.parts), (), "ARCH B", False, d.DrawingSet())
    return sorted((len(g.joists), g.spacing) for g in stage.groups)


def test_joists_are_told_alike_where_their_bearings_differ_in_a_last_bit():
    """Turned, the bearings of joists that hang and lie alike are worked out each for itself: they stay one group, 16
    in on centre as the file's default has it."""
    assert joists_told(30.0) == joists_told(0.0)
    assert max(joists_told(0.0)) == (11, 16.0)


def test_a_string_through_the_same_places_is_drawn_once():
    """Corners of the surface and the sides of a stair as wide as its edge, worked out apart."""
    drawn = d.View("plan", 48.0, [])
    strings = Strings(drawn, (0.0, 0.0, 200.0, 100.0))
    assert len(strings.chain("below", [(0.0, 0.0), (70.0, 0.0), (200.0, 0.0)])) == 2
    assert not strings.chain("below", [(0.0, 5.0), (70.04, 5.0), (200.0, 5.0)])
    assert len(strings.chain("below", [(0.0, 0.0), (70.5, 0.0), (200.0, 0.0)])) == 2
    assert len(strings.chain("above", [(0.0, 0.0), (70.0, 0.0), (200.0, 0.0)])) == 2
    assert len(drawn.items) == 6
