"""What is counted at places on the deck, and which pieces it serves there."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import groupby

from ...shared.said import Words
from ..measuring.measure import Measured
from ..solid.part import Part

HeldPiece = Part | Measured


@dataclass(frozen=True, eq=False)
class Placed:
    """`places` of an item at one place of the deck (a part of one where two share it), serving `pieces`; `size` of the
    item where it is sold in several, as the stock it is made for names it. A
    fastener `on` a connector stands there `each` to one. `long` in inches where it is sold by length."""

    item: str
    places: float
    pieces: tuple[HeldPiece, ...]
    size: Words = ""
    on: str = ""
    each: int = 1
    long: float | None = None


@dataclass
class Tally:
    """All places, in the order counted."""

    placed: list[Placed] = field(default_factory=list)

    def add(self, item: str, places: float, *pieces: HeldPiece, size: Words = "") -> None:
        """Nothing where there are no places."""
        if places:
            self.placed.append(Placed(item, places, pieces, size))

    def of(self, *items: str) -> list[Placed]:
        return [p for p in self.placed if p.item in items]

    def places(self, item: str) -> float:
        return total(self.of(item))


def total(placed: Iterable[Placed]) -> float:
    """Places in all: a part of one left over is one."""
    return float(math.ceil(math.fsum(p.places for p in placed) - 1e-6))


def served(placed: Iterable[Placed]) -> tuple[str, ...]:
    """The marks served (`runs_of_marks`)."""
    return runs_of_marks(x.mark for p in placed for x in p.pieces)


def runs_of_marks(given: Iterable[str]) -> tuple[str, ...]:
    """Marks by letter and number, each once, those that follow on one another as one: `J1 to J4`."""
    marks = sorted({m for m in given if m}, key=_letter_and_number)
    out = []
    for _, run in groupby(
        enumerate(marks), lambda n: (_letter_and_number(n[1])[0], _letter_and_number(n[1])[1] - n[0])
    ):
        row = [mark for _, mark in run]
        out += [f"{row[0]} to {row[-1]}"] if len(row) > 2 else row
    return tuple(out)


def _letter_and_number(mark: str) -> tuple[str, int]:
    letter = mark.rstrip("0123456789")
    return letter, int(mark[len(letter) :] or 0)


def marks_in(runs: Iterable[str]) -> list[str]:
    """All marks of what `runs_of_marks` gives."""
    out = []
    for run in runs:
        first, _, last = run.partition(" to ")
        letter, low = _letter_and_number(first)
        high = _letter_and_number(last)[1] if last else low
        out += [f"{letter}{n}" for n in range(low, high + 1)] if last else [first]
    return out
