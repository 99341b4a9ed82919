"""What differs between two drawing sets: where on each sheet of the later one, in words, and of which pieces.

Views are held against each other by name: lines of what is built by where they lie at true size, lettering and
dimensions by what they read (where they stand is the layout's choice). On paper, tables are held against each other row
by row and notes by their words, over the whole set: on which sheet they stand may change. Numbers of notes, the
directions of arrows and section lines are left out.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from difflib import SequenceMatcher

import numpy as np
import shapely

from ..drafting import draft
from ..drafting.drawing import (
    AnyItem,
    Arc,
    Box,
    Circle,
    Dimension,
    DrawingSet,
    Hatch,
    Leader,
    Line,
    Point,
    Polyline,
    Sheet,
    Symbol,
    Table,
    Tag,
    Text,
    View,
)
from ..drafting.furniture import port_box, titles, to_paper
from ..drafting.tabling import row_boxes

SAME_LINE = 1 / 16  # inches at true size within which a line lies where it lay; our own
_LEAST = 1 / 4  # inches of a line that is not there in the other view before it counts; our own
_ALIKE = 0.5  # share of letters in common from which a text is the other one changed; our own
_NUMBER = re.compile(r"^\d+\.$")
_CHORD = 10.0  # degrees of an arc that one straight piece stands for


@dataclass
class SheetChange:
    """What changed on one sheet: boxes on paper, rows of tables, words, and ids of pieces whose lines or names are not
    as they were (`now` in the later set, `before` in the earlier)."""

    sheet: Sheet
    boxes: list[Box] = field(default_factory=list)
    rows: list[Box] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    now: set[str] = field(default_factory=set)
    before: set[str] = field(default_factory=set)

    @property
    def any(self) -> bool:
        return bool(self.boxes or self.rows or self.words)


def sheet_changes(
    before: DrawingSet, after: DrawingSet, kept: Collection[str] = ()
) -> tuple[list[SheetChange], list[str]]:
    """A change for every sheet of the later set, in order, empty where nothing changed; and what is gone with no place
    left to tell it at. Rows that begin with one of `kept`, the sheets that tell of the changes, are none."""
    views = {view.name: view for view in before.views()}
    found = [SheetChange(sheet) for sheet in after.sheets]
    for change in found:
        for port in change.sheet.viewports:
            seen = _View(views.pop(port.view.name, None), port.view, after.metric)
            at, (left, bottom, right, top) = to_paper(port, after.metric), port_box(port, after.metric)
            for box in seen.boxes:
                (x0, y0), (x1, y1) = at(box[:2]), at(box[2:])
                shown = (max(x0, left), max(y0, bottom), min(x1, right), min(y1, top))
                if shown[0] <= shown[2] and shown[1] <= shown[3]:
                    change.boxes.append(shown)
            change.words += seen.words
            change.now |= seen.now
            change.before |= seen.before
    _tables(before, after, found, kept)
    _notes(before, after, found)
    return found, [f"VIEW GONE: {name.upper()}" for name in views]


class _View:
    """One view held against what it was, or all of it new."""

    def __init__(self, a: View | None, b: View, metric: bool):
        self.metric, self.scale = metric, b.scale
        self.boxes: list[Box] = []
        self.words: list[str] = []
        self.now: set[str] = set()
        self.before: set[str] = set()
        if a is None:
            self.boxes.append(draft.drawn_box(b, metric))
            self.words.append(f"VIEW NEW: {b.name.upper()}")
            self.now = {item.mark for item in b.items if item.mark}
            return
        self._lines(_drawn(a), _drawn(b))
        self._read(_dimensions(a, metric), _dimensions(b, metric))
        self._read(_lettering(a, metric), _lettering(b, metric))
        self._named(a, b)

    def _lines(self, a: _Lines, b: _Lines) -> None:
        step = min(_shifts(a, b), key=lambda s: sum(g.length for g, _ in _missing(_moved(a, s), b)))
        there = _moved(a, step)
        for shape, mark in _missing(there, b):
            self.boxes.append(shape.bounds)
            self.now |= {mark} - {""}
        for shape, mark in _missing(b, there):
            self.boxes.append(shape.bounds)
            self.before |= {mark} - {""}

    def _read(self, a: list[tuple[str, str, Box]], b: list[tuple[str, str, Box]]) -> None:
        """Rows are (kind, what it reads, where)."""
        new, gone = _without(b, a), _without(a, b)
        for kind, text, box in new:
            was = next((g for g in gone if g[0] == kind and _alike(kind, g[1], text)), None)
            if was is not None:
                gone.remove(was)
            self.boxes.append(box)
            self.words.append(f"{kind} {was[1]} NOW {text}" if was else f"{kind} {text}: NEW")
        self.words += [f"{kind} {text}: GONE" for kind, text, _ in gone]

    def _named(self, a: View, b: View) -> None:
        """Pieces whose names, as lettered beside them, read otherwise."""
        x, y = ({(i.text, i.mark) for i in v.items if type(i) in (Leader, Tag, Text) and i.mark} for v in (a, b))
        words_x, words_y = {t for t, _ in x}, {t for t, _ in y}
        self.now |= {mark for text, mark in y if text not in words_x}
        self.before |= {mark for text, mark in x if text not in words_y}


_Lines = dict[str, list[tuple[shapely.LineString, str]]]  # by layer, each with the piece that it draws


def _drawn(view: View) -> _Lines:
    """Lines of what is built, by layer, without what letters and points."""
    found: _Lines = {}
    for item in view.items:
        if item.layer.startswith("A-ANNO") and not (type(item) is Symbol and item.true_size):
            continue
        for stroke in draft.strokes(item, view.scale) if type(item) is Symbol and item.true_size else [item]:
            path = _path(stroke)
            if len(path) > 1 and math.dist(*_ends(path)) > 0:
                found.setdefault(item.layer, []).append((shapely.LineString(path), item.mark))
    return found


def _ends(path: list[Point]) -> tuple[Point, Point]:
    xs, ys = [p[0] for p in path], [p[1] for p in path]
    return (min(xs), min(ys)), (max(xs), max(ys))


def _path(item: AnyItem) -> list[Point]:
    match item:
        case Line():
            return [item.a, item.b]
        case Polyline():
            return [*item.points, item.points[0]] if item.closed else item.points
        case Hatch():
            return [*item.outline, item.outline[0]]
        case Circle():
            return _round(item.centre, item.radius, 0.0, 360.0)
        case Arc():
            return _round(item.centre, item.radius, item.start, (item.end - item.start) % 360 or 360.0)
    return []


def _round(centre: Point, radius: float, start: float, sweep: float) -> list[Point]:
    angles = np.radians(np.linspace(start, start + sweep, max(math.ceil(sweep / _CHORD), 1) + 1))
    return [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles]


def _shifts(a: _Lines, b: _Lines) -> list[Point]:
    """Ways in which the earlier view may lie to be the later one: as it lies, or with a corner of what it draws on that
    of the other (a detail is drawn where its piece stands, and that may move)."""
    if not a or not b:
        return [(0.0, 0.0)]
    x, y = (shapely.total_bounds([shape for lines in v.values() for shape, _ in lines]) for v in (a, b))
    corners = [(y[i] - x[i], y[j] - x[j]) for i in (0, 2) for j in (1, 3)]
    return list(dict.fromkeys([(0.0, 0.0), *((float(dx), float(dy)) for dx, dy in corners)]))


def _moved(lines: _Lines, step: Point) -> _Lines:
    if step == (0.0, 0.0):
        return lines
    return {
        layer: [(shapely.transform(s, lambda xy: xy + np.array(step)), mark) for s, mark in found]
        for layer, found in lines.items()
    }


def _missing(a: _Lines, b: _Lines) -> list[tuple[shapely.Geometry, str]]:
    """What of the lines of `b` lies where `a` has none of the same layer."""
    found = []
    for layer, lines in b.items():
        shapes = np.array([shape for shape, _ in lines], dtype=object)
        there = shapely.union_all(shapely.buffer([s for s, _ in a.get(layer, [])], SAME_LINE, cap_style="square"))
        shapely.prepare(there)
        for k in np.flatnonzero(~shapely.covers(there, shapes)):
            rest = shapes[k].difference(there)
            if rest.length > _LEAST:
                found.append((rest, lines[k][1]))
    return found


def _dimensions(view: View, metric: bool) -> list[tuple[str, str, Box]]:
    found = []
    for item in view.items:
        if type(item) is Dimension:
            texts = [s for s in draft.strokes(item, view.scale, metric) if type(s) is Text]
            if texts:
                found.append(("DIMENSION", texts[0].text, draft.items_box(texts, view.scale, metric)))
    return found


def _lettering(view: View, metric: bool) -> list[tuple[str, str, Box]]:
    found = []
    for item in view.items:
        if type(item) in (Text, Leader):
            text = item if type(item) is Text else draft.leader_text(item)
            found.append(("NOTE", " ".join(item.text.split()), draft.items_box([text], view.scale, metric)))
        elif type(item) is Symbol and item.values:
            told = " ".join(item.values.values())
            found.append(("MARK", told, draft.items_box([item], view.scale, metric)))
    return found


def _without(a: Sequence, b: Iterable) -> list:
    """The rows of `a` that read as none of `b`, one for one; without those that are numbers of notes."""
    left = Counter(row[:2] for row in b)
    out = []
    for row in a:
        if left[row[:2]]:
            left[row[:2]] -= 1
        elif not _NUMBER.match(row[1]):
            out.append(row)
    return out


def _alike(kind: str, was: str, now: str) -> bool:
    if kind == "DIMENSION":  # the words around two figures
        return re.sub(r"[\d'\"/ -]", "", was) == re.sub(r"[\d'\"/ -]", "", now)
    return SequenceMatcher(None, was, now).ratio() >= _ALIKE


def lettering_on(sheet: Sheet, metric: bool) -> tuple[list[Box], list[Box]]:
    """Paper boxes of the texts on a sheet, and of those in its views' titles."""
    return list(_lettering_of(sheet, metric)), list(_texts(titles(sheet, metric), 1.0, metric))


