"""Candidate places of dimension figures, marks and notes, in the order a drafter would try them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from . import draft, style
from .dimensioning import DimensionParts, dimension, link_aside, link_to, readable
from .drawing import AnyItem, Box, Dimension, Leader, Line, Point, Tag, Text

BLOCKED = 1000.0  # cost of one thing that bars a place
STEEP, OTHERS = 0.4, 4.0  # a leader near level or plumb; figures over another dimension's line
LONG, TOO_LONG = 1.5, 1.5  # paper inches of a leader that are still short; what each more adds to its price
_SLIDES = (
    0.0,
    0.25,
    -0.25,
    0.5,
    -0.5,
    0.75,
    -0.75,
    1.0,
    -1.0,
)  # shares of the way that figures can move between their ticks


@dataclass
class Places:
    """Candidate places of one item, arrays of n: text boxes, leader lines (two segments each, of no length where there
    is none), base costs."""

    item: AnyItem
    at: Callable[[int], tuple]  # what to set on the item for a candidate
    boxes: np.ndarray
    lines: np.ndarray  # (n, 2, 4)
    cost: np.ndarray
    _ranks: dict[Box | None, tuple[np.ndarray, np.ndarray]] = field(default_factory=dict)

    def ranked(self, within: Box | None) -> tuple[np.ndarray, np.ndarray]:
        """Indices by base cost, cheapest first: of the places inside `within` (all where it is None), and of those
        outside."""
        if within not in self._ranks:
            order = np.argsort(self.cost, kind="stable")
            out = np.zeros(len(order), bool)
            if within is not None:
                boxes = self.boxes[order]
                out = (
                    (boxes[:, 0] < within[0])
                    | (boxes[:, 1] < within[1])
                    | (boxes[:, 2] > within[2])
                    | (boxes[:, 3] > within[3])
                )
            self._ranks[within] = order[~out], order[out]
        return self._ranks[within]


LABEL_AIR = 0.03  # paper inches kept free around a label


def label_places(
    item: Text, scale: float, spots: Sequence[Point], air: float, link: Callable[[Point], Line] | None
) -> Places:
    """Middles of a level label in the order given: an earlier one is always cheaper than a later one of like standing.
    The box is of capitals and figures, as marks have nothing below the line; `link` draws the line that leads from a
    label to what it names."""
    middle = np.asarray(spots, float).reshape(-1, 2)
    half = np.array([style.text_width(item.text, item.height) / 2 + air, item.height / 2 + air]) * scale
    at = [(float(x), float(y)) for x, y in middle]
    lines = np.array([(*made.a, *made.b) for made in map(link, at)]) if link else np.hstack([middle, middle])
    return Places(
        item,
        at.__getitem__,
        np.hstack([middle - half, middle + half]),
        np.stack([lines, np.hstack([lines[:, 2:], lines[:, 2:]])], axis=1),
        np.arange(len(middle)) * 1e-3,
    )


def _box_of(quad: draft.Quad) -> list[float]:
    xs, ys = [p[0] for p in quad], [p[1] for p in quad]
    return [min(xs), min(ys), max(xs), max(ys)]


def dimension_places(item: Dimension, scale: float, metric: bool) -> Places:
    """On the line, slid along it, beyond either end, then lifted off it by one row and two, over and under; short
    figures of a long line also turned: level beside an upright one, square to any."""
    parts = dimension(item, scale, metric)
    (ux, uy), h = style.unit(parts.rotation), item.height * scale
    wide = style.text_width(parts.text, item.height) * scale
    long = math.dist(*parts.line)
    spare = long / 2 - wide / 2 - style.TICK * 0.6 * scale  # the upper half of a tick leans over the figures
    mx, my = parts.middle
    at, boxes, links, cost = [], [], [], []

    def place(middle: Point, rotation: float) -> None:
        text = Text(middle, parts.text, item.height, "centre", "middle", rotation, layer=item.layer)
        boxes.append(_box_of(draft.text_quad(text, scale)))

    beyond = long / 2 + wide / 2 + style.DIM_OVERRUN * scale
    for along, lift, price in _shifts(spare, beyond, h, scale):
        middle = (mx + ux * along - uy * lift, my + uy * along + ux * lift)
        place(middle, parts.rotation)
        # at its usual place figures keep no place of their own, so that they follow their line when it is moved
        at.append((None if not along and not lift else middle, None))
        link = link_to(middle, parts.middle, parts.line, parts.rotation, item.height, scale)
        links.append((*link[0], *link[1]) if link else middle * 2)  # without a link, a point within the figures
        cost.append(price)
    for middle, rotation, price in _turned(parts, wide, long, spare, h, scale):
        place(middle, rotation)
        at.append((middle, rotation))
        links.append(middle * 2)
        cost.append(price)
    lines = np.array(links)
    return Places(
        item,
        at.__getitem__,
        np.array(boxes),
        np.stack([lines, np.hstack([lines[:, 2:], lines[:, 2:]])], axis=1),
        np.array(cost),
    )


def _shifts(spare: float, beyond: float, h: float, scale: float) -> list[tuple[float, float, float]]:
    """(along the line, off it, base cost) of figures `h` high that keep the line's direction. `spare`: how far they
    slide before they meet a tick; `beyond`: where they stand past its end."""
    slides = [0.0] if spare < 0 else [spare * share for share in _SLIDES]
    row = h * 1.7
    under = -(2 * style.DIM_LIFT * scale + h * (1 + style.DESCENT))
    tries = [(s, 0.0, 0.05 * n if spare >= 0 else 2 * BLOCKED) for n, s in enumerate(slides)]
    tries += [(s, 0.0, 1.2 if spare >= 0 else 0.5) for s in (beyond, -beyond)]
    tries += [
        (s, lift, 1.6 + 0.4 * n)
        for n, lift in enumerate((row, under - row * 0.4, 2 * row, under - row * 1.4, 3 * row, 4 * row))
        for s in (0.0, beyond * 0.5, -beyond * 0.5, beyond, -beyond)
    ]
    return tries


def _turned(
    parts: DimensionParts, wide: float, long: float, spare: float, h: float, scale: float
) -> list[tuple[Point, float, float]]:
    """(middle, rotation, base cost) of figures turned out of the direction of their line; none on a line hardly longer
    than they are high."""
    if long <= h * 1.6:
        return []
    (ux, uy), off = style.unit(parts.rotation), wide / 2 + 2 * style.DIM_LIFT * scale
    x, y = (parts.line[0][0] + parts.line[1][0]) / 2, (parts.line[0][1] + parts.line[1][1]) / 2
    out = []
    if abs(abs(parts.rotation) - 90) < 1e-6:  # beside an upright line, level
        out += [((x + turn * off, y), 0.0, 0.3) for turn in (1, -1)]
    # figures too long for their gap stand square to the line, between its ends
    turned, price = readable(parts.rotation + 90), 0.9 if spare < 0 else 3.9
    out += [((x - uy * (turn * off), y + ux * (turn * off)), turned, price) for turn in (1, -1)]
    return out


def aside_places(item: Dimension, scale: float, metric: bool) -> Places:
    """Level figures in the open round the middle of a dimension line, a thin line leading to them: where nothing nearer
    is free."""
    parts = dimension(item, scale, metric)
    half = style.text_width(parts.text, item.height) / 2
    x, y = ((parts.line[0][n] + parts.line[1][n]) / 2 for n in (0, 1))
    way, reach = _ASIDE_ROUND
    at, boxes, lines = [], [], []
    for (wx, wy), far in zip(way, reach):
        middle = (x + (wx * far + (half if wx > 0 else -half)) * scale, y + wy * far * scale)
        text = Text(middle, parts.text, item.height, "centre", "middle", 0.0, layer=item.layer)
        boxes.append(_box_of(draft.text_quad(text, scale)))
        link = link_aside(middle, parts.line, half, 0.0, scale)
        lines.append((*link[0], *link[1]) if link else middle * 2)
        at.append((middle, 0.0))
    line = np.array(lines)
    return Places(
        item,
        at.__getitem__,
        np.array(boxes),
        np.stack([line, np.hstack([line[:, 2:], line[:, 2:]])], axis=1),
        2.5 + reach,
    )


def _round(reaches: tuple[float, ...], angles: tuple[float, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Directions (n, 2) and reaches (n): all angles at the first reach, then at the next."""
    reach, turn = (a.ravel() for a in np.meshgrid(reaches, np.radians(angles), indexing="ij"))
    return np.column_stack([np.cos(turn), np.sin(turn)]), reach


