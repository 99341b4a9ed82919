"""The calculated route for stringers: demand against capacity of each, line by line.

A stringer is a beam on its horizontal length, from end to end and over the cross pieces under it, loaded by its strip
of treads: moments of a sloping beam under plumb loads are those of its plan. A cut one has the section of its throat
from end to end. A hip stringer, on the mitre of steps that go on round a corner, is each of its plies by itself: the
triangle of its own flight's treads on its own run, with the jack stringers that begin at it. Inches, pounds.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from ...shared.cited import Missing
from ...shared.said import Words, decimal, number, put_in, said
from ...shared.standards import assumed, clause, limit_or_missing
from ..measuring.contacts import Contact
from ..measuring.saw import sizes_of
from ..measuring.throat import throat
from ..solid.part import Part
from ..strength.beams import AnyLoad, Beam, PointLoad
from ..strength.loads import Combination, DesignLoads, Patterns, those_that_count
from ..strength.nds import Lumber, bending, modulus, shear
from ..strength.spans import SPAN_RATIO
from .member_checks import NO_MOMENT, spread
from .members import patterns_of
from .stair_loads import StringerLoad, stringers_loaded
from .verdicts import NOT_CHECKED, NOT_MET, CalcLine, Verdict, tried, unchecked, value_line, verdict, worst

CHECK_POINT = "bending, load on one tread"
SHEAR_POINT, SAG_POINT = "shear, load on one tread", "deflection, load on one tread"
ON_ONE_TREAD = "D + one load"
STATIONS = 12  # places of the single load looked at in each span: its moment is flat where it is greatest
LEAST_STRIP = 4.0  # inches between stringers on centre, as the file takes


@dataclass(frozen=True, eq=False)
class Stringer:
    """A stringer as it is calculated: `part`, its horizontal `length` with supports at `places` from its head, unit
    `loads` (square feet an inch, or square feet at its ends), its section `breadth` by `depth` (the throat of a cut
    one) square to its edge, and the cosine of its pitch."""

    part: Part
    length: float
    places: tuple[float, ...]
    loads: tuple[AnyLoad, ...]
    breadth: float
    depth: float
    cut: bool
    cosine: float

    @classmethod
    def of(cls, s: StringerLoad) -> Stringer:
        """Read off its solid and its share of the treads."""
        t = throat(s.part)
        axis = np.asarray(s.part.place.x)
        return cls(
            s.part,
            s.length,
            s.places,
            s.loads,
            s.part.stock.thickness,
            t.width if t else sizes_of(s.part).width,
            t is not None,
            float(np.hypot(*axis[:2])),
        )

    @property
    def spans(self) -> list[float]:
        return [b - a for a, b in itertools.pairwise(self.places)]

    @property
    def modulus(self) -> float:
        """Section modulus, cubic inches."""
        return self.breadth * self.depth**2 / 6

    @property
    def patterns(self) -> Patterns:
        return patterns_of(self.length, self.places, self.loads, self.loads, (), ())


def stringers(parts: Sequence[Part], touching: Sequence[Contact]) -> list[Stringer]:
    """Every stringer that treads rest on, in the order of the parts."""
    order = {p.id: n for n, p in enumerate(parts)}
    return [Stringer.of(s) for s in sorted(stringers_loaded(parts, touching), key=lambda s: order[s.part.id])]


def facts(s: Stringer) -> list[CalcLine]:
    """What was measured of a stringer, in the order a page prints it."""
    found = [
        CalcLine("length", s.length, "in", "horizontal, from end to end"),
        *(CalcLine("span", b, "in", "horizontal, between its ends and the cross pieces under it") for b in s.spans),
        CalcLine("strip", 144 * _area(s) / s.length, "in", "of the treads it takes, mean over its length"),
        CalcLine("tributary area", _area(s), "sq ft", "treads nearest to it"),
        CalcLine("breadth", s.breadth, "in", "measured"),
    ]
    how = "throat: the least wood behind its notches, square to the lower edge" if s.cut else "square to its edge"
    return [*found, CalcLine("depth", s.depth, "in", how)]


def _area(s: Stringer) -> float:
    return math.fsum(l.total for l in s.loads)


def check_stringer(s: Stringer, wood: Lumber, loads: DesignLoads, edition: str) -> list[Verdict]:
    """Bending, shear and deflection under its treads' load, and under the single load of one tread, taken alone by one
    stringer."""
    found = tried("bending", lambda: _bending(s, wood, loads))
    found += tried("shear", lambda: _shear(s, wood, loads))
    found += tried("deflection", lambda: _deflection(s, wood, loads))
    return found + tried(CHECK_POINT, lambda: _single(s, wood, loads, edition))


def _stress(s: Stringer, check: str, moment: float, at: float, how, fb, c: Combination, source) -> Verdict:
    """A moment in pound inches, `how` it comes about, against Fb'."""
    by = said("b d² / 6 = {b} x ({d})² / 6", b=decimal(s.breadth, figures=4), d=decimal(s.depth, figures=4))
    stress = moment / s.modulus
    times = said("M / S = 12 x {m} ft lb / {s} in3", m=put_in(moment / 12), s=put_in(s.modulus))
    place = said("at {at} from its head; {how}", at=decimal(at, 1), how=how)
    lines = [
        CalcLine("moment M", moment / 12, "ft lb", place, source),
        CalcLine("section modulus S", s.modulus, "in3", by, "measured"),
        CalcLine("bending stress fb", stress, "psi", times, clause("bending stress").source),
        value_line("Fb'", fb),
    ]
    return verdict(check, stress, fb.value, "psi", c.name, lines)


