"""S-101: every footing with its size and depth, dimensioned from the house corner and from its neighbour.

Where footings lie so near one another on paper that a mark each has no room, one mark names a whole row or column, and
strings with steps so short are left out: the table says where each lies.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

import numpy as np
import shapely

from ...model.plan.house_places import clear_places
from ..drafting import drawing as d
from ..linework.eye import Eye
from ..linework.views import project
from . import in_plan
from .askew import Askew, askew, turned_note
from .datum import axes, datum, datum_items, datum_notes, place_text
from .ground import signed
from .hardware import limit_row
from .house import at_wall_items, house_in_plan, outline_items
from .landing_strings import landing_strings
from .landings_drawn import landings, stairs_with_landings
from .pens import items, name_of, outlines_of
from .set_out_tables import rooms, stair_table, tables_beside
from .stage import Stage, joined_box
from .strings import MOST_ABREAST, NEAR, OUTERMOST, Strings, too_near

MOST_STRINGS = 3  # of a side where each row or column of footings has a string of its own; our own
BESIDE_ANOTHER = 1.5  # inches from one footing's centre to another's within which one string does for both; our own
PAD_TIP = 6.0  # inches inside a pad's edge at which a note points; our own
ROOM_SHARED = 0.5  # paper inches from one centre to the next in a string of several rows; our own


def footing_size(part) -> float:
    """Diameter of a round footing, side of a square one."""
    return 2 * part.shape.circle if part.shape.circle else float(min(part.box[1, :2] - part.box[0, :2]))


def build(stage: Stage) -> d.Sheet:
    sheet = stage.sheet("S-101", "FOOTING AND POST PLAN")
    shown = stage.of("footing", "post", "pad", "post base")
    work = project(stage.of("post", "pad"), Eye.above(), under=[])
    below = project(stage.of("footing"), Eye.above())
    frame = tuple(map(float, stage.deck.layout.outline.polygon.bounds))
    kept = [c.polygon for c in clear_places(stage.deck.layout)]
    box = joined_box([*([frame, work.box, below.box] if shown else [frame]), *(g.bounds for g in kept)])
    lines = [*house_in_plan(stage), *outline_items(stage), *items(below, "plan"), *items(work, "plan")]
    platforms = [l.frame for k in stairs_with_landings(stage) for l in landings(stage, k) if l.frame]
    lines += [o for frame in platforms for o in outlines_of(in_plan.outlines(frame), "A-FLOR-ABOV")]
    lines += [
        d.Line(b.point(b.along[0]), b.point(b.along[1]), layer="S-BEAM-CNTR", mark=name_of(b.plies[0]))
        for b in stage.beams
    ]

    turned, outline = askew(stage), stage.deck.layout.outline.polygon
    around = turned.box([outline, *kept, *(p.footprint for p in shown)]) if turned.degrees else box

    plan_room, column = rooms(stage, sheet, around, stage.of_plans)

    def draw(scale: float) -> d.View:
        view = d.View("footing plan", scale, [*lines, *at_wall_items(stage), *datum_items(stage)])
        _centres(stage, view)
        _dimensions(stage, view, turned, around)
        view.items = turned.drawn(view.items)
        return view

    view = stage.fitted(draw, around, plan_room, stage.of_plans, (1.2, 0.3), plan=True)
    framed = ", FACES OF LANDINGS' FRAMES" if platforms else ""
    stage.place(
        sheet,
        view,
        plan_room,
        "Footing and post plan",
        "1",
        f"DIMENSIONS TO CENTRES OF FOOTINGS AND POSTS{framed}. PHANTOM LINE: OUTLINE OF THE FRAME ABOVE.",
    )
    axes(stage, sheet, plan_room)
    notes = footing_notes(stage, view.scale)
    tables_beside(stage, sheet, column, (footing_table, stair_table), "FOOTING NOTES", notes)
    return sheet


def together(stage: Stage, scale: float) -> list[list]:
    """Footings that one mark names at a scale: those of a row or a column, each nearer than `NEAR` to the one before,
    whose numbers rise by one and the same step; every other by itself."""
    left = stage.of("footing")
    lines = sorted((_lines(left, way, scale) for way in (1, 0)), key=lambda found: -sum(map(len, found)))[0]
    taken = {id(f) for line in lines for f in line}
    return [*lines, *([f] for f in left if id(f) not in taken)]


def _lines(footings: list, way: int, scale: float) -> list[list]:
    """Of the columns (`way` 1) or rows (0) those stretches in which a mark for each has no room."""
    lines: dict[tuple[str, float], list] = {}
    for f in footings:
        lines.setdefault((f.mark, round(in_plan.centre(f)[1 - way] * 8) / 8), []).append(f)
    found: list[list] = []
    for line in lines.values():
        line.sort(key=lambda f: in_plan.centre(f)[way])
        run = line[:1]
        for f in line[1:]:
            near = in_plan.centre(f)[way] - in_plan.centre(run[-1])[way] < NEAR * scale
            step = _number(f) - _number(run[-1])
            if near and step > 0 and (len(run) < 2 or step == _number(run[1]) - _number(run[0])):
                run.append(f)
            else:
                found.append(run)
                run = [f]
        found.append(run)
    return [run for run in found if len(run) > 2]


def _number(footing) -> int:
    """Its own number among those of its mark."""
    return int(footing.id.rsplit("-", 1)[1])


def _named(line: list) -> str:
    """What a mark says of a line of footings: F1-03 TO F1-09 BY 2 are 03, 05, 07 and 09."""
    if len(line) == 1:
        return line[0].id or line[0].mark
    step = _number(line[1]) - _number(line[0])
    return f"{line[0].id} TO {line[-1].id}" + (f" BY {step}" if step > 1 else "")


def _centres(stage: Stage, view: d.View) -> None:
    named = {id(line[0]): line for line in together(stage, view.scale)}
    for f in stage.of("footing"):
        x, y = in_plan.centre(f)
        r = footing_size(f) / 2 + 0.1 * view.scale
        for u, v in (askew(stage).axes * r).tolist():
            view.add(d.Line((x - u, y - v), (x + u, y + v), layer="S-FNDN-CNTR", mark=name_of(f)))
        if (line := named.get(id(f))) is not None:
            tips = [
                (u + footing_size(g) / 2 * 0.7071, v + footing_size(g) / 2 * 0.7071)
                for g in line
                for u, v in [in_plan.centre(g)]
            ]
            view.add(d.Tag(_named(line), None, tips[-1], "box", tips=tips[:-1], mark=name_of(f)))
    for p in stage.of("pad"):
        axis = in_plan.plan_axis(p)
        (x0, x1), (y0, y1) = in_plan.reach(p, axis), in_plan.reach(p, in_plan.square(axis))
        tips = [
            tuple(map(float, axis * (x0 + (x1 - x0) * a) + in_plan.square(axis) * (y0 + (y1 - y0) * b)))
            for a, b in ((0.8, 0.5), (0.8, 0.8), (0.2, 0.5), (0.2, 0.2), (0.5, 0.2))
        ]
        inside = p.footprint.buffer(-PAD_TIP)  # a pad mitred at a corner has less than its box
        tips = [tip for tip in tips if inside.contains(shapely.Point(tip))] or tips
        view.add(
            d.Leader(
                tips[0],
                tips=tips[1:],
                text=(f"CONCRETE PAD\n{stage.text(_pad_sides(p)[0])} x {stage.text(_pad_sides(p)[1])}"),
                mark=name_of(p),
            )
        )
    for p in stage.of("post")[:1]:
        view.add(d.Leader(in_plan.centre(p), f"{stage.stock(p.stock)} POST", mark=name_of(p)))


def _pad_sides(pad) -> tuple[float, float]:
    """The sides of a pad along its own axes, that nearer to the sheet's x first."""
    axis = in_plan.plan_axis(pad)
    sides = tuple(b - a for a, b in (in_plan.reach(pad, axis), in_plan.reach(pad, in_plan.square(axis))))
    return sides if abs(axis[0]) > 0.7071 else sides[::-1]


