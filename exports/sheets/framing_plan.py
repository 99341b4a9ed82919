"""S-102: the frame from above, surface taken off; beams, posts and footings under it dashed; spans from the pieces."""

from __future__ import annotations

import math

import numpy as np
import shapely

from ...model.measuring.flight_seen import MITRED
from ...model.order.hangers import hanger_ends, hung
from ...model.plan.roof_snow import roof_snow
from ...model.plan.spots import UNDER_JOINTS
from ...model.solid.roles import in_group, named
from ...shared.said import length, number, said
from ..drafting import drawing as d
from ..drafting import style
from ..drafting.masking import masked
from ..drafting.symbols import BUBBLE, mark_boxes, section_mark
from ..drafting.wording import worded
from ..linework.eye import Eye
from ..linework.views import project
from . import in_plan
from .askew import askew, turned_note
from .crop import cropped
from .datum import axes, datum_items
from .framing_strings import frame_strings, own_boxes
from .hardware import framing_notes, ledger_fasteners
from .house import WALL, at_wall_items, house_in_plan, house_named
from .pens import items, name_of
from .sections import frame_planes, spaced
from .set_out_tables import beam_table, joist_table, rooms, tables_beside
from .stage import AT_JOIST_LEVEL, Stage, grown, joined_box
from .strings import too_near

STRINGERS_SHOWN = 15.0  # inches past the frame: the rest is in the stair section
UNDER_FRAME = named("under the frame")


def build(stage: Stage) -> d.Sheet:
    sheet = stage.sheet("S-102", "FRAMING PLAN")
    frame = joined_box([p.footprint.bounds for p in stage.deck_of(*AT_JOIST_LEVEL)] or [(0.0, 0.0, 1.0, 1.0)])
    above = stage.of(*named("framing plan"))
    work = project(above, Eye.above(), under=stage.of(*UNDER_FRAME))
    if not [
        p for p in stage.of("joist") if p.stair is not None
    ]:  # a stair's landing is framing too; stringers alone are not
        shown = (*stage.deck_of("beam", "footing"), *stage.of("step frame", *MITRED))
        whole = [p.footprint.bounds for p in shown]
        work = cropped(
            work,
            grown(joined_box([frame, *whole]), STRINGERS_SHOWN),
        )
    lines = [*house_in_plan(stage), *at_wall_items(stage, named=False), *items(work, "plan"), *hangers(stage)]
    lines += datum_items(stage)
    turned, drawn = askew(stage), own_boxes(stage, work.box, frame, work.box, [])[1]
    plan_room, note_room = rooms(stage, sheet, drawn, stage.of_plans)

    def draw(scale: float) -> d.View:
        view = d.View("framing plan", scale, list(lines))
        _centres(stage, view)
        clear, marks = _section_lines(stage, view, work.box)
        frame_strings(stage, view, *own_boxes(stage, work.box, frame, clear, marks))
        _spans(stage, view)
        _labels(stage, view, frame)
        _lateral_ties(stage, view)
        _area_loads(stage, view)
        _roof_snow(stage, view)
        view.items = masked(turned.drawn(view.items), scale)
        return view

    view = stage.fitted(draw, drawn, plan_room, stage.of_plans, (2.2, 0.5), plan=True)
    axes(stage, sheet, plan_room)
    stage.place(
        sheet,
        view,
        plan_room,
        "Framing plan",
        "1",
        "TOP VIEW WITH THE SURFACE TAKEN OFF. DIMENSIONS TO FACES OF FRAMING AND CENTRES OF POSTS.",
    )
    rows = ["X AND Y ARE TOLD FROM O AS ON THE FOOTING PLAN.", *framing_notes(stage), *turned_note(stage)]
    if any(too_near(line.stations, view.scale) for line in stage.beams):
        rows.append("POSTS TOO NEAR ONE ANOTHER ON PAPER TO DIMENSION HERE: X AND Y OF THEIR FOOTINGS, SEE S-101.")
    if plans := [sheet for key, (_, sheet) in stage.refs.items() if key.startswith("stair framing")]:
        rows.append(f"LANDINGS OF STAIRS: GUARD POSTS AND POSTS OF EACH SET OUT, SEE {', '.join(plans)}.")
    tables_beside(stage, sheet, note_room, (beam_table, joist_table), "FRAMING NOTES", rows)
    return sheet


