"""The drawing set as a PDF: one page a sheet at true size, vector lines in their weights, embedded font.

Its layers may be switched off (`pdf_layers`), its lettering is tagged (`pdf_tags`), its bookmarks and links lead to
sheets and views (`pdf_links`). Black is DeviceGray 0. With reportlab's `invariant` the file holds no time and no
random number: the same drawing gives the same bytes. Lines are gathered by layer, so each page sets a pen once a
layer.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from os import PathLike

from reportlab.pdfgen.canvas import Canvas

from ..drafting import style
from ..drafting.draft import clean, standing_still, strokes
from ..drafting.drawing import AnyItem, Circle, DrawingSet, Hatch, Line, Point, Polyline, Sheet, Text, Viewport
from ..drafting.furniture import port_box, port_middle, titles
from ..drafting.hatching import hatch_lines
from ..drafting.layers import LAYERS
from ..drafting.titleblock import HEADING_CELLS, cell_texts, filled
from .lettering import number, register_font
from .pdf_layers import GROUP_END, ContentGroups, begin, group_of
from .pdf_links import LinkPlaces
from .pdf_tags import ARTIFACT, LETTERING, SHEET_TITLE, VIEW_TITLES, TaggedText

PT = 72.0
_MM = PT / 25.4
_LEAST_VERSION = (1, 5)  # that knows layers


# what reportlab writes for a row of letters of a size, and the part of the font (reportlab divides it) before and after
Shown = dict[tuple[str, float, int], tuple[str, int]]


class _Pen:
    """Gathers the strokes of one clip region of one page by layer, in points, then writes them."""

    def __init__(self, page: _Page, scale: float, move: Callable[[Point], Point]):
        self.canvas, self.metric, self.shown, self.groups = page.canvas, page.metric, page.shown, page.groups
        self.scale, self.move, self.tagged = scale, move, page.tagged
        self.lines: dict[str, list[str]] = {}
        self.fills: dict[str, list[str]] = {}
        self.texts: dict[tuple[str, str], list[Text]] = {}  # by what they are to a reader, and group of layers

    def draw(self, items: Iterable[AnyItem], tag: str = LETTERING) -> None:
        for item in clean(items):
            for stroke in strokes(item, self.scale, self.metric):
                self._stroke(stroke, tag)

    def _stroke(self, item: AnyItem, tag: str) -> None:
        kind = type(item)
        if kind is Text:
            if item.text and LAYERS[item.layer].plot:
                self.texts.setdefault((tag, group_of(item.layer)), []).append(item)
            return
        if not LAYERS[item.layer].plot:
            return
        if kind is Hatch and item.pattern == "solid":
            rings = "\n".join(self._path(ring, True) for ring in (item.outline, *item.holes))
            self.fills.setdefault(group_of(item.layer), []).append(rings)
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
                canvas._code += [self._open(group_of(name)), ARTIFACT]
                canvas.setLineWidth(layer.weight * _MM)
                canvas.setDash([d * PT for d in layer.dashes], 0) if layer.dashes else canvas.setDash()
                canvas.setLineCap(0 if layer.dashes else 1)
                canvas._code.extend(dict.fromkeys(paths))  # a line two items share is drawn once, or it prints heavier
                canvas._code += ["S", GROUP_END, GROUP_END]
        for group, fills in self.fills.items():
            canvas._code += [self._open(group), ARTIFACT]
            for fill in dict.fromkeys(fills):  # one by one: heads that overlap must not cut holes in each other
                canvas._code.append(fill + " f*")
            canvas._code += [GROUP_END, GROUP_END]
        for (tag, group), texts in self.texts.items():
            canvas._code += [self._open(group), self.tagged.mark(tag)]
            self._letter(texts)
            canvas._code += [GROUP_END, GROUP_END]

    def _open(self, group: str) -> str:
        self.groups.add(group)
        return begin(group)

    def _letter(self, texts: list[Text]) -> None:
        run = self.canvas.beginText()
        run.setFillGray(0)
        for text in texts:
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


@dataclass
class _Page:
    """What the pens of all pages share: the canvas, letters known by how they are written, groups of layers in use,
    and what is marked as what."""

    canvas: Canvas
    metric: bool
    shown: Shown = field(default_factory=dict)
    groups: set[str] = field(default_factory=set)
    tagged: TaggedText = field(default_factory=TaggedText)


def _draw_port(page: _Page, port: Viewport) -> None:
    scale, (mx, my), (cx, cy) = port.view.scale, port_middle(port, page.metric), port.centre
    factor, canvas = PT / scale, page.canvas

    def move(p: Point) -> Point:
        return ((p[0] - mx) * factor + cx * PT, (p[1] - my) * factor + cy * PT)

    pen = _Pen(page, scale, move)
    pen.draw(port.view.items)
    canvas.saveState()
    left, bottom, right, top = port_box(port, page.metric)
    if port.size or port.view.window:
        clip = canvas.beginPath()
        clip.rect(left * PT, bottom * PT, (right - left) * PT, (top - bottom) * PT)
        canvas.clipPath(clip, stroke=0, fill=0)
    pen.write()
    canvas.restoreState()


def _draw_sheet(page: _Page, drawing: DrawingSet, sheet: Sheet) -> None:
    page.tagged.page()
    for port in sheet.viewports:
        _draw_port(page, port)
    pen = _Pen(page, 1.0, _on_paper)
    pen.draw(sheet.items)
    pen.draw(titles(sheet, drawing.metric), VIEW_TITLES)
    pen.draw(cell_texts(drawing, sheet, HEADING_CELLS), SHEET_TITLE)
    pen.draw(filled(drawing, sheet, without=HEADING_CELLS))
    pen.write()


def _inform(canvas: Canvas, drawing: DrawingSet, kind: str, subject: str) -> None:
    """The document's own properties, from the fields of its title blocks; the title shown in place of the file name."""
    fields = {key: " ".join(value.split()) for key, value in drawing.fields.items()}
    canvas.setTitle(": ".join(filter(None, (fields.get("project", ""), kind))))
    canvas.setSubject(subject)
    canvas.setAuthor(fields.get("creator", ""))
    canvas.setCreator("plumbcut")
    told = (("address", "at"), ("number", "job"), ("revision", "revision"), ("date", "issued"), ("owner", "for"))
    canvas.setKeywords(", ".join(f"{word} {fields[key]}" for key, word in told if fields.get(key)))
    canvas.setViewerPreference("DisplayDocTitle", "true")


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
    face = {"initialFontName": style.FONT_PDF, "initialFontSize": 10}
    canvas = Canvas(str(path), invariant=1, pageCompression=1, pdfVersion=_LEAST_VERSION, lang="en-US", **face)
    _inform(canvas, drawing, kind, subject)
    page, places = _Page(canvas, drawing.metric), LinkPlaces(drawing)
    with standing_still():
        for sheet in drawing.sheets:
            width, height = sheet.size
            canvas.setPageSize((width * PT, height * PT))
            places.mark(canvas, sheet)
            _draw_sheet(page, drawing, sheet)
            places.link(canvas, sheet)
            canvas.showPage()
    groups = ContentGroups(canvas, page.groups)
    for made in canvas._doc.Pages.pages:
        groups.on_page(made)
    page.tagged.finish(canvas, [f"{sheet.number} {sheet.name}" for sheet in drawing.sheets])
    canvas.showOutline()
    canvas.save()
