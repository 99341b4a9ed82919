"""Inspection card by stage: what will be looked at, the rule, the plan's measured value, and room for the as-built one."""
from __future__ import annotations

from ..sheets import reading
from ..sheets.hardware import ledger_fasteners, limit_row
from ..sheets.stage import Stage
from ..sheets.wording import mode_text, stock_text
from .bays import bays
from .corners import diagonals
from .pages import PLAIN, Pages


Row = tuple[str, str, str]  # requirement, plan value, sheet


def build(stage: Stage) -> None:
    pages = Pages(stage, 700, "INSPECTION CARD")
    pages.text("RULES ARE QUOTED HERE; THE AUTHORITY HAVING JURISDICTION DECIDES. PLAN VALUES ARE MEASURED OFF THE MODEL.", PLAIN)
    first = True
    for title, rows in (("BEFORE CONCRETE", before_concrete(stage)), ("FRAMING, BEFORE THE SURFACE", framing(stage)), ("FINAL", final(stage))):
        if not rows:
            continue
        if not first:
            pages.new()
        first = False
        pages.table(title, ["REQUIREMENT", "PLAN (MEASURED)", "AS BUILT", "INITIALS, DATE", "SHEET"], [[r, v, "", "", s] for r, v, s in rows], [4.0, 2.2, 1.4, 1.5, 0.9], "lrllc", PLAIN)


def rule(stage: Stage, item: str, words: str) -> str:
    """A requirement with its published limit and citation, or the words alone where the data has none."""
    row = limit_row(stage, item)
    if row is None:
        return words.format("")
    value = stage.inch(float(row.value)) if row.unit == "in" else f"{row.value:g} {row.unit}" if isinstance(row.value, float) else str(row.value)
    return f"{words.format(value)} ({row.citation})".upper().replace("  ", " ")


def before_concrete(stage: Stage) -> list[Row]:
    rows: list[Row] = []
    found = stage.of("footing")
    if not found:
        return rows
    sizes = [f.shape.circle * 2 if f.shape.circle else float(f.box[1, 0] - f.box[0, 0]) for f in found]
    depths = footing_depths(stage)
    rows.append(("FOOTINGS: NUMBER AND SIZE", f"{len(found)}, {mode_text(sizes, stage.inch)}", "Z-162"))
    rows.append((rule(stage, "footing_depth_below_grade_min", "DEPTH OF FOOTINGS BELOW GRADE AT LEAST {}"), mode_text(depths, stage.text), "Z-162"))
    frost = stage.deck.parameters.local.frost_depth
    rows.append(("FROST DEPTH OF THE PLACE" + ("" if frost else ": NOT GIVEN, ASK THE AUTHORITY"), stage.text(frost) if frost else "-", "-"))
    rows.append(("CENTRES OF FOOTINGS FROM THE HOUSE", "SEE SHEET", "Z-161"))
    rows.append(("FIRM UNDISTURBED SOIL, HOLES CLEAN AND DRY; SOIL BEARING ASSUMED", f"{stage.deck.parameters.loads.soil_bearing_psf:g} PSF", "-"))
    rows.append(("UTILITIES MARKED BEFORE DIGGING", "-", "-"))
    return rows


def footing_depths(stage: Stage) -> list[float]:
    """From grade at each footing's centre down to its underside."""
    return [stage.grade(*reading.centre(f)) - float(f.box[0, 2]) for f in stage.of("footing")]


def framing(stage: Stage) -> list[Row]:
    rows: list[Row] = []
    marks = {s.name: s.number for s in reversed(stage.drawing.sheets)}
    sheet = marks.get("FRAME MARKS", "-")
    pairs = diagonals(stage)
    for a, b, v in pairs[:2] if len(pairs) <= 2 else []:
        rows.append((f"FRAME DIAGONAL {a}-{b}", stage.text(v), marks.get("SQUARING", "-")))
    if len(pairs) > 2:
        rows.append(("FRAME'S SIDES AND DIAGONALS", "SEE SHEET", marks.get("SQUARING", "-")))
    if stage.groups:
        joists = stage.groups[0]
        rows.append(("JOISTS: SIZE AND SPACING ON CENTRE", f"{stock_text(joists.joists[0].stock.name)} @ {stage.inch(joists.spacing)}", sheet))
        spans = [e - s for g in stage.groups for s, e in g.spans]
        if spans:
            rows.append(("LONGEST CLEAR SPAN OF A JOIST", stage.text(max(spans)), sheet))
    for line in stage.beams:
        rows.append((f"BEAM {'-'.join(dict.fromkeys(p.mark for p in line.plies))}", f"{stock_text(line.text)}, {stage.text(line.along[1] - line.along[0])}", marks.get("POSTS AND FOOTINGS", "-")))
    posts = stage.of("post")
    if posts:
        rows.append(("POSTS: SIZE AND GREATEST LENGTH", f"{stock_text(posts[0].stock.name)}, {stage.text(max(float(p.box[1, 2] - p.box[0, 2]) for p in posts))}", marks.get("POSTS AND FOOTINGS", "-")))
    if stage.of("ledger"):
        fast = ledger_fasteners(stage)
        rows.append((f"LEDGER FASTENERS {fast.source.upper()}", stage.inch(fast.spacing) + " O.C." if fast.spacing else "BY AN ENGINEER", "-"))
        rows.append(("LEDGER FLASHING IN PLACE AND LAPPED", "-", "-"))
    rows.append(("HANGERS, CAPS AND BASES: EVERY FASTENER IN", "-", "-"))
    if stage.of("guard post"):
        rows.append((rule(stage, "guard_post_holddown_capacity_min", "GUARD POSTS BLOCKED, TENSION DEVICES AT LEAST {}"), f"{len(stage.of('guard post'))} POSTS", "-"))
    return rows


