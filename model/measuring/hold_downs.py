"""Which joists are tied back to the house's floor by hold-downs: one near each end of the ledgers, the others evenly
between. Read off the solids; the hold-downs are bought and no solids themselves."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from ...shared.standards import find_limit
from ..solid.part import Part
from .carriers import PARALLEL
from .contacts import Contact
from .member_seen import axis

FROM_END = 12.0  # inches from the ledgers' ends at which the outer ones are looked for; our own


def hold_downs_asked(allowed: float | None, edition: str) -> int:
    """How many the code asks for of those that hold `allowed` pounds each (None: not told): two large ones, or four
    small ones. Nothing it prints admits any smaller; of those it is four too, and the check says so."""
    large, few = find_limit("hold_down_large_lb", edition), find_limit("hold_downs_large_min", edition)
    many = find_limit("hold_downs_small_min", edition)
    if few is None or large is None:
        return 0
    return int(few.value) if many is None or allowed is None or allowed >= large.value else int(many.value)


def hold_down_strength(edition: str, count: int) -> float | None:
    """Pounds that the code asks of each of so many hold-downs, None where it asks for none: the small ones' where there
    are as many as it asks of those."""
    large, small = find_limit("hold_down_large_lb", edition), find_limit("hold_down_small_lb", edition)
    many = find_limit("hold_downs_small_min", edition)
    row = small if many is not None and small is not None and count >= many.value else large
    return None if row is None else row.value


def tied_back(parts: Sequence[Part], contacts: Sequence[Contact], count: int) -> list[Part]:
    """The joists, in their order along the ledgers that most of them hang on; fewer than `count` where fewer hang
    there."""
    found = _hung(parts, contacts)
    if found is None or count < 1:
        return []
    joists, (low, high) = found
    if len(joists) < 2:
        return []
    free, tied = list(joists), []
    for at in np.linspace(low + FROM_END, high - FROM_END, max(count, 2)):
        near = min(free, key=lambda hung: abs(hung[0] - at), default=None)
        if near is not None:
            tied.append(near)
            free.remove(near)
    return [p for _, p in sorted(tied, key=_in_order)]


def from_ends(tied: Sequence[Part], parts: Sequence[Part], contacts: Sequence[Contact]) -> tuple[float, float]:
    """Inches from the ends of those ledgers to the outermost of the joists tied back, and between those two."""
    found = _hung(parts, contacts)
    assert found is not None, "asked of joists that are tied back"
    joists, (low, high) = found
    at = [place for place, p in joists if any(p.id == t.id for t in tied)]
    return float(max(min(at) - low, high - max(at))), float(max(at) - min(at))


def _hung(
    parts: Sequence[Part], contacts: Sequence[Contact]
) -> tuple[list[tuple[float, Part]], tuple[float, float]] | None:
    """The joists on the ledgers that most of them hang on, each with the place along those where its end meets them,
    which of one askew to them lies far off its middle, and the ends of those ledgers; a ledger along the joists holds
    none back."""
    by_id = {p.id: p for p in parts}
    on: dict[str, dict[str, np.ndarray]] = defaultdict(dict)
    for k in contacts:
        if k.kind == "end" and k.a.role == "joist" and k.b.role == "ledger":
            on[k.b.id][k.a.id] = (np.asarray(k.low[:2]) + np.asarray(k.high[:2])) / 2
    if not on:
        return None
    first = max(sorted(on), key=lambda i: len(on[i]))
    u = axis(by_id[first])
    alike = [i for i in on if abs(float(axis(by_id[i]) @ u)) > PARALLEL]
    ends = np.concatenate([by_id[i].vertices[:, :2] @ u for i in alike])
    joists = {key: (float(np.dot(at, u)), by_id[key]) for i in alike for key, at in on[i].items()}
    return sorted(joists.values(), key=_in_order), (float(ends.min()), float(ends.max()))


def _in_order(hung: tuple[float, Part]) -> tuple[float, str]:
    return round(hung[0], 3), hung[1].id
