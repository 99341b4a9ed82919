"""From items to strokes: every dimension, leader, tag, symbol and table worked out as lines, solid heads and lettering.

Both writers and the layout take their geometry from here, so a DXF, a PDF and the measured boxes cannot differ. Strokes
are again items of `drawing`, of the plain kinds alone: Line, Polyline, Circle, Arc, Hatch, Text. `scale` is model inches to
a paper inch (1 on paper); heights of Text stay paper inches.
"""
from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Callable, Iterable, Iterator

from . import style
from .drawing import (AnyItem, Arc, Arrow, Box, Circle, Dimension, Hatch, Leader, Line, Point, Polyline, Symbol, Table, Tag,
                      Text, View)
from .symbols import SYMBOLS, TAG_SHAPES, Definition

Quad = tuple[Point, Point, Point, Point]
PLAIN = (Line, Polyline, Circle, Arc, Hatch, Text)


@dataclass(slots=True)
class DimensionParts:
    """A dimension worked out. `value` is the exact measured length in inches; `middle`/`rotation` are the text's."""

    value: float
    text: str
    line: tuple[Point, Point]
    extensions: list[tuple[Point, Point]]
    ticks: list[tuple[Point, Point]]
    middle: Point
    rotation: float
    direction: float
    link: tuple[Point, Point] | None


def reading(angle: float) -> float:
    """`angle` turned so that lettering along it reads from the foot or the right of the sheet: in (-90, 90]."""
    angle = (angle + 180) % 360 - 180
    return angle - 180 if angle > 90 + 1e-9 else angle + 180 if angle <= -90 + 1e-9 else angle


def dimension(item: Dimension, scale: float, metric: bool = False) -> DimensionParts:
    """The geometry of a dimension and the text computed from its points."""
    (ax, ay), (bx, by) = item.a, item.b
    angle = math.degrees(math.atan2(by - ay, bx - ax)) if item.angle is None else item.angle
    ux, uy = style.unit(angle)
    if (bx - ax) * ux + (by - ay) * uy < 0:
        angle, ux, uy = angle + 180, -ux, -uy
    value = (bx - ax) * ux + (by - ay) * uy

    def foot(x: float, y: float) -> Point:
        along = (x - item.at[0]) * ux + (y - item.at[1]) * uy
        return (item.at[0] + along * ux, item.at[1] + along * uy)

    qa, qb = foot(ax, ay), foot(bx, by)
    extensions = []
    for p, q in ((item.a, qa), (item.b, qb)):
        far = math.dist(p, q)
        if far > 1e-6 * scale:
            vx, vy = (q[0] - p[0]) / far, (q[1] - p[1]) / far
            gap = min(style.DIM_GAP * scale, far)
            over = style.DIM_OVERRUN * scale
            extensions.append(((p[0] + vx * gap, p[1] + vy * gap), (q[0] + vx * over, q[1] + vy * over)))
    half = style.TICK / 2 * scale
    tx, ty = half * (ux - uy), half * (ux + uy)  # 45 degrees off the dimension line, whichever way it runs
    ticks = [((q[0] - tx, q[1] - ty), (q[0] + tx, q[1] + ty)) for q in (qa, qb)]
    rotation = reading(angle)
    text = item.prefix + style.dimension_text(value, metric) + item.suffix
    lift = (style.DIM_LIFT + style.NOTE / 2) * scale
    rx, ry = style.unit(rotation)
    usual = ((qa[0] + qb[0]) / 2 - ry * lift, (qa[1] + qb[1]) / 2 + rx * lift)
    middle, link = usual, None
    if item.text_at is not None:
        middle = item.text_at
        off = abs((middle[0] - usual[0]) * -ry + (middle[1] - usual[1]) * rx)
        if off > style.NOTE * 1.2 * scale:  # lifted off its line: a thin line says whose text it is
            near = -1 if (middle[0] - usual[0]) * -ry + (middle[1] - usual[1]) * rx > 0 else 1
            drop = (style.NOTE / 2 + style.DIM_LIFT) * scale * near
            # from the nearest point of the dimension line, its ends left to the ticks
            share = ((middle[0] - qa[0]) * ux + (middle[1] - qa[1]) * uy) / value if value else 0.5
            share = min(max(share, 0.25), 0.75)
            link = ((qa[0] + (qb[0] - qa[0]) * share, qa[1] + (qb[1] - qa[1]) * share), (middle[0] - ry * drop, middle[1] + rx * drop))
    return DimensionParts(value, text, (qa, qb), extensions, ticks, middle, rotation, angle, link)


