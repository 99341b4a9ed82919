"""Lines end at the ring of a section's mark: by hand, and on the plans of a demo."""

from __future__ import annotations

import math

import pytest
import shapely
from conftest import DEMOS, demo_checks, demo_deck, demo_measured

from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.drafting.masking import masked
from plumbcut.exports.sheets import build_drawing

RING = 0.25  # paper inches: of a section's mark, as drafting standards have it


def test_a_line_through_a_ring_is_two_lines():
    mark = d.Symbol("section up", (0, 0))
    left, right, kept = masked([d.Line((-9, 3), (9, 3), layer="S-JOIS", mark="J1"), mark], 20)
    half = math.sqrt((RING * 20) ** 2 - 3**2)
    assert (left.a, right.b) == ((-9, 3), (9, 3)) and kept is mark
    assert left.b == pytest.approx((-half, 3), abs=0.01) and right.a == pytest.approx((half, 3), abs=0.01)
    assert left.mark == right.mark == "J1" and left.layer == "S-JOIS"


def test_what_lies_outside_stays_as_it_is_and_what_lies_within_goes():
    mark = d.Symbol("section left", (0, 0))
    square = d.Polyline([(6, 6), (9, 6), (9, 9), (6, 9)], True, layer="S-COLS")
    small = d.Polyline([(-1, -1), (1, -1), (1, 1), (-1, 1)], True, layer="S-COLS")
    figure = d.Dimension((-9, 0), (9, 0), (0, 0))
    assert masked([square, small, figure, mark], 20) == [square, figure, mark]
    assert masked([square, small], 20) == [square, small]


@pytest.mark.parametrize("name", DEMOS)
def test_nothing_drawn_runs_through_a_mark_on_a_plan(name):
    drawing = build_drawing(demo_deck(name), demo_measured(name), demo_checks(name))
    met = 0
    for view in (v for v in drawing.views() if v.name in ("framing plan", "surface plan")):
        rings = [i.at for i in view.items if type(i) is d.Symbol and i.name.startswith("section ")]
        inner = shapely.union_all([shapely.Point(at).buffer(RING * 0.97 * view.scale) for at in rings])
        for i in view.items:
            if type(i) in (d.Line, d.Polyline):
                met += 1
                path = shapely.LineString([i.a, i.b] if type(i) is d.Line else [*i.points, i.points[-1 - i.closed]])
                assert not path.intersects(inner)
    assert met > 100
