"""The blocking that holds guard posts in the frame, in plan, and carries the board ends that their notches make."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import STRtree
from shapely.geometry import MultiPolygon, Point, Polygon

from ..plan.board_runs import TONGUE, board_rows, notch_round
from ..plan.board_shapes import polygons
from ..plan.edges import Edge
from ..plan.joist_plan import HITS
from ..plan.spots import PostSpot
from ..plan.stages import Posted, Setting
from ..solid.union import united
from .claims import EDGE_GRID, SHORTEST_BLOCK, TOUCHING, Claim, Claims, length_along

NEARLY_ALONG = 0.9  # cosine: a block behind a post of a rim so nearly along the joists would meet none; our own
LEAST_TURNED = 0.5  # cosine: along an edge more on the skew the next member is looked for no further off; our own


def post_blocks(layout: Posted, claims: Claims, joists: list[Claim]) -> list[Claim]:
    """Blocks that hold each guard post: beside it where the rim runs along the joists, behind it elsewhere."""
    blocks = _PostBlocks(layout, claims, joists)
    order = sorted(layout.posts, key=lambda p: (p.kind != "line", layout.distance_out(p.centre)))
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
        self.layout, self.t = layout, layout.joist.thickness
        self.reach = layout.joist_spacing + 8
        self.found: list[Claim] = []
        self._stood = [m.polygon for m in claims.members]
        self._joists = [j.polygon for j in joists]
        self._between = STRtree(claims.posts + claims.cleats)
        self._inner = layout.inner  # round a corner the reach of a block leads out of the deck

    def hold(self, spot: PostSpot) -> None:
        self._clear_of_joists(spot)
        near = self._near(spot)
        along_rims = [
            e
            for e in near
            if abs(float(e.direction @ self.layout.along)) > NEARLY_ALONG and not self.layout.has_ledger(e)
        ]
        if not any(flush_on(spot, e) for e in along_rims):
            self._behind(spot, near)
            return
        for e in along_rims:
            self._beside(spot, e)
        for e in near:
            if e not in along_rims and not self.layout.has_ledger(e) and e.parallel_to(self.layout.across):
                self._beside_across(spot, e)

    def _clear_of_joists(self, spot: PostSpot) -> None:
        """What stands already round a post: a joist that runs into it gives way to its blocks, which go on to the
        next, so that what is left of it ends on them."""
        self._set = STRtree(self._stood + [j for j in self._joists if j.intersection(spot.polygon).area <= HITS])

    def carry_ends(self, spot: PostSpot) -> None:
        """Where the notch cuts a row of boards in two: a block between those that hold the post carries the new
        ends."""
        self._clear_of_joists(spot)
        t = self.t
        for e in self._near(spot):
            if self.layout.has_ledger(e) or not flush_on(spot, e):
                continue
            s = [e.position(p) for p in spot.polygon.exterior.coords]
            a0, a1, deep, r = min(a for a, _ in s), max(a for a, _ in s), max(i for _, i in s), self.layout.rim_of(e)
            if self.layout.is_lengthwise(e):
                self._along_post(spot, e, a0, a1, deep)
                continue
            for a in (a0 - t, a1):
                # there the block behind the post holds it, or one of its own where a joist that ends on the post stands
                # between them; a stair's cleat may hold the other end
                inner = e.point(a + t / 2, deep)
                far = self._to_what_holds(e, a, r, deep)
                laid = self._whole(e.rectangle(a, a + t, r, far), inner, e.inward, spot, Point(inner))
                if laid and far == deep and not self._meets(Point(inner), self.found[-1]):
                    self._add(self._across(np.asarray(inner), e.direction, e.inward), e.direction, spot)

    def _along_post(self, spot: PostSpot, e: Edge, a0: float, a1: float, deep: float) -> None:
        """A block on the back face of a post behind a rim along the joists, from `a0` to `a1` along it; in a corner out
        of square on to the other rim, whose face lies further off than the post."""
        on = a1 - a0
        middle = e.point((a0 + a1) / 2, deep + self.t / 2)
        longer = self._fit(e.rectangle(a0 - on, a1 + on, deep, deep + self.t), middle)
        if longer is None:
            return
        s = [e.position(p)[0] for p in longer.exterior.coords]
        low, high = (a0 if min(s) < a0 - on + TOUCHING else a0 - on), (a1 if max(s) > a1 + on - TOUCHING else a1 + on)
        piece = self._fit(e.rectangle(low, high, deep, deep + self.t), middle)
        behind = e.rectangle(a0, a1, deep, deep + self.t)
        if piece is not None and piece.intersection(behind).area > 0.98 * behind.area:
            self._add(piece, e.direction, spot)

    def _near(self, spot: PostSpot) -> list[Edge]:
        near = [e for e in self.layout.outline.edges if _at_rim(self.layout, e, spot)]
        return sorted(near, key=lambda e: self.layout.distance_out(e.point(e.length / 2)))

    def _beside(self, spot: PostSpot, e: Edge) -> None:
        """A block on each side of a post behind a rim along the joists, up to the next member, where that lies within
        four bays."""
        t, r = self.t, self.layout.rim_of(e)
        s = [e.position(p)[0] for p in spot.polygon.exterior.coords]
        for a0, a1 in ((min(s) - t, min(s)), (max(s), max(s) + t))[:: self.layout.ahead(e.direction)]:
            at, piece = e.point((a0 + a1) / 2, r + t / 2), None
            for bays in (1, 2, 4):
                found = self._fit(e.rectangle(a0, a1, r, r + bays * self.reach), at)
                piece = found if bays == 1 else piece  # kept where none ends on anything
                if found is not None and length_along(found, e.inward) < bays * self.reach - TOUCHING:
                    piece = found
                    break
            if piece is not None and piece.area > 0.9 * t * length_along(piece, e.inward):
                self._add(piece, e.inward, spot)

    def _beside_across(self, spot: PostSpot, e: Edge) -> None:
        """A block on the inner side of a corner's post, behind its rim across the joists."""
        t, r = self.t, self.layout.rim_of(e)
        s = [e.position(p)[0] for p in spot.polygon.exterior.coords]
        deep = max(e.position(p)[1] for p in spot.polygon.exterior.coords)
        side = max(s) if e.length / 2 > np.mean(s) else min(s) - t
        far = self._to_what_holds(e, side, r, deep)
        piece = self._fit(e.rectangle(side, side + t, r, far), e.point(side + t / 2, r + t / 2))
        if piece is not None and piece.area > 0.9 * t * length_along(piece, e.inward):  # else a joist holds it there
            self._add(piece, e.inward, spot)

    def _to_what_holds(self, e: Edge, a: float, r: float, deep: float) -> float:
        """How far inside an edge a block at `a` along it reaches: as `deep` as the post, or past that where it then
        ends on what stands a little further off, in a corner out of square the face of the block beside the post."""
        longer = self._fit(e.rectangle(a, a + self.t, r, deep + self.t), e.point(a + self.t / 2, deep))
        reach = max((e.position(p)[1] for p in longer.exterior.coords), default=0.0) if longer is not None else 0.0
        return deep + self.t if deep - TOUCHING < reach < deep + self.t - TOUCHING else deep

    def _behind(self, spot: PostSpot, near: list[Edge]) -> None:
        """One block along the post's back face, from member to member; a post square to a ledger along the joists has
        it on the face across them, as no member crosses the other way."""
        d = np.asarray(spot.direction)
        n = np.array([-d[1], d[0]])
        if abs(float(d @ self.layout.along)) > NEARLY_ALONG:
            d, n = n, d
        inward = sum((e.inward for e in near), np.zeros(2))
        if float(n @ inward) < 0:
            n = -n
        c = np.asarray(spot.centre)
        h = self.layout.parameters.stock(self.layout.parameters.guard.post).width / 2
        self._add(self._across(c + n * h, d, n), d, spot)

    def _across(self, face: np.ndarray, d: np.ndarray, n: np.ndarray) -> Polygon | None:
        """A block along `d` past a place on its nearer face, from member to member; `n`: square to it, away from
        that."""
        # along an edge on the skew, or where a joist gives way, the next member is further off
        usual = self.reach / max(abs(float(d @ self.layout.across)), LEAST_TURNED)
        found = None
        for reach in (usual, 1.5 * usual, 2 * usual):
            a, b = face - d * reach, face + d * reach
            found = self._fit(Polygon([a, b, b + n * self.t, a + n * self.t]), face + n * self.t / 2)
            ends = [float(x) for x in (np.asarray(found.exterior.coords) @ d)] if found is not None else []
            if not ends or (min(ends) > float(a @ d) + TOUCHING and max(ends) < float(b @ d) - TOUCHING):
                break
        return found

    def _meets(self, end: Point, block: Claim) -> bool:
        """Whether a member or a block other than its own stands at the end of one."""
        near = [self._set.geometries[i] for i in self._set.query(end, predicate="dwithin", distance=TOUCHING)]
        return bool(near) or any(m is not block and m.polygon.distance(end) < TOUCHING for m in self.found)

    def _fit(self, shape: Polygon, at) -> Polygon | None:
        """What is free of a shape inside the rims and touches the place where the block is wanted."""
        left, bottom, right, top = shape.bounds
        boxes = ((m.polygon, m.polygon.bounds) for m in self.found)
        shapes = (
            [self._set.geometries[i] for i in self._set.query(shape)]
            + [p for p, (x0, y0, x1, y1) in boxes if x0 <= right and left <= x1 and y0 <= top and bottom <= y1]
            + [self._between.geometries[i] for i in self._between.query(shape)]
        )
        # without lines that the two only touch in
        within = MultiPolygon(polygons(shapely.intersection(shape, self._inner, grid_size=EDGE_GRID)))
        rest = shapely.difference(within, united(shapes), grid_size=EDGE_GRID) if shapes else within
        pieces = [g for g in getattr(rest, "geoms", [rest]) if isinstance(g, Polygon) and g.area > 1]
        piece = min(pieces, key=lambda g: g.distance(Point(at)), default=None)
        near = piece is not None and piece.distance(Point(at)) < 0.51 * self.t and not piece.is_empty
        return piece if near else None

    def _whole(self, shape: Polygon, at, direction, spot: PostSpot, inner: Point | None = None) -> bool:
        """Whether a block was added: one that fits whole, or with its `inner` end."""
        piece = self._fit(shape, at)
        if piece is None:
            return False
        square = piece.area > 0.9 * self.t * length_along(piece, direction)  # no tip that a joist left of it
        least = 0.98 if inner is None else 0.5
        fits = piece.area > least * shape.area and (inner is None or (square and piece.distance(inner) < TOUCHING))
        return fits and self._add(piece, direction, spot)

    def _add(self, piece: Polygon | None, direction, spot: PostSpot) -> bool:
        if piece is None or length_along(piece, direction) < SHORTEST_BLOCK:
            return False
        edge = spot.edges[0] if spot.edges else None
        self.found.append(Claim("post blocking", piece, tuple(direction), "beside a guard post", edge))
        return True


def flush_on(spot: PostSpot, e: Edge) -> bool:
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
