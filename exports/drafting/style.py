"""The one place for drafting style: papers, scales, lettering, arrows, spacings, and how wide a text is.

All sizes are paper inches. Heights of lettering are heights of a capital letter, as CAD programs take them.

Lettering: the PDF embeds Bitstream Vera Sans, which reportlab ships under its own free licence, so it needs no font
from the machine. The DXF cannot embed a font: its one style names the same face, whose file a build puts beside the
drawing with its licence. A program that does not look there takes DejaVu Sans, its successor with the same letter
widths, where fonts are substituted by family, or else its own plain sans without asking (only a missing .shx font stops
to ask); Vera is wider than the usual stand-ins, so boxes measured with it still hold the text and nothing laid out here
runs together.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from pathlib import Path

from ...shared.papers import papers
from ...shared.units import feet_inches, sixteenths

MM = 1 / 25.4

# Lettering (3/32 notes and dimensions, 1/8 titles of details and tables, 1/4 view titles, 3/8 sheet number: the sizes
# the National CAD Standard 3.1 is taught with).
NOTE = 3 / 32
TITLE = 1 / 8
VIEW_TITLE = 1 / 4
SHEET_NUMBER = 3 / 8
LINE_SPACING = 1.7  # baseline to baseline, in heights of a capital; 5/3 of the font's own pitch is a CAD program's 1.0
NOTE_WRAP = 2.5  # notes on leaders break at this width

# Dimensions and leaders.
DIM_SPACING = 3 / 8  # first string to the view, and string to string
DIM_GAP = 1 / 16  # measured point to extension line
DIM_OVERRUN = 1 / 8  # extension line past the dimension line
DIM_LIFT = 1 / 32  # dimension line to the foot of its figures
TICK = 3 / 32  # 45 degree tick, corner to corner of its square
TICK_WIDTH = 0.15 * TICK  # as CAD programs draw their architectural tick
ARROW = 1 / 8  # length of a leader's head; a third as wide
DOT = 1 / 32  # radius of a leader's dot
LANDING = 1 / 8  # level piece of a leader beside its text
TEXT_AIR = 1 / 32  # kept clear around every text

# The border and the title block.
AIR = 0.25  # border to the nearest drawing

CAUTIONS = (
    "NOT A SUBSTITUTE FOR THE LOCAL CODE, AN ENGINEER OR THE AUTHORITY HAVING JURISDICTION.",
    "VERIFY ALL DIMENSIONS AND CONDITIONS ON SITE.",
    "CALL BEFORE DIGGING. WEAR PROTECTION WHEN CUTTING.",
)

# Stands with every list of checks.
CHECK_CAUTION = "A CHECK SAYS ONLY WHETHER A PUBLISHED RULE WAS MET, NOT MET, OR NOT CHECKED. IT IS NO APPROVAL."

# Standard scales, model inches to a paper inch, largest drawing first.
SCALES = (4.0, 8.0, 12.0, 16.0, 24.0, 32.0, 48.0, 64.0, 96.0, 128.0, 192.0, 240.0, 360.0, 480.0, 600.0, 720.0)
METRIC_SCALES = (5.0, 10.0, 20.0, 25.0, 50.0, 75.0, 100.0, 200.0, 250.0, 500.0, 1000.0)
_NAMES = {
    4.0: '3" = 1\'-0"',
    8.0: '1 1/2" = 1\'-0"',
    12.0: '1" = 1\'-0"',
    16.0: '3/4" = 1\'-0"',
    24.0: '1/2" = 1\'-0"',
    32.0: '3/8" = 1\'-0"',
    48.0: '1/4" = 1\'-0"',
    64.0: '3/16" = 1\'-0"',
    96.0: '1/8" = 1\'-0"',
    128.0: '3/32" = 1\'-0"',
    192.0: '1/16" = 1\'-0"',
}

FONT_DXF = "Vera.ttf"
FONT_FAMILY_DXF = "Bitstream Vera Sans"
FONT_LICENCE = "bitstream-vera-license.txt"
FONT_PDF = "Vera"
CAP = 1493 / 2048  # height of a capital over the em, from Vera's own outlines
DESCENT = 0.30  # deepest letter below the baseline, in heights of a capital
# what the faces lack, in letters they have
_PLAIN = str.maketrans(
    {"⌀": "Ø", "′": "'", "″": '"', "→": ">", "←": "<", "\u00a0": " ", "\t": " ", "−": "-", "⅛": "1/8"}
)


def room(paper: str) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of the paper left for drawing: inside the border and clear of the title block."""
    p = papers()[paper]
    side, foot = (p.block, 0.0) if p.at_side else (0.0, p.block)
    return p.margin + AIR, p.margin + foot + AIR, p.width - p.margin - side - AIR, p.height - p.margin - AIR


