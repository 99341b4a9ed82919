"""Cards in the order of the days they are used on; those of one day that are half empty share a sheet."""

from __future__ import annotations

from dataclasses import replace

from ..drafting import drawing as d
from ..drafting.draft import items_box, moved
from ..drafting.furniture import port_box
from .pages import CARD_LAYER

# a day's work: hundred of its sheets' numbers, its title, its cards in order
DAYS: tuple[tuple[int, str, tuple[str, ...]], ...] = (
    (100, "SETTING OUT", ("LEDGER FASTENERS", "STRING LINES", "POSTS AND FOOTINGS", "HEIGHTS")),
    (200, "FRAME", ("FRAME MARKS", "SQUARING", "BLOCKING", "FRAME HARDWARE")),
    (300, "SURFACE", ("BOARD LAYOUT", "NOTCH CARDS", "GAP CARD", "SURFACE HARDWARE")),
    (400, "STAIRS", ("STAIRS", "STRINGERS", "TREADS AND SKIRTS", "STAIR AND GUARD HARDWARE")),
    (500, "GUARDS", ("GUARDS",)),
    (600, "SAW", ("SAW CARD",)),
    (700, "INSPECTION", ("INSPECTION CARD",)),
)
_APART = 0.2  # paper inches between two cards on one sheet, a line in the middle
_HALF = 0.6  # of a sheet: one that is used less gives up its place where its content fits under another
_BETWEEN = ", "  # between the names of cards that share a sheet


def cards_on(sheet: d.Sheet) -> list[str]:
    """The names of the cards on a sheet."""
    return sheet.name.split(_BETWEEN)


def sheets_of(drawing: d.DrawingSet, card: str) -> list[d.Sheet]:
    """The sheets that a card stands on, in order."""
    return [s for s in drawing.sheets if card in cards_on(s)]


def put_together(drawing: d.DrawingSet) -> None:
    """Sort the sheets by day, set on one sheet what fits there (a sheet is added whole to one before it, of the same
    day, where its content finds room, the last such), and number them. Called before any card quotes their numbers."""
    place = {name: (hundred, k) for hundred, _, names in DAYS for k, name in enumerate(names)}
    sheets = sorted(drawing.sheets, key=lambda s: place[s.name])
    out: list[d.Sheet] = []
    for sheet in sheets:
        day = place[sheet.name][0]
        same = [s for s in reversed(out) if place[cards_on(s)[0]][0] == day]
        # no sheet of a card comes before another one of it
        last = next((k for k, s in enumerate(same) if sheet.name in cards_on(s)), len(same))
        room = same[last : last + 1] if _continued(sheet) else same[: last + 1]
        if not any(_joined(before, sheet, drawing.metric) for before in room):
            out.append(sheet)
    for k, sheet in enumerate(out):  # what is half empty goes under another, before or after it
        # what goes on with a table stays behind it
        same = [] if _continued(sheet) else [s for s in out[k + 1 :] + out[:k][::-1] if s.name]
        same = [s for s in same if place[cards_on(s)[0]][0] == place[cards_on(sheet)[0]][0]]
        if _filled(sheet, drawing.metric) < _HALF and any(_joined(s, sheet, drawing.metric) for s in same):
            sheet.name = ""
    out = [s for s in out if s.name]
    number = 0
    for k, sheet in enumerate(out):
        hundred = place[cards_on(sheet)[0]][0]
        new = k == 0 or hundred != place[cards_on(out[k - 1])[0]][0]
        number = hundred + 1 if new else number + 1
        sheet.number = f"Z-{number:03d}"
    drawing.sheets[:] = out


def _joined(first: d.Sheet, second: d.Sheet, metric: bool) -> bool:
    """Whether the second sheet's content found room under the first's, and stands there now."""
    bottom, (low, top) = _reach(first, metric)[0], _reach(second, metric)
    if bottom - _APART - (top - low) < first.room[1] - 1e-6:
        return False
    down = bottom - _APART - top
    left, right = first.room[0], first.room[2]
    line = bottom - _APART / 2
    first.add(d.Line((left, line), (right, line), layer=CARD_LAYER))
    for item in second.items:
        at = getattr(item, "at", None)
        first.add(moved(item, 0.0, down) if at is None else replace(item, at=(at[0], at[1] + down)))
    for port in second.viewports:
        first.viewports.append(replace(port, centre=(port.centre[0], port.centre[1] + down)))
    first.name = _BETWEEN.join(dict.fromkeys((*cards_on(first), *cards_on(second))))
    return True


def _continued(sheet: d.Sheet) -> bool:
    """Whether a sheet goes on with the table of the one before it."""
    heads = [i for i in sheet.items if type(i) is d.Text]
    return bool(heads) and "(CONTINUED)" in max(heads, key=lambda t: t.at[1]).text


def _filled(sheet: d.Sheet, metric: bool) -> float:
    """The share of a sheet's height that is used."""
    _, bottom, _, top = sheet.room
    return (top - _reach(sheet, metric)[0]) / (top - bottom)


def _reach(sheet: d.Sheet, metric: bool) -> tuple[float, float]:
    """The lowest and the highest place of what stands on a sheet, paper inches."""
    boxes = [items_box(sheet.items, 1.0, metric)] if sheet.items else []
    boxes += [port_box(port, metric) for port in sheet.viewports]
    return min(b[1] for b in boxes), max(b[3] for b in boxes)
