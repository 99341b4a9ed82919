"""What a frame costs, so that one may be set against another: timber, and footings with their posts.

Where a price list has them, in its prices: a running foot of each size, and of a footing the concrete, the post base
and the beam cap; else in cubic inches of timber, a footing counted as so many (`estimates.csv`). Either way told as
cubic inches of timber of the size that joists have by default, so that the search may weigh both alike.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from ...shared.practice import estimate
from ...shared.prices import Prices
from ...shared.stock import lumber, nominal_sizes
from ..deck import Deck
from ..input.parameters import Parameters
from ..plan.stages import LevelPlan
from .frame_cost import least_per_inch, volume
from .landing_keys import A_FOOTING
from .mends import BEAMS

BASIS = "2x8"  # what timber is counted in
USUAL_FOOTING = 20.0  # inches across, where neither file nor plan says it: for the price of one alone (our own)
CONCRETE_SHARE = 0.25  # of the cost of such a footing with its post is its concrete: our own
MATERIAL = "treated lumber"  # of frames, in price lists
TIMES_A_FOOTING = 10.0  # times as much a footing counts where fewest are wanted: our own
STEP_IN_DEPTH = 2.0  # inches from one size of lumber to the next
INCH_OF_DEPTH = 2 * A_FOOTING  # what an inch of the frame's depth counts where the shallowest is wanted: our own


@dataclass(frozen=True)
class Costs:
    """By what frames are compared: how much dearer a cubic inch of each size is than one of BASIS (1 where not named),
    cubic inches of BASIS that a footing counts, and an inch of the frame's depth; `priced` by a list."""

    dearer: Mapping[str, float] = field(default_factory=dict)
    footing: float = A_FOOTING
    depth: float = 0.0
    priced: bool = False

    @property
    def weighs(self) -> float:
        """What a fault weighs beside the timber that mends it: where depth is what counts, as much as the step from
        one size to the next, else a search stays among frames that are shallow and do not hold."""
        return self.depth * STEP_IN_DEPTH

    @classmethod
    def of(cls, p: Parameters, prices: Prices | None = None) -> Costs:
        """As the file wants it (`design.least`), by a price list where that has all that a frame is made of."""
        plain = cls._by_list(p, prices) if prices is not None else cls()
        if p.design.least == "footings":
            return cls(plain.dearer, TIMES_A_FOOTING * plain.footing, 0.0, plain.priced)
        if p.design.least == "depth":
            return cls(plain.dearer, plain.footing, INCH_OF_DEPTH, plain.priced)
        return plain

    @classmethod
    def _by_list(cls, p: Parameters, prices: Prices) -> Costs:
        per_inch = {size: _price(prices, p, size) for size in {BASIS, *BEAMS, p.frame.joist, p.frame.beam}}
        parts = [
            prices.each("concrete bag"),
            prices.each("post base"),
            prices.each("beam cap"),
            _price(prices, p, p.frame.post),
        ]
        if any(v is None for v in (*per_inch.values(), *parts)):
            return cls()
        known = {size: v for size, v in per_inch.items() if v}
        bag, base, cap, post = (v or 0.0 for v in parts)
        basis = known[BASIS]
        size = p.frame.footing.size or USUAL_FOOTING
        feet = math.pi * size**2 / 4 * p.footing_depth / 12**3
        height = max(p.surface_level - p.levels.grade, 0.0)
        stock = p.stock(p.frame.post)
        one = bag * math.ceil(feet / estimate("yield of a bag of concrete")) + base + cap
        one += post * stock.thickness * stock.width * height
        return cls({s: v / basis for s, v in known.items()}, one / basis, 0.0, True)

    def timber(self, size: str, volume: float) -> float:
        """Cubic inches of a size in such of BASIS."""
        return self.dearer.get(size, 1.0) * volume

    def of_footing(self, size: float) -> float:
        """One of that size, inches across: a part of what a usual one costs is the concrete, which grows with its
        area; the rest, digging, post, base and cap, does not."""
        return self.footing * (1 - CONCRETE_SHARE + CONCRETE_SHARE * (size / USUAL_FOOTING) ** 2)

    def of_deck(self, deck: Deck) -> float:
        """The whole frame of a deck, with its landings."""
        wood = sum(self.timber(p.stock.name, volume(p)) for p in deck.parts if p.group in ("frame", "blocking"))
        footings = sum(self.of_footing(float((p.box[1] - p.box[0])[:2].min())) for p in deck.roles("footing"))
        return wood + footings + self.depth * frame_depth(deck.layout)


def frame_depth(plan: LevelPlan) -> float:
    """Inches from the top of the joists down to the underside of the deepest beam under them, or of the joists."""
    lowest = [plan.beam_bottom(r.flush) for r in plan.runs]
    return plan.planes.frame_top - min([plan.planes.frame_bottom, *lowest])


def _price(prices: Prices, p: Parameters, size: str) -> float | None:
    """Of a cubic inch of a size."""
    if size not in nominal_sizes():
        return None
    stock = lumber(size)
    each = least_per_inch(prices, p, stock)
    return None if each is None else each / (stock.thickness * stock.width)
