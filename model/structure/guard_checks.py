"""The calculated route for guards: the load on their top (Table R301.5) on a top rail and on a post, the load on their
infill on a baluster and on the rail under it.

A rail is a simple beam from post to post. A push outwards is taken by the top rail alone; a load down is shared with
the bottom rail, which the balusters tie to it, and a foot block halves that span. A post is held where it leaves what
it is bolted to. Inches, pounds.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from ...shared.cited import Missing, Row
from ...shared.errors import InputError
from ...shared.practice import practice
from ...shared.said import Words, decimal, number, put_in, said, together
from ...shared.standards import assumed, clause, limit_or_missing
from ...shared.stock import KIT, Stock
from ..measuring.contacts import Contact
from ..measuring.saw import Sizes, sizes_of
from ..solid.part import Part
from ..solid.roles import named
from ..strength.dowels import fastener, withdrawal
from ..strength.nds import Adjusted, Lumber, NoValue, bending, shear
from .diagrams import LoadDiagram, standing_out, under_a_load
from .verdicts import NOT_CHECKED, NOT_MET, CalcLine, Verdict, tried, unchecked, value_line, verdict

OF_THE_GUARD = named("takes guard loads")
DURATION = "live (occupancy)"  # the table's load is a live load
SHORTER = "ten minutes"  # no push on a guard lasts longer, all together; the guide is said to take it too
ON_TOP, ON_INFILL = "load on the guard", "load on the infill"
AT_BOLT = "bending at the upper bolt"
BOLT, LAG_INSTEAD = "pull on the upper bolt", "a lag screw for it holds"
_NEAR = 0.25  # inches from what it ends at within which the end of a rail lies
_RAILS = ("top rail", "handrail")
_Checked = tuple[tuple[CalcLine, ...], list[Verdict], LoadDiagram | None]  # measured, checks, diagram


@dataclass(frozen=True)
class _Stick:
    """A rail or a baluster: `length` from end to end, long points, and its section `across` the guard and `up`, square
    to its length."""

    part: Part
    length: float
    across: float
    up: float

    @classmethod
    def of(cls, part: Part) -> _Stick:
        s, axis = sizes_of(part), np.asarray(part.place.x)
        x, y, _ = axis
        aside = np.array([-y, x]) / np.hypot(x, y) if np.hypot(x, y) > 1e-6 else np.array([1.0, 0.0])
        across = float(np.ptp(part.vertices[:, :2] @ aside))
        up = s.thickness if abs(across - s.width) < abs(across - s.thickness) else s.width
        return cls(part, s.length, across, up)

    @property
    def inertia(self) -> float:
        """Moment of inertia against a load down, in4."""
        return self.across * self.up**3 / 12


@dataclass(frozen=True)
class CheckedPieces:
    """Pieces that are calculated as one, cut and held alike, of a guard or a bench, or a knee brace: what was measured
    of them, and their checks."""

    parts: list[Part]
    facts: tuple[CalcLine, ...]
    checks: list[Verdict]
    diagram: LoadDiagram | None = None


def guard_pieces(
    parts: Sequence[Part], touching: Sequence[Contact], wood: Lumber, edition: str, asked: float | None = None
) -> list[CheckedPieces]:
    """Every top rail, bottom rail, baluster and guard post with its checks. `asked`: pounds on the top of a guard where
    the place asks for more than the table."""
    by_id = {p.id: p for p in parts}
    top, infill = (limit_or_missing(i, edition) for i in ("guard_handrail_concentrated_load", "guard_infill_load"))
    load, fill = (
        row if isinstance(row, Missing) else _Load(row, max(float(row.value), more), how)
        for row, more, how in (
            (top, asked or 0.0, "in any direction, anywhere on the top"),
            (infill, 0.0, "outwards, on a square foot"),
        )
    )
    below = _rails_below(touching)
    blocked = {c.id_a if c.b.role == "foot block" else c.id_b for c in touching if "foot block" in (c.a.role, c.b.role)}
    tops, held = _tops(parts), _held(touching, by_id)
    found: dict[Hashable, CheckedPieces] = {}

    def add(p: Part, told: Hashable, make: Callable[[], _Checked]) -> None:
        key = (p.role, p.mark or p.id, told)  # pieces cut alike and held alike are calculated once
        if key in found:
            found[key].parts.append(p)
        else:
            found[key] = CheckedPieces([p], *make())

    for p in parts:
        if p.stock.material == KIT and p.role in named("takes guard loads"):
            add(p, (), partial(_of_a_kit, _Stick.of(p)))
        elif p.role == "top rail":
            pair = [_Stick.of(by_id[i]) for i in sorted(below.get(p.id, ()))]
            block = any(s.part.id in blocked for s in pair)
            told = (block, *(s.part.mark or s.part.id for s in pair))
            add(p, told, partial(_top_rail, _Stick.of(p), pair, block, wood, load))
        elif p.role in ("bottom rail", "baluster"):
            add(p, (), partial(_infill, _Stick.of(p), wood, fill))
        elif p.role == "guard post" and p.id in tops and p.id in held:
            low, high = held[p.id]
            lever, deep = round(tops[p.id] - high, 3), round(high - low, 3)
            add(p, (lever, deep), partial(_post, p, lever, deep, wood, load, edition))
    return list(found.values())


@dataclass(frozen=True)
class _Load:
    """Pounds at one place, by a `row` of the data or more where the file asks for it, and `how` they press."""

    row: Row
    pounds: float
    how: str

    @property
    def line(self) -> CalcLine:
        more = "" if self.pounds == self.row.value else "; more than the table, as the file asks (local)"
        return CalcLine("load P", self.pounds, "lb", self.how + more, self.row.citation)


def _rails_below(touching: Sequence[Contact]) -> dict[str, set[str]]:
    """By the id of a top rail: those of the bottom rails that its balusters stand on."""
    met: dict[str, dict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
    for c in touching:
        for stick, rail in ((c.a, c.b), (c.b, c.a)):
            if stick.role == "baluster" and rail.role in ("top rail", "bottom rail"):
                met[stick.id][rail.role].add(rail.id)
    found: dict[str, set[str]] = defaultdict(set)
    for rails in met.values():
        for top in rails["top rail"]:
            found[top] |= rails["bottom rail"]
    return found


def _tops(parts: Sequence[Part]) -> dict[str, float]:
    """By the id of a guard post: the highest level at which a rail meets it, or the sleeve round it."""
    posts = {p.id: p.footprint for p in parts if p.role == "guard post"}
    inside = {_middle(p): p.id for p in parts if p.role == "guard post"}
    sleeved = {p.id: inside.get(_middle(p), "") for p in parts if p.role == "post sleeve"}
    sleeves = {sleeved[p.id]: p.footprint for p in parts if p.id in sleeved}
    found: dict[str, float] = {}
    for p in parts:
        for by in p.carried_by if p.role in _RAILS else ():
            post = sleeved.get(by, by)
            if post in posts:
                x0, y0, x1, y1 = sleeves.get(post, posts[post]).buffer(_NEAR).bounds
                v = p.vertices
                at = v[(v[:, 0] >= x0) & (v[:, 0] <= x1) & (v[:, 1] >= y0) & (v[:, 1] <= y1)]
                level = float(at[:, 2].max() if len(at) else p.box[1, 2])
                found[post] = max(level, found.get(post, level))
    return found


def _middle(p: Part) -> tuple[float, float]:
    x, y = p.plan_middle
    return round(x, 2), round(y, 2)


def _held(touching: Sequence[Contact], by_id: Mapping[str, Part]) -> dict[str, tuple[float, float]]:
    """By the id of a guard post: the lowest and highest level at which what carries it touches it."""
    found: dict[str, tuple[float, float]] = {}
    for c in touching:
        for post, other in ((c.id_a, c.id_b), (c.id_b, c.id_a)):
            if by_id[post].role == "guard post" and other in by_id[post].carried_by and c.area > 1:
                low, high = found.get(post, (c.low[2], c.high[2]))
                found[post] = (min(low, c.low[2]), max(high, c.high[2]))
    return found


@dataclass(frozen=True)
class _Bent:
    """A moment in pound inches, `how` it comes about, and what it does to a section so broad and deep."""

    moment: float
    how: Words
    breadth: float
    depth: float

    @property
    def stress(self) -> float:
        return self.moment * 6 / (self.breadth * self.depth**2)

    def lines(self, load: _Load) -> tuple[CalcLine, ...]:
        s = self.breadth * self.depth**2 / 6
        by = said("b d² / 6 = {b} x ({d})² / 6", b=decimal(self.breadth, figures=4), d=decimal(self.depth, figures=4))
        times = said("M / S = 12 x {m} ft lb / {s} in3", m=put_in(self.moment / 12), s=put_in(s))
        return (
            load.line,
            CalcLine("moment M", self.moment / 12, "ft lb", self.how),
            CalcLine("section modulus S", s, "in3", by, "measured"),
            CalcLine("bending stress fb", self.stress, "psi", times, clause("bending stress").source),
        )

    def judged(
        self, check: str, on: str, load: _Load, wood: Lumber, stock: Stock, flat: bool = False, why: Words = ""
    ) -> Verdict:
        """Against Fb' of a live load; what is over that, of ten minutes: the duration factor goes by how long a load
        stands there at its full, all times together. Both are told."""
        fb = _strength(wood, stock, DURATION, flat)
        lines = [*self.lines(load), value_line("Fb'", fb)]
        found = verdict(check, self.stress, fb.value, "psi", on, lines, why)
        if found.result != NOT_MET:
            return found
        short = _strength(wood, stock, SHORTER, flat)
        lines.append(value_line("Fb' of ten minutes", short))
        found = verdict(check, self.stress, short.value, "psi", on, lines, why)
        if found.result == NOT_MET:
            return found
        told = said(
            "within the {more} psi of ten minutes (CD {cd}), as its factor goes by how long a load stands there; over"
            " the {psi} psi that its table has for live loads (CD {live}): ask whether the office goes by that",
            psi=number(fb.value, 0, grouped=True),
            live=number(_duration(fb)),
            more=number(short.value, 0, grouped=True),
            cd=number(_duration(short)),
        )
        return replace(found, why=together(told, why))


def _duration(fb: Adjusted) -> float:
    return next((f.value for f in fb.factors if f.symbol == "CD"), 1.0)


def _simple(pounds: float, span: float, share: tuple[float, float] | None = None) -> Words:
    """The moment of a load at the middle; `share`: the stiffness of what takes its part of it, and of all that do."""
    told = said("{p} lb x {l} / 4 / 12", p=put_in(pounds), l=decimal(span, figures=4))
    if share is None:
        return said("P L / 4 = {told}", told=told)
    own, whole = share
    shared = "P L / 4 x I / both I = {told} x {own} in4 / {whole} in4"
    return said(shared, told=told, own=put_in(own), whole=put_in(whole))


def _facts(s: _Stick) -> tuple[CalcLine, ...]:
    return (
        CalcLine("length", s.length, "in", "between its ends, long points"),
        CalcLine("across", s.across, "in", "its section, square to the guard's line"),
        CalcLine("up", s.up, "in", "its section, square to its length"),
    )


def _strength(wood: Lumber, stock: Stock, duration: str, flat: bool) -> Adjusted:
    """Fb'. Raises NoValue for a stick that is no sawn lumber, such as a baluster of a size of its own."""
    try:
        return bending(wood, stock, duration, False, flat=flat)
    except InputError:
        raise NoValue(f"no published strength for a {stock.name}") from None


