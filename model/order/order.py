"""What to buy and which pieces come out of which length: pieces measured, lengths sold, packed by `packing`.

Each stock is packed by itself, long pieces and short (blocking, risers) together, so that offcuts are used up. Where
boards are clipped, grooved and square-edged boards are two stocks. A piece kept whole is the first out of its length,
and no length gives two of them (`whole_edge`). Two ripped pieces that fit side by side in the stock's width come out of
one length (`rip_pairs`), paired before the lengths are packed; any other strip beside a rip is waste. Inches; prices in
the price list's currency.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from ...shared.prices import Prices
from ...shared.said import Words, decimal, length, said, size
from ...shared.stock import Stock, lengths_sold, material, weight
from ..input.parameters import Order
from ..measuring.board_edges import grooved
from ..measuring.measure import Measured
from ..solid.roles import ROLES, named
from .deliveries import delivery_of, needed_first
from .packing import pack, plain_rule
from .rip_pairs import side_by_side

BOUGHT_WHOLE = named("bought whole")
EVEN_FOOT = 24.0  # inches: from one length to the next
GROOVED, SQUARE = "grooved", "square edge"


@dataclass(frozen=True)
class StockBar:
    """One length bought and what is cut off it in order: `marks` and `lengths`, one entry a cut, `ids` of all the
    pieces. Two pieces ripped out of one cut are one entry, "T1/T4", and `ripped` says what is ripped from what.
    `offcut` is what is left over, `kept` says whether it is long enough to keep. The end trim is cut off first, then a
    kerf follows every piece but the last; `untrimmed` says that the one piece needs all of the length, both ends as
    the mill left them. `whole` is the id of the piece kept whole, which is then the first; "" where there is none.
    `needed` is the role of those pieces that is built first."""

    length: float
    ids: tuple[str, ...]
    marks: tuple[str, ...]
    lengths: tuple[float, ...]
    offcut: float
    kept: bool
    price: float | None
    whole: str = ""
    ripped: tuple[Words, ...] = ()
    untrimmed: bool = False
    needed: str = ""

    @property
    def whole_mark(self) -> str:
        """The mark of the piece kept whole, or ""."""
        return self.marks[0].split("/")[0] if self.whole else ""


@dataclass(frozen=True)
class OrderLine:
    """One stock. `bars` cut up; `spare` lengths bought for defects; `cost` and `bound` in what was made least
    (`prefer`), for the ripped pieces paired as they are (a pairing never costs: what is packed then is the longer
    pieces alone): boards, inches or money; `rule_cost` is what first-fit decreasing would cost, pieces kept whole just
    so. `price` of the lengths that have one, None where none has."""

    stock: Stock
    edge: str
    bars: tuple[StockBar, ...]
    spare: tuple[tuple[float, int], ...]
    prefer: str
    cost: float
    bound: float
    gap: float
    method: str
    rule_cost: float
    price: float | None

    @property
    def name(self) -> str:
        return f"{self.stock.name} {self.stock.material}" + (f", {self.edge}" if self.edge else "")

    @property
    def counts(self) -> dict[float, int]:
        """How many of each length to buy, spares included, shortest first."""
        found: dict[float, int] = {}
        for bar in self.bars:
            found[bar.length] = found.get(bar.length, 0) + 1
        for long, n in self.spare:
            found[long] = found.get(long, 0) + n
        return dict(sorted(found.items()))

    def delivered(self, name: str) -> dict[float, tuple[list[StockBar], int]]:
        """By length, shortest first: what comes with one delivery (`deliveries`), and how many spares with it: each
        comes with the length that it can stand in for."""
        number = sum(n for _, n in self.spare)
        found: dict[float, tuple[list[StockBar], int]] = {}
        for k, bar in enumerate(self.bars):
            if delivery_of(bar.needed) == name:
                bars, spare = found.get(bar.length, ([], 0))
                found[bar.length] = [*bars, bar], spare + (k < number)
        return dict(sorted(found.items()))

    @property
    def bought(self) -> float:
        """Inches bought, spares included."""
        return math.fsum(long * n for long, n in self.counts.items())

    @property
    def used(self) -> float:
        """Inches that end up in pieces."""
        return math.fsum(x for b in self.bars for x in b.lengths)

    @property
    def weight(self) -> float:
        """Pounds as delivered."""
        return weight(self.stock, self.bought * self.stock.thickness * self.stock.width)


@dataclass(frozen=True)
class SpecialLength:
    """A length that the yard does not keep, for one piece longer than any that it does; inches."""

    stock: Stock
    edge: str
    length: float
    mark: str
    role: str


@dataclass(frozen=True)
class MaterialOrder:
    """`lines` a stock; `too_long` pieces that come out of no length sold, each named; `unpriced` lengths without a
    price. `whole_edge` is the edge whose pieces are kept whole, "" for none; `notes` what a builder should know of
    them. `beside` gives, by id, the mark of the piece ripped out of the same cut. `special` are lengths to ask for, one
    for each piece in `too_long`."""

    lines: tuple[OrderLine, ...]
    too_long: tuple[Words, ...] = ()
    unpriced: tuple[str, ...] = ()
    notes: tuple[Words, ...] = ()
    whole_edge: str = ""
    beside: Mapping[str, str] = field(default_factory=dict)
    special: tuple[SpecialLength, ...] = ()

    @property
    def price(self) -> float:
        """Sum of all that has a price."""
        return math.fsum(x.price for x in self.lines if x.price is not None)


_AS_USUAL, _UNPRICED = Order(), Prices()


def make_order(
    measured: Iterable[Measured],
    settings: Order = _AS_USUAL,
    prices: Prices = _UNPRICED,
    fastening: str = "hidden",
    longest: Mapping[str, float] | None = None,
    whole: Collection[str] = (),
) -> MaterialOrder:
    """The order for a deck's pieces.

    `fastening` "hidden" buys clipped field boards grooved. `longest` limits the lengths of a material (`{"composite
    board": 192}`): lengths sold beyond it are not used, and that length itself is taken as sold. `whole` are the ids of
    pieces kept whole: each is the first out of a length, which gives no second one.
    """
    heaps = _heaps(
        [
            m
            for m in measured
            if m.role not in named("bought whole") and material(m.stock.material).kind in ("lumber", "board")
        ],
        fastening,
    )
    lines: list[OrderLine] = []
    too_long: list[Words] = []
    special: list[SpecialLength] = []
    unpriced: list[str] = []
    beside: dict[str, str] = {}
    for (stock, edge), pieces in heaps.items():
        sold = _lengths(stock, settings, longest or {})
        most = max(sold)
        fits = [m for m in pieces if _taken(m, most) <= most + 1e-6]
        too_long += [
            said(
                "{id} ({role}, {long} of {stock}; longest sold {sold})",
                id=m.id,
                role=m.role,
                long=decimal(_taken(m, most)),
                stock=stock.name,
                sold=decimal(most, None),
            )
            for m in pieces
            if m not in fits
        ]
        special += [_special(m, edge, settings) for m in pieces if m not in fits]
        if fits:
            blanks = _blanks(fits, stock, settings, whole, most)
            line, without = _line(stock, edge, blanks, sold, settings, prices)
            lines.append(line)
            unpriced += without
            for a, b in (x.pieces for x in blanks if len(x.pieces) == 2):
                beside |= {a.id: b.mark, b.id: a.mark}
    notes = tuple(n for line in lines if (n := _untrimmed_note(line)))
    unpriced += [f"{x.stock.name} {x.stock.material} {x.length / 12:g} ft" for x in special]
    unsold = tuple(dict.fromkeys(unpriced))
    return MaterialOrder(tuple(lines), tuple(too_long), unsold, notes, beside=beside, special=tuple(special))


def _special(m: Measured, edge: str, settings: Order) -> SpecialLength:
    """Sold by the even foot where such a length is sold at all (common practice, no source)."""
    need = m.length + settings.end_trim
    return SpecialLength(m.stock, edge, EVEN_FOOT * math.ceil(need / EVEN_FOOT - 1e-9), m.mark, m.role)


def _untrimmed_note(line: OrderLine) -> Words:
    """What to ask the yard for where a piece is as long as the longest length sold."""
    bars = [b for b in line.bars if b.untrimmed]
    if not bars:
        return ""
    return said(
        "{count} of {stock} {long}: {marks} need the whole length with no end trimmed; pick lengths with square ends",
        count=str(len(bars)),
        stock=line.name,
        long=length(bars[0].length),
        marks=", ".join(dict.fromkeys(m for b in bars for m in b.marks)),
    )


def _taken(m: Measured, longest: float) -> float:
    """What a piece takes out of a stock length: its length, or its long point where a notch takes the tip off after the
    cut. Where no length has room for such a tip, the piece alone: the cut then runs out at the length's end."""
    tip = max(m.length, m.long_point)
    return tip if tip <= longest + 1e-6 else m.length


