"""A second packing, written apart from the order's: first fit and best fit, longest first and in many shuffled orders,
never buys less than the order, spares apart, by more than the gap that the order itself proves. Decks by lot."""

from __future__ import annotations

import math
import random

import decks
import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import take_off
from plumbcut.shared.stock import lengths_sold, material

SHUFFLES = 40


def packed(pieces: list[float], sold: list[float], kerf: float, trim: float, best: bool) -> float:
    """Inches bought for pieces in this order: each into the first bar, or the fullest, that still has room; each bar
    then taken as short as it is sold."""
    longest = max(sold) - trim
    bars: list[float] = []  # inches used: pieces and the kerfs between
    for piece in pieces:
        rooms = [k for k, used in enumerate(bars) if used + kerf + piece <= longest + 1e-9]
        if rooms:
            k = max(rooms, key=lambda k: bars[k]) if best else rooms[0]
            bars[k] += kerf + piece
        else:
            bars.append(piece)
    return math.fsum(min(s for s in sold if s - trim >= used - 1e-9) for used in bars)


def sold_of(p: Parameters, line, role_of: dict[str, str]) -> list[float]:
    """Lengths of a line's stock: what the data has, of boards up to the file's own lengths of surface and of trim."""
    sold = set(lengths_sold(line.stock))
    if material(line.stock.material).kind != "board":
        return sorted(sold)
    roles = {role_of[m] for b in line.bars for mark in b.marks for m in mark.split("/")}
    trim = roles & {"fascia", "riser", "skirt"}
    own = [*([p.trim.length] if trim else []), *([p.surface.board_length] if roles - trim else [])]
    return sorted({x for x in sold if x <= max(own) + 1e-6} | {max(own)})


@pytest.mark.parametrize("seed", [300, 303, 307, 311, 318, 325])
def test_no_second_packing_beats_the_order(seed: int):
    p = Parameters.model_validate(decks.parameters(seed))
    deck = build(p)
    rows = measure_all(deck.parts)
    order, seen = take_off(deck, rows).order, 0
    for line in order.lines:
        if line.prefer != "least length" or any(b.whole or b.untrimmed for b in line.bars):
            continue  # whole boards were asked for, or a piece takes a length as the mill left it
        sold = sold_of(p, line, {m.mark: m.role for m in rows})
        pieces = sorted((x for b in line.bars for x in b.lengths), reverse=True)
        bought = math.fsum(b.length for b in line.bars)
        assert bought == pytest.approx(line.cost)
        lot = random.Random(seed)
        orders = [pieces, *(lot.sample(pieces, len(pieces)) for _ in range(SHUFFLES))]
        other = min(packed(o, sold, p.order.kerf, p.order.end_trim, best) for o in orders for best in (False, True))
        assert bought * (1 - line.gap) <= other + 1e-6, f"{line.name}: {bought} in bought, {other} in would do"
        seen += 1
    assert seen
