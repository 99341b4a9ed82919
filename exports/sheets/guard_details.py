"""Details of guard and border: guard post, border corner with its blocking, baluster spacing."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from shapely import Point
from shapely import box as square

from ...model.plan.edges import Edge
from ...model.solid.roles import in_group
from ..drafting import drawing as d
from ..linework.eye import Eye
from ..linework.views import Linework, project
from . import in_plan
from .crop import cropped
from .detail import Detail, names, note
from .hardware import bolt, limit_row
from .hardware_shapes import bolt as bolted
from .pens import name_of
from .sections import Plane, cut_boxes
from .stage import SURFACE, Stage
from .strings import Strings
from .surface_plan import overhangs


def guard_post(stage: Stage) -> Detail | None:
    posts = [p for p in stage.of("guard post") if p.stair is None and p.edge]
    posts = [p for p in posts if not stage.edge(p.edge).house]
    if not posts:
        return None

    def corner(p):  # how near the ends of its edge it stands
        e = stage.edge(p.edge)
        a = float(np.dot(np.subtract(in_plan.centre(p), e.start), e.direction))
        return -min(a, e.length - a)

    part = min(posts, key=corner)
    e = stage.edge(part.edge)
    look = e.direction
    c = in_plan.centre(part)
    plane = Plane(c, (float(look[0]), float(look[1])))
    near = [
        p
        for p in stage.parts
        if p.stair is None and in_plan.overlap(in_plan.reach(p, e.direction), in_plan.reach(part, e.direction)) > -30
    ]
    u = float(np.dot(c, plane.view.right[:2]))
    low = float(part.box[0, 2])
    work = cropped(project(near, plane.view, beyond=12), (u - 13, low - 4, u + 13, stage.surface_top + 10))

    def annotate(stage, view, work):
        load = limit_row(stage, "guard_handrail_concentrated_load")
        hold = limit_row(stage, "guard_post_holddown_capacity_min")
        strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
        strings.chain("right", [(work.box[2], z) for z in (low, stage.frame_top, stage.surface_top)])
        boxes = cut_boxes(work, "guard post")
        strings.chain("below", [(x, work.box[1]) for b, _ in boxes[:1] for x in (b[0], b[2])])
        told = f"TO RESIST {f'{load.value:g} LB' if load else 'THE RAIL LOAD'} AT THE TOP RAIL"
        note(view, boxes, f"{stage.stock(part.stock)} GUARD POST, {told}", (0.5, 0.75))
        least = f"OF AT LEAST {hold.value:g} LB " if hold else ""
        bolts = f"TWO {bolt(stage, 'guard-post bolt')} BOLTS AND TENSION DEVICE {least}TO THE FRAME"
        view.add(names("bolt", bolts, (u, low + 2)))
        blocks = cut_boxes(work, "post blocking", "blocking", "border blocking")
        note(view, blocks, "BLOCKING FOR THE POST", (0.5, 0.3))
        note(view, cut_boxes(work, "joist"), lambda p: f"{stage.stock(p.stock)} JOIST", (0.5, 0.3))
        note(view, cut_boxes(work, "rim"), lambda p: f"{stage.stock(p.stock)} RIM", (0.5, 0.2), -1)
        note(view, cut_boxes(work, "border", "board"), "BOARD NOTCHED ROUND THE POST")

    return Detail(
        "Guard post", work, "section", annotate, lambda stage, scale: _bolts(work), "", (1.7, 0.2), open_sides="lrt"
    )


def _bolts(work: Linework) -> list[d.AnyItem]:
    """The bolts through rim and post where the section cuts both."""
    posts, rims = cut_boxes(work, "guard post"), cut_boxes(work, "rim")
    if not posts or not rims:
        return []
    post = posts[0][0]
    rim = min((b for b, _ in rims), key=lambda b: abs(b[0] + b[2] - post[0] - post[2]))
    a, b = sorted((min(post[0], rim[0]), max(post[2], rim[2])), reverse=rim[0] > post[0])
    return [i for z in (rim[1] + 2, rim[3] - 2) for i in bolted((a, z), (b, z), "bolt")]


def border_corner(stage: Stage) -> Detail | None:
    """The sharpest free corner of the border with the blocking under it, in plan."""
    borders = [p for p in stage.of("border") if p.stair is None]
    turn = _free_corner(stage) if borders else None
    if turn is None:
        return None
    after, before = turn
    x, y = map(float, after.start)
    width = borders[0].stock.width
    inward = np.asarray(after.inward) + np.asarray(before.inward)
    c = np.array([x, y]) + inward * (width + 4)
    half = 2.2 * width + 6
    window = (float(c[0] - half), float(c[1] - half), float(c[0] + half), float(c[1] + half))
    over = [p for p in stage.of(*SURFACE, "fascia", "guard post", "post sleeve") if p.stair is None]
    under = stage.deck_of("rim", "joist", *in_group("blocking"))
    work = project(_within(over, window), Eye.above(), under=_within(under, window))

    def annotate(stage, view, work):
        at_corner = sorted(_within(borders, window), key=lambda p: p.footprint.distance(Point(x, y)))[:2]
        if at_corner:
            _name_border(view, at_corner[0], window)
        _name_under_border(stage, view, (x, y), window)
        strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
        axis_edge = after if abs(after.direction[0]) > 0.999 else before
        if abs(axis_edge.direction[0]) > 0.999:
            outer = (
                min((p.footprint.bounds[1] for p in at_corner), default=y)
                if axis_edge.inward[1] > 0
                else max((p.footprint.bounds[3] for p in at_corner), default=y)
            )
            strings.chain("right", [(work.box[2], outer), (work.box[2], y)], suffix=" OVERHANG")
        return overhangs

    return Detail(
        "Border corner and its blocking",
        cropped(work, window),
        "plan",
        annotate,
        None,
        "DASHED: FRAME UNDER THE SURFACE.",
        open_sides="",
    )


def _free_corner(stage: Stage):
    """(edge after, edge before) of the corner between two free edges that turns most, up to square; None where all
    corners touch the house."""
    best = None
    for e in stage.edges:
        b = stage.deck.layout.outline.before(e)
        if not e.house and not b.house:
            turn = abs(stage.deck.layout.outline.turn(e))
            best = max(best or (0.0, e), (min(turn, 91), e), key=lambda x: x[0])
    return best and (best[1], stage.deck.layout.outline.before(best[1]))


def _within(pool, window: d.Box) -> list:
    """The pieces whose box in plan meets the window."""
    return [
        p
        for p in pool
        if p.footprint.bounds[0] < window[2]
        and p.footprint.bounds[2] > window[0]
        and p.footprint.bounds[1] < window[3]
        and p.footprint.bounds[3] > window[1]
    ]


def _name_border(view: d.View, part, window: d.Box) -> None:
    """A leader to a board of the border, and its width."""
    q = part.footprint.intersection(square(*window)).representative_point()
    view.add(d.Leader((q.x, q.y), "BORDER, MITRED ON THE BISECTOR", mark=name_of(part)))
    a = in_plan.square(in_plan.plan_axis(part))
    lo, hi = in_plan.reach(part, a)
    m = in_plan.plan_axis(part) * float(np.dot((q.x, q.y), in_plan.plan_axis(part)))
    p1, p2 = a * lo + m, a * hi + m
    view.add(d.Dimension(tuple(map(float, p1)), tuple(map(float, p2)), tuple(map(float, p1)), None))


def _name_under_border(stage: Stage, view: d.View, corner: d.Point, window: d.Box) -> None:
    """Leaders to what lies under the border and inside it, each to its piece nearest the corner."""
    for role, text in (
        ("border blocking", "BLOCKING UNDER THE BORDER'S INNER HALF AND THE FIELD ENDS (DASHED)"),
        ("rim", "RIM UNDER THE OUTER HALF (DASHED)"),
        ("board", "FIELD BOARDS"),
    ):
        pool = [p for p in _within(stage.deck_of(role), window) if p.footprint.intersection(square(*window)).area > 1]
        if pool:
            nearest = min(pool, key=lambda p: p.footprint.distance(Point(*corner)))
            q = nearest.footprint.intersection(square(*window)).representative_point()
            view.add(d.Leader((q.x, q.y), text, mark=name_of(nearest)))


def _covered(post, sleeves, axis) -> tuple[float, float]:
    """The reach of a guard post along its edge with the sleeve round it, if any: openings are clear of sleeves."""
    x, y = in_plan.centre(post)
    own = [s for s in sleeves if s.box[0, 0] < x < s.box[1, 0] and s.box[0, 1] < y < s.box[1, 1]]
    return in_plan.reach(own[0] if own else post, axis)


@dataclass(frozen=True)
class _SquareOn:
    """A guard bay seen square on: its edge, the reach of its two posts along that edge, and the pieces between them."""

    edge: Edge
    first: tuple[float, float]
    last: tuple[float, float]
    pieces: list

    def of(self, role: str) -> list:
        return [p for p in self.pieces if p.role == role]

    @property
    def eye(self) -> Eye:
        return Eye.looking(self.edge.inward)

    def flat(self, s: float) -> float:
        """Where a station of the edge lies across the view."""
        e, right = self.edge, self.eye.right[:2]
        return float(np.dot(np.asarray(e.direction) * s, right)) + float(
            np.dot(np.asarray(e.inward) * float(np.dot(e.start, e.inward)), right)
        )

    def spread(self, reach: tuple[float, float]) -> tuple[float, float]:
        """A reach along the edge as it lies across the view, left end first."""
        a, b = sorted(map(self.flat, reach))
        return a, b

    @property
    def posts(self) -> list[tuple[float, float]]:
        """Left and right post across the view."""
        return sorted(map(self.spread, (self.first, self.last)))

    @property
    def balusters(self) -> list[tuple[float, float]]:
        return sorted(self.spread(in_plan.reach(p, self.edge.direction)) for p in self.of("baluster"))

    @property
    def openings(self) -> list[tuple[float, float]]:
        """Clear of posts and balusters, from left to right."""
        left, right = self.posts
        return [(a[1], b[0]) for a, b in itertools.pairwise([left, *self.balusters, right])]


def narrowest_bay(stage: Stage) -> _SquareOn | None:
    """The narrowest bay on the edge with most balusters."""
    per_edge: dict[str, list] = {}
    for p in stage.of("baluster"):
        if p.stair is None and p.edge:
            per_edge.setdefault(p.edge, []).append(p)
    if not per_edge:
        return None
    name = max(per_edge, key=lambda k: len(per_edge[k]))
    e = stage.edge(name)

    def near_edge(p):
        return abs(float(np.dot(np.subtract(in_plan.centre(p), e.start), e.inward))) < 8

    sleeves = stage.of("post sleeve")
    stations = sorted(_covered(p, sleeves, e.direction) for p in stage.of("guard post") if near_edge(p))
    bays = [
        (a, b)
        for a, b in itertools.pairwise(stations)
        if any(a[1] - 1 < sum(in_plan.reach(q, e.direction)) / 2 < b[0] + 1 for q in per_edge[name])
    ]
    if not bays:
        return None
    first, last = min(bays, key=lambda b: b[1][0] - b[0][1])

    def inside(p):
        return in_plan.overlap(in_plan.reach(p, e.direction), (first[0] - 0.5, last[1] + 0.5)) > 0.1

    pieces = [
        p
        for p in stage.of(*(r for r in in_group("guards") if r != "handrail"))
        if p.stair is None and inside(p) and near_edge(p)
    ]
    return _SquareOn(e, first, last, pieces)


def balusters(stage: Stage) -> Detail | None:
    """One guard bay square on: every clear opening measured between neighbouring balusters and posts."""
    bay = narrowest_bay(stage)
    if bay is None:
        return None
    strip = [
        p
        for p in stage.of("border", "board", "rim", "fascia")
        if p.stair is None and p.edge == bay.edge.name and p.role in ("border", "rim", "fascia")
    ]
    work = project(bay.pieces + strip, bay.eye)
    u0, u1 = sorted((bay.flat(bay.first[0]), bay.flat(bay.last[1])))
    z0 = float(min(p.box[0, 2] for p in strip or bay.pieces)) - 1
    window = (u0 - 4, z0, u1 + 4, float(max(p.box[1, 2] for p in bay.pieces)) + 1)

    def annotate(stage, view, work):
        _measure_openings(stage, view, bay, z0)
        _measure_rails(stage, view, work, bay, (u0 + u1) / 2)

    return Detail(
        "Guard and baluster spacing",
        cropped(work, window),
        "elevation",
        annotate,
        None,
        _openings_told(stage, bay),
        (0.6, 0.1),
        "lr",
        16.0,
    )


def _measure_openings(stage: Stage, view: d.View, bay: _SquareOn, base: float) -> None:
    """The first openings and the last, all of them together, and how many with the greatest; strings hang from
    `base`."""
    low = bay.of("bottom rail")
    z = float(low[0].box[1, 2]) if low else stage.surface_top + 6
    gaps, ends = bay.openings, bay.posts
    for n, (a, b) in enumerate(gaps):
        if n < 2 or n == len(gaps) - 1:
            view.add(d.Dimension((a, z), (b, z), (a, base - 0.3 * view.scale), 0.0))
    view.add(
        d.Dimension(
            (ends[0][1], z),
            (ends[1][0], z),
            (0.0, base - 0.68 * view.scale),
            0.0,
            suffix=" CLEAR BETWEEN POSTS",
        )
    )


def _openings_told(stage: Stage, bay: _SquareOn) -> str:
    sphere, gaps = limit_row(stage, "guard_opening_sphere"), bay.openings
    told = f"{len(gaps)} OPENINGS, GREATEST {stage.inch(max(b - a for a, b in gaps))} CLEAR"
    return told + (f"; MUST STOP A {stage.inch(sphere.value)} SPHERE." if sphere else ".")


def _measure_rails(stage: Stage, view: d.View, work, bay: _SquareOn, middle: float) -> None:
    """Heights of the rails over the surface, and their names either side of the bay's `middle`."""
    low, rail = bay.of("bottom rail"), bay.of("top rail")
    strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
    heights = (
        [stage.surface_top]
        + ([float(low[0].box[0, 2])] if low else [])
        + ([float(max(p.box[1, 2] for p in rail))] if rail else [])
    )
    strings.chain("right", [(work.box[2], h) for h in heights])
    if rail:
        strings.chain("right", [(work.box[2], stage.surface_top), (work.box[2], heights[-1])], suffix=" GUARD")
    for name, pieces, aside in (("TOP", rail, -6), ("BOTTOM", low, 6)):
        if pieces:
            view.add(
                d.Leader(
                    (middle + aside, float(pieces[0].box[:, 2].mean())),
                    f"{stage.stock(pieces[0].stock)} {name} RAIL",
                    mark=name_of(pieces[0]),
                )
            )
