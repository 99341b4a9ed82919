"""Where posts of a beam that a stair passes under stand: on either side of it. Lengths in inches, plan coordinates."""

from __future__ import annotations

import math
from collections.abc import Sequence

from shapely.geometry import LineString, Polygon

from .beam_run import BeamRun
from .footings import POST_GAP
from .stages import Beamed
from .stairs_below import feet_below, stairs_below

CLEAR_OF = 0.25  # inches past what a post or its footing just clears; our own
NEAR_ENOUGH = 24.0  # inches to the next post at which one on that side of a stair is left out; our own
MUCH_LONGER = 1.5  # times the wanted spacing, past which no beam spans a place that is only stepped on; our own


def beside_stairs(layout: Beamed, run: BeamRun, marks: list[float], spacing: float, size: float) -> list[float]:
    """The places of a beam's posts, each that lies in a flight or landing under the deck, or whose footing, `size`
    across, lies where one steps off a flight, in two: one on either side. One that a short way aside would clear, no
    span getting longer than `spacing`, is left to find its place; so are those under mitres, and the last at an end of
    the beam beside which no other would stand."""
    half = layout.parameters.stock(layout.parameters.frame.post).width / 2
    walked = _taken(run, feet_below(layout), half, size / 2 + CLEAR_OF)
    passed = _taken(run, stairs_below(layout), half, half + CLEAR_OF)
    found = list(marks)
    for mark in marks:
        here = next((g for g in passed if g[0] < mark < g[1]), None)
        stepped = next((g for g in walked if g[0] < mark < g[1]), None)
        if here is None and stepped is not None and stepped[1] - stepped[0] <= MUCH_LONGER * spacing:
            here = stepped
        under_mitre = (mark == 0.0 and run.mitred[0]) or (mark == run.length and run.mitred[1])
        if here is None or under_mitre:
            continue
        others = [m for m in found if m != mark]
        if any(_within(others, at, spacing) and abs(at - mark) <= NEAR_ENOUGH for at in here):
            continue
        least = max(NEAR_ENOUGH, 2 * half + POST_GAP)
        aside = [at for at in here if half <= at <= run.length - half and all(abs(at - o) >= least for o in others)]
        # past the last post the beam would overhang by more than its span holds: that one is left where it is
        if len(aside) == 2 or (aside and min(others, default=mark) < mark < max(others, default=mark)):
            found = sorted([*others, *aside])
    return found


def _taken(run: BeamRun, shapes: Sequence[Polygon], half: float, clear: float) -> list[tuple[float, float]]:
    """From where to where along a beam each shape keeps the middle of a post away; those that meet are one."""
    line = LineString([run.point(-half), run.point(run.length + half)]).buffer(max(half, clear), cap_style="flat")
    found: list[tuple[float, float]] = []
    parts = [p for s in shapes if (p := s.intersection(line)).geom_type == "Polygon" and p.area > 0]
    spans = [run.extent(p) for p in parts]
    for low, high in sorted((a - clear, b + clear) for a, b in spans):
        if found and low <= found[-1][1]:
            found[-1] = found[-1][0], max(found[-1][1], high)
        else:
            found.append((low, high))
    return found


def _within(others: Sequence[float], at: float, spacing: float) -> bool:
    """Whether the spans beside a post there are no longer than wanted."""
    before = max((o for o in others if o < at), default=-math.inf)
    after = min((o for o in others if o > at), default=math.inf)
    gaps = [g for g in (at - before, after - at) if math.isfinite(g)]
    return len(gaps) == 2 and max(gaps) <= spacing + 1e-9
