"""The prescriptive route: what the published tables allow, against spans, heights and areas measured from the
solids."""

from __future__ import annotations

from dataclasses import dataclass

from ...shared import standards
from ...shared.cited import Row, in_doubt
from ...shared.said import Words, decimal, length, number, said, span, surface, together
from ...shared.standards import assumed, find_limit
from ...shared.stock import Stock
from ..strength.loads import DesignLoads, LoadsAndSoil
from ..strength.nds import Lumber
from ..strength.spans import JOIST_OVERHANG_SHARE
from .guide_rows import GUIDE, beam_ft, footing_beside, guide_footing, guide_height, height_beside
from .load_path import Column
from .members import Member
from .verdicts import MET, NOT_CHECKED, NOT_MET

OF_JOIST, OF_BEAM = "joist overhang, share of span", "beam overhang"
SHARES = (OF_JOIST, OF_BEAM)  # of lengths alone, whatever the load
OF_THICKNESS = "footing thickness"
INSTEAD = "outside the table of {edition}, or in doubt there: the guide's is used"


@dataclass(frozen=True)
class Prescribed:
    """One table or limit against one measured value, both in `unit`. `at_most` False: the limit is a least value."""

    check: str
    measured: float | None
    limit: float | None
    unit: str
    result: str
    source: Words
    why: Words = ""
    at_most: bool = True

    @property
    def margin(self) -> float | None:
        if self.measured is None or self.limit is None:
            return None
        return self.limit - self.measured if self.at_most else self.measured - self.limit

    @property
    def ratio(self) -> float | None:
        """Measured over limit (or limit over measured for a least value): over 1 is not met."""
        if self.measured is None or self.limit is None:
            return None
        over, under = (self.measured, self.limit) if self.at_most else (self.limit, self.measured)
        return float("inf") if under <= 0 else over / under


def against(
    check: str,
    measured: float,
    row: Row | None,
    outside: Words,
    at_most: bool = True,
    unit: str = "in",
    factor: float = 1.0,
    why: Words = "",
) -> Prescribed:
    """The comparison, or "not checked: outside the table" where there is no row; a doubtful row proves nothing either
    way."""
    if row is None:
        why = said("outside the table: {outside}", outside=outside)
        return Prescribed(check, measured, None, unit, NOT_CHECKED, "", why, at_most)
    bound = row.value * factor
    good = measured <= bound + 1e-6 if at_most else measured >= bound - 1e-6
    if row.doubtful:
        return Prescribed(
            check, measured, bound, unit, NOT_CHECKED, row.citation, together(in_doubt(good), why), at_most
        )
    return Prescribed(check, measured, bound, unit, MET if good else NOT_MET, row.citation, why, at_most)


def clear_span(m: Member) -> float:
    """The longest span between faces of bearings, inches."""
    return max(b - a for a, b in m.clear_spans)


def overhang(m: Member) -> tuple[float, float]:
    """(greatest overhang past the bearing's outer face with the rim across its end, clear span behind it), inches."""
    return max([(0.0, 1.0), *m.clear_overhangs], key=lambda f: f[0] / f[1])


def load_psf(loads: DesignLoads) -> float:
    """What the tables are entered with: the larger of live and ground snow load."""
    return max(loads.live_psf, loads.ground_snow_psf)


def _not_printed(stock: Stock) -> str:
    """Why no table can have a row for this stock, or nothing."""
    return (
        f"no published row for {stock.name}, a size of the file's own; the calculation decides" if stock.given else ""
    )


def _table_species(wood: Lumber, loads: DesignLoads) -> Words:
    """Why the tables do not apply to this design, or nothing."""
    if wood.grade not in ("No.1", "No.2"):
        return f"the tables are for No.2, not {wood.grade}"
    dead = assumed("dead_load_deck")
    if loads.dead_psf > dead.value + 1e-9:
        return said(
            "the tables assume {dead} psf dead load, not {given}", dead=number(dead.value), given=number(loads.dead_psf)
        )
    return ""


def joist_rows(m: Member, wood: Lumber, loads: DesignLoads, edition: str) -> list[Prescribed]:
    """Clear span and overhang of a joist or lengthwise rim; its spacing is the width of the strip it takes."""
    size, psf = m.first.stock.name, load_psf(loads)
    barred = _not_printed(m.first.stock) or _table_species(wood, loads)
    row = None if barred else standards.joist_span(wood.species, size, m.strip, edition, psf)
    where = barred or said(
        "{species} {size}, strip {strip}, {psf} psf",
        species=wood.species,
        size=size,
        strip=decimal(m.strip, 1),
        psf=number(psf),
    )
    found = [against("joist span", clear_span(m), row, where)]
    reach, behind = overhang(m)
    if reach > 0:
        quarter = find_limit("joist_overhang_ratio_max", edition)
        found.append(
            against(
                OF_JOIST,
                reach,
                quarter,
                edition,
                factor=behind,
                why=_share(quarter, behind),
            )
        )
        row = None if barred else standards.joist_overhang(wood.species, size, m.strip, behind, edition, psf)
        found.append(against("joist overhang, table", reach, row, barred or together(where, edition, between=", ")))
    return found


def _share(ratio: Row | None, behind: float) -> Words:
    return (
        ""
        if ratio is None
        else said("{share} of the span behind it, {span}", share=number(ratio.value), span=length(behind))
    )


