"""Repeated symbols, each defined once as items around (0, 0): the DXF makes blocks of them, the PDF draws the same
items.

A definition is in paper inches, or of unit size where it is drawn at true size (`footing`). Lettering that differs from
place to place is a `Slot`: an attribute in the DXF. Slots keep upright whatever way the symbol is turned.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from . import style
from .drawing import AnyItem, Circle, Hatch, Line, Point, Polyline, Symbol, Text

_LAYER = "A-ANNO-SYMB"  # of the definitions; a symbol's own layer replaces it where it is placed


@dataclass(frozen=True)
class Slot:
    """Where lettering goes: attribute `tag`, anchor, height in paper inches, and what the attribute asks for."""

    tag: str
    at: Point
    prompt: str = ""
    height: float = style.NOTE
    align: str = "centre"
    level: str = "middle"
    wrap: float | None = None


@dataclass(frozen=True)
class Definition:
    name: str
    description: str
    items: tuple[AnyItem, ...]
    slots: tuple[Slot, ...] = field(default=())


def _ring(radius: float) -> Circle:
    return Circle((0.0, 0.0), radius, layer=_LAYER)


def _line(ax: float, ay: float, bx: float, by: float) -> Line:
    return Line((ax, ay), (bx, by), layer=_LAYER)


def _solid(*points: Point) -> Hatch:
    return Hatch(list(points), pattern="solid", layer=_LAYER)


def _bubble(radius: float) -> tuple[AnyItem, ...]:
    return (_ring(radius), _line(-radius, 0, radius, 0))


BUBBLE = 0.25  # bubbles of sections, details and view titles
_OVER_UNDER = (Slot("NUMBER", (0.0, 0.1), "Number", style.TITLE), Slot("SHEET", (0.0, -0.11), "Sheet", style.NOTE))


def _section(name: str, angle: float) -> Definition:
    """Bubble with a filled triangle on the side the section looks to."""
    turn = math.radians(angle)

    def at(x: float, y: float) -> Point:
        return (x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn))

    # the triangle whose two sides touch the circle: apex at r * sqrt 2, touching at 45 degrees
    half, apex = BUBBLE * math.sqrt(0.5), BUBBLE * math.sqrt(2)
    left = [at(BUBBLE * math.cos(math.radians(a)), BUBBLE * math.sin(math.radians(a))) for a in range(45, -46, -9)]
    return Definition(
        name,
        f"Section mark, looking {name.split()[1]}",
        (
            *_bubble(BUBBLE),
            _solid(at(half, half), at(apex, 0), at(half, -half), *reversed(left[1:-1])),
        ),
        _OVER_UNDER,
    )


def _title(name: str, description: str, radius: float, title: float, scale: float) -> Definition:
    """Number in a bubble; beside it the title over the line that `furniture.titles` draws, scale and a note under
    it."""
    left = radius + 0.1
    return Definition(
        name,
        description,
        (_ring(radius),),
        (
            Slot("NUMBER", (0.0, 0.0), "Number", title * 0.75),
            Slot("TITLE", (left, 0.07), "Title", title, "left", "bottom"),
            Slot("SCALE", (left, -0.07), "Scale", scale, "left", "top"),
            Slot("NOTE", (left, -0.14 - scale), "Note", style.NOTE, "left", "top"),
        ),
    )


def _marks() -> list[Definition]:
    """Marks that stand by themselves: north, a level, a detail, a revision, the title of a view."""
    north = Definition(
        "north",
        "North mark",
        (
            _ring(0.3),
            _solid((0, 0.45), (0.12, -0.24), (0, -0.12)),
            Polyline([(0, 0.45), (-0.12, -0.24), (0, -0.12)], layer=_LAYER),
            Text((0, 0.56), "N", style.TITLE, "centre", "middle", layer=_LAYER),
        ),
    )
    level = Definition(
        "level",
        "Level mark",
        (_line(-0.12, 0.0, 0.12, 0.0), Polyline([(-0.06, 0.104), (0.06, 0.104), (0.0, 0.0)], True, layer=_LAYER)),
        (Slot("LEVEL", (0.16, 0.05), "Level", level="bottom", align="left"),),
    )
    detail = Definition("detail", "Detail mark", _bubble(BUBBLE), _OVER_UNDER)
    revision = Definition(
        "revision",
        "Triangle of a revision",
        (Polyline([(-0.18, -0.11), (0.18, -0.11), (0.0, 0.2)], True, layer=_LAYER),),
        (Slot("REVISION", (0.0, -0.02), "Revision"),),
    )
    title = _title("title", "Title of a view", 0.25, style.VIEW_TITLE, style.TITLE)
    small = _title("title small", "Title of a view on a small paper", 0.2, 5 / 32, style.NOTE)
    return [north, level, detail, revision, title, small]


def _footings() -> list[Definition]:
    cross = (_line(-0.65, 0, 0.65, 0), _line(0, -0.65, 0, 0.65))
    footing = Definition(
        "footing", "Round footing of diameter 1 with its centre lines", (Circle((0, 0), 0.5, layer=_LAYER), *cross)
    )
    square = Definition(
        "footing square",
        "Square footing of side 1 with its centre lines",
        (Polyline([(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)], True, layer=_LAYER), *cross),
    )
    return [footing, square]


def _origin() -> list[Definition]:
    """Which way X and Y run, and the mark of the point that they begin at."""
    ways = Definition(
        "origin",
        "Directions of X and Y",
        (
            _line(-0.05, 0, 0.3, 0),
            _line(0, 0.05, 0, -0.3),
            _solid((0.3, 0.03), (0.4, 0), (0.3, -0.03)),
            _solid((0.03, -0.3), (0, -0.4), (-0.03, -0.3)),
            Text((0.45, 0), "X", style.NOTE, "left", "middle", layer=_LAYER),
            Text((0, -0.5), "Y", style.NOTE, "centre", "middle", layer=_LAYER),
        ),
    )
    r = 0.08
    quarters = [
        _solid((0, 0), *((r * math.cos(math.radians(a)), r * math.sin(math.radians(a))) for a in range(q, q + 91, 15)))
        for q in (0, 180)
    ]
    return [ways, Definition("datum", "Point that X and Y begin at", (_ring(r), *quarters))]


def _line_ends() -> list[Definition]:
    """What a leader or an arrow ends in."""
    arrow = Definition(
        "arrow",
        "Head of an arrow, pointing to +x from its tip",
        (_solid((0, 0), (-style.ARROW, style.ARROW / 6), (-style.ARROW, -style.ARROW / 6)),),
    )
    dot = Definition(
        "dot",
        "Dot at the end of a leader",
        (
            _solid(
                *(
                    (style.DOT * math.cos(math.radians(a)), style.DOT * math.sin(math.radians(a)))
                    for a in range(0, 360, 30)
                )
            ),
        ),
    )
    return [arrow, dot]


def _definitions() -> list[Definition]:
    broken = Definition(
        "break",
        "Break mark across a line",
        (Polyline([(-0.08, 0), (-0.04, 0.1), (0.04, -0.1), (0.08, 0)], layer=_LAYER),),
    )
    sections = [
        _section(f"section {name}", angle) for name, angle in (("right", 0), ("up", 90), ("left", 180), ("down", 270))
    ]
    return [*_marks(), *_footings(), broken, *_origin(), *_line_ends(), *sections]


SYMBOLS: dict[str, Definition] = {definition.name: definition for definition in _definitions()}

# balloons of tags: unit shapes (diameter 1), sized to their text where placed
TAG_SHAPES: dict[str, tuple[AnyItem, ...]] = {
    "circle": (Circle((0, 0), 0.5, layer=_LAYER),),
    "hexagon": (
        Polyline(
            [(0.5 * math.cos(math.radians(a)), 0.5 * math.sin(math.radians(a))) for a in range(0, 360, 60)],
            True,
            layer=_LAYER,
        ),
    ),
    "box": (Polyline([(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)], True, layer=_LAYER),),
    "plain": (),
}


def section_mark(a: Point, b: Point, number: str, sheet: str, look: str, scale: float) -> list[AnyItem]:
    """The line of a section from `a` to `b` (view coordinates) with a mark beyond each end.

    `look` is "up", "down", "left" or "right", the way the section looks; `number` and `sheet` say where it is drawn.
    The marks stand clear of the ends by their own radius, so the line should end where it leaves the view.
    """
    long = math.dist(a, b)
    ux, uy = (b[0] - a[0]) / long, (b[1] - a[1]) / long
    off = BUBBLE * scale
    values = {"NUMBER": number, "SHEET": sheet}
    return [
        Line(a, b, layer="A-ANNO-SECT"),
        Symbol(f"section {look}", (a[0] - ux * off, a[1] - uy * off), values=values),
        Symbol(f"section {look}", (b[0] + ux * off, b[1] + uy * off), values=dict(values)),
    ]


def mark_boxes(marks: list[AnyItem], scale: float) -> list[tuple[float, float, float, float]]:
    """The boxes of the marks of a section line, a little air round them."""
    r = BUBBLE * math.sqrt(2) * scale
    return [(m.at[0] - r, m.at[1] - r, m.at[0] + r, m.at[1] + r) for m in marks if type(m) is Symbol]


def break_line(a: Point, b: Point, scale: float, layer: str = "A-ANNO-SYMB") -> list[AnyItem]:
    """A line from `a` to `b` with a break mark at its middle: the piece goes on beyond what is drawn."""
    long = math.dist(a, b)
    ux, uy = (b[0] - a[0]) / long, (b[1] - a[1]) / long
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    reach = min(0.08 * scale, long / 4)
    return [
        Line(a, (middle[0] - ux * reach, middle[1] - uy * reach), layer=layer),
        Symbol("break", middle, size=reach / (0.08 * scale), rotation=math.degrees(math.atan2(uy, ux)), layer=layer),
        Line((middle[0] + ux * reach, middle[1] + uy * reach), b, layer=layer),
    ]
