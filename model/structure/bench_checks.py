"""The calculated route for built-in benches: the cross piece of a frame as a beam over its two legs under what sits on
the seat (the deck's uniform loads), its bearing on them, the legs as columns, and their feet on the boards. Inches,
pounds.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field

from ...shared.errors import InputError
from ...shared.said import decimal, number, put_in, said
from ...shared.standards import clause
from ..measuring.contacts import Contact
from ..measuring.member_seen import axis, extent
from ..measuring.saw import sizes_of
from ..solid.part import Part
from ..solid.roles import named
from ..strength.beams import Beam, Load
from ..strength.loads import Combination, DesignLoads, Patterns, those_that_count
from ..strength.nds import Lumber, NoValue, bearing, bending, compression, shear
from .guard_checks import CheckedPieces
from .members import SQFT
from .verdicts import NOT_CHECKED, CalcLine, Verdict, tried, value_line, verdict, worst

BENCH_FRAME, _SEAT = "bench frame", "bench seat"
_WALKED = named("walked")
ON_BOARDS = "leg on the boards"
_WHOLE = 100.0  # inches: so long a bearing has no factor of its length


@dataclass
class _Trestle:
    """A cross piece with the legs under it: what each contact with them measures, and the seat that comes to it
    (from, to along it, square feet)."""

    across: Part
    legs: list[Contact] = field(default_factory=list)
    seat: list[tuple[float, float, float]] = field(default_factory=list)

    @property
    def patterns(self) -> Patterns:
        u = axis(self.across)
        start, end = extent(self.across, u)
        places = sorted(float(k.point[0] * u[0] + k.point[1] * u[1]) - start for k in self.legs)
        lies = [Load(a - start, b - start, sqft / (b - a)) for a, b, sqft in self.seat]
        return Patterns(Beam(end - start, places), lies)


def bench_pieces(
    parts: Sequence[Part], touching: Sequence[Contact], wood: Lumber, loads: DesignLoads
) -> list[CheckedPieces]:
    """The frames of every bench with their checks, those alike once; a frame on fewer than two legs is left to the
    checks of solids."""
    down: dict[str, list[Contact]] = defaultdict(list)
    for k in touching:
        if k.kind == "bearing" and k.a.role in (BENCH_FRAME, _SEAT):
            down[k.a.id].append(k)
    trestles = {
        p.id: _Trestle(p, [k for k in down[p.id] if k.b.role == BENCH_FRAME])
        for p in parts
        if p.role == BENCH_FRAME and any(k.b.role == BENCH_FRAME for k in down[p.id])
    }
    for p in parts:
        if p.role == _SEAT:
            _shared(p, down[p.id], trestles)
    found: dict[Hashable, CheckedPieces] = {}
    for t in trestles.values():
        if len(t.legs) < 2 or not t.seat:
            continue
        key = t.across.mark or t.across.id, t.across.where, round(math.fsum(s for *_, s in t.seat), 3)
        if key in found:
            found[key].parts.append(t.across)
        else:
            found[key] = _checked(t, down, wood, loads)
    return list(found.values())


def _shared(seat: Part, on: Sequence[Contact], trestles: dict[str, _Trestle]) -> None:
    """Each cross piece takes of a seat board what is nearer to it than to the next."""
    u = axis(seat)
    stops = sorted((float(k.point[0] * u[0] + k.point[1] * u[1]), k.b.id) for k in on if k.b.id in trestles)
    low, high = extent(seat, u)
    cuts = [low, *((a + b) / 2 for (a, _), (b, _) in itertools.pairwise(stops)), high]
    for (_, by), a, b in zip(stops, cuts, cuts[1:]):
        t = trestles[by]
        c, d = extent(seat, axis(t.across))
        t.seat.append((c, d, (b - a) * (d - c) / SQFT))


def _checked(t: _Trestle, down: dict[str, list[Contact]], wood: Lumber, loads: DesignLoads) -> CheckedPieces:
    p, s = t.across, sizes_of(t.across)
    deep = float(p.box[1, 2] - p.box[0, 2])
    broad = s.thickness if abs(deep - s.width) < 1e-6 else s.width
    patterns, area = t.patterns, math.fsum(sqft for *_, sqft in t.seat)
    span = max(b - a for a, b in itertools.pairwise([x.x for x in patterns.beam.supports]))
    facts = (
        CalcLine("seat on it", area, "sq ft", "nearer to it than to the next frame"),
        CalcLine("between its legs", span, "in", "centre to centre"),
    )
    found: list[Verdict] = []
    cases = [(c, patterns.envelope(*c.psf(loads))) for c in those_that_count(loads)]
    most, k = max(((float(e.most.max()), c) for c, e in cases), key=lambda x: x[0])

    def bent() -> list[Verdict]:
        rows = []
        for c, e in cases:
            moment, fb = max(e.sag, e.hog), bending(wood, p.stock, c.duration, False)
            section = broad * deep**2 / 6
            how = said("M / S = 12 x {m} ft lb / {s} in3", m=put_in(moment / 12), s=put_in(section))
            lines = [_moment(moment, c, loads), CalcLine("bending stress fb", moment / section, "psi", how)]
            rows.append(verdict("bending", moment / section, fb.value, "psi", c.name, [*lines, value_line("Fb'", fb)]))
        return worst(rows)

    def sheared() -> list[Verdict]:
        rows = []
        for c, e in cases:
            fv, stress = shear(wood, p.stock, c.duration), 1.5 * e.shear / (broad * deep)
            how = said("3 V / (2 A) = 3 x {v} lb / (2 x {a} in2)", v=put_in(e.shear), a=put_in(broad * deep))
            line = CalcLine("shear stress fv", stress, "psi", how, clause("shear stress").source)
            rows.append(verdict("shear", stress, fv.value, "psi", c.name, [line, value_line("Fv'", fv)]))
        return worst(rows)

    found += tried("bending", bent) + tried("shear", sheared)
    found += tried("bearing on leg", lambda: [_on_leg(t, most, k, wood)])
    leg = t.legs[0].b
    found += tried("compression of the leg", lambda: [_leg(leg, most, k, wood)])
    feet = [x for x in down[leg.id] if x.b.role in _WALKED]
    return CheckedPieces([p], facts, found + ([_foot(feet, most, k, wood)] if feet else []))


def _moment(moment: float, c: Combination, loads: DesignLoads) -> CalcLine:
    return CalcLine(
        "moment M", moment / 12, "ft lb", said("{p} psf on the seat", p=number(sum(c.psf(loads)))), c.source
    )


def _on_leg(t: _Trestle, most: float, c: Combination, wood: Lumber) -> Verdict:
    area, value = min(k.area for k in t.legs), bearing(wood, t.across.stock, _WHOLE, 0.0)
    how = said("R / A = {r} lb / {a} in2", r=put_in(most), a=put_in(area))
    lines = [CalcLine("bearing stress", most / area, "psi", how), value_line("Fc_perp'", value)]
    return verdict("bearing on leg", most / area, value.value, "psi", c.name, lines)


def _leg(leg: Part, most: float, c: Combination, wood: Lumber) -> Verdict:
    long, least = float(leg.box[1, 2] - leg.box[0, 2]), min(leg.stock.thickness, leg.stock.width)
    area = leg.footprint.area
    fc = compression(wood, leg.stock, c.duration, long / least)
    how = said("P / A = {p} lb / {a} in2, {long} high", p=put_in(most), a=put_in(area), long=decimal(long))
    lines = [CalcLine("compression stress fc", most / area, "psi", how), value_line("Fc'", fc)]
    return verdict("compression of the leg", most / area, fc.value, "psi", c.name, lines)


def _foot(feet: Sequence[Contact], most: float, c: Combination, wood: Lumber) -> Verdict:
    """The foot of a leg on boards, across their grain; boards without a design value get the demand."""
    area, board = math.fsum(k.area for k in feet), feet[0].b.stock
    how = said("R / A = {r} lb / {a} in2", r=put_in(most), a=put_in(area))
    lines = [CalcLine("bearing stress", most / area, "psi", how)]
    try:
        value = bearing(wood, board.name, _WHOLE, 0.0)
    except (InputError, NoValue):
        asked = "{lb} lb on each leg, {psi} psi on boards without a published strength: ask their maker, or put each"
        why = said(f"{asked} leg over a joist", lb=number(most, 0), psi=number(most / area, 0))
        return Verdict(ON_BOARDS, most, None, "lb", c.name, NOT_CHECKED, tuple(lines), why)
    return verdict(ON_BOARDS, most / area, value.value, "psi", c.name, [*lines, value_line("Fc_perp'", value)])
