"""The first cards: what is on which card, the order of work with the inspections as stops, tools to bring."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from ..drafting import drawing as d
from ..sheets.stage import Stage
from .days import cards_on
from .pages import PLAIN, Pages

# a card by its name: what it is for
FOR = {
    "LEDGER FASTENERS": "WHERE THE LEDGER IS BORED",
    "STRING LINES": "BATTER BOARDS, STRINGS, DIAGONALS",
    "POSTS AND FOOTINGS": "WHERE FOOTINGS, POSTS AND BEAMS STAND",
    "HEIGHTS": "LEVELS FROM ONE LINE, LENGTHS OF POSTS",
    "FRAME MARKS": "JOISTS AND POSTS ON LEDGER, BEAMS, RIMS",
    "SQUARING": "SIDES AND DIAGONALS OF THE FRAME",
    "BLOCKING": "ROWS OF BLOCKS, WHERE AND HOW MANY",
    "FRAME HARDWARE": "HANGERS, TIES, SCREWS AND NAILS",
    "BOARD LAYOUT": "WHERE BOARDS LIE, IN LAYING ORDER",
    "NOTCH CARDS": "BOARDS AND POSTS THAT ARE NOTCHED",
    "GAP CARD": "GAPS FOR THE DAY",
    "SURFACE HARDWARE": "SCREWS AND CLIPS OF BOARDS AND TRIM",
    "STAIRS": "WHERE STAIRS LIE; HEADERS, LANDINGS",
    "STRINGERS": "SETTING OUT OF EACH STRINGER",
    "TREADS AND SKIRTS": "TREADS, RISERS, SKIRTS OF EACH STAIR",
    "STAIR AND GUARD HARDWARE": "WHAT HOLDS STAIRS, POSTS AND RAILS",
    "GUARDS": "BAYS, RAILS AND BALUSTERS",
    "SAW CARD": "EACH LENGTH BOUGHT AND ITS CUTS",
    "INSPECTION CARD": "WHAT THE INSPECTOR LOOKS AT, MEASURED",
}
STOP = "STOP"
_Step = tuple[str, str, str, tuple[str, ...]]  # "" or STOP, what is done, its cards, roles of which a deck has some
WORK: tuple[_Step, ...] = (
    ("", "UTILITIES MARKED BY THE SERVICE THAT IS CALLED BEFORE DIGGING; PERMIT AT HAND", "", ()),
    ("", "DELIVERY TICKED OFF; LENGTHS STACKED BY WHAT IS NEEDED FIRST", "DELIVERY SHEET", ()),
    ("", "SIDING OFF, LEVEL LINE, FLASHING; LEDGER BORED CLEAR OF JOISTS", "LEDGER, HEIGHTS", ("ledger",)),
    ("", "BATTER BOARDS AND STRINGS; SQUARED BY DIAGONALS; HOLES DUG TO DEPTH", "STRING LINES", ("footing",)),
    ("", "FORMS FOR THE PAD AT THE FOOT OF EACH STAIR", "STAIRS", ("pad",)),
    (STOP, "INSPECTION BEFORE CONCRETE", "INSPECTION", ("footing",)),
    ("", "CONCRETE, TOPS TO THEIR LEVEL; ANCHORS SET UNDER THE STRINGS", "HEIGHTS, POSTS", ("footing",)),
    ("", "POST BASES; POSTS CUT TO THE BEAM'S LEVEL, PLUMBED, BRACED", "HEIGHTS, SAW", ("post",)),
    ("", "BEAMS BUILT UP, PLIES NAILED, JOINTS OVER POSTS, CROWN UP; CAPS NAILED", "POSTS, SAW", ("beam",)),
    ("", "LEDGER AND FRONT RIM MARKED TOGETHER; JOISTS CROWN UP; FRAME SQUARED", "MARKS, SQUARING", ("joist",)),
    ("", "HANGERS, TIES, TENSION DEVICES, BLOCKING; CUT ENDS TREATED; JOISTS TAPED", "BLOCKING, HARDWARE", ("joist",)),
    ("", "GUARD POSTS BLOCKED AND BOLTED, PLUMB", "MARKS, GUARDS", ("guard post",)),
    ("", "STAIR HEADERS AND STRINGERS", "STRINGERS, STAIRS", ("stringer",)),
    (STOP, "INSPECTION OF THE FRAMING, BEFORE THE SURFACE", "INSPECTION", ("joist",)),
    ("", "BORDER DRY-FITTED, THEN BOARDS FROM THE STARTING LINE, GAPS OF THE DAY", "BOARDS, GAP", ("board",)),
    ("", "FASCIA, RISERS, TREADS, SKIRTS", "TREADS, GAP", ("fascia", "tread")),
    ("", "GUARDS AND HANDRAILS", "GUARDS", ("top rail", "handrail")),
    (STOP, "FINAL INSPECTION", "INSPECTION", ()),
)
WORK_AT_HEIGHT = 72.0  # inches: fall protection in construction from 6 ft, 29 CFR 1926.501(b)(1), from memory


def build(stage: Stage) -> None:
    """The cards that stand before all others; called when those are there."""
    before = list(stage.drawing.sheets)
    pages = Pages(stage, 0, "ORDER OF WORK")
    _index(pages, before)
    pages.table(
        "ORDER OF WORK (COMMON PRACTICE)",
        ["NO.", "WHAT", "CARDS", "DONE"],
        [[str(k + 1) if what != STOP else STOP, said, cards, ""] for k, (what, said, cards) in enumerate(steps(stage))],
        [0.75, 6.7, 1.95, 0.75],
        "clll",
        PLAIN,
    )
    pages.table("TOOLS TO BRING", ["TOOL", "FOR"], tools(stage), [5.4, 4.6], "ll", PLAIN)
    stage.drawing.sheets[:] = [*pages.sheets, *before]


def _index(pages: Pages, before: Sequence[d.Sheet]) -> None:
    rows = []
    for name in dict.fromkeys(card for s in before for card in cards_on(s)):
        numbers = [s.number for s in before if name in cards_on(s)]
        rows.append([name, ", ".join(runs_of_sheets(numbers)), FOR[name]])
    pages.table("CARDS", ["CARD", "SHEETS", "FOR"], rows, [2.9, 2.6, 4.6], "lll", PLAIN)


def runs_of_sheets(numbers: Sequence[str]) -> list[str]:
    """Sheets' numbers in order, those that follow on one another as one run: `Z-101 TO Z-103`, `Z-109`."""
    out = []
    for _, run in groupby(enumerate(numbers), lambda n: int(n[1][2:]) - n[0]):
        row = [number for _, number in run]
        out.append(row[0] if len(row) == 1 else f"{row[0]} TO {row[-1]}")
    return out


