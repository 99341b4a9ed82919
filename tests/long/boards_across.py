"""What stands on the members of `path_on_solids`: boards as rows of simple beams over what they cross, guards and
skirting by their weights. Square feet that load a place, pounds. Nothing of the program's own."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from path_on_solids import BLOCKS, MEMBERS, WALKED, Brings, Held, MembersSeen, Timber
from read_back import Piece
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon
from touching_faces import Touch

# what each piece of a guard or of skirting hands its weight to, the first of these that it touches
WEIGHS = {
    "post cap": (("guard post",),),
    "baluster": (("bottom rail",), ("top rail",)),
    "top rail": (("guard post",),),
    "handrail": (("guard post",), ("handrail",)),
    "bottom rail": (("guard post", "foot block"),),
    "foot block": (WALKED,),
    "guard post": (("rim", "ledger", "post blocking", "stringer", "pad"), ("joist", "blocking", "beam")),
    "skirting board": (("skirting rail", "beam"),),
    "skirting rail": (("rim",),),
}
GAP = 0.25  # inches between boards
LINES = 8  # in the width of a board
PAST = 5.0  # inches that a member's end stands in for what carries the boards beyond it: the rim nailed to it
BEYOND = 30.0  # inches past a board's end within which the blocks under that end reach a member
STANDS_OUT = 3.0  # inches that a board may stand out past the last member: more, and blocks carry its end
ACROSS = 0.4  # sine of the least angle at which a line crosses what carries it
NOTCH = 7.0  # inches: no cut-out of a board round a post is wider
SLANT = 0.3  # cosine of the least angle from square to the joists at which a rim counts as slanted
SQFT = 144.0


class LoadedMembers(MembersSeen):
    """Members with the surface and the weights that they take. Not `tipping`: as the program says in its assumptions
    that it draws strips, every inch of a line across the joists is the nearest member's, whichever board it lies on."""

    def __init__(self, every: Sequence[Piece], rows: dict[str, dict], met: Sequence[Touch], given: dict, tipping: bool):
        super().__init__(every, rows, met)
        self.given, self.tipping = given, tipping
        self._surface()
        self._weights()

    def _top(self, i: str, z: float) -> Polygon:
        """What of a piece looks up at a level, in plan."""
        p = self.piece[i]
        flat = (p.normals[:, 2] > 0.99) & (abs(p.triangles[:, :, 2].mean(axis=1) - z) < 0.1)
        return shapely.union_all(shapely.polygons(p.triangles[flat][:, :, :2]).tolist(), grid_size=1e-5)

    def _caps(self, i: str, m: Timber, top: Polygon) -> Iterator[tuple[np.ndarray, Polygon]]:
        """(direction of an end, the stretch past it) at either end of a piece."""
        ring = np.array(top.exterior.coords) if isinstance(top, Polygon) and not top.is_empty else np.zeros((0, 2))
        for a, b in itertools.pairwise(ring):
            e = (b - a) / max(np.hypot(*(b - a)), 1e-9)
            if np.hypot(*(b - a)) < 0.5 or abs(e @ m.u) > 0.95:
                continue
            out = m.u * (1 if ((a + b) / 2 - top.centroid.coords[0]) @ m.u > 0 else -1) * PAST
            yield e, Polygon([a, b, b + out, a + out])

    def _surface(self) -> None:
        levels: dict[float, list[str]] = defaultdict(list)
        for i, p in self.piece.items():
            if p.role in WALKED:
                levels[round(float(p.box[0, 2]), 1)].append(i)
        ledgers = [self._timber([i]) for i, p in self.piece.items() if p.role == "ledger"]  # take theirs to the house
        for z, boards in levels.items():
            bears = []
            for m in (*self.members, *ledgers):
                for i in m.ids:
                    if abs(self.piece[i].box[1, 2] - z) < 0.15:
                        top = self._top(i, float(self.piece[i].box[1, 2]))
                        bears.append((m, top, list(self._caps(i, m, top))))
            blocks = [
                self._timber([i]) for i, p in self.piece.items() if p.role in BLOCKS and abs(self.axis(i)[2]) < 0.1
            ]
            # blocks along the joists or square to them change nothing of what simple boards bring to the joists
            joists = [m for m in self.members if m.role == "joist"]
            blocks = [
                k
                for k in blocks
                if abs(self.piece[k.ids[0]].box[1, 2] - z) < 0.15 and all(SLANT < abs(k.u @ m.u) < 0.99 for m in joists)
            ]
            bears += [(k, self._top(k.ids[0], float(self.piece[k.ids[0]].box[1, 2])), []) for k in blocks]
            self._lay(boards, bears, given=self.given.get("area_load", ()))
            for k in blocks:
                for b in k.loads:
                    self._pass_on(k.ids[0], k.u * (k.start + (b.start + b.end) / 2) + _across(k, self.piece), b)
        flights: dict[tuple, list[Timber]] = defaultdict(list)
        for m in self.stringers:
            flights[(*np.round(m.u, 2), round(float(self.piece[m.ids[0]].box[1, 2]), 1))].append(m)
        for flight in flights.values():
            ids = {m.ids[0] for m in flight}
            treads = [i for i, p in self.piece.items() if p.role == "tread" and any(t.b in ids for t in self.on[i])]
            plans = [(m, _drawn_on(_plan(self.piece[m.ids[0]]), m.u), []) for m in flight]
            self._lay(treads, plans, given=())

    def _lay(self, boards: Sequence[str], bears: Sequence[tuple], given: Sequence[dict]) -> None:
        """Gives what carries boards their loads."""
        # a notch round a post bears the load beside it; half of each gap belongs to the board on either side
        whole = {b: _unnotched(_plan(self.piece[b])) for b in boards}
        closed = shapely.union_all([g.buffer(0.4, join_style="mitre") for g in whole.values()])
        closed = closed.buffer(-0.4, join_style="mitre")
        plans = {b: g.buffer(GAP / 2, join_style="mitre").intersection(closed) for b, g in whole.items()}
        more = closed.area / sum(g.area for g in plans.values()) if boards else 1.0
        loads = [(Polygon(g["polygon"]), g["psf"]) for g in given]
        joists = [m for m, _, _ in bears if m.role == "joist"]
        u = max(joists, key=lambda m: m.length).u if joists else None
        for b in boards:
            own = self.axis(b)[:2] / np.linalg.norm(self.axis(b)[:2])
            d = np.array([-u[1], u[0]]) if u is not None and abs(own @ u) > 0.9 else own
            if any(_lies_along(m, top, own, plans[b], u) for m, top, _ in bears):
                d = np.array([-own[1], own[0]])  # over the slanted rim that holds it all along
            near = [e for e in bears if e[1].distance(plans[b]) < BEYOND]
            for line, wide in _lines(plans[b], d):
                self._line(line, wide * more / SQFT, d, near, loads, u is not None and abs(d @ u) < 0.05)

    def _line(self, line, wide: float, d: np.ndarray, near: Sequence[tuple], loads: Sequence, square: bool) -> None:
        """One line of a board, `wide` square feet an inch of it, to what it crosses; `square`: straight over joists."""
        a, z = (float(np.array(c) @ d) for c in (line.coords[0], line.coords[-1]))
        foot = np.array(line.coords[0]) - a * d
        long = LineString([foot + d * (a - BEYOND), foot + d * (z + BEYOND)])
        at: list[tuple[float, Timber]] = []
        spare: list[tuple[float, Timber]] = []
        for m, top, caps in near:
            if abs(d[0] * m.u[1] - d[1] * m.u[0]) < ACROSS:
                continue
            if (hit := long.intersection(top)).length > 0.2:
                at.append((float(np.array(hit.centroid.coords[0]) @ d), m))
            for e, cap in caps:
                if abs(e @ d) > (0.45 if m.role == "joist" else 0.985) and (hit := long.intersection(cap)).length > 0.2:
                    spare.append((float(np.array(hit.centroid.coords[0]) @ d), m))
        at += [s for s in spare if all(abs(s[0] - x) > 2 for x, _ in at)]
        every = _as_one(sorted(at, key=lambda f: f[0]))
        at = _reached(every, a, z)
        stretches = [(a, z, wide, 0.0)]
        for plan, psf in loads:
            hit = line.intersection(plan)
            if hit.length > 0.01:
                ends = sorted(float(np.array(c) @ d) for c in hit.coords)
                stretches.append((ends[0], ends[-1], 0.0, wide * psf))
        for lo, hi, each, pounds in stretches:
            strips = not self.tipping and not pounds and square
            for (x, m), much in _nearest(lo, hi, every) if strips else _shares(lo, hi, at, self.tipping):
                point = foot + d * x
                half = wide * SQFT / abs(d[0] * m.u[1] - d[1] * m.u[0]) / 2
                mid = m.x(point)
                m.loads.append(Brings(mid - half, mid + half, each * much, each * much, 0.0, pounds * much))

    def _pass_on(self, i: str, point: np.ndarray, b: Brings) -> None:
        """Hands what lies on a block to what holds its ends, by the lever; a guard's post to all it is bolted to."""
        if i in self.home:
            m = self.home[i]
            m.loads.append(b.at(min(max(m.x(point), 0.0), m.length)))
            return
        d = self.axis(i)[:2]
        if self.role(i) == "guard post":
            found = [t for t in self.on[i] if self.role(t.b) in ("rim", "post blocking")]
            ends = [(0.0, t) for t in {t.b: t for t in found}.values()]
        else:
            found = [t for t in self.on[i] if t.b in self.home or self.role(t.b) in (*BLOCKS, "guard post")]
            ends = [(float(t.middle[:2] @ d), t) for t in found if abs(t.normal @ self.axis(i)) > 0.17]
            ends = ends or [(float(t.middle[:2] @ d), t) for t in found]
        s = float(point[:2] @ d) if np.hypot(*d) > 0.5 else 0.0
        lo, hi = min((e[0] for e in ends), default=0.0), max((e[0] for e in ends), default=0.0)
        if hi - lo < 1.0:
            shares = [1 / len(ends)] * len(ends)
        else:
            f = min(max((s - lo) / (hi - lo), 0.0), 1.0)
            at_lo = [e[0] - lo < (hi - lo) / 2 for e in ends]
            shares = [(1 - f) / sum(at_lo) if low else f / (len(ends) - sum(at_lo)) for low in at_lo]
        for (_, t), share in zip(ends, shares):
            if share > 1e-9:
                self._pass_on(t.b, t.middle[:2], b * share)

    def _weights(self) -> None:
        for i, p in self.piece.items():
            if p.role in WEIGHS:
                self._set_down(i, p.box.mean(axis=0), self.rows[i]["weight_lb"])

    def _set_down(self, i: str, point: np.ndarray, pounds: float) -> None:
        """Hands a weight at a point of a piece to what that piece rests on."""
        if i in self.home:
            m = self.home[i]
            if m.role != "stringer":
                m.loads.append(Brings(m.x(point), m.x(point), own=pounds))
                return
            inner = [s.x for s in m.supports[1:-1]]
            k = sum(x <= m.x(point) for x in inner)  # simple spans, as the treads' own load at the least
            left, right = m.supports[k], m.supports[k + 1]
            f = min(max((m.x(point) - left.x) / (right.x - left.x), 0.0), 1.0)
            for s, share in ((left, 1 - f), (right, f)):
                for k, part in _at_foot(m, s, m.x(point)).items():
                    if self.role(k) in (*MEMBERS, "stair header") and share * part > 1e-9:
                        self._set_down(k, np.array([*s.points[k], 0.0]), pounds * share * part)
            return
        p = self.piece[i]
        if p.role in WALKED:  # all to the member or block nearest to it
            tops = [t for t in self.on[i] if t.normal[2] < -0.99 and (t.b in self.home or self.role(t.b) in BLOCKS)]
            if tops:
                here = shapely.Point(point[:2])
                near = min(tops, key=lambda t: _plan(self.piece[t.b]).distance(here))
                self._set_down(near.b, point, pounds)
            return
        if p.role in BLOCKS:
            holds = [t for t in self.on[i] if t.b in self.home or self.role(t.b) in (*BLOCKS, "guard post")]
            ends = [t for t in holds if abs(t.normal @ self.axis(i)) > 0.17 or t.normal[2] < -0.99]
            self._by_lever(i, point, ends or [t for t in holds if t.b in self.home], pounds)
            return
        if p.role == "stair header":
            over = [t for t in self.on[i] if t.b in self.home and abs(t.normal @ self.axis(i)) < 0.5]
            over = [t for t in over if self.home[t.b].role != "stringer"] or [
                t for t in self.on[i] if self.role(t.b) in BLOCKS
            ]
            self._by_lever(i, point, over, pounds)
            return
        for roles in WEIGHS.get(p.role, ()):
            found = [t for t in self.on[i] if self.role(t.b) in roles]
            if found:
                self._by_lever(i, point, found, pounds)
                return

    def _by_lever(self, i: str, point: np.ndarray, found: Sequence[Touch], pounds: float) -> None:
        d = self.axis(i)
        if not found:
            return
        if abs(d[2]) > 0.9:  # upright: everything in one place
            for b in {t.b for t in found}:
                where = np.mean([t.middle for t in found if t.b == b], axis=0)
                self._set_down(b, where, pounds / len({t.b for t in found}))
            return
        rows = sorted((float(t.middle @ d), k) for k, t in enumerate(found))
        places: list[list] = []
        for s, k in rows:
            if places and s - places[-1][0] < 1.0:
                places[-1][1].append(k)
            else:
                places.append([s, [k]])
        s = float(point @ d)
        right = next((n for n, q in enumerate(places) if q[0] >= s), len(places) - 1)
        left = max(0, right - 1) if places[right][0] >= s else right
        a, b = places[left][0], places[right][0]
        f = min(max((s - a) / (b - a), 0.0), 1.0) if b > a else 1.0
        for n, share in ((left, 1 - f), (right, f)):
            for k in places[n][1] if share > 1e-9 else ():
                self._set_down(found[k].b, found[k].middle, pounds * share / len(places[n][1]))


