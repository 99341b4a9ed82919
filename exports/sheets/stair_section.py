"""A-5xx: a section along every flight of stairs: each rise and run, nosing, throat, handrail, guard, headroom, landing."""
from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry import Polygon

from .. import drawing as d
from .. import style
from ..views import Linework, View, project
from . import reading
from .crop import cropped
from .ground import ground_items, level_mark
from .hardware import limit_row
from .pens import items, name_of
from .sections import Plane, cut_boxes, spread
from .stage import SURFACE, Stage, Strings, mode_text, place

DECK_SHOWN = 44.0  # inches of the deck drawn behind the top riser
STAIR = ("stringer", "tread", "riser", "skirt", "tread blocking", "pad", "handrail", "top rail", "bottom rail", "baluster", "guard post",
         "post sleeve", "post cap", "foot block", "footing", "post", "post base", "beam", "joist", "rim", "board", "border", "stair header", "blocking")
DECK = ("rim", "joist", "ledger", "stair header", "blocking", "border blocking", "post blocking", "beam", *SURFACE, "fascia")


def stair_plane(stage: Stage, f: reading.Flight) -> Plane:
    """Between the two stringers nearest the middle of the flight, looking so that the stair goes down to the right."""
    middle = sum(f.band) / 2
    thick = sorted(reading.reach(p, f.across) for p in stage.of("stringer", "skirt") if p.stair == f.stair and reading.overlap(reading.reach(p, f.across), f.band) > 0)
    merged: list[list[float]] = []
    for a, b in thick:
        if b - a > 6:  # a stringer of another flight, crossing
            continue
        if merged and a - merged[-1][1] < 0.2:
            merged[-1][1] = max(b, merged[-1][1])
        else:
            merged.append([a, b])
    clear = [(b0[1] + b1[0]) / 2 for b0, b1 in zip(merged, merged[1:])]
    station = min(clear, key=lambda s: abs(s - middle)) if clear else middle
    p = f.across * station + f.down * f.nosings()[0][0]
    return _StairPlane((float(p[0]), float(p[1])), (float(-f.down[1]), float(f.down[0])), station)


class _StairPlane(Plane):
    def __init__(self, through, direction, station: float):
        super().__init__(through, direction)
        object.__setattr__(self, "_station", station)

    @property
    def station(self) -> float:
        return self._station


def stair_work(stage: Stage, f: reading.Flight) -> tuple[Plane, Linework]:
    """The section of one flight: its own pieces, the deck's edge it hangs from, cropped to where the flight is."""
    plane = stair_plane(stage, f)
    nosings = f.nosings()
    going = stage._going(f)
    low, high = nosings[0][0] - going - DECK_SHOWN, nosings[-1][0] + going + 60
    half = max(abs(f.band[1] - plane.station), abs(f.band[0] - plane.station)) + 10
    mine = [p for p in stage.parts if (p.stair == f.stair and p.role in STAIR or p.stair is None and p.role in (*DECK, "guard post", "post sleeve", "post cap"))
            and reading.overlap(reading.reach(p, f.down), (low, high)) > 0 and reading.overlap(reading.reach(p, f.across), (f.band[0] - 10, f.band[1] + 10)) > 0]
    work = project(mine, plane.view, beyond=half)
    bottom = f.levels[-1] - 30
    pads = [p for p in stage.of("pad") if p.stair == f.stair]
    right = max([nosings[-1][0] + going + 24, *(reading.reach(p, f.down)[1] + 6 for p in pads if reading.overlap(reading.reach(p, f.across), f.band) > 0)])
    top = f.levels[0] + 48
    return plane, cropped(work, (low + 4, bottom, right, top))


