"""A-5xx: a section along every flight of stairs: each rise and run, nosing, throat, handrail, guard, headroom,
landing."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from ...model.measuring.flight_seen import FlightSeen, lowest_riser, riser_boards, runs_with
from ...model.measuring.throat import throat
from ...model.solid.part import Part
from ...model.solid.roles import in_group, named
from ..drafting import drawing as d
from ..drafting import style
from ..drafting.dimensioning import dimension
from ..drafting.wording import mode_text
from ..linework.eye import Eye
from ..linework.views import Linework, project
from . import in_plan
from .crop import cropped
from .ground import ground_items, signed
from .hardware import limit_row
from .landings_drawn import landings
from .pens import items
from .sections import Plane, cut_boxes, spread
from .stage import LARGEST_SECTION, Stage
from .strings import Strings

SHOWN_ALIKE = 1 / 32  # inches within which steps are called alike: half of what a dimension shows
GUARD_SHOWN = 42.0  # inches above the upper level
OVERHEAD_SHOWN = 6.0  # inches of what stands over the flight
HEADROOM_WRAP = 2.6  # inches of paper
POSTS_SHOWN = 6.0  # inches of the posts under the frame of a landing at the foot
DECK_SHOWN = 28.0  # inches of the deck drawn behind the top riser
STAIR = named("stair section")
RAILS = in_group("guards")
DECK = named("behind a stair")


@dataclass(frozen=True)
class StairPlane(Plane):
    """A plane along a flight. `station` is its place across it; `sign` is +1 where the flight goes down to the right of
    the view, -1 to the left; a station along the flight lies at the view's u = sign * station."""

    station: float = 0.0
    sign: int = 1

    def u(self, station: float) -> float:
        return self.sign * station


def stair_plane(stage: Stage, f: FlightSeen) -> StairPlane:
    """Between the two stringers nearest the middle of the flight, looking to the side on which the handrail is."""
    middle = sum(f.sides) / 2
    sides = [p for p in _along_flight(stage, f, "skirt") if np.ptp(in_plan.reach(p, f.across)) < 6]
    thick = sorted(in_plan.reach(p, f.across) for p in [*stringers_of(f), *sides])
    merged: list[list[float]] = []
    for a, b in thick:
        if merged and a - merged[-1][1] < 0.2:
            merged[-1][1] = max(b, merged[-1][1])
        else:
            merged.append([a, b])
    clear = [(b0[1] + b1[0]) / 2 for b0, b1 in itertools.pairwise(merged)]
    station = min(clear, key=lambda s: abs(s - middle)) if clear else middle
    rails = [sum(in_plan.reach(p, f.across)) / 2 for p in rails_of(stage, f, "handrail")]
    sign = -1 if rails and max(rails) < station else 1
    p = f.across * station + f.out * f.nosings[0][0]
    return StairPlane((float(p[0]), float(p[1])), (float(sign * f.across[0]), float(sign * f.across[1])), station, sign)


def _along_flight(stage: Stage, f: FlightSeen, *roles: str) -> list:
    """The stair's pieces of some roles that lie beside this flight."""
    run = (f.nosings[0][0] - f.usual_going, f.nosings[-1][0])
    wide = (f.sides[0] - 8, f.sides[1] + 8)
    return [
        p
        for p in stage.of(*roles)
        if p.stair == f.stair
        and in_plan.overlap(in_plan.reach(p, f.out), run) > 0.3
        and in_plan.overlap(in_plan.reach(p, f.across), wide) > 0
    ]


def rails_of(stage: Stage, f: FlightSeen, role: str) -> list[Part]:
    """The sloping rails of this flight, whatever stands over, under or beside it."""
    return [m.part for m in stage.seen.of(role, stair=f.stair) if runs_with(f, m)]


def stringers_of(f: FlightSeen) -> list[Part]:
    """The stringers of this flight, left to right going down."""
    return sorted((m.part for m in f.stringers), key=lambda p: in_plan.reach(p, f.across))


def counted(f: FlightSeen) -> str:
    """The number of a flight's risers, in words."""
    return f"{len(f.rises)} RISER{'S' if f.treads else ''}"


def stair_work(stage: Stage, f: FlightSeen) -> tuple[StairPlane, Linework]:
    """The section of one flight: its own pieces, the deck's edge it hangs from, cropped to where the flight is. Made
    once."""
    return stage.once(("stair work", id(f)), lambda: _stair_work(stage, f))


