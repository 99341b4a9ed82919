"""Tables by which a crew sets out what the plans show: beams by their ends, joists by their centres, stairs, landings
and pads by their corners, all from O, measured off the pieces."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from ...model.measuring.flight_seen import FlightSeen
from ...model.plan.spots import UNDER_JOINTS
from ...model.solid.part import Part
from ..drafting import drawing as d
from ..drafting.noting import note_depth
from ..drafting.style import TITLE, fitting_scale
from ..drafting.tabling import table_size
from . import in_plan
from .askew import askew
from .datum import datum, from_datum, place_text, signed_place
from .ground import signed
from .landings_drawn import landings
from .stage import Stage
from .stair_section import stringers_of

COLUMN, NARROW = 6.4, 3.0  # paper inches of the column at a plan's right, with tables and with notes alone; our own
_GAP = 0.3
_STRUNG = (3.4, 3.6)  # paper inches that strings and notes take beside a plan, in width and height; our own
_ONE_PLACE = 1 / 16  # inches within which stations are one, or on an even step
_RUN = 3  # even spaces at least that are told together
_BESIDE = 30.0  # inches from a joist to the next within which both are one row; our own
_SIDE_BY_SIDE = 0.5  # share of the shorter of two joists over which they lie beside one another; our own
_OVER_POST = 6.0  # inches from a joint to a post's middle within which the post carries it; our own
NO_JOINTS = "NONE"


# ---- beams ----------------------------------------------------------------------------------------------------------
def all_beams(stage: Stage) -> list[in_plan.BeamLine]:
    """The deck's beams, and those under its stairs."""
    stairs = [p for p in stage.parts if p.stair is not None]
    return [*stage.beams, *(b for b in in_plan.beam_lines(stairs) if any(p.role == "beam" for p in b.plies))]


def beam_rows(stage: Stage) -> list[list[str]]:
    """Mark, plies, the centre line's length and its ends from the left or the top of the sheet, joints of plies."""
    rows = []
    for line in all_beams(stage):
        ends = [line.point(s) for s in line.on_centre]
        if from_datum(stage, ends[0]) > from_datum(stage, ends[1]):
            ends.reverse()
        long = stage.text(line.on_centre[1] - line.on_centre[0])
        places = [text for end in ends for text in place_text(stage, end)]
        rows.append([marks_text(line.plies), line.text, long, *places, _joints(stage, line)])
    return rows


def _joints(stage: Stage, line: in_plan.BeamLine) -> str:
    """Where plies of a beam meet end to end: over which post."""
    found: list[str] = []
    side = in_plan.square(line.axis)
    for ply in line.plies:
        for other in line.plies:
            one_row = in_plan.overlap(in_plan.reach(ply, side), in_plan.reach(other, side)) > 0.1
            end, start = in_plan.reach(ply, line.axis)[1], in_plan.reach(other, line.axis)[0]
            if one_row and ply is not other and abs(end - start) < 0.5:
                at = line.point((end + start) / 2)
                post = min(line.posts, key=lambda p: math.dist(in_plan.centre(p), at), default=None)
                over = post is not None and math.dist(in_plan.centre(post), at) < _OVER_POST
                found.append(
                    f"OVER {post.id}" if post is not None and over else f"AT {', '.join(place_text(stage, at))}"
                )
    return "; ".join(dict.fromkeys(found)) or NO_JOINTS


def beam_table(stage: Stage, at: d.Point = (0.0, 0.0)) -> d.Table:
    head = ["BEAM", "PLIES", "LONG", "FROM X", "FROM Y", "TO X", "TO Y", "JOINTS"]
    return d.Table(
        at, "BEAMS, ENDS OF CENTRE LINES", head, beam_rows(stage), [0.58, 0.72, *[0.88] * 5, 0.7], "llrrrrrl"
    )


