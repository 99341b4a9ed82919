"""The drawing set as a PDF: one page a sheet at true size, vector lines in their weights, embedded font, bookmarks.

Black is DeviceGray 0. With reportlab's `invariant` the file holds no time and no random number: the same drawing gives
the same bytes. Lines are gathered by layer, so each page sets a pen once a layer.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from os import PathLike

from reportlab.pdfgen.canvas import Canvas

from ..drafting import style
from ..drafting.draft import clean, standing_still, strokes
from ..drafting.drawing import AnyItem, Circle, DrawingSet, Hatch, Line, Point, Polyline, Sheet, Text, Viewport
from ..drafting.furniture import port_box, port_middle, titles
from ..drafting.hatching import hatch_lines
from ..drafting.layers import LAYERS
from ..drafting.titleblock import filled
from .lettering import number, register_font

PT = 72.0
_MM = PT / 25.4
_BOX = 0.5522847498  # of a quarter circle drawn as one cubic


# what reportlab writes for a row of letters of a size, and the part of the font (reportlab divides it) before and after
Shown = dict[tuple[str, float, int], tuple[str, int]]


class _Pen:
    """Gathers the strokes of one clip region of one page by layer, in points, then writes them."""

    def __init__(self, canvas: Canvas, scale: float, move: Callable[[Point], Point], metric: bool, shown: Shown):
        self.canvas, self.scale, self.move, self.metric, self.shown = canvas, scale, move, metric, shown
        self.lines: dict[str, list[str]] = {}
        self.fills: list[str] = []
        self.texts: list[Text] = []

    def draw(self, items: list[AnyItem]) -> None:
        for item in clean(items):
            for stroke in strokes(item, self.scale, self.metric):
                self._stroke(stroke)

    def _stroke(self, item: AnyItem) -> None:
        kind = type(item)
        if kind is Text:
            if item.text and LAYERS[item.layer].plot:
                self.texts.append(item)
            return
        if not LAYERS[item.layer].plot:
            return
        if kind is Hatch and item.pattern == "solid":
            self.fills.append("\n".join(self._path(ring, True) for ring in (item.outline, *item.holes)))
            return
        out = self.lines.setdefault(item.layer, [])
        if kind is Line:
            out.append(self._path((item.a, item.b), False))
        elif kind is Polyline:
            out.append(self._path(item.points, item.closed))
        elif kind is Hatch:
            out += [self._path(pair, False) for pair in hatch_lines(item, self.scale)]
        elif kind is Circle:
            out.append(self._arc(item.centre, item.radius, 0.0, 360.0) + " h")
        else:
            sweep = (item.end - item.start) % 360 or 360.0
            out.append(self._arc(item.centre, item.radius, item.start, sweep))

    def _path(self, points, closed: bool) -> str:
        text = " l ".join("{:.3f} {:.3f}".format(*self.move(p)) for p in points).replace(" l ", " m ", 1)
        return text + (" l h" if closed else " l")

    def _arc(self, centre: Point, radius: float, start: float, sweep: float) -> str:
        """An arc as cubics of at most a quarter turn."""
        count = math.ceil(abs(sweep) / 90 - 1e-9)
        step = math.radians(sweep) / count
        handle = 4 / 3 * math.tan(step / 4) * radius
        angle, out = math.radians(start), []
        last = self.move(centre)
        for n in range(count + 1):
            c, s = math.cos(angle), math.sin(angle)
            p = (centre[0] + radius * c, centre[1] + radius * s)
            after = (p[0] - handle * s, p[1] + handle * c)
            before = (p[0] + handle * s, p[1] - handle * c)
            if n == 0:
                out.append("{:.3f} {:.3f} m".format(*self.move(p)))
            else:
                out.append(
                    "{:.3f} {:.3f} {:.3f} {:.3f} {:.3f} {:.3f} c".format(*last, *self.move(before), *self.move(p))
                )
            last = self.move(after)
            angle += step
        return " ".join(out)

    def write(self) -> None:
        canvas = self.canvas
        canvas.setStrokeGray(0)
        canvas.setFillGray(0)
        canvas.setLineJoin(1)
        for name in LAYERS:
            if paths := self.lines.get(name):
                layer = LAYERS[name]
                canvas.setLineWidth(layer.weight * _MM)
                canvas.setDash([d * PT for d in layer.dashes], 0) if layer.dashes else canvas.setDash()
                canvas.setLineCap(0 if layer.dashes else 1)
                canvas._code.extend(dict.fromkeys(paths))  # a line two items share is drawn once, or it prints heavier
                canvas._code.append("S")
        for fill in dict.fromkeys(self.fills):  # one by one: heads that overlap must not cut holes in each other
            canvas._code.append(fill + " f*")
        self._letter()

    def _letter(self) -> None:
        if not self.texts:
            return
        run = self.canvas.beginText()
        run.setFillGray(0)
        for text in self.texts:
            size = text.height / style.CAP * PT
            run.setFont(style.FONT_PDF, size)
            ux, uy = style.unit(text.rotation)
            turn = f"{number(ux)} {number(uy)} {number(-uy)} {number(ux)}"
            rows = style.lines(text.text, text.height, text.wrap)
            pitch = text.height * style.LINE_SPACING
            body = text.height + pitch * (len(rows) - 1)
            low = {"bottom": 0.0, "middle": -body / 2, "top": -body}[text.level]
            x, y = self.move(text.at)
            for n, row in enumerate(rows):
                if not row:
                    continue
                wide = 0.0 if text.align == "left" else style.text_width(row, text.height)
                a = (-wide / 2 if text.align == "centre" else -wide) * PT
                b = (low + pitch * (len(rows) - 1 - n)) * PT
                run._code.append(f"{turn} {number(x + a * ux - b * uy)} {number(y + a * uy + b * ux)} Tm")
                known = self.shown.get((row, size, run._curSubset))
                if known is None:
                    before = run._curSubset
                    run.textOut(row)
                    self.shown[row, size, before] = run._code[-1], run._curSubset
                else:
                    run._code.append(known[0])
                    run._curSubset = known[1]
        self.canvas.drawText(run)


def _on_paper(p: Point) -> Point:
    return (p[0] * PT, p[1] * PT)


def _draw_port(canvas: Canvas, port: Viewport, metric: bool, shown: Shown) -> None:
    scale, (mx, my), (cx, cy) = port.view.scale, port_middle(port, metric), port.centre
    factor = PT / scale

    def move(p: Point) -> Point:
        return ((p[0] - mx) * factor + cx * PT, (p[1] - my) * factor + cy * PT)

    pen = _Pen(canvas, scale, move, metric, shown)
    pen.draw(port.view.items)
    canvas.saveState()
    left, bottom, right, top = port_box(port, metric)
    if port.size or port.view.window:
        clip = canvas.beginPath()
        clip.rect(left * PT, bottom * PT, (right - left) * PT, (top - bottom) * PT)
        canvas.clipPath(clip, stroke=0, fill=0)
    pen.write()
    canvas.restoreState()


def _draw_sheet(canvas: Canvas, drawing: DrawingSet, sheet: Sheet, shown: Shown) -> None:
    for port in sheet.viewports:
        _draw_port(canvas, port, drawing.metric, shown)
    pen = _Pen(canvas, 1.0, _on_paper, drawing.metric, shown)
    pen.draw(sheet.items)
    pen.draw(titles(sheet, drawing.metric))
    pen.draw(filled(drawing, sheet))
    pen.write()


def write_pdf(
    drawing: DrawingSet,
    path: str | PathLike,
    *,
    kind: str = "Permit set",
    subject: str = "Drawing set of a residential deck",
) -> None:
    """Write the set to `path`. Pages in the order of the sheets, each as large as its paper; one bookmark a sheet.

    `kind` and `subject` are the document's own words in its properties, beside the project's name. Raises KeyError for
    an item on a layer that is not in `layers.LAYERS`.
    """
    register_font()
    canvas = Canvas(str(path), invariant=1, pageCompression=1, initialFontName=style.FONT_PDF, initialFontSize=10)
    canvas.setTitle(": ".join(filter(None, (drawing.fields.get("project", ""), kind))))
    canvas.setSubject(subject)
    canvas.setCreator("plumbcut")
    canvas.setAuthor(drawing.fields.get("creator", ""))
    shown: Shown = {}
    with standing_still():
        for sheet in drawing.sheets:
            width, height = sheet.size
            canvas.setPageSize((width * PT, height * PT))
            canvas.bookmarkPage(sheet.number)
            canvas.addOutlineEntry(f"{sheet.number} {sheet.name}", sheet.number, 0)
            _draw_sheet(canvas, drawing, sheet, shown)
            canvas.showPage()
    canvas.showOutline()
    canvas.save()
