"""What the calculation puts on paper: `calcs.csv` and the calculation pages `calcs.pdf`.

A page for the governing member of each kind: what was measured, then both routes side by side, then every line of the
calculation with its formula, value and source. The same deck gives the same bytes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from os import PathLike
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

from reportlab.lib.pagesizes import letter
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Frame, KeepTogether, PageBreak, PageTemplate, Paragraph, Table

from ...model.strength.loads import those_that_count
from ...model.structure.guard_checks import OF_THE_GUARD
from ...model.structure.snow_lines import snow_lines
from ...shared.stock import GIVEN_FACTORS, own_sizes
from ...shared.units import inches
from ..drafting import style
from ..drafting.wording import worded
from .checks_csv import write_cautioned
from .lettering import register_font

if TYPE_CHECKING:
    from ...model.deck import Deck
    from ...model.structure.structure import MemberResult, Structure

CALC_COLUMNS = (
    "kind",
    "mark",
    "ids",
    "where",
    "stock",
    "route",
    "check",
    "combination",
    "demand",
    "capacity",
    "unit",
    "ratio",
    "result",
    "formula",
    "source",
    "why",
)
_LINES = (96, 74, 176, 176)  # points: the columns of a calculation line by line
MEMBER_KINDS = ("joist", "rim", "beam", "post", "footing", "ledger", "stringer", "knee brace", *OF_THE_GUARD)


def write_calcs_csv(structure: Structure, path: str | PathLike) -> None:
    """Every check of every member, both routes, one row each (`Structure.rows`), after one line of cautions."""
    write_cautioned(
        path,
        CALC_COLUMNS,
        ({**row, **{k: worded(row[k]) for k in ("formula", "source", "why")}} for row in structure.rows()),
    )


# Pages ---------------------------------------------------------------------------------------------------------------


def write_calcs_pdf(structure: Structure, deck: Deck, path: str | PathLike) -> None:
    """The calculation on letter pages: loads and lumber, then the governing member of each kind, line by line."""
    register_font()
    project = deck.parameters.project
    title = " ".join(t for t in (project.name, project.number) if t)
    width, height = letter
    doc = BaseDocTemplate(
        str(path),
        pagesize=letter,
        invariant=1,
        title=f"{title}: structural calculation",
        author=project.author,
        creator="plumbcut",
        leftMargin=_SIDE,
        rightMargin=_SIDE,
        topMargin=_TOP,
        bottomMargin=_FOOT,
        initialFontName=style.FONT_PDF,
    )
    frame = Frame(_SIDE, _FOOT, width - 2 * _SIDE, height - _TOP - _FOOT, 0, 0, 0, 0)
    doc.addPageTemplates(PageTemplate("page", [frame], onPage=lambda canvas, _: _furniture(canvas, title)))
    story = _basis(structure, deck)
    for kind in MEMBER_KINDS:
        if (member := structure.governing(kind)) is not None:
            story += [PageBreak(), *_member(structure, member)]
    story += [PageBreak(), *_all(structure)]
    doc.build(story, canvasmaker=_counted(title))


_SIDE, _TOP, _FOOT = 45.0, 58.0, 66.0  # points
_SIZE = 7.4


def _counted(title: str):
    """A canvas that knows how many pages there are only at the end, and letters "page n of m" then."""

    class Counted(Canvas):
        def __init__(self, *args, **about):
            super().__init__(*args, **about)
            self._pages: list[dict] = []

        def showPage(self):
            self._pages.append(dict(self.__dict__))
            self._startPage()

        def save(self):
            for number, page in enumerate(self._pages, 1):
                self.__dict__.update(page)
                self.setFont(style.FONT_PDF, _SIZE)
                self.drawRightString(
                    self._pagesize[0] - _SIDE, self._pagesize[1] - 36, f"page {number} of {len(self._pages)}"
                )
                super().showPage()
            super().save()

    return Counted


def _furniture(canvas, title: str) -> None:
    width, height = canvas._pagesize
    canvas.saveState()
    canvas.setFont(style.FONT_PDF, 9)
    canvas.drawString(_SIDE, height - 36, style.letters(title))
    canvas.setLineWidth(0.6)
    canvas.line(_SIDE, height - 42, width - _SIDE, height - 42)
    canvas.line(_SIDE, _FOOT - 8, width - _SIDE, _FOOT - 8)
    canvas.setFont(style.FONT_PDF, 6.4)
    for n, line in enumerate((*style.CAUTIONS, style.CHECK_CAUTION)):
        canvas.drawString(_SIDE, _FOOT - 18 - 9 * n, line)
    canvas.restoreState()


@lru_cache(maxsize=1)
def _styles():
    base = ParagraphStyle(
        "text", fontName=style.FONT_PDF, fontSize=_SIZE, leading=_SIZE * 1.3, allowWidows=0, splitLongWords=1
    )
    return {
        "text": base,
        "small": ParagraphStyle("small", parent=base, fontSize=6.2, leading=8.0, textColor="#333333"),
        "number": ParagraphStyle("number", parent=base, alignment=2),
        "head": ParagraphStyle("head", parent=base, fontSize=6.6, leading=8.4, textColor="#444444"),
        "title": ParagraphStyle("title", parent=base, fontSize=14, leading=19, spaceAfter=2),
        "section": ParagraphStyle(
            "section", parent=base, fontSize=9.4, leading=12, spaceBefore=9, spaceAfter=3, keepWithNext=1
        ),
    }


def _p(text: str, kind: str = "text"):
    return Paragraph(escape(style.letters(text)), _styles()[kind])


def _table(head: Sequence[str], rows: Sequence[Sequence[Any]], widths: Sequence[float], numbers: Sequence[int] = ()):
    body = [[_p(h, "head") for h in head]]
    for row in rows:
        body.append(
            [c if not isinstance(c, str) else _p(c, "number" if n in numbers else "text") for n, c in enumerate(row)]
        )
    table = Table(body, colWidths=widths, repeatRows=1, hAlign="LEFT")
    table.setStyle(
        [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LINEBELOW", (0, 0), (-1, 0), 0.6, "#000000"),
            ("LINEBELOW", (0, 1), (-1, -1), 0.25, "#bbbbbb"),
            ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ("RIGHTPADDING", (0, 0), (-1, -1), 4),
            ("TOPPADDING", (0, 0), (-1, -1), 1.6),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.8),
        ]
    )
    return table


def _number(value: float | None, unit: str = "") -> str:
    """A value to four figures, or whole where it is large."""
    if value is None:
        return "-"
    if not math.isfinite(value):
        return "no limit" if value > 0 else "-"
    text = f"{value:,.0f}" if abs(value) >= 10000 else f"{value:,.4g}"
    return f"{text} {unit}".strip()


def _own(deck: Deck) -> list[tuple[str, str, str]]:
    """Sizes with values given by the builder: which, by what, which NDS factors apply to them, and what they weigh."""
    rows = []
    for s in own_sizes(p.stock for p in deck.parts):
        if (given := s.given) is None:
            continue
        values = ", ".join(f"{name} {value:,.4g}" for name, value in given.psi)
        told = (
            f"{inches(s.thickness)} x {inches(s.width)} dressed, {values} psi, given by the builder: {given.standard}. "
        )
        told += "NDS factors applied: CL, CP" + "".join(f", {f}" for f in given.factors)
        without = [f for f in GIVEN_FACTORS if f not in given.factors]
        told += f"; not applied: CF{''.join(f', {f}' for f in without)}. "
        default = "given" if given.density_pcf is not None else f"the default for {s.material}"
        rows.append((f"lumber {s.name}", f"{told}Weight {s.density_pcf:.4g} pcf, {default}", "lumber.stock"))
    return rows


def _basis(structure: Structure, deck: Deck) -> list:
    """What all pages stand on: loads, combinations, lumber, edition, assumptions, and the governing member of each
    kind."""
    project = deck.parameters.project
    story = [
        _p("Structural calculation", "title"),
        _p(" - ".join(t for t in (project.name, project.number, project.address) if t)),
        _p("Design basis", "section"),
        _loads_and_lumber(structure, deck),
        *_roof_snow(structure),
        _p("Load combinations", "section"),
        _combinations(deck),
        _p("Governing members", "section"),
        _governing(structure),
        _p("Assumptions", "section"),
        *[_p(f"{n}. {a}") for n, a in enumerate(structure.assumptions, 1)],
        _p(
            "Units: inches, pounds, square feet of tributary area (sq ft); psi of stress, psf of load. Values marked"
            ' "from memory" were not seen in a printed copy: look them up before they are relied on.',
            "text",
        ),
    ]
    if structure.notes:
        story += [_p("What could not be followed", "section"), *[_p(worded(n)) for n in structure.notes]]
    return story


def _loads_and_lumber(structure: Structure, deck: Deck) -> Table:
    loads, wood = deck.parameters.loads, structure.lumber
    snow = (
        f"{loads.ground_snow_psf:g} psf, the ground snow load taken as it is on the deck"
        if loads.ground_snow_psf
        else "none given"
    )
    return _table(
        ("what", "value", "from"),
        [
            ("code edition of the tables", structure.edition, "local.edition"),
            ("dead load", f"{loads.dead_psf:g} psf, the frame's own weight in it", "loads.dead_psf"),
            ("live load", f"{loads.live_psf:g} psf", "loads.live_psf"),
            ("snow load", snow, "loads.ground_snow_psf"),
            ("soil bearing", f"{loads.soil_bearing_psf:g} psf", "loads.soil_bearing_psf"),
            (
                "lumber",
                (
                    f"{wood.species} {wood.grade}, {'wet' if wood.wet else 'dry'} in service,"
                    f" {'incised' if wood.incised else 'not incised'}"
                ),
                "lumber",
            ),
            *_own(deck),
            ("surface carried", f"{structure.path.surface_sqft:.2f} sq ft", "measured off the solids"),
        ],
        (120, 260, 142),
    )


def _roof_snow(structure: Structure) -> list:
    """What comes from a roof above, line by line."""
    if structure.snow is None:
        return []
    rows = [
        (line.label, _number(line.value, line.unit), worded(line.formula), _p(worded(line.source), "small"))
        for line in snow_lines(structure.snow)
    ]
    return [_p("Snow from the roof above", "section"), _table(("line", "value", "formula", "source"), rows, _LINES)]


def _combinations(deck: Deck) -> Table:
    return _table(
        ("combination", "dead", "live", "snow", "shortest load", "source"),
        [
            (c.name, f"{c.dead:g}", f"{c.live:g}", f"{c.snow:g}", c.duration, c.source)
            for c in those_that_count(deck.parameters.loads)
        ],
        (110, 40, 40, 40, 110, 182),
    )


def _governing(structure: Structure) -> Table:
    return _table(
        ("kind", "mark", "place", "stock", "greatest ratio", "what governs", "result"),
        [
            (m.kind, m.mark, m.where, m.stock, _ratio(m.worst[0]), worded(m.governs), m.result)
            for kind in MEMBER_KINDS
            if (m := structure.governing(kind)) is not None
        ],
        (42, 36, 110, 60, 58, 156, 60),
        (4,),
    )


def _member(structure: Structure, r: MemberResult) -> list:
    same = [m for m in structure.of(r.kind) if m.mark == r.mark]
    story = [
        _p(f"{r.kind.capitalize()} {r.mark}: {r.stock}", "title"),
        _p(
            f"{r.where}. Piece{'s' if len(r.ids) > 1 else ''} {', '.join(r.ids)}; the {r.kind} with least room of"
            f" {len(structure.of(r.kind))}" + (f", {len(same)} of them with this mark." if len(same) > 1 else ".")
        ),
    ]
    story += [
        _p("Measured", "section"),
        _table(
            ("what", "value", "how"),
            [(f.label, _number(f.value, f.unit), worded(f.formula)) for f in r.facts],
            (150, 90, 282),
        ),
    ]
    story += [
        _p("Both routes", "section"),
        _table(
            ("route", "check", "demand or measured", "capacity or limit", "ratio", "result"),
            _routes(r),
            (62, 152, 92, 108, 44, 64),
            (4,),
        ),
    ]
    both = {route: {x.result for x in found} for route, found in (("table", r.table), ("calculation", r.calculation))}
    differ = all(b - {"not checked"} for b in both.values()) and ("not met" in both["table"]) != (
        "not met" in both["calculation"]
    )
    story.append(
        _p(
            f"Governs: {worded(r.governs)}. Result: {r.result}."
            + (" The table and the calculation differ: the one that is not met counts." if differ else "")
        )
    )
    if r.table:
        story += [
            _p("By the table, line by line", "section"),
            _table(
                ("check", "row used", "note"),
                [(p.check, worded(p.source) or "-", worded(p.why)) for p in r.table],
                (100, 232, 190),
            ),
        ]
    for v in r.calculation:
        story += _verdict(v)
    return story


def _routes(r: MemberResult) -> list[tuple]:
    rows = [
        (
            "table",
            p.check,
            _number(p.measured, p.unit),
            ("at most " if p.at_most else "at least ") + _number(p.limit, p.unit) if p.limit is not None else "-",
            _ratio(p.ratio),
            p.result,
        )
        for p in r.table
    ]
    return rows + [
        ("calculation", v.check, _number(v.demand, v.unit), _number(v.capacity, v.unit), _ratio(v.ratio), v.result)
        for v in r.calculation
    ]


def _ratio(value: float | None) -> str:
    """Demand over capacity to three figures, never rounded down to 1 from above."""
    if value is None or not math.isfinite(value):
        return "-"
    return f"{math.ceil(value * 1000 - 1e-6) / 1000:.3f}" if value > 1 + 1e-9 else f"{value:.3f}"


def _verdict(v) -> list:
    head = v.check[:1].upper() + v.check[1:] + (f", {v.combination}" if v.combination else "")
    story = [_p(head, "section")]
    if v.lines:
        story.append(
            _table(
                ("line", "value", "formula", "source"),
                [
                    (line.label, _number(line.value, line.unit), worded(line.formula), _p(worded(line.source), "small"))
                    for line in v.lines
                ],
                _LINES,
            )
        )
    if v.demand is not None and v.capacity is not None:
        sign = "<=" if v.result == "met" else ">"
        story.append(
            _p(
                f"{_number(v.demand, v.unit)} {sign} {_number(v.capacity, v.unit)}: ratio {_ratio(v.ratio)}, {v.result}"
                + (f"; {worded(v.why)}" if v.why else "")
            )
        )
    else:
        story.append(_p(f"{v.result}: {worded(v.why)}"))
    return [KeepTogether(story)]


def _all(structure: Structure) -> list:
    """A row for every member, worst of those alike, so that the pages can be seen to show the governing ones."""
    rows = {}
    for r in structure.results:
        key = r.kind, r.mark
        if key not in rows or r.worst[0] > rows[key][0].worst[0]:
            rows[key] = (r, rows.get(key, (r, 0))[1])
        rows[key] = (rows[key][0], rows[key][1] + 1)
    return [
        _p("All members", "title"),
        _p("One row a mark: the piece with least room. Every check of every piece is in calcs.csv."),
        _table(
            ("kind", "mark", "number", "stock", "place of the worst", "greatest ratio", "what governs", "result"),
            [
                (r.kind, r.mark, str(n), r.stock, r.where, _ratio(r.worst[0]), worded(r.governs), r.result)
                for r, n in rows.values()
            ],
            (42, 36, 38, 56, 110, 50, 130, 60),
            (2, 5),
        ),
    ]