def _dimensions(stage: Stage, view: d.View, turned: Askew, box: d.Box) -> None:
    """A string for every row and every column of footings, each starting at the house corner; overall outermost. All in
    the deck's own coordinates, `box` too."""
    hx, hy = turned.into(datum(stage))
    pads = [turned.box([p.footprint]) for p in stage.of("pad")]
    strings = Strings(view, box, blocks=pads, spacing=stage.string_spacing, turned=turned, most=MOST_ABREAST)
    frame = turned.box([stage.deck.layout.outline.polygon])
    landing_strings(stage, view, strings, frame, (hx, hy))
    rows: dict[float, list] = {}
    columns: dict[float, list] = {}
    for x, y in (turned.into(in_plan.centre(f)) for f in stage.of("footing")):
        rows.setdefault(_near(rows, y), []).append((x, y))
        columns.setdefault(_near(columns, x), []).append((x, y))
    for pad in stage.of("pad"):
        at = [turned.into(q) for q in pad.footprint.exterior.coords[:-1]]
        # its outermost corners, of those alike the nearest to the string
        strings.chain("below", [(hx, box[1]), min(at), min(at, key=lambda q: (-round(q[0], 3), q[1]))])
        low, high = (min(at, key=lambda q, s=s: (s * round(q[1], 3), q[0])) for s in (1, -1))
        strings.chain("left", [(box[0], hy), high, low])
    for points in _shared(rows, 0, hx, view.scale):
        strings.chain("below", [(hx, box[1]), *points], 2)
    for points in _shared(columns, 1, hy, view.scale):
        strings.chain("left", [(box[0], hy), *points], 2)
    strings.chain("below", [(frame[0], box[1]), (frame[2], box[1])], OUTERMOST)
    strings.chain("left", [(box[0], frame[1]), (box[0], frame[3])], OUTERMOST)


