"""Saw card: every length bought, the pieces that come out of it in order, what is left, and how the saw is set."""

from __future__ import annotations

from collections import Counter

from ...model.order.cuts import cut_list
from ...shared.said import together
from ..drafting import drawing as d
from ..drafting import style
from ..drafting.wording import dressed_text
from ..sheets.stage import Stage
from .pages import BIG, PLAIN, Pages
from .saw_settings import pile_marks, settings_table

BAR = 0.24  # paper inches high
SAW_LAYER = "A-SECT-MCUT"


def build(stage: Stage, plan) -> None:
    """`plan`: model.order.Order."""
    pages = Pages(stage, 500, "SAW CARD")
    pages.text(
        "CUT IN THE ORDER SHOWN, FROM THE LEFT: TRIM THE END FIRST, ONE KERF OF"
        f" {stage.inch(stage.deck.parameters.order.kerf)} AFTER EACH PIECE. LENGTHS ARE OVERALL, TIP TO TIP. FAR"
        " EDGE TO THE FENCE; LEFT END FIRST, THE RIGHT END MEASURED FROM ITS LONG POINT.",
        PLAIN,
        gap=0.1,
    )
    cuts = {c.mark: c for c in cut_list(stage.measured_rows)}
    rips = {c.mark: c.rip for c in cuts.values() if c.rip is not None}
    for line in plan.lines:
        here = {m for b in line.bars for mark in b.marks for m in mark.split("/")}
        own = [c for m, c in cuts.items() if m in here]
        piles = pile_marks(own)
        heaps = Counter(
            (
                b.length,
                b.marks if b.whole else tuple("/".join(piles.get(m, m) for m in x.split("/")) for x in b.marks),
                tuple(round(x, 4) for x in b.lengths),
                round(b.offcut, 4),
                b.kept,
                b.whole_mark,
                b.untrimmed,
            )
            for b in line.bars
        )
        longest = max(b.length for b in line.bars)
        factor = (pages.width - 1.25) / longest
        first, again = True, ""
        for (length, marks, lengths, offcut, kept, whole, untrimmed), count in heaps.items():
            words = (
                ("BEST LENGTH: " if whole else "")
                + ("NO END TRIMMED: " if untrimmed else "")
                + bar_words(stage, marks, lengths, offcut, kept, rips)
            )
            deep = style.block_size(words, PLAIN, pages.width - 1.25)[1]
            head = 0.4 if first else 0.0
            if pages.y - (BAR + 0.08 + deep + head) < pages.bottom and not pages.fresh:
                pages.new()
                first = True
            if first:
                name = line_name(stage, line) + dressed_text(line.stock, stage.metric, " ({})")
                pages.heading(
                    f"{name}: {len(line.bars)} LENGTH{'S' if len(line.bars) > 1 else ''}{again}",
                    BAR + 0.08 + deep,
                    0.12,
                )
                first, again = False, " (CONTINUED)"
            _bar(stage, pages, length, marks, lengths, untrimmed, count, factor, words)
        settings_table(stage, pages, line_name(stage, line), own)
    if plan.too_long:
        pages.text("NO LENGTH SOLD IS LONG ENOUGH FOR: " + stage.words(together(*plan.too_long)))


def line_name(stage: Stage, line) -> str:
    """The stock of a line of the order, its material, and the edge that its boards have."""
    edge = f", {line.edge.upper()}" if line.edge else ""
    return f"{stage.stock(line.stock)} {line.stock.material.upper()}{edge}"


def bar_words(stage: Stage, marks, lengths, offcut: float, kept: bool, rips: dict[str, float]) -> str:
    """The pieces of one bar in order with their lengths and the widths they are ripped to, then the offcut. Two pieces
    ripped side by side out of one cut are one entry, T1/T4, with both widths."""
    runs: list[list] = []
    for mark, length in zip(marks, lengths):
        if runs and runs[-1][0] == mark:
            runs[-1][2] += 1
        else:
            runs.append([mark, length, 1])
    pieces = []
    for mark, length, n in runs:
        widths = " + ".join(stage.inch(rips[m]) for m in mark.split("/") if m in rips)
        pieces.append(
            (f"{n} x " if n > 1 else "") + f"{mark} {stage.text(length)}" + (f" RIP {widths}" if widths else "")
        )
    return (
        " + ".join(pieces)
        + (f"   OFFCUT {stage.text(offcut)}" if offcut >= 1 / 32 else "   NO OFFCUT")
        + (" KEEP" if kept else "")
    )


def _bar(stage: Stage, pages: Pages, length, marks, lengths, untrimmed, count, factor, words) -> None:
    settings = stage.deck.parameters.order
    x, y = pages.left + 1.25, pages.y
    pages.sheet.add(
        d.Text((pages.left, y - BAR / 2), f"{count} x {stage.text(length)}", BIG, "left", "middle", layer="A-ANNO-LEGN")
    )
    pages.sheet.add(
        d.Polyline(
            [(x, y), (x + length * factor, y), (x + length * factor, y - BAR), (x, y - BAR)], True, layer="A-SECT-MBND"
        )
    )
    at = 0.0 if untrimmed else settings.end_trim
    for mark, piece in zip(marks, lengths):
        a, b = x + at * factor, x + (at + piece) * factor
        pages.sheet.add(d.Polyline([(a, y), (b, y), (b, y - BAR), (a, y - BAR)], True, layer=SAW_LAYER, mark=mark))
        if style.text_width(mark, PLAIN) + 0.06 < b - a:
            pages.sheet.add(
                d.Text(((a + b) / 2, y - BAR / 2), mark, PLAIN, "centre", "middle", layer="A-ANNO-IDEN", mark=mark)
            )
        at += piece + settings.kerf
    pages.y -= BAR + 0.08
    pages.text(words, PLAIN, indent=1.25, gap=0.14)
