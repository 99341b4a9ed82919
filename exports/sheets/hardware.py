"""Fasteners, connectors and the notes that go with them: measured spans looked up in the published rows, each with its source.

What the model does not size (nail schedules of hangers, hold-down makes) is said to be chosen by the builder and not checked.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ...shared.standards import Row, find_limit, ledger_fastener_spacing

if TYPE_CHECKING:
    from .stage import Stage

FASTENER = "lag screw"


def edition(stage: "Stage") -> str:
    return stage.deck.parameters.local.edition


def limit_row(stage: "Stage", item: str) -> Row | None:
    return find_limit(item, edition(stage))


def psf(value: float) -> str:
    return f"{value:g} PSF"


@dataclass(frozen=True)
class LedgerFasteners:
    short: str  # for a leader
    full: str  # for a schedule or note
    source: str
    spacing: float | None


def ledger_span(stage: "Stage") -> float:
    """Longest measured clear span of a joist that a ledger carries, inches; 0 where there is none."""
    spans = [end - start for g in stage.groups if any(b.by == "ledger" for b in g.bearings) for start, end in g.spans]
    return max(spans, default=0.0)


def ledger_fasteners(stage: "Stage") -> LedgerFasteners:
    """What the published table says for the measured joist span."""
    span = ledger_span(stage)
    load = max(stage.deck.parameters.loads.live_psf, stage.deck.parameters.loads.ground_snow_psf)
    row = ledger_fastener_spacing(span / 12, FASTENER, edition(stage), load) if span else None
    if row is None or not row.value:
        return LedgerFasteners("LEDGER FASTENERS: NOT IN THE TABLE, BY AN ENGINEER", "LEDGER FASTENERS: THE MEASURED SPAN OR LOAD LIES OUTSIDE THE PUBLISHED TABLE; BY AN ENGINEER", "", None)
    text = f'1/2" {FASTENER.upper()}S WITH WASHERS @ {stage.inch(float(row.value))} O.C. MAX.'
    return LedgerFasteners(f"{text}, STAGGERED IN 2 ROWS", f"{text}, STAGGERED IN TWO ROWS, FOR A MEASURED JOIST SPAN OF {stage.text(span)}", row.citation, float(row.value))


def framing_notes(stage: "Stage") -> list[str]:
    p = stage.deck.parameters
    rows = []
    joists = stage.of("joist")
    if joists:
        g = stage.groups[0]
        rows.append(f"JOISTS {joists[0].stock.name} {p.lumber.species.upper()} {p.lumber.grade.upper()}, {_treated(p)}, AT {stage.inch(g.spacing)} ON CENTRE UNLESS DIMENSIONED OTHERWISE.")
    if stage.beams:
        rows.append(f"BEAMS {', '.join(sorted({b.text for b in stage.beams}))}, PLIES FASTENED TOGETHER; SPLICES ONLY OVER POSTS. BEAM TO POST: POST CAP EACH POST.")
    if stage.of("ledger"):
        fasteners = ledger_fasteners(stage)
        rows.append(f"{fasteners.full}." + (f" {fasteners.source.upper()}." if fasteners.source else ""))
        rows.append("JOIST HANGERS AT EVERY JOIST END ON A LEDGER OR HEADER (SHOWN AS A HEAVY U), SIZED TO THE JOIST, EVERY NAIL HOLE FILLED.")
        rows.append("LATERAL LOAD CONNECTIONS (LLC) BETWEEN DECK AND HOUSE FLOOR WHERE MARKED, NOT FEWER THAN TWO, RATED AS THE CODE IN FORCE ASKS.")
    else:
        rows.append("FREE-STANDING: NOT CARRIED BY THE HOUSE. BRACE POSTS AGAINST SWAY AS THE CODE IN FORCE ASKS; BRACING IS NOT CHECKED HERE.")
    if stage.of("post blocking") or stage.of("guard post"):
        load = limit_row(stage, "guard_handrail_concentrated_load")
        hold = limit_row(stage, "guard_post_holddown_capacity_min")
        rows.append(f"GUARD POSTS BLOCKED ON BOTH SIDES AND HELD TO THE FRAME WITH TENSION DEVICES{f' OF AT LEAST {hold.value:g} LB' if hold else ''}"
                    + (f" FOR THE {load.value:g} LB RAIL LOAD." if load else "."))
    rows.append("CONNECTORS AND FASTENERS IN TREATED LUMBER: HOT-DIPPED GALVANIZED OR STAINLESS STEEL; DO NOT MIX METALS.")
    rows.append("MARKS (J1, BM1 ...) ARE THOSE OF THE MEMBER SCHEDULE AND THE CUT LIST.")
    return rows


def _treated(p) -> str:
    return f"TREATED {p.lumber.treatment.upper()}" if p.lumber.treatment else "UNTREATED"


def hardware_rows(stage: "Stage") -> list[list[str]]:
    """Connection, what, how many (counted off the pieces), note: for the schedule."""
    rows = []
    ledgers = stage.of("ledger")
    if ledgers:
        f = ledger_fasteners(stage)
        rows.append(["LEDGER TO HOUSE", f.full, "", f.source.upper() or "NOT IN THE TABLE"])
        hung = sum(1 for g in stage.groups for _ in g.joists if any(b.by in ("ledger", "stair header") for b in g.bearings))
        rows.append(["JOIST TO LEDGER", "FACE-MOUNT HANGER, SIZE OF THE JOIST, GALVANIZED", str(hung), "BY THE CONNECTOR'S PUBLISHED LOAD; NOT CHECKED"])
        rows.append(["DECK TO HOUSE FLOOR", "LATERAL LOAD CONNECTION", "2+", "RATING AS THE CODE IN FORCE ASKS; NOT CHECKED"])
    if stage.beams:
        ties = sum(len(g.joists) * sum(b.by == "beam" for b in g.bearings) for g in stage.groups)
        rows.append(["JOIST TO BEAM", "TIE OR FRAMING ANGLE", str(ties), "NOT CHECKED"])
        posts = sum(len(b.posts) for b in stage.beams)
        rows.append(["BEAM TO POST", f"POST CAP FOR {stage.beams[0].text} ON {stage.beams[0].posts[0].stock.name if stage.beams[0].posts else 'POST'}", str(posts), "NOT CHECKED"])
    bases = len(stage.of("post base")) or len(stage.of("post"))
    if bases:
        rows.append(["POST TO FOOTING", "STAND-OFF POST BASE WITH ANCHOR BOLT", str(bases), "NOT CHECKED"])
    guards = len(stage.of("guard post"))
    if guards:
        hold = limit_row(stage, "guard_post_holddown_capacity_min")
        rows.append(["GUARD POST TO FRAME", f"TENSION DEVICE{f' {hold.value:g} LB' if hold else ''} AND TWO 1/2\" BOLTS", str(guards), (hold.citation.upper() if hold else "NOT CHECKED")])
    stringers = len(stage.of("stringer"))
    if stringers:
        rows.append(["STRINGER TO DECK", "SLOPED HANGER OR STRAP AT EACH STRINGER", str(stringers), "NOT CHECKED"])
    boards = [p for p in stage.of("board", "border", "breaker") if p.stair is None]
    if boards:
        how = "CLIPS IN THE GROOVES" if stage.deck.parameters.surface.fastening == "hidden" else "TWO SCREWS AT EVERY JOIST"
        rows.append(["SURFACE BOARD TO JOIST", how, "", "COUNTED IN THE TAKE-OFF"])
    return rows
