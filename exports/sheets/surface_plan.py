"""A-101: the finished surface from above: boards as they are, border, breakers, notches, stairs with their arrows,
guards."""

from __future__ import annotations

from collections import Counter, defaultdict

import numpy as np
from shapely import Point, unary_union

from ...model.measuring.flight_seen import FlightSeen, along
from ...model.measuring.mitre_seen import CornerSeen
from ...model.solid.roles import in_group, named
from ..drafting import drawing as d
from ..drafting.masking import masked
from ..drafting.symbols import mark_boxes, section_mark
from ..drafting.wording import mode_text
from ..linework.eye import Eye
from . import in_plan
from .askew import Askew, askew, turned_note
from .askew_edge import askew_edge, stair_sides
from .datum import axes as axes_of_plan
from .datum import datum_items, from_datum, signed_place
from .hip_section import DECK_BEHIND, corners, hip_plane
from .house import house_in_plan, house_named
from .landing_plan import foot_pads, seen_from_above
from .pens import items
from .stage import SURFACE, Stage, joined_box
from .stair_section import counted, stair_plane
from .strings import Strings

_START_ARROW = 0.7  # paper inches of the arrow from the start of the boards; our own
ON_SURFACE_PLAN = named("surface plan")


def build(stage: Stage) -> d.Sheet:
    sheet = stage.sheet("A-101", "SURFACE PLAN")
    work = seen_from_above(stage, stage.of(*ON_SURFACE_PLAN), Eye.above())
    surface = joined_box([p.footprint.bounds for p in stage.deck_of(*SURFACE)] or [work.box])
    lines = [*house_in_plan(stage), *items(work, "plan"), *datum_items(stage)]
    plan_room, note_room = stage.beside(sheet, 3.0)

    def draw(scale: float) -> d.View:
        view = d.View("surface plan", scale, list(lines))
        clear, marks = _section_lines(stage, view, work.box)
        _dimensions(stage, view, *_own_boxes(stage, surface, clear, marks))
        _stairs(stage, view)
        _start(stage, view)
        _labels(stage, view)
        view.items = masked(turned.drawn(view.items), scale)
        return view

    turned = askew(stage)
    whole = _own_boxes(stage, surface, work.box, [])[1]
    view = stage.fitted(draw, whole, plan_room, stage.of_plans, (2.2, 0.25), plan=True)
    stage.place(
        sheet,
        view,
        plan_room,
        "Surface plan",
        "1",
        "DIMENSIONS TO THE EDGE OF THE FINISHED SURFACE AND CENTRES OF GUARD POSTS.",
    )
    axes_of_plan(stage, sheet, plan_room)
    stage.notes(sheet, note_room, "SURFACE NOTES", [*surface_notes(stage), *turned_note(stage)])
    return sheet


