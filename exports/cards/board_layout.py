"""Board layout: runs numbered in laying order from the outer edge, where each begins, its gaps, joints and rip; the
border."""

from __future__ import annotations

import itertools
import math
import re
from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from ...model.order.cuts import Cut, cut_list
from ..drafting import drawing as d
from ..drafting import style
from ..drafting.clearance import Clearance
from ..drafting.draft import items_box
from ..drafting.wording import mode_text
from ..linework.eye import Eye
from ..linework.views import project
from ..sheets import in_plan
from ..sheets.house import house_in_plan
from ..sheets.pens import items
from ..sheets.stage import SURFACE, Stage
from .pages import BIG, LEAST_FIGURE, PLAIN, Pages, fit, label_of
from .running import running

FULL = 1 / 64  # inches: a run narrower than its stock by more than this is ripped


@dataclass(frozen=True)
class BoardRun:
    """One run of field boards. `near` is its edge towards the outer edge, measured from the outermost edge of the
    surface; `gap` to the run laid before it (None for the first), `joints` the middles of its butt joints from the low
    end of the surface along the boards."""

    number: int
    near: float
    width: float
    gap: float | None
    rip: bool
    boards: tuple
    joints: tuple[float, ...]


def axes(stage: Stage) -> tuple[np.ndarray, np.ndarray]:
    """Along the boards (right or up the sheet) and square to them, from the first run laid to the last."""
    runs = _by_run(stage)
    along = in_plan.plan_axis(runs[min(runs)][0])
    across = np.array([-along[1], along[0]])
    if len(runs) > 1:
        first, last = (
            np.mean([np.asarray(in_plan.centre(b)) for b in runs[k]], axis=0) for k in (min(runs), max(runs))
        )
        across = across if float((last - first) @ across) > 0 else -across
    return along, across


def _by_run(stage: Stage) -> dict[int, list]:
    out: dict[int, list] = defaultdict(list)
    for p in stage.deck_of("board"):
        if found := re.fullmatch(r"run (\d+)", p.where):
            out[int(found[1])].append(p)
    return dict(out)


def runs(stage: Stage) -> list[BoardRun]:
    """Every run in laying order, measured off its boards."""
    found = _by_run(stage)
    if not found:
        return []
    along, across = axes(stage)
    pieces = stage.deck_of(*SURFACE)
    edge, low = min(in_plan.reach(p, across)[0] for p in pieces), min(in_plan.reach(p, along)[0] for p in pieces)
    out: list[BoardRun] = []
    before = None
    for number in sorted(found):
        boards = sorted(found[number], key=lambda b: in_plan.reach(b, along))
        near, far = min(in_plan.reach(b, across)[0] for b in boards), max(in_plan.reach(b, across)[1] for b in boards)
        ends = [in_plan.reach(b, along) for b in boards]
        joints = tuple((a[1] + b[0]) / 2 - low for a, b in itertools.pairwise(ends) if 0 <= b[0] - a[1] < 1)
        rip = far - near < boards[0].stock.width - FULL
        out.append(
            BoardRun(
                number, near - edge, far - near, None if before is None else near - before, rip, tuple(boards), joints
            )
        )
        before = far
    return out


def build(stage: Stage) -> None:
    found = runs(stage)
    if not found:
        return
    pages = Pages(stage, 200, "BOARD LAYOUT")
    pieces = stage.deck_of(*SURFACE)
    plan = project(pieces, Eye.above())
    view = fit(
        stage,
        lambda scale: _plan(stage, plan, found, scale),
        (plan.box[2] - plan.box[0], plan.box[3] - plan.box[1]),
        (pages.width, pages.y - pages.bottom - 0.25),
    )
    pages.view(view, middle=True)
    gaps = [r.gap for r in found if r.gap is not None]
    between = f" GAP BETWEEN RUNS {mode_text(gaps, stage.inch)}." if gaps else ""
    pages.sheet.add(
        d.Text(
            (pages.left, pages.bottom),
            f"RUNS IN LAYING ORDER, 1 FIRST.{between}",
            BIG,
            "left",
            "bottom",
            layer="A-ANNO-LEGN",
        )
    )
    pages.new()
    pages.text(
        "POSITION: OUTERMOST EDGE OF THE SURFACE TO THE RUN'S NEAR EDGE. JOINTS: FROM ITS LEFT OR LOW END.", PLAIN
    )
    pages.table(
        "RUNS",
        ["RUN", "POSITION", "WIDTH", "BOARDS FROM THE LEFT: MARK AND LENGTH", "JOINTS AT"],
        _rows(stage, found),
        [0.7, 1.5, 1.5, 4.2, 1.7],
        "crrlr",
        BIG if len(found) <= 10 else PLAIN,
    )
    _border(stage, pages)


def _rows(stage: Stage, found: list[BoardRun]) -> list[list[str]]:
    long = {m.id: m.long_point for m in stage.measured_rows}
    return [
        [
            str(r.number),
            stage.text(r.near),
            stage.inch(r.width) + (" RIP" if r.rip else ""),
            ", ".join(f"{b.mark} {stage.text(long[b.id])}" for b in r.boards),
            ", ".join(map(stage.text, r.joints)) or "-",
        ]
        for r in found
    ]


