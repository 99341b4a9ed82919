"""The section along a flight: its words stand clear of what is drawn. The deck is invented."""

from __future__ import annotations

import pytest
import shapely

from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.drafting import style
from plumbcut.exports.sheets import build_drawing
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters


def test_the_words_on_headroom_stand_on_nothing_drawn():
    """Of a stair that turns back under the deck's edge: joists and the upper flight come into the lower one's view."""
    stair = {"edge": "right", "at": 80, "width": 43, "landings": [{"after_risers": 7, "turn": "back", "side": "right"}]}
    levels = {"surface": 109, "slope_y": "1 in 11", "slope_x": "1 in 25"}
    file = {"outline": {"width": 182, "depth": 142}, "levels": levels, "stair": [stair]}
    sheets = build_drawing(build(Parameters.model_validate(file))).sheets
    views = [v.view for s in sheets if s.number.startswith("A-5") for v in s.viewports]
    found = [(v, i) for v in views for i in v.items if type(i) is d.Text and "NOTHING STANDS OVER" in i.text]
    assert found
    for view, text in found:
        wide, high = (size * view.scale for size in style.block_size(text.text, text.height, text.wrap))
        (x, y), sign = text.at, 1 if text.align == "left" else -1
        box = shapely.box(x, y, x + sign * wide, y - high if text.level == "top" else y + high)
        ends = [[i.a, i.b] if type(i) is d.Line else i.points for i in view.items if type(i) in (d.Line, d.Polyline)]
        drawn = [shapely.LineString(e) for e in ends]
        assert drawn and not [g for g in drawn if g.intersects(box)]


def switchback() -> d.DrawingSet:
    landing = {"after_risers": 8, "depth": 44, "turn": "back", "side": "left"}
    file = {
        "outline": {"width": 240, "depth": 170, "house": ["back"]},
        "levels": {"surface": 118},
        "frame": {"joist": "2x10"},
        "stair": [{"edge": "front", "at": 40, "landings": [landing]}],
    }
    return build_drawing(build(Parameters.model_validate(file)))


def test_headroom_is_measured_to_what_is_drawn():
    """Its upper end lies on the underside of a piece that the section shows."""
    views = [v.view for s in switchback().sheets if s.number.startswith("A-50") for v in s.viewports]
    found = [(v, i) for v in views for i in v.items if type(i) is d.Dimension and i.suffix == " HEADROOM"]
    assert found
    for view, i in found:
        top = shapely.Point(max(i.a, i.b, key=lambda p: p[1]))
        ends = [[j.a, j.b] if type(j) is d.Line else j.points for j in view.items if type(j) in (d.Line, d.Polyline)]
        rings = [j.outline for j in view.items if type(j) is d.Hatch]
        assert min(top.distance(shapely.LineString([*e, e[0]])) for e in (*ends, *rings)) < 0.1


def test_elevations_tell_the_level_of_a_landing():
    """8 of 16 risers down from 9 ft 10 in: 4 ft 11 in."""
    views = [v.view for s in switchback().sheets if s.number.startswith("A-20") for v in s.viewports]
    assert views
    for view in views:
        told = [i.values["LEVEL"] for i in view.items if type(i) is d.Symbol and i.name == "level"]
        assert "T.O. LANDING 1 +4'-11\"" in told


def test_the_detail_at_the_rim_measures_its_own_risers():
    """Of a flight that turns back beside it no riser comes into the string: a nosing and a going."""
    (view,) = (v for v in switchback().views() if v.name == "Stair at the rim")
    level = [i for i in view.items if type(i) is d.Dimension and not i.angle]
    assert sorted(round(abs(i.b[0] - i.a[0]), 3) for i in level) == [1.0, 10.5]


