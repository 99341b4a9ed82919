"""How many screws and clips the sheet of the boards' maker asks for, as the builder gives it; what it leaves out is
counted as the data has it. Places are those of the data's rows, `each` screws to one: a place may be a part of one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from ...shared.said import Words, decimal, listed, said, surface, together
from ..input.makers_sheet import MakersSheet
from ..input.parameters import Order, Parameters
from ..measuring.measure import Measured
from ..solid.roles import named
from .hardware_rules import Rule, in_rows, rules
from .tally import Placed

if TYPE_CHECKING:
    from ..deck import Deck

SHEET_SAYS = "maker's sheet, given by the builder"
_EDGE_BOARDS = ("border", "breaker")
CLIP = "hidden clip"


@dataclass(frozen=True)
class SheetCounts:
    """`sheet` as given; `joists` inches on centre, by which the coverage of a pack of clips goes."""

    sheet: MakersSheet = field(default_factory=MakersSheet)
    joists: float = 16.0

    def crossing(self, role: str) -> float:
        """Places of deck screws where a board of that role crosses what it is screwed to."""
        own = self.sheet.border.screws if role in _EDGE_BOARDS else None
        return self._places("deck screw", own or self.sheet.board.screws)

    def along(self, run: float) -> float:
        """Places of deck screws of a border along one of the two pieces that carry it: half of a crossing's each
        time."""
        border, rule = self.sheet.border, rules()["deck screw"]
        assert rule.rows is not None, "the data gives deck screws a distance along a border"
        half = self._places("deck screw", border.screws) / 2
        if border.apart is None:
            return half * (math.floor(run / rule.rows + 1e-9) + 1)
        return half * (math.ceil(run / border.apart - 1e-9) + 1)

    def fascia(self, long: float) -> float:
        """Places of fascia screws in a board so long: rows from one end to the other."""
        f = self.sheet.fascia
        if f.apart is None:
            return self._places("fascia screw", f.screws) * in_rows("fascia screw", long)
        rows = math.ceil(max(0.0, long - 2 * f.end) / f.apart - 1e-9) + 1
        return self._places("fascia screw", f.screws) * rows

    def pattern(self, item: str, role: str) -> tuple[float, float, int]:
        """Of an item in rows on a piece of that role: inches of the first row from an end, the most between two rows,
        how many stand in one."""
        rule, f = rules()[item], self.sheet.fascia
        assert rule.rows is not None, f"{item} stands in no row"
        if item != "fascia screw" or role != "fascia":
            return rule.end or 0.0, rule.rows, int(rule.each)
        end, apart = (f.end, f.apart) if f.apart is not None else (rule.end or 0.0, rule.rows)
        return end, apart, f.screws or int(rule.each)

    @property
    def on_stringer(self) -> float:
        """Places of tread screws of a tread or riser on one stringer."""
        return self._places("tread screw", self.sheet.steps.screws)

    def least_packs(self, item: str, placed: Sequence[Placed]) -> int:
        """Packs of clips by the surface that a pack does, of the boards that clips hold; nearer joists take more."""
        clip = self.sheet.clip
        if item != CLIP or clip.covers_sq_ft is None:
            return 0
        boards = {m.id: m for p in placed for m in p.pieces if isinstance(m, Measured)}
        area = math.fsum(m.footprint_area for m in boards.values()) / 144
        return math.ceil(area * max(1.0, clip.joists_at / self.joists) / clip.covers_sq_ft - 1e-9)

    def of(self, rule: Rule) -> Rule:
        """The data of an item with what the sheet says of it."""
        if rule.item == CLIP and self.sheet.clip.pack is not None:
            n = self.sheet.clip.pack
            rule = replace(rule, pack=n, pack_name=f"box of {n}", source=SHEET_SAYS)
        if rule.item == CLIP and self.sheet.clip.covers_sq_ft is not None:
            least = "no fewer packs than for {area} each, with joists {apart} on centre"
            area, apart = surface(self.sheet.clip.covers_sq_ft, None), decimal(self.sheet.clip.joists_at, None)
            return replace(rule, places=together(rule.places, said(least, area=area, apart=apart)), source=SHEET_SAYS)
        told = self._told(rule.item)
        if not told:
            return rule
        return replace(rule, each=1.0, places=together(rule.places, told), source=SHEET_SAYS)

    def placed(self, rule: Rule, placed: Sequence[Placed]) -> Sequence[Placed]:
        """Screw by screw where the sheet says how many of an item stand at a place: there are several kinds of
        places then."""
        each = rules()[rule.item].each
        return [replace(p, places=p.places * each) for p in placed] if rule.each != each else placed

    def _told(self, item: str) -> Words:
        s = self.sheet
        found: list[Words] = []
        if item == "deck screw":
            found += _if(s.board.screws, "{n} to a board at each joist")
            found += _if(s.border.screws, "{n} to a border at each joist")
            found += _if_length(s.border.apart, "along a border at most {apart} apart")
        elif item == "fascia screw":
            found += _if(s.fascia.screws, "{n} to each row of a fascia")
            found += _if_length(s.fascia.apart, "its rows at most {apart} apart")
            found += _if_length(s.fascia.end if s.fascia.apart else None, "the first {apart} from each end")
        elif item == "tread screw":
            found += _if(s.steps.screws, "{n} at each stringer")
        return said("instead, by the maker's sheet: {told}", told=listed(found)) if found else ""

    def _places(self, item: str, screws: int | None) -> float:
        return 1.0 if screws is None else screws / rules()[item].each


def _if(n: int | None, template: str) -> list[Words]:
    return [] if n is None else [said(template, n=str(n))]


def _if_length(value: float | None, template: str) -> list[Words]:
    return [] if value is None else [said(template, apart=decimal(value, None))]


def sheet_counts(deck: Deck) -> SheetCounts:
    return SheetCounts(deck.parameters.maker, deck.layout.joist_spacing)


def lengths_by_sheet(p: Parameters, measured: Sequence[Measured]) -> Order:
    """The order's settings with the lengths that the sheet says are sold of the boards and the fascia; what the file
    gives itself stands."""
    found, trim, of_boards = dict(p.order.lengths), named("trim board"), ("surface", "trim", "stairs")
    elsewhere = {m.stock for m in measured if m.group not in of_boards}  # a size that the frame is of too
    for m in measured:
        of = p.maker.fascia.lengths if m.role in trim else p.maker.board.lengths
        material = p.trim.material if m.role in trim else p.surface.material
        board = m.group in of_boards and m.stock.material == material and m.stock not in elsewhere
        if of and board and m.stock.name not in p.order.lengths:
            found[m.stock.name] = sorted({*of, *found.get(m.stock.name, ())})
    return p.order.model_copy(update={"lengths": found}) if found != p.order.lengths else p.order