# first the slopes drafters use, then the rest
_TAG_ROUND = _round(
    (0.1, 0.25, 0.45, 0.7, 1.0, 1.4, 2.0, 2.8, 4.0),
    (45, 135, -45, -135, 0, 180, 90, -90, 22, 158, -22, -158, 68, 112, -68, -112),
)
_ASIDE_ROUND = _round((0.25, 0.4, 0.6, 0.9, 1.3, 1.8), (45, 135, -45, -135, 30, 150, -30, -150, 60, 120, -60, -120))
_NOTE_ROUND = _round((0.3, 0.5, 0.8, 1.2, 1.7, 2.3), (45, 135, -45, -135, 60, 120, -60, -120, 30, 150, -30, -150))
_STEPS = np.array([(n + 1) // 2 * (-1 if n % 2 else 1) for n in range(97)])  # 0, -1, 1, -2, 2 ...
_ALONG, _EACH_WAY = (
    np.repeat(np.arange(-12, 13), 2),
    np.tile([1.0, -1.0], 25),
)  # of a row over or under it, each place to either side
_COLUMN_PRICE = np.repeat([0.3, 2.3, 4.3], 2)[:, None]  # of the places beside a view, right and left in turn


def joined(some: list[tuple[Places, float]]) -> Places:
    """Several sets of places of one item as one set, each dearer by what stands beside it."""
    first = np.cumsum([0] + [len(p.cost) for p, _ in some])

    def at(n: int) -> tuple:
        which = int(np.searchsorted(first, n, "right")) - 1
        return some[which][0].at(n - int(first[which]))

    return Places(
        some[0][0].item,
        at,
        np.vstack([p.boxes for p, _ in some]),
        np.vstack([p.lines for p, _ in some]),
        np.concatenate([p.cost + dearer for p, dearer in some]),
    )


def tag_places(item: Tag, scale: float, body: Box, tip: Point) -> Places:
    """Around its tip, nearest first, and last over, under and beside all that is drawn."""
    size = np.array(draft.tag_size(item)) * scale
    way, reach = _TAG_ROUND
    centre = np.array(tip) + way * (reach[:, None] * scale + size / 2)
    left, bottom, right, top = body
    x, y = tip
    beside = np.arange(-8, 9)[:, None] * size * 1.3
    far = [
        np.column_stack([x + beside[:, 0], np.full(17, level)])
        for row in range(3)
        for level in (top + size[1] * (1 + 1.3 * row), bottom - size[1] * (1 + 1.3 * row))
    ]
    far += [np.column_stack([np.full(17, edge), y + beside[:, 1]]) for edge in (right + size[0], left - size[0])]
    outer = np.vstack(far)
    run = outer - tip
    span = np.hypot(*run.T)
    centre, way = np.vstack([centre, outer]), np.vstack([way, run / np.maximum(span, 1e-9)[:, None]])
    reach = np.concatenate([reach, span / scale + 1.0])
    end = centre - way * size / 2
    from_ = np.broadcast_to(tip, end.shape)
    lines = np.stack([np.hstack([from_, end]), np.hstack([end, end])], axis=1)
    half = size / 2 + style.TEXT_AIR * scale
    return Places(
        item,
        lambda n: ((float(centre[n, 0]), float(centre[n, 1])), tip),
        np.hstack([centre - half, centre + half]),
        lines,
        reach * 1.5 + TOO_LONG * np.maximum(reach - LONG, 0.0),
    )


def note_places(item: Leader, scale: float, body: Box, wrap: float | None, tip: Point, far: bool) -> Places:
    """Near the tip in all directions; if `far`, also in columns at the right and left of the view and in rows over and
    under it."""
    wide, high = (s * scale for s in style.block_size(item.text, item.height, wrap))
    up = item.height / 2 * scale
    down = high - up
    air, landing = style.TEXT_AIR * scale, (style.LANDING + style.TEXT_AIR) * scale
    pitch = high + item.height * scale
    x, y = tip
    left, bottom, right, top = body
    way, reach = _NOTE_ROUND
    near, columns, rows = len(reach), 6 * len(_STEPS) if far else 0, 16 * len(_ALONG) if far else 0
    ax, ay, to, cost = np.empty(
        (4, near + columns + rows)
    )  # anchor x, anchor y, +1 where the text runs to the right, price but for the leader
    to[:near] = np.where(way[:, 0] > 0, 1.0, -1.0)
    ax[:near], ay[:near], cost[:near] = (
        x + way[:, 0] * reach * scale + to[:near] * landing,
        y + way[:, 1] * reach * scale,
        0.2 * reach,
    )
    if far:
        out = 0.3 * scale + landing
        shifts = [column * (style.NOTE_WRAP + 0.5) * scale for column in (0, 1, 2)]
        edge = np.array([at for shift in shifts for at in (right + out + shift, left - out - shift)])[:, None]
        for whole, values in (
            (ax, edge),
            (ay, y + _STEPS * pitch / 2),
            (to, np.array([[1.0], [-1.0]] * 3)),
            (cost, _COLUMN_PRICE),
        ):
            whole[near : near + columns].reshape(6, -1)[:] = values
        level = np.array(
            [
                at
                for row in range(8)
                for at in (top + 0.3 * scale + row * pitch + down, bottom - 0.3 * scale - row * pitch - up)
            ]
        )[:, None]
        for whole, values in ((ax, x + _ALONG * 0.4 * scale), (ay, level), (to, _EACH_WAY), (cost, 0.3)):
            whole[near + columns :].reshape(16, -1)[:] = values
    begin, stop = ax - to * air, ax + to * (wide + air)
    boxes = np.stack([np.minimum(begin, stop), ay - down - air, np.maximum(begin, stop), ay + up + air], axis=1)
    knee, end = ax - to * landing, ax - to * air * 1.01
    lines = np.empty((len(ax), 2, 4))
    lines[:, 0, 0], lines[:, 0, 1], lines[:, 0, 2], lines[:, 0, 3] = x, y, knee, ay
    lines[:, 1, 0], lines[:, 1, 1], lines[:, 1, 2], lines[:, 1, 3] = knee, ay, end, ay
    slope = np.abs(np.arctan2(ay - y, (knee - x) * to))
    long = np.hypot(knee - x, ay - y) / scale
    cost = cost + 0.8 * long + TOO_LONG * np.maximum(long - LONG, 0.0)
    cost = cost + np.where((slope > 0.25) & (slope < 1.45), 0.0, STEEP) + np.where(slope > math.pi / 2, 3.0, 0.0)
    return Places(
        item, lambda n: ((float(ax[n]), float(ay[n])), "right" if to[n] > 0 else "left", wrap, tip), boxes, lines, cost
    )
