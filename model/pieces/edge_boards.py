"""What boards along an edge share, be they border or fascia: where they may be joined, and cutting them there."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Sequence
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, box

from ...shared.said import decimal, said
from ...shared.stock import Stock, lumber, nominal_sizes
from ..input.makers_sheet import FasciaSheet
from ..input.parameters import Trim
from ..plan.board_shapes import NOTCH_ROOM, polygons
from ..plan.edges import Edge
from ..plan.joist_plan import crossing
from ..plan.splits import ALIGNED, split
from ..plan.stages import Joisted
from ..solid.part import Part, Place, Workshop
from ..solid.union import united
from .claims import SHORTEST_BLOCK

ANYWHERE_STEP = 4.0  # inches between the places considered where a board may be joined anywhere
SHORTEST_EDGE_BOARD = (
    48.0  # a shorter end piece looks like a patch and works loose at its few fasteners (common practice, no source)
)
UNBACKED = 3 * ALIGNED  # a joint that bears on half a joist is worse than one in line with its neighbours on both sides
SNAP = 1e-7  # inches: edges nearer than this are one


def board_stock(thickness: float, width: float, material: str) -> Stock:
    """The stock of a finished size: under its nominal name where lumber is sold so, else under its size."""
    for name in nominal_sizes():
        known = lumber(name)
        if abs(known.thickness - thickness) < 1e-6 and abs(known.width - width) < 1e-6:
            return Stock(name, thickness, width, material)
    called = said("{a} x {b}", a=decimal(thickness, None, bare=True), b=decimal(width, None, bare=True))
    return Stock(f"{thickness:g} x {width:g}", thickness, width, material, called=called)


def trim_stock(trim: Trim, sheet: FasciaSheet, height: float) -> Stock:
    """The narrowest board sold that trim (fascia, riser, skirt) of that height can be ripped from, of the widths on the
    maker's sheet where it has them; its own size where none is wide enough."""
    widths = sorted(sheet.heights or (lumber(n).width for n in nominal_sizes() if n.startswith("1x")))
    return board_stock(trim.thickness, next((w for w in widths if w >= height - 1e-9), height), trim.material)


def flat_place(x: np.ndarray, y: np.ndarray, z: float) -> Place:
    """The placement in which a `local` outline is extruded upwards from z."""
    return Place((0.0, 0.0, float(z)), (float(x[0]), float(x[1]), 0.0), (float(y[0]), float(y[1]), 0.0))


def flat_parts(
    shop: Workshop,
    role: str,
    stock: Stock,
    outlines: Sequence[Polygon],
    thickness: float,
    place: Place,
    abouts: Sequence[dict[str, Any]],
) -> list[Part]:
    """Parts from `local` outlines, one dict of `abouts` each. Equal outlines are looked up once: a deck has thousands
    of boards and a few dozen shapes."""
    known: dict = {}
    parts = []
    outlines = _without_spikes(outlines)
    coordinates, index = (
        shapely.get_coordinates(shapely.get_exterior_ring(list(outlines)), return_index=True)
        if len(outlines)
        else ([], [])
    )
    first = np.searchsorted(index, np.arange(len(outlines) + 1))
    bounds = shapely.bounds(list(outlines))
    axis_x, axis_y, start = np.array(place.x), np.array(place.y), np.array(place.origin)
    for k, (outline, about) in enumerate(zip(outlines, abouts)):
        corner = bounds[k, :2]
        ring = np.round(
            coordinates[first[k] : first[k + 1]] - corner, 9
        )  # equal boards must not differ by the last bits of a turn
        holes = (
            [np.round(shapely.get_coordinates(h) - corner, 9) for h in outline.interiors]
            if shapely.get_num_interior_rings(outline)
            else []
        )
        key = ring.tobytes() if not holes else None
        if key is None or key not in known:
            known[key] = shop.shapes.prism(ring, thickness, holes)
        shape, shift, turned = known[key]
        u, v = corner + shift
        origin = start + u * axis_x + v * axis_y
        x, y = (-axis_x, -axis_y) if turned else (axis_x, axis_y)
        parts.append(
            Part(
                role,
                stock,
                shape,
                Place(tuple(origin.tolist()), tuple((x + 0.0).tolist()), tuple((y + 0.0).tolist())),
                **about,
            )
        )
    return parts


def _without_spikes(outlines: Sequence[Polygon]) -> list[Polygon]:
    """Without the hair of no width that differences of outlines leave where their edges coincide but for the last bits
    of a turn; what is left of an outline is one piece."""
    flat = np.array(list(outlines), dtype=object)
    snapped = shapely.set_precision(flat, SNAP)
    for k in np.flatnonzero(shapely.get_num_coordinates(snapped) != shapely.get_num_coordinates(flat)):
        flat[k] = max(polygons(snapped[k]), key=lambda g: g.area, default=flat[k])
    return list(flat)


