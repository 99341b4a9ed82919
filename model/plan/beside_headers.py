"""Beams that run through the header of a stair beside them, at the deck's edge: none leaves of it a piece too short to
be hung, at the end of which a stringer would hang on nothing. Inches."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .stages import Stepped

LEAST_THROUGH = 0.95  # sine of the angle between a beam and an edge from which it goes through a header there; our own
LEAST_HUNG = 6.0  # inches of a stair's header beside a beam that a cleat holds too, clear of the beam; our own
STEP_ASIDE = 0.5  # inches by which a beam is moved aside at a time; our own
TOUCHES = 1e-3  # inches: nearer than this two pieces touch


def cuts_off(headers: Sequence[Sequence[float]], at: float, wide: float) -> bool:
    """Whether a beam so `wide` from `at` on, across headers from their low to their high ends, leaves too little of
    one beside it."""
    left = [p for low, high in headers if at < high and low < at + wide for p in (at - low, high - at - wide)]
    return any(TOUCHES < p < LEAST_HUNG for p in left)


def off_headers(
    layout: Stepped,
    at: float,
    others: Sequence[float],
    rows: Sequence[Sequence[float]],
    wide: float,
    allowed: float,
) -> float:
    """Where along the joists a straight beam under these `rows` ([position across, low and high end of a span]) cuts
    off no header, as near to `at` as no joist spans further than `allowed` from there to its ends and the `others`;
    `at` where there is no such place."""
    reached = [v for v, lo, hi in rows if lo < at < hi]
    headers = _beside(layout, min(reached, default=0.0), max(reached, default=0.0))
    if not cuts_off(headers, at - wide / 2, wide):
        return at

    def does(place: float) -> bool:
        for _, lo, hi in rows:
            if lo < place < hi:
                on = sorted([lo, hi, *(o for o in others if lo < o < hi)])
                k = int(np.searchsorted(on, place))
                if max(place - on[k - 1], on[k] - place) - wide / 2 > allowed + 1e-6:
                    return False
        return not cuts_off(headers, place - wide / 2, wide)

    steps = np.arange(STEP_ASIDE, LEAST_HUNG + wide + STEP_ASIDE, STEP_ASIDE)
    places = (at + way * float(s) for s in steps for way in (layout.ahead(layout.along), -layout.ahead(layout.along)))
    return next((p for p in places if does(p)), at)


def _beside(layout: Stepped, low: float, high: float) -> list[list[float]]:
    """From where to where along the joists the headers lie of stairs on edges along the joists, no further across from
    joists at `low` to `high` than a beam under these runs on."""
    reach, found = layout.joist_spacing + layout.joist.thickness, []
    for s in layout.hung:
        across = float(np.dot(s.edge.start, layout.across))
        if abs(float(s.edge.direction @ layout.along)) >= LEAST_THROUGH and low - reach <= across <= high + reach:
            found.append(sorted(float(np.dot(s.edge.point(a), layout.along)) for a in (s.start, s.end)))
    return found
