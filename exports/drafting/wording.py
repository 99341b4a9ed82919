"""Measured things in words, in the units of the paper: what the model says, results of checks, ranges of lengths, names
of stock, directions on the sheet.

Only here, and where drawings are lettered, are numbers rounded.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from ...model.rules.check_result import CheckResult, LocalValue
from ...shared.said import Quantity, Said, Words
from ...shared.stock import Stock
from ...shared.units import INCH_PER_MM, feet_inches, inches, millimetres

_SQ_CM = (INCH_PER_MM * 10) ** 2
_METRE = INCH_PER_MM * 1000


def worded(what: Words, metric: bool = False) -> str:
    """A sentence of the model for a reader: feet and inches, or millimetres, square centimetres and metres."""
    if isinstance(what, str):
        return what
    values = {
        name: worded(v, metric) if isinstance(v, Said) else _measured(v, metric) if isinstance(v, Quantity) else v
        for name, v in what.values
    }
    return what.template.format_map(values)


def _measured(q: Quantity, metric: bool) -> str:
    sign = "+" if q.signed else ""
    if q.kind == "area":
        return f"{q.value / _SQ_CM:.0f} sq cm" if metric else f"{q.value:.{q.places}f} sq in"
    if q.kind == "span":
        return f"{q.value / _METRE:.2f} m" if metric else f"{q.value / 12:.{q.places}f} ft"
    if q.kind == "decimal":  # a decimal of an inch is about two of a millimetre less
        if q.places is None:
            text = f"{q.value / INCH_PER_MM:{sign}.5g}" if metric else f"{q.value:{sign}g}"
        elif metric:
            text = f"{q.value / INCH_PER_MM:{sign}.{max(q.places - 1, 0)}f}"
        else:
            text = f"{q.value:{sign}.{q.places}f}"
        return text if q.bare else f"{text} mm" if metric else f"{text} in"
    if metric:
        return f"{millimetres(q.value)} mm"
    return feet_inches(q.value) if q.kind == "length" else inches(q.value)


def quantity(value: float | None, unit: str, metric: bool = False) -> str:
    """A measured value or a limit for a reader. Lengths are never rounded past their limit: 3.97 in does not read as 4,
    nor 100.84 mm as 101; an eighth of an inch is 3.175 mm."""
    if value is None:
        return ""
    if unit == "in" and metric:
        return f"{value / INCH_PER_MM:.3f}".rstrip("0").rstrip(".") + " mm"
    if unit == "in":
        text = inches(value) if abs(value) < 48 else feet_inches(value)
        return text if abs(value * 16 - round(value * 16)) < 1e-3 else f"{text} ({value:.3f} in)"
    return f"{value:.4g} {unit}".strip()


def measured_text(r: CheckResult, metric: bool = False) -> str:
    return quantity(r.measured, r.unit, metric)


def limit_text(r: CheckResult, metric: bool = False) -> str:
    return f"{r.kind} {quantity(r.limit, r.unit, metric)}" if r.limit is not None else ""


def source_text(r: CheckResult, metric: bool = False) -> str:
    """The rule's source, and what became of the local value where one is given."""
    return r.source + (local_text(r.local, metric) if r.local else "")


def local_text(local: LocalValue, metric: bool = False) -> str:
    told = "used" if local.used else "is looser and was not used"
    return f"; local value {quantity(local.value, local.unit, metric)} {told}"


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


def sized_text(stock: Stock, metric: bool = False) -> str:
    """A stock's name as lettered; of the file's own sizes, whose names say nothing in inches, with what they dress
    to."""
    return stock_text(stock.name) + dressed_text(stock, metric, " ({})")


def dressed_text(stock: Stock, metric: bool = False, frame: str = "{}") -> str:
    """`1 3/4" x 7 11/16"` of a size of the file's own, set in a frame; nothing of a built-in one, nor in millimetres
    where its name says them."""
    sides = stock.thickness, stock.width
    if stock.given is None or (metric and stock.name == "x".join(map(millimetres, sides))):
        return ""
    return frame.format(" x ".join(map(millimetres, sides)) + " MM" if metric else " x ".join(map(inches, sides)))


def direction_word(v: Sequence[float]) -> str:
    """up, down, left or right: the way a plan vector points on the sheet."""
    if abs(v[0]) >= abs(v[1]):
        return "right" if v[0] > 0 else "left"
    return "up" if v[1] > 0 else "down"
