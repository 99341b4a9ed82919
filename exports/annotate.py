"""Finds places for dimension figures, marks and notes so that no lettering lies on lettering or on a heavy line.

Every item has an ordered list of candidate places. Each is measured as a box against what is already drawn: lettering, heavy
lines, symbols, dimension lines and the tips of notes still to come bar a place; light lines, hatching and long or crossing
leaders only make it dearer. Items are placed in order (dimension figures, marks, notes), each at the cheapest place that nothing bars,
and bar it for those that follow. An item with no free place is put at its least bad one and reported.
"""
from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Callable, Iterable

import numpy as np
import shapely
from shapely import STRtree

from . import draft, style
from .boxes import box_hits, segment_box_hits, segment_boxes, segment_hits
from .drawing import AnyItem, Arc, Arrow, Box, Circle, Dimension, Hatch, Leader, Line, Point, Polyline, Symbol, Tag, Text, View
from .layers import HEAVY, LAYERS
from .places import BLOCKED, OTHERS, Places, aside_places, dimension_places, joined, note_places, tag_places

# what makes a place dearer: a light line, a hatch, another leader
_LIGHT, _HATCHED, _CROSSED = 1.0, 3.0, 3.0
_STRUCK = 30.0  # figures struck through by the line of another dimension
_OVER = 1.2  # a leader over the line of a dimension
_POOR = 3.0  # a place this dear is worth a wider search
_SEEN = 0.25  # mm; a line this heavy costs twice a finer one
_BATCH = 48
_ROUNDS = 4
_AFRESH = 5.0  # a note this dear goes first in the next round
_NARROWER = (1.7, 1.2)  # paper inches that notes may break at where the whole width finds no good place


@dataclass
class Report:
    """How many items were placed, and those for which no free place was found (they stand at the least bad one)."""

    placed: int = 0
    unplaced: list[AnyItem] = field(default_factory=list)


def outside(box: Box, side: str, level: int, scale: float) -> Point:
    """A point for the dimension line of the string of `level` (0 nearest) on a side ("bottom", "top", "left", "right") of a view."""
    off = style.DIM_SPACING * (level + 1) * scale
    left, bottom, right, top = box
    return {"bottom": (left, bottom - off), "top": (left, top + off), "left": (left - off, bottom), "right": (right + off, bottom)}[side]


def overlaps(items: Iterable[AnyItem], scale: float, metric: bool = False) -> list[tuple[Text, Text]]:
    """Pairs of lettering whose boxes overlap. Empty on a well laid out view or sheet."""
    quads = draft.text_quads(items, scale, metric)
    if len(quads) < 2:
        return []
    shapes = shapely.polygons([quad for quad, _ in quads])
    tree = STRtree(shapes)
    first, second = tree.query(shapes, predicate="intersects")
    keep = first < second
    first, second = first[keep], second[keep]
    deep = shapely.area(shapely.intersection(shapes[first], shapes[second])) > (0.002 * scale) ** 2
    return [(quads[a][1], quads[b][1]) for a, b in zip(first[deep], second[deep])]


def place(view: View, within: Box | None = None, metric: bool = False) -> Report:
    """Place everything of a view that may move: see `place_items`. `within` in view coordinates."""
    return place_items(view.items, view.scale, within, metric)


def place_items(items: list[AnyItem], scale: float, within: Box | None = None, metric: bool = False) -> Report:
    """Place leaders and tags whose `at` is None, and move figures of dimensions that do not stand free on their line.

    Items are changed in place. Nothing is put outside `within` (coordinates of the items) unless there is no other place.
    """
    dims = [i for i in items if type(i) is Dimension and i.text_at is None]
    tags = [i for i in items if type(i) is Tag and i.at is None]
    notes = [i for i in items if type(i) is Leader and i.at is None]
    loose = {id(i) for i in (*dims, *tags, *notes)}
    tips = [i.tip for i in (*tags, *notes) if i.tip is not None]
    field_ = _Field([i for i in items if id(i) not in loose], dims, tips, scale, metric)
    failed = [item for item in dims if field_.settle(within, lambda: dimension_places(item, scale, metric, field_.body), lambda: aside_places(item, scale, metric)) >= BLOCKED]
    notes.sort(key=lambda n: (-n.tip[1], n.tip[0]))
    unplaced = _place_marks_and_notes(field_, [*tags, *notes], scale, metric, within)
    return Report(len(dims) + len(tags) + len(notes) - len(failed) - len(unplaced), failed + unplaced)


