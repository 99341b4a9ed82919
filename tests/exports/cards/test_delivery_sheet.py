"""The delivery check sheet against order.csv: every line once, with a box, by delivery, what is needed first on top."""

from __future__ import annotations

from collections import Counter

import pdfplumber
import pytest
from conftest import demo_deck, demo_measured

from plumbcut.exports.cards import build_delivery
from plumbcut.exports.cards.delivery_sheet import TICK_BOX
from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.formats.pdf import write_pdf
from plumbcut.exports.formats.rows import order_table
from plumbcut.model.order.takeoff import take_off


@pytest.fixture(scope="module")
def made():
    deck, measured = demo_deck("terrace"), demo_measured("terrace")
    taken = take_off(deck, measured)
    header, table = order_table(taken)
    bought = [r for r in (dict(zip(header, row)) for row in table) if r["kind"] != "note"]
    return build_delivery(deck, measured, taken), bought


def tables(drawing):
    """(heading, table) in the order of the pages."""
    out = []
    for sheet in drawing.sheets:
        heads = [i for i in sheet.items if isinstance(i, d.Text) and i.text.startswith("DELIVERY ")]
        for t in (i for i in sheet.items if isinstance(i, d.Table)):
            over = min((h for h in heads if h.at[1] > t.at[1]), key=lambda h: h.at[1])
            out.append((over.text.split(": ")[1].removesuffix(" (CONTINUED)"), t))
    return out


def test_every_line_of_the_order_has_a_row(made):
    drawing, bought = made
    shown = Counter((name, r[1], r[5].replace(" TO ", " to ")) for name, t in tables(drawing) for r in t.rows)
    assert shown == Counter((r["delivery"].upper(), str(r["quantity"]), r["serves"]) for r in bought)
    text = [r[2] for _, t in tables(drawing) for r in t.rows]
    for r in bought:
        assert any(t.startswith((r["item"].upper(), r["item"])) for t in text), r["item"]
    spare = sum(int(t.split(" OF THEM SPARE")[0].split(", ")[-1]) for t in text if "SPARE" in t)
    assert spare == sum(r["spare"] or 0 for r in bought) > 0


def test_what_is_needed_first_stands_first(made):
    drawing, _ = made
    frame = [r[4] for name, t in tables(drawing) if name == "FRAME" for r in t.rows]
    order = ["FOOTING", "PAD", "POST", "BEAM", "LEDGER", "RIM", "JOIST"]
    assert [x for k, x in enumerate(frame) if x in order and x not in frame[:k]] == order
    assert list(dict.fromkeys(name for name, _ in tables(drawing))) == [
        "FRAME",
        "SURFACE AND TRIM",
        "STAIRS AND GUARDS",
    ]


def test_each_row_has_a_box_on_the_page(made, tmp_path):
    drawing, bought = made
    write_pdf(drawing, tmp_path / "d.pdf")
    boxes = 0
    with pdfplumber.open(tmp_path / "d.pdf") as pdf:
        for page in pdf.pages:
            shapes = page.rects + page.curves
            boxes += sum(
                abs(s["width"] - TICK_BOX * 72) < 0.3 and abs(s["height"] - TICK_BOX * 72) < 0.3 for s in shapes
            )
            words = page.extract_text()
            assert "DELIVERY" in words and "HERE" in words
    assert boxes == len(bought)
