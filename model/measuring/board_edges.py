"""Which field boards lie side by side, so that a clip can sit between them; which need a square edge. From the
solids."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...shared.practice import practice
from ..solid.faces import near_pairs
from .measure import Measured

WIDEST_GAP = practice("gap that a clip bridges")


@dataclass(frozen=True)
class Neighbours:
    """Boards `i` and `j` (positions in the list given) side by side: `gap` between them, `start` and `end` of the
    stretch along board i's axis, measured from the world origin along `axis`."""

    i: int
    j: int
    gap: float
    start: float
    end: float
    axis: tuple[float, float, float]


def neighbours(boards: Sequence[Measured], widest: float = WIDEST_GAP) -> list[Neighbours]:
    """Pairs of boards that run the same way, side by side with no more than `widest` between them."""
    if len(boards) < 2:
        return []
    box = np.array([m.box for m in boards])
    frames = [m.part.place.matrix[:3, :3] @ m.sizes.axes.T for m in boards]
    spans = [
        (np.array([p @ f for p in m.part.vertices]).min(axis=0), np.array([p @ f for p in m.part.vertices]).max(axis=0))
        for m, f in zip(boards, frames)
    ]
    out = []
    for i, j in near_pairs(box[:, 0] - widest / 2, box[:, 1] + widest / 2).tolist():
        u, _v, _ = frames[i].T
        if abs(u @ frames[j][:, 0]) < 1 - 1e-9:
            continue
        low, high = spans[i]
        other = boards[j].part.vertices @ frames[i]
        low_j, high_j = other.min(axis=0), other.max(axis=0)
        gap = max(low_j[1] - high[1], low[1] - high_j[1])
        start, end = max(low[0], low_j[0]), min(high[0], high_j[0])
        if -1e-6 <= gap <= widest + 1e-6 and end - start > 1:
            out.append(Neighbours(i, j, float(gap), float(start), float(end), tuple(u.tolist())))
    return out


def grooved(boards: Sequence[Measured], pairs: Sequence[Neighbours] | None = None) -> list[bool]:
    """Whether each field board can be held by clips on both edges: another board on either side, and not ripped.

    First and last boards, and rips, have a free or a sawn edge: they are bought square-edged and screwed.
    """
    pairs = neighbours(boards) if pairs is None else pairs
    sides: list[set[bool]] = [set() for _ in boards]
    middles = [m.part.vertices.mean(axis=0) for m in boards]
    for p in pairs:
        for a, b in ((p.i, p.j), (p.j, p.i)):
            v = boards[a].part.place.matrix[:3, :3] @ boards[a].sizes.axes[1]
            sides[a].add(bool((middles[b] - middles[a]) @ v > 0))
    return [len(s) == 2 and m.sizes.rip is None for s, m in zip(sides, boards)]
