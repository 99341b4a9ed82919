"""Members in bending as the solids show them: plies that act as one, where they bear, their spans and overhangs.

Everything is measured from where the solids touch. Inches, square inches.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from ...shared.points import Vector
from ..solid.part import Part
from ..solid.roles import named
from .carriers import PARALLEL, SEAT, in_hanger, standing_rims
from .contacts import Contact

SAME_PLACE = 0.75  # inches: supports nearer than this are one
_MITRE = 0.17  # cosine of an end's normal to the long axis: a flatter face is a side
STUB = 6.0  # inches: what stands out past a support by less is no overhang


@dataclass
class SupportAt:
    """Where a member bears: `x` inches from its start, `area` square inches of contact (0: hung on its end) over a
    `length` along the member, on what, and the share of the load that each of those takes (by its area; where the
    member hangs, in equal parts)."""

    x: float
    area: float
    length: float
    on: tuple[str, ...]
    point: tuple[float, float]
    role: str
    shares: tuple[float, ...] = ()
    hanger: bool = False


@dataclass
class MemberSeen:
    """Plies that act as one: measured sizes and supports. Positions run from `start` along `u`; `v` is the place of
    its middle square to that. `breaks` are where a ply ends and the next goes on, `splices` those of each ply with its
    thickness; `cap` is the thickness of the rim across its end, `mitred` whether its start and its end meet another
    member's end on a mitre."""

    parts: tuple[Part, ...]
    u: np.ndarray
    start: float
    length: float
    v: float
    plies: int
    breadth: float
    depth: float
    breaks: tuple[float, ...] = ()
    splices: tuple[tuple[float, tuple[float, ...]], ...] = ()
    supports: list[SupportAt] = field(default_factory=list)
    cap: float = 0.0
    mitred: tuple[bool, bool] = (False, False)

    @property
    def first(self) -> Part:
        return self.parts[0]

    @property
    def key(self) -> str:
        return self.first.id

    @property
    def role(self) -> str:
        return self.first.role

    def position(self, point: Vector) -> float:
        return float(np.dot(point[:2], self.u)) - self.start

    @cached_property
    def free_ends(self) -> tuple[bool, bool]:
        """Whether the member stands out past its first and its last support."""
        xs = [s.x for s in self.supports]
        return min(xs) > STUB, max(xs) < self.length - STUB

    @property
    def in_order(self) -> list[SupportAt]:
        """Its supports from its start on."""
        return sorted(self.supports, key=lambda s: s.x)

    @property
    def spans(self) -> list[tuple[float, float]]:
        """(start, end) between supports, centre to centre."""
        xs = [s.x for s in self.in_order]
        return list(itertools.pairwise(xs))

    @property
    def overhangs(self) -> list[float]:
        """Lengths past the outer supports, centre to tip, where there are any."""
        xs = [s.x for s in self.supports]
        return [o for o, free in zip((min(xs), self.length - max(xs)), self.free_ends) if free]

    def faces(self, support: SupportAt) -> tuple[float, float]:
        """(from, to) of a bearing along the member, about its middle."""
        return support.x - support.length / 2, support.x + support.length / 2

    @property
    def clear_spans(self) -> list[tuple[float, float]]:
        """(start, end) between faces of bearings."""
        order = [self.faces(s) for s in self.in_order]
        return [(a[1], b[0]) for a, b in itertools.pairwise(order)]

    @property
    def clear_overhangs(self) -> list[tuple[float, float]]:
        """(length past the bearing's outer face, the rim across its end with it; clear span behind it)."""
        order = [self.faces(s) for s in self.in_order]
        spans, found = self.clear_spans, []
        if self.free_ends[0]:
            found.append((order[0][0] + self.cap, spans[0][1] - spans[0][0]))
        if self.free_ends[1]:
            found.append((self.length - order[-1][1] + self.cap, spans[-1][1] - spans[-1][0]))
        return found


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


def see_members(parts: Sequence[Part], touching: Sequence[Contact]) -> list[MemberSeen]:
    """All members with their supports: joists one by one; beams and rims as the plies and lengths that touch and run
    in one line."""
    members = _members(parts, touching)
    _find_supports(members, parts, touching)
    _find_mitres(members, touching)
    return members


def _members(parts: Sequence[Part], touching: Sequence[Contact]) -> list[MemberSeen]:
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


