"""From items to strokes: every dimension, leader, tag, symbol and table worked out as lines, solid heads and lettering.

Both writers and the layout take their geometry from here, so a DXF, a PDF and the measured boxes cannot differ. Strokes
are again items of `drawing`, of the plain kinds alone: Line, Polyline, Circle, Arc, Hatch, Text. `scale` is model
inches to a paper inch (1 on paper); heights of Text stay paper inches.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import lru_cache

from . import style
from .dimensioning import dimension_strokes
from .drawing import (
    AnyItem,
    Arc,
    Arrow,
    Box,
    Circle,
    Dimension,
    DrawingSet,
    Hatch,
    Leader,
    Line,
    Point,
    Polyline,
    Symbol,
    Table,
    Tag,
    Text,
    View,
)
from .symbols import SYMBOLS, TAG_SHAPES, Definition
from .tabling import table_strokes

__all__ = [
    "arrow_heads",
    "clean",
    "drawn_box",
    "has_length",
    "items_box",
    "leader_path",
    "moved",
    "points",
    "standing_still",
    "strokes",
    "symbol_size",
    "symbol_slots",
    "tag_line",
    "tag_size",
    "text_quad",
    "text_quads",
    "view_box",
]

Quad = tuple[Point, Point, Point, Point]


def leader_path(item: Leader, scale: float) -> list[Point]:
    """Tip, bends, knee, end of the landing beside the text."""
    assert item.at is not None, "a leader must be placed before it is drawn"
    to = -1 if item.side == "right" else 1
    x, y = item.at
    end = (x + to * style.TEXT_AIR * scale, y)
    knee = (end[0] + to * style.LANDING * scale, y)
    return [item.tip, *item.via, knee, end]


def leader_text(item: Leader) -> Text:
    """The lettering of a leader: its first line's middle level with `at`."""
    assert item.at is not None
    return Text(
        item.at,
        item.text,
        item.height,
        "left" if item.side == "right" else "right",
        "middle",
        0.0,
        item.wrap,
        layer=item.layer,
        mark=item.mark,
    )


def _leader(item: Leader, scale: float) -> list[AnyItem]:
    path = leader_path(item, scale)
    out: list[AnyItem] = [Polyline(path, layer=item.layer, mark=item.mark)]
    if item.head != "none":
        turn = math.degrees(math.atan2(path[0][1] - path[1][1], path[0][0] - path[1][0]))
        out += symbol_items(SYMBOLS[item.head], item.tip, scale, turn, item.layer)
    text = leader_text(item)
    text.at = (item.at[0], item.at[1] - _first_line_drop(text) * scale)
    out.append(text)
    return out


def _first_line_drop(text: Text) -> float:
    """Paper inches from the middle of a block of lines to the middle of its first line."""
    rows = style.lines(text.text, text.height, text.wrap)
    return (len(rows) - 1) * style.LINE_SPACING * text.height / 2


def tag_size(item: Tag) -> tuple[float, float]:
    """Paper width and height of a tag's balloon."""
    width = style.text_width(item.text, item.height)
    if item.shape == "box":
        return (width + item.height, item.height * 2)
    if item.shape == "plain":
        return (width, item.height)
    across = max(item.height * 2.6, math.hypot(width, item.height) + item.height * 0.5)
    return (across, across)


def tag_line(item: Tag, scale: float) -> tuple[Point, Point] | None:
    """From the edge of the balloon to the tip."""
    if item.tip is None:
        return None
    assert item.at is not None, "a tag must be placed before it is drawn"
    far = math.dist(item.at, item.tip)
    width, height = (s / 2 * scale for s in tag_size(item))
    if far < 1e-9:
        return None
    ux, uy = (item.tip[0] - item.at[0]) / far, (item.tip[1] - item.at[1]) / far
    if item.shape in ("circle", "hexagon"):
        reach = width
    else:
        reach = min(width / abs(ux) if abs(ux) > 1e-9 else math.inf, height / abs(uy) if abs(uy) > 1e-9 else math.inf)
    return ((item.at[0] + ux * reach, item.at[1] + uy * reach), item.tip) if reach < far else None


def _tag(item: Tag, scale: float) -> list[AnyItem]:
    assert item.at is not None, "a tag must be placed before it is drawn"
    width, height = (s * scale for s in tag_size(item))
    out: list[AnyItem] = []
    for shape in TAG_SHAPES[item.shape]:
        if isinstance(shape, Circle):
            out.append(Circle(item.at, width / 2, layer=item.layer, mark=item.mark))
        else:
            out.append(
                Polyline(
                    [(item.at[0] + x * width, item.at[1] + y * height) for x, y in shape.points],
                    True,
                    layer=item.layer,
                    mark=item.mark,
                )
            )
    if line := tag_line(item, scale):
        out.append(Line(*line, layer=item.layer, mark=item.mark))
    out.append(Text(item.at, item.text, item.height, "centre", "middle", layer=item.layer, mark=item.mark))
    return out


