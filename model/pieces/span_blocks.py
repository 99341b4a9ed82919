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
from shapely.geometry import Point, Polygon

from ..input.surveyed import surveyed
from ..plan.edges import FAR
from ..plan.joist_spacing import most_in_the_clear
from ..plan.stages import LevelPlan
from ..solid.clear_spans import LENGTHWISE, LINES, clear_spans
from ..solid.union import united
from .claims import Claim, Claims, is_block, length_along
from .end_blocks import LEAST_SINE
from .surface import border_outlines

FULL_BAY_ROUNDING = 0.005  # inches: joists at their full spacing leave the bound itself (our own)
LEAST_SHORTER = 0.01  # inches of clear span: a block that shortens them all together by less is none (our own)


@dataclass(frozen=True)
class _Board:
    """A board's outline in the plan, and the matrix of its axes (rows: along, across)."""

    outline: Polygon
    axes: np.ndarray
    bound: float


def shorten_long_spans(layout: LevelPlan, claims: Claims) -> None:
    """Claims blocks under boards that span too far in the clear, where some can be held. A frame that stands
    keeps its bays as they were measured, and the checks say what they leave."""
    stands = surveyed(layout.parameters)
    if stands is not None and stands.joists:
        return
    every = [*_boards(layout), *_border(layout)]
    boards = [b for b, span in zip(every, _Borne(claims, every).before) if span > b.bound]
    while boards:
        borne = _Borne(claims, boards)
        found = [(_gained(borne, c), c) for c in _blocks(layout, claims, boards)]
        # of blocks that do as much the one nearest to where things are set out: so in a mirrored deck too
        useful = [(-gain, layout.distance_out(c.polygon.centroid.coords[0]), c) for gain, c in found]
        least, _, block = min(useful, key=lambda u: u[:2], default=(0.0, (0, 0), None))
        if block is None or -least <= LEAST_SHORTER:
            return
        claims.claim([block])
        spans = dict(enumerate(borne.before)) | borne.with_one_more(block)
        boards = [b for k, b in enumerate(boards) if spans[k] > b.bound]


def _gained(borne: _Borne, block: Claim) -> float:
    """Inches by which a block shortens what the boards span too far, all together; in steps that rounding leaves."""
    before, boards = borne.before, borne.boards
    after = borne.with_one_more(block)
    return round(sum(max(0.0, before[k] - max(boards[k].bound, s)) for k, s in after.items()), 6)


def _boards(layout: LevelPlan) -> list[_Board]:
    """The boards of the field with the clear span that they are allowed, or that a full bay leaves anyway."""
    field, p = layout.field, layout.parameters
    axes = np.array([field.x, field.y])
    skew = abs(float(field.x @ layout.across))
    _, allowed = most_in_the_clear(p, layout.joist_spacing, skew)
    # joists that stand too far apart in the file are the file's; blocks mend the odd bay
    bound = max(allowed, (layout.joist_spacing - layout.joist.thickness) / max(skew, LEAST_SINE)) + FULL_BAY_ROUNDING
    return [_Board(shapely.transform(b.outline, lambda q: q @ axes), axes, bound) for b in field.boards]


def _border(layout: LevelPlan) -> list[_Board]:
    """The boards of the border, which lie on strips along them: where a slanted edge crosses the joists these may
    leave a stretch between two of them bare."""
    p, found = layout.parameters, []
    for _, _, x, y, pieces in border_outlines(layout):
        axes, skew = np.array([x, y]), abs(float(x @ layout.across))
        if abs(float(x @ layout.along)) > LENGTHWISE:
            skew = 1.0  # along the joists it lies on strips and blocks alone
        _, allowed = most_in_the_clear(p, layout.joist_spacing, skew)
        bound = allowed + FULL_BAY_ROUNDING
        found += [_Board(shapely.transform(g, lambda q, a=axes: q @ a), axes, bound) for g in pieces]
    return found


class _Borne:
    """What bears some boards of the field, in their own axes, of members claimed so far."""

    def __init__(self, claims: Claims, boards: Sequence[_Board]) -> None:
        self.boards = boards
        tree = shapely.STRtree([m.polygon for m in claims.members])
        board, member = tree.query([b.outline for b in boards], predicate="intersects")
        self.whose, self.tops, self.lengthwise = _borne(board, member, boards, claims.members)
        self.outlines = np.array([shapely.transform(b.outline, lambda q, a=b.axes: q @ a.T) for b in boards])
        self.before = clear_spans(self.outlines, self.tops, self.whose, self.lengthwise)  # what each board spans

    def with_one_more(self, more: Claim) -> dict[int, float]:
        """What those boards span, by their place in the list, that one more member touches."""
        touched = [k for k, b in enumerate(self.boards) if b.outline.intersects(more.polygon)]
        new = _borne(np.array(touched, dtype=int), np.zeros(len(touched), dtype=int), self.boards, [more])
        old = np.isin(self.whose, touched)
        place = {k: n for n, k in enumerate(touched)}
        whose = np.array([place[k] for k in [*self.whose[old].tolist(), *new[0].tolist()]], dtype=int)
        tops, lengthwise = (np.concatenate(x) for x in ((self.tops[old], new[1]), (self.lengthwise[old], new[2])))
        return dict(zip(touched, clear_spans(self.outlines[touched], tops, whose, lengthwise)))


def _borne(
    board: np.ndarray, member: np.ndarray, boards: Sequence[_Board], members: Sequence[Claim]
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(n,) board, (n,) its bearing in its own axes, (n,) whether that runs along it, of pairs of both."""
    polygons = [np.array([boards[k].outline for k in board]), np.array([members[m].polygon for m in member])]
    shared = shapely.intersection(*polygons)
    keep = shapely.area(shared) > 1e-6
    board, member, shared = board[keep], member[keep], shared[keep]
    ways = np.array([members[m].direction for m in member]).reshape(-1, 2)
    along = np.array([boards[k].axes[0] for k in board]).reshape(-1, 2)
    tops = [shapely.transform(s, lambda q, a=boards[k].axes: q @ a.T) for k, s in zip(board, shared)]
    return board, np.array(tops, dtype=object), np.abs(np.einsum("ij,ij->i", ways, along)) > LENGTHWISE


def _blocks(layout: LevelPlan, claims: Claims, boards: Sequence[_Board]) -> Iterator[Claim]:
    """Blocks that could be held in the middle of stretches that are too long: along the joists, across them, along
    the board and square to it."""
    t, seen, bay = layout.joist.thickness, set(), layout.joist_spacing / LEAST_SINE
    for board in boards:
        for c in _middles(claims, board):
            for d, reach in ((layout.along, FAR), (layout.across, bay), (board.axes[0], bay), (board.axes[1], bay)):
                d = np.asarray(d)
                n = np.array([-d[1], d[0]]) * t / 2
                strip = Polygon([c - d * reach - n, c + d * reach - n, c + d * reach + n, c - d * reach + n])
                for piece in claims.free(strip.intersection(layout.inner)):
                    corner = tuple(np.round(piece.bounds, 3).tolist())
                    if corner in seen or piece.distance(Point(c)) > t or length_along(piece, d) > 2 * reach - t:
                        continue
                    seen.add(corner)
                    if is_block(piece, d) and claims.held(piece, d):
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
