"""Finds places for dimension figures, marks and notes so that no lettering lies on lettering or on a heavy line.

Every item has an ordered list of candidate places. Each is measured as a box against what is already drawn: lettering, heavy
lines, symbols, dimension lines and holes of the layout bar a place; light lines, hatching and long or crossing leaders only
make it dearer. Items are placed in order (dimension figures, marks, notes), each at the cheapest place that nothing bars,
and bar it for those that follow. An item with no free place is put at its least bad one and reported.
"""
from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Iterable

import numpy as np
import shapely
from shapely import STRtree

from . import draft, style
from .boxes import box_hits, segment_box_hits, segment_boxes, segment_hits
from .drawing import AnyItem, Arc, Arrow, Box, Circle, Dimension, Hatch, Leader, Line, Point, Polyline, Symbol, Tag, Text, View
from .layers import HEAVY, LAYERS

_BLOCKED = 1000.0  # cost of one thing that bars a place
# what makes a place dearer: a light line, a hatch, another leader, a leader near level or plumb, another dimension's line
_LIGHT, _HATCHED, _CROSSED, _STEEP, _OTHERS = 0.12, 1.0, 3.0, 0.4, 1.5
_BATCH = 48


@dataclass
class Report:
    """How many items were placed, and those for which no free place was found (they stand at the least bad one)."""

    placed: int = 0
    unplaced: list[AnyItem] = field(default_factory=list)


@dataclass
class _Places:
    """Candidate places of one item, arrays of n: text boxes, leader lines (two segments each, nan where none), base costs."""

    item: AnyItem
    at: list[tuple]  # what to set on the item
    boxes: np.ndarray
    lines: np.ndarray  # (n, 2, 4)
    cost: np.ndarray


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
    report = Report()
    notes.sort(key=lambda n: (-n.tip[1], n.tip[0]))
    for group, make in ((dims, _dimension_places), (tags, _tag_places), (notes, _note_places)):
        for item in group:
            if field_.settle(make(item, scale, metric, field_.body), within):
                report.placed += 1
            else:
                report.unplaced.append(item)
    return report


class _Field:
    """What stands on a view already: searched by tree for what is fixed, by arrays for what was just placed."""

    def __init__(self, fixed: list[AnyItem], dims: list[Dimension], tips: list[Point], scale: float, metric: bool):
        self.scale = scale
        texts, hard, soft, hatched = [], [], [], []
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
                    (hard if bars else soft).append(shapely.LineString(corners))
        self.dim_lines: list = []
        for dim in dims:
            parts = draft.dimension(dim, scale, metric)
            for pair in (parts.line, *parts.extensions):
                self.dim_lines.append(shapely.LineString(pair))
                body.extend(pair)
        self.text_tree = STRtree([shapely.Polygon(q) for q in texts])
        self.hard_tree, self.dim_tree = STRtree(hard), STRtree(self.dim_lines)
        self.soft_tree, self.hatch_tree = STRtree(soft), STRtree(hatched)
        xy = np.array(body) if body else np.zeros((1, 2))
        self.body: Box = (*xy.min(0), *xy.max(0))
        self.boxes = np.empty((0, 4))
        self.lines = np.empty((0, 4))

    def settle(self, places: _Places, within: Box | None) -> bool:
        """Put an item at its cheapest place. False when something bars even that one.

        Places are measured in the order of what they cost on empty paper, a batch at a time, until no later one can win.
        """
        order = np.argsort(places.cost, kind="stable")
        best, best_cost = -1, math.inf
        for start in range(0, len(order), _BATCH):
            some = order[start:start + _BATCH]
            if places.cost[some[0]] >= best_cost:
                break
            boxes, lines = places.boxes[some], places.lines[some]
            total = places.cost[some] + self._fixed_costs(boxes, lines, within, type(places.item) is Dimension)
            total += self._moving_costs(boxes, lines)
            least = int(np.argmin(total))
            if total[least] < best_cost:
                best, best_cost = int(some[least]), float(total[least])
        _put(places.item, places.at[best])
        self.boxes = np.vstack([self.boxes, places.boxes[best]])
        line = places.lines[best]
        if not np.isnan(line[0, 0]):
            self.lines = np.vstack([self.lines, line])
        return best_cost < _BLOCKED

    def _fixed_costs(self, boxes: np.ndarray, lines: np.ndarray, within: Box | None, dims: bool) -> np.ndarray:
        """What the fixed things add to the cost of each place."""
        cost = np.zeros(len(boxes))
        shapes = shapely.box(boxes[:, 0], boxes[:, 1], boxes[:, 2], boxes[:, 3])
        # figures standing over a dimension line that is not theirs would be read as its own: grown boxes find those lines
        lift = 2 * style.DIM_LIFT * self.scale
        around = shapely.box(boxes[:, 0] - lift, boxes[:, 1] - lift, boxes[:, 2] + lift, boxes[:, 3] + lift) if dims else shapes
        queries = [(self.text_tree, shapes, _BLOCKED), (self.hard_tree, shapes, _BLOCKED), (self.soft_tree, shapes, _LIGHT),
                   (self.hatch_tree, shapes, _HATCHED), (self.dim_tree, around, _OTHERS if dims else _BLOCKED)]
        if not np.isnan(lines[0, 0, 0]):
            paths = shapely.linestrings(np.concatenate([lines[:, :, :2], lines[:, 1:, 2:]], axis=1))
            queries.append((self.text_tree, paths, _BLOCKED))
        for tree, area, price in queries:
            if len(tree):
                cost += price * np.bincount(tree.query(area, predicate="intersects")[0], minlength=len(cost))
        if within is not None:
            cost += _BLOCKED * ((boxes[:, 0] < within[0]) | (boxes[:, 1] < within[1]) | (boxes[:, 2] > within[2]) | (boxes[:, 3] > within[3]))
        return cost

    def _moving_costs(self, boxes: np.ndarray, lines: np.ndarray) -> np.ndarray:
        has_line = not np.isnan(lines[0, 0, 0])
        reach = np.vstack([boxes, *(segment_boxes(lines[:, leg]) for leg in (0, 1) if has_line)])
        around = np.concatenate([reach[:, :2].min(0), reach[:, 2:].max(0)])[None, :]
        placed = self.boxes[box_hits(self.boxes, around)[:, 0]]
        drawn = self.lines[box_hits(segment_boxes(self.lines), around + (-1e-6, -1e-6, 1e-6, 1e-6))[:, 0]]
        tips = np.hstack([self.tips, self.tips])
        cost = _BLOCKED * (box_hits(boxes, placed).sum(1) + segment_box_hits(drawn, boxes).sum(0) + box_hits(boxes, tips).sum(1))
        if has_line:
            for leg in (0, 1):
                cost = cost + _BLOCKED * segment_box_hits(lines[:, leg], placed).sum(1) + _CROSSED * segment_hits(lines[:, leg], drawn).sum(1)
        return cost


