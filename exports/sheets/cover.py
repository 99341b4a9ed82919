"""G-001: project, index, criteria, notes, abbreviations and a key plan."""

from __future__ import annotations

from shapely import unary_union

from ...shared.stock import own_sizes
from ..drafting import drawing as d
from ..drafting import style
from ..drafting.citing import from_memory
from ..drafting.noting import note_depth
from ..drafting.tabling import table_size
from ..drafting.unlettered import unlettered_notes
from ..drafting.wording import dressed_text, note_on_paper, stock_text
from ..linework.eye import Eye
from . import in_plan
from .flow import Flow
from .hardware import limit_row, psf
from .house import house_in_plan, house_rows, outline_items
from .landing_plan import seen_from_above
from .pens import items, outlines_of
from .schedules import check_rows
from .stage import SURFACE, Stage, joined_box
from .stair_section import counted

_BOX_AIR = 0.12  # paper inches inside the box of rules not met; our own

ABBREVIATIONS = [
    ("B.O.", "BOTTOM OF"),
    ("CLR", "CLEAR"),
    ("DIA.", "DIAMETER"),
    ("DN", "DOWN"),
    ("LLC", "LATERAL LOAD CONNECTION"),
    ("MAX.", "GREATEST"),
    ("MIN.", "LEAST"),
    ("O.C.", "ON CENTRE"),
    ("R", "RISERS"),
    ("SQ.", "SQUARE"),
    ("T.O.", "TOP OF"),
    ("TYP.", "TYPICAL"),
]


def build(stage: Stage) -> d.Sheet:
    """The cover is made first and filled by `fill` when the other sheets are known."""
    return stage.sheet("G-001", "COVER SHEET")


def fill(stage: Stage, sheet: d.Sheet) -> None:
    if stage.small:
        return _fill_small(stage, sheet)
    x0, y0, x1, y1 = sheet.room
    gap = 0.3
    width = (x1 - x0 - gap * 2) / 3
    lefts = [x0 + k * (width + gap) for k in range(3)]

    def stack(x: float, y: float, *tables: d.Table) -> float:
        for t in tables:
            t.at = (x, y)
            sheet.add(t)
            y -= table_size(t)[1] + gap
        return y

    project = d.Table((0, 0), "PROJECT", ["ITEM", "DATA"], project_rows(stage), [width * 0.35, width * 0.65], "ll")
    index = d.Table((0, 0), "DRAWING INDEX", ["SHEET", "TITLE"], index_rows(stage), [width * 0.25, width * 0.75], "ll")
    criteria = d.Table(
        (0, 0), "DESIGN CRITERIA", ["ITEM", "VALUE"], criteria_rows(stage), [width * 0.45, width * 0.55], "ll"
    )
    short = d.Table(
        (0, 0),
        "ABBREVIATIONS",
        ["SHORT", "MEANING"],
        [list(a) for a in ABBREVIATIONS],
        [width * 0.25, width * 0.75],
        "ll",
    )
    room = y1 - y0
    ways = (
        ([project, index], [criteria, short]),
        ([project, short], [criteria, index]),
        ([project, criteria], [index, short]),
        ([project, index], [criteria]),
    )
    way = next(
        (w for w in ways if all(sum(table_size(t)[1] + gap for t in column) - gap <= room for column in w)), None
    )
    notes = general_notes(stage)
    box_room = room - style.TITLE * 2 - sum(note_depth(row, width) for row in notes) - gap
    whole = sum(r[4] == "NOT MET" for r in check_rows(stage)[0])
    if way is None or _box_shown(stage, width, box_room) < whole:
        return _fill_small(stage, sheet)
    y, y2 = (stack(x, y1, *column) for x, column in zip(lefts, way))
    top = rules_box(stage, sheet, lefts[2], y1, width, box_room)
    y3 = stage.notes(sheet, (lefts[2], y0, lefts[2] + width, top), "GENERAL NOTES", notes)
    for top, x in sorted(((y, lefts[0]), (y2, lefts[1]), (y3 - 0.2, lefts[2])), reverse=True):
        if top - y0 > 1.9:
            stage.place(sheet, key_plan(stage, (width - 0.4, top - y0 - 1.1)), (x, y0, x + width, top), "Key plan", "1")
            break


