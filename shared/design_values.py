"""Reference design values of sawn lumber and their adjustment factors, from `data/nds_reference.csv` and
`data/nds_factors.csv`.

Stresses in psi. Which row answers depends on the grading rule of the size: dimension lumber (2 to 4 in thick) has
values by width for southern pine and one base value with a size factor for the rest; 5 in and thicker are posts and
timbers.
"""

from __future__ import annotations

from functools import cache

from .cited import Row
from .errors import InputError
from .standards import check_species, table
from .stock import Stock

GIVEN = "given"  # a row's `how` where the parameter file gives the value
PROPERTIES = ("Fb", "Ft", "Fv", "Fc_perp", "Fc", "E", "Emin")


def split_nominal(nominal: str) -> tuple[int, int]:
    """`2x8` -> (2, 8). Raises InputError for anything that is not sawn lumber by that kind of name."""
    try:
        thickness, width = (int(n) for n in nominal.split("x"))
    except ValueError:
        raise InputError(f"got the size {nominal!r}; design values are for sawn lumber such as 2x8 or 6x6") from None
    return thickness, width


def size_class(nominal: str) -> str | None:
    """`dimension` (2 to 4 in thick), `timber` (posts and timbers, 5 in and thicker, at most 2 in wider than thick) or
    None."""
    thickness, width = sorted(split_nominal(nominal))
    if 2 <= thickness <= 4:
        return "dimension"
    return "timber" if thickness >= 5 and width - thickness <= 2 else None


def of_row(width: int) -> int:
    """The nominal width by whose row dimension lumber so wide goes: NDS Supplement Tables 4A and 4B print one for 2 to
    4 in wide (from memory), here that of 4 in."""
    return max(width, 4)


@cache
def grades(species: str) -> tuple[str, ...]:
    """The grades the data has for a species."""
    name = check_species(species)
    return tuple(dict.fromkeys(r["grade"] for r in table("nds_reference") if r["species"] == name))


@cache
def reference_value(species: str, grade: str, nominal: str, property: str) -> Row | None:
    """The reference value of a property (one of PROPERTIES). None where the size, or that size of the grade, is not in
    the data.

    Raises InputError for an unknown species or grade.
    """
    name = check_species(species)
    if grade not in grades(name):
        raise InputError(f"got the grade {grade!r} of {name}; the data has {', '.join(grades(name)) or 'none'}")
    kind = size_class(nominal)
    _thickness, width = sorted(split_nominal(nominal))
    # southern pine is tabulated by width for all dimension lumber, whatever its thickness
    for size in (f"2x{of_row(width)}", "dimension") if kind == "dimension" else (kind,):
        for r in table("nds_reference"):
            if (r["species"], r["grade"], r["size"], r["property"]) == (name, grade, size, property):
                narrow = ", in the row for {2 in} to {4 in} wide" if width < of_row(width) else ""
                case = f"{name} {grade}, {nominal}{narrow}"
                return _nds_row(r, property, "psi", case, r["value_psi"])
    return None


def given_value(stock: Stock, property: str) -> Row | None:
    """The value that a parameter file gives for a size of its own, by its standard; None where it gives none."""
    if stock.given is None or property not in dict(stock.given.psi):
        return None
    source = f"given by the builder for {stock.name}: {stock.given.standard}"
    return Row(property, "psi", stock.given.standard, source, GIVEN, value=dict(stock.given.psi)[property])


def dressed_class(stock: Stock) -> str:
    """`dimension` or `timber` by the dressed thickness, for a size whose name says nothing of it."""
    least = min(stock.thickness, stock.width)
    return "timber" if least >= factor("class", "timber", "dressed thickness, in").value else "dimension"


@cache
def factor(name: str, property: str, case: str) -> Row:
    """One adjustment factor or constant of the NDS. KeyError where the data has none for the case."""
    for r in table("nds_factors"):
        if (r["factor"], r["property"], r["case"]) == (name, property, case):
            return _nds_row(r, name, "ratio", case, r["value"])
    raise KeyError(f"data/nds_factors.csv has no {name} for {property}, {case}")


def _nds_row(r: dict[str, str], item: str, unit: str, case: str, value: str) -> Row:
    doubtful = bool(r["doubtful"])
    return Row(item, unit, "NDS", r["source"], r["how"], doubtful, r["note"], case, value=float(value))


@cache
def has_values_by_width(species: str) -> bool:
    """True for species whose values already hold the size factor (southern pine)."""
    name = check_species(species)
    return any(r["species"] == name and r["size"].startswith("2x") for r in table("nds_reference"))
