"""workbook.xlsx: quantities, cut list, order, saw cards, hardware and checks, with totals as formulas, ready to print.

Text is always text: nothing a person typed into a parameter file can become a formula.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import datetime
from itertools import groupby
from pathlib import Path

import xlsxwriter
from xlsxwriter.utility import xl_col_to_name

from ...model.order.takeoff import TakeOff
from ...shared.units import feet_inches, inches
from ..drafting.style import CAUTIONS, CHECK_CAUTION
from ..drafting.wording import limit_text, measured_text, source_text, worded
from .rows import beside_text, cut_row, ends_text, hardware_rows, notch_text, order_rows, quantity_table

_OPTIONS = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
_CREATED = datetime(2000, 1, 1)  # a fixed date, so that a rebuild is the same file


class _Book:
    """An open workbook with its formats."""

    def __init__(self, path: Path, title: str):
        self.book = xlsxwriter.Workbook(str(path), _OPTIONS)
        self.book.set_properties({"title": title, "created": _CREATED})
        add = self.book.add_format
        self.head = add({"bold": True, "bottom": 2, "text_wrap": True, "valign": "bottom"})
        self.bold, self.wrap = add({"bold": True}), add({"text_wrap": True, "valign": "top"})
        self.total = {k: add({"bold": True, "top": 1, "num_format": f}) for k, f in _FORMATS.items()}
        self.number = {k: add({"num_format": f, "valign": "top"}) for k, f in _FORMATS.items()}
        self.text = add({"valign": "top", "text_wrap": True})

    def sheet(
        self,
        name: str,
        columns: Sequence[tuple[str, float, str]],
        rows: Iterable[Sequence],
        note: str = "",
        sums: Sequence[int] = (),
        formulas: dict[int, str] | None = None,
    ) -> int:
        """A table with frozen heading and, under it, SUM formulas of the columns in `sums`; returns the row of the
        total.

        `columns` are (heading, width, format key). `formulas` give a column as a formula of its row, `{r}` the row's
        number. The value beside each formula is what it works out to, for readers that do not calculate.
        """
        sheet = self.book.add_worksheet(name)
        for k, (heading, width, _) in enumerate(columns):
            sheet.set_column(k, k, width)
            sheet.write_string(0, k, heading, self.head)
        columns_sum = [0.0] * len(columns)
        last = 0
        for last, row in enumerate(rows, 1):
            for k, value in enumerate(row):
                kind = columns[k][2]
                if formulas and k in formulas:
                    if value is not None:
                        sheet.write_formula(last, k, formulas[k].format(r=last + 1), self.number[kind], value)
                elif value is None or value == "":
                    sheet.write_blank(last, k, None, self.text)
                elif isinstance(value, (int, float)):
                    sheet.write_number(last, k, value, self.number[kind])
                else:
                    sheet.write_string(last, k, str(value), self.text)
                if isinstance(value, (int, float)):
                    columns_sum[k] += value
        if sums and last:
            sheet.write_string(last + 1, 0, "Total", self.total["text"])
            for k in sums:
                c = xl_col_to_name(k)
                sheet.write_formula(last + 1, k, f"=SUM({c}2:{c}{last + 1})", self.total[columns[k][2]], columns_sum[k])
        self._printed(sheet, last + 2, len(columns))
        if note:
            sheet.write_string(last + 3, 0, note, self.bold)
        return last + 2

    def _printed(self, sheet, rows: int, columns: int) -> None:
        sheet.freeze_panes(1, 0)
        sheet.repeat_rows(0)
        sheet.set_landscape()
        sheet.set_paper(1)  # letter
        sheet.fit_to_pages(1, 0)
        sheet.set_margins(left=0.5, right=0.5, top=0.6, bottom=0.8)
        sheet.set_footer(
            "&L&8Verify on site. Not a substitute for the local code, an engineer or the authority having"
            " jurisdiction.&R&8&A  &P / &N"
        )
        sheet.autofilter(0, 0, max(1, rows - 2), columns - 1)


_FRAME_COLUMNS = (
    ("of the frame", 20, "text"),
    ("value", 12, "text"),
    ("from", 11, "text"),
    ("bound by", 34, "text"),
    ("ratio", 8, "text"),
    ("runner-up", 28, "text"),
    ("it would take", 30, "text"),
    ("why", 50, "text"),
)
_FORMATS = {
    "text": "@",
    "count": "0",
    "inch": "0.000",
    "feet": "0.0",
    "area": "0.0",
    "volume": "0.00",
    "weight": "#,##0",
    "money": "#,##0.00",
    "share": "0.0%",
    "value": "General",
    "angle": "0.0",
}


def write_workbook(
    path: Path, title: str, take_off: TakeOff, checks: Iterable, frame: Sequence[tuple[str, ...]] = ()
) -> None:
    """The workbook of one deck: the summary first, which reads the totals of the sheets after it. `frame`: why it is as
    it is (`frame_reasons.reason_lines`)."""
    book = _Book(path, title)
    front = book.book.add_worksheet("Summary")
    quantities_end = _quantities_sheet(book, take_off)
    _cut_list_sheet(book, take_off)
    order_end = _order_sheet(book, take_off)
    hardware_end = _hardware_sheet(book, take_off)
    _saw_sheet(book, take_off)
    _checks_sheet(book, checks)
    if frame:
        book.sheet(
            "Frame",
            _FRAME_COLUMNS,
            frame,
            note="Runner-up: nothing was built for it; what it would take is an estimate.",
        )
    _summary(book, front, title, take_off, quantities_end, order_end, hardware_end)
    book.book.close()


def _quantities_sheet(book: _Book, t: TakeOff) -> int:
    """Returns the row of its total."""
    return book.sheet(
        "Quantities",
        [
            ("group", 11, "text"),
            ("role", 16, "text"),
            ("stock", 14, "text"),
            ("material", 17, "text"),
            ("count", 8, "count"),
            ("marks", 8, "count"),
            ("length, ft", 11, "feet"),
            ("shortest, in", 11, "inch"),
            ("longest, in", 11, "inch"),
            ("top area, sq ft", 11, "area"),
            ("volume, cu ft", 11, "volume"),
            ("weight, lb", 11, "weight"),
        ],
        quantity_table(t.lines)[1],
        sums=(4, 5, 6, 9, 10, 11),
    )


def _cut_list_sheet(book: _Book, t: TakeOff) -> None:
    book.sheet(
        "Cut list",
        [
            ("mark", 8, "text"),
            ("quantity", 8, "count"),
            ("role", 14, "text"),
            ("stock", 10, "text"),
            ("length", 12, "text"),
            ("long point", 12, "text"),
            ("short point", 12, "text"),
            ("rip to", 9, "text"),
            ("ripped beside", 16, "text"),
            ("end A (left)", 26, "text"),
            ("end B (right)", 26, "text"),
            ("notches", 36, "text"),
            ("lies", 16, "text"),
            ("mirror of", 8, "text"),
            ("length, in", 11, "inch"),
        ],
        [
            [
                r[0],
                r[1],
                r[2],
                r[3],
                r[5],
                r[6],
                r[7],
                r[8],
                beside_text(c, t.order.beside),
                ends_text(c, "A"),
                ends_text(c, "B"),
                notch_text(c),
                c.face_up,
                c.mirror_of,
                c.length,
            ]
            for c in t.cuts
            for r in [cut_row(c)]
        ],
        note=(
            "Lengths rounded to 1/16 in, angles to 1/2 degree; end A to the left, far edge to the fence. Wear"
            " protection when cutting."
        ),
        sums=(1,),
    )


def _order_sheet(book: _Book, t: TakeOff) -> int:
    """Returns the row of its total."""
    return book.sheet(
        "Order",
        [
            ("item", 12, "text"),
            ("material", 17, "text"),
            ("edge", 12, "text"),
            ("length, ft", 10, "feet"),
            ("quantity", 9, "count"),
            ("unit price", 11, "money"),
            ("price", 12, "money"),
            ("total length, ft", 12, "feet"),
            ("made least", 16, "text"),
            ("proven gap", 10, "share"),
            ("kept whole", 30, "text"),
            ("spare, of the quantity", 10, "count"),
            ("species", 16, "text"),
            ("grade", 10, "text"),
            ("treatment", 10, "text"),
            ("delivery", 16, "text"),
        ],
        [
            [r[1], r[2], r[3], r[4], r[5], r[7], r[8], r[4] * r[5], r[10], r[13], r[9], r[16], *r[21:]]
            for r in order_rows(t)
        ],
        sums=(4, 6, 7),
        formulas={6: "=E{r}*F{r}", 7: "=D{r}*E{r}"},
    )


def _hardware_sheet(book: _Book, t: TakeOff) -> int:
    """Returns the row of its total."""
    return book.sheet(
        "Hardware",
        [
            ("item", 20, "text"),
            ("packs", 8, "count"),
            ("pack", 16, "text"),
            ("unit price", 11, "money"),
            ("price", 12, "money"),
            ("needed for", 80, "text"),
            ("size", 26, "text"),
            ("coating", 20, "text"),
            ("serves", 40, "text"),
            ("delivery", 16, "text"),
        ],
        [[r[1], r[5], r[6], r[7], r[8], r[9], *r[17:20], r[24]] for r in hardware_rows(t.hardware, t.prices)],
        sums=(4,),
        formulas={4: "=B{r}*D{r}"},
    )


def _saw_sheet(book: _Book, t: TakeOff) -> None:
    book.sheet(
        "Saw cards",
        [
            ("how many", 8, "count"),
            ("stock", 30, "text"),
            ("length, ft", 10, "feet"),
            ("pieces in order", 60, "text"),
            ("offcut, in", 10, "inch"),
            ("keep", 7, "text"),
            ("kept whole: cut first", 12, "text"),
            ("ripped side by side", 46, "text"),
        ],
        _saw_rows(t),
        sums=(0,),
        note=(
            "Each length alike is cut in the order shown: end trim first, a kerf after each piece. Lengths are long"
            " points; ends as in the cut list."
        ),
    )


def _checks_sheet(book: _Book, checks: Iterable) -> None:
    book.sheet(
        "Checks",
        [
            ("rule", 40, "text"),
            ("place", 16, "text"),
            ("measured", 14, "text"),
            ("limit", 18, "text"),
            ("result", 12, "text"),
            ("source", 40, "text"),
            ("why", 40, "text"),
        ],
        [
            [c.rule, worded(c.place), measured_text(c), limit_text(c), c.result, source_text(c), worded(c.why)]
            for c in checks
        ],
        note=CHECK_CAUTION,
    )


def _saw_rows(t: TakeOff) -> list[list]:
    """One row for all lengths that are cut alike, longest first within each stock."""
    rips = {c.mark: c.rip for c in t.cuts if c.rip}
    rows: Counter[tuple] = Counter()
    for x in t.order.lines:
        for b in x.bars:
            runs = [
                (f"{m} {feet_inches(v)}" + (f" (rip to {inches(rips[m])})" if m in rips else ""), len(list(same)))
                for (m, v), same in groupby(zip(b.marks, b.lengths))
            ]
            pieces = ", ".join(f"{n} x {words}" if n > 1 else words for words, n in runs)
            rows[
                x.name,
                b.length / 12,
                pieces,
                round(b.offcut, 6),
                "keep" if b.kept else "",
                b.whole_mark,
                "; ".join(map(worded, b.ripped)),
            ] += 1
    return [[n, *row] for row, n in rows.items()]


def _summary(
    book: _Book, sheet, title: str, t: TakeOff, quantities_end: int, order_end: int, hardware_end: int
) -> None:
    sheet.set_column(0, 0, 34)
    sheet.set_column(1, 1, 16)
    sheet.set_landscape()
    sheet.set_paper(1)
    sheet.fit_to_pages(1, 0)
    sheet.write_string(0, 0, title, book.bold)
    rows = [
        ("Pieces", f"=Quantities!E{quantities_end}", t.totals.pieces, "count"),
        (
            "Weight with concrete, lb",
            f"=Quantities!L{quantities_end}",
            sum(t.totals.weight_by_group.values()),
            "weight",
        ),
        ("Lumber and boards", f"=Order!G{order_end}" if t.order.lines else "=0", t.order.price, "money"),
        ("Hardware and concrete", f"=Hardware!E{hardware_end}" if t.hardware else "=0", t.hardware_price, "money"),
    ]
    for k, (label, formula, value, kind) in enumerate(rows, 2):
        sheet.write_string(k, 0, label)
        sheet.write_formula(k, 1, formula, book.number[kind], value)
    sheet.write_string(6, 0, "Total of what has a price", book.bold)
    sheet.write_formula(6, 1, "=B5+B6", book.total["money"], t.price)
    sheet.write_string(7, 0, "Surface, sq ft")
    sheet.write_number(7, 1, t.totals.surface_area / 144, book.number["area"])
    sheet.write_string(8, 0, "Concrete, cu yd")
    sheet.write_number(8, 1, t.totals.concrete_yards, book.number["volume"])
    row = 10
    for group, pounds in t.totals.weight_by_group.items():
        sheet.write_string(row, 0, f"Weight, {group}, lb")
        sheet.write_number(row, 1, pounds, book.number["weight"])
        row += 1
    row += 1
    if t.unpriced:
        sheet.write_string(row, 0, "Without a price: " + ", ".join(t.unpriced), book.bold)
        row += 1
    for line in (*map(worded, t.notes), *CAUTIONS):  # across the sheet, in as many lines as it takes
        sheet.merge_range(row, 0, row, 6, "", book.text)
        sheet.write_string(row, 0, line, book.text)
        sheet.set_row(row, 15 * math.ceil(len(line) / 85))
        row += 1