def _put(item: AnyItem, at: tuple) -> None:
    if type(item) is Dimension:
        item.text_at = at[0]
    elif type(item) is Leader:
        item.at, item.side = at
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


def _box_of(quad: draft.Quad) -> list[float]:
    xs, ys = [p[0] for p in quad], [p[1] for p in quad]
    return [min(xs), min(ys), max(xs), max(ys)]


_NO_LINE = np.full((2, 4), np.nan)


def _dimension_places(item: Dimension, scale: float, metric: bool, body: Box) -> _Places:
    """On the line, slid along it, beyond either end, then lifted off it by one row and two, over and under."""
    parts = draft.dimension(item, scale, metric)
    (ux, uy), h = style.unit(parts.rotation), style.NOTE * scale
    wide = style.text_width(parts.text, style.NOTE) * scale
    long = math.dist(*parts.line)
    spare = long / 2 - wide / 2 - style.TICK * scale
    beyond = long / 2 + wide / 2 + style.DIM_OVERRUN * scale
    slides = [0.0] if spare < 0 else [0.0, spare * 0.5, -spare * 0.5, spare, -spare]
    row = h * 1.7
    under = -(2 * style.DIM_LIFT * scale + h * (1 + style.DESCENT))
    tries = [(s, 0.0, -_OTHERS + 0.1 * n if spare >= 0 else 2 * _BLOCKED) for n, s in enumerate(slides)]  # its own line is no other's
    tries += [(s, 0.0, 0.5) for s in (beyond, -beyond)]
    tries += [(s, lift, 1.0 + 0.4 * n) for n, lift in enumerate((row, under - row * 0.4, 2 * row, under - row * 1.4, 3 * row, 4 * row))
              for s in (0.0, beyond * 0.5, -beyond * 0.5, beyond, -beyond)]
    mx, my = parts.middle
    at, boxes = [], []
    for along, lift, _ in tries:
        middle = (mx + ux * along - uy * lift, my + uy * along + ux * lift)
        text = Text(middle, parts.text, style.NOTE, "centre", "middle", parts.rotation, layer=item.layer)
        boxes.append(_box_of(draft.text_quad(text, scale)))
        # at its usual place figures keep no place of their own, so that they follow their line when it is moved
        at.append((None if not along and not lift else middle,))
    return _Places(item, at, np.array(boxes), np.tile(_NO_LINE, (len(at), 1, 1)), np.array([cost for *_, cost in tries]))


