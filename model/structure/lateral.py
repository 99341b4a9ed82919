"""Sideways loads: wind on guards and edges where the file states exposure and speed, what comes of it to knee braces
and hold-downs, and the sway of people beside it, which no code asks for.

The deck is a stiff plate between the lines that hold it: beams with braces, and ledgers. Along a line it gives each the
strip of plan nearest to it; away from the house the hold-downs share it, and with wind along the house they take as a
couple what turns the plate about the ledger, as if no brace helped. Inches, pounds, allowable stress design (0.6 W).
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from ...shared.said import Said, decimal, number, put_in, said
from ...shared.standards import clause
from ..measuring.braces_seen import BraceSeen, braces_seen
from ..measuring.contacts import Contact
from ..measuring.member_seen import PARALLEL, MemberSeen, axis
from ..measuring.silhouette import seen
from ..solid.part import Part
from ..solid.roles import named
from ..solid.union import united
from ..strength.nds import Lumber, bending, compression
from ..strength.wind import (
    allowable,
    exposure_factor,
    force_factor,
    gust,
    sway_psf,
    velocity_pressure,
    wind_row,
)
from .braced_members import OF_WIND
from .guard_checks import CheckedPieces
from .members import Member
from .verdicts import NOT_CHECKED, CalcLine, Verdict, tried, value_line, verdict

PRESSED, BENT_BY_BRACE = "compression of the brace", "bending by the brace"
FASTENED, LIFTED = "fastening of the brace", "uplift by the brace"
CLOSED_UP = 3.0  # inches: a guard's outline is its bars with all gaps of less than twice that closed; our own
WIND_ALONE = "0.6 W"
_GUARD, _CONCRETE = named("bars"), named("concrete")


@dataclass(frozen=True)
class Wind:
    """What the file states: exposure category and basic speed, miles an hour (three-second gust)."""

    exposure: str
    mph: float


@dataclass(frozen=True)
class Push:
    """Wind on the whole deck: `pounds` at allowable stress level, `lines` that lead to it."""

    pounds: float
    lines: tuple[CalcLine, ...]


def push(parts: Sequence[Part], along: np.ndarray, wind: Wind, grade: Callable[[float, float], float] | None) -> Push:
    """Wind on every guard by its bars, none sheltering another, and on all the rest as it is seen from windward."""
    right = (-float(along[1]), float(along[0]), 0.0)
    above = [p for p in parts if p.role not in _CONCRETE]
    top = max((float(p.box[1, 2]) for p in above), default=0.0)
    ground = min((grade(*p.plan_middle) for p in above), default=0.0) if grade else 0.0
    feet = (top - ground) / 12
    q = velocity_pressure(wind.exposure, wind.mph, feet)
    guards: dict[tuple[str | None, int | None], list[Polygon]] = defaultdict(list)
    rest: list[Polygon] = []
    for p in above:
        outline = seen(p, right)
        (guards[p.edge, p.stair] if p.role in _GUARD else rest).append(outline)
    how = said(
        "{unit} Kz Kzt Kd V^2, exposure {e}, {mph} mph, Kz {kz} at {feet} ft, Kzt {kzt} on flat ground, Kd {kd}",
        unit=number(wind_row("velocity pressure", "psf at 1 mph").value),
        kzt=number(wind_row("topography", "flat ground").value),
        kd=number(wind_row("directionality", "open signs and lattice frameworks").value),
        e=wind.exposure,
        mph=number(wind.mph),
        kz=number(exposure_factor(wind.exposure, feet), 3),
        feet=number(feet, 1),
    )
    lines = [CalcLine("velocity pressure q", q, "psf", how, wind_row("velocity pressure", "psf at 1 mph").source)]
    total = 0.0
    bars = []
    for group in guards.values():
        solid = united(group)
        closed = solid.buffer(CLOSED_UP, join_style="mitre").buffer(-CLOSED_UP, join_style="mitre")
        bars.append((solid.area / 144, force_factor(solid.area / closed.area if closed.area else 1.0)))
    edge = united(rest).area / 144 if rest else 0.0
    for name, rows in (("guards", bars), ("edges", [(edge, wind_row("force", "a member by itself"))])):
        area = sum(a for a, _ in rows)
        force = sum(q * gust() * cf.value * a for a, cf in rows)
        if area > 1e-6:
            formula = said(
                "q G Cf As = {q} psf x {g} x {cf} x {area} sq ft",
                q=put_in(q),
                g=number(gust()),
                cf=number(force / (q * gust() * area), 2),
                area=number(area, 1),
            )
            lines.append(CalcLine(f"wind on {name}", force, "lb", formula, rows[0][1].source))
        total += force
    held = total * allowable()
    lines.append(CalcLine("allowable stress level", held, "lb", "0.6 W", wind_row("allowable stress", "0.6 W").source))
    return Push(held, tuple(lines))


def sway(surface_sqft: float) -> float:
    """Pounds sideways of people moving together, either way."""
    return sway_psf() * surface_sqft


def couple(pounds: float, arm: float, apart: float) -> float:
    """What two ties `apart` inches take of a push whose middle lies `arm` inches away from them."""
    return pounds * arm / apart if apart > 0 else math.inf


def brace_force(pounds: float, height: float, leg: float) -> float:
    """Along a brace at 45 degrees of a post pinned at its foot and at the beam, `pounds` at the beam: V H / leg is what
    the brace takes across, over cos 45 along it (statics)."""
    return pounds * height / leg * math.sqrt(2.0)


@dataclass(frozen=True)
class BracedLine:
    """A beam with its braces, what of the wind along it comes to it, its `share` of all, and to `each` brace."""

    m: Member
    braces: tuple[BraceSeen, ...]
    pushed: Push
    share: float
    each: float

    def height(self, brace: BraceSeen) -> float:
        """Of the post, from its foot to the beam."""
        return float(self.m.first.box[0, 2] - brace.posts[0].box[0, 2])

    def across(self, brace: BraceSeen) -> float:
        """Pounds that a brace takes across, and as many up or down."""
        return self.each * self.height(brace) / brace.leg


def braced_lines(
    parts: Sequence[Part],
    touching: Sequence[Contact],
    members: Sequence[Member],
    wind: Wind,
    grade: Callable[[float, float], float] | None,
) -> list[BracedLine]:
    """Every beam with knee braces, and what the wind along it gives them."""
    home = {p.id: m for m in members for p in m.parts}
    on: dict[int, list[BraceSeen]] = defaultdict(list)
    for brace in braces_seen(parts, touching):
        if brace.posts and brace.beams and brace.beams[0].id in home:
            on[id(home[brace.beams[0].id])].append(brace)
    lines = [*(m for m in members if id(m) in on), *_ledgers(parts)]
    blown: dict[tuple[float, ...], Push] = {}  # many beams lie one way
    found = []
    for m in (m for m in members if id(m) in on):
        way = tuple(np.round(m.u, 9).tolist())
        if way not in blown:
            blown[way] = push(parts, m.u, wind, grade)
        braces, share = tuple(on[id(m)]), _share(m, lines, parts)
        found.append(BracedLine(m, braces, blown[way], share, blown[way].pounds * share / len(braces)))
    return found


def braced_posts(line: BracedLine, wood: Lumber, surface_sqft: float) -> list[CheckedPieces]:
    """The knee braces of a beam with what the wind along it gives them; beside it what people moving would."""
    return [_braced(b, line, wood, surface_sqft) for b in line.braces]


@dataclass(frozen=True)
class _Line:
    u: np.ndarray
    v: float


def _ledgers(parts: Sequence[Part]) -> list[_Line]:
    found = []
    for p in parts:
        if p.role == "ledger":
            u = axis(p)
            found.append(_Line(u, float(np.dot(p.plan_middle, (-u[1], u[0])))))
    return found


def _share(m: MemberSeen, lines: Sequence, parts: Sequence[Part]) -> float:
    """The share of a push along a line that it takes: the part of the surface's reach square to it that is nearest."""
    n = np.array([-m.u[1], m.u[0]])
    walked = [p for p in parts if p.role in named("walked")]
    across = np.concatenate([p.vertices[:, :2] @ n for p in walked]) if walked else np.array([m.v - 1, m.v + 1])
    low, high = float(across.min()), float(across.max())
    at = sorted(
        {round(float(np.sign(np.dot(l.u, m.u)) * l.v), 3) for l in lines if abs(float(np.dot(l.u, m.u))) > PARALLEL}
    )
    k = min(range(len(at)), key=lambda i: abs(at[i] - m.v))
    a = low if k == 0 else (at[k - 1] + at[k]) / 2
    b = high if k + 1 == len(at) else (at[k] + at[k + 1]) / 2
    return min(1.0, max(0.0, (b - a) / (high - low)))


