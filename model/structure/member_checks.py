"""The calculated route for members in bending: demand against capacity, line by line.

Simple and overhanging spans by statics, spliced and continuous ones by `model/strength/beams`; adjusted values by
`model/strength/nds`; combinations and patterns by `model/strength/loads`. Each verdict keeps the lines an engineer
follows: value, formula, inputs.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from ...shared.cited import Missing, Row
from ...shared.said import Said, Words, decimal, number, put_in, said
from ...shared.standards import assumed, clause, limit_or_missing
from ...shared.stock import Stock, lumber
from ..measuring.member_seen import SupportAt
from ..strength.beams import Beam, PointLoad
from ..strength.dowels import lateral, nail, nail_length
from ..strength.loads import Combination, DesignLoads, those_that_count
from ..strength.nds import Adjusted, Lumber, bearing, bending, modulus, shear
from ..strength.spans import OVERHANG_RATIO, POINT_LOAD, SHARING, SPAN_RATIO
from .members import Brought, Length, Member, Plies, Reactions
from .verdicts import NOT_CHECKED, NOT_MET, CalcLine, Verdict, areas, tried, unchecked, value_line, verdict, worst

# members this near share load, where there are so many; joists further apart are taken alone
RIM = lumber("2x8").thickness  # inches: what a nail goes through, whatever the depth of the rim
HELD_SPACING = assumed("repetitive_member_spacing_max").value
NO_MOMENT = 1e-6  # pound inches: rounding


def repetitive(m: Member) -> bool:
    """Whether the repetitive member factor may be taken: three or more joists at most 24 in apart, or three plies."""
    return m.plies >= SHARING or (m.lengthwise and m.together >= SHARING and 0 < m.strip <= HELD_SPACING)


def check_member(m: Member, wood: Lumber, loads: DesignLoads, edition: str, standing: bool = False) -> list[Verdict]:
    """Bending both ways, shear, bearing at each support, deflection of spans and overhangs, uplift. `standing`: what is
    always there bends it beside the live load, as it came later than the member."""
    if m.trouble:
        return [Verdict("load path", None, None, "", "", NOT_MET if m.falls else NOT_CHECKED, (), m.trouble)]
    size = m.first.stock
    found: list[Verdict] = []
    found += tried("bending", lambda: _bending(m, wood, size, loads))
    found += tried("shear", lambda: _shear(m, wood, size, loads))
    found += tried("bearing", lambda: _bearing(m, wood, size, loads, edition))
    found += tried("deflection", lambda: _deflection(m, wood, size, loads, standing))
    return found + _uplift(m, loads)


def _bending(m: Member, wood: Lumber, size: Stock, loads: DesignLoads) -> list[Verdict]:
    # the underside is held at supports alone: where it is in compression it is free over the overhang, or over the part
    # of a span next to an inner support that hogs, taken as a quarter of it
    free = max([*m.overhangs, *(0.25 * (b - a) for a, b in m.spans)], default=0.0)
    sag, hog = [], []
    for c in those_that_count(loads):
        for plies, l in m.lengths:
            e = l.patterns.envelope(*c.psf(loads), c.snow)
            if e.sag > NO_MOMENT:
                fb = bending(wood, size, c.duration, repetitive(m))
                at = l.start + e.sag_at
                sag.append(_moment("bending, sagging", e.sag * plies.share, at, fb, m, plies, c, loads))
            if e.hog > NO_MOMENT:
                fb = bending(wood, size, c.duration, repetitive(m), m.breadth, m.depth, free)
                at = l.start + e.hog_at
                hog.append(_moment("bending, hogging", e.hog * plies.share, at, fb, m, plies, c, loads))
    return worst(sag) + worst(hog)


def _pattern(m: Member, plies: Plies, c: Combination, loads: DesignLoads) -> Words:
    """What stands on the member, the psf by which its unit loads (square feet that load it) are multiplied; and on
    which of its plies, where they are not spliced alike."""
    everywhere = spread(c, loads)
    if m.snowed and c.snow:
        told = "{spread}, and {share} of the snow from the roof above where that is worst"
        everywhere = said(told, spread=everywhere, share=number(c.snow))
    if plies.count == m.plies:
        return everywhere
    return said("{spread}, {count} of {all} plies", spread=everywhere, count=plies.count, all=m.plies)


def spread(c: Combination, loads: DesignLoads) -> Said:
    """The psf that stand on a member's unit loads under a combination, in words."""
    dead, moving = c.psf(loads)
    everywhere = said("{dead} psf everywhere", dead=number(dead, figures=4))
    if not moving:
        return everywhere
    return said(
        "{everywhere} and {moving} psf on the spans where it is worst",
        everywhere=everywhere,
        moving=number(moving, figures=4),
    )