def _bending(s: Stringer, wood: Lumber, loads: DesignLoads) -> list[Verdict]:
    size, free = s.part.stock, 0.25 * max(s.spans, default=0.0)  # hogging: as of other members, a quarter of a span
    sag, hog = [], []
    for c in those_that_count(loads):
        e = s.patterns.envelope(*c.psf(loads))
        how = spread(c, loads)
        if e.sag > NO_MOMENT:
            fb = bending(wood, size, c.duration, False)
            sag.append(_stress(s, "bending, sagging", e.sag, e.sag_at, how, fb, c, c.source))
        if e.hog > NO_MOMENT:
            fb = bending(wood, size, c.duration, False, s.breadth, s.depth, free)
            hog.append(_stress(s, "bending, hogging", e.hog, e.hog_at, how, fb, c, c.source))
    return [_mended(v, s) for v in worst(sag) + worst(hog)]


def _mended(v: Verdict, s: Stringer) -> Verdict:
    """With what would do, where a stringer is bent too much: its strip, and so its moment, goes with the spacing."""
    if v.result != NOT_MET or v.ratio is None:
        return v
    if s.part.role == "hip stringer":  # its triangle of treads is the same, whatever lies beside it
        why: Words = "a hip stringer is no wider than what is sold: steps that end square would do (stair.wrap = false)"
        return replace(v, why=why)
    most = math.floor(10 * 144 * _area(s) / s.length / v.ratio) / 10
    if most < LEAST_STRIP:
        return replace(v, why="cross pieces under them or a landing would do (stair.carriers, stair.landings)")
    nearer = decimal(most, 1)
    why = said("stringers at most {most} on centre would do (stair.stringer_spacing)", most=nearer)
    if len(s.spans) == 1 and v.ratio < 4:  # half the span: a quarter of the moment
        why = said("{why}, or a cross piece under their middle (stair.carriers)", why=why)
    return replace(v, why=why)


def _shear(s: Stringer, wood: Lumber, loads: DesignLoads) -> list[Verdict]:
    found = []
    for c in those_that_count(loads):
        e = s.patterns.envelope(*c.psf(loads))
        found.append(_sheared(s, "shear", e.shear, e.shear_at, spread(c, loads), wood, c, c.source))
    return worst(found)


def _sheared(
    s: Stringer, check: str, plumb: float, at: float, how: Words, wood: Lumber, c: Combination, source: Words
) -> Verdict:
    """A plumb shear, `how` it comes about, against Fv'."""
    fv, area, v = shear(wood, s.part.stock, c.duration), s.breadth * s.depth, plumb * s.cosine
    place = said(
        "R x cos = {plumb} lb x {cos}, plumb and of the pitch; at {at}, not reduced near supports; {how}",
        plumb=put_in(plumb),
        cos=number(s.cosine, figures=4),
        at=decimal(at, 1),
        how=how,
    )
    stress = said(
        "3 V / (2 b d) = 3 x {v} lb / (2 x {b} x {d})",
        v=put_in(v),
        b=decimal(s.breadth, figures=4),
        d=decimal(s.depth, figures=4),
    )
    lines = [
        CalcLine("shear V", v, "lb", place, source),
        CalcLine("shear stress fv", 1.5 * v / area, "psi", stress, clause("shear stress").source),
        value_line("Fv'", fv),
    ]
    return verdict(check, 1.5 * v / area, fv.value, "psi", c.name, lines)


def _deflection(s: Stringer, wood: Lumber, loads: DesignLoads) -> list[Verdict]:
    moving, what = max((loads.live_psf, "live load"), (loads.ground_snow_psf, "snow load"))
    how = said("{what} {psf} psf on the worst pattern", what=what, psf=number(moving))
    bent = [(max(down, up), hi - lo) for lo, hi, down, up in s.patterns.deflections(moving)]
    return worst([replace(_sagging(s, "deflection, span", *b, how, wood), combination=what) for b in bent])


