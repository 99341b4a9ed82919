"""Views: plans, sections and elevations of the parts as linework at true size, in the view's own coordinates.

Every piece is a prism, so sections and projections are exact outline arithmetic and need no kernel. In an elevation or
a section v is the world's z; in a plan u, v are the world's x, y. Everything is measured from the pieces as they stand,
in inches; nothing here knows a rule of building.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from . import hidden as _hidden
from .eye import Eye
from .view_faces import ROUND_SIDES, Scene, depths, scene, triangles

if TYPE_CHECKING:
    from ...model.solid.part import Part

CUT, SEEN, HIDDEN = "cut", "seen", "hidden"
ONLY_GRAZES = 1e-6  # inches: a plane that only touches a face does not cut the piece
_SLACK = 1.0  # inches: parts this near the section plane are looked at closely (a round one reaches past its corners)
_CUT_SIDES = 64  # a cut across a round piece is drawn with four times as many sides: area right to 0.01 percent


@dataclass(slots=True)
class ViewLine:
    """A straight stretch of one piece's edge. `kind`: cut, seen or hidden. `depth` grows towards the eye."""

    part: Part
    kind: str
    a: tuple[float, float]
    b: tuple[float, float]
    depth: float

    @property
    def length(self) -> float:
        return float(np.hypot(self.b[0] - self.a[0], self.b[1] - self.a[1]))


@dataclass(frozen=True)
class CutFace:
    """Where the section plane goes through a piece: a polygon to outline heavily and to hatch."""

    part: Part
    polygon: Polygon


@dataclass(frozen=True)
class Round:
    """A round piece seen end on: a whole circle."""

    part: Part
    kind: str
    centre: tuple[float, float]
    radius: float


@dataclass
class Linework:
    """What a view shows. `box` is (u0, v0, u1, v1) of all of it: measured once, so nothing is added to it later."""

    view: Eye
    lines: list[ViewLine] = field(default_factory=list)
    cuts: list[CutFace] = field(default_factory=list)
    rounds: list[Round] = field(default_factory=list)

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        points: list[tuple[float, float]] = []
        if self.lines:  # by coordinate: an array of many small tuples is slow to make
            us, vs = ([p[axis] for l in self.lines for p in (l.a, l.b)] for axis in (0, 1))
            points += [(min(us), min(vs)), (max(us), max(vs))]
        for c in self.cuts:
            u0, v0, u1, v1 = c.polygon.bounds
            points += [(u0, v0), (u1, v1)]
        for r in self.rounds:
            points += [
                (r.centre[0] - r.radius, r.centre[1] - r.radius),
                (r.centre[0] + r.radius, r.centre[1] + r.radius),
            ]
        if not points:
            return (0.0, 0.0, 0.0, 0.0)
        xy = np.asarray(points)
        return (*map(float, xy.min(axis=0)), *map(float, xy.max(axis=0)))


def cut_faces(part: Part, view: Eye) -> list[Polygon]:
    """The exact faces in which the view's plane cuts the piece, in view coordinates; empty if it misses or only
    touches.

    In the piece's own coordinates the plane meets the prism where the outline lies between two parallel lines (the
    traces of the plane on both ends), so one clip of the outline and one linear map give the face.
    """
    turn = view.axes @ part.place.matrix[:3, :3]
    shift = view.axes @ part.place.matrix[:3, 3]
    nx, ny, nz = turn[2]
    gap = view.plane - shift[2]  # the plane is n . p = gap in local coordinates
    slope, height = float(np.hypot(nx, ny)), part.shape.thickness
    corners_low, corners_high = _depth_range(part, turn[2])
    if gap <= corners_low + ONLY_GRAZES or gap >= corners_high - ONLY_GRAZES:
        return []
    if abs(nz) < 1e-9:
        return _along(part, turn, shift, gap / slope, np.array([nx, ny]) / slope)
    outline = _outline(part)
    if slope > 1e-9:  # 0 <= (gap - n . xy) / nz <= height
        g, far = (
            np.array([nx, ny]) / slope,
            10 * (abs(gap) / slope + sum(map(abs, outline.bounds)) + height * abs(nz) / slope + 1),
        )
        first, second = sorted((gap / slope, (gap - nz * height) / slope))
        outline = outline.intersection(_strip(g, first, second, far))
    faces = []
    for polygon in _polygons(outline):

        def lift(xy):
            z = (gap - xy[:, 0] * nx - xy[:, 1] * ny) / nz
            return np.column_stack([xy, z]) @ turn[:2].T + shift[:2]

        faces.append(orient(shapely.transform(polygon, lift)))
    return faces


