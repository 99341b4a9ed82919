"""Members and what holds them, found on solids by `second_path`: faces that touch (by `touching_faces`). Inches.
Nothing of the program's own."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from read_back import Piece
from touching_faces import Touch, touches

MEMBERS = ("joist", "rim", "beam")
BLOCKS = ("blocking", "border blocking", "post blocking")
BELOW = ("post", "beam", "footing", "post base")
WALKED = ("board", "border", "breaker")
ONE_PLACE = 6.0  # inches: bearings nearer than this hold a member in one place


@dataclass(frozen=True)
class Brings:
    """A load from `start` to `end` along a member, or at one place: square feet that load it always, that press most
    and that lift, and pounds that are always there."""

    start: float
    end: float
    steady: float = 0.0
    most: float = 0.0
    least: float = 0.0
    own: float = 0.0

    def __mul__(self, f: float) -> Brings:
        return Brings(self.start, self.end, self.steady * f, self.most * f, self.least * f, self.own * f)

    def at(self, x: float) -> Brings:
        return Brings(x, x, self.steady, self.most, self.least, self.own)

    def pressing(self, dead: float, live: float) -> float:
        return dead * self.steady + self.own + live * self.most

    def lifting(self, dead: float, live: float) -> float:
        return dead * self.steady + self.own + live * self.least


@dataclass
class Held:
    """Where a member is held: `x` along it, the plan point, the bearing's area (0 where it hangs) and the share that
    each piece there takes."""

    x: float
    point: np.ndarray
    area: float
    on: dict[str, float]
    role: str
    hung: bool
    points: dict[str, np.ndarray] = field(default_factory=dict)  # where it meets each of these, if not all in one place


@dataclass
class Timber:
    """Plies that act as one. Places run from its start along `u`; `lanes` are (thickness, places of its splices)."""

    ids: tuple[str, ...]
    role: str
    u: np.ndarray
    start: float
    length: float
    breadth: float
    depth: float
    lanes: list[tuple[float, tuple[float, ...]]]
    supports: list[Held] = field(default_factory=list)
    loads: list[Brings] = field(default_factory=list)

    def x(self, point: np.ndarray) -> float:
        return float(np.dot(point[:2], self.u)) - self.start

    def ply_groups(self) -> list[tuple[float, tuple[float, ...]]]:
        """(share of the breadth, inner supports at which these plies are hinged)."""
        xs = [s.x for s in self.supports]
        alike: dict[tuple, float] = defaultdict(float)
        for thick, breaks in self.lanes:
            cuts = {min(xs, key=lambda x: abs(x - b)) for b in breaks} if len(xs) > 2 else set()
            alike[tuple(sorted(c for c in cuts if xs[0] < c < xs[-1]))] += thick
        return [(t / self.breadth, cuts) for cuts, t in alike.items()]


LIES = -0.7  # of a normal's way down: a cross piece lies on posts cut to the pitch of its stair


def all_touches(every: Sequence[Piece]) -> list[Touch]:
    """Where the pieces that carry or weigh touch; boards beside boards left out."""
    kept = [p for p in every if p.role not in ("riser", "skirt", "fascia", "sleeve stop", "post sleeve")]
    boards = {p.id for p in kept if p.role in (*WALKED, "tread")}
    return [t for t in touches(kept) if not (t.a in boards and t.b in boards)]


class MembersSeen:
    """The members of a deck with what holds them; `home` is the member of each piece."""

    def __init__(self, every: Sequence[Piece], rows: dict[str, dict], met: Sequence[Touch]):
        self.rows = rows
        self.piece = {p.id: p for p in every}
        self.on: dict[str, list[Touch]] = defaultdict(list)
        for t in met:
            self.on[t.a].append(t)
        self.members = [self._timber(g) for g in self._grouped()]
        self.home = {i: m for m in self.members for i in m.ids}
        self._hold()
        self.stringers = [self._stringer(p) for p in every if p.role == "stringer"]
        self.home |= {m.ids[0]: m for m in self.stringers}
        self.footing_of = {p.id: f for p in every if p.role == "post" and (f := self._under(p.id))}

    def role(self, i: str) -> str:
        return self.piece[i].role

    def axis(self, i: str) -> np.ndarray:
        return np.array(self.rows[i]["axis"])

    # members

    def _grouped(self) -> Iterator[list[str]]:
        ids = [i for i, p in self.piece.items() if p.role in MEMBERS and abs(self.axis(i)[2]) < 0.01]
        of = {i: {i} for i in ids}
        for i in ids:
            for t in self.on[i]:
                j = t.b
                if self.role(i) == "joist" or self.role(j) != self.role(i) or j not in of or of[i] is of[j]:
                    continue
                level = abs(self.piece[i].box[0, 2] - self.piece[j].box[0, 2]) < 0.1
                if level and abs(self.axis(i) @ self.axis(j)) > 0.999 and abs(t.normal[2]) < 0.1:
                    both = of[i] | of[j]
                    of.update(dict.fromkeys(both, both))
        seen: set[str] = set()
        for i in ids:
            if i not in seen:
                seen |= of[i]
                yield sorted(of[i])

    def _timber(self, ids: list[str]) -> Timber:
        u = self.axis(ids[0])[:2]
        u = u / np.linalg.norm(u) * (-1 if (u[0], u[1]) < (-1e-9, 0) or (abs(u[0]) < 1e-9 and u[1] < 0) else 1)
        n = np.array([-u[1], u[0]])
        along = {i: self.piece[i].corners[:, :2] @ u for i in ids}
        start = min(float(a.min()) for a in along.values())
        lanes: dict[float, list[str]] = defaultdict(list)
        for i in ids:
            lanes[round(float((self.piece[i].corners[:, :2] @ n).mean()), 0)].append(i)
        found = []
        for row in lanes.values():
            row.sort(key=lambda i: along[i].min())
            breaks = tuple(float(along[a].max() + along[b].min()) / 2 - start for a, b in itertools.pairwise(row))
            found.append((float(np.ptp(self.piece[row[0]].corners[:, :2] @ n)), breaks))
        length = max(float(a.max()) for a in along.values()) - start
        depth = float(np.ptp(self.piece[ids[0]].box[:, 2]))
        row = self.rows[ids[0]]
        if len(ids) == 1 and row["volume_in3"] < 0.9 * length * depth * found[0][0]:  # laid to the pitch of a stair
            depth, found = row["width_in"], [(row["thickness_in"], ())]
        return Timber(tuple(ids), self.role(ids[0]), u, start, length, sum(t for t, _ in found), depth, found)

    def _ends_on(self, m: Timber) -> Iterator[Touch]:
        """Where a member's end lies against the side of another piece."""
        for t in (t for i in m.ids for t in self.on[i] if t.b not in m.ids and abs(t.normal[2]) < 0.1):
            if abs(t.normal[:2] @ m.u) > 0.17 and abs(t.normal @ self.axis(t.b)) < 0.05:
                yield t

    def _hold(self) -> None:
        places: dict[int, list[tuple[Touch, bool]]] = defaultdict(list)
        meets: list[tuple[Timber, Touch]] = []
        for m in self.members:
            here = places[id(m)]
            for t in (t for i in m.ids for t in self.on[i] if t.b not in m.ids):
                if t.normal[2] < LIES and self.role(t.b) in BELOW:
                    here += [(part, False) for part in self._along(m, t)]
            for t in self._ends_on(m):
                role = self.role(t.b)
                if role == "ledger" or (role == "beam" and m.role != "beam"):
                    here.append((t, True))
                elif role in ("rim", "joist") and m.role != "beam":
                    meets.append((m, t))
        stands = {id(m): self._two(m, [t for t, _ in places[id(m)]]) for m in self.members}
        for m, t in meets:
            k = self.home[t.b]
            if not stands[id(m)]:
                places[id(m)].append((t, True))
            elif not stands[id(k)]:
                places[id(k)].append((Touch(t.b, t.a, -t.normal, t.area, t.middle), True))
        for m in self.members:
            m.supports = self._merged(m, places[id(m)])

    @staticmethod
    def _along(m: Timber, t: Touch) -> list[Touch]:
        """A seat in one place; one along a member, as of a rim all along its beam, in places from end to end of it,
        no further apart than the member is deep."""
        long = t.area / m.breadth
        count = math.ceil(long / m.depth)
        if count <= 2:
            return [t]
        u = np.array([*m.u, 0.0])
        at = np.linspace(-0.5, 0.5, count + 1) * long  # from end to end of it
        return [replace(t, area=t.area / len(at), middle=t.middle + u * x) for x in at]

    @staticmethod
    def _two(m: Timber, found: list[Touch]) -> bool:
        xs = [m.x(t.middle) for t in found]
        return bool(xs) and max(xs) - min(xs) > ONE_PLACE

    def _merged(self, m: Timber, found: list[tuple[Touch, bool]]) -> list[Held]:
        """Bearings closer together than the member is deep are one."""
        groups: list[list[tuple[Touch, bool]]] = []
        for t, hung in sorted(found, key=lambda f: m.x(f[0].middle)):
            last = groups[-1][0] if groups else None
            gap = m.x(t.middle) - m.x(last[0].middle) if last else 0.0
            if last and gap < m.depth:
                groups[-1].append((t, hung))
            else:
                groups.append([(t, hung)])
        held = []
        for g in groups:
            seats = [t for t, hung in g if not hung]
            area = sum(t.area for t in seats)
            if area >= 1.5 * m.breadth or len(seats) == len(g):
                g = [f for f in g if not f[1]]
            else:
                g, area = [f for f in g if f[1]], 0.0
            weight = [t.area if area else 1.0 for t, _ in g]
            middle = np.average([t.middle for t, _ in g], axis=0, weights=weight)
            on: dict[str, float] = defaultdict(float)
            for (t, _), w in zip(g, weight):
                on[t.b] += w / sum(weight)
            x = min(max(m.x(middle), 0.0), m.length)
            held.append(Held(x, middle[:2], area, dict(on), self.role(next(iter(on))), not area))
        return held

    def _under(self, i: str) -> str | None:
        for t in self.on[i]:
            if t.normal[2] < -0.99:
                if self.role(t.b) in ("footing", "pad"):
                    return t.b
                if self.role(t.b) == "post base" and (f := self._under(t.b)):
                    return f
        return None

    def _stringer(self, p: Piece) -> Timber:
        u = self.axis(p.id)[:2] * (-1 if self.axis(p.id)[2] > 0 else 1)
        u = u / np.linalg.norm(u)
        along = p.corners[:, :2] @ u
        start, length = float(along.min()), float(np.ptp(along))
        thick = float(np.ptp(p.corners[:, :2] @ np.array([-u[1], u[0]])))
        m = Timber((p.id,), "stringer", u, start, length, thick, 0.0, [(thick, ())])
        middle = p.box[:, 2].mean()
        at: dict[float, list[Touch]] = {0.0: [], length: []}
        for t in self.on[p.id]:
            if self.role(t.b) in (*MEMBERS, "stair header", "post", "pad", "ledger"):
                x = m.x(t.middle)
                if self.role(t.b) == "beam" and 3 < x < length - 3:
                    at.setdefault(x, []).append(t)
                else:
                    at[0.0 if t.middle[2] > middle and x < length / 2 else length].append(t)
        for x in sorted(at):
            # a header is nailed to the rim it hangs under
            on = [t for t in at[x] if self.role(t.b) != "stair header"] or at[x]
            where = np.mean([t.middle for t in on], axis=0)[:2] if on else np.zeros(2)
            points = {t.b: t.middle[:2] for t in on}
            m.supports.append(
                Held(x, where, 0.0, dict.fromkeys(points, 1 / len(points) if on else 0), "", True, points)
            )
        return m
