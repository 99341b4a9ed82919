"""One published rule against one measured value, and how the two are compared.

A result is "met", "not met" or "not checked" with the reason; never anything that a reader could take for an approval.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from ...shared.cited import Cited, Missing, Named, Row, in_doubt
from ...shared.said import Quantity, Words, decimal, together
from ...shared.standards import find_named, limit_or_missing
from ..measuring.deck_seen import DeckSeen
from ..measuring.measure import Measured
from ..solid.part import Part
from ..strength.spans import boards_item
from ..structure.rated_hardware import AS_GIVEN

if TYPE_CHECKING:
    from ..deck import Deck

MAKERS_SHEET = "maker's sheet, given by the builder"
EXACT = 1e-6  # inches: geometry this close to a limit stands on it


@dataclass(frozen=True)
class LocalValue:
    """A value that the place asks for beside the published one, and whether it was used, being the tighter."""

    value: float
    unit: str
    used: bool


@dataclass(frozen=True)
class CheckResult:
    """`measured`, `limit`, `margin` in `unit` (margin > 0 is on the right side); `place` is a mark or a place in
    words. `mends`: keys of the parameter file, each with a value that passes, where the result is not met."""

    rule: str
    source: Words
    place: Words
    measured: float | None
    limit: float | None
    margin: float | None
    unit: str
    kind: str
    result: str
    why: Words = ""
    ids: tuple[str, ...] = ()
    local: LocalValue | None = None
    mends: tuple[tuple[str, object], ...] = ()


def compare(kind: str, measured: float, bound: float, tolerance: float = EXACT) -> tuple[bool, float]:
    """(met, margin). A strict kind is not met on the limit itself."""
    margin = bound - measured if kind in ("at most", "less than") else measured - bound
    return (margin > tolerance if kind in ("less than", "more than") else margin >= -tolerance), margin


@dataclass
class Checking:
    """The deck under check, what was seen of it, its measurements by id, and the results so far."""

    deck: Deck
    measured: Sequence[Measured]
    results: list[CheckResult] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.seen = DeckSeen(self.measured, lambda: self.deck.members, self.deck.planes.grade)
        self.by_id, self.of = self.seen.by_id, self.seen.of
        self.edition = self.deck.parameters.local.edition
        self.local = self.deck.parameters.local

    def row(self, item: str) -> Row:
        """The limit of that name, or `Missing`: a rule that asks for it is then not checked."""
        return limit_or_missing(item, self.edition)

    def joist_spacing(self, board: float, square: bool) -> Row | Missing:
        """The widest joist spacing for boards of lumber `board` inches thick."""
        return self.row(boards_item(board, square))

    def makers_spacing(self, square: bool) -> float | None:
        """The widest joist spacing that the maker of the surface's boards prints, where the file gives it."""
        surface = self.deck.parameters.surface
        return surface.max_span if square else surface.max_span_45

    def makers_word(self, square: bool) -> str:
        """Where that spacing was given: on the maker's sheet, or in the file itself."""
        board = self.deck.parameters.maker.board
        return AS_GIVEN if (board.max_span if square else board.max_span_45) is None else MAKERS_SHEET

    def named(self, item: str) -> Named | Missing:
        """As `row`, of a limit that is a name."""
        return find_named(item, self.edition) or Missing.of(item, self.edition)

    def lacks(self, rule: str, place: Words, *rows: Cited, ids: Sequence[str] = ()) -> bool:
        """Whether the edition has not all these rows; the rule is then not checked."""
        missing = next((r for r in rows if isinstance(r, Missing)), None)
        if missing is not None:
            self.skip(rule, missing, place, missing.why, ids)
        return missing is not None

    def add(
        self,
        rule: str,
        row: Cited | Words,
        kind: str,
        measured: float,
        place: Words,
        ids: Sequence[str] = (),
        *,
        local: float | None = None,
        unit: str | None = None,
        why: Words = "",
        bound: float | None = None,
    ) -> CheckResult:
        """Compare with the row's value, or with a local one where that is tighter (`local`); the result holds which.

        `bound` takes the place of the row's value where the row states it of something else that was measured; it is
        wanted where the row holds no number (TypeError). A row in doubt proves nothing either way: the comparison is
        stated and the rule counts as not checked. Nor does one that the edition does not have, unless the place has a
        value of its own.
        """
        if isinstance(row, Missing):
            if local is None:
                return self.skip(rule, row, place, together(row.why, why), ids)
            row, bound = row.citation, local
        if bound is not None:
            value = bound
        elif isinstance(row, Row):
            value = row.value
        else:
            raise TypeError(f"{rule}: {cited(row)} states no number, and no bound is given")
        unit = unit or (row.unit if isinstance(row, Cited) else "in")
        source, given = cited(row), None
        if local is not None:
            tighter = local < value if kind in ("at most", "less than") else local > value
            if local != value or bound is not None:
                given = LocalValue(local, unit, tighter or bound is not None)
            value = local if tighter else value
        if not math.isfinite(measured):
            return self.skip(rule, source, place, f"measured {measured}", ids, given)
        met, margin = compare(kind, measured, value)
        result = "met" if met else "not met"
        if isinstance(row, Cited) and row.doubtful and value != local:
            why = together(in_doubt(met), why)
            result = "not checked"
        found = CheckResult(rule, source, place, measured, value, margin, unit, kind, result, why, tuple(ids), given)
        self.results.append(found)
        return found

    def worst(
        self,
        rule: str,
        row: Cited | Words,
        kind: str,
        found: Sequence[tuple[float, Words, Sequence[str]]],
        of: str = "",
        **how: Any,
    ) -> CheckResult | None:
        """One row for many places: (measured, place, ids) of the one with least room; of equals the last. `of` names
        the places in the plural. None where nothing was found."""
        if not found:
            return None
        least = kind in ("at least", "more than")
        value, place, ids = min(reversed(list(found)), key=lambda f: round(f[0], 9) if least else -round(f[0], 9))
        why = how.pop("why", "")
        if of and len(found) > 1:
            why = together(f"the {'least' if least else 'greatest'} of {len(found)} {of}", why)
        return self.add(rule, row, kind, value, place, ids, why=why, **how)

    def skip(
        self,
        rule: str,
        source: Cited | Words,
        place: Words,
        why: Words,
        ids: Sequence[str] = (),
        local: LocalValue | None = None,
    ) -> CheckResult:
        """A rule that was not checked, and why."""
        result = CheckResult(
            rule, cited(source), place, None, None, None, "", "", "not checked", why, tuple(ids), local
        )
        self.results.append(result)
        return result

    def state(
        self, rule: str, row: Cited | Words, met: bool, place: Words, why: Words, ids: Sequence[str] = ()
    ) -> CheckResult:
        """A rule of presence: something must be there, or must bear. Not checked without a row."""
        if isinstance(row, Missing):
            return self.skip(rule, row, place, row.why, ids)
        result = CheckResult(
            rule, cited(row), place, None, None, None, "", "", "met" if met else "not met", why, tuple(ids)
        )
        self.results.append(result)
        return result


def in_words(row: Row, bare: bool = False) -> Quantity | str:
    """A length of the rules for a sentence, or that there is none."""
    return "(no limit given)" if isinstance(row, Missing) else decimal(row.value, None, bare=bare)


def cited(row: Cited | Words) -> Words:
    """Document and section of a row, with its mark where it is from memory or doubtful; a text as it is."""
    return row.citation if isinstance(row, Cited) else row


def places(parts: Sequence[Part | Measured]) -> tuple[str, ...]:
    return tuple(p.id for p in parts)
