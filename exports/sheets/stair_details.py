"""Details of a stair: at the rim, and at its foot."""

from __future__ import annotations

from ...model.measuring.flight_seen import FlightSeen
from ..drafting import drawing as d
from . import in_plan
from .crop import cropped
from .detail import Detail, note
from .ground import ground_items
from .pens import name_of
from .sections import cut_boxes
from .stage import Stage
from .stair_section import pads_of, riser_faces, seen_stringer, stair_work
from .strings import Strings


def stair_top(stage: Stage) -> Detail | None:
    hung = [f for f in stage.flights if f.treads]
    if not hung:  # nothing hangs at one step, which is drawn with its foot
        return None
    f = hung[0]
    plane, work = stair_work(stage, f)
    s, v = f.nosings[0]
    going = f.usual_going
    us = sorted((plane.u(s - going - 12), plane.u(s + going * 0.8)))
    window = (us[0], v - 14, us[1], f.levels[0] + 4)

    def annotate(stage, view, work):
        strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
        ahead = "right" if plane.sign > 0 else "left"
        edge = work.box[2] if plane.sign > 0 else work.box[0]
        nosings = [(plane.u(a), z) for a, z in f.nosings if z > window[1] and window[0] < plane.u(a) < window[2]]
        strings.chain(ahead, [(edge, z) for z in (f.levels[0], *(z for _, z in nosings))])
        faces = [plane.u(x) for x in riser_faces(stage, f) if window[0] < plane.u(x) < window[2]]
        strings.chain(
            "below",
            [(x, work.box[1]) for x in (*faces[:2], plane.u(s))] if faces else [(x, work.box[1]) for x, _ in nosings],
        )
        stringer = [l for l in work.lines if l.part.role == "stringer"]
        if stringer:
            l = max(stringer, key=lambda l: l.length)
            view.add(
                d.Leader(
                    ((l.a[0] + l.b[0]) / 2, (l.a[1] + l.b[1]) / 2),
                    f"{stage.stock(l.part.stock)} STRINGER, SLOPED HANGER OR STRAP TO THE RIM, EACH",
                    mark=name_of(l.part),
                )
            )
        note(view, cut_boxes(work, "rim"), lambda p: f"{stage.stock(p.stock)} RIM", (0.5, 0.5))
        note(view, cut_boxes(work, "stair header"), lambda p: f"{stage.stock(p.stock)} STAIR HEADER", (0.5, 0.5))
        note(view, cut_boxes(work, "step frame"), lambda p: f"{stage.stock(p.stock)} FRAME OF A STEP", (0.5, 0.5))
        note(view, cut_boxes(work, "tread"), lambda p: f"{stage.stock(p.stock)} TREAD")
        note(view, cut_boxes(work, "riser"), "RISER BOARD")

    return Detail("Stair at the rim", cropped(work, window), "section", annotate, None, "", open_sides="lr")


def stair_foot(stage: Stage) -> Detail | None:
    if not stage.flights:
        return None
    f = ([f for f in stage.flights if f.treads] or stage.flights)[-1]
    plane, work = stair_work(stage, f)
    s, v = f.nosings[-1]
    going = f.usual_going
    ground = stage.ground(plane.view, plane.through)
    pads = pads_of(f)
    part = seen_stringer(stage, plane, f)
    low, level = (0.0, (s - going, s)) if part is None else level_cut(part, f)
    bottom = min([f.levels[-1] - 5, *(float(p.box[0, 2]) - 2 for p in pads)])
    us = sorted((plane.u(level[0] - 6), plane.u(s + going + 6)))
    window = (us[0], bottom, us[1], v + 4)

    def before(stage, scale):
        solid = [tuple(sorted(plane.u(x) for x in in_plan.reach(p, f.out))) for p in pads]
        return ground_items(stage, ground, window[0], window[2], scale, solid=solid)

    def annotate(stage, view, work):
        strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
        ahead = "right" if plane.sign > 0 else "left"
        edge = work.box[2] if plane.sign > 0 else work.box[0]
        strings.chain(ahead, [(edge, z) for z in (v, f.levels[-1], *(float(z) for p in pads[:1] for z in p.box[:, 2]))])
        if part is not None:
            a, b = (plane.u(x) for x in level)
            view.add(d.Dimension((a, low), (b, low), (a, work.box[1] - 0.3 * view.scale), 0.0, suffix=" LEVEL CUT"))
            view.add(
                d.Leader(
                    ((a + b) / 2, low + 1.5),
                    f"{stage.stock(part.stock)} STRINGER, LEVEL CUT AT THE FOOT, ANCHORED AGAINST SLIDING",
                    mark=name_of(part),
                )
            )
        note(view, cut_boxes(work, "pad"), "CONCRETE PAD ON FIRM GROUND", (0.8, 0.5))
        note(view, cut_boxes(work, "foot block", "tread blocking"), lambda p: p.role.upper())
        note(
            view, cut_boxes(work, "tread"), lambda p: f"{stage.stock(p.stock)} TREAD", which=-1 if plane.sign > 0 else 0
        )

    return Detail("Stair at the foot", cropped(work, window), "section", annotate, before, "", open_sides="lr")


def level_cut(part, f: FlightSeen) -> tuple[float, tuple[float, float]]:
    """Height and stations of the level cut at a stringer's foot, off its corners."""
    low = float(part.vertices[:, 2].min())
    at = part.vertices[part.vertices[:, 2] < low + 0.02][:, :2] @ f.out
    return low, (float(at.min()), float(at.max()))
