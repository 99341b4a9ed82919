"""A card's pages: big headings, tables and pictures set one under another, on as many sheets as they need."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..drafting import drawing as d
from ..drafting import style
from ..drafting.draft import view_box
from ..drafting.tabling import divide, table_size, whole_words

if TYPE_CHECKING:
    from ..sheets.stage import Stage

# a capital 1/180 of the reading distance high is read with ease: 5/32 in at 28 in; common practice, no source
BIG = 5 / 32
PLAIN = 1 / 8
LEAST_FIGURE = 0.12  # 3 mm: the least a figure may be high, where it has to fit a board
HEADING = 3 / 16
CARD_LAYER = "A-ANNO-LEGN"
_GAP = 0.16
_AIRY, _CLOSE = 0.75, 0.45  # over and under the lettering of a table's row, in heights of it


@dataclass(frozen=True)
class SideTable:
    """A table that stands beside another, its columns as wide as what is in them."""

    title: str
    head: Sequence[str]
    rows: Sequence[Sequence[str]]
    aligns: str

    def widths(self, height: float) -> list[float]:
        return [
            max(style.text_width(cell, height) for cell in column) + 2 * 0.8 * height
            for column in zip(self.head, *self.rows)
        ]


class Pages:
    """Fills sheets of one series from the top. `series` 100 gives Z-101, Z-102 ..."""

    def __init__(self, stage: Stage, series: int, name: str):
        self.stage, self.series, self.name = stage, series, name
        self.sheets: list[d.Sheet] = []
        self.new()

    def new(self) -> None:
        sheet = self.stage.sheet(f"Z-{self.series + len(self.sheets) + 1:03d}", self.name)
        sheet.scale_note = "TO FIT"  # pictures fill the card: figures govern, nothing is scaled off
        self.sheets.append(sheet)
        self.left, self.bottom, self.right, self.y = sheet.room

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def sheet(self) -> d.Sheet:
        return self.sheets[-1]

    @property
    def fresh(self) -> bool:
        return self.y == self.sheet.room[3]

    def need(self, height: float) -> None:
        """Begin a new sheet where `height` paper inches are no longer free."""
        if self.y - height < self.bottom - 1e-6 and not self.fresh:
            self.new()

    def text(self, text: str, height: float = BIG, indent: float = 0.0, gap: float = _GAP) -> None:
        """A paragraph over the whole width."""
        wrap = self.width - indent
        deep = style.block_size(text, height, wrap)[1]
        self.need(deep)
        self.sheet.add(d.Text((self.left + indent, self.y), text, height, "left", "top", wrap=wrap, layer=CARD_LAYER))
        self.y -= deep + gap

    def heading(self, text: str, then: float = 0.0, gap: float = _GAP) -> None:
        """A heading that stays with `then` paper inches of what follows."""
        deep = style.block_size(text, HEADING, self.width)[1] + gap
        self.need(deep + then)
        self.text(text, HEADING, gap=gap)

    def table(
        self,
        title: str,
        head: Sequence[str],
        rows: Sequence[Sequence[str]],
        widths: Sequence[float],
        aligns: str,
        height: float = BIG,
    ) -> None:
        """A table as wide as the sheet, its columns in the shares given, divided between rows; the heading is repeated.

        Lettered smaller (never under `PLAIN` where `height` is not) and closer where that keeps it whole on the sheet,
        closer where it goes on over several; a sheet
        never begins with the last row or two alone.
        """
        wide, size, air = whole_words(head, rows, widths, self.width, height), height, _AIRY

        def label(first: bool) -> str:
            return title if first else f"{title} (CONTINUED)"

        def table(part: list[list[str]], first: bool) -> d.Table:
            at = self.left, self.y
            return d.Table(at, "", list(head), part, wide, aligns, size, air=air, layer="A-ANNO-SCHD")

        def free(rest: list[list[str]], first: bool) -> tuple[float, bool]:
            nonlocal size, air
            left = self.y - self.bottom - style.block_size(label(first), HEADING, self.width)[1] - _GAP
            now, least = size, min(PLAIN, size)
            for tried in ((now, air), (least, air), (least, _CLOSE), (now, _CLOSE)):
                size, air = tried
                if table_size(table(rest, first))[1] <= left:
                    break
            return left, self.fresh

        def put(made: d.Table, first: bool) -> None:
            self.heading(label(first))
            made.at = (self.left, self.y)
            self.sheet.add(made)
            self.y -= table_size(made)[1] + _GAP

        divide([list(map(str, r)) for r in rows], table, free, put, self.new)

    def beside(self, *blocks: SideTable) -> None:
        """Tables side by side, in the largest letters at which all stand whole on this sheet; else one under
        another."""
        gap = 0.3
        for high in (BIG, PLAIN):
            wide = [b.widths(high) for b in blocks]
            spare = self.width - gap * (len(blocks) - 1) - sum(map(sum, wide))
            if spare < 0:
                continue
            tables, x = [], self.left
            for b, w in zip(blocks, wide):
                w = [v + spare / sum(map(len, wide)) for v in w]
                tables.append(
                    d.Table(
                        (x, self.y - 2 * HEADING),
                        "",
                        list(b.head),
                        [list(map(str, r)) for r in b.rows],
                        w,
                        b.aligns,
                        high,
                        layer="A-ANNO-SCHD",
                    )
                )
                x += sum(w) + gap
            deep = max(table_size(t)[1] for t in tables) + 2 * HEADING
            if deep <= self.y - self.bottom:
                for b, t in zip(blocks, tables):
                    self.sheet.add(d.Text((t.at[0], self.y), b.title, HEADING, "left", "top", layer=CARD_LAYER), t)
                self.y -= deep + _GAP
                return
        for b in blocks:
            self.table(b.title, b.head, b.rows, b.widths(PLAIN), b.aligns, PLAIN)

    def views(self, found: Sequence[tuple[str, d.View]], gap: float = _GAP, between: float = 0.3) -> None:
        """Pictures under headings of their own, as many beside one another as there is room for."""
        third, rows = (self.width - 2 * between) / 3, list[list[tuple[str, d.View, float]]]()
        for heading, view in found:
            wide = max(size_of(view, self.stage.metric)[0], min(style.text_width(heading, HEADING), third))
            if rows and sum(w + between for *_, w in rows[-1]) + wide <= self.width + 1e-6:
                rows[-1].append((heading, view, wide))
            else:
                rows.append([(heading, view, wide)])
        for row in rows:
            titled = max(style.block_size(heading, HEADING, wide)[1] for heading, _, wide in row) + _GAP
            deep = max(size_of(view, self.stage.metric)[1] for _, view, _ in row)
            self.need(titled + deep)
            x = self.left
            for heading, view, wide in row:
                at = (x, self.y)
                self.sheet.add(d.Text(at, heading, HEADING, "left", "top", wrap=wide, layer=CARD_LAYER))
                across, high = size_of(view, self.stage.metric)
                self.sheet.viewports.append(d.Viewport(view, (x + across / 2, self.y - titled - high / 2)))
                x += wide + between
            self.y -= titled + deep + gap

    def view(self, view: d.View, gap: float = _GAP, middle: bool = False) -> None:
        """A picture at its own scale, at the left or in the middle of the sheet."""
        x0, y0, x1, y1 = view_box(view, self.stage.metric)
        wide, high = (x1 - x0) / view.scale + 0.04, (y1 - y0) / view.scale + 0.04
        self.need(high)
        x = (self.left + self.right) / 2 if middle else self.left + wide / 2
        self.sheet.viewports.append(d.Viewport(view, (x, self.y - high / 2)))
        self.y -= high + gap


def size_of(view: d.View, metric: bool) -> tuple[float, float]:
    """Paper width and height of a view."""
    x0, y0, x1, y1 = view_box(view, metric)
    return (x1 - x0) / view.scale + 0.04, (y1 - y0) / view.scale + 0.04


def fit(stage: Stage, draw, true: tuple[float, float], room: tuple[float, float], at_most: float = 0.0) -> d.View:
    """`draw(scale)` as large as the view with its lettering fits `room` (paper inches), no larger than `at_most`.

    Cards are drawn to fill their room, to no standard scale. `true` is the drawn size (model inches) without lettering.
    Where lettering alone overhangs, a smaller scale is no help: the view stays as large as all else of it lets it be.
    """
    scale = _whole(max(true[0] / room[0], true[1] / room[1], at_most))
    before, overhung = None, math.inf
    for _ in range(12):
        view = draw(scale)
        size = size_of(view, stage.metric)
        if size[0] <= room[0] + 1e-6 and size[1] <= room[1] + 1e-6:
            break
        over = sum(max(s - r, 0.0) for s, r in zip(size, room))
        if before is not None and over > overhung - 1e-6:
            return before
        before, overhung = view, over
        # lettering keeps its paper size: what is over the drawn size stays, the rest shrinks
        need = [t / max(r - (s - t / scale), 0.25) for t, r, s in zip(true, room, size) if s > r]
        scale = _whole(max(scale * 1.01, min(max(need), scale * 1.6)))
    return view


def _whole(scale: float) -> float:
    """Up to the next quarter of a model inch to the paper inch."""
    return math.ceil(scale * 4 - 1e-9) / 4


def label_of(text: str, height: float, mark: str = "") -> d.Text:
    """A label still without a place (`Clearance.label` finds one); `mark`: the piece that it names."""
    return d.Text((0.0, 0.0), text, height, "centre", "middle", layer="A-ANNO-IDEN", mark=mark)
