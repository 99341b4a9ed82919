"""Inspection card by stage: what will be looked at, the rule, the plan's measured value, and room for the as-built
one."""

from __future__ import annotations

from ...model.measuring.bay_seen import Bay
from ...model.measuring.flight_seen import FlightSeen, runs_with
from ...model.solid.roles import in_group
from ...shared.said import decimal, said
from ..drafting.wording import dressed_text, mode_text, sized_text, stock_text
from ..sheets import in_plan
from ..sheets.datum import signed_place
from ..sheets.hardware import ledger_fasteners, limit_row, post_bolts
from ..sheets.stage import Stage
from .board_layout import runs
from .corners import diagonals
from .days import cards_on
from .pages import PLAIN, Pages
from .setting_out import support_rows

BY_EYE = "BY EYE"
Requirement = tuple[str, str, str]  # requirement, plan value, sheet


def build(stage: Stage) -> None:
    pages = Pages(stage, 700, "INSPECTION CARD")
    pages.text(
        "RULES ARE QUOTED HERE; THE AUTHORITY HAVING JURISDICTION DECIDES. PLAN VALUES ARE MEASURED OFF THE MODEL.",
        PLAIN,
    )
    first = True
    for title, rows in (
        ("BEFORE CONCRETE", before_concrete(stage)),
        ("FRAMING, BEFORE THE SURFACE", framing(stage)),
        ("FINAL", final(stage)),
    ):
        if not rows:
            continue
        if not first:
            pages.new()
        first = False
        pages.table(
            title,
            ["REQUIREMENT", "PLAN, MEASURED", "BUILT", "SIGNED", "SHEET"],
            [[r, v, "", "", s] for r, v, s in rows],
            [5.9, 1.8, 0.95, 0.95, 0.85],
            "lrllc",
            PLAIN,
        )


def rule(stage: Stage, item: str, words: str) -> str:
    """A requirement with its published limit and citation, or the words alone where the data has none."""
    row = limit_row(stage, item)
    if row is None:
        return words.format("")
    value = stage.inch(row.value) if row.unit == "in" else f"{row.value:g} {row.unit}"
    return f"{words.format(value)} ({stage.words(row.citation)})".upper().replace("  ", " ")


def before_concrete(stage: Stage) -> list[Requirement]:
    rows: list[Requirement] = []
    found = stage.of("footing")
    if not found:
        return rows
    sheet = _sheets(stage).get("POSTS AND FOOTINGS", "-")
    sizes = [f.shape.circle * 2 if f.shape.circle else float(f.box[1, 0] - f.box[0, 0]) for f in found]
    depths = footing_depths(stage)
    rows.append(("FOOTINGS: NUMBER AND SIZE", f"{len(found)}, {mode_text(sizes, stage.inch)}", sheet))
    rows.append(
        (
            rule(stage, "footing_depth_below_grade_min", "DEPTH OF FOOTINGS BELOW GRADE AT LEAST {}"),
            mode_text(depths, stage.text),
            sheet,
        )
    )
    frost = stage.deck.parameters.local.frost_depth
    rows.append(
        (
            "FROST DEPTH OF THE PLACE" + ("" if frost else ": NOT GIVEN, ASK THE AUTHORITY"),
            stage.text(frost) if frost else "-",
            "-",
        )
    )
    rows.append(
        (
            "FIRM UNDISTURBED SOIL, HOLES CLEAN AND DRY; SOIL BEARING ASSUMED",
            f"{stage.deck.parameters.loads.soil_bearing_psf:g} PSF",
            "-",
        )
    )
    rows.append(("UTILITIES MARKED BEFORE DIGGING", BY_EYE, "-"))
    origin = "HOUSE" if stage.house_edges else "O"
    for _name, along, out, pieces in support_rows(stage):
        told = f"{signed_place(stage, along)} / {signed_place(stage, out)}"
        rows.append((f"CENTRE OF {pieces[-1].id}, ALONG / OUT FROM {origin}", told, sheet))
    return rows


def footing_depths(stage: Stage) -> list[float]:
    """From grade on each footing's low side down to its underside."""
    return [stage.low_grade(f) - float(f.box[0, 2]) for f in stage.of("footing")]


def _sheets(stage: Stage) -> dict[str, str]:
    """The sheet's number by its title, the first of those that share one."""
    return {card: s.number for s in reversed(stage.drawing.sheets) for card in cards_on(s)}


