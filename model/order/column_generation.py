"""Column generation for cutting patterns: a linear plan with a safe bound, and whole plans near it. Knows no deck."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .cutting_patterns import FIT, Pattern, Problem, filled, first_fit_decreasing

if TYPE_CHECKING:
    from scipy.sparse import csc_array

Taken = tuple[int, int, np.ndarray]  # a size, its cells, and how many of it lie in each room, in cells
MOST_ROUNDS = 200  # stopping early only loosens the bound, which is still stated
MOST_WORK = 8_000  # rounds times distinct pieces, for the same reason


def _matrix(problem: Problem, patterns: Sequence[Pattern]) -> tuple[csc_array, np.ndarray]:
    from scipy.sparse import csc_array

    return csc_array(np.array([p.counts for p in patterns], float).T), np.array(
        [problem.costs[p.stock] for p in patterns]
    )


def integer_step(
    problem: Problem, patterns: Sequence[Pattern], known: float, nodes: int
) -> tuple[list[Pattern], float]:
    """The best whole numbers of the patterns given, where they beat a plan in hand that costs `known`; and the bound
    proven for them (`known` where they cannot beat it).

    HiGHS ends once no plan can be a whole cost step cheaper than the one it has, or after `nodes` branches: never by
    the clock.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    a, cost = _matrix(problem, patterns)
    step = problem.unit()
    better = LinearConstraint(cost[None, :], ub=known - 0.5 * step if step else known * (1 - 1e-9))
    options = {"node_limit": nodes, "mip_rel_gap": 0.9 * step / known}
    found = milp(
        cost,
        constraints=[LinearConstraint(a, lb=problem.demand), better],
        integrality=np.ones(len(cost)),
        bounds=Bounds(0, float(problem.demand.max())),
        options=options,
    )
    if found.status == 2:  # nothing cheaper exists
        return [], known
    bound = float(found.mip_dual_bound) if found.mip_dual_bound is not None else 0.0
    if found.x is None:
        return [], bound
    return [p for p, n in zip(patterns, np.rint(found.x).astype(int)) for _ in range(n)], bound


@dataclass(frozen=True)
class Linear:
    """The master problem at its end: `patterns`, how much of each (`amounts`), `reduced` costs, `value`, and a safe
    `bound`."""

    patterns: list[Pattern]
    amounts: np.ndarray
    reduced: np.ndarray
    value: float
    bound: float


def generated(problem: Problem, start: list[Pattern]) -> Linear:
    """Patterns worth having and a safe lower bound."""
    from scipy.optimize import linprog

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
        value, table, begun = _knapsack(problem, price)
        # Farley: no pattern is worth more than `worst` times its cost, so the prices divided by it are feasible in the
        # dual
        worst = max(1.0, max(value[_cells(problem, k)] / problem.costs[k] for k in range(len(problem.room))))
        bound = max(bound, float(price @ problem.demand) / worst)
        fresh = []
        for stock in range(len(problem.room)):
            pattern = Pattern(stock, tuple(_read_off(problem, table, begun, stock).tolist()))
            if np.dot(pattern.counts, price) > problem.costs[stock] * (1 + 1e-9) and pattern not in columns:
                fresh.append(pattern)
        if not fresh or problem.rounded_up(bound) >= master.fun - 1e-9:
            break
        columns.update(dict.fromkeys(fresh))
    return Linear(patterns, master.x, cost - a.T @ price, float(master.fun), bound)


def rounded_plans(problem: Problem, linear: Linear) -> list[list[Pattern]]:
    """Whole plans near the linear one: its amounts cut down to whole numbers at several thresholds, the rest filled
    anew."""
    out = []
    order = np.lexsort((np.arange(len(linear.amounts)), -linear.amounts))
    for threshold in (1.0, 0.7, 0.5, 0.3):
        left, chosen = problem.demand.copy(), []
        for k in order[linear.amounts[order] > 1e-6]:
            counts = np.array(linear.patterns[k].counts)
            for _ in range(math.floor(linear.amounts[k] + 1.0 - threshold + 1e-9)):
                if (counts <= left).all():
                    left -= counts
                    chosen.append(linear.patterns[k])
        out += [chosen + filled(problem, left), chosen + first_fit_decreasing(problem, left)]
    return out


def _cells(problem: Problem, stock: int) -> int:
    return math.floor(problem.room[stock] / problem.cell + 1e-9)


def _knapsack(problem: Problem, price: np.ndarray) -> tuple[np.ndarray, list[Taken], np.ndarray]:
    """Best value for every room, in cells, and what was taken to reach it: of the pieces that may lie anywhere
    (`table`), and which one piece that must be first (`begun`, -1 for none). Pieces are rounded down to whole cells, so
    the value is never below the truth and gives a safe bound; `_read_off` repairs what rounding let through."""
    size = max(_cells(problem, k) for k in range(len(problem.room))) + 1
    value = np.zeros(size)
    table: list[Taken] = []
    for i in np.argsort(-price / problem.take, kind="stable"):
        weight = math.floor(problem.take[i] / problem.cell + 1e-9)
        if price[i] <= 1e-12 or problem.first[i]:
            continue
        taken = np.zeros(size, np.int16)
        most = min(int(problem.demand[i]), (size - 1) // weight)
        current = value.copy()
        for n in range(1, most + 1):
            shifted = value[: size - n * weight] + n * price[i]
            rest = current[n * weight :]
            better = shifted > rest + 1e-12
            np.copyto(rest, shifted, where=better)
            taken[n * weight :][better] = n
        value = current
        table.append((int(i), weight, taken))
    begun = np.full(size, -1)
    rest = value.copy()
    for i in np.flatnonzero(problem.first & (price > 1e-12)).tolist():
        weight = math.floor(problem.take[i] / problem.cell + 1e-9)
        better = rest[: size - weight] + price[i] > value[weight:] + 1e-12
        np.copyto(value[weight:], rest[: size - weight] + price[i], where=better)
        begun[weight:][better] = i
    return value, table, begun


def _read_off(problem: Problem, table: list[Taken], begun: np.ndarray, stock: int) -> np.ndarray:
    counts = np.zeros(len(problem.sizes), int)
    at = _cells(problem, stock)
    if (i := int(begun[at])) >= 0:
        counts[i] = 1
        at -= math.floor(problem.take[i] / problem.cell + 1e-9)
    for i, weight, taken in reversed(table):
        n = int(taken[at])
        counts[i] = n
        at -= n * weight
    while counts @ problem.take > problem.room[stock] + FIT:  # rounding let through more than there is room for
        counts[np.flatnonzero(counts)[-1]] -= 1
    return counts
