"""A metric set as a reader sees it: the text of its PDF, and its lists beside those of the same deck in inches."""

from __future__ import annotations

import re
import sys
from functools import cache
from pathlib import Path

import pypdfium2
import pytest
from conftest import DEMOS, PARAMS, demo_deck

from plumbcut.exports.cards import build_cards, build_delivery
from plumbcut.exports.formats.calcs import write_calcs_csv
from plumbcut.exports.formats.checks_csv import write_checks
from plumbcut.exports.formats.pdf import write_pdf
from plumbcut.exports.formats.tables import write_tables
from plumbcut.exports.sheets import build_drawing
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import take_off
from plumbcut.model.parameter_file import read
from plumbcut.model.rules.checks import check_deck
from plumbcut.model.structure.structure import analyse

sys.path.insert(0, str(Path(__file__).parents[1] / "long"))
import decks as seeded

SEEDS = (86, 43)  # a landing and splices of rims; a ledger on two edges
# a mark after a figure, the word after one that is no part of a mark (KB10), the word in a slope or for itself
INCHES = re.compile(
    r"\d\s*[\"\u2033\u201d]|\d\s*['\u2032]\s*-?\s*\d|\b\d[\d./ -]*\s?-?(IN|FT|SQ IN|SQ FT|CU IN)\b"
    r"|\b(IN PER|INCH|INCHES|FEET)\b",
    re.I,
)


@cache
def worked(name: str | int):
    """(deck, measured, structure, checks) of a demo, or of a seed of `tests/long/decks.py`."""
    deck = demo_deck(name) if isinstance(name, str) else build(Parameters.model_validate(seeded.parameters(name)))
    measured, structure = measure_all(deck.parts), analyse(deck)
    return deck, measured, structure, check_deck(deck, measured, structure)


def text_of(path: Path) -> list[str]:
    """The text of each page, a space for every break of a line."""
    document = pypdfium2.PdfDocument(path)
    return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


def lettered(name: str | int, folder: Path, metric: bool) -> list[str]:
    """The text of all sheets, cards and delivery sheets of a deck, as pdfium reads the PDF."""
    deck, measured, _, checks = worked(name)
    sheets = build_drawing(deck, measured, checks, paper="A3" if metric else "ARCH B", metric=metric)
    taken = take_off(deck, measured)
    plan = taken.order
    cards = build_cards(deck, measured, plan=plan, paper="A4" if metric else "letter", metric=metric)
    write_pdf(sheets, folder / "permit.pdf")
    write_pdf(cards, folder / "site.pdf")
    delivery = build_delivery(deck, measured, taken, paper="A4" if metric else "letter", metric=metric)
    write_pdf(delivery, folder / "delivery.pdf")
    return [page for name in ("permit", "site", "delivery") for page in text_of(folder / f"{name}.pdf")]


@pytest.mark.parametrize("name", [*DEMOS, *SEEDS], ids=str)
def test_no_text_of_a_metric_set_is_in_inches(name, tmp_path):
    pages = lettered(name, tmp_path, metric=True)
    found = [page[max(0, m.start() - 60) : m.end() + 20] for page in pages for m in INCHES.finditer(page)]
    assert len(pages) > 20 and not found, "\n".join(found)
    assert not any("{" in page for page in pages)  # the braces of the data's texts
    assert sum(len(re.findall(r"\d MM\b", page)) for page in pages) > 50


def test_an_inch_is_found_where_it_stands(tmp_path):
    found = [m[0].lower() for page in lettered("terrace", tmp_path, metric=False) for m in INCHES.finditer(page)]
    assert {"4 in", '0"'} <= set(found) and len(found) > 500


@pytest.mark.parametrize("name", [*DEMOS, *SEEDS], ids=str)
def test_the_lists_of_a_metric_set_are_those_of_the_same_deck_in_inches(name, tmp_path):
    """Numbers in CSV files are inches and pounds, whatever the paper: the same bytes."""
    written = []
    for units, paper in (("imperial", "ARCH B"), ("metric", "A3")):
        p = (
            read(PARAMS / f"{name}.toml")
            if isinstance(name, str)
            else Parameters.model_validate(seeded.parameters(name))
        )
        p = p.model_copy(update={"drawing": p.drawing.model_copy(update={"units": units, "paper": paper})})
        deck = build(p)
        measured, structure = measure_all(deck.parts), analyse(deck)
        checks = check_deck(deck, measured, structure)
        folder = tmp_path / units
        folder.mkdir()
        write_tables(folder, deck, measured, checks, take_off(deck, measured))
        write_checks(checks, folder / "checks.csv")
        write_calcs_csv(structure, folder / "calcs.csv")
        written.append({f.name: f.read_bytes() for f in folder.glob("*.csv")})
    assert len(written[0]) >= 5 and all(len(b) > 200 for b in written[0].values())
    assert written[0] == written[1] and not any(b"{" in b for b in written[0].values())
