"""Every rule on one deck, and the list of what is not checked at all."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..measuring.measure import Measured, measure_all
from ..structure.structure import Structure, analyse
from .check_frame import check_frame
from .check_guards import check_guard_hardware, check_guards
from .check_house import check_house
from .check_kit import check_kit
from .check_makers import check_makers
from .check_no_post import check_no_post
from .check_post_spacing import check_post_spacing
from .check_result import Checking, CheckResult
from .check_roles import check_roles
from .check_solids import check_solids
from .check_stairs import check_stairs

if TYPE_CHECKING:
    from ..deck import Deck

DRIFTS = "drifting and sliding snow from a roof above"
# what a reviewer looks at and this program does not: said in every report
OUTSIDE_THIS_PROGRAM = (
    (
        "wind from below, earthquake and flood loads",
        "not calculated; wind on guards and edges is, for knee braces and hold-downs, where the file states exposure"
        " and speed",
    ),
    (
        "strength of skirting, and of the fasteners of handrails, guards and benches",
        "not calculated: the limits of their sizes and spacings are checked",
    ),
    (
        DRIFTS,
        "not calculated: the ground snow load given stands on the deck as it is",
    ),
    (
        "hot tubs, planters, roofs, pergolas and other loads that the file does not give",
        "only the uniform loads and the area loads given (area_load) are calculated",
    ),
    (
        "strength of screws, bolts, hangers and beam caps",
        "their demand is told where it is known, and judged by what the file gives of them (hardware)",
    ),
    ("the house wall, its band joist and its flashing", "not modelled: open it up and look"),
    ("soil, slope stability, buried lines, septic fields and trees", "verify on site"),
    ("fire, wildland and energy rules; zoning beyond the setbacks given", "not modelled"),
    ("gates, doors, windows near the deck and their glass", "not modelled"),
    ("lighting of stairs and outlets on the deck", "not modelled"),
    ("finish: easing of nosings and handrails, slip, drainage, lumber defects", "look on site"),
)


def check_deck(
    deck: Deck, measured: Sequence[Measured] | None = None, structure: Structure | None = None
) -> list[CheckResult]:
    """All results, in order of room. `measured` and `structure` save working them out again."""
    c = Checking(deck, measured if measured is not None else measure_all(deck.parts))
    check_stairs(c)
    check_guards(c)
    check_kit(c)
    check_post_spacing(c)
    structure = structure or analyse(deck)
    check_guard_hardware(c, structure)
    check_frame(c, structure)
    check_house(c)
    check_no_post(c)
    check_solids(c)
    check_makers(c)
    check_roles(c, structure)
    for rule, why in OUTSIDE_THIS_PROGRAM:
        if rule == DRIFTS and structure.snow is not None:
            continue
        if rule == DRIFTS and deck.parameters.loads.roof_above is not None:
            why = "not calculated: give the ground snow load of the place (loads.ground_snow_psf)"
        c.skip(rule, "outside this program", "whole deck", why)
    c.skip(
        "edition in force",
        c.edition,
        "whole deck",
        f"{c.edition} was chosen in the file (local.edition): ask the office which edition, amendments and tables it"
        " goes by",
    )
    return c.results