def _moment(
    check: str,
    moment: float,
    at: float,
    fb: Adjusted,
    m: Member,
    plies: Plies,
    c: Combination,
    loads: DesignLoads,
) -> Verdict:
    b = m.breadth * plies.share
    s = b * m.depth**2 / 6
    by = said("b d² / 6 = {b} x ({d})² / 6", b=decimal(b, figures=4), d=decimal(m.depth, figures=4))
    place = said("at {at} from its start; {pattern}", at=decimal(at, 1), pattern=_pattern(m, plies, c, loads))
    lines = [
        CalcLine("moment M", moment / 12, "ft lb", place, c.source),
        CalcLine("section modulus S", s, "in3", by, "measured"),
        CalcLine(
            "bending stress fb",
            moment / s,
            "psi",
            said("M / S = 12 x {m} ft lb / {s} in3", m=put_in(moment / 12), s=put_in(s)),
            clause("bending stress").source,
        ),
        value_line("Fb'", fb),
    ]
    return verdict(check, moment / s, fb.value, "psi", c.name, lines)


def _shear(m: Member, wood: Lumber, size: Stock, loads: DesignLoads) -> list[Verdict]:
    found = []
    for c in those_that_count(loads):
        fv = shear(wood, size, c.duration)
        for plies, l in m.lengths:
            b = m.breadth * plies.share
            e = l.patterns.envelope(*c.psf(loads), c.snow)
            v = e.shear * plies.share
            lines = [
                CalcLine(
                    "shear V",
                    v,
                    "lb",
                    said(
                        "at {at}, not reduced near supports; {pattern}",
                        at=decimal(l.start + e.shear_at, 1),
                        pattern=_pattern(m, plies, c, loads),
                    ),
                    c.source,
                ),
                CalcLine(
                    "shear stress fv",
                    1.5 * v / (b * m.depth),
                    "psi",
                    said(
                        "3 V / (2 b d) = 3 x {v} lb / (2 x {b} x {d})",
                        v=put_in(v),
                        b=decimal(b, figures=4),
                        d=decimal(m.depth, figures=4),
                    ),
                    clause("shear stress").source,
                ),
                value_line("Fv'", fv),
            ]
            found.append(verdict("shear", 1.5 * v / (b * m.depth), fv.value, "psi", c.name, lines))
    return worst(found)


def _bearing(m: Member, wood: Lumber, size: Stock, loads: DesignLoads, edition: str) -> list[Verdict]:
    seat = limit_or_missing("bearing_on_wood_min", edition)
    found: dict[str, list[Verdict]] = {}
    for plies in m.plies_alike:
        r = Reactions.of([(plies.share, l) for l in plies.lengths], len(m.supports))
        for k, s in enumerate(m.supports):
            if (v := _on_support(m, s, r.on(k), plies, seat, wood, size, loads)) is not None:
                found.setdefault(v.check, []).append(v)
    return [w for group in found.values() for w in worst(group)]


