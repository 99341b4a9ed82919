"""Everything at joist level: ledger, rims, joists, and the blocking that carries border, field ends, posts and joists'
sides.

All of it is full joist depth, so it is a partition of the plan: each kind claims its footprint in order (rims,
guard-post blocks, lengthwise members, joists, blocks across) and later kinds are cut to fit between what stands. A
block is kept only where both its ends meet a member.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely import STRtree
from shapely.geometry import Point, Polygon

from ...shared.points import Vector
from ...shared.practice import practice
from ..plan.beam_run import BeamRun
from ..plan.board_runs import TONGUE, board_rows, notch_round
from ..plan.edges import FAR, Edge
from ..plan.joist_plan import direction_of, rims
from ..plan.joist_spans import spans
from ..plan.seats import post_square
from ..plan.splits import joints
from ..plan.spots import UNDER_JOINTS, PostSpot
from ..plan.stages import LevelPlan, Posted, Setting
from ..solid.part import Part, Workshop
from .support import beam_lengths

SHORTEST_BLOCK = practice("shortest block")
LEAST_ACROSS = 0.5  # cosine: blocks over a beam within 30 degrees of the joists would be slivers; our own
SPLINTER = 1 / 3  # of a lengthwise member's thickness: less is a splinter beside what stands there already (our own)
NEARLY_ALONG = 0.9  # cosine: a block behind a post of a rim so nearly along the joists would meet none; our own
TOUCHING = 1e-4
THINNEST = practice("thinnest block")
LEAST_SHARE = 1.0  # inches of field ends that a block behind a post carries by itself; our own
EDGE_GRID = 1e-9  # inches: shared edges that differ in their last bits are one edge on it


@dataclass
class Claim:
    """A claimed footprint: role, plan polygon, direction of its long axis, and where it is."""

    role: str
    polygon: Polygon
    direction: tuple[float, float]
    where: str
    edge: str | None = None


class Claims:
    """The plan at joist level, filling up. `free` cuts a shape to what is still free; `claim` takes footprints."""

    def __init__(self) -> None:
        self.members: list[Claim] = []
        self.posts: list[Polygon] = []  # guard posts: nothing lies in them, blocks may be nailed to them
        self.cleats: list[Polygon] = []  # of stair headers: nothing lies in them
        self._tree: STRtree | None = None
        self._shapes: list[Polygon] = []

    def claim(self, members: list[Claim]) -> None:
        self.members += members
        self._tree = None

    def near(self, shape: Any, cleats: bool = True) -> list[Polygon]:
        """Claimed footprints, guard posts and (unless told otherwise) cleats that touch a shape."""
        if self._tree is None:
            self._shapes = [m.polygon for m in self.members] + self.posts + self.cleats
            self._tree = STRtree(self._shapes)
        limit = len(self._shapes) - (0 if cleats else len(self.cleats))
        return [self._shapes[i] for i in self._tree.query(shape, predicate="dwithin", distance=TOUCHING) if i < limit]

    def free(self, shape: Any) -> list[Polygon]:
        around = self.near(shape)
        rest = shapely.difference(shape, shapely.union_all(around), grid_size=EDGE_GRID) if around else shape
        return [g for g in getattr(rest, "geoms", [rest]) if isinstance(g, Polygon) and g.area > 0.05]

    def held(self, piece: Polygon, direction: Vector) -> bool:
        """Whether both ends of a piece meet a member or a guard post."""
        around = self.near(piece, cleats=False)
        s = np.asarray(piece.exterior.coords)[:-1]
        along = s @ np.asarray(direction)
        for end in (along.min(), along.max()):
            corner = s[np.abs(along - end) < 1e-6].mean(axis=0)
            # a bevelled end meets its carrier along its whole face: the middle of the face at that end is asked
            near = s[np.argsort(np.abs(along - end))[:2]].mean(axis=0)
            if not any(o.distance(Point(near)) < 0.02 or o.distance(Point(corner)) < TOUCHING for o in around):
                return False
        return True


def plan_members(layout: LevelPlan) -> list[Claim]:
    """All joist-level members of the deck, in plan."""
    claims = Claims()
    claims.posts = [p.polygon for p in layout.posts]
    claims.cleats = [c for s in layout.stairs for c in s.cleats]
    claims.claim(_rims(layout))
    claims.claim(
        [
            Claim("beam", piece, tuple(run.direction), run.where)
            for run in layout.runs
            if run.flush and run.edge is None
            for _, piece in beam_lengths(layout, run)
        ]
    )
    joists = [Claim("joist", piece, direction_of(layout, piece), "field") for _, piece in layout.joist_lines]
    joists += [Claim(b.role, b.polygon, b.direction, UNDER_JOINTS) for b in layout.field.beside_joists]
    blocks = _post_blocks(layout, claims, joists)
    claims.claim(blocks)
    for strip in layout.strips:
        if strip.lengthwise:
            pieces = [
                g
                for g in claims.free(strip.polygon)
                if _length(g, strip.direction) >= SHORTEST_BLOCK
                and g.area >= SPLINTER * layout.joist.thickness * _length(g, strip.direction)
            ]
            claims.claim(
                [Claim("border blocking", g, strip.direction, f"under the {strip.purpose}", strip.edge) for g in pieces]
            )
    claims.claim(
        [
            Claim(j.role, g, j.direction, j.where)
            for j in joists
            for g in claims.free(j.polygon)
            if _length(g, j.direction) > 6
        ]
    )
    for strip in layout.strips:
        if not strip.lengthwise:
            claims.claim(
                _between(
                    claims, strip.polygon, strip.direction, "border blocking", f"under the {strip.purpose}", strip.edge
                )
            )
    claims.claim(_behind_post_blocks(layout, claims))
    for run in layout.runs if layout.parameters.frame.blocking_at_beams else ():
        if not run.flush:
            claims.claim(_over_beam(layout, claims, run))
    claims.claim(_rows(layout, claims))
    return claims.members


def _length(piece: Polygon, direction) -> float:
    along = np.asarray(piece.exterior.coords) @ np.asarray(direction)
    return float(along.max() - along.min())


def _is_block(piece: Polygon, direction) -> bool:
    """Long enough to be nailed and not planed away lengthwise by what stands beside it."""
    length, thickness = _length(piece, direction), _length(piece, (-direction[1], direction[0]))
    return (
        length >= SHORTEST_BLOCK
        and piece.area >= SHORTEST_BLOCK * thickness
        and piece.area >= 0.5 * length * thickness
        and thickness > THINNEST
    )


def _rims(layout: LevelPlan) -> list[Claim]:
    members = []
    cuts: dict[str, list[float]] = {}
    for edge, _, polygon in rims(layout):
        role = "ledger" if layout.has_ledger(edge) else "rim"
        stock = (
            layout.parameters.stock(layout.parameters.frame.ledger or layout.parameters.frame.joist)
            if role == "ledger"
            else layout.joist
        )
        longest = layout.parameters.longest(stock)
        pieces, cuts[edge.name] = _in_lengths(layout, edge, polygon, longest, cuts.get(edge.name, ()))
        for piece in pieces:
            members.append(Claim(role, piece, tuple(edge.direction), f"{edge.name} edge", edge.name))
    return members


def _in_lengths(
    layout: LevelPlan, edge: Edge, polygon: Polygon, longest: float, beside: Sequence[float]
) -> tuple[list[Polygon], list[float]]:
    """A rim or ledger longer than the yard sells, and its joints: butted in the middle of a joist's end, away from the
    joints of the ply `beside` it; a rim that runs along the joists over a beam."""
    along = [edge.position(p)[0] for p in polygon.exterior.coords]
    low, high = min(along), max(along)
    if high - low <= longest + 1e-6:
        return [polygon], []
    posts = [q for run in layout.runs if run.flush and run.edge == edge.name for q in run.posts]
    if posts:  # a rim that is a beam is spliced over its posts
        ends = [edge.position(q)[0] for q in posts]
    elif layout.is_lengthwise(edge):
        # where a flush beam butts on it, half of that one's post is under it
        squares = [post_square(layout, r, q) for r in layout.runs if r.flush and r.edge is None for q in r.posts]
        over = [shape.intersection(polygon) for shape in [*(r.polygon for r in layout.runs), *squares]]
        ends = [edge.position(hit.centroid.coords[0])[0] for hit in over if hit.area > 0.5]
    else:
        ends = []
        for _, joist in layout.joist_lines:
            if joist.distance(polygon) < TOUCHING:
                s = [edge.position(p) for p in joist.exterior.coords]
                inner = min(abs(i) for _, i in s)
                ends.append(float(np.mean([a for a, i in s if abs(i) < inner + 2])))
    spacing, trim = layout.joist_spacing, layout.parameters.order.end_trim

    def cut_at(places: Sequence[float]) -> list[float]:
        return joints(low, high, places, longest, trim=trim, beside=beside, apart=1.5 * spacing)

    cuts = cut_at(ends)
    if max(b - a for a, b in itertools.pairwise([low, *cuts, high])) > longest:
        # nothing to butt on within a length: it is joined all the same, and the checks say what that joint is
        cuts = cut_at([*ends, *np.arange(low + spacing, high, spacing).tolist()])
    return [
        polygon.intersection(edge.rectangle(a, b, -99, 99)) for a, b in zip([low - 1, *cuts], [*cuts, high + 1])
    ], cuts


def _between(claims: Claims, strip, direction, role: str, where: str, edge: str | None = None) -> list[Claim]:
    """Blocks in a strip, cut to fit between what stands, each held at both ends."""
    pieces = [g for g in claims.free(strip) if _is_block(g, direction) and claims.held(g, direction)]
    return [Claim(role, g, tuple(direction), where, edge) for g in pieces]


def _post_blocks(layout: Posted, claims: Claims, joists: list[Claim]) -> list[Claim]:
    """Blocks that hold each guard post: beside it where the rim runs along the joists, behind it elsewhere."""
    blocks = _PostBlocks(layout, claims, joists)
    order = sorted(layout.posts, key=lambda p: p.kind != "line")
    for spot in order:
        blocks.hold(spot)
    rows, surface = board_rows(layout), layout.parameters.surface
    clear = surface.notch_clearance
    wide = layout.parameters.stock(layout.parameters.guard.post).width + 2 * clear > surface.board_width - TONGUE
    for spot in order:
        if wide or rows.cut_in_two(notch_round(spot.polygon, clear)):
            blocks.carry_ends(spot)
    return blocks.found


class _PostBlocks:
    """Blocks round guard posts, each fitted between what stands already and the blocks before it."""

    def __init__(self, layout: Setting, claims: Claims, joists: list[Claim]):
        self.layout, self.claims, self.t = layout, claims, layout.joist.thickness
        self.reach = layout.joist_spacing + 8
        self.found: list[Claim] = []
        self._set = STRtree([m.polygon for m in claims.members] + [j.polygon for j in joists])

    def hold(self, spot: PostSpot) -> None:
        near = self._near(spot)
        along_rims = [
            e
            for e in near
            if abs(float(e.direction @ self.layout.along)) > NEARLY_ALONG and not self.layout.has_ledger(e)
        ]
        if not any(_flush(spot, e) for e in along_rims):
            self._behind(spot, near)
            return
        for e in along_rims:
            self._beside(spot, e)
        for e in near:
            if e not in along_rims and not self.layout.has_ledger(e) and e.parallel_to(self.layout.across):
                self._beside_across(spot, e)

    def carry_ends(self, spot: PostSpot) -> None:
        """Where the notch cuts a row of boards in two: a block between those that hold the post carries the new
        ends."""
        t = self.t
        for e in self._near(spot):
            if self.layout.has_ledger(e) or not _flush(spot, e):
                continue
            s = [e.position(p) for p in spot.polygon.exterior.coords]
            a0, a1, deep, r = min(a for a, _ in s), max(a for a, _ in s), max(i for _, i in s), self.layout.rim_of(e)
            if self.layout.is_lengthwise(e):
                self._whole(
                    e.rectangle(a0, a1, deep, deep + t), e.point((a0 + a1) / 2, deep + t / 2), e.direction, spot
                )
                continue
            for a in (a0 - t, a1):
                # there the block behind the post holds it; a stair's cleat may hold the other end
                inner = e.point(a + t / 2, deep)
                self._whole(e.rectangle(a, a + t, r, deep), inner, e.inward, spot, Point(inner))

    def _near(self, spot: PostSpot) -> list[Edge]:
        return [e for e in self.layout.outline.edges if _at_rim(self.layout, e, spot)]

    def _beside(self, spot: PostSpot, e: Edge) -> None:
        """A block on each side of a post behind a rim along the joists."""
        t, r = self.t, self.layout.rim_of(e)
        s = [e.position(p)[0] for p in spot.polygon.exterior.coords]
        for a0, a1 in ((min(s) - t, min(s)), (max(s), max(s) + t)):
            piece = self._fit(e.rectangle(a0, a1, r, r + self.reach), e.point((a0 + a1) / 2, r + t / 2))
            if piece is not None and piece.area > 0.9 * t * _length(piece, e.inward):
                self._add(piece, e.inward, spot)

    def _beside_across(self, spot: PostSpot, e: Edge) -> None:
        """A block on the inner side of a corner's post, behind its rim across the joists."""
        t, r = self.t, self.layout.rim_of(e)
        s = [e.position(p)[0] for p in spot.polygon.exterior.coords]
        deep = max(e.position(p)[1] for p in spot.polygon.exterior.coords)
        side = max(s) if e.length / 2 > np.mean(s) else min(s) - t
        self._add(self._fit(e.rectangle(side, side + t, r, deep), e.point(side + t / 2, r + t / 2)), e.inward, spot)

    def _behind(self, spot: PostSpot, near: list[Edge]) -> None:
        """One block along the post's back face, from member to member."""
        d = np.asarray(spot.direction)
        n = np.array([-d[1], d[0]])
        inward = sum((e.inward for e in near), np.zeros(2))
        if float(n @ inward) < 0:
            n = -n
        c = np.asarray(spot.centre)
        h = self.layout.parameters.stock(self.layout.parameters.guard.post).width / 2
        # along an edge on the skew, or where a joist gives way, the next member is further off
        usual = self.reach / max(abs(float(d @ self.layout.across)), LEAST_ACROSS)
        found = None
        for reach in (usual, 1.5 * usual, 2 * usual):
            a, b = c + n * h - d * reach, c + n * h + d * reach
            found = self._fit(Polygon([a, b, b + n * self.t, a + n * self.t]), c + n * (h + self.t / 2))
            ends = [float(x) for x in (np.asarray(found.exterior.coords) @ d)] if found is not None else []
            if not ends or (min(ends) > float(a @ d) + TOUCHING and max(ends) < float(b @ d) - TOUCHING):
                break
        self._add(found, d, spot)

    def _fit(self, shape: Polygon, at) -> Polygon | None:
        """What is free of a shape and touches the place where the block is wanted."""
        shapes = (
            [self._set.geometries[i] for i in self._set.query(shape)]
            + [m.polygon for m in self.found]
            + self.claims.posts
            + self.claims.cleats
        )
        rest = shapely.difference(shape, shapely.union_all(shapes), grid_size=EDGE_GRID) if shapes else shape
        pieces = [g for g in getattr(rest, "geoms", [rest]) if isinstance(g, Polygon) and g.area > 1]
        piece = min(pieces, key=lambda g: g.distance(Point(at)), default=None)
        near = piece is not None and piece.distance(Point(at)) < 0.51 * self.t and not piece.is_empty
        return piece if near else None

    def _whole(self, shape: Polygon, at, direction, spot: PostSpot, inner: Point | None = None) -> None:
        piece = self._fit(shape, at)
        if (
            piece is not None
            and piece.area > (0.98 if inner is None else 0.5) * shape.area
            and (inner is None or piece.distance(inner) < TOUCHING)
        ):
            self._add(piece, direction, spot)

    def _add(self, piece: Polygon | None, direction, spot: PostSpot) -> None:
        if piece is not None and _length(piece, direction) >= SHORTEST_BLOCK:
            edge = spot.edges[0] if spot.edges else None
            self.found.append(Claim("post blocking", piece, tuple(direction), "beside a guard post", edge))


