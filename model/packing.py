"""The cutting-stock problem: pieces out of stock lengths at the least cost, with a proven bound. Knows no deck.

n pieces out of one length need n - 1 kerfs: a set fits where sum(piece + kerf) <= length - trim + kerf. Columns are
generated (Gilmore and Gomory 1961), the master problem's linear bound is made safe by Farley's rule (1990) and rounded up
to the next cost a whole plan can have, and HiGHS takes the integer step over the columns found. Where that leaves a gap
and few distinct pieces, all patterns are listed and HiGHS solves the whole. Nothing depends on the clock, so the same
pieces always give the same plan. Inches; costs in any one unit.
"""
from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from typing import Sequence

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csc_array

MOST_PATTERNS = 1000  # beyond this the whole problem is left to the generated columns
MOST_ROUNDS = 200  # of column generation; stopping early only loosens the bound, which is still stated
MOST_WORK = 8_000  # rounds times distinct pieces, for the same reason
MOST_STEP = 60_000  # columns times distinct pieces up to which the integer step is taken
_CELLS = (1.0, 0.5, 0.25, 0.125)  # inches: steps of the knapsack in which new patterns are looked for, finest 1/16
_FIT = 1e-6  # inches of slack given to rounding when a set of pieces is fitted


@dataclass(frozen=True)
class Bar:
    """One stock length (`length` inches at `cost`) and the positions, in the demand, of the pieces that come out of it."""

    length: float
    cost: float
    pieces: tuple[int, ...]


@dataclass(frozen=True)
class Packing:
    """Bars that give every piece; their `cost`; a proven lower `bound` on the cost of any plan; how it was `method`ed."""

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


@dataclass(frozen=True)
class Pattern:
    stock: int
    counts: tuple[int, ...]


class Problem:
    """Distinct piece lengths (longest first) with their demands, and the stock lengths to cut them from."""

    def __init__(self, pieces: Sequence[float], lengths: Sequence[float], costs: Sequence[float], kerf: float, trim: float):
        if not len(lengths) or len(lengths) != len(costs):
            raise ValueError("each stock length needs a cost, and there must be one")
        if min(costs) <= 0 or kerf < 0 or trim < 0 or (len(pieces) and min(pieces) <= 0):
            raise ValueError("costs and pieces must be more than nothing, kerf and trim not less")
        order = sorted(range(len(lengths)), key=lambda i: (lengths[i], costs[i]))
        # a longer stock that costs no more makes a shorter one needless
        kept = [i for k, i in enumerate(order) if all(costs[j] > costs[i] for j in order[k + 1:])]
        self.lengths, self.costs = [float(lengths[i]) for i in kept], [float(costs[i]) for i in kept]
        self.kerf = kerf
        self.room = [length - trim + kerf for length in self.lengths]
        heaps: dict[float, list[int]] = {}
        for i, length in enumerate(pieces):
            heaps.setdefault(round(float(length), 6), []).append(i)
        self.members = [heaps[s] for s in sorted(heaps, reverse=True)]
        self.sizes = [max(float(pieces[i]) for i in m) for m in self.members]
        self.demand = np.array([len(m) for m in self.members])
        self.take = np.array(self.sizes) + kerf
        self.cell = next((c for c in _CELLS if (np.abs(self.take / c - np.rint(self.take / c)) < 1e-6).all()), 1 / 16)
        if len(pieces) and self.take[0] > max(self.room) + _FIT:
            raise ValueError(f"a piece of {self.sizes[0]:g} in comes out of no stock length (longest {max(self.lengths):g} in)")

    def stock_for(self, counts) -> int:
        """The cheapest stock length that holds a set of pieces."""
        return self.stock_that_holds(float(np.dot(counts, self.take)))

    def stock_that_holds(self, need: float) -> int:
        fits = [k for k, room in enumerate(self.room) if need <= room + _FIT]
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
    """The usual rule of thumb: longest piece first, into the first open bar with room; then each bar no longer than needed.
    `demand` is part of the problem's, by default all of it."""
    room, rows = [], []
    most = max(problem.room)
    for i, number in enumerate(problem.demand if demand is None else demand):
        b, take = 0, float(problem.take[i])  # where one piece did not fit its equals will not either
        for _ in range(number):
            while b < len(room) and take > room[b] + _FIT:
                b += 1
            if b == len(room):
                room.append(most)
                rows.append([0] * len(problem.sizes))
            room[b] -= take
            rows[b][i] += 1
    return [Pattern(problem.stock_for(row), tuple(row)) for row in rows]


