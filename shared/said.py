"""Sentences that carry their numbers as data: who writes them puts the numbers in words, in the units of the paper.

`Said("{run} is ripped to {width}", ...)` knows what kind of number each is and in which unit it is held (inches and
square inches inside, as everywhere); it holds no rounding and no unit sign.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

NumberKind = Literal["length", "size", "decimal", "area", "span"]


@dataclass(frozen=True)
class Quantity:
    """A number and how it is to be read.

    `length`: inches, read in feet and inches; `size`: inches, read in inches; `decimal`: inches to `places` decimals
    (None: as it was given), with its sign where `signed`, with no unit where another number beside it bears it
    (`bare`); `area`: square inches;
    `span`: inches, read in feet to a decimal as span tables are.
    """

    value: float
    kind: NumberKind
    places: int | None = 2
    signed: bool = False
    bare: bool = False


@dataclass(frozen=True)
class Said:
    """A template with names in braces, and a value for each: words, a count, a quantity, or a sentence of its own."""

    template: str
    values: tuple[tuple[str, str | int | Quantity | Said], ...] = ()


Words = str | Said  # a sentence without a measured number needs no more than its words


def said(template: str, **values: str | int | Quantity | Said) -> Said:
    return Said(template, tuple(values.items()))


def together(*parts: str | Said, between: str = "; ") -> str | Said:
    """Sentences one after the other; empty ones are left out."""
    given = [p for p in parts if p]
    return between.join(given) if all(isinstance(p, str) for p in given) else listed(given, between)  # type: ignore[arg-type]


def listed(parts: Sequence[str | Quantity | Said], between: str = ", ") -> Said:
    """Several values one after the other."""
    return Said(between.join(f"{{p{n}}}" for n in range(len(parts))), tuple((f"p{n}", p) for n, p in enumerate(parts)))


def length(value: float) -> Quantity:
    return Quantity(float(value), "length")


def size(value: float) -> Quantity:
    return Quantity(float(value), "size")


def decimal(value: float, places: int | None = 2, *, signed: bool = False, bare: bool = False) -> Quantity:
    return Quantity(float(value), "decimal", places, signed, bare)


def area(value: float, places: int = 1) -> Quantity:
    return Quantity(float(value), "area", places)


def span(value: float, places: int = 1) -> Quantity:
    return Quantity(float(value), "span", places)