def steps(stage: Stage) -> list[tuple[str, str, str]]:
    """("" or STOP, what is done, cards that it takes) in order; only what this deck has."""
    has = {p.role for p in stage.parts}
    return [(kind, said, cards) for kind, said, cards, roles in WORK if not roles or has & set(roles)]


def tools(stage: Stage) -> list[list[str]]:
    """Tools with what they are for on this deck."""
    high = max((float(p.box[1, 2]) for p in stage.of("joist")), default=0.0)
    rows = [
        ("EYE, EAR AND DUST PROTECTION, GLOVES", "EVERY CUT AND EVERY HOLE", True),
        ("TAPES, SQUARE, PENCIL, CHALK LINE", "ALL SETTING OUT", True),
        ("LEVEL OR LASER, STRING, STAKES", "LEDGER LINE, FOOTINGS, BEAMS", True),
        ("DIGGER OR AUGER, SHOVEL, MIXER", f"{len(stage.of('footing'))} FOOTINGS", bool(stage.of("footing"))),
        ("SAW THAT CUTS AT AN ANGLE, JIG OVER 50 DEGREES", "SAW CARD", True),
        ("HAND-HELD SAW, JIGSAW, CHISEL", "NOTCHES, STRINGERS, POSTS IN PLACE", True),
        ("DRILL WITH A LONG BIT OF THE BOLTS' SIZE, SOCKETS", "LEDGER, POSTS", bool(stage.of("ledger", "guard post"))),
        ("DRIVER AND BITS OF THE SCREWS' OWN DRIVE", "SURFACE, TRIM, BLOCKS", True),
        ("HAMMER OR CONNECTOR NAILER", "HANGERS, TIES, CAPS, BASES", True),
        ("FRAMING SQUARE WITH STOPS", "STRINGERS", bool(stage.of("stringer"))),
        ("SPACERS OF THE GAPS, CLAMPS, BOARD STRAIGHTENER", "SURFACE", True),
        ("POST LEVEL, BRACES, CLAMPS", "POSTS, GUARDS", bool(stage.of("post", "guard post"))),
        ("LADDER OR STAGING, FALL PROTECTION", f"FRAME AT {stage.text(high)}", high > WORK_AT_HEIGHT),
    ]
    return [[tool, for_what] for tool, for_what, asked in rows if asked]
