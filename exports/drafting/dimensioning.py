"""A dimension worked out: its value and text from the measured points, its lines, ticks and the place of its
figures."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from . import style
from .drawing import AnyItem, Dimension, Hatch, Line, Point, Text


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


def readable(angle: float) -> float:
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
            extensions += broken((p[0] + vx * gap, p[1] + vy * gap), (q[0] + vx * over, q[1] + vy * over), item.breaks)
    half = style.TICK / 2 * scale
    tx, ty = half * (ux - uy), half * (ux + uy)  # 45 degrees off the dimension line, whichever way it runs
    ticks = [((q[0] - tx, q[1] - ty), (q[0] + tx, q[1] + ty)) for q in (qa, qb)]
    rotation = readable(angle)
    text = item.prefix + style.dimension_text(value, metric) + item.suffix
    lift = (style.DIM_LIFT + item.height / 2) * scale
    rx, ry = style.unit(rotation)
    usual = ((qa[0] + qb[0]) / 2 - ry * lift, (qa[1] + qb[1]) / 2 + rx * lift)
    middle, link = usual, None
    if item.text_at is not None:
        middle = item.text_at
        if item.text_angle is None:
            link = link_to(middle, usual, (qa, qb), rotation, item.height, scale)
        else:
            link = link_aside(middle, (qa, qb), style.text_width(text, item.height) / 2, item.text_angle, scale)
    return DimensionParts(
        value,
        text,
        (qa, qb),
        extensions,
        ticks,
        middle,
        rotation if item.text_angle is None else item.text_angle,
        angle,
        link,
    )


def broken(p: Point, q: Point, quads: Iterable[Sequence[Point]]) -> list[tuple[Point, Point]]:
    """The stretches of the line p-q outside all of the convex quads (corners counter-clockwise), in order."""
    run = (q[0] - p[0], q[1] - p[1])
    taken = []
    for quad in quads:
        enter, leave = 0.0, 1.0
        for (ax, ay), (bx, by) in zip(quad, (*quad[1:], quad[0])):
            inside = (bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax)  # positive on the inner side of this edge
            slope = (bx - ax) * run[1] - (by - ay) * run[0]
            if slope > 0:
                enter = max(enter, -inside / slope)
            elif slope < 0:
                leave = min(leave, -inside / slope)
            elif inside < 0:
                leave = -1.0
        if enter < leave:
            taken.append((enter, leave))
    out, at = [], 0.0
    for enter, leave in (*sorted(taken), (1.0, 1.0)):
        if enter > at:
            out.append(((p[0] + run[0] * at, p[1] + run[1] * at), (p[0] + run[0] * enter, p[1] + run[1] * enter)))
        at = max(at, leave)
    return out


def link_to(
    middle: Point, usual: Point, line: tuple[Point, Point], rotation: float, height: float, scale: float
) -> tuple[Point, Point] | None:
    """The thin line that says whose figures those lifted off their line are: from its nearest point, the ends left to
    the ticks, to the foot (or head) of the figures. None for figures that stand on their line."""
    rx, ry = style.unit(rotation)
    lift = (middle[0] - usual[0]) * -ry + (middle[1] - usual[1]) * rx
    if abs(lift) <= height * 1.2 * scale:
        return None
    drop = (height / 2 + style.DIM_LIFT) * scale * (-1 if lift > 0 else 1)
    (ax, ay), (bx, by) = line
    long2 = (bx - ax) ** 2 + (by - ay) ** 2
    share = ((middle[0] - ax) * (bx - ax) + (middle[1] - ay) * (by - ay)) / long2 if long2 else 0.5
    share = min(max(share, 0.25), 0.75)
    return ((ax + (bx - ax) * share, ay + (by - ay) * share), (middle[0] - ry * drop, middle[1] + rx * drop))


def link_aside(
    middle: Point, line: tuple[Point, Point], half: float, angle: float, scale: float
) -> tuple[Point, Point] | None:
    """The thin line to figures that stand away from their line at an angle of their own, from its middle to their
    nearer end. `half` of their width in paper inches. None where they stand at the line itself."""
    ux, uy = style.unit(angle)
    reach = (half + style.DIM_LIFT) * scale
    middle_of = ((line[0][0] + line[1][0]) / 2, (line[0][1] + line[1][1]) / 2)
    end = min(
        ((middle[0] + s * ux * reach, middle[1] + s * uy * reach) for s in (1, -1)),
        key=lambda p: math.dist(p, middle_of),
    )
    return (middle_of, end) if math.dist(end, middle_of) > 0.15 * scale else None


def _bar(p: Point, q: Point, width: float, layer: str) -> Hatch:
    """A stroke from p to q, `width` wide."""
    long = math.dist(p, q)
    nx, ny = (p[1] - q[1]) / long * width / 2, (q[0] - p[0]) / long * width / 2
    return Hatch(
        [(p[0] - nx, p[1] - ny), (q[0] - nx, q[1] - ny), (q[0] + nx, q[1] + ny), (p[0] + nx, p[1] + ny)],
        pattern="solid",
        layer=layer,
    )


def dimension_strokes(item: Dimension, scale: float, metric: bool) -> list[AnyItem]:
    """The lines, ticks and figures of a dimension, as plain items."""
    parts = dimension(item, scale, metric)
    pairs = [parts.line, *parts.extensions]
    if parts.link:
        pairs.append(parts.link)
    out: list[AnyItem] = [Line(p, q, layer=item.layer) for p, q in pairs]
    out += [_bar(p, q, style.TICK_WIDTH * scale, item.layer) for p, q in parts.ticks]
    out.append(Text(parts.middle, parts.text, item.height, "centre", "middle", parts.rotation, layer=item.layer))
    return out
