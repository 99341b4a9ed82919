"""A-4xx: the plan of every stair that has landings, whole: its surface with levels, flights and the size of each
landing, and under it the frame of the landings with their posts. A stair askew is drawn square to the sheet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
import shapely

from ...model.measuring.flight_seen import FlightSeen, lowest_riser
from ...model.solid.part import Part
from ...model.solid.roles import named
from ..drafting import drawing as d
from ..drafting import style
from ..drafting.wording import mode_text
from ..linework.eye import Eye
from ..linework.views import HIDDEN, Linework, ViewLine, project
from . import in_plan
from .crop import cropped
from .framing_plan import hangers
from .ground import signed
from .landing_strings import guard_post_strings
from .landings_drawn import LandingDrawn, landings, seen_at, seen_box, square_eye, stairs_with_landings, turned_words
from .pens import items
from .stage import SURFACE, Stage, grown
from .stair_section import counted, rails_of, stringers_of
from .strings import Strings

_AROUND = 14.0  # inches of the deck drawn round the stair
_UNDER_EDGE = 6.0  # inches under the surface's edge from which on a piece lies under the deck: a first tread does not
_GAP = 0.3  # paper inches between the two views
_BESIDE = (5.0, 3.2)  # paper inches of strings, notes and title beside a view, in width and height
_SMALLEST = 48.0  # 1/4 in = 1 ft: a stair drawn smaller has a sheet a view
_FRAMING_NOTE = "DIMENSIONS TO FACES OF FRAMING, CENTRES OF POSTS AND GUARD POSTS."


def numbered(stage: Stage) -> dict[str, tuple[str, str]]:
    """Of every stair drawn here the references of its two views: (number of the view, sheet). On a small paper, and
    where a long stair would be drawn too small beside itself, each view has a sheet of its own."""
    refs, free = {}, 401
    for stair in stairs_with_landings(stage):
        framing = free + (1 if stage.small or _too_long(stage, _window(stage, stair)) else 0)
        refs[f"stair plan {stair}"] = "1", f"A-{free}"
        refs[f"stair framing {stair}"] = "2", f"A-{framing}"
        free = framing + 1
    return refs


def _window(stage: Stage, stair: int) -> d.Box:
    own = [p for p in stage.parts if p.stair == stair and p.group != "guards"]
    return grown(seen_box(square_eye(stage, stair), own), _AROUND)


def _too_long(stage: Stage, window: d.Box) -> bool:
    """Whether half a sheet, less its strings and notes, shows a stair smaller than is read."""
    x0, y0, x1, y1 = _rooms(style.room(stage.paper), window)[0]
    room = (max(x1 - x0 - _BESIDE[0], 0.5), max(y1 - y0 - _BESIDE[1], 0.5))
    return style.fitting_scale((window[2] - window[0], window[3] - window[1]), room, False, 24.0) > _SMALLEST


def build(stage: Stage) -> None:
    for stair in stairs_with_landings(stage):
        eye, window = square_eye(stage, stair), _window(stage, stair)
        (one, number), (two, other) = (stage.refs[f"stair {view} {stair}"] for view in ("plan", "framing"))
        name = f"STAIR {stair + 1}" if len(stage.seen.stairs) > 1 else "STAIR"
        sheet = stage.sheet(number, f"{name} PLAN")
        upper, lower = _rooms(sheet.room, window)
        if other != number:
            upper = lower = sheet.room
        title, note = f"Stair {stair + 1} plan", f"DIMENSIONS TO EDGES OF LANDINGS.{turned_words(eye)}"
        stage.place(sheet, _surface(stage, stair, eye, window, upper), upper, title, one, note)
        if other != number:
            sheet = stage.sheet(other, f"{name} FRAMING")
        title, note = f"Stair {stair + 1} framing", f"{_FRAMING_NOTE}{turned_words(eye)}"
        stage.place(sheet, _framing(stage, stair, eye, window, lower), lower, title, two, note)


def _rooms(room: d.Box, window: d.Box) -> tuple[d.Box, d.Box]:
    """Two equal rooms: one over the other for a stair that is wider than deep, else side by side."""
    x0, y0, x1, y1 = room
    wide, high = window[2] - window[0], window[3] - window[1]
    across, down = min((x1 - x0) / 2 / wide, (y1 - y0) / high), min((x1 - x0) / wide, (y1 - y0) / 2 / high)
    if across >= down:
        middle = (x0 + x1) / 2
        return (x0, y0, middle - _GAP / 2, y1), (middle + _GAP / 2, y0, x1, y1)
    middle = (y0 + y1) / 2
    return (x0, middle + _GAP / 2, x1, y1), (x0, y0, x1, middle - _GAP / 2)


def _surface(stage: Stage, stair: int, eye: Eye, window: d.Box, room: d.Box) -> d.View:
    shown = [p for p in stage.of(*named("surface plan")) if p.stair in (None, stair)]
    work = cropped(seen_from_above(stage, shown, eye, stair), window)
    found, foot = landings(stage, stair), foot_pads(stage, stair)
    first = stage.seen.flights(stair)[0]
    edge = seen_at(eye, first.out * first.top.front), seen_at(eye, first.out)

    def draw(scale: float) -> d.View:
        view = d.View(f"stair {stair + 1} plan", scale, items(work, "plan"))
        strings = Strings(view, window, spacing=stage.string_spacing)
        before: d.Box | None = None
        for l in found:
            own = seen_box(eye, l.walked)
            _sizes(strings, own, *edge, ("below", "left"), before)
            before = own
        if foot:
            _sizes(strings, seen_box(eye, foot), *edge, ("above", "right"))
        _flights(stage, stair, eye, view)
        for l in found:
            _landing_note(stage, stair, eye, view, l)
        if foot:
            _pad_note(stage, eye, view, foot)
        return view

    return stage.fitted(draw, window, room, stage.of_plans, (1.8, 0.25), plan=True)


def seen_from_above(stage: Stage, shown: Iterable[Part], eye: Eye, stair: int | None = None) -> Linework:
    """Pieces from above. What of a stair, or of all, reaches under the deck's surface where it comes back there
    (treads, landings, pads) is dashed there, between the boards too."""
    surface = [p for p in stage.of(*SURFACE) if p.stair is None]
    deck = shapely.union_all(in_plan.outlines(surface))
    inner, low = deck.buffer(-_UNDER_EDGE), min((float(p.box[0, 2]) for p in surface), default=0.0)
    below = [
        p
        for p in stage.of("tread", "pad", *SURFACE)
        if p.stair is not None and stair in (None, p.stair) and p.box[1, 2] < low and p.footprint.intersects(inner)
    ]
    work, under = project(shown, eye, under=below), {id(p) for p in below}
    shapely.prepare(deck)

    def kind(l: ViewLine) -> str:
        if id(l.part) not in under:
            return l.kind
        x, y, _ = np.array([(l.a[0] + l.b[0]) / 2, (l.a[1] + l.b[1]) / 2, 0.0]) @ eye.axes
        return HIDDEN if deck.contains(shapely.Point(x, y)) else l.kind

    return replace(work, lines=[replace(l, kind=kind(l)) for l in work.lines]) if below else work


def foot_pads(stage: Stage, stair: int) -> list[Part]:
    """The concrete at a stair's foot, which is no landing between flights."""
    return [p for p in stage.of("pad") if p.stair == stair and "landing" not in p.where]


