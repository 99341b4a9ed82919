"""Places of the posts along a beam where some stretches of it are kept clear: as few posts as the spacing asks for, as
even as can be. Worked out line by line (dynamic programming over places an inch apart): even places that are moved one
by one end nearer to each other than need be, or in a stretch that no move gets them out of. Inches along the beam."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

MOST_MORE = 2  # posts more than even ones, to keep a stretch clear; our own
_STEP = 1.0  # inches between the places looked at; our own
_SPANS_BEHIND = 4.0  # times what hangs past an end post is the span behind it at least (published beam tables)
_INTO = 1e-6

_Stretch = tuple[float, float]


def clear_marks(
    length: float,
    marks: Sequence[float],
    spacing: float,
    kept: Sequence[_Stretch],
    movable: tuple[bool, bool],
    past: tuple[float, float],
    apart: float,
) -> list[float] | None:
    """Places of posts, no further apart than `spacing` and no nearer than `apart`, none in a stretch that is `kept`
    clear. The first and last of the even `marks` stay where they are unless they are `movable`: then they keep `past`
    at least and at most from the beam's end, and a quarter of the span behind them. None where no such places are, or
    the even ones will do."""
    if all(_free(kept, x) for x in marks) or len(marks) < 2:
        return None
    low, high = past
    reach = np.arange(low, high + _INTO, _STEP)
    firsts = [x for x in (reach if movable[0] else marks[:1]) if _free(kept, x)]
    lasts = np.array([x for x in (length - reach if movable[1] else marks[-1:]) if _free(kept, x)])
    inner = np.array([x for x in np.arange(low, length - low, _STEP) if _free(kept, x)])
    within = [b - a for a, b in kept if a > low and b < length - low]
    if not firsts or not len(lasts) or max(within, default=0.0) > spacing:
        return None
    for count in range(len(marks), len(marks) + MOST_MORE + 1):
        found = [_even(float(a), lasts, inner, count, spacing, apart, (movable[0], movable[1]), length) for a in firsts]
        best = min((f for f in found if f is not None), default=None, key=lambda f: f[0])
        if best is not None:
            return best[1]
    return None


def _free(kept: Sequence[_Stretch], at: float) -> bool:
    return not any(a - _INTO < at < b + _INTO for a, b in kept)


def _even(
    first: float,
    lasts: np.ndarray,
    inner: np.ndarray,
    count: int,
    spacing: float,
    apart: float,
    movable: tuple[bool, bool],
    length: float,
) -> tuple[float, list[float]] | None:
    """The sum of the squares of the spans, least where they are even, and the places; None where there are none."""
    behind = max(apart, _SPANS_BEHIND * first if movable[0] else 0.0)
    columns = [np.array([first]), *([inner] * (count - 2)), lasts]
    cost, came = np.zeros(1), []
    for k in range(1, count):
        gap = columns[k][None, :] - columns[k - 1][:, None]
        least = np.full(len(columns[k]), behind if k == 1 else apart)
        if k == count - 1 and movable[1]:
            least = np.maximum(least, _SPANS_BEHIND * (length - columns[k]))
        ways = cost[:, None] + np.where((gap <= spacing + _INTO) & (gap >= least[None, :] - _INTO), gap**2, np.inf)
        if ways.size == 0:
            return None
        came.append(ways.argmin(axis=0))
        cost = ways.min(axis=0)
    at = int(cost.argmin())
    if not np.isfinite(cost[at]):
        return None
    total, places = float(cost[at]), []
    for k in range(count - 1, 0, -1):
        places.append(float(columns[k][at]))
        at = int(came[k - 1][at])
    return total, [first, *reversed(places)]