def _shared(lines: dict[float, list[d.Point]], way: int, begin: float, scale: float) -> list[list[d.Point]]:
    """The centres that each string goes through, from the corner at `begin` on: of every row (`way` 0) or column (1)
    that no other is like, or within `BESIDE_ANOTHER` like. Of more than `MOST_STRINGS` those share a string in which
    every figure still has room."""
    found: dict[tuple[int, ...], list[d.Point]] = {}
    for at in sorted(lines, key=lambda at: (-len(lines[at]), at)):
        stations = sorted(p[way] for p in lines[at])
        told = [[p[way] for p in points] for points in found.values()]
        if not too_near(stations, scale) and not any(_beside(stations, row) for row in told):
            found[tuple(round(s * 16) for s in stations)] = lines[at]
    if len(found) <= MOST_STRINGS:
        return list(found.values())
    strings: list[list[d.Point]] = []
    for row in sorted(found.values(), key=lambda points: -len(points)):
        for string in strings:
            stations = sorted({round(p[way], 2) for p in (*string, *row)} | {round(begin, 2)})
            if not any(b - a < ROOM_SHARED * scale for a, b in itertools.pairwise(stations)):
                string += row
                break
        else:
            strings.append(list(row))
    return strings


def _beside(stations: Iterable[float], others: Sequence[float]) -> bool:
    """Whether each station lies at one of the others, or so near that two figures would tell nobody more."""
    return all(min(abs(s - o) for o in others) <= BESIDE_ANOTHER for s in stations)


def _stepped(stage: Stage) -> bool:
    """Whether a row or column of footings may lie so near another that one string does for both."""
    centres = [askew(stage).into(in_plan.centre(f)) for f in stage.of("footing")]
    ways = [sorted(p[way] for p in centres) for way in (0, 1)]
    return any(1 / 16 < b - a <= BESIDE_ANOTHER for some in ways for a, b in itertools.pairwise(some))


def _near(known: dict[float, list], value: float) -> float:
    return next((k for k in known if abs(k - value) < 1 / 16), value)


