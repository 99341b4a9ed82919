"""What the sheets read off the pieces: beam lines and their posts, joist groups and their spans, flights of stairs.

Everything is found from where the pieces stand, not from the parameters that placed them. Plan coordinates, inches.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from ...model.solid.part import Part

NEAR = 0.26  # inches: faces this close count as touching (a quarter inch of fitting clearance)


def plan_axis(part: Part) -> np.ndarray:
    """(2,) plan unit vector along a lying piece, turned to point right or up the sheet."""
    x, y = part.place.x[0], part.place.x[1]
    if math.hypot(x, y) < 1e-6:
        x, y = part.place.y[0], part.place.y[1]
    v = np.array([x, y]) / math.hypot(x, y)
    return -v if v[0] < -1e-9 or (abs(v[0]) <= 1e-9 and v[1] < 0) else v


def reach(part: Part, axis: Sequence[float]) -> tuple[float, float]:
    """Lowest and highest station of a piece along a plan direction."""
    s = part.vertices[:, :2] @ np.asarray(axis)
    return float(s.min()), float(s.max())


def square(axis: np.ndarray) -> np.ndarray:
    """The plan direction square to `axis`, pointing right or up the sheet."""
    v = np.array([-axis[1], axis[0]])
    return -v if v[0] < -1e-9 or (abs(v[0]) <= 1e-9 and v[1] < 0) else v


def centre(part: Part) -> tuple[float, float]:
    """Middle of the plan box of a piece."""
    (x0, y0, _), (x1, y1, _) = part.box
    return (float(x0 + x1) / 2, float(y0 + y1) / 2)


def overlap(a: tuple[float, float], b: tuple[float, float]) -> float:
    return min(a[1], b[1]) - max(a[0], b[0])


@dataclass
class BeamLine:
    """The plies of one beam and the posts under it. `axis` runs along it."""

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

    @property
    def stations(self) -> list[float]:
        """Centres of the posts along the beam."""
        return sorted(float(np.dot(centre(p), self.axis)) for p in self.posts)

    @property
    def text(self) -> str:
        return f"({self.count}) {self.plies[0].stock.name}"


def beam_lines(parts: Sequence[Part]) -> list[BeamLine]:
    """Beams as lines of plies lying side by side or end to end, from the low end of the plan up."""
    beams = [p for p in parts if p.role == "beam"]
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
    for line in lines:
        for post in posts:
            c, half = np.asarray(centre(post)), NEAR
            inside = line.along[0] - half <= c @ line.axis <= line.along[1] + half
            if (
                inside
                and abs(c @ square(line.axis) - line.middle) < 6
                and post.box[1, 2] >= line.bottom - 3
                and post.box[0, 2] < line.bottom
            ):
                line.posts.append(post)
    return sorted(lines, key=lambda l: (round(float(abs(l.axis[1])), 3), round(l.middle, 3), l.along))


def _touch(p, q, axis) -> bool:
    n = square(axis)
    return (
        abs(p.box[0, 2] - q.box[0, 2]) < 0.1
        and overlap(reach(p, axis), reach(q, axis)) > -NEAR
        and overlap(reach(p, n), reach(q, n)) > -NEAR
    )


@dataclass(frozen=True)
class Bearing:
    """Where a joist is carried: stations along it, and by what (beam, ledger, rim)."""

    start: float
    end: float
    by: str


@dataclass
class JoistGroup:
    """Joists alike in what carries them. `axis` runs along them; `spacing` is the usual distance on centre."""

    joists: list[Part]
    axis: np.ndarray
    bearings: list[Bearing]
    spacing: float

    @property
    def typical(self) -> Part:
        """The joist in the middle of the group."""
        n = square(self.axis)
        return sorted(self.joists, key=lambda p: sum(reach(p, n)))[len(self.joists) // 2]

    @property
    def spans(self) -> list[tuple[float, float]]:
        """Clear spans: stations from one bearing's face to the next one's."""
        return [(a.end, b.start) for a, b in zip(self.bearings, self.bearings[1:]) if b.start - a.end > 1]

    def overhangs(self, whole: tuple[float, float]) -> list[tuple[float, float]]:
        """Cantilevers past the first and last bearing, to the ends of `whole` (joist with its rims)."""
        out = []
        if self.bearings:
            if self.bearings[0].by == "beam" and self.bearings[0].start - whole[0] > 0.5:
                out.append((whole[0], self.bearings[0].start))
            if self.bearings[-1].by == "beam" and whole[1] - self.bearings[-1].end > 0.5:
                out.append((self.bearings[-1].end, whole[1]))
        return out


def bearings(joist: Part, beams: Iterable[BeamLine], parts: Iterable[Part], axis: np.ndarray) -> list[Bearing]:
    """What carries one joist: beams it crosses, and a ledger its end meets (or a header or rim where no beam is
    near)."""
    n, here, band = square(axis), reach(joist, axis), reach(joist, square(axis))
    found = []
    for line in beams:
        if abs(float(line.axis @ axis)) < 0.999 and abs(line.top - joist.box[0, 2]) < NEAR:
            foot = [reach(p, axis) for p in line.plies if overlap(reach(p, n), band) > 0]
            if foot and overlap(here, (min(f[0] for f in foot), max(f[1] for f in foot))) > 0:
                found.append(Bearing(min(f[0] for f in foot), max(f[1] for f in foot), "beam"))
    for p in parts:
        if p.role not in ("ledger", "stair header") or overlap(reach(p, n), band) <= 0:
            continue
        start, end = reach(p, axis)
        if abs(end - here[0]) < NEAR or abs(start - here[1]) < NEAR:
            found.append(Bearing(start, end, p.role))
    return sorted(found, key=lambda b: b.start)


def joist_groups(parts: Sequence[Part], beams: Sequence[BeamLine]) -> list[JoistGroup]:
    """Joists grouped by direction and by what carries them, the largest group first."""
    groups: dict[tuple, list] = defaultdict(list)
    carried: dict[tuple, list[Bearing]] = {}
    for p in parts:
        if p.role != "joist":
            continue
        axis = plan_axis(p)
        b = bearings(p, beams, parts, axis)
        key = (tuple(np.round(axis, 4)), tuple((x.by, round(x.start, 1), round(x.end, 1)) for x in b))
        groups[key].append(p)
        carried[key] = b
    out = []
    for key, joists in groups.items():
        axis = np.array(key[0])
        out.append(JoistGroup(joists, axis, carried[key], usual_spacing(joists, square(axis))))
    return sorted(out, key=lambda g: (-len(g.joists), centre(g.joists[0])))


def usual_spacing(pieces: Iterable[Part], across: np.ndarray) -> float:
    """The commonest centre-to-centre distance of parallel pieces; 0 for fewer than two.

    Pieces side by side (plies of a double) count as one.
    """
    middles = sorted({round(sum(reach(p, across)) / 2, 3) for p in pieces})
    gaps = Counter(round((b - a) * 16) for a, b in itertools.pairwise(middles) if b - a > 3.01)
    if not gaps:
        return 0.0
    return max(gaps.items(), key=lambda g: (g[1], g[0]))[0] / 16


@dataclass
class Flight:
    """One straight run of treads. `down` is the plan direction of travel; stations grow that way.

    `levels` are heights from the surface (or landing) above down to the landing, pad or grade below: every rise is the
    difference of two neighbours.
    """

    stair: int
    treads: list[Part]
    down: np.ndarray
    band: tuple[float, float]
    levels: list[float] = field(default_factory=list)

    @property
    def across(self) -> np.ndarray:
        return np.array([-self.down[1], self.down[0]])

    @property
    def rises(self) -> list[float]:
        return [a - b for a, b in zip(self.levels, self.levels[1:])]

    def steps(self) -> list[list[Part]]:
        """The pieces of each tread (boards, or front, returns and rear), from the top down."""
        by_top: dict[float, list] = defaultdict(list)
        for t in self.treads:
            by_top[round(float(t.box[1, 2]), 3)].append(t)
        return [by_top[z] for z in sorted(by_top, reverse=True)]

    def nosings(self) -> list[tuple[float, float]]:
        """(station, height) of the front edge of each tread, from the top down."""
        return [
            (max(reach(t, self.down)[1] for t in step), max(float(t.box[1, 2]) for t in step)) for step in self.steps()
        ]


def flights(parts: Sequence[Part], outward) -> list[Flight]:
    """Every straight run of treads. `outward(stair)` gives the plan direction in which the stair leaves the deck."""
    out = []
    by_stair: dict[int, list] = defaultdict(list)
    for p in parts:
        if p.role == "tread" and p.stair is not None:
            by_stair[p.stair].append(p)
    for stair, treads in sorted(by_stair.items()):
        treads.sort(key=lambda t: (-round(float(t.box[1, 2]), 3), centre(t)))
        runs: list[list] = []
        steps: dict[float, list] = defaultdict(list)
        for t in treads:
            steps[round(float(t.box[1, 2]), 3)].append(t)
        tops = sorted(steps, reverse=True)
        middles = [np.mean([centre(t) for t in steps[z]], axis=0) for z in tops]
        down = np.asarray(outward(stair), float)
        for i, z in enumerate(tops):
            if i and runs:
                move = middles[i] - middles[i - 1]
                far = float(np.hypot(*move))
                usual = float(np.hypot(*(middles[1] - middles[0]))) if i > 1 else far
                if i > 1 and far > 1.6 * usual:  # a landing lies between
                    runs.append([])
            if not runs:
                runs.append([])
            runs[-1] += steps[z]
        for run in runs:
            zs = sorted({round(float(t.box[1, 2]), 3) for t in run}, reverse=True)
            if len(zs) > 1:
                first, last = (np.mean([centre(t) for t in steps[z]], axis=0) for z in (zs[0], zs[-1]))
                down = (last - first) / np.hypot(*(last - first))
            across = np.array([-down[1], down[0]])
            ends = [reach(t, across) for t in run]
            out.append(Flight(stair, run, down, (min(e[0] for e in ends), max(e[1] for e in ends))))
    return out


def guard_posts_on(parts: Sequence[Part], edge: str) -> list[Part]:
    return [p for p in parts if p.role == "guard post" and p.edge == edge]
