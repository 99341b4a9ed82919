"""Stringer cards: the numbers on the framing square, every point along the edge, plumb and level cut, drop and throat."""
from __future__ import annotations

import math

import numpy as np

from ...model.measure import Measured
from .. import drawing as d
from ..sheets.stage import Stage
from .pages import PLAIN, Pages, fit, scale_words
from .running import running
from .set_out import SetOut, on_bench, set_out

EDGE = 1e-3


def stringers(stage: Stage) -> list[tuple[list[Measured], SetOut]]:
    """The pieces of each mark with their set-out."""
    heaps: dict[str, list[Measured]] = {}
    for m in stage.measured_rows:
        if m.role == "stringer":
            heaps.setdefault(m.mark, []).append(m)
    return [(heap, set_out(heap[0])) for heap in heaps.values()]


def build(stage: Stage) -> None:
    found = stringers(stage)
    if not found:
        return
    pages = None
    for n, (heap, out) in enumerate(found):
        if pages is None:
            pages = Pages(stage, 300, "STRINGERS")
        else:
            pages.new()
        m = heap[0]
        view = fit(stage, lambda scale: picture(stage, m, out, scale), (out.length, out.width), (pages.width, pages.y - pages.bottom - 0.6))
        pages.heading(f"{m.mark}  x {len(heap)}   STRINGER {m.stock.name}, {flight_words(m).upper()}. {scale_words(stage, view.scale)}", 3.0)
        pages.view(view, middle=True)
        pages.new()
        rows = facts(stage, m, out)
        pages.table(f"{m.mark} SET-OUT", ["WHAT", "MEASURED"], rows, [6.2, 2.2], "lr")
        if not out.rises:
            pages.table(f"{m.mark} TREADS ON THE UPPER EDGE, FROM THE TIP OF THE TOP END", ["TREAD", "SEAT LINE AT", "NOSING PLUMB AT"],
                        [[str(k), stage.text(a), stage.text(b)] for k, a, b in treads_on(stage, m, out)], [1, 2, 2], "crr", PLAIN)


def flight_words(m: Measured) -> str:
    return m.part.where.rsplit(" stringer", 1)[0]


def facts(stage: Stage, m: Measured, out: SetOut) -> list[list[str]]:
    """What is set out, with its measure."""
    text = stage.inch
    rows = []
    if out.rises:
        rows.append(["SQUARE: RISE ON THE TONGUE / RUN ON THE BLADE", f"{text(out.rise)} / {text(out.run)}"])
        rows.append(["STEP ALONG THE EDGE, TIP TO TIP", text(math.hypot(out.rise, out.run))])
        if abs(out.runs[0] - out.run) > 1 / 32:
            rows.append(["FIRST SEAT, FROM THE PLUMB CUT", text(out.runs[0])])
        rows.append(["LOWEST RISE, AFTER THE DROP", text(out.bottom_rise)])
        rows.append(["DROP OF THE STRINGER (A TREAD'S THICKNESS)", text(out.drop)])
    rows.append(["SLOPE FROM LEVEL", f"{out.slope:.1f}°"])
    rows.append(["TOP PLUMB CUT, LENGTH", text(out.plumb_cut)])
    rows.append(["LEVEL CUT AT THE FOOT, LENGTH", text(out.level_cut)])
    rows.append(["THROAT, WOOD LEFT BEHIND THE NOTCHES" if out.rises else "WIDTH, NOT NOTCHED", text(out.throat)])
    rows.append(["LENGTH, TIP TO TIP", stage.text(out.length)])
    return rows


def treads_on(stage: Stage, m: Measured, out: SetOut) -> list[tuple[int, float, float]]:
    """(tread, where its seat line meets the upper edge, where the plumb line of its nosing does) along u, for treads that
    stand between solid stringers; read off the treads' solids."""
    c, t = math.cos(math.radians(out.slope)), math.sin(math.radians(out.slope))
    flight, down = flight_words(m), m.axis[:2] * (1 if m.axis[2] < 0 else -1)
    steps: dict[int, list] = {}
    for p in stage.of("tread"):
        if p.stair == m.part.stair and p.where.startswith(flight + " tread"):
            steps.setdefault(p.step, []).append(p)
    rows = []
    for k, treads in sorted(steps.items()):
        corners = np.vstack([p.vertices for p in treads])
        front = corners[np.argmax(corners[:, :2] @ down)]
        seat = min(float(p.box[0, 2]) for p in treads)
        u, v = on_bench(m, [[front[0], front[1], seat]])[0]
        rise = out.width - v  # to the upper edge, square to it; level lines climb towards it by t an inch of c
        rows.append((k, float(u + rise * c / t), float(u - rise * t / c)))
    return rows


def picture(stage: Stage, m: Measured, out: SetOut, scale: float) -> d.View:
    """The stringer on the bench, running figures along its upper edge and along its lower one."""
    view = d.View(f"stringer {m.mark.lower()}", scale)
    view.add(d.Polyline(list(out.outline), True, layer="A-SECT-MCUT", mark=m.mark))
    view.add(d.Line((0.0, out.width), (out.length, out.width), layer="A-SECT-HDLN"), d.Line((0.0, 0.0), (out.length, 0.0), layer="A-SECT-HDLN"))
    top = [(0.0, out.width), *out.seats] if out.rises else [(0.0, out.width), *((a, out.width) for _, a, _ in treads_on(stage, m, out))]
    running(view, top, (0.0, out.width), 0.0, 90.0, 0.12 * scale, stage.text, mark=m.mark)
    low = sorted({p for x in out.sides for p in (x.a, x.b) if p[1] < EDGE})
    tip = max(out.outline)
    low_points = [(0.0, 0.0), *low, (tip[0], 0.0)]
    kept = [p for n, p in enumerate(low_points) if n == 0 or p[0] - low_points[n - 1][0] > 1 / 32]
    running(view, kept, (0.0, 0.0), 0.0, -90.0, 0.12 * scale, stage.text, mark=m.mark)
    inner = out.inner[0] if out.inner else None
    if inner:
        view.add(d.Dimension((inner[0], 0.0), inner, (inner[0], 0.0), 90.0, prefix="THROAT ", height=PLAIN,
                             text_at=(inner[0] + 0.85 * scale, inner[1] * 0.5), text_angle=0.0))
    return view
