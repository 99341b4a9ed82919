"""The corners round which steps go on, and a section along the hip stringer of each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ...model.measuring.flight_seen import FlightSeen, along
from ...model.measuring.measure import Measured
from ...model.measuring.mitre_seen import CornerSeen, corners_seen
from ...model.measuring.throat import throat
from ...model.solid.part import Part
from ...model.solid.roles import named
from ..drafting import drawing as d
from ..drafting import style
from ..drafting.wording import mode_text
from ..linework.eye import Eye
from ..linework.views import Linework, project
from .crop import cropped
from .detail import Detail, note
from .ground import ground_items, signed
from .sections import Plane, cut_boxes, spread
from .stage import Stage
from .strings import Strings

DECK_BEHIND = 16.0  # inches of the deck drawn behind the corner
FLIGHT_SHOWN = 30.0  # inches of each flight drawn beside it
PAST = 7.0  # inches drawn past the last nosing
CUT_ALONG = (*named("stair section"), *named("behind a stair"))


@dataclass(frozen=True)
class HipPlane(Plane):
    """Along a hip stringer, through the middle of its first flight's ply, so that the way down runs to the right."""

    corner: CornerSeen


def corners(stage: Stage) -> list[CornerSeen]:
    """The corners drawn: of those whose hip, jack stringers and treads are the same pieces the first."""

    def find() -> list[CornerSeen]:
        found: dict[tuple, CornerSeen] = {}
        for c in corners_seen(stage.flights):
            found.setdefault(tuple(sorted({m.mark for m in (*c.plies, *jacks_of(c), *_mitred_treads(c))})), c)
        return list(found.values())

    return stage.once("mitred corners", find)


def hip_plane(c: CornerSeen) -> HipPlane:
    ply = c.plies[0]
    middle = sum(along(ply, c.across)) / 2
    p = c.across * middle + c.out * along(ply, c.out)[0]
    return HipPlane((float(p[0]), float(p[1])), (float(c.across[0]), float(c.across[1])), c)


def jacks_of(c: CornerSeen) -> list[Measured]:
    return [m for f in (c.first, c.second) for m in f.jacks if m.part.stair == f.stair]


def mitred_steps(c: CornerSeen, f: FlightSeen) -> list[list[Measured]]:
    """Of each step of a flight, from the top down, the boards that end on the mitre, the front one first."""
    found = []
    for step in f.treads:
        near = [m for m in step.pieces if m.part.footprint.distance(mitre_line(c)) < 1.0]
        found.append(sorted(near, key=lambda m: -along(m, f.out)[1]))
    return found


def mitre_line(c: CornerSeen) -> shapely.LineString:
    side, start = c.across * c.station, along(c.plies[0], c.out)[0]
    end = max(along(m, c.out)[1] for f in (c.first, c.second) for t in f.treads for m in t.pieces)
    return shapely.LineString([side + c.out * (start - 12), side + c.out * end])


def _mitred_treads(c: CornerSeen) -> list[Measured]:
    return [m for f in (c.first, c.second) for boards in mitred_steps(c, f) for m in boards]


def corner_window(c: CornerSeen, eye: Eye) -> d.Box:
    """Round the mitre, from behind the corner to past the last nosing, with what is shown of each flight."""
    mitre = c.across * c.station
    top = shapely.LineString([mitre - c.out * 1e4, mitre + c.out * 1e4])
    points = []
    for f, way in ((c.first, -1.0), (c.second, 1.0)):
        for at in (f.top.front - DECK_BEHIND, f.last.front + PAST):
            on = top.intersection(shapely.LineString([f.out * at - f.across * 1e4, f.out * at + f.across * 1e4]))
            corner = np.array([on.x, on.y])
            points += [corner, corner + f.across * (way * FLIGHT_SHOWN)] if at > f.top.front else [corner]
        on = top.intersection(
            shapely.LineString([f.out * f.top.front - f.across * 1e4, f.out * f.top.front + f.across * 1e4])
        )
        points.append(np.array([on.x, on.y]) + f.across * (way * FLIGHT_SHOWN))
    seen = eye.flat([(*p, 0.0) for p in points])
    return (*map(float, seen.min(axis=0)), *map(float, seen.max(axis=0)))


def hip_section(stage: Stage, c: CornerSeen, n: int, several: bool) -> Detail:
    plane = hip_plane(c)
    near = corner_window(c, Eye.above())
    shown = [
        p
        for p in stage.parts
        if p.role in CUT_ALONG and p.stair in (None, c.first.stair, c.second.stair) and meets(p, near)
    ]
    work = project(shown, plane.view, beyond=6.0)
    start, pads = along(c.plies[0], c.out)[0], [m for m in c.first.foot_pieces if m.role == "pad"]
    last = max(_fronts(work))
    bottom = min([c.first.foot - 5, *(float(m.box[0][2]) - 2 for m in pads)])
    window = (start - DECK_BEHIND, bottom, last + 2 * PAST, c.first.top.level + 3)
    ground = stage.ground(plane.view, plane.through)
    solid = [along(m, c.out) for m in pads]

    def before(stage: Stage, scale: float) -> list:
        return ground_items(stage, ground, window[0], window[2], scale, solid=solid)

    def annotate(stage: Stage, view: d.View, work: Linework) -> None:
        _chains(stage, view, work, c)
        _levels(stage, view, work, c)
        _name_cut(stage, view, work, c)

    return Detail(
        f"Section along hip stringer{which(n, several)}",
        cropped(work, window),
        "section",
        annotate,
        before,
        "CUT THROUGH ONE PLY; RISES AND RUNS OF THE STRINGER AS CUT.",
        open_sides="lr",
        at_most=8.0,
    )


