"""What would bring a frame out of the ground: joists less deep, or a surface that lies higher."""

from __future__ import annotations

from collections.abc import Iterator

from ..deck import Deck
from ..plan.would_do import up_to
from ..rules.check_result import CheckResult
from ..rules.check_solids import GROUND
from .mends import JOISTS

LEAST_JOIST = "2x6"  # the least with a published joist span, and too small for a ledger
AS_DEEP_AS_JOISTS = ("frame", "blocking", "trim", "guards")  # groups of pieces that go down as deep as the joists


def ground_mends(row: CheckResult, deck: Deck) -> Iterator[tuple[str, object]]:
    """The keys with the values that would do for wood of the deck's own frame; none for another rule or piece."""
    if row.rule != GROUND or row.measured is None:
        return
    parts = [p for p in deck.parts if p.id in row.ids]
    if any(p.group not in AS_DEEP_AS_JOISTS or p.stair is not None for p in parts):
        return
    p = deck.parameters
    room = deck.layout.joist.width - row.measured
    sizes = JOISTS if deck.roles("ledger") else (LEAST_JOIST, *JOISTS)
    fits = [name for name in sizes if p.stock(name).width <= room + 1e-9]
    if fits:
        yield "frame.joist", fits[-1]
    yield "levels.surface", up_to(p.surface_level + row.measured)
