"""The border and title block of each paper, as lines, labels and cells to fill: one definition for the DXF's block and
the PDF.

Large papers carry it as a strip at the right with room for the reviewer's stamp, small ones along the foot. The fields
are those of ISO 7200 (owner, identification number, date of issue, sheet, title, approver, creator, document type) and
the trade's (project, site, scale, revision), with the cautions.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from functools import cache

from ...shared.papers import papers
from . import style
from .drawing import FIELDS, AnyItem, Box, DrawingSet, Line, Polyline, Sheet, Text

BORDER, INNER = "A-ANNO-TTLB", "A-ANNO-TTLB-LINE"
_LEAST_BLOCK = 1.5  # inches of a block along the foot below which the labels of its cells are smaller than notes
_SMALL_LABEL = 1 / 16
_PAD = 0.035


@dataclass(frozen=True)
class Cell:
    """A box of the title block for the field `tag`; its value is lettered up to `height` high on up to `rows` lines."""

    tag: str
    box: Box
    height: float = style.NOTE
    rows: int = 1
    align: str = "left"
    label: float = style.NOTE  # height of its label, over the value

    def texts(self, value: str) -> list[tuple[str, Text]]:
        """Attribute tag and lettering of each line of `value`; smaller where it would not fit. Lines that the value
        itself breaks are kept, be they more than the cell's `rows`."""
        left, bottom, right, top = self.box
        height, (wide, high) = self.height, (right - left - 2 * _PAD, top - bottom - 2 * _PAD - self.label * 1.5)
        lines, rows = style.lines(value, height, wide), max(self.rows, value.count("\n") + 1)
        while len(lines) > rows or style.block_size(value, height, wide)[1] > high + 1e-9:
            height *= 0.9
            lines = style.lines(value, height, wide)
        step = style.LINE_SPACING * height
        body = height + step * (len(lines) - 1)
        middle = bottom + _PAD + high / 2
        x = (left + right) / 2 if self.align == "centre" else left + _PAD
        first = middle + body / 2 - height + style.DESCENT * height / 2
        return [
            (
                self.tag.upper() + (f"_{row + 1}" if row else ""),
                Text((x, first - row * step), line, height, self.align, "bottom", layer=INNER),
            )
            for row, line in enumerate(lines)
            if line
        ]


def _strip(left: float, bottom: float, right: float, top: float) -> tuple[list[Cell], Box, Box | None]:
    """Cells of the strip at the right, the box of the cautions and of the stamp."""
    middle = (left + right) / 2
    cells, y = [], bottom

    def row(height: float, *fields: tuple[str, float, float, dict]) -> None:
        nonlocal y
        for tag, a, b, more in fields:
            cells.append(Cell(tag, (a, y, b, y + height), **more))
        y += height

    big = {"height": style.SHEET_NUMBER, "align": "centre"}
    wide = left + (right - left) * 0.68
    row(0.95, ("sheet", left, wide, big), ("of", wide, right, {"height": style.TITLE, "align": "centre"}))
    row(0.45, ("scale", left, middle, {}), ("date", middle, right, {}))
    row(0.45, ("creator", left, middle, {}), ("approver", middle, right, {}))
    row(0.45, ("document", left, middle, {}), ("revision", middle, right, {}))
    row(0.45, ("number", left, right, {}))
    row(1.05, ("title", left, right, {"height": style.VIEW_TITLE, "rows": 2}))
    row(0.9, ("project", left, right, {"height": 3 / 16, "rows": 2}))
    row(0.75, ("address", left, right, {"height": style.TITLE, "rows": 2}))
    row(0.6, ("owner", left, right, {"height": style.TITLE, "rows": 1}))
    cautions = (left, y, right, y + 2.3)
    return cells, cautions, (left, y + 2.3, right, y + 6.8)


def _foot(left: float, bottom: float, right: float, top: float) -> tuple[list[Cell], Box, Box | None]:
    """Cells of the strip along the foot and the box of the cautions."""
    wide, high = right - left, top - bottom
    a, b, c, d = (left + wide * f for f in (0.27, 0.5, 0.69, 0.88))
    e, third = (c + d) / 2, high / 3
    y1, y2 = bottom + third, bottom + 2 * third
    rows = [bottom + high / 4 * n for n in range(5)]
    cells = [
        Cell("owner", (a, bottom, b, y1)),
        Cell("address", (a, y1, b, y2), rows=2),
        Cell("project", (a, y2, b, top), style.TITLE, 2),
        Cell("number", (b, bottom, c, y1)),
        Cell("title", (b, y1, c, top), 3 / 16, 2),
        Cell("document", (c, rows[0], d, rows[1])),
        Cell("scale", (c, rows[1], e, rows[2])),
        Cell("date", (e, rows[1], d, rows[2])),
        Cell("creator", (c, rows[2], d, rows[3])),
        Cell("approver", (c, rows[3], d, rows[4])),
        Cell("of", (d, bottom, right, rows[1]), align="centre"),
        Cell("revision", (d, rows[3], right, top), align="centre"),
        Cell("sheet", (d, rows[1], right, rows[3]), style.VIEW_TITLE, 1, "centre"),
    ]
    return cells, (left, bottom, a, top), None


