"""Published limits and tables, each answer with the row it came from. Data in `data/*.csv`; nothing is extrapolated.

A number stands once in the data, in a row that says how it is known: `seen` (read in a published copy) or `memory`
(recalled, unverified). Where one document repeats another's numbers, `data/tables.csv` says which table serves which
edition and how sure that is. Between printed columns the safer neighbour is taken. Lengths in inches unless a name says
feet, because the printed tables are entered by feet.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from pathlib import Path

from .cited import Cited, Missing, Named, Row
from .errors import DesignError, InputError

_DATA = Path(__file__).with_name("data")


@cache
def table(name: str) -> tuple[dict[str, str], ...]:
    """The rows of `data/<name>.csv` as dictionaries of text, read once."""
    with open(_DATA / f"{name}.csv", encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


@dataclass(frozen=True)
class Edition:
    """An edition of a code or guide. Where it has no row of its own, those of `takes_from` serve, known as `how`
    says."""

    name: str
    in_force: bool
    takes_from: str
    how: str


@cache
def editions() -> dict[str, Edition]:
    """The rows of `data/editions.csv`, by name."""
    return {
        r["edition"]: Edition(r["edition"], r["in_force"] == "yes", r["takes_from"], r["how"] or "seen")
        for r in table("editions")
    }


def editions_in_force() -> tuple[str, ...]:
    """The editions that a file may choose."""
    return tuple(e.name for e in editions().values() if e.in_force)


def check_edition(edition: str) -> str:
    """The edition itself. Raises InputError naming those that are known."""
    if edition not in editions():
        raise InputError(f"got the edition {edition!r}; known editions are {', '.join(editions())}")
    return edition


def _lineage(edition: str) -> Iterator[tuple[str, str]]:
    """(edition, how) of the edition and of those it takes rows from, nearest first."""
    how = "seen"
    while edition:
        yield check_edition(edition), how
        found = editions()[edition]
        how = found.how if how == "seen" else how
        edition = found.takes_from


def clause(name: str, edition: str = "") -> Cited:
    """A clause that states no number of its own, by the name it has in `data/clauses.csv`. KeyError for none."""
    for r in table("clauses"):
        if r["clause"] == name:
            return Cited(name, "", edition, r["source"].format(edition=edition), r["how"], False, r["note"])
    raise KeyError(f"no clause is called {name!r} in data/clauses.csv")


@cache
def use_categories() -> tuple[str, ...]:
    """Use categories of treated wood, from the mildest exposure to the hardest."""
    return tuple(r["category"] for r in sorted(table("use_categories"), key=lambda r: int(r["rank"])))


def _feet(text: str) -> str:
    """A printed feet-inches for `quoting`; `NP` is no length."""
    return text if text == "NP" else f"{{{text}}}"


def inches_from_table(text: str) -> float:
    """Inches from a printed `11-10` (feet-inches); `NP` (not permitted) is 0."""
    if text == "NP":
        return 0.0
    match = re.fullmatch(r"(\d+)-(\d+)", text)
    if not match:
        raise ValueError(f"not a printed feet-inches: {text!r}")
    return 12.0 * int(match[1]) + int(match[2])


# Species -------------------------------------------------------------------------------------------------------------


@cache
def species_names() -> tuple[str, ...]:
    """Every species the data knows, as the tables spell it."""
    return tuple(r["species"] for r in table("species"))


def check_species(name: str) -> str:
    """The species as the tables spell it, whatever its capitals. Raises InputError naming those that are known."""
    wanted = name.strip().lower().rstrip("s")  # "western cedar" and "western cedars" are both written
    for known in species_names():
        if known.lower().rstrip("s") == wanted:
            return known
    raise InputError(f"got the species {name!r}; known species are {', '.join(species_names())}")


def specific_gravity(species: str) -> Row:
    """Oven-dry specific gravity G (NDS Table 12.3.3A)."""
    name = check_species(species)
    r = next(r for r in table("species") if r["species"] == name)
    return Row(
        "specific gravity",
        "ratio",
        "NDS",
        r["source"],
        r["how"],
        note=r["note"],
        case=name,
        value=float(r["specific_gravity"]),
    )


def density(species: str, moisture: float) -> float:
    """Pounds a cubic foot at a moisture content in percent: 62.4 G/(1 + 0.009 G M) (1 + M/100), NDS Supplement
    3.1.3."""
    g = specific_gravity(species).value
    return 62.4 * g / (1 + 0.009 * g * moisture) * (1 + moisture / 100)


# Single limits -------------------------------------------------------------------------------------------------------


_NAMES = ("nominal", "category")  # units of a limit that is a name


@cache
def limit_items() -> tuple[str, ...]:
    """Every item `limit` knows."""
    return tuple(dict.fromkeys(r["item"] for r in table("limits") if r["unit"] not in _NAMES))


@cache
def find_limit(item: str, edition: str) -> Row | None:
    """The limit of that name in that edition; None where the edition has none in the data. KeyError for an unknown
    item."""
    if item not in limit_items():
        raise KeyError(f"no limit is called {item!r} in data/limits.csv")
    found = _find(item, edition)
    return None if found is None else _limit_row(found[0], edition, found[1])


def _find(item: str, edition: str) -> tuple[dict[str, str], str] | None:
    """The data row of a limit and how it is known in that edition."""
    for name, how in _lineage(edition):
        for r in table("limits"):
            if r["item"] == item and name in r["editions"].split("|"):
                return r, "seen" if r["how"] == how == "seen" else "memory"
    return None


@cache
def assumed(item: str) -> Row:
    """A limit that the published tables assume, whatever the edition. KeyError for an unknown item."""
    for r in table("limits"):
        if r["item"] == item:
            return _limit_row(r, r["editions"].split("|")[0], r["how"])
    raise KeyError(f"no limit is called {item!r} in data/limits.csv")


def _limit_row(r: dict[str, str], edition: str, how: str) -> Row:
    value = float(r["value"])
    return Row(r["item"], r["unit"], edition, r["source"], how, bool(r["doubtful"]), r["note"], value=value)


TABLE_LOAD_PSF = assumed("table_load").value  # live or ground snow: what every span, post and footing table assumes


def limit(item: str, edition: str) -> Row:
    """As `find_limit`, but DesignError, naming the key, where the edition has no such limit: for what the plan is drawn
    by."""
    row = find_limit(item, edition)
    if row is None:
        raise DesignError(
            "local.edition",
            f"{edition} has no {item.replace('_', ' ')} in the data, by which this deck is drawn: give it a row, or say"
            " in the list of editions from which one it takes its rows",
            next((("local.edition", e) for e in editions_in_force() if find_limit(item, e) is not None), None),
        )
    return row


def limit_or_missing(item: str, edition: str) -> Row:
    """As `find_limit`, but `Missing` where the edition has no such limit: for rules, which are then not checked."""
    return find_limit(item, edition) or Missing.of(item, edition)


def find_named(item: str, edition: str) -> Named | None:
    """A limit that is a name: the least size of stock, or the mildest use category. None where there is none."""
    found = _find(item, edition)
    if found is None:
        return None
    r, how = found
    return Named(item, r["unit"], edition, r["source"], how, bool(r["doubtful"]), r["note"], name=r["value"])


# Tables --------------------------------------------------------------------------------------------------------------


def _served(kind: str, edition: str, name: str) -> Iterator[tuple[dict[str, str], dict[str, str]]]:
    """(row, table entry) of every data row that serves an edition, most particular table first."""
    for own, how in _lineage(edition):
        entries = [e for e in table("tables") if e["kind"] == kind and e["edition"] == own]
        for entry in entries:
            entry = entry if how == "seen" else {**entry, "how": how}
            for wanted in entry["tables"].split("|"):
                for r in table(name):
                    if r["table"] == wanted:
                        yield r, entry
        if entries:
            return


def _carrying(kind: str, edition: str, name: str, load_psf: float) -> list[tuple[dict[str, str], dict[str, str]]]:
    """As `_served`; past the load that the editions' tables assume, the rows of a table beside them that is for it."""
    if load_psf <= TABLE_LOAD_PSF:
        return list(_served(kind, edition, name))
    heavy = next(e for e in table("tables") if e["kind"] == kind and e["edition"] not in editions())
    found = [r for r in table(name) if r["table"] == heavy["tables"] and float(r["load_psf"]) >= load_psf]
    return [(r, heavy) for r in found]


