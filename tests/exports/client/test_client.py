"""The client's sheet: one page, prices that add up to the order's, hours by the builder's own table. Prices and hours
are invented."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path

import pdfplumber
import pytest
from click.testing import CliRunner
from conftest import PARAMS, demo_deck, demo_measured

from plumbcut.exports.client.client_sheet import group_prices
from plumbcut.exports.client.labour import read_labour, task_hours
from plumbcut.exports.command import main
from plumbcut.model.order.takeoff import take_off
from plumbcut.shared.errors import InputError
from plumbcut.shared.prices import Prices, read_prices

TABLE = "task,counts,hours\ndig,footing,1.5\nboards,square feet,0.05\nrails,feet of top rail,0.3\nset up,deck,6\n"


def test_prices_of_the_deliveries_are_those_of_the_order(demo):
    taken = take_off(demo_deck(demo), demo_measured(demo), read_prices(PARAMS / "prices.csv"))
    groups = group_prices(taken)
    assert sum(g.price for g in groups) == pytest.approx(taken.price)
    bare = group_prices(take_off(demo_deck(demo), demo_measured(demo), Prices()))
    assert sum(g.price for g in bare) == 0 and all(g.unpriced for g in bare)


def test_hours_are_counts_of_the_solids_times_the_tables_own(tmp_path: Path):
    path = tmp_path / "labour.csv"
    path.write_text(TABLE)
    rows = demo_measured("terrace")
    dig, boards, rails, once = task_hours(read_labour(path), rows)
    assert dig.hours == 1.5 * sum(m.role == "footing" for m in rows)
    assert rails.count == pytest.approx(sum(m.length for m in rows if m.role == "top rail") / 12)
    walked = [m for m in rows if m.role in ("board", "border", "breaker", "tread")]
    assert boards.count <= sum(m.part.footprint.area for m in walked) / 144 + 1e-6 and boards.count > 100
    assert once.hours == 6


@pytest.mark.parametrize(
    ("text", "line", "told"),
    [
        ("task,hours\na,1\n", 1, "task, counts, hours"),
        ("task,counts,hours\ndig,footings,1\n", 2, "a role of pieces"),
        ("task,counts,hours\ndig,footing,-1\n", 2, "from 0 to"),
        ("task,counts,hours\ndig,footing,much\n", 2, "'much'"),
        ("task,counts,hours\ndig,footing\n", 2, "2 columns"),
    ],
)
def test_a_table_that_cannot_be_used_is_told_in_one_line(tmp_path: Path, text: str, line: int, told: str):
    path = tmp_path / "labour.csv"
    path.write_text(text)
    with pytest.raises(InputError) as refused:
        read_labour(path)
    assert f"labour.csv:{line}" in str(refused.value) and told in str(refused.value)
    done = CliRunner().invoke(main, ["client", str(PARAMS / "terrace.toml"), "--labour", str(path), "--out", "x"])
    assert done.exit_code != 0 and not Path("x").exists()


def test_one_page_with_all_that_a_client_asks(tmp_path: Path):
    for name in ("terrace.toml", "prices.csv"):
        shutil.copy(PARAMS / name, tmp_path / name)
    text = (tmp_path / "terrace.toml").read_text()
    (tmp_path / "higher.toml").write_text(text)
    (tmp_path / "labour.csv").write_text(TABLE)
    out = tmp_path / "out"
    args = ["client", str(tmp_path / "terrace.toml"), "--option", str(tmp_path / "higher.toml"), "--out", str(out)]
    args += ["--labour", str(tmp_path / "labour.csv"), "--prices", str(tmp_path / "prices.csv")]
    done = CliRunner().invoke(main, args)
    assert done.exit_code == 0, done.output
    with pdfplumber.open(out / "client.pdf") as pdf:
        (page,) = pdf.pages
        said = page.extract_text()
        assert len(page.images) == 1
    taken = take_off(demo_deck("terrace"), demo_measured("terrace"), read_prices(PARAMS / "prices.csv"))
    assert f"{taken.price:,.2f}" in said and "+0.00" in said and "higher" in said
    assert "Not a substitute" in said and "Call before digging" in said and "permit and inspection fees" in said
    with (out / "labour.csv").open() as file:
        rows = list(csv.DictReader(file))
    assert float(rows[-1]["hours"]) == pytest.approx(sum(float(r["hours"]) for r in rows[:-1]), abs=0.02)
    assert f"{float(rows[-1]['hours']):,.0f} hours" in said
