"""Measured things in words: ranges of lengths, names of stock, directions on the sheet."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence


def mode_text(values: Iterable[float], text) -> str:
    """The commonest of some lengths in words, or their range where they differ by more than 1/16 in."""
    values = sorted(values)
    if not values:
        return ""
    if values[-1] - values[0] < 1 / 16:
        return text(values[0])
    return f"{text(values[0])} TO {text(values[-1])}"


def stock_text(name: str) -> str:
    """A stock's name as lettered: capitals, but 2x10 keeps its small x."""
    return re.sub(r"(?<=\d)X(?=\d)", "x", name.upper())


def direction_word(v: Sequence[float]) -> str:
    """up, down, left or right: the way a plan vector points on the sheet."""
    if abs(v[0]) >= abs(v[1]):
        return "right" if v[0] > 0 else "left"
    return "up" if v[1] > 0 else "down"
