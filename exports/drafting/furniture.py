"""What a sheet carries beside its own items: titles under its views, and where each viewport's window falls."""

from __future__ import annotations

from collections.abc import Callable

from ...shared.papers import papers
from . import style
from .draft import view_box
from .drawing import AnyItem, Box, Line, Point, Sheet, Symbol, Text, Viewport
from .symbols import SYMBOLS


def port_size(port: Viewport, metric: bool = False) -> tuple[float, float]:
    """Paper width and height of a viewport, a little more than its view so that no line on its edge is halved."""
    if port.size:
        return port.size
    left, bottom, right, top = view_box(port.view, metric)
    return ((right - left) / port.view.scale + 0.04, (top - bottom) / port.view.scale + 0.04)


def port_middle(port: Viewport, metric: bool = False) -> Point:
    """The point of the view (its own coordinates) that falls on the viewport's centre."""
    left, bottom, right, top = view_box(port.view, metric)
    return ((left + right) / 2, (bottom + top) / 2)


def port_box(port: Viewport, metric: bool = False) -> Box:
    """The paper box of a viewport, without its title."""
    width, height = port_size(port, metric)
    x, y = port.centre
    return (x - width / 2, y - height / 2, x + width / 2, y + height / 2)


def to_paper(port: Viewport, metric: bool = False) -> Callable[[Point], Point]:
    """Where points of the view fall on the sheet, in paper inches."""
    (mx, my), (cx, cy), scale = port_middle(port, metric), port.centre, port.view.scale
    return lambda p: ((p[0] - mx) / scale + cx, (p[1] - my) / scale + cy)


TITLE_DEPTH = 0.85  # paper inches a view title takes under its view, with its air
_NOTE_SHARE = 0.55  # of the paper's width that a line of a title's note may take: beside it stand keynotes; our own


def titles(sheet: Sheet, metric: bool = False) -> list[AnyItem]:
    """A title under every viewport that has one: number in a bubble, title over a line, scale under it, note."""
    out: list[AnyItem] = []
    name = "title" if papers()[sheet.paper].at_side else "title small"
    radius = SYMBOLS[name].items[0].radius
    under = next(slot for slot in SYMBOLS[name].slots if slot.tag == "NOTE")
    for port in sheet.viewports:
        if not port.title:
            continue
        left, bottom, right, _ = port_box(port, metric)
        note, *more = style.lines(port.note, style.NOTE, _NOTE_SHARE * papers()[sheet.paper].width)
        values = {
            "NUMBER": port.number,
            "TITLE": port.title.upper(),
            "NOTE": note,
            "SCALE": f"SCALE: {style.scale_note(port.view.scale, metric)}",
        }
        wide = max(
            style.text_width(values[slot.tag], slot.height) for slot in SYMBOLS[name].slots if slot.tag != "NUMBER"
        )
        long = radius + 0.15 + wide  # of the line, from the bubble's middle
        at = ((left + right) / 2 - (long - radius) / 2, bottom - 0.15 - radius)
        out.append(Symbol(name, at, values=values, layer="A-ANNO-TITL"))
        if more:
            below = (at[0] + under.at[0], at[1] + under.at[1] - style.NOTE * style.LINE_SPACING)
            out.append(Text(below, "\n".join(more), style.NOTE, "left", "top", layer="A-ANNO-TITL"))
        out.append(Line((at[0] + radius, at[1]), (at[0] + long, at[1]), layer="A-ANNO-TITL"))
    return out
