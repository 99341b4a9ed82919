"""Fasteners of the ledger, along it: both rows, staggered, clear of the joists."""

from __future__ import annotations

from ...model.order.ledger_places import bored, joists_on
from ..drafting import drawing as d
from ..drafting.tabling import table_size
from ..sheets import in_plan
from ..sheets.hardware import ledger_fasteners, limit_row
from ..sheets.stage import Stage
from .frame_marks import Carrier, carriers, from_high_end, zero_words
from .pages import PLAIN, Pages


def build(stage: Stage) -> None:
    runs = [c for c in carriers(stage) if c.role == "ledger"]
    fasteners = ledger_fasteners(stage)
    if not runs or fasteners.spacing is None:
        return
    pages = Pages(stage, 110, "LEDGER FASTENERS")
    pages.text(f"{fasteners.full}. {fasteners.source}".strip(), PLAIN)
    limits = {k: limit_row(stage, f"ledger_{k}") for k in ("top_edge_min", "bottom_edge_min", "end_min", "end_max")}
    told = [f"{k.replace('_', ' ').upper()} {stage.inch(row.value)}" for k, row in limits.items() if row is not None]
    if told:
        row = next(r for r in limits.values() if r is not None)
        pages.text(f"FROM THE LEDGER'S EDGES AND ENDS: {', '.join(told)} ({stage.words(row.citation)}).", PLAIN)
    for c in runs:
        places = ledger_places(stage, c, fasteners.spacing)
        rows = [[str(k + 1), "UPPER" if k % 2 == 0 else "LOWER", stage.text(s)] for k, s in enumerate(places)]
        third = -(-len(rows) // 3)
        pages.heading(f"{c.name}, {stage.text(c.length)}, {len(rows)} FASTENERS. {zero_words(stage, c.line)}", 1.0)
        _columns(pages, [rows[k : k + third] for k in range(0, len(rows), third)])


def _columns(pages: Pages, parts: list[list[list[str]]]) -> None:
    """Parts of one table side by side."""
    gap = 0.2
    wide = (pages.width - gap * (len(parts) - 1)) / len(parts)
    tables = [
        d.Table((0.0, 0.0), "", ["NO.", "ROW", "ALONG"], part, [wide * 0.25, wide * 0.35, wide * 0.4], "clr", PLAIN)
        for part in parts
    ]
    high = max(table_size(t)[1] for t in tables)
    pages.need(high)
    for k, t in enumerate(tables):
        t.at = (pages.left + k * (wide + gap), pages.y)
        pages.sheet.add(t)
    pages.y -= high + gap


def ledger_places(stage: Stage, carrier: Carrier, spacing: float) -> list[float]:
    """Inches along a run of ledgers, from where its figures begin, of its fasteners: of each length in it those that
    the order counts, so that either side of a joint is held."""
    (low, high), by_id, found = carrier.line.along, {m.id: m for m in stage.measured_rows}, []
    for ply in carrier.line.plies:
        m, (start, end) = by_id[ply.id], in_plan.reach(ply, carrier.line.axis)
        ahead = float(m.axis[:2] @ carrier.line.axis) > 0
        found += [start + s if ahead else end - s for s in bored(m.length, joists_on(m, stage.deck.contacts), spacing)]
    return sorted(high - s if from_high_end(stage, carrier.line) else s - low for s in found)
