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
from .boxes import box_hits, segment_box_hits, segment_hits
from .drawing import AnyItem, Arc, Arrow, Box, Circle, Dimension, Hatch, Leader, Line, Point, Polyline, Symbol, Tag, Text, View
from .layers import HEAVY, LAYERS

_BLOCKED = 1000.0  # cost of one thing that bars a place
# what makes a place dearer: a light line, a hatch, another leader, a leader near level or plumb, another dimension's line
_LIGHT, _HATCHED, _CROSSED, _STEEP, _OTHERS = 0.12, 1.0, 3.0, 0.4, 1.5


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
    field_ = _Field([i for i in items if id(i) not in loose], dims, scale, metric)
    report = Report()
    notes.sort(key=lambda n: (-n.tip[1], n.tip[0]))
    for group, make in ((dims, _dimension_places), (tags, _tag_places), (notes, _note_places)):
        places = [make(item, scale, metric, field_.body) for item in group]
        for candidates, cost in zip(places, field_.static_costs(places, within, group is dims)):
            if field_.settle(candidates, cost):
                report.placed += 1
            else:
                report.unplaced.append(candidates.item)
    return report


class _Field:
    """What stands on a view already: searched by tree for what is fixed, by arrays for what was just placed."""

    def __init__(self, fixed: list[AnyItem], dims: list[Dimension], scale: float, metric: bool):
        self.scale = scale
        texts, hard, soft, hatched, body = [], [], [], [], []
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

    def static_costs(self, places: list[_Places], within: Box | None, dims: bool) -> list[np.ndarray]:
        """The cost of every candidate of every item against what is fixed, found in one query a tree."""
        if not places:
            return []
        boxes = np.vstack([p.boxes for p in places])
        lines = np.vstack([p.lines for p in places])
        cost = np.concatenate([p.cost for p in places])
        shapes = shapely.box(boxes[:, 0], boxes[:, 1], boxes[:, 2], boxes[:, 3])
        # figures standing over a dimension line that is not theirs would be read as its own: grown boxes find those lines
        lift = 2 * style.DIM_LIFT * self.scale
        around = shapely.box(boxes[:, 0] - lift, boxes[:, 1] - lift, boxes[:, 2] + lift, boxes[:, 3] + lift) if dims else shapes
        queries = [(self.text_tree, shapes, _BLOCKED), (self.hard_tree, shapes, _BLOCKED), (self.soft_tree, shapes, _LIGHT),
                   (self.hatch_tree, shapes, _HATCHED), (self.dim_tree, around, _OTHERS if dims else _BLOCKED)]
        for tree, area, price in queries:
            if len(tree):
                cost += price * np.bincount(tree.query(area, predicate="intersects")[0], minlength=len(cost))
        has_line = ~np.isnan(lines[:, 0, 0])
        if has_line.any() and len(self.text_tree):
            which = np.flatnonzero(has_line)
            paths = shapely.linestrings(np.concatenate([lines[which][:, :, :2], lines[which][:, 1:, 2:]], axis=1))
            cost[which] += _BLOCKED * np.bincount(self.text_tree.query(paths, predicate="intersects")[0], minlength=len(which))
        if within is not None:
            cost += _BLOCKED * ((boxes[:, 0] < within[0]) | (boxes[:, 1] < within[1]) | (boxes[:, 2] > within[2]) | (boxes[:, 3] > within[3]))
        return np.split(cost, np.cumsum([len(p.cost) for p in places])[:-1])

    def settle(self, places: _Places, cost: np.ndarray) -> bool:
        """Put an item at its cheapest place, given those placed before. False when something bars even that one."""
        order = np.argsort(cost, kind="stable")
        best, best_cost = -1, math.inf
        for start in range(0, len(order), 24):
            some = order[start:start + 24]
            if cost[some[0]] >= best_cost:
                break
            total = cost[some] + self._moving_costs(places.boxes[some], places.lines[some])
            least = int(np.argmin(total))
            if total[least] < best_cost:
                best, best_cost = int(some[least]), float(total[least])
        _put(places.item, places.at[best])
        self.boxes = np.vstack([self.boxes, places.boxes[best]])
        line = places.lines[best]
        if not np.isnan(line[0, 0]):
            self.lines = np.vstack([self.lines, line])
        return best_cost < _BLOCKED

    def _moving_costs(self, boxes: np.ndarray, lines: np.ndarray) -> np.ndarray:
        cost = np.zeros(len(boxes))
        if len(self.boxes):
            cost += _BLOCKED * box_hits(boxes, self.boxes).sum(1)
        if len(self.lines):
            cost += _BLOCKED * segment_box_hits(self.lines, boxes).sum(0)
        if not np.isnan(lines[0, 0, 0]):
            for leg in (0, 1):
                if len(self.boxes):
                    cost += _BLOCKED * segment_box_hits(lines[:, leg], self.boxes).sum(1)
                if len(self.lines):
                    cost += _CROSSED * segment_hits(lines[:, leg], self.lines).sum(1)
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