def _dimensions(stage: Stage, view: d.View, surface: d.Box, whole: d.Box, marks: list[d.Box]) -> None:
    """Nearest: stairs and guard posts on each straight edge; then corners; overall outermost. All in the deck's own
    coordinates, the boxes too."""
    turned = askew(stage)
    stairs = turned.shape(p.footprint for p in stage.of(*ON_SURFACE_PLAN) if p.stair is not None)
    strings = Strings(view, whole, 0.3, blocks=marks, spacing=stage.string_spacing, turned=turned, stairs=stairs)
    x0, y0, x1, y1 = surface
    for e in stage.edges:
        if e.house:
            continue
        posts = [p for p in stage.of("guard post") if p.stair is None or p.edge == e.name]
        n = np.asarray(e.inward)
        mine = [p for p in posts if abs(float(np.dot(np.subtract(in_plan.centre(p), e.start), n))) < 9]
        (along, across), (inward, up) = turned.into(e.direction), turned.into(n)
        level = abs(along) > 0.999
        if not (level or abs(across) > 0.999):
            askew_edge(stage, view, e, mine, marks)
            continue
        points = [
            turned.into(in_plan.centre(p))
            for p in mine
            if -3 <= float(np.dot(np.subtract(in_plan.centre(p), e.start), e.direction)) <= e.length + 3
        ]
        side = ("below" if up > 0 else "above") if level else ("left" if inward > 0 else "right")
        if len(points) > 1 and side != "above":
            strings.chain(side, points)
    for e in stage.edges:
        (along, across), (inward, up) = turned.into(e.direction), turned.into(e.inward)
        level, upright = abs(along) > 0.999, abs(across) > 0.999
        start = turned.into(e.start)
        for f in {f.stair: f for f in reversed(stage.flights)}.values():
            if stage.deck.parameters.stair[f.stair].edge != e.name or not (level or upright):
                continue
            a, b = _stair_band(stage, turned, f, e)
            pts = [(s, start[1]) for s in (a, b)] if level else [(start[0], s) for s in (a, b)]
            side = ("below" if up > 0 else "above") if level else ("left" if inward > 0 else "right")
            ends = [(x0, y0), (x1, y0)] if level else [(x0, y0), (x0, y1)]
            if side == "right":
                ends = [(x1, y0), (x1, y1)]
            strings.chain(side, [ends[0], *pts, ends[1]])
    outer = getattr(stage.deck.layout, "surface_outer", None)
    ring = [turned.into(p) for p in outer.exterior.coords[:-1]] if outer is not None else []
    if len(ring) > 4:
        strings.chain("below", [(float(x), y0) for x, _ in ring])
        strings.chain("left", [(x0, float(y)) for _, y in ring])
    strings.chain("below", [(x0, y0), (x1, y0)])
    strings.chain("left", [(x0, y0), (x0, y1)])


def _own_boxes(stage: Stage, surface: d.Box, whole: d.Box, blocks: list[d.Box]) -> tuple[d.Box, d.Box, list[d.Box]]:
    """Boxes of the surface, of all that is drawn and of what strings keep clear of (pads first, then the marks of
    sections) in the deck's own coordinates."""
    turned, pads = askew(stage), stage.of("pad")
    if not turned.degrees:
        return surface, whole, blocks
    own = [*(turned.box([p.footprint]) for p in pads), *map(turned.upright, blocks[len(pads) :])]
    drawn = turned.box([p.footprint for p in stage.of(*ON_SURFACE_PLAN)])
    walked = [p.footprint for p in stage.deck_of(*SURFACE)]
    return turned.box(walked) if walked else drawn, joined_box([drawn, *own]), own


def _stair_band(stage: Stage, turned: Askew, f: FlightSeen, e) -> tuple[float, float]:
    """Its sides along the axis of the deck's own coordinates that is square to its travel."""
    return stair_sides(stage, f, e, turned.axes[int(np.argmax(np.abs(turned.into(f.across))))])


def _stairs(stage: Stage, view: d.View) -> None:
    """An arrow from the deck down each flight, with DN and the number of risers counted off the treads."""
    for f in stage.flights:
        nosings = f.nosings
        middle = sum(f.sides) / 2
        going = f.usual_going
        first, last = (nosings[0][0] - going * 0.9, nosings[-1][0] - going * 0.25) if f.treads else f.walk
        a, b = f.out * first + f.across * middle, f.out * last + f.across * middle
        view.add(d.Arrow([tuple(map(float, a)), tuple(map(float, b))]))
        at = [tuple(map(float, a + (b - a) * t)) for t in (0.5, 0.3, 0.7)]
        view.add(d.Leader(at[0], f"DN {len(f.rises)}R", head="dot", tips=at[1:]))


