"""A comparison as text for the terminal and as one CSV file."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from pathlib import Path

from ..drafting.cautions import SENTENCES
from ..drafting.style import CHECK_CAUTION
from ..formats.rows import cell
from .compare import Variant, tables

_NOTHING = {
    "Pieces": "no piece moved or changed",
    "Cuts": "every cut keeps its mark and number",
    "Bought": "the same lengths",
    "Rules": "no rule's result changed",
}
_WIDEST = 44


def text(a: Variant, b: Variant) -> str:
    """The tables for a reader; single pieces stand in the CSV alone."""
    out = [f"A  {a.name}", f"B  {b.name}"]
    for title, (header, rows) in tables(a, b).items():
        if title != "Each piece":
            out += ["", title, *(columns(header, rows) if rows else [f"  {_NOTHING.get(title, 'none')}"])]
    return "\n".join([*out, "", CHECK_CAUTION, *SENTENCES])


def write_csv(a: Variant, b: Variant, path: Path) -> None:
    """All tables one under the other, each row started by its table's title."""
    with open(path, "w", encoding="utf-8", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["Compared", "A", cell(a.name), "B", cell(b.name)])
        for title, (header, rows) in tables(a, b).items():
            out.writerow([title, *header])
            out.writerows([title, *(cell(x) for x in row)] for row in rows)


def columns(header: Sequence[str], rows: Sequence[Sequence]) -> list[str]:
    """Rows in columns: numbers to the right, words to the left."""
    shown = [[said(x) for x in row] for row in rows]
    wide = [min(_WIDEST, max(len(r[i]) for r in [list(header), *shown])) for i in range(len(header))]
    right = [all(isinstance(row[i], (int, float)) or row[i] is None for row in rows) for i in range(len(header))]

    def line(cells):
        return (
            "  "
            + "  ".join(
                _cut(c, w).rjust(w) if r else _cut(c, w).ljust(w) for c, w, r in zip(cells, wide, right)
            ).rstrip()
        )

    return [line(header), *(line(r) for r in shown)]


def _cut(text: str, wide: int) -> str:
    return text if len(text) <= wide else text[: wide - 3] + "..."


def said(value) -> str:
    """A value for a column: two decimals at most, nothing for None."""
    if value is None:
        return "-"
    if isinstance(value, float):
        value = round(value, 2) + 0.0
        return f"{value:,.2f}" if value % 1 else f"{value:,.0f}"
    return f"{value:,}" if isinstance(value, int) else str(value)
