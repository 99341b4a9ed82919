"""Points as plain tuples of their own length, out of arrays and other sequences. Inches."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

Vector = Sequence[float] | np.ndarray  # a point or a direction, in the plan or in space


def pair(values: Iterable[float]) -> tuple[float, float]:
    """(x, y). Raises ValueError for other than two values."""
    x, y = values
    return float(x), float(y)


def triple(values: Iterable[float]) -> tuple[float, float, float]:
    """(x, y, z). Raises ValueError for other than three values."""
    x, y, z = values
    return float(x), float(y), float(z)
