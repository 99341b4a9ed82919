"""What the data says of each item of hardware and supplies, and an item as it is ordered.

`shared/data/fasteners.csv` has a row an item: how many at a place, size, coating, pack, with which delivery it comes.
`shared/data/nails.csv` says what each connector is fastened with: what holds a connector goes when it goes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, reduce

from ...shared.prices import Prices
from ...shared.said import Words, quoting
from ...shared.standards import table

POURED = "cu yd"
MEASURES = ("in", "sq ft", POURED)  # units of what is bought by measure, not by number


@dataclass(frozen=True)
class Rule:
    """`each` at every place, sold `pack` at a time as `pack_name`; `places` says in words where they go. Of those in a
    line: `end` from its ends and `rows` apart, both in inches; `diameter` in inches where a published row names it.
    `size` and `coating` as bought, with the source of both; `delivery` is the one it comes with (`deliveries`)."""

    item: str
    each: float
    unit: str
    pack: float
    pack_name: Words
    places: Words
    source: Words
    size: Words
    coating: str
    size_source: str
    delivery: str
    end: float | None = None
    rows: float | None = None
    diameter: float | None = None

    def bought(self, packs: int) -> tuple[float, Words]:
        """How many of what so many packs are on an order: what is poured goes by its volume."""
        return (packs * self.pack, self.unit) if self.unit == POURED else (packs, self.pack_name)


@dataclass(frozen=True)
class Nailing:
    """What one connector takes of one fastener: so many `into_carrier` and `into_carried`, for stock no deeper than
    `depth` inches (None: any)."""

    connector: str
    item: str
    into_carrier: int
    into_carried: int
    depth: float | None
    source: str

    @property
    def each(self) -> int:
        return self.into_carrier + self.into_carried


@dataclass(frozen=True)
class SizedCount:
    """So many of one size of an item, and the marks that it serves; `size` "" where the item has but one. `needed` is
    the role of the pieces served that is built first. `long`
    in inches where it is sold by length, so that its price goes by that."""

    size: Words
    count: float
    packs: int
    serves: tuple[str, ...]
    needed: str
    long: float | None = None


@dataclass(frozen=True)
class HardwareItem:
    """`places` counted, `count` needed (in `rule.unit`), `packs` to buy: by size in `sized`. `held` says what a
    fastener of connectors holds: (of it at each, how many, connector)."""

    rule: Rule
    places: float
    count: float
    packs: int
    sized: tuple[SizedCount, ...]
    held: tuple[tuple[int, float, str], ...] = ()

    @property
    def item(self) -> str:
        return self.rule.item

    def price(self, sized: SizedCount, prices: Prices) -> float | None:
        """Of one pack of that size; None where the list has none."""
        own = None if sized.long is None else prices.stock_length(self.item, "", sized.long)
        return prices.each(self.item) if own is None else own

    def total_price(self, prices: Prices) -> float | None:
        """Of all packs; None where one size has no price."""
        found = [(self.price(s, prices), s.packs) for s in self.sized]
        known = [each * packs for each, packs in found if each is not None]
        return math.fsum(known) if len(known) == len(found) else None

    @property
    def by_measure(self) -> bool:
        return self.rule.unit in MEASURES


@cache
def rules() -> dict[str, Rule]:
    """The data, by item, in the order of the file."""
    return {
        r["item"]: Rule(
            r["item"],
            float(r["each"]),
            r["unit"],
            float(r["pack"]),
            quoting(r["pack_name"]),
            _told(r, "for"),
            _told(r, "source"),
            _told(r, "size"),
            r["coating"],
            r["size_source"],
            r["delivery"],
            *(float(r[k]) if r[k] else None for k in ("end_in", "rows_in", "diameter_in")),
        )
        for r in table("fasteners")
    }


@cache
def nailings() -> tuple[Nailing, ...]:
    """The data, in the order of the file: of one connector the shallowest stock first."""
    return tuple(
        Nailing(
            r["connector"],
            r["item"],
            int(r["into_carrier"]),
            int(r["into_carried"]),
            float(r["depth_in"]) if r["depth_in"] else None,
            r["source"],
        )
        for r in table("nails")
    )


def nailing(connector: str, depth: float) -> list[Nailing]:
    """What a connector for stock of that depth (inches) is fastened with: of each fastener the first row that is deep
    enough."""
    found: dict[str, Nailing] = {}
    for n in nailings():
        if n.connector == connector and (n.depth is None or depth <= n.depth + 1e-6):
            found.setdefault(n.item, n)
    return list(found.values())


def _told(r: dict[str, str], column: str) -> Words:
    """A text of the data, the row's own distances in it."""
    own = {f"{{{k}}}": f"{{{r[f'{k}_in']} in}}" for k in ("end", "rows", "diameter")}
    return quoting(reduce(lambda text, name: text.replace(name, own[name]), own, r[column]))


def in_rows(item: str, length: float) -> int:
    """Rows of a fastener along `length` inches, by the data's distances from the ends and between rows."""
    rule = rules()[item]
    assert rule.rows is not None, f"{item} stands in no row"
    return math.ceil(max(0.0, length - 2 * (rule.end or 0.0)) / rule.rows - 1e-9) + 1
