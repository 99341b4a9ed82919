"""S-6xx: schedules of members, footings, hardware and checks, flowed into columns and on to further sheets."""
from __future__ import annotations

from collections import defaultdict
from typing import Any, Sequence

from .. import drawing as d
from .. import style
from ..draft import table_size
from .footing_plan import footing_table
from .hardware import hardware_rows
from .stage import Stage, stock_text


def build(stage: Stage) -> list[d.Sheet]:
    flow = Flow(stage, "S-6", "SCHEDULES")
    flow.add("MEMBERS", ["MARK", "PIECE", "STOCK", "NO.", "LONG POINT", "SHORT POINT", "MATERIAL"], member_rows(stage), [0.6, 1.5, 1.0, 0.42, 0.95, 0.95, 1.5], "lllcrrl")
    if stage.of("footing"):
        t = footing_table(stage, (0.0, 0.0))
        flow.add(t.title, t.head, t.rows, t.widths, t.aligns)
    flow.add("FASTENERS AND HARDWARE", ["CONNECTION", "WHAT", "NO.", "SOURCE OR NOTE"], hardware_rows(stage), [1.3, 2.4, 0.5, 2.2], "llcl")
    rows = check_rows(stage)
    if rows:
        flow.add("CHECKS: WHICH PUBLISHED RULE IS MET, NOT MET OR NOT CHECKED", ["RULE", "PIECE", "MEASURED", "LIMIT", "RESULT", "SOURCE"], rows, [2.0, 1.25, 0.95, 0.95, 0.95, 2.0], "llrrll")
    else:
        flow.add("CHECKS", ["RULE", "RESULT"], [["NO CHECK WAS RUN FOR THIS SET", "NOT CHECKED"]], [3.5, 1.5], "ll")
    return flow.sheets


class Flow:
    """Tables set in columns, split between rows where a column ends, on as many sheets as they need."""

    def __init__(self, stage: Stage, prefix: str, name: str):
        self.stage, self.prefix, self.name = stage, prefix, name
        self.sheets: list[d.Sheet] = []
        self.x = self.y = self.right = 0.0
        self._new()

    def _new(self) -> None:
        sheet = self.stage.sheet(f"{self.prefix}{len(self.sheets) + 1:02d}", self.name)
        self.sheets.append(sheet)
        self.x, self.y = sheet.room[0], sheet.room[3]
        self.right = self.x

    def _column(self, width: float) -> None:
        room = self.sheets[-1].room
        self.x, self.y = self.right + 0.35 if self.right > room[0] else room[0], room[3]
        if self.x + width > room[2] + 1e-6:
            self._new()

    def add(self, title: str, head: list[str], rows: Sequence[Sequence[str]], widths: list[float], aligns: str) -> None:
        total = sum(widths)
        room = self.sheets[-1].room
        if total > room[2] - room[0]:
            widths = [w * (room[2] - room[0]) / total for w in widths]
            total = sum(widths)
        rest = [list(r) for r in rows]
        first = True
        if self.y < room[3] and self.x + total > room[2] + 1e-6:
            self._column(total)
        while rest:
            label = title if first else f"{title} (CONTINUED)"
            space = self.y - self.sheets[-1].room[1]
            count = self._fits(label, head, rest, widths, aligns, space)
            if count < min(3, len(rest)):
                self._column(total)
                continue
            table = d.Table((self.x, self.y), label, head, rest[:count], widths, aligns)
            self.sheets[-1].add(table)
            wide, high = table_size(table)
            self.y -= high + 0.3
            self.right = max(self.right, self.x + wide)
            rest, first = rest[count:], False
            if rest:
                self._column(total)

    def _fits(self, title, head, rows, widths, aligns, space: float) -> int:
        low, high = 0, len(rows)
        while low < high:
            mid = (low + high + 1) // 2
            if table_size(d.Table((0.0, 0.0), title, head, rows[:mid], widths, aligns))[1] <= space:
                low = mid
            else:
                high = mid - 1
        return low


def member_rows(stage: Stage) -> list[list[str]]:
    """One row a mark, measured off its solid: piece, stock, number, long and short point."""
    rows: dict[str, list[Any]] = defaultdict(list)
    for m in stage.measured_rows:
        rows[m.mark].append(m)
    out = []
    for mark, same in rows.items():
        m = same[0]
        out.append([mark, m.role.upper(), stock_text(m.stock.name), str(len(same)), stage.text(m.long_point), stage.text(m.short_point), m.stock.material.upper()])
    return out


def check_rows(stage: Stage) -> list[list[str]]:
    """The results, those not met first; results alike in rule and verdict are one row naming the worst piece."""
    order = {"not met": 0, "not checked": 1, "met": 2}
    groups: dict[tuple, list] = defaultdict(list)
    for c in stage.checks:
        groups[str(c.rule), str(c.result)].append(c)
    out = []
    for (rule, result), same in sorted(groups.items(), key=lambda g: (order.get(g[0][1], 3), g[0][0])):
        worst = min(same, key=lambda c: c.margin if isinstance(c.margin, (int, float)) else 0.0)
        piece = str(worst.place or "") + (f" +{len(same) - 1}" if len(same) > 1 else "")
        source = str(worst.source or "") if worst.result != "not checked" else str(worst.why or worst.source or "")
        out.append([rule.upper(), piece.upper(), worst.measured_text.upper() or "-", worst.limit_text.upper() or "-", result.upper(), source.upper()])
    return out


__all__ = ["build", "check_rows", "member_rows", "style"]
