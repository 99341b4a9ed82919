"""Fasteners, connectors and the notes that go with them: measured spans looked up in the published rows, each with its
source.

What the model does not size (nail schedules of hangers, hold-down makes) is said to be chosen by the builder and not
checked.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ...model.measuring.braces_seen import braces_seen
from ...model.order.fasteners import fasteners
from ...model.order.hardware_rules import rules
from ...model.order.kit_order import kit_bought
from ...model.order.sheet_counts import sheet_counts
from ...model.order.takeoff import LEDGER_FASTENER, ledger_given, ledger_row
from ...shared.cited import Row
from ...shared.practice import practice
from ...shared.standards import find_limit
from ..drafting.wording import dressed_text, quantity, sized_text

OFF_MIDDLE = practice("bolt of a notched post off its middle")
FROM_EDGE = practice("bolt of a notched post from the edge")

if TYPE_CHECKING:
    from .in_plan import BeamLine
    from .stage import Stage


def edition(stage: Stage) -> str:
    return stage.deck.parameters.local.edition


def limit_row(stage: Stage, item: str) -> Row | None:
    return find_limit(item, edition(stage))


def bolt(stage: Stage, item: str) -> str:
    """The diameter of ledger fasteners or of bolts of posts by the data: 1/2 in, or its own size in millimetres, as
    there is no metric bolt of that size."""
    return quantity(rules()[item].diameter, "in", stage.metric).upper()


def psf(value: float) -> str:
    return f"{value:g} PSF"


@dataclass(frozen=True)
class LedgerFasteners:
    short: str  # for a leader
    full: str  # for a schedule or note
    source: str  # as lettered
    spacing: float | None


def ledger_fasteners(stage: Stage) -> LedgerFasteners:
    """What the file gives, else what the published table says for the measured joist span."""
    span, row = stage.once("ledger row", lambda: ledger_row(stage.deck))
    size, given = bolt(stage, "ledger fastener"), ledger_given(stage.deck)
    if given is not None:
        kind, spacing = given
        what = {"bolt with gap": "BOLTS"}.get(kind, f"{kind.upper()}S")
        told = f"{size} {what} WITH WASHERS @ {stage.inch(spacing)} O.C., STAGGERED IN"
        return LedgerFasteners(f"{told} 2 ROWS", f"{told} TWO ROWS, AS GIVEN", "", spacing)
    if row is None or not row.value:
        return LedgerFasteners(
            "LEDGER FASTENERS: NOT IN THE TABLE, BY AN ENGINEER",
            "LEDGER FASTENERS: THE MEASURED SPAN OR LOAD LIES OUTSIDE THE PUBLISHED TABLE; BY AN ENGINEER",
            "",
            None,
        )
    text = f"{size} {LEDGER_FASTENER.upper()}S WITH WASHERS @ {stage.inch(row.value)} O.C. MAX."
    return LedgerFasteners(
        f"{text}, STAGGERED IN 2 ROWS",
        f"{text}, STAGGERED IN TWO ROWS, FOR A MEASURED JOIST SPAN OF {stage.text(span)}",
        stage.words(row.citation),
        float(row.value),
    )


def framing_notes(stage: Stage) -> list[str]:
    p = stage.deck.parameters
    rows = []
    joists = stage.of("joist")
    if joists:
        g = stage.groups[0]
        stock = joists[0].stock
        wood = "VALUES GIVEN BY THE BUILDER" if stock.given else f"{p.lumber.species} {p.lumber.grade}".upper()
        rows.append(
            f"JOISTS {sized_text(stock, stage.metric)}{',' if stock.given else ''} {wood}, {_treated(p)}"
            + (f", AT {stage.inch(g.spacing)} ON CENTRE UNLESS DIMENSIONED OTHERWISE." if g.spacing else ".")
        )
    if stage.beams:
        beams = ", ".join(sorted({_beam(b, stage.metric) for b in stage.beams}))
        rows.append(f"BEAMS {beams}, PLIES FASTENED TOGETHER; SPLICES ONLY OVER POSTS. {_seats(stage)}")
    if stage.of("ledger"):
        fasteners = ledger_fasteners(stage)
        rows.append(f"{fasteners.full}." + (f" {fasteners.source}." if fasteners.source else ""))
    on = [name for name, some in (("LEDGER", stage.of("ledger")), ("FLUSH BEAM", stage.flush_beams)) if some]
    if on:
        rows.append(
            f"JOIST HANGERS AT EVERY JOIST END ON A {', '.join(on)} OR HEADER (SHOWN AS A HEAVY U), SIZED TO THE JOIST,"
            " EVERY NAIL HOLE FILLED."
        )
    if stage.of("ledger"):
        rows.append(_lateral_ties(stage))
    else:
        rows.append(
            "FREE-STANDING: NOT CARRIED BY THE HOUSE. BRACE POSTS AGAINST SWAY BOTH WAYS AS THE CODE IN FORCE ASKS;"
            " BRACES SQUARE TO THE BEAMS ARE NOT DRAWN."
        )
    if stage.of("knee brace"):
        rows.append(_knee_braces(stage))
    if stage.of("post blocking") or stage.of("guard post"):
        load = limit_row(stage, "guard_handrail_concentrated_load")
        hold = limit_row(stage, "guard_post_holddown_capacity_min")
        rows.append(
            "GUARD POSTS BLOCKED ON BOTH SIDES AND HELD TO THE FRAME WITH TENSION"
            f" DEVICES{f' OF AT LEAST {hold.value:g} LB' if hold else ''}"
            + (f" FOR THE {load.value:g} LB RAIL LOAD." if load else ".")
        )
    rows.append(
        "CONNECTORS AND FASTENERS IN TREATED LUMBER: HOT-DIPPED GALVANIZED OR STAINLESS STEEL; DO NOT MIX METALS."
    )
    rows.append("MARKS (J1, BM1 ...) ARE THOSE OF THE MEMBER SCHEDULE AND THE CUT LIST.")
    return rows


def _lateral_ties(stage: Stage) -> str:
    names = ("hold_downs_large_min", "hold_down_large_lb", "hold_downs_small_min", "hold_down_small_lb")
    few, large, many, small, far = (limit_row(stage, n) for n in (*names, "hold_down_from_end_max"))
    told = f"{few.value:g} OF AT LEAST {large.value:,.0f} LB" if few and large else "AS THE CODE IN FORCE ASKS"
    told += f", OR {many.value:g} OF {small.value:,.0f} LB EVENLY ALONG THE LEDGER" if many and small else ""
    told += f"; THE OUTERMOST WITHIN {stage.inch(far.value)} OF ITS ENDS" if far else ""
    source = f" ({stage.words(large.citation)})" if large else ""
    return f"LATERAL LOAD CONNECTIONS (LLC) BETWEEN DECK AND HOUSE FLOOR WHERE MARKED: {told}{source}."


def _knee_braces(stage: Stage) -> str:
    """Their stock, their legs as measured on the solids, and what holds them."""
    braces = braces_seen(stage.deck.parts, ())
    stock = braces[0].part.stock
    legs = sorted({round(b.leg, 3) for b in braces}, reverse=True)
    return (
        f"KNEE BRACES WHERE DRAWN, {sized_text(stock, stage.metric)} AT 45 DEG. FROM OUTERMOST POSTS TO THEIR BEAM,"
        f" {' AND '.join(stage.inch(x) for x in legs)} FROM THE CORNER OF POST AND BEAM TO THE AXIS; ONE"
        f" {bolt(stage, 'brace lag screw')} LAG SCREW WITH A WASHER AT EACH END. NONE AT INNER POSTS."
    )


def post_bolts(stage: Stage) -> str:
    """The bolts through a notched post and its beam, for a leader or a note."""
    each = rules()["post bolt"].each
    return (
        f"{bolt(stage, 'post bolt')} THROUGH-BOLTS WITH WASHERS, {each:g} A POST,"
        f" {stage.inch(OFF_MIDDLE)} TO EITHER SIDE OF THE POST'S MIDDLE"
    )


def bolt_levels(shoulder: float, top: float) -> list[float]:
    """Where the bolts go through a notched post, from its shoulder to its upper end."""
    return [shoulder + FROM_EDGE, top - FROM_EDGE]


def _seats(stage: Stage) -> str:
    """How the beams sit on their posts: capped, or in notches, or some so and some so."""
    if not any(p.role == "post" for line in stage.beams for p in line.posts):
        return "THEY BEAR ON POST BASES."
    if not stage.notched:
        return "BEAM CAP ON EVERY POST."
    some = next(iter(stage.notched.values()))
    whole = {p.id for line in stage.beams for p in line.posts if p.role == "post"} - set(stage.notched)
    left = stage.inch(min(s.left for s in stage.notched.values()))
    return (
        f"THEY SIT IN NOTCHED POSTS, ON A SHOULDER {stage.inch(some.notch.depth)} DEEP, {left} OF THE POST LEFT BESIDE"
        f" IT; {post_bolts(stage)}." + (" BEAM CAP ON EVERY OTHER POST." if whole else "")
    )


def _beam(line: BeamLine, metric: bool) -> str:
    return line.text + dressed_text(line.plies[0].stock, metric, " ({} EACH)")


def _treated(p) -> str:
    return f"TREATED {p.lumber.treatment.upper()}" if p.lumber.treatment else "UNTREATED"


# Item of the take-off and the connection it makes, from the house and the ground up.
CONNECTIONS = (
    ("ledger fastener", "LEDGER TO HOUSE"),
    ("hold-down", "DECK TO HOUSE FLOOR"),
    ("brace lag screw", "KNEE BRACE TO POST AND BEAM"),
    ("post base", "POST TO FOOTING"),
    ("post-base anchor", "POST BASE TO CONCRETE"),
    ("beam cap", "BEAM TO POST"),
    ("post bolt", "BEAM TO NOTCHED POST"),
    ("ply nail", "PLIES OF BEAMS AND RIMS"),
    ("joist hanger", "JOIST TO LEDGER OR BEAM"),
    ("doubled joist hanger", "DOUBLED JOIST TO LEDGER OR BEAM"),
    ("cleat screw", "CLEAT TO JOIST"),
    ("beam tie", "JOIST TO BEAM"),
    ("framing screw", "JOISTS, RIMS AND BLOCKING"),
    ("angle pair", "BORDER BLOCKING"),
    ("short connector nail", "NAILS OF TIES AND ANGLES"),
    ("connector nail", "NAILS OF JOIST HANGERS"),
    ("heavy connector nail", "NAILS OF CAPS AND BASES"),
    ("guard-post bolt", "GUARD POST TO FRAME"),
    ("rail bracket", "RAIL TO POST"),
    ("baluster screw", "BALUSTER TO RAIL"),
    ("kit baluster", "BALUSTER IN THE HOLES OF ITS RAILS"),
    ("foot-block screw", "FOOT BLOCK TO RAIL"),
    ("kit foot block", "FOOT BLOCK UNDER ITS RAIL"),
    ("handrail bracket", "HANDRAIL TO POST"),
    ("stringer connector", "STRINGER TO DECK"),
    ("hip block screw", "HIP AND JACK STRINGERS TO BLOCKS"),
    ("pad anchor", "STAIR TO PAD"),
    ("header anchor", "STAIR HEADER TO PAD"),
    ("strap tie", "STAIR HEADER TO RIM"),
    ("tread screw", "TREAD AND RISER"),
    ("deck screw", "SURFACE BOARD TO FRAME"),
    ("hidden clip", "GROOVED BOARD TO FRAME"),
    ("start clip", "FIRST AND LAST GROOVED BOARD"),
    ("fascia screw", "FASCIA AND SKIRTS"),
)


def hardware_rows(stage: Stage) -> list[list[str]]:
    """Connection, what, how many, note: for the schedule. The counts are those of the order, from the contacts of the
    pieces."""
    ledger, p = ledger_fasteners(stage), stage.deck.parameters
    found = {
        h.item: h
        for h in fasteners(
            stage.measured_rows,
            stage.deck.contacts,
            p.surface.fastening,
            ledger.spacing,
            hold_downs=stage.deck.tied_back,
            kit=kit_bought(stage.measured_rows, p.guard.kit, p.order.kerf)[1],
            sheet=sheet_counts(stage.deck),
        )
    }
    beams = sorted({f"{b.text} ON {p.stock.name}" for b in stage.beams for p in b.posts if p.role == "post"})
    hold = limit_row(stage, "guard_post_holddown_capacity_min")
    words = {
        "ledger fastener": ledger.full,
        "beam cap": f"BEAM CAP FOR {', '.join(beams)}" if beams else "BEAM CAP",
        "joist hanger": "FACE-MOUNT JOIST HANGER, SIZE OF THE JOIST, GALVANIZED",
        "doubled joist hanger": "FACE-MOUNT HANGER, SIZE OF TWO JOISTS, GALVANIZED",
        "post base": "STAND-OFF POST BASE",
        "guard-post bolt": f"{bolt(stage, 'guard-post bolt')} BOLT",
        "post bolt": f"{bolt(stage, 'post bolt')} THROUGH-BOLT",
        "brace lag screw": f"{bolt(stage, 'brace lag screw')} LAG SCREW WITH A WASHER",
        "hold-down": "LATERAL LOAD CONNECTION (LLC), HOLD-DOWN",
        "stringer connector": "SLOPED HANGER OR STRAP",
        "post-base anchor": f"{bolt(stage, 'post-base anchor')} ANCHOR BOLT",
        "strap tie": "STRAP TIE ACROSS THE JOINT, ON EITHER FACE",
        "header anchor": f"{bolt(stage, 'header anchor')} CONCRETE ANCHOR WITH A WASHER",
    }
    rows = []
    for item, connection in CONNECTIONS:
        h = found.get(item)
        if item == "ledger fastener" and stage.of("ledger"):
            rows.append([connection, ledger.full, f"{h.count:g}" if h else "", ledger.source or "NOT IN THE TABLE"])
        elif h:
            rows.append(
                [
                    connection,
                    f"{words.get(item, item.upper())}: {stage.words(h.rule.places)}",
                    f"{h.count:g}",
                    f"{stage.words(h.rule.source)}; STRENGTH NOT CHECKED",
                ]
            )
        if item == "guard-post bolt" and h:
            rows.append(
                [
                    connection,
                    f"TENSION DEVICE{f' OF AT LEAST {hold.value:g} LB' if hold else ''}, EACH POST",
                    f"{h.places:g}",
                    stage.words(hold.citation) if hold else "NOT CHECKED",
                ]
            )
    return rows
