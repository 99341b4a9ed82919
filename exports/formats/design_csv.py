"""`design.csv`: each choice of the frame, the row that bound it, and the runner-up with what it would have cost."""

from __future__ import annotations

from collections.abc import Sequence
from os import PathLike

from ...model.design.reasons import Reason, value_words
from ...model.structure.prescribed import Prescribed
from ...shared.stock import BOARD_FOOT, CUBIC_INCHES_PER_CUBIC_FOOT
from ...shared.units import INCH_PER_MM
from ..drafting.frame_reasons import full_key, ratio_or_none, runner_text
from ..drafting.wording import worded
from .checks_csv import write_cautioned

DESIGN_COLUMNS = (
    *("key", "value", "from", "member", "mark", "where", "route", "check", "measured", "limit", "unit", "ratio"),
    *("result", "source", "runner_up", "board_feet", "footings", "concrete_cuft", "price", "why"),
)


def write_design_csv(found: Sequence[Reason], metric: bool, path: str | PathLike) -> None:
    """One row a key of the frame, after one line of cautions. Lengths in the units of the file's drawings; what the
    runner-up would take more (below 0: less) in board feet, footings, cubic feet and the price list's currency, by
    estimate."""
    write_cautioned(path, DESIGN_COLUMNS, (_row(r, metric) for r in found))


def _row(r: Reason, metric: bool) -> dict[str, object]:
    member, row, other = r.member, r.row, r.runner_up
    tabled = isinstance(row, Prescribed)
    pair = (None, None) if row is None else (row.measured, row.limit) if tabled else (row.demand, row.capacity)
    unit = row.unit if row is not None else ""
    if metric and unit == "in":
        unit, pair = "mm", tuple(None if v is None else v / INCH_PER_MM for v in pair)
    return {
        "key": full_key(r.key),
        "value": worded(value_words(r.value), metric),
        "from": r.origin,
        "member": "" if row is None else "footing" if member is None else member.kind,
        "mark": member.mark if member else "",
        "where": member.where if member else "",
        "route": "" if row is None else "rule" if member is None else "table" if tabled else "calculation",
        "check": row.check if row is not None else "",
        "measured": None if pair[0] is None else float(pair[0]),
        "limit": None if pair[1] is None else float(pair[1]),
        "unit": unit,
        "ratio": ratio_or_none(r),
        "result": row.result if row is not None else "",
        "source": worded(r.source, metric),
        "runner_up": "" if other is None else runner_text(other, metric),
        "board_feet": None if other is None else other.timber / BOARD_FOOT,
        "footings": None if other is None else other.posts,
        "concrete_cuft": None if other is None else other.concrete / CUBIC_INCHES_PER_CUBIC_FOOT,
        "price": None if other is None else other.price,
        "why": worded(r.why, metric),
    }
