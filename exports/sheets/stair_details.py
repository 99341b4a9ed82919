"""Details of a stair: at the rim, and at its foot."""

from __future__ import annotations

from ...model.measuring.flight_seen import FlightSeen
from ..drafting import drawing as d
from . import in_plan
from .crop import cropped
from .detail import Detail, names, note
from .ground import ground_items
from .hardware_shapes import bolt, box, nails, ring
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

    def before(stage, scale):
        part = seen_stringer(stage, plane, f)
        return [] if part is None else _sloped_hanger(plane.view.flat(part.vertices), plane.u(s - 1) - plane.u(s))

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
            at = ((l.a[0] + l.b[0]) / 2, (l.a[1] + l.b[1]) / 2)
            view.add(d.Leader(at, f"{stage.stock(l.part.stock)} STRINGER", mark=name_of(l.part)))
        view.add(names("sloped hanger", "SLOPED HANGER OR STRAP TO THE RIM OR HEADER, EACH STRINGER", (plane.u(s), v)))
        note(view, cut_boxes(work, "rim"), lambda p: f"{stage.stock(p.stock)} RIM", (0.5, 0.5))
        note(view, cut_boxes(work, "stair header"), lambda p: f"{stage.stock(p.stock)} STAIR HEADER", (0.5, 0.5))
        note(view, cut_boxes(work, "step frame"), lambda p: f"{stage.stock(p.stock)} FRAME OF A STEP", (0.5, 0.5))
        note(view, cut_boxes(work, "tread"), lambda p: f"{stage.stock(p.stock)} TREAD")
        note(view, cut_boxes(work, "riser"), "RISER BOARD")

    return Detail("Stair at the rim", cropped(work, window), "section", annotate, before, "", open_sides="lr")


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
        out = ground_items(stage, ground, window[0], window[2], scale, solid=solid)
        return out + (_foot_angle(plane.u(level[0]), plane.u(level[1]), low) if pads and part is not None else [])

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
                ),
                names("foot angle", "ANGLE AND ANCHOR BOLT INTO THE PAD, EACH STRINGER", (a, low + 0.5)),
            )
        note(view, cut_boxes(work, "pad"), "CONCRETE PAD ON FIRM GROUND", (0.8, 0.5))
        note(view, cut_boxes(work, "foot block", "tread blocking"), lambda p: p.role.upper())
        note(
            view, cut_boxes(work, "tread"), lambda p: f"{stage.stock(p.stock)} TREAD", which=-1 if plane.sign > 0 else 0
        )

    return Detail("Stair at the foot", cropped(work, window), "section", annotate, before, "", open_sides="lr")


def _sloped_hanger(flat, way: float) -> list[d.AnyItem]:
    """A sloped hanger round the head of a stringer, whose corners in the view are given: on the face that its head
    meets, `way` (+1 right) where the deck lies."""
    side = 1.0 if way > 0 else -1.0
    head = max(flat[:, 0] * side) * side
    at = flat[abs(flat[:, 0] - head) < 0.05]
    low, high = float(at[:, 1].min()), float(at[:, 1].max())
    under = flat[(abs(flat[:, 0] - head) > 1.0) & (flat[:, 1] < low)]
    if high - low < 1.0 or not len(under):
        return []
    fall = min(((low - z) / abs(u - head) for u, z in under.tolist()))  # the underside's slope
    tall = 0.75 * (high - low)
    ends = [(head, low), (head - side * 3.0, low - 3.0 * fall), (head - side * 3.0, low - 3.0 * fall + 1.2)]
    ends += [(head - side * 1.0, low + 1.4), (head - side * 1.0, low + tall), (head, low + tall)]
    holes = [(head - side * 0.5, low + tall * t) for t in (0.4, 0.65, 0.9)]
    return [ring(ends, "sloped hanger"), *nails(holes, "sloped hanger")]


def _foot_angle(heel: float, toe: float, low: float) -> list[d.AnyItem]:
    """An angle on the side of a stringer at its level cut, with the anchor under it into the pad."""
    middle = (heel + toe) / 2
    return [
        box(middle - 1.5, low, middle + 1.5, low + 2.2, "foot angle"),
        *bolt((middle, low + 0.2), (middle, low - 3.0), "foot angle", False),
    ]


def level_cut(part, f: FlightSeen) -> tuple[float, tuple[float, float]]:
    """Height and stations of the level cut at a stringer's foot, off its corners."""
    low = float(part.vertices[:, 2].min())
    at = part.vertices[part.vertices[:, 2] < low + 0.02][:, :2] @ f.out
    return low, (float(at.min()), float(at.max()))
