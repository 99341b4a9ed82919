"""The drawing as data: dimensions, lettering, scales, layers, hatching."""

from __future__ import annotations

import math

import matplotlib
import numpy as np
import pytest
import shapely
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st
from sample_sheets import ring, sample

from plumbcut.exports.drafting import draft, style
from plumbcut.exports.drafting.annotate import overlaps
from plumbcut.exports.drafting.dimensioning import dimension
from plumbcut.exports.drafting.drawing import Dimension, Hatch, Line, Polyline, Sheet, Text, View, Viewport, chain
from plumbcut.exports.drafting.furniture import titles
from plumbcut.exports.drafting.hatching import hatch_lines
from plumbcut.exports.drafting.layers import LAYERS, LINE_TYPES, layer_for
from plumbcut.exports.drafting.titleblock import filled
from plumbcut.model.solid.roles import ROLES
from plumbcut.shared.papers import papers

POINT = st.tuples(st.floats(-500, 500), st.floats(-500, 500))


@settings(deadline=None)
@given(POINT, POINT, POINT, st.floats(0, 360))
def test_a_dimension_measures_along_its_direction(a, b, at, angle):
    """Against the dot product of the span with the unit vector, worked with numpy."""
    parts = dimension(Dimension(a, b, at, angle), 48)
    way = np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle))])
    assert parts.value == pytest.approx(abs(np.dot(np.subtract(b, a), way)), abs=1e-9)
    assert math.dist(*parts.line) == pytest.approx(parts.value, abs=1e-9)
    assert -90 < parts.rotation <= 90 + 1e-6  # reads from the foot or the right of the sheet


@settings(deadline=None)
@given(POINT, POINT)
def test_an_aligned_dimension_is_the_distance(a, b):
    assert dimension(Dimension(a, b, a), 48).value == pytest.approx(math.dist(a, b), abs=1e-9)


def test_dimension_text_is_computed_from_the_points():
    """Worked by hand: 194.53125 in is 16 ft 2 17/32, to the nearest 1/16 up; 11.99 in is a foot; zero inches are
    shown."""
    for value, text, metric in (
        (194.53125, "16'-2 9/16\"", "4941"),
        (144.0, "12'-0\"", "3658"),
        (11.99, "1'-0\"", "305"),
        (5.5, '5 1/2"', "140"),
    ):
        item = Dimension((0, 0), (value, 0), (0, -20), 0, suffix=" TYP.")
        assert dimension(item, 48).text == text + " TYP."
        assert dimension(item, 48, metric=True).text == metric + " TYP."


def test_a_chain_measures_each_gap_once_and_sums_to_the_whole():
    dims = chain([(100, 3), (0, 0), (40, 9), (40.01, 0)], (0, -10))
    assert [dimension(d, 48).value for d in dims] == pytest.approx([40, 60])


def test_text_widths_are_those_of_the_embedded_font():
    """Against reportlab's own measure of the same face, and fontTools' for the one the DXF names, letter for letter."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    pdfmetrics.registerFont(TTFont("oracle", str(style.font_path())))
    for text in ("12'-3 1/2\"", "(2) 2x10 BEAM, Ø16", "VERIFY ON SITE ± 1/8 °"):
        assert style.text_width(text, 0.1) == pytest.approx(pdfmetrics.stringWidth(text, "oracle", 0.1 / style.CAP))


def test_the_face_taken_for_that_of_the_dxf_has_the_same_letter_widths():
    """DejaVu Sans, which Linux desktops and matplotlib install."""
    path = f"{matplotlib.get_data_path()}/fonts/ttf/DejaVuSans.ttf"
    ours, theirs = TTFont(style.font_path()), TTFont(path)
    for letter in map(chr, [*range(32, 127), *map(ord, "Ø°±×½¼¾²“”–—•")]):
        pair = [font["hmtx"][font.getBestCmap()[ord(letter)]][0] for font in (ours, theirs)]
        assert abs(pair[0] - pair[1]) <= 2, letter


@settings(deadline=None)
@given(st.text(st.characters(min_codepoint=32, max_codepoint=126), max_size=120), st.floats(0.3, 4))
def test_wrapped_lines_fit_and_lose_no_word(text, wrap):
    rows = style.lines(text, style.NOTE, wrap)
    assert all(style.text_width(row, style.NOTE) <= wrap + 1e-9 or len(row) == 1 for row in rows)
    assert "".join(rows).replace(" ", "") == text.replace(" ", "")


def test_scales_are_the_largest_standard_ones_that_fit():
    """Scale names as printed on an architect's scale (common practice, no source)."""
    assert style.fitting_scale((240, 144), (30, 20), at_most=48) == 48 and style.scale_note(48) == '1/4" = 1\'-0"'
    assert style.fitting_scale((240 * 12, 144), (30, 20)) == 96
    assert style.fitting_scale((10, 10), (6, 6), at_most=8) == 8 and style.scale_note(8) == '1 1/2" = 1\'-0"'
    assert (
        style.fitting_scale((6000 / 25.4, 3000 / 25.4), (10, 7), metric=True, at_most=50) == 50
        and style.scale_note(50, True) == "1:50"
    )
    huge = style.fitting_scale((60000, 100), (10, 10))
    assert huge * 10 >= 60000


