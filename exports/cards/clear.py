"""Labels that stand on no line and no other lettering: tried in the places given, in order."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import shapely

from ..drafting import drawing as d
from ..drafting import style
from ..drafting.clearance import corners_of
from ..drafting.draft import strokes, text_quad

LABEL_AIR = 0.03  # paper inches kept free around a label


def shape_of(stroke: d.AnyItem, scale: float) -> shapely.Geometry | None:
    """What one stroke covers: the box of a text, a line, the area of a hatch."""
    kind = type(stroke)
    if kind is d.Text:
        return shapely.Polygon(text_quad(stroke, scale)) if stroke.text else None
    if kind is d.Hatch:
        return shapely.Polygon(stroke.outline, stroke.holes)
    if kind in (d.Line, d.Polyline):
        return shapely.LineString(corners_of(stroke))
    if kind is d.Circle:
        return shapely.Point(stroke.centre).buffer(stroke.radius, 32).exterior
    return None


class Clear:
    """What stands on a view so far."""

    def __init__(self, items: Iterable[d.AnyItem], scale: float, metric: bool):
        self.scale = scale
        self.metric = metric
        self.tree = shapely.STRtree(self._shapes(items))
        self.later: list[shapely.Geometry] = []

    def _shapes(self, items: Iterable[d.AnyItem]) -> list[shapely.Geometry]:
        return [
            g for i in items for s in strokes(i, self.scale, self.metric) if (g := shape_of(s, self.scale)) is not None
        ]

    def add(self, items: Iterable[d.AnyItem]) -> None:
        """More lines that labels keep off."""
        self.later += self._shapes(items)

    def hits(self, text: d.Text, air: float = LABEL_AIR) -> int:
        """How many lines and letterings the text would stand on."""
        quad = self._quad(text, air)
        return len(self.tree.query(quad, predicate="intersects")) + sum(quad.intersects(o) for o in self.later)

    def _quad(self, text: d.Text, air: float) -> shapely.Geometry:
        """Box of capitals and figures: marks have nothing below the line."""
        wide, high = style.text_width(text.text, text.height) / 2 + air, text.height / 2 + air
        (x, y), k = text.at, self.scale
        return shapely.box(x - wide * k, y - high * k, x + wide * k, y + high * k)

    def open(self, line: d.Line) -> bool:
        """Whether a line crosses no label that was placed."""
        return not any(shape_of(line, self.scale).intersects(o) for o in self.later if o.geom_type == "Polygon")

    def label(
        self,
        text: str,
        height: float,
        places: Sequence[d.Point],
        mark: str = "",
        layer: str = "A-ANNO-IDEN",
        air: float = LABEL_AIR,
        link: Callable[[d.Point], d.Line] | None = None,
    ) -> d.Text | None:
        """The text centred on the first place that is free; None where none is. `link` draws the line that leads from a
        place to what is meant: it crosses no other label."""
        for x, y in places:
            made = d.Text((float(x), float(y)), text, height, "centre", "middle", layer=layer, mark=mark)
            if not self.hits(made, air) and (link is None or self.open(link(made.at))):
                self.later.append(self._quad(made, air))
                return made
        return None
