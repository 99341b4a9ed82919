"""The part of the guard card for rails of a kit: each rail as sold with its holes, and from which hole it is cut."""

from __future__ import annotations

from collections.abc import Sequence

from ...model.order.kit_order import KitBar, KitPiece, cut_kit
from ...model.plan.kit_cuts import holes_of
from ..drafting import drawing as d
from ..drafting import style
from ..sheets.stage import Stage
from .pages import BIG, PLAIN, Pages

RAIL = 0.24  # paper inches of a rail drawn from the side
_CUT = 0.09  # paper inches by which a cut's line stands out past the rail
_LEFT = 1.25  # paper inches for what is bought, before the rail
_LEAST = 1 / 32  # inches of a rest that is worth telling


def build_kit_rails(stage: Stage, pages: Pages, saw: dict[str, str]) -> None:
    """Nothing where the guards are no kit. `saw`: by mark how its ends are cut where they are not square."""
    p = stage.deck.parameters
    kit = p.guard.kit
    if kit is None:
        return
    cutting = cut_kit(stage.measured_rows, kit, p.order.kerf)
    if not cutting.bars:
        return
    longest = max(b.length for b in cutting.bars)
    factor = (pages.width - _LEFT) / longest
    for sloped, rails, name in ((False, kit, "LEVEL"), (True, kit.stairs, "STAIRS, ALONG THE RAKE")):
        heaps = _alike([b for b in cutting.bars if b.sloped == sloped], saw)
        if rails is None or not heaps:
            continue
        pages.heading(f"KIT RAILS, {name}: HOLES {stage.inch(rails.pitch)} ON CENTRE", 1.2)
        pages.text(
            "COUNT HOLES FROM THE LEFT END OF THE RAIL AS SOLD. MEASURE EACH CUT FROM THE MIDDLE OF ITS HOLE. TOP AND"
            " BOTTOM RAIL OF A SECTION ARE CUT FROM THE SAME HOLES, SO THAT BALUSTERS STAND PLUMB.",
            PLAIN,
            gap=0.12,
        )
        for alike in heaps:
            _bar(stage, pages, alike, holes_of(alike[0].length, rails), factor, saw)
    for s in cutting.unserved:
        pages.text(f"{s.rail.mark} {stage.text(s.long)}: NO RAIL OF THE KIT GIVES IT, SEE CHECKS", PLAIN)


def _alike(bars: list[KitBar], saw: dict[str, str]) -> list[list[KitBar]]:
    """Rails cut alike, top and bottom rails together."""
    heaps: dict[tuple, list[KitBar]] = {}
    for b in bars:
        cut = ((p.first, p.last, round(p.start, 4), round(p.end, 4), saw.get(p.seen.rail.mark)) for p in b.pieces)
        heaps.setdefault((b.length, *cut), []).append(b)
    return list(heaps.values())


def _cut_words(stage: Stage, alike: Sequence[KitPiece], saw: dict[str, str]) -> str:
    piece = alike[0]
    mark, (before, after) = piece.seen.rail.mark, piece.seen.ends
    marks = ", ".join(dict.fromkeys(p.seen.rail.mark for p in alike))
    near = f"{stage.inch(before)} BEFORE HOLE {piece.first + 1}"
    far = f"{stage.inch(after)} PAST HOLE {piece.last + 1}"
    slant = f", {saw[mark]}" if mark in saw else ""
    slant += ", ON THE MIDDLE LINE" if max(piece.seen.tips) >= _LEAST else ""
    return f"{marks} {stage.text(piece.seen.long)}: CUT {near} AND {far}{slant}"


def _bar(
    stage: Stage, pages: Pages, alike: list[KitBar], holes: list[float], factor: float, saw: dict[str, str]
) -> None:
    bar, count = alike[0], len(alike)
    rest = bar.length - bar.used
    words = ".   ".join(_cut_words(stage, p, saw) for p in zip(*(b.pieces for b in alike)))
    words += f".   LEFT OVER {stage.text(rest)}" if rest >= _LEAST else ".   NOTHING LEFT OVER"
    deep = style.block_size(words, PLAIN, pages.width - _LEFT)[1]
    over = 0.24  # for the holes' numbers above the rail
    pages.need(over + RAIL + 0.12 + deep)
    x, y = pages.left + _LEFT, pages.y - over
    sheet = pages.sheet
    bought = f"{count} x {stage.text(bar.length)}"
    sheet.add(d.Text((pages.left, y - RAIL / 2), bought, BIG, "left", "middle", layer="A-ANNO-LEGN"))
    ring = [(0.0, 0.0), (bar.length, 0.0), (bar.length, RAIL), (0.0, RAIL)]
    sheet.add(d.Polyline([(x + u * factor, y - v) for u, v in ring], True, layer="A-SECT-MBND"))
    half = 0.03
    for at in holes:
        u, v = x + at * factor, y - RAIL / 2
        square = [(u - half, v - half), (u + half, v - half), (u + half, v + half), (u - half, v + half)]
        sheet.add(d.Polyline(square, True, layer="A-ELEV-FINE"))
    for p in bar.pieces:
        mark = p.seen.rail.mark
        for at in (p.start, p.end):
            u = x + at * factor
            sheet.add(d.Polyline([(u, y + _CUT), (u, y - RAIL - _CUT)], layer="A-SECT-MCUT", mark=mark))
        for k in dict.fromkeys((p.first, p.last)):
            foot = (x + holes[k] * factor, y + 0.05)
            sheet.add(d.Text(foot, str(k + 1), PLAIN, "centre", "bottom", layer="A-ANNO-IDEN", mark=mark))
    pages.y = y - RAIL - _CUT - 0.06
    pages.text(words, PLAIN, indent=_LEFT, gap=0.16)