def _centres(stage: Stage, view: d.View) -> None:
    for line in stage.beams:
        a, b = line.along
        over = 0.15 * view.scale
        view.add(d.Line(line.point(a - over), line.point(b + over), layer="S-BEAM-CNTR", mark=name_of(line.plies[0])))


def hangers(stage: Stage) -> list[d.AnyItem]:
    """A short heavy U at every end that hangs on a ledger, header or flush beam, the hanger's seat: as many as are
    bought, two where one hanger holds two joists. Found once."""
    return stage.once("hangers", lambda: _hangers(stage))


def _hangers(stage: Stage) -> list[d.AnyItem]:
    out: list[d.AnyItem] = []
    hanging = hung(stage.measured_rows, stage.deck.contacts)
    for c in hanger_ends(stage.measured_rows, hanging).values():
        if (c.b.role, c.a.role) != ("ledger", "joist") and c.a.stair is None:
            axis = in_plan.plan_axis(c.a)
            band, end = in_plan.reach(c.a, in_plan.square(axis)), float(np.dot(axis, c.point[:2]))
            inward = 1.0 if end < sum(in_plan.reach(c.a, axis)) / 2 else -1.0
            out.append(_seat(c.a, axis, end, inward, band))
    carriers = stage.of("ledger", "stair header")
    for p in stage.of("joist", "border blocking"):
        axis = in_plan.plan_axis(p)
        n, band = in_plan.square(axis), in_plan.reach(p, in_plan.square(axis))
        here = in_plan.reach(p, axis)
        for c in carriers:
            if (
                in_plan.overlap(in_plan.reach(c, n), band) <= 0.1
                or in_plan.overlap((c.box[0, 2], c.box[1, 2]), (p.box[0, 2], p.box[1, 2])) <= 1
            ):
                continue
            there = in_plan.reach(c, axis)
            for end, inward, face in ((here[0], 1.0, there[1]), (here[1], -1.0, there[0])):
                if abs(end - face) < in_plan.FITTED:
                    out.append(_seat(p, axis, end, inward, band))
    return out


def _seat(part, axis: np.ndarray, end: float, inward: float, band: tuple[float, float]) -> d.Polyline:
    """The U round the end of a piece: at station `end` along it, open `inward`, `band` its own width."""
    grow, long, n = 0.15, 2.0, in_plan.square(axis)
    rows = [
        (end + inward * long, band[0] - grow),
        (end, band[0] - grow),
        (end, band[1] + grow),
        (end + inward * long, band[1] + grow),
    ]
    flat = [tuple(map(float, axis * s + n * t)) for s, t in rows]
    return d.Polyline(flat, layer="S-JOIS-HNGR", mark=name_of(part))


def _spans(stage: Stage, view: d.View) -> None:
    """One span arrow a group, over a joist of its middle, with size, spacing and clear span over it."""
    said: set[str] = set()
    turned = askew(stage)
    several = [g for g in stage.groups if len(g.joists) > 2 and g.spans]
    lone = [g for g in stage.groups if g.spans and g.spacing]  # on rims askew every joist has its own span: the longest
    for group in several or sorted(lone, key=lambda g: -max(b - a for a, b in g.spans))[:1]:
        joist = group.typical
        n = in_plan.square(group.axis)
        # between two joists, so that the arrow lies in the clear
        mid = sum(in_plan.reach(joist, n)) / 2 + group.spacing / 2
        start, end = max(group.spans, key=lambda s: s[1] - s[0])
        a, b = group.axis * start + n * mid, group.axis * end + n * mid
        size, clear = (
            f"{stage.stock(joist.stock)} JOISTS @ {stage.inch(group.spacing)} O.C.",
            f"CLEAR SPAN {stage.text(end - start)}",
        )
        if size + clear in said:
            continue
        said.add(size + clear)
        view.add(d.Arrow([tuple(map(float, a)), tuple(map(float, b))], "both"))
        half = (group.spacing / 2 - joist.stock.thickness / 2) / view.scale
        middle, angle = (a + b) / 2, 90.0 if abs(turned.into(group.axis)[1]) > 0.7071 else 0.0
        clear_of = _between_blocks(
            stage, group.axis, n * mid, (start, end), style.text_width(size, style.NOTE) * view.scale
        )
        if half > 0.15 and clear_of is not None:
            middle = clear_of
            off = (0.03 + style.NOTE / 2) * view.scale
            side = np.array(turned.back((-1.0, 0.0) if angle else (0.0, 1.0)))
            for text, s in ((size, 1), (clear, -1)):
                view.add(
                    d.Text(
                        tuple(map(float, middle + side * off * s)),
                        text,
                        style.NOTE,
                        "centre",
                        "middle",
                        angle,
                        layer="A-ANNO-NOTE",
                        mark=joist.mark,
                    )
                )
        else:
            at = [tuple(map(float, a + (b - a) * t)) for t in (0.5, 0.2, 0.8, 0.35, 0.65, 0.08, 0.92)]
            view.add(d.Leader(at[0], f"{size}\n{clear}", head="dot", tips=at[1:], mark=joist.mark))


