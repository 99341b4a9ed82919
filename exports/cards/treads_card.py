"""Cards of what is laid on stringers and closes them: treads, risers and skirts of every flight, each skirt drawn as it
lies on the saw table."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import partial

from ...model.measuring.measure import Measured
from ...model.order.cuts import cut_list
from ..drafting import drawing as d
from ..drafting import style
from ..sheets.stage import Stage
from .pages import HEADING, PLAIN, Pages, fit
from .running import running
from .set_out import SetOut, set_out
from .stair_cards import (
    ALIGNS_OF_PIECES,
    HEAD_OF_PIECES,
    TRIM_OF_STAIRS,
    WIDTHS_OF_PIECES,
    flight_rows,
    flight_title,
    piece_rows,
)
from .stringer_card import LEVEL_GRAIN


def build(stage: Stage) -> None:
    """What is laid on the stringers and closes them, flight by flight: cut last, of the surface's own boards; then
    each skirt as it lies on the saw table."""
    cuts = {c.mark: c for c in cut_list(stage.measured_rows)}
    pages = None
    for f in stage.flights:
        rows = [m for m in flight_rows(stage, f) if m.role in TRIM_OF_STAIRS]
        if rows:
            pages = pages or Pages(stage, 370, "TREADS AND SKIRTS")
            title = f"{flight_title(f)}: TREADS, RISERS, SKIRTS"
            pages.table(
                title, HEAD_OF_PIECES, piece_rows(stage, cuts, rows, f.name), WIDTHS_OF_PIECES, ALIGNS_OF_PIECES, PLAIN
            )
    found = skirts(stage)
    if pages is not None and found:
        _skirts(stage, pages, found)


def skirts(stage: Stage) -> list[list[Measured]]:
    """The skirts that are set out alike, those that lie level left out: of a pair at the two sides of a stair one is
    cut with its other face up."""
    heaps: dict[tuple, list[Measured]] = {}
    for m in stage.measured_rows:
        if m.role == "skirt" and abs(m.axis[2]) > LEVEL_GRAIN:
            ring = sorted((round(u * 32), round(v * 32)) for u, v in set_out(m).outline)
            heaps.setdefault((m.stock, *ring), []).append(m)
    return list(heaps.values())


def _skirts(stage: Stage, pages: Pages, found: Sequence[Sequence[Measured]]) -> None:
    """Two abreast, as large as they fit: each as it lies on the saw table, its top end left, the corners of its upper
    edge in running figures over it, those of its lower edge under it."""
    pages.new()
    pages.text(
        "SKIRTS: TOP END LEFT, UPPER EDGE AWAY FROM YOU. FIGURES FROM THE LEFT TIP, IN BRACKETS UP FROM THE LOWER EDGE,"
        " OF CORNERS ON NEITHER.",
        PLAIN,
        gap=0.1,
    )
    titles = [_skirt_words(heap) for heap in found]
    wide = (pages.width - 0.3) / min(len(found), 2)
    titled = max(style.block_size(t, HEADING, (pages.width - 0.6) / 3)[1] for t in titles) + 0.2
    views = []
    for heap, title in zip(found, titles):
        out = set_out(heap[0])
        draw = partial(skirt_picture, stage, heap[0].mark, out)
        views.append((title, fit(stage, draw, (out.length, out.width), (wide, pages.y - pages.bottom - titled))))
    pages.views(views)


def _skirt_words(heap: Sequence[Measured]) -> str:
    out, count = set_out(heap[0]), Counter(h.mark for h in heap)
    marks = ", ".join(f"{mark} x {n}" for mark, n in count.items())
    other = ", ONE WITH ITS OTHER FACE UP" if len(count) > 1 else ""
    return f"{marks}, {out.slope:.1f}°{other}"


def skirt_picture(stage: Stage, mark: str, out: SetOut, scale: float) -> d.View:
    """The outline with its corners in figures from the left tip; how far up where one is on neither edge."""
    view = d.View(f"skirt {mark.lower()}", scale)
    view.add(d.Polyline(list(out.outline), True, layer="A-SECT-MCUT", mark=mark))
    for level, off in ((out.width, 90.0), (0.0, -90.0)):
        corners = sorted({(round(u, 3), round(v, 3)) for u, v in out.outline if abs(v - level) < out.width / 2})

        def up(n: int, at: Sequence[d.Point] = corners) -> str:
            v = at[n][1]
            return f" ({stage.inch(v)})" if 1 / 32 < v < out.width - 1 / 32 else ""

        running(view, corners, (0.0, level), 0.0, off, 0.1 * scale, stage.text, height=PLAIN, suffix=up, mark=mark)
    return view