def which(n: int, several: bool) -> str:
    return f", corner {n}" if several else ""


def meets(p: Part, window: d.Box) -> bool:
    x0, y0, x1, y1 = p.footprint.bounds
    return x0 < window[2] and x1 > window[0] and y0 < window[3] and y1 > window[1]


def _fronts(work: Linework) -> list[float]:
    """Stations of the front edges of the treads cut, from the top down."""
    front: dict[float, float] = {}
    for (_, _, x1, y1), _part in cut_boxes(work, "tread"):
        front[round(y1, 3)] = max(front.get(round(y1, 3), x1), x1)
    return [front[z] for z in sorted(front, reverse=True)]


def _teeth(work: Linework) -> list[d.Point]:
    """The corners of the cut ply's outline where a seat ends in a plumb cut, from the top down: what its rises and runs
    are measured between; before them the head of its plumb cut."""
    faces = [cut for cut in work.cuts if cut.part.role == "hip stringer"]
    ring = [p for cut in faces for p in cut.polygon.exterior.coords[:-1]]
    seats = sorted({round(y, 3) for x, y in ring if sum(abs(y - v) < 1e-2 for _, v in ring) > 1}, reverse=True)
    return [max((x, y) for x, y in ring if abs(y - z) < 1e-2) for z in seats[:-1]]


def _chains(stage: Stage, view: d.View, work: Linework, c: CornerSeen) -> None:
    """Under the section the runs of the stringer's seats, then of the nosings, then the level cut; before it the rises
    of the whole flight and its total rise."""
    strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
    teeth, low = _teeth(work), work.box[1]
    head = min(x for cut in work.cuts if cut.part.role == "hip stringer" for x, _ in cut.polygon.exterior.coords)
    strings.chain("below", [(x, low) for x in (head, *(x for x, _ in teeth))])
    edge = [b[2] for b, p in cut_boxes(work, "border", "board") if p.stair is None]
    nosings = [*(edge and [max(edge)]), *_fronts(work)]
    strings.chain("below", [(x, low) for x in nosings])
    if len(nosings) > 2:
        strings.chain("below", [(x, low) for x in (nosings[0], nosings[-1])], suffix=" ALONG THE MITRE")
    right = work.box[2]
    strings.chain("right", [(right, z) for z in c.first.levels])
    if len(c.first.levels) > 2:
        strings.chain("right", [(right, z) for z in (c.first.levels[0], c.first.levels[-1])], suffix=" TOTAL RISE")
    if (found := throat(c.plies[0].part)) and found.over_edge:
        a, b = (seen_in(work, p) for p in (found.inner, found.foot))
        view.add(d.Dimension(a, b, a, None, suffix=" THROAT"))


def seen_in(work: Linework, point: Sequence[float]) -> d.Point:
    u, v = work.view.flat([point])[0].tolist()
    return u, v


def _levels(stage: Stage, view: d.View, work: Linework, c: CornerSeen) -> None:
    back = work.box[0] - 0.25 * view.scale
    rows = [("T.O. DECK", c.first.top.level), ("FOOT OF FLIGHT", c.first.foot)]
    for name, (z, shown) in spread(rows, 0.3 * view.scale):
        view.add(d.Symbol("level", (back - 0.1 * view.scale, z)))
        at, words = (back - 0.3 * view.scale, shown), f"{name} {signed(stage, z)}"
        view.add(d.Text(at, words, style.NOTE, "right", "middle", layer="A-ANNO-SYMB"))


def _name_cut(stage: Stage, view: d.View, work: Linework, c: CornerSeen) -> None:
    ply, f = c.plies[0], c.first
    half = math.degrees(math.asin(min(1.0, float(f.out @ c.out))))  # of the corner's angle
    step = [b - a for (a, _), (b, _) in zip(_teeth(work), _teeth(work)[1:])]
    runs = f"RUN {mode_text(step, stage.text)} = " if step else "RUN "
    words = (
        f"{ply.mark} {stage.stock(ply.stock)} HIP STRINGER, 2 PLIES: RISE {mode_text(f.rises, stage.inch)},"
        f" {runs}GOING {stage.inch(f.usual_going)} / SIN {round(half, 1):g}°"
    )
    faces = [cut.polygon for cut in work.cuts if cut.part.role == "hip stringer"]
    whole = shapely.union_all(faces)
    x0, y0, x1, y1 = whole.bounds
    grid_points = [
        shapely.Point(x0 + (x1 - x0) * s, y0 + (y1 - y0) * t) for t in (0.3, 0.15, 0.45) for s in (0.5, 0.7, 0.35)
    ]
    tips = [(p.x, p.y) for p in grid_points if whole.contains(p)] or [whole.representative_point().coords[0]]
    view.add(d.Leader(tips[0], words, tips=tips[1:], mark=ply.mark))
    note(
        view,
        cut_boxes(work, "hip block"),
        lambda p: f"{p.mark} {stage.stock(p.stock)} BLOCK IN THE CORNER, NAILED TO BOTH RIMS",
    )
    note(view, cut_boxes(work, "stair header"), lambda p: f"{p.mark} {stage.stock(p.stock)} HEADER")
    note(view, cut_boxes(work, "rim"), lambda p: f"{p.mark} {stage.stock(p.stock)} RIM", which=-1)
    note(view, cut_boxes(work, "tread"), lambda p: f"{stage.stock(p.stock)} TREAD", which=-1)
    note(view, cut_boxes(work, "riser"), "RISER, MITRED")
    note(view, cut_boxes(work, "pad"), "CONCRETE PAD ON FIRM GROUND", (0.8, 0.5))