def _groups(species: str) -> dict[str, str]:
    """Table to the group of it that holds the species."""
    name = check_species(species)
    return {r["table"]: r["group"] for r in table("groups") if name in r["species"].split("|")}


def taken_as_incised(species: str) -> bool:
    """Whether the span tables assume that lumber of the species is incised (their group of that name)."""
    return "incised" in _groups(species).values()


def _row(r: dict[str, str], entry: dict[str, str], value: float, unit: str, case: str) -> Row:
    how = "seen" if r["how"] == entry["how"] == "seen" else "memory"
    source = entry["source"] if r["table"] in entry["source"] else f"{entry['source']} (numbers from {r['table']})"
    note = "; ".join(n for n in (entry["note"], r["note"]) if n)
    doubtful = bool(entry["doubtful"] or r["doubtful"])
    return Row(entry["kind"], unit, entry["edition"], source, how, doubtful, note, case, value=value)


def _column(values: Iterable[float], wanted: float) -> float | None:
    """The smallest printed column that is no smaller than the wanted value; None past the last one."""
    return min((v for v in values if v >= wanted - 1e-9), default=None)


def _number(text: str) -> float | None:
    return float(text) if text else None


@lru_cache(maxsize=1024)
def joist_span(species: str, size: str, spacing: float, edition: str, load_psf: float = TABLE_LOAD_PSF) -> Row | None:
    """The longest joist span, inches, for a nominal size and a spacing in inches on centre (next wider printed
    spacing).

    DCA 6 prints clear spans. None outside the table: other sizes, over 24 in on centre, more than 40 psf.
    """
    groups = _groups(species)
    rows = [
        (r, e)
        for r, e in _served("joist span", edition, "joist_spans")
        if groups.get(r["table"]) == r["group"] and r["size"] == size
    ]
    column = _column({float(r["spacing_in"]) for r, _ in rows}, spacing)
    if column is None or load_psf > TABLE_LOAD_PSF:
        return None
    r, e = next((r, e) for r, e in rows if float(r["spacing_in"]) == column)
    return _row(
        r,
        e,
        inches_from_table(r["span_ft_in"]),
        "in",
        f"{r['group']} {size} at {{{column:g} in}} o.c., {_feet(r['span_ft_in'])}",
    )


