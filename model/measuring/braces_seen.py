"""Knee braces read off the solids: the post and the beam that each stands between, and its legs. Inches."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from ..solid.part import Part
from .contacts import Contact

KNEE_BRACE = "knee brace"


@dataclass
class BraceSeen:
    """A brace at 45 degrees with the posts and the lengths of beam that it touches."""

    part: Part
    posts: list[Part] = field(default_factory=list)
    beams: list[Part] = field(default_factory=list)

    @property
    def leg(self) -> float:
        """From the corner of post and beam to its axis, along either: its height less half its depth along the post."""
        return float(self.part.box[1, 2] - self.part.box[0, 2]) - self.part.stock.width / math.sqrt(2.0)


def braces_seen(parts: Sequence[Part], touching: Sequence[Contact]) -> list[BraceSeen]:
    """All braces, in the order of the parts."""
    found = {p.id: BraceSeen(p) for p in parts if p.role == KNEE_BRACE}
    for k in touching:
        for brace, other in ((k.a, k.b), (k.b, k.a)):
            if brace.id in found and brace.role == KNEE_BRACE:
                seen = found[brace.id]
                if other.role == "post":
                    seen.posts.append(other)
                elif other.role in ("beam", "rim"):  # a flush beam at a free edge is the rim there
                    seen.beams.append(other)
    return list(found.values())
