"""The gaps of the day of laying. Boards of plastic and composite are longer on a hot day: the gap at their ends, and
all that is cut by it, follows the temperature that a file gives. Wood hardly moves along its length and shrinks across
it as it dries: the gap between its boards follows the moisture that they are laid at. A gap that the file gives stays;
the checks say what becomes of it.
"""

from __future__ import annotations

from ...shared.said import Words, length, number, said
from ...shared.stock import material
from ..input.parameters import Parameters
from ..measuring.gaps import SIXTEENTH, across_grain, end_gap, moving, wet_gap
from ..plan.layout import lay_out
from ..plan.stages import LevelPlan

_MOVES = "board"  # the kind of material whose boards move with the temperature


def on_the_day(p: Parameters, layout: LevelPlan) -> tuple[Parameters, LevelPlan, tuple[Words, ...]]:
    """A file with the gap that its boards ask for on the day of laying, its plan, and a note of it; unchanged where it
    gives neither temperature nor moisture, or the gap itself. Takes the plan as the file has it; raises DesignError as
    laying it out does."""
    found = _end(p, layout) or _between(p)
    if found is None:
        return p, layout, ()
    key, gap, note = found
    if gap == getattr(p.surface, key):
        return p, layout, (note,)
    laid = p.model_copy(update={"surface": p.surface.model_copy(update={key: gap})})
    return laid, lay_out(laid), (note,)


def _end(p: Parameters, layout: LevelPlan) -> tuple[str, float, Words] | None:
    """The gap at the ends of boards that move with the temperature."""
    surface, day = p.surface, p.gaps.temperature_f
    if day is None or "end_gap" in surface.model_fields_set or material(surface.material).kind != _MOVES:
        return None
    longest = longest_board(layout)
    printed = p.maker.board.end_gap(day)
    if printed is not None:
        told = "gap at board ends {gap} at {day} degrees Fahrenheit: the maker's sheet; surface.end_gap decides it"
        return "end_gap", printed, said(told, gap=length(printed), day=number(day, 0))
    gap = max(end_gap(longest, moving(surface.material, "board", p), day, p.gaps).gap, SIXTEENTH)
    note = said(
        "gap at board ends {gap}, for boards of {longest} laid at {day} degrees Fahrenheit; surface.end_gap decides it",
        gap=length(gap),
        longest=length(longest),
        day=number(day, 0),
    )
    return "end_gap", gap, note


def _between(p: Parameters) -> tuple[str, float, Words] | None:
    """The gap between boards of wood, which the schema has as it stays once they are dry."""
    surface, wet = p.surface, p.gaps.moisture
    wood = across_grain(surface.material, p)
    if wet is None or "edge_gap" in surface.model_fields_set or wood is None:
        return None
    gap = wet_gap(surface.edge_gap, surface.board_width, wet, p.gaps.moisture_in_service, wood)
    note = said(
        "gap between boards {gap} as laid at {wet} percent of moisture, so that {dry} stays at {service} percent;"
        " surface.edge_gap decides it",
        gap=length(gap) if gap else "none",
        wet=number(wet, 0),
        dry=length(surface.edge_gap),
        service=number(p.gaps.moisture_in_service, 0),
    )
    return "edge_gap", gap, note


def longest_board(layout: LevelPlan) -> float:
    """Inches of the longest board of the field or the border, which is no longer than it is sold."""
    field = [b.outline.bounds[2] - b.outline.bounds[0] for b in layout.field.boards]
    border = [layout.outline[edge].length for edge, _, _ in layout.border]
    return min(max([*field, *border], default=0.0), layout.parameters.surface.board_length)