def backed_places(
    layout: Joisted, edge: Edge, start: float, end: float, blocked: Sequence[tuple[float, float]] = ()
) -> list[float]:
    """Positions along x . direction at which a board along `edge` may be joined.

    At a joist where joists meet the edge squarely: it fills the bearing between rim and blocks. Elsewhere rim and
    strips run on unbroken along the edge, and any place serves. `blocked` are stretches (a notch, a stair) to keep out
    of.
    """
    d = edge.direction
    if edge.parallel_to(layout.across):
        reach = layout.rim_of(edge) + 1.0
        places = sorted(
            {
                round(crossing(layout, joist, edge.point(0.0, reach), d), 9)
                for _, joist in layout.joist_lines
                if min(edge.position(q)[1] for q in joist.exterior.coords) <= reach
                and max(edge.position(q)[1] for q in joist.exterior.coords) > reach
            }
        )
    else:
        steps = np.arange(ANYWHERE_STEP, end - start, ANYWHERE_STEP)
        places = (start + steps if layout.ahead(d) > 0 else end - steps[::-1]).tolist()
    return [u for u in places if start < u < end and not any(a - NOTCH_ROOM < u < b + NOTCH_ROOM for a, b in blocked)]


def _blocks_beside(layout: Joisted, edge: Edge, polygon: Polygon, places: Sequence[float]) -> list[bool]:
    """Whether on both sides of the joist under each place the next member lies against it, or so far off that the
    blocks under the edge's boards find room: between two of them an end of the joint would bear on half a joist."""
    members = [q for _, q in layout.joist_lines] + [q for _, _, q in layout.rims]
    members += [s.polygon for s in layout.strips if s.lengthwise]
    (_, v0, _, v1), reach = polygon.bounds, layout.joist.thickness + SHORTEST_BLOCK
    found = []
    for u in places:
        line = LineString([edge.direction * (u + a) + edge.inward * (v0 + v1) / 2 for a in (-reach, reach)])
        free = shapely.difference(line, united(near).buffer(SNAP)) if (near := _across(members, line)) else line
        found.append(all(_is_bay(g, line) for g in shapely.get_parts(free)))
    return found


def _across(members: Sequence[Polygon], line: LineString) -> list[Polygon]:
    return [q for q in members if q.intersects(line)]


def _is_bay(free: LineString, line: LineString) -> bool:
    """Whether a free stretch of a line has room for a block, or goes on past the line's end."""
    return free.length >= SHORTEST_BLOCK - SNAP or shapely.distance(free, line.boundary) < SNAP


def cut_square(polygon: Polygon, places: Sequence[float], gap: float) -> list[Polygon]:
    """The pieces of a local outline cut square at the given positions, `gap` apart."""
    x0, y0, x1, y1 = polygon.bounds
    stops = [x0 - 1.0, *places, x1 + 1.0]
    pieces = []
    for k, (a, b) in enumerate(itertools.pairwise(stops)):
        cell = box(a + (gap / 2 if k else 0.0), y0 - 1, b - (gap / 2 if k < len(places) else 0.0), y1 + 1)
        pieces += polygons(polygon.intersection(cell))
    return pieces


def split_along(
    layout: Joisted,
    edge: Edge,
    polygon: Polygon,
    longest: float,
    gap: float,
    blocked: Sequence[tuple[float, float]] = (),
    avoid: Collection[float] = (),
) -> tuple[list[Polygon], list[float]]:
    """A local outline along an edge, cut into pieces no longer than `longest`: the pieces and the joints' positions.

    `avoid` are positions of a neighbour's joints; joints keep a joist spacing from them where they can.
    """
    x0, _, x1, _ = polygon.bounds
    places = backed_places(layout, edge, x0, x1, blocked)
    spacing = layout.joist_spacing
    penalties = [ALIGNED if any(abs(u - a) < spacing - 1e-6 for a in avoid) else 0.0 for u in places]
    if edge.parallel_to(layout.across):
        backed = _blocks_beside(layout, edge, polygon, places)
        penalties = [p + UNBACKED * (not b) for p, b in zip(penalties, backed)]
    trim, turned = layout.parameters.order.end_trim, layout.ahead(edge.direction) < 0
    cuts = split(x0, x1, places, longest, SHORTEST_EDGE_BOARD, penalties, trim=trim, backwards=turned)
    chosen = [places[i] for i in cuts]
    return cut_square(polygon, chosen, gap), chosen
