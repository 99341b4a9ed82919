"""The structure of a deck: the load path from board to soil and, for every member, table and calculation side by side.

`analyse(deck)` is the door. Everything is measured from the solids and their `carried_by` links; loads, lumber and
edition come from the parameters. Nothing here approves a design: each check says met, not met or not checked, and why.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING

from ...shared.said import Words, together
from ...shared.standards import beam_name, check_edition
from ..input.area_load import AreaLoad
from ..input.connectors import Hardware
from ..input.parameters import Parameters
from ..measuring.contacts import Contact
from ..measuring.member_seen import MemberSeen, axis, extent
from ..plan.roof_snow import FROM_ROOF, RoofSnow, roof_snow
from ..solid.part import Part
from ..strength.loads import Combination, DesignLoads, LoadsAndSoil, those_that_count
from ..strength.nds import Lumber
from .assumptions import ASSUMPTIONS, OF_AREA_LOADS, OF_NOTCHED_POSTS, OF_ROOF_SNOW
from .bench_checks import bench_pieces
from .braced_members import braced_beam, braced_post
from .cleat_checks import check_cleats, loads_on_cleats
from .column_checks import check_footing, check_post, post_length
from .diagrams import LoadDiagram, of_ledger, of_member, of_stringer
from .guard_checks import CheckedPieces, guard_pieces
from .guard_push import guard_tops, guard_turning, guards_square_to
from .lateral import BracedLine, Wind, braced_lines, braced_posts, to_each
from .ledger_checks import check_ledger_run
from .load_path import Column, LoadPath, follow
from .member_checks import check_member
from .member_facts import heaviest, member_facts, tributary
from .member_rows import joists_ft, member_rows
from .members import Member
from .ply_checks import check_plies
from .prescribed import SHARES, Prescribed, footing_rows, post_rows
from .rated_hardware import rated
from .snow_lines import snow_lines
from .stringer_checks import Stringer, check_stringer, facts, stringers
from .surface_loads import LedgerLoad
from .tread_checks import CheckedTread, checked_treads
from .verdicts import MET, NOT_CHECKED, NOT_MET, CalcLine, Verdict, areas

if TYPE_CHECKING:
    from ..deck import Deck


MAIN_CHECKS = ("bending", "compression", "soil bearing", "ledger")  # of a member the first that it has


@dataclass
class MemberResult:
    """One member: what it is, what was measured, what it carries, and both routes.

    `kind` is joist, rim, beam, post, footing, ledger, a kind of stringer, tread or a guard's piece; `facts` are
    measured values in the order a page prints them. `governs` names the route and check that leaves least room. `drawn`
    gives its diagram under a combination, or under what a check names instead of one.
    """

    kind: str
    ids: tuple[str, ...]
    mark: str
    where: str
    stock: str
    facts: tuple[CalcLine, ...]
    table: list[Prescribed] = field(default_factory=list)
    calculation: list[Verdict] = field(default_factory=list)
    drawn: Callable[[Combination, str], LoadDiagram | None] | None = None

    @property
    def bent(self) -> Verdict | None:
        """The check of bending with least room."""
        found = [v for v in self.calculation if v.check.startswith("bending") and v.ratio is not None]
        return max(found, key=lambda v: v.ratio or 0.0, default=None)

    def diagram(self, loads: DesignLoads) -> LoadDiagram | None:
        """Loads, shear and moment along it, under the combination by which it is bent most; None of what is no beam."""
        if self.drawn is None:
            return None
        named = self.bent.combination if self.bent else ""
        return self.drawn(next((c for c in those_that_count(loads) if c.name == named), heaviest(loads)), named)

    @property
    def decides(self) -> Prescribed | Verdict | None:
        """The row of a table or the check of the calculation that leaves least room; None where nothing was checked."""
        every: list[Prescribed | Verdict] = [*self.calculation, *self.table]
        found = [
            (math.inf if x.ratio is None else x.ratio, x)
            for x in every
            if x.result == NOT_MET or (x.ratio is not None and x.result != NOT_CHECKED)
        ]
        return max(found, key=lambda f: f[0])[1] if found else None

    @property
    def left_open(self) -> Prescribed | Verdict | None:
        """The row that it stands by (`MAIN_CHECKS`), where no route could decide it."""
        every: list[Prescribed | Verdict] = [*self.calculation, *self.table]
        of_main = ([x for x in every if x.check.startswith(main)] for main in MAIN_CHECKS)
        rows = next((rows for rows in of_main if rows), [])
        return rows[0] if rows and all(x.result == NOT_CHECKED for x in rows) else None

    @property
    def worst(self) -> tuple[float, Words]:
        """(greatest ratio of either route, its name); a ratio over 1 is not met. Where the row that counts most is left
        open, and none is not met, that is named."""
        found = self.decides
        if (left := self.left_open) is not None and self.result != NOT_MET:
            return 0.0 if found is None else found.ratio or 0.0, f"not checked: {left.check}"
        if found is None:
            return 0.0, "nothing could be checked"
        if isinstance(found, Prescribed):
            return found.ratio or 0.0, f"table: {found.check}"
        if found.ratio is None:
            return math.inf, together(f"calculation: {found.check}", found.why, between=": ")
        return found.ratio, f"calculation: {found.check}"

    @property
    def governs(self) -> Words:
        return self.worst[1]

    @property
    def result(self) -> str:
        """Not met where any check is not met; met where at least one is met, none is not met and the one that counts
        most is not left open."""
        every = [*(p.result for p in self.table), *(v.result for v in self.calculation)]
        if NOT_MET in every:
            return NOT_MET
        return MET if MET in every and self.left_open is None else NOT_CHECKED


@dataclass
class Structure:
    """All results, with the path they come from. `notes` say what could not be followed."""

    results: list[MemberResult]
    path: LoadPath
    lumber: Lumber
    edition: str
    loads: LoadsAndSoil
    notes: list[Words]
    assumptions: tuple[str, ...] = ASSUMPTIONS
    snow: RoofSnow | None = None
    treads: list[CheckedTread] = field(default_factory=list)

    def of(self, *kinds: str) -> list[MemberResult]:
        return [r for r in self.every if r.kind in kinds]

    @property
    def every(self) -> list[MemberResult]:
        """The members, and the treads, whose rules are told of their stair and which no key of the frame mends."""
        return self.results + [_tread(t, self.loads) for t in self.treads]

    def governing(self, kind: str) -> MemberResult | None:
        """The member of a kind with least room, of equals the most heavily loaded: the one a calculation page shows in
        full. One that is left open goes before those that are met."""
        return max(
            self.of(kind),
            key=lambda r: (
                r.result == NOT_MET,
                r.left_open is not None,
                r.worst[0],
                max((f.value for f in r.facts if f.label == "line load"), default=0.0),
            ),
            default=None,
        )

    def rows(self) -> Iterator[dict[str, object]]:
        """Flat rows for `calcs.csv`, one a check: table rows first, then the calculation with its lines; before them
        what snow comes from a roof above."""
        for line in snow_lines(self.snow) if self.snow else ():
            yield {
                **dict.fromkeys(("mark", "ids", "stock", "combination", "capacity", "ratio", "result", "why"), ""),
                **{"kind": FROM_ROOF, "where": "whole deck", "route": "load", "check": line.label, "unit": line.unit},
                **{"demand": line.value, "formula": line.formula, "source": line.source},
            }
        for r in self.every:
            head = {"kind": r.kind, "mark": r.mark, "ids": " ".join(r.ids), "where": r.where, "stock": r.stock}
            for p in r.table:
                yield {
                    **head,
                    "route": "table",
                    "check": p.check,
                    "combination": "",
                    "demand": p.measured,
                    "capacity": p.limit,
                    "unit": p.unit,
                    "ratio": p.ratio,
                    "result": p.result,
                    "formula": "",
                    "source": p.source,
                    "why": p.why,
                }
            for v in r.calculation:
                yield {
                    **head,
                    "route": "calculation",
                    "check": v.check,
                    "combination": v.combination,
                    "demand": v.demand,
                    "capacity": v.capacity,
                    "unit": v.unit,
                    "ratio": v.ratio,
                    "result": v.result,
                    "formula": together(*(l.said for l in v.lines)),
                    "source": together(*dict.fromkeys(l.source for l in v.lines)),
                    "why": v.why,
                }


def analyse(deck: Deck) -> Structure:
    """The structure of a deck. Raises InputError for a species, grade or edition the data does not know."""
    p = deck.parameters
    wood = Lumber.of(p.lumber)
    grade = deck.planes.grade
    more = p.local.guard_post_load_lb
    snow = roof_snow(p, deck.layout.outline)
    given = p.loads, wood, p.local.edition, grade, deck.members, more, p.hardware, p.area_load, snow
    found = analyse_parts(deck.parts, deck.contacts, *given)
    if (wind := stated_wind(p)) is not None:
        _braced(found, braced_lines(deck.parts, deck.contacts, found.path.members, wind, grade), p.hardware)
    found.treads = checked_treads(deck.parts, deck.contacts, wood, p.loads, p.local.edition, p.surface.edge_gap)
    return found


def _braced(found: Structure, lines: Sequence[BracedLine], hardware: Hardware) -> None:
    """Puts into the results every knee brace, with what it does to its beam and its post."""
    column = {c.post.id: c for c in found.path.columns if c.post is not None}
    braces = []
    for line in lines:
        beam = next(r for r in found.results if line.m.first.id in r.ids)
        across = [(b, line.across(b)) for b in line.braces]
        beam.calculation += braced_beam(line.m, across, to_each(line), found.lumber, found.loads)
        for piece, (brace, up) in zip(braced_posts(line, found.lumber, found.path.surface_sqft), across):
            moment, c = line.each * (line.height(brace) - brace.leg), column[brace.posts[0].id]
            under = braced_post(brace, moment, up, line.height(brace), c, found.lumber, found.loads)
            braces.append(_guard(replace(piece, checks=rated([*piece.checks, *under], hardware))))
    found.results += sorted(braces, key=lambda r: r.ids)


def stated_wind(p: Parameters) -> Wind | None:
    """Exposure and speed, where the file states both."""
    if p.local.wind_exposure is None or p.local.wind_speed_mph is None:
        return None
    return Wind(p.local.wind_exposure, p.local.wind_speed_mph)


def analyse_parts(
    parts: Sequence[Part],
    touching: Sequence[Contact],
    loads: LoadsAndSoil,
    wood: Lumber,
    edition: str,
    grade: Callable[[float, float], float] | None = None,
    seen: Sequence[MemberSeen] | None = None,
    guard_load: float | None = None,
    hardware: Hardware | None = None,
    placed: Sequence[AreaLoad] = (),
    snow: RoofSnow | None = None,
) -> Structure:
    """As `analyse`, from parts with ids and `carried_by`, their contacts, loads, lumber and edition; `seen` are their
    members where those are read already, `guard_load` pounds on the top of guards where the place asks for more than
    the table, `hardware` what the builder gives of bought connectors, `placed` the loads beside the uniform ones: they
    stand there or not, whichever is worse; `snow` that from a roof above."""
    check_edition(edition)
    given = (parts, touching, loads, wood, edition, grade, seen, guard_load, hardware or Hardware())
    found = _analysed(*given, placed, snow)
    if placed or snow:
        names = [*(load.name for load in placed), *([FROM_ROOF] if snow else [])]
        _without(found, _analysed(*given, (), None), names)
    return found


def _analysed(
    parts: Sequence[Part],
    touching: Sequence[Contact],
    loads: LoadsAndSoil,
    wood: Lumber,
    edition: str,
    grade: Callable[[float, float], float] | None,
    seen: Sequence[MemberSeen] | None,
    guard_load: float | None,
    hardware: Hardware,
    placed: Sequence[AreaLoad],
    snow: RoofSnow | None,
) -> Structure:
    path = follow(parts, touching, seen, placed, snow.strips if snow else ())
    tops = guard_tops(parts)
    results = [
        _member(m, path, wood, loads, edition, guard_turning(m, tops, edition), bool(placed)) for m in path.members
    ]
    known: dict[int, float | None] = {}
    for c in path.columns:
        if c.loaded or c.trouble:
            joist_ft = joists_ft(c, path, known)
            results.append(_post(c, joist_ft, wood, loads, edition))
    results += [_footing(c, joists_ft(c, path, known), loads, edition, grade) for c in path.on_footings()]
    for r in results:
        r.calculation = rated(r.calculation, hardware)
    pulled = [guards_square_to(parts, tops, axis(l.parts[0])) for l in path.ledgers]
    results += [_ledger(l, wood, loads, edition, hardware, posts) for l, posts in zip(path.ledgers, pulled)]
    on_cleats = loads_on_cleats(parts, touching)
    results += [_stringer(s, on_cleats.get(s.part.id), wood, loads, edition) for s in stringers(parts, touching)]
    guards = guard_pieces(parts, touching, wood, edition, guard_load)
    results += [_guard(g) for g in (*guards, *bench_pieces(parts, touching, wood, loads))]
    said_too = (OF_NOTCHED_POSTS, any(c.seat for c in path.columns)), (OF_AREA_LOADS, placed), (OF_ROOF_SNOW, snow)
    also = tuple(text for text, asked in said_too if asked)
    return Structure(results, path, wood, edition, loads, list(dict.fromkeys(path.notes)), ASSUMPTIONS + also, snow)


def _without(found: Structure, bare: Structure, names: Sequence[str]) -> None:
    """Puts into the results with area loads what is worse without them: uplift where they hold something down, an
    overhang or a span beside the one on which they stand. The
    tables know uniform loads alone: of a member that carries some of these a row that is met proves nothing."""
    known = {(r.kind, r.ids): r for r in bare.results}
    for r in found.results:
        other = known.get((r.kind, r.ids))
        if other is None:
            continue
        if _values(r) != _values(other):
            why = f"carries some of {', '.join(names)}, which the table does not know; see the calculation"
            counted = r.kind == "ledger" and list(names) == [FROM_ROOF]  # its table is entered with its load
            proves = [counted or row.result != MET or row.check in SHARES for row in r.table]
            r.table = [row if p else replace(row, result=NOT_CHECKED, why=why) for row, p in zip(r.table, proves)]
        for v in other.calculation:
            here = next((w for w in r.calculation if w.check == v.check), None)
            if here is None or _worse(v, here):
                kept = [w for w in r.calculation if w is not here]
                r.calculation = [*kept, replace(v, combination=f"{v.combination}, without {', '.join(names)}")]


def _worse(v: Verdict, other: Verdict) -> bool:
    """Whether a check is worse than the same one under other loads: by its ratio or, where neither has one, by its
    demand."""
    if v.ratio is None and other.ratio is None:
        return (v.demand or 0.0) > (other.demand or 0.0)
    return v.ratio is not None and other.ratio is not None and v.ratio > other.ratio * (1 + 1e-9)


def _values(r: MemberResult) -> list[float]:
    """What a member's checks and facts come to, to a hundredth."""
    return [round(v.demand or 0.0, 2) for v in r.calculation] + [round(f.value, 2) for f in r.facts]


