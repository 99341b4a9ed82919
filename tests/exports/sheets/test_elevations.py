"""Elevations beside a house that turns a corner: drawn from every side that shows a free edge, without what the house
hides. The decks are invented."""

from __future__ import annotations

import math
from functools import cache

import pytest
import shapely

from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.drafting import furniture
from plumbcut.exports.sheets import build_drawing, elevations
from plumbcut.exports.sheets.stage import Stage
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.shared.units import feet_inches

CORNERS = [[0, 0], [200, 0], [200, 140], [120, 140], [120, 110], [0, 110]]
EDGES = ["front", "right", "back", "jog", "wall", "left"]


@cache
def views(*house: str) -> dict[str, d.View]:
    """The house stands behind the deck, and beside its back where the wall steps out at `jog`."""
    stairs = [{"edge": e, "at": 30, "width": 41} for e in ("left", "right") if e not in house]
    file = {
        "outline": {"points": CORNERS, "edges": EDGES, "house": list(house)},
        "levels": {"surface": 50},
        "stair": stairs,
    }
    drawing = build_drawing(build(Parameters.model_validate(file)))
    return {v.name: v for v in drawing.views() if v.name.endswith("elevation")}


def drawn(view: d.View) -> list[tuple[d.AnyItem, list[d.Point]]]:
    paths = ((i, [i.a, i.b] if type(i) is d.Line else i.points) for i in view.items if type(i) in (d.Line, d.Polyline))
    return [(i, path) for i, path in paths if i.mark]


def test_a_side_with_a_free_edge_beside_the_house_has_an_elevation():
    assert list(views("back", "jog", "wall")) == ["front elevation", "left elevation", "right elevation"]


def test_a_side_that_the_house_closes_has_none():
    assert "left elevation" not in views("back", "jog", "wall", "left")


def test_what_the_house_hides_is_not_drawn():
    """Seen from the left, with u towards the viewer's right, the deck's last 30 in lie behind the wall that faces
    left; its free left side and the stair there are drawn."""
    us = [-p[0] for _, path in drawn(views("back", "jog", "wall")["left elevation"]) for p in path]
    assert 110 - 0.01 < max(us) < 110.1
    assert min(us) < 0
    from_right = [p[0] for _, path in drawn(views("back", "jog", "wall")["right elevation"]) for p in path]
    assert max(from_right) == pytest.approx(140, abs=2)


def test_a_wall_behind_the_deck_is_not_drawn_across_it():
    (wall,) = (i for i in views("back", "jog", "wall")["front elevation"].items if i.layer == "A-WALL")
    assert min(wall.a[1], wall.b[1]) > 50 + 36 - 0.01  # over the top of the guard
    assert wall.a[0] == pytest.approx(120)


def test_on_a_slope_concrete_shows_grade_where_it_stands():
    """Grade falls away from the house: the pad out at the foot of the stair stands lower than the deck's front corner,
    with its own line of grade across it, under which it is dashed."""
    file = {
        "outline": {"width": 180, "depth": 140, "house": ["back"]},
        "levels": {"surface": 60, "slope_y": "1 in 12"},
        "stair": [{"edge": "front", "width": 42}],
    }
    deck = build(Parameters.model_validate(file))
    view = next(v for v in build_drawing(deck).views() if v.name == "front elevation")
    (pad,) = (p for p in deck.parts if p.role == "pad")
    (x0, y0, low), (x1, y1, top) = pad.box
    grade = deck.planes.grade((x0 + x1) / 2, (y0 + y1) / 2)
    short = [i for i in view.items if i.layer == "C-TOPO" and i.b[0] - i.a[0] < 1.5 * (x1 - x0)]
    assert any(i.a[0] < x0 < x1 < i.b[0] and abs(i.a[1] - grade) < (y1 - y0) / 12 for i in short)
    mine = [(i, [i.a, i.b] if type(i) is d.Line else i.points) for i in view.items if i.mark == pad.id]
    assert mine
    for i, path in mine:
        middle = sum(y for _, y in path) / len(path)
        assert i.layer.endswith("HDLN") == (middle < grade - (y1 - y0) / 12), (i, grade, low, top)


CLIPPED = {
    "points": [[0, 0], [120, 0], [176, 56], [176, 130], [0, 130]],
    "edges": ["front", "clip", "right", "back", "left"],
    "house": ["back"],
}


@cache
def with_stair(edge: str, slope: float) -> tuple[list[d.View], set[str]]:
    """The elevations of a clipped deck 50 in up with a stair from one edge; its pieces that no string may cross."""
    file = {"outline": CLIPPED, "levels": {"surface": 50, "slope_x": slope}, "stair": [{"edge": edge, "width": 41}]}
    deck = build(Parameters.model_validate(file))
    stage = Stage(deck, None, (), "ARCH B", False, d.DrawingSet())
    elevations.build(stage)
    return stage.drawing.views(), {p.id for p in deck.parts if p.stair is not None or p.group == "guards"}