def to_each(line: BracedLine) -> list[CalcLine]:
    """What the wind along a beam comes to, down to one of its braces."""
    how = said("{share} of the wind along its beam, over {n} braces", share=number(line.share, 2), n=len(line.braces))
    return [*line.pushed.lines, CalcLine("push at the post V", line.each, "lb", how)]


def _braced(brace: BraceSeen, line: BracedLine, wood: Lumber, surface_sqft: float) -> CheckedPieces:
    stock, post, leg, each = brace.part.stock, brace.posts[0], brace.leg, line.each
    height = line.height(brace)
    along = brace_force(each, height, leg)
    swayed = brace_force(sway(surface_sqft) * line.share / len(line.braces), height, leg)
    facts = (
        CalcLine("post", height, "in", "from its foot to the beam", "measured"),
        CalcLine("leg", leg, "in", "from the corner of post and beam to the brace's axis", "measured"),
        CalcLine(
            "force along it by people moving",
            swayed,
            "lb",
            said("{psf} psf sideways, recommended: information, asked by no code", psf=number(sway_psf())),
            wind_row("people moving", "cyclic sway").source,
        ),
    )
    lines = [
        *to_each(line),
        CalcLine("force along the brace", along, "lb", _along(each, height, leg), "statics"),
    ]

    def pressed() -> list[Verdict]:
        length, least = leg * math.sqrt(2.0), min(stock.thickness, stock.width)
        fc = compression(wood, stock, OF_WIND, length / least)
        stress = along / (stock.thickness * stock.width)
        made = said("N / A = {n} lb / {a} in2", n=put_in(along), a=put_in(stock.thickness * stock.width))
        more = [*lines, CalcLine("compression stress fc", stress, "psi", made), value_line("Fc'", fc)]
        return [verdict(PRESSED, stress, fc.value, "psi", WIND_ALONE, more)]

    def bent() -> list[Verdict]:
        size, d = post.stock, min(post.stock.thickness, post.stock.width)
        moment, section = each * (height - leg), post.stock.thickness * post.stock.width * d / 6
        fb = bending(wood, size, OF_WIND, False, d, d, height)
        made = said("V (H - leg) / S = 12 x {m} ft lb / {s} in3", m=put_in(moment / 12), s=put_in(section))
        more = [*lines, CalcLine("bending stress fb", moment / section, "psi", made, "statics"), value_line("Fb'", fb)]
        return [verdict(BENT_BY_BRACE, moment / section, fb.value, "psi", WIND_ALONE, more)]

    return CheckedPieces(
        [brace.part], facts, tried(PRESSED, pressed) + tried(BENT_BY_BRACE, bent) + _ends(each, height, leg, lines)
    )