def filled(problem: Problem, demand: np.ndarray | None = None) -> list[Pattern]:
    """Bar by bar: the longest piece left, then whatever fills some stock length best for its cost.

    The fill is a subset sum over whole cells, kept in the bits of integers; pieces are rounded up, so a set always fits.
    """
    take = [math.ceil(t / problem.cell - 1e-6) for t in problem.take]
    room = [int(math.floor(r / problem.cell + 1e-6)) for r in problem.room]
    left, out, first = (problem.demand if demand is None else demand).tolist(), [], 0
    while True:
        while first < len(left) and not left[first]:
            first += 1
        if first == len(left):
            return out
        left[first] -= 1
        counts = [0] * len(left)
        counts[first] = 1
        base = take[first]
        if base > room[-1]:  # only rounding to cells makes it too long: alone it fits
            out.append(Pattern(problem.stock_for(counts), tuple(counts)))
            continue
        mask = (1 << (room[-1] - base + 1)) - 1
        reach, steps = 1, []
        for i in range(first, len(left)):
            for _ in range(min(left[i], (room[-1] - base) // take[i])):
                steps.append((i, reach))
                more = (reach | reach << take[i]) & mask
                if more == reach:
                    steps.pop()
                    break
                reach = more
        best = None
        for k, cells in enumerate(room):
            if cells >= base:
                used = (reach & ((1 << (cells - base + 1)) - 1)).bit_length() - 1
                worth = problem.costs[k] / (used + base)
                if best is None or worth < best[0] - 1e-12:
                    best = (worth, used)
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
    sizes = len(problem.sizes)
    if sizes > 60:
        return None  # far too many, and the search below goes as deep as there are sizes
    looked = 0
    for stock, room in enumerate(problem.room):
        counts = [0] * sizes

        def fill(i: int, left: float) -> bool:
            nonlocal looked
            if i == sizes:
                looked += 1
                spare = any(counts[k] < problem.demand[k] and problem.take[k] <= left + _FIT for k in range(sizes))
                if not spare and any(counts):
                    key = tuple(counts)
                    if key not in found or problem.costs[stock] < problem.costs[found[key]]:
                        found[key] = stock
                return len(found) <= most and looked <= 20 * most
            for n in range(min(int(problem.demand[i]), int((left + _FIT) / problem.take[i])), -1, -1):
                counts[i] = n
                if not fill(i + 1, left - n * problem.take[i]):
                    return False
            counts[i] = 0
            return True

        if not fill(0, room):
            return None
    return [Pattern(stock, key) for key, stock in found.items()]


def pack(pieces: Sequence[float], lengths: Sequence[float], costs: Sequence[float] | None = None, kerf: float = 0.0,
         trim: float = 0.0) -> Packing:
    """Pieces (inches) out of stock lengths at the least total cost; `costs` a stock length, by default its length.

    Raises ValueError where a piece is longer than any stock allows.
    """
    problem = Problem(pieces, lengths, costs if costs is not None else lengths, kerf, trim)
    if not problem.sizes:
        return Packing((), 0.0, 0.0, "nothing to cut")
    rules = [first_fit_decreasing(problem), filled(problem)]
    plans, method = [_bars(problem, r) for r in rules], "filled by subset sums"
    bound = problem.rounded_up(_area_bound(problem))
    if min(map(_cost, plans)) > bound + 1e-9:
        method = "column generation"
        linear = _generated(problem, sorted({p for r in rules for p in r}, key=lambda p: (p.stock, p.counts)))
        bound = max(bound, problem.rounded_up(linear.bound))
        plans += [_bars(problem, r) for r in _rounded(problem, linear)]
        best = min(map(_cost, plans))
        if best > bound + 1e-9:
            # a column dearer than the whole gap is in no better plan of these columns
            near = [p for p, c in zip(linear.patterns, linear.reduced) if c < best - linear.value]
            if near and len(near) * len(problem.sizes) <= MOST_STEP:
                plans += [_bars(problem, r) for r in [_integer(problem, near, best, 30)[0]] if r]
    best = min(map(_cost, plans))
    if best > bound + 1e-9 and (listed := all_patterns(problem)) is not None:
        chosen, proven = _integer(problem, listed, best, 20_000)
        plans += [_bars(problem, chosen)] if chosen else []
        bound, method = max(bound, problem.rounded_up(min(proven, best))), "all patterns"
    bars = min(plans, key=lambda b: (round(_cost(b), 6), len(b)))
    return Packing(tuple(bars), _cost(bars), min(bound, _cost(bars)), method)


def _cost(bars: Sequence[Bar]) -> float:
    return math.fsum(b.cost for b in bars)


def _area_bound(problem: Problem) -> float:
    """Total length taken at the best price an inch of room."""
    return float(problem.demand @ problem.take) * min(c / r for c, r in zip(problem.costs, problem.room))


def _matrix(problem: Problem, patterns: Sequence[Pattern]) -> tuple[csc_array, np.ndarray]:
    return csc_array(np.array([p.counts for p in patterns], float).T), np.array([problem.costs[p.stock] for p in patterns])


def _integer(problem: Problem, patterns: Sequence[Pattern], known: float, nodes: int) -> tuple[list[Pattern], float]:
    """The best whole numbers of the patterns given, where they beat a plan in hand that costs `known`; and the bound proven
    for them (`known` where they cannot beat it).

    HiGHS ends once no plan can be a whole cost step cheaper than the one it has, or after `nodes` branches: never by the
    clock.
    """
    a, cost = _matrix(problem, patterns)
    step = problem.unit()
    better = LinearConstraint(cost[None, :], ub=known - 0.5 * step if step else known * (1 - 1e-9))
    options = {"node_limit": nodes, "mip_rel_gap": 0.9 * step / known}
    found = milp(cost, constraints=[LinearConstraint(a, lb=problem.demand), better], integrality=np.ones(len(cost)),
                 bounds=Bounds(0, float(problem.demand.max())), options=options)
    if found.status == 2:  # nothing cheaper exists
        return [], known
    bound = float(found.mip_dual_bound) if found.mip_dual_bound is not None else 0.0
    if found.x is None:
        return [], bound
    return [p for p, n in zip(patterns, np.rint(found.x).astype(int)) for _ in range(n)], bound


def _bars(problem: Problem, patterns: Sequence[Pattern]) -> list[Bar]:
    """Pieces handed out to patterns; what a pattern gives over the demand is left whole, and a bar no longer than needed."""
    left = [list(m) for m in problem.members]
    rows = []
    for p in sorted(patterns, key=lambda p: (-p.stock, tuple(-c for c in p.counts))):
        pieces, need = [], 0.0
        for i in np.flatnonzero(p.counts).tolist():
            taken, left[i] = left[i][: p.counts[i]], left[i][p.counts[i]:]
            pieces += taken
            need += len(taken) * float(problem.take[i])
        if pieces:
            stock = problem.stock_that_holds(need)
            rows.append(Bar(problem.lengths[stock], problem.costs[stock], tuple(pieces)))
    if any(left):
        raise AssertionError("the plan leaves pieces uncut")
    return rows


@dataclass(frozen=True)
class Linear:
    """The master problem at its end: `patterns`, how much of each (`amounts`), `reduced` costs, `value`, and a safe `bound`."""

    patterns: list[Pattern]
    amounts: np.ndarray
    reduced: np.ndarray
    value: float
    bound: float


def _generated(problem: Problem, start: list[Pattern]) -> Linear:
    """Patterns worth having and a safe lower bound."""
    columns = dict.fromkeys(start)
    for i in range(len(problem.sizes)):
        row = [0] * len(problem.sizes)
        row[i] = 1
        columns.setdefault(Pattern(problem.stock_for(row), tuple(row)))
    bound = 0.0
    for _ in range(min(MOST_ROUNDS, max(1, MOST_WORK // len(problem.sizes)))):
        patterns = list(columns)
        a, cost = _matrix(problem, patterns)
        master = linprog(cost, A_ub=-a, b_ub=-problem.demand, bounds=(0, None), method="highs")
        price = np.maximum(0.0, -master.ineqlin.marginals)
        value, table = _knapsack(problem, price)
        # Farley: no pattern is worth more than `worst` times its cost, so the prices divided by it are feasible in the dual
        worst = max(1.0, max(value[_cells(problem, k)] / problem.costs[k] for k in range(len(problem.room))))
        bound = max(bound, float(price @ problem.demand) / worst)
        fresh = []
        for stock in range(len(problem.room)):
            pattern = Pattern(stock, tuple(_read_off(problem, table, stock).tolist()))
            if np.dot(pattern.counts, price) > problem.costs[stock] * (1 + 1e-9) and pattern not in columns:
                fresh.append(pattern)
        if not fresh or problem.rounded_up(bound) >= master.fun - 1e-9:
            break
        columns.update(dict.fromkeys(fresh))
    return Linear(patterns, master.x, cost - a.T @ price, float(master.fun), bound)


def _rounded(problem: Problem, linear: Linear) -> list[list[Pattern]]:
    """Whole plans near the linear one: its amounts cut down to whole numbers at several thresholds, the rest filled anew."""
    out = []
    order = np.lexsort((np.arange(len(linear.amounts)), -linear.amounts))
    for threshold in (1.0, 0.7, 0.5, 0.3):
        left, chosen = problem.demand.copy(), []
        for k in order[linear.amounts[order] > 1e-6]:
            counts = np.array(linear.patterns[k].counts)
            for _ in range(int(math.floor(linear.amounts[k] + 1.0 - threshold + 1e-9))):
                if (counts <= left).all():
                    left -= counts
                    chosen.append(linear.patterns[k])
        out += [chosen + filled(problem, left), chosen + first_fit_decreasing(problem, left)]
    return out


def _cells(problem: Problem, stock: int) -> int:
    return int(math.floor(problem.room[stock] / problem.cell + 1e-9))


def _knapsack(problem: Problem, price: np.ndarray):
    """Best value for every room, in cells, and what was taken to reach it. Pieces are rounded down to whole cells, so the
    value is never below the truth and gives a safe bound; `_read_off` repairs what rounding let through."""
    size = max(_cells(problem, k) for k in range(len(problem.room))) + 1
    value = np.zeros(size)
    table = []
    for i in np.argsort(-price / problem.take, kind="stable"):
        weight = int(math.floor(problem.take[i] / problem.cell + 1e-9))
        if price[i] <= 1e-12:
            continue
        taken = np.zeros(size, np.int16)
        most = min(int(problem.demand[i]), (size - 1) // weight)
        current = value.copy()
        for n in range(1, most + 1):
            shifted = value[: size - n * weight] + n * price[i]
            rest = current[n * weight:]
            better = shifted > rest + 1e-12
            np.copyto(rest, shifted, where=better)
            taken[n * weight:][better] = n
        value = current
        table.append((int(i), weight, taken))
    return value, table


def _read_off(problem: Problem, table, stock: int) -> np.ndarray:
    counts = np.zeros(len(problem.sizes), int)
    at = _cells(problem, stock)
    for i, weight, taken in reversed(table):
        n = int(taken[at])
        counts[i] = n
        at -= n * weight
    while counts @ problem.take > problem.room[stock] + _FIT:  # rounding let through more than there is room for
        counts[np.flatnonzero(counts)[-1]] -= 1
    return counts


def plain_rule(pieces: Sequence[float], lengths: Sequence[float], costs: Sequence[float] | None = None, kerf: float = 0.0,
               trim: float = 0.0) -> Packing:
    """First-fit decreasing as a `Packing`, for comparison; its bound is the total length alone."""
    problem = Problem(pieces, lengths, costs if costs is not None else lengths, kerf, trim)
    if not problem.sizes:
        return Packing((), 0.0, 0.0, "nothing to cut")
    bars = _bars(problem, first_fit_decreasing(problem))
    return Packing(tuple(bars), _cost(bars), min(_cost(bars), problem.rounded_up(_area_bound(problem))), "first-fit decreasing")


def counts_of(bars: Sequence[Bar]) -> dict[float, int]:
    """How many of each stock length a plan buys, shortest first."""
    return dict(sorted(Counter(b.length for b in bars).items()))
