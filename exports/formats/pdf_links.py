"""Where a reader of the PDF gets to: bookmarks of sheets and views, links from lists of sheets and section marks."""

from __future__ import annotations

from collections.abc import Iterator

from reportlab.pdfgen.canvas import Canvas

from ..drafting.drawing import Box, DrawingSet, Sheet, Symbol, Table, Viewport
from ..drafting.furniture import port_box, to_paper
from ..drafting.symbols import BUBBLE
from ..drafting.tabling import row_boxes

_PT = 72.0


def view_key(sheet: Sheet, port: Viewport) -> str:
    return f"{sheet.number}/{port.number}" if port.number else ""


class LinkPlaces:
    """The sheets and views of a set, by the keys that bookmarks and links know them by."""

    def __init__(self, drawing: DrawingSet):
        self.drawing = drawing
        self.known = {sheet.number for sheet in drawing.sheets}
        self.known |= {view_key(sheet, port) for sheet in drawing.sheets for port in sheet.viewports}

    def mark(self, canvas: Canvas, sheet: Sheet) -> None:
        """Bookmarks of a sheet, which is the canvas's page, and of its views under it."""
        canvas.bookmarkPage(sheet.number)
        canvas.addOutlineEntry(f"{sheet.number} {sheet.name}", sheet.number, 0, closed=True)
        for port in sheet.viewports:
            key = view_key(sheet, port)
            if key:
                left, bottom, right, top = (v * _PT for v in port_box(port, self.drawing.metric))
                canvas.bookmarkPage(key, "FitR", left=left, bottom=bottom, right=right, top=top)
            if key and port.title:
                canvas.addOutlineEntry(f"{port.number} {port.title}", key, 1)

    def link(self, canvas: Canvas, sheet: Sheet) -> None:
        for (left, bottom, right, top), key in self.links(sheet):
            canvas.linkAbsolute(key, key, (left * _PT, bottom * _PT, right * _PT, top * _PT))

    def links(self, sheet: Sheet) -> Iterator[tuple[Box, str]]:
        """Paper boxes and where they lead: rows of tables that begin with a sheet's number, and marks of sections and
        details, to the view where it has a number of its own."""
        for item in sheet.items:
            if type(item) is Table:
                for box, row in zip(row_boxes(item)[1:], item.rows):
                    if row[0] in self.known:
                        yield box, row[0]
        for port in sheet.viewports:
            left, bottom, right, top = port_box(port, self.drawing.metric)
            at = to_paper(port, self.drawing.metric)
            for item in port.view.items:
                if type(item) is not Symbol or "SHEET" not in item.values:
                    continue
                number = item.values["SHEET"]
                key = next((k for k in (f"{number}/{item.values.get('NUMBER')}", number) if k in self.known), "")
                x, y = at(item.at)
                if key and left <= x <= right and bottom <= y <= top:
                    yield (x - BUBBLE, y - BUBBLE, x + BUBBLE, y + BUBBLE), key
