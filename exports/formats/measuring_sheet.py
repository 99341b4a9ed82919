"""The sheet for the first visit: what has to be measured and asked before a deck can be drawn, to fill in by hand.

Two pages, letter or A4, upright. What may be ticked is what the schema allows.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from reportlab.pdfgen.canvas import Canvas

from ...model.input.fault_wording import choices, hint_of
from ...shared.papers import papers
from ..drafting import style
from ..drafting.cautions import SENTENCES
from .lettering import register_font

INCH = 72.0
_MARGIN = 0.5 * INCH
_TEXT, _HEAD, _TITLE = 9.5, 11.0, 15.0
_ROW = 0.27 * INCH  # high enough to write in by hand
_GRID = 0.25 * INCH
_SKETCH = 3.3 * INCH


def write_form(path: str | Path, paper: str = "letter") -> None:
    """Write the two pages as PDF. The same paper gives the same bytes."""
    register_font()
    sheet = papers()[paper]
    wide, high = sorted((sheet.width * INCH, sheet.height * INCH))
    face = {"initialFontName": style.FONT_PDF, "initialFontSize": _TEXT}
    canvas = Canvas(str(path), pagesize=(wide, high), invariant=1, lang="en-US", **face)
    canvas.setTitle("Measuring sheet for a deck")
    for n, fill in enumerate((_outline_page, _house_page), 1):
        page = _FormPage(canvas, wide, high)
        page.title(n)
        fill(page)
        page.foot()
        canvas.showPage()
    canvas.save()


def _outline_page(page: _FormPage) -> None:
    page.line("Job", "Measured by", "Date")
    page.head("Outline of the frame, seen from above, the house at the top")
    page.words("Letter the corners A, B, C ... counter-clockwise, from the front left one on, as you face the house.")
    page.grid(_SKETCH)
    page.head("Sides, outside to outside")
    sides = [[f"{a} to {b}", "", "", f"{c} to {d}", "", ""] for a, b, c, d in ("ABEF", "BCFG", "CDGH", "DEHA")]
    page.table(["side", "length", "at house", "side", "length", "at house"], sides, (1, 2, 1, 1, 2, 1))
    page.head("Diagonals: at least one for each corner past the third")
    page.table(["from to", "length"] * 3, [["", ""] * 3] * 2, (1, 2) * 3)
    page.head("Ground below one level line, at each corner and at the foot of each stair")
    rows = [[word for corner in four for word in (corner, "")] for four in ("ABCD", "EFGH")]
    page.table(["corner", "down to ground"] * 4, rows, (1, 2) * 4)
    page.line("Level line: where it is marked", "Stair foot, down")


def _house_page(page: _FormPage) -> None:
    page.head("House")
    page.ticks("Wall at the ledger", _allowed("house", "wall"))
    page.ticks("Floor behind it", _allowed("house", "band_joist"))
    page.ticks("Door swings", _allowed("house", "door_swings"))
    page.line("Door sill above the level line", "Floor thickness", "Eave above the surface")
    page.line("Depth of the house's footing below ground", "Roof pitch above")
    page.head("In the wall: windows, vents, meters, bays, wells, taps")
    page.table(["what", "from corner", "along", "width", "bottom", "top"], [[""] * 6] * 5, (3, 1.3, 1.3, 1.3, 1.3, 1.3))
    page.head("Stairs and guard")
    page.table(["leaves side", "from corner", "width", "lands on", "note"], [[""] * 5] * 2, (1.2, 1.2, 1, 1.6, 3))
    page.head("Ground and lot")
    page.line("Soil, or its bearing", "Frost depth", "Slope")
    page.line("Setback front", "left", "right", "back")
    page.line("Easements, septic, wells")
    page.head("In the way: trees, pipes, drains, machines")
    page.table(["what", "where", "size"], [[""] * 3] * 4, (3, 2, 1.3))
    page.ticks("Buried lines marked by the locating service", ("yes", "not yet: no digging"))
    page.head("Asked of the office")
    page.line("Code edition", "Ground snow", "Wind speed, exposure")
    page.line("Guard height", "Least stair width", "Greatest rise")
    page.line("Sheet size, scale, notes wanted")


def _allowed(*path: str) -> Sequence[str]:
    return [str(c) for c in choices(hint_of(path))]


class _FormPage:
    """A page filled from the top."""

    def __init__(self, canvas: Canvas, wide: float, high: float):
        self.canvas, self.wide, self.high = canvas, wide, high
        self.y = high - _MARGIN
        canvas.setLineWidth(0.6)

    @property
    def across(self) -> float:
        return self.wide - 2 * _MARGIN

    def _say(self, x: float, y: float, text: str, size: float = _TEXT) -> float:
        """Letter a text; where it ends."""
        self.canvas.setFont(style.FONT_PDF, size)
        self.canvas.drawString(x, y, text)
        return x + self.canvas.stringWidth(text, style.FONT_PDF, size)

    def title(self, number: int) -> None:
        self.y -= _TITLE
        self._say(_MARGIN, self.y, "Measuring sheet", _TITLE)
        self.canvas.setFont(style.FONT_PDF, _TEXT)
        self.canvas.drawRightString(self.wide - _MARGIN, self.y, f"page {number} of 2")
        self.y -= 0.05 * INCH

    def head(self, text: str) -> None:
        self.y -= 0.14 * INCH + _HEAD
        self._say(_MARGIN, self.y, text, _HEAD)
        self.y -= 0.07 * INCH

    def words(self, text: str) -> None:
        self.y -= _TEXT
        self._say(_MARGIN, self.y, text)
        self.y -= 0.06 * INCH

    def line(self, *names: str) -> None:
        """Names with room to write after them, to the end of the line."""
        self.y -= _ROW
        size = {n: self.canvas.stringWidth(n, style.FONT_PDF, _TEXT) for n in names}
        room = (self.across - sum(size.values())) / len(names) - 0.14 * INCH
        x = _MARGIN
        for name in names:
            x = self._say(x, self.y, name) + 0.04 * INCH
            self.canvas.line(x, self.y - 2, x + room, self.y - 2)
            x += room + 0.1 * INCH

    def ticks(self, name: str, what: Sequence[str]) -> None:
        self.y -= _ROW
        x = self._say(_MARGIN, self.y, name) + 0.15 * INCH
        for word in what:
            self.canvas.rect(x, self.y - 1, _TEXT * 0.9, _TEXT * 0.9)
            x = self._say(x + _TEXT * 1.2, self.y, word) + 0.16 * INCH

    def table(self, heads: Sequence[str], rows: Sequence[Sequence[str]], shares: Sequence[float]) -> None:
        top, edges = self.y, [_MARGIN]
        for share in shares:
            edges.append(edges[-1] + share * self.across / sum(shares))
        for row in (heads, *rows):
            self.y -= _ROW
            for x, text in zip(edges, row):
                self._say(x + 4, self.y + 0.09 * INCH, text)
        levels = [top - n * _ROW for n in range(len(rows) + 2)]
        self.canvas.grid(edges, levels)

    def grid(self, high: float) -> None:
        """Squares to sketch on."""
        self.y -= high
        self.canvas.saveState()
        self.canvas.setStrokeGray(0.78)
        count = int(self.across // _GRID)
        left = (self.wide - count * _GRID) / 2
        rows = int(high // _GRID)
        self.canvas.grid([left + n * _GRID for n in range(count + 1)], [self.y + n * _GRID for n in range(rows + 1)])
        self.canvas.restoreState()

    def foot(self) -> None:
        for n, text in enumerate(reversed(SENTENCES)):
            self._say(_MARGIN, _MARGIN + n * 1.3 * _TEXT, text)
