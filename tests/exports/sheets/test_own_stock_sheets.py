"""Sheets, cards, calculation and comparison of a deck whose joists and beam are sizes of its file's own."""

import csv
import re

import pypdfium2
import pytest
from own_stock import BEAM, JOIST, deck_of
from sample_sheets import lettered

from plumbcut.exports.cards import build_cards
from plumbcut.exports.comparing.compare import marks, match, two
from plumbcut.exports.drafting.wording import sized_text
from plumbcut.exports.formats.calcs import write_calcs_csv, write_calcs_pdf
from plumbcut.exports.sheets import build_drawing
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import take_off
from plumbcut.model.rules.checks import check_deck
from plumbcut.model.structure.structure import analyse
from plumbcut.shared.stock import lumber


@pytest.fixture(scope="module")
def metric(tmp_path_factory):
    deck = deck_of(tmp_path_factory.mktemp("own"), JOIST, BEAM)
    return deck, measure_all(deck.parts)


def test_inch_sheets_name_the_size_and_what_it_dresses_to(metric):
    """45 mm is 1.772 in, 195 mm 7.677 in, 220 mm 8.661 in: to the nearest sixteenth 1 3/4, 7 11/16, 8 11/16."""
    deck, measured = metric
    sheets = lettered(build_drawing(deck, measured, check_deck(deck, measured)))
    plan = sheets["FRAMING PLAN"]
    assert "45x195 JOISTS @" in plan and "(2) 45x220 BEAM" in plan
    assert 'JOISTS 45x195 (1 3/4" x 7 11/16"), VALUES GIVEN BY THE BUILDER' in plan
    assert 'BEAMS (2) 45x220 (1 3/4" x 8 11/16" EACH)' in plan
    cover = sheets["COVER SHEET"]
    assert "BUT FOR 45x195, 45x220" in cover and "GIVEN BY THE BUILDER: EN 338 C24 / OUR ENGINEER" in cover
    assert '45x195 1 3/4" x 7 11/16" EN 338 C24 / OUR ENGINEER' in sheets["SCHEDULES"]
    assert "SOUTHERN PINE NO.2, TREATED" not in plan


def test_metric_sheets_say_it_once(metric):
    deck, measured = metric
    sheets = lettered(build_drawing(deck, measured, check_deck(deck, measured), paper="A3", metric=True))
    assert "JOISTS 45x195, VALUES GIVEN BY THE BUILDER" in sheets["FRAMING PLAN"]
    assert all('"' not in text for text in sheets.values())


def test_saw_card_heads_the_lengths_of_the_file(metric):
    deck, measured = metric
    order = take_off(deck, measured).order
    cards = " ".join(lettered(build_cards(deck, measured, plan=order)).values())
    assert '45x220 TREATED LUMBER (1 3/4" x 8 11/16"): 2 LENGTHS' in cards


def test_the_calculation_lists_what_was_given_and_which_factors(metric, tmp_path):
    deck, _ = metric
    structure = analyse(deck)
    write_calcs_pdf(structure, deck, tmp_path / "calcs.pdf")
    document = pypdfium2.PdfDocument(str(tmp_path / "calcs.pdf"))
    first = re.sub(r"\s+", " ", document[1].get_textpage().get_text_range())  # behind the opening page
    assert "given by the builder: EN 338 C24 / our engineer" in first
    assert "factors applied: CL, CP; not applied: CF, CD, CM, Ci, Cr, Cb" in first
    assert "the default for treated lumber" in first
    write_calcs_csv(structure, tmp_path / "calcs.csv")
    with open(tmp_path / "calcs.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file.read().splitlines()[1:]))
    bent = next(r for r in rows if r["kind"] == "joist" and r["check"] == "bending, sagging")
    assert bent["stock"] == "45x195" and "given by the builder for 45x195" in bent["source"]
    table = next(r for r in rows if r["kind"] == "joist" and r["check"] == "joist span")
    assert table["result"] == "not checked" and "no published row for 45x195" in table["why"]


def test_other_values_are_no_other_timber(tmp_path):
    """Comparing the same sizes with other values: no piece counts as other stock, as cut differently or as moved."""
    deck_of(tmp_path, JOIST, BEAM)  # writes the file
    a, b = two((tmp_path / "deck.toml", None, "A"), (tmp_path / "deck.toml", {"lumber.stock.0.Fb": "7 MPa"}, "B"))
    pairs = match(a.measured, b.measured)
    assert {p.what for p in pairs} == {"same"}
    assert {c.what for c in marks(a.measured, b.measured, pairs)} == {"same"}


def test_a_built_in_size_is_worded_as_ever():
    assert sized_text(lumber("2x10")) == "2x10" == sized_text(lumber("2x10"), metric=True)