def _start(stage: Stage, view: d.View) -> None:
    """The edge that boards are laid from, at a run that is not ripped, the lower or right one on the sheet of two; how
    far it lies from O, and an arrow the way they go on."""
    boards = stage.deck_of("board")
    widths = Counter(round(_width(b) * 16) / 16 for b in boards)
    axes = Counter({tuple(np.round(in_plan.plan_axis(b), 6).tolist()): 0.0 for b in boards})
    for b in boards:
        axes[tuple(np.round(in_plan.plan_axis(b), 6).tolist())] += b.footprint.area
    if not boards:
        return
    axis = np.array(axes.most_common(1)[0][0])
    n, usual = in_plan.square(axis), widths.most_common(1)[0][0]
    mine = [b for b in boards if abs(float(in_plan.plan_axis(b) @ axis)) > 0.9999]
    found: list[tuple[float, np.ndarray, np.ndarray, np.ndarray]] = []
    for k, way in ((0, n), (1, -n)):
        edge = (min, max)[k](in_plan.reach(b, n)[k] for b in mine)
        first = [b for b in mine if abs(in_plan.reach(b, n)[k] - edge) < 1 / 16]
        if any(abs(_width(b) - usual) > 1 / 16 for b in first):
            continue
        run = [s for b in first for s in in_plan.reach(b, axis)]
        a, z = (axis * s + n * edge for s in (min(run), max(run)))
        found.append((round(sum(from_datum(stage, a)), 3), a, z, way))
    if not found:
        return
    _, a, z, way = max(found, key=lambda f: f[0])
    own = np.abs(askew(stage).into(axis))
    names = {0: "Y", 1: "X"}
    at = int(np.argmax(own))
    far = from_datum(stage, a)[1 - at]
    told = f", {names[at]} {signed_place(stage, far)}" if own.max() > 0.9999 else ""
    places = [tuple(map(float, a + (z - a) * t)) for t in (0.35, 0.65, 0.2, 0.8, 0.5)]
    view.add(
        d.Line(tuple(map(float, a)), tuple(map(float, z)), layer="A-ANNO-SYMB"),
        d.Arrow([places[2], tuple(map(float, np.asarray(places[2]) + way * _START_ARROW * view.scale))]),
        d.Leader(places[0], f"START OF BOARDS{told}", tips=places[1:]),
    )