def _plan(stage: Stage, work, found: list[BoardRun], scale: float) -> d.View:
    view = d.View("board layout", scale)
    view.add(*house_in_plan(stage), *items(work, "plan"))
    along, across = axes(stage)
    clear = Clearance(view.items, [], [], scale, stage.metric)
    beside = [r for r in found if not _number(stage, view, clear, r, along, across, scale)]
    if len(beside) > MANY:  # boards too narrow on this paper: the first, the last and every fifth stand beside the deck
        beside = [r for r in beside if r.number % 5 == 0 or r in (found[0], found[-1])]
    if beside:
        _numbers_beside(stage, view, beside, along, across, scale)
        clear = Clearance(view.items, [], [], scale, stage.metric)
    whole = work.box
    middle = np.array([(whole[0] + whole[2]) / 2, (whole[1] + whole[3]) / 2])
    for p in (p for p in stage.deck_of("border", "breaker") if len(found) and _outermost(p)):
        c, u = np.asarray(in_plan.centre(p)), in_plan.plan_axis(p)
        n = in_plan.square(u)
        out = n if float((c - middle) @ n) > 0 else -n
        half = float(np.ptp(in_plan.reach(p, n))) / 2
        long = float(np.ptp(in_plan.reach(p, u)))
        wide = abs(float(out[0])) * style.text_width(p.mark, BIG) / 2 + abs(float(out[1])) * BIG / 2
        places = [
            c + side * out * (half + (0.08 + wide + k) * scale) + u * t * long
            for k in (0.0, 0.15, 0.4)
            for t in (0.0, 0.15, -0.15, 0.3, -0.3, 0.42, -0.42)
            for side in ((1,) if p.role == "border" else (1, -1))
        ]
        made = label_of(p.mark, BIG, p.id)
        if clear.label(made, places):
            view.add(made)
    return view


MANY = 6  # numbers beside the deck


def _outermost(p) -> bool:
    found = re.search(r"course (\d+)", p.where)
    return not found or found[1] == "1"


def _number(stage: Stage, view: d.View, clear: Clearance, r: BoardRun, along, across, scale: float) -> bool:
    """Letters a run's number within its widest board, where one stands clear of joints and posts; says whether it
    did."""
    height = min(BIG, 0.82 * r.width / scale)
    if height < LEAST_FIGURE:
        return False
    for b in sorted(r.boards, key=lambda p: -p.footprint.area):
        low, high = in_plan.reach(b, along)
        level = sum(in_plan.reach(b, across)) / 2
        first = low + (0.3 + 0.3 * (r.number % 2)) * scale
        places = [along * s + across * level for s in np.arange(first, high - 0.15 * scale, 0.25 * scale)]
        made = label_of(str(r.number), height, b.id)
        if clear.label(made, places, air=0.008):
            view.add(made)
            return True
    return False


def _numbers_beside(stage: Stage, view: d.View, found: list[BoardRun], along, across, scale: float) -> None:
    """Numbers of runs too narrow to hold them, at the far end of the boards, a line leading to each."""
    pieces = stage.deck_of(*SURFACE)
    edge = min(in_plan.reach(p, across)[0] for p in pieces)
    x0, y0, x1, y1 = items_box(view.items, scale, stage.metric)
    far = max(
        float(np.array(q) @ along) for q in ((x0, y0), (x1, y1), (x0, y1), (x1, y0))
    )  # beyond the wall of the house too
    turn = math.degrees(math.atan2(across[1], across[0]))
    off = math.degrees(math.atan2(along[1], along[0]))
    spots = {}
    for r in found:
        end = max(in_plan.reach(b, along)[1] for b in r.boards)
        spots[r.near + r.width / 2] = along * end + across * (edge + r.near + r.width / 2), r.number
    order = sorted(spots)
    origin = along * max(in_plan.reach(b, along)[1] for r in found for b in r.boards) + across * edge
    at = far - float(origin @ along) + 0.1 * scale
    running(
        view,
        [tuple(map(float, spots[s][0])) for s in order],
        tuple(map(float, origin)),
        turn,
        off,
        at,
        lambda s: str(spots[min(order, key=lambda o: abs(o - s))][1]),
    )


def border_cuts(stage: Stage) -> list[Cut]:
    """The cut list of border and breaker boards of the deck."""
    return [
        c
        for c in cut_list([m for m in stage.measured_rows if m.part.stair is None], ("surface",))
        if c.role in ("border", "breaker")
    ]


def angle_words(cut: Cut, end: str) -> str:
    """Saw settings of one end in a few words."""
    words = []
    for s in cut.end(end):
        part = ([f"{s.mitre:g}°"] if s.mitre else []) + ([f"BEVEL {s.bevel:g}°"] if s.bevel else [])
        words.append(" ".join(part) if part else "SQUARE")
    return " + ".join(words)


def _border(stage: Stage, pages: Pages) -> None:
    cuts = border_cuts(stage)
    if not cuts:
        return
    rows = [
        [
            c.mark,
            str(c.quantity),
            ", ".join(c.where).upper(),
            stage.text(c.long_point),
            stage.text(c.short_point),
            f"{angle_words(c, 'A')} / {angle_words(c, 'B')}",
            "YES" if c.notches else "-",
        ]
        for c in cuts
    ]
    pages.table(
        "BORDER AND BREAKERS, TOP FACE UP",
        ["MARK", "NO.", "WHERE", "LONG POINT", "SHORT POINT", "LEFT / RIGHT END", "NOTCH"],
        rows,
        [0.8, 0.55, 2.75, 1.45, 1.5, 2.3, 0.9],
        "lclrrlc",
        PLAIN,
    )
