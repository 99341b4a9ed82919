"""S-5xx: details at larger scale, each a window of a view cut from this deck's own pieces."""
from __future__ import annotations

from dataclasses import dataclass, field
from typing import Callable

import numpy as np

from .. import drawing as d
from .. import style
from ..furniture import TITLE_DEPTH
from ..symbols import break_line
from ..views import Linework, View, project
from . import reading
from .crop import cropped
from .ground import ground_items
from .hardware import ledger_fasteners, limit_row
from .pens import items, name_of
from .sections import Plane, _merged, cut_boxes, frame_work
from .stage import SURFACE, WALL, Stage, Strings, joined_box, place
from .stair_section import pads_of, riser_faces, seen_stringer, stair_work

Annotate = Callable[[Stage, d.View, Linework], None]


@dataclass
class Detail:
    """One detail: its cropped linework, what is drawn before it, and what writes its dimensions and notes."""

    title: str
    work: Linework
    kind: str
    annotate: Annotate
    before: Callable[[Stage, float], list] | None = None
    note: str = ""
    spare: tuple[float, float] = (3.0, 0.3)
    open_sides: str = ""  # where the pieces go on beyond the window: l, r, t, b
    at_most: float = 8.0
    extra: list = field(default_factory=list)


def collect(stage: Stage) -> list[Detail]:
    made = [ledger(stage), beam_on_post(stage), post_on_footing(stage), guard_post(stage), stair_top(stage), stair_foot(stage), border_corner(stage), balusters(stage)]
    return [m for m in made if m is not None]


def grid(room: d.Box, paper: str) -> list[d.Box]:
    """Rooms for details: three by two on large sheets, two by two on small ones, read from the top left."""
    wide, high = room[2] - room[0], room[3] - room[1]
    columns, rows = (4, 3) if wide > 25 else (2, 2) if wide > 11 else (1, 1)
    w, h = wide / columns, high / rows
    return [(room[0] + c * w, room[3] - (r + 1) * h, room[0] + (c + 1) * w, room[3] - r * h) for r in range(rows) for c in range(columns)]


