"""What would mend a row about the gaps at board ends: shorter boards, or the gap that serves the day."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..deck import Deck
from ..measuring.gaps import end_gap, longest_boards
from ..measuring.measure import measure_all
from ..rules.check_boards import CLOSES, MOVES, OPENS
from ..rules.check_result import CheckResult


def gap_mends(row: CheckResult, deck: Deck) -> Iterator[tuple[str, object]]:
    """The keys with the values that would do; none for another rule, or where no gap would."""
    if row.rule not in (MOVES, CLOSES, OPENS):
        return
    p, mark = deck.parameters, next(part.mark for part in deck.parts if part.id in row.ids)
    board = next(b for b in longest_boards(measure_all(deck.parts), p) if b.mark == mark)
    day = p.gaps.winter_f if p.gaps.temperature_f is None else p.gaps.temperature_f
    gap = end_gap(board.length, board.material, day, p.gaps)
    if row.rule == MOVES:
        yield ("trim.length" if board.role == "fascia" else "surface.board_length"), math.floor(gap.longest)
    elif gap.least <= gap.most:
        yield "surface.end_gap", gap.gap