def _lettering_of(sheet: Sheet, metric: bool) -> Iterator[Box]:
    for port in sheet.viewports:
        at = to_paper(port, metric)
        for box in _texts(port.view.items, port.view.scale, metric):
            yield (*at(box[:2]), *at(box[2:]))
    yield from _texts(sheet.items, 1.0, metric)


def _texts(items: Iterable[AnyItem], scale: float, metric: bool) -> Iterator[Box]:
    for item in draft.clean(items):
        for stroke in draft.strokes(item, scale, metric):
            if type(stroke) is Text and stroke.text:
                yield draft.items_box([stroke], scale, metric)


def _named_tables(drawing: DrawingSet) -> Iterator[tuple[int, Table, str]]:
    """(number of the sheet, table, title without what it counts or says of itself, or that it goes on)."""
    for n, sheet in enumerate(drawing.sheets):
        for item in sheet.items:
            if type(item) is Table:
                yield n, item, re.sub(r"( \(CONTINUED\)|: .*)+$", "", item.title)


def _tables(before: DrawingSet, after: DrawingSet, found: list[SheetChange], kept: Collection[str]) -> None:
    earlier = [(title, tuple(row)) for _, table, title in _named_tables(before) for row in table.rows]
    later = [(title, tuple(row)) for _, table, title in _named_tables(after) for row in table.rows]
    new, gone = Counter(later) - Counter(earlier), Counter(earlier) - Counter(later)
    places: dict[str, int] = {}
    for n, table, title in _named_tables(after):
        places.setdefault(title, n)
        for box, row in zip(row_boxes(table)[1:], table.rows):
            key = (title, tuple(row))
            if new[key] <= 0 or row[0] in kept:
                continue
            new[key] -= 1
            was = next((g for g, left in gone.items() if left > 0 and g[0] == title and g[1][0] == row[0]), None)
            if was is not None:
                gone[was] -= 1
            found[n].rows.append(box)
            found[n].words.append(_row_words(title, table.head, row, was[1] if was else None))
    for (title, row), left in gone.items():
        told = f"{title or 'TABLE'}, {row[0]}: GONE"
        found[places.get(title, 0)].words += [told] * max(left, 0)


