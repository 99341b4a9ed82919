"""Details of every way in which a guard post is held, in plan, cut through the frame; and of a rail at its post."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

import numpy as np

from ...model.solid.part import Part
from ...shared.stock import KIT
from ..drafting import drawing as d
from ..linework.eye import Eye
from ..linework.views import Linework, project
from . import in_plan
from .crop import cropped
from .detail import Detail, names, note
from .guard_details import narrowest_bay
from .hardware import bolt as bolt_told
from .hardware import limit_row
from .hardware_shapes import LAYER, bolt, box, nails, ring
from .pens import name_of
from .sections import cut_boxes
from .stage import AT_JOIST_LEVEL, Stage
from .strings import Strings

MOST_HOLDS = 4  # ways drawn, those of most posts: our own
_AROUND = 11.0  # inches of the frame drawn either side of a post
_DOWN = 2.0  # inches under the frame's top at which the plan is cut
_DEVICE = (6.0, 1.0)  # inches: a tension device as drawn, along and off what it is screwed to


def guard_holds(stage: Stage) -> list[Detail]:
    """A plan of one post of each way in which posts are held, those of most posts first."""
    by_way: dict[str, list[Part]] = {}
    beside = _touched(stage)
    for post in stage.deck_of("guard post"):
        if post.edge and (way := _way(beside.get(post.id, ()))):
            by_way.setdefault(way, []).append(post)
    ways = sorted(by_way.items(), key=lambda w: (-len(w[1]), w[0]))
    return [_held(stage, way, posts, beside[posts[0].id]) for way, posts in ways[:MOST_HOLDS]]


def _touched(stage: Stage) -> dict[str, list[Part]]:
    """The pieces at joist level that each guard post touches."""
    out: dict[str, list[Part]] = {}
    for k in stage.deck.contacts:
        for post, other in ((k.a, k.b), (k.b, k.a)):
            if post.role == "guard post" and other.role in AT_JOIST_LEVEL and other.role != "guard post":
                some = out.setdefault(post.id, [])
                if all(o.id != other.id for o in some):
                    some.append(other)
    return out


def _way(pieces: Sequence[Part]) -> str:
    """How a post is held, in words; empty where it touches nothing of the frame."""
    count = Counter(p.role for p in pieces)
    if not count["rim"] and not count["beam"]:
        return ""
    if count["ledger"]:
        return "at the house"
    if count["rim"] > 1:
        return "in a corner"
    if count["joist"]:
        return "beside a joist"
    return "between blocks" if count["post blocking"] > 1 else "by one block"


def _held(stage: Stage, way: str, posts: list[Part], beside: list[Part]) -> Detail:
    post = posts[0]
    x, y = in_plan.centre(post)
    window = (x - _AROUND, y - _AROUND, x + _AROUND, y + _AROUND)
    shown = [
        p for p in stage.deck_of(*AT_JOIST_LEVEL, "fascia", "guard post") if p.role != "board" and _meets(p, window)
    ]
    work = cropped(project(shown, Eye.above(stage.frame_top - _DOWN), beyond=14), window)
    rims = [p for p in beside if p.role in ("rim", "ledger") or p.role == "beam"]
    blocks = [p for p in beside if p not in rims]

    def before(stage: Stage, scale: float) -> list[d.AnyItem]:
        out: list[d.AnyItem] = []
        for rim in [r for r in rims if r.role != "ledger"][:2]:
            out += bolt(*_through(post, rim), "bolt")
        for block in blocks[:1] or [r for r in rims if r.role != "ledger"][:1]:
            out += _device(post, block)
        return out

    def annotate(stage: Stage, view: d.View, work: Linework) -> None:
        _measure(stage, view, work, post)
        _name(stage, view, work, post, rims, blocks)

    n = len(posts)
    return Detail(
        f"Guard post {way}",
        work,
        "section",
        annotate,
        before,
        f"PLAN {stage.inch(_DOWN)} UNDER THE FRAME'S TOP. {n} POST{'S' if n > 1 else ''} SO.",
        open_sides="",
        spare=(1.7, 0.2),
    )


def _meets(part: Part, window: d.Box) -> bool:
    x0, y0, x1, y1 = part.footprint.bounds
    return x0 < window[2] and x1 > window[0] and y0 < window[3] and y1 > window[1]


def _through(post: Part, rim: Part) -> tuple[d.Point, d.Point]:
    """From the rim's outer face through rim and post, square to the rim."""
    axis = in_plan.plan_axis(rim)
    n = in_plan.square(axis)
    c = np.asarray(in_plan.centre(post))
    low, high = (
        min(in_plan.reach(p, n)[0] for p in (post, rim)),
        max(in_plan.reach(p, n)[1] for p in (post, rim)),
    )
    if sum(in_plan.reach(rim, n)) > sum(in_plan.reach(post, n)):
        low, high = high, low
    at = axis * float(c @ axis)
    a, b = at + n * low, at + n * high
    return (float(a[0]), float(a[1])), (float(b[0]), float(b[1]))


