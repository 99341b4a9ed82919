"""Keynotes: on a paper too small for notes on leaders, a number stands at each place and the words in a column beside
the view."""

from __future__ import annotations

from ..drafting import drawing as d
from ..drafting.noting import AIR_UNDER, SHAPE, note_depth, set_note, set_title

WIDTH = 2.35  # paper inches of the column
FEW_NOTES = 2  # notes that a small view still carries on leaders


def wanted(view: d.View) -> bool:
    """Whether the view has more notes than a small paper carries on leaders."""
    return sum(type(i) is d.Leader and i.at is None for i in view.items) > FEW_NOTES


def keyed(view: d.View) -> list[str]:
    """Put numbers in place of the view's notes, from the top down and from left to right. Returns the words in that
    order."""
    notes = sorted(
        (i for i in view.items if type(i) is d.Leader and i.at is None),
        key=lambda n: (-round(n.tip[1] / view.scale, 1), n.tip[0]),
    )
    number = {id(note): str(n) for n, note in enumerate(notes, 1)}
    view.items[:] = [
        d.Tag(number[id(i)], None, i.tip, SHAPE, tips=i.tips, mark=i.mark) if id(i) in number else i for i in view.items
    ]
    return [note.text.replace("\n", ", ") for note in notes]


def column(sheet: d.Sheet, words: list[str], x: float, top: float) -> None:
    """The list of keynotes down a column of the sheet that begins at `x`; without air between them where it would reach
    the title block."""
    y = set_title(sheet, "KEYNOTES", x, top, "A-ANNO-LEGN")
    airy = sum(note_depth(text, WIDTH, bubbled=True) for text in words) <= y - sheet.room[1]
    for n, text in enumerate(words, 1):
        y = set_note(sheet, n, text, x, y, WIDTH, "A-ANNO-LEGN", bubbled=True, air=AIR_UNDER if airy else 0.0)
