"""Guard card: of every bay the clear opening, rails, balusters and spaces, blocks; sleeves; the stair rails' angle."""

from __future__ import annotations

import math
from collections import Counter

from ...model.measuring.bay_seen import Bay
from ...model.order.cuts import cut_list
from ...shared.stock import KIT
from ..drafting import drawing as d
from ..sheets.schedules import tips_between
from ..sheets.stage import Stage
from .kit_rails import build_kit_rails
from .pages import PLAIN, Pages, fit
from .running import running

SMALLEST = 12.5  # model inches to the paper inch: two bays of common length beside one another, figures apart


def build(stage: Stage) -> None:
    found = stage.seen.bays
    if not found:
        return
    pages = Pages(stage, 400, "GUARDS")
    heaps: list[list[Bay]] = []
    for b in found:
        alike = next((h for h in heaps if b.like(h[0])), None)
        if alike is None:
            heaps.append([b])
        else:
            alike.append(b)
    _bays(stage, pages, heaps)
    cuts = {c.mark: c for c in cut_list(stage.measured_rows, ("guards",))}
    build_kit_rails(stage, pages, {mark: how for mark, c in cuts.items() if (how := saw_words(c))})
    _lengths(stage, pages, heaps, cuts)
    _posts(stage, pages, cuts)
    marked = [_marks(stage, pages, number, same[0]) for number, same in enumerate(heaps, 1)]
    pages.views([m for m in marked if m], gap=0.25)


def _bays(stage: Stage, pages: Pages, heaps: list[list[Bay]]) -> None:
    """The bays that are alike, with their spaces."""
    rows = []
    for number, same in enumerate(heaps, 1):
        b = same[0]
        rows.append(
            [
                str(number),
                places(same).upper(),
                str(len(same)),
                stage.text(b.clear),
                str(len(b.balusters)),
                stage.inch(b.first),
                stage.inch(b.between),
                stage.inch(b.last),
                f"{b.slope:.1f}°" if b.slope > 0.01 else "-",
            ]
        )
    pages.table(
        "BAYS",
        ["BAY", "WHERE", "NO.", "CLEAR", "BALUSTERS", "FIRST SPACE", "BETWEEN", "LAST SPACE", "SLOPE"],
        rows,
        [0.6, 2.4, 0.55, 1.2, 1.35, 0.95, 1.2, 0.95, 0.8],
        "clcrcrrrr",
        PLAIN,
    )
    pages.text(
        "CLEAR AND SPACES ARE LEVEL, FACE TO FACE. THE FIRST POST OF A BAY IS ITS LEFT OR LOW ONE ON THE PLAN, ON A"
        " STAIR THE UPPER ONE.",
        PLAIN,
        gap=0.1,
    )


def _lengths(stage: Stage, pages: Pages, heaps: list[list[Bay]], cuts) -> None:
    """What is cut for each bay, and where its rail and foot block lie."""
    rows = []
    for number, same in enumerate(heaps, 1):
        b = same[0]
        rows.append(
            [
                str(number),
                rail(stage, cuts[b.top.mark]),
                rail(stage, cuts[b.bottom.mark]),
                _baluster(stage, b, cuts),
                stage.inch(b.up) if b.up is not None else "-",
                f"{stage.text(b.block[0])} TO {stage.text(b.block[1])}" if b.block else "-",
            ]
        )
    pages.table(
        "CUT LENGTHS, LONG POINT (SHORT POINT)",
        ["BAY", "TOP RAIL", "BOTTOM RAIL", "BALUSTER", "RAIL UP", "FOOT BLOCK FROM FIRST POST"],
        rows,
        [0.6, 2.35, 2.35, 2.15, 0.9, 2.0],
        "cllrrr",
        PLAIN,
    )
    pages.text(
        "A PIECE WHOSE ENDS LEAN THE SAME WAY IS AS LONG AS GIVEN ON BOTH EDGES; THE SAW CARD GIVES IT TIP TO TIP.",
        PLAIN,
        gap=0.1,
    )


def _baluster(stage: Stage, b: Bay, cuts) -> str:
    """As it is cut; of a kit as it comes, told by what stands clear of it between the rails."""
    if not b.balusters:
        return "-"
    stick = b.balusters[0]
    if stick.stock.material == KIT:
        return f"{stick.mark} OF THE KIT\n{stage.inch(float(stick.box[1, 2] - stick.box[0, 2]))} CLEAR"
    return rail(stage, cuts[stick.mark])


