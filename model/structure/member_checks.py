"""The calculated route for members in bending and for posts and footings: demand against capacity, line by line.

Simple and overhanging spans by statics, spliced and continuous ones by `model/beams`; adjusted values by `model/nds`;
combinations and patterns by `model/loads`. Each verdict keeps the lines an engineer follows: value, formula, inputs.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ...shared.design_values import GIVEN
from ...shared.standards import assumed, clause, limit
from ...shared.stock import Stock, material, weight
from ..strength.beams import Beam, PointLoad
from ..strength.loads import Combination, DesignLoads, those_that_count
from ..strength.nds import Adjusted, Factor, Lumber, NoValue, bearing, bending, compression, modulus, shear
from ..strength.spans import OVERHANG_RATIO, POINT_LOAD, SPAN_RATIO
from .load_path import Column
from .members import Member

MET, NOT_MET, NOT_CHECKED = "met", "not met", "not checked"
HELD_SPACING = 24.0  # in: members this near share load (NDS 4.3.9); joists further apart are taken alone
SHARING = 3


@dataclass(frozen=True)
class CalcLine:
    """One line of a calculation: `value` in `unit`, the formula with its inputs, and where a number comes from."""

    label: str
    value: float
    unit: str
    formula: str
    source: str = ""


@dataclass(frozen=True)
class Verdict:
    """One check of one member: `ratio` is demand over capacity; `result` is met, not met or not checked (with
    `why`)."""

    check: str
    demand: float | None
    capacity: float | None
    unit: str
    combination: str
    result: str
    lines: tuple[CalcLine, ...] = ()
    why: str = ""

    @property
    def ratio(self) -> float | None:
        if self.demand is None or self.capacity is None:
            return None
        return math.inf if self.capacity <= 0 else self.demand / self.capacity


def verdict(
    check: str,
    demand: float,
    capacity: float,
    unit: str,
    combination: str,
    lines: Sequence[CalcLine],
    why: str = "",
) -> Verdict:
    """Met where demand is no more than capacity (equal within rounding counts as met)."""
    demand, capacity = float(demand), float(capacity)
    return Verdict(
        check,
        demand,
        capacity,
        unit,
        combination,
        MET if demand <= capacity * (1 + 1e-9) else NOT_MET,
        tuple(lines),
        why,
    )


def unchecked(check: str, why: str) -> Verdict:
    return Verdict(check, None, None, "", "", NOT_CHECKED, (), why)


def _worst(found: list[Verdict]) -> list[Verdict]:
    return [max(found, key=lambda v: v.ratio)] if found else []


def _tried(check: str, make: Callable[[], list[Verdict]]) -> list[Verdict]:
    try:
        return make()
    except NoValue as missing:
        return [unchecked(check, str(missing))]


def repetitive(m: Member) -> bool:
    """Whether the repetitive member factor may be taken: three or more joists at most 24 in apart, or three plies."""
    return m.plies >= SHARING or (m.lengthwise and m.together >= SHARING and 0 < m.strip <= HELD_SPACING)


def _value_line(label: str, adjusted: Adjusted) -> CalcLine:
    given = adjusted.reference.how == GIVEN
    told = [f"{f.symbol} {f.value:.4g}: {f.why}" for f in adjusted.factors if not f.left_out and (given or _tells(f))]
    without = [f.symbol for f in adjusted.factors if f.left_out]
    if without:
        told.append(f"not applied, as its row of lumber.stock does not name them: {', '.join(without)}")
    return CalcLine(
        label, adjusted.value, "psi", adjusted.formula, "; ".join([adjusted.reference.citation, "; ".join(told)])
    )


def _tells(f: Factor) -> bool:
    return f.value != 1.0 or f.symbol in ("CM", "CL", "Cr")


def check_member(m: Member, wood: Lumber, loads: DesignLoads, edition: str) -> list[Verdict]:
    """Bending both ways, shear, bearing at each support, deflection of spans and overhangs, uplift."""
    if m.trouble:
        return [Verdict("load path", None, None, "", "", NOT_MET if m.falls else NOT_CHECKED, (), m.trouble)]
    size = m.first.stock
    found: list[Verdict] = []
    found += _tried("bending", lambda: _bending(m, wood, size, loads))
    found += _tried("shear", lambda: _shear(m, wood, size, loads))
    found += _tried("bearing", lambda: _bearing(m, wood, size, loads, edition))
    found += _tried("deflection", lambda: _deflection(m, wood, size, loads))
    return found + _uplift(m, loads)


def _bending(m: Member, wood: Lumber, size: Stock, loads: DesignLoads) -> list[Verdict]:
    s = m.breadth * m.depth**2 / 6
    section = CalcLine("section modulus S", s, "in3", f"b d² / 6 = {m.breadth:.3g} x {m.depth:.4g}² / 6", "measured")
    # the underside is held at supports alone: where it is in compression it is free over the overhang, or over the part
    # of a span next to an inner support that hogs, taken as a quarter of it
    free = max([*m.overhangs, *(0.25 * (b - a) for a, b in m.spans)], default=0.0)
    sag, hog = [], []
    for c in those_that_count(loads):
        for a, _, p, _ in m.models:
            e = p.envelope(*c.psf(loads))
            if e.sag > 0:
                sag.append(
                    _moment(
                        "bending, sagging",
                        e.sag,
                        a + e.sag_at,
                        bending(wood, size, c.duration, repetitive(m)),
                        s,
                        section,
                        c,
                        loads,
                    )
                )
            if e.hog > 0:
                fb = bending(wood, size, c.duration, repetitive(m), m.breadth, m.depth, free)
                hog.append(_moment("bending, hogging", e.hog, a + e.hog_at, fb, s, section, c, loads))
    return _worst(sag) + _worst(hog)


def _pattern(c: Combination, loads: DesignLoads) -> str:
    """What stands on the member: the psf by which its unit loads (square feet that load it) are multiplied."""
    dead, moving = c.psf(loads)
    return f"{dead:.4g} psf everywhere" + (f" and {moving:.4g} psf on the spans where it is worst" if moving else "")


def _moment(
    check: str,
    moment: float,
    at: float,
    fb: Adjusted,
    s: float,
    section: CalcLine,
    c: Combination,
    loads: DesignLoads,
) -> Verdict:
    lines = [
        CalcLine("moment M", moment / 12, "ft lb", f"at {at:.1f} in from its start; {_pattern(c, loads)}", c.source),
        section,
        CalcLine("bending stress fb", moment / s, "psi", f"M / S = {moment:,.0f} / {s:.2f}"),
        _value_line("Fb'", fb),
    ]
    return verdict(check, moment / s, fb.value, "psi", c.name, lines)


def _shear(m: Member, wood: Lumber, size: Stock, loads: DesignLoads) -> list[Verdict]:
    area = m.breadth * m.depth
    found = []
    for c in those_that_count(loads):
        fv = shear(wood, size, c.duration)
        for a, _, p, _ in m.models:
            e = p.envelope(*c.psf(loads))
            v = e.shear
            lines = [
                CalcLine(
                    "shear V",
                    v,
                    "lb",
                    f"at {a + e.shear_at:.1f} in, a support's centre (no reduction taken); {_pattern(c, loads)}",
                    c.source,
                ),
                CalcLine(
                    "shear stress fv",
                    1.5 * v / area,
                    "psi",
                    f"3 V / (2 b d) = 3 x {v:,.0f} / (2 x {m.breadth:.3g} x {m.depth:.4g})",
                    clause("shear stress").source,
                ),
                _value_line("Fv'", fv),
            ]
            found.append(verdict("shear", 1.5 * v / area, fv.value, "psi", c.name, lines))
    return _worst(found)


def _bearing(m: Member, wood: Lumber, size: Stock, loads: DesignLoads, edition: str) -> list[Verdict]:
    seat = limit("bearing_on_wood_min", edition)
    steady, moving = m.reactions
    found = []
    for s, a, b in zip(m.supports, steady, moving):
        totals = [(d * a + l * b, c) for c in those_that_count(loads) for d, l in [c.psf(loads)]]
        r, c = max(totals, key=lambda t: t[0])
        if r <= 0:
            continue
        area = s.area or seat.value * m.breadth
        length = area / m.breadth
        value = bearing(wood, size, round(length, 4), round(max(0.0, min(s.x, m.length - s.x) - length / 2), 4))
        on = f"{s.role} {', '.join(s.on)}"
        seated = (
            "measured contact" if s.area else f"hung on {on}: a seat of {seat.value:g} in is taken ({seat.citation})"
        )
        lines = [
            CalcLine("reaction R", r, "lb", f"{a:.2f} sq ft steady and {b:.2f} sq ft moving under {c.name}", c.source),
            CalcLine("bearing area", area, "in2", f"{length:.3g} in long", seated),
            CalcLine("bearing stress", r / area, "psi", f"R / A = {r:,.0f} / {area:.2f}"),
            _value_line("Fc_perp'", value),
        ]
        found.append(
            verdict(f"bearing on {s.role}", r / area, value.value, "psi", c.name, lines, "" if s.area else seated)
        )
    by_check: dict[str, list[Verdict]] = {}
    for v in found:
        by_check.setdefault(v.check, []).append(v)
    return [w for group in by_check.values() for w in _worst(group)]


def _deflection(m: Member, wood: Lumber, size: Stock, loads: DesignLoads) -> list[Verdict]:
    e = modulus(wood, size)
    inertia = m.breadth * m.depth**3 / 12
    ei = e.value * inertia
    stiff = [
        _value_line("E'", e),
        CalcLine(
            "moment of inertia I", inertia, "in4", f"b d³ / 12 = {m.breadth:.3g} x {m.depth:.4g}³ / 12", "measured"
        ),
    ]
    moving, what = max((loads.live_psf, "live load"), (loads.ground_snow_psf, "snow load"))
    spans, overhangs, points = [], [], []
    for a, b, p, order in m.models:
        xs = sorted(m.supports[i].x for i in order)
        for lo, hi, down, up in p.deflections(moving):
            lo, hi = lo + a, hi + a
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
                CalcLine("deflection", d, "in", f"{what} {moving:g} psf on the worst pattern, E I = {ei:.4g} lb in2"),
                CalcLine("allowed", (hi - lo) / ratio, "in", f"L/{ratio:g}, L = {hi - lo:.2f} in", stated.citation),
            ]
            (overhangs if outside else spans).append(verdict(name, d, (hi - lo) / ratio, "in", what, lines))
        if m.role != "beam":
            points += _loaded_ends(a, b, xs, ei, stiff)
    return _worst(spans) + _worst(overhangs) + _worst(points)


def _loaded_ends(a: float, b: float, xs: list[float], ei: float, stiff: list[CalcLine]) -> list[Verdict]:
    """The point load at either end of a member from `a` to `b` inches, where it reaches past its supports at `xs`;
    `ei` in lb in2, `stiff` the lines it comes from."""
    found = []
    beam = Beam(b - a, [x - a for x in xs])
    for end, x, support in ((a, 0.0, xs[0]), (b, b - a, xs[-1])):
        reach = abs(end - support)
        if reach < 1:
            continue
        d = abs(float(beam.solve([PointLoad(x, POINT_LOAD)], ei).at([x])[2][0]))
        allowed = reach / OVERHANG_RATIO
        lines = [
            *stiff,
            CalcLine(
                "deflection at the end", d, "in", f"{POINT_LOAD:g} lb at the end of an overhang of {reach:.2f} in"
            ),
            CalcLine("allowed", allowed, "in", f"L/{OVERHANG_RATIO:g}", assumed("overhang_point_load").citation),
        ]
        found.append(verdict("deflection, point load on overhang", d, allowed, "in", f"{POINT_LOAD:g} lb", lines))
    return found


def _uplift(m: Member, loads: DesignLoads) -> list[Verdict]:
    found = []
    for c in those_that_count(loads):
        for _, _, p, order in m.models:
            least = p.envelope(*c.psf(loads)).least
            for i, r in zip(order, least):
                if r < -1.0 and m.supports[i].role != "joist":
                    found.append((float(r), c, m.supports[i]))
    if not found:
        return []
    r, c, s = min(found, key=lambda f: f[0])
    line = CalcLine("uplift", -r, "lb", f"least reaction of all patterns under {c.name}", c.source)
    why = f"needs a fastening for {-r:,.0f} lb upwards: its capacity is not in this tool"
    return [Verdict(f"uplift at {s.role}", -r, None, "lb", c.name, NOT_CHECKED, (line,), why)]


def _most(c: Column, loads: DesignLoads) -> list[tuple[float, Combination]]:
    return [(d * c.steady + m * c.moving, k) for k in those_that_count(loads) for d, m in [k.psf(loads)]]


def post_weight(c: Column) -> float:
    posts = [p for p in (c.post, *c.beside) if p is not None]
    return sum(weight(p.stock, p.shape.polygon.area * p.shape.thickness) for p in posts)


def post_length(c: Column) -> float:
    return float(c.post.box[1, 2] - c.post.box[0, 2])


def check_post(c: Column, wood: Lumber, loads: DesignLoads) -> list[Verdict]:
    """Compression with column stability, both ends pinned, over the post's measured length."""
    size, own = c.post.stock, post_weight(c)
    least, wide = sorted((c.post.stock.thickness, c.post.stock.width))
    height = post_length(c)

    def make() -> list[Verdict]:
        found = []
        for load, k in _most(c, loads):
            p = load + own * k.dead
            fc = compression(wood, size, k.duration, height / least)
            lines = [
                CalcLine(
                    "axial load P",
                    p,
                    "lb",
                    f"{c.steady:.2f} sq ft steady and {c.moving:.2f} sq ft moving under {k.name}, post {own:.0f} lb",
                    k.source,
                ),
                CalcLine(
                    "height",
                    height,
                    "in",
                    f"le/d = {height:.2f} / {least:g} = {height / least:.1f}, Ke = 1.0 (pinned ends)",
                    "measured",
                ),
                CalcLine("compression stress fc", p / (least * wide), "psi", f"P / A = {p:,.0f} / {least * wide:.2f}"),
                _value_line("Fc'", fc),
            ]
            found.append(verdict("compression", p / (least * wide), fc.value, "psi", k.name, lines))
        return _worst(found)

    return _tried("compression", make) + (
        [Verdict("load path", None, None, "", "", NOT_MET, (), c.trouble)] if c.trouble else []
    )