def _row_words(title: str, head: Sequence[str], row: Sequence[str], was: Sequence[str] | None) -> str:
    told = f"{title or 'TABLE'}, {row[0]}: "
    if was is None or len(was) != len(row):
        return told + "NEW ROW"
    return told + "; ".join(f"{name} {a or '-'} NOW {b or '-'}" for name, a, b in zip(head, was, row) if a != b)


def _notes(before: DrawingSet, after: DrawingSet, found: list[SheetChange]) -> None:
    def rows(drawing: DrawingSet) -> list[tuple[str, str, tuple[int, Box]]]:
        return [
            ("NOTE", " ".join(item.text.split()), (n, draft.items_box([item], 1.0, drawing.metric)))
            for n, sheet in enumerate(drawing.sheets)
            for item in sheet.items
            if type(item) is Text
        ]

    new, gone = _without(rows(after), rows(before)), _without(rows(before), rows(after))
    for kind, text, (n, box) in new:
        was = next((g for g in gone if _alike(kind, g[1], text)), None)
        if was is not None:
            gone.remove(was)
        found[n].boxes.append(box)
        found[n].words.append(f"NOTE NOW: {text}" if was else f"NOTE NEW: {text}")
    for _, text, (n, _) in gone:
        found[min(n, len(found) - 1)].words.append(f"NOTE GONE: {text}")
