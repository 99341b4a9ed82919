"""What is bought for a deck beside its pieces and connectors: concrete and what it is poured in and on, tape,
flashing, preservative for cut ends, touch-up for the heads of screws. Each from the pieces that it serves."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from ...shared.practice import estimate, practice
from ...shared.said import said, size
from ...shared.stock import lumber, material
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
FORM_BOARD, STAKES_APART = practice("length of a form board"), practice("form stakes apart")
OVER_FORM = practice("concrete over its form")
FORM_STOCKS = ("2x4", "2x6", "2x8", "2x10", "2x12")
TAPED, BOUGHT = named("taped"), named("bought whole")
TREATED = "treated lumber"
SEEN_HEADS = ("deck screw", "fascia screw", "tread screw")  # whose heads stay in sight


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
    """In bags, or by volume where there would be more of them than are mixed on site; tubes for what is round, boards
    round the rest, gravel under pads. A footing bears on the soil itself."""
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
    boxed: dict[str, list[Measured]] = {}
    for m in poured:
        wide = m.box[1] - m.box[0]
        if m.part.shape.circle is not None:
            tubes.setdefault(round(float(wide[0]), 3), []).append(m)
        else:
            boxed.setdefault(_form_stock(m)[0], []).append(m)
    for stock, forms in boxed.items():
        tally.placed += _form_boards(stock, forms)
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


def _form_stock(m: Measured) -> tuple[str, int]:
    """The board that forms a square footing or a pad, and how many stand one on another: the narrowest that is as wide
    as the concrete is thick but for what the ground holds."""
    thick = m.volume / m.footprint_area - OVER_FORM
    sizes = {name: lumber(name).width for name in FORM_STOCKS}
    found = next((name for name, wide in sizes.items() if wide >= thick - 1e-6), FORM_STOCKS[-1])
    return found, max(1, math.ceil(thick / sizes[found] - 1e-6))


def _form_boards(stock: str, forms: Sequence[Measured]) -> list[Placed]:
    """The boards round forms of one stock, their stakes and nails. Every other side runs past its neighbours by their
    thickness; sides longer than a board are pieced out, the rests cut out of as few as they can be."""
    whole, stakes, nails, rests = 0, 0, 0, []
    for m in forms:
        corners = list(m.part.footprint.simplify(1e-6).exterior.coords)
        for k, (a, b) in enumerate(itertools.pairwise(corners)):
            long = math.dist(a, b) + (2 * lumber(stock).thickness if k % 2 else 0.0)
            stakes += math.ceil(long / STAKES_APART - 1e-9) + 1
            for _ in range(_form_stock(m)[1]):
                boards = math.floor(long / FORM_BOARD + 1e-9)
                whole, nails = whole + boards, nails + 1
                if (rest := long - boards * FORM_BOARD) > 1e-6:
                    rests.append(rest)
    number = whole + len(pack(rests, [FORM_BOARD], [1.0]).bars)
    pieces = tuple(forms)
    return [
        Placed("form board", number, pieces, stock),
        Placed("form stake", stakes, pieces),
        Placed("form nail", stakes + nails, pieces),
    ]