def _pad_note(stage: Stage, eye: Eye, view: d.View, pads: Sequence[Part]) -> None:
    x0, y0, x1, y1 = seen_box(eye, pads)
    tips = [(x0 + (x1 - x0) * s, y0 + (y1 - y0) * t) for s, t in ((0.9, 0.8), (0.1, 0.8), (0.9, 0.2), (0.1, 0.2))]
    over = [seen_box(eye, [p]) for p in stage.of(*named("surface plan")) if p not in pads]
    bare = [tip for tip in tips if not any(a < tip[0] < c and b < tip[1] < e for a, b, c, e in over)]
    tips = bare or tips
    size = f"{stage.text(x1 - x0)} x {stage.text(y1 - y0)}"
    top = signed(stage, float(max(p.box[1, 2] for p in pads)))
    view.add(d.Leader(tips[0], f"CONCRETE PAD AT THE FOOT, T.O. {top}, {size}", head="dot", tips=tips[1:]))


def _sizes(
    strings: Strings,
    own: d.Box,
    edge: d.Point,
    out: d.Point,
    beside: tuple[str, str],
    before: d.Box | None = None,
) -> None:
    """Width and depth of a landing, tied to the edge of the surface that the stair leaves (`edge` is a point on it,
    `out` the way the stair leaves it, both in the view), and the other way to the landing `before` it; `beside`: on
    which sides of the view."""
    x0, y0, x1, y1 = own
    level = abs(out[0]) > abs(out[1])
    xs = _near_side((x0, x1), (edge[0], edge[0]) if level else before and (before[0], before[2]))
    ys = _near_side((y0, y1), before and (before[1], before[3]) if level else (edge[1], edge[1]))
    # from the sides that the strings lie on, so that no extension line runs along an edge of the landing itself
    near_y, near_x = y1 if beside[0] == "above" else y0, x1 if beside[1] == "right" else x0
    strings.chain(beside[0], [(x, near_y) for x in (x0, x1, *xs)])
    strings.chain(beside[1], [(near_x, y) for y in (y0, y1, *ys)])


