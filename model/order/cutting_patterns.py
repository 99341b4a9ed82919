"""Cutting patterns: which pieces come out of one stock length, and plain rules that make a whole plan of them.

n pieces out of one length need n - 1 kerfs: a set fits where sum(piece + kerf) <= length - trim + kerf. A piece may
have to be the first one cut out of its length: then no length gives two of them. Inches; costs in any one unit. Knows
no deck.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

MOST_PATTERNS = 1000  # beyond this not all patterns are listed
CELLS = (1.0, 0.5, 0.25, 0.125)  # inches: steps in which a length is looked at for filling it, finest 1/16
FIT = 1e-6  # inches of slack given to rounding when a set of pieces is fitted


@dataclass(frozen=True)
class Pattern:
    stock: int
    counts: tuple[int, ...]


class Problem:
    """Distinct piece lengths (longest first) with their demands, and the stock lengths to cut them from.

    `first` holds the positions of pieces that must be the first out of their length; `self.first` says it of each size.
    """

    def __init__(
        self,
        pieces: Sequence[float],
        lengths: Sequence[float],
        costs: Sequence[float],
        kerf: float,
        trim: float,
        first: Collection[int] = (),
    ):
        if not len(lengths) or len(lengths) != len(costs):
            raise ValueError("each stock length needs a cost, and there must be one")
        if min(costs) <= 0 or kerf < 0 or trim < 0 or (len(pieces) and min(pieces) <= 0):
            raise ValueError("costs and pieces must be more than nothing, kerf and trim not less")
        order = sorted(range(len(lengths)), key=lambda i: (lengths[i], costs[i]))
        # a longer stock that costs no more makes a shorter one needless
        kept = [i for k, i in enumerate(order) if all(costs[j] > costs[i] for j in order[k + 1 :])]
        self.lengths, self.costs = [float(lengths[i]) for i in kept], [float(costs[i]) for i in kept]
        self.kerf = kerf
        self.room = [length - trim + kerf for length in self.lengths]
        heaps: dict[tuple[float, bool], list[int]] = {}
        for i, length in enumerate(pieces):
            heaps.setdefault((round(float(length), 6), i in first), []).append(i)
        self.members = [heaps[s] for s in sorted(heaps, reverse=True)]
        self.first = np.array([s[1] for s in sorted(heaps, reverse=True)], bool)
        self.sizes = [max(float(pieces[i]) for i in m) for m in self.members]
        self.demand = np.array([len(m) for m in self.members])
        self.take = np.array(self.sizes) + kerf
        self.cell = next((c for c in CELLS if (np.abs(self.take / c - np.rint(self.take / c)) < 1e-6).all()), 1 / 16)
        if len(pieces) and self.take[0] > max(self.room) + FIT:
            raise ValueError(
                f"a piece of {self.sizes[0]:g} in comes out of no stock length (longest {max(self.lengths):g} in)"
            )

    def stock_for(self, counts: Sequence[int]) -> int:
        """The cheapest stock length that holds a set of pieces."""
        return self.stock_that_holds(float(np.dot(counts, self.take)))

    def stock_that_holds(self, need: float) -> int:
        fits = [k for k, room in enumerate(self.room) if need <= room + FIT]
        return min(fits, key=lambda k: (self.costs[k], self.lengths[k]))

    def unit(self) -> float:
        """The step in which any plan's cost moves: the greatest common divisor of the costs, 0 where there is none."""
        cents = [round(c * 10000) for c in self.costs]
        exact = all(abs(c * 10000 - k) < 1e-6 for c, k in zip(self.costs, cents))
        return math.gcd(*cents) / 10000 if exact else 0.0

    def rounded_up(self, bound: float) -> float:
        step = self.unit()
        return math.ceil(bound / step - 1e-6) * step if step else bound


