"""Measures pieces off their solids: the only source of numbers for quantities, cut lists and checks.

`measure(part)` reads one piece, `measure_all(parts)` many; identical pieces share one reading. `contacts`, `clashes`
and `distance` (in rooms of their own) say how solids stand to one another. Inches, square and cubic inches, degrees.

A piece is measured as it lies on the saw table: its long axis `u` from end A (left) to end B (right), its width `v`
away from you, its thickness `w` up. For a board lying in the deck the face up at the saw is the face up in the deck;
for a joist or rim the top edge is the far one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ...shared.stock import Stock
from ..solid.faces import by_shape, matrices, read
from ..solid.part import Part
from .saw import EndCut, Hole, Notch, Sizes, sizes_of

_UP = 0.999  # cosine to the vertical above which a face counts as a top face (2.5 degrees)


@dataclass(frozen=True, eq=False)
class Measured:
    """What the solid of one piece measures. `sizes` is shared by identical pieces; the rest is this piece in the world.

    `box` (2, 3) world corners, lowest then highest; `top_area` of the faces that look up; `axis` the world unit vector
    of the long axis from end A to end B.
    """

    part: Part
    sizes: Sizes
    box: np.ndarray
    top_area: float
    axis: np.ndarray

    @property
    def id(self) -> str:
        return self.part.id

    @property
    def mark(self) -> str:
        return self.part.mark

    @property
    def role(self) -> str:
        return self.part.role

    @property
    def stock(self) -> Stock:
        return self.part.stock

    @property
    def group(self) -> str:
        return self.part.group

    @property
    def carried_by(self) -> tuple[str, ...]:
        return self.part.carried_by

    @property
    def volume(self) -> float:
        return self.sizes.volume

    @property
    def surface(self) -> float:
        """Whole surface, square inches."""
        return self.sizes.surface

    @property
    def length(self) -> float:
        """Greatest length along the long axis: what the piece takes out of a stock length."""
        return self.sizes.length

    @property
    def long_point(self) -> float:
        """Length along the longest of the four long edges; tip to tip where two cuts of an end meet between them."""
        return self.sizes.long_point

    @property
    def short_point(self) -> float:
        """Length along the shortest of the four long edges."""
        return self.sizes.short_point

    @property
    def width(self) -> float:
        return self.sizes.width

    @property
    def thickness(self) -> float:
        return self.sizes.thickness

    @property
    def ends(self) -> tuple[EndCut, EndCut]:
        """The main cut at end A and at end B."""
        return self.sizes.ends

    @property
    def notches(self) -> tuple[Notch, ...]:
        return self.sizes.notches

    @property
    def holes(self) -> tuple[Hole, ...]:
        return self.sizes.holes

    @cached_property
    def footprint_area(self) -> float:
        """Area of the piece seen from above, square inches."""
        return self.part.footprint.area


def measure(part: Part) -> Measured:
    """One piece. Raises ValueError where its solid has no volume."""
    return measure_all([part])[0]


def measure_all(parts: Iterable[Part]) -> list[Measured]:
    """All pieces, in the order given."""
    listed = list(parts)
    out: dict[int, Measured] = {}
    for shape, index in by_shape(listed).items():
        reading = read(shape)
        m = matrices([listed[i] for i in index])
        turn = m[:, :3, :3]
        world = np.einsum("nij,vj->nvi", turn, reading.vertices) + m[:, None, :3, 3]
        box = np.stack([world.min(axis=1), world.max(axis=1)], axis=1)
        normals, areas = reading.flat_points[2], np.array([f.area for f in reading.faces])
        top = np.where(np.einsum("nj,fj->nf", turn[:, 2], normals) > _UP, areas, 0.0).sum(axis=1).tolist()
        for k, i in enumerate(index):
            found = sizes_of(listed[i])
            out[i] = Measured(listed[i], found, box[k], top[k], turn[k] @ found.axes[0])
    return [out[i] for i in range(len(listed))]
