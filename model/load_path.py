"""The path of the load from surface to soil, followed through the solids and their `carried_by` links.

Lines of framing (joists, and rims along them) take their part of the surface; their reactions go to what carries them:
ledgers, beams, rims across, and on to posts and footings. Spans, overhangs and bearing areas are measured from where the
solids touch. Loads are square feet that load a place (reactions to 1 psf), so that one run serves every combination.
"""
from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from functools import cached_property
from typing import Iterable, Sequence

import numpy as np
from shapely.geometry import Polygon

from .beams import AnyLoad, Beam, Load, PointLoad
from .contacts import Contact
from .loads import Patterns
from .part import Part
from .stair_loads import stair_loads
from .tributary import Line, divide, loaded_surface, turned, widths

SQFT = 144.0
PARALLEL = 0.9998  # cosine: within about one degree
SAME_PLACE = 0.75  # inches: supports nearer than this are one
STUB = 6.0  # inches: what stands out past a support by less is no overhang
SURFACE = ("board", "border", "breaker")
CARRIES = ("joist", "rim", "beam")


@dataclass
class SupportAt:
    """Where a member bears: `x` inches from its start, `area` square inches of contact (0: hung on its end), and on what."""

    x: float
    area: float
    on: tuple[str, ...]
    point: tuple[float, float]
    role: str


@dataclass
class Member:
    """Plies that act as one: measured sizes, supports and loads. Positions run from `origin` along `u`."""

    parts: tuple[Part, ...]
    u: np.ndarray
    start: float
    length: float
    v: float
    plies: int
    breadth: float
    depth: float
    breaks: tuple[float, ...] = ()
    supports: list[SupportAt] = field(default_factory=list)
    steady: list[AnyLoad] = field(default_factory=list)
    moving: list[AnyLoad] = field(default_factory=list)
    area: float = 0.0  # square feet of surface it takes directly
    strip: float = 0.0  # widest part of its strip of surface, inches
    together: int = 1  # lines side by side at its level
    cap: float = 0.0  # thickness of the rim across its free end, inches
    trouble: str = ""

    @property
    def first(self) -> Part:
        return self.parts[0]

    @property
    def key(self) -> str:
        return self.first.id

    @property
    def role(self) -> str:
        return self.first.role

    def position(self, point) -> float:
        return float(np.dot(point[:2], self.u)) - self.start

    def add(self, load: AnyLoad) -> None:
        self.steady.append(load)
        self.moving.append(load)

    @cached_property
    def free_ends(self) -> tuple[bool, bool]:
        """Whether the member stands out past its first and its last support."""
        xs = [s.x for s in self.supports]
        return min(xs) > STUB, max(xs) < self.length - STUB

    @property
    def lengthwise(self) -> bool:
        """Whether it takes a strip of the surface itself."""
        return self.area > 0

    @property
    def spans(self) -> list[tuple[float, float]]:
        """(start, end) between supports, centre to centre."""
        xs = sorted(s.x for s in self.supports)
        return list(zip(xs, xs[1:]))

    @property
    def overhangs(self) -> list[float]:
        """Lengths past the outer supports, where there are any."""
        xs = [s.x for s in self.supports]
        return [o for o, free in zip((min(xs), self.length - max(xs)), self.free_ends) if free]

    @cached_property
    def models(self) -> list[tuple[float, float, Patterns, list[int]]]:
        """(start, end, patterned unit loads, indices of its supports) of each length that is continuous.

        A member spliced over a support is hinged there. The load on a stub past an end support goes to that support.
        """
        low, high = min(0.0, *(_left(l) for l in self.steady), 0.0), max([self.length, *(_right(l) for l in self.steady)])
        xs = [s.x for s in self.supports]
        low, high = (low if self.free_ends[0] else min(xs)), (high if self.free_ends[1] else max(xs))
        cuts = [min(xs, key=lambda x: abs(x - b)) for b in self.breaks]
        ends = sorted({low, high, *(c for c in cuts if low < c < high)})
        found = []
        for a, b in zip(ends, ends[1:]):
            inside = [i for i, x in enumerate(xs) if a - 1e-9 <= x <= b + 1e-9]
            beam = Beam(b - a, [xs[i] - a for i in inside])
            order = sorted(inside, key=lambda i: xs[i])
            sets = [[p for load in loads for p in _clipped(load, a, b, ends[0], ends[-1])] for loads in (self.steady, self.moving)]
            found.append((a, b, Patterns(beam, *sets), order))
        return found

    @cached_property
    def reactions(self) -> tuple[np.ndarray, np.ndarray]:
        """(steady, moving) square feet on each support, in the order of `supports`."""
        steady, moving = np.zeros(len(self.supports)), np.zeros(len(self.supports))
        for _, _, p, order in self.models:
            steady[order] += p.steady_reactions
            moving[order] += p.moving_reactions
        return steady, moving


