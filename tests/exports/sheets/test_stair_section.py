"""The section along a flight: its words stand clear of what is drawn. The deck is invented."""

from __future__ import annotations

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
