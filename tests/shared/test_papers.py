"""A paper is a row: one more of them is drawn on, written and offered without a line of code."""

from __future__ import annotations

import pdfplumber
import pytest
from conftest import demo_checks, demo_deck, demo_measured

from plumbcut.exports.drafting import titleblock
from plumbcut.exports.formats.pdf import write_pdf
from plumbcut.exports.sheets import build_drawing
from plumbcut.shared import papers as rows


def test_sizes_are_those_of_the_standards():
    """ISO 216: sides as 1 to the square root of 2, each size half the one before, whole millimetres; ANSI B is two
    letters side by side; the architectural sizes are in feet and half feet."""
    p = rows.papers()
    for name in ("A1", "A3", "A4"):
        assert p[name].width / p[name].height == pytest.approx(2**0.5, abs=0.005)
    assert p["A3"].height == p["A4"].width and p["ANSI B"].height == p["letter"].width
    assert p["ANSI B"].width == 2 * p["letter"].height
    assert (p["ARCH D"].width, p["ARCH D"].height, p["ARCH B"].width, p["ARCH B"].height) == (36, 24, 18, 12)


def test_one_more_row_is_one_more_paper(monkeypatch, tmp_path):
    plain = rows.table

    def table(name: str):
        more = {
            **next(r for r in plain("papers") if r["paper"] == "A3"),
            "paper": "A2",
            "width": "594",
            "height": "420",
        }
        return (*plain(name), more) if name == "papers" else plain(name)

    monkeypatch.setattr(rows, "table", table)
    for cache in (rows.papers, titleblock.block):
        cache.cache_clear()
    try:
        assert "A2" in rows.sheet_papers()
        drawing = build_drawing(
            demo_deck("terrace"), demo_measured("terrace"), demo_checks("terrace"), paper="A2", metric=True
        )
        write_pdf(drawing, tmp_path / "a2.pdf")
        with pdfplumber.open(tmp_path / "a2.pdf") as pdf:
            assert {(round(p.width / 72 * 25.4), round(p.height / 72 * 25.4)) for p in pdf.pages} == {(594, 420)}
    finally:
        for cache in (rows.papers, titleblock.block):
            cache.cache_clear()