def final(stage: Stage) -> list[Row]:
    rows: list[Row] = []
    marks = {s.name: s.number for s in reversed(stage.drawing.sheets)}
    found = bays(stage)
    guards = marks.get("GUARDS", "-")
    level = [b for b in found if b.up is not None and b.stair is None]
    if level:
        rows.append((rule(stage, "guard_height_min", "GUARD HEIGHT AT LEAST {}"), mode_text([float(b.top.box[1, 2]) - stage.surface_top for b in level], stage.text), guards))
        rows.append((rule(stage, "guard_opening_sphere", "OPENINGS PASS NO SPHERE OF {}"), f"{max(max(b.spaces) for b in level):.3f} IN WIDEST" if not stage.metric else f"{max(max(b.spaces) for b in level) * 25.4:.0f} WIDEST", guards))
        rows.append(("BOTTOM RAIL ABOVE THE SURFACE", mode_text([b.up for b in level], stage.inch), guards))
    sloped = [b for b in found if b.slope > 0.01]
    if sloped:
        rows.append((rule(stage, "guard_opening_sphere_stair_side", "STAIR SIDE: OPENINGS PASS NO SPHERE OF {}"), f"{max(max(b.spaces) for b in sloped):.3f} IN WIDEST" if not stage.metric else f"{max(max(b.spaces) for b in sloped) * 25.4:.0f} WIDEST", guards))
    stairs = marks.get("STRINGERS", "-")
    for n, f in enumerate(stage.flights, 1):
        rows.append((rule(stage, "riser_height_max", f"FLIGHT {n}: RISE AT MOST {{}}"), f"{len(f.rises)} x {mode_text(f.rises, stage.inch)}", stairs))
        rows.append((rule(stage, "riser_uniformity_max_difference", f"FLIGHT {n}: RISES ALIKE WITHIN {{}}"), stage.inch(max(f.rises) - min(f.rises)), stairs))
        going = goings(f)
        if going:
            row = "TREAD DEPTH, NOSING TO NOSING"
            rows.append((f"FLIGHT {n}: {row}", mode_text(going, stage.inch), stairs))
        height = handrail_height(stage, f)
        if height is not None:
            rows.append((rule(stage, "handrail_height_min", f"FLIGHT {n}: HANDRAIL ABOVE THE NOSINGS AT LEAST {{}}"), stage.inch(height), guards))
    rows.append(("BOARD ENDS: GAP AS ON THE GAP CARD", "SEE CARD", marks.get("GAP CARD", "-")))
    return rows


def goings(f: reading.Flight) -> list[float]:
    n = [s for s, _ in f.nosings()]
    return [b - a for a, b in zip(n, n[1:])]


def handrail_height(stage: Stage, f: reading.Flight) -> float | None:
    """Plumb height of the handrail's upper face over the line through the nosings; None where the flight has none."""
    n = f.nosings()
    rails = [p for p in stage.of("handrail") if p.stair == f.stair and p.box[1, 2] - p.box[0, 2] > 6]
    if len(n) < 2 or not rails:
        return None
    (s0, z0), (s1, z1) = n[0], n[-1]
    slope = (z1 - z0) / (s1 - s0)
    over = []
    for p in rails:
        s = p.vertices[:, :2] @ f.down
        if reading.overlap((float(s.min()), float(s.max())), (s0, s1)) > (s1 - s0) / 2 and reading.overlap(reading.reach(p, f.across), (f.band[0] - 6, f.band[1] + 6)) > 0:
            over.append(float((p.vertices[:, 2] - (z0 + slope * (s - s0))).max()))
    return max(over) if over else None
