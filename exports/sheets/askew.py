"""A deck that lies askew on the sheet: its plans are dimensioned along its own house edge and square to it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import shapely

from ..drafting import drawing as d
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
        """Lines, runs of lines and hatches of a plan, in the turned coordinates."""
        if not self.degrees:
            return list(items)
        out: list[d.AnyItem] = []
        for i in items:
            if isinstance(i, d.Line):
                out.append(replace(i, a=self.into(i.a), b=self.into(i.b)))
            elif isinstance(i, d.Polyline):
                out.append(replace(i, points=[self.into(p) for p in i.points]))
            elif isinstance(i, d.Hatch):
                holes = [[self.into(p) for p in ring] for ring in i.holes]
                ring = [self.into(p) for p in i.outline]
                out.append(replace(i, outline=ring, holes=holes, angle=i.angle - self.degrees))
        return out

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


def square_to(edge) -> Askew:
    """The coordinates in which an edge of the outline is square to the sheet."""
    angle = math.degrees(math.atan2(edge.direction[1], edge.direction[0]))
    turn = angle - 90 * round(angle / 90)
    return Askew(0.0 if abs(turn) < LEVEL_ENOUGH else turn)


def _on(edge, axes: Askew) -> bool:
    """Whether an edge runs along one of the axes of some coordinates."""
    return min(map(abs, axes.into(edge.direction))) < math.radians(LEVEL_ENOUGH)
