"""Many variants of one file: every combination of the values given, as a table and a plot.

Each variant is a job of its own for an executor of `concurrent.futures`: processes on all cores of this machine where
none is given, or threads, or a cluster's. The result of one is a few plain figures, all of them from its measured
solids; its frame is chosen anew where the file leaves it out.
"""

from __future__ import annotations

import itertools
import math
import multiprocessing
import os
import tomllib
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from ...model.design.landing_keys import landing_key
from ...model.design.mends import key_value
from ...model.input.parameters import Parameters
from ...model.parameter_file import prepare
from ...shared.as_toml import as_toml
from ...shared.errors import InputError, PlumbcutError
from ...shared.stock import BOARD_FOOT
from ..beside import end_with_parent
from ..drafting.wording import worded
from .compare import price, variant

MOST_COMBINATIONS = 200  # combinations: more is a slip, and takes minutes

Label = tuple[tuple[str, str], ...]  # of a variant: each key with its value, as on the command line


@dataclass(frozen=True)
class Figures:
    """One variant. `label` as on the command line; inches, pounds, cubic yards; `price` None where nothing has one;
    `timber` the frame's and its blocking's, board feet as dressed.

    `margin` is the share of its capacity that the most heavily used member of the frame keeps free, by table or
    calculation (below 0: not met; None: nothing could be checked), `governs` that member and rule. `chosen` names what
    of the frame was chosen for it, as a file would have it. `fault` says why a variant could not be drawn; the figures
    are then None.
    """

    label: Label
    pieces: int | None = None
    marks: int | None = None
    bought: float | None = None
    weight: float | None = None
    concrete: float | None = None
    timber: float | None = None
    footings: int | None = None
    price: float | None = None
    unpriced: int | None = None
    margin: float | None = None
    governs: str = ""
    not_met: int | None = None
    rules_not_met: str = ""
    chosen: str = ""
    fault: str = ""


def read_vary(given: Iterable[str]) -> list[tuple[str, list[str]]]:
    """`frame.joist_spacing=12in,16in` as (key, values). Commas inside brackets or quotes belong to the value.

    Raises InputError for what cannot be read so, a key given twice, or more than MOST_COMBINATIONS.
    """
    found: list[tuple[str, list[str]]] = []
    for text in given:
        key, equals, rest = text.partition("=")
        key, values = key.strip(), [v.strip() for v in _split(rest)]
        if not key or not equals or not all(values):
            raise InputError(f"--vary: got {text!r}; wanted KEY=VALUE,VALUE like frame.joist_spacing=12in,16in,24in")
        if key in (k for k, _ in found):
            raise InputError(f"--vary: {key} is given twice; put all its values in one")
        found.append((key, list(dict.fromkeys(values))))
    number = math.prod(len(v) for _, v in found)
    if number > MOST_COMBINATIONS:
        raise InputError(f"--vary: {number:,} combinations; wanted at most {MOST_COMBINATIONS}")
    return found


def _split(text: str) -> list[str]:
    out, depth, quote = [""], 0, ""
    for ch in text:
        if quote:
            quote = "" if ch == quote else quote
        elif ch in "'\"" and not out[-1].strip():  # elsewhere it is a foot or inch mark
            quote = ch
        elif ch in "[]":
            depth += 1 if ch == "[" else -1
        if ch == "," and not depth and not quote:
            out.append("")
        else:
            out[-1] += ch
    return out


def value(text: str) -> object:
    """A value as the file would have it: a number, truth value, list or quoted text of TOML, and any other text as it
    stands."""
    try:
        found = tomllib.loads(f"v = {text}")
    except tomllib.TOMLDecodeError:
        return text
    return found["v"] if list(found) == ["v"] else text


def combinations(vary: Sequence[tuple[str, list[str]]]) -> list[Label]:
    """Every combination, the last key turning fastest."""
    keys = [k for k, _ in vary]
    return [tuple(zip(keys, values)) for values in itertools.product(*(v for _, v in vary))]


