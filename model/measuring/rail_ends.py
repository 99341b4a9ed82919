"""How much of each end of a guard's rail, or of a handrail, lies against a post or the sleeve round it, read off the
solids. Inches, square inches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..solid.faces import read
from ..solid.part import Part
from ..solid.roles import named
from .contacts import Contact
from .saw import sizes_of

_POSTS = named("holds rails")
_SAME_WAY = 0.999  # cosine between the normals of a rail's end and of what it touches there


@dataclass(frozen=True, eq=False)
class RailEndSeen:
    """An end of a rail: the `area` of its face, what of that is `on` posts, and those posts."""

    part: Part
    end: str
    area: float
    on: float
    posts: tuple[Part, ...]


def rail_ends(
    parts: Sequence[Part], by: dict[int, list[Contact]], roles: Sequence[str] = ("top rail", "bottom rail")
) -> Iterator[RailEndSeen]:
    """Both ends of every piece of `roles`; `by`: contacts by the position of either piece."""
    for k, part in enumerate(parts):
        if part.role not in roles:
            continue
        reading, m, size = read(part.shape), part.place.matrix, sizes_of(part)
        for end, n in zip("AB", size.end_faces):
            face = reading.faces[n]
            normal, ring = m[:3, :3] @ face.normal, face.outer @ m[:3, :3].T + m[:3, 3]
            low, high = ring.min(axis=0) - 1e-3, ring.max(axis=0) + 1e-3
            met = []
            for c in by[k]:
                other, out = (parts[c.j], c.normal) if c.i == k else (parts[c.i], np.negative(c.normal))
                here = (low <= c.low).all() and (np.asarray(c.high) <= high).all()
                if other.role in _POSTS and here and float(normal @ out) > _SAME_WAY:
                    met.append((c.area, other))
            yield RailEndSeen(part, end, face.area, sum(a for a, _ in met), tuple(p for _, p in met))