def _labels(stage: Stage, view: d.View) -> None:
    def leader(parts, text):
        """A note that may point at any of the pieces, anywhere along them where nothing built on them hides them."""
        seen = [x for x in parts if not covered.contains(Point(x))] or parts
        view.add(d.Leader(seen[0], text, tips=seen[1:]))

    built = [p for p in stage.of(*in_group("built-ins")) if p.role in ON_SURFACE_PLAN]
    covered = unary_union([p.footprint for p in built])

    def along(part) -> list[d.Point]:
        return in_plan.places_along(part, (0.42, 0.88, 0.12, 0.25, 0.7))

    boards = [p for p in stage.of("board") if p.stair is None]
    if boards:
        p = max(boards, key=lambda q: q.footprint.area)
        like = [q for q in boards if q.footprint.area > 0.8 * p.footprint.area]
        leader(
            [x for q in like[:: max(1, len(like) // 3)] for x in along(q)],
            f"{stage.stock(p.stock)} {p.stock.material.upper()} SURFACE BOARDS",
        )
    for role, text in (
        ("border", "BORDER, MITRED AT CORNERS"),
        ("breaker", "BREAKER BOARD"),
        ("fascia", "FASCIA UNDER OVERHANG"),
        ("pad", "CONCRETE PAD"),
        ("handrail", "HANDRAIL"),
    ):
        found = stage.of(role)
        found = [p for p in found if p.stair is None] if role in ("border", "breaker") else found
        if found and role != "fascia":
            longest = sorted(found, key=lambda q: -q.footprint.area)[:4]
            leader([x for p in longest for x in along(p)], text)
    for role in dict.fromkeys(p.role for p in built):
        tips = [x for p in sorted(built, key=lambda q: -q.footprint.area) if p.role == role for x in along(p)]
        view.add(d.Leader(tips[0], role.upper(), tips=tips[1:]))
    posts = stage.of("post sleeve") or stage.of("guard post")
    if posts:
        leader([in_plan.centre(p) for p in posts[:8]], "GUARD POST, BOARDS NOTCHED ROUND IT")
    rails = [p for p in stage.of("top rail") if p.stair is None]
    if rails:
        one_an_edge = {p.edge: p for p in rails}.values()
        leader(
            [x for p in one_an_edge for x in along(p)[:1]],
            f"GUARD {stage.text(float(rails[0].box[1, 2]) - stage.surface_top)} ABOVE SURFACE",
        )
    for e in stage.house_edges[:1]:
        view.add(house_named(e))
    door = stage.deck.parameters.site.door
    if door:
        e = stage.edge(door[0])
        a, b = e.point(door[1], -3), e.point(door[1] + door[2], -3)
        view.add(d.Line(a, b, layer="A-WALL"), d.Leader(e.point(door[1] + door[2] / 2, -3), "DOOR"))


def _section_lines(stage: Stage, view: d.View, box: d.Box) -> tuple[d.Box, list[d.Box]]:
    """Lines and marks of the stair sections; returns the box that dimension strings must stay outside of, and the
    marks' boxes."""
    blocks: list[d.Box] = [tuple(map(float, (*p.box[0, :2], *p.box[1, :2]))) for p in stage.of("pad")]
    stood: list[d.Box] = []
    for n, f in enumerate(stage.flights):
        key = f"stair section {n}"
        if key not in stage.refs:
            continue
        number, sheet = stage.refs[key]
        plane = stair_plane(stage, f)
        own = stage.seen.flights(f.stair)
        leaves_deck, ends_at_landing = f is own[0], f is not own[-1]
        n_ = f.nosings
        foot = [
            in_plan.reach(p, f.out)[1]
            for p in stage.of("pad", "tread")
            if p.stair == f.stair and in_plan.overlap(in_plan.reach(p, f.across), f.sides) > 0
        ]
        at_top = leaves_deck and (n == 0 or ends_at_landing)
        s0, s1 = (
            n_[0][0] - f.usual_going * (1.0 if at_top else 0.3) - (14 if at_top else 0),
            max([] if at_top and ends_at_landing else foot, default=f.walk[1]) + 0.1 * view.scale,
        )
        for _ in stage.flights:  # flights in one line end at one foot: the next one's mark stands beyond
            a, b = f.out * s0 + f.across * plane.station, f.out * s1 + f.across * plane.station
            mark = section_mark(
                tuple(map(float, a)),
                tuple(map(float, b)),
                number,
                sheet,
                askew(stage).word(plane.direction),
                view.scale,
            )
            (foot_mark,) = mark_boxes(mark[2:], view.scale)
            if at_top or not any(_meet(foot_mark, other) for other in stood):
                break
            s1 += foot_mark[2] - foot_mark[0]
        if not at_top:  # one mark, at the foot: the top is crowded
            mark = [mark[0], mark[2]]
        elif ends_at_landing or not foot_pads(stage, f.stair):
            mark = mark[:2]  # there is no room on a landing
        view.add(*mark)
        stood += mark_boxes(mark, view.scale)
        blocks += mark_boxes(mark, view.scale)
        if len(mark) > 2 or not at_top:  # a mark outside the view
            box = joined_box([box, *blocks[-1:]])
    for n, c in enumerate(corners(stage)):
        if (key := f"hip section {n}") in stage.refs:
            mark = _hip_mark(c, *stage.refs[key], askew(stage), view.scale)
            view.add(*mark)
            blocks += mark_boxes(mark, view.scale)
            box = joined_box([box, *blocks[-1:]])
    return box, blocks


def _hip_mark(c: CornerSeen, number: str, sheet: str, turned: Askew, scale: float) -> list[d.AnyItem]:
    """The line of the section along a hip stringer, with one mark past the corner of what it lands on."""
    plane, last = hip_plane(c), max(along(p, c.out)[1] for p in (*c.first.last.pieces, *c.first.foot_pieces))
    start = np.asarray(plane.through)
    end = start + c.out * (last + 0.1 * scale - float(start @ c.out))
    a, b = (tuple(map(float, p)) for p in (start - c.out * DECK_BEHIND, end))
    line, _, foot = section_mark(a, b, number, sheet, turned.word(plane.direction), scale)
    return [line, foot]


def _meet(a: d.Box, b: d.Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def gaps_between(boards: list) -> dict[str, list[float]]:
    """Clear gaps measured between neighbouring boards: `edge` (side by side) and `end` (butt to butt)."""
    out: dict[str, list[float]] = {"edge": [], "end": []}
    rows: dict[tuple, list] = defaultdict(list)
    for p in boards:
        axis = in_plan.plan_axis(p)
        rows[tuple(np.round(axis, 4))].append(p)
    for axis, group in rows.items():
        axis = np.array(axis)
        n = in_plan.square(axis)
        at = np.array(sorted((*in_plan.reach(p, n), *in_plan.reach(p, axis)) for p in group))
        low, high, start, end = at.T
        for b0, b1, a0, a1 in at.tolist():
            above = low[(low > b0 + 0.5) & (np.minimum(end, a1) - np.maximum(start, a0) > 6)]
            if len(above):
                out["edge"].append(float(above.min()) - b1)
            after = start[(np.minimum(high, b1) - np.maximum(low, b0) > 0.5 * (b1 - b0)) & (start > a1 - 0.01)]
            if len(after):
                out["end"].append(float(after.min()) - a1)
    return out


def surface_notes(stage: Stage) -> list[str]:
    boards = [p for p in stage.of("board") if p.stair is None]
    p = stage.deck.parameters
    rows = []
    if boards:
        axis = askew(stage).into(in_plan.plan_axis(boards[0]))
        gaps = gaps_between(boards)
        widths = Counter(round(_width(b) * 16) / 16 for b in boards)
        usual = widths.most_common(1)[0][0]
        angle = round(float(np.degrees(np.arctan2(axis[1], axis[0]))), 1)
        angle = 90.0 - (90.0 - angle) % 180.0  # a board has no head and no tail
        rows.append(
            f"SURFACE: {stage.inch(boards[0].stock.thickness)} x {stage.inch(usual)}"
            f" {boards[0].stock.material.upper()}, BOARDS RUN AT {angle:g} DEGREES FROM THE X AXIS. USE BOARDS WHOSE"
            " PUBLISHED SPAN COVERS THE JOIST SPACING."
        )
        if gaps["edge"]:
            rows.append(f"GAP BETWEEN BOARDS {mode_text([g for g in gaps['edge'] if g < 2], stage.inch)} AS DRAWN.")
        ends = [g for g in gaps["end"] if g < 2]
        rows.append(
            f"GAP AT BOARD ENDS {mode_text(ends, stage.inch) if ends else stage.inch(p.surface.end_gap)} AS DRAWN; SET"
            " IT BY THE GAP CARD FOR THE DAY'S TEMPERATURE."
        )
        rips = sorted(w for w in widths if abs(w - usual) > 1 / 16)
        if rips:
            rows.append(f"RIPPED BOARDS: {', '.join(stage.inch(w) for w in rips)} WIDE.")
    border = [q for q in stage.of("border") if q.stair is None]
    if border:
        rows.append(
            f"BORDER {stage.inch(border[0].stock.width)} WIDE, MITRED ON THE BISECTOR; BOTH HALVES AND THE FIELD ENDS"
            " CARRIED BY BLOCKING (FRAMING PLAN)."
        )
    over = overhangs(stage)
    if over:
        rows.append(f"SURFACE OVERHANGS THE FRAME BY {mode_text(over, stage.inch)}.")
    if stage.flights:
        for n, f in enumerate(stage.flights):
            rows.append(
                f"{stage.flight_name(n).upper()}: {counted(f)} OF {mode_text(f.rises, stage.inch)}, DOWN IN THE"
                " DIRECTION OF THE ARROW."
            )
    rows.append("NOTCH BOARDS ROUND POSTS WITH THE CLEARANCE DRAWN.")
    return rows


def _width(board) -> float:
    n = in_plan.square(in_plan.plan_axis(board))
    a, b = in_plan.reach(board, n)
    return b - a


def overhangs(stage: Stage) -> list[float]:
    """Edge of the surface past the frame's outer face, along every free edge, measured off the boards."""
    out = []
    boards = [p for p in stage.of(*SURFACE) if p.stair is None]
    for e in stage.edges:
        if e.house:
            continue
        n = -np.asarray(e.inward)
        face = float(np.dot(e.start, n))
        mine = [
            in_plan.reach(b, n)[1]
            for b in boards
            if in_plan.overlap(
                in_plan.reach(b, e.direction),
                (float(np.dot(e.start, e.direction)) + 6, float(np.dot(e.end, e.direction)) - 6),
            )
            > 0
        ]
        # only boards at this edge: those within a board's width of it
        near = [m - face for m in mine if abs(m - face) < 7]
        if near:
            out.append(max(near))
    return out