@dataclass(frozen=True)
class TitleBlock:
    """Fixed items of one paper's border and title block, and the cells to fill. `cautions` is where the cautions
    stand."""

    items: tuple[AnyItem, ...]
    cells: tuple[Cell, ...]
    cautions: Box
    label: float


@cache
def block(paper: str) -> TitleBlock:
    """The border and title block of one of `shared.papers`."""
    p = papers()[paper]
    edge, at_right = p.margin, p.at_side
    label = style.NOTE if at_right or p.block >= _LEAST_BLOCK else _SMALL_LABEL
    left, bottom, right, top = edge, edge, p.width - edge, p.height - edge
    if at_right:
        inner = right - p.block
        cells, cautions, stamp = _strip(inner, bottom, right, top)
        parting = Line((inner, bottom), (inner, top), layer=BORDER)
    else:
        inner = bottom + p.block
        cells, cautions, stamp = _foot(left, bottom, right, inner)
        parting = Line((left, inner), (right, inner), layer=BORDER)
    items: list[AnyItem] = [
        Polyline([(left, bottom), (right, bottom), (right, top), (left, top)], True, layer=BORDER),
        parting,
    ]
    cells = [replace(cell, label=label) for cell in cells]
    labelled = [(cell.box, FIELDS[cell.tag]) for cell in cells] + [(cautions, "CAUTIONS")]
    if stamp:
        labelled.append((stamp, "STAMP OF THE REVIEWER"))
    edges: set[tuple] = set()
    for (a, b, c, d), name in labelled:
        items.append(Text((a + _PAD, d - _PAD), name, label, "left", "top", layer=INNER))
        for p, q in (((a, b), (c, b)), ((a, d), (c, d)), ((a, b), (a, d)), ((c, b), (c, d))):
            on_border = (p[0] == q[0] and p[0] in ((inner,) if at_right else ()) + (left, right)) or (
                p[1] == q[1] and p[1] in (() if at_right else (inner,)) + (bottom, top)
            )
            if not on_border:
                edges.add((p, q))
    items += [Line(p, q, layer=INNER) for p, q in _merged(edges)]
    return TitleBlock(tuple(items), tuple(cells), cautions, label)


def _merged(edges: set[tuple]) -> list[tuple]:
    """Edges of neighbouring cells as lines drawn once: overlapping collinear ones become one."""
    out = []
    for upright in (True, False):
        along, across = (1, 0) if upright else (0, 1)
        lines: dict[float, list[list[float]]] = {}
        for p, q in sorted(edges):
            if (p[0] == q[0]) == upright:
                lines.setdefault(round(p[across], 6), []).append(sorted((p[along], q[along])))
        for at, spans in sorted(lines.items()):
            spans.sort()
            joined = [spans[0]]
            for a, b in spans[1:]:
                if a <= joined[-1][1] + 1e-6:
                    joined[-1][1] = max(joined[-1][1], b)
                else:
                    joined.append([a, b])
            out += [((at, a), (at, b)) if upright else ((a, at), (b, at)) for a, b in joined]
    return out


def caution_items(paper: str, cautions: list[str]) -> list[AnyItem]:
    """The cautions, lettered in their box: smaller only where they would not fit."""
    (left, bottom, right, top), label = block(paper).cautions, block(paper).label
    wide, high = right - left - 2 * _PAD, top - bottom - 4 * _PAD - label
    height, text = style.NOTE, "\n".join(cautions)
    while style.block_size(text, height, wide)[1] > high:
        height *= 0.95
    return [Text((left + _PAD, top - 3 * _PAD - label), text, height, "left", "top", wrap=wide, layer=INNER)]


HEADING_CELLS = ("sheet", "title")  # number and name of the sheet


def cell_texts(drawing: DrawingSet, sheet: Sheet, tags: Collection[str] = tuple(FIELDS)) -> list[AnyItem]:
    """The lettering of the title block's cells for some fields."""
    values = drawing.title_fields(sheet)
    cells = [cell for cell in block(sheet.paper).cells if cell.tag in tags and values[cell.tag]]
    return [text for cell in cells for _, text in cell.texts(values[cell.tag])]


def filled(drawing: DrawingSet, sheet: Sheet, without: Collection[str] = ()) -> list[AnyItem]:
    """Everything of the border and title block of `sheet`, lettered, but for some fields."""
    fixed = [*block(sheet.paper).items, *caution_items(sheet.paper, drawing.cautions)]
    return [*fixed, *cell_texts(drawing, sheet, [tag for tag in FIELDS if tag not in without])]
