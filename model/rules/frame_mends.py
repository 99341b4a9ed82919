"""What would do for a member of the frame that is not met: the next size, spacing or number, by how far it is
over. Inches.

Bending grows with the strip, and with its span squared; a section holds it with b d², shear with b d, deflection with
b d³. The value named is the nearest that the member's own check passes with: what it brings to others is theirs.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from ...shared.errors import PlumbcutError
from ...shared.said import Words, decimal, said, together
from ...shared.stock import Stock, lumber, material
from ..solid.part import Part
from ..strength.spans import OVERHANG_SHARE
from ..structure.members import SQFT
from .check_result import Checking, CheckResult

DEPTHS = ("2x6", "2x8", "2x10", "2x12")  # sold everywhere (common practice, no source)
POST_SIZES = ("4x4", "4x6", "6x6", "8x8")
_MOST_PLIES, _MOST_RIMS, _LEAST_SPACING = 4, 3, 4.0  # as the file takes
LARGEST_FOOTING = 72.0  # inches: no footing is dug larger for a post (our own)
TWO = 2.0  # inches: footings are dug to even sizes (our own)
_FREE = 0.98  # of what would just do: weights and distances change a little with it

Mender = Callable[[Checking, CheckResult], Words]


def over(r: CheckResult) -> float:
    """By how many times a row is past its limit."""
    if not r.measured or not r.limit:
        return 1.0
    return r.measured / r.limit if r.kind == "at most" else r.limit / r.measured


def down(value: float, step: float = 0.25) -> float:
    return math.floor(value / step + 1e-6) * step


def up(value: float, step: float = 0.25) -> float:
    return math.ceil(value / step - 1e-6) * step


def would_do(value: float, key: str) -> Words:
    """`8-1/2 in would do (frame.joist_spacing)`, in the units of the paper."""
    return said(f"{{value}} would do ({key})", value=decimal(value, None))


def _power(check: str) -> int:
    """With which power of its depth a section holds a check."""
    return {"bending": 2, "deflection": 3}.get(check.split(",")[0].split(" ")[0], 1)


def deeper(stock: Stock, ratio: float, power: int) -> str | None:
    """The smallest sold depth that takes so many times as much; None where none does."""
    for name in DEPTHS:
        s = lumber(name)
        if s.width > stock.width and s.thickness * s.width**power >= stock.thickness * stock.width**power * ratio:
            return name
    return None


def joist(c: Checking, r: CheckResult) -> Words:
    """A deeper joist, or joists nearer to one another; of an overhang past what is published, less of it."""
    p, ratio, table = c.deck.parameters, over(r), "(table)" in r.rule
    if "overhang" in r.rule:
        return _less_overhang(c, r)
    if "uplift" in r.rule or "bearing" in r.rule:
        return would_do(down(c.deck.layout.joist_spacing / ratio * _FREE), "frame.joist_spacing")
    name = deeper(p.stock(p.frame.joist), ratio * ratio if table else ratio / _FREE, 2 if table else _power(r.rule))
    spacing = down(c.deck.layout.joist_spacing / (ratio * ratio if table else ratio) * _FREE)
    nearer = said("{spacing} on centre would do (frame.joist_spacing)", spacing=decimal(spacing, None))
    if spacing < _LEAST_SPACING:
        return f"{name} would do (frame.joist)" if name else "a further beam would do (frame.beam_lines)"
    return together(f"{name} would do (frame.joist)" if name else "", nearer, between=", or ")


def _less_overhang(c: Checking, r: CheckResult) -> Words:
    """The beam so much nearer to the edge that the overhang is right: what it loses, the span behind it gains. Under a
    load the end sinks by more than the reach, so that as much less of it as it is over does."""
    p = c.deck.parameters
    excess = (r.measured or 0.0) - (r.limit or 0.0)
    if "share of span" in r.rule:
        excess /= 1 + OVERHANG_SHARE
    elif "(table)" not in r.rule:
        excess = p.frame.cantilever * (1 - 1 / over(r))
    if p.frame.beam_lines:
        return said("the beam {much} nearer to the edge would do (frame.beam_lines)", much=decimal(up(excess), None))
    return would_do(max(0.0, down(p.frame.cantilever - excess)), "frame.cantilever")


def rim(c: Checking, r: CheckResult) -> Words:
    """More plies of it, where its own section is wanting; else as of a joist."""
    plies = math.ceil(c.deck.parameters.frame.rim_plies * over(r) / _FREE)
    own = any(what in r.rule for what in ("bending", "shear", "deflection, span"))
    if own and plies <= _MOST_RIMS:
        return f"{plies} plies would do (frame.rim_plies)"
    return joist(c, r)


def beam(c: Checking, r: CheckResult) -> Words:
    """A deeper beam, more plies, or posts nearer to one another."""
    p, ratio, table = c.deck.parameters, over(r), "(table)" in r.rule
    if "overhang" in r.rule:
        limit, measured = r.limit or 0.0, r.measured or 0.0
        given = 12.0 if p.frame.beam_overhang is None else p.frame.beam_overhang
        return would_do(max(0.0, down(given - (measured - limit))), "frame.beam_overhang")
    if "bearing" in r.rule:
        plies = math.ceil(p.frame.beam_plies * ratio)
        return f"{min(plies, _MOST_PLIES)} plies would do (frame.beam_plies)"
    name = deeper(p.stock(p.frame.beam), ratio * ratio if table else ratio / _FREE, 2 if table else _power(r.rule))
    if name is not None:
        return f"{name} would do (frame.beam)"
    plies = math.ceil(p.frame.beam_plies * (ratio * ratio if table else ratio / _FREE))
    if plies <= _MOST_PLIES:
        return f"{plies} plies would do (frame.beam_plies)"
    spacing = max((b - a for m in c.deck.members if m.role == "beam" for a, b in m.spans), default=0.0)
    root = ratio if table or "shear" in r.rule else ratio ** (1 / (3 if "deflection" in r.rule else 2))
    return would_do(max(12.0, down(spacing / root * _FREE)), "frame.post_spacing")


def post(c: Checking, r: CheckResult) -> Words:
    """The next thicker post: by its area, or past a height by its thickness."""
    p, ratio = c.deck.parameters, over(r)
    now = p.stock(p.frame.post)
    for name in POST_SIZES:
        try:
            s = lumber(name)
        except PlumbcutError:
            continue
        enough = s.thickness * s.width >= now.thickness * now.width * ratio
        if s.thickness > now.thickness and (enough or "height" in r.rule):
            return f"{name} would do (frame.post)"
    return "posts nearer to one another would do (frame.post_spacing)"


def footing(c: Checking, r: CheckResult) -> Words:
    """A larger one: by the pressure of what stands on it, its own concrete less the soil in its place being as much a
    square foot at any size; by the table its size."""
    found = _footings(c, r)
    if not found or not r.limit or not r.measured:
        return "a larger one would do (frame.footing.size)"
    if "(table)" in r.rule:
        return would_do(up(float(r.limit), TWO), "frame.footing.size")
    size = min(2 * f.shape.circle if f.shape.circle else float(min(f.box[1, :2] - f.box[0, :2])) for f in found)
    own, ratio = 0.0, over(r)
    if "soil bearing" in r.rule:
        deep = max(float(f.box[1, 2] - f.box[0, 2]) for f in found)
        own = material(found[0].stock.material).weight(SQFT * deep) - c.row("soil_unit_weight").value * deep / 12
        ratio = (r.measured - own) / (r.limit - own) if r.limit > own else math.inf
    wanted = size * math.sqrt(ratio / _FREE)
    if wanted > LARGEST_FOOTING:
        return "posts nearer to one another would do (frame.post_spacing)"
    return would_do(up(wanted, TWO), "frame.footing.size")


def _footings(c: Checking, r: CheckResult) -> list[Part]:
    return [c.by_id[i].part for i in r.ids if i in c.by_id and c.by_id[i].role == "footing"]


OF_MEMBERS: dict[str, Mender] = {"joist": joist, "rim": rim, "beam": beam, "post": post, "footing": footing}
