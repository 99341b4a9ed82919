"""A-5xx after the stair sections: every corner round which steps go on, by a section along its hip stringer and, in
plan, by the treads mitred there and by the stringers under them. A corner askew is drawn square to its first flight."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from ...model.measuring.flight_seen import FlightSeen, along
from ...model.measuring.measure import Measured
from ...model.measuring.mitre_seen import CornerSeen
from ...model.solid.part import Part
from ...model.solid.roles import named
from ..drafting import drawing as d
from ..drafting import style
from ..linework.eye import Eye
from ..linework.views import Linework, project
from . import in_plan
from .crop import cropped
from .detail import Detail
from .details import lay_out
from .hip_section import (
    FLIGHT_SHOWN,
    PAST,
    corner_window,
    corners,
    hip_section,
    jacks_of,
    meets,
    mitre_line,
    mitred_steps,
    which,
)
from .landings_drawn import seen_at, square_eye, turned_words
from .stage import Stage, grown
from .strings import Strings

VIEWS = 3  # details of a corner
LARGE = 25.0  # paper inches of width in which all of them stand side by side
SQUARE_TO_SHEET = 0.9999


def numbered(stage: Stage) -> dict[str, tuple[str, str]]:
    """The reference of each corner's section: (number of the view, sheet)."""
    places = _places(stage)
    return {
        f"hip section {n}": (str(VIEWS * n + 1), _sheet(stage, places[VIEWS * n][0]))
        for n, _ in enumerate(corners(stage))
    }


def _sheet(stage: Stage, n: int) -> str:
    return f"A-{501 + len(stage.flights) + n}"


def _places(stage: Stage) -> list[tuple[int, d.Box]]:
    """Which sheet, and the room on it, of each view: on a large paper a corner's three stand side by side, on a small
    one each alone, else the section alone and both plans beside each other."""
    x0, y0, x1, y1 = whole = style.room(stage.paper)

    def beside(count: int) -> list[d.Box]:
        wide = (x1 - x0) / count
        return [(x0 + wide * k, y0, x0 + wide * (k + 1), y1) for k in range(count)]

    sheets = [[whole], beside(VIEWS - 1)]
    if stage.small or x1 - x0 > LARGE:
        sheets = [[whole]] * VIEWS if stage.small else [beside(VIEWS)]
    return [
        (len(sheets) * n + k, room)
        for n, _ in enumerate(corners(stage))
        for k, rooms in enumerate(sheets)
        for room in rooms
    ]


def build(stage: Stage) -> None:
    several = len(corners(stage)) > 1
    made = [
        detail
        for n, c in enumerate(corners(stage), 1)
        for detail in (
            hip_section(stage, c, n, several),
            _treads(stage, c, n, several),
            _carriers(stage, c, n, several),
        )
    ]
    lay_out(stage, made, _places(stage), lambda n: _sheet(stage, n), "STEPS ROUND A CORNER")


def _treads(stage: Stage, c: CornerSeen, n: int, several: bool) -> Detail:
    eye = square_eye(stage, c.first.stair)
    window = corner_window(c, eye)
    stairs = (None, c.first.stair, c.second.stair)
    shown = [p for p in stage.of(*named("surface plan")) if p.stair in stairs and p.group != "guards"]
    under = [p for p in stage.of(*named("framing plan")) if p.stair in stairs[1:] and p.group == "stairs"]
    work = cropped(project(shown, eye, under=under), window)

    def annotate(stage: Stage, view: d.View, work: Linework) -> None:
        for f, way in ((c.first, -1.0), (c.second, 1.0)):
            _goings(stage, view, window, eye, f, way)
            for k, boards in enumerate(mitred_steps(c, f), 1):
                _name_boards(stage, view, eye, c, f, k, boards)
        _name_mitre(stage, view, eye, c)

    words = f"DASHED: STRINGERS UNDER THE TREADS.{turned_words(eye)}"
    return Detail(
        f"Treads at the mitre{which(n, several)}",
        work,
        "plan",
        annotate,
        None,
        words,
        open_sides=_open(c, eye),
        at_most=8.0,
    )