def framing(stage: Stage) -> list[Requirement]:
    rows: list[Requirement] = []
    squaring = _sheets(stage).get("SQUARING", "-")
    for a, b, v in sorted(diagonals(stage), key=lambda p: -p[2])[:3]:  # the longest tell most
        rows.append((f"FRAME DIAGONAL {a}-{b}", stage.text(v), squaring))
    return [*rows, *_joist_rows(stage), *_support_rows(stage), *_ledger_rows(stage), *_blocking_rows(stage)]


def _joist_rows(stage: Stage) -> list[Requirement]:
    """Joists: size, spacing, spans, overhangs and their bearing on beams."""
    if not stage.groups:
        return []
    sheet = _sheets(stage).get("FRAME MARKS", "-")
    joists = stage.groups[0]
    rows: list[Requirement] = [
        (
            "JOISTS: SIZE AND SPACING ON CENTRE",
            f"{sized_text(joists.joists[0].stock, stage.metric)} @ {stage.inch(joists.spacing)}",
            sheet,
        )
    ]
    spans = [e - s for g in stage.groups for s, e in g.spans]
    if spans:
        rows.append(("LONGEST CLEAR SPAN OF A JOIST", stage.text(max(spans)), sheet))
    over = overhangs(stage)
    if over:
        rows.append(("LONGEST OVERHANG OF A JOIST PAST ITS BEAM", stage.text(max(over)), sheet))
    bearing = [b.end - b.start for g in stage.groups for m in g.members for b in in_plan.bearings(m) if b.by == "beam"]
    if bearing:
        rows.append(
            (
                rule(stage, "bearing_on_wood_min", "JOISTS BEAR ON A BEAM BY AT LEAST {}"),
                stage.inch(min(bearing)),
                sheet,
            )
        )
    return rows


def _support_rows(stage: Stage) -> list[Requirement]:
    """Beams and posts."""
    sheet = _sheets(stage).get("POSTS AND FOOTINGS", "-")
    rows: list[Requirement] = [
        (
            f"BEAM {'-'.join(dict.fromkeys(p.mark for p in line.plies))}",
            f"{stock_text(line.text)}{dressed_text(line.plies[0].stock, stage.metric, ' ({})')},"
            f" {stage.text(line.along[1] - line.along[0])}",
            sheet,
        )
        for line in stage.beams
    ]
    spans = [b - a for line in stage.beams for a, b in zip(line.stations, line.stations[1:])]
    if spans:
        rows.append(("LONGEST SPAN OF A BEAM, POST CENTRES", stage.text(max(spans)), sheet))
    posts = stage.of("post")
    if posts:
        longest = max(float(p.box[1, 2] - p.box[0, 2]) for p in posts)
        rows.append(
            (
                "POSTS: SIZE AND GREATEST LENGTH",
                f"{sized_text(posts[0].stock, stage.metric)}, {stage.text(longest)}",
                sheet,
            )
        )
    return rows


def _ledger_rows(stage: Stage) -> list[Requirement]:
    """The ledger, and the hardware of the whole frame."""
    rows: list[Requirement] = []
    if stage.of("ledger"):
        fast = ledger_fasteners(stage)
        rows.append(
            (
                f"LEDGER FASTENERS {fast.source}",
                stage.inch(fast.spacing) + " O.C." if fast.spacing else "BY AN ENGINEER",
                "-",
            )
        )
        rows.append(("LEDGER FLASHING IN PLACE AND LAPPED", BY_EYE, "-"))
    if stage.notched:
        words = rule(stage, "notched_post_thickness_left_min", "NOTCHED POSTS: WOOD BESIDE THE NOTCH AT LEAST {}")
        sheet = _sheets(stage).get("NOTCH CARDS", "-")
        rows.append((words, stage.inch(min(s.left for s in stage.notched.values())), sheet))
        rows.append(("NOTCHED POSTS: " + post_bolts(stage), f"{len(stage.notched)} POSTS", sheet))
    rows.append(("HANGERS, CAPS, BASES: EVERY FASTENER IN", BY_EYE, "-"))
    return rows


def _blocking_rows(stage: Stage) -> list[Requirement]:
    """Blocking, and that of the guard posts."""
    sheet = _sheets(stage).get("BLOCKING", "-")
    rows: list[Requirement] = []
    blocks = stage.deck_of(*in_group("blocking"))
    if blocks:
        rows.append(("BLOCKING, ALL ROWS IN", f"{len(blocks)} BLOCKS", sheet))
    if stage.of("guard post"):
        rows.append(
            (
                rule(stage, "guard_post_holddown_capacity_min", "GUARD POSTS BLOCKED, TENSION DEVICES AT LEAST {}"),
                f"{len(stage.of('guard post'))} POSTS",
                sheet,
            )
        )
    return rows


