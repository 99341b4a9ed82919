"""Delivery check sheet: every line of the order with a box to tick, a table a delivery, what is needed first on top."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ...model.order.deliveries import DELIVERIES, delivery_of, needed_first, rank
from ..drafting import drawing as d
from ..drafting.tabling import table_rows
from ..drafting.wording import stock_text, worded
from ..formats.rows import served_by
from ..sheets.stage import Stage
from .pages import PLAIN, Pages

if TYPE_CHECKING:
    from ...model.order.takeoff import TakeOff

TICK_BOX = 0.12  # paper inches: a box that a pencil hits
LETTERS = 0.1  # paper inches: read in the hand, not over a saw
_HEAD = ["HERE", "QTY", "WHAT", "LENGTH OR PACK", "FIRST FOR", "PIECES SERVED"]
_WIDTHS = [0.6, 0.45, 3.75, 1.15, 1.0, 1.9]


@dataclass(frozen=True)
class CheckLine:
    """One line of the order as it stands on the sheet. `needed` is the role served that is built first."""

    delivery: str
    needed: str
    quantity: str
    what: str
    pack: str
    serves: str

    @property
    def cells(self) -> list[str]:
        return ["", self.quantity, self.what, self.pack, self.needed.upper(), self.serves.replace(" to ", " TO ")]


def check_lines(stage: Stage, taken: TakeOff) -> list[CheckLine]:
    """Every line of stock and of hardware, by delivery, what is needed first before the rest."""
    found = _stock(stage, taken) + _special(stage, taken) + _hardware(stage, taken)
    names = list(DELIVERIES)
    return sorted(found, key=lambda x: (names.index(x.delivery), rank(x.needed)))


def _stock(stage: Stage, taken: TakeOff) -> list[CheckLine]:
    out = []
    for line in taken.order.lines:
        asked = " ".join(filter(None, taken.timber(line.stock))).upper()
        edge = line.edge.upper()
        for name in DELIVERIES:
            for length, (bars, spare) in line.delivered(name).items():
                whole = sum(bool(b.whole) for b in bars)
                what = ", ".join(
                    filter(
                        None,
                        (
                            f"{stage.stock(line.stock)} {line.stock.material.upper()}",
                            asked,
                            edge,
                            f"{spare} OF THEM SPARE" if spare else "",
                            f"{whole} OF THE BEST" if whole else "",
                        ),
                    )
                )
                first = needed_first(b.needed for b in bars)
                number = str(len(bars) + spare)
                out.append(CheckLine(name, first, number, what, stage.text(length), ", ".join(served_by(bars))))
    return out


def _special(stage: Stage, taken: TakeOff) -> list[CheckLine]:
    return [
        CheckLine(
            delivery_of(x.role),
            x.role,
            "1",
            f"{stage.stock(x.stock)} {x.stock.material.upper()}, LONGER THAN ANY LENGTH SOLD: ASKED FOR",
            stage.text(x.length),
            x.mark,
        )
        for x in taken.order.special
    ]


def _hardware(stage: Stage, taken: TakeOff) -> list[CheckLine]:
    out = []
    for h in taken.hardware:
        for s in h.sized:
            what = ", ".join(
                filter(
                    None,
                    (h.item.upper(), stock_text(worded(s.size or h.rule.size, stage.metric)), h.rule.coating.upper()),
                )
            )
            number, pack = h.rule.bought(s.packs)
            out.append(
                CheckLine(h.rule.delivery, s.needed, f"{number:g}", what, stage.words(pack), ", ".join(s.serves))
            )
    return out


def build(stage: Stage, taken: TakeOff) -> None:
    pages = Pages(stage, 900, "DELIVERY")
    pages.text(
        "TICK EACH LINE AS IT COMES OFF THE TRUCK. WHAT IS NEEDED FIRST STANDS FIRST: STACK IT ON TOP."
        " SEND BACK WHAT IS SPLIT, BOWED OR OF ANOTHER COLOUR BEFORE IT IS CUT.",
        PLAIN,
        gap=0.1,
    )
    lines = check_lines(stage, taken)
    for number, name in enumerate(DELIVERIES, 1):
        rows = [x.cells for x in lines if x.delivery == name]
        if rows:
            pages.table(f"DELIVERY {number}: {name.upper()}", _HEAD, rows, _WIDTHS, "crllll", LETTERS)
    for sheet in pages.sheets:
        for table in [i for i in sheet.items if isinstance(i, d.Table)]:
            sheet.add(*_boxes(table))


def _boxes(table: d.Table) -> list[d.Polyline]:
    """A box to tick at each row's beginning."""
    x, y = table.at[0] + (table.widths[0] - TICK_BOX) / 2, table.at[1]
    found = []
    for k, (deep, _) in enumerate(table_rows(table)):
        if k:
            low = y - (deep + TICK_BOX) / 2
            corners = [(x, low), (x + TICK_BOX, low), (x + TICK_BOX, low + TICK_BOX), (x, low + TICK_BOX)]
            found.append(d.Polyline(corners, True, layer="A-ANNO-SCHD"))
        y -= deep
    return found
