"""The table's rows of a member: which table a line of framing is held to."""

from __future__ import annotations

from ..measuring.carriers import UNDER_BEAMS
from ..strength.loads import DesignLoads
from ..strength.nds import Lumber
from .beside_points import beside_points
from .load_path import Column, LoadPath
from .members import Member
from .prescribed import Prescribed, beam_rows, clear_span, joist_rows


def member_rows(m: Member, path: LoadPath, wood: Lumber, loads: DesignLoads, edition: str) -> list[Prescribed]:
    """Of a beam, or of a rim on posts, the rows of a beam; of what takes a strip of the surface those of a joist; none
    of a member whose load path is broken."""
    if m.trouble:
        return []
    if m.role == "beam" or (not m.lengthwise and any(s.role in UNDER_BEAMS for s in m.supports)):
        return beam_rows(m, path.on(m), wood, loads, edition)
    return [beside_points(m, row, loads) for row in joist_rows(m, wood, loads, edition)] if m.lengthwise else []


def joists_ft(c: Column, path: LoadPath, known: dict[int, float | None]) -> float | None:
    """Feet of the longest span that comes to a column; `known` by the identity of each member that bears on one."""
    for m, _ in c.bears:
        if id(m) not in known:
            known[id(m)] = max((clear_span(j) / 12 for j in path.on(m)), default=None)
    return max((ft for m, _ in c.bears if (ft := known[id(m)]) is not None), default=None)