def _near_side(own: tuple[float, float], other: tuple[float, float] | None) -> list[float]:
    """The end of another stretch, or place, that lies nearer, where the two lie apart."""
    if other is None or in_plan.overlap(own, other) > -1 / 16:
        return []
    return [other[1] if other[1] <= own[0] else other[0]]


def _flights(stage: Stage, stair: int, eye: Eye, view: d.View) -> None:
    """An arrow down each flight with its risers, goings and width as measured; its handrail."""
    several = len(stage.seen.flights(stair)) > 1
    for n, f in enumerate(stage.seen.flights(stair), 1):
        middle, (first, last) = sum(f.sides) / 2, f.walk
        a, b = (seen_at(eye, f.out * at + f.across * middle) for at in (first, last))
        view.add(d.Arrow([a, b]))
        tips = [(a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for t in (0.5, 0.3, 0.7)]
        words = f"DN {counted(f)} OF {mode_text(f.rises, stage.inch)}"
        if f.goings:
            words += f", GOING {mode_text(f.goings, stage.inch)}"
        words += f", {stage.text(f.sides[1] - f.sides[0])} OVER TREADS" if f.treads else ""
        view.add(d.Leader(tips[0], f"FLIGHT {n}: {words}" if several else words, head="dot", tips=tips[1:]))
        for rail in rails_of(stage, f, "handrail")[:1]:
            at = [seen_at(eye, q) for q in in_plan.places_along(rail, (0.6, 0.8, 0.35))]
            view.add(d.Leader(at[0], "HANDRAIL", tips=at[1:]))


def _landing_note(stage: Stage, stair: int, eye: Eye, view: d.View, l: LandingDrawn) -> None:
    kind = "CONCRETE PAD" if l.walked[0].role == "pad" else "LANDING"
    x0, y0, x1, y1 = seen_box(eye, l.walked)
    middle = [(x0 + (x1 - x0) * s, y0 + (y1 - y0) * t) for s, t in ((0.5, 0.5), (0.3, 0.6), (0.7, 0.4), (0.6, 0.75))]
    size = f"{stage.text(x1 - x0)} x {stage.text(y1 - y0)}"
    words = f"{kind} {l.number}, T.O. {signed(stage, l.top)}, {size}"
    for n, f in enumerate(stage.seen.flights(stair), 1):
        deep = depth_at_foot(stage, f, l)
        if deep is not None and all(abs(deep - side) > 1 / 16 for side in (x1 - x0, y1 - y0)):
            words += f", {stage.text(deep)} DEEP FROM THE LOWEST RISER OF FLIGHT {n}"
    view.add(d.Leader(middle[0], words, head="dot", tips=middle[1:]))


def depth_at_foot(stage: Stage, f: FlightSeen, l: LandingDrawn) -> float | None:
    """How deep a landing is in the direction of the flight that comes down to it, from that flight's lowest riser;
    None where the flight ends elsewhere."""
    if not {m.id for m in f.foot_pieces} & {p.id for p in l.walked}:
        return None
    before = [p for p in l.walked if in_plan.overlap(in_plan.reach(p, f.across), f.sides) > 0]
    return max(in_plan.reach(p, f.out)[1] for p in before) - lowest_riser(stage.measured_rows, f)


def _framing(stage: Stage, stair: int, eye: Eye, window: d.Box, room: d.Box) -> d.View:
    shown = [p for p in stage.of(*named("framing plan")) if p.stair in (None, stair)]
    under = [p for p in stage.of(*named("under the frame")) if p.stair in (None, stair)]
    work = cropped(project(shown, eye, under=under), window)
    lines: list[d.AnyItem] = [*items(work, "plan"), *_hangers_in(stage, stair, eye)]
    found, first = landings(stage, stair), stage.seen.flights(stair)[0]
    edge = stage.edge(stage.deck.parameters.stair[stair].edge)
    face = seen_at(eye, edge.start), seen_at(eye, first.out)

    def draw(scale: float) -> d.View:
        view = d.View(f"stair {stair + 1} framing", scale, list(lines))
        strings = Strings(view, window, spacing=stage.string_spacing)
        before: d.Box | None = None
        for l in found:
            if not l.frame:
                continue
            x0, y0, x1, y1 = seen_box(eye, l.frame)
            at = [seen_at(eye, in_plan.centre(p)) for p in l.posts]
            strings.chain("above", at)
            strings.chain("right", at)
            _sizes(strings, (x0, y0, x1, y1), *face, ("below", "left"), before)
            before = (x0, y0, x1, y1)
        guard_post_strings(stage, view, strings, eye, stair, [l.frame for l in found if l.frame])
        _frame_notes(stage, stair, eye, view, found)
        return view

    return stage.fitted(draw, window, room, stage.of_plans, (1.8, 0.25), plan=True)


def _hangers_in(stage: Stage, stair: int, eye: Eye) -> list[d.AnyItem]:
    """The hangers of the stair's own joists, in the view."""
    own = {p.id for p in stage.parts if p.stair == stair}
    return [replace(h, points=[seen_at(eye, q) for q in h.points]) for h in hangers(stage) if h.mark in own]


def _frame_notes(stage: Stage, stair: int, eye: Eye, view: d.View, found: Sequence[LandingDrawn]) -> None:
    def leader(parts: Sequence[Part], words: str) -> None:
        tips = [seen_at(eye, q) for p in parts for q in in_plan.places_along(p, (0.5, 0.8, 0.2))]
        view.add(d.Leader(tips[0], words, tips=tips[1:]))

    for l in found:
        joists = [p for p in l.frame if p.role == "joist"]
        if joists:
            spacing = in_plan.usual_spacing(joists, in_plan.square(in_plan.plan_axis(joists[0])))
            apart = f" @ {stage.inch(spacing)} O.C." if spacing else ""
            words = f"LANDING {l.number}: {joists[0].mark} {stage.stock(joists[0].stock)} JOISTS{apart}"
            leader(joists, words)
        rims = [p for p in l.frame if p.role == "rim"]
        if rims:
            marks = ", ".join(dict.fromkeys(p.mark for p in rims))
            leader(rims, f"LANDING {l.number}: {marks} {stage.stock(rims[0].stock)} RIM")
        if l.posts:
            posts = ", ".join(f"{p.mark} {stage.text(_height(p))}" for p in {p.mark: p for p in l.posts}.values())
            leader(l.posts, f"LANDING {l.number}: {stage.stock(l.posts[0].stock)} POSTS UNDER, LONG: {posts}")
    for n, f in enumerate(stage.seen.flights(stair), 1):
        cut = stringers_of(f)
        if cut:
            apart = in_plan.usual_spacing(cut, f.across)
            words = f"FLIGHT {n}: {len(cut)} {cut[0].mark} {stage.stock(cut[0].stock)} STRINGERS"
            leader(cut, f"{words}, {stage.inch(apart)} O.C." if apart else words)
    headers = [p for p in stage.of("stair header") if p.stair == stair]
    if headers:
        marks = ", ".join(dict.fromkeys(p.mark for p in headers))
        leader(headers, f"{marks} STAIR HEADER")
    pieces = [p for p in stage.of("beam") if p.stair == stair and "cross piece" in p.where]
    if pieces:
        leader(pieces, f"{pieces[0].mark} {stage.stock(pieces[0].stock)} CROSS PIECE ON POSTS, UNDER STRINGERS")
    footings = [p for p in stage.of("footing") if p.stair == stair]
    if footings:
        leader(footings, "FOOTING UNDER, SEE S-101")


def _height(post: Part) -> float:
    return float(post.box[1, 2] - post.box[0, 2])
