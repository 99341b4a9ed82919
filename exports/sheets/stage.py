"""What every sheet stands on: the deck as read off its pieces, the paper, scales that fit, strings of dimensions,
notes."""

from __future__ import annotations

import heapq
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

from ...model.measuring.deck_seen import DeckSeen
from ...model.measuring.flight_seen import FlightSeen
from ...model.measuring.measure import measure_all
from ...model.measuring.notched_seat import NotchedSeat, notched_seats
from ...model.solid.part import Part
from ...model.solid.roles import named
from ...shared.said import Words
from ...shared.stock import Stock
from ...shared.units import feet_inches, inches, millimetres
from ..drafting import annotate, style
from ..drafting import drawing as d
from ..drafting.draft import items_box
from ..drafting.furniture import TITLE_DEPTH
from ..drafting.noting import set_note, set_title
from ..drafting.wording import stock_text, without_keys, worded
from ..linework.eye import Eye
from . import in_plan, keynotes

AT_JOIST_LEVEL, SURFACE = named("joist level"), named("walked")
METRIC_LIKE = {8.0: 10.0, 12.0: 10.0, 16.0: 20.0, 24.0: 25.0, 32.0: 25.0, 48.0: 50.0, 96.0: 100.0}
LARGEST_PLAN = 12.0  # 1 in = 1 ft
LARGEST_SECTION = 8.0  # 1-1/2 in = 1 ft
CROWDED = 2  # smaller scales tried where a note finds no place, as long as each finds room for more


