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
from .pages import CARD_LAYER, PLAIN, Pages, fit, size_of
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

_SKIRT_HIGH = 1.6  # paper inches: the most that a skirt's picture takes in height


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
    """Two abreast: each as it lies on the saw table, its top end left, with its corners in figures."""
    room = (pages.width - 0.3) / 2, _SKIRT_HIGH
    for first in range(0, len(found), 2):
        pair, views = found[first : first + 2], []
        for heap in pair:
            out = set_out(heap[0])
            draw = partial(_skirt_picture, stage, heap[0].mark, out)
            views.append(fit(stage, draw, (out.length, out.width), room))
        told = [_skirt_words(stage, heap) for heap in pair]
        words = max(style.block_size(t, PLAIN, room[0])[1] for t in told)
        deep = max(size_of(v, stage.metric)[1] for v in views)
        if not first:
            pages.heading(
                "SKIRTS, TOP END LEFT, UPPER EDGE AWAY FROM YOU; FIGURES FROM THE LEFT TIP", words + deep + 0.1
            )
        pages.need(words + deep + 0.1)
        for k, (view, text) in enumerate(zip(views, told)):
            left, (wide, high) = pages.left + k * (room[0] + 0.3), size_of(view, stage.metric)
            pages.sheet.add(d.Text((left, pages.y), text, PLAIN, "left", "top", wrap=room[0], layer=CARD_LAYER))
            pages.sheet.viewports.append(d.Viewport(view, (left + wide / 2, pages.y - words - 0.06 - high / 2)))
        pages.y -= words + deep + 0.2


def _skirt_words(stage: Stage, heap: Sequence[Measured]) -> str:
    out, count = set_out(heap[0]), Counter(h.mark for h in heap)
    marks = ", ".join(f"{mark} x {n}" for mark, n in count.items())
    where = ", ".join(dict.fromkeys(h.part.where.upper() for h in heap))
    other = "; ONE WITH ITS OTHER FACE UP" if len(count) > 1 else ""
    return f"{marks}: {where}, {out.slope:.1f}°{other}\n{_figures(stage, out)}"


def _figures(stage: Stage, out: SetOut) -> str:
    """Corners along either edge in order, from the tip of the left end; how far up where one is on neither."""
    told = []
    for name, level in (("UPPER", out.width), ("LOWER", 0.0)):
        along = sorted({(round(u, 3), round(v, 3)) for u, v in out.outline if abs(v - level) < out.width / 2})
        off = [f" ({stage.inch(v)} UP)" if 1 / 32 < v < out.width - 1 / 32 else "" for _, v in along]
        told.append(f"{name} EDGE: {', '.join(stage.text(u) + up for (u, _), up in zip(along, off))}")
    return "; ".join(told)


def _skirt_picture(stage: Stage, mark: str, out: SetOut, scale: float) -> d.View:
    view = d.View(f"skirt {mark.lower()}", scale)
    view.add(d.Polyline(list(out.outline), True, layer="A-SECT-MCUT", mark=mark))
    return view