def _device(post: Part, block: Part) -> list[d.AnyItem]:
    """A tension device along the side of a block or joist, with its seat at the post."""
    axis = in_plan.plan_axis(block)
    n = in_plan.square(axis)
    c, m = np.asarray(in_plan.centre(post)), np.asarray(in_plan.centre(block))
    if abs(float((m - c) @ axis)) < 0.5:  # it passes the post: along it to its longer side
        lo, hi = in_plan.reach(block, axis)
        way = 1.0 if hi - float(c @ axis) > float(c @ axis) - lo else -1.0
    else:
        way = math.copysign(1.0, float((m - c) @ axis))
    low, high = in_plan.reach(block, n)
    off = -1.0 if abs(low - float(c @ n)) < abs(high - float(c @ n)) else 1.0
    face = low if off < 0 else high
    lo, hi = in_plan.reach(post, axis)
    start = hi if way > 0 else lo
    if (
        not in_plan.overlap((low, high), in_plan.reach(post, n)) > 0
        and in_plan.overlap(in_plan.reach(block, axis), (lo, hi)) > 0
    ):
        start = float(c @ axis)
    long, thick = _DEVICE
    corners = [
        axis * (start + way * s) + n * (face + off * t)
        for s, t in ((0.3, 0), (0.3, thick), (1.2, thick), (long, 0.25), (long, 0))
    ]
    holes = [axis * (start + way * s) + n * (face + off * 0.25) for s in (2.4, 3.6, 4.8)]
    return [ring([tuple(map(float, p)) for p in corners], "tension device"), *nails(holes, "tension device")]


def _measure(stage: Stage, view: d.View, work: Linework, post: Part) -> None:
    """The post, and how far its blocks and rims stand to either side of it."""
    boxes = cut_boxes(work, *AT_JOIST_LEVEL)
    own = next((b for b, p in boxes if p.id == post.id), post.footprint.bounds)
    strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
    strings.chain("below", [(own[k], work.box[1]) for k in (0, 2)])
    strings.chain("right", [(work.box[2], own[k]) for k in (1, 3)])
    beside = [b for b, p in boxes if p.id != post.id and (b[2] - b[0] < 2 or b[3] - b[1] < 2)]
    across = [
        x
        for b in beside
        if b[2] - b[0] < 2 and in_plan.overlap((b[1], b[3]), (own[1], own[3])) > 0
        for x in (b[0], b[2])
    ]
    along = [
        y
        for b in beside
        if b[3] - b[1] < 2 and in_plan.overlap((b[0], b[2]), (own[0], own[2])) > 0
        for y in (b[1], b[3])
    ]
    strings.chain("below", [(x, work.box[1]) for x in (*across, own[0], own[2])])
    strings.chain("right", [(work.box[2], y) for y in (*along, own[1], own[3])])


def _name(stage: Stage, view: d.View, work: Linework, post: Part, rims: list[Part], blocks: list[Part]) -> None:
    hold = limit_row(stage, "guard_post_holddown_capacity_min")
    device = f"TENSION DEVICE{f' OF AT LEAST {hold.value:g} LB' if hold else ''} TO THE FRAME"
    at = in_plan.centre(post)
    view.add(names("bolt", f"TWO {bolt_told(stage, 'guard-post bolt')} BOLTS, ONE OVER THE OTHER", at))
    view.add(names("tension device", device, at))
    boxes = {p.id: (b, p) for b, p in cut_boxes(work, *AT_JOIST_LEVEL)}
    note(view, [boxes[post.id]] if post.id in boxes else [], f"{stage.stock(post.stock)} GUARD POST", (0.3, 0.7))
    for some in (rims, blocks):
        told: set[str] = set()
        for p in some:
            if p.id in boxes and p.role not in told:
                told.add(p.role)
                view.add(_pointing(boxes[p.id][0], p, f"{stage.stock(p.stock)} {p.role.upper()}", work))


