"""The cutting-stock problem: pieces out of stock lengths at the least cost, with a proven bound. Knows no deck.

n pieces out of one length need n - 1 kerfs: a set fits where sum(piece + kerf) <= length - trim + kerf. A piece may
have to be the first out of its length, so that no length gives two of those; every pattern keeps to that, the knapsack
that prices them too, so that the bound is one on plans that do. Columns are generated (Gilmore and Gomory 1961), the
master problem's linear bound is made safe by Farley's rule (1990) and rounded up to the next cost a whole plan can
have, and HiGHS takes the integer step over the columns found. Where that leaves a gap and few distinct pieces, all
patterns are listed and HiGHS solves the whole. Nothing depends on the clock, so the same pieces always give the same
plan. Inches; costs in any one unit.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from .column_generation import generated, integer_step, rounded_plans
from .cutting_patterns import Pattern, Problem, all_patterns, filled, first_fit_decreasing

MOST_STEP = 60_000  # columns times distinct pieces up to which the integer step is taken


@dataclass(frozen=True)
class Bar:
    """One stock length (`length` inches at `cost`) and the positions, in the demand, of the pieces that come out of
    it."""

    length: float
    cost: float
    pieces: tuple[int, ...]


@dataclass(frozen=True)
class Packing:
    """Bars that give every piece; their `cost`; a proven lower `bound` on the cost of any plan; how it was
    `method`ed."""

    bars: tuple[Bar, ...]
    cost: float
    bound: float
    method: str

    @property
    def gap(self) -> float:
        """(cost - bound) / cost: 0 where the plan is proven best."""
        return 0.0 if self.cost <= 0 else max(0.0, self.cost - self.bound) / self.cost

    @property
    def proven(self) -> bool:
        return self.gap < 1e-9


def pack(
    pieces: Sequence[float],
    lengths: Sequence[float],
    costs: Sequence[float] | None = None,
    kerf: float = 0.0,
    trim: float = 0.0,
    first: Collection[int] = (),
) -> Packing:
    """Pieces (inches) out of stock lengths at the least total cost; `costs` a stock length, by default its length.

    `first` are the positions of pieces that must each be the first one cut out of a stock length. Raises ValueError
    where a piece is longer than any stock allows.
    """
    problem = Problem(pieces, lengths, costs if costs is not None else lengths, kerf, trim, set(first))
    if not problem.sizes:
        return Packing((), 0.0, 0.0, "nothing to cut")
    rules = [first_fit_decreasing(problem), filled(problem)]
    plans, method = [_bars(problem, r) for r in rules], "filled by subset sums"
    bound = problem.rounded_up(_plain_bound(problem))
    if min(map(_cost, plans)) > bound + 1e-9:
        method = "column generation"
        linear = generated(problem, sorted({p for r in rules for p in r}, key=lambda p: (p.stock, p.counts)))
        bound = max(bound, problem.rounded_up(linear.bound))
        plans += [_bars(problem, r) for r in rounded_plans(problem, linear)]
        best = min(map(_cost, plans))
        if best > bound + 1e-9:
            # a column dearer than the whole gap is in no better plan of these columns
            near = [p for p, c in zip(linear.patterns, linear.reduced) if c < best - linear.value]
            if near and len(near) * len(problem.sizes) <= MOST_STEP:
                plans += [_bars(problem, r) for r in [integer_step(problem, near, best, 30)[0]] if r]
    best = min(map(_cost, plans))
    if best > bound + 1e-9 and (listed := all_patterns(problem)) is not None:
        chosen, proven = integer_step(problem, listed, best, 20_000)
        plans += [_bars(problem, chosen)] if chosen else []
        bound, method = max(bound, problem.rounded_up(min(proven, best))), "all patterns"
    bars = min(plans, key=lambda b: (round(_cost(b), 6), len(b)))
    return Packing(tuple(bars), _cost(bars), min(bound, _cost(bars)), method)


def _cost(bars: Sequence[Bar]) -> float:
    return math.fsum(b.cost for b in bars)


def _plain_bound(problem: Problem) -> float:
    """Total length taken at the best price an inch of room; or a stock length of its own for each piece that must be
    first."""
    area = float(problem.demand @ problem.take) * min(c / r for c, r in zip(problem.costs, problem.room))
    own = sum(
        problem.costs[problem.stock_that_holds(float(problem.take[i]))] * int(problem.demand[i])
        for i in np.flatnonzero(problem.first)
    )
    return max(area, own)


def _bars(problem: Problem, patterns: Sequence[Pattern]) -> list[Bar]:
    """Pieces handed out to patterns; what a pattern gives over the demand is left whole, and a bar no longer than
    needed."""
    left = [list(m) for m in problem.members]
    rows = []
    for p in sorted(patterns, key=lambda p: (-p.stock, tuple(-c for c in p.counts))):
        pieces, need = [], 0.0
        for i in np.flatnonzero(p.counts).tolist():
            taken, left[i] = left[i][: p.counts[i]], left[i][p.counts[i] :]
            pieces += taken
            need += len(taken) * float(problem.take[i])
        if pieces:
            stock = problem.stock_that_holds(need)
            rows.append(Bar(problem.lengths[stock], problem.costs[stock], tuple(pieces)))
    if any(left):
        raise AssertionError("the plan leaves pieces uncut")
    return rows


def plain_rule(
    pieces: Sequence[float],
    lengths: Sequence[float],
    costs: Sequence[float] | None = None,
    kerf: float = 0.0,
    trim: float = 0.0,
    first: Collection[int] = (),
) -> Packing:
    """First-fit decreasing as a `Packing`, for comparison; its bound is that of total length and pieces that must be
    first."""
    problem = Problem(pieces, lengths, costs if costs is not None else lengths, kerf, trim, set(first))
    if not problem.sizes:
        return Packing((), 0.0, 0.0, "nothing to cut")
    bars = _bars(problem, first_fit_decreasing(problem))
    return Packing(
        tuple(bars), _cost(bars), min(_cost(bars), problem.rounded_up(_plain_bound(problem))), "first-fit decreasing"
    )


def counts_of(bars: Sequence[Bar]) -> dict[float, int]:
    """How many of each stock length a plan buys, shortest first."""
    return dict(sorted(Counter(b.length for b in bars).items()))