def _between_blocks(
    stage: Stage, axis: np.ndarray, across: np.ndarray, span: tuple[float, float], wide: float
) -> np.ndarray | None:
    """The place along a span where words of a width stand clear of blocking, nearest its middle; None where there is
    none."""
    line = shapely.LineString([axis * span[0] + across, axis * span[1] + across])
    met = [in_plan.reach(p, axis) for p in stage.of(*in_group("blocking")) if p.footprint.intersects(line)]
    tries = [span[0] + (span[1] - span[0]) * t for t in (0.5, 0.4, 0.6, 0.3, 0.7, 0.25, 0.75)]
    free = [
        s
        for s in tries
        if span[0] < s - wide / 2 - 3
        and s + wide / 2 + 3 < span[1]
        and all(in_plan.overlap(m, (s - wide / 2 - 1, s + wide / 2 + 1)) <= 0 for m in met)
    ]
    return axis * free[0] + across if free else None


def _lateral_ties(stage: Stage, view: d.View) -> None:
    """LLC at the joists that hold-downs tie back to the house's floor."""
    for joist in stage.deck.tied_back:
        ledger = next(q for q in stage.of("ledger") if q.id in joist.carried_by)
        axis = in_plan.plan_axis(ledger)
        n = in_plan.square(axis)
        tip = axis * (sum(in_plan.reach(joist, axis)) / 2) + n * (sum(in_plan.reach(ledger, n)) / 2)
        view.add(d.Tag("LLC", None, tuple(map(float, tip)), "box", mark=name_of(joist)))


def _area_loads(stage: Stage, view: d.View) -> None:
    """What stands on the surface above: its outline, and its name with what it weighs."""
    for load in stage.deck.parameters.area_load:
        ring = shapely.Polygon(load.polygon)
        view.add(d.Polyline([(float(x), float(y)) for x, y in load.polygon], layer="A-FLOR-ABOV", closed=True))
        corners = [(float(x), float(y)) for x, y in load.polygon]
        text = f"{load.name.upper()} ABOVE, {load.psf:g} PSF: {load.psf * ring.area / 144:,.0f} LB"
        view.add(d.Leader(corners[0], text, tips=corners[1:]))


def _roof_snow(stage: Stage, view: d.View) -> None:
    """How far snow from a roof above lies, as it drifts and as it slides, and how much of it."""
    snow = roof_snow(stage.deck.parameters, stage.deck.layout.outline)
    if snow is None:
        return
    told = []
    if (drifted := snow.drifted) is not None:
        out = drifted.width * 12
        text = said(
            "snow drift from the roof above: {peak} psf at the eave, none {out} off, {lb} lb on the deck",
            peak=number(drifted.peak, 0),
            out=length(math.ceil(out)),
            lb=number(snow.pounds("drift"), 0, grouped=True),
        )
        told.append((out, text))
    if (slid := snow.slid) is not None:
        out = slid.reach * 12
        text = said(
            "or snow that slides: {psf} psf as far as {out} off, {lb} lb on the deck",
            psf=number(slid.psf, 0),
            out=length(out),
            lb=number(snow.pounds("slide"), 0, grouped=True),
        )
        told.append((out, text))
    for out, text in told:
        lies = snow.within(out)
        for ring in (g.exterior for g in getattr(lies, "geoms", [lies])):
            corners = [(float(x), float(y)) for x, y in ring.coords[:-1]]
            view.add(d.Polyline(corners, layer="A-FLOR-ABOV", closed=True))
            far = sorted(corners, key=lambda q: -snow.eaves.distance(shapely.Point(q)))
            view.add(d.Leader(far[0], worded(text, stage.metric).upper(), tips=far[1:]))


