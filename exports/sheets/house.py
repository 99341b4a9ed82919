"""The existing house: its wall along the deck's house edges in plan, and where an upright section meets it; what the
file says of it, in words.

The model does not know how thick the wall is, so a strip of nominal thickness is drawn and the note says to verify it.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ...model.plan.house_places import assumed_wall, clear_places
from ..drafting import drawing as d
from ..drafting.symbols import break_line
from ..linework.eye import Eye
from ..linework.views import Linework
from .crop import clipped

if TYPE_CHECKING:
    from .stage import Stage

SLIGHT = 1 / 16  # inches in front of a piece within which the wall's face does not hide it: it stands against it
WALLS_TOLD = {"siding": "SIDING", "veneer": "BRICK OR STONE VENEER", "masonry": "MASONRY"}
BANDS_TOLD = {
    "solid": "SOLID BAND JOIST",
    "rim board": "STRUCTURAL RIM BOARD",
    "i-joist": "I-JOIST AS BAND JOIST",
    "truss": "FLOOR TRUSSES",
    "cantilevered bay": "FLOOR THAT STANDS OUT PAST THE WALL BELOW",
}
DRAWN_ON = 24.0  # inches past the deck's corner that the wall is drawn on, where it goes on; our own
WALL = 6.0  # inches of the house wall drawn: its true build-up is not known to the model


def house_in_plan(stage: Stage) -> list[d.AnyItem]:
    """The house wall along every house edge: face line, and a hatched strip of nominal thickness behind it."""
    out: list[d.AnyItem] = []
    for e in stage.house_edges:
        # the model's house edge is the frame's face against the wall; a free-standing deck keeps its gap
        gap = float(getattr(stage.deck.parameters.frame, "house_gap", 0.0)) if not stage.of("ledger") else 0.0
        a0, a1 = _drawn_from_to(stage, e)
        near = [e.point(a0, -gap), e.point(a1, -gap)]
        far = [e.point(a1, -gap - WALL), e.point(a0, -gap - WALL)]
        out.append(d.Line(near[0], near[1], layer="A-WALL"))
        out.append(d.Line(far[0], far[1], layer="A-WALL"))
        out.append(d.Hatch([*near, *far], pattern="steel", layer="A-WALL-PATT"))
    return out


def _drawn_from_to(stage: Stage, edge) -> tuple[float, float]:
    """From where to where along an edge the wall is drawn: past what the file says is in it, where it goes on."""
    things = [t for t in stage.deck.parameters.house.at_wall if t.edge == edge.name]
    a0 = min([-DRAWN_ON, *(t.at - DRAWN_ON / 2 for t in things)]) if goes_on(stage, edge, -1) else 0.0
    a1 = max([edge.length + DRAWN_ON, *(t.at + t.width + DRAWN_ON / 2 for t in things)])
    return a0, a1 if goes_on(stage, edge, +1) else edge.length


def house_named(edge) -> d.Leader:
    """The house's name, pointing at its wall along a house edge somewhere."""
    first = 0.25 if edge.inward[1] < 0 else 0.75
    tips = [edge.point(edge.length * t, -WALL / 2) for t in (first, 1 - first, 0.5, 0.1, 0.9)]
    return d.Leader(tips[0], "EXISTING HOUSE", tips=tips[1:])


def at_wall_items(stage: Stage, named: bool = True) -> list[d.AnyItem]:
    """The plan of every place before the wall that is kept clear, dashed, and of every bay, with its name or without;
    in the deck's own coordinates."""
    layout, out = stage.deck.layout, []
    known = {c.number: c.polygon for c in clear_places(layout)}
    for n, thing in enumerate(stage.deck.parameters.house.at_wall):
        ring = known.get(n) or layout.outline[thing.edge].rectangle(thing.at, thing.at + thing.width, -WALL, 0.0)
        corners = [(float(x), float(y)) for x, y in ring.exterior.coords[:-1]]
        # a bay is drawn on the wall itself, whose hatching hides dashes
        out.append(d.Polyline(corners, True, layer="A-WALL-HDLN" if n in known else "A-WALL"))
        if named:
            told = f"{thing.called.upper()}, KEEP CLEAR" if n in known else f"{thing.called.upper()}, NO LEDGER ON IT"
            out.append(d.Leader(corners[2], told, tips=[corners[3], corners[0], corners[1]]))
    return out


def wall_told(stage: Stage) -> str:
    """What stands behind the deck's house side, for the cover: as the file says, or as is assumed."""
    house = stage.deck.parameters.house
    wall, band = WALLS_TOLD.get(house.wall or ""), BANDS_TOLD.get(house.band_joist or "")
    told = [t for t in (wall, band) if t]
    if wall and band:
        return f"{wall}, {band}: AS GIVEN, VERIFY"
    assumed = f"{assumed_wall(stage.deck.parameters).upper()} ASSUMED: OPEN IT UP AND LOOK"
    return f"{told[0]} AS GIVEN; {assumed}" if told else f"NOT DESCRIBED; {assumed}"


