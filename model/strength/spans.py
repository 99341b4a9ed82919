"""The longest spans and overhangs that the calculation allows, with the assumptions the published tables state.

These are the second route beside the printed tables, and what the tests reproduce them with. Inches, pounds, psf.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ...shared.standards import TABLE_LOAD_PSF, assumed
from ...shared.stock import Stock
from ...shared.stock import lumber as lumber_of
from .loads import OCCUPANTS
from .nds import Lumber, Sawn, bearing, bending, modulus, shear

POINT_LOAD = assumed("overhang_point_load").value
SPAN_RATIO, OVERHANG_RATIO = (
    assumed("deflection_ratio_span").value,
    assumed("deflection_ratio_overhang").value,
)
# beam tables: reaction of a joist that overhangs by a quarter, in joist spans
OVERHANG_SHARE = assumed("joist_overhang_ratio_max").value
JOIST_OVERHANG_SHARE = (1 + OVERHANG_SHARE) ** 2 / 2  # ft of joist on each ft of beam: (J + J/4)^2 / (2 J), of J
TABLE_DEAD_PSF = assumed("dead_load_deck").value
LONGEST_PRINTED = assumed("joist_span_table_max").value
# the printed overhangs fit when this is what lies between clear span and overhang
TABLE_BEAM_WIDTH = assumed("overhang_table_beam_width").value
SHARING = assumed("repetitive_members_min").value
THICK_BOARD = lumber_of("2x6").thickness  # boards as thick as that have rows of their own, thinner ones those of 5/4


def boards_item(thickness: float, square: bool) -> str:
    """The limit that holds the widest joist spacing for boards of lumber `thickness` inches thick, square to the joists
    or on the skew."""
    size = "2x" if thickness > THICK_BOARD - 1e-6 else "5/4"
    return f"decking_{size}_joist_spacing_max_{'square' if square else 'diagonal'}"


@dataclass(frozen=True)
class Longest:
    """A longest span or overhang, inches, and what governs it."""

    value: float
    governs: str


def section(size: Sawn, plies: int = 1) -> tuple[float, float, float, float]:
    """(breadth, depth, section modulus, moment of inertia) of plies side by side, on edge."""
    s = size if isinstance(size, Stock) else lumber_of(size)
    b, d = s.thickness * plies, s.width
    return b, d, b * d * d / 6, b * d**3 / 12


def longest_joist_span(
    lumber: Lumber,
    size: Sawn,
    spacing: float,
    live_psf: float = TABLE_LOAD_PSF,
    dead_psf: float = TABLE_DEAD_PSF,
    cap: float = LONGEST_PRINTED,
    duration: str = OCCUPANTS,
    bends_psf: float | None = None,
) -> Longest:
    """Simple span: bending under dead and live load of a `duration`, deflection L/360 under live load, or `bends_psf`
    of it; capped at 18 ft as printed.

    The tables' own limit: what a deck's joists carry is `model/structure`'s to say, and the tests hold the printed
    tables against this.
    """
    _, _, s, i = section(size)
    w, wl = ((live_psf if x is None else x) * spacing / 144 for x in (live_psf + dead_psf, bends_psf))
    found = [
        Longest(math.sqrt(8 * bending(lumber, size, duration, True).value * s / w), "bending"),
        Longest((384 * modulus(lumber, size).value * i / (5 * SPAN_RATIO * wl)) ** (1 / 3), "deflection"),
        Longest(cap, "cap"),
    ]
    return min(found, key=lambda f: f.value)


def longest_joist_overhang(lumber: Lumber, size: Sawn, span: float) -> Longest:
    """Past the outer face of the beam: L/180 under the point load, P a (L + a)/(3 EI) = 1/180 with `a` from the beam's
    inner face; and a quarter of the clear span. As `longest_joist_span`, held against the printed tables by the tests
    alone."""
    _, _, _, i = section(size)
    flexible = 3 * modulus(lumber, size).value * i / (OVERHANG_RATIO * POINT_LOAD)
    a = (-span + math.sqrt(span * span + 4 * flexible)) / 2
    return min(
        Longest(a - TABLE_BEAM_WIDTH, "deflection"),
        Longest(span * OVERHANG_SHARE, "a quarter of the span"),
        key=lambda f: f.value,
    )


def longest_beam_span(
    lumber: Lumber,
    size: Sawn,
    plies: int,
    joist_span_ft: float,
    live_psf: float = TABLE_LOAD_PSF,
    dead_psf: float = TABLE_DEAD_PSF,
    repetitive: float | None = None,
    breadth: float | None = None,
    seat: float = 0.0,
) -> Longest:
    """Simple span between post centres under the reaction of joists that overhang by a quarter of their span.

    Bending and shear under dead and live load, deflection L/360 under live load. `repetitive` overrides Cr; `breadth`
    that of the plies (a 3x beam); `seat` inches of it rest on a post that carries two such spans (0: not asked, as the
    tables do not).
    """
    b, d, _, _ = section(size, plies)
    b = breadth or b
    s, i = b * d * d / 6, b * d**3 / 12
    reaction = joist_span_ft * JOIST_OVERHANG_SHARE
    w, wl = (live_psf + dead_psf) * reaction / 12, live_psf * reaction / 12
    fb = bending(lumber, size, OCCUPANTS, plies >= SHARING)
    value = fb.value
    if repetitive is not None:
        value *= repetitive / next(f.value for f in fb.factors if f.symbol == "Cr")
    found = [
        Longest(math.sqrt(8 * value * s / w), "bending"),
        Longest(2 * shear(lumber, size, OCCUPANTS).value * b * d / 1.5 / w, "shear"),
        Longest((384 * modulus(lumber, size).value * i / (5 * SPAN_RATIO * wl)) ** (1 / 3), "deflection"),
    ]
    if seat:
        found.append(Longest(bearing(lumber, size, seat, 0.0).value * seat * b / w, "bearing"))
    return min(found, key=lambda f: f.value)
