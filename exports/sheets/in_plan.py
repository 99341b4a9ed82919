"""What the sheets read off the pieces as they lie in plan: beam lines and their posts, joist groups and their spans.

Everything is found from where the pieces stand, not from the parameters that placed them. Plan coordinates, inches.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry import Polygon

from ...model.measuring.carriers import UNDER_BEAMS, standing_rims
from ...model.measuring.member_seen import PARALLEL

if TYPE_CHECKING:
    from ...model.measuring.member_seen import MemberSeen
    from ...model.solid.part import Part

BARE_BEARINGS = tuple(r for r in UNDER_BEAMS if r != "post")  # what a beam lies on where no post stands
_ONE_OUTLINE = 0.3  # inches: twice as far apart pieces still are one outline
_ONE_STATION = 0.05  # inches: stations nearer than this are one; our own
ON_MIDDLE = 3.0  # inches from a footing's middle within which a post stands on it; our own
_SEAM = 1e-3  # inches by which plies grow into one: their centre line may be the seam between them
FITTED = 0.26  # inches: faces this close count as touching (a quarter inch of fitting clearance)


def plan_axis(part: Part) -> np.ndarray:
    """(2,) plan unit vector along a lying piece, turned to point right or up the sheet."""
    x, y = part.place.x[0], part.place.x[1]
    if math.hypot(x, y) < 1e-6:
        x, y = part.place.y[0], part.place.y[1]
    v = np.array([x, y]) / math.hypot(x, y)
    return -v if v[0] < -1e-9 or (abs(v[0]) <= 1e-9 and v[1] < 0) else v


def reach(part: Part, axis: Sequence[float]) -> tuple[float, float]:
    """Lowest and highest station of a piece along a plan direction."""
    return part.reach(axis)


def square(axis: np.ndarray) -> np.ndarray:
    """The plan direction square to `axis`, pointing right or up the sheet."""
    v = np.array([-axis[1], axis[0]])
    return -v if v[0] < -1e-9 or (abs(v[0]) <= 1e-9 and v[1] < 0) else v


def centre(part: Part) -> tuple[float, float]:
    """Middle of the plan box of a piece."""
    return part.plan_middle


def beside_middle(posts: Sequence[Part], footings: Sequence[Part]) -> list[tuple[Part, Part]]:
    """Each post that stands on a footing, but not on its middle, with that footing."""
    found = []
    for f in footings:
        (x, y), area = centre(f), f.footprint
        for p in posts:
            u, v = centre(p)
            if math.hypot(u - x, v - y) >= ON_MIDDLE and area.contains(shapely.Point(u, v)):
                found.append((p, f))
    return found


def places_along(part: Part, shares: Iterable[float]) -> list[tuple[float, float]]:
    """Plan points on the middle line of a lying piece, at shares of its length: where a note may point at it."""
    axis = plan_axis(part)
    (a, b), across = reach(part, axis), square(axis)
    side = across * (sum(reach(part, across)) / 2)
    return [tuple(map(float, axis * (a + (b - a) * t) + side)) for t in shares]


def outlines(parts: Iterable[Part]) -> list[Polygon]:
    """What pieces cover together, boards with their gaps."""
    grown = shapely.union_all([p.footprint.buffer(_ONE_OUTLINE, join_style="mitre") for p in parts])
    whole = grown.buffer(-_ONE_OUTLINE, join_style="mitre").simplify(1e-6)  # growing leaves corners that are none
    return [g for g in shapely.get_parts(whole) if g.area]


def overlap(a: tuple[float, float], b: tuple[float, float]) -> float:
    return min(a[1], b[1]) - max(a[0], b[0])


@dataclass
class BeamLine:
    """The plies of one beam and the posts under it; where no post stands, the base or footing it bears on. `axis` runs
    along it."""

    plies: list[Part]
    axis: np.ndarray
    posts: list[Part] = field(default_factory=list)

    @cached_property
    def along(self) -> tuple[float, float]:
        ends = [reach(p, self.axis) for p in self.plies]
        return min(e[0] for e in ends), max(e[1] for e in ends)

    @cached_property
    def across(self) -> tuple[float, float]:
        ends = [reach(p, square(self.axis)) for p in self.plies]
        return min(e[0] for e in ends), max(e[1] for e in ends)

    @property
    def middle(self) -> float:
        return sum(self.across) / 2

    @cached_property
    def on_centre(self) -> tuple[float, float]:
        """Where its centre line enters and leaves its plies: short of its long points where ends are mitred or cut
        aslant."""
        low, high = self.along
        plies = shapely.union_all([p.footprint.buffer(_SEAM, join_style="mitre") for p in self.plies])
        met = plies.intersection(shapely.LineString([self.point(low - 1), self.point(high + 1)]))
        if met.is_empty:
            return low, high
        at = shapely.get_coordinates(met) @ self.axis
        return max(low, float(at.min())), min(high, float(at.max()))

    @property
    def bottom(self) -> float:
        return float(min(p.box[0, 2] for p in self.plies))

    @property
    def top(self) -> float:
        return float(max(p.box[1, 2] for p in self.plies))

    @property
    def count(self) -> int:
        """Plies side by side."""
        return len({round(sum(reach(p, square(self.axis))) / 2, 2) for p in self.plies})

    def point(self, along: float, across: float | None = None) -> tuple[float, float]:
        p = self.axis * along + square(self.axis) * (self.middle if across is None else across)
        return float(p[0]), float(p[1])

    def hangs(self, joist: Part) -> bool:
        """Whether a joist hangs on this beam at its own level: a flush beam."""
        level = overlap((self.bottom, self.top), (joist.box[0, 2], joist.box[1, 2])) > 1
        return level and any(p.id in joist.carried_by for p in self.plies)

    @property
    def stations(self) -> list[float]:
        """Centres of the posts along the beam."""
        return sorted(float(np.dot(centre(p), self.axis)) for p in self.posts)

    @property
    def text(self) -> str:
        return f"({self.count}) {self.plies[0].stock.name}"


def beam_lines(parts: Sequence[Part]) -> list[BeamLine]:
    """Beams as lines of plies lying side by side or end to end, from the low end of the plan up."""
    # a rim that stands on posts is a flush beam where joists hang on it: its plies are found from there
    hung_on = {i for p in parts if p.role == "joist" for i in p.carried_by}
    standing = standing_rims(parts)
    beams = [p for p in parts if p.role == "beam" or p.id in standing]
    posts = [p for p in parts if p.role == "post"]
    lines: list[BeamLine] = []
    for p in beams:
        axis = plan_axis(p)
        mine = [
            l for l in lines if abs(abs(float(axis @ l.axis)) - 1) < 1e-6 and any(_touch(p, q, axis) for q in l.plies)
        ]
        merged = BeamLine([p], axis)
        for l in mine:
            merged.plies += l.plies
            lines.remove(l)
        lines.append(merged)
    lines = [l for l in lines if any(p.role == "beam" or p.id in hung_on for p in l.plies)]
    bearings = [p for p in parts if p.role in BARE_BEARINGS]
    middles = np.array([centre(p) for p in posts])
    feet, tops = np.array([p.box[:, 2] for p in posts]).reshape(-1, 2).T
    for line in lines:
        if posts:
            along, aside = middles @ line.axis, np.abs(middles @ square(line.axis) - line.middle)
            under = (tops >= line.bottom - 3) & (feet < line.bottom) & (aside < 6)
            under &= (along >= line.along[0] - FITTED) & (along <= line.along[1] + FITTED)
            line.posts += [posts[k] for k in np.nonzero(under)[0]]
        bare = {i for p in line.plies for i in p.carried_by}
        line.posts += [p for p in bearings if p.id in bare]
    return sorted(lines, key=lambda l: (round(float(abs(l.axis[1])), 3), round(l.middle, 3), l.along))


def _touch(p, q, axis) -> bool:
    n = square(axis)
    return (
        abs(p.box[0, 2] - q.box[0, 2]) < 0.1
        and overlap(reach(p, axis), reach(q, axis)) > -FITTED
        and overlap(reach(p, n), reach(q, n)) > -FITTED
    )


@dataclass(frozen=True)
class Bearing:
    """Where a joist is carried: stations along it, and by what (beam, ledger, rim)."""

    start: float
    end: float
    by: str


@dataclass
class JoistGroup:
    """Joists alike in what carries them. `axis` runs along them; `spacing` is the usual distance on centre, `typical`
    the joist in their middle. Stations are along `axis`, from the plan origin."""

    members: list[MemberSeen]
    axis: np.ndarray
    spacing: float

    @property
    def joists(self) -> list[Part]:
        return [m.first for m in self.members]

    @cached_property
    def middle(self) -> MemberSeen:
        n = square(self.axis)
        return sorted(self.members, key=lambda m: sum(reach(m.first, n)))[len(self.members) // 2]

    @property
    def typical(self) -> Part:
        return self.middle.first

    @property
    def bearings(self) -> list[Bearing]:
        return bearings(self.middle)

    @property
    def spans(self) -> list[tuple[float, float]]:
        """Clear spans of the typical joist: from one bearing's face to the next one's."""
        m = self.middle
        return [(m.start + a, m.start + b) for a, b in m.clear_spans if b - a > 1]

    @property
    def overhangs(self) -> list[tuple[float, float]]:
        """What the typical joist reaches past its first and its last bearing on a beam, the rim at its end with it."""
        m, found = self.middle, []
        if not m.supports:
            return []
        first, last = self.bearings[0], self.bearings[-1]
        if first.by == "beam" and m.free_ends[0]:
            found.append((m.start - m.cap, first.start))
        if last.by == "beam" and m.free_ends[1]:
            found.append((last.end, m.start + m.length + m.cap))
        return found


def bearings(joist: MemberSeen) -> list[Bearing]:
    """What carries one joist, as stations along its axis."""
    return [
        Bearing(joist.start + a, joist.start + b, support.role)
        for support in joist.in_order
        for a, b in [joist.faces(support)]
    ]


def stations(values: Iterable[float]) -> dict[float, float]:
    """Each station with the one that stands for it and for all that are the same but for how they were worked out: a
    rounded one would part those that lie to both sides of where rounding turns."""
    found: dict[float, float] = {}
    last = math.nan
    for value in sorted(set(values)):
        found[value] = found[last] if value - last < _ONE_STATION else value
        last = value
    return found


def joist_groups(joists: Iterable[MemberSeen], by_id: Mapping[str, Part]) -> list[JoistGroup]:
    """Joists grouped by direction and by what carries them, the largest group first.

    Bearings square to the joists are told apart by where they are; those on the skew by which piece they are on, since
    there every joist has its own span.
    """
    groups: dict[tuple, list[MemberSeen]] = defaultdict(list)
    lie = [(joist, bearings(joist)) for joist in joists]
    at = stations(s for _, found in lie for b in found for s in (b.start, b.end))
    for joist, found in lie:
        axis, key = plan_axis(joist.first), []
        for support, b in zip(joist.in_order, found):
            on = by_id[support.on[0]]
            skew = abs(float(plan_axis(on) @ axis)) > 0.01 and on.role != "joist"
            key.append((b.by, on.id) if skew else (b.by, at[b.start], at[b.end]))
        groups[(tuple(np.round(axis, 4)), *key)].append(joist)
    along: dict[tuple, list[Part]] = defaultdict(list)
    for key, members in groups.items():
        along[key[0]] += [m.first for m in members]
    out = []
    for key, members in groups.items():
        axis = np.array(key[0])
        # one by itself, on rims askew, is as far from the next as they all are
        spacing = usual_spacing([m.first for m in members], square(axis)) or usual_spacing(along[key[0]], square(axis))
        out.append(JoistGroup(members, axis, spacing))
    return sorted(out, key=lambda g: (-len(g.joists), centre(g.joists[0])))


def beside(groups: Iterable[JoistGroup], group: JoistGroup) -> list[Part]:
    """The joists of all groups that run as those of one do."""
    return [p for g in groups if abs(float(g.axis @ group.axis)) > PARALLEL for p in g.joists]


def usual_spacing(pieces: Iterable[Part], across: np.ndarray) -> float:
    """The commonest centre-to-centre distance of parallel pieces; 0 for fewer than two.

    Pieces side by side (plies of a double) count as one.
    """
    middles = sorted({round(sum(reach(p, across)) / 2, 3) for p in pieces})
    gaps = Counter(round((b - a) * 16) for a, b in itertools.pairwise(middles) if b - a > 3.01)
    if not gaps:
        return 0.0
    return max(gaps.items(), key=lambda g: (g[1], g[0]))[0] / 16


def guard_posts_on(parts: Sequence[Part], edge: str) -> list[Part]:
    return [p for p in parts if p.role == "guard post" and p.edge == edge]