def _labels(stage: Stage, view: d.View, frame: d.Box) -> None:
    """One note a kind of piece, pointing at the one nearest the right or the top, where no strings of dimensions
    run."""
    used: list[np.ndarray] = []
    apart = 0.4 * view.scale

    turned, (_, _, right, top) = askew(stage), own_boxes(stage, frame, frame, frame, [])[0]

    def tip_of(part, t: float | None) -> np.ndarray:
        return stage.once(("tip of a label", part.id, t), lambda: _tip(part, t, frame))

    def note(role, text, t=None, pool=None):
        found = pool if pool is not None else stage.deck_of(role)
        if not found:
            return

        def dear(some: list) -> list:
            """The pieces, the dearest last."""
            x = np.array([tip_of(p, t) for p in some])
            crowded = np.zeros(len(some))
            for tip in used:
                crowded += np.maximum(0.0, apart - np.hypot(*(x - tip).T))
            u, v = turned.axes @ x.T
            price = np.minimum(right - u, top - v + 30) + 2 * crowded
            ranked = sorted((c, p.id, k) for k, (c, p) in enumerate(zip(np.round(price, 3).tolist(), some)))
            return [some[k] for _, _, k in ranked]

        part = dear(found)[0]
        tip = tip_of(part, t)
        used.append(tip)
        others = [tip_of(p, t) for p in dear([p for p in found if p.mark == part.mark]) if p is not part]
        if t is not None:
            others += [tip_of(part, k) for k in (0.2, 0.4, 0.8)]
        view.add(d.Leader((float(tip[0]), float(tip[1])), text(part), tips=spaced(others), mark=part.mark))

    said = set()
    for line in stage.beams:
        text = f"{line.plies[0].mark} {line.text} BEAM"
        if text not in said:
            said.add(text)
            note("beam", lambda p, text=text: text, 0.12, [max(line.plies, key=lambda p: p.footprint.area)])
    for _ledger in stage.of("ledger")[:1]:
        note("ledger", lambda p: f"{p.mark} {stage.stock(p.stock)} LEDGER, {ledger_fasteners(stage).short}", 0.9)

    def sized(words):
        return lambda p: f"{p.mark} {stage.stock(p.stock)} {words}".strip()

    _under_joints(stage, note)
    note("rim", sized("RIM"), 0.62)
    note("blocking", sized("BLOCKING"))
    note("border blocking", sized("BORDER BLOCKING"))
    note("post blocking", sized("GUARD POST BLOCKING, SEE DETAIL"))
    note("stair header", sized("STAIR HEADER"), pool=stage.of("stair header"))
    _stairs_named(stage, note, sized)
    note("guard post", lambda p: f"{p.mark} GUARD POST, TYP.")
    note("post", lambda p: f"{p.mark} {stage.stock(p.stock)} POST UNDER, TYP.")
    _footing_named(stage, view)
    for e in stage.house_edges[:1]:
        view.add(house_named(e))


def _footing_named(stage: Stage, view: d.View) -> None:
    for footing in sorted(stage.deck_of("footing"), key=in_plan.centre)[-1:]:
        x, y = in_plan.centre(footing)
        r = footing.shape.circle or 0.5 * float(footing.box[1, 0] - footing.box[0, 0])
        k = 0.7071 if footing.shape.circle else 1.0
        view.add(d.Leader((x + r * k, y - r * k), "FOOTING UNDER, SEE FOOTING PLAN", mark=name_of(footing)))


def _stairs_named(stage: Stage, note, sized) -> None:
    """What carries the treads of stairs."""
    for role, words in (("stringer", "STRINGERS"), ("step frame", "FRAME OF A STEP")):
        note(role, sized(f"{words}, SEE STAIR SECTION"), None, stage.of(role))
    see = ", SEE " + stage.ref("hip section 0") if "hip section 0" in stage.refs else ""
    for role, words in (("hip stringer", f"HIP STRINGER, 2 PLIES{see}"), ("jack stringer", "JACK STRINGERS")):
        note(role, sized(words), 0.7, stage.of(role))
    note("hip block", sized("BLOCK IN THE CORNER"), None, stage.of("hip block"))