def _sagging(
    s: Stringer, check: str, plumb: float, span: float, how: Words, wood: Lumber, source: Words = ""
) -> Verdict:
    """Square to its slope: on the sloping length L / cos, under the part of the load square to it, that is the
    deflection of the plan's beam (`plumb`, times E I) over the square of the cosine."""
    e, inertia, long = modulus(wood, s.part.stock), s.breadth * s.depth**3 / 12, span / s.cosine
    d = plumb / (e.value * inertia) / s.cosine**2
    by = said("b d³ / 12 = {b} x ({d})³ / 12", b=decimal(s.breadth, figures=4), d=decimal(s.depth, figures=4))
    most = decimal(long, figures=5)
    ratio = said("L / {ratio} = {long} / {ratio}, along the slope", ratio=number(SPAN_RATIO), long=most)
    lines = [
        value_line("E'", e),
        CalcLine("moment of inertia I", inertia, "in4", by, "measured"),
        CalcLine("deflection", d, "in", said("{how}, square to the slope", how=how), source),
        CalcLine("allowed", long / SPAN_RATIO, "in", ratio, assumed("deflection_ratio_span").citation),
    ]
    return verdict(check, d, long / SPAN_RATIO, "in", "", lines)


def _single(s: Stringer, wood: Lumber, loads: DesignLoads, edition: str) -> list[Verdict]:
    """Beyond the table, which asks for that load on a tread: one stringer takes it all. Where it does not hold that
    alone nothing is said of the stair, as treads share it with the stringers beside."""
    row = limit_or_missing("stair_tread_concentrated_load", edition)
    if isinstance(row, Missing):
        return [unchecked(CHECK_POINT, row.why)]
    c = with_people(loads)
    pounds, dead = float(row.value), dead_load(loads)
    most = _under_point(s.length, s.places, s.loads, dead, pounds)
    how = said("{p} lb there and {dead} psf everywhere", p=number(pounds), dead=number(loads.dead_psf, figures=4))
    fb = bending(wood, s.part.stock, c.duration, False)
    found = [
        _stress(s, CHECK_POINT, *most.moment, how, fb, c, row.citation),
        _sheared(s, SHEAR_POINT, *most.shear, how, wood, c, row.citation),
        _sagging(s, SAG_POINT, *most.sag, said("{p} lb at its middle", p=number(pounds)), wood, row.citation),
    ]
    return [_alone(v) for v in found]


def _alone(v: Verdict) -> Verdict:
    beyond = "more than the table asks, which puts this load on a tread: here one stringer takes it alone"
    if v.result == NOT_MET:
        beyond += " and does not hold it; treads share it with the stringers beside, which is not calculated"
    result = NOT_CHECKED if v.result == NOT_MET else v.result
    return replace(v, combination=ON_ONE_TREAD, result=result, why=beyond)


def with_people(loads: DesignLoads) -> Combination:
    return next(c for c in those_that_count(loads) if not c.snow and (c.live or not loads.live_psf))


def dead_load(loads: DesignLoads) -> float:
    """The dead psf that stand beside the load on one tread."""
    return with_people(loads).dead * loads.dead_psf


def single_places(places: Sequence[float]) -> list[float]:
    """Where the load of one tread is looked at, in each span."""
    return [a + (b - a) * float(t) for a, b in itertools.pairwise(places) for t in np.arange(1, STATIONS) / STATIONS]


@dataclass(frozen=True)
class _UnderPoint:
    """The worst that the load of one tread does: (sagging moment, where), (shear, where), (deflection times E I at the
    middle of a span under the load there, that span)."""

    moment: tuple[float, float]
    shear: tuple[float, float]
    sag: tuple[float, float]


@lru_cache(maxsize=1024)
def _under_point(
    length: float, places: tuple[float, ...], loads: tuple[AnyLoad, ...], dead: float, pounds: float
) -> _UnderPoint:
    """With `dead` psf everywhere and the load in the worst place; beside a support it is sheared most. Deflection is of
    the load alone."""
    beam = Beam(length, places)
    steady = [l.scaled(dead) for l in loads]
    moment = shear = (0.0, 0.0)
    spans = [*itertools.pairwise(places)]
    for at in single_places(places):
        moment = max(moment, (float(beam.solve([*steady, PointLoad(at, pounds)]).at([at])[1][0]), at))
    for at, side in ((x, side) for a, b in spans for x, side in ((a, 1e-3), (b, -1e-3))):
        solved = beam.solve([*steady, PointLoad(at + side, pounds)])
        shear = max(shear, (abs(float(solved.at([at + side / 2])[0][0])), at))
    bent = ((float(beam.solve([PointLoad((a + b) / 2, pounds)]).at([(a + b) / 2])[2][0]), b - a) for a, b in spans)
    sag = max(bent, key=lambda d: d[0] / d[1])
    return _UnderPoint(moment, shear, sag)
