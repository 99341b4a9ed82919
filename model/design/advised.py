"""The checks of a deck, each row that is not met with the key of the file that would mend it and the nearest value that
passes. Worked out in closed form: nothing is built again, the value is tried by who takes it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from ...shared.as_toml import as_toml
from ...shared.said import Said, Words, together
from ..deck import Deck
from ..measuring.measure import Measured
from ..plan.would_do import Value
from ..rules.check_result import CheckResult
from ..rules.checks import check_deck
from ..solid.roles import named
from ..structure.structure import MemberResult, Structure, analyse
from .member_mends import member_mends
from .mends import Unmet, faults
from .rule_mends import rule_mends, where_it_runs
from .stair_ways import landings_that_do, under_the_deck

NAMED = re.compile(r"\b(frame|guard|hardware|ledger|local|loads|levels|lumber|outline|stair|surface|trim)\.[a-z0-9_.]+")
UNDER_THE_FRAME = named("stands") + ("beam", "footing")
MOST_NAMED = 3  # values a row names; our own


def checked_with_mends(
    deck: Deck, measured: Sequence[Measured] | None = None, structure: Structure | None = None
) -> list[CheckResult]:
    """All results as `check_deck` has them, with what would do."""
    structure = structure or analyse(deck)
    rows = check_deck(deck, measured, structure)
    unmet = [r for r in rows if r.result == "not met"]
    if not unmet:
        return rows
    found = faults(structure.results)
    mended = {id(r): _with_values(r, deck, found) for r in unmet}
    return [mended.get(id(r), r) for r in rows]


def _with_values(row: CheckResult, deck: Deck, found: Sequence[tuple[MemberResult, Unmet]]) -> CheckResult:
    values = {f"{key} = {as_toml(value)}": (key, value) for key, value in values_of(row, deck, found)}
    row = replace(row, mends=tuple(values.values())[:MOST_NAMED])
    if names_a_key(row.why):
        return row
    would = f"{' or '.join(list(values)[:MOST_NAMED])} would do" if values else where_it_runs(row, deck)
    return replace(row, why=together(row.why, would)) if would else row


def values_of(row: CheckResult, deck: Deck, found: Sequence[tuple[MemberResult, Unmet]]) -> Iterator[Value]:
    """The keys with the values that would each mend a row; `found` are the members' rows that are not met."""
    of_rules = list(rule_mends(row, deck))
    yield from of_rules
    ids = set(row.ids)
    same = [(m, u) for m, u in found if row.rule.startswith(f"{u.check} (") and ids & set(m.ids)]
    if same:
        of_members = list(member_mends(*max(same, key=lambda f: f[1].ratio or 0.0), deck))
        yield from of_members
        if not of_rules + of_members and any(deck.by_id[i].role in UNDER_THE_FRAME for i in row.ids):
            # its posts gave way to a stair
            yield from (value for at in under_the_deck(deck) for value in landings_that_do(deck, at))


def names_a_key(words: Words) -> bool:
    """Whether a sentence names a key of the parameter file."""
    if isinstance(words, Said):
        inner = [v for _, v in words.values if isinstance(v, (str, Said))]
        return bool(NAMED.search(words.template)) or any(map(names_a_key, inner))
    return bool(NAMED.search(words))
