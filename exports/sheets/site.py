"""C-101: lot, house, setbacks and deck with the distance of its nearest point to every lot line."""

from __future__ import annotations

import itertools
import math

import numpy as np
from shapely import LineString, Point, Polygon, unary_union
from shapely.ops import nearest_points

from ...model.solid.roles import named
from ..drafting import drawing as d
from ..drafting import style
from ..linework.eye import Eye
from ..linework.views import project
from .askew import askew
from .datum import axes, datum, datum_items, datum_told, tie
from .ground import signed
from .house import at_wall_items, house_in_plan, outline_items
from .pens import items
from .stage import Stage, joined_box
from .strings import Strings


def build(stage: Stage) -> d.Sheet:
    site = stage.deck.parameters.site
    sheet = stage.sheet("C-101", "SITE PLAN")
    plan_room, column = stage.beside(sheet, 3.0)
    stairs = project(stage.of("tread", "pad"), Eye.above())
    boxes = [built_box(stage)]
    for ring in [site.lot, site.house, *site.easements]:
        if ring:
            boxes.append(Polygon(ring).bounds)
    box = joined_box(boxes)

    def draw(scale: float) -> d.View:
        view = d.View("site plan", scale)
        _draw(stage, view, site, stairs)
        return view

    view = stage.fitted(draw, box, plan_room, 48.0, (1.0, 0.3))
    stage.place(
        sheet,
        view,
        plan_room,
        "Site plan",
        "1",
        "DISTANCES FROM THE NEAREST POINT OF DECK OR STAIR, SQUARE TO EACH LOT LINE.",
    )
    axes(stage, sheet, plan_room, askew(stage).degrees)
    # at the top right, on a small paper under the keynotes
    sheet.add(
        d.Symbol(
            "north", (plan_room[2] - 0.5, plan_room[1] + 0.5 if stage.small else plan_room[3] - 0.7), 1.0, -site.north
        )
    )
    stage.notes(sheet, column, "SITE NOTES", site_notes(stage))
    return sheet


def _draw(stage: Stage, view: d.View, site, stairs) -> None:
    if site.house:
        ring = [(float(x), float(y)) for x, y in site.house]
        view.add(d.Polyline(ring, True, layer="A-WALL"), d.Hatch(ring, pattern="steel", layer="A-WALL-PATT"))
        c = Polygon(ring).representative_point()
        view.add(d.Leader((c.x, c.y), "EXISTING HOUSE"))
    else:
        view.add(*house_in_plan(stage))
    view.add(*outline_items(stage, "A-FLOR-TRIM"), *items(stairs, "plan"), *at_wall_items(stage))
    deck = stage.deck.layout.outline.polygon
    c = deck.representative_point()
    x0, y0, x1, y1 = deck.bounds
    within = [
        (x0 + (x1 - x0) * a, y0 + (y1 - y0) * b)
        for a, b in ((0.85, 0.5), (0.15, 0.5), (0.85, 0.2), (0.15, 0.2), (0.15, 0.8), (0.85, 0.8))
    ]
    tips = [t for t in within if deck.contains(Point(t))]
    view.add(d.Leader((c.x, c.y), f"DECK, SURFACE {stage.text(stage.surface_top)} ABOVE DATUM", head="dot", tips=tips))
    if site.lot:
        _lot(stage, view, site, built_area(stage))
    for ring in site.easements:
        pts = [(float(x), float(y)) for x, y in ring]
        view.add(d.Polyline(pts, True, layer="C-PROP-ESMT"))
        q = Polygon(pts).representative_point()
        view.add(d.Leader((q.x, q.y), "EASEMENT OR SEPTIC FIELD"))
    view.add(*datum_items(stage), *tie(stage, view.scale).drawn)
    x0, y0, x1, y1 = whole = built_box(stage)
    strings = Strings(view, whole, 0.3, spacing=stage.string_spacing)
    if not site.lot:
        strings.chain("below", [(x0, y0), (x1, y0)])
        strings.chain("left", [(x0, y0), (x0, y1)])


def _lot(stage: Stage, view: d.View, site, built) -> None:
    lot = [(float(x), float(y)) for x, y in site.lot]
    view.add(d.Polyline(lot, True, layer="C-PROP"))
    for side, value, line in setback_lines(site):
        view.add(d.Line(*line, layer="C-PROP-STBK"))
        (ax, ay), (bx, by) = line
        at = [(ax + (bx - ax) * t, ay + (by - ay) * t) for t in (0.1, 0.9, 0.3, 0.7)]
        view.add(d.Leader(at[0], f"{side.upper()} SETBACK {stage.text(value)}", tips=at[1:]))
    for a, b in zip(lot, lot[1:] + lot[:1]):
        line = LineString([a, b])
        p, q = nearest_points(built, line)
        view.add(d.Dimension((p.x, p.y), (q.x, q.y), (p.x, p.y), None))
        angle = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
        angle = angle - 180 if angle > 90 else angle + 180 if angle <= -90 else angle
        n = np.array([-(b[1] - a[1]), b[0] - a[0]]) / math.dist(a, b) * 0.1 * view.scale
        inside = Polygon(lot).contains(Point((a[0] + b[0]) / 2 + n[0], (a[1] + b[1]) / 2 + n[1]))
        out = -n if inside else n
        m = ((a[0] * 0.75 + b[0] * 0.25) + out[0], (a[1] * 0.75 + b[1] * 0.25) + out[1])
        view.add(
            d.Text(
                m, f"LOT LINE {stage.text(math.dist(a, b))}", style.NOTE, "centre", "middle", angle, layer="A-ANNO-NOTE"
            )
        )


