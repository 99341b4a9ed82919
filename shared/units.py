"""Units: inches and pounds inside, everywhere; this is the one place that says so.

Lengths are floats in inches, areas square inches, volumes cubic inches, forces pounds, stresses psi, angles degrees
at the edges of the program. Nothing is rounded inside: `feet_inches` and `inches` round to 1/16 in for paper only.
"""

from __future__ import annotations

import math
import re
import unicodedata
from fractions import Fraction

from .errors import LengthError

INCH_PER_MM = 1 / 25.4  # exact since the international yard and pound agreement of 1959
_METRIC = {"mm": INCH_PER_MM, "cm": 10 * INCH_PER_MM, "m": 1000 * INCH_PER_MM}

_NUMBER = r"\d+(?:\.\d*)?|\.\d+"
_QUANTITY = rf"(?:(?P<whole>{_NUMBER})[\s-]+(?P<num>\d+)/(?P<den>\d+)|(?P<fnum>\d+)/(?P<fden>\d+)|(?P<plain>{_NUMBER}))"
_TERM = re.compile(rf"\s*{_QUANTITY}\s*(?P<unit>feet|foot|ft\.?|inches|inch|in\.?|mm|cm|m|''|['\"′″])?\s*-?\s*", re.I)
_FEET = {"feet", "foot", "ft", "'", "′"}
_INCHES = {"inches", "inch", "in", '"', "''", "″", ""}

LENGTH_HELP = """a length like 12' 3-1/2", 12 ft 3 1/2 in, 3.75 m, 95 mm, or a bare number of inches"""


_MARKS = str.maketrans(
    {"’": "'", "‘": "'", "´": "'", "“": '"', "”": '"', "„": '"', "⁄": "/", "∕": "/", "–": "-", "‐": "-"}
)
_FRACTIONS = re.compile("[\u00bc-\u00be\u2150-\u215e]")  # one-character fractions: 1/4, 1/2, 3/4, 1/7 to 7/8


def plain_marks(text: str) -> str:
    """With curly quotes as straight ones, and a fraction in one character as three: `12’ 6½”` as `12' 6 1/2"`."""
    spelt = _FRACTIONS.sub(lambda m: " " + unicodedata.normalize("NFKC", m[0]), text)
    return spelt.translate(_MARKS)


_ON_CENTRE = re.compile(r"(?<![a-z])(?:o\.?\s?c\.?|on cent(?:er|re))\s*$", re.I)  # how spacings are spoken of
_AND = re.compile(r"(?<=[a-z'.])\s+and\s+(?=\d)", re.I)  # 12 feet and 6 inches
_COMMA = re.compile(r"\d,\d")


def _amount(match: re.Match) -> float:
    if match["plain"] is not None:
        return float(match["plain"])
    whole, num, den = (
        (match["whole"], match["num"], match["den"]) if match["num"] else ("0", match["fnum"], match["fden"])
    )
    if int(den) == 0:
        raise LengthError("a fraction with zero below the line")
    return float(whole) + int(num) / int(den)


_LONGEST = 200  # characters of a length; our own


def parse_length(text: str | int | float) -> float:
    """Inches from a length as the trade writes it. Raises LengthError, saying what was given and what is allowed.

    >>> parse_length("12' 3-1/2\\"")
    147.5
    >>> parse_length("95.25 mm")
    3.75
    """
    if isinstance(text, bool):
        raise LengthError(f"got {text!r}; wanted {LENGTH_HELP}")
    if isinstance(text, str) and len(text) > _LONGEST:
        raise LengthError(f"got {text[:60]!r} and {len(text) - 60} characters more; wanted {LENGTH_HELP}")
    value = _float(text) if isinstance(text, (int, float)) else _parse_text(str(text))
    if not math.isfinite(value):
        raise LengthError(f"got {str(text)[:60]}, which is not a finite number; wanted {LENGTH_HELP}")
    return value


def _float(number: int | float) -> float:
    try:
        return float(number)
    except OverflowError:  # a whole number of more than 308 digits
        return math.inf


def _parse_text(text: str) -> float:
    body = _ON_CENTRE.sub("", plain_marks(text)).strip()
    body = _AND.sub(" ", body, count=1)
    sign = 1.0
    if body[:1] in "+-−" and body[:1]:
        sign = -1.0 if body[0] != "+" else 1.0
        body = body[1:]
    total, at, last = 0.0, 0, None
    while at < len(body):
        match = _TERM.match(body, at)
        if not match or match.end() == at:
            point = "; write a point for the comma" if _COMMA.search(body) else ""
            raise LengthError(f"got {text!r}; wanted {LENGTH_HELP}{point}")
        unit = (match["unit"] or "").rstrip(".").lower()
        amount = _amount(match)
        if unit in _FEET:
            kind, factor = "ft", 12.0
        elif unit in _INCHES:
            kind, factor = "in", 1.0
        else:
            kind, factor = "metric", _METRIC[unit]
        # feet may be followed by inches and by nothing else: "3 in 2 ft" or "4 4" is a slip of the pen, not a length
        if last is not None and not (last == "ft" and kind == "in"):
            raise LengthError(f"got {text!r}; wanted {LENGTH_HELP}")
        total += amount * factor
        at, last = match.end(), kind
    if last is None:
        raise LengthError(f"got {text!r}; wanted {LENGTH_HELP}")
    return sign * total