def _tip(part, t: float | None, frame: d.Box) -> np.ndarray:
    """Where a label's leader ends on a piece: at a share `t` of its length, or anywhere on it."""
    if part.role == "stringer":  # near the rim: the far end may be cropped away
        ends = [np.asarray(_along(part, k)) for k in (0.0, 1.0)]
        middle = np.array([(frame[0] + frame[2]) / 2, (frame[1] + frame[3]) / 2])
        near, far = sorted(ends, key=lambda e: float(np.hypot(*(e - middle))))
        return near + (far - near) / np.hypot(*(far - near)) * 8
    return np.asarray(_along(part, t) if t is not None else part.footprint.representative_point().coords[0], float)


def _under_joints(stage: Stage, note) -> None:
    """What lies beside joists under butt joints of boards, and under ends that no block carries."""
    added = stage.deck_of("joist", "joint cleat")
    for role, words, under in (
        ("joist", "DOUBLED JOIST UNDER BUTT JOINTS", True),
        ("joint cleat", "CLEAT UNDER BUTT JOINTS", True),
        ("joint cleat", "CLEAT UNDER BOARD ENDS", False),
    ):
        pool = [p for p in added if p.role == role and (p.where == UNDER_JOINTS) == under]
        note(role, lambda p, words=words: f"{p.mark} {stage.stock(p.stock)} {words}", 0.7, pool)


def _along(part, t: float) -> d.Point:
    axis = in_plan.plan_axis(part)
    a, b = in_plan.reach(part, axis)
    n = in_plan.square(axis)
    p = axis * (a + (b - a) * t) + n * (sum(in_plan.reach(part, n)) / 2)
    return float(p[0]), float(p[1])


def _section_lines(stage: Stage, view: d.View, box: d.Box) -> tuple[d.Box, list[d.Box]]:
    """Draw the lines and marks of the frame's sections, a mark less where it would stand on a stair that its line
    passes closely by; returns the box that dimension strings must stay outside of, and the boxes of the marks."""
    shown = shapely.box(*box)
    carrying = stage.of("stringer", "step frame", *MITRED)
    landed = [p for p in stage.of("joist", "rim") if p.stair is not None]
    flights = [[p for p in some if p.stair == s] for some in (carrying, landed) for s in stage.seen.stairs]
    beside = [
        *(shapely.union_all([p.footprint.intersection(shown) for p in some]).convex_hull for some in flights),
        *(p.footprint.intersection(shown) for p in stage.of("footing")),
    ]
    blocks: list[d.Box] = []
    for n, plane in enumerate(frame_planes(stage)):
        number, sheet = stage.refs[f"frame section {n}"]
        p, along = np.asarray(plane.through), np.array([-plane.direction[1], plane.direction[0]])
        far = 2 * (box[2] - box[0] + box[3] - box[1])
        line = shapely.LineString([p - along * far, p + along * far])
        built = [stage.deck.layout.outline.polygon, *(g for g in beside if line.intersects(g))]
        met = [
            (np.asarray(q) - p) @ along
            for shape in built
            for g in shapely.get_parts(line.intersection(shape))
            for q in g.coords
        ]
        over = 0.12 * view.scale
        behind = (WALL if stage.house_edges else 0.0) + over
        low, high = float(min(met)), float(max(met))
        # the wall is drawn behind a house edge: the mark stands clear of it
        ends = [
            p + along * (s + way * (behind if _at_house(stage, p + along * s) else over))
            for s, way in ((low, -1), (high, 1))
        ]
        for _ in range(3):  # marks side by side stand one beyond the other
            drawn = section_mark(
                *(tuple(map(float, e)) for e in ends), number, sheet, askew(stage).word(plane.direction), view.scale
            )
            for k, mark in enumerate(mark_boxes(drawn, view.scale)):
                if any(
                    shapely.box(*mark).buffer(-0.1 * view.scale).intersects(shapely.box(*b).buffer(-0.1 * view.scale))
                    for b in blocks
                ):
                    ends[k] = ends[k] + along * ((-1, 1)[k] * 0.55 * view.scale)
        close = shapely.union_all([g for g in beside if not line.intersects(g)])
        clear = [m for m in drawn[1:] if close.distance(shapely.Point(m.at)) > BUBBLE * view.scale]
        drawn[1:] = clear or drawn[1:]
        view.add(*drawn)
        blocks += mark_boxes(drawn, view.scale)
    return joined_box([box, *blocks]), blocks


def _at_house(stage: Stage, p: np.ndarray) -> bool:
    return any(shapely.LineString([e.start, e.end]).distance(shapely.Point(p)) < 1 for e in stage.house_edges)
