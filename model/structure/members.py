"""Members in bending as the solids show them: plies that act as one, where they bear, and their unit loads.

Spans, overhangs and bearing areas are measured from where the solids touch. Loads are square feet that load a place
(reactions to 1 psf), so that one run serves every combination. Inches, square inches.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache

import numpy as np

from ..measuring.contacts import Contact
from ..solid.part import Part
from ..solid.roles import named
from ..strength.beams import AnyLoad, Beam, Load, PointLoad
from ..strength.loads import Patterns

SQFT = 144.0
PARALLEL = 0.9998  # cosine: within about one degree
SAME_PLACE = 0.75  # inches: supports nearer than this are one
STUB = 6.0  # inches: what stands out past a support by less is no overhang


@dataclass
class SupportAt:
    """Where a member bears: `x` inches from its start, `area` square inches of contact (0: hung on its end), and on
    what."""

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
    together: int = 1  # lines side by side at its level
    cap: float = 0.0  # thickness of the rim across its free end, inches
    trouble: str = ""  # why it cannot be calculated; `falls` where it would come down
    falls: bool = False

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

    @cached_property
    def strip(self) -> float:
        """Width of the surface it takes, inches: the mean over the span in which it is widest."""
        found = []
        for a, b in self.spans:
            parts = [p for load in self.steady if isinstance(load, Load) and (p := part_of(load, a, b))]
            found.append(sum(p.total for p in parts) * SQFT / (b - a))
        return max(found, default=0.0)

    @property
    def spans(self) -> list[tuple[float, float]]:
        """(start, end) between supports, centre to centre."""
        xs = sorted(s.x for s in self.supports)
        return list(itertools.pairwise(xs))

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
        low, high = (
            min(0.0, *(_left(l) for l in self.steady), 0.0),
            max([self.length, *(_right(l) for l in self.steady)]),
        )
        xs = [s.x for s in self.supports]
        low, high = (low if self.free_ends[0] else min(xs)), (high if self.free_ends[1] else max(xs))
        cuts = [min(xs, key=lambda x: abs(x - b)) for b in self.breaks if len(xs) > 2]
        ends = sorted({low, high, *(c for c in cuts if min(xs) < c < max(xs))})
        found = []
        for a, b in itertools.pairwise(ends):
            inside = [i for i, x in enumerate(xs) if a - 1e-9 <= x <= b + 1e-9]
            order = sorted(inside, key=lambda i: xs[i])
            sets = [
                tuple(_rounded(p) for load in loads for p in _clipped(load, a, b, ends[0], ends[-1]))
                for loads in (self.steady, self.moving)
            ]
            found.append((a, b, _patterns(round(b - a, 8), tuple(round(xs[i] - a, 8) for i in order), *sets), order))
        return found

    @cached_property
    def reactions(self) -> tuple[np.ndarray, np.ndarray]:
        """(steady, moving) square feet on each support, in the order of `supports`."""
        steady, moving = np.zeros(len(self.supports)), np.zeros(len(self.supports))
        for _, _, p, order in self.models:
            steady[order] += p.steady_reactions
            moving[order] += p.moving_reactions
        return steady, moving


@lru_cache(maxsize=4096)
def _patterns(
    length: float, supports: tuple[float, ...], steady: tuple[AnyLoad, ...], moving: tuple[AnyLoad, ...]
) -> Patterns:
    """Most joists of a deck are loaded alike: each case is solved once."""
    return Patterns(Beam(length, supports), steady, moving)


def _rounded(load: AnyLoad) -> AnyLoad:
    if isinstance(load, PointLoad):
        return PointLoad(round(load.x, 8), round(load.p, 9))
    return Load(round(load.start, 8), round(load.end, 8), round(load.w0, 12), round(load.last, 12))


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
    if a == first and (before := part_of(load, -np.inf, first)):
        found.append(PointLoad(0.0, before.total))
    if inside := part_of(load, a, b):
        found.append(Load(inside.start - a, inside.end - a, inside.w0, inside.last))
    if b == last and (after := part_of(load, last, np.inf)):
        found.append(PointLoad(b - a, after.total))
    return found


def part_of(load: Load, a: float, b: float) -> Load | None:
    lo, hi = max(load.start, a), min(load.end, b)
    if hi - lo <= 1e-9:
        return None
    slope = (load.last - load.w0) / (load.end - load.start)
    return Load(lo, hi, load.w0 + slope * (lo - load.start), load.w0 + slope * (hi - load.start))


def level(part: Part) -> bool:
    """Whether its long axis lies level, whichever way its prism is drawn."""
    return abs(part.place.x[2]) < 1e-6


def axis(part: Part) -> np.ndarray:
    """The plan unit vector of a piece's long axis, pointing right or, where it runs straight up the sheet, up."""
    u = np.asarray(part.place.x[:2]) / np.hypot(*part.place.x[:2])
    return u if u[0] > 1e-9 or (abs(u[0]) <= 1e-9 and u[1] > 0) else -u