def house_rows(stage: Stage) -> list[list[str]]:
    """What is known of the house, for the cover; none of a deck that stands by itself."""
    if not stage.house_edges:
        return []
    house = stage.deck.parameters.house
    rows = [["HOUSE WALL", wall_told(stage)]]
    levels = (("DOOR SILL", house.sill), ("FLOOR OF THE HOUSE", house.floor))
    rows += [[name, f"{stage.text(z)} ABOVE DATUM"] for name, z in levels if z is not None]
    if house.footing_depth is not None:
        rows.append(["HOUSE'S FOOTING", f"{stage.text(house.footing_depth)} BELOW GRADE AT THE WALL, VERIFY"])
    if house.at_wall:
        rows.append(["AT THE WALL", ", ".join(dict.fromkeys(t.called.upper() for t in house.at_wall))])
    return rows


def goes_on(stage: Stage, edge, side: int) -> bool:
    """True where the wall runs past the end of the edge: the next edge is no house edge and turns away from the
    wall."""
    outline = stage.deck.layout.outline
    other = outline.after(edge) if side > 0 else outline.before(edge)
    return not other.house


def outline_items(stage: Stage, layer: str = "A-FLOR-ABOV") -> list[d.AnyItem]:
    ring = [(float(x), float(y)) for x, y in stage.deck.layout.outline.polygon.exterior.coords[:-1]]
    return [d.Polyline(ring, True, layer=layer)]


def house_items(stage: Stage, view: Eye, through, scale: float, top: float) -> list[d.AnyItem]:
    """The house wall where an upright section plane meets a house edge: its face, a broken-off strip and a note."""
    out: list[d.AnyItem] = []
    right, toward = np.asarray(view.right[:2]), np.asarray(view.toward[:2])
    plane = float(np.dot(through, toward))
    for e in stage.house_edges:
        d0, d1 = float(np.dot(e.start, toward)) - plane, float(np.dot(e.end, toward)) - plane
        if d0 * d1 > 0:
            continue
        t = d0 / (d0 - d1) if d0 != d1 else 0.5
        face = np.asarray(e.start) + (np.asarray(e.end) - np.asarray(e.start)) * t
        u = float(np.dot(face, right))
        out_way = -float(np.sign(np.dot(e.inward, right))) or 1.0
        gap = stage.deck.parameters.frame.house_gap if not stage.of("ledger") else 0.0
        u += out_way * gap
        low = stage.grade(*map(float, face)) - 10
        high = max(top, stage.surface_top + 12)
        far = u + out_way * WALL
        ring = [(u, low), (far, low), (far, high), (u, high)]
        out += [d.Line((u, low), (u, high), layer="A-WALL"), d.Hatch(ring, pattern="steel", layer="A-WALL-PATT")]
        out += break_line((min(u, far), high), (max(u, far), high), scale) + break_line(
            (min(u, far), low), (max(u, far), low), scale
        )
        wall = WALLS_TOLD.get(stage.deck.parameters.house.wall or "")
        told = f"EXISTING HOUSE WALL{f', {wall}' if wall else ''}, VERIFY ITS FRAMING"
        out.append(d.Leader((u + out_way * WALL * 0.6, high - (high - low) * 0.12), told))
    return out


def house_before(stage: Stage, eye: Eye) -> BaseGeometry:
    """The plan of the house's wall, with what lies behind it, in a level view's own coordinates: u, and depth towards
    the eye."""
    axes = np.array([eye.right[:2], eye.toward[:2]])
    return shapely.transform(stage.deck.layout.house_wall, lambda xy: xy @ axes.T)


def hidden_from(wall: BaseGeometry, depth: float) -> list[tuple[float, float]]:
    """The stretches of u in which a wall, in the coordinates of `house_before`, stands before what lies at a depth."""
    if wall.is_empty:
        return []
    u0, _, u1, nearest = wall.bounds
    if nearest < depth + SLIGHT:
        return []
    found = wall.intersection(shapely.box(u0, depth + SLIGHT, u1, nearest))
    return [(g.bounds[0], g.bounds[2]) for g in shapely.get_parts(found) if g.area]


def without_hidden(work: Linework, wall: BaseGeometry) -> Linework:
    """A level view's linework without what a wall, in the coordinates of `house_before`, stands before."""
    if wall.is_empty:
        return work
    known: dict[float, list[tuple[float, float]]] = {}

    def stretches(depth: float) -> list[tuple[float, float]]:
        key = round(depth, 2)
        if key not in known:
            known[key] = shown_between(hidden_from(wall, key))
        return known[key]

    lines = [
        replace(l, a=ends[0], b=ends[1])
        for l in work.lines
        for u0, u1 in stretches(l.depth)
        if (ends := clipped(l.a, l.b, (u0, -math.inf, u1, math.inf)))
    ]
    return replace(work, lines=lines)


def shown_between(hidden: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """What hidden stretches of u leave of the whole line."""
    shown, start = [], -math.inf
    for a, b in sorted(hidden):
        if a > start:
            shown.append((start, a))
        start = max(start, b)
    return [*shown, (start, math.inf)]
