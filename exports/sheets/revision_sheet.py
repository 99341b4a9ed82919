"""G-002: the revision table, the checker's comments with their answers, and what changed, sheet by sheet."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from ...model.input.revision_table import ReviewComment
from ..drafting import drawing as d
from ..drafting import style
from .flow import Flow
from .stage import Stage

REVISION_SHEET = "REVISIONS"
_STRIP_TABLE = (0.45, 0.95, 1.65)  # paper inches of the columns in the strip of a title block at the side
_STRIP_AIR = 0.1


@dataclass
class RevisedSheets:
    """`sets`: letter, date, what is said of it, the first issued first. `changes` by sheet number, in order; `comments`
    as the file has them."""

    sets: list[tuple[str, str, str]]
    changes: list[tuple[str, list[str]]] = field(default_factory=list)
    comments: Sequence[ReviewComment] = ()

    @property
    def letter(self) -> str:
        return self.sets[-1][0]

    def numbered(self) -> list[tuple[str, str, str]]:
        """(number, sheet, change) of every change: by the revision's letter, counted over the set."""
        told = [(sheet, words) for sheet, found in self.changes for words in found]
        return [(f"{self.letter}-{n}", sheet, words) for n, (sheet, words) in enumerate(told, 1)]

    def answers(self) -> list[list[str]]:
        """Number, sheet, comment and answer: the file's own words, then the changes of the sheet that the comment is
        on."""
        rows = []
        for c in self.comments:
            numbers = [number for number, sheet, _ in self.numbered() if sheet == c.sheet]
            parts = [on_paper(c.answer)] if c.answer else []
            parts += [f"SEE {_run(numbers)} ON {c.sheet}"] if numbers else []
            rows.append(
                [c.number, c.sheet, on_paper(c.text), ". ".join(parts) or "NOT ANSWERED: NOTHING CHANGED THERE"]
            )
        return rows


def on_paper(text: str) -> str:
    """Words of the file in capitals, sizes of lumber as they are written (2x10)."""
    return re.sub(r"(?<=\d)X(?=\d)", "x", text.upper())


def _run(numbers: Sequence[str]) -> str:
    return numbers[0] if len(numbers) == 1 else f"{numbers[0]} TO {numbers[-1]}"


class _Kept(Flow):
    """Flows over sheets that the set has already, then over further ones that it has not."""

    def __init__(self, stage: Stage, kept: Sequence[d.Sheet]):
        self.kept = list(kept)
        super().__init__(stage, str, REVISION_SHEET)

    def _new(self) -> None:
        n = len(self.sheets)
        sheet = self.kept[n] if n < len(self.kept) else d.Sheet("", REVISION_SHEET, self.stage.paper)
        self.sheets.append(sheet)
        self.x, self.y, self.right = sheet.room[0], sheet.room[3], sheet.room[0]


def behind_cover(sheets: list[d.Sheet]) -> None:
    """The sheets kept for a revision right behind the cover, whatever else follows it."""
    sheets[1:] = sorted(sheets[1:], key=lambda sheet: sheet.name != REVISION_SHEET)


def fill_revisions(stage: Stage, kept: Sequence[d.Sheet], told: RevisedSheets) -> int:
    """Letters everything on the sheets kept for it; returns how many it takes."""
    flow = _Kept(stage, kept)
    flow.table("REVISIONS", ["REV", "DATE", "WHAT"], [list(row) for row in told.sets], [0.5, 1.1, 3.1], "lll")
    if told.comments:
        head = ["NO.", "SHEET", "COMMENT", "ANSWER"]
        flow.table("ANSWERS TO COMMENTS", head, told.answers(), [0.45, 0.65, 1.8, 1.8], "llll")
    rows = [list(row) for row in told.numbered()] or [["-", "-", "NO SHEET CHANGED"]]
    flow.table(f"CHANGES BY SHEET, REVISION {told.letter}", ["NO.", "SHEET", "CHANGE"], rows, [0.6, 0.7, 3.4], "lll")
    return len(flow.sheets)


def strip_table(sheet: d.Sheet, told: RevisedSheets) -> None:
    """The revision table at the top of the strip of a title block that stands at the side."""
    _, _, x1, y1 = sheet.room
    left = x1 + style.AIR + _STRIP_AIR
    rows = [list(row) for row in told.sets]
    sheet.add(d.Table((left, y1), "REVISIONS", ["REV", "DATE", "WHAT"], rows, list(_STRIP_TABLE), "lll"))
