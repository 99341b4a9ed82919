"""The sizes that a stair's header and the frames of box steps are made of: as thick as the joists."""

from __future__ import annotations

from ...shared.stock import Stock, lumber
from ..input.parameters import Parameters

HEADER_STOCK = ("2x4", "2x6", "2x8", "2x10", "2x12")


def as_thick(parameters: Parameters, joist: Stock) -> list[Stock]:
    """The sizes as thick as the joists, narrowest first: of the file's own stock where the joists are."""
    own = [row.stock for row in parameters.lumber.stock] if joist.given else []
    alike = [s for s in own if abs(s.thickness - joist.thickness) < 1e-6]
    return sorted(alike, key=lambda s: s.width) or [lumber(name) for name in HEADER_STOCK]
