"""C-101: lot, house, setbacks and deck with the distance of its nearest point to every lot line."""
from __future__ import annotations

import math

import numpy as np
from shapely import LineString, Point, Polygon, unary_union
from shapely.ops import nearest_points

from .. import drawing as d
from .. import style
from ..views import View, project
from .pens import items
from .house import house_in_plan, outline_items
from .stage import Stage, joined_box, place
from .strings import Strings


def build(stage: Stage) -> d.Sheet:
    site = stage.deck.parameters.site
    sheet = stage.sheet("C-101", "SITE PLAN")
    plan_room, column = stage.beside(sheet, 3.0)
    stairs = project(stage.of("tread", "pad"), View.above())
    built = unary_union([p.footprint for p in stage.parts if p.role in ("board", "border", "breaker", "tread", "pad", "fascia", "joist", "rim")])
    boxes = [built.bounds]
    for ring in [site.lot, site.house, *site.easements]:
        if ring:
            boxes.append(Polygon(ring).bounds)
    box = joined_box(boxes)

    def draw(scale: float) -> d.View:
        view = d.View("site plan", scale)
        _draw(stage, view, site, built, stairs)
        return view

    view = stage.fitted(draw, box, plan_room, 48.0, (1.0, 0.3))
    place(sheet, view, plan_room, "Site plan", "1", "DISTANCES FROM THE NEAREST POINT OF DECK OR STAIR, SQUARE TO EACH LOT LINE.")
    sheet.add(d.Symbol("north", (plan_room[2] - 0.5, plan_room[3] - 0.7), 1.0, -site.north))
    stage.notes(sheet, column, "SITE NOTES", site_notes(stage))
    return sheet


def _draw(stage: Stage, view: d.View, site, built, stairs) -> None:
    if site.house:
        ring = [(float(x), float(y)) for x, y in site.house]
        view.add(d.Polyline(ring, True, layer="A-WALL"), d.Hatch(ring, pattern="steel", layer="A-WALL-PATT"))
        c = Polygon(ring).representative_point()
        view.add(d.Leader((c.x, c.y), "EXISTING HOUSE"))
    else:
        view.add(*house_in_plan(stage))
    view.add(*outline_items(stage, "A-FLOR-TRIM"), *items(stairs, "plan"))
    c = stage.deck.layout.outline.polygon.representative_point()
    view.add(d.Leader((c.x, c.y), f"DECK, SURFACE {stage.text(stage.surface_top)} ABOVE DATUM", head="dot"))
    if site.lot:
        _lot(stage, view, site, built)
    for ring in site.easements:
        pts = [(float(x), float(y)) for x, y in ring]
        view.add(d.Polyline(pts, True, layer="C-PROP-ESMT"))
        q = Polygon(pts).representative_point()
        view.add(d.Leader((q.x, q.y), "EASEMENT OR SEPTIC FIELD"))
    strings = Strings(view, tuple(map(float, built.bounds)), 0.3)
    if not site.lot:
        x0, y0, x1, y1 = map(float, built.bounds)
        strings.chain("below", [(x0, y0), (x1, y0)])
        strings.chain("left", [(x0, y0), (x0, y1)])
    view.add(d.Symbol("origin", (0.0, 0.0)))


def _lot(stage: Stage, view: d.View, site, built) -> None:
    lot = [(float(x), float(y)) for x, y in site.lot]
    view.add(d.Polyline(lot, True, layer="C-PROP"))
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
        view.add(d.Text(m, f"LOT LINE {stage.text(math.dist(a, b))}", style.NOTE, "centre", "middle", angle, layer="A-ANNO-NOTE"))


def site_notes(stage: Stage) -> list[str]:
    site = stage.deck.parameters.site
    rows = []
    if site.lot:
        rows.append("LOT LINES, HOUSE AND EASEMENTS ARE AS GIVEN IN THE PARAMETER FILE; VERIFY AGAINST THE SURVEY.")
        rows += [f"SETBACK ASKED, {side.upper()}: {stage.text(value)}." for side, value in site.setbacks.items()]
    else:
        rows.append("LOT LINES AND SETBACKS: NOT GIVEN IN THE PARAMETER FILE ([SITE]). DISTANCES TO LOT LINES, EASEMENTS AND SEPTIC FIELDS ARE TO BE ADDED FROM THE SURVEY BEFORE SUBMITTAL.")
        if not site.house:
            rows.append("HOUSE OUTLINE NOT GIVEN: THE WALL IS SHOWN WHERE THE DECK MEETS IT.")
        rows += [f"SETBACK ASKED, {side.upper()}: {stage.text(value)}." for side, value in site.setbacks.items()]
    if not site.easements:
        rows.append("EASEMENTS AND SEPTIC FIELDS: NONE GIVEN.")
    if site.north == 0 and not site.lot:
        rows.append("NORTH IS DRAWN UP THE SHEET UNLESS GIVEN; VERIFY.")
    p = stage.deck.parameters.levels
    rows.append(f"GRADE {stage.text(p.grade) if p.grade else 'AT THE DATUM'} AT THE ORIGIN; SLOPE {p.slope_x * 100:g}% TO THE RIGHT AND {p.slope_y * 100:g}% UP THE SHEET.")
    rows.append("CALL THE UTILITY LOCATING SERVICE BEFORE DIGGING.")
    if stage.deck.parameters.project.address:
        rows.insert(0, f"SITE: {stage.deck.parameters.project.address.upper()}")
    return rows
