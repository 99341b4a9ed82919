"""The one point O that every plan is measured from: where it lies, how it is tied to the house, and places told from
it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely

from ..drafting import drawing as d
from .askew import askew
from .stage import Stage

_AT_WALL = 4.0  # inches off a wall of the house within which the deck's edge stands against it: a gap lies between
_OFF_WALL = 0.2  # paper inches from the wall to the figure along it; our own


@dataclass(frozen=True)
class Tie:
    """How O is tied to the house or the lot: in words, and the figures that the site plan draws."""

    told: str
    drawn: tuple[d.Dimension, ...] = ()


def datum(stage: Stage) -> d.Point:
    """The end of a house edge furthest left and up the sheet, else the leftmost corner of the outline."""

    def left_and_up(p: d.Point) -> tuple[float, float]:
        u, v = askew(stage).into(p)
        return round(u, 3), -v

    edges = stage.house_edges or stage.edges
    return min((tuple(map(float, p)) for e in edges for p in (e.start, e.end)), key=left_and_up)


def datum_told(stage: Stage) -> str:
    """What O is, for a note."""
    return "LEFT END OF THE HOUSE EDGE OF THE DECK" if stage.house_edges else "LEFTMOST CORNER OF THE FRAME"


def from_datum(stage: Stage, p: Iterable[float]) -> d.Point:
    """A plan point as X and Y of the plans: inches to the right of O and down the sheet from it."""
    (hx, hy), (u, v) = askew(stage).into(datum(stage)), askew(stage).into(p)
    return u - hx, hy - v


def place_text(stage: Stage, p: Iterable[float]) -> list[str]:
    """X and Y of a plan point as lettered, with a minus to the left of O and up the sheet from it."""
    return [signed_place(stage, value) for value in from_datum(stage, p)]


def signed_place(stage: Stage, value: float) -> str:
    """A distance with a minus where it lies the other way: two places never have the same figures."""
    return ("-" if value < -1 / 32 else "") + stage.text(abs(value))


def datum_items(stage: Stage) -> list[d.AnyItem]:
    """The mark of O in a plan, and its name."""
    at = datum(stage)
    return [d.Symbol("datum", at), d.Tag("O", None, at, "circle")]


def axes(stage: Stage, sheet: d.Sheet, room: d.Box, turned: float = 0.0) -> None:
    """Which way X and Y run, in the lower left of a room of the sheet; a small paper says it in its notes alone."""
    if not stage.small:
        sheet.add(d.Symbol("origin", (room[0] + 0.15, room[1] + 0.6), rotation=turned))


def datum_notes(stage: Stage) -> list[str]:
    """How places are told on the plans."""
    return [
        f"O IS THE {datum_told(stage)}, MARKED ON EVERY PLAN. X IS TO THE RIGHT OF O, Y DOWN THE SHEET FROM O, WITH A"
        " MINUS THE OTHER WAY. VERIFY ON SITE BEFORE DIGGING.",
        tie(stage).told,
    ]


def tie(stage: Stage, scale: float = 1.0) -> Tie:
    """O against the house as the file gives it, else against the lot, else what is to be measured on site; its figures
    for a view at a scale."""
    site, (x, y) = stage.deck.parameters.site, askew(stage).into(datum(stage))
    house = [askew(stage).into(p) for p in site.house or []]
    walls = [(a, b) for a, b in itertools.pairwise([*house, house[0]])] if house else []
    if stage.house_edges:
        level = _run(stage)
        along = [w for w in walls if _beside(w, (x, y), level)]
        if along:
            near = min((p for w in along for p in w), key=lambda p: math.dist(p, (x, y)))
            return _to_corner(stage, near, (x, y), scale)
        return Tie("O TO THE NEAREST CORNER OF THE HOUSE: NOT GIVEN. MEASURE IT ON SITE ALONG THE WALL: __________.")
    if house:
        return _to_corner(stage, min(house, key=lambda p: math.dist(p, (x, y))), (x, y), scale)
    if site.lot:
        return _to_lot(stage)
    return Tie("O TO THE HOUSE OR TO TWO LOT LINES: NOT GIVEN. MEASURE BOTH ON SITE: __________ AND __________.")


def _run(stage: Stage) -> np.ndarray:
    """The direction of the house edge that O ends, in the deck's own coordinates."""
    at = datum(stage)
    edge = next(e for e in stage.house_edges if min(math.dist(at, e.start), math.dist(at, e.end)) < 1e-6)
    return np.asarray(askew(stage).into(edge.direction))


def _beside(wall: tuple[d.Point, d.Point], p: d.Point, run: np.ndarray) -> bool:
    """Whether a wall runs as the deck's edge does, with the point before it."""
    way = np.subtract(wall[1], wall[0]) / max(math.dist(*wall), 1e-9)
    return abs(float(way @ run)) > 0.999 and shapely.LineString(wall).distance(shapely.Point(p)) < _AT_WALL


def _to_corner(stage: Stage, corner: d.Point, at: d.Point, scale: float) -> Tie:
    """The two figures from a corner of the house to O, both given in the deck's own coordinates."""
    x, y = at[0] - corner[0], corner[1] - at[1]
    across, down = ("RIGHT" if x >= 0 else "LEFT"), ("DOWN THE SHEET" if y >= 0 else "UP THE SHEET")
    told = (
        f"O LIES {stage.text(abs(x))} TO THE {across} OF THE NEAREST CORNER OF THE HOUSE AND {stage.text(abs(y))}"
        f" {down} FROM IT: SITE PLAN."
    )
    back = askew(stage).back
    knee, degrees = (at[0], corner[1]), askew(stage).degrees
    drawn, off = [], _OFF_WALL * scale
    below = back((corner[0], min(corner[1], at[1]) - off))  # before the wall, where the deck is not
    beside = back((min(corner[0], at[0]) - off, corner[1]))
    if abs(x) > 1:
        drawn.append(d.Dimension(back(corner), back(at), below, degrees % 180.0))
    if abs(y) > 1:
        drawn.append(d.Dimension(back(knee), back(at), beside, (90.0 + degrees) % 180.0))
    return Tie(told, tuple(drawn))


def _to_lot(stage: Stage) -> Tie:
    """O against the two lot lines that lie nearest and do not run alike."""
    lot, at = [(float(x), float(y)) for x, y in stage.deck.parameters.site.lot], shapely.Point(datum(stage))
    lines = sorted(
        (shapely.LineString(pair) for pair in itertools.pairwise([*lot, lot[0]])), key=lambda line: line.distance(at)
    )
    ways = [np.subtract(line.coords[1], line.coords[0]) / line.length for line in lines]
    second = next(k for k in range(1, len(lines)) if abs(float(ways[k] @ ways[0])) < 0.9)
    far = [lines[0].distance(at), lines[second].distance(at)]
    feet = [shapely.shortest_line(at, lines[k]).coords for k in (0, second)]
    drawn = tuple(d.Dimension(tuple(a), tuple(b), tuple(a), None) for a, b in feet)
    words = " AND ".join(stage.text(f) for f in far)
    return Tie(f"O LIES {words} FROM THE TWO NEAREST LOT LINES, SQUARE TO THEM: SITE PLAN.", drawn)