def _flat(s: _Stick, across: bool) -> bool:
    """Whether a stick bent outwards (`across`) or down is loaded on its wide faces; on edge its ends are held, as its
    depth asks. Raises NoValue for one so deep that its edge wants holding too."""
    deep, broad = (s.across, s.up) if across else (s.up, s.across)
    if deep > 4 * broad + 1e-9:
        raise NoValue(f"a section more than four times as deep as broad: its edge wants holding ({_ENDS.source})")
    return deep < broad - 1e-9


KIT_TESTED = "a kit's rails and balusters go by their maker's own test, not by calculation: ask for its report"
_INFILL_CHECK = "bending under the infill load"
_ON_TOP_CHECKS = ("bending outwards", "bending down", "shear")
_ENDS = clause("ends held in position")


def _top_rail(top: _Stick, below: list[_Stick], blocked: bool, wood: Lumber, load: _Load | Missing) -> _Checked:
    if isinstance(load, Missing):
        return _facts(top), [unchecked("bending outwards", load.why)], None
    found = tried("bending outwards", lambda: [_outwards(top, wood, load)])
    found += tried("bending down", lambda: _down(top, below, blocked, wood, load))
    found += tried("shear", lambda: [_shear(top, wood, load)])
    return (*_facts(top), _line_load(top)), found, under_a_load(top.length, load.pounds, "post", ON_TOP)


