"""Beams behind short edges, too short for two posts: they run on under the joists beside them (common practice, no
source). Plan coordinates, inches."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from shapely.geometry import Polygon
from shapely.ops import unary_union

from ..solid.union import united
from .beam_run import BeamRun
from .board_shapes import polygons
from .footings import POST_GAP
from .stages import Joisted, Setting

_SAME = 1e-3  # inches: two beams end in one mitre
_BEARS = 2.0  # square inches: a joist that lies on a beam by less grazes it (our own)
_MORE = 6.0  # inches past the cantilever that a joist may reach without a beam of two feet at its end (our own)
_OUT = 1e-3  # square inches of plan outside the deck, or in another beam, from rounding alone


def run_on_for_posts(layout: Setting, runs: Sequence[BeamRun]) -> list[BeamRun]:
    """The beams, each that is too short for two posts past a free end as far as they need, where it stays under the
    deck and clear of the others."""
    least = 2 * layout.parameters.stock(layout.parameters.frame.post).width + POST_GAP
    return [r if r.flush or all(r.mitred) or r.length >= least else _longer(layout, r, runs, least) for r in runs]


def without_needless(layout: Joisted, runs: Sequence[BeamRun]) -> list[BeamRun]:
    """The beams but those that end on a neighbour's mitre, are too short for two posts, and carry no joist that would
    reach further past the others than the cantilever. The neighbour then ends by itself."""
    least = 2 * layout.parameters.stock(layout.parameters.frame.post).width + POST_GAP
    kept = list(runs)
    for run in runs:
        if run.flush or run.mitred.count(True) != 1 or run.length >= least or not _needless(layout, run, kept):
            continue
        tip = run.start if run.mitred[0] else run.end
        kept = [_unmitred(r, tip) for r in kept if r is not run]
    return kept


def _needless(layout: Joisted, run: BeamRun, runs: Sequence[BeamRun]) -> bool:
    others, d = [r.polygon for r in runs if r is not run], layout.along
    for _, joist in layout.joist_lines:
        if joist.intersection(run.polygon).area < _OUT:
            continue
        here = float(np.asarray(joist.intersection(run.polygon).centroid.coords[0]) @ d)
        at = np.asarray(joist.exterior.coords) @ d
        borne = [g for o in others for g in polygons(joist.intersection(o)) if g.area > _BEARS]
        places = np.array([float(np.asarray(g.centroid.coords[0]) @ d) for g in borne])
        if not len(places):
            return False
        # what of the joist reaches past all the others on the side of the beam that goes
        past = float(at.max() - places.max() if here > places.max() else places.min() - at.min())
        if places.min() < here < places.max() or past > layout.parameters.frame.cantilever + _MORE:
            return False
    return True


def _unmitred(run: BeamRun, tip: tuple[float, float]) -> BeamRun:
    start, end = (m and math.dist(at, tip) > _SAME for m, at in zip(run.mitred, (run.start, run.end)))
    return replace(run, mitred=(start, end))


def _longer(layout: Setting, run: BeamRun, runs: Sequence[BeamRun], least: float) -> BeamRun:
    by = least - run.length
    within = layout.outline.polygon
    others = united([r.polygon for r in runs if r is not run])
    for end in (1, 0)[:: layout.ahead(run.direction)]:
        if run.mitred[end]:
            continue
        plies = [_on_to(run, ply, end, by) for ply in run.plies]
        added = unary_union(plies)
        if added.difference(within).area < _OUT and added.intersection(others).area < _OUT:
            to = run.point(run.length + by if end else -by)
            return replace(run, plies=tuple(plies), start=run.start if end else to, end=to if end else run.end)
    return run


def _on_to(run: BeamRun, ply: Polygon, end: int, by: float) -> Polygon:
    """A ply with its free end square, so many inches past the beam's."""
    at = np.asarray(ply.exterior.coords)[:-1] - run.start
    along, across = at @ run.direction, at @ run.across
    middle = float(along.min() + along.max()) / 2
    tip = run.length + by if end else -by
    along[along > middle if end else along < middle] = tip
    return Polygon(np.asarray(run.start) + np.outer(along, run.direction) + np.outer(across, run.across))