def _member(
    m: Member,
    path: LoadPath,
    wood: Lumber,
    loads: DesignLoads,
    edition: str,
    turning: list[Verdict],
    standing: bool = False,
) -> MemberResult:
    table = member_rows(m, path, wood, loads, edition)
    nailed = check_plies(m, path.on(m), wood, loads) if not m.trouble else []
    stock = beam_name(m.plies, m.first.stock.name)
    return MemberResult(
        m.role,
        tuple(p.id for p in m.parts),
        m.first.mark,
        m.first.where,
        stock,
        tuple(member_facts(m, loads)),
        table,
        check_member(m, wood, loads, edition, standing) + nailed + turning,
        partial(of_member, m, loads),
    )


def _post(c: Column, joist_ft: float | None, wood: Lumber, loads: DesignLoads, edition: str) -> MemberResult:
    assert c.post is not None, "a footing without a post is no post to check"
    down, k = max(((c.load.pressing(k, loads), k) for k in those_that_count(loads)), key=lambda t: t[0])
    cap = CalcLine("load on its cap", down, "lb", areas(c.load, k, loads), k.source)
    facts = (CalcLine("length", post_length(c), "in", "measured"), tributary(c), cap)
    table = post_rows(c, joist_ft, wood, loads, edition)
    return MemberResult(
        "post", (c.post.id,), c.post.mark, c.post.where, c.post.stock.name, facts, table, check_post(c, wood, loads)
    )


