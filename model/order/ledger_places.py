"""Where a ledger is bored for its fasteners: the ends' first, each clear of the joists. Inches."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from ..measuring.contacts import Contact
from ..measuring.measure import Measured

FIRST_HOLE = 3.5  # inches of the first fastener from the ledger's end: between 2 and 5 as published (`ledger_end_min`)
CLEAR_OF_JOIST = 1.5  # inches of a fastener's middle off a joist's face: room for a socket; our own
GIVES_WAY = 0.25  # inches by which a place gives way at a time
ROOM_AT_END = 1.5  # inches by which the first and the last may move either way

_Stretch = tuple[float, float]


def bored(long: float, joists: Sequence[_Stretch], spacing: float) -> list[float]:
    """Places along a ledger of a length, no two further apart than `spacing`, each as far on as that and the `joists`
    (from, to) on its face let it; with a joist where there is no place between."""
    if long <= 2 * FIRST_HOLE:
        return [long / 2]
    places, last = [_near(FIRST_HOLE, joists)], _near(long - FIRST_HOLE, joists)
    while last - places[-1] > spacing + 1e-6:
        reach = np.arange(places[-1] + spacing, places[-1] + spacing / 2, -GIVES_WAY)
        places.append(next((float(s) for s in reach if not _meets(float(s), joists)), float(reach[0])))
    return [*places, last]


def _near(s: float, joists: Sequence[_Stretch]) -> float:
    """The place nearest to one at an end that keeps off every joist; itself where none does."""
    found = (s + k * GIVES_WAY * way for k in range(int(ROOM_AT_END / GIVES_WAY) + 1) for way in (-1, 1))
    return next((at for at in found if not _meets(at, joists)), s)


def _meets(s: float, joists: Sequence[_Stretch]) -> bool:
    return any(a - CLEAR_OF_JOIST < s < b + CLEAR_OF_JOIST for a, b in joists)


def joists_on(ledger: Measured, contacts: Iterable[Contact]) -> list[_Stretch]:
    """The stretches of a ledger, from its low end, that joists take on its face."""
    axis, found = np.asarray(ledger.axis, float)[:2], set()
    low = float(np.min(np.asarray(ledger.part.footprint.exterior.coords) @ axis))
    for c in contacts:
        if {c.a.role, c.b.role} == {"ledger", "joist"} and ledger.id in (c.a.id, c.b.id):
            joist = c.a if c.a.role == "joist" else c.b
            at = float(np.asarray(c.point)[:2] @ axis) - low
            found.add((round(at - joist.stock.thickness / 2, 4), round(at + joist.stock.thickness / 2, 4)))
    return sorted(found)
