"""What a frame as built takes: timber by stock, footings, and what they cost where the file has a price list.

Cubic inches as dressed; prices in the list's own currency.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from ...shared.prices import Prices
from ...shared.stock import Stock, lengths_sold
from ..deck import Deck
from ..input.parameters import Parameters
from ..order.supplies import BAG_YIELD
from ..solid.part import Part

OF_A_FOOTING = ("post base", "beam cap")  # hardware of each, by its name in the price list


def volume(part: Part) -> float:
    """Cubic inches of one piece."""
    return part.shape.polygon.area * part.shape.thickness


def least_per_inch(prices: Prices, p: Parameters, stock: Stock) -> float | None:
    """Price of an inch of a stock, bought in the length at which it is least; None where no length has a price."""
    sold = p.order.lengths.get(stock.name) or lengths_sold(stock)
    found = [prices.stock_length(stock.name, stock.material, x) for x in sold]
    return min((price / x for price, x in zip(found, sold) if price is not None), default=None)


@dataclass(frozen=True)
class FrameCost:
    """A deck's own frame (without its stairs), and the prices of its file; an empty list prices nothing."""

    deck: Deck
    prices: Prices = field(default_factory=Prices)

    @cached_property
    def pieces(self) -> Sequence[Part]:
        """The timber of the frame and its blocking, posts among them."""
        return [p for p in self.deck.parts if p.stair is None and p.group in ("frame", "blocking")]

    @cached_property
    def footings(self) -> Sequence[Part]:
        """The footings under the frame's posts and beams."""
        return [p for p in self.deck.roles("footing") if p.stair is None]

    def timber(self, of: Callable[[Part], bool]) -> float:
        """Cubic inches of those pieces."""
        return sum(volume(p) for p in self.pieces if of(p))

    def per_inch(self, stock: Stock) -> float | None:
        """Price of an inch of a stock; None where none has a price."""
        return least_per_inch(self.prices, self.deck.parameters, stock)

    def of_stock(self, stock: Stock, cubic_inches: float) -> float | None:
        """Price of so much of a stock."""
        each = self.per_inch(stock)
        return None if each is None else cubic_inches / (stock.thickness * stock.width) * each

    @cached_property
    def _mean(self) -> float | None:
        """Price of a cubic inch of the frame's timber, as it is made up."""
        by_stock: dict[Stock, float] = {}
        for p in self.pieces:
            if p.role != "post":
                by_stock[p.stock] = by_stock.get(p.stock, 0.0) + volume(p)
        priced = [(self.of_stock(s, v), v) for s, v in by_stock.items()]
        if not priced or any(price is None for price, _ in priced):
            return None
        return math.fsum(price or 0.0 for price, _ in priced) / math.fsum(v for _, v in priced)

    def of_timber(self, cubic_inches: float) -> float | None:
        """Price of so much timber of the stocks that the frame is of, in their shares."""
        return None if self._mean is None else cubic_inches * self._mean

    def of_concrete(self, cubic_inches: float) -> float | None:
        """Price of so much concrete in bags, parts of a bag as parts."""
        bag = self.prices.each("concrete bag")
        return None if bag is None else cubic_inches / BAG_YIELD * bag

    @cached_property
    def a_footing(self) -> float | None:
        """Price of one footing of the frame's mean size with its post, base and cap; None where one of them has no
        price, or there is none."""
        posts = [p for p in self.pieces if p.role == "post"]
        if not self.footings:
            return None
        concrete = self.of_concrete(sum(map(volume, self.footings)) / len(self.footings))
        timber = [self.of_stock(p.stock, volume(p)) for p in posts]
        hardware = [self.prices.each(name) for name in OF_A_FOOTING]
        each = [concrete, *hardware]
        if None in each or None in timber:
            return None
        return math.fsum(x or 0.0 for x in each) + math.fsum(x or 0.0 for x in timber) / max(len(posts), 1)

    @property
    def price(self) -> float | None:
        """Price of the frame's timber, and of its footings with base and cap; None where something has none. Nothing is
        counted for offcuts, hangers and screws: `order` does."""
        by_stock = {p.stock: 0.0 for p in self.pieces}
        for p in self.pieces:
            by_stock[p.stock] += volume(p)
        hardware = [self.prices.each(name) for name in OF_A_FOOTING]
        each = [self.of_stock(s, v) for s, v in by_stock.items()]
        each += [self.of_concrete(sum(map(volume, self.footings)))]
        each += [None if x is None else x * len(self.footings) for x in hardware]
        return None if None in each else math.fsum(x or 0.0 for x in each)