def marks_text(parts: Iterable[Part]) -> str:
    """The marks of pieces, numbers that follow one another together: J1-4, 7."""
    letters: dict[str, set[int]] = {}
    for p in parts:
        told = re.fullmatch(r"(\D+)(\d+)", p.mark)
        letters.setdefault(told[1] if told else p.mark, set()).update([int(told[2])] if told else [])
    out = []
    for name, numbers in letters.items():
        runs: list[list[int]] = []
        for n in sorted(numbers):
            if runs and n == runs[-1][1] + 1:
                runs[-1][1] = n
            else:
                runs.append([n, n])
        spans = (f"{a}" if a == b else f"{a}, {b}" if b == a + 1 else f"{a}-{b}" for a, b in runs)
        out.append(name + ", ".join(spans))
    return ", ".join(out)


# ---- joists ---------------------------------------------------------------------------------------------------------
@dataclass
class JoistRow:
    """Joists that lie beside one another, from the left or the top of the sheet. `across` is the direction, in the
    deck's own coordinates with y down, that their stations are told along."""

    across: np.ndarray
    joists: list[tuple[float, Part]] = field(default_factory=list)
    doubled: bool = False


def joist_rows_seen(stage: Stage) -> list[JoistRow]:
    """Every joist of deck and landings once, each in the row of its neighbours; joists added beside others under butt
    joints of boards in rows of their own."""
    rows: list[JoistRow] = []
    kinds: dict[tuple, list[Part]] = {}
    for p in stage.of("joist"):
        axis = np.asarray(askew(stage).into(in_plan.plan_axis(p)))
        way = axis if axis[1] > 1e-6 or (abs(axis[1]) <= 1e-6 and axis[0] > 0) else -axis
        key = (p.stair if p.stair is not None else -1, p.where == UNDER_JOINTS, round(way[0], 3), round(way[1], 3))
        kinds.setdefault(key, []).append(p)
    for (_, doubled, *_), some in kinds.items():
        across, own = _across(stage, some[0]), []
        for joist in sorted(((_station(stage, p, across), p) for p in some), key=lambda j: (round(j[0], 3), j[1].id)):
            row = _row_of(joist, own)
            if row is None:
                own.append(row := JoistRow(across, [], doubled))
            row.joists.append(joist)
        rows += own
    return rows


def _across(stage: Stage, joist: Part) -> np.ndarray:
    """Square to a joist on the sheet, to the right, or down where the joist runs across the sheet; y down."""
    u, v = askew(stage).into(in_plan.plan_axis(joist))
    n = np.array([v, u])  # square to (u, -v), the joist with y down
    return n if n[0] > 1e-6 or (abs(n[0]) <= 1e-6 and n[1] > 0) else -n


def _station(stage: Stage, p: Part, across: np.ndarray) -> float:
    """A joist's middle along a direction, from O."""
    axis = in_plan.plan_axis(p)
    n = in_plan.square(axis)
    middle = n * (sum(in_plan.reach(p, n)) / 2) + axis * (sum(in_plan.reach(p, axis)) / 2)
    return float(np.dot(from_datum(stage, middle), across))


def _row_of(joist: tuple[float, Part], rows: Sequence[JoistRow]) -> JoistRow | None:
    """The row that a joist goes on: whose last joist lies beside it the most."""
    at, p = joist
    axis, best = in_plan.plan_axis(p), (0.0, None)
    a = in_plan.reach(p, axis)
    for row in rows:
        last, other = row.joists[-1]
        b = in_plan.reach(other, axis)
        share = in_plan.overlap(a, b) / min(a[1] - a[0], b[1] - b[0])
        near = row.doubled or at - last < _BESIDE
        if at - last > _ONE_PLACE and near and share > max(best[0], _SIDE_BY_SIDE):
            best = share, row
    return best[1]


