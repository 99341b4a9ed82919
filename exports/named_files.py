"""Files that a parameter file names, each in its own folder: a price list, the parameter file of an issued set."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ..model.input.parameters import Parameters
from ..model.parameter_file import locate, read
from ..shared.errors import DesignError, InputError
from ..shared.file_beside import file_beside
from ..shared.prices import Prices, read_prices


def prices_known(parameters: Parameters, source: Path | None, given: Path | None = None) -> Prices | None:
    """The price list `given` or that a file names, for the choice of its frame where nothing is ordered; None where
    there is none, or one that cannot be used: what asks for a list first calls `price_list`, which says so."""
    try:
        return price_list(parameters, source, given) if given or parameters.order.prices else None
    except (DesignError, InputError):
        return None


def price_list(parameters: Parameters, source: Path | None, given: Path | None = None) -> Prices:
    """The price list `given` on the command line, else the one that the file names, else one without prices. Raises
    DesignError and InputError where it cannot be used."""
    if given is not None:
        return read_prices(given)
    name = parameters.order.prices
    if not name:
        return Prices()
    way = f"put the list there, or give it on the command line: --prices {name}"
    return read_prices(file_beside(source, "order.prices", name, way))


@dataclass(frozen=True)
class IssuedSet:
    """The parameter file of a set that was issued."""

    path: Path
    parameters: Parameters


def issued_sets(parameters: Parameters, source: Path | None) -> list[IssuedSet]:
    """The issued set that a file is a revision of, then the one that this is a revision of, and so on.

    Raises DesignError where the file tells of a revision and names none that can be used, or has its revision letter;
    InputError with the file at fault where one of the issued files is.
    """
    found: list[IssuedSet] = []
    if parameters.revision.issued is None and (parameters.revision.text or parameters.revision.comment):
        raise DesignError(
            "revision.issued", "is missing; wanted the parameter file of the issued set: changes are told against it"
        )
    later, path = parameters, source
    while later.revision.issued is not None:
        try:
            earlier = _issued(later, path, [s.path for s in found])
        except DesignError as e:
            if not found:
                raise
            raise locate(found[-1].path, e) from None
        found.append(earlier)
        later, path = earlier.parameters, earlier.path
    return found


def _issued(parameters: Parameters, source: Path | None, known: list[Path]) -> IssuedSet:
    name = parameters.revision.issued or ""
    path = file_beside(source, "revision.issued", name, "put a copy of the issued file beside it")
    if path in known or (source is not None and path == source.resolve()):
        raise DesignError("revision.issued", f"{name} comes back to a set that it is itself a revision of")
    issued = read(path)
    if issued.project.revision == parameters.project.revision:
        raise DesignError(
            "project.revision",
            f'"{issued.project.revision}" is the revision of the issued set ({name}) too; give this set the next one',
        )
    return IssuedSet(path, issued)
