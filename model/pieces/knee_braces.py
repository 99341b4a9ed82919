"""Knee braces: from the outermost posts of a beam up to the beam, in its own plane, so that the posts do not lean.

A brace lies between the post's face and the beam's underside, its ends cut to both: one side view, extruded along the
beam's thickness. Inner posts get none: they carry most, and a brace would bend them (DCA 6-2012 Figure 10). Laid last
of all, so that what stands in the way is known; a brace without room is left out and the check says so.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import MultiPoint, Polygon, box

from ...shared.points import pair
from ...shared.practice import practice
from ...shared.standards import find_limit
from ..plan.beam_run import BeamRun
from ..plan.border_and_field import given_direction
from ..plan.edges import FAR, parallel
from ..plan.seats import LEAST_LEG
from ..plan.stages import LevelPlan
from ..solid.part import Part, Place, Workshop
from ..solid.roles import named

USUAL_LEG = practice("leg of a knee brace")
WALKED_ON_STAIRS = (*named("walked"), "tread", "pad")
SHORTENED_BY = 4.0  # inches by which it is shortened where something stands in the way; our own
ABOVE_FOOT = 2.0  # inches of post kept below a brace; our own
OUT_OF_SQUARE = 1e-4  # inches: a post whose face is further from square to the beam gets no brace drawn
LEAST_UNDER = 0.5  # square inches of a post under a beam: less only grazes it; our own
BARELY = 1e-3  # inches, and square inches of plan: less is no obstacle


def build_knee_braces(layout: LevelPlan, shop: Workshop, built: Sequence[Part]) -> list[Part]:
    """The braces of all beams; `built` are all other pieces of the deck."""
    if not braced(layout):
        return []
    return [part for run in layout.runs for part in _of_beam(layout, shop, run, built)]


def braced(layout: LevelPlan) -> bool:
    """Whether the file asks for braces or, where it says nothing, the guide does."""
    asked = layout.parameters.frame.knee_braces
    return asked if asked is not None else not spared(layout)


def spared(layout: LevelPlan) -> bool:
    """Whether boards at 45 degrees to the joists stiffen a deck that hangs on the house in place of braces (DCA 6-2012
    commentary)."""
    boards = given_direction(layout.parameters)
    slants = ((layout.along + layout.across) / math.sqrt(2.0), (layout.along - layout.across) / math.sqrt(2.0))
    stiff = boards is not None and any(parallel(boards, s) for s in slants)
    return stiff and any(layout.has_ledger(e) for e in layout.outline.edges)


@dataclass(frozen=True)
class _Room:
    """Where a brace can be: `way` along the beam from the post's `face`, `leg` inches along beam and post from their
    corner to the brace's axis, its thickness from `low` on, across the beam from its centre line."""

    run: BeamRun
    way: int
    face: float
    leg: float
    low: float


def _of_beam(layout: LevelPlan, shop: Workshop, run: BeamRun, built: Sequence[Part]) -> Iterator[Part]:
    posts = _under(layout, run, built)
    if len(posts) < 2:
        return
    for way, post, inner in ((1, posts[0], posts[1]), (-1, posts[-1], posts[-2])):
        room = _room(layout, run, way, post, inner)
        while room is not None and room.leg >= LEAST_LEG:  # where something stands in its way a shorter one may do
            if not _in_the_ground(layout, room) and not any(_in_the_way(layout, room, p) for p in built):
                yield _brace(layout, shop, room)
                break
            room = replace(room, leg=room.leg - SHORTENED_BY)


def _under(layout: LevelPlan, run: BeamRun, built: Sequence[Part]) -> list[Part]:
    """The posts under a beam in their order along it, those that it shares with a neighbour on a mitre too."""
    top = layout.beam_bottom(run.flush)
    reaching = [p for p in built if p.role == "post" and p.box[0, 2] < top <= p.box[1, 2] + BARELY]
    found = [p for p in reaching if p.footprint.intersection(run.polygon).area > LEAST_UNDER]
    return sorted(found, key=lambda p: run.position(p.plan_middle))


def _room(layout: LevelPlan, run: BeamRun, way: int, post: Part, inner: Part) -> _Room | None:
    """None where the post asks for no brace, stands askew to the beam, or leaves it no length."""
    f = layout.parameters.frame
    stock = layout.parameters.stock(f.brace)
    height = layout.beam_bottom(run.flush) - float(post.box[0, 2])
    asked_from = find_limit("diagonal_bracing_post_height_min", layout.parameters.local.edition)
    if f.knee_braces is None and (asked_from is None or height <= asked_from.value):
        return None
    along, across = _reach(run, post)
    wide = across[1] - across[0]
    if abs((along[1] - along[0]) * wide - post.footprint.area) > OUT_OF_SQUARE * wide:
        return None
    face = along[1] if way > 0 else along[0]
    next_face = _reach(run, inner)[0][0 if way > 0 else 1]
    half = stock.width / math.sqrt(2.0)  # of the brace's own depth, along beam or post
    leg = min(f.brace_leg or USUAL_LEG, abs(next_face - face) / 2 - half, height - ABOVE_FOOT - half)
    if leg < LEAST_LEG:
        return None
    low = -stock.thickness / 2  # under the beam's middle, or as far aside as the post reaches
    if stock.thickness <= wide:
        low = min(max(low, across[0]), across[1] - stock.thickness)
    return _Room(run, way, face, leg, low)


