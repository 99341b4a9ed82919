"""Details of the surface in section: its edge with the border over the rim, the breaker, butt joints."""

from __future__ import annotations

import itertools
from collections.abc import Iterable

import numpy as np

from ...model.plan.edges import Edge
from ...model.solid.part import Part
from ...model.solid.roles import in_group
from ..drafting import drawing as d
from ..linework.views import Linework, project
from . import in_plan
from .crop import cropped
from .detail import Detail, note
from .sections import Plane, cut_boxes
from .stage import AT_JOIST_LEVEL, Stage
from .strings import Strings

_UNDER, _OVER = 2.0, 1.5  # inches shown under the frame and over the surface
_OUTSIDE, _INSIDE = 4.0, 18.0  # inches shown outside the rim and inside it
_BESIDE = 10.0  # inches shown either side of a joint
_JOINT = 0.5  # inches: ends of boards in one row no farther apart meet at a joint
_STATIONS = np.linspace(0.2, 0.8, 121)  # shares of an edge at which a section might be cut


def _section(stage: Stage, plane: Plane, window: d.Box) -> Linework:
    shown = stage.deck_of(*AT_JOIST_LEVEL, "board", "border", "breaker", "fascia", "beam")
    return cropped(project(shown, plane.view, beyond=14), window)


def _heights(stage: Stage) -> tuple[float, float]:
    low = min((float(p.box[0, 2]) for p in stage.deck_of("rim", "joist")), default=stage.frame_top - 8)
    return low - _UNDER, stage.surface_top + _OVER


def _covers(parts: Iterable[Part], way: np.ndarray, s: float, spare: float = 0.2) -> bool:
    return any(in_plan.reach(p, way)[0] - spare < s < in_plan.reach(p, way)[1] + spare for p in parts)


def surface_edge(stage: Stage) -> Detail | None:
    """The longest free edge in section, off posts and beside all that runs square to it: how far boards stand out, the
    border over rim and blocking, the ends of the field."""
    best: tuple[float, Edge, float] | None = None
    for e in stage.edges:
        if not e.house and (best is None or e.length > best[0] + 1):
            at = _clear_of_all(stage, e)
            best = (e.length, e, at) if at is not None else best
    if best is None:
        return None
    _, e, station = best
    p = e.point(station, 0.0)
    plane = Plane((float(p[0]), float(p[1])), (float(e.direction[0]), float(e.direction[1])))
    right = plane.view.right[:2]
    out = -float(np.sign(np.dot(e.inward, right)))  # to which side of the sheet the deck ends
    u = float(np.dot(p, right))
    us = sorted((u + out * _OUTSIDE, u - out * _INSIDE))
    low, high = _heights(stage)
    work = _section(stage, plane, (us[0], low, us[1], high))
    bordered = bool(cut_boxes(work, "border"))

    def annotate(stage: Stage, view: d.View, work: Linework) -> None:
        strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
        ahead = "right" if out > 0 else "left"
        edge = work.box[2] if out > 0 else work.box[0]
        strings.chain(ahead, [(edge, z) for z in (stage.surface_top, stage.frame_top, low + _UNDER)])
        far = max if out > 0 else min

        def outer(boxes: list) -> list[float]:
            return [far((x for b, _ in boxes for x in (b[0], b[2])), key=lambda x: x)] if boxes else []

        rims, top = cut_boxes(work, "rim", "beam"), cut_boxes(work, "border", "board")
        strings.chain("above", [(x, work.box[3]) for x in (*outer(rims), *outer(top))], suffix=" OVERHANG")
        borders = cut_boxes(work, "border")
        strings.chain("below", [(x, work.box[1]) for b, _ in borders for x in (b[0], b[2])])
        blocks = cut_boxes(work, "border blocking")
        strings.chain("below", [(x, work.box[1]) for b, _ in (*rims, *blocks) for x in (b[0], b[2])])
        first = -1 if out > 0 else 0
        note(view, borders, lambda q: f"{stage.stock(q.stock)} BORDER", which=first)
        note(
            view,
            cut_boxes(work, "board"),
            lambda q: f"{stage.stock(q.stock)} SURFACE BOARD",
            which=0 if out > 0 else -1,
        )
        note(view, rims, lambda q: f"{stage.stock(q.stock)} {q.role.upper()}", (0.5, 0.3), first)
        note(view, blocks, "BORDER BLOCKING", (0.5, 0.4))
        note(view, cut_boxes(work, "fascia"), "FASCIA", (0.5, 0.2), first)

    title = "Border over the rim" if bordered else "Boards over the rim"
    return Detail(title, work, "section", annotate, None, "", (1.7, 0.2), "l" if out > 0 else "r")


def _clear_of_all(stage: Stage, e: Edge) -> float | None:
    """The station of an edge nearest its middle at which a section meets a board whole, and no post, and nothing of the
    frame along its grain; None where there is none."""
    way, inward = np.asarray(e.direction, float), np.asarray(e.inward, float)
    base = float(np.dot(e.start, way))
    near = [
        p
        for p in stage.deck_of(*AT_JOIST_LEVEL, "guard post", "stair header")
        if in_plan.reach(p, inward)[0] < float(np.dot(e.start, inward)) + _INSIDE
        and (p.role == "guard post" or abs(float(in_plan.plan_axis(p) @ inward)) > 0.9)
    ]
    boards = [p for p in stage.deck_of("board") if abs(float(in_plan.plan_axis(p) @ inward)) > 0.9]
    ends = [s for p in stage.deck_of("border", "fascia", "rim") for s in in_plan.reach(p, way)]
    stairs = [p for p in stage.parts if p.stair is not None]
    for t in sorted(_STATIONS, key=lambda t: abs(t - 0.5)):
        s = base + e.length * float(t)
        if _covers(near, way, s) or any(abs(s - end) < 1 for end in ends):
            continue
        if boards and not _covers(boards, way, s, -0.5):
            continue
        x, y = e.point(e.length * float(t), -8.0)
        if any(p.box[0, 0] < x < p.box[1, 0] and p.box[0, 1] < y < p.box[1, 1] for p in stairs):
            continue
        return e.length * float(t)
    return None