def parse_slope(text: str | int | float) -> float:
    """Rise per run as a plain ratio, from `1/4 in per ft`, `1 in 20`, `5%`, `3 deg` or a bare ratio. Down is
    negative."""
    value = _float(text) if isinstance(text, (int, float)) and not isinstance(text, bool) else _slope_text(str(text))
    if not math.isfinite(value):
        raise LengthError(f"got {text!r}, which is not a finite slope")
    return value


def _slope_text(text: str) -> float:
    body = plain_marks(text).strip().lower()
    sign = -1.0 if body.startswith("-") else 1.0
    body = body.lstrip("+-")
    try:
        if body.endswith("%"):
            return sign * float(body[:-1]) / 100
        if match := re.fullmatch(r"(.+?)\s*(?:deg|degrees|°)", body):
            return sign * math.tan(math.radians(float(match[1])))
        if match := re.fullmatch(r"(.+?)\s*(?:per|/)\s*(?:ft|foot)\.?", body):
            return sign * parse_length(match[1]) / 12
        if match := re.fullmatch(r"([\d.]+)\s*(?:in|:)\s*([\d.]+)", body):
            return sign * float(match[1]) / float(match[2])
        return sign * float(body)
    except (ValueError, ZeroDivisionError):
        raise LengthError(
            f"got {text!r}; wanted a slope like '1/4 in per ft', '1 in 20', '5%', '3 deg' or a ratio"
        ) from None


PSI_PER_MPA = 1e6 * 0.0254**2 / 4.4482216152605  # exact: the inch of 1959 and the pound-force, 9.80665 x 0.45359237 N
PCF_PER_KG_M3 = 0.3048**3 / 0.45359237  # exact: the foot and the pound of 1959
_STRESS = {"psi": 1.0, **dict.fromkeys(("mpa", "n/mm2", "n/mm²"), PSI_PER_MPA), "gpa": 1e3 * PSI_PER_MPA}
_DENSITY = {"pcf": 1.0, "lb/ft3": 1.0, "kg/m3": PCF_PER_KG_M3, "kg/m³": PCF_PER_KG_M3}


def parse_stress(text: str | int | float) -> float:
    """Pounds a square inch from a stress as a data sheet writes it: `8.0 MPa`, `8 N/mm2`, `11 GPa`, `1160 psi`, or a
    bare number of psi. Raises LengthError, saying what was given and what is allowed.

    >>> round(parse_stress("1 MPa"), 3)
    145.038
    """
    return _with_unit(text, _STRESS, "a stress like 8.0 MPa, 11 GPa, 1160 psi, or a bare number of psi")


def parse_density(text: str | int | float) -> float:
    """Pounds a cubic foot from a density: `420 kg/m3`, `26 pcf`, or a bare number of pcf. Raises LengthError."""
    return _with_unit(text, _DENSITY, "a density like 420 kg/m3, 26 pcf, or a bare number of pounds a cubic foot")


def _with_unit(text: str | int | float, units: dict[str, float], wanted: str) -> float:
    """A number with one of the units after it, or bare."""
    value = math.nan
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        value = _float(text)
    elif match := re.fullmatch(r"\s*(\d[\d,]*\.?\d*(?:e[+-]?\d+)?)\s*(\S*)\s*", str(text), re.I):
        factor = units.get(match[2].lower(), math.nan) if match[2] else 1.0
        value = float(match[1].replace(",", "")) * factor
    if not math.isfinite(value):
        raise LengthError(f"got {str(text)[:60]!r}; wanted {wanted}")
    return value


def sixteenths(value: float, denominator: int = 16) -> int:
    """Whole sixteenths nearest to a length, halves rounded away from zero so that +x and -x read alike."""
    return int(math.copysign(math.floor(abs(value) * denominator + 0.5), value))


def _inch_text(ticks: int, denominator: int) -> str:
    whole, rest = divmod(ticks, denominator)
    if not rest:
        return str(whole)
    fraction = Fraction(rest, denominator)
    return f"{whole} {fraction}" if whole else str(fraction)


def inches(value: float, denominator: int = 16) -> str:
    """`147.5` -> `147 1/2"`. For paper: rounded to 1/16 in (or 1/denominator)."""
    ticks = sixteenths(value, denominator)
    return f'{"-" if ticks < 0 else ""}{_inch_text(abs(ticks), denominator)}"'


def feet_inches(value: float, denominator: int = 16) -> str:
    """`147.5` -> `12'-3 1/2"`; zero inches are shown (`12'-0"`) and under a foot inches stand alone, as on drawings.

    Rounded to 1/16 in before feet are split off, so that 11.99 in reads 1'-0" and never 0'-12".
    """
    ticks = sixteenths(value, denominator)
    feet, rest = divmod(abs(ticks), 12 * denominator)
    sign = "-" if ticks < 0 else ""
    if not feet:
        return f'{sign}{_inch_text(rest, denominator)}"'
    zero = "0 " if 0 < rest < denominator else ""  # 8'-0 3/16", lest the fraction be read as one of a foot
    return f"{sign}{feet}'-{zero}{_inch_text(rest, denominator)}\""


def millimetres(value: float) -> str:
    """`147.5` -> `3747`: whole millimetres without a unit, as metric drawings carry them."""
    return str(round(value / INCH_PER_MM))
