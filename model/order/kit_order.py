"""What of a guard comes as a kit: which rails come out of which lengths, cut at their holes, and what is left of them.

A second piece out of one rail begins at a further hole, so that more than the saw's kerf is lost between two. Packed by
first-fit with the longest pieces first, for each length sold in turn, each rail then of the shortest length that gives
its pieces; the way that buys least is taken. No bound is proved. Inches.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ...shared.said import Words, decimal, length, number, said, size
from ..input.guard_table import GuardKit, KitRail
from ..measuring.bay_seen import see_bays
from ..measuring.kit_seen import KitRailSeen, kit_rails_seen
from ..measuring.measure import Measured
from ..plan.kit_cuts import first_hole, holes_of
from .hardware_rules import Rule
from .packing import pack
from .tally import Placed


@dataclass(frozen=True, eq=False)
class KitPiece:
    """A rail cut from the position `first` to `last` among the holes of the rail as sold, counted from 0; `start` and
    `end` where it is cut, from that rail's end."""

    seen: KitRailSeen
    first: int
    last: int
    start: float
    end: float


@dataclass(frozen=True, eq=False)
class KitBar:
    """One rail bought, `sloped` for a stair, and the pieces that come out of it in order."""

    length: float
    sloped: bool
    pieces: tuple[KitPiece, ...]

    @property
    def used(self) -> float:
        return math.fsum(p.seen.long for p in self.pieces)


@dataclass(frozen=True, eq=False)
class KitCutting:
    """All rails to buy; `unserved` are those that no rail sold gives. `sleeves` that come out of one as sold, each
    time, and `long_sleeves` that are longer than one."""

    bars: tuple[KitBar, ...] = ()
    unserved: tuple[KitRailSeen, ...] = ()
    sleeves: tuple[tuple[Measured, ...], ...] = ()
    long_sleeves: tuple[Measured, ...] = ()

    @property
    def bought(self) -> float:
        return math.fsum(b.length for b in self.bars)

    @property
    def used(self) -> float:
        return math.fsum(b.used for b in self.bars)


def cut_kit(measured: Sequence[Measured], kit: GuardKit, kerf: float) -> KitCutting:
    """The kit's rails of a deck, level ones and those of stairs apart."""
    seen = kit_rails_seen(see_bays(measured))
    bars: list[KitBar] = []
    unserved: list[KitRailSeen] = []
    for sloped, rails in ((False, kit), (True, kit.stairs)):
        own = [s for s in seen if s.sloped == sloped]
        if rails is not None and own:
            found, left = _packed(own, rails, sloped, kerf)
            bars += found
            unserved += left
    return KitCutting(tuple(bars), tuple(unserved), *_sleeves(measured, kit.sleeve_sold, kerf))


def _sleeves(
    measured: Sequence[Measured], sold: float | None, kerf: float
) -> tuple[tuple[tuple[Measured, ...], ...], tuple[Measured, ...]]:
    """Sleeves by the one as sold that they come out of, and those that are longer."""
    sleeves = [m for m in measured if m.role == "post sleeve"]
    if sold is None or not sleeves:
        return (), ()
    fits = [m for m in sleeves if m.length <= sold + 1e-6]
    bars = pack([m.length for m in fits], [sold], [1.0], kerf).bars if fits else ()
    return tuple(tuple(fits[i] for i in bar.pieces) for bar in bars), tuple(m for m in sleeves if m not in fits)


@dataclass(eq=False)
class _Open:
    """A rail that is being filled."""

    length: float
    holes: Sequence[float]
    kit: KitRail
    pieces: list[KitPiece] = field(default_factory=list)

    def takes(self, seen: KitRailSeen, kerf: float) -> bool:
        count, (before, after) = len(seen.holes), seen.reach
        since = self.pieces[-1].end + kerf if self.pieces else 0.0
        if not count:  # no hole says where it is cut
            return False
        k = first_hole(self.holes, self.length, count, before, after, since, seen.off_holes(self.kit))
        if k is None:
            return False
        last = k + count - 1
        self.pieces.append(KitPiece(seen, k, last, self.holes[k] - before, self.holes[last] + after))
        return True


def _filled(seen: Iterable[KitRailSeen], sold: float, kit: KitRail, kerf: float) -> tuple[list[_Open], list]:
    """First-fit of pieces, longest first, into rails `sold` so long; and those that such a rail does not give."""
    holes, opened, left = holes_of(sold, kit), list[_Open](), list[KitRailSeen]()
    for s in sorted(seen, key=lambda s: (-s.long, s.rail.id)):
        if any(bar.takes(s, kerf) for bar in opened):
            continue
        fresh = _Open(sold, holes, kit)
        if fresh.takes(s, kerf):
            opened.append(fresh)
        else:
            left.append(s)
    return opened, left


