"""Figures of the trade: each row of the data says where it comes from, or that it comes from nowhere, and is used."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from plumbcut.model.order.fasteners import in_rows
from plumbcut.shared.practice import estimate, practice
from plumbcut.shared.standards import table

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(("name", "look_up"), [("practice", practice), ("estimates", estimate)])
def test_every_row_has_a_source_and_is_used(name, look_up):
    code = "".join(p.read_text() for floor in ("model", "shared", "exports") for p in (ROOT / floor).rglob("*.py"))
    rows = table(name)
    assert len({r["item"] for r in rows}) == len(rows) > 10
    for r in rows:
        assert r["source"] and r["unit"] and look_up(r["item"]) == float(r["value"]) > 0
        assert f'"{r["item"]}"' in code, f"nothing reads {r['item']}"
    asked = re.findall(rf'{look_up.__name__}\("([^"]+)"\)', code)
    assert asked and set(asked) <= {r["item"] for r in rows}
    with pytest.raises(KeyError, match=f"data/{name}.csv"):
        look_up("no such thing")


def test_rows_of_fasteners_by_hand():
    """Three fascia screws 2 in from each end and every 18 in at most: 100 in leave 96, that is 6 spaces and 7 rows."""
    assert in_rows("fascia screw", 100.0) == 7 and in_rows("fascia screw", 94.0) == 6
    assert in_rows("fascia screw", 3.0) == 1
    assert in_rows("ply nail", 100.0) == 7 and in_rows("ply nail", 101.0) == 8
