"""Adjusted design values of sawn lumber by the National Design Specification (NDS), every factor listed by name.

Stresses in psi, sizes in inches. Reference values and factors come with their rows from `shared/design_values`;
temperature is taken as ordinary (Ct = 1.0, up to 100 degF). A size or grade the data lacks gives `NoValue`, never a
guess. Stock with values given by the builder keeps them: no size factor, and of the others those alone that its row
names; stability (CL, CP) is the member's own and always taken.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from ...shared.cited import Row
from ...shared.design_values import (
    dressed_class,
    factor,
    given_value,
    has_values_by_width,
    of_row,
    reference_value,
    size_class,
    split_nominal,
)
from ...shared.errors import PlumbcutError
from ...shared.said import Said, Words, decimal, listed, number, put_in, quoting, said
from ...shared.standards import check_species, clause
from ...shared.stock import GivenValues, Stock
from ..input.lumber_grade import LumberGrade

Sawn = str | Stock  # a nominal size by its name, or stock that may bring values of its own


def _at(name: str) -> str:
    """Where a clause stands, by its name in the data."""
    return clause(name).source


FACTORS = _at("factors")


class NoValue(PlumbcutError):
    """The data has no design value for this size, species or grade: what depends on it is not checked."""


@dataclass(frozen=True)
class Lumber:
    """What the frame is made of: species and grade as in the tables; `wet` in service; `incised` by the treater."""

    species: str = "southern pine"
    grade: str = "No.2"
    wet: bool = True
    incised: bool = False

    def __post_init__(self):
        object.__setattr__(self, "species", check_species(self.species))

    @classmethod
    def of(cls, given: LumberGrade) -> Lumber:
        """What a parameter file says of the frame's lumber."""
        return cls(given.species, given.grade, given.wet, given.is_incised)


@dataclass(frozen=True)
class Factor:
    """One adjustment factor: its NDS symbol, its value, why it has it, and where that stands. `left_out`: the value was
    given without it."""

    symbol: str
    value: float
    why: Words
    source: Words = FACTORS
    left_out: bool = False


@dataclass(frozen=True, eq=False)
class Adjusted:
    """An adjusted design value: the reference row times the factors. Each is made once (the functions below keep it)
    and known by itself, so that its line of the calculation is written once too."""

    symbol: str
    reference: Row
    factors: tuple[Factor, ...]

    @property
    def value(self) -> float:
        return self.reference.value * math.prod(f.value for f in self.factors)

    @property
    def formula(self) -> Said:
        """`Fb x CD x CM = 925 psi x 1 x 0.85`: the symbols, and the numbers put in for them in the same order."""
        value = said(f"{{value}} {self.unit}", value=put_in(self.reference.value))
        factors = [number(f.value, figures=4) for f in self.factors]
        symbols = " x ".join([self.reference.item, *(f.symbol for f in self.factors)])
        return said(f"{symbols} = {{numbers}}", numbers=listed([value, *factors], " x "))

    @property
    def unit(self) -> str:
        """Of a stress, or the pounds of one fastener."""
        return "lb" if self.reference.unit == "lb" else "psi"


def _given(size: Sawn) -> GivenValues | None:
    return size.given if isinstance(size, Stock) else None


def _nominal(size: Sawn) -> str:
    return size.name if isinstance(size, Stock) else size


def _class(size: Sawn) -> str | None:
    """Its class by the dressed thickness where the values are given, else by the nominal name."""
    return dressed_class(size) if isinstance(size, Stock) and size.given else size_class(_nominal(size))


def _left_out(symbol: str, size: Sawn) -> Factor | None:
    """The factor at 1 where values are given and their row does not name it."""
    given = _given(size)
    if given is None or symbol in given.factors:
        return None
    return Factor(symbol, 1.0, f"not applied: lumber.stock {_nominal(size)} does not name it", left_out=True)


def _reference(lumber: Lumber, size: Sawn, property: str) -> Row:
    if isinstance(size, Stock) and size.given:
        row, whose = given_value(size, property), f"{size.name} in its row of lumber.stock"
    else:
        nominal = _nominal(size)
        row = reference_value(lumber.species, lumber.grade, nominal, property)
        whose = f"{lumber.species} {lumber.grade} {nominal} in the data"
    if row is None:
        raise NoValue(f"no {property} for {whose}")
    return row


def _from(row: Row, symbol: str, why: Words) -> Factor:
    return Factor(symbol, row.value, why, row.citation)


def _duration(duration: str, size: Sawn) -> Factor:
    return _left_out("CD", size) or _from(factor("CD", duration, ""), "CD", f"load duration: {duration}")