def _drawn_on(plan: Polygon, u: np.ndarray) -> Polygon:
    """A stringer's plan with what the nosing of its lowest tread reaches past its foot."""
    return plan.union(translate(plan, *(u * STANDS_OUT))).convex_hull


def _unnotched(plan: Polygon) -> Polygon:
    """A board's plan with what is cut out of it for posts; a corner of the house that it lies round is none of it."""
    left = plan.convex_hull.difference(plan)
    notches = [g for g in getattr(left, "geoms", [left]) if g.area < NOTCH**2]
    return shapely.union_all([plan, *notches], grid_size=1e-5)


def _plan(p: Piece) -> Polygon:
    up = p.normals[:, 2] > 0.01
    return shapely.union_all(shapely.polygons(p.triangles[up][:, :, :2]).tolist(), grid_size=1e-5)


def _at_foot(m: Timber, s: Held, x: float) -> dict[str, float]:
    """The shares of what holds a stringer's end one behind the other: past the last of them all is that one's."""
    at = {k: m.x(q) for k, q in s.points.items()}
    if not at or x <= max(at.values()) or max(at.values()) - min(at.values()) < 1.0:
        return s.on
    return {max(at, key=at.__getitem__): 1.0}


def _across(k: Timber, piece: dict[str, Piece]) -> np.ndarray:
    """How far a member lies from the origin, square to its own direction."""
    n = np.array([-k.u[1], k.u[0]])
    return n * float(np.mean(piece[k.ids[0]].corners[:, :2] @ n))


