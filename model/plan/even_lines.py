"""Where lines across joists lie so that no clear span is longer than allowed and the longest is as short as it can be.
Lengths in inches."""

from __future__ import annotations

from collections.abc import Sequence

DIGITS = 4  # decimals to which a line is set: it is found by halving


def even_lines(
    region: Sequence[Sequence[float]], allowed: float, w: float, spacing: float
) -> list[tuple[float, float, float]]:
    """(position along the joists, first and last joist's position across) of the fewest lines that leave no clear span
    longer than allowed, and among those the ones that leave the shortest."""
    fewest = len({x for x, _, _ in _swept(region, allowed, w, spacing)})
    low, high = 24.0, allowed
    for _ in range(24):
        middle = (low + high) / 2
        if len({x for x, _, _ in _swept(region, middle, w, spacing, fewest)}) <= fewest:
            high = middle
        else:
            low = middle
    return [(round(at, DIGITS), a, b) for at, a, b in _swept(region, high, w, spacing)]


def _swept(region, longest: float, w: float, spacing: float, most: int = 60) -> list[tuple[float, float, float]]:
    """From the low end: each line as far up as the joist that needs it first allows."""
    rows = [list(r) for r in region]
    lines: list[tuple[float, float, float]] = []
    for _ in range(most + 1):
        needing = [r for r in rows if r[2] - r[1] > longest + 1e-6]
        if not needing:
            break
        first = min(needing, key=lambda r: (round(r[1], 6), r[2]))
        at = min(first[1] + longest + w / 2, first[2] - w)
        covered = [r for r in rows if r[1] + w < at < r[2] - w / 2]
        stretch: list[list[float]] = []
        for r in covered:
            if stretch and r[0] - stretch[-1][1] < 2.1 * spacing:
                stretch[-1][1] = r[0]
            else:
                stretch.append([r[0], r[0]])
            r[1] = at + w / 2
        lines += [(at, a, b) for a, b in stretch]
        if not covered:
            break
    return lines