def _along(each: float, height: float, leg: float) -> Said:
    told = "V H / leg / cos 45 = {v} lb x {h} / {leg} / 0.7071, post pinned at foot and beam"
    return said(told, v=put_in(each), h=decimal(height, figures=4), leg=decimal(leg, figures=4))


def _ends(each: float, height: float, leg: float, lines: Sequence[CalcLine]) -> list[Verdict]:
    """What a brace asks of its ends when the wind pulls it, and of the beam's tie to its post when it pushes up:
    demands, as a lag screw at an angle is not judged here. What the beam weighs is not taken off the uplift."""
    along, up = brace_force(each, height, leg), each * height / leg
    pulled = said(
        "{lb} lb pushed or pulled along it: the one lag screw of the guide holds a brace in place and is not judged for"
        " this; choose bolts or a connector rated for it at either end",
        lb=number(along, 0, grouped=True),
    )
    told = said(
        "V H / leg = {v} lb x {h} / {leg}, dead load left out",
        v=put_in(each),
        h=decimal(height, figures=4),
        leg=decimal(leg, figures=4),
    )
    lifts = CalcLine("up on the beam", up, "lb", told, clause("statics of a brace").citation)
    why = said("lifts the beam off its post with {lb} lb", lb=number(up, 0, grouped=True))
    return [
        Verdict(FASTENED, along, None, "lb", WIND_ALONE, NOT_CHECKED, tuple(lines), pulled),
        Verdict(LIFTED, up, None, "lb", WIND_ALONE, NOT_CHECKED, (*lines, lifts), why),
    ]
