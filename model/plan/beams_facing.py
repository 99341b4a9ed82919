"""Beams behind edges that face each other, where the cantilever of the file would lay them in each other's way.
Inches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from .beam_run import BeamRun
from .edges import Edge, FrameOutline, parallel

_FACING = -0.99  # cosine between the ways into two edges, from which one lies before the other
_MEETS = 1e-3  # inches: nearer than this two beams touch


def in_the_way(
    outline: FrameOutline, runs: Sequence[BeamRun], pieces: Sequence[BeamRun], apart: float, least: float
) -> set[str]:
    """The edges whose beams stand in each other's way: behind two that face each other, less than `apart` from face to
    face or past one another; or one of them cut by another so that a piece is left on which two posts, `least` inches
    of beam, have no room. `runs` are the beams as they are laid, `pieces` what is left of them where they cross."""
    found: set[str] = set()
    for k, a in enumerate(runs):
        for b in runs[k + 1 :]:
            if a.edge is not None and b.edge is not None and _beside(outline[a.edge], a, b, outline[b.edge], apart):
                found |= {a.edge, b.edge}
    whole = {id(run) for run in runs}
    for piece in pieces:
        if id(piece) not in whole and piece.edge is not None and not any(piece.mitred) and piece.length < least:
            found |= {piece.edge, *_cut_by(piece, pieces)}
    return found


def _beside(edge: Edge, run: BeamRun, other: BeamRun, facing: Edge, apart: float) -> bool:
    """Whether two beams behind edges that face each other have less than `apart` between them where they pass."""
    before = edge.position(facing.start)[1] > 0 and facing.position(edge.start)[1] > 0
    if not before or float(edge.inward @ facing.inward) > _FACING or not parallel(run.direction, other.direction):
        return False
    low, high = run.extent(other.polygon)
    first, last = run.reach
    if min(high, last) - max(low, first) < _MEETS:
        return False  # they do not pass each other
    inner = max(edge.position(q)[1] for q in run.polygon.exterior.coords)
    return bool(min(edge.position(q)[1] for q in other.polygon.exterior.coords) - inner < apart - _MEETS)


def _cut_by(piece: BeamRun, pieces: Sequence[BeamRun]) -> Iterator[str]:
    """The edges of the beams that a piece of another ends on."""
    for other in pieces:
        if other.edge not in (None, piece.edge) and other.polygon.distance(piece.polygon) < _MEETS:
            assert other.edge is not None
            yield other.edge


def nearer(backs: dict[str, float], least: dict[str, float], step: float) -> dict[str, float]:
    """`backs` of edges, each nearer by a `step`, but no nearer than its `least`: those that move."""
    after = {name: max(least[name], back - step) for name, back in backs.items()}
    return {name: back for name, back in after.items() if not np.isclose(back, backs[name], atol=1e-9)}