def checked(path: Path, labels: Sequence[Label]) -> list[Parameters]:
    """The parameters of each variant. Raises InputError, with each named, where one does not pass validation: before
    anything is built."""
    found, faults = [], []
    for label in labels:
        try:
            found.append(prepare(path, changes(label))[0])
        except InputError as e:
            faults += [f"--vary {named(label)}: {f.key + ': ' if f.key else ''}{f.message}" for f in e.faults]
    if faults:
        raise InputError("\n".join(dict.fromkeys(faults)))
    return found


def changes(label: Iterable[tuple[str, str]]) -> dict[str, object]:
    return {key: value(text) for key, text in label}


def named(label: Iterable[tuple[str, str]]) -> str:
    return " ".join(f"{k}={v}" for k, v in label)


def sweep(
    path: Path,
    labels: Sequence[Label],
    done: Callable[[int], None] = lambda n: None,
    processes: int | None = None,
    executor: Executor | None = None,
) -> list[Figures]:
    """The figures of every combination, in order, the same whatever does the work. `done` is told how many are
    finished.

    An `executor` of `concurrent.futures` is given one job a variant and left open; the file at `path` is read where the
    job runs. Without one, as many `processes` of this machine as it has cores do them, or this one alone where that is
    one. What an executor raises, a worker lost for one, is raised here, and what has not begun is called off.
    """
    if executor is not None:
        return _done_by(executor, path, labels, done)
    processes = min(processes or os.cpu_count() or 1, len(labels))
    if processes < 2:
        return [_told(figures(path, label), i, done) for i, label in enumerate(labels)]
    # a fresh process each: a copy of one that has the kernel loaded could inherit its locks
    with ProcessPoolExecutor(processes, multiprocessing.get_context("spawn"), end_with_parent) as pool:
        return _done_by(pool, path, labels, done)


def _done_by(executor: Executor, path: Path, labels: Sequence[Label], done: Callable[[int], None]) -> list[Figures]:
    jobs = [executor.submit(figures, str(path), label) for label in labels]
    try:
        return [_told(job.result(), i, done) for i, job in enumerate(jobs)]
    finally:
        for job in jobs:
            job.cancel()


def _told(f: Figures, i: int, done: Callable[[int], None]) -> Figures:
    done(i + 1)
    return f


def figures(path: str | Path, label: Label) -> Figures:
    """Build one variant and take its figures."""
    try:
        return summed(variant(Path(path), changes(label), named(label)), label)
    except PlumbcutError as e:
        return Figures(label, fault=str(e))


def summed(v, label: Label) -> Figures:
    """The figures of a built variant."""
    totals = v.taken.totals
    bad = [c for c in v.checks if c.result == "not met"]
    margin, governs = least_margin(v.structure)
    return Figures(
        label,
        len(v.measured),
        len({m.mark for m in v.measured}),
        v.bought,
        totals.delivered,
        totals.concrete_yards,
        sum(m.volume for m in v.measured if m.part.group in ("frame", "blocking")) / BOARD_FOOT,
        len(v.deck.roles("footing")),
        price(v.taken),
        len(v.taken.unpriced),
        margin,
        governs,
        len(bad),
        "; ".join(dict.fromkeys(c.rule for c in bad)),
        "; ".join(f"{_in_file(key)} = {as_toml(key_value(v.deck.parameters, key))}" for key in sorted(v.deck.chosen)),
    )


def _in_file(key: str) -> str:
    """A key that was chosen, as the file has it: of the frame table, or of a landing."""
    found = landing_key(key)
    return f"frame.{key}" if found is None else found.name


def least_margin(structure) -> tuple[float | None, str]:
    """(1 - greatest share of a capacity used over all members and both routes, member and rule); a member for which no
    capacity is published or calculated counts as -1."""
    found = []
    for r in structure.results:
        ratio, why = r.worst
        if r.table or r.calculation:
            found.append((1 - ratio if math.isfinite(ratio) else -1.0, f"{r.kind} {r.mark}, {worded(why)}"))
    return min(found, key=lambda f: f[0], default=(None, ""))
