"""Stair cards: of every flight the headers and stringers to cut, and on a card of their own its treads, risers and
skirts, step by step, under its own name; of every landing its frame in plan with each post's mark, the levels of its
frame, and what its pieces are cut to."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

import numpy as np

from ...model.measuring.flight_seen import FlightSeen
from ...model.measuring.measure import Measured
from ...model.order.cuts import Cut, cut_list
from ...model.solid.part import Part
from ...model.solid.roles import named
from ..drafting import drawing as d
from ..drafting.annotate import place
from ..linework.eye import Eye
from ..sheets import in_plan
from ..sheets.datum import datum_told, place_text
from ..sheets.ground import signed
from ..sheets.landing_plan import LandingDrawn, landings, seen_at, seen_box, square_eye
from ..sheets.set_out_tables import stair_table
from ..sheets.stage import Stage
from .guard_card import rail
from .pages import PLAIN, Pages, fit
from .running import running

HEAD_OF_PIECES = ["PIECE", "MARK", "NO.", "STOCK", "CUT LENGTH", "WHERE"]
WIDTHS_OF_PIECES = [1.6, 1.0, 0.75, 1.4, 2.4, 2.4]
ALIGNS_OF_PIECES = "lcclll"
TRIM_OF_STAIRS = ("tread", *named("trim board"))


def build(stage: Stage) -> None:
    if not stage.seen.stairs:
        return
    cuts = {c.mark: c for c in cut_list(stage.measured_rows)}
    pages = Pages(stage, 350, "STAIRS")
    _set_out_from_o(stage, pages)
    for stair in stage.seen.stairs:
        rest = landings(stage, stair)
        for n, f in enumerate(stage.seen.flights(stair)):
            _flight(stage, pages, cuts, f)
            if n < len(rest) and rest[n].frame:
                _landing(stage, pages, cuts, stair, rest[n])


def _set_out_from_o(stage: Stage, pages: Pages) -> None:
    """Where feet, landings, pads and headers lie, by the same figures as on the plans."""
    told = stair_table(stage)
    pages.text(f"PLACES FROM O, THE {datum_told(stage)}, AS ON THE PLANS.", PLAIN, gap=0.08)
    pages.table(told.title, told.head, told.rows, told.widths, told.aligns, PLAIN)
    rows = header_rows(stage)
    if rows:
        head = ["HEADER", "STOCK", "TOP", "FROM X", "FROM Y", "TO X", "TO Y"]
        pages.table("HEADERS, ENDS OF THEIR MIDDLE LINES", head, rows, [1.1, 0.9, 1.0, *[1.2] * 4], "llrrrrr", PLAIN)


def header_rows(stage: Stage) -> list[list[str]]:
    """A row a board of the stairs' headers: stock, top, and its two ends in plan."""
    rows = []
    for p in stage.of("stair header"):
        ends = [text for q in in_plan.places_along(p, (0.0, 1.0)) for text in place_text(stage, q)]
        rows.append([p.id, stage.stock(p.stock), signed(stage, float(p.box[1, 2])), *ends])
    return rows


def flight_rows(stage: Stage, f: FlightSeen) -> list[Measured]:
    """What is cut for one flight and its head, in the order of the deck."""
    mine = [m for m in stage.measured_rows if m.part.stair == f.stair and _of(m.part.where, f.name)]
    return [m for m in mine if m.group == "stairs" or m.role == "stair header"]


def landing_rows(stage: Stage, stair: int, l: LandingDrawn) -> list[Measured]:
    """What is cut for the frame of one landing, with its posts."""
    where = l.walked[0].where
    return [m for m in stage.measured_rows if m.part.stair == stair and m.part.where == where and m.group == "frame"]


def _of(where: str, name: str) -> bool:
    """Whether a place in words belongs to a flight; what a stair of one flight calls by the stair alone does."""
    return where == name or (where.startswith(f"{name} ") and "landing" not in where)