def _on_support(
    m: Member,
    s: SupportAt,
    load: Brought,
    plies: Plies,
    seat: Row | Missing,
    wood: Lumber,
    size: Stock,
    loads: DesignLoads,
) -> Verdict | None:
    """Compression across the grain where some plies bear; None where they never press on the support."""
    if not s.area and not s.hanger:
        return _nailed(s, load, wood, loads)
    r, c = max(((load.pressing(c, loads), c) for c in those_that_count(loads)), key=lambda t: t[0])
    if r <= 0:
        return None
    breadth = m.breadth * plies.share
    on = f"{s.role} {', '.join(s.on)}"
    seated: Words
    if s.area:
        area, length, seated = s.area * plies.share, s.length, "measured contact"
    elif isinstance(seat, Missing):
        return unchecked(f"bearing on {s.role}, hung", seat.why)
    else:
        area, length = seat.value * breadth, seat.value
        hung = "hung on {on}: a seat of {seat} is taken ({source})"
        seated = said(hung, on=on, seat=decimal(seat.value, None), source=seat.citation)
    value = bearing(wood, size, round(length, 4), round(max(0.0, min(s.x, m.length - s.x) - length / 2), 4))
    long = said("{length} long", length=decimal(length, figures=3))
    if plies.count != m.plies:
        long = said("{long}, {count} of {all} plies", long=long, count=plies.count, all=m.plies)
    stress = said("R / A = {r} lb / {area} in2", r=put_in(r), area=put_in(area))
    lines = [
        CalcLine("reaction R", r, "lb", areas(load, c, loads), c.source),
        CalcLine("bearing area", area, "in2", long, seated),
        CalcLine("bearing stress", r / area, "psi", stress, clause("bearing across the grain").source),
        value_line("Fc_perp'", value),
    ]
    why = "" if s.area else seated
    return verdict(f"bearing on {s.role}", r / area, value.value, "psi", c.name, lines, why)


def _nailed(s: SupportAt, load: Brought, wood: Lumber, loads: DesignLoads) -> Verdict | None:
    """What the nails at an end without a seat have to carry, down or up: a rim across the ends of joists, a joist on a
    rim; against the published number of them in end grain. Where that is not enough the number that is stands in
    `why`."""
    pressed = [(load.pressing(c, loads), c, "") for c in those_that_count(loads)]
    lifted = [(-load.lifted(c, loads), c, "upwards") for c in those_that_count(loads)]
    z = {c.name: lateral(nail(), wood, RIM, nail_length() - RIM, c.duration, in_end=True) for _, c, _ in pressed}
    r, worse, way = max([*pressed, *lifted], key=lambda t: t[0] / z[t[1].name].value)
    if r <= 0:
        return None
    least, each = assumed("rim_nails_min"), z[worse.name]
    holds = each.value * least.value
    lines = [
        CalcLine("load on the nails", r, "lb", areas(load, worse, loads, least=bool(way)), worse.source),
        value_line("Z' of one 10d nail", each),
        CalcLine("nails", least.value, "", "the least published", least.citation),
    ]
    told = f"it rests on nothing there: its nails take {{r}} lb {way}".rstrip()
    why = said(told, r=number(r, 0, grouped=True))
    found = verdict(f"nailing on {s.role}", r, holds, "lb", worse.name, lines, why)
    if found.result != NOT_MET:
        return found
    count = math.ceil(r / each.value - 1e-9)
    more = said(
        "{why}, more than the {least} nails of the published schedule hold ({holds} lb): drive {count}, or hang it on a"
        " hanger rated for {r} lb",
        why=why,
        holds=number(holds, 0, grouped=True),
        least=number(least.value),
        count=count,
        r=number(r, 0, grouped=True),
    )
    return replace(found, result=NOT_CHECKED, why=more)


def _deflection(m: Member, wood: Lumber, size: Stock, loads: DesignLoads, standing: bool) -> list[Verdict]:
    e = modulus(wood, size)
    inertia = m.breadth * m.depth**3 / 12
    ei = e.value * inertia
    stiff = [
        value_line("E'", e),
        CalcLine(
            "moment of inertia I",
            inertia,
            "in4",
            said("b d³ / 12 = {b} x ({d})³ / 12", b=decimal(m.breadth, figures=4), d=decimal(m.depth, figures=4)),
            "measured",
        ),
    ]
    spans: list[Verdict] = []
    overhangs: list[Verdict] = []
    points: list[Verdict] = []
    for _, l in m.lengths:
        xs = sorted(m.supports[i].x for i in l.order)
        for what, how, (lo, hi, down, up) in _bends(m, l, loads, standing):
            lo, hi = lo + l.start, hi + l.start
            outside = hi <= xs[0] + 1e-6 or lo >= xs[-1] - 1e-6
            # an overhang's end also rises when the span behind it is loaded: the published tables do not limit that
            d = (down if outside else max(down, up)) / ei
            ratio = OVERHANG_RATIO if outside else SPAN_RATIO
            name = "deflection, overhang" if outside else "deflection, span"
            if outside and hi - lo < 1:
                continue
            stated = assumed("deflection_ratio_overhang" if outside else "deflection_ratio_span")
            lines = [
                *stiff,
                CalcLine("deflection", d, "in", said("{how}, E I = {ei} lb in2", how=how, ei=number(ei, figures=4))),
                CalcLine(
                    "allowed",
                    (hi - lo) / ratio,
                    "in",
                    said("L / {ratio} = {long} / {ratio}", ratio=number(ratio), long=decimal(hi - lo, figures=5)),
                    stated.citation,
                ),
            ]
            (overhangs if outside else spans).append(verdict(name, d, (hi - lo) / ratio, "in", what, lines))
        if m.role != "beam":
            points += _loaded_ends(m, l, xs, ei, stiff)
    return worst(spans) + worst(overhangs) + worst(points)


