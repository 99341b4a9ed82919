"""`Eye`: where the eye is, and where a section cuts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Eye:
    """Where the eye is. `right`, `up`, `toward` (to the eye) are a right-handed set of world unit vectors.

    `plane` is the depth of the section plane (along `toward`, from the world's origin), None for no cut.
    """

    right: tuple[float, float, float]
    up: tuple[float, float, float]
    toward: tuple[float, float, float]
    plane: float | None = None

    @property
    def axes(self) -> np.ndarray:
        """(3, 3) rows right, up, toward: world to view."""
        return np.array([self.right, self.up, self.toward])

    def flat(self, points) -> np.ndarray:
        """(n, 3) world points to (n, 2) view coordinates."""
        return np.asarray(points, float) @ self.axes[:2].T

    @classmethod
    def above(cls, z: float | None = None) -> Eye:
        """From above, x to the right and y up the sheet; cut at height z if given."""
        return cls((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), z)

    @classmethod
    def looking(cls, direction: Sequence[float], through: Sequence[float] | None = None) -> Eye:
        """Level view along the plan direction (dx, dy); cut by the upright plane through the plan point (x, y) if
        given."""
        dx, dy = np.asarray(direction[:2], float) / np.hypot(direction[0], direction[1])
        toward = (-dx + 0.0, -dy + 0.0, 0.0)
        plane = None if through is None else float(toward[0] * through[0] + toward[1] * through[1])
        return cls((dy + 0.0, -dx + 0.0, 0.0), (0.0, 0.0, 1.0), toward, plane)
