"""A guard's kit against its maker's sheet, as the builder gives it: what the solids have between holes, at the ends of
the rails, and what comes out of the rails sold."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...shared.said import Words, decimal, said
from ..input.guard_table import GuardKit, KitRail
from ..measuring.kit_seen import KitRailSeen, kit_rails_seen
from .check_result import MAKERS_SHEET, Checking, places

LAST_HOLE = ("rail end from its last hole", "rail end from its last hole on a stair")
NO_SECTION = 12.0  # inches: what closes a corner is no section; our own
SLEEVE_LENGTH = "sleeve length"
NOT_SERVED = "rail cut from a length sold"


def check_kit(c: Checking) -> None:
    kit = c.deck.parameters.guard.kit
    if kit is None:
        return
    seen = kit_rails_seen(c.seen.bays)
    for sloped, rails in ((False, kit), (True, kit.stairs)):
        own = [s for s in seen if s.sloped == sloped]
        if rails is not None and own:
            _holes(c, own, rails, sloped)
            _served(c, own, rails)
    _heights(c, kit)


def _holes(c: Checking, seen: Sequence[KitRailSeen], rails: KitRail, sloped: bool) -> None:
    """Ends, pitch and holes of the rails of one kind, each at its worst."""
    of, on = ("sloping rails", " on a stair") if sloped else ("level rails", "")
    ends = [(min(s.least), s.rail.part.where, (s.rail.id,)) for s in seen]
    c.worst(LAST_HOLE[sloped], MAKERS_SHEET, "at least", ends, of, bound=rails.least_end, unit="in")
    off = [(max(abs(p - rails.pitch) for p in s.pitches), s.rail.part.where, (s.rail.id,)) for s in seen if s.pitches]
    told = said("balusters stand {pitch} on centre, in its holes", pitch=decimal(rails.pitch))
    c.worst(f"baluster off its hole{on}", MAKERS_SHEET, "at most", off, of, bound=0.0, unit="in", why=told)
    size = [
        (s.bay.size / math.cos(math.radians(s.bay.slope)), s.rail.part.where, (s.rail.id,)) for s in seen if s.holes
    ]
    c.worst(f"baluster along its hole{on}", MAKERS_SHEET, "at most", size, of, bound=rails.hole, unit="in")


def _heights(c: Checking, kit: GuardKit) -> None:
    """Foot blocks and sleeves; the greatest of each."""
    level = {b.block_piece.id: b for b in c.seen.bays if b.block_piece is not None and b.slope < 0.01}
    blocks = [m for m in c.of("foot block") if m.id in level]
    if kit.foot_block_height is not None:
        high = [(float(m.box[1, 2] - m.box[0, 2]), m.part.where, (m.id,)) for m in blocks]
        c.worst("foot block height", MAKERS_SHEET, "at most", high, "blocks", bound=kit.foot_block_height, unit="in")
    over = [b for b in c.seen.bays if b.slope < 0.01 and b.clear > max(kit.foot_block_over, NO_SECTION)]
    without = [b for b in over if b.block is None]
    if over:
        why: Words = said("{n} sections longer than {over}", n=str(len(over)), over=decimal(kit.foot_block_over))
        where = without[0].where if without else "whole deck"
        c.state("foot block", MAKERS_SHEET, not without, where, why, places([b.bottom for b in without]))
    sleeves = [(m.length, m.part.where, (m.id,)) for m in c.of("post sleeve")]
    if kit.sleeve_sold is not None:
        c.worst(SLEEVE_LENGTH, MAKERS_SHEET, "at most", sleeves, "sleeves", bound=kit.sleeve_sold, unit="in")


def _served(c: Checking, seen: Sequence[KitRailSeen], rails: KitRail) -> None:
    """Every rail comes out of a length sold, from hole to hole, both ends alike."""
    heaps: dict[str, list[KitRailSeen]] = {}
    for s in seen:
        if not s.served_by(rails):
            heaps.setdefault(s.rail.part.where, []).append(s)
    for where, heap in heaps.items():
        worst = max(heap, key=lambda s: s.long)
        why = said(
            "{long} with {n} holes, {end} from each end: no rail sold gives it with its ends clear of other holes",
            long=decimal(worst.long),
            n=str(len(worst.holes)),
            end=decimal(worst.ends[0]),
        )
        if not worst.holes:
            why = said("{long} is too short for one hole with its least ends", long=decimal(worst.long))
        c.state(NOT_SERVED, MAKERS_SHEET, False, where, why, places([s.rail for s in heap]))
    if not heaps:
        what = "sloping" if seen[0].sloped else "level"
        why = said(f"{{n}} {what} rails, each from hole to hole", n=str(len(seen)))
        c.state(NOT_SERVED, MAKERS_SHEET, True, "whole deck", why)
