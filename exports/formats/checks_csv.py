"""`checks.csv`, and tables of results as CSV under a line of cautions."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from os import PathLike
from typing import Any

from ...model.rules.check_result import CheckResult
from ..drafting import style
from ..drafting.cautions import SENTENCES, sentence
from ..drafting.wording import source_text, worded
from .rows import cell

CHECK_COLUMNS = ("rule", "source", "place", "ids", "measured", "limit", "kind", "unit", "margin", "result", "why")


def write_cautioned(path: str | PathLike, columns: Sequence[str], rows: Iterable[dict[str, Any]]) -> None:
    """Rows as CSV (UTF-8), after one line of cautions that starts with `#`."""
    with open(path, "w", encoding="utf-8", newline="") as file:
        file.write(f"# {' '.join(SENTENCES)} {sentence(style.CHECK_CAUTION)}\r\n")
        out = csv.writer(file)
        out.writerow(columns)
        out.writerows([cell(row[c]) for c in columns] for row in rows)


def write_checks(checks: Sequence[CheckResult], path: str | PathLike) -> None:
    """Every result as one row of `checks.csv` (UTF-8), after one line of cautions that starts with `#`."""
    write_cautioned(
        path,
        CHECK_COLUMNS,
        (
            {
                "rule": r.rule,
                "source": source_text(r),
                "place": worded(r.place),
                "ids": " ".join(r.ids),
                "measured": r.measured,
                "limit": r.limit,
                "kind": r.kind,
                "unit": r.unit,
                "margin": r.margin,
                "result": r.result,
                "why": worded(r.why),
            }
            for r in checks
        ),
    )
