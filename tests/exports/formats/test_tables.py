"""Files for the yard: CSV, workbook and measured.json, re-read by other programs' readers and compared with the
model."""

from __future__ import annotations

import csv
import json
import re
from types import SimpleNamespace

import openpyxl
import pytest
from conftest import PARAMS, demo_deck, demo_measured

from plumbcut.exports.drafting.wording import worded
from plumbcut.exports.formats.measured_json import MeasuredFile
from plumbcut.exports.formats.rows import cell, write_csv
from plumbcut.exports.formats.tables import write_tables
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import joist_span, take_off
from plumbcut.model.rules.check_result import CheckResult
from plumbcut.shared.prices import Prices, read_prices

BAD = '=HYPERLINK("http://x","y")'
CHECK = CheckResult("rise", "a source", "stair 1", 7.5, 7.75, 0.25, "in", "at most", "met", BAD, ("S1-01",))


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("out")
    deck, measured = demo_deck("terrace"), demo_measured("terrace")
    first = measured[0].part.replaced(where=BAD)
    measured = [*measure_all([first]), *measured[1:]]
    deck = SimpleNamespace(
        parameters=deck.parameters,
        contacts=deck.contacts,
        members=deck.members,
        parts=deck.parts,
        layout=deck.layout,
        tied_back=deck.tied_back,
    )
    found = take_off(deck, measured, read_prices(PARAMS / "prices.csv"))
    write_tables(folder, deck, measured, [CHECK], found)
    return SimpleNamespace(folder=folder, measured=measured, take_off=found, deck=deck)


def rows(path):
    with open(path, encoding="utf-8", newline="") as f:
        return list(csv.DictReader(f))


def test_every_file_is_there(written):
    assert {p.name for p in written.folder.iterdir()} == {
        "quantities.csv",
        "cutlist.csv",
        "order.csv",
        "checks.csv",
        "workbook.xlsx",
        "measured.json",
        "measured.schema.json",
    }


def test_quantities_add_up_to_the_model(written):
    found = rows(written.folder / "quantities.csv")
    assert sum(int(r["count"]) for r in found) == len(written.measured)
    assert sum(float(r["volume_cuft"]) for r in found) == pytest.approx(
        sum(m.volume for m in written.measured) / 1728, abs=1e-4
    )


def test_cut_list_lengths_are_text_for_paper_and_exact_in_data(written):
    by_mark = {m.mark: m for m in written.measured}
    for r in rows(written.folder / "cutlist.csv"):
        assert float(r["length_in"]) == pytest.approx(by_mark[r["mark"]].length, abs=1e-6)
        assert r["length_text"].endswith('"')
    mitred = [r for r in rows(written.folder / "cutlist.csv") if r["role"] == "border"]
    assert any("mitre 45°" in r["end_A"] + r["end_B"] for r in mitred)


def test_measured_json_is_one_valid_object_a_piece(written):
    text = (written.folder / "measured.json").read_text()
    data = MeasuredFile.model_validate_json(text)
    assert [p.id for p in data.pieces] == [m.id for m in written.measured]
    ids = {p.id for p in data.pieces}
    assert all(set(p.carried_by) <= ids for p in data.pieces) and any(p.carried_by for p in data.pieces)
    schema = json.loads((written.folder / "measured.schema.json").read_text())
    assert set(schema["$defs"]["Piece"]["required"]) == set(json.loads(text)["pieces"][0])