def _round(reaches: tuple[float, ...], angles: tuple[float, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Directions (n, 2) and reaches (n): all angles at the first reach, then at the next."""
    reach, turn = (a.ravel() for a in np.meshgrid(reaches, np.radians(angles), indexing="ij"))
    return np.column_stack([np.cos(turn), np.sin(turn)]), reach


# first the slopes drafters use, then the rest
_TAG_ROUND = _round((0.1, 0.25, 0.45, 0.7, 1.0, 1.4, 2.0, 2.8, 4.0),
                    (45, 135, -45, -135, 0, 180, 90, -90, 22, 158, -22, -158, 68, 112, -68, -112))
_NOTE_ROUND = _round((0.3, 0.5, 0.8, 1.2, 1.7, 2.3), (45, 135, -45, -135, 60, 120, -60, -120, 30, 150, -30, -150))
_STEPS = np.array([(n + 1) // 2 * (-1 if n % 2 else 1) for n in range(97)])  # 0, -1, 1, -2, 2 ...


def _tag_places(item: Tag, scale: float, metric: bool, body: Box) -> _Places:
    """Around its tip, nearest first; a tag without a tip cannot be placed."""
    assert item.tip is not None, "a tag needs a place or a tip"
    size = np.array(draft.tag_size(item)) * scale
    way, reach = _TAG_ROUND
    centre = np.array(item.tip) + way * (reach[:, None] * scale + size / 2)
    # and last, over, under and beside all that is drawn
    left, bottom, right, top = body
    x, y = item.tip
    beside = np.arange(-8, 9)[:, None] * size * 1.3
    far = [np.column_stack([x + beside[:, 0], np.full(17, level)]) for row in range(3)
           for level in (top + size[1] * (1 + 1.3 * row), bottom - size[1] * (1 + 1.3 * row))]
    far += [np.column_stack([np.full(17, edge), y + beside[:, 1]]) for edge in (right + size[0], left - size[0])]
    outer = np.vstack(far)
    run = outer - item.tip
    span = np.hypot(*run.T)
    centre, way = np.vstack([centre, outer]), np.vstack([way, run / np.maximum(span, 1e-9)[:, None]])
    reach = np.concatenate([reach, span / scale + 1.0])
    end = centre - way * size / 2
    tip = np.broadcast_to(item.tip, end.shape)
    lines = np.stack([np.hstack([tip, end]), np.hstack([end, end])], axis=1)
    half = size / 2 + style.TEXT_AIR * scale
    return _Places(item, [((float(x), float(y)),) for x, y in centre], np.hstack([centre - half, centre + half]), lines, reach * 1.5)


def _note_places(item: Leader, scale: float, metric: bool, body: Box) -> _Places:
    """Near its tip in all directions, then in columns at the right and left of the view, then in rows over and under it."""
    wide, high = (s * scale for s in style.block_size(item.text, item.height, item.wrap))
    up = item.height / 2 * scale
    down = high - up
    air, landing = style.TEXT_AIR * scale, (style.LANDING + style.TEXT_AIR) * scale
    pitch = high + item.height * scale
    x, y = item.tip
    left, bottom, right, top = body
    tries = []  # anchor x, anchor y, +1 where the text runs to the right, price
    way, reach = _NOTE_ROUND
    to = np.where(way[:, 0] > 0, 1.0, -1.0)
    tries.append(np.column_stack([x + way[:, 0] * reach * scale + to * landing, y + way[:, 1] * reach * scale, to, reach]))
    out = 0.3 * scale + landing
    for column in (0, 1, 2):
        shift = column * (style.NOTE_WRAP + 0.5) * scale
        for edge, turn in ((right + out + shift, 1.0), (left - out - shift, -1.0)):
            level = y + _STEPS * pitch / 2
            price = 0.3 + np.hypot(edge - x, level - y) / scale * 0.8 + 2 * column
            tries.append(np.column_stack([np.full_like(level, edge), level, np.full_like(level, turn), price]))
    for row in range(8):
        for level in (top + 0.3 * scale + row * pitch + down, bottom - 0.3 * scale - row * pitch - up):
            edge = np.repeat(x + np.arange(-12, 13) * 0.4 * scale, 2)
            price = 0.3 + np.hypot(edge - x, level - y) / scale * 0.8
            tries.append(np.column_stack([edge, np.full_like(edge, level), np.tile([1.0, -1.0], 25), price]))
    ax, ay, to, cost = np.vstack(tries).T
    near, far = ax - to * air, ax + to * (wide + air)
    boxes = np.column_stack([np.minimum(near, far), ay - down - air, np.maximum(near, far), ay + up + air])
    knee, end = ax - to * landing, ax - to * air * 1.01
    tip_x, tip_y = np.full_like(ax, x), np.full_like(ay, y)
    lines = np.stack([np.column_stack([tip_x, tip_y, knee, ay]), np.column_stack([knee, ay, end, ay])], axis=1)
    slope = np.abs(np.arctan2(ay - y, (knee - x) * to))
    cost = cost + np.where((slope > 0.25) & (slope < 1.45), 0.0, _STEEP) + np.where(slope > math.pi / 2, 3.0, 0.0)
    at = [((float(px), float(py)), "right" if turn > 0 else "left") for px, py, turn in zip(ax, ay, to)]
    return _Places(item, at, boxes, lines, cost)