def _goings(stage: Stage, view: d.View, window: d.Box, eye: Eye, f: FlightSeen, way: float) -> None:
    """The goings of a flight, beside it where it lies square to the sheet, else across it."""
    out = np.array(seen_at(eye, f.out))
    body = np.array(seen_at(eye, f.across * way))
    fronts = [s.front for s in f.steps]
    if max(abs(out)) > SQUARE_TO_SHEET:
        level = abs(out[0]) > 0.5
        side = ("above" if body[1] > 0 else "below") if level else ("right" if body[0] > 0 else "left")
        edge = {"above": window[3], "below": window[1], "left": window[0], "right": window[2]}[side]
        at = [seen_at(eye, f.out * s) for s in fronts]
        strings = Strings(view, window, 0.3, spacing=stage.string_spacing)
        strings.chain(side, [(u, edge) if level else (edge, v) for u, v in at])
        return
    corner = f.sides[1] if way < 0 else f.sides[0]
    points = [seen_at(eye, f.out * s + f.across * (corner + way * 0.7 * FLIGHT_SHOWN)) for s in fronts]
    view.add(*d.chain(points, points[0], math.degrees(math.atan2(out[1], out[0]))))


def _name_boards(
    stage: Stage, view: d.View, eye: Eye, c: CornerSeen, f: FlightSeen, k: int, boards: Sequence[Measured]
) -> None:
    """The boards of one step that end on the mitre, each with its long and its short point."""
    if not boards:
        return
    rows = [
        f"{m.mark} {stage.text(m.long_point)}, {stage.text(m.short_point)}"
        for m in {m.mark: m for m in boards}.values()
    ]
    side = 1.0 if f is c.first else -1.0
    tips = []
    for m in boards:
        end = along(m, f.across)[1 if side > 0 else 0]
        middle = sum(along(m, f.out)) / 2
        tips += [seen_at(eye, f.out * middle + f.across * (end - side * back)) for back in (9.0, 14.0, 20.0)]
    view.add(d.Leader(tips[0], "\n".join([f"TREAD {k}: LONG, SHORT POINT", *rows]), tips=tips[1:], wrap=None))


def _name_mitre(stage: Stage, view: d.View, eye: Eye, c: CornerSeen) -> None:
    first, second = (_mitred_end(c, f) for f in (c.first, c.second))
    joint = min(
        (a.part.footprint.distance(b.part.footprint) for a, b in zip(first, second)),
        default=0.0,
    )
    cuts = sorted({round(abs(e.mitre), 1) for m in first for e in m.ends if not e.square})
    saw = " AND ".join(f"{a:g}°" for a in cuts)
    open_ = f"JOINT {stage.inch(joint)} WIDE" if joint > 1 / 64 else "JOINT TIGHT"
    words = f"CORNER {round(180 - c.turn, 1):g}°: TREADS MITRED ON ITS BISECTOR, ENDS CUT {saw} OFF SQUARE, {open_}"
    (ax, ay), (bx, by) = mitre_line(c).coords
    tips = [seen_at(eye, (ax + (bx - ax) * t, ay + (by - ay) * t)) for t in (0.97, 0.75, 0.6)]
    view.add(d.Leader(tips[0], words, tips=tips[1:]))


def _mitred_end(c: CornerSeen, f: FlightSeen) -> list[Measured]:
    return [boards[0] for boards in mitred_steps(c, f) if boards]


def _carriers(stage: Stage, c: CornerSeen, n: int, several: bool) -> Detail:
    eye = square_eye(stage, c.first.stair)
    window = corner_window(c, eye)
    stairs = (None, c.first.stair, c.second.stair)
    shown = [p for p in stage.parts if p.role in named("framing plan") and p.stair in stairs and p.group != "guards"]
    work = cropped(project(shown, eye), window)

    def annotate(stage: Stage, view: d.View, work: Linework) -> None:
        for f, way in ((c.first, -1.0), (c.second, 1.0)):
            _set_out(stage, view, window, eye, c, f, way)
        _name_carriers(stage, view, eye, c, window)

    return Detail(
        f"Stringers at the mitre{which(n, several)}",
        work,
        "plan",
        annotate,
        None,
        f"TREADS OFF. FROM THE CORNER OF THE RIMS TO MIDDLES.{turned_words(eye)}",
        open_sides=_open(c, eye),
        at_most=8.0,
    )


