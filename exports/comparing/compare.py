"""Two decks side by side: which pieces moved or changed, which marks, what is bought, what it weighs and costs, which
rules.

Everything compared was measured off the solids of both. Both decks are made in one workshop, so that pieces cut alike
are one shape in both and a mark's cut is the same or it is not, without a tolerance of our own.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ...model.deck import Deck
from ...model.design.advised import checked_with_mends
from ...model.design.designed import designed
from ...model.measuring.measure import Measured, measure_all
from ...model.measuring.pairing import SAME_PIECE, paired
from ...model.order.takeoff import TakeOff, take_off
from ...model.parameter_file import locate, prepare
from ...model.solid.part import Workshop
from ...model.solid.roles import ROLES
from ...model.structure.structure import Structure
from ...shared.errors import DesignError
from ...shared.units import feet_inches
from ..drafting.wording import source_text
from ..named_files import price_list

STAYS = 1e-3  # inches: a piece whose middle is this close to where it was has not moved
_RESULTS = ("not met", "not checked", "met")


@dataclass(frozen=True, eq=False)
class Variant:
    """One deck with all that is compared."""

    name: str
    deck: Deck
    measured: Sequence[Measured]
    structure: Structure
    checks: list
    taken: TakeOff

    @property
    def bought(self) -> float:
        """Inches of stock bought, spares included."""
        return sum(line.bought for line in self.taken.order.lines)


@dataclass(frozen=True, eq=False)
class Pair:
    """A piece in both decks, or in one of them (the other None)."""

    a: Measured | None
    b: Measured | None

    @property
    def role(self) -> str:
        return (self.a or self.b).role

    @property
    def where(self) -> str:
        return (self.b or self.a).part.where

    @property
    def moved(self) -> float:
        """Inches from middle to middle; 0 for a piece in one deck alone."""
        return float(np.linalg.norm(self.b.box.mean(axis=0) - self.a.box.mean(axis=0))) if self.a and self.b else 0.0

    @property
    def what(self) -> str:
        """added, gone, cut differently, other stock, moved, or same. A piece that is cut differently may have moved as
        well."""
        if self.a is None:
            return "added"
        if self.b is None:
            return "gone"
        if self.a.stock.alone != self.b.stock.alone:
            return "other stock"
        if self.a.part.shape is not self.b.part.shape:
            return "cut differently"
        return "moved" if self.moved > STAYS else "same"


def variant(
    path: Path,
    changes: Mapping[str, object] | None = None,
    name: str = "",
    shop: Workshop | None = None,
    prices: Path | None = None,
) -> Variant:
    """A parameter file, with `changes` by dotted key in place of its own values, built and measured.

    Raises InputError where the file, a change or its price list cannot be used.
    """
    path = Path(path)
    parameters, layout = prepare(path, changes)
    try:
        listed = price_list(parameters, path, prices)
        made = designed(parameters, shop=shop, layout=layout, prices=listed)
    except DesignError as e:
        raise locate(path, e) from None
    deck, structure = made.deck, made.structure
    measured = measure_all(deck.parts)
    return Variant(
        name or str(path),
        deck,
        measured,
        structure,
        checked_with_mends(deck, measured, structure),
        take_off(deck, measured, listed),
    )


def two(
    a: tuple[Path, Mapping | None, str], b: tuple[Path, Mapping | None, str], prices: Path | None = None
) -> tuple[Variant, Variant]:
    """Two variants, each (file, changes, name), made in one workshop as `match` and `marks` need it."""
    shop = Workshop()
    return variant(*a, shop=shop, prices=prices), variant(*b, shop=shop, prices=prices)


def match(a: Sequence[Measured], b: Sequence[Measured]) -> list[Pair]:
    """Pieces of both decks matched by role and place: first those that stand where they stood, then those whose place
    has the same name, nearest first over the whole place, then what is left of a role within 12 in."""
    found = paired(a, b, [(_spot, np.inf), (_named, np.inf), (lambda m: (m.role,), SAME_PIECE)])
    pairs = [Pair(x, y) for x, y in found]
    rank = {r: k for k, r in enumerate(ROLES)}
    return sorted(pairs, key=lambda p: (rank[p.role], p.where, (p.b or p.a).id, (p.a or p.b).id))


def _spot(m: Measured) -> tuple:
    return m.role, tuple(np.round(m.box.mean(axis=0), 3) + 0.0)


def _named(m: Measured) -> tuple:
    p = m.part
    return m.role, p.where, p.edge, p.stair, p.step


@dataclass(frozen=True)
class ComparedCut:
    """One cut (role, stock and shape) and its mark, number of pieces and length in each deck; an empty mark where it
    has none.

    Where the pieces of one cut became those of another, both stand in one row.
    """

    role: str
    mark_a: str
    count_a: int
    length_a: float | None
    mark_b: str
    count_b: int
    length_b: float | None
    other: bool = False

    @property
    def what(self) -> str:
        if not self.mark_a:
            return "new cut"
        if not self.mark_b:
            return "gone"
        words = ["cut differently"] if self.other else []
        words += [] if self.mark_a == self.mark_b else ["renamed"]
        words += [] if self.count_a == self.count_b else ["other number"]
        return ", ".join(words) or "same"


def marks(a: Sequence[Measured], b: Sequence[Measured], pairs: Iterable[Pair]) -> list[ComparedCut]:
    """Every cut of either deck; `pairs` from `match`. Shapes must come from one workshop."""
    sides = []
    for pieces in (a, b):
        found: dict[tuple, list[Measured]] = {}
        for m in pieces:
            found.setdefault(_cut(m), []).append(m)
        sides.append(found)
    in_a, in_b = sides
    became = Counter(
        (_cut(p.a), _cut(p.b)) for p in pairs if p.a and p.b and _cut(p.a) not in in_b and _cut(p.b) not in in_a
    )
    to: dict[tuple, tuple] = {}
    for (x, y), _ in became.most_common():  # each cut becomes at most one other, the one most of its pieces became
        if x not in to and y not in to.values():
            to[x] = y
    cuts = [_row(x, in_a[x], in_b.get(to.get(x, x), []), x in to) for x in in_a]
    cuts += [_row(y, [], in_b[y], False) for y in in_b if y not in in_a and y not in to.values()]
    rank = {r: k for k, r in enumerate(ROLES)}
    return sorted(cuts, key=lambda c: (rank[c.role], _number(c.mark_a or c.mark_b), c.mark_a == ""))


def _cut(m: Measured) -> tuple:
    return m.role, m.stock.alone, m.part.shape


def _row(cut: tuple, a: list[Measured], b: list[Measured], other: bool) -> ComparedCut:
    x, y = ((side[0].mark, len(side), side[0].length) if side else ("", 0, None) for side in (a, b))
    return ComparedCut(cut[0], *x, *y, other)


def _number(mark: str) -> int:
    return int("".join(ch for ch in mark if ch.isdigit()) or 0)


def rules(a: Iterable, b: Iterable) -> list[tuple[str, str, str, str]]:
    """(rule, source, results in a, results in b) of every rule whose outcome changed: another number not met, or
    checked in one deck alone. The source is the first named: a calculation names the load combination that governs, and
    that may change."""
    count: dict[str, tuple[Counter, Counter]] = {}
    source: dict[str, str] = {}
    for side, results in enumerate((a, b)):
        for r in results:
            count.setdefault(r.rule, (Counter(), Counter()))[side][r.result] += 1
            source.setdefault(r.rule, source_text(r))

    def outcome(c: Counter) -> tuple:
        return c["not met"], bool(c["not checked"]), bool(c["met"])

    return [(rule, source[rule], _said(x), _said(y)) for rule, (x, y) in count.items() if outcome(x) != outcome(y)]


def _said(c: Counter) -> str:
    return ", ".join(f"{c[r]} {r}" for r in _RESULTS if c[r]) or "does not apply"


ComparedRows = list[tuple]


def tables(a: Variant, b: Variant) -> dict[str, tuple[tuple[str, ...], ComparedRows]]:
    """Every table of the comparison by its title: header and rows, plain values."""
    pairs = match(a.measured, b.measured)
    cuts = marks(a.measured, b.measured, pairs)
    return {
        "Sums": (("what", "unit", "A", "B", "difference"), _sums(a, b)),
        "Pieces": (
            ("role", "same", "moved", "greatest move (in)", "cut differently", "other stock", "added", "gone"),
            _pieces(pairs),
        ),
        "Cuts": (
            ("role", "mark in A", "pieces", "length (in)", "mark in B", "pieces", "length (in)", "what"),
            [
                (c.role, c.mark_a, c.count_a, c.length_a, c.mark_b, c.count_b, c.length_b, c.what)
                for c in cuts
                if c.what != "same"
            ],
        ),
        "Bought": (("stock", "A (ft)", "B (ft)", "A price", "B price", "A lengths", "B lengths"), _bought(a, b)),
        "Rules": (("rule", "source", "A", "B"), rules(a.checks, b.checks)),
        "Each piece": (
            ("what", "role", "where", "id in A", "id in B", "moved (in)", "length in A (in)", "length in B (in)"),
            [
                (
                    p.what,
                    p.role,
                    p.where,
                    p.a.id if p.a else "",
                    p.b.id if p.b else "",
                    p.moved,
                    p.a.length if p.a else None,
                    p.b.length if p.b else None,
                )
                for p in pairs
                if p.what != "same"
            ],
        ),
    }


def _sums(a: Variant, b: Variant) -> ComparedRows:
    def row(what, unit, of):
        x, y = of(a), of(b)
        return what, unit, x, y, None if x is None or y is None else y - x

    def results(kind):
        return lambda v: sum(c.result == kind for c in v.checks)

    return [
        row("pieces", "", lambda v: len(v.measured)),
        row("marks", "", lambda v: len({m.mark for m in v.measured})),
        row("length bought", "ft", lambda v: v.bought / 12),
        row("weight delivered", "lb", lambda v: v.taken.totals.delivered),
        row("concrete", "cu yd", lambda v: v.taken.totals.concrete_yards),
        row("price", "", lambda v: price(v.taken)),
        row("items without a price", "", lambda v: len(v.taken.unpriced)),
        *(row(f"checks {kind}", "", results(kind)) for kind in _RESULTS),
    ]


def price(taken: TakeOff) -> float | None:
    """Sum of what has a price; None where nothing has."""
    return taken.price or None


def _pieces(pairs: Iterable[Pair]) -> ComparedRows:
    heaps: dict[str, list[Pair]] = {}
    for p in pairs:
        heaps.setdefault(p.role, []).append(p)
    rows = []
    for role, heap in heaps.items():
        c = Counter(p.what for p in heap)
        if c["same"] < len(heap):
            rows.append(
                (
                    role,
                    c["same"],
                    c["moved"],
                    max(p.moved for p in heap),
                    c["cut differently"],
                    c["other stock"],
                    c["added"],
                    c["gone"],
                )
            )
    return rows


def _bought(a: Variant, b: Variant) -> ComparedRows:
    lines = [{line.name: line for line in v.taken.order.lines} for v in (a, b)]
    rows = []
    for name in dict.fromkeys([*lines[0], *lines[1]]):
        x, y = (side.get(name) for side in lines)
        if (x.counts if x else None) != (y.counts if y else None):
            rows.append(
                (
                    name,
                    x.bought / 12 if x else 0.0,
                    y.bought / 12 if y else 0.0,
                    x.price if x else 0.0,
                    y.price if y else 0.0,
                    _lengths(x),
                    _lengths(y),
                )
            )
    return rows


def _lengths(line) -> str:
    return ", ".join(f"{n} at {feet_inches(length)}" for length, n in line.counts.items()) if line else "none"
