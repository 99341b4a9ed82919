"""The one font of all PDF pages, and how reportlab's pages are written as text."""

from __future__ import annotations

import base64
import math
from functools import lru_cache

import numpy as np
from reportlab.pdfbase import pdfdoc, pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from ..drafting import style

_LOG_10 = math.log(10.0)


def register_font() -> None:
    """Make the drawings' font known to reportlab, once; and have it write streams by `ascii85`."""
    if style.FONT_PDF not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont(style.FONT_PDF, str(style.font_path())))
        pdfdoc.asciiBase85Encode = ascii85  # its own goes from byte to byte where its compiled one is not installed


def ascii85(data: bytes) -> str:
    """`data` in the letters of PDF's ASCII85Decode (ISO 32000-1, 7.4.3): four bytes as five digits to the base of 85,
    four zeros as one z; the end marked."""
    whole = len(data) // 4
    words = np.frombuffer(data, ">u4", whole).astype(np.uint32)
    none = words == 0
    digits = np.empty((whole, 5), np.uint8)
    for n in range(4, -1, -1):
        digits[:, n] = words % 85 + 33
        words = words // 85
    if none.any():
        kept = np.ones((whole, 5), bool)
        digits[none, 0], kept[none, 1:] = ord("z"), False
        digits = digits[kept]
    return digits.tobytes().decode("ascii") + base64.a85encode(data[4 * whole :]).decode("ascii") + "~>"


@lru_cache(maxsize=20000)
def number(value: float) -> str:
    """A number as reportlab writes it: six digits that count, no zeros that do not."""
    size = abs(value)
    if size <= 1e-7:
        return "0"
    places = 6 if size <= 1 else min(max(0, 6 - int(math.log(size) / _LOG_10)), 6)
    text = f"{value:.{places}f}"
    if places:
        text = text.rstrip("0").rstrip(".")
    return text[1:] if text[0] == "0" and len(text) > 1 else text