def upright(view: d.View) -> list[d.Dimension]:
    return [i for i in view.items if type(i) is d.Dimension and i.angle == 90.0]


@pytest.mark.parametrize("edge, slope", [("clip", 0.0), ("clip", 0.06), ("right", 0.0)])
def test_no_height_is_drawn_through_guards_and_stairs(edge, slope):
    """A string of heights, whose ends are its two points, meets no line of a guard or a stair but where it stands."""
    views, kept_clear = with_stair(edge, slope)
    for view in views:
        barred = [path for i, path in drawn(view) if i.mark in kept_clear and not i.layer.endswith("HDLN")]
        assert barred
        for dim in upright(view):
            line = shapely.LineString([(dim.at[0], dim.a[1] + 0.1), (dim.at[0], dim.b[1] - 0.1)])
            assert not any(line.crosses(shapely.LineString(path)) for path in barred), (view.name, dim)


def test_a_height_that_corners_share_is_said_once():
    for view in with_stair("clip", 0.0)[0]:
        (height,) = (dim for dim in upright(view) if abs(abs(dim.b[1] - dim.a[1]) - 50) < 0.01)
        assert height.suffix == " TYP."


def test_every_other_height_is_said_where_grade_slopes():
    """50 in over grade at the left, 0.06 in an inch less further right: each of the front's three corners."""
    view = next(v for v in with_stair("clip", 0.06)[0] if v.name == "front elevation")
    told = [feet_inches(abs(dim.b[1] - dim.a[1])) for dim in upright(view) if not dim.suffix]
    words = " ".join(i.text for i in view.items if isinstance(i, d.Leader))
    for x in (0, 120, 176):
        height = feet_inches(50 - 0.06 * x)
        assert told.count(height) + words.count(f"SURFACE {height} ABOVE GRADE") == 1, height


def test_a_turned_deck_is_seen_square_to_its_own_edges():
    """180 by 130 in, turned by 30 degrees on the sheet: its elevations tell its sides and not what is seen of them at a
    slant, and no other house wall than its own stands before them."""
    (c, s), sizes = (math.cos(math.pi / 6), 0.5), ((0, 0), (180, 0), (180, 130), (0, 130))
    points = [[x * c - y * s, x * s + y * c] for x, y in sizes]
    outline = {"points": points, "edges": ["front", "right", "back", "left"], "house": ["back"]}
    deck = build(Parameters.model_validate({"outline": outline, "levels": {"surface": 50}}))
    stage = Stage(deck, None, (), "ARCH B", False, d.DrawingSet())
    elevations.build(stage)
    told = {
        v.name: sorted({round(abs(i.b[0] - i.a[0]), 2) for i in v.items if type(i) is d.Dimension and not i.angle})
        for v in stage.drawing.views()
    }
    assert told == {"front elevation": [180], "left elevation": [130], "right elevation": [130]}


@pytest.mark.parametrize("paper, metric", [("ARCH B", False), ("ARCH D", False), ("letter", False), ("A3", True)])
def test_elevations_that_are_read_as_well_share_a_sheet(paper, metric):
    """Three of a deck 14-1/2 ft wide on one sheet, none smaller than 1/4 in = 1 ft (1:50), and alone where a letter
    sheet has no room for two; no view reaches into another."""
    deck = build(Parameters.model_validate({"outline": {"width": 174, "depth": 136}, "levels": {"surface": 38}}))
    drawing = build_drawing(deck, measure_all(deck.parts), paper=paper, metric=metric)
    found = [s for s in drawing.sheets if s.number.startswith("A-2")]
    assert [len(s.viewports) for s in found] == ([1, 1, 1] if paper == "letter" else [3])
    assert all(p.view.scale <= (50 if metric else 48) for s in found for p in s.viewports)
    for sheet in found:
        boxes = [shapely.box(*furniture.port_box(p, metric)) for p in sheet.viewports]
        assert all(a.intersection(b).area < 1e-6 for k, a in enumerate(boxes) for b in boxes[:k])
        assert all(shapely.box(*sheet.room).buffer(0.12).contains(b) for b in boxes)


def test_elevations_that_would_be_too_small_beside_others_stand_alone():
    """Two strings under the front of a clipped deck take the height that a row has at 1/4 in = 1 ft."""
    points = [[38, 0], [164, 0], [164, 64], [262, 64], [262, 162], [0, 162], [0, 38]]
    file = {"outline": {"points": points, "house": ["e5"]}, "levels": {"surface": 44}, "frame": {"joist": "2x10"}}
    deck = build(Parameters.model_validate(file))
    drawing = build_drawing(deck, measure_all(deck.parts), paper="ARCH B")
    found = [s for s in drawing.sheets if s.number.startswith("A-2")]
    assert len(found) > 1 and len({s.number for s in found}) == len(found)
    assert all(p.view.scale <= 48 for s in found for p in s.viewports)
