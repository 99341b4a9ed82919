"""Where concrete is cut, it lies in place of the earth: the line of grade stops at it."""

from __future__ import annotations

import shapely
from conftest import demo_deck, demo_measured

from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.sheets import build_drawing


def test_no_line_of_grade_runs_through_cut_concrete():
    deck = demo_deck("hillside")
    seen = {}
    for sheet in build_drawing(deck, demo_measured("hillside")).sheets:
        for port in sheet.viewports:
            items = port.view.items
            concrete = [shapely.Polygon(i.outline) for i in items if isinstance(i, d.Hatch) and i.pattern == "concrete"]
            grade = [shapely.LineString([i.a, i.b]) for i in items if isinstance(i, d.Line) and i.layer == "C-TOPO"]
            if concrete and grade:
                seen[port.view.name] = sum(g.intersection(c.buffer(-0.01)).length for g in grade for c in concrete)
                beside = sum(g.distance(c) < 0.01 for g in grade for c in concrete)
                assert beside, port.view.name  # it ends at the concrete's face
    assert {"section through frame", "section along flight 2"} <= set(seen)
    assert max(seen.values()) < 1e-6
