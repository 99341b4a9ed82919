"""The outline in plan, as a parameter file gives it: corners by number, edges by name and length, the house, stairs,
and which side is left and which right. Drawn from the plan alone, before anything is built."""

from __future__ import annotations

import math
from collections.abc import Iterator

from shapely.geometry import box

from ...model.plan.edges import Edge
from ...model.plan.stages import LevelPlan
from ...shared.said import length, said
from ..drafting.cautions import SENTENCES
from ..drafting.wording import worded
from .canvas import INK, SOFT, Lettering, Picture, Region, Stroke
from .colours import RGB

_DECK: RGB = (236, 228, 210)
_HOUSE: RGB = (214, 210, 202)
_STAIR: RGB = (223, 231, 226)
_WALL = 0.07  # of the outline's longer side: how much of the house's wall is shown
_OFF = 0.035  # of the same: from an edge to its lettering
_SIDE = 0.16  # and to the words that tell left from right


def outline_picture(plan: LevelPlan, title: str, metric: bool = False) -> Picture:
    """The plan as a picture; edges are numbered from their first corner on, counter-clockwise, as the file lists
    them."""
    picture = Picture(title, " ".join(SENTENCES))
    outline = plan.outline
    x0, y0, x1, y1 = outline.polygon.bounds
    side = max(x1 - x0, y1 - y0)
    wall = plan.house_wall.intersection(box(*outline.polygon.buffer(_WALL * side).bounds)).difference(outline.polygon)
    picture.add(*(Region(p, _HOUSE, SOFT) for p in getattr(wall, "geoms", [wall]) if not p.is_empty))
    picture.add(Region(outline.polygon, _DECK, INK, 1.8))
    picture.add(*_stairs(plan))
    led = {stair.spot.edge.index for stair in plan.stair_plans}
    for edge in outline.edges:
        inside = edge.house or edge.index in led
        picture.add(_name(edge, -_OFF * side if inside else _OFF * side, metric))
        picture.add(_corner(edge, outline.edges[edge.index - 1], 0.5 * _OFF * side))
    picture.add(*_sides(plan, side))
    return picture


def _stairs(plan: LevelPlan) -> Iterator[Region | Lettering]:
    for stair in plan.stair_plans:
        shapes = [f.rectangle(0.0, f.run, 0.0, f.width) for f in stair.flights] + [m.polygon for m in stair.landings]
        for shape in shapes:
            yield Region(shape, _STAIR, INK, 1.0)
        yield Lettering(shapes[0].centroid.coords[0], f"stair {stair.index + 1}", 14)


def _name(edge: Edge, off: float, metric: bool) -> Lettering:
    """An edge's name and length along it, readable from below or from the right."""
    (ax, ay), (bx, by) = edge.start, edge.end
    angle = math.degrees(math.atan2(by - ay, bx - ax))
    angle = angle + 180 if angle > 90.01 or angle < -89.99 else angle
    at = edge.point(edge.length / 2, -off)
    told = worded(said("{name} {long}", name=edge.name, long=length(edge.length)), metric)
    return Lettering(at, told, 15, angle=(angle + 180) % 360 - 180)


def _corner(edge: Edge, before: Edge, off: float) -> Lettering:
    """The number of the corner at which an edge starts, inside of it."""
    inward = edge.inward + before.inward
    x, y = edge.start + 1.4 * off * inward / (math.hypot(*inward) or 1.0)
    return Lettering((float(x), float(y)), str(edge.index + 1), 12, colour=SOFT)


def _sides(plan: LevelPlan, side: float) -> Iterator[Lettering | Stroke]:
    """Left and right as one says them with the face to the house; without one, as they lie on the sheet."""
    house = max((e for e in plan.outline.edges if e.house), key=lambda e: e.length, default=None)
    facing = -house.inward if house is not None else (0.0, 1.0)
    right = (float(facing[1]), -float(facing[0]))
    told = "facing the house" if house is not None else "on the sheet"
    x0, y0, x1, y1 = plan.outline.polygon.bounds
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    reach = [abs(right[0]) * (x1 - x0) / 2 + abs(right[1]) * (y1 - y0) / 2 + _SIDE * side]
    for word, sign in (("left", -1), ("right", 1)):
        at = (cx + sign * reach[0] * right[0], cy + sign * reach[0] * right[1])
        yield Lettering(at, f"{word}, {told}", 14, angle=90.0 if abs(right[0]) > abs(right[1]) else 0.0, colour=SOFT)
