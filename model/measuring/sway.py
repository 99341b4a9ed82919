"""What keeps posts from swaying, read off the solids: the deck they carry, where it is tied to the house."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from ..solid.part import Part
from ..solid.roles import named

FRAME = frozenset(named("joist level", "member"))


def held_posts(parts: Sequence[Part]) -> set[str]:
    """The ids of posts whose upper end is kept in place: what they carry is joined, frame piece by frame piece, to a
    ledger. `carried_by` must be set. A stair does not count: its stringers hold a landing by a few nails."""
    frame = {p.id: p for p in parts if p.role in FRAME}
    beside: dict[str, set[str]] = defaultdict(set)
    for p in frame.values():
        for k in p.carried_by:
            if k in frame:
                beside[p.id].add(k)
                beside[k].add(p.id)
    front = [p.id for p in frame.values() if p.role == "ledger"]
    tied = set(front)
    while front:
        front = [k for p in front for k in beside[p] if k not in tied]
        tied.update(front)
    return {k for i in tied for k in frame[i].carried_by if k not in frame}
