"""What bars lettering on a view, and what a place for it costs: measured as boxes and lines against all that is drawn.

What stands still is measured once for each place (`standing`); what was just placed, and may be lifted again, anew
each time. A label, which names a piece from within the drawing, stands on no line at all, or not anywhere.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence

import numpy as np

from .boxes import box_hits, cross, enters, pairs_near, segment_box_hits, segment_boxes, segment_hits
from .drawing import AnyItem, Box, Dimension, Leader, Line, Point, Text
from .places import BLOCKED, LABEL_AIR, Places, label_places
from .standing import Standing, Still

_CROSSED = 3.0  # what another leader makes a place dearer
_BATCH = 48
GOOD = 3.0  # a place dearer than this is worth a wider search


State = tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]  # boxes and lines placed, each with whose they are


class Clearance:
    """What stands on a view already: searched by tree for what is fixed, by arrays for what was just placed."""

    def __init__(self, fixed: list[AnyItem], dims: list[Dimension], tips: list[Point], scale: float, metric: bool):
        self.scale = scale
        self.standing = Standing(fixed, dims, tips, scale, metric)
        self.body: Box = self.standing.body
        self._still: dict[int, Still] = {}  # by the identity of places, which they hold
        self.boxes, self.box_of = np.empty((0, 4)), np.empty(0, np.int64)
        self.lines, self.line_of = np.empty((0, 4)), np.empty(0, np.int64)
        self._boxed = self.lines, self.lines  # lines placed and their boxes, made anew when those change

    def settle(self, within: Box | None, places: Places, wider: Callable[[], Places] | None = None) -> float:
        """Put an item at its cheapest place, one of `wider` where no good one is found. Returns its cost: BLOCKED and
        more when something bars even the best."""
        index, cost = self._cheapest(places, within)
        if cost >= GOOD and wider is not None:
            more = wider()
            n, price = self._cheapest(more, within)
            if price < cost:
                places, index, cost = more, n, price
        put(places.item, places.at(index))
        self._add(id(places.item), places.boxes[index : index + 1], places.lines[index])
        return cost

    def label(
        self,
        item: Text,
        spots: Sequence[Point],
        air: float = LABEL_AIR,
        link: Callable[[Point], Line] | None = None,
    ) -> bool:
        """Put a label with its middle on the first of some spots where it stands on nothing that is drawn, and the line
        that `link` leads from it to what it names crosses no lettering. False where there is none: the label is then
        nowhere."""
        places = label_places(item, self.scale, spots, air, link)
        index, cost = self._cheapest(places, None)
        if cost >= BLOCKED:
            return False
        put(item, places.at(index))
        led = places.lines[index] if link else places.lines[index][:0]
        self._add(id(item), places.boxes[index : index + 1], led)
        return True

    def free(
        self,
        item: Text,
        spots: Sequence[Point],
        air: float = LABEL_AIR,
        link: Callable[[Point], Line] | None = None,
    ) -> np.ndarray:
        """(n,) on which of some spots `label` would put a label, were it the only one given."""
        places = label_places(item, self.scale, spots, air, link)
        still = Still(places)
        self.standing.measure(still, np.arange(len(places.cost)))
        open_to = np.nonzero(still.bars + self._barred(places.boxes) == 0)[0]
        rough = open_to[~still.traced[open_to]]
        if len(rough):
            self.standing.trace(still, rough)
        found = np.zeros(len(places.cost), bool)
        found[open_to] = self._totals(still, open_to) - places.cost[open_to] < BLOCKED
        return found

    def _add(self, owner: int, boxes: np.ndarray, lines: np.ndarray) -> None:
        self.boxes, self.box_of = np.vstack([self.boxes, boxes]), np.append(self.box_of, [owner] * len(boxes))
        if len(lines):
            self.lines, self.line_of = np.vstack([self.lines, lines]), np.append(self.line_of, [owner] * len(lines))

    def take_over(self, item: AnyItem, state: State) -> None:
        """Let `item` stand where it stood in another state."""
        boxes, box_of, lines, line_of = state
        self.lift([item])
        self._add(id(item), boxes[box_of == id(item)], lines[line_of == id(item)])

    def lift(self, items: Iterable[AnyItem]) -> None:
        """Take placed items away again: what stood in their way is free for others."""
        gone = np.array([id(i) for i in items], np.int64)
        kept, lines = ~np.isin(self.box_of, gone), ~np.isin(self.line_of, gone)
        self.boxes, self.box_of = self.boxes[kept], self.box_of[kept]
        self.lines, self.line_of = self.lines[lines], self.line_of[lines]

    def in_the_way(self, item: AnyItem, others: Sequence[AnyItem]) -> list[AnyItem]:
        """Those of `others` whose lettering or leader meets the lettering or leader of `item`, all as they stand."""
        mine, my_lines = self.boxes[self.box_of == id(item)], self.lines[self.line_of == id(item)]
        met = set(
            self.box_of[(box_hits(self.boxes, mine).any(1) | segment_box_hits(my_lines, self.boxes).any(0))].tolist()
        )
        met |= set(
            self.line_of[
                (segment_box_hits(self.lines, mine).any(1) | segment_hits(my_lines, self.lines).any(0))
            ].tolist()
        )
        return [o for o in others if id(o) in met and o is not item]

    def state(self) -> State:
        return self.boxes, self.box_of, self.lines, self.line_of

    def restore(self, state: State) -> None:
        self.boxes, self.box_of, self.lines, self.line_of = state

    def _cheapest(self, places: Places, within: Box | None) -> tuple[int, float]:
        """The cheapest place and what it costs. Places are measured in the order of what they cost on empty paper, a
        batch at a time, until no later one can win; those outside the room only where every one inside is barred."""
        inside, outside = places.ranked(within)
        best, cost = self._search(places, inside)
        if cost >= BLOCKED and len(outside):
            other, price = self._search(places, outside)
            if price + BLOCKED < cost:
                best, cost = other, price + BLOCKED
        return best, cost

    def _search(self, places: Places, order: np.ndarray) -> tuple[int, float]:
        """The cheapest of the places in `order`, the first of those that cost the same: those that may be cheapest are
        measured first, until no other can win."""
        still = self._still.setdefault(id(places), Still(places))
        best, cost, size = len(order), math.inf, _BATCH
        todo = np.arange(len(order))
        while len(todo):
            least = still.least[order[todo]]
            todo, least = todo[least <= cost], least[least <= cost]
            lot = np.argpartition(least, size)[:size] if len(todo) > size else np.arange(len(todo))
            some = order[todo[lot]]
            fresh, rough = some[~still.measured[some]], some[~still.traced[some]]
            if len(fresh):  # known better now: others may come before them
                self.standing.measure(still, fresh)
            elif len(rough):
                self.standing.trace(still, rough)
            elif len(lot):
                total = self._totals(still, some)
                least_here = float(total.min())
                first = int(todo[lot[total == least_here]].min())
                if (least_here, first) < (cost, best):
                    best, cost = first, least_here
                todo = np.delete(todo, lot)
            size = min(size * 2, 16 * _BATCH)
        return (int(order[best]) if best < len(order) else -1), cost

    def _totals(self, still: Still, some: np.ndarray) -> np.ndarray:
        """What some places cost."""
        places = still.places
        bars = still.bars[some] + self._barred(places.boxes[some])
        total = places.cost[some] + BLOCKED * bars
        free = np.nonzero(bars == 0)[0]  # what is barred already needs no finer measuring
        which = some[free]
        dearer, led = still.dearer[which], still.led[which]
        if led.any():
            dearer[led] += self._crossed(places.lines[which[led]], still.crossed[which[led]])
        total[free] += dearer
        return total

    def _barred(self, boxes: np.ndarray) -> np.ndarray:
        """How many placed things bar each text box: lettering and leaders."""
        count = np.zeros(len(boxes), np.int64)
        if len(self.boxes):
            count += box_hits(boxes, self.boxes).sum(1)
        if len(self.lines):
            box, line = pairs_near(boxes, self._line_boxes())
            entered = enters(self.lines[line], boxes[box])
            count += np.bincount(box[entered], minlength=len(boxes))
        return count

    def _crossed(self, lines: np.ndarray, cost: np.ndarray) -> np.ndarray:
        """What lines that lead to lettering cost: `cost` for what stands still, more for what was placed. Leg by leg,
        since costs are added in that order."""
        legs = lines.reshape(-1, 4)
        reach, over, across = segment_boxes(legs), 0, 0
        if len(self.boxes):
            leg, box = pairs_near(reach, self.boxes)
            over = np.bincount(leg[enters(legs[leg], self.boxes[box])], minlength=len(legs))
        if len(self.lines):
            leg, other = pairs_near(reach, self._line_boxes())
            across = np.bincount(leg[cross(legs[leg], self.lines[other])], minlength=len(legs))
        met = np.broadcast_to(BLOCKED * over + _CROSSED * across, len(legs)).reshape(-1, 2)
        return cost + met[:, 0] + met[:, 1]

    def _line_boxes(self) -> np.ndarray:
        if self._boxed[0] is not self.lines:
            self._boxed = self.lines, segment_boxes(self.lines)
        return self._boxed[1]


def put(item: AnyItem, at: tuple) -> None:
    """Set what a place says on the item."""
    if type(item) is Dimension:
        item.text_at, item.text_angle = at
    elif type(item) is Leader:
        item.at, item.side, item.wrap, item.tip = at
    elif type(item) is Text:
        item.at = at
    else:
        item.at, item.tip = at


def stands(item: AnyItem) -> tuple:
    """The place of a mark or note, as `put` takes it."""
    return (item.at, item.side, item.wrap, item.tip) if type(item) is Leader else (item.at, item.tip)
