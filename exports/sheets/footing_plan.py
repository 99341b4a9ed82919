"""S-101: every footing with its size and depth, dimensioned from the house corner and from its neighbour."""

from __future__ import annotations

import math

import numpy as np

from ..drafting import drawing as d
from ..drafting.tabling import table_size
from ..linework.eye import Eye
from ..linework.views import project
from . import in_plan
from .hardware import limit_row
from .house import house_in_plan, outline_items
from .pens import items, name_of
from .stage import Stage, joined_box
from .strings import Strings


def footing_size(part) -> float:
    """Diameter of a round footing, side of a square one."""
    return 2 * part.shape.circle if part.shape.circle else float(min(part.box[1, :2] - part.box[0, :2]))


def house_corner(stage: Stage) -> tuple[d.Point, str]:
    """The point dimensions start from: the end of a house edge furthest left and up the sheet, else the outline's
    corner."""
    ends = [tuple(map(float, p)) for e in stage.house_edges for p in (e.start, e.end)]
    if ends:
        return min(ends, key=lambda p: (round(p[0], 3), -p[1])), "HOUSE EDGE OF THE DECK"
    corners = [tuple(map(float, e.start)) for e in stage.edges]
    return min(corners, key=lambda p: (round(p[0], 3), -p[1])), "CORNER OF THE FRAME"


def build(stage: Stage) -> d.Sheet:
    sheet = stage.sheet("S-101", "FOOTING AND POST PLAN")
    shown = stage.of("footing", "post", "pad", "post base")
    work = project(stage.of("post", "pad"), Eye.above(), under=[])
    below = project(stage.of("footing"), Eye.above())
    frame = tuple(map(float, stage.deck.layout.outline.polygon.bounds))
    box = joined_box([frame, work.box, below.box]) if shown else frame
    plan_room, column = stage.beside(sheet, 5.4)
    lines = [*house_in_plan(stage), *outline_items(stage), *items(below, "plan"), *items(work, "plan")]
    lines += [
        d.Line(b.point(b.along[0]), b.point(b.along[1]), layer="S-BEAM-CNTR", mark=name_of(b.plies[0]))
        for b in stage.beams
    ]

    def draw(scale: float) -> d.View:
        view = d.View("footing plan", scale, list(lines))
        _centres(stage, view)
        _dimensions(stage, view, box)
        return view

    view = stage.fitted(draw, box, plan_room, 24.0, (1.2, 0.3))
    stage.place(
        sheet,
        view,
        plan_room,
        "Footing and post plan",
        "1",
        "DIMENSIONS TO CENTRES OF FOOTINGS AND POSTS. PHANTOM LINE: OUTLINE OF THE FRAME ABOVE.",
    )
    if column:  # on small papers the table stands among the schedules
        table = footing_table(stage, (column[0], column[3]))
        sheet.add(table)
        column = (column[0], column[1], column[2], column[3] - table_size(table)[1] - 0.3)
    stage.notes(sheet, column, "FOOTING NOTES", footing_notes(stage))
    return sheet


def _centres(stage: Stage, view: d.View) -> None:
    for f in stage.of("footing"):
        x, y = in_plan.centre(f)
        r = footing_size(f) / 2 + 0.1 * view.scale
        view.add(
            d.Line((x - r, y), (x + r, y), layer="S-FNDN-CNTR", mark=name_of(f)),
            d.Line((x, y - r), (x, y + r), layer="S-FNDN-CNTR", mark=name_of(f)),
        )
        view.add(
            d.Tag(
                f.id or f.mark,
                None,
                (x + footing_size(f) / 2 * 0.7071, y + footing_size(f) / 2 * 0.7071),
                "box",
                mark=name_of(f),
            )
        )
    for p in stage.of("pad"):
        (x0, y0), (x1, y1) = p.box[:, :2]
        tips = [
            (float(x0 + (x1 - x0) * a), float(y0 + (y1 - y0) * b))
            for a, b in ((0.8, 0.5), (0.8, 0.8), (0.2, 0.5), (0.2, 0.2), (0.5, 0.2))
        ]
        view.add(
            d.Leader(
                tips[0],
                tips=tips[1:],
                text=(
                    f"CONCRETE PAD\n{stage.text(float(np.ptp(p.box[:, 0])))} x {stage.text(float(np.ptp(p.box[:, 1])))}"
                ),
                mark=name_of(p),
            )
        )
    for p in stage.of("post")[:1]:
        view.add(d.Leader(in_plan.centre(p), f"{stage.stock(p.stock)} POST", mark=name_of(p)))


