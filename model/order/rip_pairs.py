"""Which ripped pieces are cut side by side out of one length, so that the strip beside a rip is used. Knows no deck.

The two lie in one length of the stock with a kerf between them, each with one of its two edges; the shorter one's
length is saved. Only pairs: what is left beside two is waste. Which pairs are best is a matching of greatest weight,
solved exactly as an integer program over kinds of pieces (HiGHS). Inches.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence

import numpy as np

from .cutting_patterns import FIT


def side_by_side(
    lengths: Sequence[float], rips: Sequence[float | None], width: float, kerf: float, first: Collection[int] = ()
) -> list[tuple[int, int]]:
    """Pairs (i, j) of positions, i no shorter than j, that save the greatest length in all.

    `rips` are the widths to which pieces are ripped, None for one that keeps both edges of the stock, which is never
    paired. `first` are pieces that must be the first out of a length (`packing`): of those a pair has at most one, and
    it is the longer.
    """
    kinds: dict[tuple[float, bool, float], list[int]] = defaultdict(list)
    for i, (length, rip) in enumerate(zip(lengths, rips)):
        if rip is not None:
            kinds[round(-float(length), 6), i not in first, round(float(rip), 6)].append(i)
    names = sorted(kinds)  # longest first, and of equally long ones those that must be first
    pairs, saved = [], []
    for a, (_, _, rip_a) in enumerate(names):
        for b, (length_b, free_b, rip_b) in enumerate(names[a:], a):
            enough = len(kinds[names[a]]) > 1 if a == b else True
            if free_b and enough and rip_a + rip_b + kerf <= width + FIT:
                pairs.append((a, b))
                saved.append(-length_b)
    if not pairs:
        return []
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csc_array

    use = np.zeros((len(names), len(pairs)))
    for k, (a, b) in enumerate(pairs):
        use[a, k] += 1
        use[b, k] += 1
    have = np.array([len(kinds[n]) for n in names], float)
    # a pair is worth a hair more than its length, so that of equal savings the one with fewer lengths to cut wins
    found = milp(
        -(np.array(saved) + 1e-6),
        constraints=LinearConstraint(csc_array(use), ub=have),
        integrality=np.ones(len(pairs)),
        bounds=Bounds(0, float(have.max())),
        options={"mip_rel_gap": 0.0},
    )
    if found.x is None:
        raise AssertionError("no pairing of ripped pieces was found, though pairing none is one")
    left = {n: list(kinds[n]) for n in names}
    out = []
    for (a, b), number in zip(pairs, np.rint(found.x).astype(int).tolist()):
        for _ in range(number):
            out.append((left[names[a]].pop(0), left[names[b]].pop(0)))
    return sorted(out)
