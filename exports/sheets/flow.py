"""Tables and numbered notes set in columns, divided between rows where a column ends, on as many sheets as they
need."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from ..drafting import drawing as d
from ..drafting import style
from ..drafting.draft import table_size

if TYPE_CHECKING:
    from .stage import Stage

GAP, COLUMN_GAP = 0.3, 0.35  # paper inches under a table and between columns
NUMBER = 0.3  # paper inches kept for a note's number


class Flow:
    """Fills sheets from the top left. `number(k)` names the k-th sheet (0 first)."""

    def __init__(self, stage: Stage, number: Callable[[int], str], name: str):
        self.stage, self.number, self.name = stage, number, name
        self.sheets: list[d.Sheet] = []
        self._new()

    def _new(self) -> None:
        sheet = self.stage.sheet(self.number(len(self.sheets)), self.name)
        self.sheets.append(sheet)
        self.x, self.y, self.right = sheet.room[0], sheet.room[3], sheet.room[0]

    def _column(self, width: float) -> None:
        room = self.sheets[-1].room
        if self.y == room[3] and self.x == room[0]:
            return
        self.x, self.y = self.right + COLUMN_GAP, room[3]
        if self.x + width > room[2] + 1e-6:
            self._new()

    def _room(self, total: float) -> None:
        """Open a new column where what is wanted is too wide to stand under what is there."""
        room = self.sheets[-1].room
        if self.y < room[3] and self.x + total > room[2] + 1e-6:
            self._column(total)

    def table(
        self, title: str, head: list[str], rows: Sequence[Sequence[str]], widths: list[float], aligns: str
    ) -> None:
        room = self.sheets[-1].room
        whole = room[2] - room[0]
        shares = (min(1.0, (whole - (n - 1) * COLUMN_GAP) / (n * sum(widths))) for n in (4, 3, 2, 1))
        share = next(
            (s for s in shares if s > 0.85), whole / sum(widths)
        )  # a little narrower, if one more column then fits
        widths = [w * share for w in widths]
        total = sum(widths)
        rest, first = [list(r) for r in rows], True
        self._room(total)
        while rest:
            label = title if first else f"{title} (CONTINUED)"
            count = self._fits(label, head, rest, widths, aligns, self.y - self.sheets[-1].room[1])
            fresh = self.y == self.sheets[-1].room[3]
            if count < min(3, len(rest)) and not (fresh and count):
                self._column(total)
                continue
            table = d.Table((self.x, self.y), label, head, rest[:count], widths, aligns)
            self.sheets[-1].add(table)
            wide, high = table_size(table)
            self.y -= high + GAP
            self.right = max(self.right, self.x + wide)
            rest, first = rest[count:], False
            if rest:
                self._column(total)

    def notes(self, title: str, rows: Sequence[str], width: float, layer: str = "A-ANNO-LEGN") -> None:
        room = self.sheets[-1].room
        width = min(width, room[2] - room[0])
        self._room(width)
        deep = [style.block_size(row, style.NOTE, width - NUMBER)[1] + style.NOTE * 0.7 for row in rows]
        head = style.TITLE * 2
        if self.y - head - sum(deep[:2]) < self.sheets[-1].room[1]:
            self._column(width)
        self._title(title, layer)
        for n, (row, high) in enumerate(zip(rows, deep), 1):
            if self.y - high < self.sheets[-1].room[1]:
                self._column(width)
                self._title(f"{title} (CONTINUED)", layer)
            self.sheets[-1].add(d.Text((self.x, self.y), f"{n}.", style.NOTE, "left", "top", layer=layer))
            self.sheets[-1].add(
                d.Text((self.x + NUMBER, self.y), row, style.NOTE, "left", "top", wrap=width - NUMBER, layer=layer)
            )
            self.y -= high
            self.right = max(self.right, self.x + width)
        self.y -= GAP

    def _title(self, title: str, layer: str) -> None:
        self.sheets[-1].add(d.Text((self.x, self.y), title, style.TITLE, "left", "top", layer=layer))
        self.y -= style.TITLE * 2

    def _fits(self, title, head, rows, widths, aligns, space: float) -> int:
        low, high = 0, len(rows)
        while low < high:
            mid = (low + high + 1) // 2
            if table_size(d.Table((0.0, 0.0), title, head, rows[:mid], widths, aligns))[1] <= space:
                low = mid
            else:
                high = mid - 1
        return low
