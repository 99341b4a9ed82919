"""What would mend a rule of the house as found that is not met: the key of the file and the nearest value that passes,
in closed form."""

from __future__ import annotations

from collections.abc import Iterator

from ...shared.as_toml import up_to
from ...shared.practice import practice
from ..deck import Deck
from ..plan.would_do import Value
from ..rules.check_house import (
    BAND_UNDER_LEDGER,
    BELOW_SILL,
    BESIDE_HOUSE,
    DOOR_SWUNG_OVER,
    ON_A_BAY,
    STEP_AT_DOOR,
    WALL_UNDER_LEDGER,
)
from ..rules.check_result import CheckResult


def house_mends(row: CheckResult, deck: Deck) -> Iterator[Value]:
    """The keys with the values that would each do; none for a rule of another room."""
    p = deck.parameters
    if row.rule in (WALL_UNDER_LEDGER, BAND_UNDER_LEDGER, ON_A_BAY):
        yield "frame.support", "free-standing"
    elif row.rule == BESIDE_HOUSE and row.measured is not None:
        yield "frame.footing.depth", up_to(p.footing_depth + row.measured)
    elif p.house.sill is not None and row.rule == BELOW_SILL:
        yield "levels.surface", p.house.sill - practice("surface below a door sill")
    elif p.house.sill is not None and row.rule in (STEP_AT_DOOR, DOOR_SWUNG_OVER) and row.limit is not None:
        yield "levels.surface", up_to(p.house.sill - row.limit)
