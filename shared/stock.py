"""What the yard sells: nominal and dressed sizes, materials and their densities, lengths sold. Data in `data/`."""
from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Stock:
    """A material to cut pieces from. `name` is nominal (`2x8`); `thickness` and `width` are dressed, in inches.

    `material` is a key of the materials data (`treated lumber`, `composite board`, `concrete`, `steel`, ...).
    """

    name: str
    thickness: float
    width: float
    material: str