def _flush(spot: PostSpot, e: Edge) -> bool:
    """Whether a whole face of the post lies on the rim, or would but for a corner a little out of square."""
    d = np.asarray(spot.direction)
    return e.parallel_to(d) or e.parallel_to((-d[1], d[0]))


def _at_rim(layout: Setting, e: Edge, spot: PostSpot) -> bool:
    along, inside = e.position(spot.centre)
    return (
        -12 < along < e.length + 12
        and inside < layout.rim_of(e) + 1.5 * layout.parameters.stock(layout.parameters.guard.post).width
        and inside > 0
    )


def _behind_post_blocks(layout: Posted, claims: Claims) -> list[Claim]:
    """Where the block behind a guard post stands in the line of the field ends and carries too little of them: one
    more."""
    t, gap, found = layout.joist.thickness, layout.parameters.surface.end_gap, []
    for spot in layout.posts:
        for e in (layout.outline[n] for n in spot.edges):
            if layout.is_lengthwise(e) or not _flush(spot, e):
                continue
            s = [e.position(p) for p in spot.polygon.exterior.coords]
            inner = max(i for _, i in s) + t
            if 0 < inner - layout.field_inset[e.name] - gap < LEAST_SHARE:
                reach = layout.joist_spacing + 8
                strip = e.rectangle(
                    min(a for a, _ in s) - reach, max(a for a, _ in s) + reach, inner, inner + t
                ).intersection(layout.inner)
                blocks = _between(claims, strip, e.direction, "border blocking", "under the field ends", e.name)
                found += [b for b in blocks if b.polygon.distance(spot.polygon) < t + TOUCHING]
    return found