@lru_cache(maxsize=1024)
def joist_overhang(
    species: str, size: str, spacing: float, back_span: float, edition: str, load_psf: float = TABLE_LOAD_PSF
) -> Row | None:
    """The longest joist overhang, inches, printed for a size, a spacing and a back span (both inches).

    DCA 6 prints one figure a spacing, IRC 2021 one a back span; between columns the smaller neighbour is taken, because
    the figures rise and fall. The quarter of the back span is `limit("joist_overhang_ratio_max", edition)`. None
    outside.
    """
    groups = _groups(species)
    rows = [
        (r, e)
        for r, e in _served("joist overhang", edition, "joist_overhangs")
        if groups.get(r["table"]) == r["group"] and r["size"] == size
    ]
    if not rows or load_psf > TABLE_LOAD_PSF:
        return None
    if rows[0][0]["spacing_in"]:
        # the figure grows with the spacing for small joists and shrinks for large ones, so both neighbours count
        key, wanted, top = "spacing_in", spacing, "{{{:g} in}} o.c."
    else:
        key, wanted, top = "back_span_ft", back_span / 12, "{{{:g} ft}} back span"
    columns = sorted(float(r[key]) for r, _ in rows)
    if wanted > columns[-1] + 1e-9:
        return None
    above = _column(columns, wanted)
    below = max((c for c in columns if c <= wanted + 1e-9), default=above)
    r, e = min(
        ((r, e) for r, e in rows if float(r[key]) in (above, below)),
        key=lambda p: inches_from_table(p[0]["overhang_ft_in"]),
    )
    return _row(
        r,
        e,
        inches_from_table(r["overhang_ft_in"]),
        "in",
        f"{r['group']} {size} at {top.format(float(r[key]))}, {_feet(r['overhang_ft_in'])}",
    )


def beam_name(plies: int, size: str) -> str:
    """`2-2x8` for plies, `4x8` for a solid beam, as the tables label them."""
    return f"{plies}-{size}" if plies > 1 else size


@lru_cache(maxsize=1024)
def beam_span(
    species: str, plies: int, size: str, joist_span_ft: float, edition: str, load_psf: float = TABLE_LOAD_PSF
) -> Row | None:
    """The longest beam span, inches, post centre to post centre, for plies of a nominal size and a joist span in feet.

    Next longer printed joist span. None outside the table: other beams or species, joists over 18 ft, more than 40 psf.
    """
    groups, name = _groups(species), beam_name(plies, size)
    rows = [
        (r, e)
        for r, e in _served("beam span", edition, "beam_spans")
        if groups.get(r["table"]) == r["group"] and name in r["beam"].split("|")
    ]
    column = _column({float(r["joist_span_ft"]) for r, _ in rows}, joist_span_ft)
    if column is None or load_psf > TABLE_LOAD_PSF:
        return None
    r, e = next((r, e) for r, e in rows if float(r["joist_span_ft"]) == column)
    return _row(
        r,
        e,
        inches_from_table(r["span_ft_in"]),
        "in",
        f"{r['group']} {name}, joists to {{{column:g} ft}}, {_feet(r['span_ft_in'])}",
    )


