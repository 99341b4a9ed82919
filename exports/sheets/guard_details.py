"""Details of guard and border: guard post, border corner with its blocking, baluster spacing."""

from __future__ import annotations

import itertools

import numpy as np
from shapely import Point
from shapely import box as square

from ...model.solid.roles import in_group
from ..drafting import drawing as d
from ..linework.eye import View
from ..linework.views import project
from . import reading
from .crop import cropped
from .detail import Detail, note
from .hardware import bolt, limit_row
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
        a = float(np.dot(np.subtract(reading.centre(p), e.start), e.direction))
        return -min(a, e.length - a)

    part = min(posts, key=corner)
    e = stage.edge(part.edge)
    look = e.direction
    c = reading.centre(part)
    plane = Plane(c, (float(look[0]), float(look[1])))
    near = [
        p
        for p in stage.parts
        if p.stair is None and reading.overlap(reading.reach(p, e.direction), reading.reach(part, e.direction)) > -30
    ]
    work = project(near, plane.view, beyond=12)
    u = float(np.dot(c, plane.view.right[:2]))
    low = float(part.box[0, 2])
    window = (u - 13, low - 4, u + 13, stage.surface_top + 10)

    def annotate(stage, view, work):
        load, hold = (
            limit_row(stage, "guard_handrail_concentrated_load"),
            limit_row(stage, "guard_post_holddown_capacity_min"),
        )
        strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
        strings.chain("right", [(work.box[2], z) for z in (low, stage.frame_top, stage.surface_top)])
        if boxes := cut_boxes(work, "guard post"):
            strings.chain("below", [(x, work.box[1]) for x in (boxes[0][0][0], boxes[0][0][2])])
        boxes = cut_boxes(work, "guard post")
        note(
            view,
            boxes,
            f"{part.stock.name} GUARD POST, TO RESIST {f'{load.value:g} LB' if load else 'THE RAIL LOAD'} AT THE TOP"
            " RAIL",
            (0.5, 0.75),
        )
        view.add(
            d.Leader(
                (u, (low + stage.frame_top) / 2),
                f"TWO {bolt(stage)} BOLTS AND TENSION DEVICE"
                f" {f'OF AT LEAST {hold.value:g} LB ' if hold else ''}TO THE FRAME",
            )
        )
        blocks = cut_boxes(work, "post blocking", "blocking", "border blocking", "joist")
        note(view, blocks, "BLOCKING FOR THE POST", (0.5, 0.3))
        note(view, cut_boxes(work, "rim"), lambda p: f"{p.stock.name} RIM", (0.5, 0.2), -1)
        note(view, cut_boxes(work, "border", "board"), "BOARD NOTCHED ROUND THE POST")

    return Detail("Guard post", cropped(work, window), "section", annotate, None, "", (3.0, 0.3), "lrt")