def _over_beam(layout: Setting, claims: Claims, run: BeamRun) -> list[Claim]:
    d, t = run.direction, layout.joist.thickness
    if abs(float(d @ layout.across)) < LEAST_ACROSS:
        return []  # blocks so nearly along the joists would be slivers
    n = np.array([-d[1], d[0]]) * t / 2
    a, b = np.asarray(run.start) - d * 2, np.asarray(run.end) + d * 2
    strip = Polygon([a - n, b - n, b + n, a + n]).intersection(layout.inner)
    members = []
    for g in getattr(strip, "geoms", [strip]):
        members += _between(claims, g, d, "blocking", f"over the beam {run.where}", run.edge)
    return members


def _rows(layout: LevelPlan, claims: Claims) -> list[Claim]:
    """Rows of blocking at even parts of every clear span, staggered or in line."""
    f, t = layout.parameters.frame, layout.joist.thickness
    a, b = layout.across, layout.along
    marks: list[tuple[float, list[float]]] = []
    for v, piece in layout.joist_lines:
        for lo, hi in spans(layout, piece, layout.runs):
            for k in range(1, f.blocking_rows + 1):
                at = lo + (hi - lo) * k / (f.blocking_rows + 1)
                same = next(
                    (m for m in marks if abs(m[0] - at) < 3 and v - m[1][-1] < 2.1 * layout.joist_spacing), None
                )
                same[1].append(v) if same else marks.append((at, [v]))
    members: list[Claim] = []
    for at, across in marks:
        v0, v1 = across[0] - layout.joist_spacing - 2, across[-1] + layout.joist_spacing + 2
        for number in range(2):
            shift = (t / 2 if number else -t / 2) if f.blocking_pattern == "staggered" else 0.0
            if f.blocking_pattern == "in line" and number:
                break
            band = Polygon(
                [
                    a * v0 + b * (at + shift - t / 2),
                    a * v1 + b * (at + shift - t / 2),
                    a * v1 + b * (at + shift + t / 2),
                    a * v0 + b * (at + shift + t / 2),
                ]
            )
            room = band.intersection(layout.inner)
            for g in getattr(room, "geoms", [room]):
                found = _between(claims, g, a, "blocking", "between joists")
                if f.blocking_pattern == "staggered":
                    found = [m for m in found if _bay(layout, m, across) % 2 == number]
                fresh = [m for m in found if not any(m.polygon.intersection(o.polygon).area > 1e-6 for o in members)]
                members += fresh
    return members


