"""A schedule worked out: rows as high as their longest cell, rules between, lettering in its columns. Paper inches."""

from __future__ import annotations

from . import style
from .drawing import AnyItem, Line, Table, Text


def table_rows(item: Table) -> list[tuple[float, list[str]]]:
    """Height in paper inches and cells of each row, the head first."""
    pad = item.height * 0.75
    out = []
    for row in [item.head, *item.rows]:
        deep = max(len(style.lines(cell, item.height, width - 2 * pad)) for cell, width in zip(row, item.widths))
        out.append((item.height * (1 + style.LINE_SPACING * (deep - 1)) + 2 * pad, row))
    return out


def table_size(item: Table) -> tuple[float, float]:
    """Paper width and height of a table with its title."""
    return (sum(item.widths), _table_title(item) + sum(height for height, _ in table_rows(item)))


def _table_title(item: Table) -> float:
    return style.TITLE + item.height * 1.25 if item.title else 0.0


def table_strokes(item: Table) -> list[AnyItem]:
    """The rules and cells of a table, as plain items."""
    x, y = item.at
    pad, wide = item.height * 0.75, sum(item.widths)
    out: list[AnyItem] = []
    if item.title:
        out.append(Text((x, y), item.title, style.TITLE, "left", "top", layer=item.layer))
        y -= _table_title(item)
    top = y
    out.append(Line((x, y), (x + wide, y), layer=item.layer))
    for height, row in table_rows(item):
        left = x
        for column, (cell, width) in enumerate(zip(row, item.widths)):
            align = {"c": "centre", "r": "right"}.get(item.aligns[column : column + 1], "left")
            at = {"left": left + pad, "centre": left + width / 2, "right": left + width - pad}[align]
            if cell:
                out.append(Text((at, y - pad), cell, item.height, align, "top", 0.0, width - 2 * pad, layer=item.layer))
            left += width
        y -= height
        out.append(Line((x, y), (x + wide, y), layer=item.layer))
    edge = x
    for width in [0.0, *item.widths]:
        edge += width
        out.append(Line((edge, top), (edge, y), layer=item.layer))
    return out