def extent(part: Part, u: np.ndarray) -> tuple[float, float]:
    s = np.asarray(part.footprint.exterior.coords) @ u
    return float(s.min()), float(s.max())


def make_members(parts: Sequence[Part], touching: Sequence[Contact]) -> list[Member]:
    """Joists one by one; beams and rims as the plies and lengths that touch and run in one line."""
    chosen = [p for p in parts if p.role in named("member") and level(p)]
    at = {p.id: i for i, p in enumerate(chosen)}
    parent = list(range(len(chosen)))

    def root(i: int) -> int:
        while parent[i] != i:
            i = parent[i]
        return i

    for c in touching:
        a, b = c.a, c.b
        if (
            (
                a.role == b.role
                and a.role != "joist"
                and a.id in at
                and b.id in at
                and abs(float(axis(a) @ axis(b))) > PARALLEL
            )
            and c.kind in ("side", "end")
            and abs(a.box[0, 2] - b.box[0, 2]) < 0.1
        ):
            parent[root(at[a.id])] = root(at[b.id])
    groups: dict[int, list[Part]] = defaultdict(list)
    for i, p in enumerate(chosen):
        groups[root(i)].append(p)
    return [_member(g) for g in groups.values()]


def _member(parts: list[Part]) -> Member:
    u = axis(parts[0])
    n = np.array([-u[1], u[0]])
    along = [extent(p, u) for p in parts]
    across = [extent(p, n) for p in parts]
    start = min(a for a, _ in along)
    lanes: dict[float, list[tuple[float, float]]] = defaultdict(list)
    for (a, b), (c, d) in zip(along, across):
        lanes[round((c + d) / 2, 1)].append((a - start, b - start))
    breaks = {round((p[1] + q[0]) / 2, 3) for lane in lanes.values() for p, q in zip(sorted(lane), sorted(lane)[1:])}
    thick = {k: max(d - c for (c, d) in across if abs((c + d) / 2 - k) < 0.06) for k in lanes}
    return Member(
        tuple(sorted(parts, key=lambda p: p.id)),
        u,
        start,
        max(b for _, b in along) - start,
        float(np.mean([(c + d) / 2 for c, d in across])),
        len(lanes),
        sum(thick.values()),
        parts[0].box[1, 2] - parts[0].box[0, 2],
        tuple(sorted(breaks)),
    )


def find_supports(members: list[Member], parts: Sequence[Part], touching: Sequence[Contact]) -> None:
    """Fills in where each member bears, from its contacts with the pieces that carry it."""
    by_id = {p.id: p for p in parts}
    home = {p.id: m for m in members for p in m.parts}
    found: dict[int, list[tuple[float, float, str, tuple]]] = defaultdict(list)
    for c in touching:
        for low, high in (
            (by_id[c.id_a], by_id[c.id_b]),
            (by_id[c.id_b], by_id[c.id_a]),
        ):  # the contact's own parts may be older
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
            on = tuple(sorted({r[2] for r in g}))
            m.supports.append(SupportAt(min(max(x, 0.0), m.length), sum(r[1] for r in g), on, point, by_id[on[0]].role))
