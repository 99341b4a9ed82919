"""Thermal movement of boards: the end gap to leave on the day of laying, and what becomes of it in summer and winter.

A board of length L changes by coefficient x L x temperature difference (the linear law of thermal expansion). A joint
gets the movement of one whole board: half of each of its two boards, or all of one that is held at its far end. Wood
moves with its moisture across the grain instead: what a board shrinks is its width x coefficient x percent of moisture,
below the fibre saturation point (the linear law of the Wood Handbook). The coefficient is the one given in the
parameter file (`gaps.coefficient`, `gaps.trim_coefficient`), else the material's row of the data. Inches and degrees
Fahrenheit.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from ...shared.design_values import GIVEN
from ...shared.standards import table
from ...shared.stock import Material, material, species_of
from ..input.gaps_table import Gaps
from ..input.parameters import Parameters
from ..solid.roles import named
from .measure import Measured

LAID_WITH_GAPS = named("laid with gaps")
SIXTEENTH = 1 / 16
SATURATED = 28.0  # percent: wetter wood is as wide (fibre saturation point, Wood Handbook ch. 4, from memory)
_EXACT = 1e-9


def movement(length: float, coefficient: float, degrees: float) -> float:
    """Change of a board's length, inches: coefficient (inches an inch a degree Fahrenheit) x length x degrees."""
    return coefficient * length * degrees


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


@dataclass(frozen=True)
class AcrossGrain:
    """How a wood moves across the grain: share of its width for each percent of moisture, flat grain, and its
    source."""

    tangential: float
    source: str

    def shrinks(self, width: float, moisture: float, to: float) -> float:
        """Inches that a board of a `width` shrinks from one percent of moisture `to` another; below 0: swells."""
        return width * self.tangential * (min(moisture, SATURATED) - to)


def across_grain(name: str, parameters: Parameters) -> AcrossGrain | None:
    """Of the wood of a material, treated lumber being of the file's species; None of another material, or where no row
    of the data is of its species."""
    if material(name).kind != "lumber":
        return None
    kind = parameters.lumber.species if name == "treated lumber" else species_of(name)
    for r in table("wood_movement"):
        if r["species"] == kind:
            return AcrossGrain(float(r["tangential"]), f"{r['source']} (from memory)" if r["how"] else r["source"])
    return None


def wet_gap(gap: float, width: float, moisture: float, to: float, wood: AcrossGrain) -> float:
    """The gap to leave between two boards of a `width` laid at a percent of `moisture`, so that `gap` stays where they
    come `to` another: to a sixteenth below, and none where they shrink by more than it."""
    left = gap - wood.shrinks(width, moisture, to)
    return max(math.floor(left / SIXTEENTH + 1e-6) * SIXTEENTH, 0.0)


@dataclass(frozen=True)
class EndGap:
    """The end gap of one board's joint. `least` is the gap that just stays open at `summer_f`; `gap` is what to set:
    the next sixteenth above it, or half way to `most` where that sixteenth is too much. `summer`, `winter` are what
    `gap` becomes at the extremes; negative would be board on board.

    `most` is the widest gap at laying that still keeps `limit` in winter. Where `least` is more than `most` no gap
    keeps both, and `longest` is the length of board for which one still would.
    """

    material: Material
    length: float
    temperature_f: float
    summer_f: float
    winter_f: float
    limit: float
    least: float
    most: float
    gap: float
    summer: float
    winter: float
    longest: float

    @property
    def closes(self) -> bool:
        """Whether the joint closes before the summer extreme is reached."""
        return self.summer < -_EXACT

    @property
    def opens_beyond(self) -> bool:
        """Whether the joint opens beyond the limit at the winter extreme."""
        return self.winter > self.limit + _EXACT

    @property
    def range(self) -> float:
        """How far a joint moves from winter to summer."""
        return movement(self.length, self.material.thermal_per_degF, self.summer_f - self.winter_f)

    @property
    def source(self) -> str:
        """Where the coefficient comes from, with its mark: from memory, DOUBTFUL."""
        return coefficient_source(self.material)


def coefficient_source(of: Material) -> str:
    """The source of a coefficient in words: the parameter file, or the material's own row and how far it can be
    trusted."""
    if of.how == GIVEN:
        return of.source
    how = "DOUBTFUL, " if of.doubtful else ""
    # a row of lumber names the density's source; its note names the coefficient's
    note = of.note[of.note.index("thermal") :] if "thermal" in of.note else of.source
    if "per degF" in note:  # the row's source names the density too
        title, _, rest = note.partition(": ")
        note = f"{title}: {next(part for part in rest.split(', ') if 'per degF' in part)}" if rest else note
    memory = "from memory" if of.how == "memory" or "memory" in note else "seen"
    return f"{note} ({how}{memory})"


def end_gap(length: float, of: Material, temperature_f: float, gaps: Gaps, left: float | None = None) -> EndGap:
    """The end gap for a board of `length` inches laid at `temperature_f`; what becomes of a gap that is `left` instead
    of the one to set."""
    grows = max(0.0, movement(length, of.thermal_per_degF, gaps.summer_f - temperature_f))
    shrinks = max(0.0, movement(length, of.thermal_per_degF, temperature_f - gaps.winter_f))
    most = gaps.limit - shrinks
    gap = math.ceil(grows / SIXTEENTH - 1e-6) * SIXTEENTH
    if gap > most >= grows:
        gap = (grows + most) / 2
    gap = gap if left is None else left
    span = of.thermal_per_degF * (gaps.summer_f - gaps.winter_f)
    longest = gaps.limit / span if span > 0 else math.inf
    return EndGap(
        of,
        length,
        temperature_f,
        gaps.summer_f,
        gaps.winter_f,
        gaps.limit,
        grows,
        most,
        gap,
        gap - movement(length, of.thermal_per_degF, gaps.summer_f - temperature_f),
        gap + movement(length, of.thermal_per_degF, temperature_f - gaps.winter_f),
        longest,
    )


@dataclass(frozen=True)
class LongestBoard:
    """The longest piece of one role and material: what sets the gap."""

    role: str
    mark: str
    length: float
    material: Material


def moving(name: str, role: str, parameters: Parameters | None) -> Material:
    """The material of a piece of that role, with the coefficient given for it in the parameter file where there is
    one."""
    of = material(name)
    if parameters is None:
        return of
    gaps, key = parameters.gaps, "coefficient"
    if role == "fascia" and (
        gaps.trim_coefficient is not None or parameters.trim.material != parameters.surface.material
    ):
        key = "trim_coefficient"
    value = getattr(gaps, key)
    return (
        of
        if value is None
        else replace(
            of,
            thermal_per_degF=value,
            source=f"given in the parameter file (gaps.{key})",
            how=GIVEN,
            doubtful=False,
            note="",
        )
    )


def longest_boards(
    measured: Iterable[Measured], parameters: Parameters | None = None, roles: Sequence[str] = LAID_WITH_GAPS
) -> list[LongestBoard]:
    """The longest measured piece of each role and material, in the order of `roles`; the materials' coefficients as
    `parameters` give them."""
    found: dict[tuple[str, str], Measured] = {}
    for m in measured:
        if m.role in roles:
            key = (m.role, m.stock.material)
            if key not in found or m.length > found[key].length + _EXACT:
                found[key] = m
    order = sorted(found, key=lambda k: (roles.index(k[0]), k[1]))
    return [
        LongestBoard(role, found[role, name].mark, found[role, name].length, moving(name, role, parameters))
        for role, name in order
    ]
