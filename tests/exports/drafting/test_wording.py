"""What the model says, in the units of the paper. An inch is 25.4 mm exactly (international yard and pound agreement,
1959)."""

from __future__ import annotations

import re

import pytest
from conftest import demo_checks, demo_deck, demo_measured

from plumbcut.exports.cards import build_cards
from plumbcut.exports.drafting.draft import strokes
from plumbcut.exports.drafting.drawing import DrawingSet, Text
from plumbcut.exports.drafting.furniture import titles
from plumbcut.exports.drafting.wording import quantity, without_keys, worded
from plumbcut.exports.sheets import build_drawing
from plumbcut.model.order.takeoff import take_off
from plumbcut.shared.errors import LengthError
from plumbcut.shared.said import (
    area,
    decimal,
    length,
    listed,
    number,
    quoting,
    said,
    size,
    span,
    surface,
    together,
    volume,
)

INCH_MARK = re.compile(r"""\d\s*["″]|\d\s*['′]\s*-?\s*\d""")


@pytest.mark.parametrize(
    ("told", "inch", "metric"),
    [
        (length(147.5), "12'-3 1/2\"", "3746 mm"),
        (size(5.25), '5 1/4"', "133 mm"),
        (decimal(-9.0, 1, signed=True), "-9.0 in", "-229 mm"),
        (decimal(12.345, 2, bare=True), "12.35", "313.6"),
        (decimal(42.0, None), "42 in", "1066.8 mm"),
        (area(155.0), "155.0 sq in", "1000 sq cm"),
        (span(126.0), "10.5 ft", "3.20 m"),
        (decimal(7.03125, figures=4), "7.031 in", "178.6 mm"),
        (surface(20.0, 1), "20.0 sq ft", "1.86 sq m"),
        (volume(1.0), "1.000 cu in", "16.39 cu cm"),
        (number(1234.5, 0, grouped=True), "1,234", "1,234"),
    ],
    ids=lambda x: getattr(x, "kind", None),
)
def test_a_number_is_worded_in_the_units_of_the_paper(told, inch, metric):
    sentence = said("run {run} is {x}", run=3, x=told)
    assert worded(sentence) == f"run 3 is {inch}"
    assert worded(sentence, metric=True) == f"run 3 is {metric}"


def test_sentences_are_put_together_without_losing_their_numbers():
    both = together("", said("{x} of {y}", x=size(1), y=length(24)), "look {it} up")
    assert worded(both) == '1" of 2\'-0"; look {it} up'
    assert worded(said("rises {all}", all=listed([size(7), size(7.5)])), metric=True) == "rises 178 mm, 190 mm"
    assert together("a", "", "b") == "a; b"


def test_lengths_in_a_text_of_the_data_are_quoted_as_printed():
    told = quoting("joists at {16 in} o.c., {13-1}, to {20 sq ft}, {6 ft 0 in} long")
    assert worded(told) == "joists at 16 in o.c., 13-1, to 20 sq ft, 6 ft 0 in long"
    assert worded(told, metric=True) == "joists at 406.4 mm o.c., 3988 mm, to 1.8581 sq m, 1829 mm long"
    assert quoting("no length") == "no length"
    with pytest.raises(LengthError):
        quoting("a {long one}")


def test_a_slope_is_not_rounded_away():
    """1/4 in per ft is 1:48, or 2.083 percent."""
    assert quantity(1 / 48, "in per in") == "0.25 in per ft" and quantity(1 / 48, "in per in", True) == "2.083 percent"
    assert quantity(24.0, "in o.c.", metric=True) == "609.6 mm o.c." and quantity(24.0, "in o.c.") == "24 in o.c."
    assert quantity(1.0, "sq in", metric=True) == "6.452 sq cm"


def test_a_value_is_not_rounded_onto_its_limit():
    assert quantity(4.0, "in") == '4"' and quantity(3.97, "in") == '4" (3.970 in)'
    assert quantity(4.0, "in", metric=True) == "101.6 mm" and quantity(3.97, "in", metric=True) == "100.838 mm"
    assert quantity(40.0, "psf", metric=True) == "40 psf"


def lettering(drawing: DrawingSet) -> list[tuple[str, str]]:
    """(sheet, text) of everything lettered."""
    found = []
    for sheet in drawing.sheets:
        for items, scale in [
            (sheet.items, 1.0),
            (titles(sheet, drawing.metric), 1.0),
            *((port.view.items, port.view.scale) for port in sheet.viewports),
        ]:
            for item in items:
                found += [(sheet.number, s.text) for s in strokes(item, scale, drawing.metric) if type(s) is Text]
        found += [(sheet.number, v) for v in [*sheet.fields.values(), sheet.name]]
    return found


@pytest.mark.parametrize("kind", ["sheets", "cards"])
def test_metric_paper_bears_no_inch_mark(demo, kind):
    """Lumber keeps the trade's nominal name (2x10), which has no mark."""
    deck, measured = demo_deck(demo), demo_measured(demo)
    if kind == "sheets":
        drawing = build_drawing(deck, measured, demo_checks(demo), paper="A3", metric=True)
    else:
        drawing = build_cards(deck, measured, plan=take_off(deck, measured).order, paper="A4", metric=True)
    texts = lettering(drawing)
    assert len(texts) > 200 and any(INCH_MARK.search(t) for _, t in [("", '7/8"'), ("", "5'-6")])
    assert [(n, t) for n, t in texts if INCH_MARK.search(t)] == []


def test_a_sheet_names_neither_a_table_of_the_file_nor_the_file():
    assert without_keys("only the loads of areas given (area_load) are calculated") == (
        "only the loads of areas given are calculated"
    )
    assert without_keys("as given (hardware)") == "as given"
    assert "file" not in without_keys("the file does not say what the wall is: siding is assumed (house.wall)")
