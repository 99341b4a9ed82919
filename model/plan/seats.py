"""How a beam sits on its posts, in plan: on a cap on top, or in a notch at the post's upper end.

In a notch the beam lies on a shoulder as deep as it is thick, its outer face in the post's; the rest of the post goes
up beside it on the inner side. A beam is seated so where it is alone on its post: at a mitre two beams end on one
post from two sides, and beside a flush beam the post would stand among the joists hung there; both have a cap.
"""

from __future__ import annotations

import math

import numpy as np
from shapely.geometry import LineString, Polygon

from ...shared.errors import DesignError
from ...shared.points import Vector, pair
from ...shared.practice import practice
from ...shared.standards import find_limit
from ...shared.stock import lumber, nominal_sizes
from .beam_run import BeamRun
from .edges import FAR
from .spots import SeatNotch
from .stages import Beamed, Setting

LEAST_LEG = 12.0  # inches: a shorter brace holds next to nothing; our own
BELOW_TOP = practice("notched post below its beam's top")


def width(layout: Beamed, flush: bool) -> float:
    """Of a beam at joist level, or under it, all plies."""
    return layout.parameters.frame.beam_plies * layout.beam_stock(flush).thickness


def least_bearing(layout: Setting) -> float:
    """Inches of bearing on wood that the rules ask for at the least; 0 where the edition has no such row."""
    row = find_limit("bearing_on_wood_min", layout.parameters.local.edition)
    return float(row.value) if row else 0.0


def is_notched(layout: Beamed, run: BeamRun, at: Vector) -> bool:
    """Whether the post of a beam at a point of its centre line is notched for it."""
    here = run.position(at)
    at_mitre = any(m and abs(here - end) < 1e-6 for m, end in zip(run.mitred, (0.0, run.length)))
    return layout.parameters.frame.beam_seat == "notched post" and not run.flush and not at_mitre


def check_seats(layout: Beamed) -> None:
    """Raises DesignError where no wood of a post would stay beside the notch."""
    f, wide = layout.parameters.frame, width(layout, False)
    post = layout.parameters.stock(f.post).width
    if f.beam_seat != "notched post" or not layout.some_under or wide < post - 1e-6:
        return
    row = find_limit("notched_post_thickness_left_min", layout.parameters.local.edition)
    left = float(row.value) if row else 0.0
    square = [s for s in map(lumber, nominal_sizes()) if s.thickness == s.width]
    fit = next((s.name for s in square if s.width > wide and s.width - wide >= left - 1e-6), None)
    raise DesignError(
        "frame.post",
        f"is {f.post}, {post:g} in wide, and a notch for {f.beam_plies} plies of {layout.beam.name} is {wide:g} in"
        f" deep: no wood would stay beside it",
        ("frame.post", fit) if fit else ("frame.beam_seat", "post cap"),
    )


def inward(layout: Setting, run: BeamRun) -> np.ndarray:
    """The plan unit vector square to a beam, away from the edge that it stands behind, or from the nearer side of the
    deck."""
    n = run.across
    if run.edge is not None:
        return n
    middle = np.asarray(run.point(run.length / 2))

    def room(way: np.ndarray) -> float:
        return float(layout.outline.polygon.intersection(LineString([middle, middle + way * FAR])).length)

    return n if room(n) >= room(-n) - 1e-6 else -n


def post_centre(layout: Beamed, run: BeamRun, at: Vector) -> tuple[float, float]:
    """The plan centre of the post of a beam at a point of its centre line; a notched one lies inwards, its outer face
    in the beam's."""
    if not is_notched(layout, run, at):
        return pair(at)
    half = layout.parameters.stock(layout.parameters.frame.post).width / 2
    return pair(np.asarray(at) + inward(layout, run) * (half - width(layout, run.flush) / 2))


def post_square(layout: Beamed, run: BeamRun, at: Vector) -> Polygon:
    """The plan square of the post of a beam at a point of its centre line, one face along the beam."""
    h, d = layout.parameters.stock(layout.parameters.frame.post).width / 2, run.direction
    n, c = np.array([-d[1], d[0]]), np.asarray(post_centre(layout, run, at))
    return Polygon([c - d * h - n * h, c + d * h - n * h, c + d * h + n * h, c - d * h + n * h])


def shortest_braced(layout: Beamed) -> float:
    """The least length between the posts under a beam's ends that leaves a knee brace at either any length."""
    f, stock = layout.parameters.frame, layout.parameters.stock
    return 2 * (LEAST_LEG + stock(f.brace).width / math.sqrt(2.0)) + stock(f.post).width


def beside_notch(layout: Beamed, run: BeamRun, at: Vector) -> Polygon | None:
    """The plan of what goes up beside the beam; None for a post that is not notched."""
    if not is_notched(layout, run, at):
        return None
    return post_square(layout, run, at).difference(run.band(-FAR, FAR, width(layout, run.flush) / 2))


def notch_of(layout: Beamed, run: BeamRun, at: Vector) -> SeatNotch | None:
    """The notch of the post of a beam at a point of its centre line; None where the beam sits on a cap."""
    if not is_notched(layout, run, at):
        return None
    return SeatNotch(width(layout, run.flush), layout.beam.width - BELOW_TOP, pair(inward(layout, run)))