# The lot's sides are those of the sheet: front at its foot (the deck's front edge), back behind the house.
_OUTWARD = {"front": (0.0, -1.0), "back": (0.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}


def lot_side(a: d.Point, b: d.Point, lot: Polygon) -> str:
    """front, back, left or right: the side of the sheet to which a lot line's outer face looks most."""
    n = np.array([b[1] - a[1], a[0] - b[0]]) * (1 if lot.exterior.is_ccw else -1)
    return max(_OUTWARD, key=lambda side: float(n @ _OUTWARD[side]))


def setback_lines(site) -> list[tuple[str, float, tuple[d.Point, d.Point]]]:
    """(side, distance, ends) of the line at each setback's distance inside its lot lines, ending at the lot's other
    lines."""
    lot, out = Polygon(site.lot), []
    ring = [(float(x), float(y)) for x, y in lot.exterior.coords]
    for a, b in itertools.pairwise(ring):
        side = lot_side(a, b, lot)
        value = float(site.setbacks.get(side, 0.0))
        if value <= 0:
            continue
        u = np.subtract(b, a) / math.dist(a, b)
        n = np.array([-u[1], u[0]]) * (1 if lot.exterior.is_ccw else -1) * value
        far = 10 * math.dist(a, b)
        line = LineString([np.asarray(a) + n - u * far, np.asarray(b) + n + u * far]).intersection(lot)
        for piece in getattr(line, "geoms", [line]):
            if piece.length > 1:
                p, q = piece.coords[0], piece.coords[-1]
                out.append((side, value, ((float(p[0]), float(p[1])), (float(q[0]), float(q[1])))))
    return out


def setback_rows(stage: Stage, built) -> list[str]:
    """What each setback asks and the least distance measured to the lot lines of its side."""
    site = stage.deck.parameters.site
    lot = Polygon(site.lot)
    ring = list(lot.exterior.coords)
    rows = []
    for side, value in site.setbacks.items():
        far = [built.distance(LineString([a, b])) for a, b in itertools.pairwise(ring) if lot_side(a, b, lot) == side]
        if not far:
            rows.append(f"SETBACK ASKED, {side.upper()}: {stage.text(value)}. NO LOT LINE ON THAT SIDE: NOT CHECKED.")
            continue
        least = min(far)
        rows.append(
            f"{side.upper()} SETBACK {stage.text(value)} ASKED, {stage.text(least)} MEASURED:"
            f" {'MET' if least >= value - 1e-6 else 'NOT MET'}."
        )
    return rows


def built_box(stage: Stage) -> d.Box:
    """The box of everything built, in plan."""
    return stage.once("built box", lambda: tuple(map(float, joined_box(p.footprint.bounds for p in _built(stage)))))


def built_area(stage: Stage):
    """Everything built, seen from above."""
    return stage.once("built area", lambda: unary_union([p.footprint for p in _built(stage)]))


def _built(stage: Stage) -> list:
    return stage.of(*named("site plan"))


def site_notes(stage: Stage) -> list[str]:
    site = stage.deck.parameters.site
    rows = []
    if site.lot:
        rows.append("LOT LINES, HOUSE AND EASEMENTS ARE AS GIVEN BY THE OWNER; VERIFY AGAINST THE SURVEY.")
        rows += setback_rows(stage, built_area(stage))
        if site.setbacks:
            rows.append("SETBACKS ARE THE ONES GIVEN; THE LOCAL ZONING MAY COUNT STAIRS, PADS AND LOW DECKS OTHERWISE.")
    else:
        rows.append(
            "LOT LINES AND SETBACKS: NOT GIVEN. BEFORE SUBMITTAL DRAW THE LOT LINES, EASEMENTS AND SEPTIC FIELDS FROM"
            " THE SURVEY, AND FILL IN THE DISTANCES FROM THE NEAREST POINT OF DECK OR STAIR:"
        )
        rows += [f"TO THE {side} LOT LINE: ______________" for side in ("FRONT", "LEFT", "RIGHT", "BACK")]
        if not site.house:
            rows.append("HOUSE OUTLINE NOT GIVEN: THE WALL IS SHOWN WHERE THE DECK MEETS IT.")
        rows += [f"SETBACK ASKED, {side.upper()}: {stage.text(value)}." for side, value in site.setbacks.items()]
    if not site.easements:
        rows.append("EASEMENTS AND SEPTIC FIELDS: NONE GIVEN.")
    if site.north == 0 and not site.lot:
        rows.append("NORTH IS DRAWN UP THE SHEET UNLESS GIVEN; VERIFY.")
    p = stage.deck.parameters.levels
    rows.append(
        f"GRADE {signed(stage, stage.grade(*datum(stage)))} AT O; SLOPE {p.slope_x * 100:g}% TO THE RIGHT AND"
        f" {p.slope_y * 100:g}% UP THE SHEET."
    )
    rows.append(f"O IS THE {datum_told(stage)}. {tie(stage).told}")
    rows.append("CALL THE UTILITY LOCATING SERVICE BEFORE DIGGING.")
    if stage.deck.parameters.project.address:
        rows.insert(0, f"SITE: {stage.deck.parameters.project.address.upper()}")
    return rows
