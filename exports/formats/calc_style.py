"""How the pages of the calculation are set: type, tables, numbers, and lines of a calculation as equations."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.pagesizes import letter
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Paragraph, Table

from ...model.structure.verdicts import CalcLine
from ..drafting import style
from ..drafting.wording import worded

SIZE = 7.2  # points
SMALL = 6.0
PAGE_ROOM = 522.0  # points between the margins of a letter page
_SYMBOL = re.compile(r"(?:(.+?) )?((?:F\w*|E|Z|Emin)['*]|fb|fv|fc|[MSVRPIe])( of .+)?")
_OF_SYMBOL = {"E'": "modulus"}
_UNIT = r"(?:lb/ft|lb in2|lb in|ft lb|sq ft|cu ft|in[234]|in|ft|lb|psi|psf|plf|pcf)"
_NUMBER = r"-?[\d.,]*\d(?:e[+-]?\d+)?"
_ARITHMETIC = re.compile(
    rf"(?P<symbols>[^=;:,]+?) = (?P<numbers>\(*{_NUMBER}(?:[()²³]|\^4| (?:[x/+-]|{_UNIT})(?![A-Za-z])| \(*{_NUMBER})*)"
    r"(?P<rest>$|[,;:].*)"
)


@lru_cache(maxsize=1)
def _styles() -> dict[str, ParagraphStyle]:
    base = ParagraphStyle(
        "text", fontName=style.FONT_PDF, fontSize=SIZE, leading=SIZE * 1.28, allowWidows=0, splitLongWords=1
    )
    small = ParagraphStyle("small", parent=base, fontSize=SMALL, leading=SMALL * 1.25, textColor="#333333")
    return {
        "text": base,
        "small": small,
        "number": ParagraphStyle("number", parent=base, alignment=2),
        "head": ParagraphStyle("head", parent=base, fontSize=6.4, leading=8.0, textColor="#444444"),
        "title": ParagraphStyle(
            "title", parent=base, fontSize=12, leading=16, spaceAfter=2, spaceBefore=3, keepWithNext=1
        ),
        "section": ParagraphStyle(
            "section", parent=base, fontSize=9, leading=11, spaceBefore=7, spaceAfter=2, keepWithNext=1
        ),
    }


def letter_page(title: str, author: str) -> dict[str, Any]:
    """What a document of letter pages is made with, its margins apart: the same bytes each time."""
    return {
        "pagesize": letter,
        "invariant": 1,
        "title": title,
        "author": author,
        "creator": "plumbcut",
        "initialFontName": style.FONT_PDF,
    }


def text(said: str, kind: str = "text") -> Paragraph:
    return Paragraph(escape(style.letters(said)), _styles()[kind])


def _with_small(said: str, below: str) -> Paragraph:
    """A text with another in small letters under it."""
    if not below:
        return text(said)
    marked = f'{escape(style.letters(said))}<br/><font size="{SMALL}" color="#333333">{escape(style.letters(below))}'
    return Paragraph(f"{marked}</font>", _styles()["text"])


def table(
    head: Sequence[str],
    rows: Sequence[Sequence[Any]],
    widths: Sequence[float],
    numbers: Sequence[int] = (),
) -> Table:
    """Rows under a head (none where `head` is empty); `numbers` are the columns that stand to the right."""
    body: list[list[Any]] = [[text(h, "head") for h in head]] if head else []
    for row in rows:
        body.append(
            [c if not isinstance(c, str) else text(c, "number" if n in numbers else "text") for n, c in enumerate(row)]
        )
    made = Table(body, colWidths=widths, repeatRows=1 if head else 0, hAlign="LEFT")
    made.setStyle(
        [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            *([("LINEBELOW", (0, 0), (-1, 0), 0.6, "#000000")] if head else []),
            ("LINEBELOW", (0, 1 if head else 0), (-1, -1), 0.25, "#bbbbbb"),
            ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ("RIGHTPADDING", (0, 0), (-1, -1), 4),
            ("TOPPADDING", (0, 0), (-1, -1), 1.1),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
        ]
    )
    return made


def figure(value: float | None, unit: str = "") -> str:
    """A value to four figures, or whole where it is large."""
    if value is None:
        return "-"
    if not math.isfinite(value):
        return "no limit" if value > 0 else "-"
    told = f"{value:,.0f}" if abs(value) >= 1000 else f"{value:,.4g}"
    return f"{told} {unit}".strip()


def ratio_text(value: float | None) -> str:
    """Demand over capacity to three figures, never rounded down to 1 from above."""
    if value is None or not math.isfinite(value):
        return "-"
    return f"{math.ceil(value * 1000 - 1e-6) / 1000:.3f}" if value > 1 + 1e-9 else f"{value:.3f}"


def equation(line: CalcLine) -> tuple[str, str, str]:
    """(what it is, its equation, what else is told of it): `fb = M / S = 12 x 851 ft lb / 21.39 in3 = 477.3 psi`."""
    named = _SYMBOL.fullmatch(line.label)
    what, symbol = (
        ((named[1] or _OF_SYMBOL.get(named[2], "allowed")) + (named[3] or ""), named[2]) if named else (line.label, "")
    )
    told, value = worded(line.formula), figure(line.value, line.unit)
    found = _ARITHMETIC.fullmatch(told)
    if found is None:
        return what.strip(), " = ".join(p for p in (symbol, value) if p), told
    steps = [symbol, found["symbols"], found["numbers"], value]
    return what.strip(), " = ".join(p for p in steps if p), found["rest"].lstrip(",;: ")


def equations(lines: Iterable[CalcLine]) -> Table:
    """Lines of a calculation: what, the equation with what else is told under it, the clause."""
    rows = []
    for line in lines:
        what, made, told = equation(line)
        rows.append((text(what), _with_small(made, told), text(worded(line.source), "small")))
    return table((), rows, (70, 246, 206))
