"""Beams behind an edge that run on under the joists beside that edge, as one line on one row of posts.

At a reflex corner the joists of one arm run past the beam of the other and want a beam somewhere between their
supports. Where the line of the beam that is there will do, no second one is set a foot beside it. Inches.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon

from .beam_run import BeamRun
from .edges import parallel
from .even_lines import even_lines
from .stages import Setting

IN_ONE_LINE = 1e-3  # inches: beams that lie nearer to one line, and reach each other nearer, are one
SHARE_LOST = 1e-6  # of a beam's plan, by which it and its two pieces may differ
MOST_THROUGH = 6  # lines there are, of which any may run on: of more, those nearest to the middle (our own)

_LineAcross = tuple[float, float, float]  # position along the joists, first and last joist's position across


def lines_through(
    rows: Sequence[Sequence[float]], allowed: float, w: float, spacing: float, there: Sequence[float]
) -> list[_LineAcross]:
    """As `even_lines`, with as many of the lines that are `there` already as do without one line more; of equally many
    those that leave the shortest span."""
    plain = even_lines(rows, allowed, w, spacing)
    fewest = len({at for at, _, _ in plain})
    middle = np.mean([r[1] + r[2] for r in rows]) / 2
    near = sorted(sorted(there, key=lambda at: (abs(at - middle), at))[:MOST_THROUGH])
    for count in range(min(len(near), fewest), 0, -1):
        found = []
        for fixed in itertools.combinations(near, count):
            lines, rest = _split(rows, fixed, w, spacing)
            if len({at for at, _, _ in lines}) < count:
                continue
            more = even_lines(rest, allowed, w, spacing) if _longest(rest) > allowed + 1e-6 else []
            if count + len({at for at, _, _ in more}) <= fewest:
                for at in sorted({at for at, _, _ in more}):
                    rest = _split(rest, (at,), w, spacing)[1]
                found.append((round(_longest(rest), 3), fixed, [*lines, *more]))
        if found:
            return sorted(min(found, key=lambda f: f[:2])[2])
    return plain


def _longest(rows: Sequence[Sequence[float]]) -> float:
    return max((hi - lo for _, lo, hi in rows), default=0.0)


def _split(
    rows: Sequence[Sequence[float]], places: Sequence[float], w: float, spacing: float
) -> tuple[list[_LineAcross], list[list[float]]]:
    """Straight lines `w` wide under all rows that they cross, and what the rows are then."""
    lines: list[_LineAcross] = []
    left = [list(r) for r in rows]
    for at in places:
        stretch: list[list[float]] = []
        after: list[list[float]] = []
        for v, lo, hi in sorted(left):
            if not lo + w < at < hi - w / 2:
                after.append([v, lo, hi])
                continue
            after += [[v, lo, at - w / 2], [v, at + w / 2, hi]]
            if stretch and v - stretch[-1][1] < 2.1 * spacing:
                stretch[-1][1] = v
            else:
                stretch.append([v, v])
        lines += [(at, a, b) for a, b in stretch]
        left = after
    return lines, left


def lines_of(layout: Setting, runs: Sequence[BeamRun]) -> list[float]:
    """Positions along the joists of the beams behind edges square to them, under the joists."""
    found = [r for r in runs if r.edge is not None and not r.flush and parallel(r.direction, layout.across)]
    return [float(np.dot(np.add(r.start, r.end) / 2, layout.along)) for r in found]


def run_on(edges: Sequence[BeamRun], pieces: Sequence[BeamRun]) -> tuple[list[BeamRun], list[BeamRun]]:
    """The beams behind edges, longer by the pieces of straight ones that they meet in one line, and the pieces that
    meet none."""
    runs, left = list(edges), []
    for piece in pieces:
        found = next(((k, m) for k, r in enumerate(runs) if (m := _as_one(r, piece)) is not None), None)
        if found is None:
            left.append(piece)
            continue
        k, one = found
        # the other end may reach the beam of a further edge in that line
        more = next(((n, m) for n, r in enumerate(runs) if n != k and (m := _as_one(one, r)) is not None), None)
        runs[k] = one if more is None else more[1]
        if more is not None:
            del runs[more[0]]
    return runs, left


def _as_one(run: BeamRun, piece: BeamRun) -> BeamRun | None:
    """A beam behind an edge with another in its line that reaches its end; None where they do not meet at an end that
    is cut square, or would be no straight beam together."""
    ways = [abs(float(np.dot(np.subtract(q, run.start), run.across))) for q in (piece.start, piece.end)]
    if run.edge is None or run.flush or piece.flush or len(run.plies) != len(piece.plies) or max(ways) > IN_ONE_LINE:
        return None
    (low, high), (first, last) = run.reach, run.extent(piece.polygon)
    at_end = first > (low + high) / 2
    near, far = sorted(
        (abs(run.position(q) - run.length * at_end), q, m) for q, m in zip((piece.start, piece.end), piece.mitred)
    )
    if run.mitred[at_end] or near[2] or (first > high + IN_ONE_LINE if at_end else last < low - IN_ONE_LINE):
        return None
    plies = []
    for a, b in zip(*(sorted(r.plies, key=lambda p: _side(run, p)) for r in (run, piece)), strict=True):
        one = _hull(a, b)
        if one is None or one.area > shapely.union(a, b, grid_size=1e-9).area * (1 + SHARE_LOST) + SHARE_LOST:
            return None
        plies.append(one)
    end = run.point(run.position(far[1]))
    start, end = (run.start, end) if at_end else (end, run.end)
    mitred = (run.mitred[0], far[2]) if at_end else (far[2], run.mitred[1])
    where = f"behind the {run.edge} and {piece.edge} edges" if piece.edge else run.where
    return replace(run, plies=tuple(plies), start=start, end=end, mitred=mitred, through=True, where=where)


def _side(run: BeamRun, ply: Polygon) -> float:
    return float(np.dot(np.subtract(ply.centroid.coords[0], run.start), run.across))


def _hull(a: Polygon, b: Polygon) -> Polygon | None:
    """What two plies in one line are together, without the corners that they had where they meet."""
    hull = MultiPoint([*a.exterior.coords, *b.exterior.coords]).convex_hull
    if not isinstance(hull, Polygon):
        return None
    ring = list(hull.exterior.coords)[:-1]
    kept = [q for k, q in enumerate(ring) if not _in_line(ring[k - 1], q, ring[(k + 1) % len(ring)])]
    return Polygon(kept) if len(kept) >= 3 else None


def _in_line(before: Sequence[float], at: Sequence[float], after: Sequence[float]) -> bool:
    """Whether a corner lies on the line between those beside it."""
    (x, y), (u, v) = np.subtract(at, before), np.subtract(after, before)
    return abs(x * v - y * u) <= IN_ONE_LINE**2 * np.hypot(u, v)
