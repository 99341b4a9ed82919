"""Where a rail of a kit is cut: from which hole to which, both ends alike and no nearer to a hole than its maker's
sheet allows. Lengths along the rail, inches.

A rail is not cut anywhere: its holes are where they are. One whose length leaves too much past its last hole for the
rail as sold cannot be had with both ends alike, though the rail be long enough.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..input.guard_table import KitRail

_EXACT = 1e-6  # inches


@dataclass(frozen=True)
class KitCut:
    """The holes of a rail cut to length, and how far the middles of the first and the last stand from its ends."""

    holes: int
    end: float


def kit_cut(long: float, kit: KitRail, skew: float = 0.0) -> KitCut:
    """As many holes as leave at both ends of a rail `long` the least that the sheet asks for, those ends alike. `skew`:
    so much nearer to a hole a slanting end comes beside the rail's middle. None where there is no room for one."""
    room = long - 2 * (kit.least_end + skew)
    if room < -_EXACT:
        return KitCut(0, long / 2)
    holes = math.floor(room / kit.pitch + _EXACT) + 1
    return KitCut(holes, (long - (holes - 1) * kit.pitch) / 2)


def holes_of(sold: float, kit: KitRail) -> list[float]:
    """Where the middles of the holes of a rail as sold are, from one of its ends."""
    if kit.first_hole is None:
        cut = kit_cut(sold, kit)
        return [cut.end + k * kit.pitch for k in range(cut.holes)]
    count = math.floor((sold - kit.first_hole - kit.least_end) / kit.pitch + _EXACT) + 1
    return [kit.first_hole + k * kit.pitch for k in range(max(count, 0))]


def first_hole(
    holes: Sequence[float],
    sold: float,
    count: int,
    before: float,
    after: float,
    since: float = 0.0,
    keep: tuple[float, float] = (0.0, 0.0),
) -> int | None:
    """Position in `holes` of the first of `count` holes of a piece that reaches so far `before` and `after` them,
    nothing of it nearer to the rail's start than `since`; None where a rail `sold` so long does not give it. The
    cuts `keep` so far, at its start and its end, from the middle of the next hole beyond: one through a hole leaves an
    end with a notch."""
    for k, at in enumerate(holes[: max(len(holes) - count + 1, 0)]):
        last = k + count - 1
        if holes[last] + after > sold + _EXACT:
            return None
        whole = k == 0 or at - before >= holes[k - 1] + keep[0] - _EXACT
        whole &= last == len(holes) - 1 or holes[last] + after <= holes[last + 1] - keep[1] + _EXACT
        if whole and at - before >= since - _EXACT:
            return k
    return None