def overhangs(stage: Stage) -> list[float]:
    """How far joists reach past their outermost beams, rims with them."""
    return [b - a for g in stage.groups for a, b in g.overhangs]


def final(stage: Stage) -> list[Requirement]:
    return [*_guard_rows(stage), *_stair_rows(stage), *_surface_rows(stage)]


def _guard_rows(stage: Stage) -> list[Requirement]:
    rows: list[Requirement] = []
    found = stage.seen.bays
    sheet = _sheets(stage).get("GUARDS", "-")
    level = [b for b in found if b.up is not None and b.stair is None]
    if level:
        rows.append(
            (
                rule(stage, "guard_height_min", "GUARD HEIGHT AT LEAST {}"),
                mode_text([float(b.top.box[1, 2]) - stage.surface_top for b in level], stage.text),
                sheet,
            )
        )
        rows.append((rule(stage, "guard_opening_sphere", "OPENINGS PASS NO SPHERE OF {}"), widest(stage, level), sheet))
        rows.append(("BOTTOM RAIL ABOVE THE SURFACE", mode_text([b.up for b in level], stage.inch), sheet))
    sloped = [b for b in found if b.slope > 0.01]
    if sloped:
        rows.append(
            (
                rule(stage, "guard_opening_sphere_stair_side", "STAIR SIDE: OPENINGS PASS NO SPHERE OF {}"),
                widest(stage, sloped),
                sheet,
            )
        )
    return rows


def widest(stage: Stage, found: list[Bay]) -> str:
    """The widest opening of bays: in inches to a thousandth, as a sphere tells, or in millimetres to a hundredth."""
    return stage.words(said("{space} widest", space=decimal(max(max(b.spaces) for b in found), 3)))


def _stair_rows(stage: Stage) -> list[Requirement]:
    """Rises, treads and handrails of all flights."""
    flights = stage.flights
    if not flights:
        return []
    sheets = _sheets(stage)
    stairs = sheets.get("STRINGERS", "-")
    name = "STAIR" if len(flights) == 1 else f"FLIGHTS 1 TO {len(flights)}"
    rows: list[Requirement] = [
        (
            rule(stage, "riser_height_max", f"{name}: RISE AT MOST {{}}"),
            each(f"{len(f.rises)} x {mode_text(f.rises, stage.inch)}" for f in flights),
            stairs,
        ),
        (
            rule(stage, "riser_uniformity_max_difference", f"{name}: RISES ALIKE WITHIN {{}}"),
            each(stage.inch(max(f.rises) - min(f.rises)) for f in flights),
            stairs,
        ),
    ]
    going = [mode_text(g, stage.inch) for f in flights if (g := f.goings)]
    if going:
        words = f"{name}: TREAD DEPTH, NOSING TO NOSING, AT LEAST {{}}"
        rows.append((rule(stage, "tread_depth_min", words), each(going), stairs))
    heights = [stage.inch(h) for f in flights if (h := handrail_height(stage, f)) is not None]
    if heights:
        words = f"{name}: HANDRAIL ABOVE THE NOSINGS AT LEAST {{}}"
        rows.append((rule(stage, "handrail_height_min", words), each(heights), sheets.get("GUARDS", "-")))
    return rows


def _surface_rows(stage: Stage) -> list[Requirement]:
    rows: list[Requirement] = []
    sheets = _sheets(stage)
    between = [r.gap for r in runs(stage) if r.gap is not None]
    if between:
        rows.append(("GAP BETWEEN BOARDS", mode_text(between, stage.inch), sheets.get("BOARD LAYOUT", "-")))
    rows.append(("GAP AT BOARD ENDS FOR THE TEMPERATURE", "GAP CARD", sheets.get("GAP CARD", "-")))
    return rows


def each(values) -> str:
    """The values of the flights in their order, once where all are alike."""
    values = list(values)
    return values[0] if len(set(values)) == 1 else ", ".join(values)


def handrail_height(stage: Stage, f: FlightSeen) -> float | None:
    """Plumb height of the handrail's upper face over the line through the nosings; None where the flight has none."""
    over = [
        float(m.part.vertices[k, 2]) - f.pitch_level(float(m.part.vertices[k, :2] @ f.out))
        for m in stage.seen.of("handrail", stair=f.stair)
        if runs_with(f, m)
        for k in range(len(m.part.vertices))
    ]
    return max(over) if over else None
