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

# keys of the parameter file, in brackets or bare, and what a note asks of them: nothing to a reader of the sheets
_BRACKETED_KEYS = re.compile(r"\s*\((?:[a-z_]+\.[a-z_.0-9]*[a-z_0-9](?: = [^ ,()]+)?(?:, | and )?)+\)")
_MEND = re.compile(r"(?:[;,:] )?\b[a-z_]+\.[a-z_.0-9]+ = .*? would do")
_KEY = re.compile(r"\b[a-z_]+\.(?:\d+\.)?([a-z_]{2,})\b")
_BRACKETED_TABLES = re.compile(r" \((?:area_load|hardware)\)")
_FILE_LACKS = re.compile(r"\bthe file does not say\b")
_ASKED = re.compile(r",? then say what is there")
# runs have no numbers on the plan; ripped widths stand among its notes, what is left out is nowhere drawn
_OF_THE_PROGRAM = re.compile(r"^(run \d+|the (first|last) run) |^\d+ scraps? of surface ")

_CM = INCH_PER_MM * 10
_SQ_CM = _CM**2
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


def note_on_paper(what: Words, metric: bool = False) -> str:
    """A note of the model as a sheet carries it: no key of the parameter file, no decimal inches; nothing where it
    tells of the program's own choices or of what no sheet shows."""
    text = _ASKED.sub("", _MEND.sub("", _BRACKETED_KEYS.sub("", worded(_without_decimals(what), metric))))
    text = text.replace("frame.support", "support of the frame")  # a reviewer asks why it hangs on no ledger
    return "" if _KEY.search(text) or _OF_THE_PROGRAM.match(text) else text


def without_keys(text: str) -> str:
    """A sentence of the model without the keys of the parameter file that it names in brackets, and without the value
    that would mend what it tells: the office has no such file. A key that is a word of the sentence is told as what it
    is called: local.frost_depth as frost depth."""
    plain = _FILE_LACKS.sub("it is not stated", _BRACKETED_TABLES.sub("", _MEND.sub("", _BRACKETED_KEYS.sub("", text))))
    return _KEY.sub(lambda m: m[1].replace("_", " "), plain)


def _without_decimals(what: Words) -> Words:
    """The sentence with its decimal inches as lengths, to 1/16 in or whole millimetres."""
    if isinstance(what, str):
        return what
    values = []
    for name, v in what.values:
        if isinstance(v, Said):
            made = _without_decimals(v)
            v = made if isinstance(made, Said) else v
        elif isinstance(v, Quantity) and v.kind == "decimal":
            v = Quantity(v.value, "length")
        values.append((name, v))
    return Said(what.template, tuple(values))


def _measured(q: Quantity, metric: bool) -> str:
    if q.kind == "number":
        return _digits(q.value, q)
    if q.kind == "quoted":
        return f"{q.value / INCH_PER_MM:.4g} mm" if metric else q.text
    if q.kind in ("length", "size"):
        if metric:
            return f"{millimetres(q.value)} mm"
        return feet_inches(q.value) if q.kind == "length" else inches(q.value)
    size, unit, fewer = _METRIC[q.kind] if metric else _IMPERIAL[q.kind]
    text = _digits(q.value / size, q, fewer)
    return text if q.bare else f"{text} {unit}"


# what a kind of quantity is read in, as so much of what it is held in; the unit; by how many its decimals are fewer:
# one of an inch is about two of a millimetre less
_IMPERIAL = {
    "decimal": (1.0, "in", 0),
    "area": (1.0, "sq in", 0),
    "surface": (1.0, "sq ft", 0),
    "volume": (1.0, "cu in", 0),
    "span": (12.0, "ft", 0),
}
_METRIC = {
    "decimal": (INCH_PER_MM, "mm", 1),
    "area": (_SQ_CM, "sq cm", 1),
    "surface": (_METRE**2 / 144, "sq m", -1),
    "volume": (_CM**3, "cu cm", 1),
    "span": (_METRE, "m", -1),
}


def _digits(value: float, q: Quantity, fewer: int = 0) -> str:
    """A number to the decimals or figures asked for, or as it was given."""
    sign, comma = "+" if q.signed else "", "," if q.grouped else ""
    if q.figures is not None:
        return f"{value:{sign}{comma}.{q.figures}g}"
    if q.places is None:  # what was given in inches is no round number of millimetres
        return f"{value:{sign}{comma}{'.5' if fewer else ''}g}"
    return f"{value:{sign}{comma}.{max(q.places - fewer, 0)}f}"


def quantity(value: float | None, unit: str, metric: bool = False) -> str:
    """A measured value or a limit for a reader. Lengths are never rounded past their limit: 3.97 in does not read as 4,
    nor 100.84 mm as 101; an eighth of an inch is 3.175 mm. `unit` is a check's: `in o.c.` is read like `in`, a slope of
    `in per in` as inches a foot, or in percent."""
    if value is None:
        return ""
    if unit == "in per in":
        return f"{value * 100:.4g} percent" if metric else f"{value * 12:.4g} in per ft"
    if metric and unit.split(" ")[0] == "in":
        return f"{value / INCH_PER_MM:.3f}".rstrip("0").rstrip(".") + f" mm{unit.removeprefix('in')}"
    if metric and unit in _CHECKED:
        size, own = _CHECKED[unit]
        return f"{value / size:.4g} {own}"
    if unit == "in":
        text = inches(value) if abs(value) < 48 else feet_inches(value)
        return text if abs(value * 16 - round(value * 16)) < 1e-3 else f"{text} ({value:.3f} in)"
    return f"{value:.4g} {unit}".strip()


_CHECKED = {"sq in": (_SQ_CM, "sq cm"), "cu in": (_CM**3, "cu cm"), "sq ft": (_METRE**2 / 144, "sq m")}


def measured_text(r: CheckResult, metric: bool = False) -> str:
    return quantity(r.measured, r.unit, metric)


def limit_text(r: CheckResult, metric: bool = False) -> str:
    return f"{r.kind} {quantity(r.limit, r.unit, metric)}" if r.limit is not None else ""


def source_text(r: CheckResult, metric: bool = False) -> str:
    """The rule's source, and what became of the local value where one is given."""
    return worded(r.source, metric) + (local_text(r.local, metric) if r.local else "")


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


def stock_text(stock: Stock | str, metric: bool = False) -> str:
    """A stock's name as lettered: capitals, but 2x10 keeps its small x."""
    name = stock if isinstance(stock, str) else worded(stock.called or stock.name, metric)
    return re.sub(r"(?<=\d)X(?=\d)", "x", name.upper())


def sized_text(stock: Stock, metric: bool = False) -> str:
    """A stock's name as lettered; of the file's own sizes, whose names say nothing in inches, with what they dress
    to."""
    return stock_text(stock, metric) + dressed_text(stock, metric, " ({})")


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
