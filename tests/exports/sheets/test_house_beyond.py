"""The house wall behind the deck in elevations."""

from __future__ import annotations

from functools import cache

import numpy as np
import shapely

from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.linework.eye import Eye
from plumbcut.exports.sheets import build_drawing
from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all

FILE = {
    "outline": {
        "points": [[0, 0], [228, 0], [228, 118], [151, 118], [151, 187], [0, 187]],
        "house": ["e3", "e4", "e5"],
    },
    "house": {
        "floor": 41.5,
        "at_wall": [
            {"kind": "window", "name": "kitchen window", "edge": "e5", "at": 20, "width": 46, "bottom": 70, "top": 118},
            {"kind": "vent", "edge": "e3", "at": 30, "width": 8, "bottom": 50, "top": 58},
            {"kind": "egress window", "edge": "e5", "at": 90, "width": 40, "bottom": -20, "top": 14},
        ],
    },
    "levels": {"surface": 40},
    "stair": [{"edge": "e1", "width": 40, "at": 60}],
}


@cache
def made() -> tuple[Deck, dict[str, d.View]]:
    deck = build(Parameters.model_validate(FILE))
    sheets = build_drawing(deck, measure_all(deck.parts)).sheets
    return deck, {p.view.name: p.view for s in sheets for p in s.viewports if p.view.name.endswith("elevation")}


def walls(side: str) -> list[d.Line]:
    return [i for i in made()[1][side].items if isinstance(i, d.Line) and i.layer == "A-WALL-ELEV"]


def test_no_line_of_the_house_behind_crosses_a_piece_before_it():
    """Against the triangles of every piece, which the drawing does not look at: it takes the pieces' corners."""
    deck, _ = made()
    eye, lines = Eye.looking((0.0, 1.0)), walls("front elevation")
    assert len(lines) > 8
    for p in deck.parts:
        flat = eye.flat(p.vertices)
        if p.role in ("board", "border", "rim", "joist", "beam", "post", "fascia", "guard post"):  # boxes as they lie
            inside = shapely.MultiPoint(flat).convex_hull.buffer(-1e-3)
            assert not any(shapely.LineString([l.a, l.b]).intersects(inside) for l in lines), p.id


def test_openings_are_drawn_where_the_file_has_them_and_broken_off_with_the_wall():
    lines = walls("front elevation")
    ends = np.array([(*l.a, *l.b) for l in lines])
    us = {round(float(u), 6) for u in ends[:, [0, 2]].ravel()}
    # e5 runs from x = 151 to 0: its window from 131 to 85; e3 from 228 to 151: its vent from 198 to 190
    assert {131.0, 85.0, 198.0, 190.0, 151.0} <= us
    top = max(float(p.box[1, 2]) for p in made()[0].parts) + 0.2 * made()[1]["front elevation"].scale
    assert ends[:, [1, 3]].max() <= top + 1e-6
    assert ends[:, [1, 3]].min() >= -1e-6  # the well's part under grade is not seen


def lettered(side: str) -> list[str]:
    items = made()[1][side].items
    marks = [i.values["LEVEL"] for i in items if isinstance(i, d.Symbol) and i.name == "level"]
    return marks + [i.text for i in items if isinstance(i, d.Text)]


def test_levels_of_the_house_stand_beside_those_of_the_deck():
    front = lettered("front elevation")
    assert any(t.startswith("FLOOR OF THE HOUSE +3'-5 1/2") for t in front)
    assert any(t.startswith("EXISTING HOUSE WALL BEYOND") for t in front)
    # from the left the wall of e4 is seen beyond; from the right the house stands before all of it
    assert any("FLOOR OF THE HOUSE" in t for t in lettered("left elevation"))
    assert not any("FLOOR OF THE HOUSE" in t for t in lettered("right elevation"))
