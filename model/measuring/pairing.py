"""Which piece of one deck is which piece of another: one step after the other, nearest first over the whole place."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol, TypeVar

import numpy as np
from scipy.optimize import linear_sum_assignment

SAME_PIECE = 12.0  # inches: left-over pieces of one role are the same piece when they stand this close


class Boxed(Protocol):
    """Anything with a (2, 3) world box: a Part, or the Measured of one."""

    @property
    def box(self) -> np.ndarray: ...


T = TypeVar("T", bound=Boxed)
PairingStep = tuple[Callable[[T], tuple], float]  # a key that both must share, and how far apart they may stand, inches


def paired(a: Sequence[T], b: Sequence[T], steps: Sequence[PairingStep]) -> list[tuple[T | None, T | None]]:
    """All pieces in pairs. At each step, those still alone whose keys agree are paired so that the distances between
    their middles are least in sum, none over the step's reach; what finds no partner in any step comes last, with
    None."""
    pairs: list[tuple[T | None, T | None]] = []
    left, right = list(a), list(b)
    for key, reach in steps:
        heaps: dict[tuple, tuple[list[T], list[T]]] = {}
        for side, pieces in enumerate((left, right)):
            for p in pieces:
                heaps.setdefault(key(p), ([], []))[side].append(p)
        left, right = [], []
        for ours, theirs in heaps.values():
            found = _nearest(ours, theirs, reach)
            pairs += [(ours[i], theirs[j]) for i, j in found]
            gone_i, gone_j = {i for i, _ in found}, {j for _, j in found}
            left += [p for i, p in enumerate(ours) if i not in gone_i]
            right += [p for j, p in enumerate(theirs) if j not in gone_j]
    return pairs + [(p, None) for p in left] + [(None, p) for p in right]


def _nearest(a: Sequence[Boxed], b: Sequence[Boxed], reach: float) -> list[tuple[int, int]]:
    if not a or not b:
        return []
    middle = [np.array([p.box.mean(axis=0) for p in side]) for side in (a, b)]
    far = np.linalg.norm(middle[0][:, None] - middle[1][None], axis=2)
    return [(i, j) for i, j in zip(*linear_sum_assignment(far)) if far[i, j] <= reach]