def _footing(
    c: Column, joist_ft: float | None, loads: LoadsAndSoil, edition: str, grade: Callable[[float, float], float] | None
) -> MemberResult:
    f = c.footing
    assert f is not None, "`on_footings` gives columns with a footing"
    facts = (tributary(c), CalcLine("thickness", float(f.box[1, 2] - f.box[0, 2]), "in", "measured"))
    table = footing_rows(c, joist_ft, loads, edition)
    return MemberResult(
        "footing",
        tuple(p.id for p in (f, *c.joined)),
        f.mark,
        f.where,
        f.stock.name,
        facts,
        table,
        check_footing(c, loads, edition, grade),
    )


def _ledger(
    l: LedgerLoad, wood: Lumber, loads: DesignLoads, edition: str, hardware: Hardware, pulled: Sequence[Part]
) -> MemberResult:
    p = l.parts[0]
    facts, table, checks = check_ledger_run(l, wood, loads, edition, hardware, pulled)
    low, high = (f(g(extent(x, axis(p))) for x in l.parts) for f, g in ((min, min), (max, max)))
    brought = [(at, max(b.pressing(c, loads) for c in those_that_count(loads))) for at, b, _ in l.joists]
    return MemberResult(
        "ledger",
        tuple(x.id for x in l.parts),
        p.mark,
        p.where,
        p.stock.name,
        facts,
        table,
        checks,
        lambda *_: of_ledger(brought, low, high),
    )


