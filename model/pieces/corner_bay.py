"""The short level bay between the deck's post in a corner and that on the stringer of a stair which reaches the corner,
where they stand so far apart that more than the file's greatest opening would be left. Lengths in inches."""

from __future__ import annotations

import numpy as np
from shapely.geometry import Polygon

from ..plan.spots import StairPlan
from ..plan.stages import Posted
from .rails import RailRun, level_run

_FURTHEST = 12.0  # inches between posts that bound one opening at a corner; our own
LEAST_SQUARE = 0.3  # cosine of the angle to a post's face at which a rail still meets it; our own


def corner_run(layout: Posted, plan: StairPlan, side: str, post: Polygon, head: Polygon) -> RailRun | None:
    """The run from the face of the deck's `post` that looks past the neighbouring edge to the back of the stair's
    `head`; None where what is left open is no wider than the file's greatest opening, or no rail meets both faces."""
    edge, outline = plan.spot.edge, layout.outline
    if not layout.parameters.guard.gap < post.distance(head) < _FURTHEST:
        return None
    out = -(outline.before(edge) if side == "start" else outline.after(edge)).inward
    start, end = _middle(post, out), _middle(head, -plan.flights[0].out)
    way = (end - start) / np.hypot(*(end - start))
    if min(float(way @ out), float(way @ plan.flights[0].out)) < LEAST_SQUARE:
        return None
    return level_run(post, head, start, way)


def _middle(post: Polygon, towards: np.ndarray) -> np.ndarray:
    """The middle of the side of a square that looks a way."""
    centre = np.asarray(post.centroid.coords[0])
    return centre + towards * (float((np.asarray(post.exterior.coords) @ towards).max()) - float(centre @ towards))
