"""Lateral strength of one nail, lag screw or bolt in single shear, wood to wood, by the yield limit equations (NDS
12.3.1): the least of six ways in which the fastener or the wood beside it gives way. Inches, pounds, psi.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from ...shared.cited import Row
from ...shared.design_values import factor
from ...shared.standards import assumed, clause, specific_gravity, table
from .nds import Adjusted, Factor, Lumber

LAG = 0.5  # inches: the lag screws and bolts of the published table of ledgers
_SMALL = 0.25  # inches: thinner fasteners have one bearing strength whichever way the grain runs (NDS Table 12.3.3)


@dataclass(frozen=True)
class Dowel:
    """A fastener by its `name`: the `diameter` of the yield equations (a lag screw's root), its bending strength `fyb`
    in psi."""

    name: str
    diameter: float
    fyb: float


@dataclass(frozen=True)
class InWood:
    """What a fastener goes through (`side`) and into (`main`), inches of wood each, and the specific gravity of both;
    `across`: it is loaded square to the grain of both."""

    side: float
    main: float
    gravity: float
    across: bool


def nail() -> Dowel:
    """The nail that is published for the rim: its length is `nail_length`."""
    return Dowel("10d nail", float(assumed("rim_nail_diameter").value), factor("Fyb", "nail", "up to 0.135 in").value)


def nail_length() -> float:
    return float(assumed("rim_nail_length").value)


def fastener(item: str) -> dict[str, str]:
    """The row of a kind of fastener as it is bought."""
    return next(row for row in table("fasteners") if row["item"] == item)


def ledger_dowels() -> tuple[Dowel, Dowel]:
    """A lag screw and a bolt of 1/2 in, as the published table of ledgers has them."""
    lag = Dowel("lag screw", factor("Dr", "lag screw", "1/2 in").value, factor("Fyb", "lag screw", "1/2 in").value)
    return lag, Dowel("bolt", LAG, factor("Fyb", "bolt", "1/2 in").value)


@lru_cache(maxsize=64)
def withdrawal(lumber: Lumber, thread: float, duration: str) -> Adjusted:
    """W' of one lag screw of 1/2 in with `thread` inches of its thread in side grain, the tip not counted, pulled along
    its axis (NDS 12.2.1.1): W = 1800 G^1.5 D^0.75 an inch, with CD and CM."""
    wood = specific_gravity(lumber.species)
    each, of_g, of_d = (factor("W", "lag screw", case) for case in ("coefficient", "power of G", "power of D"))
    an_inch = each.value * float(wood.value) ** of_g.value * LAG**of_d.value
    case = f"thread {{{thread} in}} in the wood"
    row = Row("W", "lb", wood.edition, each.source, each.how, case=case, value=an_inch * thread)
    cd, wet = factor("CD", duration, ""), factor("CM", "W", "lag screw")
    factors = (
        Factor("CD", cd.value, f"load duration: {duration}", cd.citation),
        Factor("CM", wet.value if lumber.wet else 1.0, "wet in service" if lumber.wet else "dry", wet.citation),
    )
    return Adjusted("W'", row, factors)


def least_penetration() -> float:
    """Inches of wood that a lag screw of 1/2 in has to go into for the equations to hold."""
    return factor("p", "lag screw", "least, x D").value * LAG


def yield_loads(d: Dowel, w: InWood, shank: float | None = None) -> dict[str, float]:
    """Pounds by the name of each yield mode, divided by its reduction. `shank`: the diameter by which the bearing of a
    lag screw in wood is known, where it is not that of the equations."""
    fe, reduce = _bearing(shank or d.diameter, w), _reductions(d.diameter, w)
    dia, ls, lm, fyb = d.diameter, w.side, w.main, d.fyb
    re, rt = 1.0, lm / ls  # both members are of one wood, loaded alike
    k1 = (math.sqrt(re + 2 * re**2 * (1 + rt + rt**2) + rt**2 * re**3) - re * (1 + rt)) / (1 + re)
    k2 = -1 + math.sqrt(2 * (1 + re) + 2 * fyb * (1 + 2 * re) * dia**2 / (3 * fe * lm**2))
    k3 = -1 + math.sqrt(2 * (1 + re) / re + 2 * fyb * (2 + re) * dia**2 / (3 * fe * ls**2))
    one, two, three = reduce
    return {
        "Im": dia * lm * fe / one,
        "Is": dia * ls * fe / one,
        "II": k1 * dia * ls * fe / two,
        "IIIm": k2 * dia * lm * fe / ((1 + 2 * re) * three),
        "IIIs": k3 * dia * ls * fe / ((2 + re) * three),
        "IV": dia**2 / three * math.sqrt(2 * fe * fyb / (3 * (1 + re))),
    }


def _bearing(diameter: float, w: InWood) -> float:
    if diameter < _SMALL:
        return factor("Fe", "small", "any").value * w.gravity**1.84
    if w.across:
        return factor("Fe", "large", "perpendicular").value * w.gravity**1.45 / math.sqrt(diameter)
    return factor("Fe", "large", "parallel").value * w.gravity


def _reductions(diameter: float, w: InWood) -> tuple[float, float, float]:
    if diameter < _SMALL:
        kd = factor("Rd", "small", "up to 0.17 in").value
        return kd, kd, kd
    angle = factor("Rd", "large", "K at 90 degrees").value if w.across else 1.0
    one, two, three = (factor("Rd", "large", case).value * angle for case in ("I", "II", "III and IV"))
    return one, two, three


@lru_cache(maxsize=256)
def lateral(
    d: Dowel, lumber: Lumber, side: float, main: float, duration: str, across: bool = False, in_end: bool = False
) -> Adjusted:
    """Z' of one fastener: CD, CM of fasteners in wood that is wet, and Ceg where it goes `in_end` grain."""
    wood = specific_gravity(lumber.species)
    lag = d.name == "lag screw"
    modes = yield_loads(d, InWood(side, main, float(wood.value), across), LAG if lag else None)
    mode = min(modes, key=lambda m: modes[m])
    source = clause("yield limit equations").source
    row = Row("Z", "lb", wood.edition, source, "memory", case=f"mode {mode}", value=modes[mode])
    cd = factor("CD", duration, "")
    wet = factor("CM", "Z", "dowel")
    factors = [
        Factor("CD", cd.value, f"load duration: {duration}", cd.citation),
        Factor("CM", wet.value if lumber.wet else 1.0, "wet in service" if lumber.wet else "dry", wet.citation),
    ]
    if in_end:
        end = factor("Ceg", "Z", "end grain")
        factors.append(Factor("Ceg", end.value, "into end grain", end.citation))
    return Adjusted("Z'", row, tuple(factors))