@dataclass(frozen=True, eq=False)
class _Blank:
    """One cut across a stock length: a piece, or two ripped out of it side by side, the longer first; `whole` the id of
    the one kept whole, or ""."""

    pieces: tuple[Measured, ...]
    whole: str
    length: float

    @property
    def mark(self) -> str:
        return "/".join(m.mark for m in self.pieces)

    @property
    def id(self) -> str:
        return self.pieces[0].id

    @property
    def rips(self) -> Words:
        """What is ripped from what, "" for one piece alone."""
        if len(self.pieces) == 1:
            return ""
        a, b = self.pieces
        wide, narrow = a.sizes.rip, b.sizes.rip
        assert wide is not None and narrow is not None, "only pieces that are both ripped lie side by side"
        return said(
            "rip {a} to {wide}, then {b} to {narrow} out of the strip beside it",
            a=a.mark,
            wide=size(wide),
            b=b.mark,
            narrow=size(narrow),
        )


def _blanks(
    pieces: Sequence[Measured], stock: Stock, settings: Order, whole: Collection[str], longest: float
) -> list[_Blank]:
    lengths = [_taken(m, longest) for m in pieces]
    first = {i for i, m in enumerate(pieces) if m.id in whole}
    pairs = dict(side_by_side(lengths, [m.sizes.rip for m in pieces], stock.width, settings.kerf, first))
    taken = set(pairs.values())
    return [
        _Blank((m, pieces[pairs[i]]) if i in pairs else (m,), m.id if i in first else "", lengths[i])
        for i, m in enumerate(pieces)
        if i not in taken
    ]