def _bends(
    m: Member, l: Length, loads: DesignLoads, standing: bool
) -> Iterator[tuple[str, Words, tuple[float, float, float, float]]]:
    """(what bends a length, how, what it comes to segment by segment, times E I): the greater of live and snow load; of
    a member to which snow comes from a roof above either, the snow with that."""
    of_live, of_snow = (loads.live_psf, "live load", 0.0), (loads.ground_snow_psf, "snow load", 1.0)
    for moving, what, snow in (of_live, of_snow) if m.snowed else (max(of_live, of_snow),):
        how = said("{what} {psf} psf on the worst pattern", what=what, psf=number(moving))
        if m.snowed and snow:
            how = said("{how} and the snow from the roof above", how=how)
        for segment in l.patterns.deflections(moving, own=standing, snow=snow):
            yield what, how, segment


def _loaded_ends(m: Member, l: Length, xs: list[float], ei: float, stiff: list[CalcLine]) -> list[Verdict]:
    """The point load at either end of a length that reaches past its supports at `xs`; where the end meets another's on
    a mitre both carry it. `ei` in lb in2, `stiff` the lines it comes from."""
    found = []
    a, b = l.start, l.end
    beam = Beam(b - a, [x - a for x in xs])
    for end, x, support, shared in ((a, 0.0, xs[0], m.mitred[0]), (b, b - a, xs[-1], m.mitred[1])):
        reach = abs(end - support)
        if reach < 1:
            continue
        load = POINT_LOAD / 2 if shared else POINT_LOAD
        d = abs(float(beam.solve([PointLoad(x, load)], ei).at([x])[2][0]))
        allowed = reach / OVERHANG_RATIO
        placed = said("{load} lb at the end of an overhang of {reach}", load=number(load), reach=decimal(reach))
        if shared:
            placed = said("{placed}: half of it, the other half on the member mitred to it", placed=placed)
        lines = [
            *stiff,
            CalcLine("deflection at the end", d, "in", placed),
            CalcLine(
                "allowed",
                allowed,
                "in",
                said("L / {ratio} = {long} / {ratio}", ratio=number(OVERHANG_RATIO), long=decimal(reach, figures=5)),
                assumed("overhang_point_load").citation,
            ),
        ]
        found.append(verdict("deflection, point load on overhang", d, allowed, "in", f"{POINT_LOAD:g} lb", lines))
    return found


def _uplift(m: Member, loads: DesignLoads) -> list[Verdict]:
    """What lifts a member off what it bears or hangs on; where it is nailed, that is the load on its nails."""
    found: dict[str, tuple[float, Combination, SupportAt]] = {}
    for c in those_that_count(loads):
        for k, s in enumerate(m.supports):
            r = m.reactions.on(k).lifted(c, loads)
            if r < min(-1.0, found[s.role][0] if s.role in found else 0.0) and (s.area or s.hanger):
                found[s.role] = r, c, s
    verdicts = []
    for r, c, s in found.values():
        line = CalcLine("uplift", -r, "lb", f"least reaction of all patterns under {c.name}", c.source)
        why = said("load elsewhere on it lifts it here by {up} lb: fasten it down", up=number(-r, 0, grouped=True))
        verdicts.append(Verdict(f"uplift at {s.role}", -r, None, "lb", c.name, NOT_CHECKED, (line,), why))
    return verdicts
