"""S-5xx: details at larger scale, each a window of a view cut from this deck's own pieces."""

from __future__ import annotations

from collections.abc import Callable

from ..drafting import drawing as d
from ..drafting import style
from ..drafting.symbols import break_line
from .detail import Detail
from .frame_details import beam_on_post, knee_brace, post_on_footing
from .guard_details import balusters, border_corner, guard_post
from .guard_holds import guard_holds, rail_at_post
from .pens import items
from .pointing import on_what_they_name
from .stage import Stage
from .stair_details import stair_foot, stair_top
from .surface_details import breaker, butt_joint, surface_edge
from .wall_details import ledger, tied_back


def collect(stage: Stage) -> list[Detail]:
    made = [
        ledger(stage),
        tied_back(stage),
        beam_on_post(stage),
        post_on_footing(stage),
        knee_brace(stage),
        guard_post(stage),
        *guard_holds(stage),
        balusters(stage),
        rail_at_post(stage),
        stair_top(stage),
        stair_foot(stage),
        border_corner(stage),
        surface_edge(stage),
        breaker(stage),
        butt_joint(stage),
    ]
    return [m for m in made if m is not None]


def grid(room: d.Box, count: int) -> list[d.Box]:
    """The rooms of one sheet for its share of `count` details, read from the top left: as few sheets as have rooms
    large enough to be read, evenly filled."""
    wide, high = room[2] - room[0], room[3] - room[1]
    shapes = [(3, 2), (4, 2), (4, 3), (5, 3)] if wide > 25 else [(3, 2)] if wide > 11 else [(2, 1)]
    most = shapes[-1][0] * shapes[-1][1]
    each = -(-count // -(-count // most))
    columns, rows = next(s for s in shapes if s[0] * s[1] >= each)
    w, h = wide / columns, high / rows
    return [
        (room[0] + c * w, room[3] - (r + 1) * h, room[0] + (c + 1) * w, room[3] - r * h)
        for r in range(rows)
        for c in range(columns)
    ][:each]


def build(stage: Stage, made: list[Detail] | None = None) -> list[d.Sheet]:
    made = collect(stage) if made is None else made
    rooms = grid(style.room(stage.paper), max(len(made), 1))
    places = [(n // len(rooms), rooms[n % len(rooms)]) for n, _ in enumerate(made)]
    return lay_out(stage, made, places, lambda n: f"S-{501 + n}", "DETAILS", pointed=True)


def lay_out(
    stage: Stage,
    made: list[Detail],
    places: list[tuple[int, d.Box]],
    number: Callable[[int], str],
    name: str,
    pointed: bool = False,
) -> list[d.Sheet]:
    """Details numbered from 1, each in its place: which sheet, in rising order, and the room on it; the n-th of the
    sheets is called `number(n)`. `pointed`: every note says what it names, and is moved on to it."""
    out: list[d.Sheet] = []
    for n, detail in enumerate(made):
        which, room = places[n]
        if which == len(out):
            out.append(stage.sheet(number(which), name))
        room = (room[0] + 0.1, room[1], room[2] - 0.1, room[3] - 0.15)
        lines = items(detail.work, detail.kind)

        def draw(scale: float) -> d.View:
            view = d.View(detail.title, scale, [*(detail.before(stage, scale) if detail.before else []), *lines])
            _breaks(view, detail)
            detail.annotate(stage, view, detail.work)
            if pointed:
                on_what_they_name(view)
            return view

        view = stage.fitted(draw, detail.box, room, detail.at_most, detail.spare, on_leaders=detail.on_leaders)
        stage.place(out[-1], view, room, detail.title, str(n + 1), detail.note)
    return out


def _breaks(view: d.View, detail: Detail) -> None:
    x0, y0, x1, y1 = detail.work.box
    over = 0.08 * view.scale
    for side, a, b in (
        ("l", (x0, y0 - over), (x0, y1 + over)),
        ("r", (x1, y0 - over), (x1, y1 + over)),
        ("b", (x0 - over, y0), (x1 + over, y0)),
        ("t", (x0 - over, y1), (x1 + over, y1)),
    ):
        if side in detail.open_sides:
            view.add(*break_line(a, b, view.scale))
