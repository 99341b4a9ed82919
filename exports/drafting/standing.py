"""What stands still on a view, and what it adds to the cost of a place for lettering.

Lettering, heavy lines, symbols, dimension lines and the tips of notes still to come bar a place. Light lines, hatching
and long or crossing leaders only make it dearer, and so do extension lines, which are broken round lettering
afterwards. All of it is measured once for each place, however often its item is taken up again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

import numpy as np
import shapely
from shapely import STRtree

from . import draft, style
from .boxes import box_hits
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


class _Met:
    """Shapes of several kinds in one tree: how many of each kind meet an area, from a single look-up. `owner` holds for
    each shape the identity of the item that it belongs to, 0 where that does not matter."""

    def __init__(self, *kinds: tuple[np.ndarray, np.ndarray | None]):
        self.tree = STRtree(np.concatenate([shapes for shapes, _ in kinds]))
        self.count = len(kinds)
        self.kind = np.repeat(np.arange(len(kinds)), [len(shapes) for shapes, _ in kinds])
        self.owner = np.concatenate([np.zeros(len(s), np.int64) if of is None else of for s, of in kinds])

    def counts(self, areas: np.ndarray, item: AnyItem) -> np.ndarray:
        """(kinds, n): shapes of each kind that meet each area, but those of `item` itself."""
        if not len(self.tree):
            return np.zeros((self.count, len(areas)), np.int64)
        which, shape = self.tree.query(areas, predicate="intersects")
        others = self.owner[shape] != id(item)
        which, shape = which[others], shape[others]
        size = len(areas) * self.count
        return np.bincount(which * self.count + self.kind[shape], minlength=size).reshape(-1, self.count).T


class Standing:
    """The fixed things of a view by how they bar or burden lettering."""

    def __init__(self, fixed: list[AnyItem], dims: list[Dimension], tips: list[Point], scale: float, metric: bool):
        self.scale = scale
        texts, letters, solid, hard, soft, fine, hatched = [], [], [], [], [], [], []
        body = list(tips)
        # lettering on the tip of a note still to come would leave that note no way out
        self.tips = np.tile(np.array(tips, float).reshape(-1, 2), 2)
        for item in fixed:
            marks = type(item) in (Symbol, Tag, Arrow)
            for stroke in draft.strokes(item, scale, metric):
                kind = type(stroke)
                if kind is Text:
                    texts.append(draft.text_quad(stroke, scale, style.TEXT_AIR))
                    letters.append(draft.text_quad(stroke, scale))
                    continue
                corners = corners_of(stroke)
                body.extend(corners)
                if kind is Hatch:
                    (solid if stroke.pattern == "solid" else hatched).append(stroke.outline)
                else:
                    bars = marks or type(item) is Dimension or LAYERS[stroke.layer].weight >= HEAVY_LINE
                    weight = LAYERS[stroke.layer].weight
                    (hard if bars else soft if weight >= _SEEN else fine).append(corners)
        dim_lines, dim_of, extensions, extension_of = [], [], {}, []
        for dim in dims:
            parts = dimension(dim, scale, metric)
            dim_lines.append(parts.line)
            dim_of.append(id(dim))
            for pair in parts.extensions:
                key = tuple(round(c / scale, 3) for p in pair for c in p)
                if key not in extensions:  # neighbours in a string share a line, which is paid for once
                    extensions[key] = pair
                    extension_of.append(id(dim))
            body.extend(p for pair in (parts.line, *parts.extensions) for p in pair)
        self.texts, self.letters = (_areas(texts), None), (_areas(letters), None)
        self.hard = np.concatenate([_lines(hard), _areas(solid)]), None
        self.soft, self.fine, self.hatched = (_lines(soft), None), (_lines(fine), None), (_areas(hatched), None)
        self.dims = _lines(dim_lines), np.array(dim_of, dtype=np.int64)
        self.extensions = _lines(list(extensions.values())), np.array(extension_of, dtype=np.int64)
        xy = np.array(body) if body else np.zeros((1, 2))
        self.body: Box = (*xy.min(0), *xy.max(0))

    @cached_property
    def _bars(self) -> dict[type, _Met]:
        """What bars figures, labels and the rest: lettering, heavy lines, dimension lines (but to figures); labels
        everything."""
        light = self.soft, self.fine, self.hatched, self.extensions
        return {
            Dimension: _Met(self.texts, self.hard),
            Text: _Met(self.letters, self.hard, self.dims, *light),
            Leader: _Met(self.texts, self.hard, self.dims),
        }

    @cached_property
    def _light(self) -> _Met:
        return _Met(self.soft, self.fine, self.hatched, self.extensions)

    @cached_property
    def _dims(self) -> _Met:
        return _Met(self.dims)

    @cached_property
    def _in_the_way(self) -> _Met:
        return _Met(self.texts, self.dims, self.extensions)

    def measure(self, still: Still, some: np.ndarray) -> None:
        """Measure places: what bars them and, where nothing does, what makes them dearer."""
        places, item = still.places, still.places.item
        boxes = places.boxes[some]
        shapes = shapely.box(*boxes.T)
        bars = self._bars.get(type(item), self._bars[Leader])
        still.bars[some] = box_hits(boxes, self.tips).sum(1) + bars.counts(shapes, item).sum(0)
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

    def _dearer(self, boxes: np.ndarray, shapes: np.ndarray, item: AnyItem) -> np.ndarray:
        """What light lines, hatching and lines of dimensions add to places that nothing bars."""
        light = _FIGURES_ON_LIGHT if type(item) is Dimension else _LIGHT
        soft, fine, hatched, extensions = self._light.counts(shapes, item)
        cost = 2 * light * soft + light * fine + _HATCHED * hatched
        cost += _BROKEN * extensions
        if type(item) is Dimension:
            # figures standing over a dimension line that is not theirs would be read as its own: grown boxes find those
            # lines
            lift = 2 * style.DIM_LIFT * self.scale
            grown = shapely.box(*(boxes + (-lift, -lift, lift, lift)).T)
            cost += OTHERS * self._dims.counts(grown, item)[0]
            cost += _STRUCK * self._dims.counts(shapes, item)[0]
        return cost

    def _crossed(self, lines: np.ndarray, item: AnyItem) -> np.ndarray:
        """What lines that lead to lettering cost by the fixed things that they cross."""
        paths = shapely.linestrings(np.concatenate([lines[:, :, :2], lines[:, 1:, 2:]], axis=1))
        texts, dims, extensions = self._in_the_way.counts(paths, item)
        return BLOCKED * texts + _OVER * (dims + extensions)


def _lines(paths: Sequence[Sequence[Point]]) -> np.ndarray:
    """Lines through points, all made at once."""
    if not paths:
        return np.empty(0, object)
    return shapely.linestrings([p for path in paths for p in path], indices=_numbers(paths))


def _areas(rings: Sequence[Sequence[Point]]) -> np.ndarray:
    """Polygons within rings, all made at once."""
    if not rings:
        return np.empty(0, object)
    return shapely.polygons(shapely.linearrings([p for ring in rings for p in ring], indices=_numbers(rings)))


def _numbers(paths: Sequence[Sequence[Point]]) -> np.ndarray:
    return np.repeat(np.arange(len(paths)), [len(path) for path in paths])


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
