"""Numbered notes one under another: a title, then a number and its words, wrapped. Paper inches."""

from __future__ import annotations

from . import style
from .drawing import Sheet, Tag, Text

NUMBER = 0.3  # from the left edge of a column of notes to their words
_BUBBLE = 0.13  # to the middle of a bubbled number
SHAPE = "hexagon"  # of a keynote's number: marks of pieces are boxes, views and sections circles


def set_title(sheet: Sheet, title: str, x: float, y: float, layer: str) -> float:
    """The title of a column of notes. Returns where the first note begins."""
    sheet.add(Text((x, y), title, style.TITLE, "left", "top", layer=layer))
    return y - style.TITLE * 2


AIR_UNDER = style.NOTE * 0.5  # under a bubbled note, where its column has the room


def note_depth(
    text: str, width: float, bubbled: bool = False, air: float = AIR_UNDER, height: float = style.NOTE
) -> float:
    """Height that a note takes in a column of `width`, with the air under it."""
    high = style.block_size(text, height, width - NUMBER)[1]
    return air + max(height * 2.6, height * 0.8 + high) if bubbled else high + height * 0.7


def set_note(
    sheet: Sheet,
    n: int,
    text: str,
    x: float,
    y: float,
    width: float,
    layer: str,
    bubbled: bool = False,
    air: float = AIR_UNDER,
    height: float = style.NOTE,
) -> float:
    """The n-th note at the left edge `x` of a column of `width`, its top at `y`; `bubbled` as the numbers on a view
    are. Returns where the next one begins."""
    top = y - height * 0.8 if bubbled else y
    if bubbled:
        sheet.add(Tag(str(n), (x + _BUBBLE, top - height / 2), None, SHAPE, layer=layer))
    else:
        sheet.add(Text((x, y), f"{n}.", height, "left", "top", layer=layer))
    sheet.add(Text((x + NUMBER, top), text, height, "left", "top", wrap=width - NUMBER, layer=layer))
    return y - note_depth(text, width, bubbled, air, height)
