"""Tables and numbered notes set in columns, divided between rows where a column ends, on as many sheets as they
need."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from ..drafting import drawing as d
from ..drafting import style
from ..drafting.noting import note_depth, set_note, set_title
from ..drafting.tabling import divide, table_size, whole_words

if TYPE_CHECKING:
    from .stage import Stage

TABLE_GAP, COLUMN_GAP = 0.25, 0.25  # paper inches under a table and between columns
MOST_COLUMNS = 8  # of a table beside one another
LEAST_NARROWED, MOST_WIDENED = 0.85, 1.5  # shares of its own width that a table may be narrowed and widened to
ROW_AIR = 0.45  # heights of lettering kept over and under the words of a row


class Flow:
    """Fills sheets from the top left. `number(k)` names the k-th sheet (0 first)."""

    def __init__(self, stage: Stage, number: Callable[[int], str], name: str):
        self.stage, self.number, self.name = stage, number, name
        self.height = style.NOTE
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
        widths = [w * self.height / style.NOTE for w in widths]
        shares = ((whole - (n - 1) * COLUMN_GAP) / (n * sum(widths)) for n in range(MOST_COLUMNS, 0, -1))
        # a little narrower, if one more column then fits; else wider, so that fewer cells wrap
        share = min(next((s for s in shares if s > LEAST_NARROWED), whole / sum(widths)), MOST_WIDENED)
        total = share * sum(widths)
        widths = whole_words(head, rows, widths, total, self.height)
        self._room(total)

        def table(part: list[list[str]], first: bool) -> d.Table:
            label = title if first else f"{title} (CONTINUED)"
            return d.Table((self.x, self.y), label, head, part, widths, aligns, self.height, air=ROW_AIR)

        def put(made: d.Table, first: bool) -> None:
            self.sheets[-1].add(made)
            wide, high = table_size(made)
            self.y -= high + TABLE_GAP
            self.right = max(self.right, self.x + wide)

        def free(rest: list[list[str]], first: bool) -> tuple[float, bool]:
            room = self.sheets[-1].room
            return self.y - room[1], self.y == room[3]

        divide([list(r) for r in rows], table, free, put, lambda: self._column(total))

    def _deep(self, row: str, width: float) -> float:
        return note_depth(row, width, height=self.height)

    def notes(self, title: str, rows: Sequence[str], width: float, layer: str = "A-ANNO-LEGN") -> None:
        room = self.sheets[-1].room
        width = min(width, room[2] - room[0])
        self._room(width)
        if self.y - style.TITLE * 2 - sum(self._deep(row, width) for row in rows[:2]) < room[1]:
            self._column(width)
        self.y = set_title(self.sheets[-1], title, self.x, self.y, layer)
        for n, row in enumerate(rows, 1):
            if self.y - self._deep(row, width) < self.sheets[-1].room[1]:
                self._column(width)
                self.y = set_title(self.sheets[-1], f"{title} (CONTINUED)", self.x, self.y, layer)
            self.y = set_note(self.sheets[-1], n, row, self.x, self.y, width, layer, height=self.height)
            self.right = max(self.right, self.x + width)
        self.y -= TABLE_GAP
