"""What the yard sells: nominal and dressed sizes, materials and their densities, lengths sold. Data in `data/`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from types import MappingProxyType
from typing import Literal, get_args

from .errors import InputError
from .said import Words
from .standards import assumed, density, table

CUBIC_INCHES_PER_CUBIC_FOOT = 1728.0
BOARD_FOOT = 144.0  # cubic inches
KIT = "guard kit"  # what the rails and balusters of a bought guard are of: not cut from lengths of timber or board
_NONE: Mapping[str, Stock] = MappingProxyType({})
MOISTURE_AS_BOUGHT = assumed("lumber_moisture_dry_max").value  # percent: dry at most, so weights are not flattered


GivenFactor = Literal["CD", "CM", "Ci", "Cr", "Cb"]
GIVEN_FACTORS = get_args(GivenFactor)  # NDS factors that a file may say apply to its own values


@dataclass(frozen=True)
class GivenValues:
    """What a parameter file says of a size of its own. `psi` holds the allowable design values by property (`Fb`, ...),
    `standard` says by what they are allowable, `factors` are the symbols of the NDS adjustment factors that apply to
    them; `lengths` sold in inches; `density_pcf` in pounds a cubic foot, None for the material's."""

    psi: tuple[tuple[str, float], ...]
    standard: str
    factors: tuple[GivenFactor, ...]
    lengths: tuple[float, ...]
    density_pcf: float | None = None


@dataclass(frozen=True)
class Stock:
    """A material to cut pieces from. `name` is nominal (`2x8`); `thickness` and `width` are dressed, in inches.

    `material` is a key of the materials data (`treated lumber`, `composite board`, `concrete`, `steel`, ...). `given`
    is what a parameter file gives for a size of its own, None for sizes of the data: it goes with the piece, so that
    nothing is ever looked up by such a name. `called` says the name of a stock that is named by its measure, for paper;
    `name` then has it in inches, for lists.
    """

    name: str
    thickness: float
    width: float
    material: str
    given: GivenValues | None = None
    called: Words = field(default="", compare=False)

    @property
    def alone(self) -> Stock:
        """The timber without the values given for it: the same piece to whoever buys or compares it."""
        return self if self.given is None else replace(self, given=None)

    @property
    def density_pcf(self) -> float:
        """Pounds a cubic foot: as given, else the material's."""
        own = self.given.density_pcf if self.given is not None else None
        return material(self.material).density_pcf if own is None else own

    @property
    def density_source(self) -> str:
        """Where that density comes from."""
        if self.given is not None and self.given.density_pcf is not None:
            return f"density of {self.name} given by the builder"
        return material(self.material).source


@dataclass(frozen=True)
class Material:
    """What a piece is made of. `density_pcf` in pounds a cubic foot, `thermal_per_degF` in inches an inch a degree
    Fahrenheit along the piece, `kind` is lumber, board, kit, poured or metal. `how` is `seen` or `memory` (see
    `standards.Row`)."""

    name: str
    kind: str
    density_pcf: float
    thermal_per_degF: float
    source: str
    how: str
    doubtful: bool
    note: str

    def weight(self, volume: float) -> float:
        """Pounds from cubic inches."""
        return volume * self.density_pcf / CUBIC_INCHES_PER_CUBIC_FOOT


@cache
def _dressed() -> dict[str, tuple[float, float]]:
    return {r["nominal"]: (float(r["thickness_in"]), float(r["width_in"])) for r in table("dressed_sizes")}


def nominal_sizes() -> tuple[str, ...]:
    """Every nominal size in the data, smallest first (`1x2` .. `8x8`)."""
    return tuple(_dressed())


def lumber(nominal: str, material: str = "treated lumber", own: Mapping[str, Stock] = _NONE) -> Stock:
    """The stock of a nominal size (`2x8`, `5/4x6`) at its dressed size after PS 20 (`data/dressed_sizes.csv`), or the
    one of that name among the `own` sizes of a parameter file.

    Raises InputError naming the sizes, or the materials, that are known.
    """
    name = nominal.strip().lower().replace(" ", "").replace("×", "x")
    if name in own:
        return own[name]
    if name not in _dressed():
        raise InputError(f"got the nominal size {nominal!r}; known sizes are {', '.join((*nominal_sizes(), *own))}")
    return Stock(name, *_dressed()[name], _known(material).name)


@cache
def sold() -> tuple[Stock, ...]:
    """The sizes of the data as treated lumber, thin before thick, narrow before wide."""
    return tuple(sorted((lumber(n) for n in nominal_sizes()), key=lambda s: (s.thickness, s.width)))


def materials() -> tuple[str, ...]:
    """Every material's name."""
    return tuple(_materials())


def material(name: str) -> Material:
    """The material of that name. Raises InputError naming those that are known."""
    return _known(name)


@cache
def species_of(name: str) -> str:
    """The species that a material of wood is of; "" for another. Raises InputError naming the materials."""
    known = _known(name).name
    return next(r["species"] for r in table("materials") if r["material"] == known)


def _known(name: str) -> Material:
    if name not in _materials():
        raise InputError(f"got the material {name!r}; known materials are {', '.join(_materials())}")
    return _materials()[name]


@cache
def _materials() -> dict[str, Material]:
    found = {}
    for r in table("materials"):
        weight = float(r["density_pcf"]) if r["density_pcf"] else density(r["species"], MOISTURE_AS_BOUGHT)
        found[r["material"]] = Material(
            r["material"],
            r["kind"],
            weight,
            float(r["thermal_per_degF"]),
            r["source"],
            r["how"],
            bool(r["doubtful"]),
            r["note"],
        )
    return found


@cache
def lengths_sold(stock: Stock) -> tuple[float, ...]:
    """Lengths the stock is sold in, inches, shortest first; empty for what is not sold by length. As given for a size
    of the file's own, else common practice, no source."""
    if stock.given is not None:
        return tuple(sorted(set(stock.given.lengths)))
    kind = "board" if stock.name.startswith("5/4") else material(stock.material).kind
    for r in table("lengths_sold"):
        if r["kind"] == kind and r["nominal"] in ("", stock.name):
            return tuple(12.0 * float(feet) for feet in r["lengths_ft"].split("|"))
    return ()


def square_size(width: float) -> str:
    """The nominal square size so many inches wide (`6x6` of 5.5), empty for a width that none has."""
    square = (n for n in nominal_sizes() if len(set(n.split("x"))) == 1)
    return next((n for n in square if abs(lumber(n).width - width) < 1e-6), "")


def own_sizes(stocks: Iterable[Stock]) -> list[Stock]:
    """Those that a parameter file gives, each once, by name."""
    return sorted({s for s in stocks if s.given is not None}, key=lambda s: s.name)


def weight(stock: Stock, volume: float) -> float:
    """Pounds of `volume` cubic inches of that stock."""
    return volume * stock.density_pcf / CUBIC_INCHES_PER_CUBIC_FOOT
