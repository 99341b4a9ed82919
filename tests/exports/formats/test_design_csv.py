"""design.csv, the page of the calculation and the lines of the command: why the frame is as it is, read back."""

from __future__ import annotations

import csv
import re

import openpyxl
import pypdfium2
import pytest
from click.testing import CliRunner
from conftest import PARAMS

from plumbcut.exports.command import main
from plumbcut.exports.drafting.frame_reasons import cost_text, runner_text
from plumbcut.exports.formats.calcs import write_calcs_pdf
from plumbcut.exports.formats.design_csv import DESIGN_COLUMNS, write_design_csv
from plumbcut.exports.formats.tables import write_tables
from plumbcut.model.design.designed import designed
from plumbcut.model.design.next_values import RunnerUp
from plumbcut.model.design.reasons import reasons
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import take_off
from plumbcut.model.parameter_file import read
from plumbcut.shared.prices import read_prices


@pytest.fixture(scope="module")
def hillside():
    made = designed(read(PARAMS / "hillside.toml"))
    return made, reasons(made, read_prices(PARAMS / "prices.csv"))


def rows(path) -> list[dict[str, str]]:
    with open(path, encoding="utf-8", newline="") as file:
        lines = file.readlines()
    assert lines[0].startswith("# ") and "no approval" in lines[0]
    return list(csv.DictReader(lines[1:]))


def test_every_key_has_its_row(hillside, tmp_path):
    _, why = hillside
    write_design_csv(why, False, tmp_path / "design.csv")
    found = {r["key"]: r for r in rows(tmp_path / "design.csv")}
    assert len(found) == len(why) and tuple(next(iter(found.values()))) == DESIGN_COLUMNS
    assert {"frame.joist", "frame.footing.depth", "stair.0.landings.0.rim_plies"} <= set(found)
    depth = found["frame.footing.depth"]
    assert (depth["value"], depth["from"], depth["measured"], depth["limit"]) == ('48"', "given", "48", "42")
    assert float(depth["ratio"]) == pytest.approx(42 / 48, abs=1e-6)
    for r in found.values():
        if r["ratio"] and r["unit"] and r["key"] != "frame.footing.depth" and r["check"] != "footing diameter":
            assert float(r["ratio"]) == pytest.approx(float(r["measured"]) / float(r["limit"]), abs=1e-5)


def test_lengths_are_in_the_units_of_the_file(hillside, tmp_path):
    _, why = hillside
    write_design_csv(why, True, tmp_path / "design.csv")
    found = {r["key"]: r for r in rows(tmp_path / "design.csv")}
    depth = found["frame.footing.depth"]
    assert depth["value"] == "1219 mm" and depth["unit"] == "mm"  # 48 x 25.4
    assert float(depth["limit"]) == pytest.approx(42 * 25.4)
    assert not re.search(r'\d"|\d in\b', " ".join(r["value"] + r["runner_up"] + r["why"] for r in found.values()))


def test_what_a_runner_up_takes_in_words():
    other = RunnerUp("2x12", 144 * 7.0, -2, -1728 * 3.0, 12.5, {"beam_plies": 3, "beam_lines": [16.0, 90.0]})
    assert runner_text(other, False) == '2x12, with beam plies 3, beam lines 16", 90"'
    assert cost_text(other, False) == (
        "7 board feet more, 2 footings with posts less, 3.0 cu ft of concrete less, 12.50 in price more"
    )
    assert cost_text(RunnerUp("4x4", 0.0), False) == "nothing more" and cost_text(None, False) == "-"
    assert cost_text(RunnerUp("2x12", 61023.744), True) == "1.000 cu m of timber more"


def test_the_page_follows_the_opening(hillside, tmp_path):
    made, why = hillside
    write_calcs_pdf(made.structure, made.deck, tmp_path / "calcs.pdf", why)
    document = pypdfium2.PdfDocument(str(tmp_path / "calcs.pdf"))
    pages = [" ".join(p.get_textpage().get_text_bounded().split()) for p in document]
    assert "How the frame was chosen" in pages[1] and "Design basis" in pages[2]
    for r in why:
        if r.member is not None:
            assert r.member.mark in pages[1]
    joist = next(r for r in why if r.key == "joist")
    assert "as the file gives it" in pages[1] and joist.runner_up.timber > 0
    assert f"2x12 {joist.runner_up.timber / 144:.0f} board feet more" in pages[1]


def test_the_workbook_has_a_sheet_of_it(hillside, tmp_path):
    made, why = hillside
    measured = measure_all(made.deck.parts)
    write_tables(tmp_path, made.deck, measured, [], take_off(made.deck, measured), why)
    sheet = openpyxl.load_workbook(tmp_path / "workbook.xlsx")["Frame"]
    assert [r[0].value for r in sheet.iter_rows(min_row=2, max_row=3)] == ["support", "joist direction"]
    assert (tmp_path / "design.csv").exists()


def test_the_command_prints_it_below_the_lines(tmp_path):
    (tmp_path / "deck.toml").write_text(
        '[outline]\nwidth = "14\' 3"\ndepth = "9\' 5"\n[levels]\nsurface = 41\n[frame]\ncantilever = 12\n'
    )  # with the beam where it lies by default, else a cheaper place for it is chosen
    result = CliRunner().invoke(main, ["design", str(tmp_path / "deck.toml")])
    assert result.exit_code == 0, result.output
    head, _, below = result.output.partition("# how the frame was chosen")
    assert "nothing had to be chosen" in head and re.search(r"#\s+footings\s+3\s", head)
    assert re.search(r"#\s+joist 2x8 \(default\); bound by joist J\d+: ", below)
    assert all(line.startswith("#") for line in below.splitlines()[1:])
