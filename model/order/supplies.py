"""What is bought for a deck beside its pieces and connectors: concrete and what it is poured in and on, tape,
flashing, preservative for cut ends, touch-up for the heads of screws. Each from the pieces that it serves."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...shared.practice import estimate, practice
from ...shared.said import said, size
from ...shared.stock import material
from ..measuring.measure import Measured
from ..solid.roles import named
from .hardware_rules import nailing, rules
from .packing import pack
from .quantities import CUBIC_FOOT, CUBIC_YARD
from .tally import Placed, Tally

BAG_YIELD = estimate("yield of a bag of concrete") * CUBIC_FOOT  # cubic inches
MOST_BAGS = estimate("bags of concrete mixed on site")
GRAVEL_YIELD = estimate("yield of a bag of gravel") * CUBIC_FOOT
UNDER_PAD = practice("gravel under a pad")
TUBE = practice("length of a form tube")
TAPED, BOUGHT = named("taped"), named("bought whole")
TREATED = "treated lumber"
SEEN_HEADS = ("deck screw", "fascia screw", "tread screw")  # whose heads stay in sight
_ROUND = 0.85  # of its box, seen from above: a round footing fills 0.79, one formed with boards all of it


def supplies(measured: Sequence[Measured], counted: Tally) -> Tally:
    """What goes with what is `counted` already: `counted` itself is left as it is."""
    tally = Tally()
    for m in measured:
        if m.role in TAPED:
            tally.add("joist tape", m.length, m)
        if m.role == "ledger":
            tally.add("ledger flashing", m.length, m)
        if m.stock.material == TREATED and m.role not in BOUGHT:
            tally.add("end-cut preservative", cut_surface(m) / 144, m)
    _concrete(measured, tally)
    for p in counted.of(*SEEN_HEADS):
        if p.pieces and material(p.pieces[0].stock.material).kind == "board":
            tally.add("touch-up", p.places * rules()[p.item].each, *p.pieces)
    return tally


def cut_surface(m: Measured) -> float:
    """Square inches of a piece that the saw lays bare: both ends, and the sides of its notches."""
    notches = math.fsum((2 * n.depth + n.width) * m.thickness for n in m.notches)
    return 2 * m.stock.thickness * m.stock.width + notches


def fastened_with(counted: Tally) -> Tally:
    """What the connectors counted are nailed, screwed or anchored with."""
    tally = Tally()
    for p in counted.placed:
        if p.pieces:
            for n in nailing(p.item, p.pieces[0].stock.width):
                tally.placed.append(Placed(n.item, p.places * n.each, p.pieces, on=p.item, each=n.each))
    return tally


def _concrete(measured: Sequence[Measured], tally: Tally) -> None:
    """In bags, or by volume where there would be more of them than are mixed on site; tubes for what is round, gravel
    under pads. A footing bears on the soil itself."""
    poured = [m for m in measured if m.role in named("concrete")]
    bags = math.fsum(m.volume for m in poured) / BAG_YIELD
    ready = math.ceil(bags - 1e-9) > MOST_BAGS
    for m in poured:
        if ready:
            by = rules()["ready-mix concrete"].each * CUBIC_YARD
            tally.add("ready-mix concrete", m.volume / by, m)
        else:
            tally.add("concrete bag", m.volume / BAG_YIELD, m)
        if m.role == "pad":
            tally.add("gravel bag", m.footprint_area * UNDER_PAD / GRAVEL_YIELD, m)
    tubes: dict[float, list[Measured]] = {}
    for m in poured:
        wide = m.box[1] - m.box[0]
        if m.role == "footing" and m.footprint_area < _ROUND * wide[0] * wide[1]:
            tubes.setdefault(round(float(wide[0]), 3), []).append(m)
    for across, footings in sorted(tubes.items()):
        tally.placed += _tubes(across, footings)


def _tubes(across: float, footings: Sequence[Measured]) -> list[Placed]:
    """Tubes of one size: whole ones one on another, and the rests cut out of as few as they can be."""
    high = [float(m.box[1, 2] - m.box[0, 2]) for m in footings]
    whole = sum(math.floor(h / TUBE + 1e-9) for h in high)
    rests = [r for h in high if (r := h - TUBE * math.floor(h / TUBE + 1e-9)) > 1e-6]
    number = whole + len(pack(rests, [TUBE], [1.0]).bars)
    return (
        [Placed("form tube", number, tuple(footings), said("{across} inside", across=size(across)))] if number else []
    )
