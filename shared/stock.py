"""What the yard sells: nominal and dressed sizes, materials and their densities, lengths sold. Data in `data/`."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from .errors import InputError
from .standards import density, table

CUBIC_INCHES_PER_CUBIC_FOOT = 1728.0
MOISTURE_AS_BOUGHT = 19.0  # percent; the upper bound of "dry" lumber (PS 20), so weights are not flattered


@dataclass(frozen=True)
class Stock:
    """A material to cut pieces from. `name` is nominal (`2x8`); `thickness` and `width` are dressed, in inches.

    `material` is a key of the materials data (`treated lumber`, `composite board`, `concrete`, `steel`, ...).
    """

    name: str
    thickness: float
    width: float
    material: str


@dataclass(frozen=True)
class Material:
    """What a piece is made of. `density_pcf` in pounds a cubic foot, `thermal_per_degF` in inches an inch a degree
    Fahrenheit along the piece, `kind` is lumber, board, poured or metal. `how` is `seen` or `memory` (see
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


def lumber(nominal: str, material: str = "treated lumber") -> Stock:
    """The stock of a nominal size (`2x8`, `5/4x6`) at its dressed size after PS 20 (`data/dressed_sizes.csv`).

    Raises InputError naming the sizes, or the materials, that are known.
    """
    name = nominal.strip().lower().replace(" ", "").replace("×", "x")
    if name not in _dressed():
        raise InputError(f"got the nominal size {nominal!r}; known sizes are {', '.join(nominal_sizes())}")
    return Stock(name, *_dressed()[name], _known(material).name)


def materials() -> tuple[str, ...]:
    """Every material's name."""
    return tuple(_materials())


def material(name: str) -> Material:
    """The material of that name. Raises InputError naming those that are known."""
    return _known(name)


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
    """Lengths the stock is sold in, inches, shortest first; empty for what is not sold by length. Common practice, no
    source."""
    kind = "board" if stock.name.startswith("5/4") else material(stock.material).kind
    for r in table("lengths_sold"):
        if r["kind"] == kind:
            return tuple(12.0 * float(feet) for feet in r["lengths_ft"].split("|"))
    return ()


def weight(stock: Stock, volume: float) -> float:
    """Pounds of `volume` cubic inches of that stock."""
    return material(stock.material).weight(volume)