def _lies_along(m: Timber, top: Polygon, own: np.ndarray, plan: Polygon, u: np.ndarray | None) -> bool:
    """Whether a board lies along a rim at an angle to the joists, on top of it."""
    slanted = m.role == "rim" and u is not None and SLANT < abs(m.u @ u) < 0.99
    return bool(slanted and abs(m.u @ own) > 0.999 and top.intersection(plan).area > m.breadth)


def _lines(plan: Polygon, d: np.ndarray) -> Iterator[tuple[LineString, float]]:
    """Lines in direction `d` through a board's plan, each in the middle of a strip of the width that comes with it."""
    n = np.array([-d[1], d[0]])
    corners = shapely.get_coordinates(plan)
    low, high = float((corners @ n).min()), float((corners @ n).max())
    a, z = float((corners @ d).min()) - 1, float((corners @ d).max()) + 1
    count = max(LINES, int((high - low) / 1.0))
    wide = (high - low) / count
    for k in range(count):
        v = low + (k + 0.5) * wide
        hit = plan.intersection(LineString([d * a + n * v, d * z + n * v]))
        for g in getattr(hit, "geoms", [hit]):
            if g.length > 1e-3:
                yield g, wide


def _as_one(at: list[tuple[float, Timber]]) -> list[tuple[float, Timber]]:
    """Places in order along a line, the plies of one member side by side taken as one."""
    found = []
    for _, group in itertools.groupby(at, key=lambda f: f[1].ids):
        rows = list(group)
        found.append((float(np.mean([x for x, _ in rows])), rows[0][1]))
    return found


