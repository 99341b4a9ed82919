"""Boards against what they rest on: the deck's by the published joist spacings, and boards and treads of lumber by
calculation."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict

import numpy as np

from ...shared.cited import Row, in_doubt
from ...shared.design_values import GIVEN
from ...shared.said import Words, decimal, length, number, said, together
from ...shared.standards import assumed, clause
from ..input.parameters import Loads
from ..measuring.contacts import Contact
from ..measuring.gaps import coefficient_source, end_gap, longest_boards
from ..measuring.measure import Measured
from ..plan.edges import OUT_OF_TRUE
from ..plan.joist_spacing import SKEW
from ..plan.roof_snow import roof_snow
from ..solid.roles import named
from ..strength.nds import Lumber, NoValue
from ..structure.flat_boards import FlatBoard, check_flat_board, span_that_does
from ..structure.rated_hardware import AS_GIVEN
from ..structure.structure import Structure
from ..structure.tread_checks import CheckedTread, bearings_of_treads, tread_spans
from ..structure.verdicts import NOT_MET, CalcLine, Verdict
from .check_result import EXACT, Checking, compare, places

UNDER_BOARDS = named("under boards")
JOISTS_APART, STRINGERS_APART = "frame.joist_spacing", "stair.stringer_spacing"
MOVES = "movement of a board at its end gap"
CLOSES = "end gap of the day, in summer"
OPENS = "end gap of the day, in winter"
ANGLE_ROUNDING = 0.1  # degrees: an angle in the file may be rounded


def check_boards(c: Checking, structure: Structure) -> None:
    """Deck boards with the gaps at their ends, then treads, then the seats of benches."""
    _deck_boards(c)
    _end_gaps(c)
    _treads(c, structure)
    _seats(c)


def _end_gaps(c: Checking) -> None:
    """What the longest board of each kind moves from winter to summer, against the widest gap that is accepted: no gap
    serves a longer one, on whatever day it is laid. On a day that the file states, also whether the gap that is drawn
    closes in summer, or opens beyond that."""
    p, drawn = c.deck.parameters, c.deck.parameters.surface.end_gap
    for b in longest_boards(c.measured, p):
        if b.material.kind != "board":
            continue
        told = said("{role} {mark}, the longest of {length}", role=b.role, mark=b.mark, length=length(b.length))
        day = p.gaps.temperature_f
        g = end_gap(b.length, b.material, p.gaps.winter_f if day is None else day, p.gaps, drawn)
        ids = [m.id for m in c.measured if m.mark == b.mark]
        of = AS_GIVEN if b.material.how == GIVEN else coefficient_source(b.material)
        source = together(of, "the widest gap accepted in winter")
        rows = [(MOVES, "at most", g.range, p.gaps.limit)]
        if day is not None:
            rows += [(CLOSES, "at least", g.summer, 0.0), (OPENS, "at most", g.winter, p.gaps.limit)]
        for rule, kind, measured, bound in rows:
            if b.material.doubtful:
                met = compare(kind, measured, bound)[0]
                c.skip(
                    rule, source, told, together(in_doubt(met), said("it comes to {gap}", gap=decimal(measured))), ids
                )
            else:
                c.add(rule, source, kind, measured, told, ids, bound=bound)


def _deck_boards(c: Checking) -> None:
    """Spacing of what each field board rests on, measured along the board and square to the joists."""
    spacing: dict[bool, tuple[float, float, Measured]] = {}  # greatest spacing, angle from square, board
    rests: dict[str, list[Contact]] = defaultdict(list)
    for k in c.deck.contacts:
        if k.kind == "bearing" and k.a.role == "board" and k.b.role in UNDER_BOARDS and k.a.stair is None:
            rests[k.a.id].append(k)
    for i, contacts in rests.items():
        board = c.by_id[i]
        u = board.axis[:2]
        at = sorted(float(np.dot(k.point[:2], u)) for k in contacts)
        joist = next((k.b for k in contacts if k.b.role == "joist"), None)
        if joist is None:
            continue
        j = c.by_id[joist.id].axis[:2]
        slant = math.sqrt(max(1e-9, 1 - float(u @ j) ** 2))
        lean = math.degrees(math.acos(min(1.0, slant)))
        square = lean < OUT_OF_TRUE
        gap = max((b - a for a, b in itertools.pairwise(at)), default=0.0) * slant  # square to the joists
        if square not in spacing or gap > spacing[square][0]:
            spacing[square] = (gap, lean, board)
    for square, (gap, lean, board) in spacing.items():
        place = f"{board.mark}, boards {'square to the joists' if square else 'at an angle'}"
        row, makers = c.joist_spacing(board.thickness, square), c.makers_spacing(square)
        if not square and lean > SKEW + ANGLE_ROUNDING:
            why = said(
                "boards {lean} degrees from square: the row goes to {most}", lean=number(lean, 1), most=number(SKEW)
            )
            c.skip(
                "board span",
                row if makers is None else c.makers_word(square),
                place,
                together(why, _spacing(gap)),
                (board.id,),
            )
            continue
        wood = board.stock.material == "treated lumber"
        if makers is not None and not (wood and isinstance(row, Row) and row.value <= makers):
            near = _nearer(makers, JOISTS_APART) if gap > makers + EXACT else ""
            by = c.makers_word(square)
            c.add("board span", by, "at most", gap, place, (board.id,), bound=makers, unit="in o.c.", why=near)
            continue
        if not wood:
            c.skip(
                "board span",
                _labelled(c),
                place,
                said("{spacing}: compare with the span rating printed for the board", spacing=_spacing(gap)),
                (board.id,),
            )
            continue
        over = isinstance(row, Row) and gap > row.value + EXACT
        c.add(
            "board span", row, "at most", gap, place, (board.id,), why=_nearer(row.value, JOISTS_APART) if over else ""
        )
        _board_strength(c, board, gap, gap / max(1e-3, math.cos(math.radians(lean))), place)


def _nearer(most: float, key: str) -> Words:
    """What would do for boards whose bearings are too far apart: at most so many inches on centre, by a key."""
    return said(f"{{most}} on centre would do ({key})", most=decimal(math.floor(most * 8 + 1e-6) / 8, None))


def _loads_on_boards(c: Checking) -> Loads:
    """The uniform loads, with the snow from a roof above where it lies highest."""
    p = c.deck.parameters
    snow = roof_snow(p, c.deck.layout.outline)
    most = max((s.psf for s in snow.strips), default=0.0) if snow is not None else 0.0
    return p.loads.model_copy(update={"ground_snow_psf": p.loads.ground_snow_psf + most}) if most else p.loads


def _board_strength(c: Checking, board: Measured, gap: float, along: float, place: str) -> None:
    """A deck board of lumber with published design values, on bearings `gap` inches apart square to the joists, `along`
    it so many. No table asks for a single load on a deck."""
    b = FlatBoard(board.stock, board.width, board.thickness, along, board.width + c.deck.parameters.surface.edge_gap)
    p = c.deck.parameters
    try:
        found = check_flat_board(b, Lumber.of(p.lumber), _loads_on_boards(c), assumed("deflection_ratio_span"))
    except NoValue:  # 5/4 boards have no design values: their table alone decides
        return
    for v in found:
        _say(c, f"board, {v.check}", v, place, board, _span_mend(b, v, JOISTS_APART, gap / along))


def _span_mend(b: FlatBoard, v: Verdict, key: str, slant: float = 1.0) -> Words:
    """What would do where a check of a board is not met; `slant`: inches square to its bearings for each along it."""
    if v.result != NOT_MET:
        return ""
    most = span_that_does(b, v)
    return "a thicker board would do (surface.board_thickness)" if most is None else _nearer(most * slant, key)


def _say(c: Checking, rule: str, v: Verdict, place: str, m: Measured, mend: Words) -> None:
    """A row of a board's calculation."""
    values = together(*dict.fromkeys(line.source for line in v.lines if line.source))
    allowed = next((_allowed(l) for l in v.lines if l.label in ("Fb'", "Fv'", "E'")), "")
    assert v.demand is not None and v.capacity is not None, "a board is told of with both, or not at all"
    why = together(v.why, allowed, mend)
    c.add(rule, values, "at most", v.demand, place, (m.id,), bound=v.capacity, unit=v.unit, why=why)


