"""Hours by task, from a table that the builder owns: CSV with columns `task`, `counts`, `hours`.

`counts` is what a task is counted by: a role of pieces (`joist`, `footing`, `guard post`, ...), `feet of ROLE` for the
length of its pieces together, `square feet` of the finished surface, or `deck` for once. `hours` are those of one. No
hours are given by the program.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from ...model.measuring.measure import Measured
from ...model.order.quantities import totals
from ...model.solid.roles import ROLES
from ...model.structure.members import SQFT
from ...shared.errors import Fault, InputError
from ..formats.rows import write_csv

LABOUR_COLUMNS = ("task", "counts", "hours")
FEET_OF, SQUARE_FEET, ONCE = "feet of ", "square feet", "deck"
MOST_TASKS = 500
MOST_HOURS = 10_000.0


@dataclass(frozen=True)
class Task:
    """One row of the builder's table."""

    task: str
    counts: str
    hours: float


@dataclass(frozen=True)
class TaskHours:
    """A task on a deck: how many of what it is counted by, and the hours of all."""

    task: str
    counts: str
    count: float
    each: float

    @property
    def hours(self) -> float:
        return self.count * self.each


def read_labour(path: Path) -> list[Task]:
    """A builder's table. Raises InputError with file, line, column, what was given and what is allowed."""
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = list(csv.reader(file))
    except (OSError, UnicodeDecodeError, csv.Error) as e:
        raise InputError(Fault(str(path), 0, "", f"is no table that can be read (CSV): {e}")) from None
    if not rows or tuple(c.strip().lower() for c in rows[0]) != LABOUR_COLUMNS:
        raise InputError(Fault(str(path), 1, "", f"wanted the columns {', '.join(LABOUR_COLUMNS)}"))
    if len(rows) > MOST_TASKS:
        raise InputError(Fault(str(path), len(rows), "", f"got {len(rows) - 1} tasks; at most {MOST_TASKS}"))
    return [_task(path, k, row) for k, row in enumerate(rows[1:], 2) if any(c.strip() for c in row)]


def _task(path: Path, line: int, row: Sequence[str]) -> Task:
    if len(row) != len(LABOUR_COLUMNS):
        raise InputError(Fault(str(path), line, "", f"got {len(row)} columns; wanted {', '.join(LABOUR_COLUMNS)}"))
    task, counts, hours = (c.strip() for c in row)
    role = counts.removeprefix(FEET_OF)
    if counts not in (SQUARE_FEET, ONCE) and role not in ROLES:
        known = f"{SQUARE_FEET}, {ONCE}, a role of pieces, or '{FEET_OF}' with one ({', '.join(ROLES)})"
        raise InputError(Fault(str(path), line, "counts", f"got {counts[:40]!r}; wanted {known}"))
    try:
        value = float(hours)
    except ValueError:
        value = math.nan
    if not 0 <= value <= MOST_HOURS:
        raise InputError(Fault(str(path), line, "hours", f"got {hours[:40]!r}; wanted hours from 0 to {MOST_HOURS:g}"))
    return Task(task, counts, value)


def task_hours(tasks: Iterable[Task], measured: Sequence[Measured]) -> list[TaskHours]:
    """Each task's count and hours, measured off the pieces."""
    return [TaskHours(t.task, t.counts, _count(t.counts, measured), t.hours) for t in tasks]


def _count(counts: str, measured: Sequence[Measured]) -> float:
    if counts == ONCE:
        return 1.0
    if counts == SQUARE_FEET:
        return totals(measured).surface_area / SQFT
    if counts.startswith(FEET_OF):
        return math.fsum(m.length for m in measured if m.role == counts.removeprefix(FEET_OF)) / 12
    return float(sum(m.role == counts for m in measured))


def write_hours(hours: Iterable[TaskHours], path: Path) -> None:
    """The hours of each task, and of all together, as CSV."""
    rows = [[h.task, h.counts, round(h.count, 2), h.each, round(h.hours, 2)] for h in hours]
    rows.append(["together", "", "", "", round(sum(r[4] for r in rows), 2)])
    write_csv(path, (("task", "counts", "count", "hours_each", "hours"), rows))
