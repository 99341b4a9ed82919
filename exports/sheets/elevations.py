"""A-2xx: elevations from the free sides, hidden lines removed, grade, heights of surface and guard above it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry.base import BaseGeometry

from ..drafting import drawing as d
from ..drafting import style
from ..linework.eye import Eye
from ..linework.views import SEEN, Linework, ViewLine, project
from . import in_plan
from .askew import askew
from .corner_heights import CornerHeight, guard_height, surface_heights
from .ground import ground_items, level_mark
from .house import SLIGHT, hidden_from, house_before, shown_between, without_hidden
from .house_beyond import behind_the_deck, walls_beyond
from .landings_drawn import landings, stairs_with_landings
from .pens import Ground, items, name_of
from .sections import spread
from .stage import Stage
from .strings import Strings

LOOKS = {
    "FRONT": (0.0, 1.0),
    "LEFT": (1.0, 0.0),
    "RIGHT": (-1.0, 0.0),
    "BACK": (0.0, -1.0),
}  # of a deck square to the sheet
FACES = 0.7  # cosine between an edge's way out and the eye from which the edge faces it
GRADE_OFF = 1.0  # inches off the line of grade from which concrete shows its own grade; our own
GRADE_BESIDE = 4.0  # inches that this goes on beside it; our own
WALL_OVER = 12.0  # inches that the line of the house wall goes on over all that is drawn
BREAK_OVER = 0.13  # paper inches over all that is drawn at which a wall behind the deck is broken off; our own
ONE_LEVEL = 1 / 16  # inches within which undersides of footings have one level on paper
_GROUND_ON = 18.0  # inches that grade is drawn on past all that is seen
_BESIDE = (3.0, 2.0)  # paper inches that strings, levels and the title of an elevation take, in width and height
_BESIDE_SMALL = (2.3, 1.4)  # the same on a small paper, where less stands beside it
WORTH_SHOWING = 24.0  # inches of free edge seen beside the house for which a side is drawn; our own


def sides(stage: Stage) -> list[str]:
    """Of front, left, right and back those from which a free edge is seen past the house, or which no house edge
    faces."""
    looks = {name: look_from(stage, name) for name in LOOKS}
    return [name for name, look in looks.items() if not _faced(stage, look, house=True) or _free_edge_seen(stage, look)]


def look_from(stage: Stage, side: str) -> d.Point:
    """The way the eye of a side looks: square to the deck's own edges, however it lies on the sheet."""
    return askew(stage).back(LOOKS[side])


def _faced(stage: Stage, look: tuple[float, float], house: bool) -> list:
    """The house edges or the free ones of the outline that look to where the eye of a side stands."""
    return [e for e in stage.edges if e.house == house and float(np.dot(e.inward, look)) > FACES]


def _free_edge_seen(stage: Stage, look: tuple[float, float]) -> bool:
    eye = Eye.looking(look)
    wall = house_before(stage, eye)
    for e in _faced(stage, look, house=False):
        (a, da), (b, db) = (
            (float(np.dot(p, eye.right[:2])), float(np.dot(p, eye.toward[:2]))) for p in (e.start, e.end)
        )
        shown = shown_between(hidden_from(wall, max(da, db)))
        if sum(max(0.0, in_plan.overlap(s, (min(a, b), max(a, b)))) for s in shown) > WORTH_SHOWING:
            return True
    return False


def build(stage: Stage) -> list[d.Sheet]:
    """As many elevations on a sheet, in two rows, as are large enough to be read there; where one comes out smaller
    all the same, each has a sheet of its own."""
    views = sides(stage)
    made = _laid(stage, _on_sheets(stage, views))
    if any(p.view.scale > _least_scale(stage) for s in made if len(s.viewports) > 1 for p in s.viewports):
        gone = {id(s) for s in made}
        stage.drawing.sheets[:] = [s for s in stage.drawing.sheets if id(s) not in gone]
        made = _laid(stage, [{side: style.room(stage.paper)} for side in views])
    return made


