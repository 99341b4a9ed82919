"""A run of ledger: what comes to it a foot, its fasteners by the published table and by the yield equations beside it.

The table is of tests and gives a fastener more than the equations do: within its limits it decides, outside them the
equations do. Fasteners are no solids: their spacing is what the file gives (`[hardware]`). Inches, pounds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ...shared.cited import Missing, Row
from ...shared.practice import practice
from ...shared.said import Words, decimal, listed, number, put_in, said
from ...shared.standards import TABLE_LOAD_PSF, limit_or_missing, table
from ...shared.stock import lumber
from ..input.connectors import Hardware
from ..measuring.member_seen import axis
from ..solid.part import Part
from ..strength.beams import PointLoad
from ..strength.dowels import lateral, least_penetration, ledger_dowels, withdrawal
from ..strength.loads import OCCUPANTS, DesignLoads, those_that_count
from ..strength.nds import Adjusted, Lumber
from ..strength.spans import TABLE_DEAD_PSF
from .members import Member
from .prescribed import Prescribed, against, clear_span, ledger_rows
from .surface_loads import LedgerLoad
from .verdicts import NOT_CHECKED, NOT_MET, CalcLine, Verdict, unchecked, value_line, verdict

AT_POINTS = practice("point loads beside a spread load")
BAND = lumber("2x10").thickness  # inches: a band joist of dimension lumber, as the table has it
ON_THE_SAME = 6.0  # inches: joists nearer to one another are doubled, or stand beside a post; our own
LEAST_APART = 3.0  # inches: the least that the file takes between fasteners
SHORT = ", shorter than the equations ask for"
NEARER = "{apart} on centre would do (hardware.ledger_spacing)"
ALL_ROUND = 'beams all round would do (frame.support = "free-standing")'
WORST_EACH = "under the combination that brings most"
LAG_SCREW = "lag screw"


def at_points(m: Member) -> float:
    """Square feet that come to a member at points, 0 where they are little of all that it carries."""
    points = sum(abs(p.p) for p in m.steady if isinstance(p, PointLoad))
    return points if points > AT_POINTS * (points + m.area) else 0.0


def check_ledger_run(
    l: LedgerLoad, wood: Lumber, loads: DesignLoads, edition: str, given: Hardware, pulled: Sequence[Part] = ()
) -> tuple[tuple[CalcLine, ...], list[Prescribed], list[Verdict]]:
    """(facts, table, calculation) of a run of ledger. The line load is each joist's reaction over half the distance to
    its neighbours, or its own strip. `pulled`: the guard posts that pull at it when they are pushed outwards."""
    order = sorted(l.joists, key=lambda j: j[0])
    totals = [max(load.pressing(c, loads) for c in those_that_count(loads)) for _, load, _ in order]
    psf = max(sum(c.psf(loads)) for c in those_that_count(loads))
    spread = max(c.snow for c in those_that_count(loads)) * l.spread.snow
    long = sum(float(np.ptp(p.vertices[:, :2] @ axis(p))) for p in l.parts)
    heaviest = max(psf * l.strip / 12 + 12 * spread / long, line_load([j[0] for j in order], totals))
    # a ledger along the joists carries what joists of twice its strip would bring
    longest = max([2 * l.strip / 12, *(clear_span(j) / 12 for *_, j in order if j is not None and not j.trouble)])
    each = {d.name: lateral(d, wood, l.parts[0].stock.thickness, BAND, OCCUPANTS, across=True) for d in ledger_dowels()}
    short = {LAG_SCREW} if least_penetration() > BAND else set[str]()
    facts = (
        CalcLine("joists", len(order), "", "lines of framing that end on it"),
        CalcLine("longest joist span", longest * 12, "in", "clear, or twice its own strip"),
        CalcLine("tributary area", l.area, "sq ft", "surface it takes itself"),
        CalcLine("load", sum(totals) + psf * l.area + spread, "lb", "all reactions, worst combination each"),
        CalcLine("line load", heaviest, "lb/ft", "heaviest place over its spacing"),
        *(value_line(f"Z' of one {name}{SHORT if name in short else ''}", z) for name, z in each.items()),
    )
    rows = dict(ledger_rows(longest, loads, edition))
    if spread > 0 or any(load.snow for _, load, _ in order):
        equal = heaviest / (TABLE_LOAD_PSF + TABLE_DEAD_PSF) * 2  # feet of joist that bring as much by the table
        facts += (CalcLine("table entered with", max(longest, equal) * 12, "in", "joists that bring the same load"),)
        rows = dict(ledger_rows(max(longest, equal), loads, edition, TABLE_LOAD_PSF))
    even = max((t for t, (*_, j) in zip(totals, order) if j is not None and not at_points(j)), default=0.0)
    together_at = [
        (t, at, j) for t, (at, _, j) in zip(totals, order) if (j is None or at_points(j)) and t > even * (1 + AT_POINTS)
    ]
    if heaviest <= (TABLE_LOAD_PSF + TABLE_DEAD_PSF) * longest / 2:  # no foot has more than the table spreads over it
        together_at = []
    name, row = next(iter(rows.items()))
    found = [_gathered(max(together_at, key=lambda t: t[:2]), order[0][0], longest, name, row)] if together_at else []
    table, more = _fasteners(
        rows, heaviest, {name: z for name, z in each.items() if name not in short}, given, loads, edition
    )
    if pulled and given.ledger_fastener in (None, LAG_SCREW):
        more = [*more, _pulled_out(pulled[0], wood, edition)]
    return facts, table, more + found


def _pulled_out(post: Part, wood: Lumber, edition: str) -> Verdict:
    """One lag screw pulled along its axis by the load on a guard, all of it, as one joist brings it."""
    check, load = "pull of a guard", limit_or_missing("guard_handrail_concentrated_load", edition)
    if isinstance(load, Missing):
        return unchecked(check, load.why)
    w = withdrawal(wood, BAND, OCCUPANTS)
    lines = [
        CalcLine("load on the guard P", load.value, "lb", f"outwards at post {post.id}", load.citation),
        value_line("W' of one lag screw", w),
    ]
    why = "one screw takes all of it, its tip past the band; what it carries down is judged by itself"
    return verdict(check, load.value, w.value, "lb", "load on the guard", lines, why)


def line_load(at: Sequence[float], totals: Sequence[float], ends: Sequence[float] = ()) -> float:
    """Pounds a foot where joists bring `totals` at places, in order: the heaviest over half the distance to its
    neighbours, the `ends` of what they hang on among them. Those close to one another come to the same fasteners, in
    the middle of what they bring."""
    together: list[list[tuple[float, float]]] = []
    for x, total in zip(at, totals):
        if together and x - together[-1][0][0] < ON_THE_SAME:
            together[-1].append((x, total))
        else:
            together.append([(x, total)])
    places = [(_middle(found), sum(t for _, t in found)) for found in together]
    found = [0.0]
    for i, (x, total) in enumerate(places):
        gaps = [abs(x - places[k][0]) for k in (i - 1, i + 1) if 0 <= k < len(places)]
        gaps += [abs(x - e) for e, k in zip(ends, (0, len(places) - 1)) if k == i and abs(x - e) > ON_THE_SAME]
        found += [12 * total * len(gaps) / sum(gaps)] if gaps else []
    return max(found)


def _middle(loads: Sequence[tuple[float, float]]) -> float:
    """Of loads, each with its place; of none that presses, of the places."""
    whole = sum(max(t, 0.0) for _, t in loads)
    return sum(x * max(t, 0.0) for x, t in loads) / whole if whole > 0 else sum(x for x, _ in loads) / len(loads)


def _fasteners(
    rows: dict[str, Row | None],
    heaviest: float,
    each: dict[str, Adjusted],
    given: Hardware,
    loads: DesignLoads,
    edition: str,
) -> tuple[list[Prescribed], list[Verdict]]:
    """The row of the fastener that the file gives at its spacing, or, outside the table, its yield equations; without
    that, one row that says how near each kind has to stand."""
    kind, spacing = given.ledger_fastener, given.ledger_spacing
    if kind is None or spacing is None:
        return [_wanted(rows, heaviest, each)], []
    row, z = rows[kind], each.get(kind)
    if row is not None:
        found = against(f"ledger, {kind}", spacing, row, "")
        near = said(NEARER, apart=decimal(row.value, None))
        return [replace(found, why=near) if found.result == NOT_MET else found], []
    on_one = heaviest * spacing / 12
    how = said("w s / 12 = {w} lb/ft x {s} / 12", w=put_in(heaviest), s=decimal(spacing, None))
    lines = [CalcLine(f"on one {kind}", on_one, "lb", how)]
    if z is None:  # the equations know no gap, and no lag screw that goes into less wood than they ask for
        most = _most_on_one(kind, loads, edition)
        if most is None or on_one <= most.value:
            return [_wanted(rows, heaviest, each)], []
        return [], [_beyond(f"ledger, {kind}", on_one, most, lines, (heaviest, each))]
    apart = _apart(z, heaviest) if heaviest else spacing
    lines.append(value_line("Z'", z))
    judged = verdict(f"ledger, {kind}", on_one, z.value, "lb", "outside the table", lines)
    if judged.result == NOT_MET:
        why: Words = f"no spacing leaves wood between them: {ALL_ROUND}"
        if apart >= LEAST_APART:
            why = said(NEARER, apart=decimal(apart, None))
        judged = replace(judged, why=why)
    return [], [judged]


def _apart(z: Adjusted, heaviest: float) -> float:
    """Inches on centre at which one fastener holds its share of so many pounds a foot, in quarters."""
    return math.floor(12 * z.value / heaviest * 4) / 4


def _most_on_one(kind: str, loads: DesignLoads, edition: str) -> CalcLine | None:
    """The most that any row of the published table puts on one fastener of a kind: half of its joist span, at the load
    and the spacing of the row. None where the table has no row of it."""
    found = []
    for span in sorted({float(r["joist_span_ft"]) for r in table("ledger_fasteners")}):
        row = dict(ledger_rows(span, loads, edition, TABLE_LOAD_PSF))[kind]
        if row is not None and not row.doubtful:
            found.append((row.value / 12 * (TABLE_LOAD_PSF + TABLE_DEAD_PSF) * span / 2, span, row))
    if not found:
        return None
    pounds, span, row = max(found, key=lambda f: f[0])
    how = said(
        "{psf} psf on half of {span} ft of joist, {s} apart",
        psf=number(TABLE_LOAD_PSF + TABLE_DEAD_PSF),
        span=number(span),
        s=decimal(row.value, None),
    )
    return CalcLine("most on one by the table", pounds, "lb", how, row.citation)


def _beyond(
    check: str, on_one: float, most: CalcLine, lines: list[CalcLine], other: tuple[float, dict[str, Adjusted]]
) -> Verdict:
    """More on one fastener than any row of the table puts on it, and no equation for it: not met."""
    heaviest, each = other
    at = {name: apart for name, z in each.items() if (apart := _apart(z, heaviest)) >= LEAST_APART}
    why: Words = ALL_ROUND
    if at:
        name, apart = next(iter(at.items()))
        why = said(f'hardware.ledger_fastener = "{name}" {NEARER}', apart=decimal(apart, None))
    return verdict(check, on_one, most.value, "lb", "outside the table", [*lines, most], why)


def _wanted(rows: dict[str, Row | None], heaviest: float, each: dict[str, Adjusted]) -> Prescribed:
    """How near the fasteners have to stand, kind by kind: their spacing is not in the file."""
    by_table = [said(f"{kind} {{s}}", s=decimal(row.value, None)) for kind, row in rows.items() if row is not None]
    by_yield = [
        said(f"{kind} {{s}}", s=decimal(at, None))
        for kind, z in each.items()
        if heaviest and (at := _apart(z, heaviest)) >= LEAST_APART
    ]
    why: Words = "outside the table"
    if by_table:
        why = said("the published table allows {kinds} on centre", kinds=listed(by_table, ", "))
    if by_yield:
        told = (
            "{why}, and decides; by calculation alone {kinds}"
            if by_table
            else "{why}; by calculation {kinds} on centre"
        )
        why = said(told, why=why, kinds=listed(by_yield, ", "))
    why = said(
        "{why}; the ledger carries {w} lb a foot: say which you use, and how far apart (hardware.ledger_fastener,"
        " hardware.ledger_spacing)",
        why=why,
        w=number(heaviest, 0, grouped=True),
    )
    row = next((r for r in rows.values() if r is not None), None)
    return Prescribed(
        "ledger fasteners", None, row.value if row else None, "in", NOT_CHECKED, row.citation if row else "", why
    )


def _gathered(
    place: tuple[float, float, Member | None], start: float, longest: float, fastener: str, row: Row | None
) -> Verdict:
    """The greatest load that comes to a ledger in one place (a rim that carries a stair): the table of its fasteners
    spreads joists' loads evenly. How many of them that load is worth, by what the table's spacing gives each."""
    total, at, by = place
    on = f"from {by.role} {by.key}" if by is not None else "from what stands on it"
    lines = [CalcLine("load", total, "lb", said(f"{on}, {{at}} along", at=decimal(at - start, 1)))]
    why = said(
        "{total} lb come together at one place, and the table spreads its load", total=number(total, 0, grouped=True)
    )
    if row is not None and longest > 0:  # a rim alone may hang there, where no joist does
        psf = TABLE_LOAD_PSF + TABLE_DEAD_PSF
        each = row.value / 12 * longest / 2 * psf
        worth = said(
            "{spacing} / 12 x {span} / 2 x {psf} psf",
            spacing=number(row.value),
            span=number(longest, 2),
            psf=number(psf),
        )
        count = math.ceil(total / each - 1e-9)
        lines.append(CalcLine(f"one {fastener} by the table", each, "lb", worth, row.citation))
        lines.append(CalcLine("fasteners", count, "", said("{p} / {each}", p=number(total, 0), each=number(each, 0))))
        why = said(f"{{why}}: put {count} {fastener}{'s' if count > 1 else ''} beside it", why=why)
    return Verdict("load at one place", total, None, "lb", WORST_EACH, NOT_CHECKED, tuple(lines), why)
