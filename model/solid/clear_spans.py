"""How far boards span in the clear between what bears them, from outlines alone, on lines along them.

A board cut to a slanted edge, or over a bay that tapers, spans further on one line than on another: what counts is what
half of the lines at even parts of its width keep to (our own; a board helps itself across). Lengths in inches.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
import shapely

LINES = (0.1, 0.3, 0.5, 0.7, 0.9)  # of a board's width, where lines run along it (our own)
LENGTHWISE = 0.99  # cosine: what lies so much along a board bears it over its whole width
_TOUCH = 1e-3  # inches: bearings nearer than this are one


def clear_spans(outlines: np.ndarray, tops: np.ndarray, whose: np.ndarray, lengthwise: np.ndarray) -> list[float]:
    """The longest clear stretch of each board between what bears it, 0 where it bears at one place or none.

    `outlines` (n,) polygons with the board along x; `tops` (m,) what bears board `whose` (m,), in that board's axes;
    a top that lies `lengthwise` (m,) bears its board over the whole width, unless under an outer part of it alone.
    """
    bounds = shapely.bounds(outlines)
    levels = bounds[:, 1, None] + np.array(LINES) * (bounds[:, 3] - bounds[:, 1])[:, None]
    at: list[list[list[tuple[float, float]]]] = [[[] for _ in LINES] for _ in outlines]
    everywhere: list[list[tuple[float, float]]] = [[] for _ in outlines]
    extents = shapely.bounds(tops)[:, [0, 2]].tolist()
    for k, along, extent, cuts in zip(whose.tolist(), lengthwise.tolist(), extents, _on_lines(tops, levels[whose])):
        if along:
            if any(cuts):
                everywhere[k].append((extent[0], extent[1]))
        else:
            for line, found_here in zip(at[k], cuts):
                line += [c for c in found_here if c[1] - c[0] > _TOUCH]
    return list(map(_span, _on_lines(outlines, levels), at, everywhere))


def _on_lines(shapes: np.ndarray, levels: np.ndarray) -> list[list[list[tuple[float, float]]]]:
    """For every shape and each of its lines v = `levels`[shape, line] the stretches (from, to) of the line inside it,
    from where the line crosses the shape's sides: all at once, since a big deck has ten thousand boards over joists."""
    polygons, of_polygon = shapely.get_parts(shapes, return_index=True)
    rings, of_ring = shapely.get_rings(polygons, return_index=True)
    at, of = shapely.get_coordinates(rings, return_index=True)
    side = np.flatnonzero(of[1:] == of[:-1])
    a, b, shape = at[side], at[side + 1], of_polygon[of_ring[of[side]]]
    v = levels[shape]
    n, line = np.nonzero((a[:, 1, None] <= v) != (b[:, 1, None] <= v))  # a corner on the line counts once
    u = a[n, 0] + (v[n, line] - a[n, 1]) / (b[n, 1] - a[n, 1]) * (b[n, 0] - a[n, 0])
    order = np.lexsort((u, line, shape[n]))
    found: list[list[list[tuple[float, float]]]] = [[[] for _ in LINES] for _ in shapes]
    shape, line, u = shape[n[order]][::2].tolist(), line[order][::2].tolist(), u[order].reshape(-1, 2).tolist()
    for k, m, (start, end) in zip(shape, line, u):
        found[k][m].append((start, end))
    return found


def _span(
    across: Sequence[Sequence[tuple[float, float]]],
    at: Sequence[list[tuple[float, float]]],
    everywhere: list[tuple[float, float]],
) -> float:
    """The median over the lines of the longest stretch between bearings; lines with one bearing, or none, have none.
    Beside a notch the board is what the notch leaves: the lines there are a median of their own, and those that the
    notch cuts span nothing over it."""
    lines: list[tuple[Sequence[tuple[float, float]], list[tuple[float, float]]]] = []
    for own, found in zip(across, at):
        start, end = own[0][0], own[-1][1]
        rests = [(max(a, start), min(b, end)) for a, b in found + everywhere]
        rests = sorted(r for r in rests if r[1] - r[0] > _TOUCH)
        reach = list(itertools.accumulate((b for _, b in rests), max))
        if rests and (rests[0][0] + _TOUCH < rests[-1][0] or everywhere):
            lines.append((own, [(r, b[0]) for r, b in zip(reach, rests[1:])]))
    notches = [(a[1], b[0]) for own, _ in lines for a, b in itertools.pairwise(own)]
    beside = {n: [clear for own, clear in lines if any(a <= n[0] and n[1] <= b for a, b in own)] for n in notches}
    bridged = [n for n in notches if beside[n]]  # what is left of the board beside it spans there

    def longest(clear: list[tuple[float, float]], notched: list[tuple[float, float]]) -> float:
        return max((b - a for a, b in clear if not any(a < n[1] and n[0] < b for n in notched)), default=0.0)

    whole = [longest(clear, [n for n in bridged if any(a[1] == n[0] for a in own)]) for own, clear in lines]
    there = [
        float(np.median([max((b - a for a, b in clear if a < n[1] and n[0] < b), default=0.0) for clear in beside[n]]))
        for n in bridged
    ]
    return max(0.0, float(np.median(whole)) if whole else 0.0, *there)
