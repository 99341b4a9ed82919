"""The calculated route for treads of lumber: of each stair the boards whose bearings are furthest apart, laid flat.
Inches, pounds."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...shared.cited import Row
from ...shared.standards import assumed, limit_or_missing
from ..measuring.contacts import Contact
from ..measuring.loose_ends import TREAD_BEARS_ON
from ..measuring.saw import sizes_of
from ..solid.part import Part
from ..strength.loads import Combination, DesignLoads
from ..strength.nds import Lumber, NoValue
from .diagrams import LoadDiagram, spread_over, under_a_load
from .flat_boards import ONE_LOAD, FlatBoard, check_flat_board
from .members import SQFT
from .verdicts import CalcLine, Verdict


@dataclass(frozen=True)
class TreadSpan:
    """A tread whose bearings are `gap` inches apart, centre to centre: the most of its stair and mark."""

    part: Part
    gap: float


@dataclass(frozen=True)
class CheckedTread:
    """A tread of lumber with published design values, and its checks."""

    span: TreadSpan
    board: FlatBoard
    facts: tuple[CalcLine, ...]
    checks: list[Verdict]

    def diagram(self, loads: DesignLoads, c: Combination, named: str = "") -> LoadDiagram:
        """Under the combination, or under the single load where a check is `named` by it."""
        if named == ONE_LOAD:
            bent = next(v for v in self.checks if v.check == "bending")
            moment = next(line.value for line in bent.lines if line.label == "moment M")
            return under_a_load(self.board.span, 4 * 12 * moment / self.board.span, "stringer", ONE_LOAD)
        return spread_over(self.board.span, sum(c.psf(loads)) * self.board.strip / SQFT, "stringer", c.name)


def bearings_of_treads(touching: Sequence[Contact]) -> dict[str, list[Contact]]:
    """By the id of a tread: where it bears; a riser is no bearing."""
    found: dict[str, list[Contact]] = defaultdict(list)
    for k in touching:
        if k.kind == "bearing" and k.a.role == "tread" and k.b.role in TREAD_BEARS_ON:
            found[k.a.id].append(k)
    return found


def tread_spans(parts: Sequence[Part], touching: Sequence[Contact]) -> list[TreadSpan]:
    """The widest of each stair and mark, in the order of the stairs."""
    by_id = {p.id: p for p in parts if p.role == "tread"}
    widest: dict[tuple[int, str], TreadSpan] = {}
    for i, contacts in bearings_of_treads(touching).items():
        p = by_id[i]
        at = sorted(float(np.dot(k.point[:2], np.asarray(p.place.x)[:2])) for k in contacts)
        gap = max((b - a for a, b in itertools.pairwise(at)), default=0.0)
        key = (-1 if p.stair is None else p.stair, p.mark)
        if gap > (widest[key].gap if key in widest else 0.0):
            widest[key] = TreadSpan(p, gap)
    return [s for _, s in sorted(widest.items(), key=lambda w: w[0][0])]


def checked_treads(
    parts: Sequence[Part],
    touching: Sequence[Contact],
    wood: Lumber,
    loads: DesignLoads,
    edition: str,
    between: float,
) -> list[CheckedTread]:
    """Treads of lumber, under the single load on one board or the uniform load on it and one gap (`between`); no help
    of the riser under it is taken. Boards without design values (5/4) are left out."""
    load, ratio = limit_or_missing("stair_tread_concentrated_load", edition), assumed("tread_deflection_ratio")
    found = []
    for s in tread_spans(parts, touching):
        if s.part.stock.material != "treated lumber":
            continue
        size = sizes_of(s.part)
        b = FlatBoard(s.part.stock, size.width, size.thickness, s.gap, size.width + between)
        try:
            checks = check_flat_board(b, wood, loads, ratio, load if isinstance(load, Row) else None)
        except NoValue:
            continue
        facts = (
            CalcLine("span", s.gap, "in", "greatest spacing of its bearings, centre to centre"),
            CalcLine("strip", b.strip, "in", "its width and one gap"),
            CalcLine("breadth", b.wide, "in", "laid flat"),
            CalcLine("depth", b.thick, "in", "its thickness"),
        )
        found.append(CheckedTread(s, b, facts, checks))
    return found