def _left(load: AnyLoad) -> float:
    return load.x if isinstance(load, PointLoad) else load.start


def _right(load: AnyLoad) -> float:
    return load.x if isinstance(load, PointLoad) else load.end


def _clipped(load: AnyLoad, a: float, b: float, first: float, last: float) -> list[AnyLoad]:
    """A load's parts on [a, b], measured from `a`; what lies outside [first, last] is taken at that end."""
    if isinstance(load, PointLoad):
        x = min(max(load.x, first), last)
        return [PointLoad(x - a, load.p)] if a <= x < b or x == b == last else []
    found: list[AnyLoad] = []
    if a == first and (before := _part(load, -np.inf, first)):
        found.append(PointLoad(0.0, before.total))
    if inside := _part(load, a, b):
        found.append(Load(inside.start - a, inside.end - a, inside.w0, inside.last))
    if b == last and (after := _part(load, last, np.inf)):
        found.append(PointLoad(b - a, after.total))
    return found


def _part(load: Load, a: float, b: float) -> Load | None:
    lo, hi = max(load.start, a), min(load.end, b)
    if hi - lo <= 1e-9:
        return None
    slope = (load.last - load.w0) / (load.end - load.start)
    return Load(lo, hi, load.w0 + slope * (lo - load.start), load.w0 + slope * (hi - load.start))


def split_at(load: Load, places: Iterable[float]) -> list[Load]:
    """The load cut at places, so that each piece lies on one side of every one."""
    marks = [load.start, *sorted(p for p in places if load.start < p < load.end), load.end]
    return [p for a, b in zip(marks, marks[1:]) if (p := _part(load, a, b))]


@dataclass
class Column:
    """A post with its footing: what it carries in square feet, and how high it stands (both measured)."""

    post: Part
    steady: float = 0.0
    moving: float = 0.0
    bears: list[tuple[Member, float]] = field(default_factory=list)  # beam and contact area
    footing: Part | None = None
    trouble: str = ""


@dataclass
class LedgerLoad:
    """What joists bring to one run of ledger: (position along it, steady, moving square feet, joist)."""

    parts: tuple[Part, ...]
    joists: list[tuple[float, float, float, Member]] = field(default_factory=list)


@dataclass
class LoadPath:
    """All members with their loads; `notes` say what could not be followed."""

    members: list[Member]
    columns: list[Column]
    ledgers: list[LedgerLoad]
    surface_sqft: float
    notes: list[str]


def upright(part: Part) -> bool:
    return abs(abs(part.place.z[2]) - 1) < 1e-6


def axis(part: Part) -> np.ndarray:
    """The plan unit vector of a piece's long axis, pointing right or, where it runs straight up the sheet, up."""
    u = np.asarray(part.place.x[:2]) / np.hypot(*part.place.x[:2])
    return u if u[0] > 1e-9 or (abs(u[0]) <= 1e-9 and u[1] > 0) else -u


def _extent(part: Part, u: np.ndarray) -> tuple[float, float]:
    s = np.asarray(part.footprint.exterior.coords) @ u
    return float(s.min()), float(s.max())


def make_members(parts: Sequence[Part], touching: Sequence[Contact]) -> list[Member]:
    """Joists one by one; beams and rims as the plies and lengths that touch and run in one line."""
    chosen = [p for p in parts if p.role in CARRIES and upright(p)]
    at = {p.id: i for i, p in enumerate(chosen)}
    parent = list(range(len(chosen)))

    def root(i: int) -> int:
        while parent[i] != i:
            i = parent[i]
        return i

    for c in touching:
        a, b = c.a, c.b
        if a.role == b.role and a.role != "joist" and a.id in at and b.id in at and abs(float(axis(a) @ axis(b))) > PARALLEL:
            if c.kind in ("side", "end") and abs(a.box[0, 2] - b.box[0, 2]) < 0.1:
                parent[root(at[a.id])] = root(at[b.id])
    groups: dict[int, list[Part]] = defaultdict(list)
    for i, p in enumerate(chosen):
        groups[root(i)].append(p)
    return [_member(g) for g in groups.values()]


