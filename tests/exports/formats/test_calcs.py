"""calcs.csv, calcs.pdf and checks.csv, read back with other readers than those that wrote them."""

from __future__ import annotations

import csv
import re
from dataclasses import replace

import pypdfium2
import pytest
from conftest import demo_checks, demo_deck

from plumbcut.exports.drafting.style import CAUTIONS
from plumbcut.exports.drafting.wording import worded
from plumbcut.exports.formats.calcs import write_calcs_csv, write_calcs_pdf
from plumbcut.exports.formats.checks_csv import CHECK_COLUMNS, write_checks
from plumbcut.model.structure.structure import analyse


def rows(path):
    with open(path, encoding="utf-8", newline="") as file:
        first, *rest = file.read().splitlines(keepends=True)
    assert first.startswith("# ") and "engineer" in first
    return list(csv.DictReader(rest))


def words(path) -> list[str]:
    """The text of every page, spaces and line breaks made one."""
    document = pypdfium2.PdfDocument(str(path))
    return [re.sub(r"\s+", " ", page.get_textpage().get_text_range()) for page in document]


KINDS = ("joist", "rim", "beam", "post", "footing", "ledger", "stringer")


@pytest.fixture(scope="module")
def structure():
    return analyse(demo_deck("terrace"))


@pytest.fixture(scope="module")
def pages(structure, tmp_path_factory):
    path = tmp_path_factory.mktemp("calcs") / "calcs.pdf"
    write_calcs_pdf(structure, demo_deck("terrace"), path)
    return words(path)


def test_checks_are_read_back_as_they_were(tmp_path, demo):
    checks = demo_checks(demo)
    write_checks(checks, tmp_path / "checks.csv")
    read = rows(tmp_path / "checks.csv")
    assert len(read) == len(checks) and tuple(read[0]) == CHECK_COLUMNS
    for row, r in zip(read, checks):
        assert (row["rule"], row["place"], row["result"], row["unit"], row["kind"]) == (
            r.rule,
            worded(r.place),
            r.result,
            r.unit,
            r.kind,
        )
        assert row["ids"].split() == list(r.ids)
        for name in ("measured", "limit", "margin"):
            value = getattr(r, name)
            assert row[name] == "" if value is None else float(row[name]) == pytest.approx(value, rel=1e-6, abs=1e-6)


def test_no_cell_runs_as_a_formula(tmp_path):
    """A text that a spreadsheet would run gets an apostrophe; a negative number stays a number."""
    r = next(r for r in demo_checks("terrace") if r.margin is not None)
    for evil in ('=HYPERLINK("x")', "+1", "-2+3", "@SUM(A1)", "\tx"):
        write_checks([replace(r, place=evil, margin=-1.5)], tmp_path / "checks.csv")
        (row,) = rows(tmp_path / "checks.csv")
        assert row["place"].startswith("'") and row["margin"] == "-1.5"


def test_calculations_hold_every_check_of_every_member(tmp_path, structure):
    write_calcs_csv(structure, tmp_path / "calcs.csv")
    read = rows(tmp_path / "calcs.csv")
    assert len(read) == sum(len(r.table) + len(r.calculation) for r in structure.results) > 100
    assert {r["kind"] for r in read} == {*KINDS, "top rail", "bottom rail", "baluster", "guard post"}
    for row in read:
        if row["ratio"] and row["route"] == "calculation":
            assert float(row["ratio"]) == pytest.approx(
                float(row["demand"]) / float(row["capacity"]), rel=1e-3, abs=2e-5
            )  # cells keep six decimals


def test_every_page_carries_the_project_and_the_cautions(pages):
    assert len(pages) >= 8
    for n, page in enumerate(pages, 1):
        assert "Back terrace 24-07" in page and f"page {n} of {len(pages)}" in page
        for caution in CAUTIONS:
            assert caution in page
        for word in ("safe", "approved", "certified"):
            assert not re.search(rf"\b{word}", page, re.I), (n, word)


def test_every_kind_has_its_governing_member(pages, structure):
    text = " ".join(pages)
    for kind in (*KINDS, "top rail", "guard post"):
        member = structure.governing(kind)
        assert f"{kind.capitalize()} {member.mark}: {member.stock}" in text
        assert f"Governs: {worded(member.governs)}. Result: {member.result}." in text


def test_a_page_can_be_worked_through_with_a_pocket_calculator(pages, structure):
    """Bending of the governing joist from the numbers printed alone: M / S against the printed Fb', and its ratio."""
    at = next(i for i, p in enumerate(pages) if f"Joist {structure.governing('joist').mark}:" in p)
    text = re.sub(r"(\d),(\d)", r"\1\2", " ".join(pages[at : at + 3]))
    m = re.search(
        r"Bending, sagging, D \+ L .*?moment M ([\d.]+) ft lb .*?section modulus S ([\d.]+) in3 .*?bending stress fb"
        r" ([\d.]+) psi .*?Fb' ([\d.]+) psi (.*?) = .*?ratio ([\d.]+), met",
        text,
    )
    moment, modulus, stress, allowed, factors, ratio = m.groups()
    assert float(moment) * 12 / float(modulus) == pytest.approx(float(stress), rel=1e-3)
    product = 1.0
    for number in re.findall(r"(?:^|x (?:[A-Za-z]+ )?)([\d.]+)", factors):
        product *= float(number)
    assert product == pytest.approx(float(allowed), rel=1e-3)
    assert float(stress) / float(allowed) == pytest.approx(float(ratio), abs=6e-4)


def test_memory_and_doubt_stay_marked(pages):
    text = " ".join(pages)
    assert "(from memory)" in text and "DOUBTFUL" in text


def test_the_same_deck_gives_the_same_bytes(tmp_path, structure):
    deck = demo_deck("terrace")
    for name in ("a.pdf", "b.pdf"):
        write_calcs_pdf(structure, deck, tmp_path / name)
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_a_name_with_markup_in_it_is_lettered_as_it_is(tmp_path, structure):
    deck = demo_deck("terrace")
    project = deck.parameters.project.model_copy(update={"name": "<b>Oak & Ash</b> <para>"})
    other = replace(deck, parameters=deck.parameters.model_copy(update={"project": project}))
    write_calcs_pdf(structure, other, tmp_path / "calcs.pdf")
    assert "<b>Oak & Ash</b> <para>" in words(tmp_path / "calcs.pdf")[0]