def test_workbook_has_formulas_frozen_headings_and_no_live_text(written):
    book = openpyxl.load_workbook(written.folder / "workbook.xlsx")
    assert book.sheetnames == ["Summary", "Quantities", "Cut list", "Order", "Hardware", "Saw cards", "Checks"]
    formulas = {}
    for sheet in book.worksheets:
        if sheet.title != "Summary":
            assert (
                sheet.freeze_panes == "A2" and sheet.print_title_rows == "$1:$1" and sheet.page_setup.fitToHeight == 0
            )
        for row in sheet.iter_rows():
            for c in row:
                if c.data_type == "f":
                    formulas[sheet.title, c.coordinate] = c.value
                    assert c.value.startswith(("=SUM(", "=B", "=D", "=E", "=Quantities!", "=Order!", "=Hardware!")), (
                        c.value
                    )
    assert sum(v.startswith("=SUM(") for v in formulas.values()) >= 9
    checks = book["Checks"]
    assert [c.value for c in checks[2]][-1] == BAD and checks["G2"].data_type == "s"


def test_workbook_totals_are_what_the_formulas_say(written):
    """The value stored beside each formula, and the formula worked out here, agree with the model."""
    values = openpyxl.load_workbook(written.folder / "workbook.xlsx", data_only=True)
    q = values["Quantities"]
    end = q.max_row
    while q.cell(end, 1).value != "Total":
        end -= 1
    assert q.cell(end, 5).value == sum(q.cell(r, 5).value for r in range(2, end)) == len(written.measured)
    o = values["Order"]
    lines = [r for r in o.iter_rows(min_row=2, values_only=True) if isinstance(r[5], (int, float)) and r[0] != "Total"]
    assert all(r[6] == pytest.approx(r[4] * r[5]) and r[7] == pytest.approx(r[3] * r[4]) for r in lines)
    assert sum(r[6] for r in lines) == pytest.approx(written.take_off.order.price)
    assert values["Summary"]["B7"].value == pytest.approx(written.take_off.price)
    assert values["Summary"]["B3"].value == len(written.measured)


@pytest.mark.parametrize("text", [BAD, "+1", "-2+3", "@SUM(A1)", "\tx", "\rx"])
def test_csv_text_cannot_become_a_formula(tmp_path, text):
    write_csv(tmp_path / "t.csv", (["a"], [[text]]))
    with open(tmp_path / "t.csv", newline="", encoding="utf-8") as f:
        (value,) = list(csv.reader(f))[1]
    assert value[0] == "'" and value[1:].strip() == text.strip()


def test_numbers_stay_numbers():
    assert [cell(x) for x in (-2.5, 0.0, -1e-9, 3, None, 1 / 3)] == ["-2.5", "0", "0", 3, "", "0.333333"]


def test_prices_missing_are_named_and_the_rest_adds_up(written):
    whole = written.take_off
    assert whole.unpriced == () and whole.price > 0
    no_boards = Prices(
        tuple(r for r in read_prices(PARAMS / "prices.csv").rows if r[0] not in ("5/4x6", "hidden clip"))
    )
    part = take_off(written.deck, written.measured, no_boards)
    assert "hidden clip" in part.unpriced and any(x.startswith("5/4x6 composite board") for x in part.unpriced)
    boards = sum(x.price for x in whole.order.lines if x.stock.name == "5/4x6")
    clips = next(h.packs for h in whole.hardware if h.item == "hidden clip") * read_prices(PARAMS / "prices.csv").each(
        "hidden clip"
    )
    assert part.price == pytest.approx(whole.price - boards - clips)


def test_a_stock_with_one_length_unpriced_still_adds_up_in_the_workbook(written, tmp_path):
    """2x10 has a price at 20 ft alone: the workbook's sum of its rows is the order's price."""
    some = Prices(tuple(r for r in read_prices(PARAMS / "prices.csv").rows if (r[0], r[3]) != ("2x10", "ft")))
    found = take_off(written.deck, written.measured, some)
    line = next(x for x in found.order.lines if x.stock.name == "2x10")
    assert line.price == pytest.approx(41.5 * line.counts[240.0]) and len(line.counts) > 1
    assert any(x.startswith("2x10") for x in found.unpriced)
    write_tables(tmp_path, written.deck, written.measured, [], found)
    sheet = openpyxl.load_workbook(tmp_path / "workbook.xlsx", data_only=True)["Order"]
    prices = [r[6] for r in sheet.iter_rows(min_row=2, values_only=True) if r[1] and isinstance(r[6], (int, float))]
    assert sum(prices) == pytest.approx(found.order.price)