def _stringer(s: Stringer, cleat: float | None, wood: Lumber, loads: DesignLoads, edition: str) -> MemberResult:
    """Its published span, spacing and throat are rules of the stair, told there. `cleat`: square feet of treads on that
    of its cleats that carries most."""
    p = s.part
    found = check_stringer(s, wood, loads, edition)
    if cleat is not None:
        found += check_cleats(p, cleat, wood, loads, edition)
    return MemberResult(
        p.role,
        (p.id,),
        p.mark,
        p.where,
        p.stock.name,
        tuple(facts(s)),
        [],
        found,
        partial(of_stringer, s, loads, edition),
    )


def _tread(t: CheckedTread, loads: DesignLoads) -> MemberResult:
    p = t.span.part
    return MemberResult(
        p.role, (p.id,), p.mark, p.where, p.stock.name, t.facts, [], t.checks, partial(t.diagram, loads)
    )


def _guard(g: CheckedPieces) -> MemberResult:
    """A guard's piece, a bench's frame or a knee brace; sizes, openings and heights are rules, told there."""
    p = g.parts[0]
    ids, drawn = tuple(x.id for x in g.parts), g.diagram
    return MemberResult(p.role, ids, p.mark, p.where, p.stock.name, g.facts, [], g.checks, lambda *_: drawn)
