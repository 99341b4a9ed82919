"""What stands still on a view, and what it adds to the cost of a place for lettering.

Lettering, heavy lines, symbols, dimension lines and the tips of notes still to come bar a place. Light lines, hatching
and long or crossing leaders only make it dearer, and so do extension lines, which are broken round lettering
afterwards. All of it is measured once for each place, however often its item is taken up again.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import STRtree

from . import draft, style
from .boxes import box_hits
from .dimensioning import dimension
from .drawing import AnyItem, Arc, Arrow, Box, Circle, Dimension, Hatch, Line, Point, Polyline, Symbol, Tag, Text
from .layers import HEAVY_LINE, LAYERS
from .places import BLOCKED, OTHERS, Places

# what makes a place dearer: a light line, a hatch
_LIGHT, _HATCHED = 2.5, 3.0
_FIGURES_ON_LIGHT = 0.7  # notes can go elsewhere, figures belong to their line
_STRUCK = 30.0  # figures struck through by the line of another dimension
_BROKEN = 0.8  # an extension line that has to be broken round the lettering
_OVER = 1.2  # a leader over the line of a dimension
_SEEN = 0.25  # mm; a line this heavy costs twice a finer one


class Still:
    """What is known of the places of one item from what stands still, arrays of n: `least` that each can cost, whether
    it is `measured`, how many things bar it (`bars`), what else makes it `dearer`; whether a line of some
    length leads to it (`led`), whether that is `traced` and what it costs by what it crosses (`crossed`)."""

    def __init__(self, places: Places):
        n = len(places.cost)
        self.places = places
        self.least = places.cost.copy()
        self.measured, self.traced, self.bars = np.zeros(n, bool), np.zeros(n, bool), np.zeros(n, np.int64)
        self.dearer, self.crossed = np.zeros(n), np.zeros(n)
        # figures on their own line have none that leads to them
        self.led = np.any(places.lines[:, 0, :2] != places.lines[:, 0, 2:], axis=1)


class Standing:
    """The fixed things of a view by how they bar or burden lettering, each kind in a tree of its own."""

    def __init__(self, fixed: list[AnyItem], dims: list[Dimension], tips: list[Point], scale: float, metric: bool):
        self.scale = scale
        texts, letters, hard, soft, fine, hatched = [], [], [], [], [], []
        body = list(tips)
        # lettering on the tip of a note still to come would leave that note no way out
        self.tips = np.tile(np.array(tips, float).reshape(-1, 2), 2)
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

    def measure(self, still: Still, some: np.ndarray) -> None:
        """Measure places: what bars them and, where nothing does, what makes them dearer."""
        places, item = still.places, still.places.item
        boxes = places.boxes[some]
        shapes = shapely.box(*boxes.T)
        still.bars[some] = box_hits(boxes, self.tips).sum(1) + self._barred(shapes, item)
        still.measured[some] = still.traced[some] = True
        still.least[some] = places.cost[some] + BLOCKED * still.bars[some]
        free = still.bars[some] == 0
        some, boxes, shapes = some[free], boxes[free], shapes[free]
        if not len(some):
            return
        still.dearer[some] = self._dearer(boxes, shapes, item)
        still.least[some] = places.cost[some] + still.dearer[some]
        still.traced[some] = ~still.led[some]

    def trace(self, still: Still, some: np.ndarray) -> None:
        """Measure what the lines cross that lead to places which nothing bars."""
        places = still.places
        still.crossed[some] = self._crossed(places.lines[some], places.item)
        still.least[some] = places.cost[some] + (still.dearer[some] + still.crossed[some])
        still.traced[some] = True

    def _barred(self, shapes: np.ndarray, item: AnyItem) -> np.ndarray:
        """How many things bar each text box: lettering, heavy lines, dimension lines (but to figures)."""
        trees = [self.text_tree, self.hard_tree, *(() if type(item) is Dimension else (self.dim_tree,))]
        if type(item) is Text:
            trees = [self.letter_tree, *trees[1:], self.soft_tree, self.fine_tree, self.hatch_tree, self.extension_tree]
        return sum((_met(tree, shapes) for tree in trees), np.zeros(len(shapes), np.int64))

    def _dearer(self, boxes: np.ndarray, shapes: np.ndarray, item: AnyItem) -> np.ndarray:
        """What light lines, hatching and lines of dimensions add to places that nothing bars."""
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
        return cost

    def _crossed(self, lines: np.ndarray, item: AnyItem) -> np.ndarray:
        """What lines that lead to lettering cost by the fixed things that they cross."""
        paths = shapely.linestrings(np.concatenate([lines[:, :, :2], lines[:, 1:, 2:]], axis=1))
        return BLOCKED * _met(self.text_tree, paths) + _OVER * (
            self._of_others(paths, item) + self._of_others(paths, item, extensions=True)
        )

    def _of_others(self, areas: np.ndarray, item: AnyItem, extensions: bool = False) -> np.ndarray:
        """How many lines of other dimensions meet each area: dimension lines, or extension lines."""
        tree, owner = (self.extension_tree, self.extension_of) if extensions else (self.dim_tree, self.dim_of)
        if not len(tree):
            return np.zeros(len(areas))
        which, line = tree.query(areas, predicate="intersects")
        return np.bincount(which[owner[line] != id(item)], minlength=len(areas)).astype(float)


def _met(tree: STRtree, areas: np.ndarray) -> np.ndarray:
    """How many shapes of a tree meet each area."""
    if not len(tree):
        return np.zeros(len(areas), np.int64)
    return np.bincount(tree.query(areas, predicate="intersects")[0], minlength=len(areas))


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