def test_order_csv_buys_what_the_saw_cards_cut(written):
    bought = {}
    for r in rows(written.folder / "order.csv"):
        if r["kind"] == "stock":
            key = r["item"], r["material"], r["edge"], float(r["length_ft"])
            bought[key] = bought.get(key, 0) + int(r["quantity"]) - int(r["spare"])
    cards = {}
    for x in written.take_off.order.lines:
        for b in x.bars:
            key = x.stock.name, x.stock.material, x.edge, b.length / 12
            cards[key] = cards.get(key, 0) + 1
    assert bought == cards


def test_joist_span_is_measured_from_ledger_to_beam(written):
    """Read another way: the clear plan distance between the boxes of the ledger and of the nearest beam ply."""
    box = lambda role: [m.box for m in written.measured if m.role == role]
    ledger, beams = box("ledger")[0], box("beam")
    assert joist_span(written.deck) == pytest.approx(min(ledger[0, 1] - b[1, 1] for b in beams))


def test_same_deck_same_bytes(written, tmp_path):
    write_tables(tmp_path, written.deck, written.measured, [CHECK], written.take_off)
    for path in written.folder.iterdir():
        assert (tmp_path / path.name).read_bytes() == path.read_bytes(), path.name


def test_saw_cards_of_the_workbook_cut_every_length_bought(written):
    """How many times each row is cut, and the pieces lettered in it, against the order's own bars."""
    rows_ = [
        r
        for r in openpyxl.load_workbook(written.folder / "workbook.xlsx")["Saw cards"].iter_rows(
            min_row=2, values_only=True
        )
        if r[1]
    ]
    bars = [b for x in written.take_off.order.lines for b in x.bars]
    assert sum(r[0] for r in rows_) == len(bars)
    pieces = {}
    for how_many, _, _, words, *_ in rows_:
        for n, mark in re.findall(r"(?:^|, )(?:(\d+) x )?([A-Z]+\d+) ", words):
            pieces[mark] = pieces.get(mark, 0) + how_many * int(n or 1)
    wanted = {}
    for mark in (mark for b in bars for mark in b.marks):
        wanted[mark] = wanted.get(mark, 0) + 1
    assert pieces == wanted
    ripped = {c.mark for c in written.take_off.cuts if c.rip}
    assert ripped and all(f"{mark} " in " ".join(r[3] for r in rows_ if "(rip to" in r[3]) for mark in ripped)
    assert {r[6] for r in rows_ if r[6]} == {b.whole_mark for b in bars if b.whole}


def test_order_csv_says_what_is_kept_whole_and_in_what_unit_it_is_least(written):
    found = rows(written.folder / "order.csv")
    told = [r["for"] for r in found if r["kind"] == "stock" and r["for"]]
    assert told and all("kept whole for the front edge: " in t for t in told)
    assert sum(int(t.split()[0]) for t in told) == sum(
        bool(b.whole) for x in written.take_off.order.lines for b in x.bars
    )
    assert {r["total_unit"] for r in found if r["kind"] == "stock"} == {"in"}
    for line in written.take_off.order.lines:
        for r in found:
            if (r["item"], r["material"], r["edge"]) == (line.stock.name, line.stock.material, line.edge):
                assert (
                    float(r["plan_total"]) == pytest.approx(sum(b.length for b in line.bars))
                    and float(r["proven_bound"]) <= float(r["plan_total"]) + 1e-6
                )
    assert [r["for"] for r in found if r["kind"] == "note"] == [worded(n) for n in written.take_off.notes]
    screws = next(r["for"] for r in found if r["item"] == "deck screw")
    h = next(h for h in written.take_off.hardware if h.item == "deck screw")
    assert screws.startswith(f"{h.count:g} screws needed, 2 at each of {h.places:g} places: ")