def _of_a_kit(s: _Stick) -> _Checked:
    checks = _ON_TOP_CHECKS if s.part.role == "top rail" else (_INFILL_CHECK,)
    return _facts(s), [unchecked(check, KIT_TESTED) for check in checks], None


def _line_load(top: _Stick) -> CalcLine:
    """What the line load on guards of other buildings bends it by; nothing is judged by it."""
    line = assumed("guard_line_load")
    told = "w L² / 8, {w} lb/ft: information, asked of no one- or two-family dwelling"
    how = said(told, w=number(line.value))
    return CalcLine("moment under a line load", line.value * (top.length / 12) ** 2 / 8, "ft lb", how, line.citation)


def _outwards(top: _Stick, wood: Lumber, load: _Load) -> Verdict:
    """Its mend, where it is bent too much on edge: the same rail flat, else posts nearer to one another."""
    flat = _flat(top, across=True)
    fb = _strength(wood, top.part.stock, DURATION, flat)
    moment = load.pounds * top.length / 4
    bent = _Bent(moment, _simple(load.pounds, top.length), top.up, top.across)
    why: Words = ""
    if bent.stress > fb.value:
        most = decimal(int(top.length * fb.value / bent.stress))
        why = said("a rail at most {most} long would do (guard.post_spacing)", most=most)
        if top.across < top.up:
            why = said(
                "{why}; or lay it flat (guard.top_rail_lies), which beside another flight takes twice its width between"
                " them (stair.landings.space)",
                why=why,
            )
    return bent.judged("bending outwards", ON_TOP, load, wood, top.part.stock, flat, why)


