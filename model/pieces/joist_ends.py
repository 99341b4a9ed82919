"""Ends of joists that would stop in the air, each held by a block across.

A joist stops where something that runs a little out of its line stands in for it from there on: a rim, or the strip
under a border. Where it is needed up to there, its end is nailed to a block between what lies on its two sides, as the
joists beside an opening are (common practice, no source). Lengths in inches.
"""

from __future__ import annotations

import numpy as np
from shapely.geometry import Polygon

from ...shared.points import pair
from ..plan.board_shapes import polygons
from ..plan.edges import FAR, parallel
from ..plan.joist_plan import CROSSES
from ..plan.stages import LevelPlan, Setting
from ..solid.roles import ROLES
from ..solid.union import united
from .claims import END_ZONE, LEAST_FACE_MET, TOUCHING, Claim, Claims, is_block, length_along

CARRY_JOISTS = (*ROLES["joist"].carriers, "rim")
AT_POSTS = "beside a guard post"
LONGEST_BLOCK = 24.0  # inches: a piece of a joist beside a guard post no longer than this is a block (our own)
PLACES = 4  # tried for the block, from the end inwards by its own thickness (our own)


def hold_joist_ends(layout: Setting, claims: Claims) -> None:
    """Claims a block for every end of a joist that meets nothing, and cuts the joist to it."""
    joists = [m for m in claims.members if m.role == "joist"]
    for joist in sorted(joists, key=lambda m: layout.distance_out(m.polygon.centroid.coords[0])):
        for sign in (1, -1):
            if claims.end_meets(joist.polygon, joist.direction, sign) < LEAST_FACE_MET:
                _hold(layout, claims, joist, sign)


def blocks_at_posts(layout: Setting, claims: Claims) -> None:
    """Makes blocking of each piece of a joist, no longer than a bay is wide, that ends on a guard post: a post carries
    no joist, and what is nailed between it and the next member is a block."""
    for m in claims.members:
        if m.role == "joist" and length_along(m.polygon, m.direction) <= max(layout.joist_spacing, LONGEST_BLOCK):
            posts = [q for q in claims.posts if q.distance(m.polygon) < TOUCHING]
            if max(claims.end_meets(m.polygon, m.direction, s, posts) for s in (1, -1)) >= LEAST_FACE_MET:
                m.role, m.where = "border blocking", AT_POSTS


def blocks_between(layout: LevelPlan, claims: Claims) -> None:
    """Makes blocking of each piece of a joist, of whatever length, that ends on guard posts or blocks at both ends and
    lies on no beam: what would carry it as a joist is neither, and it is nailed to them as the blocks beside it."""
    at_ends = [m.polygon for m in claims.members if m.role in CARRY_JOISTS]
    under = [run.polygon for run in layout.runs if not run.flush]
    for m in claims.members:
        if m.role != "joist" or any(m.polygon.intersection(q).area > CROSSES for q in under):
            continue
        if max(claims.end_meets(m.polygon, m.direction, s, at_ends) for s in (1, -1)) >= LEAST_FACE_MET:
            continue
        if claims.held(m.polygon, m.direction):
            m.role, m.where = "border blocking", AT_POSTS


def run_on_to_hold(layout: Setting, claims: Claims) -> None:
    """Lengthens each member under a breaker along the joists, an end of which meets nothing, as far as what stands in
    its line: where a strip of the border was to take it on and gave way itself, it would end in the air."""
    for m in claims.members:
        if m.role != "border blocking" or m.edge is not None or not parallel(m.direction, layout.along):
            continue
        for sign in (1, -1):
            if claims.end_meets(m.polygon, m.direction, sign) < LEAST_FACE_MET:
                _run_on(layout, claims, m, sign)


def _run_on(layout: Setting, claims: Claims, m: Claim, sign: int) -> None:
    d = np.asarray(m.direction) * sign
    n, ring = np.array([-d[1], d[0]]), np.asarray(m.polygon.exterior.coords)
    tip, low, high = float((ring @ d).max()), float((ring @ n).min()), float((ring @ n).max())
    before = m.polygon
    # from a little before its end, so that the two are one piece
    corners = ((tip - END_ZONE, low), (FAR, low), (FAR, high), (tip - END_ZONE, high))
    line = before.union(Polygon([d * a + n * v for a, v in corners]).intersection(layout.inner))
    stood = united([q for q in claims.near(line) if q is not before])
    whole = max(polygons(line.difference(stood)), key=lambda g: g.intersection(before).area, default=before)
    straight = whole.area > length_along(whole, d) * (high - low) - END_ZONE * (high - low)
    if straight and before.difference(whole).area < CROSSES:
        claims.cut(m, whole)
        if claims.end_meets(whole, m.direction, sign) < LEAST_FACE_MET:
            claims.cut(m, before)


def _hold(layout: Setting, claims: Claims, joist: Claim, sign: int) -> None:
    t, d = layout.joist.thickness, np.asarray(joist.direction) * sign
    n = np.array([-d[1], d[0]])
    ring = np.asarray(joist.polygon.exterior.coords)
    tip, middle = float((ring @ d).max()), float((ring @ n).min() + (ring @ n).max()) / 2
    reach = layout.joist_spacing + t

    def band(low: float, high: float) -> Polygon:
        corners = ((low, -reach), (high, -reach), (high, reach), (low, reach))
        return Polygon([d * u + n * (middle + v) for u, v in corners])

    whole = joist.polygon
    for k in range(PLACES):
        at = tip - k * t
        rest = whole.difference(band(at, tip + t))
        if not isinstance(rest, Polygon):
            break
        claims.cut(joist, rest)
        across = [
            g
            for g in claims.free(band(at, at + t).intersection(layout.inner))
            if is_block(g, n) and g.distance(rest) < t / 2 and claims.held(g, pair(n))
        ]
        if len(across) == 1 and claims.end_meets(rest, joist.direction, sign, across) >= LEAST_FACE_MET:
            claims.claim([Claim("blocking", across[0], pair(n), "at the end of a joist")])
            return
    claims.cut(joist, whole)