def _member(parts: list[Part]) -> MemberSeen:
    u = axis(parts[0])
    n = np.array([-u[1], u[0]])
    along = [extent(p, u) for p in parts]
    across = [extent(p, n) for p in parts]
    start = min(a for a, _ in along)
    lanes: dict[float, list[tuple[float, float]]] = defaultdict(list)
    for (a, b), (c, d) in zip(along, across):
        lanes[round((c + d) / 2, 1)].append((a - start, b - start))
    cuts = {
        k: tuple(round((p[1] + q[0]) / 2, 3) for p, q in itertools.pairwise(sorted(lane))) for k, lane in lanes.items()
    }
    thick = {k: max(d - c for (c, d) in across if abs((c + d) / 2 - k) < 0.06) for k in lanes}
    depth = float(parts[0].box[1, 2] - parts[0].box[0, 2])
    if tilted := _tilted(parts[0]):
        thick, depth = dict.fromkeys(thick, tilted[0]), tilted[1]
    return MemberSeen(
        tuple(sorted(parts, key=lambda p: p.id)),
        u,
        start,
        max(b for _, b in along) - start,
        float(np.mean([(c + d) / 2 for c, d in across])),
        len(lanes),
        sum(thick.values()),
        depth,
        tuple(sorted({b for found in cuts.values() for b in found})),
        tuple((thick[k], cuts[k]) for k in sorted(lanes)),
    )


def _tilted(part: Part) -> tuple[float, float] | None:
    """(breadth, depth) square to its own faces of a piece turned about its long axis, as one laid to the pitch of a
    stair; None for one that stands upright."""
    y = np.asarray(part.place.y)
    z = np.cross(part.place.x, y)
    if min(abs(y[2]), abs(z[2])) < 1e-6:
        return None
    sizes = {abs(float(d[2])): float(np.ptp(part.vertices @ d)) for d in (y, z)}
    return sizes[min(sizes)], sizes[max(sizes)]


def _find_supports(members: list[MemberSeen], parts: Sequence[Part], touching: Sequence[Contact]) -> None:
    """Fills in where each member bears, from its contacts with the pieces that carry it."""
    by_id = {p.id: p for p in parts}
    stood = standing_rims(parts)
    home = {p.id: m for m in members for p in m.parts}
    found = _contacts_on_carriers(by_id, home, touching)
    _part_pairs(members, found, home)
    for m in members:
        rows = sorted(found[id(m)])
        far = {id(home.get(row[2], row[2])): row[0] for row in rows}  # where it lies on the last ply of each beam

        def reach(row: tuple) -> float:
            return far[id(home.get(row[2], row[2]))] if row[1] > 0 and m.role == "joist" else row[0]

        groups: list[list] = []
        for row in rows:
            last = groups[-1] if groups else None
            same_home = last and home.get(row[2]) is not None and home.get(row[2]) is home.get(last[-1][2])
            # an end hung on a flush beam, and the top of the beam's post beside it, hold the member in one place
            hung = last and (row[1] > 0) != (last[-1][1] > 0) and row[0] - last[-1][0] < m.depth
            # places nearer than it is deep do not hold it like two knife edges, one of which it would lift off
            seats = last and (row[1] > 0) == (last[-1][1] > 0) and reach(row) - last[0][0] < m.depth
            near = last and row[0] - last[-1][0] < SAME_PLACE
            if last and (near or seats or same_home or hung or row[2] == last[-1][2]):
                last.append(row)
            else:
                groups.append([row])
        groups = _along_a_bearing(m, groups)
        for g in groups:
            weight = [max(r[1], 1e-3) for r in g]
            hangs = [r for r in g if r[1] == 0.0]
            if hangs and sum(r[1] for r in g) < SEAT * m.breadth:
                g, weight = hangs, [1.0 for _ in hangs]  # it only grazes the top of the post beside its hanger
            elif max(r[1] for r in g) > 0:
                g = [r for r in g if r[1] > 0]
                weight = [r[1] for r in g]
            x = float(np.average([r[0] for r in g], weights=weight))
            point = tuple(np.average([r[3] for r in g], axis=0, weights=weight))
            for r in g:
                carrier = home.get(r[2])
                if carrier is not None and carrier.role == "joist" and m.role == "rim":
                    carrier.cap = max(carrier.cap, m.breadth)
            area = sum(r[1] for r in g)
            taken: dict[str, float] = defaultdict(float)
            for r in g:
                taken[r[2]] += r[1]
            on = tuple(sorted(taken))
            shares = tuple(taken[k] / area if area else 1 / len(on) for k in on)
            hanger = not area and all(in_hanger(m.role, by_id[k].role, k in stood) for k in on)
            at = min(max(x, 0.0), m.length)
            wide = min(m.breadth, max(r[4][1] for r in g) - min(r[4][0] for r in g)) if area else m.breadth
            m.supports.append(SupportAt(at, area, area / wide, on, point, by_id[on[0]].role, shares, hanger))


