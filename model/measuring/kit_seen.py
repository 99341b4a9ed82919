"""Rails of a kit read off the solids: how long each is, and where along it the balusters stand in its holes. Inches."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ...shared.stock import KIT
from ..input.guard_table import KitRail
from ..plan.kit_cuts import first_hole, holes_of
from .bay_seen import Bay, ends_along, way_of
from .measure import Measured


@dataclass(frozen=True, eq=False)
class KitRailSeen:
    """One rail of a kit, from its left or low end on the plan, on a stair from its upper one: `long` on its middle
    line, `tips` (before, after) by which slanting ends reach further beside it; `holes` the middles of its balusters
    from the first end, along the rail."""

    rail: Measured
    bay: Bay
    long: float
    tips: tuple[float, float]
    holes: tuple[float, ...]

    @property
    def sloped(self) -> bool:
        return self.bay.stair is not None and self.bay.slope > 0.01

    @property
    def ends(self) -> tuple[float, float]:
        """From the first end to the middle of the first hole, and from the last to the second end; without a hole its
        whole length, each."""
        return (self.holes[0], self.long - self.holes[-1]) if self.holes else (self.long, self.long)

    @property
    def reach(self) -> tuple[float, float]:
        """How far the piece reaches before its first hole and after its last, slanting tips with it."""
        (first, last), (before, after) = self.ends, self.tips
        return first + before, last + after

    @property
    def least(self) -> tuple[float, float]:
        """Of each end the distance from its hole where a slanting end comes nearest."""
        (first, last), (before, after) = self.ends, self.tips
        return first - before, last - after

    def served_by(self, kit: KitRail) -> bool:
        """Whether a rail sold gives it."""
        count, keep = len(self.holes), self.off_holes(kit)
        return count > 0 and any(
            first_hole(holes_of(sold, kit), sold, count, *self.reach, keep=keep) is not None
            for sold in kit.rail_lengths
        )

    def off_holes(self, kit: KitRail) -> tuple[float, float]:
        """How far its tips stay, at each end, from the middle of the next hole of the rail sold: half a hole, less what
        a slanting end's tip lies further out than where the cut passes the hole's own edge."""
        beside = max(0.0, 1 - kit.hole / self.bay.top.stock.thickness)
        before, after = (kit.hole / 2 - tip * beside for tip in self.tips)
        return before, after

    @property
    def pitches(self) -> tuple[float, ...]:
        return tuple(b - a for a, b in zip(self.holes, self.holes[1:]))


def kit_rails_seen(bays: Sequence[Bay]) -> list[KitRailSeen]:
    """The top and the bottom rail of every bay whose rails are a kit's, in the order of the bays."""
    return [_seen(bay, rail) for bay in bays if bay.top.stock.material == KIT for rail in (bay.top, bay.bottom)]


def _seen(bay: Bay, rail: Measured) -> KitRailSeen:
    way, stretch = way_of(bay.top), 1 / math.cos(math.radians(bay.slope))
    middle = rail.part.vertices[:, :2].mean(axis=0)
    start, end = ends_along(rail, way, middle)
    s = (rail.part.vertices[:, :2] - middle) @ way
    sticks = [(m.part.vertices[:, :2] - middle) @ way for m in bay.balusters]
    return KitRailSeen(
        rail,
        bay,
        (end - start) * stretch,
        ((start - float(s.min())) * stretch, (float(s.max()) - end) * stretch),
        tuple(sorted((float(x.min() + x.max()) / 2 - start) * stretch for x in sticks)),
    )
