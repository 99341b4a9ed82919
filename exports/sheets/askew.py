"""A deck that lies askew in its file: its plans are drawn turned, so that its own house edge is square to the sheet, as
a drafter does."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import shapely

from ..drafting import drawing as d
from ..drafting.wording import direction_word
from ..linework.eye import Eye
from .stage import Stage

LEVEL_ENOUGH = 0.05  # degrees off the sheet's axes within which an edge is taken as square to the sheet


@dataclass(frozen=True)
class Askew:
    """Coordinates turned by `degrees` against the sheet's, between -45 and 45, with the sheet's origin."""

    degrees: float

    @property
    def axes(self) -> np.ndarray:
        """(2, 2) rows: the turned directions right and up, on the sheet."""
        c, s = math.cos(math.radians(self.degrees)), math.sin(math.radians(self.degrees))
        return np.array([[c, s], [-s, c]]) if self.degrees else np.eye(2)

    def into(self, p: Iterable[float]) -> d.Point:
        """A plan point or direction in the turned coordinates."""
        x, y = (self.axes @ np.asarray(list(p)[:2], float)).tolist()
        return x, y

    def back(self, p: Iterable[float]) -> d.Point:
        """A point of the turned coordinates on the sheet."""
        x, y = (np.asarray(list(p)[:2], float) @ self.axes).tolist()
        return x, y

    def box(self, shapes: Iterable) -> d.Box:
        """The box of some plan shapes in the turned coordinates."""
        at = np.vstack([shapely.get_coordinates(g) for g in shapes]) @ self.axes.T
        return (*map(float, at.min(axis=0)), *map(float, at.max(axis=0)))

    def shape(self, shapes: Iterable) -> shapely.Geometry | None:
        """Some plan shapes as one in the turned coordinates; None of none."""
        some = list(shapes)
        return shapely.transform(shapely.union_all(some), lambda at: at @ self.axes.T) if some else None

    @property
    def eye(self) -> Eye:
        """From above, the turned directions along the sheet."""
        (a, b), (c, e) = self.axes.tolist()
        return Eye((a, b, 0.0), (c, e, 0.0), (0.0, 0.0, 1.0))

    def drawn(self, items: Iterable[d.AnyItem]) -> list[d.AnyItem]:
        """The items of a plan in the turned coordinates; lettering and symbols stay upright."""
        return [self._drawn(i) for i in items] if self.degrees else list(items)

    def _drawn(self, i: d.AnyItem) -> d.AnyItem:
        def all_of(points: Iterable[d.Point]) -> list[d.Point]:
            return [self.into(p) for p in points]

        match i:
            case d.Line():
                return replace(i, a=self.into(i.a), b=self.into(i.b))
            case d.Polyline() | d.Arrow():
                return replace(i, points=all_of(i.points))
            case d.Circle():
                return replace(i, centre=self.into(i.centre))
            case d.Arc():
                return replace(i, centre=self.into(i.centre), start=i.start - self.degrees, end=i.end - self.degrees)
            case d.Hatch():
                holes = [all_of(ring) for ring in i.holes]
                angle = i.angle - (self.degrees if "grain" in i.pattern else 0.0)
                return replace(i, outline=all_of(i.outline), holes=holes, angle=angle)
            case d.Dimension():
                angle = None if i.angle is None else _squared(i.angle - self.degrees)
                return replace(i, a=self.into(i.a), b=self.into(i.b), at=self.into(i.at), angle=angle)
            case d.Leader():
                return replace(i, tip=self.into(i.tip), tips=all_of(i.tips))
            case d.Tag():
                return replace(i, tip=i.tip and self.into(i.tip), tips=all_of(i.tips))
            case d.Text() | d.Symbol():
                return replace(i, at=self.into(i.at))
        raise TypeError(f"not drawn on a plan before it is turned: {type(i).__name__}")

    def word(self, direction: Iterable[float]) -> str:
        """up, down, left or right: the way a plan direction points on the sheet."""
        return direction_word(self.into(direction))

    def upright(self, box: d.Box) -> d.Box:
        """The box of a mark that stands upright on the sheet, its middle given by a box on the plan."""
        u, v = self.into(((box[0] + box[2]) / 2, (box[1] + box[3]) / 2))
        half_u, half_v = (box[2] - box[0]) / 2, (box[3] - box[1]) / 2
        return u - half_u, v - half_v, u + half_u, v + half_v

    def outline(self, box: d.Box) -> shapely.Polygon:
        """A box of the turned coordinates as it lies on the sheet."""
        x0, y0, x1, y1 = box
        return shapely.Polygon([self.back(p) for p in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))])


def askew(stage: Stage) -> Askew:
    """How the deck lies on the sheet: by its longest house edge, unless more of its outline lies square to the sheet;
    of a free-standing one by its longest edge, where none is square to the sheet."""

    def find() -> Askew:
        edges = stage.house_edges or stage.edges
        own = square_to(max(edges, key=lambda e: (round(e.length, 3), -stage.edges.index(e))))
        square, along = (sum(e.length for e in stage.edges if _on(e, axes)) for axes in (Askew(0.0), own))
        stays = square > (along if stage.house_edges else 0.0)
        return Askew(0.0) if stays else own

    return stage.once("askew", find)


def turned_note(stage: Stage) -> list[str]:
    """How a plan drawn turned lies against the site plan, in a note; none for a deck that lies square."""
    words = turned_by(askew(stage).degrees)
    return [f"THIS PLAN IS {words} AGAINST THE SITE PLAN."] if words else []


def turned_by(degrees: float) -> str:
    """How a view lies whose eye is turned by `degrees` counter-clockwise; nothing where it is not."""
    degrees = round(degrees, 1)
    way = "CLOCKWISE" if degrees > 0 else "COUNTER-CLOCKWISE"  # the eye turns one way, what it sees the other
    return f"TURNED {abs(degrees):g} DEGREES {way}" if degrees else ""


def square_to(edge) -> Askew:
    """The coordinates in which an edge of the outline is square to the sheet."""
    angle = math.degrees(math.atan2(edge.direction[1], edge.direction[0]))
    turn = angle - 90 * round(angle / 90)
    return Askew(0.0 if abs(turn) < LEVEL_ENOUGH else turn)


def _squared(degrees: float) -> float:
    """The direction of a string between 0 and 180: along the sheet's axes where it lies so to a hair."""
    square = 90.0 * round(degrees / 90.0)
    return (square if abs(degrees - square) < LEVEL_ENOUGH else degrees) % 180.0


def _on(edge, axes: Askew) -> bool:
    """Whether an edge runs along one of the axes of some coordinates."""
    return min(map(abs, axes.into(edge.direction))) < math.radians(LEVEL_ENOUGH)