def _bar(p: Point, q: Point, width: float, layer: str) -> Hatch:
    """A stroke from p to q, `width` wide."""
    long = math.dist(p, q)
    nx, ny = (p[1] - q[1]) / long * width / 2, (q[0] - p[0]) / long * width / 2
    return Hatch([(p[0] - nx, p[1] - ny), (q[0] - nx, q[1] - ny), (q[0] + nx, q[1] + ny), (p[0] + nx, p[1] + ny)],
                 pattern="solid", layer=layer)


def _dimension(item: Dimension, scale: float, metric: bool) -> list[AnyItem]:
    parts = dimension(item, scale, metric)
    pairs = [parts.line, *parts.extensions]
    if parts.link:
        pairs.append(parts.link)
    out: list[AnyItem] = [Line(p, q, layer=item.layer) for p, q in pairs]
    out += [_bar(p, q, style.TICK_WIDTH * scale, item.layer) for p, q in parts.ticks]
    out.append(Text(parts.middle, parts.text, style.NOTE, "centre", "middle", parts.rotation, layer=item.layer))
    return out


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
    return Text(item.at, item.text, item.height, "left" if item.side == "right" else "right", "middle", 0.0, item.wrap,
                layer=item.layer, mark=item.mark)


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
            out.append(Polyline([(item.at[0] + x * width, item.at[1] + y * height) for x, y in shape.points], True,
                                layer=item.layer, mark=item.mark))
    if line := tag_line(item, scale):
        out.append(Line(*line, layer=item.layer, mark=item.mark))
    out.append(Text(item.at, item.text, item.height, "centre", "middle", layer=item.layer, mark=item.mark))
    return out


def arrow_heads(item: Arrow) -> list[tuple[Point, float]]:
    """Tip and direction (degrees) of each head."""
    def head(tip: Point, back: Point) -> tuple[Point, float]:
        return (tip, math.degrees(math.atan2(tip[1] - back[1], tip[0] - back[0])))

    ends = [] if item.heads == "none" else [head(item.points[-1], item.points[-2])]
    return ends + [head(item.points[0], item.points[1])] if item.heads == "both" else ends


def _arrow(item: Arrow, scale: float) -> list[AnyItem]:
    out: list[AnyItem] = [Polyline(item.points, layer=item.layer, mark=item.mark)]
    for tip, turn in arrow_heads(item):
        out += symbol_items(SYMBOLS["arrow"], tip, scale, turn, item.layer)
    return out


def symbol_items(definition: Definition, at: Point, size: float, turn: float, layer: str, mark: str = "") -> list[AnyItem]:
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
            out.append(Arc(put(part.centre), part.radius * size, part.start + turn, part.end + turn, layer=layer, mark=mark))
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
            yield slot.tag, Text((item.at[0] + slot.at[0] * size, item.at[1] + slot.at[1] * size), value,
                                 slot.height * item.size, slot.align, slot.level, layer=item.layer)


def _symbol(item: Symbol, scale: float) -> list[AnyItem]:
    out = symbol_items(SYMBOLS[item.name], item.at, symbol_size(item, scale), item.rotation, item.layer, item.mark)
    return out + [text for _, text in symbol_slots(item, scale)]


def table_rows(item: Table) -> list[tuple[float, list[str]]]:
    """Height in paper inches and cells of each row, the head first."""
    pad = item.height * 0.75
    out = []
    for row in [item.head, *item.rows]:
        deep = max(len(style.lines(cell, item.height, width - 2 * pad)) for cell, width in zip(row, item.widths))
        out.append((item.height * (1 + style.LINE_SPACING * (deep - 1)) + 2 * pad, row))
    return out


def table_size(item: Table) -> tuple[float, float]:
    """Paper width and height of a table with its title."""
    return (sum(item.widths), _table_title(item) + sum(height for height, _ in table_rows(item)))


def _table_title(item: Table) -> float:
    return style.TITLE + item.height * 1.25 if item.title else 0.0