def size_factor(lumber: Lumber, size: Sawn, property: str) -> Factor:
    """CF for Fb, Ft or Fc. Southern pine values already hold it, but for 4 in members 8 in and wider in bending; given
    values are for their size."""
    nominal = _nominal(size)
    if _given(size):
        return Factor("CF", 1.0, "none: the value is given for this size")
    thickness, width = sorted(split_nominal(nominal))
    if size_class(nominal) == "timber":
        return Factor("CF", 1.0, quoting("{12 in} deep or less"), _at("size factor of deep members"))
    if has_values_by_width(lumber.species):
        if property == "Fb" and thickness == 4 and width >= 8:
            return _from(
                factor("CF", "Fb", "4x8 and wider, southern pine"), "CF", quoting("{4 in} thick, {8 in} or wider")
            )
        return Factor("CF", 1.0, "in the reference value", _at("size factor in the value"))
    try:
        row = factor("CF", "Fc" if property == "Fc" else "Fb", f"{thickness}x{of_row(width)}")
    except KeyError:
        raise NoValue(f"no size factor for {nominal} in the data") from None
    return _from(row, "CF", f"size {thickness}x{width}")


def _wet(lumber: Lumber, size: Sawn, property: str, with_size: float) -> Factor:
    if (out := _left_out("CM", size)) is not None:
        return out
    if not lumber.wet:
        return Factor("CM", 1.0, "dry in service")
    kind, given = _class(size), _given(size)
    if kind == "timber" and not given and has_values_by_width(lumber.species):
        kind = "timber, southern pine"
    row = factor("CM", property, kind)
    # the bound below which there is none belongs to the tables' own values
    if kind == "dimension" and not given and property in ("Fb", "Fc"):
        bound = factor("CM limit", property, kind)
        if with_size <= bound.value:
            why = said(
                "{property} x CF {psi} <= {bound} psi",
                property=property,
                psi=number(with_size, 0, grouped=True),
                bound=number(bound.value, 0, grouped=True),
            )
            return Factor("CM", 1.0, why, bound.citation)
    return _from(row, "CM", "wet in service")


def _incised(lumber: Lumber, property: str, size: Sawn) -> Factor:
    if (out := _left_out("Ci", size)) is not None:
        return out
    if not lumber.incised:
        return Factor("Ci", 1.0, "not incised")
    return _from(factor("Ci", property, ""), "Ci", "incised")


_TEMPERATURE = Factor("Ct", 1.0, "up to 100 degF", _at("temperature"))


def _plain(
    lumber: Lumber,
    size: Sawn,
    property: str,
    symbol: str,
    first: tuple[Factor, ...] = (),
    last: tuple[Factor, ...] = (),
    sized: bool = False,
) -> Adjusted:
    row = _reference(lumber, size, property)
    of_size = (size_factor(lumber, size, property),) if sized else ()
    with_size = row.value * math.prod(f.value for f in of_size)
    wet = _wet(lumber, size, property, with_size)
    return Adjusted(symbol, row, (*first, wet, _TEMPERATURE, *of_size, _incised(lumber, property, size), *last))


@lru_cache(maxsize=4096)
def bending(
    lumber: Lumber,
    size: Sawn,
    duration: str,
    repetitive: bool,
    breadth: float | None = None,
    depth: float | None = None,
    unbraced: float = 0.0,
    flat: bool = False,
) -> Adjusted:
    """Fb'. `repetitive`: three or more members at most 24 in apart sharing load. `unbraced` is the length lu over which
    the compression edge is not held, with the `breadth` and `depth` of the whole member; 0 means held all along (CL =
    1)."""
    row = _reference(lumber, size, "Fb")
    of_size = size_factor(lumber, size, "Fb")
    wide = _flat_use(size) if flat else Factor("Cfu", 1.0, "on edge")
    if (out := _left_out("Cr", size)) is not None:
        shared = out
    elif repetitive and _class(size) == "dimension":
        shared = _from(factor("Cr", "Fb", ""), "Cr", "three or more members sharing load")
    else:
        shared = Factor("Cr", 1.0, "not repetitive")
    others = (
        _duration(duration, size),
        _wet(lumber, size, "Fb", row.value * of_size.value),
        _TEMPERATURE,
        of_size,
        wide,
        _incised(lumber, "Fb", size),
        shared,
    )
    if unbraced <= 0 or flat:
        held = Factor("CL", 1.0, "compression edge held all along", _at("beam held all along"))
    else:
        star = row.value * math.prod(f.value for f in others if f.symbol != "Cfu")
        assert breadth is not None and depth is not None, "a length not held is given with the whole member's section"
        held = _stability(star, modulus(lumber, size, "Emin").value, breadth, depth, unbraced)
    return Adjusted("Fb'", row, (*others[:3], held, *others[3:]))


def _flat_use(size: Sawn) -> Factor:
    try:
        return _from(factor("Cfu", "Fb", _nominal(size)), "Cfu", "laid flat")
    except KeyError:
        return Factor("Cfu", 1.0, "laid flat; no gain taken")