def even_runs(stations: Sequence[float], least: int = _RUN) -> list[tuple[int, int]]:
    """First and last number of every stretch of stations evenly spaced, of so many spaces at least."""
    found, k = [], 0
    while k < len(stations) - 1:
        step, n = stations[k + 1] - stations[k], k + 1
        while n + 1 < len(stations) and abs(stations[n + 1] - stations[k] - (n + 1 - k) * step) < _ONE_PLACE:
            n += 1
        if n - k >= least:
            found.append((k, n))
        k = n if n - k >= least else k + 1
    return found


def longest_even(stations: Sequence[float]) -> tuple[float, float, int] | None:
    """First and last station and number of spaces of the longest stretch evenly spaced; None of none."""
    first, last = max(even_runs(stations, 1), key=lambda run: run[1] - run[0], default=(0, 0))
    return (stations[first], stations[last], last - first) if last else None


def spaced_text(stage: Stage, stations: Sequence[float]) -> str:
    """Stations from O, even spaces told together: 1'-4", THEN 8 @ 1'-4" TO 12'-0", 13'-3"."""
    runs, told, k = dict(even_runs(stations)), [signed_place(stage, stations[0])], 0
    while k < len(stations) - 1:
        n = runs.get(k, k + 1)
        to = signed_place(stage, stations[n])
        step = (stations[n] - stations[k]) / (n - k)
        told.append(f"THEN {n - k} @ {stage.text(step)} TO {to}" if k in runs else to)
        k = n
    return ", ".join(told)


def joist_rows(stage: Stage) -> list[list[str]]:
    """Which joists, along which way they run, how many, and their centres from O."""
    out = []
    for row in joist_rows_seen(stage):
        parts = [p for _, p in row.joists]
        x, y = row.across
        run = "Y" if abs(y) < 1e-4 else "X" if abs(x) < 1e-4 else f"{_slope(row.across):g} DEG"
        what = "BESIDE" if row.doubled else "LANDING" if parts[0].stair is not None else "FIELD"
        out.append(
            [
                f"{what} {stage.stock(parts[0].stock)}: {marks_text(parts)}",
                run,
                str(len(parts)),
                spaced_text(stage, [s for s, _ in row.joists]),
            ]
        )
    return out


def _slope(across: np.ndarray) -> float:
    """Degrees that joists run at, counter-clockwise on the sheet from X."""
    angle = math.degrees(math.atan2(-across[1], across[0])) + 90.0
    return round((angle + 90.0) % 180.0 - 90.0, 2)


def joist_table(stage: Stage, at: d.Point = (0.0, 0.0)) -> d.Table:
    head = ["JOISTS", "RUN ALONG", "NO.", "CENTRES, SQUARE TO THE RUN FROM O"]
    return d.Table(at, "JOISTS, CENTRES", head, joist_rows(stage), [1.2, 0.65, 0.45, 4.1], "llcl")


# ---- stairs ---------------------------------------------------------------------------------------------------------
def stair_rows(stage: Stage) -> list[list[str]]:
    """Foot of every flight, frame of every landing, every pad: its top and two corners that lie across from one
    another; of a flight those of its foot, left and right going down."""
    rows = []
    for n, f in enumerate(stage.flights):
        left, right = foot_corners(f)
        rows.append([f"{stage.flight_name(n).upper()} FOOT", signed(stage, f.foot), left, right])
    for stair in stage.seen.stairs:
        for l in landings(stage, stair):
            if l.frame:
                name = (
                    f"LANDING {l.number}, FRAME"
                    if len(stage.seen.stairs) < 2
                    else f"STAIR {stair + 1} LANDING {l.number}, FRAME"
                )
                top = max(float(p.box[1, 2]) for p in l.frame)
                rows.append([name, signed(stage, top), *_corners(stage, l.frame)])
    for p in stage.of("pad"):
        rows.append([f"PAD {p.id}", signed(stage, float(p.box[1, 2])), *_corners(stage, [p])])
    return [[name, top, *place_text(stage, a), *place_text(stage, b)] for name, top, a, b in rows]


