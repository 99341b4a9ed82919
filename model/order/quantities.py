"""The take-off: counts, lengths, areas, volumes and weights, added up from what was measured off the solids.

Inches, square and cubic inches, pounds; `QuantityLine` gives them in the units they are bought in as well.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from ...shared.stock import Stock, material, weight
from ..measuring.measure import Measured
from ..solid.roles import GROUPS, ROLES, named

CUBIC_FOOT = 1728.0
CUBIC_YARD = 27 * CUBIC_FOOT
_RANK = {g: k for k, g in enumerate(GROUPS)}
_ROLE_RANK = {r: k for k, r in enumerate(ROLES)}


@dataclass(frozen=True)
class QuantityLine:
    """Pieces of one role and stock together. `length` sums the greatest lengths (inches), `shortest` and `longest` are
    of one piece, `top_area` of the faces that look up (square inches), `volume` in cubic inches, `weight` in pounds."""

    group: str
    role: str
    stock: Stock
    count: int
    marks: int
    length: float
    shortest: float
    longest: float
    top_area: float
    volume: float
    weight: float

    @property
    def length_ft(self) -> float:
        return self.length / 12

    @property
    def top_area_sqft(self) -> float:
        return self.top_area / 144

    @property
    def volume_cuft(self) -> float:
        return self.volume / CUBIC_FOOT


@dataclass(frozen=True)
class Totals:
    """Sums over the deck: `surface_area` square inches of boards, borders and breakers seen from above, `concrete`
    cubic inches, weights in pounds (`weight_by_group`, and `delivered`: everything but what is poured)."""

    pieces: int
    surface_area: float
    concrete: float
    weight_by_group: dict[str, float]
    delivered: float

    @property
    def concrete_yards(self) -> float:
        return self.concrete / CUBIC_YARD


def quantities(measured: Iterable[Measured]) -> list[QuantityLine]:
    """One line a role and stock, in the order of groups and roles."""
    heaps: dict[tuple[str, Stock], list[Measured]] = {}
    for m in measured:
        heaps.setdefault((m.role, m.stock), []).append(m)
    lines = []
    for (role, stock), heap in heaps.items():
        volume = math.fsum(m.volume for m in heap)
        lines.append(
            QuantityLine(
                ROLES[role].group,
                role,
                stock,
                len(heap),
                len({m.mark for m in heap}),
                math.fsum(m.length for m in heap),
                min(m.length for m in heap),
                max(m.length for m in heap),
                math.fsum(m.top_area for m in heap),
                volume,
                weight(stock, volume),
            )
        )
    return sorted(lines, key=lambda x: (_RANK[x.group], _ROLE_RANK[x.role], x.stock.name, x.stock.material))


def totals(measured: Iterable[Measured]) -> Totals:
    """Sums over all pieces."""
    measured = list(measured)
    by_group: dict[str, float] = {}
    concrete = delivered = 0.0
    for line in quantities(measured):
        by_group[line.group] = by_group.get(line.group, 0.0) + line.weight
        if material(line.stock.material).kind == "poured":
            concrete += line.volume
        else:
            delivered += line.weight
    surface = math.fsum(m.top_area for m in measured if m.role in named("walked"))
    return Totals(len(measured), surface, concrete, by_group, delivered)
