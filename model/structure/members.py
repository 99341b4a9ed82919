"""Members with their unit loads: what `measuring/member_seen` read off the solids, and what stands on it.

Loads are square feet that load a place (reactions to 1 psf), so that one run serves every combination. Inches, square
inches.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from dataclasses import dataclass, field, fields
from functools import cached_property, lru_cache

import numpy as np

from ...shared.said import Words
from ..measuring.member_seen import MemberSeen
from ..strength.beams import AnyLoad, Beam, Load, PointLoad
from ..strength.loads import Combination, DesignLoads, Patterns

SQFT = 144.0


@dataclass(frozen=True)
class Brought:
    """What a place is given by a piece that it carries: square feet where all is loaded (`steady`), where the load
    stands that presses it most (`most`) and where that stands which lifts it (`least`, 0 or less); `own` pounds that
    are always there; pounds of snow from a roof above that `drift` or `slide` there, one at a time or none."""

    steady: float = 0.0
    most: float = 0.0
    least: float = 0.0
    own: float = 0.0
    drift: float = 0.0
    slide: float = 0.0

    def __mul__(self, share: float) -> Brought:
        return Brought(*(v * share for v in self.each))

    def __add__(self, other: Brought) -> Brought:
        return Brought(*(a + b for a, b in zip(self.each, other.each)))

    @property
    def each(self) -> tuple[float, ...]:
        """All its values, in their order."""
        return self.steady, self.most, self.least, self.own, self.drift, self.slide

    @property
    def snow(self) -> float:
        """The pounds of snow from a roof above that press most."""
        return max(0.0, self.drift, self.slide)

    def pressing(self, c: Combination, loads: DesignLoads) -> float:
        """The greatest pounds under a combination."""
        dead, moving = c.psf(loads)
        return dead * self.steady + self.own + moving * self.most + c.snow * self.snow

    def lifted(self, c: Combination, loads: DesignLoads) -> float:
        """The least pounds under a combination; below 0 they lift."""
        dead, moving = c.psf(loads)
        return dead * self.steady + self.own + moving * self.least + c.snow * min(0.0, self.drift, self.slide)


@dataclass
class Member(MemberSeen):
    """A member with what it carries: square feet that load it, `lifting` those that take load off it, `own` pounds that
    are always there; pounds of snow from a roof above that `drift` or `slide` there, one at a time or none."""

    steady: list[AnyLoad] = field(default_factory=list)
    moving: list[AnyLoad] = field(default_factory=list)
    lifting: list[AnyLoad] = field(default_factory=list)
    own: list[AnyLoad] = field(default_factory=list)
    drift: list[AnyLoad] = field(default_factory=list)
    slide: list[AnyLoad] = field(default_factory=list)
    area: float = 0.0  # square feet of surface it takes directly
    together: int = 1  # lines side by side at its level
    trouble: Words = ""  # why it cannot be calculated; `falls` where it would come down
    falls: bool = False

    @classmethod
    def of(cls, seen: MemberSeen) -> Member:
        """The member that was seen, as yet without loads; the reading itself is left as it is."""
        return cls(**{f.name: getattr(seen, f.name) for f in fields(seen)})

    def add(self, load: AnyLoad) -> None:
        self.steady.append(load)
        self.moving.append(load)

    def take(self, x: float, brought: Brought) -> None:
        """A reaction of what it carries, at `x`."""
        if brought.steady or brought.most:
            self.steady.append(PointLoad(x, brought.steady))
            self.moving.append(PointLoad(x, brought.most))
        if brought.least:
            self.lifting.append(PointLoad(x, brought.least))
        for pounds, loads in ((brought.own, self.own), (brought.drift, self.drift), (brought.slide, self.slide)):
            if pounds:
                loads.append(PointLoad(x, pounds))

    @property
    def each_load(self) -> tuple[list[AnyLoad], ...]:
        """All that it carries, kind by kind in the order of `Brought`."""
        return self.steady, self.moving, self.lifting, self.own, self.drift, self.slide

    @property
    def snowed(self) -> bool:
        """Whether snow from a roof above comes to it."""
        return bool(self.drift or self.slide)

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

    @cached_property
    def plies_alike(self) -> list[Plies]:
        """Its plies, those that are spliced over the same supports together.

        A ply is hinged where it is spliced over a support. The load on a stub past an end support goes to that support.
        """
        low, high = (
            min(0.0, *(_left(l) for l in self.steady), 0.0),
            max([self.length, *(_right(l) for l in self.steady)]),
        )
        xs = [s.x for s in self.supports]
        low, high = (low if self.free_ends[0] else min(xs)), (high if self.free_ends[1] else max(xs))
        alike: dict[tuple[float, ...], list[float]] = {}
        for thickness, breaks in self.splices or ((self.breadth, self.breaks),):
            cuts = {min(xs, key=lambda x: abs(x - b)) for b in breaks if len(xs) > 2}
            alike.setdefault(tuple(sorted(c for c in cuts if min(xs) < c < max(xs))), []).append(thickness)
        whole = sum(t for group in alike.values() for t in group)
        return [
            Plies(len(thick), sum(thick) / whole, self._lengths([low, *cuts, high])) for cuts, thick in alike.items()
        ]

    def _lengths(self, ends: list[float]) -> list[Length]:
        xs = [s.x for s in self.supports]
        found = []
        for a, b in itertools.pairwise(ends):
            inside = [i for i, x in enumerate(xs) if a - 1e-9 <= x <= b + 1e-9]
            order = sorted(inside, key=lambda i: xs[i])
            sets = [
                tuple(rounded(p) for load in loads for p in clipped(load, a, b, ends[0], ends[-1]))
                for loads in self.each_load
            ]
            patterns = patterns_of(round(b - a, 8), tuple(round(xs[i] - a, 8) for i in order), *sets)
            found.append(Length(a, b, patterns, order))
        return found

    @property
    def lengths(self) -> list[tuple[Plies, Length]]:
        """Every length that is calculated by itself, with the plies that it stands for."""
        return [(plies, l) for plies in self.plies_alike for l in plies.lengths]

    @cached_property
    def reactions(self) -> Reactions:
        """On each support, of all plies together."""
        return Reactions.of([(p.share, l) for p, l in self.lengths], len(self.supports))


@dataclass(frozen=True)
class Length:
    """One continuous length, from `start` to `end`: the patterns of all that the member carries there, as if every ply
    of it were spliced alike; `order` the indices of its supports, from its start on."""

    start: float
    end: float
    patterns: Patterns
    order: list[int]


@dataclass(frozen=True)
class Plies:
    """`count` plies of a member that are spliced over the same supports, and the `share` of its breadth that they have:
    of its load they take the same share, each ply by its thickness."""

    count: int
    share: float
    lengths: list[Length]


@dataclass(frozen=True)
class Reactions:
    """Square feet that load each support, in the order of a member's supports: `steady` where the whole is loaded;
    `most` and `least` where those segments are that make it greatest, or least (below 0: they lift it). `own` pounds
    are always there, pounds of snow from a roof above `drift` or `slide` there."""

    steady: np.ndarray
    most: np.ndarray
    least: np.ndarray
    own: np.ndarray
    drift: np.ndarray
    slide: np.ndarray

    @classmethod
    def of(cls, lengths: list[tuple[float, Length]], supports: int) -> Reactions:
        """The sum over lengths and their shares. A load stands on all plies at once, whichever way they are spliced:
        what each gives a support is added up before it is asked whether the load makes it worse."""
        steady, own, drift, slide = np.zeros((4, supports))
        by_load: dict[tuple[float, int], np.ndarray] = defaultdict(lambda: np.zeros(supports))
        for share, l in lengths:
            steady[l.order] += share * l.patterns.steady_reactions
            own[l.order] += share * l.patterns.own_reactions
            for total, found in zip((drift, slide), l.patterns.snow_reactions):
                total[l.order] += share * found
            for place, kind, found in l.patterns.moving_reactions:
                by_load[round(l.start + place, 4), kind][l.order] += share * found
        loads = np.array([*by_load.values()]).reshape(-1, supports)
        return cls(steady, np.maximum(loads, 0).sum(axis=0), np.minimum(loads, 0).sum(axis=0), own, drift, slide)

    def on(self, k: int) -> Brought:
        """What support `k` is given."""
        return Brought(*(float(a[k]) for a in (self.steady, self.most, self.least, self.own, self.drift, self.slide)))


@lru_cache(maxsize=4096)
def patterns_of(
    length: float,
    supports: tuple[float, ...],
    steady: tuple[AnyLoad, ...],
    moving: tuple[AnyLoad, ...],
    lifting: tuple[AnyLoad, ...],
    own: tuple[AnyLoad, ...],
    drift: tuple[AnyLoad, ...] = (),
    slide: tuple[AnyLoad, ...] = (),
) -> Patterns:
    """Most joists of a deck, and all inner stringers of a flight, are loaded alike: each case is solved once."""
    snows = (drift, slide) if drift or slide else ()
    return Patterns(Beam(length, supports), steady, moving, lifting, own, snows=snows)


def rounded(load: AnyLoad) -> AnyLoad:
    """A load without its last bits: what is loaded alike is one key of what is known already."""
    if isinstance(load, PointLoad):
        return PointLoad(round(load.x, 8), round(load.p, 9))
    return Load(round(load.start, 8), round(load.end, 8), round(load.w0, 12), round(load.last, 12))


def _left(load: AnyLoad) -> float:
    return load.x if isinstance(load, PointLoad) else load.start


def _right(load: AnyLoad) -> float:
    return load.x if isinstance(load, PointLoad) else load.end


def clipped(load: AnyLoad, a: float, b: float, first: float, last: float) -> list[AnyLoad]:
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