def border_corner(stage: Stage) -> Detail | None:
    borders = [p for p in stage.of("border") if p.stair is None]
    if not borders:
        return None
    best = None
    for e in stage.edges:
        b = stage.deck.layout.outline.before(e)
        if not e.house and not b.house:
            turn = abs(stage.deck.layout.outline.turn(e))
            best = max(best or (0.0, e), (min(turn, 91), e), key=lambda x: x[0])
    if best is None:
        return None
    x, y = map(float, best[1].start)
    width = borders[0].stock.width
    e, b = best[1], stage.deck.layout.outline.before(best[1])
    inward = np.asarray(e.inward) + np.asarray(b.inward)
    c = np.array([x, y]) + inward * (width + 4)
    half = 2.2 * width + 6
    window = (float(c[0] - half), float(c[1] - half), float(c[0] + half), float(c[1] + half))
    over = [p for p in stage.of(*SURFACE, "fascia", "guard post", "post sleeve") if p.stair is None]
    under = stage.deck_of("rim", "joist", *in_group("blocking"))

    def near(pool):
        return [
            p
            for p in pool
            if p.footprint.bounds[0] < window[2]
            and p.footprint.bounds[2] > window[0]
            and p.footprint.bounds[1] < window[3]
            and p.footprint.bounds[3] > window[1]
        ]

    work = project(near(over), View.above(), under=near(under))

    def annotate(stage, view, work):
        corner = sorted(near(borders), key=lambda p: p.footprint.distance(Point(x, y)))[:2]
        if corner:
            q = corner[0].footprint.intersection(square(*window)).representative_point()
            view.add(d.Leader((q.x, q.y), "BORDER, MITRED ON THE BISECTOR", mark=name_of(corner[0])))
            a = reading.square(reading.plan_axis(corner[0]))
            lo, hi = reading.reach(corner[0], a)
            m = reading.plan_axis(corner[0]) * float(np.dot((q.x, q.y), reading.plan_axis(corner[0])))
            p1, p2 = a * lo + m, a * hi + m
            view.add(d.Dimension(tuple(map(float, p1)), tuple(map(float, p2)), tuple(map(float, p1)), None))
        for role, text in (
            ("border blocking", "BLOCKING UNDER THE BORDER'S INNER HALF AND THE FIELD ENDS (DASHED)"),
            ("rim", "RIM UNDER THE OUTER HALF (DASHED)"),
            ("board", "FIELD BOARDS"),
        ):
            pool = [p for p in near(stage.deck_of(role)) if p.footprint.intersection(square(*window)).area > 1]
            if pool:
                q = (
                    min(pool, key=lambda p: p.footprint.distance(Point(x, y)))
                    .footprint.intersection(square(*window))
                    .representative_point()
                )
                view.add(d.Leader((q.x, q.y), text))
        strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
        axis_edge = e if abs(e.direction[0]) > 0.999 else b
        if abs(axis_edge.direction[0]) > 0.999:
            outer = (
                min((p.footprint.bounds[1] for p in corner), default=y)
                if axis_edge.inward[1] > 0
                else max((p.footprint.bounds[3] for p in corner), default=y)
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


def _covered(post, sleeves, axis) -> tuple[float, float]:
    """The reach of a guard post along its edge with the sleeve round it, if any: openings are clear of sleeves."""
    x, y = reading.centre(post)
    own = [s for s in sleeves if s.box[0, 0] < x < s.box[1, 0] and s.box[0, 1] < y < s.box[1, 1]]
    return reading.reach(own[0] if own else post, axis)


def balusters(stage: Stage) -> Detail | None:
    """One guard bay square on: every clear opening measured between neighbouring balusters and posts."""
    per_edge: dict[str, list] = {}
    for p in stage.of("baluster"):
        if p.stair is None and p.edge:
            per_edge.setdefault(p.edge, []).append(p)
    if not per_edge:
        return None
    name = max(per_edge, key=lambda k: len(per_edge[k]))
    e = stage.edge(name)
    posts = [
        p for p in stage.of("guard post") if abs(float(np.dot(np.subtract(reading.centre(p), e.start), e.inward))) < 8
    ]
    sleeves = stage.of("post sleeve")
    stations = sorted(_covered(p, sleeves, e.direction) for p in posts)
    bays = [
        (a, b)
        for a, b in itertools.pairwise(stations)
        if any(a[1] - 1 < sum(reading.reach(q, e.direction)) / 2 < b[0] + 1 for q in per_edge[name])
    ]
    if not bays:
        return None
    first, last = min(bays, key=lambda b: b[1][0] - b[0][1])

    def inside(p):
        return reading.overlap(reading.reach(p, e.direction), (first[0] - 0.5, last[1] + 0.5)) > 0.1

    def near_edge(p):
        return abs(float(np.dot(np.subtract(reading.centre(p), e.start), e.inward))) < 8

    pool = [
        p
        for p in stage.of(*(r for r in in_group("guards") if r != "handrail"))
        if p.stair is None and inside(p) and near_edge(p)
    ]
    eye = View.looking(e.inward)
    strip = [
        p
        for p in stage.of("border", "board", "rim", "fascia")
        if p.stair is None and p.edge == name and p.role in ("border", "rim", "fascia")
    ]
    work = project(pool + strip, eye)

    def flat(s):
        return float(np.dot(np.asarray(e.direction) * s, eye.right[:2])) + float(
            np.dot(np.asarray(e.inward) * float(np.dot(e.start, e.inward)), eye.right[:2])
        )

    u0, u1 = sorted((flat(first[0]), flat(last[1])))
    z0 = float(min(p.box[0, 2] for p in strip or pool)) - 1
    window = (u0 - 4, z0, u1 + 4, float(max(p.box[1, 2] for p in pool)) + 1)

    def annotate(stage, view, work):
        bars = sorted(
            sorted((flat(a), flat(b))) for a, b in (reading.reach(p, e.direction) for p in pool if p.role == "baluster")
        )
        ends = [sorted((flat(a), flat(b))) for a, b in (first, last)]
        ends.sort()
        spans = [*([ends[0]]), *bars, *([ends[1]])]
        gaps = [(a[1], b[0]) for a, b in itertools.pairwise(spans)]
        low = [p for p in pool if p.role == "bottom rail"]
        z = float(low[0].box[1, 2]) if low else stage.surface_top + 6
        for n, (a, b) in enumerate(gaps):
            if n < 2 or n == len(gaps) - 1:
                view.add(d.Dimension((a, z), (b, z), (a, window[1] - 0.3 * view.scale), 0.0))
        view.add(
            d.Dimension(
                (ends[0][1], z),
                (ends[1][0], z),
                (0.0, window[1] - 0.68 * view.scale),
                0.0,
                suffix=" CLEAR BETWEEN POSTS",
            )
        )
        sphere = limit_row(stage, "guard_opening_sphere")
        clear = [b - a for a, b in gaps]
        mid = gaps[len(gaps) // 2]
        z_mid = z + 14
        view.add(
            d.Leader(
                ((mid[0] + mid[1]) / 2, z_mid),
                f"{len(bars)} BALUSTERS, {len(gaps)} OPENINGS, GREATEST {stage.inch(max(clear))} CLEAR"
                + (f"; A {stage.inch(sphere.value)} SPHERE MUST NOT PASS" if sphere else ""),
                head="dot",
            )
        )
        strings = Strings(view, work.box, 0.3, spacing=stage.string_spacing)
        rail = [p for p in pool if p.role == "top rail"]
        heights = (
            [stage.surface_top]
            + ([float(low[0].box[0, 2])] if low else [])
            + ([float(max(p.box[1, 2] for p in rail))] if rail else [])
        )
        strings.chain("right", [(work.box[2], h) for h in heights])
        if rail:
            strings.chain("right", [(work.box[2], stage.surface_top), (work.box[2], heights[-1])], suffix=" GUARD")
            view.add(
                d.Leader(
                    ((u0 + u1) / 2 - 6, float(rail[0].box[:, 2].mean())),
                    f"{rail[0].stock.name} TOP RAIL",
                    mark=name_of(rail[0]),
                )
            )
        if low:
            view.add(
                d.Leader(
                    ((u0 + u1) / 2 + 6, float(low[0].box[:, 2].mean())),
                    f"{low[0].stock.name} BOTTOM RAIL",
                    mark=name_of(low[0]),
                )
            )

    return Detail(
        "Guard and baluster spacing",
        cropped(work, window),
        "elevation",
        annotate,
        None,
        "OPENINGS MEASURED BETWEEN THE PIECES.",
        (2.4, 0.2),
        "lr",
        16.0,
    )
