"""How far apart joists stand on centre where the file does not say: as the boards laid on them allow.

The published rows know boards square to the joists and boards on the skew, these up to an angle. Between square and
that angle only the row for the skew is published, so it decides as soon as boards are out of square; beyond it joists
stand as close as gives the boards the clear span that they have at that angle (our own: the rows say nothing there).
A maker's value takes the place of the rows, whichever is closer; boards that are no lumber and come without one are
laid as lumber of their thickness would be (our own, and the check of it stays open).
"""

from __future__ import annotations

import math

import numpy as np

from ...shared.practice import practice
from ...shared.standards import assumed, find_limit
from ...shared.stock import lumber
from ..input.parameters import Parameters
from ..strength.spans import boards_item
from .border_and_field import given_direction
from .edges import OUT_OF_TRUE, parallel

USUAL = practice("joist spacing")
SKEW = assumed("decking_skew_max").value  # degrees from square to the joists, up to which rows are published
MEMBER = lumber("2x8").thickness  # of any 2x member: taken off a spacing on centre to have what is clear
PUBLISHED, MAKERS, IN_FILE, AS_LUMBER = "published", "maker's", "in the file", "as lumber"  # what says how far
WHOLE = 1.0  # inches: closer joists are marked at whole inches (our own)


def joist_spacing(p: Parameters, along: np.ndarray, across: np.ndarray) -> float:
    """Inches on centre, square to the joists, which run along the unit vector `along`: the file's, or at most the usual
    spacing and what the boards allow."""
    if p.frame.joist_spacing is not None:
        return p.frame.joist_spacing
    boards = given_direction(p)
    square = boards is None or parallel(boards, across)
    s = p.surface
    row = find_limit(boards_item(s.board_thickness, square), p.local.edition)
    makers = s.max_span if square else s.max_span_45
    published = None if row is None or (makers and s.material != "treated lumber") else float(row.value)
    spacing = min(v for v in (USUAL, published, makers) if v is not None)
    if boards is None or square:
        return spacing
    lean = math.degrees(math.asin(min(1.0, abs(float(boards @ along)))))  # from square to the joists
    if lean <= SKEW + 1e-6:
        return spacing
    t = p.stock(p.frame.joist).thickness
    clear = (spacing - t) / math.cos(math.radians(SKEW))
    return math.floor((t + clear * math.cos(math.radians(lean))) / WHOLE + 1e-9) * WHOLE


def most_in_the_clear(p: Parameters, spacing: float, skew: float) -> tuple[str, float]:
    """What says how far the surface's boards may span between the joists, and how far in the clear, inches.

    `spacing` on centre of the joists, `skew` the sine of the angle between them and the boards. Lumber goes by the
    published rows, other boards by their maker's; without one by the spacing in the file, else as lumber.
    """
    s, given = p.surface, p.frame.joist_spacing
    least = math.cos(math.radians(SKEW))  # beyond the angle to which rows are published no board spans further
    square = skew > math.cos(math.radians(OUT_OF_TRUE))
    row = find_limit(boards_item(s.board_thickness, square), p.local.edition)
    makers = s.max_span if square else s.max_span_45
    # as the plan chose it: laid as lumber of their thickness, before the lean of the boards is taken off
    usual = min(USUAL, float(row.value)) if row else spacing
    if s.material == "treated lumber" and row and (makers is None or row.value <= makers):
        how, on_centre = PUBLISHED, float(row.value)
    elif makers is not None:
        how, on_centre = MAKERS, makers
    elif given is not None:
        # boards that lean further than rows are published to run as far over joists at that spacing as they lean
        leant = MEMBER + (given - MEMBER) * least / skew
        how, on_centre = IN_FILE, max(given, min(usual, leant))
    else:
        how, on_centre = AS_LUMBER, usual
    return how, (on_centre - MEMBER) / max(skew, least)