def _flight(stage: Stage, pages: Pages, cuts: dict[str, Cut], f: FlightSeen) -> None:
    rows = flight_rows(stage, f)
    if not rows:
        return
    carry = [m for m in rows if m.role not in TRIM_OF_STAIRS]
    pages.table(
        f"{flight_title(f)}: WHAT TO CUT",
        HEAD_OF_PIECES,
        piece_rows(stage, cuts, carry, f.name),
        WIDTHS_OF_PIECES,
        ALIGNS_OF_PIECES,
    )
    if f.stringers:
        at = stringer_places(f)
        headers = [m for m in rows if m.role == "stair header"]
        left = min((along_header(f, m)[0] for m in headers), default=at[0][1])
        of = "THE HEADER" if headers else "THE FIRST STRINGER"
        told = ", ".join(stage.text(near - left) for _, near in at)
        pages.text(f"STRINGERS, NEAR FACES FROM THE LEFT END OF {of}, WALKING DOWN: {told}.", PLAIN)


def stringer_places(f: FlightSeen) -> list[tuple[str, float]]:
    """(id, near face) of the stringers of a flight from the left of someone walking down, as `along_header` has it."""
    return sorted(((m.id, along_header(f, m)[0]) for m in f.stringers), key=lambda s: s[1])


def along_header(f: FlightSeen, m: Measured) -> tuple[float, float]:
    """From where to where a piece lies across a flight, inches to the right of someone walking down."""
    s = m.part.vertices[:, :2] @ np.array([f.out[1], -f.out[0]])
    return float(s.min()), float(s.max())


def flight_title(f: FlightSeen) -> str:
    return f"{f.name.upper()}, {len(f.rises)} RISER{'S' if len(f.rises) > 1 else ''}"


def piece_rows(stage: Stage, cuts: dict[str, Cut], rows: Sequence[Measured], name: str) -> list[list[str]]:
    """A row a mark of a flight or a landing: piece, mark, how many, stock, cut length, where."""
    heaps: dict[str, list[Measured]] = {}
    for m in rows:
        heaps.setdefault(m.mark, []).append(m)
    return [
        [
            heap[0].role.upper(),
            mark,
            str(len(heap)),
            _stock(stage, cuts[mark]),
            rail(stage, cuts[mark]).removeprefix(f"{mark} "),
            _places(heap, name),
        ]
        for mark, heap in heaps.items()
    ]


def _stock(stage: Stage, cut: Cut) -> str:
    """What a piece is cut from, and to what width it is ripped."""
    return stage.stock(cut.stock) + (f"\nRIP {stage.inch(cut.rip)}" if cut.rip is not None else "")


def _places(heap: Sequence[Measured], name: str) -> str:
    """Where the pieces of a mark go in the flight, from the top down: what follows its name, numbers of a kind as
    one."""
    rest = dict.fromkeys(m.part.where.removeprefix(name).strip() for m in heap)
    kinds: dict[str, list[int]] = {}
    for words in rest:
        kind, _, number = words.rpartition(" ")
        if number.isdigit():
            kinds.setdefault(kind, []).append(int(number))
        elif words:
            kinds.setdefault(words, [])
    return ", ".join(f"{k} {_numbers(sorted(n))}".strip() for k, n in kinds.items()).upper() or "-"


def _numbers(steps: Sequence[int]) -> str:
    """ "1 TO 3, 5": numbers in order, those that follow each other as one."""
    found = []
    for _, run in itertools.groupby(enumerate(steps), lambda pair: pair[1] - pair[0]):
        numbers = [n for _, n in run]
        found.append(str(numbers[0]) if len(numbers) == 1 else f"{numbers[0]} TO {numbers[-1]}")
    return ", ".join(found)