def footing_rows(stage: Stage) -> list[list[str]]:
    """Mark, size, height, depth below its own grade, level of its top, X and Y of its middle; the posts on it and how
    long they are cut."""
    out = []
    standing = stage.of("post")
    middles = np.array([in_plan.centre(p) for p in standing]).reshape(-1, 2)
    for f in sorted(stage.of("footing"), key=lambda f: f.id or f.mark):
        x, y = in_plan.centre(f)
        low, high = map(float, f.box[:, 2])
        on = np.nonzero(np.hypot(*(middles - (x, y)).T) < footing_size(f) / 2)[0]
        posts = [standing[k] for k in on]
        marks = ", ".join(dict.fromkeys(p.mark for p in posts))
        cut = dict.fromkeys(stage.text(float(p.box[1, 2] - p.box[0, 2])) for p in posts)
        out.append(
            [
                f.id or f.mark,
                stage.text(footing_size(f)) + (" DIA." if f.shape.circle else " SQ."),
                stage.text(high - low),
                stage.text(stage.low_grade(f) - low),
                signed(stage, high),
                *place_text(stage, (x, y)),
                f"{stage.stock(posts[0].stock)} {marks}" if posts else "-",
                ", ".join(cut) or "-",
            ]
        )
    return out


def footing_table(stage: Stage, at: d.Point = (0.0, 0.0)) -> d.Table:
    return d.Table(
        at,
        "FOOTINGS",
        ["MARK", "SIZE", "HIGH", "BELOW GRADE", "T.O.", "X", "Y", "POST", "POST LONG"],
        footing_rows(stage),
        [0.54, 0.86, 0.5, 0.64, 0.66, 0.91, 0.91, 0.66, 0.72],
        "lccccccc",
    )


def beside_notes(stage: Stage) -> list[str]:
    """Where the posts stand that share a footing, beside its middle."""
    places = []
    for p, f in in_plan.beside_middle(stage.of("post"), stage.of("footing")):
        places.append(f"{p.id} ON {f.id}: {', '.join(place_text(stage, in_plan.centre(p)))}")
    return [f"POSTS BESIDE THE MIDDLE OF THEIR FOOTING, X AND Y: {'; '.join(places)}."] if places else []


def footing_notes(stage: Stage, scale: float) -> list[str]:
    p, planes = stage.deck.parameters, stage.deck.planes
    rows = [
        *datum_notes(stage),
        f"LEVELS (T.O.) ARE ABOVE THE DATUM; T.O. SURFACE {signed(stage, stage.surface_top)}. POSTS ARE CUT TO THE"
        " LENGTHS IN THE TABLE WHERE THE CONCRETE IS POURED TO ITS LEVEL: MEASURE AGAIN BEFORE CUTTING.",
        "CORNERS OF A FLIGHT'S FOOT: THE LEFT ONE GOING DOWN, THEN THE RIGHT ONE; OF LANDINGS AND PADS: THE NEAREST TO"
        " O, THEN THE ONE ACROSS FROM IT.",
        *(["BELOW GRADE IS MEASURED ON THE LOW SIDE OF EACH FOOTING."] if planes.slope_x or planes.slope_y else []),
        f"ASSUMED SOIL BEARING {p.loads.soil_bearing_psf:g} PSF; BEAR ON UNDISTURBED SOIL.",
    ]
    if any(line[1:] for line in together(stage, scale)):
        rows.append(
            "FOOTINGS TOO NEAR ONE ANOTHER FOR A MARK EACH: ONE MARK NAMES A ROW FROM THE LEFT, OR A COLUMN FROM"
            " THE FOOT OF THE SHEET UP (BY 3: EVERY THIRD NUMBER). DIMENSIONS NOT SHOWN ARE X AND Y OF THE TABLE."
        )
    if _stepped(stage):
        rows.append(
            f"CENTRES NOT MORE THAN {stage.inch(BESIDE_ANOTHER)} OFF THOSE OF A STRING HAVE NONE OF THEIR OWN: X AND Y"
            " OF THE TABLE."
        )
    rows += beside_notes(stage)
    if p.local.frost_depth:
        rows.append(
            f"FROST DEPTH {stage.text(p.local.frost_depth)} BELOW GRADE; FOOTINGS GO DOWN TO THE DEPTH IN THE TABLE."
        )
    else:
        rows.append("FROST DEPTH NOT GIVEN: ASK THE AUTHORITY HAVING JURISDICTION AND COMPARE WITH THE TABLE.")
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
        *turned_note(stage),
    ]
    return rows
