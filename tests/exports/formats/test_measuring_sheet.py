"""The measuring sheet, read back from the PDF: all that a file needs is asked, nothing overlaps or leaves the paper."""

from __future__ import annotations

import itertools

import pdfplumber
import pytest
from click.testing import CliRunner

from plumbcut.exports.command import main
from plumbcut.exports.drafting.style import CAUTIONS
from plumbcut.model.input.house_table import House

SIZES = {"letter": (612, 792), "A4": (595.3, 841.9)}  # points: ANSI/ASME Y14.1 size A, ISO 216
LEAST = 72 * 3 / 32  # points of a capital letter, as on the permit sheets
CAPITAL = 0.729  # of the size of the letters, by the face's own table (OS/2 sCapHeight 1493 of 2048)


@pytest.fixture(scope="module", params=SIZES)
def sheet(request, tmp_path_factory):
    path = tmp_path_factory.mktemp("form") / "form.pdf"
    told = CliRunner().invoke(main, ["form", "--out", str(path), "--paper", request.param])
    assert told.exit_code == 0, told.output
    with pdfplumber.open(path) as pdf:
        yield request.param, pdf


def test_two_upright_pages_of_the_paper_asked_for(sheet):
    paper, pdf = sheet
    assert len(pdf.pages) == 2
    for page in pdf.pages:
        assert (float(page.width), float(page.height)) == pytest.approx(SIZES[paper], abs=0.1)


def test_everything_is_on_the_paper_and_no_words_run_into_others_or_lines(sheet):
    for page in sheet[1].pages:
        words = page.extract_words(use_text_flow=False)
        for w in words:
            assert w["x0"] >= 30 and w["x1"] <= page.width - 30 and w["top"] >= 30 and w["bottom"] <= page.height - 30
        for a, b in itertools.combinations(words, 2):
            apart = (
                a["x1"] <= b["x0"] or b["x1"] <= a["x0"] or a["bottom"] <= b["top"] + 1 or b["bottom"] <= a["top"] + 1
            )
            assert apart, (a["text"], b["text"])
        for line in page.lines:
            for w in words:
                level = abs(line["top"] - line["bottom"]) < 0.1
                if level and w["x1"] > line["x0"] and w["x0"] < line["x1"]:
                    middle = (w["top"] + w["bottom"]) / 2
                    assert abs(middle - line["top"]) > 2.5, w["text"]


def test_letters_are_as_high_as_on_the_sheets(sheet):
    for page in sheet[1].pages:
        assert min(c["size"] for c in page.chars) * CAPITAL >= LEAST - 0.01


def test_what_the_first_visit_needs_is_asked(sheet):
    text = " ".join(" ".join(p.extract_text().split()) for p in sheet[1].pages).lower()
    asked = "sides diagonals corner sill wall soil frost setback obstacles easements snow wind guard stair level"
    for word in asked.replace("obstacles", "in the way").split(" "):
        assert word in text, word
    for kind in House.model_fields["wall"].annotation.__args__[0].__args__:
        assert kind in text
    assert all(c.lower().rstrip(".") in text.replace(". ", ". ") for caution in CAUTIONS for c in caution.split(". "))
    assert "_" not in text and "outline." not in text, "no keys of the file on paper"


def test_the_same_bytes_each_time_and_a_place_that_cannot_be_is_one_line(tmp_path):
    for name in ("a.pdf", "b.pdf"):
        CliRunner().invoke(main, ["form", "--out", str(tmp_path / name)])
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()
    refused = CliRunner().invoke(main, ["form", "--out", str(tmp_path / "none" / "a.pdf")])
    assert refused.exit_code == 2 and refused.output.count("\n") == 1
