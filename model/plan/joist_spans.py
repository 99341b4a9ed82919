"""Where the joists that lie on beams and ledgers span, in plan: positions along a joist, on `along`. Inches."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.ops import nearest_points

from .beam_run import BeamRun
from .stages import Joisted, Setting

MEETS_BEAM = 1e-3  # inches: an end nearer to a flush beam hangs on it
_GRAZES = 0.2  # square inches of a joist on a beam, by which it only grazes it; our own
ONE_SUPPORT = 1.0  # inches: supports nearer to each other are one; our own


def supports(layout: Setting, piece: Polygon, runs: Sequence[BeamRun]) -> list[tuple[float, float, str]]:
    """(low, high, what) of everything that carries a joist footprint, in order along it; what is "ledger" or "beam"."""
    b = layout.along
    found = []
    for e in layout.outline.edges:
        if layout.has_ledger(e) and not layout.is_lengthwise(e):
            ledger = e.rectangle(0, e.length, 0, layout.joist.thickness)
            if (met := _met(ledger, piece, b)) is not None:
                found.append((met, met, "ledger"))
    for run in runs:
        if run.flush and run.edge is not None and (met := _met(run.polygon, piece, b)) is not None:
            found.append((met, met, "beam"))
            continue
        if _under_its_rim(layout, run, piece):
            met = _end_towards(run.polygon, piece, b)
            found.append((met, met, "beam"))
            continue
        if not run.polygon.intersects(piece):
            continue
        hit = run.polygon.intersection(piece)
        if not hit.is_empty and hit.area > _GRAZES:
            s = np.concatenate(
                [np.asarray(g.exterior.coords) @ b for g in getattr(hit, "geoms", [hit]) if g.geom_type == "Polygon"]
            )
            found.append((float(s.min()), float(s.max()), "beam"))
    return sorted(found)


def _met(carrier: Polygon, piece: Polygon, b: np.ndarray) -> float | None:
    """Where a joist's end meets a ledger, or a flush beam at an edge; None where it does not."""
    if carrier.distance(piece) > MEETS_BEAM:
        return None
    along = np.asarray(piece.exterior.coords) @ b
    near = shapely.get_coordinates(carrier.buffer(2 * MEETS_BEAM).intersection(piece)) @ b
    return float(along.max()) if near.mean() > (along.min() + along.max()) / 2 else float(along.min())


def _under_its_rim(layout: Setting, run: BeamRun, piece: Polygon) -> bool:
    """Whether a beam lies under the plies of the rim alone, on which a joist ends: it carries the joist by the rim."""
    inner = (layout.parameters.frame.rim_plies - 1) * layout.joist.thickness
    if inner <= 0 or run.flush or run.edge is None or run.polygon.distance(piece) > inner + MEETS_BEAM:
        return False
    return run.polygon.intersection(piece).area <= _GRAZES


def _end_towards(carrier: Polygon, piece: Polygon, b: np.ndarray) -> float:
    """The end of a joist that lies nearer to what carries it."""
    along = np.asarray(piece.exterior.coords) @ b
    middle = float(np.dot(nearest_points(carrier, piece)[0].coords[0], b))
    return float(along.max()) if middle > (along.min() + along.max()) / 2 else float(along.min())


def spans(layout: Setting, piece: Polygon, runs: Sequence[BeamRun]) -> list[tuple[float, float]]:
    """Clear spans of a joist footprint between its supports, along the joists."""
    apart: list[tuple[float, float]] = []
    for low, high, _ in supports(layout, piece, runs):
        if apart and low - apart[-1][1] <= ONE_SUPPORT:  # beams that meet on a mitre over one joist
            apart[-1] = apart[-1][0], max(apart[-1][1], high)
        else:
            apart.append((low, high))
    return [(a[1], b[0]) for a, b in itertools.pairwise(apart)]


def longest_span(layout: Joisted, runs: Sequence[BeamRun], without: float = 96.0) -> float:
    """The longest clear span of any joist; `without` any, that value."""
    return max((hi - lo for _, piece in layout.joist_lines for lo, hi in spans(layout, piece, runs)), default=without)


def carried_by(layout: Joisted, run: BeamRun, runs: Sequence[BeamRun], between: float) -> tuple[float, float]:
    """The most inches of joist whose load a beam takes anywhere, by the joists' own spans, and the longest span of any
    of them: at an end of a joist half of its span with the lever of what hangs past, elsewhere `between`
    times half of both spans."""
    most = longest = 0.0
    for _, piece in layout.joist_lines:
        beyond = _under_its_rim(layout, run, piece)
        if not (beyond or run.polygon.intersects(piece)):
            continue
        along = np.asarray(piece.exterior.coords) @ layout.along
        found = [(a, b) for a, b, _ in supports(layout, piece, runs)]
        if beyond:
            middle = _end_towards(run.polygon, piece, layout.along)
        else:
            middle = float(np.dot(run.polygon.intersection(piece).centroid.coords[0], layout.along))
        at = next((k for k, (a, b) in enumerate(found) if a - ONE_SUPPORT <= middle <= b + ONE_SUPPORT), None)
        if at is None or len(found) < 2:
            continue
        middles = [(a + b) / 2 for a, b in found]
        longest = max([longest, *(b[0] - a[1] for a, b in itertools.pairwise(found))])
        if 0 < at < len(found) - 1:
            most = max(most, between * (middles[at + 1] - middles[at - 1]) / 2)
        else:
            span = middles[1] - middles[0] if at == 0 else middles[-1] - middles[-2]
            past = middles[0] - float(along.min()) if at == 0 else float(along.max()) - middles[-1]
            most = max(most, (span + past) ** 2 / (2 * span))
    return most, longest