def _depth_range(part, n) -> tuple[float, float]:
    if part.shape.circle is not None:
        reach = part.shape.circle * np.hypot(n[0], n[1])
        low, high = -reach, reach
    else:
        d = np.asarray(part.shape.outline) @ n[:2]
        low, high = d.min(), d.max()
    rise = n[2] * part.shape.thickness
    return low + min(rise, 0.0), high + max(rise, 0.0)


def _outline(part) -> Polygon:
    if part.shape.circle is not None:
        return shapely.Point(0, 0).buffer(part.shape.circle, quad_segs=_CUT_SIDES)
    return part.shape.polygon


def _strip(g, first, second, far) -> Polygon:
    along = np.array([-g[1], g[0]])
    ring = [g * first - along * far, g * second - along * far, g * second + along * far, g * first + along * far]
    return Polygon(ring)


def _along(part, turn, shift, at: float, g) -> list[Polygon]:
    """A cut along the extrusion: each stretch of the outline's chord makes a rectangle as high as the thickness."""
    if part.shape.circle is not None:
        half = float(np.sqrt(max(part.shape.circle**2 - at**2, 0.0)))
        spans = [(-half, half)] if half > ONLY_GRAZES else []
    else:
        outline, across = part.shape.polygon, np.array([-g[1], g[0]])
        reach = 2 * sum(map(abs, outline.bounds)) + 2 * abs(at) + 1
        chord = shapely.LineString([g * at - across * reach, g * at + across * reach]).intersection(outline)
        spans = []
        for piece in getattr(chord, "geoms", [chord]):
            if piece.geom_type == "LineString" and piece.length > ONLY_GRAZES:
                s = np.asarray(piece.coords) @ across
                spans.append((float(s.min()), float(s.max())))
    across, faces = np.array([-g[1], g[0]]), []
    for s0, s1 in spans:
        a, b = g * at + across * s0, g * at + across * s1
        ring = np.array([[*a, 0], [*b, 0], [*b, part.shape.thickness], [*a, part.shape.thickness]])
        faces.append(orient(Polygon(ring @ turn[:2].T + shift[:2])))
    return faces


def _polygons(shape) -> list[Polygon]:
    return [p for p in getattr(shape, "geoms", [shape]) if p.geom_type == "Polygon" and p.area > 1e-9]


def project(
    parts: Iterable[Part],
    view: Eye,
    *,
    hidden: bool = False,
    under: Iterable[Part] = (),
    beyond: float | None = None,
) -> Linework:
    """The linework of the parts in the view: cut faces if the view has a plane, seen lines, and hidden ones if asked.

    `under`: pieces drawn whole as hidden lines, hiding nothing (a beam below a framing plan). `beyond`: how far behind
    the section plane (or, without a plane, behind the nearest point) pieces are still shown; None for all. Overlapping
    lines are drawn once: cut before seen before hidden, near before far.
    """
    parts, under = list(parts), list(under)
    cuts = []
    if view.plane is not None:
        low, high = depths(parts, view)
        near = (low - _SLACK < view.plane) & (high + _SLACK > view.plane)
        cuts = [CutFace(p, face) for p, met in zip(parts, near) if met for face in cut_faces(p, view)]
        behind = (low < view.plane - ONLY_GRAZES) & (high > view.plane - (np.inf if beyond is None else beyond))
        parts = [p for p, shown in zip(parts, behind) if shown]
    made = scene(parts, view)
    a, b, owner, rim = made.a, made.b, made.owner, made.rim
    front = view.plane if view.plane is not None else np.inf
    low = -np.inf if beyond is None else (front if np.isfinite(front) else max(a[:, 2].max(), b[:, 2].max())) - beyond
    a, b, keep = _between(a, b, low, front)
    owner, rim = owner[keep], rim[keep]
    faces = made.faces + [
        np.column_stack([r, np.full(len(r), front)])[None] for c in cuts for r in triangles(c.polygon)
    ]
    spans = _hidden.hidden_spans(a, b, faces, front)
    edge, t0, t1, is_hidden = _hidden.divide(a, b, spans)
    work = Linework(view, cuts=cuts)
    whole = _whole_rounds(parts, a, rim, owner, edge, is_hidden, work, view, hidden)
    keep = ~whole[edge] & (~is_hidden | hidden)
    edge, t0, t1, is_hidden = edge[keep], t0[keep], t1[keep], is_hidden[keep]
    d = b[edge] - a[edge]
    p, q = a[edge] + d * t0[:, None], a[edge] + d * t1[:, None]
    who, rank = owner[edge], np.where(is_hidden, 2, 1)
    cp, cq, cwho = _cut_edges(cuts, front)
    up, uq, uwho = _under_edges(under, view, work)
    everyone = parts + [c.part for c in cuts] + under
    p, q = np.vstack([p, cp, up]), np.vstack([q, cq, uq])
    who = np.concatenate([who, cwho + len(parts), uwho + len(parts) + len(cuts)]).astype(int)
    rank = np.concatenate([rank, np.zeros(len(cp), int), np.full(len(up), 2)])
    near = (p[:, 2] + q[:, 2]) / 2
    source, s, e = _hidden.once(p[:, :2], q[:, :2], rank, near)
    kinds = (CUT, SEEN, HIDDEN)
    work.lines = [
        ViewLine(everyone[who[i]], kinds[rank[i]], (float(x0), float(y0)), (float(x1), float(y1)), float(near[i]))
        for i, (x0, y0), (x1, y1) in zip(source.tolist(), s, e)
    ]
    return work


