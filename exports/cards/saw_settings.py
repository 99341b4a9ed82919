"""What the saw is set to for every piece of a stock: points, both ends, and how it lies; beside the bars of the saw
card. Pieces that are cut alike stand on one line, whatever their roles."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...model.order.cuts import Cut, chirality, same_cuts
from ...model.order.tally import runs_of_marks
from ...model.solid.roles import in_group, named
from ...shared.practice import practice
from ..sheets.stage import Stage
from .notch_cards import ON_NOTCH_CARDS, notch_words
from .pages import PLAIN, Pages

SAME_POINT = 1 / 32  # inches: long and short point nearer than this are one length
RUN = {False: 12.0, True: 300 / 25.4}  # inches across the piece to which a steep cut is told along it, by metric
SETTINGS_HEAD = (  # heading, share of the width, alignment
    ("MARK", 0.8, "l"),
    ("NO.", 0.6, "c"),
    ("LONG POINT", 1.35, "r"),
    ("SHORT", 1.2, "r"),
    ("RIP", 0.9, "r"),
    ("LEFT END, FIRST", 2.35, "l"),
    ("THEN RIGHT END", 2.35, "l"),
    ("HOW IT LIES", 2.4, "l"),
)
NOTHING = "-"
SHOWS = (*in_group("surface", "trim"), *named("trim board"), "tread")  # a face, and a back of another look


def settings_table(stage: Stage, pages: Pages, name: str, cuts: Sequence[Cut]) -> None:
    """What the saw is set to for the pieces of one stock, `name` as it is headed on the card: the square ones in one
    line, as their lengths stand with the bars, the others in a table, with a line for each angle past a saw's swing."""
    plain = [c for c in cuts if is_plain(c)]
    notched = [c for c in cuts if is_square(c) and not is_plain(c)]
    others = [c for c in cuts if not is_square(c)]
    for lies, same in (
        ("THE FACE THAT SHOWS UP", [c for c in plain if c.role in SHOWS]),
        ("EITHER FACE UP", [c for c in plain if c.role not in SHOWS]),
    ):
        if same:
            which = "ALL" if len(same) == len(cuts) else ", ".join(runs_of_marks(c.mark for c in same))
            pages.text(f"SQUARE AT BOTH ENDS, {lies}: {which}.".replace(" to ", " TO "), PLAIN)
    for lies, same in by_face(notched).items():
        told = ", ".join(runs_of_marks(c.mark for c in same)).replace(" to ", " TO ")
        pages.text(f"SQUARE AT BOTH ENDS, THEN NOTCHED, {lies.upper()}: {told}.", PLAIN)
    for c in notched:
        if c.role not in ON_NOTCH_CARDS:
            pages.text(f"{c.mark}: {'; '.join(notch_words(stage, n) for n in c.notches)}.", PLAIN, indent=0.3, gap=0.06)
    if piles := pile_words(cuts):
        pages.text(f"ONE PILE AT THE SAW, ONE MARK; WHERE THEY GO THEY ARE CALLED: {'; '.join(piles)}.", PLAIN)
    if others:
        rows = [_row(stage, alike) for alike in cut_alike(others)]
        told = [k for k, c in enumerate(SETTINGS_HEAD) if c[0] != "RIP" or any(row[k] != NOTHING for row in rows)]
        heads, shares, aligns = zip(*(SETTINGS_HEAD[k] for k in told))
        rows = [[row[k] for k in told] for row in rows]
        pages.table(f"{name}: SETTINGS", heads, rows, shares, "".join(aligns), PLAIN)
    for angle, marks in steep(cuts).items():
        pages.text(steep_words(stage, angle, marks), PLAIN)


def pile_marks(cuts: Sequence[Cut]) -> dict[str, str]:
    """Of pieces cut alike the one mark by which the saw knows them, whatever their place: that of most of the pile."""
    rank, alike = {c.mark: (-c.quantity, k) for k, c in enumerate(cuts)}, same_cuts(cuts)
    return {m: min((m, *rest), key=rank.__getitem__) for m, rest in alike.items()}


