"""The surface's boards, their gaps and the fascia against the maker's sheet, as the builder gives it: measured off the
solids. What the sheet leaves out is not spoken of."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import shapely
from shapely import Geometry

from ...shared.said import Words, decimal, number, said
from ..input.makers_sheet import BoardSheet, FasciaSheet
from ..measuring.board_edges import neighbours
from ..measuring.end_gaps import end_gaps
from ..measuring.measure import Measured
from ..solid.part import Part
from ..solid.roles import named
from .check_result import MAKERS_SHEET, Checking, places

END_GAP, EDGE_GAP = "end gap of the sheet", "edge gap of the sheet"
PAST_BEARING = "board past its bearing, by the sheet"
SKIRT_HEIGHT, RISER_HEIGHT = "skirt height", "riser height"
UNDER = named("under boards")
_WALKED = named("walked")


def check_makers(c: Checking) -> None:
    sheet = c.deck.parameters.maker
    boards = [m for m in c.of("board") if m.part.stair is None]
    _sizes(c, sheet.board, [*boards, *c.of("border", "breaker")])
    _gaps(c, sheet.board, boards)
    _past_bearings(c, sheet.board)
    _fascia(c, sheet.fascia, c.of("fascia"))
    if c.deck.parameters.surface.fastening == "hidden" and sheet.board.edges is not None and boards:
        met = "groove" in sheet.board.edges
        why = "clips hold them in a groove" if met else 'sold without a groove: surface.fastening = "face" would do'
        c.state("boards held by clips", MAKERS_SHEET, met, "surface", why)


def _each(pieces: Sequence[Measured], value: Callable[[Measured], float]) -> list[tuple[float, Words, tuple[str, ...]]]:
    return [(value(m), m.mark, (m.id,)) for m in pieces]


def _sizes(c: Checking, sheet: BoardSheet, boards: Sequence[Measured]) -> None:
    width, thickness = sheet.width, sheet.thickness
    whole = [m for m in boards if m.sizes.rip is None and m.role != "border"]
    if width is not None:
        off = _each(whole, lambda m: abs(m.width - width))
        why = said("{width} wide on the sheet", width=decimal(width, None))
        c.worst("board width off the sheet", MAKERS_SHEET, "at most", off, "boards", bound=0.0, unit="in", why=why)
    if thickness is not None:
        off = _each(boards, lambda m: abs(m.thickness - thickness))
        why = said("{thick} thick on the sheet", thick=decimal(thickness, None))
        c.worst("board thickness off the sheet", MAKERS_SHEET, "at most", off, "boards", bound=0.0, unit="in", why=why)
    if sheet.lengths:
        _longest(c, "board length", boards, sheet.lengths)


def _longest(c: Checking, rule: str, pieces: Sequence[Measured], sold: Sequence[float]) -> None:
    found = _each(pieces, lambda m: m.length)
    c.worst(rule, MAKERS_SHEET, "at most", found, "pieces", bound=max(sold), unit="in", why="the longest sold")


def _gaps(c: Checking, sheet: BoardSheet, boards: Sequence[Measured]) -> None:
    """Between boards, and at their ends by the temperature of the day."""
    if sheet.edge_gap is not None:
        beside = [(n.gap, f"{boards[n.i].mark}, {boards[n.j].mark}", n) for n in neighbours(boards)]
        found = [(gap, where, places([boards[n.i], boards[n.j]])) for gap, where, n in beside]
        c.worst(EDGE_GAP, MAKERS_SHEET, "at least", found, "gaps", bound=sheet.edge_gap, unit="in")
    if not sheet.end_gaps:
        return
    gaps = end_gaps(boards, c.of("border", "breaker"))
    day = c.deck.parameters.gaps.temperature_f
    printed = None if day is None else sheet.end_gap(day)
    if day is None or printed is None:
        c.skip(END_GAP, MAKERS_SHEET, "surface", "the sheet has it by the day's temperature: give gaps.temperature_f")
        return
    ends = [(g.gap, f"{g.board.mark}, {g.beyond.mark}", places([g.board, g.beyond])) for g in gaps]
    why = said("laid at {day} degrees Fahrenheit", day=number(day, 0))
    c.worst(END_GAP, MAKERS_SHEET, "at least", ends, "gaps", bound=printed, unit="in", why=why)


def _past_bearings(c: Checking, sheet: BoardSheet) -> None:
    if sheet.overhang is None:
        return
    ends = [e for e in c.deck.board_ends if e.area > 0 and e.part.role in _WALKED and e.part.stair is None]
    found: list[tuple[float, Words, tuple[str, ...]]] = [(e.overhang, e.part.mark, (e.part.id,)) for e in ends]
    for border in (m for m in c.of("border") if m.part.stair is None):
        carriers = [k.b for k in c.deck.contacts if k.a.id == border.id and k.kind == "bearing" and k.b.role in UNDER]
        found += _each([border], lambda m: _stands_out(m, carriers)) if carriers else []
    c.worst(PAST_BEARING, MAKERS_SHEET, "at most", found, "ends", bound=sheet.overhang, unit="in")


def _stands_out(border: Measured, carriers: Sequence[Part]) -> float:
    """How far an edge of a border lies past all that carries it, square to its length."""
    across = (-float(border.axis[1]), float(border.axis[0]))
    own = border.part.footprint
    under = shapely.union_all([p.footprint for p in carriers]).intersection(own)
    (a0, a1), (b0, b1) = (_extent(shape, across) for shape in (own, under))
    return max(b0 - a0, a1 - b1)


def _extent(shape: Geometry, way: tuple[float, float]) -> tuple[float, float]:
    s = shapely.get_coordinates(shape) @ np.asarray(way)
    return float(s.min()), float(s.max())


def _fascia(c: Checking, sheet: FasciaSheet, boards: Sequence[Measured]) -> None:
    thickness = sheet.thickness
    if thickness is not None:
        off = _each(boards, lambda m: abs(m.thickness - thickness))
        why = said("{thick} thick on the sheet", thick=decimal(thickness, None))
        c.worst("fascia thickness off the sheet", MAKERS_SHEET, "at most", off, "boards", bound=0.0, unit="in", why=why)
    if sheet.heights:
        told, most = "the widest sold; ripped from the next wider", max(sheet.heights)
        of_stairs = (RISER_HEIGHT, c.of("riser")), (SKIRT_HEIGHT, c.of("skirt"))
        for rule, trim in (("fascia height", boards), *of_stairs):
            high = _each(trim, lambda m: m.width)
            c.worst(rule, MAKERS_SHEET, "at most", high, "boards", bound=most, unit="in", why=told)
    if sheet.lengths:
        _longest(c, "fascia length", boards, sheet.lengths)