def first_fit_decreasing(problem: Problem, demand: np.ndarray | None = None) -> list[Pattern]:
    """The usual rule of thumb: longest piece first, into the first open bar with room; then each bar no longer than
    needed. `demand` is part of the problem's, by default all of it."""
    room: list[float] = []
    rows: list[list[int]] = []
    begun: list[bool] = []  # the bar has its first piece
    most = max(problem.room)
    for i, number in enumerate(problem.demand if demand is None else demand):
        b, take = 0, float(problem.take[i])  # where one piece did not fit its equals will not either
        for _ in range(number):
            while b < len(room) and (take > room[b] + FIT or (problem.first[i] and begun[b])):
                b += 1
            if b == len(room):
                room.append(most)
                rows.append([0] * len(problem.sizes))
                begun.append(False)
            begun[b] |= bool(problem.first[i])
            room[b] -= take
            rows[b][i] += 1
    return [Pattern(problem.stock_for(row), tuple(row)) for row in rows]


def filled(problem: Problem, demand: np.ndarray | None = None) -> list[Pattern]:
    """Bar by bar: the longest piece left (of those that must be first as long as there are any), then whatever fills
    some stock length best for its cost.

    The fill is a subset sum over whole cells, kept in the bits of integers; pieces are rounded up, so a set always
    fits.
    """
    take = [math.ceil(t / problem.cell - 1e-6) for t in problem.take]
    room = [math.floor(r / problem.cell + 1e-6) for r in problem.room]
    left = (problem.demand if demand is None else demand).tolist()
    out: list[Pattern] = []
    firsts = problem.first.tolist()
    order = sorted(range(len(left)), key=lambda i: (not firsts[i], i))
    at_order = 0
    while True:
        while at_order < len(left) and not left[order[at_order]]:
            at_order += 1
        if at_order == len(left):
            return out
        first = order[at_order]
        left[first] -= 1
        counts = [0] * len(left)
        counts[first] = 1
        base = take[first]
        if base > room[-1]:  # only rounding to cells makes it too long: alone it fits
            out.append(Pattern(problem.stock_for(counts), tuple(counts)))
            continue
        mask = (1 << (room[-1] - base + 1)) - 1
        reach, steps = 1, []
        for i in order[at_order:]:
            if firsts[i]:
                continue  # no second one in this bar; and where this bar's is none, none is left
            for _ in range(min(left[i], (room[-1] - base) // take[i])):
                steps.append((i, reach))
                more = (reach | reach << take[i]) & mask
                if more == reach:
                    steps.pop()
                    break
                reach = more
        best: tuple[float, int] | None = None
        for k, cells in enumerate(room):
            if cells >= base:
                used = (reach & ((1 << (cells - base + 1)) - 1)).bit_length() - 1
                worth = problem.costs[k] / (used + base)
                if best is None or worth < best[0] - 1e-12:
                    best = (worth, used)
        assert best is not None, "the longest stock length holds the first piece, or it was laid alone above"
        at = best[1]
        for i, before in reversed(steps):
            if not before >> at & 1:
                at -= take[i]
                counts[i] += 1
                left[i] -= 1
        out.append(Pattern(problem.stock_for(counts), tuple(counts)))


def all_patterns(problem: Problem, most: int = MOST_PATTERNS) -> list[Pattern] | None:
    """Every pattern to which no piece can be added, for each stock length; None where there are more than `most`."""
    found: dict[tuple[int, ...], int] = {}
    sizes, firsts = len(problem.sizes), problem.first.tolist()
    if sizes > 60:
        return None  # far too many, and the search below goes as deep as there are sizes
    looked = 0
    for stock, room in enumerate(problem.room):
        counts = [0] * sizes

        def fill(i: int, left: float) -> bool:
            nonlocal looked
            if i == sizes:
                looked += 1
                begun = any(c and f for c, f in zip(counts, firsts))
                spare = any(
                    counts[k] < problem.demand[k] and problem.take[k] <= left + FIT and not (begun and firsts[k])
                    for k in range(sizes)
                )
                if not spare and any(counts):
                    key = tuple(counts)
                    if key not in found or problem.costs[stock] < problem.costs[found[key]]:
                        found[key] = stock
                return len(found) <= most and looked <= 20 * most
            most_here = min(int(problem.demand[i]), int((left + FIT) / problem.take[i]))
            if firsts[i] and most_here:
                most_here = 0 if any(c and f for c, f in zip(counts[:i], firsts)) else 1
            for n in range(most_here, -1, -1):
                counts[i] = n
                if not fill(i + 1, left - n * problem.take[i]):
                    return False
            counts[i] = 0
            return True

        if not fill(0, room):
            return None
    return [Pattern(stock, key) for key, stock in found.items()]
