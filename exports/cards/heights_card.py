"""Heights of the frame from one level: the ledger's line, tops of beams, posts and footings, and how long posts are."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

from ...model.solid.part import Part
from ..sheets.ground import signed
from ..sheets.set_out_tables import marks_text
from ..sheets.stage import Stage
from .pages import PLAIN, Pages

Height = tuple[str, str, float]  # what, marks, level from the datum, inches
LEVELS_ALIKE = 1 / 32  # inches: levels nearer than this are one


def build(stage: Stage) -> None:
    rows = heights(stage)
    line = frame_line(stage)
    if not rows or line is None:
        return
    pages = Pages(stage, 170, "HEIGHTS")
    told = "TOP OF THE LEDGER" if stage.of("ledger") else "TOP OF THE RIM"
    pages.text(
        f"LEVELS FROM THE DATUM, AND DOWN FROM ONE LINE: THE {told}. SNAP IT, THEN MEASURE DOWN. POSTS: CUT BY THE"
        " LENGTH THAT IS LEFT BETWEEN BASE AND BEAM ON SITE; THE LENGTH HERE IS THE DRAWING'S.",
        PLAIN,
    )
    pages.table(
        "HEIGHTS",
        ["WHAT", "MARKS", "LEVEL", "DOWN FROM THE LINE"],
        [[what, marks, signed(stage, z), _down(stage, line - z)] for what, marks, z in rows],
        [2.6, 3.6, 1.5, 2.0],
        "llrr",
        PLAIN,
    )
    posts = post_lengths(stage)
    if posts:
        pages.table(
            "POSTS",
            ["POST", "STANDS AT", "TOP AT", "LENGTH"],
            [[m, signed(stage, a), signed(stage, b), stage.text(b - a)] for m, a, b in posts],
            [3.6, 2.0, 2.0, 2.0],
            "lrrr",
            PLAIN,
        )


def _down(stage: Stage, value: float) -> str:
    return "0" if abs(value) < LEVELS_ALIKE else ("UP " if value < 0 else "") + stage.text(abs(value))


def frame_line(stage: Stage) -> float | None:
    """The level that all is measured down from: the top of the ledger, else of the rim; None without either."""
    found = stage.deck_of("ledger") or stage.deck_of("rim")
    return max((float(p.box[1, 2]) for p in found), default=None)


def heights(stage: Stage) -> list[Height]:
    """Every level of the frame, from the surface down: read off the solids, those alike in one row."""
    found: list[Height] = []
    for what, pieces, top in _levels(stage):

        def level(p: Part, top: bool = top) -> int:
            return -round(float(p.box[int(top), 2]) / LEVELS_ALIKE)

        for _, same in groupby(sorted(pieces, key=level), key=level):
            heap = list(same)
            marks = ", ".join(p.id for p in heap) if heap[0].role == "footing" else marks_text(heap)
            found.append((what, marks, float(heap[0].box[int(top), 2])))
    return found


def _levels(stage: Stage) -> Iterator[tuple[str, Iterable[Part], bool]]:
    """(what is levelled, its pieces, whether their tops rather than their undersides)."""
    yield "SURFACE", stage.deck_of("board", "border", "breaker"), True
    yield "LEDGER, TOP", stage.deck_of("ledger"), True
    yield "LEDGER, UNDERSIDE", stage.deck_of("ledger"), False
    yield "RIMS, TOP", stage.deck_of("rim"), True
    yield "LANDING RIMS, TOP", [p for p in stage.of("rim", "ledger") if p.stair is not None], True
    yield "LANDING RIMS, UNDERSIDE", [p for p in stage.of("rim", "ledger") if p.stair is not None], False
    yield "JOISTS, UNDERSIDE", stage.deck_of("joist"), False
    yield "BEAMS, TOP", stage.of("beam"), True
    yield "BEAMS, UNDERSIDE", stage.of("beam"), False
    yield "POSTS, TOP", stage.of("post"), True
    yield "FOOTINGS, TOP", stage.of("footing"), True
    yield "PADS, TOP", stage.of("pad"), True


def post_lengths(stage: Stage) -> list[tuple[str, float, float]]:
    """(marks, level of the foot, level of the top) of the posts, those alike in one row."""
    found: dict[tuple[int, int], tuple[list[str], float, float]] = {}
    for p in sorted(stage.of("post"), key=lambda p: p.id):
        low, high = float(p.box[0, 2]), float(p.box[1, 2])
        found.setdefault((round(low / LEVELS_ALIKE), round(high / LEVELS_ALIKE)), ([], low, high))[0].append(p.id)
    return [(", ".join(ids), low, high) for ids, low, high in found.values()]
