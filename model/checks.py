"""Every rule on one deck, and the list of what is not checked at all."""
from __future__ import annotations

from typing import TYPE_CHECKING, Sequence

from .check_frame import check_frame
from .check_guards import check_guards
from .check_result import CheckResult, Checking
from .check_stairs import check_stairs
from .measure import Measured, measure_all
from .structure import Structure, analyse

if TYPE_CHECKING:
    from .deck import Deck

# what a reviewer looks at and this program does not: said in every report
NOT_CHECKED = (
    ("wind, earthquake and flood loads", "not calculated"),
    ("lateral load connection of the deck to the house", "hold-downs are noted on the details, their capacity is not calculated"),
    ("strength of screws, bolts, hangers and post caps", "taken from the maker's published values; not calculated"),
    ("the house wall, its band joist and its flashing", "not modelled: open it up and look"),
    ("soil, slope stability, buried lines, septic fields and trees", "verify on site"),
    ("fire, wildland and energy rules; zoning beyond the setbacks given", "not modelled"),
    ("electrical lighting of stairs", "not modelled"),
)


def check_deck(deck: "Deck", measured: Sequence[Measured] | None = None, structure: Structure | None = None) -> list[CheckResult]:
    """All results, in order of room. `measured` and `structure` save working them out again."""
    c = Checking(deck, measured if measured is not None else measure_all(deck.parts))
    check_stairs(c)
    check_guards(c)
    check_frame(c, structure or analyse(deck))
    for rule, why in NOT_CHECKED:
        c.skip(rule, "outside this program", "whole deck", why)
    return c.results
