"""Sets of straight beam lines, held against one joist after the other by hand, on rows of joists by lot."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest
from shapely.geometry import box

from plumbcut.model.design.joist_rows import JoistRows
from plumbcut.model.design.straight_lines import (
    GRIDS,
    HANGS_OFF,
    LINES_APART,
    OFF_THE_END,
    ONE_LENGTH,
    SIDE_BY_SIDE,
    line_sets,
)

WIDTH, LONGEST, SHARE, TABLE = 3.0, 130.0, 0.25, 22.0


def rows(ends: list[tuple[float, float, bool, bool]]) -> JoistRows:
    low, high, held_low, held_high = (np.array(c) for c in zip(*ends, strict=True))
    depth = float(high.max())
    x, y = np.array([1.0, 0.0]), np.array([0.0, 1.0])
    alone = np.zeros(len(low)), np.zeros(len(low), bool)
    return JoistRows(low, high, held_low, held_high, *alone, box(0, 0, 200, depth), y, x, 0.0)


def carried(places: tuple[float, ...], ends: tuple[float, float, bool, bool]) -> bool:
    """IRC R507.6 (a quarter of the span behind it), a longest span and a longest overhang of this test's own."""
    low, high, held_low, held_high = ends
    faces = [(x - WIDTH / 2, x + WIDTH / 2) for x in places]
    faces = [f for f in faces if f[0] >= low + OFF_THE_END and f[1] <= high - OFF_THE_END]
    there = [*([(low, low)] if held_low else []), *faces, *([(high, high)] if held_high else [])]
    if len(there) < 2:
        return False
    spans = [b[0] - a[1] for a, b in itertools.pairwise(there)]
    past_low, past_high = there[0][0] - low, high - there[-1][1]
    hangs = ((past_low, spans[0]), (past_high, spans[-1]))
    return max(spans) <= LONGEST and all(past <= min(SHARE * span, TABLE) + 1e-9 for past, span in hangs)


@pytest.mark.parametrize("seed", range(12))
def test_the_sets_are_all_that_carry_every_joist(seed):
    r = random.Random(seed)
    depth = r.uniform(90, 260)
    ends = [
        (round(r.choice([0, 0, r.uniform(0, 50)]), 1), round(depth - r.choice([0, 0, r.uniform(0, 40)]), 1))
        for _ in range(5)
    ]
    ledger = r.random() < 0.5
    joists = [(a, b, False, ledger and b > depth - 0.1) for a, b in ends]
    made = rows(joists)
    found = {
        tuple(float(x) for x in places): None
        for sets in line_sets(made, WIDTH, LONGEST, lambda behind: np.full(len(behind), TABLE), SHARE)
        for places in sets.places
    }
    fewest = min((len(s) for s in found), default=3)
    for count in range(1, min(fewest + 1, 2) + 1):
        grid = np.arange(GRIDS[count], made.depth, GRIDS[count])
        for places in itertools.combinations([float(x) for x in grid], count):
            gaps = np.diff(places)
            apart = all(SIDE_BY_SIDE <= gap <= LONGEST + WIDTH for gap in gaps)  # all lines here are of one length
            used = all(
                any(a + OFF_THE_END <= x - 1.5 and x + 1.5 <= b - OFF_THE_END for a, b, *_ in joists) for x in places
            )
            wanted = apart and used and all(carried(places, j) for j in joists)
            assert (places in found) == wanted, places
    assert LINES_APART < SIDE_BY_SIDE and ONE_LENGTH < 1


def test_a_line_carries_the_reaction_of_a_joist_with_an_overhang():
    """A joist on a ledger and one beam, `a` past it, brings (b + a)^2 / (2 b) of its load (moments at the ledger)."""
    made = rows([(0.0, 120.0, False, True)])
    for sets in line_sets(made, WIDTH, LONGEST, lambda behind: np.full(len(behind), TABLE), SHARE):
        if sets.places.shape[1] == 1:
            for (x,), (carries,), (span,) in zip(sets.places, sets.carried, sets.spans, strict=True):
                b = 120.0 - x
                a = x - WIDTH / 2
                assert carries == pytest.approx((b + a) ** 2 / (2 * b), rel=1e-6)
                assert span == pytest.approx(b - WIDTH / 2)
            return
    pytest.fail("one beam does on a deck 10 ft deep")


def test_short_joists_in_corners_between_slanted_edges_may_hang_on_their_rims():
    """Joists 16 in apart, each shorter than the one before: a set of two lines of which the last lies on neither is
    found only where joists may hang, their ends lie at slanted edges, and no further out than is held to be enough."""
    low, high = np.array([0.0, 5.0, 26.0, 40.0]), np.array([160.0, 155.0, 134.0, 120.0])
    none = np.zeros(4, bool)
    x, y = np.array([1.0, 0.0]), np.array([0.0, 1.0])

    def first_lines(hung: bool, slanted: bool, apart: float) -> list[float]:
        askew = np.full(4, slanted)
        joists = JoistRows(low, high, none, none, apart * np.arange(4), askew, box(0, 0, 200, 160), y, x, 0.0)
        every = line_sets(joists, WIDTH, LONGEST, lambda behind: np.full(behind.shape, 60.0), SHARE, hung)
        return [q[0] for s in every for q in s.places if len(q) == 2]

    inside = 40 + WIDTH / 2 + OFF_THE_END  # of the shortest joist's end: there it lies on both lines
    assert min(first_lines(True, True, 16.0)) < inside
    for hung, slanted, apart in ((False, True, 16.0), (True, False, 16.0), (True, True, HANGS_OFF + 1)):
        assert all(at >= inside for at in first_lines(hung, slanted, apart))
