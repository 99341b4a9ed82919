"""Members with their unit loads: what `measuring/member_seen` read off the solids, and what stands on it.

Loads are square feet that load a place (reactions to 1 psf), so that one run serves every combination. Inches, square
inches.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field, fields
from functools import cached_property, lru_cache

import numpy as np

from ...shared.said import Words
from ..measuring.member_seen import MemberSeen
from ..strength.beams import AnyLoad, Beam, Load, PointLoad
from ..strength.loads import Patterns

SQFT = 144.0


@dataclass
class Member(MemberSeen):
    """A member with what it carries."""

    steady: list[AnyLoad] = field(default_factory=list)
    moving: list[AnyLoad] = field(default_factory=list)
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
