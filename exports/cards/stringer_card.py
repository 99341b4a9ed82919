"""Stringer cards: the numbers on the framing square, every point along the edge, plumb and level cut, drop and
throat."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

import numpy as np
import shapely

from ...model.measuring.loose_ends import STRINGERS
from ...model.measuring.measure import Measured
from ..drafting import drawing as d
from ..drafting import style
from ..drafting.clearance import Clearance
from ..sheets.stage import Stage
from .pages import PLAIN, Pages, SideTable, fit, label_of
from .running import running
from .set_out import LEVEL, PLUMB, SetOut, on_saw, set_out

ON_THE_EDGE = 1e-3
LEVEL_GRAIN = 0.05  # sine of a stringer's slope, below which it lies level
RISE_BY_RUN = "SQUARE: RISE / RUN"


def stringers(stage: Stage) -> list[tuple[list[Measured], SetOut]]:
    """The pieces of each mark with their set-out."""
    heaps: dict[str, list[Measured]] = {}
    for m in stage.measured_rows:
        if m.role in STRINGERS and abs(m.axis[2]) > LEVEL_GRAIN:  # a jack that is a square block has none
            heaps.setdefault(m.mark, []).append(m)
    return [(heap, set_out(heap[0])) for heap in heaps.values()]


def build(stage: Stage) -> None:
    found = stringers(stage)
    if not found:
        return
    pages = None
    for _n, (heap, out) in enumerate(found):
        if pages is None:
            pages = Pages(stage, 300, "STRINGERS")
        else:
            pages.new()
        m = heap[0]
        of = f"{m.role.upper()} {stage.stock(m.stock)}, {serves(heap)}"
        pages.heading(f"{m.mark}  x {len(heap)}   {of}. TOP END LEFT", 3.0)
        view = fit(
            stage,
            lambda scale: picture(stage, m, out, scale),
            (out.length, out.width),
            (pages.width, pages.y - pages.bottom - 0.1),
        )
        pages.view(view, middle=True)
        pages.new()
        pages.beside(
            SideTable(f"{m.mark} SET-OUT", ["WHAT", "MEASURED"], facts(stage, m, out), "lr"),
            SideTable(f"{m.mark} POINTS", *points(stage, m, out)),
        )


def points(stage: Stage, m: Measured, out: SetOut) -> tuple[list[str], list[list[str]], str]:
    """Head, rows and alignment of the table of points: along from the tip of the top end, and up from the lower
    edge."""
    if out.runs:
        inner = dict(enumerate(out.inner, 1))
        rows = [
            [str(k), stage.text(u), *((stage.text(inner[k][0]), stage.inch(inner[k][1])) if k in inner else ("-", "-"))]
            for k, (u, _) in enumerate(out.seats, 1)
        ]
        return ["TIP", "TIP AT", "INNER AT", "UP"], rows, "crrr"
    return (
        ["TREAD", "FRONT AT", "UP"],
        [[str(k), stage.text(u), stage.inch(v)] for k, u, v in treads_on(stage, m)],
        "crr",
    )


def flight_words(m: Measured) -> str:
    return m.part.where.rsplit(f" {m.role}", 1)[0]


def serves(heap: Sequence[Measured]) -> str:
    """Every flight that has pieces of a mark, in the order of the deck; of several each with its number of them."""
    count = Counter(flight_words(m).upper() for m in heap)
    return next(iter(count)) if len(count) == 1 else ", ".join(f"{flight} x {n}" for flight, n in count.items())


def facts(stage: Stage, m: Measured, out: SetOut) -> list[list[str]]:
    """What is set out, with its measure."""
    text = stage.inch
    rows = []
    if out.runs:
        rows.append([RISE_BY_RUN, f"{text(out.rise)} / {text(out.run)}"])
        rows.append(["STEP, TIP TO TIP", text(math.hypot(out.rise, out.run))])
        if abs(out.runs[0] - out.run) > 1 / 32:
            rows.append(["FIRST SEAT FROM PLUMB CUT", text(out.runs[0])])
        rows.append(["LOWEST RISE", text(out.bottom_rise)])
        rows.append(["DROP (TREAD'S THICKNESS)", text(out.drop)])
    elif marks := treads_on(stage, m):
        if len(marks) > 1:
            rise, run = square_of(m, marks, out)
            rows.append([RISE_BY_RUN, f"{text(rise)} / {text(run)}"])
            rows.append(["STEP, FRONT TO FRONT", text(math.hypot(rise, run))])
        rows.append(["GAUGE LINE FROM UPPER EDGE", text(out.width - float(np.median([v for *_, v in marks])))])
        rows.append(["DROP (TREAD'S THICKNESS)", text(tread_thickness(stage, m))])
    rows.append(["SLOPE FROM LEVEL", f"{out.slope:.1f}°"])
    rows.append(["TOP PLUMB CUT", text(out.plumb_cut)])
    rows.append(["LEVEL CUT AT THE FOOT", text(out.level_cut)])
    if not out.inner or _over_lower_edge(out):
        rows.append(["THROAT" if out.runs else "THROAT (NOT NOTCHED)", text(out.throat)])
    rows.append(["LENGTH, TIP TO TIP", stage.text(out.length)])
    return rows


def _treads(stage: Stage, m: Measured) -> dict[int, list]:
    flight = flight_words(m)
    steps: dict[int, list] = {}
    for p in stage.of("tread"):
        if p.stair == m.part.stair and p.where.startswith(flight + " tread"):
            steps.setdefault(p.step, []).append(p)
    return dict(sorted(steps.items()))


def treads_on(stage: Stage, m: Measured) -> list[tuple[int, float, float]]:
    """(tread, u, v) of the point where the front and the underside of each tread meet, for treads between solid
    stringers: the square's corner is set to it. Read off the treads' solids; all lie on one line along the stringer,
    the gauge line."""
    return [(k, *corners[0]) for k, corners in seats_on(stage, m)]


def seats_on(stage: Stage, m: Measured) -> list[tuple[int, list[tuple[float, float]]]]:
    """(tread, [front below, back below, back above, front above]) of each tread as it stands against the stringer, (u,
    v)."""
    down = m.axis[:2] * (1 if m.axis[2] < 0 else -1)
    rows = []
    for k, treads in _treads(stage, m).items():
        corners = np.vstack([p.vertices for p in treads])
        along = corners[:, :2] @ down
        front, back = corners[np.argmax(along)], corners[np.argmin(along)]
        seat, top = float(corners[:, 2].min()), float(corners[:, 2].max())
        rows.append(
            (
                k,
                [
                    (float(u), float(v))
                    for u, v in on_saw(m, [[*front[:2], seat], [*back[:2], seat], [*back[:2], top], [*front[:2], top]])
                ],
            )
        )
    return rows


def tread_thickness(stage: Stage, m: Measured) -> float:
    return float(
        np.median([max(p.box[1, 2] for p in t) - min(p.box[0, 2] for p in t) for t in _treads(stage, m).values()])
    )


def square_of(m: Measured, marks, out: SetOut) -> tuple[float, float]:
    """Rise and run from tread to tread, from their marks on the stringer."""
    c, t = math.cos(math.radians(out.slope)), math.sin(math.radians(out.slope))
    steps = np.diff([(u, v) for _, u, v in marks], axis=0)
    return float(np.median(steps[:, 0] * t - steps[:, 1] * c)), float(np.median(steps[:, 0] * c + steps[:, 1] * t))


def picture(stage: Stage, m: Measured, out: SetOut, scale: float) -> d.View:
    """The stringer on the saw table, running figures along its upper edge and along its lower one."""
    view = d.View(f"stringer {m.mark.lower()}", scale)
    view.add(d.Polyline(list(out.outline), True, layer="A-SECT-MCUT", mark=m.mark))
    view.add(
        d.Line((0.0, out.width), (out.length, out.width), layer="A-SECT-HDLN"),
        d.Line((0.0, 0.0), (out.length, 0.0), layer="A-SECT-HDLN"),
    )
    if out.runs:
        top = [(0.0, out.width), *out.seats]
    else:
        seats = seats_on(stage, m)
        for _, ring in seats:
            view.add(d.Polyline(ring, True, layer="A-SECT-HDLN"))
        top = [(0.0, out.width), *(ring[0] for _, ring in seats)]
        if seats:
            level = float(np.median([ring[0][1] for _, ring in seats]))
            view.add(d.Line((0.0, level), (out.length, level), layer="A-SECT-HDLN"))
    running(view, top, (0.0, out.width), 0.0, 90.0, 0.12 * scale, stage.text, mark=m.mark)
    low = sorted({p for x in out.sides for p in (x.a, x.b) if p[1] < ON_THE_EDGE})
    tip = max(out.outline)
    low_points = [(0.0, 0.0), *low, (tip[0], 0.0)]
    kept = [p for n, p in enumerate(low_points) if n == 0 or p[0] - low_points[n - 1][0] > 1 / 32]
    running(view, kept, (0.0, 0.0), 0.0, -90.0, 0.12 * scale, stage.text, mark=m.mark)
    for inner in (out.inner if _over_lower_edge(out) else ())[:1]:
        view.add(
            d.Dimension(
                (inner[0], 0.0),
                inner,
                (inner[0], 0.0),
                90.0,
                prefix="THROAT ",
                height=PLAIN,
                text_at=_beside(out, inner, f"THROAT {stage.text(inner[1])}", scale),
                text_angle=0.0,
            )
        )
    clear = Clearance(view.items, [], [], scale, stage.metric)
    for words, kind, long in (("PLUMB CUT", PLUMB, out.plumb_cut), ("LEVEL CUT", LEVEL, out.level_cut)):
        for x in (x for x in out.sides if x.kind == kind and abs(x.length - long) < ON_THE_EDGE):
            c = (np.add(x.a, x.b)) / 2
            wide = style.text_width(words, PLAIN) / 2 * scale
            places = [
                (c[0] + side * (wide + k * scale), c[1] + up * scale)
                for k in (0.1, 0.2, 0.35, 0.5, 0.8, 1.2)
                for up in (0.0, -0.12, 0.12, -0.3, 0.3, -0.5, 0.5)
                for side in ((1, -1) if kind == PLUMB else (-1, 1))
            ]
            made = label_of(words, PLAIN)
            if clear.label(made, places):
                view.add(made)
            break
    return view


def _over_lower_edge(out: SetOut) -> bool:
    """Whether wood lies square under the first inner corner as far as the lower edge: a short jack has no such edge,
    and no throat."""
    low = [p[0] for x in out.sides for p in (x.a, x.b) if p[1] < ON_THE_EDGE]
    return bool(out.inner) and min(low) - 1 / 32 < out.inner[0][0] < max(low) + 1 / 32


def _beside(out: SetOut, inner: d.Point, words: str, scale: float) -> d.Point:
    """The middle of the words beside the line of the throat, at the first place where no edge of the stringer runs
    through them; at its right, half way up, where there is none."""
    half, high = (style.text_width(words, PLAIN) / 2 + 0.05) * scale, 0.75 * PLAIN * scale
    off = max(0.95 * scale, half + 0.12 * scale)
    places = [(inner[0] + side * off, inner[1] * up) for up in (0.5, 0.35, 0.65) for side in (1, -1)]
    edges = shapely.LinearRing(out.outline)
    clear = [(x, y) for x, y in places if not edges.intersects(shapely.box(x - half, y - high, x + half, y + high))]
    return (clear or places)[0]