def _between(a, b, low, high):
    """Edges clipped to low <= depth <= high, and the index of the edge each comes from; points are left out."""
    d = b - a
    with np.errstate(divide="ignore", invalid="ignore"):
        at_low, at_high = (low - a[:, 2]) / d[:, 2], (high - a[:, 2]) / d[:, 2]
    level = np.abs(d[:, 2]) < 1e-12
    t0 = np.where(level, 0.0, np.clip(np.fmin(at_low, at_high), 0, 1))
    t1 = np.where(level, 1.0, np.clip(np.fmax(at_low, at_high), 0, 1))
    outside = level & ((a[:, 2] < low - ONLY_GRAZES) | (a[:, 2] > high + ONLY_GRAZES))
    keep = ~outside & ((t1 - t0) * np.hypot(d[:, 0], d[:, 1]) > _hidden.SHORTEST_LINE)
    i = np.nonzero(keep)[0]
    return a[i] + d[i] * t0[i, None], a[i] + d[i] * t1[i, None], i


def _whole_rounds(parts, a, rim, owner, edge, is_hidden, work, view, hidden):
    """Take round caps seen wholly one way out of the lines and draw each as a circle. Returns a mask of the edges
    taken."""
    taken = np.zeros(len(a), bool)
    for who in np.unique(owner[rim > 0]):
        mine = np.nonzero((owner == who) & (rim > 0))[0]
        kinds = set(is_hidden[np.isin(edge, mine)].tolist())
        if len(mine) == ROUND_SIDES and len(kinds) == 1:
            taken[mine] = True
            kind = HIDDEN if kinds.pop() else SEEN
            if kind == SEEN or hidden:
                work.rounds.append(
                    Round(
                        parts[who],
                        kind,
                        tuple(map(float, view.flat([parts[who].place.origin])[0])),
                        parts[who].shape.circle,
                    )
                )
    return taken


def _cut_edges(cuts, front):
    p, q, who = [np.zeros((0, 3))], [np.zeros((0, 3))], [np.zeros(0, int)]
    for i, c in enumerate(cuts):
        for ring in (c.polygon.exterior, *c.polygon.interiors):
            xy = np.column_stack([np.asarray(ring.coords)[:, :2], np.full(len(ring.coords), front)])
            p.append(xy[:-1])
            q.append(xy[1:])
            who.append(np.full(len(xy) - 1, i))
    return np.vstack(p), np.vstack(q), np.concatenate(who)


def _under_edges(under, view, work):
    made: Scene = scene(under, view)
    for who in np.unique(made.owner[made.rim > 0]):
        part = under[who]
        work.rounds.append(Round(part, HIDDEN, tuple(map(float, view.flat([part.place.origin])[0])), part.shape.circle))
    a, b, keep = _between(made.a, made.b, -np.inf, np.inf)
    plain = made.rim[keep] == 0
    return a[plain], b[plain], made.owner[keep][plain]


def plan(
    parts: Iterable[Part], *, at: float | None = None, under: Iterable[Part] = (), hidden: bool = False
) -> Linework:
    """From above; cut at height `at` if given. `under` pieces are drawn dashed whole."""
    return project(parts, Eye.above(at), hidden=hidden, under=under)


def section(
    parts: Iterable[Part], through: Sequence[float], direction: Sequence[float], *, beyond: float | None = None
) -> Linework:
    """Upright section through the plan point `through`, looking along the plan direction `direction`."""
    return project(parts, Eye.looking(direction, through), beyond=beyond)


def elevation(parts: Iterable[Part], direction: Sequence[float], *, hidden: bool = False) -> Linework:
    """Seen level along the plan direction, hidden lines removed (or dashed if `hidden`)."""
    return project(parts, Eye.looking(direction), hidden=hidden)
