"""Posts along a beam out of stretches that are kept clear, against every set of places on a coarse grid."""

from __future__ import annotations

import itertools
import random

import pytest

from plumbcut.model.plan.clear_marks import clear_marks

HALF, MOST_PAST, APART = 3.0, 24.0, 9.0


def by_trying(length: float, spacing: float, kept, count: int) -> float | None:
    """The least sum of squares of spans of so many posts, every set of whole inches tried."""
    free = [x for x in range(3, int(length) - 2) if not any(a <= x <= b for a, b in kept)]
    least = None
    for places in itertools.combinations(free, count):
        gaps = [b - a for a, b in itertools.pairwise(places)]
        past = places[0], length - places[-1]
        if max(gaps) > spacing or min(gaps) < APART or max(past) > MOST_PAST:
            continue
        if 4 * past[0] > gaps[0] or 4 * past[1] > gaps[-1]:
            continue
        total = sum(g * g for g in gaps)
        least = total if least is None else min(least, total)
    return least


@pytest.mark.parametrize("seed", range(12))
def test_as_few_and_as_even_as_any_set_of_whole_inches(seed):
    r = random.Random(seed)
    length, spacing = float(r.randint(60, 80)), float(r.randint(28, 50))
    at = r.randint(10, 40)
    kept = [(float(at), float(at + r.randint(8, 26)))]
    even = [HALF + (length - 2 * HALF) * k / 2 for k in range(3)]
    if not any(a <= x <= b for x in even for a, b in kept):
        even = [HALF, sum(kept[0]) / 2, length - HALF]
    found = clear_marks(length, even, spacing, kept, (True, True), (HALF, MOST_PAST), APART)
    best = next((t for n in (3, 4) if (t := by_trying(length, spacing, kept, n)) is not None), None)
    if best is None:
        assert found is None or len(found) > 4
    else:
        assert found is not None
        assert sum((b - a) ** 2 for a, b in itertools.pairwise(found)) == pytest.approx(best)


def test_places_that_are_clear_stay():
    assert clear_marks(100.0, [12.0, 50.0, 88.0], 40.0, [(20.0, 40.0)], (True, True), (3.0, 24.0), 9.0) is None


def test_a_stretch_longer_than_a_span_leaves_them():
    assert clear_marks(100.0, [12.0, 50.0, 88.0], 40.0, [(30.0, 72.0)], (True, True), (3.0, 24.0), 9.0) is None


def test_a_post_under_a_mitre_does_not_move():
    found = clear_marks(100.0, [0.0, 50.0, 100.0], 62.0, [(40.0, 60.0)], (False, False), (3.0, 24.0), 9.0)
    assert found is not None and found[0] == 0.0 and found[-1] == 100.0 and len(found) == 3
