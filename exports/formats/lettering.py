"""The one font of all PDF pages."""

from __future__ import annotations

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from ..drafting import style


def register_font() -> None:
    """Make the drawings' font known to reportlab, once."""
    if style.FONT_PDF not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont(style.FONT_PDF, str(style.font_path())))