def _fill_small(stage: Stage, sheet: d.Sheet) -> None:
    """A small cover holds the project and the key plan; the rest flows over sheets of its own behind it."""
    x0, y0, x1, y1 = sheet.room
    table = d.Table((x0, y1), "PROJECT", ["ITEM", "DATA"], project_rows(stage), [2.2, 2.8], "ll")
    sheet.add(table)
    rules_box(stage, sheet, x0, y1 - table_size(table)[1] - 0.3, 5.0, y1 - y0 - table_size(table)[1] - 0.3)
    stage.place(sheet, key_plan(stage, (x1 - x0 - 5.6, y1 - y0 - 1.1)), (x0 + 5.3, y0, x1, y1), "Key plan", "1")
    flow = Flow(stage, lambda k: f"G-{101 + k}", "NOTES AND INDEX")
    flow.table("DESIGN CRITERIA", ["ITEM", "VALUE"], criteria_rows(stage), [2.0, 2.7], "ll")
    flow.table("ABBREVIATIONS", ["SHORT", "MEANING"], [list(a) for a in ABBREVIATIONS], [1.0, 3.7], "ll")
    for title, rows in [("GENERAL NOTES", general_notes(stage)), *stage.later]:
        flow.notes(title, rows, 4.7)
    flow.table("DRAWING INDEX", ["SHEET", "TITLE"], index_rows(stage), [1.2, 3.5], "ll")
    for made in flow.sheets:
        stage.drawing.sheets.remove(made)
    stage.drawing.sheets[1:1] = flow.sheets


def _box_table(stage: Stage, width: float, shown: int) -> d.Table:
    """So many of the rules not met, and how many more there are, as wide as the box's inside."""
    rows = [r for r in check_rows(stage)[0] if r[4] == "NOT MET"]
    told = [r[:4] for r in rows[:shown]]
    told += [[f"AND {len(rows) - shown} MORE", "SCHEDULES OF CHECKS", "", ""]] if shown < len(rows) else []
    widths = [(width - 2 * _BOX_AIR) * share for share in (0.34, 0.28, 0.17, 0.21)]
    return d.Table((0, 0), f"RULES NOT MET: {len(rows)}", ["RULE", "PIECE", "MEASURED", "LIMIT"], told, widths, "llrr")


def _box_shown(stage: Stage, width: float, most: float) -> int:
    """How many of the rules not met a box no higher than `most` has room for."""
    count = sum(r[4] == "NOT MET" for r in check_rows(stage)[0])
    return next(
        (n for n in range(count, 0, -1) if table_size(_box_table(stage, width, n))[1] + 2 * _BOX_AIR <= most), 0
    )


def rules_box(stage: Stage, sheet: d.Sheet, x: float, y: float, width: float, most: float) -> float:
    """Every rule that is not met, in a heavy box no higher than `most`: what stands in the way of a permit is on the
    first sheet. Returns where what follows begins."""
    at, inner = (x + _BOX_AIR, y - _BOX_AIR), width - 2 * _BOX_AIR
    results = [c.result for c in stage.checks]
    if "not met" in results:
        made = _box_table(stage, width, _box_shown(stage, width, most))
        made.at = at
        sheet.add(made)
        deep = table_size(made)[1] + 2 * _BOX_AIR
    else:
        told = (
            f"{results.count('met')} ROWS MET, {results.count('not checked')} NOT CHECKED: SEE THE SCHEDULES OF CHECKS."
            if results
            else "NO CHECK WAS RUN FOR THIS SET."
        )
        title = f"RULES NOT MET: {'NONE' if results else 'NOT KNOWN'}"
        sheet.add(d.Text(at, title, style.TITLE, "left", "top", layer="A-ANNO-LEGN"))
        below = (at[0], at[1] - style.TITLE * 2)
        sheet.add(d.Text(below, told, style.NOTE, "left", "top", wrap=inner, layer="A-ANNO-LEGN"))
        deep = 2 * _BOX_AIR + style.TITLE * 2 + style.block_size(told, style.NOTE, inner)[1]
    ring = [(x, y), (x + width, y), (x + width, y - deep), (x, y - deep)]
    sheet.add(d.Polyline(ring, True, layer="A-ANNO-TTLB"))
    return y - deep - 0.3


def index_rows(stage: Stage) -> list[list[str]]:
    return [[s.number, s.name] for s in sorted(stage.drawing.sheets, key=lambda s: not s.number.startswith("G"))]


