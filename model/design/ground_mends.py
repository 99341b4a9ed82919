"""What would bring a frame out of the ground: joists less deep, or a surface that lies higher; and a post base: a
surface that lies higher, or the stair that runs over its footing in another place, found by trying in plan."""

from __future__ import annotations

from collections.abc import Iterator

from ...shared.errors import DesignError, InputError
from ..deck import Deck
from ..input.parameters import Parameters
from ..plan.layout import lay_out
from ..plan.would_do import Value, up_to, with_value
from ..rules.check_result import CheckResult
from ..rules.check_solids import BASE_IN_GROUND, GROUND, ROUNDING
from .mends import JOISTS

LEAST_JOIST = "2x6"  # the least with a published joist span, and too small for a ledger
_HIGHER = (0.5, 1.0, 2.0, 4.0, 6.0)  # inches by which a surface is tried higher, over bases in the ground; our own
_ASIDE = (6.0, -6.0, 12.0, -12.0)  # inches by which a stair over their footing is tried in another place; our own
AS_DEEP_AS_JOISTS = ("frame", "blocking", "trim", "guards")  # groups of pieces that go down as deep as the joists


def ground_mends(row: CheckResult, deck: Deck) -> Iterator[Value]:
    """The keys with the values that would do for wood of the deck's own frame, and for post bases; none for another
    rule or piece."""
    if row.rule == BASE_IN_GROUND:
        yield from _with_dry_bases(deck, row.measured or 0.0)
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


def _with_dry_bases(deck: Deck, deep: float) -> Iterator[Value]:
    """Of the surface the least of the heights tried, first as much higher as the deepest lies, and of each stair the
    first place, with which all bases are clear of the ground."""
    p, spots = deck.parameters, [plan.spot for plan in deck.layout.stair_plans]
    tried = [("levels.surface", [up_to(p.surface_level + more) for more in (deep, *_HIGHER)])]
    tried += [(f"stair.{s.index}.at", [up_to(s.start + d) for d in _ASIDE if s.start + d >= 0]) for s in spots]
    for key, values in tried:
        found = next((v for v in values if _dry(p, key, v)), None)
        if found is not None:
            yield key, found


def _dry(p: Parameters, key: str, value: float) -> bool:
    """Whether the deck with that value can be drawn, all round footings of it ending over the soil at their bases."""
    try:
        layout = lay_out(with_value(p, key, value))
    except (DesignError, InputError, ValueError):
        return False
    return all(
        spot.top >= layout.planes.grade(x, y) - ROUNDING
        for spot in layout.footings
        for stand in spot.stands
        for x, y in stand.square.exterior.coords
    )