def _laid(stage: Stage, sheets: Sequence[dict[str, d.Box]]) -> list[d.Sheet]:
    """The elevations drawn in their rooms, all of a sheet at the scale that the largest of them has room for."""
    out: list[d.Sheet] = []
    for together in sheets:
        name = "ELEVATIONS" if len(together) > 1 else f"{next(iter(together))} ELEVATION"
        out.append(stage.sheet(f"A-{201 + len(out)}", name))
        made = {side: _elevation(stage, side, room, stage.of_plans) for side, room in together.items()}
        alike = max(drawn.view.scale for drawn in made.values())
        for n, (side, room) in enumerate(together.items(), 1):
            drawn = made[side] if made[side].view.scale == alike else _elevation(stage, side, room, alike)
            stage.place(out[-1], drawn.view, room, f"{side.title()} elevation", str(n), drawn.note)
    return out


def _least_scale(stage: Stage) -> float:
    """The smallest scale of elevations that share a sheet: 1/4 in = 1 ft, or 1:50; on a paper as a printer has it 1/8
    in = 1 ft, or 1:100; or the one the office asks for."""
    if asked := stage.deck.parameters.drawing.asked_scale:
        return asked
    return (50.0 if stage.metric else 48.0) * (2 if stage.small else 1)


def _on_sheets(stage: Stage, views: Sequence[str]) -> list[dict[str, d.Box]]:
    """The rooms of the elevations of each sheet: of those that have room, with their strings and levels, at that scale
    or larger two rows, evenly filled; where one is too high for that, each has a sheet of its own."""
    room = style.room(stage.paper)
    x0, y0, x1, y1 = room
    least, middle, beside = _least_scale(stage), (y0 + y1) / 2, _BESIDE_SMALL if stage.small else _BESIDE
    boxes = {side: _seen(stage, side)[2].box for side in views}
    needs = {side: (b[2] - b[0] + 2 * _GROUND_ON) / least + beside[0] for side, b in boxes.items()}
    if any((b[3] - b[1]) / least + beside[1] > middle - y0 for b in boxes.values()) or max(needs.values()) > x1 - x0:
        return [{side: room} for side in views]
    rows: list[list[str]] = [[]]
    for side in views:
        if len(rows[-1]) == -(-len(views) // 2) or sum(needs[s] for s in [*rows[-1], side]) > x1 - x0:
            rows.append([])
        rows[-1].append(side)
    sheets = []
    for k in range(0, len(rows), 2):
        sheet: dict[str, d.Box] = {}
        for row, (low, high) in zip(rows[k : k + 2], ((middle, y1), (y0, middle))):
            spare, left = (x1 - x0 - sum(needs[s] for s in row)) / len(row), x0
            for side in row:
                sheet[side] = (left, low, left + needs[side] + spare, high)
                left += needs[side] + spare
        sheets.append({next(iter(sheet)): room} if len(sheet) == 1 else sheet)
    return sheets


def _seen(stage: Stage, side: str) -> tuple[Eye, BaseGeometry, Linework]:
    """From a side: the eye, the house before the deck, and what is seen. Made once."""

    def make() -> tuple[Eye, BaseGeometry, Linework]:
        eye = Eye.looking(look_from(stage, side))
        wall = house_before(stage, eye)
        return eye, wall, without_hidden(project(stage.parts, eye), wall)

    return stage.once(("elevation", side), make)


@dataclass(frozen=True)
class _Drawn:
    """An elevation with what is noted under it."""

    view: d.View
    note: str


def _elevation(stage: Stage, side: str, room: d.Box, at_most: float) -> _Drawn:
    """At the largest scale for which its room is large enough, or `at_most`."""
    look = look_from(stage, side)
    eye, wall, work = _seen(stage, side)
    ground = stage.ground(eye, _front_corner(stage, look))
    u0, _, u1, _ = work.box

    def own_ground(depth: float) -> Ground:
        return stage.ground(eye, depth * np.asarray(eye.toward[:2]))

    short = _own_grade(work, ground, own_ground)
    lines = [*items(work, "elevation", own_ground=own_ground), *short]

    def draw(scale: float) -> d.View:
        view = d.View(
            f"{side.lower()} elevation",
            scale,
            [*ground_items(stage, ground, u0 - _GROUND_ON, u1 + _GROUND_ON, scale), *lines],
        )
        _heights(stage, view, work, eye, wall)
        _house(stage, view, work, eye, wall, ground)
        _braces(stage, view, work)
        return view

    note = "WHAT IS UNDER GRADE IS DASHED. HEIGHTS FROM GRADE AT CORNERS."
    return _Drawn(
        stage.fitted(draw, work.box, room, at_most, (0.8, 0.2), plan=True),
        note + (" SHORT LINES: GRADE AT THAT CONCRETE." if short else ""),
    )


def _braces(stage: Stage, view: d.View, work: Linework) -> None:
    """One leader to the knee braces seen along their beam; all are alike but for their legs."""
    seen: dict[str, list[ViewLine]] = {}
    for line in work.lines:
        if line.part.role == "knee brace" and line.kind == SEEN:
            seen.setdefault(line.part.id, []).append(line)
    slanted = [max(lines, key=lambda l: math.dist(l.a, l.b)) for lines in seen.values()]
    slanted = [l for l in slanted if abs(l.a[0] - l.b[0]) > 1.0 and abs(l.a[1] - l.b[1]) > 1.0]
    tips = [((l.a[0] + l.b[0]) / 2, (l.a[1] + l.b[1]) / 2) for l in slanted]
    if tips:
        part = slanted[0].part
        words = f"KNEE BRACE {stage.stock(part.stock)}{', TYP.' if len(tips) > 1 else ''}"
        view.add(d.Leader(tips[0], words, tips=tips[1:], mark=name_of(part)))


def _own_grade(work: Linework, ground: Ground, own_ground: Callable[[float], Ground]) -> list[d.AnyItem]:
    """On a slope a short line of grade at concrete that stands up where the line of grade, which is that at the corner
    of the deck nearest the eye, does not lie: at the nearest of those behind one another."""
    found: dict[str, list[ViewLine]] = {}
    for l in work.lines:
        if l.part.role in ("footing", "pad") and l.kind == SEEN:
            found.setdefault(l.part.id, []).append(l)
    pieces = [(sum(l.depth for l in lines) / len(lines), lines) for lines in found.values()]
    out: list[d.AnyItem] = []
    taken: list[tuple[float, float]] = []
    for depth, lines in sorted(pieces, key=lambda piece: -piece[0]):
        us, own = [u for l in lines for u in (l.a[0], l.b[0])], own_ground(depth)
        a, b = min(us) - GRADE_BESIDE, max(us) + GRADE_BESIDE
        off = max(abs(own(u) - ground(u)) for u in (a, b)) > GRADE_OFF
        if off and all(in_plan.overlap((a, b), other) <= 0 for other in taken):
            taken.append((a, b))
            out.append(d.Line((a, own(a)), (b, own(b)), layer="C-TOPO"))
    return out


def _front_corner(stage: Stage, look) -> tuple[float, float]:
    """The corner of the outline nearest the eye."""
    corners = [tuple(map(float, e.start)) for e in stage.edges]
    return min(corners, key=lambda p: p[0] * look[0] + p[1] * look[1])


def _heights(stage: Stage, view: d.View, work: Linework, eye: Eye, wall: BaseGeometry) -> None:
    """Surface above grade at every corner seen from this side; guard height; levels at the right; overall length."""
    scale = view.scale
    toward = np.asarray(eye.toward[:2])
    corners: dict[float, tuple[float, float, float]] = {}
    for e in stage.edges:
        x, y = map(float, e.start)
        u = round(float(np.dot((x, y), eye.right[:2])), 3)
        depth = float(np.dot((x, y), toward))
        if _behind(wall, u, depth):
            continue
        if u not in corners or depth > corners[u][0]:
            corners[u] = (depth, x, y)
    us = sorted(corners)
    seen = [CornerHeight(u, stage.grade(*corners[u][1:]), stage.surface_top) for u in us]
    surface_heights(stage, view, work, seen)
    rails = [p for p in stage.of("top rail") if p.stair is None]
    if rails:
        top = float(max(p.box[1, 2] for p in rails))
        guard_height(stage, view, work, seen, top)
    strings = Strings(view, work.box, spacing=stage.string_spacing)
    strings.chain("below", [(u, work.box[1]) for u in us])
    if len(us) > 2:
        strings.chain("below", [(us[0], work.box[1]), (us[-1], work.box[1])])
    rows = [("T.O. SURFACE", stage.surface_top), *_landings(stage)]
    if rails:
        rows.append(("T.O. GUARD", top))
    if us:
        _, x, y = corners[us[-1]]
        rows.append(("GRADE", stage.grade(x, y)))
    house = stage.deck.parameters.house
    levels = (("DOOR SILL", house.sill), ("FLOOR OF THE HOUSE", house.floor))
    if walls_beyond(stage, eye):
        rows += [(name, z) for name, z in levels if z is not None]
    feet = stage.of("footing")
    if feet:
        low = [float(f.box[0, 2]) for f in feet]
        rows.append(("B.O. FOOTING" if max(low) - min(low) < ONE_LEVEL else "B.O. LOWEST FOOTING", min(low)))
    for name, (z, shown) in spread(rows, 0.28 * scale):
        view.add(*level_mark(stage, name, z, work.box[2] + 1.1 * scale, shown, scale, work.box[2]))


def _landings(stage: Stage) -> list[tuple[str, float]]:
    """The levels of the stairs' framed landings, those at one level together."""
    found: dict[float, tuple[float, list[str]]] = {}
    for stair in stairs_with_landings(stage):
        of = f"STAIR {stair + 1} " if len(stage.seen.stairs) > 1 else ""
        for l in landings(stage, stair):
            if l.frame:
                found.setdefault(round(l.top, 2), (l.top, []))[1].append(f"{of}LANDING {l.number}")
    return [(f"T.O. {', '.join(names)}", z) for z, names in found.values()]


def _behind(wall: BaseGeometry, u: float, depth: float) -> bool:
    """Whether the house stands before a place of the view, past the edge of its wall."""
    return any(a + SLIGHT < u < b - SLIGHT for a, b in hidden_from(wall, depth))


def _house(stage: Stage, view: d.View, work: Linework, eye: Eye, wall: BaseGeometry, ground: Ground) -> None:
    """The house wall seen on edge, where a house edge runs away from the eye and nothing of the deck stands before it;
    a house behind the deck as much as is seen of it."""
    right, toward = np.asarray(eye.right[:2]), np.asarray(eye.toward[:2])
    corners = [(float(np.dot(e.start, right)), float(np.dot(e.start, toward))) for e in stage.edges]
    walls: list[float] = []
    hides = any(_behind(wall, u, depth) for u, depth in corners)
    words = "EXISTING HOUSE WALL" + ("; THE REST OF THE DECK LIES BEHIND THE HOUSE" if hides else "")
    for e in stage.house_edges:
        gap = stage.deck.parameters.frame.house_gap if not stage.of("ledger") else 0.0
        n = -np.asarray(e.inward)
        across = float(np.dot(n, right))
        if abs(across) > 0.999:
            u = float(np.dot(e.start, right)) + across * gap
            depth = max(float(np.dot(p, toward)) for p in (e.start, e.end))
            if not _behind(wall, u, depth):
                walls.append(u)
                low = max([ground(u), *_tops_before(stage, eye, u, depth)])
                view.add(d.Line((u, low), (u, work.box[3] + WALL_OVER), layer="A-WALL"))
                view.add(d.Leader((u, work.box[3] - 6), words))
    beyond = walls_beyond(stage, eye)
    if beyond:
        top = work.box[3] + BREAK_OVER * view.scale
        view.add(*behind_the_deck(stage, eye, beyond, wall, top, view.scale))
        # named over all that is drawn, where the break of one of the walls on edge does not stand
        middle = (max(work.box[0], beyond[0].low) + min(work.box[2], beyond[0].high)) / 2
        text = "EXISTING HOUSE WALL BEYOND" + ("; WHAT IS AT IT AS GIVEN" if any(w.openings for w in beyond) else "")
        over = 0.14 * view.scale  # clear of the break mark
        half = style.text_width(text, style.NOTE) / 2 * view.scale
        if any(abs(u - middle) < half + style.TEXT_AIR * view.scale for u in walls):  # over the wall's line, then
            over = max(over, work.box[3] + WALL_OVER + 0.1 * view.scale - top)
        at = (middle, top + over)
        view.add(d.Text(at, text, style.NOTE, "centre", "bottom", layer="A-ANNO-NOTE"))


def _tops_before(stage: Stage, eye: Eye, u: float, depth: float) -> list[float]:
    """The tops of the pieces that stand before the house wall at a place of the view."""
    return [
        float(p.box[1, 2])
        for p in stage.parts
        if in_plan.reach(p, eye.toward[:2])[1] > depth + SLIGHT
        and in_plan.reach(p, eye.right[:2])[0] + 1 < u < in_plan.reach(p, eye.right[:2])[1] - 1
    ]
