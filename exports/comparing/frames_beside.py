"""Frames of one deck side by side, as text: what each takes, how deep it is, and the lines that pin it."""

from __future__ import annotations

from collections.abc import Sequence

from ...model.design.costs import frame_depth
from ...model.design.designed import Designed
from ...model.design.frame_cost import FrameCost
from ...shared.prices import Prices
from ...shared.stock import BOARD_FOOT
from ...shared.units import INCH_PER_MM
from ..drafting.wording import quantity
from .side_by_side import columns

_CUBIC_METRE = (1000 * INCH_PER_MM) ** 3  # cubic inches


def frames_beside(found: Sequence[tuple[str, Designed]], prices: Prices, metric: bool = False) -> list[str]:
    """A column a frame, under its name: footings, posts, timber, price where all of it has one, depth of the frame, and
    what of it is not met."""
    costs = [FrameCost(made.deck, prices) for _, made in found]
    timber = [c.timber(lambda p: True) for c in costs]
    told = [f"{v / _CUBIC_METRE:.2f}" if metric else f"{v / BOARD_FOOT:,.0f}" for v in timber]
    priced = [c.price for c in costs]
    rows: list[tuple[str, ...]] = [
        ("footings", *(str(len(c.footings)) for c in costs)),
        ("posts", *(str(sum(p.role == "post" for p in c.pieces)) for c in costs)),
        ("timber, cu m" if metric else "timber, board feet", *told),
        *(
            [("price", *("-" if p is None else f"{p:,.2f}" for p in priced))]
            if any(p is not None for p in priced)
            else []
        ),
        ("depth of frame", *(quantity(frame_depth(made.deck.layout), "in", metric) for _, made in found)),
        ("rows not met", *(str(len(made.faults)) for _, made in found)),
    ]
    return columns(("", *(name for name, _ in found)), rows)