def project_rows(stage: Stage) -> list[list[str]]:
    p = stage.deck.parameters.project
    given = (
        ("PROJECT", p.name.upper()),
        ("SITE", p.address.upper() or "NOT GIVEN"),
        ("OWNER", p.owner.upper()),
        ("DRAWN BY", p.author.upper() or "NOT GIVEN"),
        ("JOB NUMBER", p.number),
        ("REVISION", p.revision),
    )
    return [[k, v] for k, v in given if v] + scope_rows(stage)


def key_plan(stage: Stage, room: tuple[float, float]) -> d.View:
    """The deck's outline, house and stairs, small."""
    stairs = seen_from_above(stage, stage.of("tread", "pad"), Eye.above())
    platforms = in_plan.outlines(p for p in stage.of(*SURFACE) if p.stair is not None)
    bounds = stage.deck.layout.outline.polygon.bounds
    box = (bounds[0] - 24, bounds[1] - 24, bounds[2] + 24, bounds[3] + 24)
    box = joined_box([box, *([stairs.box] if stairs.lines else []), *(g.bounds for g in platforms)])
    scale = style.fitting_scale((box[2] - box[0], box[3] - box[1]), room, stage.metric, 100.0 if stage.metric else 96.0)
    view = d.View("key plan", scale)
    view.add(*house_in_plan(stage), *outline_items(stage, "A-FLOR-TRIM"), *items(stairs, "plan"))
    view.add(*outlines_of(platforms, "A-FLOR-STRS"))
    return view


def scope_rows(stage: Stage) -> list[list[str]]:
    """What is built, in numbers measured off the pieces."""
    rows = []
    boards = [p for p in stage.of(*SURFACE) if p.stair is None]
    if boards:
        area = unary_union([b.footprint.buffer(0.3) for b in boards]).buffer(-0.3).area / 144
        rows.append(["SURFACE", f"{area:.0f} SQ FT" if not stage.metric else f"{area * 0.09290304:.1f} SQ M"])
        corners = [tuple(map(float, e.start)) for e in stage.edges]
        heights = [stage.surface_top - stage.grade(*c) for c in corners]
        said = dict.fromkeys(stage.text(h) for h in (min(heights), max(heights)))
        rows.append(["HEIGHT OF SURFACE ABOVE GRADE", " TO ".join(said)])
    rows.append(["FRAME", "LEDGER ON THE HOUSE" if stage.of("ledger") else "FREE-STANDING"])
    for k in stage.seen.stairs:
        flights = stage.seen.flights(k)
        if len(flights) > 1:
            risers = sum(len(f.levels) - 1 for f in flights)
            name = "WHOLE STAIR" if len(stage.seen.stairs) == 1 else f"WHOLE STAIR {k + 1}"
            whole = stage.text(flights[0].levels[0] - flights[-1].levels[-1])
            rows.append([name, f"{risers} RISERS, {whole} TOTAL RISE IN {len(flights)} FLIGHTS"])
    for n, f in enumerate(stage.flights):
        rows.append(
            [stage.flight_name(n).upper(), f"{counted(f)}, {stage.text(f.levels[0] - f.levels[-1])} TOTAL RISE"]
        )
    return rows


def criteria_rows(stage: Stage) -> list[list[str]]:
    p = stage.deck.parameters
    out = [
        ["CODE EDITION", p.local.edition.upper()],
        ["LIVE LOAD", psf(p.loads.live_psf)],
        ["DEAD LOAD", psf(p.loads.dead_psf)],
        [
            "GROUND SNOW LOAD",
            psf(p.loads.ground_snow_psf) if p.loads.ground_snow_psf else "0 PSF AS GIVEN; VERIFY FOR THE PLACE",
        ],
        [
            "WIND",
            " ".join(
                x
                for x in (
                    f"{p.local.wind_speed_mph:g} MPH" if p.local.wind_speed_mph else "",
                    f"EXPOSURE {p.local.wind_exposure}" if p.local.wind_exposure else "",
                )
                if x
            )
            or "NOT GIVEN; NOT CALCULATED",
        ],
        ["FROST DEPTH", stage.text(p.local.frost_depth) if p.local.frost_depth else "NOT GIVEN; ASK THE AUTHORITY"],
        ["SOIL BEARING", psf(p.loads.soil_bearing_psf) + " ASSUMED"],
        ["LUMBER", f"{p.lumber.species.upper()} {p.lumber.grade.upper()}{but_for(stage)}"],
        *house_rows(stage),
        *own_rows(stage),
        [
            "TREATMENT",
            (
                f"{p.lumber.treatment.upper()}; {'INCISED' if p.lumber.is_incised else 'NOT INCISED'},"
                f" {'WET' if p.lumber.wet else 'DRY'} IN SERVICE"
            ),
        ],
    ]
    boards = [q for q in stage.of("board") if q.stair is None]
    if boards:
        out.append(
            [
                "SURFACE BOARD",
                (
                    f"{stage.stock(boards[0].stock)} {boards[0].stock.material.upper()}; PUBLISHED SPAN TO COVER"
                    " THE JOIST SPACING"
                ),
            ]
        )
    for item, label in (
        ("guard_handrail_concentrated_load", "GUARD AND HANDRAIL LOAD"),
        ("guard_infill_load", "GUARD INFILL LOAD"),
        ("stair_tread_concentrated_load", "STAIR TREAD LOAD"),
    ):
        row = limit_row(stage, item)
        if row:
            out.append([label, f"{row.value:g} {row.unit.upper()} ({stage.words(row.citation)})"])
    return out