def _packed(
    seen: Sequence[KitRailSeen], kit: KitRail, sloped: bool, kerf: float
) -> tuple[list[KitBar], list[KitRailSeen]]:
    sold = sorted(set(kit.rail_lengths))
    ways: list[tuple[list[KitBar], list[KitRailSeen]]] = []
    for first in sold:
        bars, rest = _filled(seen, first, kit, kerf)
        for other in sold:
            if other != first:
                more, rest = _filled(rest, other, kit, kerf)
                bars += more
        ways.append(([_shortest(b, sold, kit, sloped, kerf) for b in bars], rest))
    bars_found, left = min(ways, key=lambda w: (len(w[1]), math.fsum(b.length for b in w[0]), len(w[0])))
    return sorted(bars_found, key=lambda b: (-b.length, [-p.seen.long for p in b.pieces])), left


def _shortest(bar: _Open, sold: Sequence[float], kit: KitRail, sloped: bool, kerf: float) -> KitBar:
    """The pieces of a rail in the shortest length that gives them in this order."""
    for long in sold:
        tried = _Open(long, holes_of(long, kit), kit)
        if all(tried.takes(p.seen, kerf) for p in bar.pieces):
            return KitBar(long, sloped, tuple(tried.pieces))
    raise AssertionError("the length that they were packed in gives them")


@dataclass(frozen=True)
class KitPlaces:
    """What is bought of a kit beside its brackets, and by item how many of it are in a pack."""

    placed: tuple[Placed, ...] = ()
    packs: Mapping[str, int] = field(default_factory=dict)

    def of(self, rule: Rule) -> Rule:
        """The data of an item as the kit has it."""
        n = self.packs.get(rule.item)
        return rule if n is None else replace(rule, pack=n, pack_name=f"pack of {n}" if n > 1 else "each")


def kit_places(measured: Sequence[Measured], kit: GuardKit, cutting: KitCutting) -> KitPlaces:
    """Rails by length, balusters, foot blocks, sleeves."""
    placed = []
    for bar in cutting.bars:
        told = said("{long} long, for stairs" if bar.sloped else "{long} long, level", long=size(bar.length))
        placed.append(Placed("kit rail", 1, tuple(p.seen.rail for p in bar.pieces), told, long=bar.length))
    for m in measured:
        if m.role == "baluster":
            placed.append(Placed("kit baluster", 1, (m,), said("{long} long", long=size(m.length))))
        elif m.role == "foot block":
            placed.append(Placed("kit foot block", 1, (m,)))
    for sleeves in cutting.sleeves:
        assert kit.sleeve_sold is not None, "only then are they cut"
        wide = size(sleeves[0].stock.width)
        told = said("{wide} square, {long} long as sold", wide=wide, long=size(kit.sleeve_sold))
        placed.append(Placed("post sleeve", 1, sleeves, told, long=kit.sleeve_sold))
    for m in cutting.long_sleeves:
        wide = size(m.stock.width)
        told = said("{wide} square, {long} long: longer than sold, ask for it", wide=wide, long=size(m.length))
        placed.append(Placed("post sleeve", 1, (m,), told, long=m.length))
    return KitPlaces(tuple(placed), in_packs(kit))


def kit_notes(kit: GuardKit, cutting: KitCutting) -> list[Words]:
    """The waste of the kit, and what no rail of it gives."""
    notes: list[Words] = []
    for sloped, what in ((False, "level"), (True, "stairs")):
        bars = [b for b in cutting.bars if b.sloped == sloped]
        if bars:
            bought, used = math.fsum(b.length for b in bars), math.fsum(b.used for b in bars)
            notes.append(
                said(
                    f"kit rails, {what}: {{n}} of {{bought}} in all, {{used}} in rails, {{waste}} ({{share}} percent)"
                    " waste: cut at their holes",
                    n=str(len(bars)),
                    bought=length(bought),
                    used=length(used),
                    waste=length(bought - used),
                    share=number(100 * (bought - used) / bought, 0),
                )
            )
    if cutting.sleeves and kit.sleeve_sold is not None:
        bought = kit.sleeve_sold * len(cutting.sleeves)
        used = math.fsum(m.length for sleeves in cutting.sleeves for m in sleeves)
        told = "kit sleeves: {n} of {sold}, {waste} waste in all"
        waste = length(bought - used)
        notes.append(said(told, n=str(len(cutting.sleeves)), sold=size(kit.sleeve_sold), waste=waste))
    for s in cutting.unserved:
        told = "{id} ({role}, {long}) comes out of no rail of the kit: it is not ordered"
        notes.append(said(told, id=s.rail.id, role=s.rail.role, long=decimal(s.long)))
    return notes


def kit_bought(
    measured: Sequence[Measured], kit: GuardKit | None, kerf: float
) -> tuple[KitCutting, KitPlaces, list[Words]]:
    """How a kit's rails are cut, what is bought of it, and what should be known; nothing without a kit."""
    if kit is None:
        return KitCutting(), KitPlaces(), []
    cutting = cut_kit(measured, kit, kerf)
    return cutting, kit_places(measured, kit, cutting), kit_notes(kit, cutting)


def in_packs(kit: GuardKit) -> dict[str, int]:
    """By item, how many of the kit's are in a pack."""
    return {
        "kit rail": kit.rails_in_pack,
        "kit baluster": kit.balusters_in_pack,
        "kit foot block": kit.foot_blocks_in_pack,
        "rail bracket": kit.brackets_in_pack,
    }