def _heaps(measured: Sequence[Measured], fastening: str) -> dict[tuple[Stock, str], list[Measured]]:
    boards = [m for m in measured if m.role == "board"]
    clipped = {m.id for m, g in zip(boards, grooved(boards)) if g} if fastening == "hidden" else set()
    board_stocks = {m.stock for m in boards}
    heaps: dict[tuple[Stock, str], list[Measured]] = {}
    rank = {r: k for k, r in enumerate(ROLES)}
    for m in sorted(measured, key=lambda m: (rank[m.role], m.stock.name)):
        seen = m.group in ("surface", "stairs", "trim")
        edge = (
            (GROOVED if m.id in clipped else SQUARE)
            if seen and m.stock in board_stocks and fastening == "hidden"
            else ""
        )
        heaps.setdefault((m.stock, edge), []).append(m)
    return heaps


def _lengths(stock: Stock, settings: Order, longest: Mapping[str, float]) -> list[float]:
    own = settings.lengths.get(stock.name)
    if own:
        return sorted(set(own))
    sold = list(lengths_sold(stock))
    limit = longest.get(f"{stock.name} {stock.material}", longest.get(stock.material))
    if limit is not None and material(stock.material).kind == "board":
        sold = [x for x in sold if x <= limit + 1e-6]
        if not any(abs(x - limit) < 1e-6 for x in sold):
            sold.append(limit)
    return sorted(sold)


