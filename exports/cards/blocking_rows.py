"""Blocking rows: every row of blocking on a plan of the frame, its near face measured from one end, and a table of the
rows."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from ...model.solid.roles import in_group
from ..drafting import drawing as d
from ..drafting.clearance import Clearance
from ..drafting.layers import layer_for
from ..sheets import in_plan
from ..sheets.house import house_in_plan
from ..sheets.stage import Stage
from .pages import BIG, PLAIN, Pages, fit, label_of
from .setting_out import house_line, house_words

BLOCKS = in_group("blocking")
OUT, ALONG = "OUT", "ALONG"
ONE_ROW = 1 / 16  # inches: blocks this near one line stand in one row
DRIFT = 1 / 2  # inches from block to block by which a row of a frame out of square moves
MOST_STATIONS = 4  # stations named for one row; a row of more follows the posts or the joists it stands by


@dataclass(frozen=True)
class BlockingRow:
    """Blocks of one kind. `measured` says from where `stations` (near faces, rising) are taken: OUT from the house,
    ALONG from its end, or the name of the edge whose outer face they are taken from."""

    number: int
    kind: str
    measured: str
    stations: tuple[float, ...]
    blocks: tuple


def rows(stage: Stage) -> list[BlockingRow]:
    """Every row of the deck, those measured out from the house first, then along it, nearest first."""
    edge, left, gap = house_line(stage)
    heaps: dict[tuple, list] = defaultdict(list)
    for p in stage.deck_of(*BLOCKS):
        across = abs(float(in_plan.plan_axis(p) @ np.asarray(edge.direction)))
        where = OUT if across > 0.995 else ALONG if across < 0.1 else (p.edge or "")
        heaps[p.role, p.where, where, p.edge or ""].append((station(stage, p, where, edge, left, gap), p))
    found = []
    for (_, kind, where, _), blocks in heaps.items():
        blocks.sort(key=lambda b: b[0])
        row: list = []
        for s, p in blocks:  # blocks that stand in turn lie side by side: a wider step begins another row
            if row and p.role != "post blocking" and s - row[-1][0] > p.stock.thickness + ONE_ROW:
                found.append(_row(kind, where, row))
                row = []
            row.append((s, p))
        found.append(_row(kind, where, row))
    found.sort(key=lambda r: ({OUT: 0, ALONG: 1}.get(r[1], 2), "beside" in r[0], r[2][0]))
    return [BlockingRow(n, *r) for n, r in enumerate(found, 1)]


def _row(kind: str, where: str, blocks: list) -> tuple:
    stations: list[float] = []
    for s, _ in blocks:
        if not stations or s - stations[-1] > ONE_ROW:
            stations.append(s)
    return kind, where, tuple(stations), tuple(p for _, p in blocks)


def station(stage: Stage, block, where: str, edge, left: float, gap: float) -> float:
    """Distance of the near face of a block from what it is measured from."""
    spots = [edge.position(v) for v in block.vertices]
    if where == OUT:
        return float(min(s for _, s in spots)) + gap
    if where == ALONG:
        return float(min(abs(s - left) for s, _ in spots))
    own = stage.edge(where) if where else edge
    return float(min(s for _, s in (own.position(v) for v in block.vertices)))


def build(stage: Stage) -> None:
    found = rows(stage)
    if not found:
        return
    pages = Pages(stage, 130, "BLOCKING")
    wall, end = house_words(stage)
    box = stage.deck.layout.outline.polygon.bounds
    view = fit(
        stage,
        lambda scale: _plan(stage, found, scale),
        (box[2] - box[0], box[3] - box[1]),
        (pages.width, pages.y - pages.bottom - 0.25),
    )
    pages.view(view, middle=True)
    pages.sheet.add(
        d.Text(
            (pages.left, pages.bottom),
            "NUMBERS ARE THE ROWS OF THE TABLE THAT FOLLOWS.",
            PLAIN,
            "left",
            "bottom",
            layer="A-ANNO-LEGN",
        )
    )
    pages.new()
    pages.text(
        f"TO THE NEAR FACE. OUT: SQUARE FROM {wall}. ALONG: FROM {end}. TWO FIGURES: BLOCKS IN TURN AT ONE AND THE"
        " OTHER. FIGURES WITH TO BETWEEN THEM: FROM THE ONE TO THE OTHER, THE ROW RUNS ASKEW.",
        PLAIN,
    )
    pages.table(
        "ROWS OF BLOCKING",
        ["ROW", "WHERE", "MARKS AND NUMBER", "MEASURED", "NEAR FACE"],
        [[str(r.number), words(r), marks(r), measured_words(r), stations_words(stage, r)] for r in found],
        [0.62, 3.75, 2.5, 1.25, 1.75],
        "cllll",
        PLAIN,
    )


def words(r: BlockingRow) -> str:
    edges = sorted({p.edge for p in r.blocks if p.edge})
    return r.kind.upper().replace("BEAM BEAM", "BEAM") + (
        f", {', '.join(edges).upper()} EDGE" if edges and not any(e in r.kind for e in edges) else ""
    )


def marks(r: BlockingRow) -> str:
    """Marks with their counts, by mark."""
    count: dict[str, int] = defaultdict(int)
    for p in r.blocks:
        count[p.mark] += 1
    order = sorted(count, key=lambda m: [int(x) if x.isdigit() else x for x in re.split(r"(\d+)", m)])
    return ", ".join(f"{count[m]} x {m}" for m in order)


def measured_words(r: BlockingRow) -> str:
    return r.measured if r.measured in (OUT, ALONG) else f"IN FROM {r.measured.upper()} EDGE"


def stations_words(stage: Stage, r: BlockingRow) -> str:
    if r.blocks[0].role == "post blocking" and len(r.stations) > MOST_STATIONS:
        return "AGAINST THE POSTS, BOTH SIDES"
    lines: list[list[float]] = []  # a row that runs askew, from where to where
    for s in r.stations:
        if lines and s - lines[-1][-1] < DRIFT:
            lines[-1].append(s)
        else:
            lines.append([s])
    return ", ".join(stage.text(line[0]) + (f" TO {stage.text(line[-1])}" if len(line) > 1 else "") for line in lines)


def _plan(stage: Stage, found: list[BlockingRow], scale: float) -> d.View:
    view = d.View("blocking", scale)
    view.add(*house_in_plan(stage))
    view.add(*(d.Polyline(_ring(p), True, layer="A-ELEV-FINE") for p in stage.deck_of("ledger", "rim", "joist")))
    view.add(*(d.Hatch(_ring(p), pattern="solid", layer=layer_for(p.role)) for r in found for p in r.blocks))
    view.add(*(d.Polyline(_ring(p), True, layer="A-SECT-MCUT", mark=p.id) for p in stage.deck_of("guard post")))
    clear = Clearance(view.items, [], [], scale, stage.metric)
    for r in found:
        order = sorted(r.blocks, key=lambda b: -b.footprint.area)
        view.add(*(_number_beside(r, order, clear, scale) or _number_aside(r, order, clear, scale)))
    return view


def _ring(p) -> list[d.Point]:
    return [(float(x), float(y)) for x, y in p.footprint.exterior.coords[:-1]]


def _number_beside(r: BlockingRow, order: list, clear: Clearance, scale: float) -> list[d.AnyItem]:
    """The row's number beside the first of its blocks that has room there; nothing where none has."""
    places, owners = [], {}
    for p in order:
        c, u = np.asarray(in_plan.centre(p)), in_plan.plan_axis(p)
        n = in_plan.square(u)
        beside = p.stock.thickness / 2 + (0.05 + BIG / 2) * scale
        for side in (1, -1):
            for t in (0.0, 0.12, -0.12, 0.24, -0.24):
                x, y = c + side * n * beside + u * t * scale
                places.append((float(x), float(y)))
                owners.setdefault(places[-1], p.id)
    made = label_of(str(r.number), BIG)
    if not clear.label(made, places):
        return []
    made.mark = owners[made.at]
    return [made]


def _number_aside(r: BlockingRow, order: list, clear: Clearance, scale: float) -> list[d.AnyItem]:
    """The row's number further off, with a line to its block; nothing where no place is clear."""
    for reach in np.arange(0.25, 3.0, 0.06):
        for p in order:
            tip = np.asarray(in_plan.centre(p))
            round_ = [
                tip + reach * scale * np.array([math.cos(a), math.sin(a)])
                for a in np.arange(0, 2 * math.pi, math.pi / 12)
            ]
            made = label_of(str(r.number), BIG, p.id)
            if clear.label(made, round_, link=lambda at, tip=tip: _link(at, tip, scale)):
                return [_link(made.at, tip, scale), made]
    return []


def _link(label: d.Point, tip: np.ndarray, scale: float) -> d.Line:
    """From beside a label to the block it names."""
    to = np.asarray(label)
    way = (tip - to) / np.hypot(*(tip - to))
    return d.Line(tuple(map(float, to + way * 0.18 * scale)), tuple(map(float, tip)), layer="A-ANNO-IDEN")