def _member(parts: list[Part]) -> Member:
    u = axis(parts[0])
    n = np.array([-u[1], u[0]])
    along = [_extent(p, u) for p in parts]
    across = [_extent(p, n) for p in parts]
    start = min(a for a, _ in along)
    lanes: dict[float, list[tuple[float, float]]] = defaultdict(list)
    for (a, b), (c, d) in zip(along, across):
        lanes[round((c + d) / 2, 1)].append((a - start, b - start))
    breaks = {round((p[1] + q[0]) / 2, 3) for lane in lanes.values() for p, q in zip(sorted(lane), sorted(lane)[1:])}
    thick = {k: max(d - c for (c, d) in across if abs((c + d) / 2 - k) < 0.06) for k in lanes}
    return Member(
        tuple(sorted(parts, key=lambda p: p.id)), u, start, max(b for _, b in along) - start,
        float(np.mean([(c + d) / 2 for c, d in across])), len(lanes), sum(thick.values()), parts[0].box[1, 2] - parts[0].box[0, 2],
        tuple(sorted(breaks)),
    )


def find_supports(members: list[Member], parts: Sequence[Part], touching: Sequence[Contact]) -> None:
    """Fills in where each member bears, from its contacts with the pieces that carry it."""
    by_id = {p.id: p for p in parts}
    home = {p.id: m for m in members for p in m.parts}
    found: dict[int, list[tuple[float, float, str, tuple]]] = defaultdict(list)
    for c in touching:
        for low, high in ((by_id[c.id_a], by_id[c.id_b]), (by_id[c.id_b], by_id[c.id_a])):  # the contact's own parts may be older
            m = home.get(low.id)
            if m is not None and high.id in low.carried_by and home.get(high.id) is not m:
                found[id(m)].append((m.position(c.point), c.area if c.kind == "bearing" else 0.0, high.id, c.point[:2]))
    for m in members:
        rows = sorted(found[id(m)])
        groups: list[list] = []
        for row in rows:
            last = groups[-1] if groups else None
            same_home = last and home.get(row[2]) is not None and home.get(row[2]) is home.get(last[-1][2])
            if last and (row[0] - last[-1][0] < SAME_PLACE or same_home or row[2] == last[-1][2]):
                last.append(row)
            else:
                groups.append([row])
        for g in groups:
            weight = [max(r[1], 1e-3) for r in g]
            if max(r[1] for r in g) > 0:
                g = [r for r in g if r[1] > 0]
                weight = [r[1] for r in g]
            x = float(np.average([r[0] for r in g], weights=weight))
            point = tuple(np.average([r[3] for r in g], axis=0, weights=weight))
            for r in g:
                carrier = home.get(r[2])
                if carrier is not None and carrier.role == "joist" and m.role == "rim":
                    carrier.cap = max(carrier.cap, m.breadth)
            m.supports.append(SupportAt(min(max(x, 0.0), m.length), sum(r[1] for r in g), tuple(sorted({r[2] for r in g})), point, by_id[g[0][2]].role))


def load_lines(members: list[Member], parts: Sequence[Part], notes: list[str]) -> float:
    """Gives each line of framing its part of the surface above it. Returns the loaded area in square feet."""
    total = 0.0
    levels: dict[tuple, list[Member]] = defaultdict(list)
    for m in members:
        if m.role in ("joist", "rim"):
            levels[round(float(m.first.box[1, 2]), 1), m.first.stair].append(m)
    for (top, stair), level in levels.items():
        joists = [m for m in level if m.role == "joist"] or level
        u = max(joists, key=lambda m: m.length).u
        boards = [p.footprint for p in parts if p.role in SURFACE and abs(p.box[0, 2] - top) < 0.25 and p.stair == stair]
        surface = loaded_surface(boards or [Polygon(g.exterior) for g in _hull(level)])
        total += surface.area / SQFT
        lines = [m for m in level if abs(float(m.u @ u)) > PARALLEL]
        n = np.array([-u[1], u[0]])
        ends = [(m.start, m.start + m.length) for m in lines]
        middles = [float(np.mean([np.mean(_extent(p, n)) for p in m.parts])) for m in lines]
        shares = divide(turned(surface, u), [Line(v, a, b) for v, (a, b) in zip(middles, ends)])
        for m, v, share in zip(lines, middles, shares):
            m.area = share.area / SQFT
            m.together = len(lines)
            for load in widths(share):
                m.strip = max(m.strip, load.w0, load.last)
                pieces = split_at(load, [m.start, m.start + m.length])
                for p in pieces:
                    m.add(Load(p.start - m.start, p.end - m.start, p.w0 / SQFT, p.last / SQFT))
        missed = surface.area / SQFT - sum(m.area for m in lines)
        if missed > 0.01:
            notes.append(f"{missed:.2f} sq ft of surface at {top:g} in lies on no joist or rim along the joists")
    return total


def _hull(level: list[Member]):
    from shapely.ops import unary_union

    whole = unary_union([p.footprint.buffer(0.01, join_style="mitre") for m in level for p in m.parts])
    return getattr(whole, "geoms", [whole])


