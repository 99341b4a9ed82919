"""Joists that span further between the supports there are than the published table allows, in plan: where beams are
added. Inches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from ...shared.practice import estimate
from ...shared.standards import joist_span
from ...shared.stock import Stock
from ..input.parameters import Parameters
from ..strength.loads import those_that_count
from ..strength.nds import Lumber
from ..strength.spans import TABLE_LOAD_PSF, longest_joist_span
from .beam_run import BeamRun
from .joist_spans import spans
from .stages import Beamed, Joisted, Setting

_SpanRow = list[float]  # [position across, low and high end of a span along] of a joist


def allowed_joist_span(layout: Setting) -> float:
    """The longest clear span of the joists by the table; under a load that it is not made for, by calculation too."""
    p = layout.parameters
    heavier = max(c.psf(p.loads)[1] for c in those_that_count(p.loads)) > TABLE_LOAD_PSF
    row = joist_span(p.lumber.species, p.frame.joist, layout.joist_spacing, p.local.edition, heaviest(p))
    found = [calculated_joist_span(p, layout.joist, layout.joist_spacing)] if heavier else []
    return min([*found, *([float(row.value)] if row else [])], default=estimate("joist span without a table"))


def heaviest(p: Parameters) -> float:
    """Pounds a square foot by which a table is entered: the greater of live load and snow."""
    return max(p.loads.live_psf, p.loads.ground_snow_psf)


def calculated_joist_span(p: Parameters, joist: Stock, spacing: float, more: float = 0.0) -> float:
    """The longest clear span of a joist by calculation, with so much `more`: bent by each combination with the duration
    of its shortest load, deflected by the greater of live load and snow, as its members are judged."""
    wood, stiff = Lumber.of(p.lumber), heaviest(p) + more
    each = ((*c.psf(p.loads), c.duration) for c in those_that_count(p.loads))
    return min(
        longest_joist_span(wood, joist, spacing, moving + more, dead, duration=duration, bends_psf=stiff).value
        for dead, moving, duration in each
        if dead + moving + more > 0
    )


def too_long(layout: Joisted, runs: Sequence[BeamRun]) -> list[list[_SpanRow]]:
    """The spans of neighbouring joists that are longer than allowed, region by region."""
    allowed = allowed_joist_span(layout)
    regions: list[list[_SpanRow]] = []
    for v, piece in layout.joist_lines[:: layout.ahead(layout.across)]:
        for lo, hi in spans(layout, piece, runs):
            if hi - lo <= allowed + 1e-6:
                continue
            near = next(
                (
                    r
                    for r in regions
                    if abs(v - r[-1][0]) < 2.1 * layout.joist_spacing
                    and min(hi, r[-1][2]) - max(lo, r[-1][1]) > allowed / 4
                ),
                None,
            )
            near.append([v, lo, hi]) if near is not None else regions.append([[v, lo, hi]])
    for v, lo, hi in _rim_spans(layout, runs, allowed):
        beside = (
            r for r in regions if any(abs(v - u) < 2.1 * layout.joist_spacing and lo < b and a < hi for u, a, b in r)
        )
        for region in beside:
            region.append([v, lo, hi])
    return regions


def _rim_spans(layout: Joisted, runs: Sequence[BeamRun], allowed: float) -> Iterator[tuple[float, float, float]]:
    """(position across, low, high) of the spans longer than `allowed` inches of the plies of rims along the joists: a
    beam that the joists beside them need runs on under these, but none is added for them alone."""
    for e, _, ply in layout.rims:
        if layout.is_lengthwise(e) and not layout.has_ledger(e):
            v = float(np.dot(ply.centroid.coords[0], layout.across))
            yield from ((v, lo, hi) for lo, hi in spans(layout, ply, runs) if hi - lo > allowed + 1e-6)


def whole_joists(layout: Beamed, run: BeamRun, piece: BeamRun) -> BeamRun:
    """A piece of a straight beam, longer where it ends under part of a joist: by less than a joist is thick."""
    half, (low, high) = layout.joist.thickness / 2, run.extent(piece.polygon)
    at = [v - float(np.dot(run.start, layout.across)) for v, _ in layout.joist_lines]
    low = min((v - half for v in at if abs(v - low) < half), default=low)
    return run.cut(low, max((v + half for v in at if abs(v - high) < half), default=high))


def slanted(run: BeamRun, others: Sequence[BeamRun], near: float) -> bool:
    """Whether one of other beams nearer than `near` runs neither along this one nor square to it."""
    return any(
        abs(abs(float(run.direction @ o.direction)) - 1) > 1e-9
        for o in others
        if o.polygon.distance(run.polygon) < near
    )