def _landing(stage: Stage, pages: Pages, cuts: dict[str, Cut], stair: int, l: LandingDrawn) -> None:
    rows = landing_rows(stage, stair, l)
    where = l.walked[0].where.upper()
    pages.new()
    pages.heading(f"{where}: FRAME", 3.0)
    frame = float(max(p.box[1, 2] for p in l.frame))
    pages.text(
        f"TOP OF ITS BOARDS {stage.text(stage.surface_top - l.top)} BELOW THE DECK'S SURFACE, TOP OF FRAME"
        f" {stage.text(l.top - frame)} BELOW THEM. FIGURES RUN FROM THE LOW LEFT CORNER TO MIDDLES: JOISTS BELOW OR"
        " AT THE LEFT, POSTS ABOVE AND AT THE RIGHT.",
        PLAIN,
    )
    eye, frame_parts = square_eye(stage, stair), [m.part for m in rows if m.role != "post"]
    x0, y0, x1, y1 = seen_box(eye, [*l.frame, *l.posts])
    view = fit(
        stage,
        lambda scale: picture(stage, eye, l, frame_parts, scale),
        (x1 - x0, y1 - y0),
        (pages.width, pages.y - pages.bottom - 0.1),
    )
    pages.view(view, middle=True)
    pages.new()
    pages.table(
        f"{where}: WHAT TO CUT",
        HEAD_OF_PIECES[:-1],
        [r[:-1] for r in piece_rows(stage, cuts, rows, "")],
        WIDTHS_OF_PIECES[:-1],
        ALIGNS_OF_PIECES[:-1],
    )
    stand = [m for m in rows if m.role == "post"]
    if stand:
        pages.table(
            f"{where}: POSTS",
            ["POST", "CUT LENGTH", "FOOT BELOW THE TOP OF ITS BOARDS"],
            _posts(stage, l),
            [1.0, 2.0, 3.0],
            "cll",
        )


def _posts(stage: Stage, l: LandingDrawn) -> list[list[str]]:
    return [
        [p.id, stage.text(float(np.ptp(p.box[:, 2]))), stage.text(l.top - float(p.box[0, 2]))]
        for p in sorted(l.posts, key=lambda p: p.id)
    ]


def picture(stage: Stage, eye: Eye, l: LandingDrawn, frame: Sequence[Part], scale: float) -> d.View:
    """The frame from above: joists, rims and headers as outlines, posts filled; marks; running from the low corner
    the middles of joists, below or at the left, and of posts, above and at the right, each to the frame's far face."""
    view = d.View(l.walked[0].where, scale)
    view.add(*(d.Polyline(_ring(eye, p), True, layer="A-ELEV-FINE", mark=p.id) for p in frame))
    view.add(*(d.Hatch(_ring(eye, p), pattern="solid", layer="A-SECT-PATT") for p in l.posts))
    x0, y0, x1, y1 = seen_box(eye, l.frame)
    joists = [_middle(eye, p) for p in l.frame if p.role == "joist"]
    posts = [_middle(eye, p) for p in l.posts]
    lie = np.ptp([u for u, _ in joists] or [0.0]) < np.ptp([v for _, v in joists] or [0.0])
    at = 0.12 * scale
    running(view, [(u, y0) for u in _stations(x0, x1, 0, [] if lie else joists)], (x0, y0), 0.0, -90.0, at, stage.text)
    running(view, [(x0, v) for v in _stations(y0, y1, 1, joists if lie else [])], (x0, y0), 90.0, 180.0, at, stage.text)
    if posts:
        running(view, [(u, y1) for u in _stations(x0, x1, 0, posts)], (x0, y1), 0.0, 90.0, at, stage.text)
        running(view, [(x1, v) for v in _stations(y0, y1, 1, posts)], (x1, y0), 90.0, 0.0, at, stage.text)
    for mark, same in _by_mark(frame).items():
        tips = [seen_at(eye, q) for p in same for q in in_plan.places_along(p, (0.5, 0.8, 0.2))]
        count = f" x {len(same)}" if len(same) > 1 else ""
        view.add(d.Leader(tips[0], f"{mark}{count} {same[0].role.upper()}", tips=tips[1:], height=PLAIN))
    view.add(*(d.Leader(_middle(eye, p), p.id, head="dot", height=PLAIN) for p in l.posts))
    place(view, None, stage.metric)
    return view


def _stations(low: float, high: float, axis: int, middles: Sequence[d.Point]) -> list[float]:
    """From one face of a frame to the other by way of the middles of pieces, each place once."""
    found = [low]
    for at in sorted([*(m[axis] for m in middles), high]):
        if at - found[-1] > 1 / 32:
            found.append(at)
    return found


def _by_mark(parts: Iterable[Part]) -> dict[str, list[Part]]:
    found: dict[str, list[Part]] = {}
    for p in parts:
        found.setdefault(p.mark, []).append(p)
    return found


def _middle(eye: Eye, p: Part) -> d.Point:
    return seen_at(eye, in_plan.centre(p))


def _ring(eye: Eye, p: Part) -> list[d.Point]:
    return [seen_at(eye, q) for q in p.footprint.exterior.coords[:-1]]