def _line(
    stock: Stock, edge: str, blanks: Sequence[_Blank], sold: list[float], settings: Order, prices: Prices
) -> tuple[OrderLine, list[str]]:
    price = {x: prices.stock_length(stock.name, stock.material, x) for x in sold}
    costs = {"fewest boards": [1.0] * len(sold), "least length": list(sold)}.get(settings.prefer)
    prefer: str = settings.prefer
    if costs is None:
        each = [p for x in sold if (p := price[x])]
        priced = len(each) == len(sold)
        costs = each if priced else list(sold)
        prefer = prefer if priced else "least length (a length has no price)"
    # what is as long as the longest length sold takes one for itself, with both ends left as they come
    usable = max(sold) - settings.end_trim + 1e-6
    uncut, blanks = [b for b in blanks if b.length > usable], [b for b in blanks if b.length <= usable]
    lengths = [b.length for b in blanks]
    first = {i for i, b in enumerate(blanks) if b.whole}
    plan = pack(lengths, sold, costs, settings.kerf, settings.end_trim, first)
    rule = plain_rule(lengths, sold, costs, settings.kerf, settings.end_trim, first)
    apart = len(uncut) * costs[sold.index(max(sold))]
    bars = sorted(
        [_bar(b.length, [blanks[i] for i in b.pieces], settings, price[b.length]) for b in plan.bars]
        + [_bar(max(sold), [b], settings, price[max(sold)], untrimmed=True) for b in uncut],
        key=lambda b: (-b.length, [-x for x in b.lengths], b.ids),
    )
    share = settings.spare_lumber if material(stock.material).kind == "lumber" else settings.spare_boards
    number = math.ceil(share * len(bars) - 1e-9)
    spare: dict[float, int] = {}
    for bar in bars[:number]:  # the longest bars, so that a spare can stand in for any of them
        spare[bar.length] = spare.get(bar.length, 0) + 1
    bought = [b.length for b in bars] + [x for x, n in spare.items() for _ in range(n)]
    without = [f"{stock.name} {stock.material} {x / 12:g} ft" for x in sorted(set(bought)) if price[x] is None]
    known = [p for x in bought if (p := price[x]) is not None]
    total = math.fsum(known) if known else None
    return OrderLine(
        stock,
        edge,
        tuple(bars),
        tuple(sorted(spare.items())),
        prefer,
        plan.cost + apart,
        plan.bound + apart,
        (plan.cost - plan.bound) / (plan.cost + apart) if plan.cost + apart > 0 else 0.0,
        plan.method,
        rule.cost + apart,
        total,
    ), without


def _bar(
    long: float, blanks: list[_Blank], settings: Order, price: float | None, *, untrimmed: bool = False
) -> StockBar:
    blanks = sorted(blanks, key=lambda b: (not b.whole, -b.length, b.id))
    used = (
        (0.0 if untrimmed else settings.end_trim)
        + math.fsum(b.length for b in blanks)
        + settings.kerf * (len(blanks) - 1)
    )
    left = long - used
    offcut = max(0.0, left - settings.kerf)  # the last cut takes a kerf as well, where anything is left
    return StockBar(
        long,
        tuple(m.id for b in blanks for m in b.pieces),
        tuple(b.mark for b in blanks),
        tuple(b.length for b in blanks),
        offcut,
        offcut >= settings.least_offcut,
        price,
        blanks[0].whole,
        tuple(b.rips for b in blanks if b.rips),
        untrimmed,
        needed_first(m.role for b in blanks for m in b.pieces),
    )
