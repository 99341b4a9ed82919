"""Sets of beam lines, made line by line, are those that are left of all there are."""

import itertools
import math
import random

import numpy as np
import pytest
from shapely.geometry import box

from plumbcut.model.design.joist_rows import JoistRows
from plumbcut.model.design.straight_lines import (
    GRIDS,
    LINES_APART,
    MOST_SETS,
    ONE_LENGTH,
    SIDE_BY_SIDE,
    _over,
    line_sets,
)


def _rows(r: random.Random) -> JoistRows:
    """Joists of one deck, some shorter at either end, with ledgers at either, both or neither."""
    deep = r.choice([90.0, 150.0, 222.0, 300.0])
    held = r.random() < 0.5, r.random() < 0.5
    low, high, at_low, at_high = [0.0], [deep], [held[0]], [held[1]]
    for _ in range(r.randrange(4)):
        a, b = sorted(r.uniform(0, deep) for _ in range(2))
        if b - a > 40:
            low.append(r.choice([0.0, a]))
            high.append(r.choice([deep, b]))
            at_low.append(held[0] if low[-1] == 0 else r.random() < 0.3)
            at_high.append(held[1] if high[-1] == deep else r.random() < 0.3)
    columns = (np.array(c) for c in (low, high, at_low, at_high))
    alone = np.zeros(len(low)), np.zeros(len(low), bool)
    return JoistRows(*columns, *alone, box(0, 0, 100, deep), np.array([0.0, 1.0]), np.array([1.0, 0.0]), 0.0)


def _plainly(rows: JoistRows, count: int, width: float, longest: float, overhang, share: float) -> np.ndarray:
    """Every set of so many lines on the grid, less those that any joist cannot lie on."""
    sets = np.array(list(itertools.combinations(np.arange(GRIDS[count], rows.depth, GRIDS[count]), count)))
    gaps = np.diff(sets, axis=1)
    long = np.array([[sum(rows.line_lengths(x)) for x in places] for places in sets.tolist()])
    shorter, longer = np.minimum(long[:, 1:], long[:, :-1]), np.maximum(long[:, 1:], long[:, :-1])
    least = np.where(shorter >= ONE_LENGTH * longer, SIDE_BY_SIDE, LINES_APART)
    sets = sets[np.all((gaps >= least) & (gaps <= longest + width), axis=1)]
    for k in range(len(rows.low)):
        sets = sets[_over(rows, k, sets, width / 2, longest, overhang, share)[0]] if len(sets) else sets
    return sets[:: math.ceil(len(sets) / MOST_SETS) or 1]


@pytest.mark.parametrize("seed", range(12))
def test_no_set_that_carries_all_joists_is_left_out(seed):
    r = random.Random(seed)
    rows, width, share = _rows(r), 3.0, 0.25
    longest = r.choice([60.0, 100.0, 150.0])

    def overhang(behind):
        return np.minimum(behind / 3, 30.0)

    seen = 0
    for found in line_sets(rows, width, longest, overhang, share):
        count = found.places.shape[1]
        plain = _plainly(rows, count, width, longest, overhang, share)
        needed = {tuple(s) for s in found.places.tolist()}
        assert needed <= {tuple(s) for s in plain.tolist()}
        # a line under no joist is left out of both
        under = [s for s in plain.tolist() if tuple(s) not in needed]
        for s in under:
            takes = np.zeros(count)
            for k in range(len(rows.low)):
                takes += _over(rows, k, np.array([s]), width / 2, longest, overhang, share)[1][0]
            assert (takes == 0).any(), s
        seen += len(plain)
    if not seen:
        for count in (1, 2):
            assert not len(_plainly(rows, count, width, longest, overhang, share))
