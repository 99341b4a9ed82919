"""Where a run longer than the boards sold is cut: fewest pieces, joints on bearing, neighbours staggered. Lengths in
inches."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...shared.practice import practice

# Costs, in pieces. A joint in line with the neighbour's is worse than any number of cuts a deck can need; one close to
# it
# is taken rather than an extra cut.
ALIGNED, CLOSE = 1e3, 0.3
# A joist doubled for it is dearer than a joint close to the neighbour's, and cheaper than a cut in every run.
SECOND_JOIST = 0.5
_OVERLONG, _SHORT, _PIECE = 1e6, 2.0, 1.0
LEAST_LENGTH = practice("shortest framing piece")
_UNEVEN = 1e-3  # of equally good splits the one with whole boards wins: less is cut and more pieces are alike


def split(
    start: float,
    end: float,
    places: Sequence[float],
    longest: float,
    shortest: float = 0.0,
    penalties: Sequence[float] | None = None,
    *,
    trim: float = 0.0,
    backwards: bool = False,
) -> list[int]:
    """Indices of the `places` (rising positions that give bearing) at which the run from start to end is cut.

    A run up to `longest` stays whole; of a longer one no piece is longer than that less the end `trim` where the places
    allow it (a caller finds the overlong piece by its length); one shorter than `shortest` is avoided rather than
    forbidden, one shorter than half of it twice as much. `penalties` (one a place, in pieces) steer away from the
    neighbour's joints: see `ALIGNED` and `CLOSE`. Of equally good splits the one whose last piece is longest;
    `backwards`, whose first is.
    """
    if backwards:
        turned = None if penalties is None else penalties[::-1]
        found = split(-end, -start, [-x for x in places[::-1]], longest, shortest, turned, trim=trim)
        return [len(places) - 1 - i for i in found[::-1]]
    if end - start <= longest:
        return []
    longest -= trim
    inside = [i for i, x in enumerate(places) if start < x < end]
    stops = [start, *(places[i] for i in inside), end]
    best: list[tuple[float, int]] = [(0.0, -1)]
    for j in range(1, len(stops)):
        penalty = float(penalties[inside[j - 1]]) if penalties is not None and j <= len(inside) else 0.0
        least = (math.inf, -1)
        for i in range(j - 1, -1, -1):
            length = stops[j] - stops[i]
            cost = best[i][0] + penalty + _PIECE - _UNEVEN * (length / longest) ** 2
            if length > longest + 1e-9:
                cost += _OVERLONG * (length - longest)
            if length < shortest:
                cost += _SHORT if length >= shortest / 2 else 2 * _SHORT
            if cost <= least[0]:  # of equals the first place
                least = (cost, i)
            if length > longest and i < j - 1:
                break  # still longer pieces are no better
        best.append(least)
    chosen, j = [], best[-1][1]
    while j > 0:
        chosen.append(inside[j - 1])
        j = best[j][1]
    return chosen[::-1]


def joints(
    start: float,
    end: float,
    places: Sequence[float],
    longest: float,
    *,
    trim: float = 0.0,
    beside: Sequence[float] = (),
    apart: float = 1e-6,
    backwards: bool = False,
) -> list[float]:
    """Positions at which a member's run is cut into lengths that the yard sells: as `split`, none shorter than
    `LEAST_LENGTH`, and where there is a choice further than `apart` from the joints of the ply `beside` it."""
    rising = sorted(places)
    penalties = [ALIGNED if any(abs(x - a) <= apart for a in beside) else 0.0 for x in rising]
    cut = split(start, end, rising, longest, LEAST_LENGTH, penalties, trim=trim, backwards=backwards)
    return [rising[i] for i in cut]
