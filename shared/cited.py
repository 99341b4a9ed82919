"""What is published and where it stands: a number, a name, or a clause that states neither."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from .said import Words, quoting


@dataclass(frozen=True)
class Cited:
    """Where something published stands. `case` says which row and column in words; `how` is `seen` or `memory`;
    `doubtful` rows prove nothing. Lengths in `source` and `case` stand in braces (`said.quoting`)."""

    item: str
    unit: str
    edition: str
    source: str
    how: str
    doubtful: bool = False
    note: str = ""
    case: str = ""

    @property
    def citation(self) -> Words:
        """The source as a report prints it, with the row used, and a plain word where it was not seen or is in
        doubt."""
        text = f"{self.source}: {self.case}" if self.case else self.source
        if self.how == "memory":
            text += " (from memory)"
        return quoting(text + (" (DOUBTFUL)" if self.doubtful else ""))


@dataclass(frozen=True)
class Row(Cited):
    """A published number: `value` in `unit`, 0 where the table prints NP (not permitted)."""

    value: float = field(kw_only=True)


@dataclass(frozen=True)
class Missing(Row):
    """A row that the edition does not have. Its value is no number: nothing is met or missed by it, and whoever would
    say it in words has to ask first."""

    @classmethod
    def of(cls, item: str, edition: str) -> Missing:
        return cls(item, "", edition, f"{edition}: no row", "seen", value=math.nan)

    @property
    def why(self) -> str:
        """Why a rule that asks for it was not checked."""
        return f"no limit in the data for {self.edition} (local.edition)"


@dataclass(frozen=True)
class Named(Cited):
    """A published limit that is no number: the size of stock or the use category of that name."""

    name: str = field(kw_only=True)


def in_doubt(met: bool) -> str:
    """What is said of a comparison with a doubtful row, which decides nothing either way."""
    return (
        "within the printed limit as it is known here, which is in doubt: look it up"
        if met
        else "over the printed limit as it is known here, which is in doubt: look it up before you build so"
    )
