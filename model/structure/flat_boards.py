"""The calculated route for boards laid flat, of the deck or of a stair: bending, shear and deflection of one board as a
simple beam from bearing to bearing, no share of its load taken off it for those beside it. Inches, pounds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ...shared.cited import Row
from ...shared.errors import InputError
from ...shared.said import Words, decimal, number, put_in, said
from ...shared.standards import clause
from ...shared.stock import Stock
from ..strength.loads import OCCUPANTS, DesignLoads, those_that_count
from ..strength.nds import Lumber, NoValue, bending, modulus, shear
from .members import SQFT
from .verdicts import CalcLine, Verdict, value_line, verdict, worst

ONE_LOAD = "one load"
# the power of its span with which a board's demand over its capacity grows, by check, spread and under one load
_GROWS = {"bending": (2, 1), "shear": (1, 0), "deflection": (3, 2)}


@dataclass(frozen=True)
class FlatBoard:
    """A board of a `stock`, so `wide` and `thick`, on bearings `span` inches apart along it, centre to centre; it takes
    the load of a strip `strip` inches broad, its width and one gap."""

    stock: Stock
    wide: float
    thick: float
    span: float
    strip: float

    @property
    def modulus(self) -> float:
        """Section modulus, cubic inches."""
        return self.wide * self.thick**2 / 6

    @property
    def inertia(self) -> float:
        """Moment of inertia, in4."""
        return self.wide * self.thick**3 / 12


@dataclass(frozen=True)
class _Case:
    """A moment, a shear and a deflection (times E I), with what brings them about, the moment and the deflection
    worked out."""

    moment: float
    shear: float
    bend: float
    how: Words
    worked: Words
    bent: Words
    duration: str
    name: str
    source: Words


def check_flat_board(
    b: FlatBoard, wood: Lumber, loads: DesignLoads, ratio: Row, point: Row | None = None
) -> list[Verdict]:
    """Bending, shear and deflection (against the span over `ratio`): each under the uniform loads or under the `point`
    load of a table, whichever asks more. Raises NoValue where the data has no design value for the board."""
    name = b.stock.name
    try:
        e = modulus(wood, name)
    except InputError:
        raise NoValue(f"no published strength for a {name}") from None
    found: dict[str, list[Verdict]] = {"bending": [], "shear": [], "deflection": []}
    for case in (*_spread(b, loads), *([_single(b, point)] if point is not None else [])):
        fb, fv = bending(wood, name, case.duration, False, flat=True), shear(wood, name, case.duration)
        area = b.wide * b.thick
        m = said("M / S = 12 x {m} ft lb / {s} in3", m=put_in(case.moment / 12), s=put_in(b.modulus))
        v = said("3 V / (2 A) = 3 x {v} lb / (2 x {a} in2)", v=put_in(case.shear), a=put_in(area))
        stress = CalcLine("bending stress fb", case.moment / b.modulus, "psi", m, clause("bending stress").source)
        moment = CalcLine("moment M", case.moment / 12, "ft lb", case.worked, case.source)
        flat = said("b d² / 6 = {b} x ({d})² / 6", b=decimal(b.wide, figures=4), d=decimal(b.thick, figures=4))
        section = CalcLine("section modulus S", b.modulus, "in3", flat, "measured")
        stiff = said("b d³ / 12 = {b} x ({d})³ / 12", b=decimal(b.wide, figures=4), d=decimal(b.thick, figures=4))
        inertia = CalcLine("moment of inertia I", b.inertia, "in4", stiff, "measured")
        shearing = CalcLine("shear stress fv", 1.5 * case.shear / area, "psi", v, clause("shear stress").source)
        times = said("{bent} x {e} psi x {i} in4)", bent=case.bent, e=put_in(e.value), i=put_in(b.inertia))
        of_e = CalcLine("deflection", case.bend / (e.value * b.inertia), "in", times, case.source)
        for check, line, allowed, at in (
            ("bending", stress, fb, [moment, section, stress, value_line("Fb'", fb)]),
            ("shear", shearing, fv, [shearing, value_line("Fv'", fv)]),
        ):
            found[check].append(verdict(check, line.value, allowed.value, "psi", case.name, at, case.how))
        if case.bend:
            most = said("L / {ratio} = {long} / {ratio}", ratio=number(ratio.value), long=decimal(b.span, figures=5))
            allowed_in = CalcLine("allowed", b.span / ratio.value, "in", most, ratio.citation)
            lines = [value_line("E'", e), inertia, of_e, allowed_in]
            found["deflection"].append(
                verdict("deflection", of_e.value, allowed_in.value, "in", case.name, lines, case.how)
            )
    return [v for group in found.values() for v in worst(group)]


def span_that_does(b: FlatBoard, v: Verdict) -> float | None:
    """The widest bearings, centre to centre, on which a check of the board is met: None where no span does."""
    power = _GROWS[v.check][v.combination == ONE_LOAD]
    if not power or not v.ratio:
        return None
    found: float = b.span / v.ratio ** (1 / power)
    return found


def _spread(b: FlatBoard, loads: DesignLoads) -> Iterator[_Case]:
    """The uniform loads of each combination; the live load alone, or the snow, bends it."""
    moving = max(loads.live_psf, loads.ground_snow_psf)
    for c in those_that_count(loads):
        psf = sum(c.psf(loads))
        w = psf * b.strip / SQFT
        how = said(
            "{psf} psf on one board and its gap, {strip} broad, over {span}",
            psf=number(psf, figures=4),
            strip=decimal(b.strip, 3),
            span=decimal(b.span, 3),
        )
        worked = said(
            "w L² / 8 = {psf} psf x {strip} / 12 x ({span})² / 8 / 144",
            psf=number(psf, figures=4),
            strip=decimal(b.strip, figures=5),
            span=decimal(b.span, figures=5),
        )
        bent = said(
            "5 w L^4 / (384 E I) = 5 x {psf} psf x {strip} / 144 x ({span})^4 / (384",
            psf=number(moving, figures=4),
            strip=decimal(b.strip, figures=5),
            span=decimal(b.span, figures=5),
        )
        bend = 5 * moving * b.strip / SQFT * b.span**4 / 384 if psf > loads.dead_psf else 0.0
        yield _Case(w * b.span**2 / 8, w * b.span / 2, bend, how, worked, bent, c.duration, c.name, c.source)


def _single(b: FlatBoard, point: Row) -> _Case:
    """The load of a few square inches: at mid-span it bends most, beside a bearing it shears most."""
    p = float(point.value)
    how = said("{load} lb at the middle of one board over {gap}, laid flat", load=number(p), gap=decimal(b.span))
    worked = said("P L / 4 = {p} lb x {l} / 4 / 12", p=number(p), l=decimal(b.span, figures=5))
    bent = said("P L³ / (48 E I) = {p} lb x ({l})³ / (48", p=number(p), l=decimal(b.span, figures=5))
    return _Case(p * b.span / 4, p, p * b.span**3 / 48, how, worked, bent, OCCUPANTS, ONE_LOAD, point.citation)
