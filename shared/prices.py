"""A price list: CSV with columns `item`, `material`, `length_ft`, `unit`, `price`. Prices in the list's own currency.

`unit` is `each` (one length of stock, one pack, one bag, one connector) or `ft` (a running foot of stock). A row with
`length_ft` is for that length alone and goes before one without. Empty `material` fits any.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from pathlib import Path

from .errors import Fault, InputError

COLUMNS = ("item", "material", "length_ft", "unit", "price")
UNITS = ("each", "ft")
MOST_SHOWN = 40  # letters of what was given, in a message
LARGEST_LIST = 5_000_000  # bytes: a yard's whole list is a few hundred kilobytes


@dataclass(frozen=True)
class Prices:
    """What is asked for is looked up by name; what is not in the list has no price, and the caller says so by name."""

    rows: tuple[tuple[str, str, float | None, str, float], ...] = ()

    def stock_length(self, item: str, material: str, length: float) -> float | None:
        """Price of one piece of stock `length` inches long; None where the list has none."""
        best = None
        for name, of, feet, unit, price in self.rows:
            if name != item or of not in ("", material) or (feet is not None and abs(feet * 12 - length) > 0.01):
                continue
            exact = (feet is not None, of != "")
            if best is None or exact > best[0]:
                best = exact, price if unit == "each" else price * length / 12
        return None if best is None else best[1]

    def each(self, item: str) -> float | None:
        """Price of one pack, bag or connector; None where the list has none."""
        return next((price for name, _, _, unit, price in self.rows if name == item and unit == "each"), None)


def read_prices(path: str | Path) -> Prices:
    """A price list from a CSV file. Raises InputError with file, line and what is allowed for every row that cannot be
    used."""
    path = Path(path)
    reader = csv.DictReader(_text(path).splitlines())
    try:
        return _listed(path, reader)
    except csv.Error as e:  # a character or a field that the format does not know
        raise InputError(Fault(str(path), reader.line_num, "", f"is no price list (CSV): {e}")) from None


def _text(path: Path) -> str:
    def fault(message: str) -> InputError:
        return InputError(Fault(str(path), 0, "", message))

    try:
        if path.exists() and not path.is_file():
            raise fault("is no file on a disk; give a price list (CSV)")
        with path.open("rb") as file:
            source = file.read(LARGEST_LIST + 1)
        if len(source) > LARGEST_LIST:
            raise fault(f"is larger than {LARGEST_LIST:,} bytes; this is no price list")
        return source.decode("utf-8-sig")
    except (OSError, ValueError) as e:
        raise fault(f"cannot be read as a price list: {e}") from None


def _listed(path: Path, reader: csv.DictReader) -> Prices:
    missing = [c for c in COLUMNS if c not in (reader.fieldnames or [])]
    if missing:
        raise InputError(
            Fault(str(path), 1, "", f"has no column {', '.join(missing)}; a price list has {', '.join(COLUMNS)}")
        )
    rows, faults = [], []
    for row in reader:
        try:
            rows.append(_row(row))
        except ValueError as e:
            faults.append(Fault(str(path), reader.line_num, (row.get("item") or "")[:MOST_SHOWN], str(e)))
    if faults:
        raise InputError(faults)
    return Prices(tuple(rows))


def _row(row: dict) -> tuple[str, str, float | None, str, float]:
    values = {c: (row[c] or "").strip() for c in COLUMNS}
    if not values["item"]:
        raise ValueError("a row needs an item")
    if values["unit"] not in UNITS:
        raise ValueError(f"got the unit {values['unit'][:MOST_SHOWN]!r}; allowed are {', '.join(UNITS)}")
    return (
        values["item"],
        values["material"],
        _number(values["length_ft"], "length_ft") if values["length_ft"] else None,
        values["unit"],
        _number(values["price"], "price"),
    )


def _number(text: str, what: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value) or value < 0:
        raise ValueError(f"got the {what} {text[:MOST_SHOWN]!r}; it is a number, not below nothing")
    return value
