"""Trials of what would mend a check: each value that a row which is not met names is put into the file and the deck
built with it. Whether the row is met then is read off the checks of that deck, and what other rows came out otherwise.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from ...shared.as_toml import as_toml
from ...shared.errors import PlumbcutError
from ..deck import Deck
from ..plan.would_do import Value
from ..rules.check_result import CheckResult
from ..structure.structure import Structure
from .advised import values_of
from .mends import faults

Changed = Callable[[Mapping[str, object]], Sequence[CheckResult]]  # the checks of the file with other values of keys
_MARK = re.compile(r"\b[A-Z]{1,3}\d+(-\d+)?\b|(?<=riser )\d+|(?<=tread )\d+|, tightest of \d+")
_MOST_TRIED = 3  # values tried for a row, as many as it names


@dataclass(frozen=True)
class OtherRow:
    """A row that came out otherwise: what it was (nothing where it was not there) and what it is now."""

    row: CheckResult
    before: str
    after: str


@dataclass(frozen=True)
class Trial:
    """One value tried for a row: whether the row is met then, what `others` came out otherwise, or why the deck was
    `refused`."""

    value: Value
    met: bool
    others: tuple[OtherRow, ...] = ()
    refused: str = ""


@dataclass(frozen=True)
class TriedRow:
    """A row that is not met, and what was tried for it; nothing where no key has a value that would do."""

    row: CheckResult
    trials: tuple[Trial, ...]

    @property
    def mend(self) -> Trial | None:
        """The first that mends it and makes no other row worse; else the first that mends it."""
        met = [t for t in self.trials if t.met]
        harmless = [t for t in met if not any(o.after == "not met" for o in t.others)]
        return next(iter([*harmless, *met]), None)


@dataclass(frozen=True)
class Mended:
    """All rows tried, the `values` that mend them together, and the rows that are not met with all of those."""

    rows: tuple[TriedRow, ...]
    values: Mapping[str, object]
    left: tuple[CheckResult, ...]
    refused: str = ""


def tried_mends(
    checks: Sequence[CheckResult],
    deck: Deck,
    structure: Structure,
    changed: Changed,
    progress: Callable[[str], None] = lambda stage: None,
) -> Mended:
    """Every row that is not met with its values tried one by one, then those that mend together. `changed` builds and
    checks the file with other values, and raises PlumbcutError where it refuses them."""
    found = faults(structure.results)
    known: dict[str, Sequence[CheckResult] | str] = {}

    def built(values: Mapping[str, object]) -> Sequence[CheckResult] | str:
        name = ", ".join(f"{k} = {as_toml(v)}" for k, v in values.items())
        if name not in known:
            progress(name)
            try:
                known[name] = changed(values)
            except PlumbcutError as e:
                known[name] = " ".join(str(e).split())
        return known[name]

    rows = []
    for row in (r for r in checks if r.result == "not met"):
        values = {f"{k} = {as_toml(v)}": (k, v) for k, v in values_of(row, deck, found)}
        rows.append(
            TriedRow(row, tuple(_tried(row, v, checks, built(dict([v]))) for v in [*values.values()][:_MOST_TRIED]))
        )
    together: dict[str, object] = {}
    for t in rows:
        if t.mend is not None:
            key, value = t.mend.value
            together[key] = _more(deck, key, together[key], value) if key in together else value
    after = built(together) if together else [r for r in checks if r.result == "not met"]
    if isinstance(after, str):
        return Mended(tuple(rows), together, (), after)
    return Mended(tuple(rows), together, tuple(r for r in after if r.result == "not met"))


def _more(deck: Deck, key: str, one: object, other: object) -> object:
    """Of two values that mend a row each the one further from what the file has now: it mends both."""
    if not (isinstance(one, (int, float)) and isinstance(other, (int, float))):
        return max((one, other), key=str)
    now: object = deck.parameters
    for step in key.split("."):
        now = cast("Sequence[object]", now)[int(step)] if step.isdecimal() else getattr(now, step, None)
    at = float(now) if isinstance(now, (int, float)) else 0.0
    return max((one, other), key=lambda v: abs(float(v) - at))


def _tried(row: CheckResult, value: Value, before: Sequence[CheckResult], after: Sequence[CheckResult] | str) -> Trial:
    if isinstance(after, str):
        return Trial(value, False, (), after)
    unmet = Counter(_named(r) for r in before if r.result == "not met")
    left = Counter(_named(r) for r in after if r.result == "not met")
    met = left[_named(row)] < unmet[_named(row)]
    return Trial(value, met, tuple(_others(row, before, after)))


def _named(row: CheckResult) -> tuple[str, str]:
    """A row by its rule and its place without the marks that another deck gives otherwise."""
    return row.rule, _MARK.sub("", str(row.place))


def _others(row: CheckResult, before: Sequence[CheckResult], after: Sequence[CheckResult]) -> list[OtherRow]:
    """The rows beside the one that was tried for whose result is another, the worse ones first."""
    was, now = _worst(before), _worst(after)
    found = [
        OtherRow(r, was[name].result if name in was else "", r.result)
        for name, r in now.items()
        if name != _named(row) and (r.result != was[name].result if name in was else r.result == "not met")
    ]
    order = {"not met": 0, "not checked": 1, "met": 2}
    return sorted(found, key=lambda o: order[o.after])


def _worst(rows: Sequence[CheckResult]) -> dict[tuple[str, str], CheckResult]:
    """The worst row of each name."""
    order = {"not met": 2, "not checked": 1, "met": 0}
    found: dict[tuple[str, str], CheckResult] = {}
    for r in rows:
        if _named(r) not in found or order[r.result] > order[found[_named(r)].result]:
            found[_named(r)] = r
    return found