def build(stage: Stage) -> list[d.Sheet]:
    out = []
    for n, f in enumerate(stage.flights):
        number, sheet_number = stage.refs[f"stair section {n}"]
        sheet = stage.sheet(sheet_number, "STAIR SECTION" if len(stage.flights) == 1 else f"STAIR SECTION, FLIGHT {n + 1}")
        plane, work = stair_work(stage, f)
        margins = (0.6 + style.DIM_SPACING * 3, 0.6 + style.DIM_SPACING * 2, 2.4, 0.6)
        scale = stage.scale(work.box, sheet.room, margins, 16.0)
        view = d.View(f"section along flight {n + 1}", scale)
        ground = stage.ground(plane.view, plane.through)
        u0, _, u1, _ = work.box
        view.add(*ground_items(stage, ground, u0, u1 + 6, scale))
        view.add(*items(work, "section"))
        _steps(stage, view, work, f)
        _heights(stage, view, work, f)
        _throat(stage, view, plane, f)
        _labels(stage, view, work, f, plane)
        place(sheet, view, sheet.room, f"Section along stair flight {n + 1}", number, stage.metric, "RISES AND RUNS AS MEASURED OFF THE TREADS.")
        out.append(sheet)
    return out


def riser_faces(stage: Stage, f: reading.Flight) -> list[float]:
    """Stations of the front faces that divide the runs, from the deck's edge down: risers where there are any, else nosings."""
    risers = [p for p in stage.of("riser") if p.stair == f.stair and reading.overlap(reading.reach(p, f.across), f.band) > 6]
    return sorted({round(reading.reach(p, f.down)[1], 3) for p in risers})


def _steps(stage: Stage, view: d.View, work: Linework, f: reading.Flight) -> None:
    """The chain of runs under the stair and of rises beside it, then total run and total rise."""
    nosings = f.nosings()
    top = _top_edge(stage, f)
    points = [(top, f.levels[0]), *nosings]
    strings = Strings(view, work.box)
    strings.chain("below", [(u, v) for u, v in points])
    strings.chain("below", [points[0], points[-1]], suffix=" TOTAL RUN, NOSINGS")
    foot_u = points[-1][0] + stage._going(f)
    rises = [*points, (foot_u, f.levels[-1])]
    strings.chain("right", [(work.box[2], v) for _, v in rises])
    strings.chain("right", [(work.box[2], rises[0][1]), (work.box[2], rises[-1][1])], suffix=" TOTAL RISE")
    pads = [p for p in stage.of("pad") if p.stair == f.stair]
    if pads:
        a, b = reading.reach(pads[0], f.down)
        low = float(pads[0].box[0, 2])
        view.add(d.Dimension((max(a, points[-1][0]), low), (b, low), (a, low - 0.3 * view.scale), 0.0, suffix=" LANDING"))
    faces = riser_faces(stage, f)
    for u, v in nosings[:1]:
        under = [x for x in faces if 0.05 < u - x < 4]
        if under:
            face = max(under)
            view.add(d.Dimension((face, v), (u, v), (u, v + 0.3 * view.scale), 0.0, suffix=" NOSING", text_at=(u + 0.62 * view.scale, v + 0.34 * view.scale)))


def _top_edge(stage: Stage, f: reading.Flight) -> float:
    """Station of the walking edge above the first tread: the front edge of the surface or landing it leaves."""
    u, z = f.nosings()[0]
    going = stage._going(f)
    above = [reading.reach(p, f.down)[1] for p in stage.of("board", "border", "breaker", "tread")
             if abs(float(p.box[1, 2]) - f.levels[0]) < 0.01 and reading.overlap(reading.reach(p, f.across), f.band) > 6 and u - 2.2 * going < reading.reach(p, f.down)[1] < u - 0.4 * going]
    return max(above, default=u - going)