def arrow_heads(item: Arrow) -> list[tuple[Point, float]]:
    """Tip and direction (degrees) of each head."""

    def head(tip: Point, back: Point) -> tuple[Point, float]:
        return (tip, math.degrees(math.atan2(tip[1] - back[1], tip[0] - back[0])))

    ends = [] if item.heads == "none" else [head(item.points[-1], item.points[-2])]
    return [*ends, head(item.points[0], item.points[1])] if item.heads == "both" else ends


def _arrow(item: Arrow, scale: float) -> list[AnyItem]:
    out: list[AnyItem] = [Polyline(item.points, layer=item.layer, mark=item.mark)]
    for tip, turn in arrow_heads(item):
        out += symbol_items(SYMBOLS["arrow"], tip, scale, turn, item.layer)
    return out


def symbol_items(
    definition: Definition, at: Point, size: float, turn: float, layer: str, mark: str = ""
) -> list[AnyItem]:
    """The items of a definition turned by `turn` degrees, made `size` times larger and put at `at`, all on `layer`."""
    ux, uy = style.unit(turn)

    def put(p: Point) -> Point:
        return (at[0] + size * (p[0] * ux - p[1] * uy), at[1] + size * (p[0] * uy + p[1] * ux))

    out: list[AnyItem] = []
    for part in definition.items:
        if isinstance(part, Line):
            out.append(Line(put(part.a), put(part.b), layer=layer, mark=mark))
        elif isinstance(part, Polyline):
            out.append(Polyline([put(p) for p in part.points], part.closed, layer=layer, mark=mark))
        elif isinstance(part, Circle):
            out.append(Circle(put(part.centre), part.radius * size, layer=layer, mark=mark))
        elif isinstance(part, Arc):
            out.append(
                Arc(put(part.centre), part.radius * size, part.start + turn, part.end + turn, layer=layer, mark=mark)
            )
        elif isinstance(part, Hatch):
            out.append(replace(part, outline=[put(p) for p in part.outline], layer=layer, mark=mark))
        else:
            out.append(replace(part, at=put(part.at), rotation=turn, layer=layer, mark=mark))
    return out


def symbol_size(item: Symbol, scale: float) -> float:
    """What the definition is multiplied by."""
    return item.size if item.true_size else item.size * scale


def symbol_slots(item: Symbol, scale: float) -> Iterator[tuple[str, Text]]:
    """Tag and lettering of every filled slot."""
    size = symbol_size(item, scale)
    for slot in SYMBOLS[item.name].slots:
        if value := item.values.get(slot.tag, ""):
            yield (
                slot.tag,
                Text(
                    (item.at[0] + slot.at[0] * size, item.at[1] + slot.at[1] * size),
                    value,
                    slot.height * item.size,
                    slot.align,
                    slot.level,
                    layer=item.layer,
                ),
            )


def _symbol(item: Symbol, scale: float) -> list[AnyItem]:
    out = symbol_items(SYMBOLS[item.name], item.at, symbol_size(item, scale), item.rotation, item.layer, item.mark)
    return out + [text for _, text in symbol_slots(item, scale)]


_DRAW: dict[type, Callable[..., list[AnyItem]]] = {
    Dimension: dimension_strokes,
    Leader: lambda i, s, m: _leader(i, s),
    Tag: lambda i, s, m: _tag(i, s),
    Arrow: lambda i, s, m: _arrow(i, s),
    Symbol: lambda i, s, m: _symbol(i, s),
    Table: lambda i, s, m: table_strokes(i),
}


def strokes(item: AnyItem, scale: float, metric: bool = False) -> list[AnyItem]:
    """`item` as plain items (itself, where it is plain already)."""
    draw = _DRAW.get(type(item))
    return draw(item, scale, metric) if draw else [item]


@lru_cache(maxsize=20000)
def _block(text: str, height: float, wrap: float | None) -> tuple[float, int]:
    """Paper width of the widest line of a text, and how many lines it has."""
    rows = style.lines(text, height, wrap)
    return max(style.text_width(row, height) for row in rows), len(rows)


def text_quad(text: Text, scale: float, air: float = 0.0) -> Quad:
    """The four corners of a text's box, from the foot of its descenders to the top of its capitals, grown by `air`."""
    widest, rows = _block(text.text, text.height, text.wrap)
    wide = widest * scale
    body = text.height * (1 + style.LINE_SPACING * (rows - 1)) * scale
    deep = text.height * style.DESCENT * scale
    left = {"left": 0.0, "centre": -wide / 2, "right": -wide}[text.align]
    low = {"bottom": 0.0, "middle": -body / 2, "top": -body}[text.level]
    grow = air * scale
    ux, uy = style.unit(text.rotation)
    x, y = text.at
    l, r, b, t = left - grow, left + wide + grow, low - deep - grow, low + body + grow
    return (
        (x + l * ux - b * uy, y + l * uy + b * ux),
        (x + r * ux - b * uy, y + r * uy + b * ux),
        (x + r * ux - t * uy, y + r * uy + t * ux),
        (x + l * ux - t * uy, y + l * uy + t * ux),
    )


