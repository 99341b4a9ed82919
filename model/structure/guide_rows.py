"""What the guide's table (AWC DCA 6-2012 Table 4) says of a post and its footing, beside the table of the edition.

It is entered by the spans of beam and joists; corner posts, which end a single beam, need nine tenths of its footing.
It is a guide: where the edition has a row that is not in doubt, that decides and this is said beside it.
"""

from __future__ import annotations

from dataclasses import replace

from ...shared import standards
from ...shared.cited import Row
from ...shared.practice import estimate
from ...shared.said import Words, decimal, length, said
from ...shared.standards import assumed
from .load_path import Column

_CORNER = assumed("footing_corner_post_factor")
GUIDE = _CORNER.edition
RUNS_ON = estimate("reaction between two beam spans")  # of a simple beam's two: the table's rows are for either
JOIST_OVERHANG = assumed("joist_overhang_ratio_max").value  # of the joist span: the table counts that much more


def beam_ft(c: Column) -> float | None:
    """The longest span of the beams on a post, feet."""
    beams = [m for m, _ in c.bears if m.role == "beam" and not m.trouble]
    return max((max(b - a for a, b in m.spans) / 12 for m in beams), default=None)


def ends_one_beam(c: Column) -> bool:
    """Whether a post stands under one beam alone, and at the end of it: a corner post."""
    beams = [m for m, _ in c.bears]
    if c.post is None or c.beside or len(beams) != 1 or beams[0].role != "beam" or beams[0].trouble:
        return False
    xs = sorted(beams[0].supports, key=lambda s: s.x)
    return len(xs) > 1 and any(c.post.id in s.on for s in (xs[0], xs[-1]))


def guide_footing(c: Column, joist_ft: float | None, soil_psf: float, load_psf: float, round_one: bool) -> Row | None:
    """Diameter or side by the guide, a corner post's already less; None outside its table, and where more comes to the
    footing than the table counts (a stair's share): beam and joist spans, both with their overhangs."""
    spans, corner = (beam_ft(c), joist_ft), ends_one_beam(c)
    found = standards.footing(GUIDE, soil_psf, None, *spans, load_psf)
    counted = (
        (spans[0] or 0.0) * (joist_ft or 0.0) * (1 / 2 + JOIST_OVERHANG) * (_CORNER.value**2 if corner else RUNS_ON)
    )
    if found is None or max(c.load.steady, c.load.most) > counted:
        return None
    row = found.round if round_one else found.square
    if not corner:
        return row
    return replace(row, value=row.value * _CORNER.value, case=f"{row.case}, less at a corner post")


def guide_height(c: Column, size: str, species: str, joist_ft: float | None, load_psf: float) -> Row | None:
    """The greatest height of a post by the guide; None outside its table."""
    return standards.post_height(size, GUIDE, species, None, beam_ft(c), joist_ft, None, load_psf)


def footing_beside(row: Row | None, measured: float) -> Words:
    """The guide's footing beside the edition's, and what the measured one is to it; nothing without a row."""
    if row is None:
        return ""
    kept = "kept" if measured >= row.value - 1e-6 else "not kept"
    told = f"beside it {{citation}}: at least {{value}}, {kept}"
    return said(told, citation=row.citation, value=decimal(row.value, figures=4))


def height_beside(row: Row | None, measured: float) -> Words:
    """The same of a post's height; a row in doubt says so."""
    if row is None:
        return ""
    kept = "in doubt" if row.doubtful else "kept" if measured <= row.value + 1e-6 else "not kept"
    return said(f"beside it {{citation}}: at most {{value}}, {kept}", citation=row.citation, value=length(row.value))
