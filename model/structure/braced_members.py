"""What knee braces do to the members they join, beside what these carry: a beam bent where braces pull it down or push
it up and hold it back by its underside, and a post bent under its load. Inches, pounds, allowable stress design.

A push along the beam pulls the brace that leans the same way from its post, and presses the one that leans against it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ...shared.design_values import factor
from ...shared.said import Said, decimal, number, put_in, said
from ...shared.standards import clause
from ..measuring.braces_seen import BraceSeen
from ..strength.beams import AnyLoad, PointLoad
from ..strength.loads import DesignLoads, Envelope
from ..strength.nds import Lumber, bending, compression, modulus, shear
from .load_path import Column
from .member_checks import repetitive
from .members import Length, Member, Plies
from .verdicts import CalcLine, Verdict, tried, unchecked, value_line, verdict, worst

BEAM_BENT, BEAM_SHEARED = "bending, wind on its braces", "shear, wind on its braces"
POST_BENT = "bending by the brace under its load"
OF_WIND = "wind or earthquake"
HALF_ARM = 0.5  # inches: half the arm of a couple that stands for a moment at one place
WITH_WIND_BY = clause("combinations with wind").citation


@dataclass(frozen=True)
class WithWind:
    """A combination with wind: factors on dead, live and snow load, and on the wind at allowable stress level."""

    name: str
    dead: float
    live: float
    snow: float
    wind: float


WITH_WIND = (
    WithWind("D + 0.6 W", 1.0, 0.0, 0.0, 1.0),
    WithWind("D + 0.75 L + 0.75 (0.6 W) + 0.75 S", 1.0, 0.75, 0.75, 0.75),
    WithWind("0.6 D + 0.6 W", 0.6, 0.0, 0.0, 1.0),
)


def along_beam(m: Member, brace: BraceSeen) -> tuple[float, float]:
    """(where the axis of a brace meets the beam's underside, from its start; 1 where it leans towards its end)."""
    post = m.position(brace.posts[0].plan_middle)
    leans = 1.0 if m.position(brace.part.plan_middle) > post else -1.0
    return post + leans * brace.leg, leans


@dataclass(frozen=True)
class OnBeam:
    """What braces bring to a beam that is pushed towards its end: pounds at places, down positive, and couples that
    turn it clockwise, pound inches."""

    points: list[tuple[float, float]]
    couples: list[tuple[float, float]]

    def loads(self, m: Member, way: float, turning: bool) -> list[AnyLoad]:
        """As point loads, pushed one `way` (1 or -1); a couple as two of them close together."""
        found = [*self.points]
        for x, turn in self.couples if turning else ():
            found += [(x + HALF_ARM, turn / (2 * HALF_ARM)), (x - HALF_ARM, -turn / (2 * HALF_ARM))]
        return [PointLoad(x, way * p) for x, p in found if 0 <= x <= m.length]


def brace_loads(m: Member, braces: list[tuple[BraceSeen, float]], each: float) -> OnBeam:
    """Of braces, each with the pounds it takes across: as many down or up where it meets the beam. It holds the beam
    back by its underside, and the post's upper end, for which `each` is the push, pushes there with the rest."""
    points, couples = [], []
    for brace, across in braces:
        x, leans = along_beam(m, brace)
        points.append((x, leans * across))
        couples += [(x, across * m.depth / 2), (x - leans * brace.leg, -(across - each) * m.depth / 2)]
    return OnBeam(points, couples)


def braced_beam(
    m: Member, braces: list[tuple[BraceSeen, float]], lines: list[CalcLine], wood: Lumber, loads: DesignLoads
) -> list[Verdict]:
    """Bending and shear of a beam under what it carries and its braces, pushed either way; the last of `lines` has the
    push at one post."""
    if m.trouble:
        return []
    if m.snowed:
        return [unchecked(BEAM_BENT, "snow from the roof above and wind at once are not calculated")]
    on = brace_loads(m, braces, lines[-1].value)
    # either way or not at all, as snow from a roof drifts or slides
    bent, plain = (replace(m, drift=on.loads(m, 1.0, turns), slide=on.loads(m, -1.0, turns)) for turns in (True, False))
    free = max([*m.overhangs, *(0.25 * (b - a) for a, b in m.spans)], default=0.0)

    def make() -> list[Verdict]:
        found = []
        for c, plies, l, e in _envelopes(bent, loads):
            share = plies.share * c.dead
            s = m.breadth * plies.share * m.depth**2 / 6
            for moment, at, lu in ((e.sag, e.sag_at, 0.0), (e.hog, e.hog_at, free)):
                fb = bending(wood, m.first.stock, OF_WIND, repetitive(m), m.breadth, m.depth, lu)
                made = said("M / S = 12 x {m} ft lb / {s} in3", m=put_in(moment * share / 12), s=put_in(s))
                more = [
                    CalcLine("moment M", moment * share / 12, "ft lb", _at(l, at, c), WITH_WIND_BY),
                    CalcLine("bending stress fb", moment * share / s, "psi", made, clause("bending stress").source),
                    value_line("Fb'", fb),
                ]
                found.append(verdict(BEAM_BENT, moment * share / s, fb.value, "psi", c.name, [*lines, *more]))
        return worst(found)

    return tried(BEAM_BENT, make) + tried(BEAM_SHEARED, lambda: _sheared(m, plain, on, lines, wood, loads))


def _sheared(
    m: Member, plain: Member, on: OnBeam, lines: list[CalcLine], wood: Lumber, loads: DesignLoads
) -> list[Verdict]:
    """What couples shear a beam by is taken as all of them over its shortest span."""
    found, turned = [], sum(abs(turn) for _, turn in on.couples) / min(b - a for a, b in m.spans)
    for c, plies, l, e in _envelopes(plain, loads):
        fv, area = shear(wood, m.first.stock, OF_WIND), m.breadth * plies.share * m.depth
        v = (e.shear * c.dead + c.wind * turned) * plies.share
        made = said("3 V / (2 A) = 3 x {v} lb / (2 x {a} in2)", v=put_in(v), a=put_in(area))
        more = [
            CalcLine("shear V", v, "lb", _at(l, e.shear_at, c), WITH_WIND_BY),
            CalcLine("shear stress fv", 1.5 * v / area, "psi", made, clause("shear stress").source),
            value_line("Fv'", fv),
        ]
        found.append(verdict(BEAM_SHEARED, 1.5 * v / area, fv.value, "psi", c.name, [*lines, *more]))
    return worst(found)


def _envelopes(m: Member, loads: DesignLoads) -> Iterator[tuple[WithWind, Plies, Length, Envelope]]:
    """Every length under every combination with wind, over its factor on dead load: all pounds keep in step with it."""
    for c in WITH_WIND:
        moving = c.live * loads.live_psf + c.snow * loads.ground_snow_psf
        for plies, l in m.lengths:
            yield c, plies, l, l.patterns.envelope(loads.dead_psf, moving / c.dead, c.wind / c.dead)


def _at(l: Length, at: float, c: WithWind) -> Said:
    return said("at {at} from its start; {name}", at=decimal(l.start + at, 1), name=c.name)


def braced_post(
    brace: BraceSeen, moment: float, up: float, height: float, c: Column, wood: Lumber, loads: DesignLoads
) -> list[Verdict]:
    """(fc/Fc')^2 + fb / (Fb' (1 - fc/FcE)) of a post bent by `moment` where its brace meets it, `up` pounds of wind
    beside what it carries; at most 1."""
    size, d = brace.posts[0].stock, min(brace.posts[0].stock.thickness, brace.posts[0].stock.width)
    area, ratio = size.thickness * size.width, height / d

    def make() -> list[Verdict]:
        fc_, fb_ = compression(wood, size, OF_WIND, ratio), bending(wood, size, OF_WIND, False, d, d, height)
        euler = factor("KcE", "column", "").value * modulus(wood, size, "Emin").value / ratio**2
        found = []
        for k in WITH_WIND:
            moving = k.live * loads.live_psf + k.snow * loads.ground_snow_psf
            p = k.dead * (loads.dead_psf * c.load.steady + c.load.own) + moving * c.load.most + k.wind * up
            fc, fb = p / area, k.wind * moment / (area * d / 6)
            total = (fc / fc_.value) ** 2 + fb / (fb_.value * (1 - fc / euler)) if fc < euler else float("inf")
            how = said(
                "(fc/Fc')^2 + fb / (Fb' (1 - fc/FcE)), fc {fc} psi, fb {fb} psi, FcE {e} psi",
                fc=number(fc, 1),
                fb=number(fb, 1),
                e=number(euler, 0, grouped=True),
            )
            load = said("{up} lb of it by the brace; {name}", up=number(k.wind * up, 0, grouped=True), name=k.name)
            lines = [
                CalcLine("axial load P", p, "lb", load, WITH_WIND_BY),
                value_line("Fc'", fc_),
                value_line("Fb'", fb_),
                CalcLine("compression and bending", total, "", how, clause("column bent and pressed").source),
            ]
            found.append(verdict(POST_BENT, total, 1.0, "", k.name, lines))
        return worst(found)

    return tried(POST_BENT, make)