def _bay(layout: Setting, member: Claim, across: list[float]) -> int:
    return int(np.searchsorted(across, float(np.dot(member.polygon.centroid.coords[0], layout.across))))


def build_frame(layout: LevelPlan, shop: Workshop) -> list[Part]:
    """Ledger, rims, joists and all blocking as parts."""
    p = layout.planes
    ledger = layout.parameters.stock(layout.parameters.frame.ledger or layout.parameters.frame.joist)
    parts = []
    for m in plan_members(layout):
        stock, low = (ledger, p.frame_top - ledger.width) if m.role == "ledger" else (layout.joist, p.frame_bottom)
        pieces = _over_length(layout, m) if m.role == "joist" else [m.polygon]
        for piece in pieces:
            parts.append(shop.upright(m.role, stock, piece, low, p.frame_top, m.direction, where=m.where, edge=m.edge))
    return parts


def _over_length(layout: LevelPlan, m: Claim) -> list[Polygon]:
    """A joist longer than the yard sells is butted over a beam, each end on half of it."""
    longest = layout.parameters.longest(layout.joist)
    b = layout.along
    s = np.asarray(m.polygon.exterior.coords) @ b
    low, high = float(s.min()), float(s.max())
    if high - low <= longest + 1e-6:
        return [m.polygon]
    middles = []
    for run in layout.runs:
        hit = run.polygon.intersection(m.polygon)
        if hit.area > 1:
            middles.append(float(np.dot(hit.centroid.coords[0], b)))
    a, cuts = layout.across, joints(low, high, middles, longest, trim=layout.parameters.order.end_trim)
    pieces = []
    for lo, hi in zip([low - 1, *cuts], [*cuts, high + 1]):
        band = Polygon([a * -FAR + b * lo, a * FAR + b * lo, a * FAR + b * hi, a * -FAR + b * hi])
        pieces.append(m.polygon.intersection(band))
    return pieces
