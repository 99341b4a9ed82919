"""Notch cards: every notched board or post with its notches set out from its left end and from an edge."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...model.measuring.saw import Notch, end_span
from ...model.order.cuts import Cut, cut_list
from ...model.solid.roles import named
from ..drafting import drawing as d
from ..drafting import style
from ..sheets.hardware import OFF_MIDDLE, bolt_levels
from ..sheets.stage import Stage
from .pages import CARD_LAYER, HEADING, PLAIN, Pages, fit, size_of
from .running import running

ON_NOTCH_CARDS = named("notch card")
_BETWEEN = 0.3  # paper inches between two short boards on one row
LARGEST = 8.0  # model inches to the paper inch: short pieces are drawn no larger
EDGE_WORDS = {"near": "THE NEAR EDGE", "far": "THE FAR EDGE", "bottom": "THE BOTTOM", "top": "THE TOP"}


def notched_cuts(stage: Stage) -> list[Cut]:
    """One entry a distinct notched board or post."""
    return [
        c
        for c in cut_list(stage.measured_rows, ("frame", "surface", "stairs"))
        if c.role in ON_NOTCH_CARDS and c.role != "skirt" and c.notches
    ]


def build(stage: Stage) -> None:
    cuts = notched_cuts(stage)
    if not cuts:
        return
    pages = Pages(stage, 250, "NOTCH CARDS")
    pages.text(
        "LEFT END, NEAR EDGE: AS THE BOARD LIES BEFORE YOU, TOP FACE UP. FIGURES RUN FROM THE LEFT TIP.", PLAIN, gap=0.1
    )
    wide, row = (pages.width - _BETWEEN) / 2, list[_Entry]()
    for cut in cuts:
        entry = _entry(stage, cut, pages.width)
        if size_of(entry.view, stage.metric)[0] > wide:
            _put(stage, pages, [entry], pages.width)
            continue
        row.append(entry)
        if len(row) == 2:
            _put(stage, pages, row, wide)
            row = []
    if row:
        _put(stage, pages, row, wide)


class _Entry(NamedTuple):
    """What the card says of one distinct board or post."""

    head: str
    view: d.View
    lines: list[str]

    def words(self) -> str:
        return "\n".join(f"{n}. {line}" for n, line in enumerate(self.lines, 1))


def _entry(stage: Stage, cut: Cut, wide: float) -> _Entry:
    size = (cut.length, cut.sizes.width)
    view = fit(stage, lambda scale: picture(stage, cut, scale), size, (wide, 2.4), LARGEST)
    lines = [notch_words(stage, n) for n in cut.notches]
    if cut.role == "post":
        lines += [_seat_words(stage, cut, n) for n in cut.notches if n.corner]
    long = "LENGTH" if cut.long_point - cut.short_point < 1 / 32 else "LONG POINT"
    where = ", ".join(cut.where).upper()
    head = f"{cut.mark}  x {cut.quantity}   {cut.role.upper()}, {where}   {long} {stage.text(cut.long_point)}"
    return _Entry(head, view, lines)


def _put(stage: Stage, pages: Pages, row: list[_Entry], wide: float) -> None:
    """Boards beside one another, each as wide as `wide`: short ones two and two."""
    heads = max(style.block_size(e.head, HEADING, wide)[1] for e in row) + 0.1
    pictures = max(size_of(e.view, stage.metric)[1] for e in row) + 0.06
    words = max(style.block_size(e.words(), PLAIN, wide)[1] for e in row)
    pages.need(heads + pictures + words)
    for k, e in enumerate(row):
        x, (across, high) = pages.left + k * (wide + _BETWEEN), size_of(e.view, stage.metric)
        pages.sheet.add(
            d.Text((x, pages.y), e.head, HEADING, "left", "top", wrap=wide, layer=CARD_LAYER),
            d.Text((x, pages.y - heads - pictures), e.words(), PLAIN, "left", "top", wrap=wide, layer=CARD_LAYER),
        )
        pages.sheet.viewports.append(d.Viewport(e.view, (x + across / 2, pages.y - heads - high / 2)))
    pages.y -= heads + pictures + words + 0.13


def notch_words(stage: Stage, n: Notch) -> str:
    """One notch in words: from where to where along the board, and how deep from which edge."""
    depth = stage.inch(n.depth)
    if n.edge == "end":
        low, high = end_span(n)
        return (
            f"OUT OF THE {'LEFT' if n.corner == 'A' else 'RIGHT'} END: {stage.inch(n.width)} ALONG THE BOARD, FROM"
            f" {stage.text(n.start)} TO {stage.text(n.start + n.width)}, AND {stage.inch(low)} TO {stage.inch(high)}"
            " FROM THE NEAR EDGE" + _corners(stage, n)
        )
    if n.corner:
        return (
            f"OUT OF THE {'LEFT' if n.corner == 'A' else 'RIGHT'} CORNER: FROM {stage.text(n.start)} TO"
            f" {stage.text(n.start + n.width)} ({stage.inch(n.width)} ALONG), {depth} IN FROM {EDGE_WORDS[n.edge]}"
            + _corners(stage, n)
        )
    return (
        f"FROM {stage.text(n.start)} TO {stage.text(n.start + n.width)} ({stage.inch(n.width)} WIDE), {depth} DEEP FROM"
        f" {EDGE_WORDS[n.edge]}" + _corners(stage, n)
    )


def _seat_words(stage: Stage, cut: Cut, n: Notch) -> str:
    """What else is set out on a post notched for a beam: what is left beside the notch, and where the bolts go."""
    upper = n.corner == "B"
    shoulder, top = (n.start, n.start + n.width) if upper else (n.start + n.width, n.start)
    at = [shoulder + (z if upper else -z) for z in bolt_levels(0.0, abs(top - shoulder))]
    return (
        f"{stage.inch(cut.stock.width - n.depth)} LEFT BESIDE IT; THE {'LEFT' if upper else 'RIGHT'} END IS THE FOOT."
        f" BOLTS AT {' AND '.join(stage.text(x) for x in at)}, {stage.inch(OFF_MIDDLE)} TO EITHER SIDE OF THE MIDDLE"
    )


def square(n: Notch) -> bool:
    """Whether the notch is a rectangle with sides along and square to the board."""
    p = np.array(n.points)
    step = np.abs(np.diff(p, axis=0))
    return bool((step.min(axis=1) < 1e-4).all())


def _corners(stage: Stage, n: Notch) -> str:
    """The corners of a notch that is no rectangle: along from the left tip, across from the near edge."""
    if square(n):
        return ""
    inner = n.points[1:-1] if len(n.points) > 3 else n.points
    return (
        "; CORNERS "
        + ", ".join(f"{stage.text(u)} / {stage.inch(v)}" for u, v in inner)
        + " (ALONG / FROM THE NEAR EDGE)"
    )


def picture(stage: Stage, cut: Cut, scale: float) -> d.View:
    """The board on the saw table, its notches' ends as running figures on the side they open to."""
    view = d.View(f"notch {cut.mark.lower()}", scale)
    ring = [(float(x), float(y)) for x, y in cut.sizes.outline]
    view.add(d.Polyline(ring, True, layer="A-SECT-MCUT", mark=cut.mark))
    high = max(y for _, y in ring)
    for k, n in enumerate(cut.notches, 1):  # the notch's number, across the board from it
        far = n.edge in ("far", "top")
        view.add(
            d.Text(
                (
                    min(max(n.start + n.width / 2, 0.1 * scale), cut.length - 0.1 * scale),
                    -0.12 * scale if far else high + 0.12 * scale,
                ),
                str(k),
                PLAIN,
                "centre",
                "middle",
                layer="A-ANNO-IDEN",
            )
        )
    for far in (True, False):
        mine = [n for n in cut.notches if (n.edge in ("far", "top")) == far]
        stations = sorted(
            {round(s, 6) for n in mine for s in (n.start, n.start + n.width) if 1 / 32 < s < cut.length - 1 / 32}
        )
        if mine and stations:
            y = high if far else 0.0
            running(
                view,
                [(0.0, y), *((s, y) for s in stations)],
                (0.0, y),
                0.0,
                90.0 if far else -90.0,
                0.08 * scale,
                stage.text,
                height=PLAIN,
                mark=cut.mark,
            )
    return view
