"""Cards for the site: sheets to mark, cut and lay by, drawn from the same solids as the permit set.

Big type, black on white, one thing a sheet, on letter or A4. Every figure is measured off the pieces, none is typed.
The sheets are numbered Z-101 and on: Z is the guideline's letter for shop drawings.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ...shared.papers import papers
from ..drafting.draft import arrange
from ..drafting.drawing import DrawingSet
from ..sheets.stage import Stage
from . import (
    blocking_rows,
    board_layout,
    delivery_sheet,
    frame_marks,
    gap_card,
    guard_card,
    hardware_card,
    heights_card,
    inspection_card,
    ledger_card,
    notch_cards,
    saw_card,
    setting_out,
    stair_cards,
    string_lines,
    stringer_card,
    treads_card,
    work_card,
)
from .days import put_together

if TYPE_CHECKING:
    from ...model.order.takeoff import TakeOff

# what the document says of itself in its properties
KIND = "Site cards"
SUBJECT = "Cards to mark, cut, lay and inspect a residential deck by, on site"
DELIVERY_KIND = "Delivery check sheet"
DELIVERY_SUBJECT = "What is ordered for a residential deck, to tick off as it comes"


def card_paper(sheets: str, metric: bool) -> str:
    """Letter or A4: what a printer has where the permit sheets are on this paper."""
    own = papers()[sheets].cards
    # metric work on an inch paper other than the printer's own: the printer is metric too
    return next(p.cards for p in papers().values() if p.metric) if metric and own != sheets else own


def build_cards(
    deck,
    measured: Any = None,
    *,
    temperature_f: float | None = None,
    plan: Any = None,
    paper: str | None = None,
    metric: bool | None = None,
    date: str | None = None,
) -> DrawingSet:
    """The cards of one deck as data, ready for any writer.

    `deck`: model.deck.Deck; `measured`: the rows of model.measure. `temperature_f`: of the boards on the day of laying,
    in degrees Fahrenheit; default: the parameter file's. `plan`: model.order.Order, whose bars make the saw card;
    without one there is no saw card. `paper` (letter, A4) defaults to the one that goes with the permit sheets: A4 with
    ISO papers and with `metric` units (default: as the file says), letter with the others.
    """
    p = deck.parameters
    stage = _begun(deck, measured, "SITE CARD", paper, metric, date)
    frame_marks.build(stage)
    ledger_card.build(stage)
    blocking_rows.build(stage)
    setting_out.build(stage)
    heights_card.build(stage)
    string_lines.build(stage)
    board_layout.build(stage)
    notch_cards.build(stage)
    stringer_card.build(stage)
    stair_cards.build(stage)
    treads_card.build(stage)
    guard_card.build(stage)
    hardware_card.build(stage)
    if plan is not None:
        saw_card.build(stage, plan)
    gap_card.build(stage, p.gaps.temperature_f if temperature_f is None else temperature_f)
    put_together(stage.drawing)
    inspection_card.build(stage)
    work_card.build(stage)
    arrange(stage.drawing)
    return stage.drawing


def build_delivery(
    deck,
    measured: Any,
    taken: TakeOff,
    *,
    paper: str | None = None,
    metric: bool | None = None,
    date: str | None = None,
) -> DrawingSet:
    """The delivery check sheet of one deck's order; what is not said here as in `build_cards`."""
    stage = _begun(deck, measured, "DELIVERY CHECK SHEET", paper, metric, date)
    delivery_sheet.build(stage, taken)
    arrange(stage.drawing)
    return stage.drawing


def _begun(deck, measured: Any, document: str, paper: str | None, metric: bool | None, date: str | None) -> Stage:
    p, project = deck.parameters, deck.parameters.project
    metric = p.drawing.units == "metric" if metric is None else metric
    drawing = DrawingSet(
        fields={
            "project": project.name,
            "address": project.address,
            "owner": project.owner,
            "creator": project.author,
            "document": document,
            "date": project.date if date is None else date,
            "revision": project.revision,
            "number": project.number,
        },
        metric=metric,
    )
    return Stage(deck, measured, (), paper or card_paper(p.drawing.paper, metric), metric, drawing)
