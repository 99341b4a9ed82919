"""Everything that goes to the yard and the saw, off one deck's measurements: quantities, cut list, order, hardware,
price."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from ...shared.cited import Row
from ...shared.prices import Prices
from ...shared.said import Words, decimal, length, number, said, size, together
from ...shared.said import span as span_of
from ...shared.standards import find_limit, ledger_fastener_spacing
from ...shared.stock import Stock, own_sizes
from ..input.lumber_grade import LumberGrade
from ..input.parameters import Order, Parameters
from ..measuring.hold_downs import hold_down_strength
from ..measuring.measure import Measured
from ..plan.roof_snow import roof_snow
from ..plan.whole_edge import AUTO
from ..solid.roles import named
from .already_there import new_of, standing, still_to_join
from .bolt_sizes import AskedOf
from .cuts import Cut, cut_list
from .fasteners import fasteners
from .hardware_rules import HardwareItem
from .kept_whole import joints, kept_whole
from .kit_order import KitCutting, kit_bought
from .order import MaterialOrder, make_order
from .quantities import QuantityLine, Totals, quantities, totals
from .sheet_counts import lengths_by_sheet, sheet_counts
from .supplies import TREATED

if TYPE_CHECKING:
    from ..deck import Deck

LEDGER_FASTENER = "lag screw"
TRIM = named("trim board")


@dataclass(frozen=True)
class TakeOff:
    """`unpriced` names every stock length and item without a price; `price` is the sum of what has one."""

    lines: list[QuantityLine]
    totals: Totals
    cuts: list[Cut]
    order: MaterialOrder
    hardware: list[HardwareItem]
    prices: Prices = field(default_factory=Prices)
    notes: tuple[Words, ...] = ()
    wood: LumberGrade = field(default_factory=LumberGrade)
    kit: KitCutting = field(default_factory=KitCutting)

    def timber(self, stock: Stock) -> tuple[str, str, str]:
        """Species, grade and treatment (use category) to ask for; "" for what the file does not say of that stock:
        another material's name is its species."""
        if stock.material != TREATED:
            return "", "", ""
        if stock.given is not None:
            return "", stock.given.standard, self.wood.treatment
        return self.wood.species, self.wood.grade, self.wood.treatment

    @property
    def unpriced(self) -> tuple[str, ...]:
        return self.order.unpriced + tuple(h.item for h in self.hardware if h.total_price(self.prices) is None)

    @property
    def hardware_price(self) -> float:
        return math.fsum(h.total_price(self.prices) or 0.0 for h in self.hardware)

    @property
    def price(self) -> float:
        return self.order.price + self.hardware_price


def take_off(deck: Deck, measured: Sequence[Measured], prices: Prices | None = None) -> TakeOff:
    """The take-off of a deck; `measured` are its parts in order. Of a frame that stands, as surveyed, nothing is
    ordered or cut: it is counted among the quantities alone."""
    p, prices, stands = deck.parameters, prices or Prices(), standing(deck)
    new = new_of(measured, stands)
    longest = longest_sold(p, measured)
    (span, row), given = ledger_row(deck), ledger_given(deck)
    notes = _ledger_notes(span, row, given)
    edge = deck.layout.whole_edge
    whole = kept_whole(deck.layout, measured, edge)
    if stands:
        told = "{n} pieces stand as surveyed: neither they nor what joins them is ordered or on the cut list"
        notes.append(said(told, n=number(len(stands))))
    order = make_order(new, lengths_by_sheet(p, new), prices, p.surface.fastening, longest, {m.id for m in whole})
    if edge is not None:
        order = replace(order, whole_edge=edge.name, notes=(*whole_notes(deck, whole), *order.notes))
    cutting, _, of_kit = kit_bought(new, p.guard.kit, p.order.kerf)
    notes += (*order.notes, *spare_notes(order, p.order), *of_kit)
    for stock in own_sizes(m.stock for m in measured):
        if stock.given is not None and stock.given.density_pcf is None:
            notes.append(
                said(
                    "{stock} weighed at {pcf} pcf, the default for {material}",
                    stock=stock.name,
                    pcf=number(stock.density_pcf, figures=4),
                    material=stock.material,
                )
            )
    notes += [together("longer than any length sold", x, between=": ") for x in order.too_long]
    return TakeOff(
        quantities(measured),
        totals(measured),
        cut_list(new),
        order,
        hardware_of(deck, measured),
        prices,
        tuple(notes),
        p.lumber,
        cutting,
    )


def _ledger_notes(span: float, row: Row | None, given: tuple[str, float] | None) -> list[Words]:
    """By what the ledger's fasteners are counted, or why they are not."""
    if span and given is not None:
        kind, spacing = given
        return [said(f"ledger fasteners: {kind}s {{s}} on centre, as given (hardware)", s=decimal(spacing, None))]
    if span and row is None:
        told = "ledger fasteners not counted: no published spacing for a joist span of {span}"
        return [said(told, span=span_of(span))]
    return [together("ledger fasteners", row.citation, between=": ")] if row is not None else []


