"""Where posts stand along a line between two that are fixed: no further apart than asked, clear of what lies behind
wherever that leaves a place so near. Lengths in inches along the line."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

Stretches = Sequence[tuple[float, float]]

_NEAR = 1e-6  # inches


def clear_of(along: float, width: float, taken: Stretches, ahead: int) -> float:
    """The place nearest to `along` at which something `width` wide clears what is taken; `along` itself where there is
    none. Of two as near the first along the edge (`ahead` 1), or against it (-1)."""
    blocked = [(low - width / 2, high + width / 2) for low, high in taken]
    candidates = [along] + [c for lo, hi in blocked for c in (lo, hi)]
    clear = [c for c in candidates if is_clear(c, width, taken)]
    return min(clear, key=lambda c: (round(abs(c - along), 6), c * ahead)) if clear else along


def is_clear(along: float, width: float, taken: Stretches) -> bool:
    """Whether something `width` wide in the middle of that place clears what is taken."""
    return not any(low - width / 2 + _NEAR < along < high + width / 2 - _NEAR for low, high in taken)


def stations(a: float, b: float, size: float, most: float, taken: Stretches, ahead: int) -> list[float]:
    """Places between the fixed ones `a` and `b` of posts `size` wide, none further than `most` from the next.

    Evenly but for what is taken, as few as that takes, one more where a post moved clear of it would; else wherever
    they clear it. Where that leaves no place near enough they stand evenly, in it all the same where they cannot be
    moved (`is_clear` tells which): it has to give way. Set out from the low end (`ahead` 1) or the high one (-1).
    """
    if ahead < 0:
        turned = stations(-b, -a, size, most, [(-high, -low) for low, high in taken], 1)
        return [-m for m in reversed(turned)]
    count = math.ceil((b - a) / most - 1e-9)
    for n in (count, count + 1):
        even = [a + (b - a) * k / n for k in range(1, n)]
        moved = [clear_of(e, size, taken, ahead) for e in even]
        keeps = max(q - p for p, q in itertools.pairwise([a, *moved, b])) <= most + _NEAR
        if keeps and all(a + size < m < b - size and is_clear(m, size, taken) for m in moved):
            return moved
    free = _free(a + size, b - size, size, taken)
    if clear := _furthest(a, b, size, most, free):
        return _evened(a, b, most, len(clear), free)
    found, step = list[float](), (b - a) / count
    for k in range(1, count):  # moved so far that the posts on either side can stay where they are
        low, high = a + k * step - (most - step), a + k * step + (most - step)
        moved_to = clear_of(a + k * step, size, taken, ahead)
        found.append(moved_to if max(low, (found or [a])[-1] + size) <= moved_to <= high else a + k * step)
        if found[-1] - (found[-2] if k > 1 else a) > most:
            found[-1] = a + k * step
    return found


def among(a: float, b: float, size: float, most: float, places: Sequence[float]) -> list[float]:
    """As `stations`, where posts can stand at some places alone: at those nearest to where they would stand evenly, or
    at so many more that none stands further than `most` from the next, where there are such."""
    if b < a:
        return [-m for m in among(-a, -b, size, most, [-p for p in places])]
    n = math.ceil((b - a) / most - 1e-9)
    near = [min(places, key=lambda m: abs(m - e), default=e) for e in (a + (b - a) * k / n for k in range(1, n))]
    if max(q - p for p, q in itertools.pairwise([a, *near, b])) <= most + _NEAR:
        return near
    free = [(m, m) for m in sorted(places) if a + size < m < b - size]
    more = _furthest(a, b, size, most, free)
    return _evened(a, b, most, len(more), free) if more else near


def _free(low: float, high: float, size: float, taken: Stretches) -> list[tuple[float, float]]:
    """From where to where the middle of a post may stand."""
    found, at = [], low
    for a, b in sorted((a - size / 2, b + size / 2) for a, b in taken):
        if min(a, high) >= at:
            found.append((at, min(a, high)))
        at = max(at, b)
    return [*found, (at, high)] if at <= high else found


def _furthest(a: float, b: float, size: float, most: float, free: Stretches) -> list[float]:
    """From `a` on, each as far as it may stand; none where nothing is free so near."""
    found, at = [], a
    while b - at > most + _NEAR:
        reach = [min(hi, at + most) for lo, hi in free if lo <= at + most and min(hi, at + most) > at + size]
        if not reach:
            return []
        at = max(reach)
        found.append(at)
    return found


def _evened(a: float, b: float, most: float, count: int, free: Stretches) -> list[float]:
    """`count` free places between, each as near as may be to where it would stand evenly. There are such."""
    least, at = [], b
    for _ in range(count):
        at = min(max(lo, at - most) for lo, hi in free if hi >= at - most - _NEAR)
        least.append(at)
    found, last = [], a
    for k, low in enumerate(reversed(least), 1):
        even, high = a + (b - a) * k / (count + 1), last + most
        near = [min(max(even, lo, low), hi, high) for lo, hi in free if hi >= low - _NEAR and lo <= high + _NEAR]
        last = min(near, key=lambda m: abs(m - even))
        found.append(last)
    return found
