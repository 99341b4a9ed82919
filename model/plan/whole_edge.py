"""The edge whose boards are kept whole: pieces along it come each first out of a board of their own, and no run is
ripped at it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ...shared.errors import DesignError
from ...shared.points import Vector
from .edges import Edge, FrameOutline

AUTO, NONE = "auto", "none"
AWAY = 0.7  # cosine: an edge that looks within 45 degrees of straight away from the house faces the garden


def most_seen(outline: FrameOutline, out: Callable[[Vector], tuple[int, int]]) -> Edge | None:
    """The longest free edge that faces away from the house; the longest free edge where none does, or where no house is
    named.

    That is the edge which stands before whoever comes up to the deck, at eye level where the deck is high (common
    practice, no source). Of two equally long ones the one farther from the house, then the one nearer to where
    things are set out, from which a point lies so far `out`. None without a free edge.
    """
    free = [e for e in outline.edges if not e.house]
    house = [e for e in outline.edges if e.house]
    away = sum((e.inward * e.length for e in house), np.zeros(2))
    size = float(np.hypot(*away))
    way = away / size if size > 1e-6 else np.zeros(2)
    facing = [e for e in free if float(-e.inward @ way) > AWAY] or free
    return max(
        facing,
        key=lambda e: (
            round(e.length, 3),
            round(float(np.asarray(e.point(e.length / 2)) @ way), 3),
            *(-far for far in out(e.point(e.length / 2))),
        ),
        default=None,
    )


def whole_edge(outline: FrameOutline, wanted: str, out: Callable[[Vector], tuple[int, int]]) -> Edge | None:
    """The edge that `order.whole_edge` asks for: by name, "auto" or "none". Raises DesignError for another name and for
    an edge against the house, whose boards nobody sees the ends of."""
    if wanted == NONE:
        return None
    if wanted == AUTO:
        return most_seen(outline, out)
    free = [e.name for e in outline.edges if not e.house]
    if wanted not in free:
        given = f"edge {wanted!r} lies against the house" if wanted in outline else f"no edge {wanted!r}"
        raise DesignError(
            "order.whole_edge",
            f'{given}; wanted "auto", "none" or one of {", ".join(free)}',
            ("order.whole_edge", AUTO),
        )
    return outline[wanted]