def hardware_of(deck: Deck, measured: Sequence[Measured]) -> list[HardwareItem]:
    """What joins the pieces that do not stand already, and supplies; `measured` are the deck's parts in order."""
    p, stands = deck.parameters, standing(deck)
    (_, row), given = ledger_row(deck), ledger_given(deck)
    _, of_kit, _ = kit_bought(new_of(measured, stands), p.guard.kit, p.order.kerf)
    return fasteners(
        measured,
        still_to_join(deck.contacts, stands),
        p.surface.fastening,
        given[1] if given else float(row.value) if row else None,
        p.order.spare_hardware,
        new_of(deck.tied_back, stands),
        stands,
        asked_of(deck),
        of_kit,
        sheet_counts(deck),
    )


def longest_sold(p: Parameters, measured: Sequence[Measured]) -> dict[str, float]:
    """The longest length of a material that is bought, and of each stock of trim, which may be of the surface's own
    material in another length; a stock that both are cut from comes in the longer."""
    found: dict[str, float] = {p.trim.material: p.trim.length, p.surface.material: p.surface.board_length}
    boards = {m.stock for m in measured if m.role not in TRIM}
    for stock in {m.stock for m in measured if m.role in TRIM and m.stock.material == p.trim.material}:
        shared = p.surface.board_length if stock in boards and stock.material == p.surface.material else 0.0
        found[f"{stock.name} {stock.material}"] = max(p.trim.length, shared)
    return found


def spare_notes(order: MaterialOrder, settings: Order) -> tuple[Words, ...]:
    """How lengths are trimmed, and how many are bought for bad ones."""
    if not order.lines:
        return ()
    trim = said(
        "{trim} is cut off one end of each length to square it; a piece as long as the longest length sold takes one"
        " whole, no end trimmed (order.end_trim)",
        trim=size(settings.end_trim),
    )
    spare = said(
        "spare lengths for bad ones: {lumber} percent of lumber (order.spare_lumber), {boards} percent of boards"
        " (order.spare_boards), of each stock rounded up; {number} in all",
        lumber=number(100 * settings.spare_lumber, figures=3),
        boards=number(100 * settings.spare_boards, figures=3),
        number=str(sum(n for line in order.lines for _, n in line.spare)),
    )
    return trim, spare


def whole_notes(deck: Deck, whole: Sequence[Measured]) -> list[Words]:
    """What a builder should know of the edge kept whole: which one, why, and what along it must be joined all the
    same."""
    edge, p = deck.layout.whole_edge, deck.parameters
    assert edge is not None, "asked only where the design keeps an edge whole"
    if not whole:
        return [f"the {edge.name} edge is to be kept whole, but no border, fascia or run lies along it"]
    why = "the longest free edge facing away from the house" if p.order.whole_edge == AUTO else "as asked for"
    notes: list[Words] = [
        f"{edge.name} edge kept whole ({why}; order.whole_edge): {', '.join(dict.fromkeys(m.mark for m in whole))} each"
        " come first out of a board of their own"
    ]
    for a, b in joints(deck.layout, whole, edge):
        longest = p.trim.length if a.role == "fascia" else p.surface.board_length
        notes.append(
            said(
                "{edge} edge: {a} and {b} ({role}) are joined, the edge being longer than the longest board of {long}",
                edge=edge.name,
                a=a.mark,
                b=b.mark,
                role=a.role,
                long=length(longest),
            )
        )
    return notes


def ledger_row(deck: Deck) -> tuple[float, Row | None]:
    """The longest joist span on a ledger and the published row for its fasteners; (0, None) without a ledger, None past
    the table, and where snow from a roof above comes to it: the calculation then tells what would do."""
    p, span = deck.parameters, joist_span(deck)
    if roof_snow(p, deck.layout.outline) is not None:
        return span, None
    return span, (
        ledger_fastener_spacing(
            span / 12, LEDGER_FASTENER, p.local.edition, max(p.loads.live_psf, p.loads.ground_snow_psf)
        )
        if span
        else None
    )


def asked_of(deck: Deck) -> AskedOf:
    """What is asked of hardware bought by its strength: by the file, or else by the code in force."""
    given, edition = deck.parameters.hardware, deck.parameters.local.edition
    post = find_limit("guard_post_holddown_capacity_min", edition)
    return AskedOf(
        given.ledger_fastener or LEDGER_FASTENER,
        given.hold_down_lb or hold_down_strength(edition, len(deck.tied_back)),
        given.guard_post_lb or (post.value if post else None),
    )


def ledger_given(deck: Deck) -> tuple[str, float] | None:
    """The ledger's fastener and its spacing where the file gives both."""
    given = deck.parameters.hardware
    if given.ledger_fastener is None or given.ledger_spacing is None:
        return None
    return given.ledger_fastener, given.ledger_spacing


def joist_span(deck: Deck) -> float:
    """Greatest clear distance from a ledger's face to the nearest bearing of a joist that hangs on it; 0 without a
    ledger."""
    found = []
    for m in deck.members:
        for (a, b), ends in zip(m.clear_spans, itertools.pairwise(m.in_order)):
            if m.role == "joist" and "ledger" in (s.role for s in ends):
                found.append(b - a)
    return max(found, default=0.0)
