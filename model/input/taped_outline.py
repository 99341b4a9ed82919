"""An outline from sides and diagonals as taped: corners A, B, C ... counter-clockwise, from the side A to B on, which
is laid along the sheet from left to right.

Triangles are laid out one on the other by their three lengths, as on site with two tapes; where more was taped than
that takes, all lengths give way alike (least squares), and what is left of each is told.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from ...shared.errors import DesignError

TapedLength = tuple[int, int, float, str]  # from corner to corner (from 0), inches, key
MOST_OFF = 2.0  # inches that one length may be off, as the others tell it: more is a slip of the pen; our own
_CHECKED = 0.001  # of a length's error that shows in what is left of it, below which nothing checks it; our own
_LEAST_HIGH = 0.5  # inches of a triangle's height, of which its corner would be anywhere; our own


@dataclass(frozen=True)
class TapedOutline:
    """Corners in inches, by how much each length differs from the outline (taped less drawn) by its key, and the keys
    of lengths that no other checks."""

    points: tuple[tuple[float, float], ...]
    off: tuple[tuple[str, float], ...]
    unchecked: tuple[str, ...] = ()

    @property
    def worst(self) -> tuple[str, float]:
        return max(self.off, key=lambda o: abs(o[1]))


def laid_out(sides: Sequence[float], diagonals: Sequence[tuple[str, str, float]]) -> TapedOutline:
    """The outline of these lengths, inches. Raises DesignError, naming the key, where they make none."""
    n = len(sides)
    taped: list[TapedLength] = [(k, (k + 1) % n, s, f"outline.taped.sides.{k}") for k, s in enumerate(sides)]
    for k, (a, b, long) in enumerate(diagonals):
        i, j = _corner(a, n, k, 0), _corner(b, n, k, 1)
        if (i - j) % n in (0, 1, n - 1):
            raise DesignError(f"outline.taped.diagonals.{k}", f"{a} to {b} is no diagonal of {n} corners")
        taped.append((i, j, long, f"outline.taped.diagonals.{k}"))
    start = _triangles(n, taped)
    points, shows = _adjusted(start, taped)
    off = tuple((key, long - math.dist(points[i], points[j])) for i, j, long, key in taped)
    checked = [(abs(v) / math.sqrt(r), v / r, key) for (key, v), r in zip(off, shows) if r > _CHECKED]
    weight, error, key = max(checked, default=(0.0, 0.0, ""))
    if weight > MOST_OFF:
        way = "long" if error > 0 else "short"
        told = f"is some {abs(error):.3g} in too {way} for what the others make; tape it again"
        raise DesignError(key, told)
    return TapedOutline(tuple(points), off, tuple(key for (key, _), r in zip(off, shows) if r <= _CHECKED))


def _corner(letter: str, n: int, k: int, end: int) -> int:
    index = ord(letter.upper()) - ord("A") if len(letter) == 1 and letter.isascii() else -1
    if not 0 <= index < n:
        told = f"no corner {letter!r}; the corners of {n} sides are A to {chr(ord('A') + n - 1)}"
        raise DesignError(f"outline.taped.diagonals.{k}.{end}", told)
    return index


def _triangles(n: int, taped: Sequence[TapedLength]) -> list[tuple[float, float]]:
    """Corner by corner from the first side on, each by its lengths to two that lie already. The diagonals lie inside:
    three corners in the order of their letters go round counter-clockwise, at reflex corners too."""
    long = {frozenset((i, j)): (d, key) for i, j, d, key in taped}
    at: dict[int, tuple[float, float]] = {0: (0.0, 0.0), 1: (taped[0][2], 0.0)}
    while len(at) < n:
        best: tuple[float, int, tuple[float, float]] | None = None
        key = ""
        for c in (c for c in range(n) if c not in at):
            known = sorted(k for k in at if frozenset((k, c)) in long)
            for p, i in enumerate(known):
                for j in known[p + 1 :]:
                    (da, ka), (db, kb) = long[frozenset((i, c))], long[frozenset((j, c))]
                    placed = _third(at[i], at[j], da, db, left=c > j or c < i)
                    if placed is None:
                        key = ka if ka.startswith("outline.taped.diagonals") else kb
                    elif best is None or placed[2] > best[0]:
                        best = placed[2], c, placed[:2]
        if best is None:
            if key:
                raise DesignError(key, "the lengths of a triangle do not meet: tape them again")
            lacking = ", ".join(chr(ord("A") + c) for c in range(n) if c not in at)
            told = f"{n} sides need {n - 3} diagonals inside, so that triangles cover all; none reach corner {lacking}"
            raise DesignError("outline.taped.diagonals", told)
        at[best[1]] = best[2]
    return [at[k] for k in range(n)]


def _third(
    a: tuple[float, float], b: tuple[float, float], da: float, db: float, left: bool
) -> tuple[float, float, float] | None:
    """(x, y, height) of the corner at da from a and db from b, left of the way from a to b or right of it."""
    base = math.dist(a, b)
    along = (da * da - db * db + base * base) / (2 * base) if base else 0.0
    square = da * da - along * along
    if square < _LEAST_HIGH**2:
        return None
    high = math.sqrt(square)
    ux, uy = (b[0] - a[0]) / base, (b[1] - a[1]) / base
    side = high if left else -high
    return a[0] + along * ux - side * uy, a[1] + along * uy + side * ux, high


def _adjusted(
    start: Sequence[tuple[float, float]], taped: Sequence[TapedLength]
) -> tuple[list[tuple[float, float]], list[float]]:
    """The corners with which the lengths differ least in squares, the first side along the sheet; and of each length
    the share of an error in it that shows in its difference (the redundancy number of
    survey adjustment, from textbooks)."""
    import numpy as np
    from scipy.optimize import least_squares

    i, j = [m[0] for m in taped], [m[1] for m in taped]
    long = np.array([m[2] for m in taped])

    def corners(free: Any) -> Any:
        return np.vstack([[0.0, 0.0], [free[0], 0.0], free[1:].reshape(-1, 2)])

    def off(free: Any) -> Any:
        q = corners(free)
        return np.hypot(*(q[i] - q[j]).T) - long

    first = np.array([start[1][0], *(v for q in start[2:] for v in q)])
    solved = least_squares(off, first, xtol=1e-12, ftol=1e-12, gtol=1e-12)
    slopes, _ = np.linalg.qr(solved.jac)
    shows = 1.0 - (slopes**2).sum(axis=1)
    return [(round(float(x), 5) + 0.0, round(float(y), 5) + 0.0) for x, y in corners(solved.x)], shows.tolist()