def footing_area(c: Column) -> float:
    """Square inches of the footing's underside (the true circle of a round one)."""
    shape = c.footing.shape
    return math.pi * shape.circle**2 if shape.circle is not None else c.footing.footprint.area


def check_footing(
    c: Column, loads: DesignLoads, edition: str, grade: Callable[[float, float], float] | None
) -> list[Verdict]:
    """Pressure under the footing: load, post and concrete, less the soil the concrete displaces below `grade`."""
    if c.footing is None:
        return [unchecked("soil bearing", c.trouble)]
    area, (low, high) = footing_area(c), c.footing.box[:, 2]
    own = material(c.footing.stock.material).weight(area * (high - low))
    soil = limit("soil_unit_weight", edition)
    centre = c.footing.box[:, :2].mean(axis=0)
    buried = max(0.0, min(high, grade(*centre)) - low) if grade else 0.0
    displaced = soil.value * area * buried / 1728
    load, k = max(_most(c, loads), key=lambda t: t[0])
    net = load + post_weight(c) + own - displaced
    q, capacity = net / (area / 144), loads.soil_bearing_psf
    lines = [
        CalcLine(
            "load from the frame",
            load,
            "lb",
            f"{c.steady:.2f} sq ft steady and {c.moving:.2f} sq ft moving under {k.name}",
            k.source,
        ),
        *(
            [
                CalcLine(
                    "posts" if c.beside else "post",
                    post_weight(c),
                    "lb",
                    "volume x density",
                    c.post.stock.density_source,
                )
            ]
            if c.post is not None
            else []
        ),
        CalcLine(
            "concrete", own, "lb", f"{area * (high - low) / 1728:.2f} cu ft", material(c.footing.stock.material).source
        ),
        CalcLine(
            "soil displaced", -displaced, "lb", f"{buried:.1f} in below grade at {soil.value:g} pcf", soil.citation
        ),
        CalcLine("area", area / 144, "sq ft", "measured underside"),
        CalcLine("soil pressure", q, "psf", f"{net:,.0f} / {area / 144:.3f}"),
    ]
    return [verdict("soil bearing", q, capacity, "psf", k.name, lines)]