def effective_length(unbraced: float, depth: float) -> float:
    """le of a bending member for any loading (NDS Table 3.3.3, footnote 1)."""
    ratio = unbraced / depth
    if ratio < _length("short below lu/d of"):
        return _length("any load, short: x lu") * unbraced
    if ratio <= _length("long past lu/d of"):
        return _length("any load, between: x lu") * unbraced + _length("any load, between: depths added") * depth
    return _length("any load, long: x lu") * unbraced


def _length(case: str) -> float:
    return factor("le", "beam", case).value


def _stability(star: float, emin: float, breadth: float, depth: float, unbraced: float) -> Factor:
    """CL by NDS 3.3.3. Raises NoValue past a slenderness RB of 50, which the NDS does not allow."""
    if depth <= breadth:
        return Factor("CL", 1.0, "no deeper than broad", _at("beam no deeper than broad"))
    rb = math.sqrt(effective_length(unbraced, depth) * depth / breadth**2)
    most = factor("slenderness", "beam", "").value
    if rb > most:
        raise NoValue(
            f"slenderness RB of {rb:.1f} is over {most:.0f} ({_at('beam too slender')}): hold the compression edge"
        )
    ratio = factor("KbE", "beam", "").value * emin / rb**2 / star
    c = factor("c", "lateral", "").value
    a = (1 + ratio) / (2 * c)
    why = said("lu {lu}, RB {rb}", lu=decimal(unbraced, 1), rb=number(rb, 1))
    return Factor("CL", a - math.sqrt(a * a - ratio / c), why, _at("beam stability"))


@lru_cache(maxsize=4096)
def shear(lumber: Lumber, size: Sawn, duration: str) -> Adjusted:
    """Fv'."""
    return _plain(lumber, size, "Fv", "Fv'", (_duration(duration, size),))


@lru_cache(maxsize=4096)
def tension(lumber: Lumber, size: Sawn, duration: str) -> Adjusted:
    """Ft'."""
    return _plain(lumber, size, "Ft", "Ft'", (_duration(duration, size),), sized=True)


@lru_cache(maxsize=4096)
def bearing(lumber: Lumber, size: Sawn, length: float, from_end: float) -> Adjusted:
    """Fc_perp' over a bearing `length` that starts `from_end` inches from the member's end (Cb only away from the
    end)."""
    added, short, near, least = (
        factor("Cb", "Fc_perp", k).value
        for k in (
            "length added, in",
            "bearing shorter than, in",
            "no nearer the end than, in",
            "taken no shorter than, in",
        )
    )
    if (out := _left_out("Cb", size)) is not None:
        area = out
    elif length < short and from_end >= near:
        area = Factor(
            "Cb",
            (max(length, least) + added) / max(length, least),
            said(
                "bearing {length}, {from_end} from the end",
                length=decimal(length, figures=3),
                from_end=decimal(from_end, figures=3),
            ),
            _at("bearing area factor"),
        )
    else:
        area = Factor(
            "Cb", 1.0, said("at the end, or {short} and longer", short=decimal(short, None)), _at("bearing area factor")
        )
    return _plain(lumber, size, "Fc_perp", "Fc_perp'", last=(area,))


@lru_cache(maxsize=4096)
def modulus(lumber: Lumber, size: Sawn, which: str = "E") -> Adjusted:
    """E' or Emin'."""
    return _plain(lumber, size, which, f"{which}'")


@lru_cache(maxsize=4096)
def compression(lumber: Lumber, size: Sawn, duration: str, slenderness: float) -> Adjusted:
    """Fc' of a solid column with slenderness le/d (the larger of both ways). Raises NoValue past 50 (NDS 3.7.1.4)."""
    plain = _plain(lumber, size, "Fc", "Fc'", (_duration(duration, size),), sized=True)
    most = factor("slenderness", "column", "").value
    if slenderness > most:
        raise NoValue(f"slenderness le/d of {slenderness:.1f} is over {most:.0f} ({_at('column too slender')})")
    if slenderness <= 0:
        return Adjusted(
            "Fc'",
            plain.reference,
            (*plain.factors, Factor("CP", 1.0, "held all along", _at("column held all along"))),
        )
    star = plain.value
    ratio = factor("KcE", "column", "").value * modulus(lumber, size, "Emin").value / slenderness**2 / star
    c = factor("c", "column", "sawn").value
    a = (1 + ratio) / (2 * c)
    why = said("le/d {ratio}", ratio=number(slenderness, 1))
    steady = Factor("CP", a - math.sqrt(a * a - ratio / c), why, _at("column stability"))
    return Adjusted("Fc'", plain.reference, (*plain.factors, steady))
