"""A-2xx: elevations from the free sides, hidden lines removed, grade, heights of surface and guard above it."""

from __future__ import annotations

import numpy as np

from ..drafting import drawing as d
from ..drafting import style
from ..linework.eye import Eye
from ..linework.views import project
from .ground import ground_items, level_mark
from .landing_plan import landings, stairs_with_landings
from .pens import items
from .sections import spread
from .stage import Stage
from .strings import Strings

LOOKS = {"FRONT": (0.0, 1.0), "LEFT": (1.0, 0.0), "RIGHT": (-1.0, 0.0), "BACK": (0.0, -1.0)}  # the way each looks


def sides(stage: Stage) -> list[str]:
    """The sides seen from where no house stands in the way: front, left, right, and back of a deck without a house."""
    behind = set()
    for e in stage.house_edges:
        n = -np.asarray(e.inward)  # outwards, to the house
        behind |= {
            name for name, look in LOOKS.items() if float(np.dot(n, look)) < -0.7
        }  # the eye would stand in the house
    return [s for s in LOOKS if s not in behind]


def build(stage: Stage) -> list[d.Sheet]:
    """One elevation a sheet, or up to four on a large one."""
    out: list[d.Sheet] = []
    views = sides(stage)
    x0, y0, x1, y1 = style.room(stage.paper)
    if x1 - x0 > 25:
        u, v = (x0 + x1) / 2, (y0 + y1) / 2
        rooms = [(x0, v, u, y1), (u, v, x1, y1), (x0, y0, u, v), (u, y0, x1, v)]
    else:
        rooms = [(x0, y0, x1, y1)]
    for n, side in enumerate(views):
        if n % len(rooms) == 0:
            together = views[n : n + len(rooms)]
            out.append(stage.sheet(f"A-{201 + len(out)}", f"{side} ELEVATION" if len(together) == 1 else "ELEVATIONS"))
        _elevation(stage, out[-1], side, rooms[n % len(rooms)], str(n % len(rooms) + 1))
    return out


def _elevation(stage: Stage, sheet: d.Sheet, side: str, room: d.Box, number: str) -> None:
    eye = Eye.looking(LOOKS[side])
    work = project(stage.parts, eye)
    ground = stage.ground(eye, _front_corner(stage, LOOKS[side]))
    u0, _, u1, _ = work.box
    lines = items(work, "elevation", ground=ground)

    def draw(scale: float) -> d.View:
        view = d.View(
            f"{side.lower()} elevation", scale, [*ground_items(stage, ground, u0 - 18, u1 + 18, scale), *lines]
        )
        _heights(stage, view, work, eye)
        _house(stage, view, work, eye, ground)
        return view

    view = stage.fitted(draw, work.box, room, 24.0, (0.8, 0.2))
    stage.place(
        sheet,
        view,
        room,
        f"{side.title()} elevation",
        number,
        "HIDDEN LINES REMOVED; WHAT IS UNDER GRADE IS DASHED. HEIGHTS FROM GRADE AT EACH CORNER.",
    )


def _front_corner(stage: Stage, look) -> tuple[float, float]:
    """The corner of the outline nearest the eye."""
    corners = [tuple(map(float, e.start)) for e in stage.edges]
    return min(corners, key=lambda p: p[0] * look[0] + p[1] * look[1])


def _heights(stage: Stage, view: d.View, work, eye: Eye) -> None:
    """Surface above grade at every corner seen from this side; guard height; levels at the right; overall length."""
    scale = view.scale
    toward = np.asarray(eye.toward[:2])
    corners: dict[float, tuple[float, float, float]] = {}
    for e in stage.edges:
        x, y = map(float, e.start)
        u = round(float(np.dot((x, y), eye.right[:2])), 3)
        depth = float(np.dot((x, y), toward))
        if u not in corners or depth > corners[u][0]:
            corners[u] = (depth, x, y)
    us = sorted(corners)
    strings = Strings(view, work.box, spacing=stage.string_spacing)
    for u in us:
        _, x, y = corners[u]
        g = stage.grade(x, y)
        if u == us[0]:
            at = (work.box[0] - 0.45 * scale, 0.0)
        elif u == us[-1] and work.box[2] - u < 30:
            at = (work.box[2] + 0.45 * scale, 0.0)
        else:
            at = (u + 0.15 * scale, 0.0)
        if stage.surface_top - g > 1:
            view.add(d.Dimension((u, g), (u, stage.surface_top), at, 90.0))
    rails = [p for p in stage.of("top rail") if p.stair is None]
    if rails:
        top = float(max(p.box[1, 2] for p in rails))
        u = us[0] if us else work.box[0]
        view.add(
            d.Dimension((u, stage.surface_top), (u, top), (work.box[0] - 0.45 * scale, 0.0), 90.0, suffix=" GUARD")
        )
    strings.chain("below", [(u, work.box[1]) for u in us])
    if len(us) > 2:
        strings.chain("below", [(us[0], work.box[1]), (us[-1], work.box[1])])
    rows = [("T.O. SURFACE", stage.surface_top), *_landings(stage)]
    if rails:
        rows.append(("T.O. GUARD", top))
    if us:
        _, x, y = corners[us[-1]]
        rows.append(("GRADE", stage.grade(x, y)))
    feet = stage.of("footing")
    if feet:
        rows.append(("B.O. FOOTING", float(min(f.box[0, 2] for f in feet))))
    for name, (z, shown) in spread(rows, 0.28 * scale):
        view.add(*level_mark(stage, name, z, work.box[2] + 1.1 * scale, shown, scale, work.box[2]))


def _landings(stage: Stage) -> list[tuple[str, float]]:
    """The levels of the stairs' framed landings, those at one level together."""
    found: dict[float, list[str]] = {}
    for stair in stairs_with_landings(stage):
        of = f"STAIR {stair + 1} " if len(stage.seen.stairs) > 1 else ""
        for l in landings(stage, stair):
            if l.frame:
                found.setdefault(round(l.top, 2), []).append(f"{of}LANDING {l.number}")
    return [(f"T.O. {', '.join(names)}", z) for z, names in found.items()]


def _house(stage: Stage, view: d.View, work, eye: Eye, ground) -> None:
    """The house wall seen on edge at the side of the view, where a house edge runs away from the eye; else a note."""
    right, toward = np.asarray(eye.right[:2]), np.asarray(eye.toward[:2])
    beyond = False
    for e in stage.house_edges:
        gap = stage.deck.parameters.frame.house_gap if not stage.of("ledger") else 0.0
        n = -np.asarray(e.inward)
        across = float(np.dot(n, right))
        if abs(across) > 0.999:
            u = float(np.dot(e.start, right)) + across * gap
            view.add(d.Line((u, ground(u)), (u, work.box[3] + 12), layer="A-WALL"))
            view.add(d.Leader((u, work.box[3] - 6), "EXISTING HOUSE WALL"))
        elif float(np.dot(n, toward)) < -0.999:
            beyond = True
    if beyond:
        view.add(
            d.Text(
                ((work.box[0] + work.box[2]) / 2, work.box[3] + 0.25 * view.scale),
                "EXISTING HOUSE BEYOND, NOT SHOWN",
                style.NOTE,
                "centre",
                "bottom",
                layer="A-ANNO-NOTE",
            )
        )