def _down(top: _Stick, below: list[_Stick], blocked: bool, wood: Lumber, load: _Load) -> list[Verdict]:
    """Each rail of the bay takes of the load what its stiffness is of both; the one that is bent most for its
    strength."""
    span = top.length / (2 if blocked and below else 1)
    whole = sum(s.inertia for s in (top, *below))
    found = []
    for s in (top, *below):
        share = s.inertia / whole
        told = _simple(load.pounds, span, (s.inertia, whole))
        how = "; a foot block halves the span" if span < top.length else ""
        why = said(f"{{role}} {{id}}{how}", role=s.part.role, id=s.part.id)
        bent = _Bent(load.pounds * share * span / 4, told, s.across, s.up)
        found.append(bent.judged("bending down", ON_TOP, load, wood, s.part.stock, _flat(s, across=False), why))
    return [max(found, key=lambda v: v.ratio or 0.0)]


def _shear(s: _Stick, wood: Lumber, load: _Load) -> Verdict:
    """All of the load beside one end."""
    fv = shear(wood, s.part.stock, DURATION)
    area = s.across * s.up
    stress = 1.5 * load.pounds / area
    by = said("3 P / (2 A) = 3 x {p} lb / (2 x {a} in2)", p=put_in(load.pounds), a=put_in(area))
    lines = [
        load.line,
        CalcLine("shear stress fv", stress, "psi", by, clause("shear stress").source),
        value_line("Fv'", fv),
    ]
    return verdict("shear", stress, fv.value, "psi", ON_TOP, lines)


