"""Statics of a whole deck, for tests: what comes down is what stands on it."""

from __future__ import annotations

from plumbcut.model.structure.structure import analyse

GAPS = 0.06  # of the surface: the gaps between its boards bear load as well


def comes_down_whole(deck) -> None:
    """What the footings and the ledger take is the area of the surface, and nothing of it is lost on the way."""
    path = analyse(deck).path
    assert not path.notes
    taken = sum(c.load.steady for c in path.on_footings())
    taken += sum(l.area + sum(load.steady for _, load, _ in l.joists) for l in path.ledgers)
    surface = sum(p.footprint.area for p in deck.parts if p.role in ("board", "border"))
    assert surface / 144 <= taken <= surface / 144 * (1 + GAPS)