def text_quads(
    items: Iterable[AnyItem], scale: float, metric: bool = False, air: float = 0.0
) -> list[tuple[Quad, Text]]:
    """Box and lettering of every text that the items draw."""
    return [
        (text_quad(stroke, scale, air), stroke)
        for item in items
        for stroke in strokes(item, scale, metric)
        if type(stroke) is Text and stroke.text
    ]


def points(stroke: AnyItem, scale: float) -> Iterable[Point]:
    """Points whose box is the box of a plain item."""
    kind = type(stroke)
    if kind is Line:
        return (stroke.a, stroke.b)
    if kind is Polyline:
        return stroke.points
    if kind is Hatch:
        return stroke.outline
    if kind is Text:
        return text_quad(stroke, scale)
    (x, y), r = stroke.centre, stroke.radius
    return ((x - r, y - r), (x + r, y + r))


def items_box(items: Iterable[AnyItem], scale: float, metric: bool = False) -> Box:
    """The box of everything the items draw. (0, 0, 0, 0) where they draw nothing. Unplaced leaders and tags are left
    out."""
    every = [
        p
        for item in items
        if getattr(item, "at", 0) is not None
        for stroke in strokes(item, scale, metric)
        for p in points(stroke, scale)
    ]
    if not every:
        return (0.0, 0.0, 0.0, 0.0)
    xs, ys = [p[0] for p in every], [p[1] for p in every]
    return (min(xs), min(ys), max(xs), max(ys))


_measured: dict[tuple[int, bool], Box] | None = None  # boxes of views while they stand still


@contextmanager
def standing_still() -> Iterator[None]:
    """Inside, no view changes (a set is being written): the box of each is measured once."""
    global _measured
    outer = _measured
    _measured = {} if outer is None else outer
    try:
        yield
    finally:
        _measured = outer


def drawn_box(view: View, metric: bool = False) -> Box:
    """The box of all that a view draws, lettering included."""
    if _measured is None:
        return items_box(view.items, view.scale, metric)
    key = id(view), metric
    if key not in _measured:
        _measured[key] = items_box(view.items, view.scale, metric)
    return _measured[key]


def view_box(view: View, metric: bool = False) -> Box:
    """The view's window, or the box of all it draws, lettering included."""
    return view.window or drawn_box(view, metric)


def moved(item: AnyItem, dx: float, dy: float) -> AnyItem:
    """A copy of a plain item, moved."""

    def put(p: Point) -> Point:
        return (p[0] + dx, p[1] + dy)

    kind = type(item)
    if kind is Line:
        return replace(item, a=put(item.a), b=put(item.b))
    if kind is Polyline:
        return replace(item, points=[put(p) for p in item.points])
    if kind is Hatch:
        return replace(
            item, outline=[put(p) for p in item.outline], holes=[[put(p) for p in ring] for ring in item.holes]
        )
    if kind is Text:
        return replace(item, at=put(item.at))
    return replace(item, centre=put(item.centre))


def _path(item: Line | Polyline) -> tuple[Point, ...]:
    ends = (item.a, item.b) if type(item) is Line else item.points
    return tuple([(round(x, 4), round(y, 4)) for x, y in ends])


def has_length(item: AnyItem) -> bool:
    """Whether a plain item is more than a line of no length."""
    return type(item) not in (Line, Polyline) or len(set(_path(item))) > 1


def clean(items: Iterable[AnyItem]) -> list[AnyItem]:
    """The items without lines of no length and without lines drawn twice for the same piece on the same layer."""
    seen: set[tuple] = set()
    out: list[AnyItem] = []
    for item in items:
        if type(item) in (Line, Polyline):
            path = _path(item)
            if len(set(path)) < 2:
                continue
            key = (item.layer, item.mark, min(path, path[::-1]), type(item) is Polyline and item.closed)
            if key in seen:
                continue
            seen.add(key)
        out.append(item)
    return out


def arrange(drawing: DrawingSet, gap: float = 120.0) -> None:
    """Give every view without an origin its own place in model space, in a row to the right of those placed."""
    right = 0.0
    for view in drawing.views():
        if view.origin is None:
            box = view_box(view)
            view.origin = (float(round(right - box[0])), float(round(-box[1])))
        right = max(right, view_box(view)[2] + view.origin[0] + gap)