def _tag_places(item: Tag, scale: float, metric: bool, body: Box) -> _Places:
    """Around its tip, nearest first; a tag without a tip cannot be placed."""
    assert item.tip is not None, "a tag needs a place or a tip"
    width, height = (s * scale for s in draft.tag_size(item))
    at, lines, cost = [], [], []
    for reach in (0.1, 0.25, 0.45, 0.7, 1.0, 1.4, 2.0, 2.8):
        for angle in (45, 135, -45, -135, 0, 180, 90, -90, 22, 158, -22, -158, 68, 112, -68, -112):
            ux, uy = style.unit(angle)
            x = item.tip[0] + ux * (reach * scale + width / 2)
            y = item.tip[1] + uy * (reach * scale + height / 2)
            at.append(((x, y),))
            cost.append(reach * 1.5)
            end = (x - ux * width / 2, y - uy * height / 2)
            lines.append([[*item.tip, *end], [*end, *end]])
    centre = np.array([a[0] for a in at])
    half = np.array([width, height]) / 2 + style.TEXT_AIR * scale
    return _Places(item, at, np.hstack([centre - half, centre + half]), np.array(lines), np.array(cost))


def _note_places(item: Leader, scale: float, metric: bool, body: Box) -> _Places:
    """Near its tip in all directions, then in columns at the right and left of the view, then in rows over and under it."""
    rows = style.lines(item.text, item.height, item.wrap)
    wide, high = style.block_size(item.text, item.height, item.wrap)
    up, down = item.height / 2 * scale, (high - item.height / 2) * scale
    wide *= scale
    air, landing = style.TEXT_AIR * scale, (style.LANDING + style.TEXT_AIR) * scale
    pitch = (high + item.height) * scale
    x, y = item.tip
    tries: list[tuple[Point, str, float]] = []
    for reach in (0.3, 0.5, 0.8, 1.2, 1.7, 2.3):
        for angle in (45, 135, -45, -135, 60, 120, -60, -120, 30, 150, -30, -150):
            ux, uy = style.unit(angle)
            side = "right" if ux > 0 else "left"
            knee = (x + ux * reach * scale, y + uy * reach * scale)
            tries.append(((knee[0] + (landing if ux > 0 else -landing), knee[1]), side, reach))
    left, bottom, right, top = body
    out = 0.3 * scale + landing
    for column in (0, 1):
        shift = column * (style.NOTE_WRAP + 0.5) * scale
        for n in range(49):
            level = y + (n + 1) // 2 * (-1 if n % 2 else 1) * pitch / 2
            for side, edge in (("right", right + out + shift), ("left", left - out - shift)):
                reach = math.dist((edge, level), item.tip) / scale
                tries.append(((edge, level), side, 0.3 + reach * 0.8 + 2 * column))
    for row in range(4):
        for n in range(-6, 7):
            edge = x + n * 0.5 * scale
            for level in (top + 0.3 * scale + row * pitch + down, bottom - 0.3 * scale - row * pitch - up):
                reach = math.dist((edge, level), item.tip) / scale
                tries += [((edge, level), "right", 0.3 + reach * 0.8), ((edge, level), "left", 0.3 + reach * 0.8)]
    boxes = np.empty((len(tries), 4))
    lines = np.empty((len(tries), 2, 4))
    cost = np.empty(len(tries))
    for n, ((ax, ay), side, price) in enumerate(tries):
        to = 1 if side == "right" else -1
        near, far = ax - to * air, ax + to * (wide + air)
        boxes[n] = (min(near, far), ay - down - air, max(near, far), ay + up + air)
        knee, end = ax - to * landing, ax - to * air * 1.01
        lines[n] = ((x, y, knee, ay), (knee, ay, end, ay))
        slope = abs(math.atan2(ay - y, (knee - x) * to))
        cost[n] = price + (0 if 0.25 < slope < 1.45 else _STEEP) + (3.0 if slope > math.pi / 2 else 0.0)
    assert rows
    return _Places(item, [(p, s) for p, s, _ in tries], boxes, lines, cost)