def unit(angle: float) -> tuple[float, float]:
    """Unit vector at `angle` degrees, exact on the axes."""
    quarter = {0: (1.0, 0.0), 90: (0.0, 1.0), 180: (-1.0, 0.0), 270: (0.0, -1.0)}.get(angle % 360)
    return quarter or (math.cos(math.radians(angle)), math.sin(math.radians(angle)))


def fitting_scale(
    size: tuple[float, float], paper: tuple[float, float], metric: bool = False, at_most: float = 0.0
) -> float:
    """The largest standard drawing of a true `size` (inches) that fits `paper` (inches): model inches a paper inch.

    `at_most` is the largest drawing wanted (48 for plans at 1/4 in = 1 ft). Beyond the list the scale keeps doubling.
    """
    scales = METRIC_SCALES if metric else SCALES
    need = max(size[0] / paper[0], size[1] / paper[1], at_most)
    last = scales[-1]
    while last < need:
        last *= 2
    return next((s for s in scales if s >= need - 1e-9), last)


def scale_note(scale: float, metric: bool = False) -> str:
    """`48` -> `1/4" = 1'-0"`; metric `1:50`; a scale with no name of its own `1" = 20'-0"`."""
    if metric or scale < 4:
        return f"1:{scale:g}"
    return _NAMES.get(scale) or f'1" = {feet_inches(scale)}'


def dimension_text(value: float, metric: bool = False) -> str:
    """What a dimension of `value` inches reads: feet and inches to 1/16, or whole millimetres."""
    return str(_whole_mm(value)) if metric else feet_inches(value)


def _whole_mm(value: float) -> int:
    """Halves away from zero, as CAD programs round a live dimension (Python's round goes to even)."""
    return int(math.copysign(math.floor(abs(value) / MM + 0.5 + 1e-9), value))


def rounded(value: float, metric: bool = False) -> float:
    """The length in inches that `dimension_text` states."""
    return _whole_mm(value) * MM if metric else sixteenths(value) / 16


def letters(text: str) -> str:
    """`text` in letters that both faces have."""
    return text.translate(_PLAIN)


def lacking(text: str) -> str:
    """The characters of `text` for which the embedded face has no letter, each once, in order."""
    known = _face().charToGlyph
    return "".join(dict.fromkeys(c for c in letters(text) if c != "\n" and ord(c) not in known))


def font_path() -> Path:
    """The font file the PDF embeds."""
    import reportlab

    return Path(reportlab.__file__).parent / "fonts" / "Vera.ttf"


@lru_cache(maxsize=1)
def _face():
    from reportlab.pdfbase.ttfonts import TTFontFace

    return TTFontFace(str(font_path()))


class _Widths(dict):
    """Advance widths by letter, each looked up in the face once."""

    def __missing__(self, letter: str) -> float:
        face = _face()
        self[letter] = width = face.charWidths.get(ord(letter), face.defaultWidth)
        return width


_WIDTHS = _Widths()


@lru_cache(maxsize=20000)
def _ems(text: str) -> float:
    return sum(map(_WIDTHS.__getitem__, text)) / 1000


def text_width(text: str, height: float) -> float:
    """Width of one line in the units of `height`, from the advance widths of the face the PDF embeds."""
    return _ems(letters(text)) * height / CAP


_BETWEEN_WORDS = re.compile(r"(?<!\d) | (?!\d+/\d)")


@lru_cache(maxsize=20000)
def lines(text: str, height: float, wrap: float | None = None) -> tuple[str, ...]:
    """`text` as the lines it is lettered in: at its own breaks, and at words where longer than `wrap`.

    Whole inches and their fraction stay together where they fit. A word longer than `wrap` alone is broken at a letter,
    so that no line ever exceeds `wrap`.
    """
    out: list[str] = []
    for paragraph in letters(text).split("\n"):
        if wrap is None or text_width(paragraph, height) <= wrap:
            out.append(paragraph)
            continue
        line = ""
        for word in _BETWEEN_WORDS.split(paragraph):
            trial = f"{line} {word}" if line else word
            if text_width(trial, height) <= wrap:
                line = trial
                continue
            if line:
                out.append(line)
            while len(word) > 1 and text_width(word, height) > wrap:
                keep = next(n for n in range(len(word) - 1, 0, -1) if n == 1 or text_width(word[:n], height) <= wrap)
                space = word.rfind(" ", 1, keep + 1)  # before a fraction, where the whole length is too wide
                out.append(word[:space] if space > 0 else word[:keep])
                word = word[space + 1 :] if space > 0 else word[keep:]
            line = word
        out.append(line)
    return tuple(out)


def block_size(text: str, height: float, wrap: float | None = None) -> tuple[float, float]:
    """Width and height of lettering, from the top of the first line's capitals to the last line's descenders."""
    rows = lines(text, height, wrap)
    return (max(text_width(row, height) for row in rows), height * (1 + DESCENT + LINE_SPACING * (len(rows) - 1)))
