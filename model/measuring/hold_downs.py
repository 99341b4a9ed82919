"""Which joists are tied back to the house's floor by hold-downs: one near each end of the ledgers, the others evenly
between. Read off the solids; the hold-downs are bought and no solids themselves."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...shared.standards import find_limit
from ..solid.part import Part
from .contacts import Contact

FROM_END = (
    12.0  # inches from the ledgers' ends at which the outer ones are looked for, half of what is allowed; our own
)


def hold_downs_asked(allowed: float | None, edition: str) -> int:
    """How many the code asks for of those that hold `allowed` pounds each (None: not told): two large ones, or four
    small ones. Nothing it prints admits any smaller; of those it is four too, and the check says so."""
    large, few = find_limit("hold_down_large_lb", edition), find_limit("hold_downs_large_min", edition)
    many = find_limit("hold_downs_small_min", edition)
    if few is None or large is None:
        return 0
    return int(few.value) if many is None or allowed is None or allowed >= large.value else int(many.value)


def tied_back(parts: Sequence[Part], contacts: Sequence[Contact], count: int) -> list[Part]:
    """The joists, in their order along the first ledger; fewer than `count` where fewer joists hang on ledgers."""
    ledgers = [p for p in parts if p.role == "ledger"]
    if not ledgers or count < 1:
        return []
    axis = np.asarray(ledgers[0].place.x[:2])
    axis = axis / np.hypot(*axis)
    on = {p.id for p in ledgers}
    by_id = {p.id: p for p in parts}
    hung = {k.a.id: by_id[k.a.id] for k in contacts if k.kind == "end" and k.a.role == "joist" and k.b.id in on}
    joists = sorted(hung.values(), key=lambda p: (round(_middle(p, axis), 3), p.id))
    if len(joists) < 2:
        return []
    ends = np.concatenate([p.vertices[:, :2] @ axis for p in ledgers])
    wanted = np.linspace(ends.min() + FROM_END, ends.max() - FROM_END, max(count, 2))
    free, found = list(joists), []
    for at in wanted:
        near = min(free, key=lambda p: abs(_middle(p, axis) - at), default=None)
        if near is not None:
            found.append(near)
            free.remove(near)
    return sorted(found, key=lambda p: (round(_middle(p, axis), 3), p.id))


def from_ends(tied: Sequence[Part], parts: Sequence[Part]) -> tuple[float, float]:
    """Inches from the ledgers' ends to the outermost of the joists tied back, and between those two."""
    ledgers = [p for p in parts if p.role == "ledger"]
    axis = np.asarray(ledgers[0].place.x[:2])
    axis = axis / np.hypot(*axis)
    ends = np.concatenate([p.vertices[:, :2] @ axis for p in ledgers])
    at = [_middle(p, axis) for p in tied]
    return float(max(min(at) - ends.min(), ends.max() - max(at))), float(max(at) - min(at))


def _middle(part: Part, axis: np.ndarray) -> float:
    return float(np.dot(part.plan_middle, axis))
