"""Keynotes: on a paper too small for notes on leaders, a number stands at each place and the words in a column beside
the view."""

from __future__ import annotations

from ..drafting import drawing as d
from ..drafting import style

WIDTH = 2.35  # paper inches of the column
FEW = 2  # notes that a small view still carries on leaders
_NUMBER = 0.3  # from the middle of a number to its words
_SHAPE = "hexagon"  # marks of pieces are boxes, views and sections circles


def wanted(view: d.View) -> bool:
    """Whether the view has more notes than a small paper carries on leaders."""
    return sum(type(i) is d.Leader and i.at is None for i in view.items) > FEW


def keyed(view: d.View) -> list[str]:
    """Put numbers in place of the view's notes, from the top down and from left to right. Returns the words in that
    order."""
    notes = sorted(
        (i for i in view.items if type(i) is d.Leader and i.at is None),
        key=lambda n: (-round(n.tip[1] / view.scale, 1), n.tip[0]),
    )
    number = {id(note): str(n) for n, note in enumerate(notes, 1)}
    view.items[:] = [
        d.Tag(number[id(i)], None, i.tip, _SHAPE, tips=i.tips, mark=i.mark) if id(i) in number else i
        for i in view.items
    ]
    return [note.text.replace("\n", ", ") for note in notes]


def column(sheet: d.Sheet, words: list[str], x: float, top: float) -> None:
    """The list of keynotes down a column of the sheet that begins at `x`."""
    sheet.add(d.Text((x, top), "KEYNOTES", style.TITLE, "left", "top", layer="A-ANNO-LEGN"))
    y = top - style.TITLE * 2
    for n, text in enumerate(words, 1):
        first = y - style.NOTE * 1.3
        sheet.add(d.Tag(str(n), (x + 0.13, first), None, _SHAPE, layer="A-ANNO-LEGN"))
        wrap = WIDTH - _NUMBER
        sheet.add(
            d.Text(
                (x + _NUMBER, first + style.NOTE / 2), text, style.NOTE, "left", "top", wrap=wrap, layer="A-ANNO-LEGN"
            )
        )
        y = (
            min(first - style.NOTE * 1.3, first + style.NOTE / 2 - style.block_size(text, style.NOTE, wrap)[1])
            - style.NOTE * 0.5
        )