def _reach(run: BeamRun, part: Part) -> tuple[tuple[float, float], tuple[float, float]]:
    """From where to where a piece lies along and across a beam's centre line."""
    ring = np.asarray(part.footprint.exterior.coords) - np.asarray(run.start)
    along, across = ring @ run.direction, ring @ run.across
    return (float(along.min()), float(along.max())), (float(across.min()), float(across.max()))


def _brace(layout: LevelPlan, shop: Workshop, room: _Room) -> Part:
    """Its side view: the longer edge below, both ends cut, upright at the post and level at the beam."""
    stock = layout.parameters.stock(layout.parameters.frame.brace)
    half, out = stock.width / math.sqrt(2.0), room.run.direction * room.way
    low = room.low if room.way < 0 else room.low + stock.thickness  # extruded along x cross y
    corner = np.asarray(room.run.point(room.face)) + room.run.across * low
    long, short = room.leg + half, room.leg - half
    ring = [(0.0, -long), (long, 0.0), (short, 0.0), (0.0, -short)]
    place = Place((*pair(corner), layout.beam_bottom(room.run.flush)), (*pair(out), 0.0), (0.0, 0.0, 1.0))
    return shop.prism("knee brace", stock, ring, stock.thickness, place, where=room.run.where, edge=room.run.edge)


def _in_the_ground(layout: LevelPlan, room: _Room) -> bool:
    """Whether ground that rises beside the post comes nearer to the brace's lower edge than to a post's foot."""
    stock = layout.parameters.stock(layout.parameters.frame.brace)
    long = room.leg + stock.width / math.sqrt(2.0)
    n = room.run.across
    corners = [(out, side) for out in (0.0, long) for side in (room.low, room.low + stock.thickness)]
    for out, side in corners:
        x, y = np.asarray(room.run.point(room.face + room.way * out)) + n * side
        if layout.beam_bottom(room.run.flush) - long + out < layout.planes.grade(x, y) + ABOVE_FOOT:
            return True
    return False


def _in_the_way(layout: LevelPlan, room: _Room, part: Part) -> bool:
    """Whether a piece reaches into the brace's place, or the brace into the headroom over a step or a landing: its plan
    in the brace's strip, its levels there between the brace's edges."""
    top, stock = layout.beam_bottom(room.run.flush), layout.parameters.stock(layout.parameters.frame.brace)
    half, head = stock.width / math.sqrt(2.0), _headroom(layout, part)
    if float(part.box[1, 2]) + head <= top + BARELY - room.leg - half or float(part.box[0, 2]) >= top - BARELY:
        return False
    (a, b), (c, d) = _reach(room.run, part)
    ends = sorted((room.face, room.face + room.way * (room.leg + half)))
    sides = (room.low, room.low + stock.thickness)
    if b <= ends[0] or a >= ends[1] or d <= sides[0] or c >= sides[1]:
        return False
    n = room.run.across
    corners = [(ends[0], sides[0]), (ends[1], sides[0]), (ends[1], sides[1]), (ends[0], sides[1])]
    hit = part.footprint.intersection(Polygon([np.asarray(room.run.point(s)) + n * t for s, t in corners]))
    if hit.area <= BARELY:
        return False
    at = [(room.run.position(p) - room.face) * room.way for p in hit.envelope.exterior.coords]
    near, far = max(min(at), 0.0), min(max(at), room.leg + half)
    lower, upper = _levels(room, part, n, sides)
    return lower - top < far - (room.leg - half) and upper + head - top > near - (room.leg + half)


def _headroom(layout: LevelPlan, part: Part) -> float:
    """What has to be free over a piece that is walked on along a stair; over a tread it counts from the line of the
    nosings, which rises to the next one."""
    if part.role not in WALKED_ON_STAIRS or part.stair is None:
        return 0.0
    row = find_limit("headroom_min", layout.parameters.local.edition)
    rise = layout.parameters.stair[part.stair].rise if part.role == "tread" else 0.0
    return row.value + rise if row else 0.0


def _levels(room: _Room, part: Part, n: np.ndarray, sides: tuple[float, float]) -> tuple[float, float]:
    """From which level to which a piece reaches between two planes along the beam, as it is seen along it."""
    seen = MultiPoint(np.column_stack([(part.vertices[:, :2] - np.asarray(room.run.start)) @ n, part.vertices[:, 2]]))
    cut = seen.convex_hull.intersection(box(sides[0], -FAR, sides[1], FAR))
    return (float(cut.bounds[1]), float(cut.bounds[3])) if not cut.is_empty else (FAR, -FAR)