def _infill(s: _Stick, wood: Lumber, load: _Load | Missing) -> _Checked:
    """The load of a square foot, on one piece alone. A stick sold without a published strength gets its demand."""
    check = _INFILL_CHECK
    if isinstance(load, Missing):
        return _facts(s), [unchecked(check, load.why)], None
    bent = _Bent(load.pounds * s.length / 4, _simple(load.pounds, s.length), s.up, s.across)
    why = "all of the load on this one piece; the code spreads it over a square foot"
    if s.part.role == "baluster":
        why = f"{why}; graded as the other lumber, which many sold as balusters are not: ask for the stamp"
    try:
        found = bent.judged(check, ON_INFILL, load, wood, s.part.stock, _flat(s, across=True), why)
    except NoValue as missing:
        asked = said(
            "{missing}: ask the supplier for one that takes {p} lb at this length",
            missing=str(missing),
            p=number(load.pounds),
        )
        found = Verdict(check, bent.stress, None, "psi", ON_INFILL, NOT_CHECKED, bent.lines(load), asked)
    by = "post" if s.part.role == "bottom rail" else "rail"
    return _facts(s), [found], under_a_load(s.length, load.pounds, by, ON_INFILL)


def _pull(load: _Load, lever: float, deep: float, edge: Row) -> CalcLine:
    """What the upper of two bolts is pulled with, the post turning about the lower one."""
    apart = deep - 2 * edge.value
    arm = lever + deep - edge.value
    how = said(
        "P x arm / apart = {p} lb x {arm} / {apart}: two bolts, each {edge} from an edge",
        p=put_in(load.pounds),
        arm=decimal(arm, figures=4),
        apart=decimal(apart, figures=4),
        edge=decimal(edge.value),
    )
    return CalcLine(BOLT, load.pounds * arm / apart, "lb", how, edge.citation)


def _post(p: Part, lever: float, deep: float, wood: Lumber, load: _Load | Missing, edition: str) -> _Checked:
    """A post as a cantilever from the upper edge of what it is bolted to; the pull on its upper bolt is about the lower
    one, both as near to the edges as is published. Pushed inwards nothing but that bolt holds it there, in a hole."""
    s = sizes_of(p)
    facts = [
        CalcLine("lever", lever, "in", "top of its rail to the upper edge of what holds it"),
        CalcLine("held over", deep, "in", "from the lowest to the highest place at which that touches it"),
    ]
    edge = limit_or_missing("guard_post_bolt_edge_min", edition)
    if isinstance(load, Missing):
        return tuple(facts), [unchecked("bending", load.why)], None
    bolted = None if isinstance(edge, Missing) or deep <= 3 * edge.value else edge
    if bolted:
        facts.append(_pull(load, lever, deep, bolted))
        w = withdrawal(wood, s.thickness, DURATION)
        facts.append(CalcLine(LAG_INSTEAD, w.value, "lb", w.formula, w.reference.citation))
    times = said("P x lever = {p} lb x {lever} / 12", p=put_in(load.pounds), lever=decimal(lever, figures=4))
    bent = _Bent(load.pounds * lever, times, s.width, s.thickness)

    def judged() -> list[Verdict]:
        found = [bent.judged("bending", ON_TOP, load, wood, p.stock)]
        if bolted:
            found.append(
                _at_bolt(s, lever + bolted.value, load).judged(AT_BOLT, ON_TOP, load, wood, p.stock, why=INWARDS)
            )
        return found

    drawn = standing_out(lever, load.pounds, "what holds it", ON_TOP)
    return tuple(facts), tried("bending", judged), drawn


INWARDS = "pushed inwards, where the bolt holds it; its hole is taken off the width"


def _at_bolt(s: Sizes, lever: float, load: _Load) -> _Bent:
    """What bends a post at its upper bolt, `lever` inches under the push, the bolt's hole taken off its width."""
    bolt = fastener("guard-post bolt")
    hole = float(bolt["diameter_in"]) + practice("hole of a bolt over its diameter")
    how = said(
        "P x arm = {p} lb x {arm} / 12: to the upper bolt, {dia} in a hole of {hole}",
        p=put_in(load.pounds),
        arm=decimal(lever, figures=4),
        dia=decimal(float(bolt["diameter_in"]), None),
        hole=decimal(hole, None),
    )
    return _Bent(load.pounds * lever, how, s.width - hole, s.thickness)