def _table(item: Table) -> list[AnyItem]:
    x, y = item.at
    pad, wide = item.height * 0.75, sum(item.widths)
    out: list[AnyItem] = []
    if item.title:
        out.append(Text((x, y), item.title, style.TITLE, "left", "top", layer=item.layer))
        y -= _table_title(item)
    top = y
    out.append(Line((x, y), (x + wide, y), layer=item.layer))
    for height, row in table_rows(item):
        left = x
        for column, (cell, width) in enumerate(zip(row, item.widths)):
            align = {"c": "centre", "r": "right"}.get(item.aligns[column:column + 1], "left")
            at = {"left": left + pad, "centre": left + width / 2, "right": left + width - pad}[align]
            if cell:
                out.append(Text((at, y - pad), cell, item.height, align, "top", 0.0, width - 2 * pad, layer=item.layer))
            left += width
        y -= height
        out.append(Line((x, y), (x + wide, y), layer=item.layer))
    edge = x
    for width in [0.0, *item.widths]:
        edge += width
        out.append(Line((edge, top), (edge, y), layer=item.layer))
    return out


_DRAW: dict[type, Callable[..., list[AnyItem]]] = {
    Dimension: _dimension, Leader: lambda i, s, m: _leader(i, s), Tag: lambda i, s, m: _tag(i, s),
    Arrow: lambda i, s, m: _arrow(i, s), Symbol: lambda i, s, m: _symbol(i, s), Table: lambda i, s, m: _table(i),
}


def strokes(item: AnyItem, scale: float, metric: bool = False) -> list[AnyItem]:
    """`item` as plain items (itself, where it is plain already)."""
    draw = _DRAW.get(type(item))
    return draw(item, scale, metric) if draw else [item]


def text_quad(text: Text, scale: float, air: float = 0.0) -> Quad:
    """The four corners of a text's box, from the foot of its descenders to the top of its capitals, grown by `air`."""
    rows = style.lines(text.text, text.height, text.wrap)
    wide = max(style.text_width(row, text.height) for row in rows) * scale
    body = text.height * (1 + style.LINE_SPACING * (len(rows) - 1)) * scale
    deep = text.height * style.DESCENT * scale
    left = {"left": 0.0, "centre": -wide / 2, "right": -wide}[text.align]
    low = {"bottom": 0.0, "middle": -body / 2, "top": -body}[text.level]
    grow = air * scale
    ux, uy = style.unit(text.rotation)
    x, y = text.at
    corners = ((left - grow, low - deep - grow), (left + wide + grow, low - deep - grow),
               (left + wide + grow, low + body + grow), (left - grow, low + body + grow))
    return tuple((x + a * ux - b * uy, y + a * uy + b * ux) for a, b in corners)  # type: ignore[return-value]


def text_quads(items: Iterable[AnyItem], scale: float, metric: bool = False, air: float = 0.0) -> list[tuple[Quad, Text]]:
    """Box and lettering of every text that the items draw."""
    return [(text_quad(stroke, scale, air), stroke) for item in items for stroke in strokes(item, scale, metric)
            if type(stroke) is Text and stroke.text]


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
    """The box of everything the items draw. (0, 0, 0, 0) where they draw nothing. Unplaced leaders and tags are left out."""
    every = [p for item in items if getattr(item, "at", 0) is not None for stroke in strokes(item, scale, metric)
             for p in points(stroke, scale)]
    if not every:
        return (0.0, 0.0, 0.0, 0.0)
    xs, ys = [p[0] for p in every], [p[1] for p in every]
    return (min(xs), min(ys), max(xs), max(ys))


def view_box(view: View, metric: bool = False) -> Box:
    """The view's window, or the box of all it draws, lettering included."""
    return view.window or items_box(view.items, view.scale, metric)


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
        return replace(item, outline=[put(p) for p in item.outline], holes=[[put(p) for p in ring] for ring in item.holes])
    if kind is Text:
        return replace(item, at=put(item.at))
    return replace(item, centre=put(item.centre))


def clean(items: Iterable[AnyItem]) -> list[AnyItem]:
    """The items without lines of no length and without lines drawn twice for the same piece on the same layer."""
    seen: set[tuple] = set()
    out: list[AnyItem] = []
    for item in items:
        if type(item) in (Line, Polyline):
            ends = (item.a, item.b) if type(item) is Line else tuple(item.points)
            path = tuple((round(x, 4), round(y, 4)) for x, y in ends)
            if len(set(path)) < 2:
                continue
            key = (item.layer, item.mark, min(path, path[::-1]), type(item) is Polyline and item.closed)
            if key in seen:
                continue
            seen.add(key)
        out.append(item)
    return out
