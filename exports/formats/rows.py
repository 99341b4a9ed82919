"""The rows of quantities, cut list and order, and a table as a CSV file.

Numbers are exact in the data (six decimals); columns that end in `_text` are rounded to 1/16 in for paper. A text cell
that a spreadsheet could take for a formula is written with a leading apostrophe.
"""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from ...model.measuring.saw import Notch, end_span
from ...model.order.cuts import Cut, same_cuts
from ...model.order.deliveries import DELIVERIES, delivery_of
from ...model.order.hardware_rules import HardwareItem, SizedCount
from ...model.order.order import MaterialOrder, SpecialLength, StockBar
from ...model.order.quantities import QuantityLine
from ...model.order.takeoff import TakeOff
from ...model.order.tally import runs_of_marks
from ...shared.prices import Prices
from ...shared.units import feet_inches, inches
from ..drafting.wording import worded

TableRows = tuple[Sequence[str], list[list]]
_UNITS = {"fewest boards": "boards", "least length": "in", "least price": "money"}
_RISKY = ("=", "+", "-", "@", "\t", "\r")


def write_csv(path: Path, table: TableRows) -> None:
    """A table with its header; UTF-8, one row a line."""
    header, rows = table
    with open(path, "w", encoding="utf-8", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(header)
        out.writerows([cell(x) for x in row] for row in rows)


def cell(value):
    """A value as CSV carries it: numbers to six decimals, nothing for None, and no text that starts a formula."""
    if value is None:
        return ""
    if isinstance(value, (bool, int)):
        return value
    if isinstance(value, float):
        text = f"{value:.6f}".rstrip("0").rstrip(".")
        return "0" if text == "-0" else text
    text = str(value)
    text = "'" + text if text.startswith(_RISKY) else text
    return " ".join(text.splitlines())  # a bare carriage return would end the row for some readers


def quantity_table(lines: Iterable[QuantityLine]) -> TableRows:
    """One row a role and stock."""
    header = (
        "group",
        "role",
        "stock",
        "material",
        "count",
        "marks",
        "length_ft",
        "shortest_in",
        "longest_in",
        "top_area_sqft",
        "volume_cuft",
        "weight_lb",
    )
    return header, [
        [
            x.group,
            x.role,
            x.stock.name,
            x.stock.material,
            x.count,
            x.marks,
            x.length_ft,
            x.shortest,
            x.longest,
            x.top_area_sqft,
            x.volume_cuft,
            x.weight,
        ]
        for x in lines
    ]


def cut_table(cuts: Iterable[Cut], beside: Mapping[str, str] = {}) -> TableRows:
    """One row a distinct piece. End A is the left end at the saw, the far edge is against the fence. `beside` as in
    the order: which pieces are ripped side by side out of one length; `cut_alike` the other marks that are cut just
    so, whatever their roles."""
    header = (
        "mark",
        "quantity",
        "role",
        "stock",
        "material",
        "length_text",
        "long_point_text",
        "short_point_text",
        "rip_text",
        "end_A",
        "end_B",
        "notches",
        "holes",
        "face_up",
        "mirror_of",
        "where",
        "length_in",
        "long_point_in",
        "short_point_in",
        "rip_in",
        "width_in",
        "thickness_in",
        "end_A_mitre_deg",
        "end_A_bevel_deg",
        "end_B_mitre_deg",
        "end_B_bevel_deg",
        "cut_alike",
        "ripped_beside",
    )
    cuts = list(cuts)
    alike = same_cuts(cuts)
    return header, [[*cut_row(c), ", ".join(alike.get(c.mark, ())), beside_text(c, beside)] for c in cuts]


def cut_row(c: Cut) -> list:
    a, b = c.sizes.ends
    return [
        c.mark,
        c.quantity,
        c.role,
        c.stock.name,
        c.stock.material,
        feet_inches(c.length),
        feet_inches(c.long_point),
        feet_inches(c.short_point),
        inches(c.rip) if c.rip else "",
        ends_text(c, "A"),
        ends_text(c, "B"),
        notch_text(c),
        hole_text(c),
        c.face_up,
        c.mirror_of,
        "; ".join(c.where),
        c.length,
        c.long_point,
        c.short_point,
        c.rip,
        c.sizes.width,
        c.sizes.thickness,
        a.mitre,
        a.bevel,
        b.mitre,
        b.bevel,
    ]


def ends_text(c: Cut, end: str) -> str:
    """The saw's settings at one end; a second cut at the same end follows."""
    return " and ".join(str(s) for s in c.end(end))


def notch_text(c: Cut) -> str:
    """Each notch set out from end A: `at 5'-0", 4" wide, 2 1/2" deep, far edge`; one out of an end's middle
    `1 3/8" into end B, 3/4" to 4 3/4" from the near edge`."""
    return "; ".join(map(_notch_words, c.notches))


def _notch_words(n: Notch) -> str:
    if n.edge == "end":
        low, high = end_span(n)
        return f"{inches(n.width)} into end {n.corner}, {inches(low)} to {inches(high)} from the near edge"
    return (
        f"at {feet_inches(n.start)}, {inches(n.width)} wide, {inches(n.depth)} deep, {n.edge}"
        + (" edge" if n.edge in ("near", "far") else "")
        + (f", out of end {n.corner}" if n.corner else "")
    )


def beside_text(c: Cut, beside: Mapping[str, str]) -> str:
    """Which of these pieces come out of one length with another, side by side: `2 of 6 beside T4`."""
    counts = Counter(beside[i] for i in c.ids if i in beside)
    return "; ".join(f"{n} of {c.quantity} beside {mark}" for mark, n in counts.items())


def hole_text(c: Cut) -> str:
    return "; ".join(
        f"at {feet_inches(h.at)}, {inches(h.across)} across, {inches(h.length)} x {inches(h.width)}" for h in c.holes
    )


def order_table(take_off: TakeOff) -> TableRows:
    """Stock lengths to buy, then hardware, then notes. What `least` made least comes to `plan_total` over all lengths
    of that stock, in `total_unit`; `proven_bound` says that no plan can do with less, `first_fit_total` what the rule
    of thumb would need. A stock row's `for` names the pieces kept whole that come first out of those lengths; `spare`
    of the quantity are for defects. A row of hardware is one size of it: `serves` the marks of the pieces that it holds
    or lies on. Rows stand by `delivery`, the first first; lumber has species, grade and treatment."""
    header = (
        "kind",
        "item",
        "material",
        "edge",
        "length_ft",
        "quantity",
        "unit",
        "unit_price",
        "price",
        "for",
        "least",
        "plan_total",
        "proven_bound",
        "proven_gap",
        "first_fit_total",
        "total_unit",
        "spare",
        "size",
        "coating",
        "serves",
        "size_source",
        "species",
        "grade",
        "treatment",
        "delivery",
    )
    notes = [
        ["note", "", "", "", None, None, "", None, None, worded(note), "", None, None, None, None, "", None, *[""] * 8]
        for note in take_off.notes
    ]
    bought = order_rows(take_off) + special_rows(take_off) + hardware_rows(take_off.hardware, take_off.prices)
    ranks = {name: k for k, name in enumerate(DELIVERIES)}
    return header, sorted(bought, key=lambda r: ranks[r[-1]]) + notes


def order_rows(take_off: TakeOff) -> list[list]:
    """A row a stock, length and delivery."""
    rows = []
    order, prices = take_off.order, take_off.prices
    for x in order.lines:
        for name in DELIVERIES:
            for length, (bars, spare) in x.delivered(name).items():
                each = prices.stock_length(x.stock.name, x.stock.material, length)
                n = len(bars) + spare
                rows.append(
                    [
                        "stock",
                        x.stock.name,
                        x.stock.material,
                        x.edge,
                        length / 12,
                        n,
                        "length",
                        each,
                        None if each is None else each * n,
                        whole_text(order, bars),
                        x.prefer,
                        x.cost,
                        x.bound,
                        x.gap,
                        x.rule_cost,
                        _UNITS.get(x.prefer, "in"),
                        spare,
                        "",
                        "",
                        ", ".join(served_by(bars)),
                        "",
                        *take_off.timber(x.stock),
                        name,
                    ]
                )
    return rows


def special_rows(take_off: TakeOff) -> list[list]:
    """A row a stock and length that the yard does not keep."""
    heaps: dict[tuple, list[SpecialLength]] = {}
    for x in take_off.order.special:
        heaps.setdefault((x.stock, x.edge, x.length, delivery_of(x.role)), []).append(x)
    told = "longer than any length sold: ask the yard for it, or change the design"
    return [
        [
            "special",
            stock.name,
            stock.material,
            edge,
            length / 12,
            len(heap),
            "length",
            None,
            None,
            told,
            "",
            *[None] * 4,
        ]
        + ["", 0, "", "", ", ".join(runs_of_marks(x.mark for x in heap)), "", *take_off.timber(stock), name]
        for (stock, edge, length, name), heap in heaps.items()
    ]


def whole_text(order: MaterialOrder, bars: Iterable[StockBar]) -> str:
    """Which pieces are kept whole out of these lengths: `2 kept whole for the front edge: BD1, FA2`."""
    marks = [b.whole_mark for b in bars if b.whole]
    return (
        f"{len(marks)} kept whole for the {order.whole_edge} edge: {', '.join(dict.fromkeys(marks))}" if marks else ""
    )


def served_by(bars: Iterable[StockBar]) -> tuple[str, ...]:
    """The marks of all pieces that come out of these lengths."""
    return runs_of_marks(m for b in bars for mark in b.marks for m in mark.split("/"))


def hardware_rows(hardware: Iterable[HardwareItem], prices: Prices) -> list[list]:
    """A row a size of each item."""
    rows = []
    for h in hardware:
        for s in h.sized:
            each = h.price(s, prices)
            size = worded(s.size or h.rule.size)
            number, unit = h.rule.bought(s.packs)
            rows.append(
                [
                    "hardware",
                    h.item,
                    "",
                    "",
                    None,
                    number,
                    worded(unit),
                    None if each is None else each * s.packs / number,
                    None if each is None else each * s.packs,
                    f"{needed_text(h, s)}: {worded(h.rule.places)} ({worded(h.rule.source)})",
                    "",
                    None,
                    None,
                    None,
                    None,
                    "",
                    None,
                    size,
                    h.rule.coating,
                    ", ".join(s.serves),
                    h.rule.size_source if size or h.rule.coating else "",
                    "",
                    "",
                    "",
                    h.rule.delivery,
                ]
            )
    return rows


def needed_text(h: HardwareItem, s: SizedCount) -> str:
    """How many of one size, and at how many places where there are several to a place: `156 screws needed, 2 at each of
    78 places`; of what holds connectors how many each takes: `240 nails needed, 16 at each of 12 joist hangers`."""
    if h.rule.unit == "in":
        return f"{feet_inches(s.count)} needed"
    if h.by_measure:
        return f"{s.count:g} {h.rule.unit} needed"
    plural = "" if s.count == 1 else "s"
    each = f", {h.rule.each:g} at each of {s.count / h.rule.each:g} places" if h.rule.each != 1 else ""
    if h.held:
        each = ", " + ", ".join(f"{e} at each of {n:g} {on}{'' if n == 1 else 's'}" for e, n, on in h.held)
    return f"{s.count:g} {h.rule.unit}{plural} needed{each}"
