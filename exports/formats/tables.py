"""Tables as files: quantities, cut list, order and checks as CSV, the workbook, and measured.json with its schema."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from ...model.design.reasons import Reason
from ...model.order.takeoff import TakeOff
from ..drafting.frame_reasons import reason_lines
from .checks_csv import write_checks
from .design_csv import write_design_csv
from .measured_json import write_measured, write_schema
from .rows import cut_table, order_table, quantity_table, write_csv
from .workbook import write_workbook


def write_tables(folder: Path, deck, measured, checks, take_off: TakeOff, chosen: Sequence[Reason] = ()) -> None:
    """quantities.csv, cutlist.csv, order.csv, checks.csv, workbook.xlsx, measured.json and its schema, into `folder`;
    design.csv too where it is given why the frame is as it is (`chosen`)."""
    metric = chosen and deck.parameters.drawing.units == "metric"
    if chosen:
        write_design_csv(chosen, metric, folder / "design.csv")
    write_csv(folder / "quantities.csv", quantity_table(take_off.lines))
    write_csv(folder / "cutlist.csv", cut_table(take_off.cuts, take_off.order.beside))
    write_csv(folder / "order.csv", order_table(take_off))
    write_checks(checks, folder / "checks.csv")
    write_measured(measured, folder / "measured.json")
    write_schema(folder / "measured.schema.json")
    write_workbook(
        folder / "workbook.xlsx", deck.parameters.project.name, take_off, checks, reason_lines(chosen, metric)
    )
