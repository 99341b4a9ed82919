"""Boards against what they rest on: the deck's by the published joist spacings, treads of lumber by calculation."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict

import numpy as np

from ...shared.cited import Row
from ...shared.errors import PlumbcutError
from ...shared.said import Words, decimal, number, said, together
from ...shared.standards import assumed, clause
from ..measuring.contacts import Contact
from ..measuring.loose_ends import TREAD_BEARS_ON
from ..measuring.measure import Measured
from ..plan.edges import OUT_OF_TRUE
from ..plan.joist_spacing import SKEW
from ..solid.roles import named
from ..strength.nds import Lumber, bending, modulus
from .check_result import Checking, places

UNDER_BOARDS = named("under boards")
MAKERS = "the maker's value, given in the file"
ANGLE_ROUNDING = 0.1  # degrees: an angle in the file may be rounded


def check_boards(c: Checking) -> None:
    """Deck boards, then treads."""
    _deck_boards(c)
    for k in range(len(c.deck.parameters.stair)):
        _treads(c, k)


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
            c.skip("board span", row if makers is None else MAKERS, place, together(why, _spacing(gap)), (board.id,))
            continue
        wood = board.stock.material == "treated lumber"
        if makers is not None and not (wood and isinstance(row, Row) and row.value <= makers):
            c.add("board span", MAKERS, "at most", gap, place, (board.id,), bound=makers, unit="in o.c.")
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
        c.add("board span", row, "at most", gap, place, (board.id,))


def _treads(c: Checking, stair: int) -> None:
    """What each tread of a stair rests on: how far apart, and whether on two places at least."""
    rests: dict[str, list[Contact]] = defaultdict(list)
    for k in c.deck.contacts:
        if (
            k.kind == "bearing" and k.a.role == "tread" and k.a.stair == stair and k.b.role in TREAD_BEARS_ON
        ):  # a riser is no bearing
            rests[k.a.id].append(k)
    widest: dict[str, tuple[float, Measured]] = {}
    for i, contacts in rests.items():
        m = c.by_id[i]
        at = sorted(float(np.dot(k.point[:2], m.axis[:2])) for k in contacts)
        gap = max((b - a for a, b in itertools.pairwise(at)), default=0.0)
        if gap > widest.get(m.mark, (0.0, m))[0]:
            widest[m.mark] = (gap, m)
    labelled = [x for x in widest.values() if x[1].stock.material != "treated lumber"]
    if labelled:
        gap, m = max(labelled, key=lambda x: x[0])
        c.skip(
            "tread span",
            _labelled(c),
            f"stair {stair + 1} tread {m.mark}",
            said("{spacing}: compare with what is printed for the tread", spacing=_spacing(gap)),
            places([m for _, m in labelled]),
        )
    for gap, m in widest.values():
        if m.stock.material == "treated lumber":
            _lumber_tread(c, stair, m, gap)
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


def _lumber_tread(c: Checking, stair: int, m: Measured, gap: float) -> None:
    """A tread of lumber whose bearings are `gap` inches apart, centre to centre: 300 lb on one board, mid-span of a
    simple span, NDS and L/288."""
    load, ratio = c.row("stair_tread_concentrated_load"), assumed("tread_deflection_ratio")
    place = f"stair {stair + 1} tread {m.mark}"
    if c.lacks("tread, bending", place, load, ids=(m.id,)) and c.lacks("tread, deflection", place, load, ids=(m.id,)):
        return
    p = c.deck.parameters.lumber
    wood = Lumber.of(p)
    try:
        fb, e = bending(wood, m.stock.name, "live (occupancy)", False, flat=True), modulus(wood, m.stock.name)
    except PlumbcutError as missing:  # 5/4 boards have no design values
        c.skip(
            "tread span",
            load,
            place,
            together(str(missing).lstrip(": "), _spacing(gap)),
            (m.id,),
        )
        return
    s, inertia = m.width * m.thickness**2 / 6, m.width * m.thickness**3 / 12
    why = said(
        "{load} lb at the middle of one board spanning {gap}, laid flat", load=number(load.value), gap=decimal(gap)
    )
    c.add(
        "tread, bending",
        together(load.citation, fb.reference.citation),
        "at most",
        load.value * gap / 4 / s,
        place,
        (m.id,),
        bound=fb.value,
        unit="psi",
        why=together(why, said("Fb' = {formula}", formula=fb.formula)),
    )
    c.add(
        "tread, deflection",
        ratio,
        "at most",
        load.value * gap**3 / (48 * e.value * inertia),
        place,
        (m.id,),
        bound=gap / ratio.value,
        unit="in",
        why=together(why, said("L/{ratio}", ratio=number(ratio.value))),
    )


def _spacing(gap: float) -> Words:
    return said("greatest spacing of bearings {gap}", gap=decimal(gap, 3))


def _labelled(c: Checking) -> Words:
    """The clause that asks for a label on boards that are no lumber, and which label."""
    row = clause("boards labelled", c.edition)
    return together(row.citation, row.note, between=": ")
