"""A schedule worked out: rows as high as their longest cell, rules between, lettering in its columns. Paper inches."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

from . import style
from .drawing import AnyItem, Box, Line, Table, Text


def table_rows(item: Table) -> list[tuple[float, list[str]]]:
    """Height in paper inches and cells of each row, the head first."""
    pad, widths = item.height * item.air, tuple(item.widths)
    out = []
    for row in [item.head, *item.rows]:
        deep = _deepest(tuple(row), item.height, widths)
        out.append((item.height * (1 + style.LINE_SPACING * (deep - 1)) + 2 * pad, row))
    return out


@lru_cache(maxsize=20000)
def _deepest(row: tuple[str, ...], height: float, widths: tuple[float, ...]) -> int:
    """How many lines the longest cell of a row takes."""
    return max(len(style.lines(cell, height, width - 2 * (height * 0.75))) for cell, width in zip(row, widths))


def table_size(item: Table) -> tuple[float, float]:
    """Paper width and height of a table with its title."""
    return (sum(item.widths), _table_title(item) + sum(height for height, _ in table_rows(item)))


def row_boxes(item: Table) -> list[Box]:
    """Paper box of each row, the head first."""
    (x, y), wide = item.at, sum(item.widths)
    y -= _table_title(item)
    out = []
    for height, _ in table_rows(item):
        out.append((x, y - height, x + wide, y))
        y -= height
    return out


def _table_title(item: Table) -> float:
    return style.TITLE + item.height * 1.25 if item.title else 0.0


def whole_words(
    head: Sequence[str], rows: Sequence[Sequence[str]], shares: Sequence[float], width: float, height: float
) -> list[float]:
    """Paper inches of a table's columns by their shares of its width, none so narrow that a word of it is broken: what
    such a column lacks, the others give of what they have over. Where all together lack room, no word of the head."""
    wide = [share * width / sum(shares) for share in shares]

    def least(cells: Sequence[str]) -> float:
        return max((style.text_width(w, height) for c in cells for w in str(c).split()), default=0.0) + 1.51 * height

    for table in ([head, *rows], [head]):
        need = [least(cells) for cells in zip(*table)]
        if sum(need) <= width:
            lack = sum(max(n - w, 0.0) for n, w in zip(need, wide))
            over = sum(max(w - n, 0.0) for n, w in zip(need, wide))
            return [n if w <= n else w - (w - n) * lack / max(over, 1e-9) for n, w in zip(need, wide)]
    return wide


ORPHAN = 3  # rows that at least stand together where a table goes on in another column or on another sheet

Rows = list[list[str]]


def divide(
    rows: Rows,
    table: Callable[[Rows, bool], Table],
    free: Callable[[Rows, bool], tuple[float, bool]],
    put: Callable[[Table, bool], None],
    turn: Callable[[], None],
) -> None:
    """A table divided between rows over as many columns or sheets as it needs.

    `table` makes the table of some rows (whether it is the first part), `free` says how much height is left for what
    is still to come and whether nothing stands there yet, `put` sets a part, `turn` goes on to the next column or
    sheet. Neither a part nor what is left for the next one has fewer than `ORPHAN` rows where that can be helped; a
    row too high for an empty column is set all the same.
    """
    rest, first = rows, True
    while rest:
        height, fresh = free(rest, first)
        count = _fitting(rest, lambda part: table(part, first), height)
        if count and len(rest) - count in range(1, ORPHAN):
            count = max(len(rest) - ORPHAN, 1)
        if count < min(ORPHAN, len(rest)) and not fresh:
            turn()
            continue
        put(table(rest[: max(count, 1)], first), first)
        rest, first = rest[max(count, 1) :], False
        if rest:
            turn()


def _fitting(rows: Rows, table: Callable[[Rows], Table], height: float) -> int:
    """The most rows with which the table is no higher than `height`."""
    low, high = 0, len(rows)
    while low < high:
        middle = (low + high + 1) // 2
        if table_size(table(rows[:middle]))[1] <= height:
            low = middle
        else:
            high = middle - 1
    return low


def table_strokes(item: Table) -> list[AnyItem]:
    """The rules and cells of a table, as plain items."""
    x, y = item.at
    pad, over, wide = item.height * 0.75, item.height * item.air, sum(item.widths)
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
                out.append(
                    Text((at, y - over), cell, item.height, align, "top", 0.0, width - 2 * pad, layer=item.layer)
                )
            left += width
        y -= height
        out.append(Line((x, y), (x + wide, y), layer=item.layer))
    edge = x
    for width in [0.0, *item.widths]:
        edge += width
        out.append(Line((edge, top), (edge, y), layer=item.layer))
    return out