@dataclass
class Stage:
    """One set in the making. `deck` has parts, parameters, layout, planes and notes; `checks` are the rule results."""

    deck: Any
    measured: Any
    checks: Iterable[Any]
    paper: str
    metric: bool
    drawing: d.DrawingSet
    refs: dict[str, tuple[str, str]] = field(default_factory=dict)
    later: list[tuple[str, list[str]]] = field(default_factory=list)  # notes without room beside their view
    tables_later: list[d.Table] = field(default_factory=list)  # tables without room beside their view
    keynotes: dict[str, list[str]] = field(default_factory=dict)  # words of the numbers on a view, by the view's name
    known: dict[Any, Any] = field(default_factory=dict)  # views made once and used on several sheets
    too_large: dict[str, float] = field(default_factory=dict)  # the scale asked for that has no room, by the view

    def once(self, key, make: Callable[[], Any]) -> Any:
        if key not in self.known:
            self.known[key] = make()
        return self.known[key]

    @property
    def of_plans(self) -> float:
        """The largest scale that plans and elevations are drawn at: the one the office asks for, else 1 in = 1 ft."""
        return self.deck.parameters.drawing.asked_scale or LARGEST_PLAN

    @property
    def parts(self):
        return self.deck.parts

    @cached_property
    def deck_parts(self) -> list:
        """The pieces of the deck itself: a stair's landing has joists, beams and posts of its own."""
        return [p for p in self.parts if p.stair is None]

    def deck_of(self, *roles: str) -> list:
        return [p for p in self.of(*roles) if p.stair is None]

    @cached_property
    def _by_role(self) -> dict[str, list[tuple[int, Any]]]:
        """Pieces of each role, each with its place among all."""
        found: dict[str, list[tuple[int, Any]]] = {}
        for k, p in enumerate(self.parts):
            found.setdefault(p.role, []).append((k, p))
        return found

    def of(self, *roles: str) -> list:
        """The pieces of some roles in the order of the deck."""
        found = [self._by_role.get(r, []) for r in dict.fromkeys(roles)]
        return [p for _, p in (found[0] if len(found) == 1 else heapq.merge(*found))]

    @cached_property
    def measured_rows(self) -> list:
        """model.measure's rows; measured now where the caller has none."""
        if self.measured is not None:
            return list(self.measured)
        return list(measure_all(self.parts))

    @cached_property
    def beams(self) -> list[in_plan.BeamLine]:
        return in_plan.beam_lines(self.deck_parts)

    def beam_text(self, part: Part) -> str:
        """Plies and stock of the beam that a piece belongs to."""
        return next((b for b in self.beams if any(p.id == part.id for p in b.plies)), self.beams[0]).text

    @cached_property
    def flush_beams(self) -> list[in_plan.BeamLine]:
        """Those of the beams at joist level, on which joists hang."""
        return [b for b in self.beams if any(b.hangs(j) for j in self.deck_of("joist"))]

    @cached_property
    def groups(self) -> list[in_plan.JoistGroup]:
        joists = [m for m in self.seen.members if m.role == "joist" and m.first.stair is None]
        return in_plan.joist_groups(joists, {p.id: p for p in self.parts})

    @cached_property
    def seen(self) -> DeckSeen:
        """What the solids show: the same reading that the checks take."""
        return DeckSeen(self.measured_rows, lambda: self.deck.members, self.deck.planes.grade)

    @cached_property
    def notched(self) -> dict[str, NotchedSeat]:
        """The posts in whose notches beams sit, by id."""
        return notched_seats(self.deck.contacts)

    @cached_property
    def flights(self) -> list[FlightSeen]:
        """Every flight, stair by stair from the deck down."""
        return [f for stair in self.seen.stairs for f in self.seen.flights(stair)]

    def flight_name(self, n: int) -> str:
        """Flight `n` of all in words: where there are several stairs as checks and cards call it."""
        return self.flights[n].name if len(self.seen.stairs) > 1 else f"stair flight {n + 1}"

    @cached_property
    def surface_top(self) -> float:
        boards = [p for p in self.of(*SURFACE) if p.stair is None] or self.of("joist")
        return float(max(p.box[1, 2] for p in boards))

    @cached_property
    def frame_top(self) -> float:
        return float(max((p.box[1, 2] for p in self.of("joist", "rim", "ledger")), default=self.surface_top))

    def edge(self, name: str):
        return self.deck.layout.outline[name]

    @cached_property
    def edges(self) -> list:
        return list(self.deck.layout.outline.edges)

    @cached_property
    def house_edges(self) -> list:
        return [e for e in self.edges if e.house]

    def grade(self, x: float, y: float) -> float:
        return float(self.deck.planes.grade(x, y))

    def low_grade(self, part: Part) -> float:
        """Grade on the low side of what stands in the ground."""
        return float(self.deck.planes.lowest_round(part.footprint))

    def ground(self, view: Eye, through: Sequence[float] = (0.0, 0.0)):
        """Height of grade at the view's u, in the upright plane through a plan point."""
        right, toward = np.asarray(view.right[:2]), np.asarray(view.toward[:2])
        base = toward * float(np.dot(through[:2], toward))

        def height(u: float) -> float:
            x, y = base + right * u
            return self.grade(float(x), float(y))

        return height

    # ---- words -------------------------------------------------------------------------------------------------------
    def text(self, value: float) -> str:
        return millimetres(value) if self.metric else feet_inches(value)

    def inch(self, value: float) -> str:
        """A small size in inches alone (16", 1/8")."""
        return f"{millimetres(value)} MM" if self.metric else inches(value)

    def stock(self, stock: Stock) -> str:
        """A stock's name as lettered."""
        return stock_text(stock, self.metric)

    def words(self, what: Words) -> str:
        """A sentence of the model as lettered: capitals, in the set's units, without keys of the parameter file."""
        return re.sub(r"(?<=\d)X(?=\d)", "x", without_keys(worded(what, self.metric)).upper())

    @property
    def string_spacing(self) -> float:
        """Paper inches from one string of dimensions to the next."""
        return style.DIM_SPACING * (0.8 if self.small else 1.0)

    def ref(self, key: str) -> str:
        number, sheet = self.refs[key]
        return f"{number}/{sheet}"

    @property
    def small(self) -> bool:
        """A paper too small for a column of notes beside a view: its notes stand on a sheet of their own."""
        return style.room(self.paper)[2] - style.room(self.paper)[0] < 12

    def beside(self, sheet: d.Sheet, width: float, gap: float = 0.3) -> tuple[d.Box, d.Box | None]:
        """The sheet's room divided into a wide one for the view and a column of `width` at its right (None on small
        papers)."""
        x0, y0, x1, y1 = sheet.room
        return ((x0, y0, x1, y1), None) if self.small else ((x0, y0, x1 - width - gap, y1), (x1 - width, y0, x1, y1))

    def notes(
        self, sheet: d.Sheet, room: d.Box | None, title: str, rows: Sequence[str], layer: str = "A-ANNO-LEGN"
    ) -> float:
        """Numbered notes down a column of the sheet, or kept for the sheet of notes where there is no column. Returns
        where they end."""
        if room is None:
            self.later.append((title, list(rows)))
            return 0.0
        (x, _, _, y), width = room, room[2] - room[0]
        y = set_title(sheet, title, x, y, layer)
        for n, row in enumerate(rows, 1):
            y = set_note(sheet, n, row, x, y, width, layer)
        return y

    # ---- papers ------------------------------------------------------------------------------------------------------
    def sheet(self, number: str, name: str, **fields: str) -> d.Sheet:
        sheet = d.Sheet(number, name, self.paper, fields=fields)
        self.drawing.sheets.append(sheet)
        return sheet

    def fitted(
        self,
        draw: Callable[[float], d.View],
        box: d.Box,
        room: d.Box,
        at_most: float,
        spare: tuple[float, float] = (1.6, 0.25),
        on_leaders: bool = False,
        plan: bool = False,
    ) -> d.View:
        """The view that `draw` makes at the largest standard scale at which it fits the room with its dimensions.

        `box` is what is drawn at true size; `spare` paper inches are kept in width and height for notes, which are laid
        out later. `at_most` is the largest scale wanted (48 for 1/4 in = 1 ft); metric sets take the like metric one.
        On a small paper notes become keynotes where there are many, but `on_leaders`: `place` letters their column. Of
        a `plan`, or an elevation, the scale that the office asks for is kept wherever it fits, and said under the view
        where it does not.
        """
        asked = self.deck.parameters.drawing.asked_scale if plan else None
        keyed = self.small and not on_leaders and keynotes.wanted(draw(at_most))
        if keyed:
            room, spare = self._beside_keynotes(room), (0.1, 0.1)
        wide, high = room[2] - room[0] - spare[0], room[3] - room[1] - TITLE_DEPTH - spare[1]
        if self.metric:
            at_most = METRIC_LIKE.get(at_most, at_most)
        scale = style.fitting_scale(
            (box[2] - box[0], box[3] - box[1]), (max(wide, 0.5), max(high, 0.5)), self.metric, at_most
        )
        best: tuple[int, d.View] | None = None
        crowded, first = 0, scale

        def drawn(at: float) -> d.View:
            view = draw(at)
            if keyed:
                self.keynotes[view.name] = keynotes.keyed(view)
            return view

        for _ in range(10):
            view = drawn(scale)
            body = items_box(view.items, scale, self.metric)
            if (body[2] - body[0]) / scale <= wide and (body[3] - body[1]) / scale <= high:
                full = room_in_view(body, scale, room)
                left_over = len(annotate.place(view, full, self.metric).unplaced)
                whole = items_box(view.items, scale, self.metric)
                if (
                    whole[2] - whole[0] <= full[2] - full[0] + 0.1 * scale
                    and whole[3] - whole[1] <= full[3] - full[1] + 0.1 * scale
                ):
                    helped = best is None or left_over < best[0]
                    if helped:
                        best = left_over, view
                    crowded += 1
                    if not left_over or not helped or crowded > CROWDED or asked:
                        break
            scale = style.fitting_scale((1.0, 1.0), (1.0, 1.0), self.metric, scale * 1.001)
        if best is None:  # nothing fits: the scale its drawn size asks for, and what overhangs is seen
            view = drawn(first)
            annotate.place(view, None, self.metric)
        return self._as_asked(best[1] if best else view, asked)

    def _as_asked(self, view: d.View, asked: float | None) -> d.View:
        """The view, noted where it came out smaller than it was asked for."""
        if asked and view.scale > asked + 1e-9:
            self.too_large[view.name] = asked
        return view

    @staticmethod
    def _beside_keynotes(room: d.Box) -> d.Box:
        return room[0], room[1], room[2] - keynotes.WIDTH - 0.1, room[3]

    def place(self, sheet: d.Sheet, view: d.View, room: d.Box, title: str, number: str, note: str = "") -> d.Viewport:
        """A viewport in the middle of its room, the title below it, its keynotes at the right."""
        if words := self.keynotes.get(view.name):
            keynotes.column(sheet, words, room[2] - keynotes.WIDTH, room[3])
            room = self._beside_keynotes(room)
        if view.name in self.too_large:
            asked = style.scale_note(self.too_large[view.name], self.metric)
            note = f"{note} {asked} HAS NO ROOM ON THIS PAPER.".strip()
        port = d.Viewport(
            view, ((room[0] + room[2]) / 2, (room[1] + TITLE_DEPTH + room[3]) / 2), None, title, number, note
        )
        sheet.viewports.append(port)
        return port


def room_in_view(body: d.Box, scale: float, room: d.Box) -> d.Box:
    """The room of a view, less its title, in the view's own coordinates, its middle on the middle of `body`."""
    u, v = (body[0] + body[2]) / 2, (body[1] + body[3]) / 2
    half_u, half_v = (room[2] - room[0]) / 2 * scale, (room[3] - room[1] - TITLE_DEPTH) / 2 * scale
    return (u - half_u, v - half_v, u + half_u, v + half_v)


def grown(box: d.Box, by: float) -> d.Box:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def joined_box(boxes: Iterable[d.Box]) -> d.Box:
    boxes = list(boxes)
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)