def _contacts_on_carriers(
    by_id: Mapping[str, Part],
    home: Mapping[str, MemberSeen],
    touching: Sequence[Contact],
) -> dict[int, list[tuple]]:
    """(place, area, on what, point, from and to across) of each member's contacts with what carries it."""
    found: dict[int, list[tuple]] = defaultdict(list)
    for c in touching:
        for low, high in (
            (by_id[c.id_a], by_id[c.id_b]),
            (by_id[c.id_b], by_id[c.id_a]),
        ):  # the contact's own parts may be older
            m = home.get(low.id)
            if m is not None and high.id in low.carried_by and home.get(high.id) is not m:
                area = c.area if c.kind == "bearing" else 0.0
                found[id(m)].append((m.position(c.point), area, high.id, c.point[:2], _across(m, c)))
    return found


def _part_pairs(members: Sequence[MemberSeen], found: dict[int, list[tuple]], home: Mapping[str, MemberSeen]) -> None:
    """Of two rims each of which ends on the other, as at a corner, the one that something else holds there too does
    not rest on the other: what holds it takes the load of both."""

    def on(m: MemberSeen, other: MemberSeen) -> list[tuple]:
        return [r for r in found[id(m)] if home.get(r[2]) is other]

    for m in members:
        if m.role != "rim":
            continue
        for other in {id(h): h for r in found[id(m)] if (h := home.get(r[2])) is not None and h.role == "rim"}.values():
            if not on(other, m):
                continue
            beside = [r for r in found[id(m)] if home.get(r[2]) is not other]
            mutual = [r for r in on(m, other) if any(abs(r[0] - q[0]) < m.depth for q in beside)]
            found[id(m)] = [r for r in found[id(m)] if r not in mutual]


def _across(m: MemberSeen, c: Contact) -> tuple[float, float]:
    """(from, to) of a contact's box square to a member: wider than the contact where that lies askew to the plan."""
    n = np.array([-m.u[1], m.u[0]])
    low, high = np.asarray(c.low[:2]), np.asarray(c.high[:2])
    middle, half = float((low + high) @ n) / 2, float((high - low) @ abs(n)) / 2
    return middle - half, middle + half


def _along_a_bearing(m: MemberSeen, groups: list[list]) -> list[list]:
    """The supports of a member, those along which it lies as many places each; what else it bears on nearer to one of
    these than it is deep, as the beam of the next edge at a mitre, holds it together with that place."""
    least = m.depth if len(groups) == 1 else max(m.depth, m.length / 2)
    laid = [_laid_along(m, g, least) for g in groups]
    places = [place for found in laid for place in found]
    if not places:
        return groups
    at, left = [p[0][0] for p in places], []
    for g in (g for g, found in zip(groups, laid) if not found):
        nearest = int(np.argmin(np.abs(np.subtract(at, np.mean([r[0] for r in g])))))
        if min(abs(at[nearest] - r[0]) for r in g) < m.depth:
            places[nearest] = places[nearest] + g
        else:
            left.append(g)
    return sorted([*places, *left], key=lambda g: g[0][0])


def _laid_along(m: MemberSeen, rows: list[tuple], least: float) -> list[list]:
    """Places no further apart than it is deep along the one bearing of a member that lies along what carries it; none
    where it bears on less than `least`, as across a support."""
    bears = [(r, r[1] / m.parts[0].stock.thickness / 2) for r in rows if r[1] > 0]
    low, high = min((r[0] - h for r, h in bears), default=0.0), max((r[0] + h for r, h in bears), default=0.0)
    if high - low < least:
        return []
    places = np.linspace(low, high, 1 + math.ceil((high - low) / m.depth))
    return [
        [(at, a / len(places), k, tuple(np.add(p, (at - x) * m.u)), w) for (x, a, k, p, w), _ in bears]
        for at in map(float, places)
    ]


def _find_mitres(members: list[MemberSeen], touching: Sequence[Contact]) -> None:
    home = {p.id: m for m in members for p in m.parts}
    for c in touching:
        a, b = home.get(c.id_a), home.get(c.id_b)
        if c.kind != "end" or a is None or b is None or a is b:
            continue
        slants = [abs(float(np.dot(c.normal[:2], m.u))) for m in (a, b)]
        if all(_MITRE < s < PARALLEL for s in slants):
            for m in (a, b):
                x = m.position(c.point)
                m.mitred = m.mitred[0] or x < m.depth, m.mitred[1] or x > m.length - m.depth