def _dimensions(stage: Stage, view: d.View, box: d.Box) -> None:
    """A string for every row and every column of footings, each starting at the house corner; overall outermost."""
    (hx, hy), _ = house_corner(stage)
    pads = [tuple(float(v) for v in (*p.box[0, :2], *p.box[1, :2])) for p in stage.of("pad")]
    strings = Strings(view, box, blocks=pads, spacing=stage.string_spacing)
    centres = [in_plan.centre(f) for f in stage.of("footing")]
    rows: dict[float, list] = {}
    columns: dict[float, list] = {}
    for x, y in centres:
        rows.setdefault(_near(rows, y), []).append((x, y))
        columns.setdefault(_near(columns, x), []).append((x, y))
    for x0, y0, x1, y1 in pads:
        strings.chain("below", [(hx, box[1]), (x0, y0), (x1, y0)])
        strings.chain("left", [(box[0], hy), (x0, y1), (x0, y0)])
    seen = set()
    for y in sorted(rows):
        key = tuple(sorted(round(x * 16) for x, _ in rows[y]))
        if key not in seen:
            seen.add(key)
            strings.chain("below", [(hx, box[1]), *rows[y]])
    seen = set()
    for x in sorted(columns):
        key = tuple(sorted(round(y * 16) for _, y in columns[x]))
        if key not in seen:
            seen.add(key)
            strings.chain("left", [(box[0], hy), *columns[x]])
    frame = stage.deck.layout.outline.polygon.bounds
    strings.chain("below", [(float(frame[0]), box[1]), (float(frame[2]), box[1])])
    strings.chain("left", [(box[0], float(frame[1])), (box[0], float(frame[3]))])


def _near(known: dict[float, list], value: float) -> float:
    return next((k for k in known if abs(k - value) < 1 / 16), value)


def footing_rows(stage: Stage) -> list[list[str]]:
    (hx, hy), _ = house_corner(stage)
    out = []
    for f in sorted(stage.of("footing"), key=lambda f: f.id or f.mark):
        x, y = in_plan.centre(f)
        g = stage.grade(x, y)
        low, high = map(float, f.box[:, 2])
        posts = [p for p in stage.of("post") if math.dist(in_plan.centre(p), (x, y)) < footing_size(f) / 2]
        size = stage.text(footing_size(f)) + (" DIA." if f.shape.circle else " SQ.")
        out.append(
            [
                f.id or f.mark,
                size,
                stage.text(high - low),
                stage.text(g - low),
                stage.text(abs(x - hx)),
                stage.text(abs(y - hy)),
                f"{stage.stock(posts[0].stock)} {posts[0].mark}" if posts else "-",
            ]
        )
    return out


def footing_table(stage: Stage, at: d.Point) -> d.Table:
    return d.Table(
        at,
        "FOOTINGS",
        ["MARK", "SIZE", "HEIGHT", "BELOW GRADE", "X FROM CORNER", "Y FROM CORNER", "POST"],
        footing_rows(stage),
        [0.6, 0.83, 0.66, 0.68, 1.0, 1.0, 0.62],
        "lcccccc",
    )


def footing_notes(stage: Stage) -> list[str]:
    p = stage.deck.parameters
    _, corner = house_corner(stage)
    rows = [
        f"X AND Y ARE MEASURED FROM THE LEFT END OF THE {corner}. VERIFY ON SITE BEFORE DIGGING.",
        f"ASSUMED SOIL BEARING {p.loads.soil_bearing_psf:g} PSF; BEAR ON UNDISTURBED SOIL.",
    ]
    if p.local.frost_depth:
        rows.append(
            f"FROST DEPTH {stage.text(p.local.frost_depth)} BELOW GRADE; FOOTINGS GO DOWN TO THE DEPTH IN THE TABLE."
        )
    else:
        rows.append(
            "FROST DEPTH NOT GIVEN IN THE PARAMETER FILE: ASK THE AUTHORITY HAVING JURISDICTION AND COMPARE WITH THE"
            " TABLE."
        )
    strength = limit_row(stage, "concrete_strength_min")
    if strength:
        rows.append(
            f"CONCRETE OF AT LEAST {strength.value:g} {strength.unit.upper()} COMPRESSIVE STRENGTH"
            f" ({stage.words(strength.citation)})."
        )
    rows += [
        "POST BASES HOLD POSTS OFF THE CONCRETE; ANCHOR BOLTS SET IN THE POUR.",
        "INSPECTION OF HOLES BEFORE THE POUR.",
        "CALL THE UTILITY LOCATING SERVICE BEFORE DIGGING.",
    ]
    return rows
