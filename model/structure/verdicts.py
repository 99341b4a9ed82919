"""What a check of one member says, line by line: the lines that an engineer follows, and the verdict at their end."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from ...shared.design_values import GIVEN
from ...shared.said import Quantity, Said, Words, listed, number, put_in, said, together
from ..strength.loads import Combination, DesignLoads
from ..strength.nds import Adjusted, Factor, NoValue
from .members import Brought

MET, NOT_MET, NOT_CHECKED = "met", "not met", "not checked"


@dataclass(frozen=True)
class CalcLine:
    """One line of a calculation: `value` in `unit`, the formula with its inputs, and where a number comes from."""

    label: str
    value: float
    unit: str
    formula: Words
    source: Words = ""

    @property
    def said(self) -> Said:
        """The whole line in words."""
        value = number(self.value, figures=4, grouped=True)
        return said(
            "{label} = {value} {unit} ({formula})",
            label=self.label,
            value=value,
            unit=self.unit,
            formula=self.formula,
        )


@dataclass(frozen=True)
class Verdict:
    """One check of one member: `ratio` is demand over capacity; `result` is met, not met or not checked (with
    `why`)."""

    check: str
    demand: float | None
    capacity: float | None
    unit: str
    combination: str
    result: str
    lines: tuple[CalcLine, ...] = ()
    why: Words = ""

    @property
    def ratio(self) -> float | None:
        if self.demand is None or self.capacity is None:
            return None
        return math.inf if self.capacity <= 0 else self.demand / self.capacity

    @property
    def rule(self) -> Words:
        """The clause that it is judged by: of the line with its demand, or with its limit; else the first named."""
        of = [l.source for l in self.lines if l.source and l.value in (self.demand, self.capacity)]
        others = [l.source for l in self.lines if l.source and l.source not in ("measured", "measured contact")]
        return next(iter([*of, *others]), "")


def verdict(
    check: str,
    demand: float,
    capacity: float,
    unit: str,
    combination: str,
    lines: Sequence[CalcLine],
    why: Words = "",
) -> Verdict:
    """Met where demand is no more than capacity (equal within rounding counts as met)."""
    demand, capacity = float(demand), float(capacity)
    return Verdict(
        check,
        demand,
        capacity,
        unit,
        combination,
        MET if demand <= capacity * (1 + 1e-9) else NOT_MET,
        tuple(lines),
        why,
    )


def unchecked(check: str, why: Words) -> Verdict:
    return Verdict(check, None, None, "", "", NOT_CHECKED, (), why)


def worst(found: list[Verdict]) -> list[Verdict]:
    """The one with least room; of those without a capacity the one that asks most."""
    return [max(found, key=lambda v: (-1.0 if v.ratio is None else v.ratio, v.demand or 0.0))] if found else []


def tried(check: str, make: Callable[[], list[Verdict]]) -> list[Verdict]:
    try:
        return make()
    except NoValue as missing:
        return [unchecked(check, str(missing))]


@lru_cache(maxsize=4096)
def value_line(label: str, adjusted: Adjusted) -> CalcLine:
    given = adjusted.reference.how == GIVEN
    told: list[Words] = [
        said("{symbol} {x}: {why}", symbol=f.symbol, x=number(f.value, figures=4), why=f.why)
        for f in adjusted.factors
        if not f.left_out and (given or _tells(f))
    ]
    without = [f.symbol for f in adjusted.factors if f.left_out]
    if without:
        told.append(f"not applied, as its row of lumber.stock does not name them: {', '.join(without)}")
    return CalcLine(
        label, adjusted.value, adjusted.unit, adjusted.formula, together(adjusted.reference.citation, *told)
    )


def _tells(f: Factor) -> bool:
    return f.value != 1.0 or f.symbol in ("CM", "CL", "Cr")


def areas(
    load: Brought, c: Combination, loads: DesignLoads, least: bool = False, also: Sequence[tuple[str, float]] = ()
) -> Said:
    """Pounds of a place: psf on the square feet that load it, steadily and where the moving load stands that presses it
    most, or least; what is always there, and what comes to it `also`, by name."""
    dead, moving = c.psf(loads)
    terms = [("dead", dead, load.steady), (moving_load(c), moving, load.least if least else load.most)]
    symbols = [f"{name} x area" for name, psf, _ in terms if psf]
    numbers: list[Said] = [
        said("{psf} psf x {area}", psf=number(psf, figures=4), area=Quantity(float(area), "surface", None, figures=4))
        for _, psf, area in terms
        if psf
    ]
    snow = c.snow * (min(0.0, load.drift, load.slide) if least else load.snow)
    for name, pounds in (("its own", load.own), ("snow from the roof", snow), *also):
        if pounds:
            symbols.append(name)
            numbers.append(said("{lb} lb", lb=put_in(pounds)))
    return said(f"{' + '.join(symbols)} = {{numbers}}", numbers=listed(numbers, " + "))


def moving_load(c: Combination) -> str:
    """What moves under a combination, in a word."""
    return "live and snow" if c.live and c.snow else "snow" if c.snow else "live"
