"""Sentences that carry their numbers as data: who writes them puts the numbers in words, in the units of the paper.

`Said("{run} is ripped to {width}", ...)` knows what kind of number each is and in which unit it is held (inches and
square inches inside, as everywhere); it holds no rounding and no unit sign. Loads and stresses (pounds, psf, psi) keep
their unit in the template: the standards state them so, whatever the paper.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from .units import parse_length

NumberKind = Literal["length", "size", "decimal", "area", "surface", "volume", "span", "number", "quoted"]


@dataclass(frozen=True)
class Quantity:
    """A number and how it is to be read.

    `length`: inches, read in feet and inches; `size`: inches, read in inches; `decimal`: inches to `places` decimals
    or to so many `figures` (neither: as it was given), with its sign where `signed`, with no unit where another number
    beside it bears it (`bare`); `area`: square inches; `surface`: square feet; `volume`: cubic inches; `span`: inches,
    read in feet as span tables are; `number`: has no unit, or one that no paper changes, thousands parted where
    `grouped`; `quoted`: inches, read as a source prints them (`text`).
    """

    value: float
    kind: NumberKind
    places: int | None = 2
    signed: bool = False
    bare: bool = False
    figures: int | None = None
    grouped: bool = False
    text: str = ""


@dataclass(frozen=True)
class Said:
    """A template with names in braces, and a value for each: words, a count, a quantity, or a sentence of its own."""

    template: str
    values: tuple[tuple[str, str | int | Quantity | Said], ...] = ()


Words = str | Said  # a sentence without a measured number needs no more than its words


def said(template: str, **values: str | int | Quantity | Said) -> Said:
    return Said(template, tuple(values.items()))


def together(*parts: Words, between: str = "; ") -> Words:
    """Sentences one after the other; empty ones are left out."""
    given = [p for p in parts if p]
    plain = [p for p in given if isinstance(p, str)]
    return between.join(plain) if len(plain) == len(given) else listed(given, between)


def listed(parts: Sequence[str | Quantity | Said], between: str = ", ") -> Said:
    """Several values one after the other."""
    return Said(between.join(f"{{p{n}}}" for n in range(len(parts))), tuple((f"p{n}", p) for n, p in enumerate(parts)))


def length(value: float) -> Quantity:
    return Quantity(float(value), "length")


def size(value: float) -> Quantity:
    return Quantity(float(value), "size")


def decimal(
    value: float, places: int | None = 2, *, figures: int | None = None, signed: bool = False, bare: bool = False
) -> Quantity:
    return Quantity(float(value), "decimal", None if figures else places, signed, bare, figures)


def area(value: float, places: int = 1) -> Quantity:
    return Quantity(float(value), "area", places)


def surface(value: float, places: int | None = 2) -> Quantity:
    return Quantity(float(value), "surface", places)


def volume(value: float, places: int | None = 3) -> Quantity:
    return Quantity(float(value), "volume", places)


def span(value: float, places: int | None = 1) -> Quantity:
    return Quantity(float(value), "span", places)


def number(value: float, places: int | None = None, *, figures: int | None = None, grouped: bool = False) -> Quantity:
    return Quantity(float(value), "number", places, figures=figures, grouped=grouped)


def put_in(value: float) -> Quantity:
    """A number as it is put into a formula: four figures that count, whole from a thousand up."""
    return number(value, 0, grouped=True) if abs(value) >= 1000 else number(value, figures=4)


def quoting(text: str) -> Words:
    """A text of the data, in which lengths stand in braces as their source prints them: `at {16 in} o.c.`, `{13-1}`
    for a printed feet-inches; or areas, `{20 sq ft}`. Raises LengthError for braces that hold neither."""
    parts = re.split(r"\{([^{}]*)\}", text)
    if len(parts) == 1:
        return text
    return listed([_printed(p) if n % 2 else p for n, p in enumerate(parts)], "")


def _printed(text: str) -> Quantity:
    if text.endswith(" sq ft"):
        return surface(float(text.removesuffix(" sq ft")), None)
    feet = re.fullmatch(r"(\d+)-(\d+)", text)
    value = 12.0 * int(feet[1]) + int(feet[2]) if feet else parse_length(text)
    return Quantity(value, "quoted", text=text)