def _stair_work(stage: Stage, f: FlightSeen) -> tuple[StairPlane, Linework]:
    plane = stair_plane(stage, f)
    nosings, going = f.nosings, f.usual_going
    low, high = nosings[0][0] - going - DECK_SHOWN, nosings[-1][0] + going + 60
    half = max(abs(f.sides[1] - plane.station), abs(f.sides[0] - plane.station)) + 10
    mine = [
        p
        for p in stage.parts
        if (
            (p.stair == f.stair and p.role in STAIR)
            or (p.stair is None and p.role in (*DECK, "guard post", "post sleeve", "post cap"))
        )
        and in_plan.overlap(in_plan.reach(p, f.out), (low, high)) > 0
        and in_plan.overlap(in_plan.reach(p, f.across), (f.sides[0] - 10, f.sides[1] + 10)) > 0
    ]
    work = project(mine, plane.view, beyond=half)
    pads = pads_of(f)
    end = max([nosings[-1][0] + going + 20, *(in_plan.reach(p, f.out)[1] + 3 for p in pads)])
    bottom = min([f.levels[-1] - 8, *(float(p.box[0, 2]) - 3 for p in pads), *_under_foot(stage, f)])
    us = sorted((plane.u(low + 4), plane.u(end)))
    over = overhead(stage, f)  # what headroom is measured to is drawn too
    top = max(f.levels[0] + GUARD_SHOWN, over.box[0, 2] + OVERHEAD_SHOWN if over is not None else 0.0)
    return plane, cropped(work, (us[0], bottom, us[1], top))


def _under_foot(stage: Stage, f: FlightSeen) -> list[float]:
    """How far down a landing at the foot is drawn: its frame whole, and the tops of its posts."""
    foot = {m.id for m in f.foot_pieces}
    frames = [l.frame for l in landings(stage, f.stair) if l.frame and foot & {p.id for p in l.walked}]
    return [float(p.box[0, 2]) - POSTS_SHOWN for frame in frames for p in frame]


def pads_of(f: FlightSeen) -> list[Part]:
    """The pad at the foot of this flight."""
    return [m.part for m in f.foot_pieces if m.role == "pad"]


def build(stage: Stage) -> list[d.Sheet]:
    out = []
    for n, f in enumerate(stage.flights):
        number, sheet_number = stage.refs[f"stair section {n}"]
        title = "STAIR SECTION" if len(stage.flights) == 1 else f"STAIR SECTION FLIGHT {n + 1}"
        if len(stage.seen.stairs) > 1:
            title = f"SECTION {stage.flight_name(n).upper()}"
        sheet = stage.sheet(sheet_number, title)
        plane, work = stair_work(stage, f)
        ground = stage.ground(plane.view, plane.through)
        u0, _, u1, _ = work.box
        solid = [tuple(sorted(plane.u(s) for s in in_plan.reach(p, f.out))) for p in pads_of(f)]
        lines, said = items(work, "section", ground=ground), []

        def earth(scale: float) -> list:
            # where a flight ends on a landing, grade may lie far below it: less than half a line of it tells little
            shown = [u for u in np.linspace(u0, u1, 65).tolist() if ground(u) > work.box[1] - 6]
            return ground_items(stage, ground, shown[0], shown[-1], scale, solid=solid) if len(shown) > 32 else []

        def draw(scale: float) -> d.View:
            view = d.View(f"section along flight {n + 1}", scale, [*earth(scale), *lines])
            said[:] = _steps(stage, view, work, f, plane)
            _heights(stage, view, work, f, plane)
            _throat(stage, view, plane, f)
            _labels(stage, view, work, f, plane)
            return view

        view = stage.fitted(draw, work.box, sheet.room, LARGEST_SECTION, (1.0, 0.1))
        stage.place(
            sheet,
            view,
            sheet.room,
            f"Section along {stage.flight_name(n)}",
            number,
            ", ".join(
                [
                    *said,
                    f"RISES AND RUNS MEASURED OFF THE {'TREADS' if f.treads else 'SURFACES'}, EACH ROUNDED BY ITSELF.",
                ]
            ),
        )
        out.append(sheet)
    return out


def riser_faces(stage: Stage, f: FlightSeen) -> list[float]:
    """Stations of the front faces of the risers, from the deck's edge down; empty for open risers."""
    return sorted({round(in_plan.reach(m.part, f.out)[1], 3) for m in riser_boards(stage.measured_rows, f)})