def breaker(stage: Stage) -> Detail | None:
    """The breaker in section with the ends of the field's boards beside it and what carries both."""
    for part in stage.deck_of("breaker"):
        along = in_plan.plan_axis(part)
        across = in_plan.square(along)
        lo, hi = in_plan.reach(part, along)
        rows = [
            sum(in_plan.reach(p, along)) / 2
            for p in stage.deck_of("board")
            if abs(float(in_plan.plan_axis(p) @ across)) > 0.9
            and in_plan.overlap(
                in_plan.reach(p, across), tuple(s + g for s, g in zip(in_plan.reach(part, across), (-1, 1)))
            )
            > 0
        ]
        rows = [s for s in rows if lo + 6 < s < hi - 6 and not _lengthwise(stage, along, across, part, s)] or rows
        if rows:
            s = min(rows, key=lambda s: abs(s - (lo + hi) / 2))
            at = along * s + across * (sum(in_plan.reach(part, across)) / 2)
            return _joint(stage, at, along, "Breaker", ("breaker", "board"))
    return None


def _lengthwise(stage: Stage, along: np.ndarray, across: np.ndarray, part: Part, s: float) -> bool:
    """Whether a section square to a breaker would cut a piece of the frame along its grain."""
    reach = in_plan.reach(part, across)
    return _covers(
        [
            p
            for p in stage.deck_of(*AT_JOIST_LEVEL)
            if abs(float(in_plan.plan_axis(p) @ across)) > 0.9
            and in_plan.overlap(in_plan.reach(p, across), (reach[0] - _BESIDE, reach[1] + _BESIDE)) > 0
        ],
        along,
        s,
    )


def butt_joint(stage: Stage) -> Detail | None:
    """A joint of two boards of one row over what carries both ends; None where every row is one board."""
    rows: dict[tuple, list[Part]] = {}
    for p in stage.deck_of("board"):
        a = in_plan.plan_axis(p)
        rows.setdefault((*np.round(a, 3), round(sum(in_plan.reach(p, in_plan.square(a))) / 2, 1)), []).append(p)
    found = []
    for row in rows.values():
        a = in_plan.plan_axis(row[0])
        row.sort(key=lambda p: in_plan.reach(p, a)[0])
        for p, q in itertools.pairwise(row):
            end, start = in_plan.reach(p, a)[1], in_plan.reach(q, a)[0]
            if -0.01 < start - end < _JOINT:
                found.append((p, (end + start) / 2))
    if not found:
        return None
    part, s = found[len(found) // 2]
    a = in_plan.plan_axis(part)
    n = in_plan.square(a)
    at = a * s + n * (sum(in_plan.reach(part, n)) / 2)
    return _joint(stage, at, n, "Butt joint of boards", ("board",))


def _joint(stage: Stage, at: np.ndarray, look: np.ndarray, title: str, over: tuple[str, ...]) -> Detail:
    """A section square to `look` through a place of the surface where boards end."""
    plane = Plane((float(at[0]), float(at[1])), (float(look[0]), float(look[1])))
    u = float(np.dot(at, plane.view.right[:2]))
    low, high = _heights(stage)
    work = _section(stage, plane, (u - _BESIDE, low, u + _BESIDE, high))
    carried = ("joist", "rim", *in_group("blocking"))

    def annotate(stage: Stage, view: d.View, work: Linework) -> None:
        strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
        strings.chain("right", [(work.box[2], z) for z in (stage.surface_top, stage.frame_top, low + _UNDER)])
        top = cut_boxes(work, *over)
        ends = [x for b, _ in top for x in (b[0], b[2]) if abs(x - u) < _BESIDE - 0.5]
        strings.chain("above", [(x, work.box[3]) for x in ends])
        carriers = [(b, p) for b, p in cut_boxes(work, *carried) if b[2] - b[0] < 2 and b[3] > stage.frame_top - 0.1]
        strings.chain("below", [(x, work.box[1]) for b, _ in carriers for x in (b[0], b[2])])
        bears = _bearings([b for b, p in top if p.role == "board"], [b for b, _ in carriers], u)
        bearing = f", END BEARS {stage.inch(min(bears))}" if bears else ""
        note(view, cut_boxes(work, "breaker"), lambda p: f"{stage.stock(p.stock)} BREAKER")
        note(view, cut_boxes(work, "board"), lambda p: f"{stage.stock(p.stock)} SURFACE BOARD{bearing}")
        for role in carried:
            some = [(b, p) for b, p in carriers if p.role == role]
            note(view, some, lambda p: f"{stage.stock(p.stock)} {p.role.upper()}", (0.5, 0.4))

    return Detail(title, work, "section", annotate, None, "", (1.7, 0.2), "lr")


def _bearings(boards: list[d.Box], carriers: list[d.Box], u: float) -> list[float]:
    """How much of the end of each board that ends near `u` lies on what carries it, inches."""
    out = []
    for b in boards:
        end = b[2] if abs(b[2] - u) < abs(b[0] - u) else b[0]
        on = [in_plan.overlap((b[0], b[2]), (c[0], c[2])) for c in carriers if c[0] - 2 < end < c[2] + 2]
        if abs(end - u) < _BESIDE - 0.5 and max(on, default=0.0) > 0:
            out.append(max(on))
    return out
