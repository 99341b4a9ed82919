"""Papers to draw on: one row a size in `data/papers.csv`. Sizes and margins in inches of paper, landscape."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from .standards import table
from .units import INCH_PER_MM


@dataclass(frozen=True)
class Paper:
    """Trimmed size, margin to the border, and the title block: a strip of `block` inches at the `side` or along the
    `foot`. `sheets`: permit sheets may be drawn on it; `cards` names the paper of the site cards that go with it;
    `metric`: its size is in millimetres."""

    name: str
    width: float
    height: float
    margin: float
    at_side: bool
    block: float
    sheets: bool
    cards: str
    metric: bool


@cache
def papers() -> dict[str, Paper]:
    """Every paper by name, in the order of the rows."""
    found = {}
    for r in table("papers"):
        k = INCH_PER_MM if r["unit"] == "mm" else 1.0
        found[r["paper"]] = Paper(
            r["paper"],
            float(r["width"]) * k,
            float(r["height"]) * k,
            float(r["margin_in"]),
            r["title_block"] == "side",
            float(r["title_block_in"]),
            r["sheets"] == "yes",
            r["cards"],
            r["unit"] == "mm",
        )
    return found


def sheet_papers() -> tuple[str, ...]:
    """The papers that permit sheets may be drawn on."""
    return tuple(p.name for p in papers().values() if p.sheets)
