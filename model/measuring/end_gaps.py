"""The gaps that are left at the ends of surface boards, between one and what lies beyond it, off the solids. Inches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..solid.faces import near_pairs
from .measure import Measured

WIDEST = 0.75  # inches between a board's end and the next board beyond which that is none of its end; our own
_BESIDE = 1.0  # inches along which two boards lie side by side; our own
_ALONG = 0.999  # cosine between boards that run one way


@dataclass(frozen=True, eq=False)
class GapSeen:
    """Between the end of `board` and `beyond`, in its line or across it."""

    board: Measured
    beyond: Measured
    gap: float


def end_gaps(boards: Sequence[Measured], others: Sequence[Measured]) -> list[GapSeen]:
    """Of every one of `boards` and what of `boards` and `others` lies before an end of it."""
    every = [*boards, *others]
    if len(every) < 2:
        return []
    box = np.array([m.box for m in every])
    found = []
    for i, j in near_pairs(box[:, 0] - WIDEST / 2, box[:, 1] + WIDEST / 2).tolist():
        for a, b in ((i, j), (j, i)):
            if a < len(boards) and (gap := _gap(every[a], every[b])) is not None:
                found.append(GapSeen(every[a], every[b], gap))
    return found


def _gap(board: Measured, beyond: Measured) -> float | None:
    """Square to where they face each other; None where they lie beside one another along the board, or further off."""
    u, v = board.axis[:2], beyond.axis[:2]
    if abs(float(u @ v)) > _ALONG:
        (a0, a1), (b0, b1) = (_reach(m, u) for m in (board, beyond))
        if min(a1, b1) - max(a0, b0) > _BESIDE:
            return None
    gap = float(board.part.footprint.distance(beyond.part.footprint))
    return gap if gap <= WIDEST else None


def _reach(m: Measured, way: np.ndarray) -> tuple[float, float]:
    s = m.part.vertices[:, :2] @ way
    return float(s.min()), float(s.max())