def _heights(stage: Stage, view: d.View, work: Linework, f: reading.Flight) -> None:
    """Handrail and guard above the line of nosings, measured straight up at a nosing; levels; headroom."""
    scale = view.scale
    nosings = f.nosings()
    middle = nosings[len(nosings) // 2]
    for role, label, share in (("handrail", " HANDRAIL", 0), ("top rail", " GUARD", 1)):
        tops = [h for p in stage.of(role) if p.stair == f.stair for h in [top_at(p, work.view, nosings[min(len(nosings) // 2 + share, len(nosings) - 1)][0])] if h]
        if tops:
            u, v = nosings[min(len(nosings) // 2 + share, len(nosings) - 1)]
            z = max(t for t in tops)
            view.add(d.Dimension((u, v), (u, z), (u, v), 90.0, suffix=label))
    rows = [("T.O. DECK" if abs(f.levels[0] - stage.surface_top) < 0.01 else "T.O. LANDING", f.levels[0]), ("FOOT OF STAIR", f.levels[-1])]
    u = work.box[0] - 0.25 * scale
    for name, (z, shown) in spread(rows, 0.3 * scale):
        text = f"{name} {'' if stage.text(z).startswith('-') else '+'}{stage.text(z)}"
        view.add(d.Symbol("level", (u - 0.1 * scale, z)), d.Text((u - 0.3 * scale, z), text, style.NOTE, "right", "middle", layer="A-ANNO-SYMB"))
    above = [p for p in stage.parts if p.stair != f.stair and p.box[0, 2] > middle[1] + 12 and reading.overlap(reading.reach(p, f.down), (nosings[0][0], nosings[-1][0])) > 0
             and reading.overlap(reading.reach(p, f.across), f.band) > 0]
    need = limit_row(stage, "headroom_min")
    if above:
        p = min(above, key=lambda q: q.box[0, 2])
        u = float(np.clip(sum(reading.reach(p, f.down)) / 2, nosings[0][0], nosings[-1][0]))
        pitch = float(np.interp(u, [n[0] for n in nosings], [n[1] for n in nosings]))
        view.add(d.Dimension((u, pitch), (u, float(p.box[0, 2])), (u, pitch), 90.0, suffix=" HEADROOM"))
    else:
        u, v = nosings[0][0] + 0.3 * (nosings[-1][0] - nosings[0][0]), nosings[0][1]
        view.add(d.Text((work.box[2] + 1.2 * scale, work.box[3] - 0.05 * scale), f"HEADROOM: NOTHING OVER THE STAIR{f', AT LEAST {stage.text(need.value)} ASKED' if need else ''}",
                        style.NOTE, "right", "top", layer="A-ANNO-NOTE"))
    points = [(_top_edge(stage, f), f.levels[0]), *nosings]
    view.add(d.Line(points[0], points[-1], layer="C-TOPO-HDLN"))


def silhouette(part, view: View) -> Polygon:
    """The convex outline of a piece in the view: exact for rails and other convex pieces."""
    return shapely.MultiPoint(view.flat(part.vertices)).convex_hull


def top_at(part, view: View, u: float) -> float | None:
    """Height of the top of a piece over the view's u, from its corners."""
    shape = silhouette(part, view)
    x0, y0, x1, y1 = shape.bounds
    if not x0 < u < x1:
        return None
    hit = shape.intersection(shapely.LineString([(u, y0 - 1), (u, y1 + 1)]))
    return None if hit.is_empty else float(hit.bounds[3])


def throat(part) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """The wood left behind the deepest notch of a cut stringer, off its outline: from the inner corner to the foot of the
    perpendicular on the straight lower edge (local coordinates). None for a stringer without notches."""
    ring = np.asarray(part.shape.outline, float)
    if len(ring) < 6:
        return None
    nxt, prev = np.roll(ring, -1, axis=0), np.roll(ring, 1, axis=0)
    a, b = ring - prev, nxt - ring
    turn = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    area = float(np.sum(ring[:, 0] * nxt[:, 1] - nxt[:, 0] * ring[:, 1]))
    inner = ring[turn * np.sign(area) < -1e-6]
    if not len(inner):
        return None
    k = int(np.argmax(np.hypot(*b.T)))
    p, u = ring[k], b[k] / np.hypot(*b[k])
    best = None
    for c in inner:
        t = float((c - p) @ u)
        foot = p + u * t
        if not 0 <= t <= np.hypot(*b[k]):
            continue
        far = math.dist(c, foot)
        if far > 0.5 and (best is None or far < best[0]):
            best = (far, tuple(map(float, c)), tuple(map(float, foot)))
    return None if best is None else best[1:]


def seen_stringer(stage: Stage, plane: Plane, f: reading.Flight):
    """The stringer next behind the section plane."""
    toward = np.asarray(plane.view.toward)
    pool = [(float((p.vertices @ toward).max()), p) for p in stage.of("stringer") if p.stair == f.stair and reading.overlap(reading.reach(p, f.down), (f.nosings()[0][0], f.nosings()[-1][0])) > 0
            and reading.overlap(reading.reach(p, f.across), f.band) > 0]
    behind = [x for x in pool if x[0] < plane.view.plane + 1e-6]
    return max(behind, key=lambda x: x[0])[1] if behind else (pool[0][1] if pool else None)


def _throat(stage: Stage, view: d.View, plane: Plane, f: reading.Flight) -> None:
    part = seen_stringer(stage, plane, f)
    found = throat(part) if part is not None else None
    if found:
        a, b = (tuple(map(float, plane.view.flat(part.place.world([p]))[0])) for p in found)
        view.add(d.Dimension(a, b, a, None, suffix=" THROAT"))


def _labels(stage: Stage, view: d.View, work: Linework, f: reading.Flight, plane: Plane) -> None:
    def note(part, tip, text):
        view.add(d.Leader(tip, text, mark=name_of(part)))

    part = seen_stringer(stage, plane, f)
    count = len([p for p in stage.of("stringer") if p.stair == f.stair and reading.overlap(reading.reach(p, f.across), f.band) > 0 and reading.overlap(reading.reach(p, f.down), (f.nosings()[0][0], f.nosings()[-1][0])) > 0])
    if part is not None:
        ring = view_ring(part, plane.view)
        tip = ring.representative_point()
        lower = shapely.Point(f.nosings()[len(f.nosings()) // 2][0], f.nosings()[len(f.nosings()) // 2][1] - 9)
        tip = lower if ring.contains(lower) else tip
        middles = sorted(sum(reading.reach(p, f.across)) / 2 for p in stage.of("stringer") if p.stair == f.stair and reading.overlap(reading.reach(p, f.across), f.band) > 0)
        gaps = [b - a for a, b in zip(middles, middles[1:]) if b - a > 1]
        note(part, (tip.x, tip.y), f"{part.mark} {part.stock.name} STRINGERS, {count} IN ALL,\n{mode_text(gaps, stage.inch)} O.C." if gaps else f"{part.mark} {part.stock.name} STRINGER")
    for role, text in (("tread", lambda p: f"{p.stock.name} TREAD"), ("riser", lambda p: "RISER, CLOSED"), ("pad", lambda p: "CONCRETE PAD ON FIRM GROUND"), ("stair header", lambda p: f"{p.stock.name} HEADER"), ("rim", lambda p: f"{p.stock.name} RIM")):
        boxes = cut_boxes(work, role)
        if boxes:
            (x0, y0, x1, y1), p = boxes[len(boxes) // 2 if role in ("tread", "riser") else 0]
            note(p, ((x0 + x1) / 2, (y0 + y1) / 2), text(p))
    if not stage.of("riser"):
        gap = f.rises[0] - min((t.stock.thickness for t in f.treads), default=0)
        view.add(d.Leader((f.nosings()[0][0] - stage._going(f) / 2, f.nosings()[0][1] + f.rises[0] / 2), f"OPEN RISER, CLEAR OPENING {stage.inch(gap)}"))
    for p in stage.of("handrail"):
        if p.stair == f.stair:
            u = f.nosings()[-1][0] - 2
            top = top_at(p, work.view, u)
            if top:
                note(p, (u, top), "GRASPABLE HANDRAIL, ENDS RETURNED\nTO A POST OR NEWEL")
                break


def view_ring(part, view: View) -> Polygon:
    """A prism lying square to the view as its outline in the view."""
    return Polygon(view.flat(part.place.world(part.shape.polygon.exterior.coords[:-1])))