def test_layers_are_a_sound_table():
    """Weights must be among those the DXF reference lists for group 370."""
    allowed = {0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100, 106, 120, 140, 158, 200, 211}
    for layer in LAYERS.values():
        assert round(layer.weight * 100) in allowed and layer.line_type in LINE_TYPES and layer.hidden in LAYERS
        assert layer.spelling in {"published", "in use", "memory", "ours"} and layer.description
        assert 1 <= layer.colour <= 9
    for role in ROLES:
        for view in ("plan", "elevation", "section"):
            for kind in ("cut", "seen", "hidden", "pattern"):
                layer = LAYERS[layer_for(role, kind, view)]
                assert kind != "hidden" or layer.dashes, (role, view)
    assert LAYERS[layer_for("joist", "cut", "section")].weight > LAYERS[layer_for("joist", "seen", "section")].weight


@settings(max_examples=40, deadline=None)
@given(
    st.floats(2, 60),
    st.floats(2, 60),
    st.floats(0, 180),
    st.sampled_from(["end grain", "long grain", "concrete", "earth", "steel", "gravel"]),
)
def test_hatch_lines_stay_in_their_region(wide, high, angle, pattern):
    """Against shapely: every stroke lies in the region, none in the hole."""
    item = Hatch(
        ring(0, 0, wide, high), [ring(wide / 4, high / 4, wide / 2, high / 2)], pattern, angle, layer="A-SECT-PATT"
    )
    region = shapely.Polygon(item.outline, item.holes).buffer(1e-6)
    lines = shapely.linestrings(list(hatch_lines(item, 16))) if hatch_lines(item, 16) else []
    assert all(shapely.covers(region, lines))


def test_hatch_of_even_lines_covers_the_area():
    """Lines `d` apart have a total length of area / d, whatever the shape (Cavalieri): within one line's length."""
    item = Hatch([(0, 0), (200, 0), (260, 90), (120, 160), (-20, 70)], layer="A-SECT-PATT")
    spacing = 0.125 * 0.36 * 16
    total = sum(math.dist(a, b) for a, b in hatch_lines(item, 16))
    assert total == pytest.approx(shapely.Polygon(item.outline).area / spacing, rel=0.005)


def test_views_get_places_of_their_own():
    drawing = sample()
    draft.arrange(drawing)
    boxes = [shapely.box(*draft.view_box(v)) for v in drawing.views()]
    placed = [shapely.transform(b, lambda p, o=v.origin: p + o) for b, v in zip(boxes, drawing.views())]
    assert not placed[0].intersects(placed[1])
    assert len({v.origin for v in drawing.views()}) == 2


@pytest.mark.parametrize("paper", papers())
def test_title_block_holds_its_fields_on_every_paper(paper):
    """The mandatory fields of ISO 7200, the trade's, and the cautions; no lettering runs together or over the
    border."""
    drawing = sample(paper)
    drawing.fields.update(
        project="A PROJECT WITH A NAME SO LONG THAT IT HAS TO BREAK ON TWO LINES",
        owner="SOMEBODY WITH A VERY LONG NAME " * 2,
    )
    for sheet in drawing.sheets:
        items = filled(drawing, sheet)
        lettered = " ".join(" ".join(style.lines(i.text, i.height, i.wrap)) for i in items if type(i) is Text)
        values = drawing.title_fields(sheet)
        for field in (
            "owner",
            "number",
            "date",
            "sheet",
            "title",
            "creator",
            "document",
            "project",
            "address",
            "scale",
            "revision",
        ):
            assert values[field].split()[0] in lettered, field
        assert "NOT A SUBSTITUTE" in lettered and "CALL BEFORE DIGGING" in lettered and sheet.number in lettered
        assert not overlaps(items, 1.0)
        width, height = sheet.size
        box = draft.items_box(items, 1.0)
        assert box[0] >= 0.25 and box[1] >= 0.25 and box[2] <= width - 0.25 and box[3] <= height - 0.25
        lettering = shapely.union_all([shapely.Polygon(q) for q, _ in draft.text_quads(items, 1.0)])
        assert not lettering.intersects(shapely.box(*sheet.room))


def test_scale_of_a_sheet_is_that_of_its_views():
    one, two = View("a", 48), View("b", 16)
    assert Sheet("S-1", "X", viewports=[Viewport(one, (0, 0))]).scale_text() == '1/4" = 1\'-0"'
    assert Sheet("S-1", "X", viewports=[Viewport(one, (0, 0)), Viewport(two, (0, 0))]).scale_text() == "AS NOTED"
    assert Sheet("S-1", "X").scale_text() == "NONE"


def test_sample_sheets_have_no_lettering_on_lettering():
    for paper in ("ARCH D", "ARCH B"):
        drawing = sample(paper)
        for view in drawing.views():
            assert not overlaps(view.items, view.scale)
        for sheet in drawing.sheets:
            assert not overlaps([*sheet.items, *titles(sheet), *filled(drawing, sheet)], 1.0)


def test_clean_drops_repeats_and_points():
    line = Line((0, 0), (5, 0), layer="S-JOIS", mark="J1")
    items = [
        line,
        Line((5, 0), (0, 0), layer="S-JOIS", mark="J1"),
        Line((1, 1), (1, 1), layer="S-JOIS"),
        Line((0, 0), (5, 0), layer="S-BEAM"),
        Polyline([(2, 2), (2, 2)], layer="S-JOIS"),
    ]
    assert draft.clean(items) == [items[0], items[3]]