def _allowed(line: CalcLine) -> Words:
    value = number(line.value, 0, grouped=True)
    return said(f"{line.label} = {{by}} = {{value}} {line.unit}", by=line.formula, value=value)


def _treads(c: Checking, structure: Structure) -> None:
    """What the treads of every stair rest on: how far apart, and whether on two places at least."""
    unrated: dict[str, list[tuple[float, int, Measured]]] = defaultdict(list)
    calculated = {t.span.part.id: t for t in structure.treads}
    rests = bearings_of_treads(c.deck.contacts)
    spans = tread_spans(c.deck.parts, c.deck.contacts)
    for stair, given in enumerate(c.deck.parameters.stair):
        for s in (s for s in spans if s.part.stair == stair):
            m = c.by_id[s.part.id]
            if m.id in calculated:
                _lumber_tread(c, stair, m, calculated[m.id])
            else:
                unrated[m.stock.name if given.tread_max_span is None else str(stair)].append((s.gap, stair, m))
        treads = c.of("tread", stair=stair)
        bare = [m for m in treads if len(rests[m.id]) < 2]
        if treads:
            c.state(
                "treads borne at both ends",
                "statics",
                not bare,
                f"stair {stair + 1}",
                f"{len(bare)} tread pieces rest on fewer than two places"
                if bare
                else "every tread piece rests on two places or more",
                places(bare),
            )
    for group in unrated.values():
        _unrated_treads(c, group)


