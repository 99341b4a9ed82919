"""What is told of a member before it is checked: its lengths, and loads and reactions in pounds, under the heaviest
combination. Inches, pounds, pounds a foot."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from ...shared.said import Words, decimal, number, put_in, said, surface, together
from ..plan.roof_snow import FROM_ROOF
from ..strength.beams import AnyLoad, Load, PointLoad
from ..strength.loads import Combination, DesignLoads, those_that_count
from .load_path import Column
from .members import SQFT, Brought, Member
from .prescribed import clear_span, overhang
from .verdicts import CalcLine, moving_load

_SAME = 1e-6  # inches, and pounds or square feet an inch: loads this near are one
_LEAST = 0.5  # pounds: what comes to a member at one place and is less is left out of what is told


def heaviest(loads: DesignLoads) -> Combination:
    """The combination that brings most pounds to a square foot."""
    return max(those_that_count(loads), key=lambda c: sum(c.psf(loads)))


def member_facts(m: Member, loads: DesignLoads) -> list[CalcLine]:
    """What was measured of a member, and what stands on it, in the order a page prints it."""
    facts = [CalcLine("length", m.length, "in", "measured")]
    if m.trouble:
        return facts
    facts += [
        CalcLine(f"support {n}", x.x, "in", f"from its start, on {x.role} {', '.join(x.on)}")
        for n, x in enumerate(sorted(m.supports, key=lambda x: x.x), 1)
    ]
    facts += [CalcLine("span", b - a, "in", "centre to centre of supports") for a, b in m.spans]
    facts += [CalcLine("clear span", clear_span(m), "in", "longest, face to face of bearings")]
    if overhang(m)[0] > 0:
        facts.append(CalcLine("overhang", overhang(m)[0], "in", "past the bearing's outer face, rim included"))
    if m.lengthwise:
        facts += [
            CalcLine("strip", m.strip, "in", "of the surface it takes, mean over a span"),
            CalcLine("tributary area", m.area, "sq ft", "surface nearest to it"),
        ]
    plies = "1 ply" if m.plies == 1 else f"{m.plies} plies"
    facts.append(CalcLine("breadth", m.breadth, "in", plies))
    facts.append(CalcLine("depth", m.depth, "in", "measured"))
    c = heaviest(loads)
    facts += [_line(r, c, loads) for r in runs(m.steady)]
    facts += [_standing(r) for r in runs(m.own)]
    facts += [p.line(c) for p in points(m, c, loads)]
    facts += [
        CalcLine(f"snow that {how}", math.fsum(load.total for load in lies), "lb", f"{FROM_ROOF}, whole")
        for how, lies in (("drifts there", m.drift), ("slides there", m.slide))
        if lies
    ]
    return facts + [
        reaction_line(f"reaction on {s.role} {', '.join(s.on)}", m.reactions.on(k), loads)
        for k, s in enumerate(m.supports)
    ]


def reaction_line(label: str, load: Brought, loads: DesignLoads) -> CalcLine:
    """Pounds that press a support most, and that lift it where something does."""
    c = max(those_that_count(loads), key=lambda k: load.pressing(k, loads))
    dead, moving = c.psf(loads)
    always = dead * load.steady + load.own
    least = min(load.lifted(k, loads) for k in those_that_count(loads))
    lifts = said("; least {lb} lb", lb=put_in(least)) if least < -1.0 else ""
    told = said(f"{_both(c)} = {{dead}} lb + {{more}} lb", dead=put_in(always), more=put_in(moving * load.most))
    if snow := c.snow * load.snow:
        roof = f"{_both(c)} + snow from the roof = {{dead}} lb + {{more}} lb + {{snow}} lb"
        told = said(roof, dead=put_in(always), more=put_in(moving * load.most), snow=put_in(snow))
    return CalcLine(label, load.pressing(c, loads), "lb", together(told, lifts, between=""), c.source)


def tributary(c: Column) -> CalcLine:
    """The square feet that come to a column, and its own pounds."""
    worst = c.load.most - c.load.steady
    told = together(
        "of surface",
        said("{area} where the load that moves stands worst", area=surface(c.load.most)) if worst > 0.005 else "",
        said("{own} lb of guards and what else stands on it", own=number(c.load.own, 0)) if c.load.own else "",
        said("{snow} lb of snow from the roof", snow=number(c.load.snow, 0)) if c.load.snow else "",
        between="; ",
    )
    return CalcLine("tributary area", c.load.steady, "sq ft", told)


def _both(c: Combination) -> str:
    return f"dead + {moving_load(c)}"


def runs(loads: Sequence[AnyLoad]) -> list[Load]:
    """The spread loads, those that go on alike as one."""
    found: list[Load] = []
    for load in sorted((l for l in loads if isinstance(l, Load) and abs(l.total) > _SAME), key=lambda l: l.start):
        last = found[-1] if found else None
        even = last is not None and max(abs(x - last.w0) for x in (last.last, load.w0, load.last)) < _SAME / 10
        if last is not None and even and abs(last.end - load.start) < _SAME:
            found[-1] = Load(last.start, load.end, last.w0, last.w0)
        else:
            found.append(load)
    return found


def _line(r: Load, c: Combination, loads: DesignLoads) -> CalcLine:
    """A strip of the surface under the psf of a combination."""
    dead, moving = c.psf(loads)
    psf = said("({dead} psf + {moving} psf)", dead=number(dead, figures=4), moving=number(moving, figures=4))
    what = said(
        f"strip x ({_both(c)}) / 12 = {{strip}} x {{psf}} / 12",
        strip=decimal(r.w0 * SQFT, figures=4),
        psf=psf,
    )
    end = said("{load} plf at its end", load=put_in(r.last * 12 * (dead + moving))) if _slopes(r) else ""
    return CalcLine("line load", r.w0 * 12 * (dead + moving), "plf", together(what, _along(r), end))


def _slopes(r: Load) -> bool:
    return abs(r.last - r.w0) >= 1e-9


def _along(r: Load) -> Words:
    return said("from {start} to {end}", start=decimal(r.start, bare=True), end=decimal(r.end))


def _standing(r: Load) -> CalcLine:
    end = said("{load} plf at its end", load=put_in(r.last * 12)) if _slopes(r) else ""
    return CalcLine("line load of its own", r.w0 * 12, "plf", together("what stands on it", _along(r), end))


@dataclass(frozen=True)
class AtPlace:
    """Pounds that come to a member in one place: those that are always there, those that move, and of these the ones
    that lift it instead where they stand elsewhere."""

    x: float
    always: float
    moving: float
    lifting: float

    @property
    def total(self) -> float:
        return self.always + self.moving

    def line(self, c: Combination) -> CalcLine:
        lifts = said("; or {lb} lb of it lifting", lb=put_in(self.lifting)) if self.lifting < -_LEAST else ""
        told = said(
            f"{_both(c)} = {{dead}} lb + {{more}} lb; at {{x}}",
            dead=put_in(self.always),
            more=put_in(self.moving),
            x=decimal(self.x),
        )
        return CalcLine("point load", self.total, "lb", together(told, lifts, between=""))


def snow_on(m: Member) -> list[AnyLoad]:
    """Of the snow from a roof above what weighs more: that which drifts, or that which slides; whole."""
    return max((m.drift, m.slide), key=lambda lies: math.fsum(load.total for load in lies))


def points(m: Member, c: Combination, loads: DesignLoads) -> list[AtPlace]:
    """What comes to a member at points under a combination, from its start on."""
    dead, psf = c.psf(loads)
    found = [
        (x, dead * steady + own, psf * moving, psf * lifting)
        for x, (steady, moving, lifting, own) in _by_place(m.steady, m.moving, m.lifting, m.own)
    ]
    return [AtPlace(*f) for f in found if max(abs(f[1] + f[2]), -f[3]) > _LEAST]


def _by_place(*kinds: Sequence[AnyLoad]) -> list[tuple[float, list[float]]]:
    """(place, the sum of each kind's point loads there)."""
    every = sorted((p.x, n, p.p) for n, kind in enumerate(kinds) for p in kind if isinstance(p, PointLoad))
    found = []
    for x, group in itertools.groupby(every, key=lambda e: round(e[0], 3)):
        listed = list(group)
        found.append((x, [math.fsum(p for _, k, p in listed if k == n) for n in range(len(kinds))]))
    return found