def foot_corners(f: FlightSeen) -> tuple[d.Point, d.Point]:
    """The outer corners of a flight's foot, left and right going down: of its stringers, else of its lowest tread."""
    cut = stringers_of(f)
    ends = [in_plan.reach(p, f.across) for p in cut] or [f.sides]
    far = max([in_plan.reach(p, f.out)[1] for p in cut], default=f.last.front)
    sides = max(b for _, b in ends), min(a for a, _ in ends)
    left, right = (f.out * far + f.across * s for s in sides)
    return (float(left[0]), float(left[1])), (float(right[0]), float(right[1]))


def _corners(stage: Stage, parts: Iterable[Part]) -> tuple[d.Point, d.Point]:
    """Of the smallest rectangle round pieces the corner nearest O and the one across from it."""
    ring = in_plan.outlines(parts)[0].minimum_rotated_rectangle.exterior.coords[:4]
    corners = [(float(x), float(y)) for x, y in ring]
    near = min(range(4), key=lambda k: round(math.dist(corners[k], datum(stage)), 3))
    return corners[near], corners[(near + 2) % 4]


def stair_table(stage: Stage, at: d.Point = (0.0, 0.0)) -> d.Table:
    head = ["WHAT", "T.O.", "FROM X", "FROM Y", "TO X", "TO Y"]
    return d.Table(
        at, "STAIRS, LANDINGS AND PADS, CORNERS", head, stair_rows(stage), [1.98, 0.82, *[0.9] * 4], "lrrrrr"
    )


# ---- on the sheet ---------------------------------------------------------------------------------------------------
def rooms(stage: Stage, sheet: d.Sheet, box: d.Box, most: float) -> tuple[d.Box, d.Box | None]:
    """Rooms for a plan of a size at true scale and for the column at its right: as wide as the tables ask, unless the
    plan would be drawn smaller beside it than beside a column of notes."""
    at = (box[2] - box[0], box[3] - box[1])

    def scale(room: d.Box) -> float:
        wide, high = room[2] - room[0] - _STRUNG[0], room[3] - room[1] - _STRUNG[1]
        return fitting_scale(at, (max(wide, 0.5), max(high, 0.5)), stage.metric, most)

    with_tables, with_notes = stage.beside(sheet, COLUMN), stage.beside(sheet, NARROW)
    return with_notes if scale(with_tables[0]) > scale(with_notes[0]) else with_tables


def tables_beside(
    stage: Stage,
    sheet: d.Sheet,
    column: d.Box | None,
    tables: Iterable[Callable[[Stage], d.Table]],
    title: str,
    notes: list[str],
) -> None:
    """Tables down a column with the notes under them; those that the column has no room for are kept for the
    schedules, and a note says so."""
    made = [t for t in (make(stage) for make in tables) if t.rows]
    stand = len(made) if column and column[2] - column[0] > COLUMN - 0.1 else 0
    while column and stand and not _fits(made[:stand], column, [*_elsewhere(made[stand:]), *notes]):
        stand -= 1
    for table in made[stand:]:
        stage.tables_later.append(table)
    if column:
        x0, y0, x1, y = column
        for table in made[:stand]:
            table.at = (x0, y)
            sheet.add(table)
            y -= table_size(table)[1] + _GAP
        column = (x0, y0, x1, y)
    stage.notes(sheet, column, title, [*_elsewhere(made[stand:]), *notes])


def _elsewhere(tables: Sequence[d.Table]) -> list[str]:
    names = " AND ".join(t.title for t in tables)
    return [f"TABLE OF {names} AMONG THE SCHEDULES (S-601 ON)."] if tables else []


def _fits(tables: Sequence[d.Table], column: d.Box, notes: Sequence[str]) -> bool:
    high = sum(table_size(t)[1] + _GAP for t in tables) + TITLE * 2
    return high + sum(note_depth(row, column[2] - column[0]) for row in notes) <= column[3] - column[1]