def _place_marks_and_notes(field_: "_Field", items: list[AnyItem], scale: float, metric: bool, within: Box | None) -> list[AnyItem]:
    """Place `items` in order. Where some find no place or a poor one, try again with those first, and keep the best of a few
    rounds: fewest without a place, then the cheapest in all."""
    start = field_.boxes, field_.lines
    ways = {id(item): _ways(item) for item in items if type(item) is Leader}
    best: list[AnyItem] | None = None
    least = (math.inf, math.inf)
    kept: list[tuple[AnyItem, tuple]] = []
    for turn in range(_ROUNDS):
        field_.boxes, field_.lines = start
        costs = []
        for item in items:
            if type(item) is Tag:
                cost = field_.settle(within, lambda: tag_places(item, scale, field_.body))
            else:  # as given, then at narrower widths
                cost = field_.settle(within, *(lambda n=n, some=some: joined([note_places(item, scale, field_.body, wrap, tip) for wrap, tip in some], 0.5 * n)
                                               for n, some in enumerate(ways[id(item)])))
            costs.append(cost)
        failed = [item for item, cost in zip(items, costs) if cost >= BLOCKED]
        better = (len(failed), sum(costs)) < least
        if better:
            least, best = (len(failed), sum(costs)), failed
            kept = [(item, (item.at, item.side, item.wrap, item.tip) if type(item) is Leader else (item.at,)) for item in items]
        poor = [item for item, cost in zip(items, costs) if cost >= _AFRESH]
        if not poor or not better or not failed and turn >= 1:  # another order does not help
            break
        again = {id(item) for item in poor}
        items = poor + [item for item in items if id(item) not in again]
    for item, at in kept:
        _put(item, at)
    return best or []


def _ways(item: Leader) -> list[list[tuple[float | None, Point]]]:
    """(width to break at, tip) for every tip: as given, then in narrower blocks of lines."""
    wide = style.block_size(item.text, item.height, item.wrap)[0]
    return [[(wrap, tip) for tip in (item.tip, *item.tips)] for wrap in (item.wrap, *(w for w in _NARROWER if w < wide * 0.95))]