def places(same: list[Bay]) -> str:
    """Where bays stand, each place once, with how many."""
    count = Counter(b.where for b in same)
    return ", ".join(w if n == 1 else f"{w} ({n})" for w, n in count.items())


def rail(stage: Stage, cut) -> str:
    saw = saw_words(cut)
    return f"{cut.mark} {cut_length(stage, cut)}" + (f"\n{saw}" if saw else "")


def saw_words(cut) -> str:
    """The angles of a piece's ends, "" where they are square."""
    angles = sorted({max(s.mitre, s.bevel) for s in cut.settings if s.mitre or s.bevel})
    return "SAW " + " / ".join(f"{a:g}°" for a in angles) if angles else ""


def cut_length(stage: Stage, cut) -> str:
    """The long point, with the short one behind it where the ends are not square. Where tips lie between the edges, as
    on a stringer cut plumb and level, no edge is as long as the piece: then from tip to tip."""
    if tips_between(cut):
        return f"{stage.text(cut.length)} TIP TO TIP"
    short = f" ({stage.text(cut.short_point)})" if cut.long_point - cut.short_point > 1 / 32 else ""
    return stage.text(cut.long_point) + short


def post_rows(stage: Stage) -> list[list[str]]:
    """Posts, sleeves, handrails: mark, how many, length, where."""
    rows, kit = [], stage.deck.parameters.guard.kit
    for c in cut_list(stage.measured_rows, ("guards",)):
        if c.role in ("guard post", "post sleeve", "handrail"):
            sold = kit.sleeve_sold if kit is not None and c.role == "post sleeve" else None
            where = ", ".join(dict.fromkeys(c.where))
            rows.append(
                [
                    c.role.upper(),
                    c.mark,
                    str(c.quantity),
                    cut_length(stage, c) + (f" OUT OF {stage.inch(sold)}" if sold is not None else ""),
                    where.upper(),
                ]
            )
    return rows


def _posts(stage: Stage, pages: Pages, cuts) -> None:
    rows = post_rows(stage)
    if rows:
        pages.table(
            "POSTS, SLEEVES AND HANDRAILS",
            ["PIECE", "MARK", "NO.", "CUT LENGTH", "WHERE"],
            rows,
            [1.6, 0.9, 0.7, 2.1, 4.0],
            "llcrl",
            PLAIN,
        )


def _marks(stage: Stage, pages: Pages, number: int, b: Bay) -> tuple[str, d.View] | None:
    """The bottom rail's marks under their heading: near face of every baluster, running from the first face; along the
    slope on a stair. None where the balusters stand in the holes of a kit's rails."""
    if not b.balusters or b.balusters[0].stock.material == KIT:
        return None
    view = fit(stage, lambda scale: _strip(stage, number, b, scale), (b.clear, 1.0), (pages.width, 2.5), SMALLEST)
    along = f", ALONG ITS SLOPE OF {b.slope:.1f}°" if b.slope > 0.01 else ""
    return f"BAY {number}: {stage.text(b.clear)} CLEAR, {len(b.balusters)} BALUSTERS{along}", view


def _strip(stage: Stage, number: int, b: Bay, scale: float) -> d.View:
    """The rail laid level: balusters' near faces along its length (on a stair along the slope, as marked on the
    rail)."""
    stretch = 1 / math.cos(math.radians(b.slope))
    view = d.View(f"bay {number} marks", scale)
    long, deep = b.clear * stretch, b.bottom.width
    view.add(
        d.Polyline([(0.0, 0.0), (long, 0.0), (long, deep), (0.0, deep)], True, layer="A-SECT-MCUT", mark=b.bottom.mark)
    )
    for a, m in zip(b.starts, b.balusters):
        x0, x1 = a * stretch, (a + b.size) * stretch
        view.add(
            d.Polyline(
                [(x0, deep), (x0, deep + 0.25 * scale), (x1, deep + 0.25 * scale), (x1, deep)],
                layer="A-ELEV-FINE",
                mark=m.id,
            )
        )
    running(
        view,
        [(0.0, 0.0), *((a * stretch, 0.0) for a in b.starts), (long, 0.0)],
        (0.0, 0.0),
        0.0,
        -90.0,
        0.1 * scale,
        stage.text,
        mark=b.bottom.mark,
    )
    return view
