"""Squaring the frame by its diagonals, and where beams, posts and footings stand from the house."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

import numpy as np

from ...model.plan.edges import Edge
from ..drafting import drawing as d
from ..drafting import style
from ..drafting.clearance import Clearance
from ..drafting.draft import items_box
from ..linework.views import project
from ..sheets import in_plan
from ..sheets.askew import askew, square_to
from ..sheets.datum import datum, datum_told, from_datum, signed_place
from ..sheets.house import house_in_plan, outline_items
from ..sheets.pens import items
from ..sheets.set_out_tables import NO_JOINTS, beam_rows
from ..sheets.stage import Stage, grown
from .corners import corners, diagonals
from .feet import Feet
from .pages import BIG, HEADING, PLAIN, Pages, fit, label_of
from .running import running

FIGURES_OFF = (0.0, 0.3, 0.6)  # paper inches between what is drawn and its running figures, as names need; our own


def build(stage: Stage) -> None:
    _squaring(stage)
    _supports(stage)


def _squaring(stage: Stage) -> None:
    pages = Pages(stage, 150, "SQUARING")
    pairs = diagonals(stage)
    surveyed = stage.deck.parameters.survey.taken
    pages.text(
        (
            "OUTER CORNERS OF THE FRAME AS IT STANDS: MEASURED ON SITE, FITTED TOGETHER. ALL THAT IS CUT FITS THESE."
            if surveyed
            else (
                "OUTER CORNERS OF THE FRAME. SIDES FIRST, THEN DIAGONALS; MOVE THE FRAME UNTIL EVERY ONE READS AS"
                " GIVEN."
            )
        )
        + (
            " BOTH DIAGONALS OF THIS RECTANGLE ARE EQUAL."
            if len(pairs) == 2 and abs(pairs[0][2] - pairs[1][2]) < 1 / 32
            else ""
        )
    )
    rows = (
        [[f"{a}-{b}", stage.text(v)] for a, b, v in sides_of(stage)]
        + [["DIAGONALS", ""]]
        + [[f"{a}-{b}", stage.text(v)] for a, b, v in pairs]
    )
    table_wide = 3.2 if len(rows) <= 10 else 0.0  # a longer table takes a sheet of its own
    room = (pages.width - table_wide - 0.3, pages.y - pages.bottom - 0.25)
    bounds = stage.deck.layout.outline.polygon.bounds
    view = fit(stage, lambda scale: _squaring_view(stage, scale), (bounds[2] - bounds[0], bounds[3] - bounds[1]), room)
    top = pages.y
    pages.view(view)
    if table_wide:
        pages.sheet.add(
            d.Table(
                (pages.right - table_wide, top), "", ["SIDES", "LENGTH"], rows, [1.65, table_wide - 1.65], "lr", BIG
            )
        )
        return
    pages.new()
    pages.heading("SQUARING THE FRAME", 2.0)
    cut = rows.index(["DIAGONALS", ""])
    half = (pages.width - 0.4) / 2
    for k, (head, some) in enumerate((("SIDES", rows[:cut]), ("DIAGONALS", rows[cut + 1 :]))):
        pages.sheet.add(
            d.Table(
                (pages.left + k * (half + 0.4), pages.y),
                "",
                [head, "LENGTH"],
                some,
                [half * 0.5, half * 0.5],
                "lr",
                BIG,
            )
        )


def sides_of(stage: Stage) -> list[tuple[str, str, float]]:
    found = corners(stage)
    names = list(found)
    return [(a, b, float(np.hypot(*np.subtract(found[a], found[b])))) for a, b in zip(names, names[1:] + names[:1])]


def _squaring_view(stage: Stage, scale: float) -> d.View:
    view = d.View("squaring", scale)
    found = corners(stage)
    ring = list(found.values())
    view.add(d.Polyline(ring, True, layer="A-SECT-MCUT"))
    for a, b, _ in diagonals(stage):
        view.add(d.Line(found[a], found[b], layer="A-SECT-MBND"))
    for (name, p), edge in zip(found.items(), stage.edges):
        out = -(edge.inward + stage.deck.layout.outline.before(edge).inward)  # outwards, at a reflex corner too
        out = out / max(np.hypot(*out), 1e-9) * 0.24 * scale
        view.add(d.Tag(name, (float(p[0] + out[0]), float(p[1] + out[1])), height=HEADING))
    return view


def support_rows(stage: Stage) -> list[tuple[str, float, float, list]]:
    """(mark and id words, along the house, out from the house, pieces) of every post with its footing, nearest first.

    Along is measured from the left corner of the house edge (as on the sheet), with a minus the other way, out square
    from the wall's face. Centres.
    """
    edge, left, gap = house_line(stage)
    way = -1.0 if left else 1.0
    out = []
    posts = stage.of("post")
    middles = np.array([in_plan.centre(p) for p in posts]).reshape(-1, 2)
    for f in sorted(stage.of("footing"), key=lambda f: f.box[0].tolist()):
        c = in_plan.centre(f)
        along, inside = edge.position(c)
        on = [posts[k] for k in np.nonzero(np.hypot(*(middles - c).T) < in_plan.ON_MIDDLE)[0]]
        out.append((" ON ".join([*(p.id for p in on), f.id]), way * (along - left), inside + gap, [*on, f]))
    return sorted(out, key=lambda r: (round(r[2], 1), r[1]))


def beside_rows(stage: Stage) -> list[tuple[str, float, float, list]]:
    """The same of every post that shares a footing and stands beside its middle."""
    edge, left, gap = house_line(stage)
    way = -1.0 if left else 1.0
    out = []
    for p, f in in_plan.beside_middle(stage.of("post"), stage.of("footing")):
        along, inside = edge.position(in_plan.centre(p))
        out.append((f"{p.id} BESIDE THE MIDDLE OF {f.id}", way * (along - left), inside + gap, [p, f]))
    return sorted(out, key=lambda r: (round(r[2], 1), r[1]))


def house_line(stage: Stage):
    """(edge the offsets are taken from, station of its left corner, distance of the wall behind the frame's face).

    The longest house edge; of a deck that stands by itself the line through O, from which the strings are told.
    """
    if not stage.house_edges:
        return _through_datum(stage)
    edge = max(stage.house_edges, key=lambda e: e.length)
    start, end = (tuple(round(v, 3) for v in square_to(edge).into(p)) for p in (edge.start, edge.end))
    left = 0.0 if start <= end else edge.length
    gap = float(stage.deck.parameters.frame.house_gap) if edge.house and not stage.of("ledger") else 0.0
    return edge, left, gap


def _through_datum(stage: Stage) -> tuple[Edge, float, float]:
    """The same of a deck that stands by itself: X and Y of the plans, as a line that runs to O from the right."""
    (right, _), at = askew(stage).axes, np.asarray(datum(stage))
    reach = max(from_datum(stage, p)[0] for e in stage.edges for p in (e.start, e.end))
    start, end = (tuple((at + right * s).tolist()) for s in (reach, 0.0))
    return Edge("O", -1, start, end, False), reach, 0.0


def house_words(stage: Stage) -> tuple[str, str]:
    """(what distances out are taken from, the end that distances along are taken from), as cards say it: see
    `house_line`."""
    if not stage.house_edges:
        return "O, DOWN THE PLAN", f"O, THE {datum_told(stage)}, TO THE RIGHT. A MINUS: THE OTHER WAY"
    edge, _, gap = house_line(stage)
    wall = "THE HOUSE WALL" if gap else "THE LEDGER'S BACK" if stage.of("ledger") else "THE FRAME'S OUTER FACE"
    side = "LEFT" if abs(square_to(edge).into(edge.direction)[0]) > 0.5 else "LOWER"
    return wall, f"THE {side} END OF THE {edge.name.upper()} EDGE"


def _supports(stage: Stage) -> None:
    rows = support_rows(stage)
    if not rows:
        return
    pages = Pages(stage, 160, "POSTS AND FOOTINGS")
    wall, end = house_words(stage)
    turned = square_to(house_line(stage)[0])
    lie = f" DRAWN SQUARE TO THAT EDGE, TURNED {abs(round(turned.degrees, 1)):g} DEGREES." if turned.degrees else ""
    pages.text(f"CENTRES. OUT: SQUARE FROM {wall}. ALONG: FROM {end}.{lie}")
    bounds = project(stage.of("footing", "beam", "ledger", "rim"), turned.eye).box
    room = (pages.width, pages.y - pages.bottom - 0.2)
    lines = [
        *turned.drawn([*house_in_plan(stage), *outline_items(stage)]),
        *items(project(stage.of("footing", "post"), turned.eye), "plan"),
    ]
    view = fit(
        stage,
        lambda scale: _supports_view(stage, rows, lines, bounds, scale),
        (bounds[2] - bounds[0], bounds[3] - bounds[1]),
        room,
    )
    pages.view(view, middle=True)
    pages.new()
    size = {
        f.id: (f.shape.circle * 2 if f.shape.circle else f.box[1, 0] - f.box[0, 0], f.box[1, 2] - f.box[0, 2])
        for f in stage.of("footing")
    }
    pages.table(
        "POSTS AND FOOTINGS",
        ["POST ON FOOTING", "ALONG", "OUT", "FOOTING, HEIGHT", "POST"],
        [
            [
                name,
                signed_place(stage, a),
                signed_place(stage, o),
                " x ".join(stage.inch(v) for v in size[pieces[-1].id]),
                ", ".join(dict.fromkeys(stage.text(p.box[1, 2] - p.box[0, 2]) for p in pieces[:-1])) or "-",
            ]
            for name, a, o, pieces in (*rows, *beside_rows(stage))
        ],
        [2.5, 1.7, 1.7, 2.0, 1.6],
        "lrrrr",
        BIG if len(rows) + len(stage.beams) <= 8 else PLAIN,
    )
    beams = [
        [
            line.text.upper().replace("X", "x"),
            beam_name(stage, line),
            stage.text(line.along[1] - line.along[0]),
            out_words(stage, line),
        ]
        for line in stage.beams
    ]
    pages.table("BEAMS", ["BEAM", "MARKS", "LENGTH", "CENTRE LINE OUT"], beams, [1.3, 1.6, 1.5, 3.2], "llrr")
    joined = [f"{marks}: {joints}" for marks, *_, joints in beam_rows(stage) if joints != NO_JOINTS]
    pages.text(f"JOINTS OF PLIES: {'; '.join(joined) or NO_JOINTS}. CROWN UP, PLIES NAILED TOGETHER.", PLAIN)


def beam_name(stage: Stage, line: in_plan.BeamLine) -> str:
    """The marks of a beam's plies; which pieces they are where another beam is of the same marks."""

    def marks(of: in_plan.BeamLine) -> list[str]:
        return list(dict.fromkeys(p.mark for p in of.plies))

    own = marks(line)
    alike = sum(sorted(marks(other)) == sorted(own) for other in stage.beams) > 1
    return ", ".join(sorted(p.id for p in line.plies)) if alike else "-".join(own)


def out_words(stage: Stage, line: in_plan.BeamLine) -> str:
    """How far a beam's centre line stands out from the house."""
    edge, _, gap = house_line(stage)
    ends = [edge.position(line.point(s))[1] + gap for s in line.along]
    if abs(ends[0] - ends[1]) < 1 / 32:
        return signed_place(stage, ends[0])
    return f"{stage.text(ends[0])} AT ONE END, {stage.text(ends[1])} AT THE OTHER"


def _supports_view(stage: Stage, rows, lines: list[d.AnyItem], bounds: d.Box, scale: float) -> d.View:
    """`lines`: what is drawn at any scale; `bounds`: the box of what is measured. The house edge lies square to it."""
    turned = square_to(house_line(stage)[0])
    beams = [
        d.Line(*(line.point(s) for s in line.along), layer="S-BEAM-CNTR", mark=line.plies[0].id) for line in stage.beams
    ]
    centres = [turned.into(in_plan.centre(r[3][-1])) for r in rows]
    for off in FIGURES_OFF:
        view = d.View("posts and footings", scale, [*lines, *turned.drawn(beams)])
        if not stage.house_edges:
            (x, y), aside = turned.into(datum(stage)), 0.2 * scale
            view.add(d.Symbol("datum", (x, y)), d.Tag("O", (x - aside, y + aside), height=BIG))
        _measure_supports(stage, view, centres, grown(bounds, off * scale))
        if _name_supports(stage, view, rows, off == FIGURES_OFF[-1]):
            break
    return view


def _measure_supports(stage: Stage, view: d.View, centres: list[d.Point], bounds: d.Box) -> None:
    """Running dimensions from the corner at the house, along it and out from it, clear of all that is drawn."""
    scale = view.scale
    edge, left, gap = house_line(stage)
    turned = square_to(edge)
    direction, inward = turned.into(edge.direction), turned.into(edge.inward)
    level = abs(direction[0]) > abs(direction[1])
    corner = turned.into(edge.point(left, -gap))
    alongs = _distinct([(c[0] if level else c[1]) for c in centres])
    outs = _distinct([(c[1] if level else c[0]) for c in centres])
    x0, y0, x1, y1 = bounds
    up = inward[1] < 0 if level else inward[0] < 0  # the house lies up (or right), the deck down (or left) of it
    clear = 0.3 * scale
    wall = items_box(turned.drawn(house_in_plan(stage)), scale)
    x1, y1 = max(x1, wall[2]), max(y1, wall[3])
    if level:
        far = y0 if up else y1
        at = abs(far - corner[1]) + clear
        running(
            view, [(corner[0], far), *((s, far) for s in alongs)], corner, 0.0, -90.0 if up else 90.0, at, stage.text
        )
        running(
            view,
            [(x1, corner[1]), *((x1, s) for s in outs)],
            corner,
            -90.0 if up else 90.0,
            0.0,
            x1 - corner[0] + clear,
            stage.text,
        )
    else:
        far = x0 if up else x1
        at = abs(far - corner[0]) + clear
        running(
            view, [(far, corner[1]), *((far, s) for s in alongs)], corner, 90.0, 180.0 if up else 0.0, at, stage.text
        )
        running(
            view,
            [(corner[0], y1), *((s, y1) for s in outs)],
            corner,
            180.0 if up else 0.0,
            90.0,
            y1 - corner[1] + clear,
            stage.text,
        )


def _name_supports(stage: Stage, view: d.View, rows, all_the_same: bool) -> bool:
    """Every post's name at its footing, where nothing stands yet; further off with a line to it where all is taken.
    Whether each found a place; the first without one ends it, but where the view is kept `all_the_same`."""
    free = True
    scale, turned = view.scale, square_to(house_line(stage)[0])
    clear = Clearance(view.items, [], [], scale, stage.metric)
    middles = [turned.into(in_plan.centre(r[3][-1])) for r in rows]
    feet = Feet(middles, [_half(r[3][-1]) for r in rows])
    for n, (name, _, _, pieces) in enumerate(rows):
        c = middles[n]
        short = name.split(" ON ")[0]
        wide = style.text_width(short, PLAIN) / 2 * scale
        half = _half(pieces[-1])
        up_, aside = half + (PLAIN / 2 + 0.06) * scale, half + wide + 0.06 * scale
        places = [
            (c[0] + t * wide, c[1] + side * (up_ + k * scale))
            for k in (0.0, 0.08, 0.2)
            for side in (1, -1)
            for t in (0.0, 0.4, -0.4, 0.8, -0.8)
        ]
        places += [
            (c[0] + side * (aside + k * scale), c[1] + t * up_)
            for k in (0.0, 0.08, 0.2, 0.4)
            for side in (1, -1)
            for t in (0.4, -0.4)
        ]
        made = label_of(short, PLAIN, pieces[-1].id)
        beside = [at for at, free_way in zip(places, feet.clear(np.array(places), n).tolist()) if free_way]
        if beside and clear.label(made, beside):
            view.add(made)
            continue
        named = _named_aside(clear, made, c, partial(feet.clear, own=n), half, wide, scale)
        free = free and len(named) > 1
        if not free and not all_the_same:
            return False
        view.add(*named)
    return free


def _half(footing) -> float:
    return max(float(np.ptp(footing.box[:, 0])), float(np.ptp(footing.box[:, 1]))) / 2


def _named_aside(
    clear: Clearance,
    made: d.Text,
    c: d.Point,
    clear_of_others: Callable[[np.ndarray], np.ndarray],
    half: float,
    wide: float,
    scale: float,
) -> list[d.AnyItem]:
    """A name on the nearest free place round its footing, with a line to the footing's edge that crosses none of the
    others; at the footing where there is none."""
    high = (PLAIN / 2 + 0.03) * scale

    def link(at: d.Point) -> d.Line:
        x, y = c[0] - at[0], c[1] - at[1]
        far = math.hypot(x, y)
        begin = min(wide / abs(x) if x else math.inf, high / abs(y) if y else math.inf)
        tip = 1 - half / far
        begin = min(begin, tip)
        ends = [(at[0] + x * s, at[1] + y * s) for s in (begin, tip)]
        return d.Line(*ends, layer="A-ANNO-IDEN", mark=made.mark)

    way = half + np.arange(0.3, 3.0, 0.1)[:, None] * scale
    cos, sin = (np.array([f(a) for a in np.arange(0.0, 2 * math.pi, math.pi / 12)]) for f in (math.cos, math.sin))
    round_ = np.stack([c[0] + cos * (way + wide * np.abs(cos)), c[1] + sin * way], axis=2)
    # what other feet bar, or what stands there, is left out at all reaches at once
    open_to = clear_of_others(round_.reshape(-1, 2))
    open_to[open_to] = clear.free(made, round_.reshape(-1, 2)[open_to], link=link)
    for spots, free in zip(round_, open_to.reshape(len(way), -1)):
        if free.any() and clear.label(made, spots[free], link=link):
            return [link(made.at), made]
    made.at = (c[0], c[1] + half + (PLAIN / 2 + 0.06) * scale)
    return [made]


def _distinct(values) -> list[float]:
    out: list[float] = []
    for v in sorted(values):
        if not out or v - out[-1] > 1 / 16:
            out.append(float(v))
    return out