@lru_cache(maxsize=1024)
def post_height(
    post: str,
    edition: str,
    species: str,
    tributary_sqft: float | None = None,
    beam_span_ft: float | None = None,
    joist_span_ft: float | None = None,
    beam_plies: int | None = None,
    load_psf: float = TABLE_LOAD_PSF,
) -> Row | None:
    """The greatest post height, inches. IRC 2021 asks the tributary area, DCA 6 the beam and joist spans, IRC 2018 the
    plies of the beam on a 4x4, the others none. Past 40 psf a state's 60 psf table serves, and says so.

    None where the table does not reach or what it asks was not given.
    """
    name = check_species(species)
    asked = {"tributary_sqft": tributary_sqft, "beam_span_ft": beam_span_ft, "joist_span_ft": joist_span_ft}
    rows = [
        (r, e)
        for r, e in _carrying("post height", edition, "post_heights", load_psf)
        if r["post"] == post and (r["species"] == "any" or name in r["species"].split("|"))
    ]
    r, e, case = _narrow(rows, {**asked, "beam_plies": beam_plies})
    if r is None:
        return None
    return _row(r, e, inches_from_table(r["height_ft_in"]), "in", f"{post}{case}, {_feet(r['height_ft_in'])}")


def _narrow(rows, asked: dict[str, float | None]):
    """The row at the next larger printed value of each key it is entered by; (None, None, '') where there is none."""
    case = ""
    for key, wanted in asked.items():
        columns = {number for r, _ in rows if (number := _number(r[key])) is not None}
        if not columns:
            continue
        column = None if wanted is None else _column(columns, wanted)
        if column is None:
            return None, None, ""
        rows = [(r, e) for r, e in rows if _number(r[key]) == column]
        what, unit = key.rsplit("_", 1)
        case += f", {what.replace('_', ' ')} to {{{column:g} {'sq ft' if unit == 'sqft' else unit}}}"
    return (*rows[0], case) if rows else (None, None, "")


@dataclass(frozen=True)
class FootingSize:
    """A footing row: `round` diameter, `square` side and `thickness`, each a `Row` in inches."""

    round: Row
    square: Row
    thickness: Row


@lru_cache(maxsize=1024)
def footing(
    edition: str,
    soil_psf: float,
    tributary_sqft: float | None = None,
    beam_span_ft: float | None = None,
    joist_span_ft: float | None = None,
    load_psf: float = TABLE_LOAD_PSF,
    sure: bool = False,
) -> FootingSize | None:
    """The least size by the next larger area (IRC) or spans (DCA 6), next weaker soil, of `sure` rows alone or all."""
    rows = [(r, e) for r, e in _served("footing", edition, "footings") if not (sure and r["doubtful"])]
    soils = [s for s in {float(r["soil_psf"]) for r, _ in rows} if s <= soil_psf + 1e-9]
    if not soils or load_psf > TABLE_LOAD_PSF:
        return None
    rows = [(r, e) for r, e in rows if float(r["soil_psf"]) == max(soils)]
    asked = {"tributary_sqft": tributary_sqft, "beam_span_ft": beam_span_ft, "joist_span_ft": joist_span_ft}
    r, e, case = _narrow(rows, asked)
    if r is None:
        return None
    base = _row(r, e, 0.0, "in", "")
    case = f"{max(soils):g} psf soil{case}"
    return FootingSize(
        *(
            replace(base, value=float(r[k]), case=f"{case}: {k[:-3]} {{{r[k]} in}}")
            for k in ("round_in", "square_in", "thickness_in")
        )
    )


@lru_cache(maxsize=1024)
def ledger_fastener_spacing(
    joist_span_ft: float, fastener: str, edition: str, load_psf: float = TABLE_LOAD_PSF
) -> Row | None:
    """The widest fastener spacing on a ledger, inches on centre, for `lag screw`, `bolt` or `bolt with gap` (1/2
    in).

    Past 40 psf the 60 psf table of a state tip sheet serves, and says so. None outside the tables. InputError for
    another fastener.
    """
    kinds = tuple(dict.fromkeys(r["fastener"] for r in table("ledger_fasteners")))
    if fastener not in kinds:
        raise InputError(f"got the ledger fastener {fastener!r}; the tables have {', '.join(kinds)}")
    rows = _carrying("ledger fastener", edition, "ledger_fasteners", load_psf)
    rows = [(r, e) for r, e in rows if r["fastener"] == fastener]
    r, e, case = _narrow(rows, {"joist_span_ft": joist_span_ft})
    if r is None:
        return None
    what = f"{fastener} of {{{r['gap_in']} in}}" if r["gap_in"] else fastener
    return _row(r, e, float(r["spacing_in"]), "in", f"{what}{case}, {{{r['spacing_in']} in}} o.c.")