def _steps(stage: Stage, view: d.View, work: Linework, f: FlightSeen, plane: StairPlane) -> list[str]:
    """The chain of runs under the stair and of rises before it, then total run and total rise. Returns what stands in
    words."""
    said: list[str] = []
    ahead = "right" if plane.sign > 0 else "left"
    edge = work.box[2] if plane.sign > 0 else work.box[0]
    points = [(plane.u(s.front), s.level) for s in f.steps]
    strings = Strings(view, work.box, spacing=stage.string_spacing)
    rises = [(edge, z) for z in f.levels]
    for side, axis, steps, total, each in (
        ("below", 0, points, "TOTAL RUN, NOSINGS", "GOINGS"),
        (ahead, 1, rises, "TOTAL RISE", "RISERS"),
    ):
        if len(steps) < 2:  # one step has no run
            continue
        sizes = np.abs(np.diff([p[axis] for p in steps]))
        crowded = min(sizes) / view.scale < (
            style.NOTE * 2 if axis else style.text_width(stage.text(float(sizes[0])), style.NOTE)
        )
        if (
            crowded and np.ptp(sizes) < SHOWN_ALIKE
        ):  # no room for a string of like figures: their number and size stand in words
            said.append(f"{len(sizes)} {each} OF {stage.text(float(np.mean(sizes)))}")
        elif f.treads and len(sizes) > 1:  # of one step the total says it
            strings.chain(side, steps)
        strings.chain(side, [steps[0], steps[-1]], suffix=f" {total}")
    for p in pads_of(f)[:1]:
        a, b = in_plan.reach(p, f.out)
        low = float(p.box[0, 2])
        view.add(
            d.Dimension(
                (plane.u(max(a, lowest_riser(stage.measured_rows, f))), low),
                (plane.u(b), low),
                (plane.u(a), low - 0.3 * view.scale),
                0.0,
                suffix=" LANDING",
            )
        )
    u, v = f.nosings[0]
    under = [x for x in riser_faces(stage, f) if 0.05 < u - x < 4]
    if under:
        a, b = plane.u(max(under)), plane.u(u)
        view.add(d.Dimension((a, v), (b, v), (b, v + 0.3 * view.scale), 0.0, suffix=" NOSING"))
    return said