def pile_words(cuts: Sequence[Cut]) -> list[str]:
    """Of each pile its mark at the saw, how many it has, and how many of them go by which mark where they are built
    in."""
    first, found = pile_marks(cuts), dict[str, list[Cut]]()
    for c in cuts:
        if c.mark in first:
            found.setdefault(first[c.mark], []).append(c)
    return [
        f"{mark}, {sum(c.quantity for c in pile)}: {' + '.join(f'{c.quantity} {c.mark}' for c in pile)}"
        for mark, pile in found.items()
    ]


def is_square(c: Cut) -> bool:
    """Whether the saw cuts both ends square, across the whole piece."""
    return not any(s.mitre or s.bevel for s in c.settings)


def by_face(cuts: Sequence[Cut]) -> dict[str, list[Cut]]:
    """Cuts by how they lie while they are set out."""
    found: dict[str, list[Cut]] = {}
    for c in cuts:
        found.setdefault(c.face_up, []).append(c)
    return found


def is_plain(c: Cut) -> bool:
    """Whether a piece is cut square at both ends and nothing is taken out of it: it may lie as it likes."""
    return is_square(c) and not (c.notches or c.holes)


def cut_alike(cuts: Sequence[Cut]) -> list[list[Cut]]:
    """Cuts in heaps of those for which the saw is set and the piece lies the same, in order."""
    heaps: dict[tuple, list[Cut]] = {}
    for c in cuts:
        ends = tuple((s.end, s.mitre, s.mitre_side, s.bevel, s.bevel_side) for s in c.settings)
        heaps.setdefault((chirality(c.sizes)[0], ends, c.rip is None, c.face_up), []).append(c)
    return list(heaps.values())


def steep(cuts: Sequence[Cut]) -> dict[float, list[str]]:
    """The angles past a saw's swing, degrees, with the marks of the pieces that have them."""
    found: dict[float, list[str]] = {}
    for c in cuts:
        for angle in sorted({a for s in c.settings for a in (s.mitre, s.bevel) if a > practice("saw swing")}):
            found.setdefault(angle, []).append(c.mark)
    return found


def steep_words(stage: Stage, angle: float, marks: Sequence[str]) -> str:
    """How a cut past the saw's swing is set: from the other face, or marked by so much along to so much across."""
    run = RUN[stage.metric]
    along = run * math.tan(math.radians(angle))
    return (
        f"{', '.join(marks)}: {angle:g}° IS PAST A SAW'S SWING OF {practice('saw swing'):g}°. HELD IN A JIG, ITS END"
        f" TO THE FENCE, SET {90 - angle:g}°; OR MARK IT, {stage.inch(along)} ALONG TO {stage.inch(run)} ACROSS."
    )


def _row(stage: Stage, alike: Sequence[Cut]) -> list[str]:
    c = alike[0]
    long, short = (c.length, c.length) if c.long_point < c.length - SAME_POINT else (c.long_point, c.short_point)
    tips = " TIP TO TIP" if c.long_point < c.length - SAME_POINT else ""
    lies = c.face_up.upper() + ("; NOTCHED" if c.notches or c.holes else "")
    return [
        "\n".join(a.mark for a in alike),
        "\n".join(str(a.quantity) for a in alike),
        stage.text(long) + tips,
        stage.text(short) if long - short >= SAME_POINT else NOTHING,
        stage.inch(c.rip) if c.rip is not None else NOTHING,
        end_words(c, "A"),
        end_words(c, "B"),
        lies,
    ]


def end_words(c: Cut, end: str) -> str:
    """The settings of one end, its long point with them."""
    return "\nAND ".join(str(s).upper().replace(", LONG POINT", "\nLONG") for s in c.end(end)) or "SQUARE"