def _set_out(stage: Stage, view: d.View, window: d.Box, eye: Eye, c: CornerSeen, f: FlightSeen, way: float) -> None:
    """From the corner of the rims along an edge to the middles of its jacks and of its first stringers."""
    corner = _rim_corner(stage, c)
    base = float(corner @ f.across)
    middles = [sum(along(m, f.across)) / 2 for m in (*f.jacks, *f.stringers) if m.part.stair == f.stair]
    near = [s for s in middles if abs(s - base) < FLIGHT_SHOWN * 0.95]
    out = np.array(seen_at(eye, f.out))
    far = f.last.front + PAST
    points = [seen_at(eye, f.out * (f.last.front + 1.0) + f.across * s) for s in (base, *near)]
    if max(abs(out)) > SQUARE_TO_SHEET:
        level = abs(out[0]) > 0.5
        side = ("right" if out[0] > 0 else "left") if level else ("above" if out[1] > 0 else "below")
        Strings(view, window, 0.3, spacing=stage.string_spacing).chain(side, points)
        return
    across = np.array(seen_at(eye, f.across))
    at = seen_at(eye, f.out * (far + 0.3 * view.scale))
    view.add(*d.chain(points, at, math.degrees(math.atan2(across[1], across[0]))))


def _rim_corner(stage: Stage, c: CornerSeen) -> np.ndarray:
    """Where the outer faces of both rims meet."""
    mine = stage.of("rim", "stair header")
    rows, at = [], []
    for f in (c.first, c.second):
        face = max(in_plan.reach(p, f.out)[1] for p in mine if in_plan.reach(p, f.out)[1] < f.treads[0].front - 2)
        rows.append(f.out)
        at.append(face)
    return np.linalg.solve(np.array(rows), np.array(at))


def _name_carriers(stage: Stage, view: d.View, eye: Eye, c: CornerSeen, window: d.Box) -> None:
    box = shapely.box(*grown(window, -2.0))

    def leader(parts: Sequence[Part], words: str) -> None:
        lying = [q for p in parts for q in in_plan.places_along(p, (0.6, 0.8, 0.4, 0.2)) if "block" not in p.role]
        at = [seen_at(eye, q) for q in lying or [p.footprint.representative_point().coords[0] for p in parts]]
        tips = [q for q in at if box.contains(shapely.Point(q))]
        if tips:
            view.add(d.Leader(tips[0], words, tips=tips[1:], mark=parts[0].mark))

    hips = [m.part for m in c.plies]
    leader(hips, f"{_marks(hips)} {stage.stock(hips[0].stock)} HIP STRINGER, 2 PLIES, ONE EACH SIDE OF THE MITRE")
    jacks = [m.part for m in jacks_of(c)]
    if jacks:
        leader(jacks, f"{_marks(jacks)} {stage.stock(jacks[0].stock)} JACK STRINGERS, SQUARE TO THE EDGE")
    whole = corner_window(c, Eye.above())
    near = [p for p in stage.parts if p.stair in (c.first.stair, c.second.stair) and meets(p, whole)]
    for role, words in (("stringer", "STRINGERS"), ("stair header", "STAIR HEADER")):
        if parts := [p for p in near if p.role == role]:
            leader(parts, f"{_marks(parts)} {stage.stock(parts[0].stock)} {words}")
    if blocks := [p for p in near if p.role == "jack block"]:
        leader(blocks, f"{_marks(blocks)} BLOCK BETWEEN JACK AND HIP")


def _marks(parts: Sequence[Part]) -> str:
    return ", ".join(dict.fromkeys(p.mark for p in parts))


def _open(c: CornerSeen, eye: Eye) -> str:
    """On which sides of a plan both flights go on."""
    found = []
    for f, way in ((c.first, -1.0), (c.second, 1.0)):
        u, v = seen_at(eye, f.across * way)
        found.append(("r" if u > 0 else "l") if abs(u) > abs(v) else ("t" if v > 0 else "b"))
    return "".join(dict.fromkeys(found))
