"""How far a beam keeps off a house that carries no ledger, and how far beams run up to its wall. Inches."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Point

from .beam_run import LEAST_BEAM, BeamRun
from .edges import Edge
from .seats import width
from .stages import Beamed

FOOTING_AT_WALL = 27.0  # inches across for which a beam beside the house has room, where none is given; our own
PAST_LAST_JOIST = 1.0  # inches that a beam goes past the last joist on it before a wall; our own


def off_the_wall(layout: Beamed, edge: Edge) -> float:
    """Inside an edge along the house, the outer face of a beam whose footings keep out of the wall; 0 along others, and
    where a ledger hangs."""
    f = layout.parameters.frame
    if not edge.house or layout.has_ledger(edge):
        return 0.0
    wide = max(f.footing.size or FOOTING_AT_WALL, layout.at_wall)
    return max(0.0, (wide - width(layout, False)) / 2 - f.house_gap)


def short_of_the_wall(layout: Beamed, run: BeamRun) -> BeamRun:
    """A beam under the joists that ends just past the last joist on it, where a footing under its end would stand in
    the wall that it runs up to: the last post may stand further in then, with no more of the beam past it."""
    if run.flush or layout.at_wall == 0.0:
        return run
    on = [piece for _, piece in layout.joist_lines]
    on += [ply for e, _, ply in layout.rims if not layout.has_ledger(e)]
    lie = [p for piece in on if not (p := piece.intersection(run.polygon)).is_empty]
    if not lie:
        return run
    at = (shapely.get_coordinates(lie) - run.start) @ run.direction
    past = layout.joist.thickness + PAST_LAST_JOIST  # a second joist under butt joints lies on it whole
    low, high = run.reach
    beside = [layout.house_wall.distance(Point(end)) < layout.at_wall / 2 for end in (run.start, run.end)]
    if beside[0] and not run.mitred[0]:
        low = max(low, float(np.min(at)) - past)
    if beside[1] and not run.mitred[1]:
        high = min(high, float(np.max(at)) + past)
    return run.cut(low, high) if (low, high) != run.reach and high - low >= LEAST_BEAM else run
