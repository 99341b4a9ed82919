"""How far surface boards span in the clear, on lines along them over the tops of what bears them.

A board cut to a slanted edge, or over a bay that tapers, spans further on one line than on another: what counts is what
half of the lines at even parts of its width keep to (our own; a board helps itself across). Lengths in inches.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString

from ..solid.part import Part
from ..solid.roles import named
from .bearing import tops_at
from .contacts import Contact
from .loose_ends import Stretch, stretches

LINES = (0.1, 0.3, 0.5, 0.7, 0.9)  # of a board's width, where lines run along it (our own)
_ALONG = 0.99  # cosine: what lies so much along a board bears it over its whole width
_TOUCH = 1e-3  # inches: bearings nearer than this are one


def board_spans(parts: Sequence[Part], by: dict[int, list[Contact]], on: Sequence[str]) -> list[Stretch]:
    """The longest clear stretch of every surface board between what bears it (pieces of the roles `on`), with the skew
    of the joists under it; 0 where it bears at fewer than two places."""
    found = [s for s in stretches(parts, by, named("walked"), on) if not s.past]
    boards = [s.part for s in found]
    borne = tops_at(boards, [p for p in parts if p.role in on])
    return [replace(s, length=_span(s.part, below)) for s, below in zip(found, borne)]


def _span(board: Part, below: Sequence[tuple[Part, Any]]) -> float:
    """The median over `LINES` of the longest stretch between bearings; lines with one bearing, or none, have none."""
    axis = np.array(board.place.x[:2])
    axis = axis / np.hypot(*axis)
    turn = np.array([axis, [-axis[1], axis[0]]])

    def own(g: Any) -> Any:
        return shapely.transform(g, lambda q: q @ turn.T)

    u0, v0, u1, v1 = own(board.footprint).bounds
    lines = [LineString([(u0 - 1, v), (u1 + 1, v)]) for v in v0 + np.array(LINES) * (v1 - v0)]
    everywhere: list[tuple[float, float]] = []
    at: dict[int, list[tuple[float, float]]] = defaultdict(list)
    for part, top in below:
        shape = own(top)
        if abs(float(axis @ part.place.x[:2])) > _ALONG:
            everywhere.append((shape.bounds[0], shape.bounds[2]))
            continue
        for k, cut in enumerate(shapely.intersection(lines, shape)):
            at[k] += [(g.bounds[0], g.bounds[2]) for g in shapely.get_parts(cut) if g.length > _TOUCH]
    outline = own(board.footprint)
    spans = []
    for k, line in enumerate(lines):
        start, _, end, _ = shapely.intersection(line, outline).bounds
        rests = [(max(a, start), min(b, end)) for a, b in at[k] + everywhere]
        rests = sorted(r for r in rests if r[1] - r[0] > _TOUCH)
        reach = list(itertools.accumulate((b for _, b in rests), max))
        if rests and (rests[0][0] + _TOUCH < rests[-1][0] or everywhere):
            spans.append(max((b[0] - r for r, b in zip(reach, rests[1:])), default=0.0))
    return max(0.0, float(np.median(spans))) if spans else 0.0