def test_every_flight_between_guards_tells_their_height():
    """Flights of 4 risers and of 2: over the one no rail reaches the nosing wanted, the other has but one nosing."""
    landings = [
        {"after_risers": 4, "depth": 42, "turn": "right"},
        {"after_risers": 6, "depth": 42, "turn": "left"},
    ]
    file = {
        "outline": {"width": 207, "depth": 161, "house": ["back"]},
        "levels": {"surface": 100},
        "stair": [{"edge": "front", "landings": landings}],
    }
    sheets = build_drawing(build(Parameters.model_validate(file))).sheets
    views = [v.view for s in sheets if s.number.startswith("A-5") for v in s.viewports]
    assert len(views) == 3
    for view in views:
        (guard,) = (i for i in view.items if type(i) is d.Dimension and i.suffix == " GUARD")
        assert abs(guard.b[1] - guard.a[1]) == pytest.approx(36, abs=1 / 16)


def test_no_note_of_a_section_lies_over_the_edge_of_its_stringer():
    """Flights over cross pieces, under which the posts and strings leave little room."""
    landings = [{"after_risers": n, "depth": 39, "turn": way} for n, way in ((4, "right"), (13, "left"))]
    file = {
        "outline": {"width": 207, "depth": 161, "house": ["back"]},
        "levels": {"surface": 133},
        "frame": {"joist": "2x10"},
        "stair": [{"edge": "front", "at": 90, "landings": landings}],
    }
    sheets = build_drawing(build(Parameters.model_validate(file))).sheets
    views = [v.view for s in sheets if s.number.startswith("A-5") for v in s.viewports]
    assert any("CROSS PIECE" in i.text for v in views for i in v.items if type(i) is d.Leader)
    for view in views:
        edges = shapely.union_all(
            [
                shapely.LineString([i.a, i.b] if type(i) is d.Line else i.points)
                for i in view.items
                if type(i) in (d.Line, d.Polyline) and i.layer.startswith("S-STRS")
            ]
        )
        for i in view.items:
            if type(i) is d.Leader:
                wide, high = (size * view.scale for size in style.block_size(i.text, i.height, i.wrap))
                (x, y), up = i.at, i.height / 2 * view.scale
                x0 = x if i.side == "right" else x - wide
                assert not edges.intersects(shapely.box(x0, y + up - high, x0 + wide, y + up))


def test_a_landing_at_the_foot_is_drawn_with_its_frame():
    """Down to the underside of its joists, and on to the tops of its posts."""
    file = {
        "outline": {"width": 240, "depth": 170},
        "levels": {"surface": 118},
        "stair": [{"edge": "front", "landings": [{"after_risers": 8, "turn": "straight"}]}],
    }
    deck = build(Parameters.model_validate(file))
    (view,) = [v.view for s in build_drawing(deck).sheets if s.number == "A-501" for v in s.viewports]
    heights = {}
    for i in view.items:
        if type(i) in (d.Line, d.Polyline):
            heights.setdefault(i.mark, []).extend(p[1] for p in (i.points if type(i) is d.Polyline else (i.a, i.b)))
    framed = [p for p in deck.parts if p.stair == 0 and "landing" in p.where]
    under = min(p.box[0, 2] for p in framed if p.role == "joist")
    assert any(min(heights[p.id]) == pytest.approx(under, abs=0.05) for p in framed if p.id in heights)
    assert any(min(heights[p.id]) < under - 1 for p in framed if p.role == "post" and p.id in heights)


def test_guard_and_handrail_are_dimensioned_at_different_nosings():
    """Of a short flight between landings: two figures on one line could not be told apart."""
    landings = [{"after_risers": 6, "turn": "left"}, {"after_risers": 11, "turn": "right"}]
    file = {
        "outline": {"width": 214, "depth": 170, "house": ["back"]},
        "levels": {"surface": 118},
        "stair": [{"edge": "right", "landings": landings}],
    }
    sheets = build_drawing(build(Parameters.model_validate(file)), paper="ARCH B").sheets
    views = [v.view for s in sheets if s.number.startswith("A-50") for v in s.viewports]
    assert len(views) == 3
    for view in views:
        at = {i.suffix: i.a[0] for i in view.items if type(i) is d.Dimension and i.suffix in (" GUARD", " HANDRAIL")}
        assert len(at) == 2 and abs(at[" GUARD"] - at[" HANDRAIL"]) > 6
