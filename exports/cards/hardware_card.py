"""Hardware cards: which connection takes which hardware, how many, what it is fastened with, on which pieces; and how
screws and nails that stand in rows are spaced on the longest piece that takes them. The counts are the order's."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ...model.measuring.measure import Measured
from ...model.order.hardware_rules import HardwareItem, SizedCount, nailings, rules
from ...model.order.sheet_counts import sheet_counts
from ...model.order.takeoff import hardware_of
from ...model.order.tally import marks_in
from ...shared.practice import practice
from ..drafting import drawing as d
from ..sheets.hardware import CONNECTIONS
from ..sheets.stage import Stage
from .pages import PLAIN, Pages, fit, size_of
from .running import running

HARDWARE_CARDS = {  # card: the delivery whose hardware it tells
    "FRAME HARDWARE": "frame",
    "SURFACE HARDWARE": "surface and trim",
    "STAIR AND GUARD HARDWARE": "stairs and guards",
}
_NOT_ON_SHEETS = (("tension device", "GUARD POST, BEHIND THE FRAME"), ("post cap", "TOP OF A GUARD POST"))
EDGE_OF_STRIP = practice("fastener from an edge of a scrap")
SCREW_DOT = 0.03  # paper inches: half of what a screw is drawn across
_STRIP = 1.9  # paper inches: the most that the picture of a strip takes in height
_MOST_FIGURES = 14  # stations that are all lettered; of more the first and the last


def build(stage: Stage) -> None:
    bought = {h.item: h for h in hardware_of(stage.deck, stage.measured_rows)}
    for series, (card, delivery) in enumerate(HARDWARE_CARDS.items()):
        items = [(c, bought[i]) for i, c in connections() if i in bought and bought[i].rule.delivery == delivery]
        if not items:
            continue
        pages = Pages(stage, 800 + 20 * series, card)
        pages.table(
            f"{card} BY CONNECTION",
            ["CONNECTION", "HARDWARE", "NO.", "WHERE, FASTENED WITH", "PIECES"],
            [row for c, h in items for row in rows(stage, c, h, bought)],
            [1.75, 2.3, 0.7, 4.1, 1.6],
            "llcll",
            PLAIN,
        )
        for _, h in items:
            if h.rule.rows is not None:
                _layout(stage, pages, h)


def connections() -> list[tuple[str, str]]:
    """(item, connection) of all that is no fastener of a connector, from the house and the ground up."""
    nails = {n.item for n in nailings()}
    return [c for c in (*CONNECTIONS, *_NOT_ON_SHEETS) if c[0] not in nails]


def rows(stage: Stage, connection: str, h: HardwareItem, bought: dict[str, HardwareItem]) -> list[list[str]]:
    """A row a size of one item."""
    out = []
    for s in h.sized:
        size = stage.words(s.size or h.rule.size)
        told = [stage.words(h.rule.places)] if h.rule.each == 1 else [_at_each(stage, h, s)]
        told += [fastened(stage, nail, h.item) for nail in bought.values() if any(on == h.item for *_, on in nail.held)]
        marks = ", ".join(s.serves).replace(" to ", " TO ")
        out.append([connection, f"{h.item.upper()} {size}".strip(), f"{s.count:g}", ". ".join(told), marks])
    return out


def _at_each(stage: Stage, h: HardwareItem, s: SizedCount) -> str:
    return f"{h.rule.each:g} AT EACH OF {s.count / h.rule.each:g}: {stage.words(h.rule.places)}"


def fastened(stage: Stage, nail: HardwareItem, connector: str) -> str:
    """What one connector is nailed with, into what carries and into what it holds."""
    told = []
    for each, _, on in nail.held:
        if on == connector:
            n = next(x for x in nailings() if (x.connector, x.item, x.each) == (connector, nail.item, each))
            size = stage.words(nail.rule.size)
            split = f" ({n.into_carrier} + {n.into_carried})" if n.into_carrier and n.into_carried else ""
            told.append(f"{each}{split} {nail.item.upper()}{'S' if each > 1 else ''} {size}")
    return " OR ".join(told)


def stations(end: float, apart: float, length: float) -> list[float]:
    """Inches along a piece of its rows of a fastener, the first and the last `end` from its ends, no two further
    `apart`."""
    number = math.ceil(max(0.0, length - 2 * end) / apart - 1e-9) + 1
    return [length / 2] if number == 1 else np.linspace(end, length - end, number).tolist()


def _layout(stage: Stage, pages: Pages, h: HardwareItem) -> None:
    """The longest piece that takes an item in rows, with each of them and how far apart they are."""
    longest = longest_served(stage.measured_rows, h)
    if longest is None or rules()[h.item].end is None:
        return
    end, most, each = sheet_counts(stage.deck).pattern(h.item, longest.role)
    at = stations(end, most, longest.length)
    apart = stage.inch(at[1] - at[0]) if len(at) > 1 else "-"
    view = fit(
        stage,
        lambda scale: strip(stage, longest, at, each, scale),
        (longest.length, longest.stock.width),
        (pages.width, _STRIP),
    )
    pages.heading(
        f"{h.item.upper()}S, AS ON {longest.mark}, {stage.text(longest.length)}: {len(at)} ROWS OF {each},"
        f" {apart} APART",
        size_of(view, stage.metric)[1],
        0.1,
    )
    pages.view(view)


def longest_served(measured: Sequence[Measured], h: HardwareItem) -> Measured | None:
    """The longest of the pieces that an item serves."""
    marks = {m for s in h.sized for m in marks_in(s.serves)}
    return max((m for m in measured if m.mark in marks), key=lambda m: (m.length, m.id), default=None)


def strip(stage: Stage, m: Measured, at: Sequence[float], each: int, scale: float) -> d.View:
    """A piece from its side with a dot a fastener, rows from its left end as running figures."""
    view, wide = d.View(f"rows {m.mark.lower()}", scale), m.stock.width
    ring = [(0.0, 0.0), (m.length, 0.0), (m.length, wide), (0.0, wide)]
    view.add(d.Polyline(ring, True, layer="A-SECT-MCUT", mark=m.mark))
    across = np.linspace(EDGE_OF_STRIP, wide - EDGE_OF_STRIP, each) if each > 1 else [wide / 2]
    for x in at:
        view.add(*(d.Circle((x, float(y)), SCREW_DOT * scale, layer="A-SECT-MCUT") for y in across))
    told = list(at) if len(at) <= _MOST_FIGURES else [*at[:3], *at[-2:]]
    points = [(x, 0.0) for x in (0.0, *told, m.length)]
    running(view, points, (0.0, 0.0), 0.0, -90.0, 0.1 * scale, stage.text, height=PLAIN, mark=m.mark)
    return view