def own_rows(stage: Stage) -> list[list[str]]:
    """A row for each size of the file's own: what it dresses to and by which standard its values are given."""
    return [
        [
            f"LUMBER {stock_text(s.name)}",
            f"{dressed_text(s, stage.metric, '{} DRESSED; ')}VALUES GIVEN BY THE BUILDER: {s.given.standard.upper()}",
        ]
        for s in own_sizes(q.stock for q in stage.deck.parts)
        if s.given
    ]


def but_for(stage: Stage) -> str:
    """Which sizes have values of their own and not those of the species."""
    names = [stock_text(s.name) for s in own_sizes(q.stock for q in stage.deck.parts)]
    return f" BUT FOR {', '.join(names)}" if names else ""


def general_notes(stage: Stage) -> list[str]:
    p = stage.deck.parameters
    rows = [f"WORK TO {p.local.edition.upper()} AS ADOPTED AND AMENDED AT THE PLACE; THE STRICTER RULE GOVERNS."]
    rows += [c.upper() for c in stage.drawing.cautions]
    rows += [
        "EVERY DIMENSION IS MEASURED OFF THE MODEL OF THIS DECK. DO NOT SCALE THE PAPER; FIGURED DIMENSIONS GOVERN.",
        (
            "A CHECK SAYS WHICH PUBLISHED RULE IS MET, NOT MET OR NOT CHECKED, AND NO MORE; THE SCHEDULES OF CHECKS"
            " NAME EACH."
        ),
        (
            f"LUMBER {p.lumber.species.upper()} {p.lumber.grade.upper()}{but_for(stage)}, PRESSURE-TREATED TO"
            f" {p.lumber.treatment.upper() or 'THE USE CATEGORY OF ITS PLACE'}; TREAT CUT ENDS IN THE FIELD."
        ),
        (
            "FASTENERS AND CONNECTORS IN TREATED LUMBER: HOT-DIPPED GALVANIZED TO THE CONNECTOR MAKER'S TABLE, OR"
            " STAINLESS STEEL."
        ),
        "HANGERS, CAPS, BASES AND TENSION DEVICES BY THEIR PUBLISHED LOADS, EVERY FASTENER IN.",
        "EARTHQUAKE AND WIND FROM BELOW ARE NOT CALCULATED; WIND FROM THE SIDES IS, WHERE STATED, FOR BRACES AND TIES.",
        "INSPECTIONS: FOOTINGS BEFORE THE POUR; FRAME BEFORE THE SURFACE; FINAL BEFORE USE.",
        "SURFACE BOARDS LAID WITH THE GAPS DRAWN, OR AS THEIR MAKER ASKS FOR THE DAY'S TEMPERATURE.",
    ]
    if memory := len(from_memory(c.source for c in stage.checks)):
        rows.append(
            f"{memory} VALUES CITED BY THE CHECKS ARE FROM MEMORY: VERIFY THEM AGAINST THE ADOPTED CODE BEFORE THEY ARE"
            " RELIED ON."
        )
    rows += [n.upper() for n in p.local.notes]
    rows += unlettered_notes(p)
    rows += [told.upper() for n in stage.deck.notes if (told := note_on_paper(n, stage.metric))]
    return rows