def follow(parts: Sequence[Part], touching: Sequence[Contact]) -> LoadPath:
    """The load path of all parts (their ids and `carried_by` set), from the surface down."""
    notes: list[str] = []
    members = make_members(parts, touching)
    find_supports(members, parts, touching)
    surface = load_lines(members, parts, notes)
    flow = _Flow(members, parts, notes)
    for part, point, area in stair_loads(parts, touching):
        flow.bring((part.id,), point, area, area, None)
    flow.run()
    return LoadPath([m for m in members if m.steady or m.trouble], flow.columns, flow.ledgers, surface, notes)


class _Flow:
    """Hands reactions on, always finishing what is carried before what carries it."""

    def __init__(self, members: list[Member], parts: Sequence[Part], notes: list[str]):
        self.members, self.notes = members, notes
        self.by_id = {p.id: p for p in parts}
        self.home = {p.id: m for m in members for p in m.parts}
        self.column = {p.id: Column(p) for p in parts if p.role == "post"}
        self.ledger_of: dict[str, LedgerLoad] = {p.id: LedgerLoad((p,)) for p in parts if p.role == "ledger"}
        for c in self.column.values():
            c.footing = self._below(c.post)
            if c.footing is None:
                c.trouble = f"post {c.post.id} stands on no footing"

    @property
    def columns(self) -> list[Column]:
        return list(self.column.values())

    @property
    def ledgers(self) -> list[LedgerLoad]:
        return [l for l in self.ledger_of.values() if l.joists]

    def _below(self, post: Part) -> Part | None:
        seen, ask = set(), list(post.carried_by)
        while ask:
            p = self.by_id[ask.pop()]
            if p.role in ("footing", "pad"):
                return p
            if p.id not in seen:
                seen.add(p.id)
                ask += p.carried_by
        return None

    def run(self) -> None:
        waiting = {id(m): 0 for m in self.members}
        below = {}
        for m in self.members:
            onto = {id(h): h for s in m.supports for k in s.on if (h := self.home.get(k)) is not None and h is not m}
            below[id(m)] = list(onto.values())
            for h in below[id(m)]:
                waiting[id(h)] += 1
        ready = [m for m in self.members if not waiting[id(m)]]
        done = set()
        while ready:
            m = ready.pop()
            done.add(id(m))
            self._hand_on(m)
            for h in below[id(m)]:
                waiting[id(h)] -= 1
                if not waiting[id(h)]:
                    ready.append(h)
        for m in self.members:
            if id(m) not in done and (m.steady or m.area):
                m.trouble = f"{m.role} {m.key} and what carries it carry each other: the load cannot be followed"
                self.notes.append(m.trouble)

    def _hand_on(self, m: Member) -> None:
        if not m.steady:
            return
        if len(m.supports) < 2:
            on = "nothing" if not m.supports else f"{m.supports[0].role} {m.supports[0].on[0]} alone"
            m.trouble = f"{m.role} {m.key} rests on {on}"
            self.notes.append(m.trouble)
            return
        steady, moving = m.reactions
        for s, a, b in zip(m.supports, steady, moving):
            self.bring(s.on, s.point, float(a), float(b), m, s.area)

    def bring(self, on: tuple[str, ...], point, steady: float, moving: float, by: Member | None, area: float = 0.0, depth: int = 0) -> None:
        """Hands a reaction to the pieces that take it, in equal parts (plies of one beam take it together)."""
        homes = {id(self.home[k]): self.home[k] for k in on if k in self.home}
        others = [k for k in on if k not in self.home]
        n = len(homes) + len(others)
        for h in homes.values():
            h.steady.append(PointLoad(h.position(point), steady / n))
            h.moving.append(PointLoad(h.position(point), moving / n))
        for k in others:
            self._to_piece(self.by_id[k], point, steady / n, moving / n, by, area, depth)

    def _to_piece(self, part: Part, point, steady: float, moving: float, by: Member | None, area: float, depth: int) -> None:
        if part.id in self.column:
            c = self.column[part.id]
            c.steady, c.moving = c.steady + steady, c.moving + moving
            if by is not None:
                c.bears.append((by, area))
        elif part.id in self.ledger_of and by is not None:
            self.ledger_of[part.id].joists.append((float(np.dot(point, axis(part))), steady, moving, by))
        elif part.role in ("footing", "pad"):
            return  # a stair's foot on its own pad
        elif depth < 6 and part.carried_by:
            self.bring(part.carried_by, point, steady, moving, by, area, depth + 1)
        elif part.role != "ledger":
            self.notes.append(f"the load on {part.role} {part.id} could not be followed further")
