"""One published rule against one measured value, and how the two are compared.

A result is "met", "not met" or "not checked" with the reason; never anything that a reader could take for an approval.
"""
from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Sequence

from ..shared.standards import Row, limit
from ..shared.units import feet_inches, inches
from .measure import Measured
from .part import Part

if TYPE_CHECKING:
    from .deck import Deck

EXACT = 1e-6  # inches: geometry this close to a limit stands on it
KINDS = ("at most", "at least", "less than", "more than")


@dataclass(frozen=True)
class CheckResult:
    """`measured`, `limit`, `margin` in `unit` (margin > 0 is on the right side); `place` is a mark or a place in words."""

    rule: str
    source: str
    place: str
    measured: float | None
    limit: float | None
    margin: float | None
    unit: str
    kind: str
    result: str
    why: str = ""
    ids: tuple[str, ...] = ()
    subject: str = ""

    @property
    def measured_text(self) -> str:
        return quantity(self.measured, self.unit)

    @property
    def limit_text(self) -> str:
        return f"{self.kind} {quantity(self.limit, self.unit)}" if self.limit is not None else ""


def quantity(value: float | None, unit: str) -> str:
    """A value for a reader. Lengths keep four decimals beside the fraction: 3.97 in must never read as 4."""
    if value is None:
        return ""
    if unit == "in":
        text = inches(value) if abs(value) < 48 else feet_inches(value)
        return text if abs(value * 16 - round(value * 16)) < 1e-3 else f"{text} ({value:.3f} in)"
    return f"{value:.4g} {unit}".strip()


def compare(kind: str, measured: float, bound: float, tolerance: float = EXACT) -> tuple[bool, float]:
    """(met, margin). A strict kind is not met on the limit itself."""
    margin = bound - measured if kind in ("at most", "less than") else measured - bound
    return (margin > tolerance if kind in ("less than", "more than") else margin >= -tolerance), margin


@dataclass
class Checking:
    """The deck under check, its measurements by id, and the results so far."""

    deck: "Deck"
    measured: Sequence[Measured]
    results: list[CheckResult] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.flights: dict[int, list] = {}
        self.by_id = {m.id: m for m in self.measured}
        self.edition = self.deck.parameters.local.edition
        self.local = self.deck.parameters.local

    def of(self, *roles: str, stair: int | None = None) -> list[Measured]:
        return [m for m in self.measured if m.role in roles and (stair is None or m.part.stair == stair)]

    def row(self, item: str) -> Row:
        return limit(item, self.edition)

    def add(self, rule: str, row: Row, kind: str, measured: float, place: str, ids=(), *, local: float | None = None,
            unit: str | None = None, why: str = "", bound: float | None = None) -> CheckResult:
        """Compare with the row's value, or with a local one where that is tighter (`local`), and say so in the source."""
        value = float(row.value) if bound is None else bound
        source = cited(row)
        if local is not None:
            tighter = local < value if kind in ("at most", "less than") else local > value
            if tighter:
                value, source = local, f"{source}; local value {quantity(local, unit or row.unit)} used"
            elif local != value:
                source = f"{source}; local value {quantity(local, unit or row.unit)} is looser and was not used"
        if not math.isfinite(measured):
            return self.skip(rule, source, place, f"measured {measured}", ids)
        met, margin = compare(kind, measured, value)
        result = CheckResult(rule, source, place, measured, value, margin, unit or row.unit, kind, "met" if met else "not met", why, tuple(ids))
        self.results.append(result)
        return result

    def skip(self, rule: str, source, place: str, why: str, ids=()) -> CheckResult:
        """A rule that was not checked, and why."""
        text = cited(source) if isinstance(source, Row) else str(source)
        result = CheckResult(rule, text, place, None, None, None, "", "", "not checked", why, tuple(ids))
        self.results.append(result)
        return result

    def state(self, rule: str, row, met: bool, place: str, why: str, ids=()) -> CheckResult:
        """A rule of presence: something must be there, or must bear."""
        text = cited(row) if isinstance(row, Row) else str(row)
        result = CheckResult(rule, text, place, None, None, None, "", "", "met" if met else "not met", why, tuple(ids))
        self.results.append(result)
        return result


def cited(row: Row) -> str:
    """Document and section of a row, with its mark where it is from memory or doubtful."""
    return row.citation if hasattr(row, "citation") else row.source


def places(parts: Sequence[Part | Measured]) -> tuple[str, ...]:
    return tuple(p.id for p in parts)
