"""A drawing as plain data, before any file format: a set of sheets, windows onto views, and the items in them.

Everything is in inches whatever the paper or the output units; the writers alone turn inches into millimetres.

- A `View` lives in model space at true size. Its items use the view's own flat coordinates (a plan's are the world's x
  and y, turned where the deck lies askew; an elevation's are along-the-sheet and z). `View.origin` is where those
  coordinates sit in the one model space that all views share; `draft.arrange` sets it so that views never lie on one
  another.
- A `Sheet` is one paper. Its items use paper inches from the lower left corner of the trimmed paper.
- A `Viewport` is the window of a sheet onto a view, at the view's scale.

Sizes of lettering, arrows, symbols and gaps are PAPER inches in every item, in views too: a writer multiplies them by
`View.scale`, so a note reads 3/32 in high whatever the scale. Colour, weight and line type belong to the layer
(`layers.LAYERS`), never to an item. `mark` is the mark (or id) of the piece an item draws and goes to the DXF as
extended data; empty where an item draws no piece.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

from ...shared.papers import papers
from . import style

Point = tuple[float, float]
Ring = list[Point]
Box = tuple[float, float, float, float]  # left, bottom, right, top

Align = Literal["left", "centre", "right"]
TextLevel = Literal["bottom", "middle", "top"]
HatchPattern = Literal["end grain", "long grain", "concrete", "earth", "steel", "gravel", "solid"]
TagShape = Literal["circle", "hexagon", "box", "plain"]


@dataclass(slots=True, kw_only=True)
class Item:
    """What every item has. `layer` must be a name in `layers.LAYERS`; `mark` is the piece it draws, or empty; `thing`
    is what it draws where that is no piece of the model (a beam cap, the house's sheathing), or empty."""

    layer: str
    mark: str = ""
    thing: str = ""


@dataclass(slots=True)
class Line(Item):
    a: Point
    b: Point


@dataclass(slots=True)
class Polyline(Item):
    points: Ring
    closed: bool = False


@dataclass(slots=True)
class Circle(Item):
    centre: Point
    radius: float


@dataclass(slots=True)
class Arc(Item):
    """Counter-clockwise from `start` to `end`, degrees from the x axis."""

    centre: Point
    radius: float
    start: float
    end: float


@dataclass(slots=True)
class Hatch(Item):
    """A hatched region: outer ring, rings of holes, pattern by material, pattern turned by `angle` degrees.

    The edge is not drawn: draw it as a Polyline on its own (heavier) layer. For wood cut along its grain give `angle`
    as the direction of the grain.
    """

    outline: Ring
    holes: list[Ring] = field(default_factory=list)
    pattern: HatchPattern = "end grain"
    angle: float = 0.0


@dataclass(slots=True)
class Text(Item):
    """Lettering. `text` may hold line breaks; `wrap` (paper inches) breaks lines that are longer.

    `at` is the anchor that `align` and `level` name; `rotation` in degrees about it. Level "bottom" is the baseline of
    the last line, "top" the top of the first line's capitals, "middle" half way between them. `height` is the height of
    a capital in paper inches (`style.NOTE`, `style.TITLE`, `style.VIEW_TITLE` ...).
    """

    at: Point
    text: str
    height: float = style.NOTE
    align: Align = "left"
    level: TextLevel = "bottom"
    rotation: float = 0.0
    wrap: float | None = None


@dataclass(slots=True)
class Dimension(Item):
    """A dimension between two measured points. Its value is always computed from `a` and `b`, never typed.

    `at` is any point the dimension line passes through. `angle` is the direction measured along: 0 horizontal, 90
    vertical, any other rotated; None measures straight from `a` to `b` (aligned). `prefix`/`suffix` add words around
    the live value (`TYP.`, `CLEAR`); `text_at` moves the middle of the text off its usual place and `text_angle` turns
    it (`annotate` does both for gaps too narrow for their figures). Extension lines are left out within `breaks`,
    convex quads, where lettering stands on them. `height` is that of the figures.
    """

    a: Point
    b: Point
    at: Point
    angle: float | None = None
    prefix: str = ""
    suffix: str = ""
    text_at: Point | None = None
    text_angle: float | None = None
    breaks: list[Sequence[Point]] = field(default_factory=list, kw_only=True)
    height: float = field(default=style.NOTE, kw_only=True)
    layer: str = field(default="A-ANNO-DIMS", kw_only=True)


@dataclass(slots=True)
class Leader(Item):
    """A note with an arrow: `tip` touches what is meant, `at` is where the text begins (its near side, middle of line
    1).

    `side` says to which side of `at` the text runs. `via` are bends between tip and text. `head` is "arrow", "dot" or
    "none". Give `at=None` to let `annotate.place` find the place; `tips` are other points that would do as well as
    `tip`.
    """

    tip: Point
    text: str
    at: Point | None = None
    side: Literal["left", "right"] = "right"
    via: list[Point] = field(default_factory=list)
    height: float = style.NOTE
    wrap: float | None = style.NOTE_WRAP
    head: Literal["arrow", "dot", "none"] = "arrow"
    tips: list[Point] = field(default_factory=list, kw_only=True)
    layer: str = field(default="A-ANNO-NOTE", kw_only=True)


@dataclass(slots=True)
class Tag(Item):
    """A mark in a balloon, with a thin line to `tip` when given. `at` is its centre; None lets `annotate.place` find
    it, at `tip` or at one of `tips`, which would do as well."""

    text: str
    at: Point | None = None
    tip: Point | None = None
    shape: TagShape = "circle"
    height: float = style.NOTE
    tips: list[Point] = field(default_factory=list)
    layer: str = field(default="A-ANNO-IDEN", kw_only=True)


@dataclass(slots=True)
class Arrow(Item):
    """A path with a head at its end (stairs up or down) or at both ends (the span of joists), no text of its own."""

    points: Ring
    heads: Literal["end", "both", "none"] = "end"
    layer: str = field(default="A-ANNO-SYMB", kw_only=True)


@dataclass(slots=True)
class Symbol(Item):
    """A block drawn many times from one definition in `symbols.SYMBOLS`.

    `name` is a key there ("north", "section", "level", "footing", "break", "detail", "slope" ...). `size` multiplies
    the definition: in paper inches (the usual symbols), or true inches with `true_size=True` (a footing of 16 in
    diameter is the unit circle at size 16; a break line at size 40 is 40 in long). `values` fills the lettering of the
    definition by its attribute tags.
    """

    name: str
    at: Point
    size: float = 1.0
    rotation: float = 0.0
    values: dict[str, str] = field(default_factory=dict)
    true_size: bool = False
    layer: str = field(default="A-ANNO-SYMB", kw_only=True)


@dataclass(slots=True)
class Table(Item):
    """A schedule. `at` is its upper left corner; `widths` in paper inches; rows of strings, as many as there are
    widths.

    Long cells wrap within their column and the row grows. `aligns` has one letter a column (l, c, r). `air` is what is
    kept over and under the lettering of a row, in heights of it. Paper only.
    """

    at: Point
    title: str
    head: list[str]
    rows: list[list[str]]
    widths: list[float]
    aligns: str = ""
    height: float = style.NOTE
    air: float = field(default=0.75, kw_only=True)
    layer: str = field(default="A-ANNO-SCHD", kw_only=True)


AnyItem = Line | Polyline | Circle | Arc | Hatch | Text | Dimension | Leader | Tag | Arrow | Symbol | Table


def chain(points: Iterable[Point], at: Point, angle: float = 0.0, **more) -> list[Dimension]:
    """A string of dimensions on one line: one between each pair of neighbours, in order along `angle` (degrees).

    Points nearer than 1/32 in along the line are taken as one, so that coincident grid lines give no zero dimension.
    `more` goes to each Dimension (layer, suffix).
    """
    ordered: list[tuple[float, Point]] = []
    ux, uy = style.unit(angle)
    for station, point in sorted((p[0] * ux + p[1] * uy, p) for p in points):
        if not ordered or station - ordered[-1][0] > 1 / 32:
            ordered.append((station, point))
    return [Dimension(p, q, at, angle, **more) for (_, p), (_, q) in itertools.pairwise(ordered)]


@dataclass(slots=True)
class View:
    """One view at true size. `scale` is model inches to one paper inch (48 for 1/4 in = 1 ft).

    `name` is unique in the set ("framing plan", "section A"). `origin` is where (0, 0) of the items lies in model
    space. `window` is the part shown (view coordinates); None shows everything, lettering included.
    """

    name: str
    scale: float = 48.0
    items: list[AnyItem] = field(default_factory=list)
    origin: Point | None = None
    window: Box | None = None

    def add(self, *items: AnyItem) -> None:
        self.items.extend(items)


@dataclass(slots=True)
class Viewport:
    """A view on a sheet. `centre` is the paper point on which the middle of the view's window falls.

    `size` (paper inches) crops to less than the window; None takes all of it. With a `title` a view title is lettered
    under the view, with `number` in a bubble and the scale written out; `note` adds a line under the scale.
    """

    view: View
    centre: Point
    size: tuple[float, float] | None = None
    title: str = ""
    number: str = ""
    note: str = ""


@dataclass(slots=True)
class Sheet:
    """One sheet of the set. `number` like S-102, `name` like FRAMING PLAN, `paper` one of `shared.papers`.

    `scale_note` is written in the title block; empty takes it from the viewports (AS NOTED where they differ).
    `fields` overrides fields of the set's title block for this sheet alone.
    """

    number: str
    name: str
    paper: str = "ARCH D"
    scale_note: str = ""
    viewports: list[Viewport] = field(default_factory=list)
    items: list[AnyItem] = field(default_factory=list)
    fields: dict[str, str] = field(default_factory=dict)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the paper in inches."""
        p = papers()[self.paper]
        return p.width, p.height

    @property
    def room(self) -> Box:
        """The part of the paper left for views and schedules: inside the border, clear of the title block."""
        return style.room(self.paper)

    def add(self, *items: AnyItem) -> None:
        self.items.extend(items)

    def scale_text(self, metric: bool = False) -> str:
        if self.scale_note:
            return self.scale_note
        scales = {port.view.scale for port in self.viewports}
        return style.scale_note(scales.pop(), metric) if len(scales) == 1 else "AS NOTED" if scales else "NONE"


# Fields of the title block: tag, what stands before it on the sheet. The eight data fields ISO 7200 makes mandatory
# are owner, number (identification), date of issue, sheet (segment) number, title, approver, creator and document type.
FIELDS: dict[str, str] = {
    "project": "PROJECT",
    "address": "SITE",
    "owner": "OWNER",
    "title": "TITLE",
    "document": "DOCUMENT TYPE",
    "creator": "DRAWN BY",
    "approver": "APPROVED BY",
    "date": "DATE OF ISSUE",
    "revision": "REVISION",
    "scale": "SCALE",
    "number": "IDENTIFICATION NUMBER",
    "sheet": "SHEET NUMBER",
    "of": "SHEET",
}


@dataclass(slots=True)
class DrawingSet:
    """A drawing set. `fields` fills the title block of every sheet (keys of `FIELDS`; title, sheet and scale are set
    sheet by sheet). `cautions` stand in every title block. `metric` writes millimetres."""

    sheets: list[Sheet] = field(default_factory=list)
    fields: dict[str, str] = field(default_factory=dict)
    cautions: list[str] = field(default_factory=lambda: list(style.CAUTIONS))
    metric: bool = False

    def views(self) -> list[View]:
        """Every view once, in the order of the sheets."""
        seen: dict[int, View] = {}
        for sheet in self.sheets:
            for port in sheet.viewports:
                seen.setdefault(id(port.view), port.view)
        return list(seen.values())

    def items(self) -> Iterator[AnyItem]:
        for view in self.views():
            yield from view.items
        for sheet in self.sheets:
            yield from sheet.items

    def title_fields(self, sheet: Sheet) -> dict[str, str]:
        """The values lettered in the title block of `sheet`: every key of FIELDS, empty where nothing was given."""
        place = next(n for n, s in enumerate(self.sheets, 1) if s is sheet)  # by itself: to compare sheets is slow
        given = {**self.fields, **sheet.fields}
        values = {key: given.get(key, "") for key in FIELDS}
        values.update(title=given.get("title", sheet.name), scale=sheet.scale_text(self.metric))
        values.update(sheet=sheet.number, of=f"{place} OF {len(self.sheets)}")
        return values
