"""S-301 and on: a section across every way the frame spans, along the joists and through a footing, cut from the
solids."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...model.solid.part import Part
from ...model.solid.roles import in_group, named
from ..drafting import drawing as d
from ..linework.eye import Eye
from ..linework.views import Linework, project
from . import in_plan
from .ground import ground_items, level_mark
from .hardware import ledger_fasteners
from .house import house_items
from .pens import items, name_of
from .stage import LARGEST_SECTION, Stage, joined_box
from .strings import Strings

CUT_FROM = named("frame section")


@dataclass(frozen=True)
class Plane:
    """An upright section plane: a plan point it passes through, and the plan direction it looks along."""

    through: tuple[float, float]
    direction: tuple[float, float]

    @property
    def view(self) -> Eye:
        return Eye.looking(self.direction, self.through)


@dataclass(frozen=True)
class FramePlane(Plane):
    """A plane along the joists of one group."""

    group: in_plan.JoistGroup


MOST_SECTIONS = 3  # sections of the frame drawn: the largest groups of joists
_SAME_SPAN = 12.0  # inches that spans may differ by, and one section does for both; our own
_OFF_JOINT = 0.25  # inches off a joint of plies or boards that a section is cut
FEW_JOISTS = 3  # joists: fewer make no section of their own


def frame_planes(stage: Stage) -> list[FramePlane]:
    """A plane for every group of joists that spans otherwise than those before it, the largest group first; empty where
    the frame has no post."""
    return stage.once("frame planes", lambda: _frame_planes(stage))


def _frame_planes(stage: Stage) -> list[FramePlane]:
    out: list[FramePlane] = []
    for group in _governing_first(stage):
        alike = any(_alike(group, plane.group) for plane in out)
        if alike or (out and len(group.joists) < FEW_JOISTS) or len(out) == MOST_SECTIONS:
            continue
        plane = _plane_of(stage, group)
        if plane is not None:
            out.append(plane)
    return out


def _longest(group: in_plan.JoistGroup) -> float:
    return max((b - a for a, b in group.spans), default=0.0)


def _governing_first(stage: Stage) -> list[in_plan.JoistGroup]:
    """The groups of joists, the largest first, but before it that of the longest span where its own are shorter."""
    groups = list(stage.groups)
    longest = max(groups, key=_longest, default=None)
    if longest is not None and _longest(longest) > _longest(groups[0]) + _SAME_SPAN:
        groups.remove(longest)
        groups.insert(0, longest)
    return groups


def _alike(one: in_plan.JoistGroup, other: in_plan.JoistGroup) -> bool:
    """Whether two groups run alike and span alike, or as in a mirror: one section does for both."""
    if abs(float(one.axis @ other.axis)) < in_plan.PARALLEL or len(one.spans) != len(other.spans):
        return False
    mine, its = ([b - a for a, b in g.spans] for g in (one, other))
    return any(all(abs(p - q) < _SAME_SPAN for p, q in zip(mine, way)) for way in (its, its[::-1]))


def _plane_of(stage: Stage, group: in_plan.JoistGroup) -> FramePlane | None:
    """Along the joists, through a post under them as near their middle as may be, but beside every joist, so that none
    is cut along its grain, and where no ply of a beam and no board meets the next, so that all are cut whole."""
    n = in_plan.square(group.axis)
    band = [s for p in group.joists for s in in_plan.reach(p, n)]
    run = in_plan.reach(group.typical, group.axis)
    posts = [p for b in stage.beams if abs(float(b.axis @ group.axis)) < 0.9 for p in b.posts] or stage.of("footing")
    pool = [
        p
        for p in posts
        if min(band) < float(np.dot(in_plan.centre(p), n)) < max(band)
        and run[0] - 12 < float(np.dot(in_plan.centre(p), group.axis)) < run[1] + 12
    ] or (posts if group is _governing_first(stage)[0] else [])
    if not pool:
        return None
    joists = [
        in_plan.reach(p, n)
        for p in stage.of("joist", "border blocking", "rim")
        if abs(float(in_plan.plan_axis(p) @ group.axis)) > 0.9
    ]
    middle = np.mean([sum(in_plan.reach(p, n)) / 2 for p in group.joists])
    pool.sort(key=lambda p: abs(float(np.dot(in_plan.centre(p), n)) - middle))
    post, station = _clear_station(pool, n, joists, _joints(stage, n, run, group.axis))
    p = n * station + group.axis * float(np.dot(in_plan.centre(post), group.axis))
    look = n
    for e in stage.house_edges[:1]:  # the house comes to the left of the sheet
        if float(np.dot(Eye.looking(look).right[:2], e.inward)) < 0:
            look = -n
    return FramePlane((float(p[0]), float(p[1])), (float(look[0]), float(look[1])), group)


def _joints(stage: Stage, n: np.ndarray, run: tuple[float, float], axis: np.ndarray) -> list[float]:
    """Stations along `n` at which plies of beams, and boards, that lie along it end within the stretch of a section."""
    lying = [p for p in stage.deck_of("beam", "board") if abs(float(in_plan.plan_axis(p) @ n)) > 0.999]
    return [s for p in lying if in_plan.overlap(in_plan.reach(p, axis), run) > 0 for s in in_plan.reach(p, n)]


def _clear_station(
    posts: list[Part], n: np.ndarray, joists: list[tuple[float, float]], joints: list[float]
) -> tuple[Part, float]:
    """A post, the first that will do, and the station of a plane through it: beside all joists and off all joints; else
    through the first post beside the joists alone, else through its middle."""
    beside: list[tuple[Part, float]] = []
    for post in posts:
        low, high = in_plan.reach(post, n)
        at = (low + high) / 2
        for t in (at + s * k for k in np.linspace(0, (high - low) / 2 - 0.3, 12) for s in (1, -1)):
            if all(not a - 0.05 < t < b + 0.05 for a, b in joists):
                if all(abs(t - j) > _OFF_JOINT for j in joints):
                    return post, float(t)
                beside.append((post, float(t)))
    return beside[0] if beside else (posts[0], sum(in_plan.reach(posts[0], n)) / 2)


def frame_work(stage: Stage) -> tuple[Plane, Linework] | None:
    """The first section plane across the frame and what it shows; None where there is no such plane."""
    for plane in frame_planes(stage):
        return plane, plane_work(stage, plane)
    return None


def plane_work(stage: Stage, plane: FramePlane) -> Linework:
    """What a section across the frame shows, made once."""

    def make() -> Linework:
        reach = max((g.spacing for g in stage.groups), default=16) * 2 + 24
        return project([p for p in stage.of(*CUT_FROM) if p.stair is None], plane.view, beyond=reach)

    return stage.once(("frame work", plane.through, plane.direction), make)


def build(stage: Stage) -> list[d.Sheet]:
    planes = frame_planes(stage)
    return [_sheet(stage, n, plane, len(planes)) for n, plane in enumerate(planes)]


def _sheet(stage: Stage, n: int, plane: FramePlane, of: int) -> d.Sheet:
    work = plane_work(stage, plane)
    number, sheet_number = stage.refs[f"frame section {n}"]
    name = f"section through frame {n + 1}" if n else "section through frame"
    sheet = stage.sheet(sheet_number, f"SECTION {number} THROUGH THE FRAME" if of > 1 else "SECTION THROUGH THE FRAME")
    ground = stage.ground(plane.view, plane.through)
    u0, _, u1, v1 = work.box
    lines = items(work, "section", ground=ground)
    boxes = [box for box, *_ in cut_boxes(work, "footing", "pad")]
    solid = [(b[0], b[2]) for b in boxes if b[1] < ground((b[0] + b[2]) / 2) < b[3]]

    def draw(scale: float) -> d.View:
        view = d.View(
            name,
            scale,
            [
                *ground_items(stage, ground, u0 - 18, u1 + 18, scale, frost=True, solid=solid),
                *house_items(stage, plane.view, plane.through, scale, v1),
                *lines,
            ],
        )
        _levels(stage, view, work, ground)
        _lengths(stage, view, work, plane)
        _heights(stage, view, work, plane, ground)
        _labels(stage, view, work, plane)
        return view

    view = stage.fitted(draw, work.box, sheet.room, LARGEST_SECTION, (1.0, 0.3))
    stage.place(
        sheet,
        view,
        sheet.room,
        f"Section {number} through the frame" if of > 1 else "Section through the frame",
        number,
        "CUT BESIDE A JOIST AND THROUGH A FOOTING. HEAVY LINES ARE CUT, LIGHT LINES LIE BEYOND.",
    )
    return sheet


def cut_boxes(work: Linework, *roles: str) -> list[tuple]:
    """(box in the view, part) of every cut piece of the roles, from left to right."""
    return sorted(((c.polygon.bounds, c.part) for c in work.cuts if c.part.role in roles), key=lambda x: x[0])


def _levels(stage: Stage, view: d.View, work: Linework, ground) -> None:
    u = work.box[2] + 0.9 * view.scale
    rows = [("T.O. SURFACE", stage.surface_top), ("T.O. FRAME", stage.frame_top)]
    feet = cut_boxes(work, "footing")
    if feet:
        box = feet[-1][0]
        rows += [("GRADE AT FOOTING", ground((box[0] + box[2]) / 2)), ("B.O. FOOTING", box[1])]
        others = [b[1] for b, _ in feet if abs(b[1] - box[1]) > 0.5]
        rows += (
            [("B.O. FOOTING BY THE HOUSE" if stage.house_edges else "B.O. LOWEST FOOTING", min(others))]
            if others
            else []
        )
    if stage.house_edges and (sill := stage.deck.parameters.house.sill) is not None:
        rows.append(("DOOR SILL", sill))
    if work.box[3] > stage.surface_top + 20:
        rails = [p for p in stage.of("top rail") if p.stair is None]
        if rails:
            rows.append(("T.O. GUARD", float(max(p.box[1, 2] for p in rails))))
    for name, z in spread(rows, 0.28 * view.scale):
        view.add(*level_mark(stage, name, z[0], u, z[1], view.scale, work.box[2]))


def spaced(points: list, most: int = 6) -> list[d.Point]:
    """No more than `most` of some points, evenly chosen."""
    step = max(1, -(-len(points) // most))
    return [(float(x), float(y)) for x, y in points[::step]]


def spread(rows, least: float) -> list:
    """Heights with a place for each text so that none stands closer than `least`: (name, (true, shown))."""
    out, last = [], None
    for name, z in sorted(rows, key=lambda r: r[1]):
        shown = z if last is None else max(z, last + least)
        out.append((name, (z, shown)))
        last = shown
    return out


def _lengths(stage: Stage, view: d.View, work: Linework, plane: Plane) -> None:
    _u0, v0, _u1, _v1 = work.box
    strings = Strings(view, work.box, spacing=stage.string_spacing)
    frame = cut_boxes(work, "ledger", "rim", "stair header")
    beams = cut_boxes(work, "beam")
    if not frame:
        return
    left, right = frame[0][0][0], max(b[0][2] for b in frame)
    faces = [left, right]
    for box, part in frame:
        if part.role == "ledger":
            faces += [box[0], box[2]]
    square_cut = merged([b for b, p in beams if _cut_square(p, plane)])
    for b in square_cut:
        faces += [b[0], b[2]]
    strings.chain("below", [(u, v0) for u in faces])
    feet = cut_boxes(work, "footing")
    centres = [(b[0] + b[2]) / 2 for b, _ in feet]
    house = [left] if any(p.role == "ledger" for b, p in frame if b[0] == left) else []
    strings.chain("below", [(u, v0) for u in [left, *centres, right]])
    surface = cut_boxes(work, "board", "border", "breaker")
    ends = [surface[0][0][0], max(b[2] for b, _ in surface)] if surface else []
    strings.chain("below", [(u, v0) for u in [*ends, left, right]]) if not house else strings.chain(
        "below", [(u, v0) for u in [left, right, *ends]]
    )
    whole = [(b, p) for b, p in feet if not p.shape.circle or abs(b[2] - b[0] - 2 * p.shape.circle) < 1 / 16]
    for b, part in whole[:1]:  # a round one that is cut beside its middle is no diameter
        view.add(
            d.Dimension(
                (b[0], b[1]),
                (b[2], b[1]),
                (b[0], b[1] - 0.28 * view.scale),
                0.0,
                suffix=" DIA." if part.shape.circle else "",
            )
        )


def _cut_square(beam: Part, plane: Plane) -> bool:
    """Whether a beam lies square to a section: what is cut of it is then as wide as it is."""
    return abs(float(in_plan.plan_axis(beam) @ np.asarray(plane.direction))) > in_plan.PARALLEL


def merged(boxes: list) -> list:
    """Boxes that touch sideways made one (the plies of a beam)."""
    out: list[list[float]] = []
    for b in sorted(boxes):
        if out and b[0] - out[-1][2] < in_plan.FITTED:
            out[-1] = [out[-1][0], min(out[-1][1], b[1]), max(out[-1][2], b[2]), max(out[-1][3], b[3])]
        else:
            out.append(list(b))
    return out


def _heights(stage: Stage, view: d.View, work: Linework, plane: Plane, ground) -> None:
    """Left: surface to grade, guard. Right of the outer beam: every layer of the frame down to the footing's
    underside."""
    strings = Strings(view, work.box, spacing=stage.string_spacing)
    rims = cut_boxes(work, "rim", "ledger")
    feet, beams, posts = (
        cut_boxes(work, "footing"),
        merged([b for b, _ in cut_boxes(work, "beam")]),
        cut_boxes(work, "post"),
    )
    u1 = work.box[2]
    if not rims:
        return
    stack = [stage.surface_top, stage.frame_top, float(rims[-1][0][1])]
    side_of = u1
    if beams and feet:
        outer = feet[-1][0] if feet else None
        beam = min(beams, key=lambda b: abs((b[0] + b[2]) / 2 - (outer[0] + outer[2]) / 2))
        stack += [beam[1]]
        mid = (outer[0] + outer[2]) / 2
        post = [b for b, _ in posts if abs((b[0] + b[2]) / 2 - mid) < 3]
        stack += [post[0][1]] if post else []
        stack += [outer[3], ground(mid), outer[1]]
    strings.chain("right", [(side_of, v) for v in stack])
    # overall heights on the left
    lower = ground(work.box[0])
    rail = [b for b, p in cut_boxes(work, "top rail")] or [p.box[:, 2] for p in stage.of("top rail") if p.stair is None]
    tops = [stage.surface_top, lower]
    if rail and work.box[3] > stage.surface_top + 20:
        tops.append(max(float(b[-1]) for b in rail))
    strings.chain("left", [(work.box[0], v) for v in tops])


def _labels(stage: Stage, view: d.View, work: Linework, plane: FramePlane) -> None:
    def note(role, text, where=(0.5, 0.5), which=0):
        boxes = cut_boxes(work, role)
        if boxes:
            (x0, y0, x1, y1), part = boxes[which if abs(which) < len(boxes) else 0]
            label = text(part) if callable(text) else text
            more = [
                ((a + (c - a) * where[0], b + (e - b) * where[1])) for (a, b, c, e), p in boxes if p.mark == part.mark
            ]
            view.add(
                d.Leader(
                    (x0 + (x1 - x0) * where[0], y0 + (y1 - y0) * where[1]), label, tips=spaced(more), mark=part.mark
                )
            )

    note("board", lambda p: f"{stage.stock(p.stock)} SURFACE BOARD", which=len(cut_boxes(work, "board")) // 2)
    note("border", "BORDER")
    note("ledger", lambda p: f"{p.mark} {stage.stock(p.stock)} LEDGER, {ledger_fasteners(stage).short}")
    note("rim", lambda p: f"{p.mark} {stage.stock(p.stock)} RIM", which=-1)

    def beam_named(p: Part) -> str:
        skew = "" if _cut_square(p, plane) else ", CUT ON THE SKEW"
        return f"{p.mark} {stage.beam_text(p)} BEAM{skew}"

    beams = [beam_named(p).split(" ", 1)[1] for _, p in cut_boxes(work, "beam")]
    for text in dict.fromkeys(beams):  # one of each: under the joists and flush
        note("beam", beam_named, (0.5, 0.3), beams.index(text))
    note("post", lambda p: f"{p.mark} {stage.stock(p.stock)} POST")
    note("footing", lambda p: f"{p.mark} CONCRETE FOOTING", (0.7, 0.25))
    note("post base", "STAND-OFF POST BASE")
    note("fascia", "FASCIA")
    joist = next((l for l in work.lines if l.part.role == "joist" and l.kind == "seen"), None)
    if joist is not None:
        g = plane.group
        x0, x1 = in_plan.reach(joist.part, _right(work))
        z0, z1 = joist.part.box[:, 2]
        at = [(float(x0 + (x1 - x0) * t), float(z0 + z1) / 2) for t in (0.4, 0.25, 0.55, 0.7)]
        view.add(
            d.Leader(
                at[0],
                f"{stage.stock(joist.part.stock)} JOISTS @ {stage.inch(g.spacing)} O.C., BEYOND",
                tips=at[1:],
                mark=name_of(joist.part),
            )
        )
    blocks = [c for c in work.cuts if c.part.role in in_group("blocking")]
    if blocks:
        c = blocks[0].polygon.centroid
        view.add(d.Leader((c.x, c.y), "BLOCKING", mark=name_of(blocks[0].part)))


def _right(work: Linework) -> np.ndarray:
    return np.asarray(work.view.right[:2])


def section_box(work: Linework) -> d.Box:
    return joined_box([work.box])