def _unrated_treads(c: Checking, group: list[tuple[float, int, Measured]]) -> None:
    """Treads without published design values: against what the maker prints for them, where the file says that; else
    one row for all of a kind."""
    gap, stair, m = max(group, key=lambda x: x[0])
    makers = c.deck.parameters.stair[stair].tread_max_span
    place, ids = f"stair {stair + 1} tread {m.mark}", places([m for *_, m in group])
    if makers is not None:
        why = _nearer(makers, STRINGERS_APART) if gap > makers + EXACT else ""
        c.add("tread span", AS_GIVEN, "at most", gap, place, ids, bound=makers, unit="in o.c.", why=why)
        return
    c.skip(
        "tread span",
        _labelled(c),
        place,
        said(
            "{spacing}: compare with what is printed for the tread, or give it (stair.tread_max_span)",
            spacing=_spacing(gap),
        ),
        ids,
    )


def _lumber_tread(c: Checking, stair: int, m: Measured, checked: CheckedTread) -> None:
    """A tread of lumber with published design values, as it was calculated."""
    place, load = f"stair {stair + 1} tread {m.mark}", c.row("stair_tread_concentrated_load")
    for v in checked.checks:
        _say(c, f"tread, {v.check}", v, place, m, _span_mend(checked.board, v, STRINGERS_APART))
    if not isinstance(load, Row):
        c.lacks("tread, single load", place, load, ids=(m.id,))


def _seats(c: Checking) -> None:
    """The seat boards of each bench between its frames: by NDS those of lumber, else by what the maker prints."""
    rests: dict[str, list[float]] = defaultdict(list)
    for k in c.deck.contacts:
        if k.kind == "bearing" and k.a.role == "bench seat":
            rests[k.a.id].append(float(np.dot(k.point[:2], c.by_id[k.a.id].axis[:2])))
    widest: dict[str, tuple[float, Measured]] = {}
    for i, at in rests.items():
        m, gap = c.by_id[i], max((b - a for a, b in itertools.pairwise(sorted(at))), default=0.0)
        widest[m.part.where] = max(widest.get(m.part.where, (0.0, m)), (gap, m), key=lambda x: x[0])
    p = c.deck.parameters
    for where, (gap, m) in widest.items():
        place, makers = f"{where}, seat {m.mark}", c.makers_spacing(True)
        key = f"bench.{int(where.split()[1]) - 1}.frame_spacing"
        if m.stock.material != "treated lumber" and makers is not None:
            near = _nearer(makers, key) if gap > makers + EXACT else ""
            c.add(
                "bench seat span",
                c.makers_word(True),
                "at most",
                gap,
                place,
                (m.id,),
                bound=makers,
                unit="in o.c.",
                why=near,
            )
            continue
        b = FlatBoard(m.stock, m.width, m.thickness, gap, m.width)
        try:
            found = check_flat_board(b, Lumber.of(p.lumber), p.loads, assumed("deflection_ratio_span"))
        except NoValue:
            told = said("{spacing}: compare with the span rating printed for the board", spacing=_spacing(gap))
            c.skip("bench seat span", _labelled(c), place, told, (m.id,))
            continue
        for v in found:
            _say(c, f"bench seat, {v.check}", v, place, m, _span_mend(b, v, key))


def _spacing(gap: float) -> Words:
    return said("greatest spacing of bearings {gap}", gap=decimal(gap, 3))


def _labelled(c: Checking) -> Words:
    """The clause that asks for a label on boards that are no lumber, and which label."""
    row = clause("boards labelled", c.edition)
    return together(row.citation, row.note, between=": ")
