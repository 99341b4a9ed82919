"""Blocks under boards that span further than their joists should let them: in bays that taper, round corners of rims.

Joists stand no further apart than the spacing, but a slanted rim, a corner or what stops a row of blocking leaves bays
that a board crosses on a longer way. What each board spans is worked out from the finished plan of the frame, and a
block is put into the bay where one can be held (common practice, no source). Lengths in inches.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..plan.edges import FAR
from ..plan.joist_spacing import most_in_the_clear
from ..plan.stages import LevelPlan
from ..solid.clear_spans import LENGTHWISE, LINES, clear_spans
from ..solid.union import united
from .claims import Claim, Claims, is_block, length_along
from .end_blocks import LEAST_SINE

FULL_BAY_ROUNDING = 0.005  # inches: joists at their full spacing leave the bound itself (our own)
LEAST_SHORTER = 0.01  # inches of clear span: a block that shortens them all together by less is none (our own)


@dataclass(frozen=True)
class _Board:
    """A board's outline in the plan, and the matrix of its axes (rows: along, across)."""

    outline: Polygon
    axes: np.ndarray
    bound: float


def shorten_long_spans(layout: LevelPlan, claims: Claims) -> None:
    """Claims blocks under field boards that span too far in the clear, where some can be held."""
    boards = _boards(layout)
    long = [b for b, s in zip(boards, _spans(claims, boards)) if s > b.bound]
    while long:
        spans = _spans(claims, long)
        best, block = LEAST_SHORTER, None
        for c in _blocks(layout, claims, long):
            touched = [k for k, b in enumerate(long) if b.outline.intersects(c.polygon)]
            after = _spans(claims, [long[k] for k in touched], c)
            gain = sum(max(0.0, spans[k] - max(long[k].bound, s)) for k, s in zip(touched, after))
            if gain > best + 1e-6:
                best, block = gain, c
        if block is None:
            return
        claims.claim([block])
        long = [b for b, s in zip(long, _spans(claims, long)) if s > b.bound]


def _boards(layout: LevelPlan) -> list[_Board]:
    """The boards of the field with the clear span that they are allowed, or that a full bay leaves anyway."""
    field, p = layout.field, layout.parameters
    axes = np.array([field.x, field.y])
    skew = abs(float(field.x @ layout.across))
    _, allowed = most_in_the_clear(p, layout.joist_spacing, skew)
    # joists that stand too far apart in the file are the file's; blocks mend the odd bay
    bound = max(allowed, (layout.joist_spacing - layout.joist.thickness) / max(skew, LEAST_SINE)) + FULL_BAY_ROUNDING
    return [_Board(shapely.transform(b.outline, lambda q: q @ axes), axes, bound) for b in field.boards]


def _spans(claims: Claims, boards: Sequence[_Board], more: Claim | None = None) -> list[float]:
    """What each board spans over the claimed members, and over one `more`."""
    members = [*claims.members, *([more] if more else [])]
    tree = shapely.STRtree([m.polygon for m in members])
    board, member = tree.query([b.outline for b in boards], predicate="intersects")
    shared = shapely.intersection(np.array([boards[k].outline for k in board], dtype=object), tree.geometries[member])
    keep = shapely.area(shared) > 1e-6
    board, member, shared = board[keep], member[keep], shared[keep]
    ways = np.array([members[m].direction for m in member]).reshape(-1, 2)
    along = np.array([boards[k].axes[0] for k in board]).reshape(-1, 2)
    lengthwise = np.abs(np.einsum("ij,ij->i", ways, along)) > LENGTHWISE
    tops = np.array([shapely.transform(s, lambda q, a=boards[k].axes: q @ a.T) for k, s in zip(board, shared)])
    flat = np.array([shapely.transform(b.outline, lambda q, a=b.axes: q @ a.T) for b in boards])
    return clear_spans(flat, tops, board, lengthwise)


def _blocks(layout: LevelPlan, claims: Claims, boards: Sequence[_Board]) -> Iterator[Claim]:
    """Blocks that could be held in the middle of stretches that are too long: along the joists, across them, along
    the board and square to it."""
    t, seen = layout.joist.thickness, set()
    for board in boards:
        for c in _middles(claims, board):
            for d in (np.asarray(layout.along), np.asarray(layout.across), *board.axes):
                n = np.array([-d[1], d[0]]) * t / 2
                strip = Polygon([c - d * FAR - n, c + d * FAR - n, c + d * FAR + n, c - d * FAR + n])
                for piece in claims.free(strip.intersection(layout.inner)):
                    corner = tuple(np.round(piece.bounds, 3).tolist())
                    if corner in seen or not piece.intersects(board.outline):
                        continue
                    seen.add(corner)
                    if is_block(piece, d) and length_along(piece, d) < FAR and claims.held(piece, d):
                        yield Claim("border blocking", piece, (float(d[0]), float(d[1])), "under the field")


def _middles(claims: Claims, board: _Board) -> Iterator[np.ndarray]:
    """The middles, in the plan, of the stretches of a board's lines that are too long."""
    flat = shapely.transform(board.outline, lambda q: q @ board.axes.T)
    under = [m.polygon for m in claims.members if m.polygon.intersects(board.outline)]
    free = board.outline.difference(united(under))
    rest = shapely.transform(free, lambda q: q @ board.axes.T)
    low, v0, high, v1 = flat.bounds
    for share in LINES:
        v = v0 + share * (v1 - v0)
        for g in shapely.get_parts(shapely.LineString([(low, v), (high, v)]).intersection(rest)):
            if g.length > board.bound:
                yield np.array(g.interpolate(0.5, normalized=True).coords[0]) @ board.axes
