"""Finds places for dimension figures, marks and notes so that no lettering lies on lettering or on a heavy line.

Every item has an ordered list of candidate places. Each is measured as a box against what is already drawn: lettering,
heavy lines, symbols, dimension lines and the tips of notes still to come bar a place; light lines, hatching and long or
crossing leaders only make it dearer. Items are placed in order (dimension figures, marks, notes), each at the cheapest
place that nothing bars; then marks and notes that stand badly move, and push others, while all together gets cheaper.
Extension lines are broken round what stands on them. An item with no free place is put at its least bad one and
reported.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import cache

import shapely
from shapely import STRtree

from . import draft, style
from .clearance import GOOD, Clearance, put, stands
from .dimensioning import dimension
from .drawing import AnyItem, Box, Dimension, Leader, Point, Tag, Text, View
from .places import BLOCKED, Places, aside_places, dimension_places, joined, note_places, tag_places

_SWEEPS = 3  # times over all marks and notes, each time moving those that stand badly
_CONTENT = 0.9  # a place cheaper than this is left alone
_HELPLESS = 12  # so many vain attempts to push others away, and a view is taken as too full for it
_WORTH = 0.05  # a move that saves less is not made
_FAR_TIPS = 3  # of a note's tips, those from which it may stand far off
_NARROWER = (1.7, 1.2)  # paper inches that notes may break at where the whole width finds no good place


@dataclass
class Report:
    """How many items were placed, and those for which no free place was found (they stand at the least bad one)."""

    placed: int = 0
    unplaced: list[AnyItem] = field(default_factory=list)


def outside(box: Box, side: str, level: int, scale: float) -> Point:
    """A point for the dimension line of the string of `level` (0 nearest) on a side ("bottom", "top", "left", "right")
    of a view."""
    off = style.DIM_SPACING * (level + 1) * scale
    left, bottom, right, top = box
    return {
        "bottom": (left, bottom - off),
        "top": (left, top + off),
        "left": (left - off, bottom),
        "right": (right + off, bottom),
    }[side]


def overlaps(items: Iterable[AnyItem], scale: float, metric: bool = False) -> list[tuple[Text, Text]]:
    """Pairs of lettering whose boxes overlap. Empty on a well laid out view or sheet."""
    quads = draft.text_quads(items, scale, metric)
    if len(quads) < 2:
        return []
    shapes = shapely.polygons([quad for quad, _ in quads])
    tree = STRtree(shapes)
    first, second = tree.query(shapes, predicate="intersects")
    keep = first < second
    first, second = first[keep], second[keep]
    deep = shapely.area(shapely.intersection(shapes[first], shapes[second])) > (0.002 * scale) ** 2
    return [(quads[a][1], quads[b][1]) for a, b in zip(first[deep], second[deep])]


def place(view: View, within: Box | None = None, metric: bool = False) -> Report:
    """Place everything of a view that may move: see `place_items`. `within` in view coordinates."""
    return place_items(view.items, view.scale, within, metric)


def place_items(items: list[AnyItem], scale: float, within: Box | None = None, metric: bool = False) -> Report:
    """Place leaders and tags whose `at` is None, and move figures of dimensions that do not stand free on their line.

    Items are changed in place. Nothing is put outside `within` (coordinates of the items) unless there is no other
    place.
    """
    dims = [i for i in items if type(i) is Dimension and i.text_at is None]
    tags = [i for i in items if type(i) is Tag and i.at is None]
    notes = [i for i in items if type(i) is Leader and i.at is None]
    loose = {id(i) for i in (*dims, *tags, *notes)}
    tips = [i.tip for i in (*tags, *notes) if i.tip is not None]
    room = Clearance([i for i in items if id(i) not in loose], dims, tips, scale, metric)
    failed = []
    for item in dims:
        if (
            room.settle(within, dimension_places(item, scale, metric), lambda: aside_places(item, scale, metric))
            >= BLOCKED
        ):
            failed.append(item)
    notes.sort(key=lambda n: (-n.tip[1], n.tip[0]))
    unplaced = _place_marks_and_notes(room, [*tags, *notes], scale, within)
    _break_extensions(items, scale, metric)
    return Report(len(dims) + len(tags) + len(notes) - len(failed) - len(unplaced), failed + unplaced)


def _place_marks_and_notes(room: Clearance, items: list[AnyItem], scale: float, within: Box | None) -> list[AnyItem]:
    """Place `items` in order; then move those that stand badly, and what is in their way, while all together gets
    cheaper. Returns those without a free place."""
    searches = {id(i): _searches(i, scale, room.body) for i in items}
    cost = {id(i): room.settle(within, *searches[id(i)]) for i in items}

    def settle(item: AnyItem) -> None:
        room.lift([item])
        cost[id(item)] = room.settle(within, *searches[id(item)])

    helpless: set[int] = set()  # those that pushing did not help

    def push(item: AnyItem) -> None:
        """Put it where it would stand if no mark or note were placed, and let those in its way find other places."""
        before, paid, places = room.state(), dict(cost), [stands(i) for i in items]
        room.lift(items)
        room.settle(within, *searches[id(item)])
        wanted = room.state()
        room.restore(before)
        room.take_over(item, wanted)
        pushed = room.in_the_way(item, items)
        room.lift(pushed)
        for other in (*pushed, item):
            settle(other)
        if sum(cost.values()) > sum(paid.values()) - _WORTH:
            helpless.add(id(item))
            room.restore(before)
            cost.update(paid)
            for i, place_ in zip(items, places):
                put(i, place_)

    for _ in range(_SWEEPS):
        total = sum(cost.values())
        for item in sorted(items, key=lambda i: -cost[id(i)]):
            if cost[id(item)] >= _CONTENT:
                settle(item)
            if cost[id(item)] >= GOOD and id(item) not in helpless and len(helpless) < _HELPLESS:
                push(item)
        if sum(cost.values()) > total - _WORTH:
            break
    return [item for item in items if cost[id(item)] >= BLOCKED]


def _searches(item: AnyItem, scale: float, body: Box) -> tuple[Places, Callable[[], Places] | None]:
    """All places of a mark or note, a note's at every tip it may have; and of a note in narrower blocks of lines, made
    when asked for."""
    if type(item) is Tag:
        assert item.tip is not None, "a tag needs a place or a tip"
        return joined([(tag_places(item, scale, body, tip), 0.0) for tip in (item.tip, *item.tips)]), None
    assert type(item) is Leader

    def blocks(wrap: float | None, dearer: float) -> list[tuple[Places, float]]:
        return [
            (note_places(item, scale, body, wrap, tip, n < _FAR_TIPS), dearer)
            for n, tip in enumerate((item.tip, *item.tips))
        ]

    wide = style.block_size(item.text, item.height, item.wrap)[0]
    narrower = [w for w in _NARROWER if w < wide * 0.95]

    @cache
    def wider() -> Places:
        return joined([b for n, wrap in enumerate(narrower) for b in blocks(wrap, 0.5 * (n + 1))])

    return joined(blocks(item.wrap, 0.0)), wider if narrower else None


def _break_extensions(items: Iterable[AnyItem], scale: float, metric: bool) -> None:
    """Break the extension lines of dimensions round all lettering that stands on them."""
    dims = [i for i in items if type(i) is Dimension]
    if not dims:
        return
    quads = [q for q, _ in draft.text_quads(items, scale, metric, style.TEXT_AIR)]
    lines = [(dim, shapely.LineString(pair)) for dim in dims for pair in dimension(dim, scale, metric).extensions]
    if not quads or not lines:
        return
    which, quad = STRtree(shapely.polygons(quads)).query([line for _, line in lines], predicate="intersects")
    for n, k in sorted(zip(which.tolist(), quad.tolist())):
        if quads[k] not in lines[n][0].breaks:
            lines[n][0].breaks.append(quads[k])
