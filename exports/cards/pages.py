"""A card's pages: big headings, tables and pictures set one under another, on as many sheets as they need."""
from __future__ import annotations

from typing import TYPE_CHECKING, Sequence

from .. import drawing as d
from .. import style
from ..draft import table_size, view_box

if TYPE_CHECKING:
    from ..sheets.stage import Stage

# a capital 1/180 of the reading distance high is read with ease: 5/32 in at 28 in; common practice, no source
BIG = 5 / 32
PLAIN = 1 / 8
HEAD = 3 / 16
LAYER = "A-ANNO-LEGN"
_GAP = 0.16


class Pages:
    """Fills sheets of one series from the top. `series` 100 gives Z-101, Z-102 ..."""

    def __init__(self, stage: "Stage", series: int, name: str):
        self.stage, self.series, self.name = stage, series, name
        self.sheets: list[d.Sheet] = []
        self.new()

    def new(self) -> None:
        sheet = self.stage.sheet(f"Z-{self.series + len(self.sheets) + 1}", self.name)
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
        self.sheet.add(d.Text((self.left + indent, self.y), text, height, "left", "top", wrap=wrap, layer=LAYER))
        self.y -= deep + gap

    def heading(self, text: str, then: float = 0.0) -> None:
        """A heading that stays with `then` paper inches of what follows."""
        deep = style.block_size(text, HEAD, self.width)[1] + _GAP
        self.need(deep + then)
        self.text(text, HEAD)

    def table(self, title: str, head: Sequence[str], rows: Sequence[Sequence[str]], widths: Sequence[float], aligns: str, height: float = BIG) -> None:
        """A table as wide as the sheet, its columns in the shares given, divided between rows; the heading is repeated."""
        share = self.width / sum(widths)
        wide = [w * share for w in widths]
        rest = [list(map(str, r)) for r in rows]

        def table(count: int) -> d.Table:
            return d.Table((self.left, self.y), "", list(head), rest[:count], wide, aligns, height, layer="A-ANNO-SCHD")

        first = True
        while rest:
            label = title if first else f"{title} (CONTINUED)"
            self.heading(label, table_size(table(min(2, len(rest))))[1])
            count = max((n for n in range(1, len(rest) + 1) if table_size(table(n))[1] <= self.y - self.bottom), default=1)
            self.sheet.add(made := table(count))
            self.y -= table_size(made)[1] + _GAP
            rest, first = rest[count:], False
            if rest:
                self.new()

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


def fit(stage: "Stage", draw, true: tuple[float, float], room: tuple[float, float], at_most: float = 0.0) -> d.View:
    """`draw(scale)` at the largest standard scale at which the view with its lettering fits `room` (paper inches)."""
    scale = style.fitting_scale(true, room, stage.metric, at_most)
    for _ in range(12):
        view = draw(scale)
        wide, high = size_of(view, stage.metric)
        if wide <= room[0] + 1e-6 and high <= room[1] + 1e-6:
            break
        scale = style.fitting_scale((1.0, 1.0), (1.0, 1.0), stage.metric, scale * 1.001)
    return view


def scale_words(stage: "Stage", scale: float) -> str:
    return f"SCALE {style.scale_note(scale, stage.metric)}"