def _reached(at: list[tuple[float, Timber]], a: float, z: float) -> list[tuple[float, Timber]]:
    """Of the places in order along a line those under it from `a` to `z`, and the next one where its end lies on blocks
    that reach it."""
    inside = [f for f in at if a - 0.5 <= f[0] <= z + 0.5]
    if not inside or inside[0][0] - a > STANDS_OUT:
        inside = [f for f in at if f[0] < a - 0.5][-1:] + inside
    if not inside or z - inside[-1][0] > STANDS_OUT:
        inside += [f for f in at if f[0] > z + 0.5][:1]
    return inside


def _nearest(lo: float, hi: float, at: Sequence[tuple[float, Timber]]) -> Iterator[tuple[tuple[float, Timber], float]]:
    """Inches of a stretch of a line that lie nearest to each place."""
    stops = [-np.inf, *((p[0] + q[0]) / 2 for p, q in itertools.pairwise(at)), np.inf]
    for place, (a, b) in zip(at, itertools.pairwise(stops)):
        if min(hi, b) > max(lo, a):
            yield place, min(hi, b) - max(lo, a)


def _shares(
    lo: float, hi: float, at: Sequence[tuple[float, Timber]], tipping: bool
) -> Iterator[tuple[tuple[float, Timber], float]]:
    """Inches of a stretch of a line that each place takes which it crosses: simple beams between them, past the last of
    them by the lever or, not `tipping`, all to that one."""
    if not at:
        return
    stops = [-np.inf, *(x for x, _ in at), np.inf]
    for k, (left, right) in enumerate(itertools.pairwise(stops)):
        a, b = max(lo, left), min(hi, right)
        if b <= a:
            continue
        outside = k in (0, len(at))
        j = min(max(k - 1, 0), len(at) - 2)  # the bay whose lever counts
        if len(at) < 2 or (outside and not tipping):
            yield at[min(max(k - 1, 0), len(at) - 1)], b - a
            continue
        f = ((a + b) / 2 - at[j][0]) / (at[j + 1][0] - at[j][0])
        yield at[j], (b - a) * (1 - f)
        yield at[j + 1], (b - a) * f
