"""The table and the calculation of every member as rows: those decided by mark, those left open once for all that are
left open for one reason."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Hashable
from dataclasses import dataclass, replace

from ...shared.said import Said, Words, said, together
from ...shared.standards import clause
from ..structure.guard_checks import OF_THE_GUARD
from ..structure.structure import MemberResult, Structure
from ..structure.verdicts import NOT_CHECKED
from .check_result import Checking, CheckResult


@dataclass(frozen=True)
class _Told:
    """A row, and of one that is left open why, apart from what loads its member."""

    row: CheckResult
    reason: Words


def check_members(c: Checking, structure: Structure) -> None:
    """One row for each mark, route and check: the member with least room of those that share a mark. A guard's pieces
    are judged together, whatever their mark: each is one of many bays."""
    groups: dict[tuple[str, str], list[MemberResult]] = defaultdict(list)
    for r in structure.results:
        groups[r.kind, "" if r.kind in OF_THE_GUARD else r.mark].append(r)
    told: list[_Told] = []
    for (kind, _), members in groups.items():
        worst = max(members, key=lambda r: r.worst[0])
        table = {x.result for r in members for x in r.table} - {NOT_CHECKED}
        calculated = {x.result for r in members for x in r.calculation} - {NOT_CHECKED}
        differ = bool(table) and bool(calculated) and ("not met" in table) != ("not met" in calculated)
        says = together(
            said("tightest check of it: {what}", what=worst.governs),
            "the table and the calculation differ" if differ else "",
        )
        place = f"{kind} {worst.mark}, {worst.where}"
        if kind in OF_THE_GUARD and (pieces := sum(len(r.ids) for r in members)) > 1:
            place = f"{place}, tightest of {pieces}"
        told += _by_table(c, members, place, says)
        told += _by_calculation(members, place, says)
    c.results += _left_open_once(told)


def _left_open_once(told: list[_Told]) -> list[CheckResult]:
    """The rows in their order, of those that one check leaves open for one reason only the one that asks most, which
    names the others: a reader looks it up, or asks for it, once."""
    groups: dict[Hashable, list[_Told]] = defaultdict(list)
    for n, t in enumerate(told):
        groups[(t.row.rule, _shape(t.reason)) if t.row.result == NOT_CHECKED else n].append(t)
    found = []
    for group in groups.values():
        row = max((t.row for t in group), key=_asks)
        others = [t.row.place for t in group if t.row is not row]
        if others:
            also = said(
                "the greatest of {n}; the same holds for {others}", n=len(group), others=together(*others, between=", ")
            )
            row = replace(row, why=together(row.why, also), ids=tuple(i for t in group for i in t.row.ids))
        found.append(row)
    return found


def _shape(words: Words) -> Hashable:
    """A sentence without its numbers."""
    if isinstance(words, Said):
        return words.template, tuple(_shape(v) for _, v in words.values if isinstance(v, (str, Said)))
    return words


def _asks(row: CheckResult) -> tuple[float, float]:
    """How much of its limit a row takes, else how much it measures."""
    asked = row.measured or 0.0
    return (asked / row.limit if row.limit else 0.0), asked


def _by_table(c: Checking, members: list[MemberResult], place: str, says: Words) -> list[_Told]:
    """The tables' checks of the members of one mark; `says`: what governs them."""
    told = []
    for name in dict.fromkeys(p.check for r in members for p in r.table):
        rows = [(p, r) for r in members for p in r.table if p.check == name]
        # members that a table says nothing of never hide behind those it does
        for some in (
            [x for x in rows if x[0].result != NOT_CHECKED],
            [x for x in rows if x[0].result == NOT_CHECKED],
        ):
            if not some:
                continue
            p = _least_room([x[0] for x in some])
            bound = "at most" if p.at_most else "at least"
            why = together(p.why, says if p.result != NOT_CHECKED else "")
            left_out = p.result == NOT_CHECKED and len(some) < len(rows)
            here = f"{place} ({len(some)} of {len(rows)}, which the table does not cover)" if left_out else place
            told.append(
                _Told(
                    CheckResult(
                        f"{name} (table)",
                        p.source or f"{c.edition}: no row",
                        here,
                        p.measured,
                        p.limit,
                        p.margin,
                        p.unit,
                        bound,
                        p.result,
                        why,
                        tuple(i for _, r in some for i in r.ids),
                    ),
                    p.why,
                )
            )
    return told


def _by_calculation(members: list[MemberResult], place: str, says: Words) -> list[_Told]:
    """The calculation's checks of the members of one mark; `says`: what governs them."""
    told = []
    for name in dict.fromkeys(v.check for r in members for v in r.calculation):
        v = _least_room([v for r in members for v in r.calculation if v.check == name])
        source = together(*dict.fromkeys(line.source for line in v.lines)) or clause("calculation").source
        margin = None if v.demand is None or v.capacity is None else v.capacity - v.demand
        why = together(_under(v.combination), v.why, says if v.result != NOT_CHECKED else "")
        told.append(
            _Told(
                CheckResult(
                    f"{name} (calculation)",
                    source,
                    place,
                    v.demand,
                    v.capacity,
                    margin,
                    v.unit,
                    "at most",
                    v.result,
                    why,
                    tuple(i for r in members if _says(r, name, v.result) for i in r.ids),
                ),
                v.why,
            )
        )
    return told


def _under(combination: str) -> str:
    """A load combination in words; what is none stays as it is."""
    if not re.fullmatch(r"D( \+ [\d. ]*[LS])*(, without .*)?", combination):
        return combination
    loads, _, without = combination.partition(", ")
    words = re.sub(r"\b[DLS]\b", lambda m: {"D": "dead", "L": "live", "S": "snow"}[m[0]], loads)
    return f"{words} load" + (f", {without}" if without else "")


def _says(r: MemberResult, check: str, result: str) -> bool:
    """Whether a check of a member came out so."""
    return any(v.check == check and v.result == result for v in r.calculation)


def _least_room(rows):
    order = {"not met": 2, "met": 1, "not checked": 0}

    def room(x):  # of two without a capacity, the one that asks more
        return order[x.result], x.ratio if x.ratio is not None else -1.0, getattr(x, "demand", None) or 0.0

    return max(rows, key=room)
