"""Characters that the sheets have no letters for: said on the terminal by key and character, on paper by number."""

from __future__ import annotations

import copy
from types import SimpleNamespace

import pypdfium2
import pytest
from conftest import demo_checks, demo_deck, demo_measured
from sample_sheets import lettered

from plumbcut.exports.drafting.unlettered import unlettered
from plumbcut.exports.formats.pdf import write_pdf
from plumbcut.exports.report import summary, without_letters
from plumbcut.exports.sheets import build_drawing

ODD = {"project.name": "\u6f22\u5b57 deck \u6f22", "local.notes.1": "keep the \U0001f333"}


@pytest.fixture(scope="module")
def deck():
    made = copy.copy(demo_deck("terrace"))
    p = made.parameters
    project = p.project.model_copy(update={"name": ODD["project.name"]})
    local = p.local.model_copy(update={"notes": ["Plain \u2014 \u00d8 \u00bd", ODD["local.notes.1"]]})
    made.parameters = p.model_copy(update={"project": project, "local": local})
    return made


def test_each_is_found_once_by_its_key(deck):
    found = dict(unlettered(deck.parameters))
    assert found == {"project.name": "\u6f22\u5b57", "local.notes.1": "\U0001f333"}
    assert list(unlettered(demo_deck("terrace").parameters)) == []


def test_the_terminal_names_key_and_character(deck, tmp_path):
    notes = without_letters(deck.parameters)
    assert "project.name" in notes[0] and "\u6f22 (U+6F22), \u5b57 (U+5B57)" in notes[0]
    told = summary(SimpleNamespace(deck=deck, checks=demo_checks("terrace")), tmp_path)
    assert all(f"note: {note}" in told for note in notes) and len(notes) == 2


@pytest.mark.parametrize("paper", ["ARCH B", "letter"])
def test_the_notes_on_paper_name_the_place_and_the_number(deck, paper, tmp_path):
    drawing = build_drawing(deck, demo_measured("terrace"), demo_checks("terrace"), paper=paper)
    text = " ".join(lettered(drawing).values())
    assert "PROJECT NAME: THE FACE OF THESE SHEETS HAS NO LETTER FOR U+6F22, U+5B57; A BOX STANDS" in text
    assert "LOCAL NOTES 2: THE FACE OF THESE SHEETS HAS NO LETTER FOR U+1F333" in text
    write_pdf(drawing, tmp_path / "x.pdf")
    document = pypdfium2.PdfDocument(tmp_path / "x.pdf")
    pages = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in document)
    assert "U+6F22, U+5B57" in pages and "U+1F333" in pages
