"""Clouds round what a revision changed, each with the revision's triangle. Paper inches."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely

from . import style
from .drawing import AnyItem, Arc, Box, Point, Symbol

CLOUD_LAYER = "A-ANNO-REVS"
CLOUD_AIR = 0.1  # from what changed to the cloud's line; ours, as what follows is
_SCALLOP = 0.22  # chord of one arc
_ROW_SCALLOP = 0.08  # round rows of a table, which have no air between them
_NEAR = 0.35  # clouds nearer than this are one
_MOST = 6  # clouds on one sheet: where there are more, those nearest are made one
_MORE = 0.7  # so much a cloud grows on a side at most to take in lettering that its line would cross
_TRIANGLE = 0.19  # half of a triangle's width with its air


def gathered(boxes: Sequence[Box], near: float = _NEAR, most: int = _MOST) -> list[Box]:
    """Boxes round all of `boxes`, those near each other in one, at most so many, from the left."""
    found = list(boxes)
    while True:
        count = len(found)
        grown = [shapely.box(x0 - near / 2, y0 - near / 2, x1 + near / 2, y1 + near / 2) for x0, y0, x1, y1 in found]
        whole = shapely.union_all(grown) if grown else None
        parts = [] if whole is None else list(getattr(whole, "geoms", [whole]))
        found = sorted(
            (x0 + near / 2, y0 + near / 2, x1 - near / 2, y1 - near / 2) for x0, y0, x1, y1 in (p.bounds for p in parts)
        )
        if len(found) == count and count > most:
            near *= 1.5
        elif len(found) == count:
            return found


def clouds(
    boxes: Sequence[Box],
    rows: Sequence[Box],
    revision: str,
    room: Box,
    lettered: Sequence[Box],
    beside: Sequence[Box] = (),
) -> list[AnyItem]:
    """Clouds round boxes and round rows of tables, each with its triangle, within `room` and clear of lettering where
    they can be. What is lettered `beside` the views (their titles) is not taken into a cloud."""
    texts = [*lettered, *beside]
    out: list[AnyItem] = []
    whole = gathered([_with_lettering(box, lettered) for box in gathered(boxes)])
    marked: list[Point] = []
    for box in whole:
        out += _cloud((box[0] - CLOUD_AIR, box[1] - CLOUD_AIR, box[2] + CLOUD_AIR, box[3] + CLOUD_AIR), _SCALLOP, room)
        out.append(_triangle(box, CLOUD_AIR + _SCALLOP / 2, revision, room, texts, marked))
    for box in gathered(rows, _ROW_SCALLOP):
        inset = _ROW_SCALLOP / 4  # the arcs lie on the rules over and under the rows
        out += _cloud((box[0], box[1] + inset, box[2], box[3] - inset), _ROW_SCALLOP, room)
        out.append(_triangle(box, _ROW_SCALLOP / 2, revision, room, texts, marked))
    return out


def _with_lettering(box: Box, lettered: Sequence[Box]) -> Box:
    """A box that holds what lettering its cloud's line would cross, where that is not much more."""
    reach = CLOUD_AIR + _SCALLOP / 4
    left, bottom, right, top = box[0] - reach, box[1] - reach, box[2] + reach, box[3] + reach
    held = [box]
    for x0, y0, x1, y1 in lettered:
        crosses = x0 < right and left < x1 and y0 < top and bottom < y1
        if crosses and max(left - x0, bottom - y0, x1 - right, y1 - top) <= _MORE:
            held.append((x0, y0, x1, y1))
    return min(b[0] for b in held), min(b[1] for b in held), max(b[2] for b in held), max(b[3] for b in held)


def _cloud(box: Box, chord: float, room: Box) -> list[AnyItem]:
    left, bottom = max(box[0], room[0] + chord / 2), max(box[1], room[1] + chord / 2)
    right, top = min(box[2], room[2] - chord / 2), min(box[3], room[3] - chord / 2)
    wide, high = max(right - left, chord), max(top - bottom, chord)
    across, up = math.ceil(wide / chord - 1e-9), math.ceil(high / chord - 1e-9)
    out: list[AnyItem] = []
    for n in range(across):
        x, r = left + wide * (n + 0.5) / across, wide / across / 2
        out += [_bow((x, bottom + high), r, 0.0), _bow((x, bottom), r, 180.0)]
    for n in range(up):
        y, r = bottom + high * (n + 0.5) / up, high / up / 2
        out += [_bow((left, y), r, 90.0), _bow((left + wide, y), r, 270.0)]
    return out


def _bow(centre: Point, radius: float, start: float) -> Arc:
    return Arc(centre, radius, start, (start + 180.0) % 360, layer=CLOUD_LAYER)


def _triangle(box: Box, reach: float, revision: str, room: Box, lettered: Sequence[Box], marked: list[Point]) -> Symbol:
    """The triangle beside a corner or the middle of a side where it hides the least lettering and no other triangle."""
    size = max(1.0, style.text_width(revision, style.NOTE) / 0.16)
    half, (left, bottom, right, top) = _TRIANGLE * size, box
    beside = (right + reach + half, left - reach - half)
    over = (top + reach + half, bottom - reach - half)
    places = [(x, y) for y in (top, (bottom + top) / 2, bottom) for x in beside]
    places += [(x, y) for y in over for x in (right, (left + right) / 2, left)]

    def hidden(at: Point) -> float:
        spot = (at[0] - half, at[1] - half, at[0] + half, at[1] + half)
        out_of_room = spot[0] < room[0] or spot[1] < room[1] or spot[2] > room[2] or spot[3] > room[3]
        on_another = any(abs(at[0] - x) < 2 * half and abs(at[1] - y) < 2 * half for x, y in marked)
        return 100.0 * out_of_room + 10.0 * on_another + sum(_shared(spot, text) for text in lettered)

    at = min(places, key=hidden)
    at = (
        min(max(at[0], room[0] + half), room[2] - half),
        min(max(at[1], room[1] + half), room[3] - half),
    )
    marked.append(at)
    return Symbol("revision", at, size, values={"REVISION": revision}, layer=CLOUD_LAYER)


def _shared(a: Box, b: Box) -> float:
    """Area that two boxes share."""
    return max(min(a[2], b[2]) - max(a[0], b[0]), 0.0) * max(min(a[3], b[3]) - max(a[1], b[1]), 0.0)