def pages(count: int, stage: Stage) -> int:
    per = len(grid(style.room(stage.paper), stage.paper))
    return -(-count // per)


def build(stage: Stage, made: list[Detail] | None = None) -> list[d.Sheet]:
    made = collect(stage) if made is None else made
    out: list[d.Sheet] = []
    rooms = grid(style.room(stage.paper), stage.paper)
    for n, detail in enumerate(made):
        if n % len(rooms) == 0:
            out.append(stage.sheet(f"S-{501 + n // len(rooms)}", "DETAILS"))
        room = rooms[n % len(rooms)]
        room = (room[0] + 0.1, room[1], room[2] - 0.1, room[3] - 0.15)
        lines = items(detail.work, detail.kind)

        def draw(scale: float) -> d.View:
            view = d.View(detail.title, scale, [*(detail.before(stage, scale) if detail.before else []), *lines])
            _breaks(view, detail)
            detail.annotate(stage, view, detail.work)
            return view

        view = stage.fitted(draw, detail.work.box, room, detail.at_most, detail.spare)
        place(out[-1], view, room, detail.title, str(n + 1), detail.note)
    return out


def _breaks(view: d.View, detail: Detail) -> None:
    x0, y0, x1, y1 = detail.work.box
    over = 0.08 * view.scale
    for side, a, b in (("l", (x0, y0 - over), (x0, y1 + over)), ("r", (x1, y0 - over), (x1, y1 + over)), ("b", (x0 - over, y0), (x1 + over, y0)), ("t", (x0 - over, y1), (x1 + over, y1))):
        if side in detail.open_sides:
            view.add(*break_line(a, b, view.scale))


def _note(view: d.View, boxes, text, where=(0.5, 0.5), which: int = 0) -> None:
    if boxes:
        (x0, y0, x1, y1), part = boxes[which]
        view.add(d.Leader((x0 + (x1 - x0) * where[0], y0 + (y1 - y0) * where[1]), text(part) if callable(text) else text, mark=name_of(part)))


def ledger(stage: Stage) -> Detail | None:
    found = frame_work(stage)
    if found is None:
        return None
    plane, work = found
    boxes = cut_boxes(work, "ledger")
    if not boxes:
        return None
    box, part = boxes[0]
    edge = next(iter(stage.house_edges), None)
    side = -1.0 if edge is None else float(np.sign(np.dot(edge.inward, plane.view.right[:2]))) or 1.0  # +1: the deck lies to the right
    face, front = (box[0], box[2]) if side > 0 else (box[2], box[0])
    low, high = box[1] - 5, stage.surface_top + 9
    window = (face - 0.01, low, face + 22, high) if side > 0 else (face - 22, low, face + 0.01, high)
    crop = cropped(work, window)

    def before(stage, scale):
        wall = sorted((face - side * WALL, face))
        ring = [(wall[0], low), (wall[1], low), (wall[1], high), (wall[0], high)]
        top = box[3]
        lift = 0.03 * scale
        flashing = [(face + side * lift, top + 5), (face + side * lift, top + lift), (front + side * lift, top + lift), (front + side * lift, top - 0.9)]
        out = [d.Line((face, low), (face, high), layer="A-WALL"), d.Hatch(ring, pattern="steel", layer="A-WALL-PATT"), d.Polyline(flashing, layer="A-SECT-FLSH")]
        for z in _fastener_rows(stage, box):
            out.append(d.Line((front + side * 0.9, z), (face - side * (WALL - 1.5), z), layer="S-JOIS-HNGR"))
            out.append(d.Line((front + side * 0.05, z - 0.5), (front + side * 0.05, z + 0.5), layer="S-JOIS-HNGR"))
        return out + break_line((wall[0], high), (wall[1], high), scale) + break_line((wall[0], low), (wall[1], low), scale)

    def annotate(stage, view, work):
        rows = _fastener_rows(stage, box)
        edge_side = "right" if side > 0 else "left"
        strings = Strings(view, (min(window[0], face - WALL), low, max(window[2], face + WALL), high), 0.3)
        far = window[2] if side > 0 else window[0]
        strings.chain(edge_side, [(far, z) for z in (box[1], *rows, box[3])])
        strings.chain(edge_side, [(far, z) for z in (box[1], box[3], stage.surface_top)])
        fasteners = ledger_fasteners(stage)
        towards = "right" if side > 0 else "left"
        view.add(d.Leader((front + side * 0.3, rows[0]), fasteners.short, (front + side * 4.5, rows[0] - 0.6), towards, wrap=1.75))
        view.add(d.Leader((face + side * 0.03 * view.scale, box[3] + 4), "CORROSION-RESISTANT FLASHING, BEHIND THE CLADDING AND OVER THE LEDGER"))
        view.add(d.Leader((face - side * WALL / 2, low + 3), "EXISTING WALL AND BAND JOIST, VERIFY; CLADDING OFF BEHIND THE LEDGER"))
        _note(view, [(box, part)], f"{part.mark} {part.stock.name} LEDGER", (0.5, 0.2))
        seen = next((l for l in work.lines if l.part.role == "joist"), None)
        if seen is not None:
            view.add(d.Leader((face + side * 13, (box[1] + box[3]) / 2), f"{seen.part.stock.name} JOIST IN FACE-MOUNT HANGER", mark=name_of(seen.part)))

    return Detail("Ledger", crop, "section", annotate, before, "FASTENER ROWS AT THE PUBLISHED EDGE DISTANCES.", open_sides="r" if side > 0 else "l")


def _fastener_rows(stage: Stage, box: d.Box) -> list[float]:
    """Two staggered rows: the published least distance from the top edge, and as far below as edge and row limits let."""
    def value(item, default):
        row = limit_row(stage, item)
        return float(row.value) if row else default

    top = box[3] - value("ledger_top_edge_min", 2.0)
    low = max(box[1] + value("ledger_bottom_edge_min", 0.75), top - value("ledger_row_spacing_max", 5.0))
    return [top, low] if top - low > 0.5 else [top]


def beam_on_post(stage: Stage) -> Detail | None:
    found = frame_work(stage)
    if found is None:
        return None
    _, work = found
    posts, beams = cut_boxes(work, "post"), _merged([b for b, _ in cut_boxes(work, "beam")])
    pairs = [(p, b) for p in posts for b in beams if abs((p[0][0] + p[0][2]) - (b[0] + b[2])) / 2 < 3]
    if not pairs:
        return None
    (post, part), beam = pairs[-1]
    mid = (post[0] + post[2]) / 2
    window = (mid - 13, max(post[3] - 7, post[1] - 1), mid + 13, stage.surface_top + 1)

    def annotate(stage, view, work):
        strings = Strings(view, view_window(work), 0.3)
        strings.chain("right", [(window[2], z) for z in (stage.surface_top, stage.frame_top, beam[3], post[3])])
        strings.chain("below", [(beam[0], window[1]), (beam[2], window[1])])
        strings.chain("below", [(post[0], window[1]), (post[2], window[1])])
        _note(view, cut_boxes(work, "beam"), f"{stage.beams[0].text} BEAM, PLIES NAILED OR BOLTED TOGETHER")
        _note(view, [(post, part)], f"{part.mark} {part.stock.name} POST", (0.5, 0.9))
        view.add(d.Leader((post[0], post[3] - 1.5), "POST CAP, BOTH SIDES, ALL FASTENERS IN"))
        view.add(d.Leader((mid + 8, beam[3]), "TIE AT EVERY JOIST"))

    return Detail("Beam on post", cropped(work, window), "section", annotate, _cap(post, beam), "", open_sides="lrb" if post[3] - 7 > post[1] - 1 else "lr")


def _cap(post, beam):
    """The post cap: a plate under the beam and two straps up its sides, drawn, not modelled."""
    def before(stage, scale):
        t = 0.02 * scale
        return [d.Polyline([(beam[0] - t, post[3] + 4), (beam[0] - t, post[3]), (post[0] - t, post[3]), (post[0] - t, post[3] - 4)], layer="S-JOIS-HNGR"),
                d.Polyline([(beam[2] + t, post[3] + 4), (beam[2] + t, post[3]), (post[2] + t, post[3]), (post[2] + t, post[3] - 4)], layer="S-JOIS-HNGR")]
    return before


def view_window(work: Linework) -> d.Box:
    return work.box


def post_on_footing(stage: Stage) -> Detail | None:
    found = frame_work(stage)
    if found is None:
        return None
    plane, work = found
    feet, posts = cut_boxes(work, "footing"), cut_boxes(work, "post")
    if not feet or not posts:
        return None
    foot, part = feet[-1]
    mid = (foot[0] + foot[2]) / 2
    near = [(b, p) for b, p in posts if abs((b[0] + b[2]) / 2 - mid) < 3]
    if not near:
        return None
    post, post_part = near[0]
    ground = stage.ground(plane.view, plane.through)
    window = (foot[0] - 6, max(foot[3] - 16, foot[1] - 2), foot[2] + 6, min(post[1] + 14, post[3]))

    def before(stage, scale):
        left = ground_items(stage, ground, window[0] - 4, foot[0], scale)
        return left + ground_items(stage, ground, foot[2], window[2] + 4, scale)

    def annotate(stage, view, work):
        strings = Strings(view, (window[0] - 4, *work.box[1:2], window[2] + 4, work.box[3]), 0.3)
        strings.chain("right", [(foot[2], z) for z in (post[1], foot[3], ground(mid))])
        strings.chain("below", [(foot[0], work.box[1]), (foot[2], work.box[1])], suffix=" DIA." if part.shape.circle else "")
        view.add(d.Leader((foot[0] + 2, foot[3] - 5), f"CONCRETE FOOTING, UNDERSIDE {stage.text(ground(mid) - foot[1])} BELOW GRADE", mark=name_of(part)))
        _note(view, [(post, post_part)], f"{post_part.mark} {post_part.stock.name} POST", (0.5, 0.3 * min(1.0, 14 / (post[3] - post[1]))))
        view.add(d.Leader((mid + 1.5, (post[1] + foot[3]) / 2), "STAND-OFF POST BASE, CAST-IN ANCHOR BOLT"))
        view.add(d.Leader((window[0] - 2, ground(window[0])), "GRADE"))

    return Detail("Post on footing", cropped(work, window), "section", annotate, before, open_sides="b" + ("t" if post[3] > window[3] else ""))


def guard_post(stage: Stage) -> Detail | None:
    posts = [p for p in stage.of("guard post") if p.stair is None and p.edge]
    posts = [p for p in posts if not stage.edge(p.edge).house]
    if not posts:
        return None

    def corner(p):  # how near the ends of its edge it stands
        e = stage.edge(p.edge)
        a = float(np.dot(np.subtract(reading.centre(p), e.start), e.direction))
        return -min(a, e.length - a)

    part = min(posts, key=corner)
    e = stage.edge(part.edge)
    look = e.direction
    c = reading.centre(part)
    plane = Plane(c, (float(look[0]), float(look[1])))
    near = [p for p in stage.parts if p.stair is None and reading.overlap(reading.reach(p, e.direction), reading.reach(part, e.direction)) > -30]
    work = project(near, plane.view, beyond=12)
    u = float(np.dot(c, plane.view.right[:2]))
    low = float(part.box[0, 2])
    window = (u - 13, low - 4, u + 13, stage.surface_top + 10)

    def annotate(stage, view, work):
        load, hold = limit_row(stage, "guard_handrail_concentrated_load"), limit_row(stage, "guard_post_holddown_capacity_min")
        strings = Strings(view, work.box, 0.3)
        strings.chain("right", [(work.box[2], z) for z in (low, stage.frame_top, stage.surface_top)])
        if boxes := cut_boxes(work, "guard post"):
            strings.chain("below", [(x, work.box[1]) for x in (boxes[0][0][0], boxes[0][0][2])])
        boxes = cut_boxes(work, "guard post")
        _note(view, boxes, f"{part.stock.name} GUARD POST, TO RESIST {f'{load.value:g} LB' if load else 'THE RAIL LOAD'} AT THE TOP RAIL", (0.5, 0.75))
        view.add(d.Leader((u, (low + stage.frame_top) / 2), f"TWO 1/2\" BOLTS AND TENSION DEVICE {f'OF AT LEAST {hold.value:g} LB ' if hold else ''}TO THE FRAME"))
        blocks = cut_boxes(work, "post blocking", "blocking", "border blocking", "joist")
        _note(view, blocks, "BLOCKING FOR THE POST", (0.5, 0.3))
        _note(view, cut_boxes(work, "rim"), lambda p: f"{p.stock.name} RIM", (0.5, 0.2), -1)
        _note(view, cut_boxes(work, "border", "board"), "BOARD NOTCHED ROUND THE POST")

    return Detail("Guard post", cropped(work, window), "section", annotate, None, "", (3.0, 0.3), "lrt")


def stair_top(stage: Stage) -> Detail | None:
    if not stage.flights:
        return None
    f = stage.flights[0]
    plane, work = stair_work(stage, f)
    s, v = f.nosings()[0]
    going = stage._going(f)
    us = sorted((plane.u(s - going - 12), plane.u(s + going * 0.8)))
    window = (us[0], v - 14, us[1], f.levels[0] + 4)

    def annotate(stage, view, work):
        strings = Strings(view, work.box, 0.3)
        ahead = "right" if plane.sign > 0 else "left"
        edge = work.box[2] if plane.sign > 0 else work.box[0]
        nosings = [(plane.u(a), z) for a, z in f.nosings() if z > window[1] and window[0] < plane.u(a) < window[2]]
        strings.chain(ahead, [(edge, z) for z in (f.levels[0], *(z for _, z in nosings))])
        faces = [plane.u(x) for x in riser_faces(stage, f) if window[0] < plane.u(x) < window[2]]
        strings.chain("below", [(x, work.box[1]) for x in (*faces[:2], plane.u(s))] if faces else [(x, work.box[1]) for x, _ in nosings])
        stringer = [l for l in work.lines if l.part.role == "stringer"]
        if stringer:
            l = max(stringer, key=lambda l: l.length)
            view.add(d.Leader(((l.a[0] + l.b[0]) / 2, (l.a[1] + l.b[1]) / 2), f"{l.part.stock.name} STRINGER, SLOPED HANGER OR STRAP TO THE RIM, EACH", mark=name_of(l.part)))
        _note(view, cut_boxes(work, "rim"), lambda p: f"{p.stock.name} RIM", (0.5, 0.5))
        _note(view, cut_boxes(work, "stair header"), lambda p: f"{p.stock.name} STAIR HEADER", (0.5, 0.5))
        _note(view, cut_boxes(work, "tread"), lambda p: f"{p.stock.name} TREAD")
        _note(view, cut_boxes(work, "riser"), "RISER BOARD")

    return Detail("Stair at the rim", cropped(work, window), "section", annotate, None, "", open_sides="lr")


def stair_foot(stage: Stage) -> Detail | None:
    if not stage.flights:
        return None
    f = stage.flights[-1]
    plane, work = stair_work(stage, f)
    s, v = f.nosings()[-1]
    going = stage._going(f)
    ground = stage.ground(plane.view, plane.through)
    pads = pads_of(stage, f)
    part = seen_stringer(stage, plane, f)
    low, level = (0.0, (s - going, s)) if part is None else level_cut(part, f)
    bottom = min([f.levels[-1] - 5, *(float(p.box[0, 2]) - 2 for p in pads)])
    us = sorted((plane.u(level[0] - 6), plane.u(s + going + 6)))
    window = (us[0], bottom, us[1], v + 4)

    def before(stage, scale):
        solid = [tuple(sorted(plane.u(x) for x in reading.reach(p, f.down))) for p in pads]
        return ground_items(stage, ground, window[0], window[2], scale, solid=solid)

    def annotate(stage, view, work):
        strings = Strings(view, work.box, 0.3)
        ahead = "right" if plane.sign > 0 else "left"
        edge = work.box[2] if plane.sign > 0 else work.box[0]
        strings.chain(ahead, [(edge, z) for z in (v, f.levels[-1], *(float(z) for p in pads[:1] for z in p.box[:, 2]))])
        if part is not None:
            a, b = (plane.u(x) for x in level)
            view.add(d.Dimension((a, low), (b, low), (a, work.box[1] - 0.3 * view.scale), 0.0, suffix=" LEVEL CUT"))
            view.add(d.Leader(((a + b) / 2, low + 1.5), f"{part.stock.name} STRINGER, LEVEL CUT AT THE FOOT, ANCHORED AGAINST SLIDING", mark=name_of(part)))
        _note(view, cut_boxes(work, "pad"), "CONCRETE PAD ON FIRM GROUND", (0.8, 0.5))
        _note(view, cut_boxes(work, "foot block", "tread blocking"), lambda p: p.role.upper())
        _note(view, cut_boxes(work, "tread"), lambda p: f"{p.stock.name} TREAD", which=-1 if plane.sign > 0 else 0)

    return Detail("Stair at the foot", cropped(work, window), "section", annotate, before, "", open_sides="lr")


def level_cut(part, f: reading.Flight) -> tuple[float, tuple[float, float]]:
    """Height and stations of the level cut at a stringer's foot, off its corners."""
    low = float(part.vertices[:, 2].min())
    at = part.vertices[part.vertices[:, 2] < low + 0.02][:, :2] @ f.down
    return low, (float(at.min()), float(at.max()))


def border_corner(stage: Stage) -> Detail | None:
    borders = [p for p in stage.of("border") if p.stair is None]
    if not borders:
        return None
    best = None
    for e in stage.edges:
        b = stage.deck.layout.outline.before(e)
        if not e.house and not b.house:
            turn = abs(stage.deck.layout.outline.turn(e))
            best = max(best or (0.0, e), (min(turn, 91), e), key=lambda x: x[0])
    if best is None:
        return None
    x, y = map(float, best[1].start)
    width = borders[0].stock.width
    e, b = best[1], stage.deck.layout.outline.before(best[1])
    inward = np.asarray(e.inward) + np.asarray(b.inward)
    c = np.array([x, y]) + inward * (width + 4)
    half = 2.2 * width + 6
    window = (float(c[0] - half), float(c[1] - half), float(c[0] + half), float(c[1] + half))
    over = [p for p in stage.of(*SURFACE, "fascia", "guard post", "post sleeve") if p.stair is None]
    under = stage.deck_of("rim", "joist", "border blocking", "blocking", "post blocking")
    near = lambda pool: [p for p in pool if p.footprint.bounds[0] < window[2] and p.footprint.bounds[2] > window[0] and p.footprint.bounds[1] < window[3] and p.footprint.bounds[3] > window[1]]  # noqa: E731
    work = project(near(over), View.above(), under=near(under))

    def annotate(stage, view, work):
        corner = sorted(near(borders), key=lambda p: p.footprint.distance(_point(x, y)))[:2]
        if corner:
            q = corner[0].footprint.intersection(_square(window)).representative_point()
            view.add(d.Leader((q.x, q.y), "BORDER, MITRED ON THE BISECTOR", mark=name_of(corner[0])))
            a = reading.square(reading.plan_axis(corner[0]))
            lo, hi = reading.reach(corner[0], a)
            m = reading.plan_axis(corner[0]) * float(np.dot((q.x, q.y), reading.plan_axis(corner[0])))
            p1, p2 = a * lo + m, a * hi + m
            view.add(d.Dimension(tuple(map(float, p1)), tuple(map(float, p2)), tuple(map(float, p1)), None))
        for role, text in (("border blocking", "BLOCKING UNDER THE BORDER'S INNER HALF AND THE FIELD ENDS (DASHED)"), ("rim", "RIM UNDER THE OUTER HALF (DASHED)"), ("board", "FIELD BOARDS")):
            pool = [p for p in near(stage.deck_of(role)) if p.footprint.intersection(_square(window)).area > 1]
            if pool:
                q = min(pool, key=lambda p: p.footprint.distance(_point(x, y))).footprint.intersection(_square(window)).representative_point()
                view.add(d.Leader((q.x, q.y), text))
        from .surface_plan import _overhangs

        strings = Strings(view, work.box, 0.3)
        axis_edge = e if abs(e.direction[0]) > 0.999 else b
        if abs(axis_edge.direction[0]) > 0.999:
            outer = min((p.footprint.bounds[1] for p in corner), default=y) if axis_edge.inward[1] > 0 else max((p.footprint.bounds[3] for p in corner), default=y)
            strings.chain("right", [(work.box[2], outer), (work.box[2], y)], suffix=" OVERHANG")
        return _overhangs

    return Detail("Border corner and its blocking", cropped(work, window), "plan", annotate, None, "DASHED: FRAME UNDER THE SURFACE.", open_sides="")


def _point(x: float, y: float):
    from shapely import Point

    return Point(x, y)


def _square(window: d.Box):
    from shapely import box

    return box(*window)


def _covered(post, sleeves, axis) -> tuple[float, float]:
    """The reach of a guard post along its edge with the sleeve round it, if any: openings are clear of sleeves."""
    x, y = reading.centre(post)
    own = [s for s in sleeves if s.box[0, 0] < x < s.box[1, 0] and s.box[0, 1] < y < s.box[1, 1]]
    return reading.reach(own[0] if own else post, axis)


def balusters(stage: Stage) -> Detail | None:
    """One guard bay square on: every clear opening measured between neighbouring balusters and posts."""
    per_edge: dict[str, list] = {}
    for p in stage.of("baluster"):
        if p.stair is None and p.edge:
            per_edge.setdefault(p.edge, []).append(p)
    if not per_edge:
        return None
    name = max(per_edge, key=lambda k: len(per_edge[k]))
    e = stage.edge(name)
    posts = [p for p in stage.of("guard post") if abs(float(np.dot(np.subtract(reading.centre(p), e.start), e.inward))) < 8]
    sleeves = stage.of("post sleeve")
    stations = sorted(_covered(p, sleeves, e.direction) for p in posts)
    bays = [(a, b) for a, b in zip(stations, stations[1:]) if any(a[1] - 1 < sum(reading.reach(q, e.direction)) / 2 < b[0] + 1 for q in per_edge[name])]
    if not bays:
        return None
    first, last = min(bays, key=lambda b: b[1][0] - b[0][1])
    inside = lambda p: reading.overlap(reading.reach(p, e.direction), (first[0] - 0.5, last[1] + 0.5)) > 0.1  # noqa: E731
    near_edge = lambda p: abs(float(np.dot(np.subtract(reading.centre(p), e.start), e.inward))) < 8  # noqa: E731
    pool = [p for p in stage.of("guard post", "baluster", "top rail", "bottom rail", "foot block", "post sleeve", "post cap") if p.stair is None and inside(p) and near_edge(p)]
    eye = View.looking(e.inward)
    strip = [p for p in stage.of("border", "board", "rim", "fascia") if p.stair is None and p.edge == name and p.role in ("border", "rim", "fascia")]
    work = project(pool + strip, eye)
    flat = lambda s: float(np.dot(np.asarray(e.direction) * s, eye.right[:2])) + float(np.dot(np.asarray(e.inward) * float(np.dot(e.start, e.inward)), eye.right[:2]))  # noqa: E731
    u0, u1 = sorted((flat(first[0]), flat(last[1])))
    z0 = float(min(p.box[0, 2] for p in strip or pool)) - 1
    window = (u0 - 4, z0, u1 + 4, float(max(p.box[1, 2] for p in pool)) + 1)

    def annotate(stage, view, work):
        bars = sorted(sorted((flat(a), flat(b))) for a, b in (reading.reach(p, e.direction) for p in pool if p.role == "baluster"))
        ends = [sorted((flat(a), flat(b))) for a, b in (first, last)]
        ends.sort()
        spans = [*([ends[0]]), *bars, *([ends[1]])]
        gaps = [(a[1], b[0]) for a, b in zip(spans, spans[1:])]
        low = [p for p in pool if p.role == "bottom rail"]
        z = float(low[0].box[1, 2]) if low else stage.surface_top + 6
        for n, (a, b) in enumerate(gaps):
            if n < 2 or n == len(gaps) - 1:
                view.add(d.Dimension((a, z), (b, z), (a, window[1] - 0.3 * view.scale), 0.0))
        view.add(d.Dimension((ends[0][1], z), (ends[1][0], z), (0.0, window[1] - 0.68 * view.scale), 0.0, suffix=" CLEAR BETWEEN POSTS"))
        sphere = limit_row(stage, "guard_opening_sphere")
        clear = [b - a for a, b in gaps]
        mid = gaps[len(gaps) // 2]
        z_mid = z + 14
        view.add(d.Leader(((mid[0] + mid[1]) / 2, z_mid), f"{len(bars)} BALUSTERS, {len(gaps)} OPENINGS, GREATEST {stage.inch(max(clear))} CLEAR" + (f"; A {stage.inch(sphere.value)} SPHERE MUST NOT PASS" if sphere else ""), head="dot"))
        strings = Strings(view, work.box, 0.3)
        rail = [p for p in pool if p.role == "top rail"]
        heights = [stage.surface_top] + ([float(low[0].box[0, 2])] if low else []) + ([float(max(p.box[1, 2] for p in rail))] if rail else [])
        strings.chain("right", [(work.box[2], h) for h in heights])
        if rail:
            strings.chain("right", [(work.box[2], stage.surface_top), (work.box[2], heights[-1])], suffix=" GUARD")
            view.add(d.Leader(((u0 + u1) / 2 - 6, float(rail[0].box[:, 2].mean())), f"{rail[0].stock.name} TOP RAIL", mark=name_of(rail[0])))
        if low:
            view.add(d.Leader(((u0 + u1) / 2 + 6, float(low[0].box[:, 2].mean())), f"{low[0].stock.name} BOTTOM RAIL", mark=name_of(low[0])))

    return Detail("Guard and baluster spacing", cropped(work, window), "elevation", annotate, None, "OPENINGS MEASURED BETWEEN THE PIECES.", (2.4, 0.2), "lr", 16.0)


__all__ = ["Detail", "build", "collect", "grid", "joined_box", "pages", "TITLE_DEPTH"]