def _pointing(at: d.Box, part: Part, text: str, work: Linework) -> d.Leader:
    """A leader into what the plan cuts of a piece."""
    faces = [c.polygon for c in work.cuts if c.part.id == part.id]
    q = max(faces, key=lambda f: f.area).representative_point() if faces else None
    tip = (q.x, q.y) if q is not None else (at[0], at[1])
    return d.Leader((float(tip[0]), float(tip[1])), text, mark=name_of(part))


def _bracket_named(plates: list, rail, face: float) -> d.Leader:
    """What holds the end of a rail at a post's face: the angle drawn under it, or a kit's own bracket."""
    low, high = float(rail.box[0, 2]), float(rail.box[1, 2])
    if rail.stock.material != KIT:
        told = "BRACKET UNDER EACH END OF A RAIL, SCREWED TO POST AND RAIL"
        return names("rail bracket", told, (face + 2.2, low - 0.1))
    plates = [p for p in plates if p.box[0, 2] >= low - 1]
    tip = (face + (plates[0].stock.thickness / 2 if plates else 0.2), (low + high) / 2)
    return d.Leader(tip, "BRACKET OF THE KIT AT EACH END OF A RAIL", mark=name_of(plates[0] if plates else rail))


def rail_at_post(stage: Stage) -> Detail | None:
    """The top rail of a bay where it meets its post, square on, with the bracket under it."""
    bay = narrowest_bay(stage)
    rails = bay.of("top rail") if bay is not None else []
    if bay is None or not rails:
        return None
    post = bay.posts[0]
    low, high = float(rails[0].box[0, 2]), float(rails[0].box[1, 2])
    window = (post[0] - 2, low - 9, post[1] + 11, max(high, *(float(p.box[1, 2]) for p in bay.pieces)) + 1)
    work = cropped(project(bay.pieces, bay.eye), window)
    standing = next(
        (p for p in bay.of("guard post") if abs(bay.spread(in_plan.reach(p, bay.edge.direction))[0] - post[0]) < 2),
        None,
    )
    sleeve = next(
        (p for p in bay.of("post sleeve") if abs(bay.spread(in_plan.reach(p, bay.edge.direction))[0] - post[0]) < 1),
        None,
    )
    face, kit = post[1], rails[0].stock.material == KIT

    def before(stage: Stage, scale: float) -> list[d.AnyItem]:
        if kit:  # its brackets are solids, or hidden in its rails
            return []
        return [
            box(face, low - 2.2, face + 0.2, low, "rail bracket"),
            box(face, low - 0.2, face + 2.2, low, "rail bracket"),
            *(
                d.Line((x, low - 0.4), (x, low + 1.2), layer=LAYER, thing="rail bracket")
                for x in (face + 0.9, face + 1.7)
            ),
            *(
                d.Line((face + 0.4, low - z), (face - 1.5, low - z), layer=LAYER, thing="rail bracket")
                for z in (0.9, 1.7)
            ),
        ]

    def annotate(stage: Stage, view: d.View, work: Linework) -> None:
        strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
        strings.chain("right", [(work.box[2], z) for z in (low, high)])
        strings.chain("below", [(x, work.box[1]) for x in post])
        bars = [b for b in bay.balusters if b[0] > face and b[0] < window[2]]
        if bars:
            strings.chain("below", [(x, work.box[1]) for x in (face, bars[0][0], min(bars[0][1], window[2]))])
        rail = rails[0]
        tips = [(face + s, (low + high) / 2) for s in (6.0, 9.0)]
        view.add(d.Leader(tips[0], f"{stage.stock(rail.stock)} TOP RAIL", tips=tips[1:], mark=name_of(rail)))
        view.add(_bracket_named(bay.of("rail bracket"), rail, face))
        for p, words in ((sleeve, "POST SLEEVE"), (None if sleeve else standing, "GUARD POST")):
            if p is not None:
                view.add(d.Leader((post[0], low - 5), words, mark=name_of(p)))
        if bay.of("baluster"):
            first = min(bay.of("baluster"), key=lambda p: bay.spread(in_plan.reach(p, bay.edge.direction))[0])
            held = "IN THE HOLES OF ITS RAILS" if kit else "BALUSTER, SCREWED TO THE RAIL"
            told = f"{stage.stock(first.stock)} {held}"
            view.add(
                d.Leader((bay.spread(in_plan.reach(first, bay.edge.direction))[1], low - 6), told, mark=name_of(first))
            )

    return Detail("Rail at its post", work, "elevation", annotate, before, "", (1.7, 0.2), "rb")
