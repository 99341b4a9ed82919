"""What would mend a row of a maker's sheet: trim that no board sold is wide enough for, a sleeve longer than any sold.
Inches."""

from __future__ import annotations

from collections.abc import Iterator

from ...shared.as_toml import down_to, up_to
from ..deck import Deck
from ..plan.would_do import Value
from ..rules.check_kit import SLEEVE_LENGTH
from ..rules.check_makers import RISER_HEIGHT, SKIRT_HEIGHT
from ..rules.check_result import CheckResult


def sheet_mends(row: CheckResult, deck: Deck) -> Iterator[Value]:
    """Stringers without skirts; risers no higher than the widest board; of the sleeves sold one that is long enough."""
    stairs = sorted({p.stair for p in deck.parts if p.id in row.ids and p.stair is not None})
    if row.rule == SKIRT_HEIGHT:
        yield from ((f"stair.{at}.skirts", False) for at in stairs)
    elif row.rule == RISER_HEIGHT and row.limit is not None:
        yield from ((f"stair.{at}.rise", down_to(row.limit)) for at in stairs)
    elif row.rule == SLEEVE_LENGTH and row.measured is not None:
        yield "guard.kit.sleeve_sold", up_to(row.measured)