def _heights(stage: Stage, view: d.View, work: Linework, f: FlightSeen, plane: StairPlane) -> None:
    """Handrail and guard above the line of nosings, measured straight up at a nosing; levels; headroom."""
    scale = view.scale
    nosings = f.nosings
    taken: list[float] = []  # on a short flight both rails run over the same few nosings
    for role, label, share in (("handrail", " HANDRAIL", 0), ("top rail", " GUARD", 1)) if f.treads else ():
        found = _rail_height(stage, f, plane, role, len(nosings) // 2 + share, taken)
        if found:
            (u, v), top = found
            taken.append(u)
            view.add(d.Dimension((u, v), (u, top), (u, v), 90.0, suffix=label))
    top_name = "T.O. DECK" if abs(f.levels[0] - stage.surface_top) < 0.01 else "T.O. LANDING"
    foot_name = "FOOT OF FLIGHT" if pads_of(f) or not f.foot_pieces else "FOOT OF FLIGHT, T.O. LANDING"
    back = work.box[0] - 0.25 * scale if plane.sign > 0 else work.box[2] + 0.25 * scale
    for name, (z, shown) in spread([(top_name, f.levels[0]), (foot_name, f.levels[-1])], 0.3 * scale):
        view.add(d.Symbol("level", (back - plane.sign * 0.1 * scale, z)))
        view.add(
            d.Text(
                (back - plane.sign * 0.3 * scale, shown),
                f"{name} {signed(stage, z)}",
                style.NOTE,
                "right" if plane.sign > 0 else "left",
                "middle",
                layer="A-ANNO-SYMB",
            )
        )
    _headroom(stage, view, work, f, plane)
    if f.treads:
        view.add(
            d.Line((plane.u(f.top.front), f.levels[0]), (plane.u(nosings[-1][0]), nosings[-1][1]), layer="A-SECT-HDLN")
        )


def _rail_height(
    stage: Stage, f: FlightSeen, plane: StairPlane, role: str, wanted: int, taken: Sequence[float] = ()
) -> tuple[d.Point, float] | None:
    """A place on the line of nosings, and the height of the highest rail of a kind over it: at the nosing nearest the
    wanted one over which such a rail runs, else at a rail's middle; where there is another, not at a place taken."""
    rails = rails_of(stage, f, role)
    last = len(f.nosings) - 1
    places = sorted(f.nosings, key=lambda n: abs(f.nosings.index(n) - min(wanted, last)))
    middles = [sum(in_plan.reach(p, f.out)) / 2 for p in rails]
    along = [*places, *((s, f.pitch_level(s)) for s in middles)]
    for s, v in sorted(along, key=lambda at: plane.u(at[0]) in taken):
        tops = [h for p in rails if (h := top_at(p, plane.view, plane.u(s)))]
        if tops:
            return (plane.u(s), v), max(tops)
    return None


def _headroom(stage: Stage, view: d.View, work: Linework, f: FlightSeen, plane: StairPlane) -> None:
    """Clear height to whatever stands over the flight, measured; or the statement that nothing does."""
    nosings = f.nosings
    need = limit_row(stage, "headroom_min")
    start, end = _walked(f)
    over = overhead(stage, f)
    if over is not None:
        p = over
        s = float(np.clip(sum(in_plan.reach(p, f.out)) / 2, start, end))
        view.add(
            d.Dimension(
                (plane.u(s), _pitch(nosings, s)),
                (plane.u(s), float(p.box[0, 2])),
                (plane.u(s), 0.0),
                90.0,
                suffix=" HEADROOM",
            )
        )
        return
    text = f"HEADROOM: NOTHING STANDS OVER THE FLIGHT{f'; AT LEAST {stage.text(need.value)} ASKED' if need else ''}"
    u, top = plane.u(nosings[-1][0] + 4), work.box[3]
    wide, high = (size * view.scale for size in style.block_size(text, style.NOTE, HEADROOM_WRAP))
    beside = shapely.box(u, top - high, u + plane.sign * wide, top)
    drawn = [(line.a, line.b) for line in work.lines]
    strung = [dimension(i, view.scale, stage.metric) for i in view.items if type(i) is d.Dimension]
    crossed = shapely.linestrings([*drawn, *(line for made in strung for line in (made.line, *made.extensions))])
    level: d.TextLevel = "top"
    if any(shapely.intersects(crossed, beside)):  # over all that is drawn, then
        top, level = top + 0.1 * view.scale, "bottom"
    align: d.Align = "left" if plane.sign > 0 else "right"
    view.add(d.Text((u, top), text, style.NOTE, align, level, wrap=HEADROOM_WRAP, layer="A-ANNO-NOTE"))


def _walked(f: FlightSeen) -> tuple[float, float]:
    """From where to where along a flight headroom is asked."""
    return (f.nosings[0][0], f.nosings[-1][0]) if f.treads else f.walk


def overhead(stage: Stage, f: FlightSeen) -> Part | None:
    """The lowest piece that stands over a flight."""
    start, end = _walked(f)
    over = [
        p
        for p in stage.parts
        if p.role not in RAILS
        and in_plan.overlap(in_plan.reach(p, f.out), (start, end)) > 0.5
        and in_plan.overlap(in_plan.reach(p, f.across), f.sides) > 0.5
        and p.box[0, 2] > _pitch(f.nosings, np.clip(sum(in_plan.reach(p, f.out)) / 2, start, end)) + 24
    ]
    return min(over, key=lambda q: q.box[0, 2], default=None)


def _pitch(nosings, station: float) -> float:
    return float(np.interp(station, [n[0] for n in nosings], [n[1] for n in nosings]))


def silhouette(part, view: Eye) -> Polygon:
    """The convex outline of a piece in the view: exact for rails and other convex pieces."""
    return shapely.MultiPoint(view.flat(part.vertices)).convex_hull


def top_at(part, view: Eye, u: float) -> float | None:
    """Height of the top of a piece over the view's u, from its corners."""
    shape = silhouette(part, view)
    x0, y0, x1, y1 = shape.bounds
    if not x0 < u < x1:
        return None
    hit = shape.intersection(shapely.LineString([(u, y0 - 1), (u, y1 + 1)]))
    return None if hit.is_empty else float(hit.bounds[3])


def seen_stringer(stage: Stage, plane: Plane, f: FlightSeen):
    """The stringer next behind the section plane."""
    toward = np.asarray(plane.view.toward)
    pool = [(float((p.vertices @ toward).max()), p) for p in stringers_of(f)]
    behind = [x for x in pool if x[0] < plane.view.plane + 1e-6]
    chosen = max(behind, key=lambda x: x[0]) if behind else min(pool, key=lambda x: x[0]) if pool else None
    return chosen and chosen[1]


def _throat(stage: Stage, view: d.View, plane: Plane, f: FlightSeen) -> None:
    part = seen_stringer(stage, plane, f)
    found = throat(part) if part is not None else None
    if found and found.over_edge:
        a, b = (tuple(map(float, plane.view.flat(np.array([p]))[0])) for p in (found.inner, found.foot))
        view.add(d.Dimension(a, b, a, None, suffix=" THROAT"))


def _labels(stage: Stage, view: d.View, work: Linework, f: FlightSeen, plane: StairPlane) -> None:
    _name_stringers(stage, view, work, f, plane)
    _name_cut_pieces(stage, view, work)
    if f.stringers and f.treads and not riser_faces(stage, f):  # a box step closes its own
        u, v = f.nosings[0]
        gap = f.rises[0] - min((t.stock.thickness for step in f.treads for t in step.pieces), default=0)
        view.add(
            d.Leader(
                (plane.u(u - f.usual_going / 2), v + f.rises[0] / 2), f"OPEN RISER, CLEAR OPENING {stage.inch(gap)}"
            )
        )
    _name_handrail(stage, view, work, f, plane)


def _name(view: d.View, part, tip, text, tips=()) -> None:
    view.add(d.Leader(tip, text, tips=list(tips), mark=part.mark))


def _name_stringers(stage: Stage, view: d.View, work: Linework, f: FlightSeen, plane: StairPlane) -> None:
    """The stringer seen behind the section: how many there are and their spacing, where no cut piece covers it."""
    part, all_of = seen_stringer(stage, plane, f), stringers_of(f)
    if part is None:
        return
    nosings = f.nosings
    ring = view_ring(part, plane.view)
    lower = shapely.Point(plane.u(nosings[len(nosings) // 2][0]), nosings[len(nosings) // 2][1] - 9)
    tip = lower if ring.contains(lower) else ring.representative_point()
    open_ = shapely.union_all([c.polygon for c in work.cuts])
    tips = [
        (plane.u(u + 2), v - z)
        for u, v in nosings
        for z in (8, 10, 12)
        if ring.contains(q := shapely.Point(plane.u(u + 2), v - z)) and open_.distance(q) > 0.5
    ]
    middles = [sum(in_plan.reach(p, f.across)) / 2 for p in all_of]
    gaps = [b - a for a, b in itertools.pairwise(middles) if b - a > 1]
    _name(
        view,
        part,
        (tip.x, tip.y),
        f"{part.mark} {stage.stock(part.stock)} STRINGERS, {len(all_of)} ALTOGETHER"
        + (f", {mode_text(gaps, stage.inch)} O.C." if gaps else ""),
        tips,
    )


def _name_cut_pieces(stage: Stage, view: d.View, work: Linework) -> None:
    """One leader to each kind of piece that the section cuts."""
    words = {
        "tread": lambda p: f"{stage.stock(p.stock)} TREAD",
        "riser": lambda p: "RISER, CLOSED",
        "step frame": lambda p: f"{stage.stock(p.stock)} FRAME OF A STEP, ON THE PAD OR ON THE STEP BELOW",
        "pad": lambda p: "CONCRETE PAD ON FIRM GROUND",
        "stair header": lambda p: f"{stage.stock(p.stock)} HEADER",
        "beam": lambda p: f"{stage.stock(p.stock)} CROSS PIECE ON POSTS, SQUARE TO THE PITCH",
        "rim": lambda p: f"{stage.stock(p.stock)} RIM",
        "border": lambda p: "BORDER",
    }
    for role, text in words.items():
        boxes = [
            (b, p)
            for b, p in cut_boxes(work, role)
            if (p.stair is None) == (role in ("rim", "border")) or role in ("pad", "stair header")
        ]
        if boxes:
            (x0, y0, x1, y1), p = boxes[len(boxes) // 2 if role in ("tread", "riser") else 0]
            places = [b for b, _ in boxes] if role in ("tread", "riser") else [boxes[0][0]]
            shares = [(0.5, 0.5)] if role in ("tread", "riser") else [(0.1, 0.3), (0.5, 0.3), (0.9, 0.3)]
            _name(
                view,
                p,
                ((x0 + x1) / 2, (y0 + y1) / 2),
                text(p),
                [(a + (c - a) * s, b + (e - b) * t) for a, b, c, e in places for s, t in shares],
            )


def _name_handrail(stage: Stage, view: d.View, work: Linework, f: FlightSeen, plane: StairPlane) -> None:
    rails = rails_of(stage, f, "handrail")
    if rails:
        p = max(rails, key=lambda q: np.ptp(in_plan.reach(q, f.out)))
        u = plane.u(sum(in_plan.reach(p, f.out)) / 2 + f.usual_going)
        top = top_at(p, work.view, u)
        if top:
            _name(view, p, (u, top - 0.7), f"GRASPABLE HANDRAIL {stage.stock(p.stock)}, CONTINUOUS, ENDS RETURNED")


def view_ring(part, view: Eye) -> Polygon:
    """A prism lying square to the view as its outline in the view."""
    return Polygon(view.flat(part.place.world(part.shape.polygon.exterior.coords[:-1])))
