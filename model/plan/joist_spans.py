"""Where the joists that lie on beams and ledgers span, in plan: positions along a joist, on `along`. Inches."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
from shapely.geometry import Polygon

from .beam_run import BeamRun
from .stages import Joisted, Setting

MEETS_BEAM = 1e-3  # inches: an end nearer to a flush beam hangs on it


def supports(layout: Setting, piece: Polygon, runs: Sequence[BeamRun]) -> list[tuple[float, float, str]]:
    """(low, high, what) of everything that carries a joist footprint, in order along it; what is "ledger" or "beam"."""
    b = layout.along
    along = np.asarray(piece.exterior.coords) @ b
    found = []
    for e in layout.outline.edges:
        if layout.has_ledger(e) and not layout.is_lengthwise(e):
            ledger = e.rectangle(0, e.length, 0, layout.joist.thickness)
            if ledger.distance(piece) < 1e-6:
                at = float(np.dot(e.start, b)) if abs(float(e.direction @ b)) < 1e-9 else float(along.max())
                near = float(along.max()) if abs(at - along.max()) < abs(at - along.min()) else float(along.min())
                found.append((near, near, "ledger"))
    for run in runs:
        if run.flush and run.edge is not None and (met := _met(run, piece, b)) is not None:
            found.append((met, met, "beam"))
            continue
        if not run.polygon.intersects(piece):
            continue
        hit = run.polygon.intersection(piece)
        if not hit.is_empty and hit.area > 0.2:
            s = np.concatenate(
                [np.asarray(g.exterior.coords) @ b for g in getattr(hit, "geoms", [hit]) if g.geom_type == "Polygon"]
            )
            found.append((float(s.min()), float(s.max()), "beam"))
    return sorted(found)


def _met(run: BeamRun, piece: Polygon, b: np.ndarray) -> float | None:
    """Where a joist's end meets a flush beam at an edge, None where it does not."""
    if run.polygon.distance(piece) > MEETS_BEAM:
        return None
    along = np.asarray(piece.exterior.coords) @ b
    near = np.asarray(run.polygon.buffer(2 * MEETS_BEAM).intersection(piece).exterior.coords) @ b
    return float(along.max()) if near.mean() > (along.min() + along.max()) / 2 else float(along.min())


def spans(layout: Setting, piece: Polygon, runs: Sequence[BeamRun]) -> list[tuple[float, float]]:
    """Clear spans of a joist footprint between its supports, along the joists."""
    s = supports(layout, piece, runs)
    return [(a[1], b[0]) for a, b in itertools.pairwise(s) if b[0] - a[1] > 1]


def longest_span(layout: Joisted, runs: Sequence[BeamRun], without: float = 96.0) -> float:
    """The longest clear span of any joist; `without` any, that value."""
    return max((hi - lo for _, piece in layout.joist_lines for lo, hi in spans(layout, piece, runs)), default=without)
