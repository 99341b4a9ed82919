"""Slanted rims past the beams, as far as a plan tells what hangs on them: in the corners beside straight beams joists
hang between two rims, which stand out past the beam like cantilevers and hold them up. Inches.
"""

from __future__ import annotations

import numpy as np

from .joist_rows import JoistRows

POINTED = 24.0  # inches of edge along the joists at a corner below which two rims meet there, one on the other; our own
AT_THE_TIP = 6.0  # inches in from a side's outermost corner within which others lie there too; our own
SEATED = 6.0  # inches further in than the beam's end that a rim bears on it, on the mean; our own


def rim_moments(rows: JoistRows, sets: np.ndarray, hangs: np.ndarray, weighs: np.ndarray) -> np.ndarray:
    """(n,) the greatest moment of a rim over a beam of each set, for every inch between joists under a load of 1:
    square inches. `sets` (n, k) are beam lines; `hangs` (n, m) says which joists hang over them, and `weighs` (m,)
    times what a uniform load each takes."""
    if not hangs.any():
        return np.zeros(len(sets))
    places, at = np.unique(sets, return_inverse=True)
    ends = np.array([rows.line_ends(float(x)) for x in places])[at.reshape(sets.shape)]  # (n, k, 2)
    middle = float(np.mean(np.asarray(rows.outline.exterior.coords)[:-1] @ rows.across))
    moment = np.zeros((len(sets), 2, 2))  # of both sides across, at the low end of the joists and at the high one
    for k in map(
        int, np.flatnonzero(~(rows.held_low | rows.held_high))
    ):  # a rim that runs on to the house spans as far
        for p in {float(x) for x in np.atleast_1d(rows.places[k])}:
            side = int(p > middle)
            if hangs[:, k].any():
                moment[:, side] += (
                    _of_joist(rows, k, p, side, sets, ends[:, :, side]) * (hangs[:, k] * weighs[k])[:, None]
                )
    found = [of.sum(axis=1) if tip else of.max(axis=1) for tip, of in zip(_pointed(rows), moment.swapaxes(0, 1))]
    return np.max(found, axis=0)


def _pointed(rows: JoistRows) -> tuple[bool, bool]:
    """Whether the deck ends in a point at its first and at its last side across the joists: one of the two rims that
    meet there brings half of its load to the tip of the other."""
    corners = np.asarray(rows.outline.exterior.coords)[:-1]
    across, along = corners @ rows.across, corners @ rows.along
    first, last = (along[abs(across - edge) < AT_THE_TIP] for edge in (across.min(), across.max()))
    return float(np.ptp(first)) < POINTED, float(np.ptp(last)) < POINTED


def _of_joist(rows: JoistRows, k: int, p: float, side: int, sets: np.ndarray, ends: np.ndarray) -> np.ndarray:
    """(n, 2) what a joist at `p` across adds to the moments of the rims at its low and its high end, each over the next
    beam that crosses that rim further in; none where no beam does, since that rim spans from corner to corner."""
    low, high = float(rows.low[k]), float(rows.high[k])
    under = (sets > low) & (sets < high)
    out = -1.0 if side == 0 else 1.0
    found = np.zeros((len(sets), 2))
    for n, (end, beyond) in enumerate(((low, sets <= low), (high, sets >= high))):
        count = beyond.sum(axis=1)
        index = np.clip(count - 1 if n == 0 else sets.shape[1] - count, 0, sets.shape[1] - 1)[:, None]
        line, meets = (np.take_along_axis(of, index, 1)[:, 0] for of in (sets, ends))
        first = np.where(under, np.abs(sets - end), np.inf).min(axis=1)
        takes = np.minimum(first, high - low) / 2  # half way to the next support
        past = np.maximum((p - meets) * out, 0.0)
        lever = np.where(past > 0, np.hypot(past, line - end) + SEATED, 0.0)
        found[:, n] = np.where(count > 0, takes * lever, 0.0)
    return found
