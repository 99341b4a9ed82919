"""The screws of the cleats that carry treads between solid stringers: what one cleat brings to its stringer, against
the nails or screws that are bought for it, by the yield limit equations. Inches, pounds."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from ...shared.cited import Missing
from ...shared.practice import practice
from ...shared.said import Words, decimal, number, put_in, said
from ...shared.standards import limit_or_missing
from ..measuring.contacts import Contact
from ..solid.part import Part
from ..strength.dowels import LAG, fastener, lateral, ledger_dowels, nail, nail_length
from ..strength.loads import DesignLoads, those_that_count
from ..strength.nds import Lumber
from .members import SQFT
from .stringer_checks import ON_ONE_TREAD, dead_load, with_people
from .tread_checks import bearings_of_treads
from .verdicts import NOT_CHECKED, NOT_MET, CalcLine, Verdict, unchecked, value_line, verdict

OF_CLEATS = "fastening of a cleat"
CLEAT_ROWS = int(practice("rows of screws in a tread's cleat"))


def loads_on_cleats(parts: Sequence[Part], touching: Sequence[Contact]) -> dict[str, float]:
    """By the id of a solid stringer: the most square feet of treads that one of its cleats carries. What lies along the
    side of a stringer is a cleat; a block between two stringers ends at them."""
    lies = [c for c in touching if c.kind == "side" and {c.a.role, c.b.role} == {"tread blocking", "stringer"}]
    stringer_of = {c.id_a if c.a.role == "tread blocking" else c.id_b: _stringer(c) for c in lies}
    area, known = defaultdict[str, float](float), {p.id: p for p in parts if p.role == "tread"}
    for tread, bears in bearings_of_treads(touching).items():
        for c in bears:
            area[c.id_b] += known[tread].footprint.area / SQFT / len(bears)
    found: dict[str, float] = {}
    for cleat, stringer in stringer_of.items():
        found[stringer] = max(found.get(stringer, 0.0), area[cleat])
    return found


def _stringer(c: Contact) -> str:
    return c.id_b if c.a.role == "tread blocking" else c.id_a


def check_cleats(stringer: Part, area: float, wood: Lumber, loads: DesignLoads, edition: str) -> list[Verdict]:
    """The cleat that carries `area` square feet of treads, under the uniform loads or the single load of one tread
    beside it, which then is all its own; where the screws bought for it do not do, the number that does."""
    point = limit_or_missing("stair_tread_concentrated_load", edition)
    if isinstance(point, Missing):
        return [unchecked(OF_CLEATS, point.why)]
    bought = fastener("framing screw")
    thick, count = stringer.stock.thickness, int(bought["each"]) * CLEAT_ROWS
    people = with_people(loads)
    cases: list[tuple[float, str, str, Words]] = [
        (sum(c.psf(loads)) * area, c.name, c.duration, c.source) for c in those_that_count(loads)
    ]
    single = dead_load(loads) * area + float(point.value)
    cases.append((single, ON_ONE_TREAD, people.duration, point.citation))
    found = []
    for pounds, name, duration, source in cases:
        z = lateral(nail(), wood, thick, min(thick, nail_length() - thick), duration)
        how = said("{area} sq ft of treads", area=number(area, 2))
        if name == ON_ONE_TREAD:
            how = said("{p} lb beside it, and dead load on {how}", p=put_in(float(point.value)), how=how)
        lines = [
            CalcLine("load on the cleat", pounds, "lb", how, source),
            value_line("Z' of one 10d nail", z),
            CalcLine("bought", count, "", "framing screws, each taken as a 10d nail", bought["source"]),
        ]
        v = verdict(OF_CLEATS, pounds, count * z.value, "lb", name, lines)
        if v.result == NOT_MET:
            bolt = lateral(ledger_dowels()[1], wood, thick, thick, duration, across=True)
            more = said(
                "{count} screws hold {holds} lb of {p}: drive {n}, or {bolts} bolts of {dia} through the stringer",
                dia=decimal(LAG, None),
                count=number(count),
                holds=number(v.capacity or 0.0, 0),
                p=number(pounds, 0),
                n=number(math.ceil(pounds / z.value - 1e-9)),
                bolts=number(max(2, math.ceil(pounds / bolt.value - 1e-9))),
            )
            v = replace(v, result=NOT_CHECKED, why=more)
        found.append(v)
    return [max(found, key=lambda v: v.ratio or 0.0)]