def beam_rows(m: Member, joists: list[Member], wood: Lumber, loads: DesignLoads, edition: str) -> list[Prescribed]:
    """Post spacing against the beam table, entered with the joists' span or, if more, with what gives the same load."""
    size, psf = m.first.stock.name, load_psf(loads)
    barred = _not_printed(m.first.stock) or _table_species(wood, loads)
    longest_span = max(b - a for a, b in m.spans)
    longest = max((clear_span(j) for j in joists), default=0.0) / 12
    line = sum(getattr(l, "p", None) or l.total for l in m.steady) / (m.length / 12)
    equal = line / JOIST_OVERHANG_SHARE
    joist_ft = max(longest, equal)
    why = said(
        "the joists on it span {longest}; it carries as much as joists of {equal} would bring",
        longest=span(longest * 12, 2),
        equal=span(equal * 12, 2),
    )
    row = None if barred else standards.beam_span(wood.species, m.plies, size, joist_ft, edition, psf)
    where = barred or said(
        "{species} {beam}, joists {joists}, {psf} psf",
        species=wood.species,
        beam=standards.beam_name(m.plies, size),
        joists=span(joist_ft * 12),
        psf=number(psf),
    )
    found = [against("beam span", longest_span, row, where, why=why)]
    ratio = find_limit("beam_overhang_ratio_max", edition)
    xs = sorted(s.x for s in m.supports)
    ends = [(xs[0], xs[1] - xs[0]), (m.length - xs[-1], xs[-1] - xs[-2])]
    reach, behind = max(ends, key=lambda e: e[0] / e[1])
    if reach > 0:
        found.append(
            against(
                OF_BEAM,
                reach,
                ratio,
                edition,
                factor=behind,
                why=_share(ratio, behind),
            )
        )
    return found


def post_rows(c: Column, joist_ft: float | None, wood: Lumber, loads: DesignLoads, edition: str) -> list[Prescribed]:
    """Height from the underside of the beam to the top of the footing."""
    assert c.post is not None, "a footing without a post is no post to check"
    top = c.footing.box[1, 2] if c.footing is not None else c.post.box[0, 2]
    height, size = c.bears_at - float(top), c.post.stock.name
    barred, psf = _not_printed(c.post.stock), load_psf(loads)
    row = None
    if not barred:
        plies = max((m.plies for m, _ in c.bears if m.role == "beam"), default=None)
        row = standards.post_height(size, edition, wood.species, c.load.steady, beam_ft(c), joist_ft, plies, psf)
    where = barred or said(
        "{size} {species}, {area}, {psf} psf",
        size=size,
        species=wood.species,
        area=surface(c.load.steady, 1),
        psf=number(psf),
    )
    if barred or edition == GUIDE:
        return [against("post height", height, row, where)]
    guide = guide_height(c, size, wood.species, joist_ft, psf)
    if guide is not None and (row is None or (row.doubtful and not guide.doubtful)):
        return [against("post height", height, guide, where, why=said(INSTEAD, edition=edition))]
    return [against("post height", height, row, where, why=height_beside(guide, height))]


def footing_rows(c: Column, joist_ft: float | None, loads: LoadsAndSoil, edition: str) -> list[Prescribed]:
    """Diameter or side of the footing, and its thickness. A doubtful row proves nothing: beside it the next larger one
    that is sure proves what it allows."""
    if c.footing is None:
        return []
    asked = loads.soil_bearing_psf, c.load.steady, beam_ft(c), joist_ft, load_psf(loads)
    rows = None if c.joined else standards.footing(edition, *asked)
    sure = None if c.joined else standards.footing(edition, *asked, sure=True)
    radius = c.footing.shape.circle
    round_one = radius is not None
    size = float(2 * radius if radius is not None else min(c.footing.box[1, :2] - c.footing.box[0, :2]))
    if rows is not None and rows.round.doubtful and sure is not None:
        rows = sure if size >= (sure.round if round_one else sure.square).value - 1e-6 else rows
    row = None if rows is None else (rows.round if round_one else rows.square)
    what = "footing diameter" if round_one else "footing side"
    where = said(
        "{area}, soil {soil} psf, {psf} psf",
        area=surface(c.load.steady, 1),
        soil=number(loads.soil_bearing_psf),
        psf=number(load_psf(loads)),
    )
    own = row is None or edition in row.source
    why: Words = "" if own or row is None else f"{edition} prints no such table: {row.source} is used"
    if edition != GUIDE and not c.joined:
        guide = guide_footing(c, joist_ft, loads.soil_bearing_psf, load_psf(loads), round_one)
        if row is None and guide is not None:
            return [against(what, size, guide, where, at_most=False, why=said(INSTEAD, edition=edition))]
        why = together(why, footing_beside(guide, size))
    found = [against(what, size, row, where, at_most=False, why=why)]
    if rows is not None:
        thick = float(c.footing.box[1, 2] - c.footing.box[0, 2])
        found.append(against(OF_THICKNESS, thick, rows.thickness, where, at_most=False))
    return found


def ledger_rows(
    joist_span_ft: float, loads: DesignLoads, edition: str, psf: float | None = None
) -> list[tuple[str, Row | None]]:
    """(fastener, widest spacing row) for each kind the tables have; `psf` where the span stands for a load that has
    been counted already."""
    kinds = ("lag screw", "bolt", "bolt with gap")
    psf = load_psf(loads) if psf is None else psf
    return [(k, standards.ledger_fastener_spacing(joist_span_ft, k, edition, psf)) for k in kinds]
