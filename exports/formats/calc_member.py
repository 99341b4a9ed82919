"""The governing member of a kind in the calculation: its diagram beside what was measured, every check of it in one
table, and the governing check of each sort worked line by line."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Any

from reportlab.platypus import CondPageBreak, Flowable, HRFlowable, KeepTogether, Spacer, Table

from ...model.structure.prescribed import Prescribed
from ...model.structure.structure import MemberResult, Structure
from ...model.structure.verdicts import MET, NOT_CHECKED, CalcLine, Verdict
from ..drafting.wording import worded
from .calc_diagram import DiagramFlowable
from .calc_opening import section_of
from .calc_style import PAGE_ROOM, equation, equations, figure, ratio_text, table, text

_START, _START_PLAIN = 228.0, 120.0  # points left on a page for which a member with a diagram, or without, begins there
_TALLEST = 560.0  # points that a row of a table may be high beside the heading of its member, on one page
_ALIKE = ("bottom rail", "baluster")  # bent as a top rail is: its diagram serves
_IN_DIAGRAM = ("support", "point load")  # facts that the diagram shows; point loads are told on one line
_MOST_IDS = 12
_SORTS = ("bending", "shear", "bearing", "deflection", "nailing", "compression", "uplift")


def member_pages(structure: Structure, r: MemberResult) -> list[Flowable]:
    """All that is told of one member. It begins a page where little room is left on the one before."""
    every = structure.of(r.kind)
    alike = [m for m in every if m.mark == r.mark]
    ids = ", ".join(r.ids[:_MOST_IDS]) + (f" and {len(r.ids) - _MOST_IDS} more" if len(r.ids) > _MOST_IDS else "")
    told = f"{r.where}. Piece{'s' if len(r.ids) > 1 else ''} {ids}; the {r.kind} with least room of {len(every)}"
    told += f", {len(alike)} of them with this mark." if len(alike) > 1 else "."
    head: list[Flowable] = [
        HRFlowable(width="100%", thickness=0.8, color="#000000", spaceBefore=8, spaceAfter=0),
        text(f"{r.kind.capitalize()} {r.mark}: {r.stock}", "title"),
        text(told),
        *_measured(r, structure),
    ]
    checks = [text("Checks", "section"), _checks(r), text(_governs(r))]
    start = _START if r.drawn is not None and r.kind not in _ALIKE else _START_PLAIN
    return [CondPageBreak(start), KeepTogether(head), *checks, *(_worked(v) for v in _shown(r))]


def _measured(r: MemberResult, structure: Structure) -> list[Flowable]:
    """The diagram, with what was measured beside it, or under it where that is more than a page holds; of what is no
    beam what was measured alone."""
    diagram = r.diagram(structure.loads) if r.kind not in _ALIKE else None
    if diagram is None:
        return [_facts(r.facts, PAGE_ROOM)]
    room = PAGE_ROOM - 284
    beside = _facts(r.facts, room)
    if beside.wrap(room, 0)[1] > _TALLEST:  # a beam on dozens of supports: its rows go on over the page
        return [DiagramFlowable(diagram), Spacer(1, 12), _facts(r.facts, PAGE_ROOM)]
    made = Table([[DiagramFlowable(diagram), beside]], colWidths=[284, room], hAlign="LEFT")
    made.setStyle(
        [("VALIGN", (0, 0), (-1, -1), "TOP"), *((p, (0, 0), (-1, -1), 0) for p in ("LEFTPADDING", "RIGHTPADDING"))]
    )
    return [made]


def _facts(facts: Sequence[CalcLine], width: float) -> Table:
    told: dict[str, list[str]] = {}
    for f in facts:
        if not f.label.startswith(_IN_DIAGRAM):
            _, made, more = equation(f)
            told.setdefault(f.label, []).append(made + (f"; {more}" if more and more != "measured" else ""))
    rows = [(text(label, "small"), text(_in_one(said), "small")) for label, said in told.items()]
    points = [f for f in facts if f.label == "point load"]
    if points:
        places = [re.search(r"at ([-\d.,]+) in", worded(f.formula)) for f in points]
        said = "; ".join(f"{figure(f.value)} lb at {p[1] if p else '?'} in" for f, p in zip(points, places))
        rows.append((text("point loads", "small"), text(said, "small")))
    return table((), rows, (0.28 * width, 0.72 * width))


def _in_one(said: Sequence[str]) -> str:
    """Several values of one name on one line; what is told of all alike once."""
    pairs = [s.split("; ", 1) for s in said]
    if all(p[1:] == pairs[0][1:] for p in pairs):
        return "; ".join([", ".join(p[0] for p in pairs), *pairs[0][1:]])
    return "; ".join(said)


def _checks(r: MemberResult) -> Table:
    """Every check of both routes."""
    rows: list[tuple[Any, ...]] = []
    for p in r.table:
        bound = "-" if p.limit is None else f"{'at most' if p.at_most else 'at least'} {figure(p.limit, p.unit)}"
        rows.append((f"table: {p.check}", figure(p.measured, p.unit), bound, ratio_text(p.ratio), _why(p), p.result))
    for v in r.calculation:
        demand, capacity = figure(v.demand, v.unit), figure(v.capacity, v.unit)
        check = f"{v.check}, {v.combination}" if v.combination else v.check
        rows.append((check, demand, capacity, ratio_text(v.ratio), _why(v), v.result))
    return table(("check", "demand", "limit", "ratio", "rule", "result"), rows, (150, 54, 76, 32, 158, 52), (3,))


def _why(x: Prescribed | Verdict) -> Any:
    """The rule, and why it was not checked where it was not."""
    rule = worded(x.source) if isinstance(x, Prescribed) else section_of(x.rule)
    told = rule if x.result != NOT_CHECKED or not x.why else f"{rule}: {worded(x.why)}"
    return text(told if rule != "-" else told.removeprefix("-: "), "small")


def _governs(r: MemberResult) -> str:
    found = [{x.result for x in route} - {NOT_CHECKED} for route in (r.table, r.calculation)]
    differ = all(found) and ("not met" in found[0]) != ("not met" in found[1])
    counts = " The table and the calculation differ: the one that is not met counts." if differ else ""
    return f"Governs: {worded(r.governs)}. Result: {r.result}.{counts}"


def _shown(r: MemberResult) -> Iterator[Verdict]:
    """The checks that are worked on the page: of each sort the one with least room, those left open without lines of
    their own left out. All lines of all checks stand in calcs.csv."""
    sorts: dict[str, list[Verdict]] = {}
    for v in (v for v in r.calculation if v.lines):
        sorts.setdefault(next((s for s in _SORTS if v.check.startswith(s)), v.check), []).append(v)
    for found in sorts.values():
        yield max(found, key=lambda v: (-1.0 if v.ratio is None else v.ratio, v.demand or 0.0))


def _worked(v: Verdict) -> Flowable:
    """A check line by line, and at its end demand over limit."""
    head = v.check[:1].upper() + v.check[1:] + (f", {v.combination}" if v.combination else "")
    story: list[Flowable] = [text(head, "section"), equations(v.lines)]
    if v.demand is not None and v.capacity is not None:
        sign = "<=" if v.demand <= v.capacity * (1 + 1e-9) else ">"
        told = f"{figure(v.demand)} / {figure(v.capacity, v.unit)} = {ratio_text(v.ratio)} {sign} 1: {v.result}"
        story.append(text(told + (f"; {worded(v.why)}" if v.why else "")))
    else:
        story.append(text(f"{v.result}: {worded(v.why)}"))
    return KeepTogether(story)


def results_in_short(results: Sequence[MemberResult]) -> Table:
    """A row for every mark, worst of those alike, so that the pages can be seen to show the governing ones."""
    rows: dict[tuple[str, str], tuple[MemberResult, int]] = {}
    for r in results:
        key = r.kind, r.mark
        worst, n = rows.get(key, (r, 0))
        rows[key] = (r if r.worst[0] > worst.worst[0] else worst), n + 1
    return table(
        ("kind", "mark", "number", "stock", "place of the worst", "ratio", "what governs", "result"),
        [
            (
                r.kind,
                r.mark,
                str(n),
                r.stock,
                r.where,
                ratio_text(r.worst[0]) if r.result in (MET, "not met") else "-",
                worded(r.governs),
                r.result,
            )
            for r, n in rows.values()
        ],
        (56, 36, 36, 50, 118, 36, 136, 54),
        (2, 5),
    )
