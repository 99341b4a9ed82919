"""What bars lettering on a view, and what a place for it costs: measured as boxes and lines against all that is drawn.

Lettering, heavy lines, symbols, dimension lines and the tips of notes still to come bar a place. Light lines, hatching
and long or crossing leaders only make it dearer, and so do extension lines, which are broken round lettering
afterwards. A label, which names a piece from within the drawing, stands on no line at all, or not anywhere.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence

import numpy as np
import shapely
from shapely import STRtree

from . import draft, style
from .boxes import box_hits, segment_box_hits, segment_boxes, segment_hits
from .dimensioning import dimension
from .drawing import (
    AnyItem,
    Arc,
    Arrow,
    Box,
    Circle,
    Dimension,
    Hatch,
    Leader,
    Line,
    Point,
    Polyline,
    Symbol,
    Tag,
    Text,
)
from .layers import HEAVY_LINE, LAYERS
from .places import BLOCKED, LABEL_AIR, OTHERS, Places, label_places

# what makes a place dearer: a light line, a hatch, another leader
_LIGHT, _HATCHED, _CROSSED = 2.5, 3.0, 3.0
_FIGURES_ON_LIGHT = 0.7  # notes can go elsewhere, figures belong to their line
_STRUCK = 30.0  # figures struck through by the line of another dimension
_BROKEN = 0.8  # an extension line that has to be broken round the lettering
_OVER = 1.2  # a leader over the line of a dimension
_SEEN = 0.25  # mm; a line this heavy costs twice a finer one
_BATCH = 48
GOOD = 3.0  # a place dearer than this is worth a wider search


State = tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]  # boxes and lines placed, each with whose they are


class Clearance:
    """What stands on a view already: searched by tree for what is fixed, by arrays for what was just placed."""

    def __init__(self, fixed: list[AnyItem], dims: list[Dimension], tips: list[Point], scale: float, metric: bool):
        self.scale = scale
        texts, letters, hard, soft, fine, hatched = [], [], [], [], [], []
        body = list(tips)
        # lettering on the tip of a note still to come would leave that note no way out
        self.tips = np.array(tips, float).reshape(-1, 2)
        for item in fixed:
            marks = type(item) in (Symbol, Tag, Arrow)
            for stroke in draft.strokes(item, scale, metric):
                kind = type(stroke)
                if kind is Text:
                    texts.append(draft.text_quad(stroke, scale, style.TEXT_AIR))
                    letters.append(shapely.Polygon(draft.text_quad(stroke, scale)))
                    continue
                corners = corners_of(stroke)
                body.extend(corners)
                if kind is Hatch:
                    (hard if stroke.pattern == "solid" else hatched).append(shapely.Polygon(stroke.outline))
                else:
                    bars = marks or type(item) is Dimension or LAYERS[stroke.layer].weight >= HEAVY_LINE
                    weight = LAYERS[stroke.layer].weight
                    (hard if bars else soft if weight >= _SEEN else fine).append(shapely.LineString(corners))
        dim_lines, dim_of, extensions, extension_of = [], [], {}, []
        for dim in dims:
            parts = dimension(dim, scale, metric)
            dim_lines.append(shapely.LineString(parts.line))
            dim_of.append(id(dim))
            for pair in parts.extensions:
                key = tuple(round(c / scale, 3) for p in pair for c in p)
                if key not in extensions:  # neighbours in a string share a line, which is paid for once
                    extensions[key] = shapely.LineString(pair)
                    extension_of.append(id(dim))
            body.extend(p for pair in (parts.line, *parts.extensions) for p in pair)
        self.text_tree, self.letter_tree = STRtree([shapely.Polygon(q) for q in texts]), STRtree(letters)
        self.hard_tree, self.dim_tree, self.extension_tree = (
            STRtree(hard),
            STRtree(dim_lines),
            STRtree(list(extensions.values())),
        )
        self.soft_tree, self.fine_tree, self.hatch_tree = STRtree(soft), STRtree(fine), STRtree(hatched)
        self.dim_of, self.extension_of = np.array(dim_of, dtype=np.int64), np.array(extension_of, dtype=np.int64)
        xy = np.array(body) if body else np.zeros((1, 2))
        self.body: Box = (*xy.min(0), *xy.max(0))
        self.boxes, self.box_of = np.empty((0, 4)), np.empty(0, np.int64)
        self.lines, self.line_of = np.empty((0, 4)), np.empty(0, np.int64)

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
        best, best_cost, start, size = -1, math.inf, 0, _BATCH
        while start < len(order) and places.cost[order[start]] < best_cost:
            some = order[start : start + size]
            start, size = start + size, min(size * 2, 16 * _BATCH)
            boxes, lines = places.boxes[some], places.lines[some]
            total = places.cost[some] + self._barred(boxes, places.item)
            free = np.nonzero(total < BLOCKED)[0]
            if len(free):  # what is barred already needs no finer measuring
                total[free] += self._dearer(boxes[free], lines[free], places.item)
            least = int(np.argmin(total))
            if total[least] < best_cost:
                best, best_cost = int(some[least]), float(total[least])
        return best, best_cost

    def _barred(self, boxes: np.ndarray, item: AnyItem) -> np.ndarray:
        """BLOCKED for each thing that bars a text box: lettering, heavy lines, dimension lines (but to figures),
        leaders, tips."""
        around = np.concatenate([boxes[:, :2].min(0), boxes[:, 2:].max(0)])[None, :]
        placed = self.boxes[box_hits(self.boxes, around)[:, 0]]
        drawn = self._drawn_near(around)
        tips = np.hstack([self.tips, self.tips])
        cost = BLOCKED * (
            box_hits(boxes, placed).sum(1) + segment_box_hits(drawn, boxes).sum(0) + box_hits(boxes, tips).sum(1)
        ).astype(float)
        left = np.nonzero(cost == 0)[0]
        shapes = shapely.box(*boxes[left].T)
        trees = (self.text_tree, self.hard_tree, *(() if type(item) is Dimension else (self.dim_tree,)))
        if type(item) is Text:
            trees = (self.letter_tree, *trees[1:], self.soft_tree, self.fine_tree, self.hatch_tree, self.extension_tree)
        for tree in trees:
            if len(tree) and len(left):
                cost[left] += BLOCKED * np.bincount(tree.query(shapes, predicate="intersects")[0], minlength=len(left))
        return cost

    def _dearer(self, boxes: np.ndarray, lines: np.ndarray, item: AnyItem) -> np.ndarray:
        """What light lines, hatching, lines of dimensions, and what the leader's own line meets add to places that
        nothing bars."""
        shapes = shapely.box(*boxes.T)
        light = _FIGURES_ON_LIGHT if type(item) is Dimension else _LIGHT
        cost = (
            2 * light * _met(self.soft_tree, shapes)
            + light * _met(self.fine_tree, shapes)
            + _HATCHED * _met(self.hatch_tree, shapes)
        )
        cost += _BROKEN * self._of_others(shapes, item, extensions=True)
        if type(item) is Dimension:
            # figures standing over a dimension line that is not theirs would be read as its own: grown boxes find those
            # lines
            lift = 2 * style.DIM_LIFT * self.scale
            cost += OTHERS * self._of_others(shapely.box(*(boxes + (-lift, -lift, lift, lift)).T), item)
            cost += _STRUCK * self._of_others(shapes, item)
        led = np.any(
            lines[:, 0, :2] != lines[:, 0, 2:], axis=1
        )  # figures on their own line have none that leads to them
        if led.any():
            cost[led] += self._crossed(lines[led], item)
        return cost

    def _crossed(self, lines: np.ndarray, item: AnyItem) -> np.ndarray:
        """What the lines leading to lettering cost by what they cross."""
        paths = shapely.linestrings(np.concatenate([lines[:, :, :2], lines[:, 1:, 2:]], axis=1))
        cost = BLOCKED * _met(self.text_tree, paths) + _OVER * (
            self._of_others(paths, item) + self._of_others(paths, item, extensions=True)
        )
        reach = np.vstack([segment_boxes(lines[:, leg]) for leg in (0, 1)])
        around = np.concatenate([reach[:, :2].min(0), reach[:, 2:].max(0)])[None, :]
        placed, drawn = self.boxes[box_hits(self.boxes, around)[:, 0]], self._drawn_near(around)
        for leg in (0, 1):
            cost += BLOCKED * segment_box_hits(lines[:, leg], placed).sum(1) + _CROSSED * segment_hits(
                lines[:, leg], drawn
            ).sum(1)
        return cost

    def _of_others(self, areas: np.ndarray, item: AnyItem, extensions: bool = False) -> np.ndarray:
        """How many lines of other dimensions meet each area: dimension lines, or extension lines."""
        tree, owner = (self.extension_tree, self.extension_of) if extensions else (self.dim_tree, self.dim_of)
        if not len(tree):
            return np.zeros(len(areas))
        which, line = tree.query(areas, predicate="intersects")
        return np.bincount(which[owner[line] != id(item)], minlength=len(areas)).astype(float)

    def _drawn_near(self, around: np.ndarray) -> np.ndarray:
        return self.lines[box_hits(segment_boxes(self.lines), around + (-1e-6, -1e-6, 1e-6, 1e-6))[:, 0]]


def _met(tree: STRtree, areas: np.ndarray) -> np.ndarray:
    """How many shapes of a tree meet each area."""
    return (
        np.bincount(tree.query(areas, predicate="intersects")[0], minlength=len(areas)).astype(float)
        if len(tree)
        else np.zeros(len(areas))
    )


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


def corners_of(stroke: AnyItem) -> list[Point]:
    """A plain item as points along it, circles as polygons."""
    if type(stroke) is Line:
        return [stroke.a, stroke.b]
    if type(stroke) is Polyline:
        return [*stroke.points, stroke.points[0]] if stroke.closed else stroke.points
    if type(stroke) is Hatch:
        return stroke.outline
    assert isinstance(stroke, (Circle, Arc))
    low, high = (
        (0.0, 360.0)
        if type(stroke) is Circle
        else (stroke.start, stroke.start + ((stroke.end - stroke.start) % 360 or 360))
    )
    return [
        (stroke.centre[0] + stroke.radius * math.cos(a), stroke.centre[1] + stroke.radius * math.sin(a))
        for a in np.radians(np.linspace(low, high, 17))
    ]