class _Field:
    """What stands on a view already: searched by tree for what is fixed, by arrays for what was just placed."""

    def __init__(self, fixed: list[AnyItem], dims: list[Dimension], tips: list[Point], scale: float, metric: bool):
        self.scale = scale
        texts, hard, soft, fine, hatched = [], [], [], [], []
        body = list(tips)
        # lettering on the tip of a note still to come would leave that note no way out
        self.tips = np.array(tips, float).reshape(-1, 2)
        for item in fixed:
            marks = type(item) in (Symbol, Tag, Arrow)
            for stroke in draft.strokes(item, scale, metric):
                kind = type(stroke)
                if kind is Text:
                    texts.append(draft.text_quad(stroke, scale, style.TEXT_AIR))
                    continue
                corners = _corners(stroke)
                body.extend(corners)
                if kind is Hatch:
                    (hard if stroke.pattern == "solid" else hatched).append(shapely.Polygon(stroke.outline))
                else:
                    bars = marks or type(item) is Dimension or LAYERS[stroke.layer].weight >= HEAVY
                    weight = LAYERS[stroke.layer].weight
                    (hard if bars else soft if weight >= _SEEN else fine).append(shapely.LineString(corners))
        self.dim_lines: list = []
        self.dim_of: list[int] = []
        for dim in dims:
            parts = draft.dimension(dim, scale, metric)
            for pair in (parts.line, *parts.extensions):
                self.dim_lines.append(shapely.LineString(pair))
                self.dim_of.append(id(dim))
                body.extend(pair)
        self.text_tree = STRtree([shapely.Polygon(q) for q in texts])
        self.hard_tree, self.dim_tree = STRtree(hard), STRtree(self.dim_lines)
        self.soft_tree, self.fine_tree, self.hatch_tree = STRtree(soft), STRtree(fine), STRtree(hatched)
        self.dim_of = np.array(self.dim_of, dtype=np.int64)
        xy = np.array(body) if body else np.zeros((1, 2))
        self.body: Box = (*xy.min(0), *xy.max(0))
        self.boxes = np.empty((0, 4))
        self.lines = np.empty((0, 4))

    def settle(self, within: Box | None, *searches: Callable[[], Places]) -> float:
        """Put an item at its cheapest place; the later searches are made only while no good one is found. Returns its cost:
        BLOCKED and more when something bars even the best."""
        best, index, cost = None, -1, math.inf
        for search in searches:
            if cost < _POOR:
                break
            places = search()
            n, price = self._cheapest(places, within)
            if price < cost:
                best, index, cost = places, n, price
        assert best is not None
        _put(best.item, best.at(index))
        self.boxes = np.vstack([self.boxes, best.boxes[index]])
        line = best.lines[index]
        if not np.isnan(line[0, 0]):
            self.lines = np.vstack([self.lines, line])
        return cost

    def _cheapest(self, places: Places, within: Box | None) -> tuple[int, float]:
        """The cheapest place and what it costs. Places are measured in the order of what they cost on empty paper, a batch at
        a time, until no later one can win; those outside the room only where every one inside is barred."""
        order = np.argsort(places.cost, kind="stable")
        if within is None:
            return self._search(places, order)
        boxes = places.boxes[order]
        out = (boxes[:, 0] < within[0]) | (boxes[:, 1] < within[1]) | (boxes[:, 2] > within[2]) | (boxes[:, 3] > within[3])
        best, cost = self._search(places, order[~out])
        if cost >= BLOCKED and out.any():
            other, price = self._search(places, order[out])
            if price + BLOCKED < cost:
                best, cost = other, price + BLOCKED
        return best, cost

    def _search(self, places: Places, order: np.ndarray) -> tuple[int, float]:
        best, best_cost, start, size = -1, math.inf, 0, _BATCH
        while start < len(order) and places.cost[order[start]] < best_cost:
            some = order[start:start + size]
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
        """BLOCKED for each thing that bars a text box: lettering, heavy lines, dimension lines (but to figures), leaders, tips."""
        around = np.concatenate([boxes[:, :2].min(0), boxes[:, 2:].max(0)])[None, :]
        placed = self.boxes[box_hits(self.boxes, around)[:, 0]]
        drawn = self._drawn_near(around)
        tips = np.hstack([self.tips, self.tips])
        cost = BLOCKED * (box_hits(boxes, placed).sum(1) + segment_box_hits(drawn, boxes).sum(0) + box_hits(boxes, tips).sum(1)).astype(float)
        left = np.nonzero(cost == 0)[0]
        shapes = shapely.box(*boxes[left].T)
        for tree in (self.text_tree, self.hard_tree, *(() if type(item) is Dimension else (self.dim_tree,))):
            if len(tree) and len(left):
                cost[left] += BLOCKED * np.bincount(tree.query(shapes, predicate="intersects")[0], minlength=len(left))
        return cost

    def _dearer(self, boxes: np.ndarray, lines: np.ndarray, item: AnyItem) -> np.ndarray:
        """What light lines, hatching, lines of dimensions, and what the leader's own line meets add to places that nothing bars."""
        cost = np.zeros(len(boxes))
        shapes = shapely.box(*boxes.T)

        def add(tree: STRtree, area, price: float) -> None:
            if len(tree):
                cost[:] += price * np.bincount(tree.query(area, predicate="intersects")[0], minlength=len(cost))

        def over_dims(area, price: float) -> None:
            if len(self.dim_tree):
                which, line = self.dim_tree.query(area, predicate="intersects")
                cost[:] += price * np.bincount(which[self.dim_of[line] != id(item)], minlength=len(cost))

        add(self.soft_tree, shapes, 2 * _LIGHT)
        add(self.fine_tree, shapes, _LIGHT)
        add(self.hatch_tree, shapes, _HATCHED)
        if type(item) is Dimension:
            # figures standing over a dimension line that is not theirs would be read as its own: grown boxes find those lines
            lift = 2 * style.DIM_LIFT * self.scale
            add(self.dim_tree, shapely.box(*(boxes + (-lift, -lift, lift, lift)).T), OTHERS)
            over_dims(shapes, _STRUCK)
        if np.isnan(lines[0, 0, 0]):
            return cost
        paths = shapely.linestrings(np.concatenate([lines[:, :, :2], lines[:, 1:, 2:]], axis=1))
        add(self.text_tree, paths, BLOCKED)
        over_dims(paths, _OVER)
        reach = np.vstack([segment_boxes(lines[:, leg]) for leg in (0, 1)])
        around = np.concatenate([reach[:, :2].min(0), reach[:, 2:].max(0)])[None, :]
        placed, drawn = self.boxes[box_hits(self.boxes, around)[:, 0]], self._drawn_near(around)
        for leg in (0, 1):
            cost += BLOCKED * segment_box_hits(lines[:, leg], placed).sum(1) + _CROSSED * segment_hits(lines[:, leg], drawn).sum(1)
        return cost

    def _drawn_near(self, around: np.ndarray) -> np.ndarray:
        return self.lines[box_hits(segment_boxes(self.lines), around + (-1e-6, -1e-6, 1e-6, 1e-6))[:, 0]]


def _put(item: AnyItem, at: tuple) -> None:
    if type(item) is Dimension:
        item.text_at, item.text_angle = at
    elif type(item) is Leader:
        item.at, item.side, item.wrap, item.tip = at
    else:
        item.at = at[0]


def _corners(stroke: AnyItem) -> list[Point]:
    """A plain item as points along it, circles as polygons."""
    if type(stroke) is Line:
        return [stroke.a, stroke.b]
    if type(stroke) is Polyline:
        return [*stroke.points, stroke.points[0]] if stroke.closed else stroke.points
    if type(stroke) is Hatch:
        return stroke.outline
    assert isinstance(stroke, (Circle, Arc))
    low, high = (0.0, 360.0) if type(stroke) is Circle else (stroke.start, stroke.start + ((stroke.end - stroke.start) % 360 or 360))
    return [(stroke.centre[0] + stroke.radius * math.cos(a), stroke.centre[1] + stroke.radius * math.sin(a))
            for a in np.radians(np.linspace(low, high, 17))]
