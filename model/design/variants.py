"""Frames of one file side by side: each the least of something that a builder may want."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ...shared.errors import DesignError
from ...shared.prices import Prices
from ..deck import Progress
from ..input.parameters import Parameters
from ..measuring.measure import measure_all
from ..solid.part import Workshop
from .costs import MATERIAL, frame_depth
from .designed import Designed, designed

CALLED_BY = {"cost": "least cost", "footings": "fewest footings", "depth": "shallowest"}


@dataclass(frozen=True)
class FrameVariant:
    """A frame, and what is `least` of it."""

    least: str
    made: Designed

    @property
    def named(self) -> str:
        return CALLED_BY[self.least]

    @property
    def footings(self) -> int:
        return len(self.made.deck.roles("footing"))

    @property
    def depth(self) -> float:
        """Inches from the top of the joists to the underside of the beams."""
        return frame_depth(self.made.deck.layout)

    @property
    def board_feet(self) -> float:
        """Of framing lumber, by its nominal sizes."""
        deck = self.made.deck
        framing = [p for p in deck.parts if p.group in ("frame", "blocking") and p.stock.material == MATERIAL]
        return sum(nominal_feet(m.stock.name) * m.length / 12 for m in measure_all(framing))


def variants(
    parameters: Parameters,
    prices: Prices | None = None,
    shop: Workshop | None = None,
    progress: Progress = lambda stage: None,
) -> Iterator[FrameVariant]:
    """The frames of least cost, with fewest footings, and of least depth: those that can be drawn, what the file asks
    for (`design.least`) first."""
    shop = shop or Workshop()
    asked = parameters.design.least
    for least in (asked, *(x for x in CALLED_BY if x != asked)):
        design = parameters.design.model_copy(update={"least": least})
        try:
            made = designed(
                parameters.model_copy(update={"design": design}), progress=progress, shop=shop, prices=prices
            )
        except DesignError:
            if least == asked:
                raise
            continue
        yield FrameVariant(least, made)


def nominal_feet(size: str) -> float:
    """Board feet in a running foot of a nominal size: a 2x8 counts as two inches by eight, whatever it is dressed to;
    a size by another name counts nothing."""
    thick, _, wide = size.partition("x")
    return int(thick) * int(wide) / 12 if thick.isdecimal() and wide.isdecimal() else 0.0
