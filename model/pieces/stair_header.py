"""The header under the rim that a stair leaves: its boards, the stretches of them beside the posts and concrete that
stand in its line, and the cleats behind that hang it. Lengths in inches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from ...shared.points import Vector
from ...shared.practice import practice
from ...shared.stock import Stock, lumber
from ..plan.beam_lines import behind_cleats
from ..plan.board_shapes import polygons
from ..plan.edges import FAR
from ..plan.flight import Flight
from ..plan.header_stock import as_thick
from ..plan.spots import StairPlan
from ..plan.stages import LevelPlan
from ..solid.part import Part, Workshop
from .concrete_under import CURVE
from .stairs_at_corner import running_through

SHORTEST_HEADER = practice("shortest block")
HEADER_GRID = 1e-8  # inches: as for stringers, no hair of wood is left of a cut
BUTTED = 1e-3  # inches: a board this near to wood is cut to its face
LEAST_ANCHORED = 2.5  # inches: a lower strip under a wide header holds no anchor; our own
TWO_PLACES_APART = 3.0  # inches; nearer than this two places are one, as when the finished deck is read; our own
LEAST_NAILED = 0.5  # inches of a board's face, below which a cleat is not nailed to it; our own
_MEETS = 1e-6  # square inches, or inches of height


def header_boards(
    layout: LevelPlan, below: float, flight: Flight, behind: float, whole: Polygon | None = None
) -> list[tuple[Stock, float, float]]:
    """(stock, lowest, highest) of the boards of a stair header, from the rim's bottom `below` to the end of the plumb
    cut; none over one step or box steps, which do not hang. `behind`: how far it and its cleats reach back from the
    flight; `whole`: the plan of its board where that runs on past the flight's sides.

    The narrowest stock that reaches is taken whole, ripped only where it would pass the level the stringers stand on or
    what lies higher under the deck: grade, or concrete that takes less than half of it. Under a rim of the file's own
    stock it is of the file's own sizes, as thick as the rim.
    """
    if not flight.hangs:
        return []
    sizes = as_thick(layout.parameters, layout.joist)
    strip = flight.rectangle(-behind, 0.0, 0.0, flight.width)
    half, over = (below + flight.plumb_bottom) / 2, [strip] if whole is None else [strip, whole]
    ground = max(
        [layout.planes.grade(x, y) for x, y in strip.exterior.coords]
        + [f.top for f in layout.footings if f.top < half and any(map(f.outline(CURVE).intersects, over))]
    )
    bottom, found, high = max(flight.plumb_bottom, ground), [], below
    while high - bottom > 1e-6:
        stock = next((s for s in sizes if s.width >= high - bottom - 1e-9), sizes[-1])
        low = max(high - stock.width, flight.bearing, ground)
        found.append((stock, low, high))
        high = low
    return found


def top_header(layout: LevelPlan, plan: StairPlan) -> list[tuple[Stock, float, float]]:
    """`header_boards` at the deck; without any nothing hangs from the rim there, and no cleats are built."""
    return header_boards(layout, layout.planes.frame_bottom, plan.flights[0], behind_cleats(layout, plan.spot.edge))


def between_supports(
    layout: LevelPlan,
    outline: Polygon,
    along: Vector,
    levels: tuple[float, float],
    whole: Polygon | None = None,
    beside: Sequence[Polygon] = (),
) -> list[Polygon]:
    """What is left of the plan of a header's board between the beams, posts, bases and footings in its line that stand
    between its `levels` (common practice, no source): cut to the faces of wood, square before concrete, at one place
    through all plies of the `whole`; and of what runs through `beside` it. Stretches too short to be nailed are left
    out."""
    d = np.asarray(along, float)
    n = np.array([-d[1], d[0]]) * FAR

    def extent(shape: Polygon) -> tuple[float, float]:
        s = np.asarray(shape.convex_hull.exterior.coords) @ d
        return float(s.min()), float(s.max())

    rest = outline
    for shape, wood in (*_standing(layout, *levels), *((q, True) for q in beside)):
        hit = shape.intersection(outline if wood or whole is None else whole)
        if hit.area > _MEETS:
            a, b = extent(hit)
            rest = rest.difference(shape if wood else Polygon([d * a - n, d * b - n, d * b + n, d * a + n]))
    if rest is outline:
        return [outline]
    found = [(extent(g), g) for g in polygons(shapely.set_precision(rest, HEADER_GRID))]
    return [g for (a, b), g in sorted(found, key=lambda f: f[0]) if b - a >= SHORTEST_HEADER]


def _standing(layout: LevelPlan, low: float, high: float) -> Iterator[tuple[Polygon, bool]]:
    """The plans of all concrete (False), beams under the joists, post bases and posts (True) between two levels under
    the frame."""
    for run in layout.runs:
        if not run.flush and layout.beam_bottom(False) < high - _MEETS and layout.planes.frame_bottom > low + _MEETS:
            yield from ((ply, True) for ply in run.plies)
    for spot in layout.footings:
        if spot.top > low + _MEETS:
            yield spot.outline(CURVE), False
        for stand in spot.stands:
            if stand.top + (stand.notch.beside if stand.notch else 0.0) > low + _MEETS:
                yield stand.square, True


def header_cleats(layout: LevelPlan, plan: StairPlan) -> list[Polygon]:
    """The plans of the cleats that hang a header at the deck: those that find its boards in front of them, and nothing
    that stands in their place."""
    return _hung(layout, plan)[1]


def _hung(layout: LevelPlan, plan: StairPlan) -> tuple[list[tuple[Stock, float, float, Polygon]], list[Polygon]]:
    """(stock, lowest, highest, plan) of the header's boards at the deck, and the plans of the cleats that hang them.
    Where concrete or posts cut a board, a stretch that would hang at fewer than two places is left out, unless it lies
    right under the rim, to which it is strapped, and a stringer meets it."""
    spot, near = plan.spot, layout.rim_of(plan.spot.edge)
    boards = [(*about, g) for *about, pieces in _pieces(layout, plan) for g in pieces]
    if not boards or not spot.cleats:
        return boards, []
    low, below = min(b[1] for b in boards), layout.planes.frame_bottom
    standing = list(_standing(layout, low, layout.planes.frame_top))
    free = [c for c in spot.cleats if not any(c.intersection(s).area > _MEETS for s, _ in standing)]
    wood = [s for s, is_wood in _standing(layout, low, below) if is_wood]
    uncut = min(p.area for p in _plies(layout, plan)) - _MEETS

    def hangs(g: Polygon) -> bool:
        by = [c for c in free if c.distance(g) < near] + [s for s in wood if s.distance(g) < BUTTED]
        u = np.asarray(spot.edge.direction)
        ends = shapely.get_coordinates(g) @ u
        at = [min(max(float(np.asarray(s.centroid.coords[0]) @ u), ends.min()), ends.max()) for s in by]
        return bool(at) and max(at) - min(at) >= TWO_PLACES_APART

    flight = plan.flights[0]
    heads = [flight.rectangle(0.0, BUTTED, s, s + flight.stock_thickness) for s in flight.stringers]

    def strapped(b: tuple[Stock, float, float, Polygon]) -> bool:
        return b[2] >= below and any(b[3].distance(h) < BUTTED for h in heads)

    kept = [b for b in boards if b[3].area > uncut or hangs(b[3]) or strapped(b)]
    # a cleat lies on the last ply: where that was cut or left out it would meet no board, or a corner of one
    faces = [g.buffer(BUTTED) for _, _, high, g in kept if high >= below]
    return kept, [c for c in free if any(c.intersection(g).area > LEAST_NAILED * BUTTED for g in faces)]


def _pieces(layout: LevelPlan, plan: StairPlan) -> Iterator[tuple[Stock, float, float, list[Polygon]]]:
    """Stock, levels and plans of the header's boards at the deck, one plan a ply and stretch."""
    spot, whole = plan.spot, _in_line(layout, plan)
    beside = [_in_line(layout, o) for o in running_through(layout, plan) if top_header(layout, o)]
    for stock, low, high in top_header(layout, plan):
        pieces = []
        for ply in _plies(layout, plan):
            pieces += between_supports(layout, ply, spot.edge.direction, (low, high), whole, beside)
        yield stock, low, high, pieces


def _plies(layout: LevelPlan, plan: StairPlan) -> list[Polygon]:
    """The plan of each ply of a header at the deck, whole; round a corner mitred with that of the next edge."""
    spot, t = plan.spot, layout.joist.thickness
    within = [(k * t, (k + 1) * t) for k in range(layout.rim_plies(spot.edge))]
    if spot.wrapped:
        return [plan.flights[0].whole(-b, -a) for a, b in within]
    return [spot.edge.rectangle(spot.start, spot.end, a, b) for a, b in within]


def _in_line(layout: LevelPlan, plan: StairPlan) -> Polygon:
    """The plan of a header at the deck, all its plies."""
    spot = plan.spot
    return spot.edge.rectangle(spot.start, spot.end, 0.0, layout.rim_plies(spot.edge) * layout.joist.thickness)


def build_pad_header(layout: LevelPlan, shop: Workshop, plan: StairPlan, flight: Flight) -> list[Part]:
    """The header on the edge of a landing of concrete that a flight leaves, under its first tread, or as high as solid
    stringers: it is anchored to the concrete, and they hang on it (common practice, no source)."""
    if flight.head == 0:
        return []
    top = flight.top - flight.thickness if flight.solid else flight.seat(1)
    outline = flight.rectangle(0.0, flight.head, 0.0, flight.width)
    about = {"where": f"stair {plan.index + 1} landing {flight.index}", "edge": plan.spot.edge.name}
    return [
        shop.upright("stair header", stock, piece, low, high, tuple(flight.across), **about, stair=plan.index)
        for stock, low, high in header_boards(layout, top, flight, -flight.head)
        if high - low >= LEAST_ANCHORED
        for piece in between_supports(layout, outline, tuple(flight.across), (low, high))
    ]


def build_header(layout: LevelPlan, shop: Workshop, plan: StairPlan) -> list[Part]:
    """The stair header under the rim, one board a ply, and the cleats behind that hang it from the rim. Where concrete
    or posts cut it, a stretch that would hang at fewer than two places is left out, or strapped to the rim."""
    spot, planes = plan.spot, layout.planes
    boards, cleats = _hung(layout, plan)
    about = {"where": f"stair {plan.index + 1} top", "edge": spot.edge.name, "stair": plan.index}
    parts = [
        shop.upright("stair header", stock, piece, low, high, tuple(spot.edge.direction), **about)
        for stock, low, high, piece in boards
    ]
    cleat = lumber("2x4")
    for outline in cleats:
        x, y = outline.centroid.coords[0]
        parts.append(
            shop.box_along(
                "blocking",
                cleat,
                (x, y, min(low for _, low, _, _ in boards)),
                (x, y, planes.frame_top),
                (*spot.edge.direction, 0.0),
                cleat.width,
                cleat.thickness,
                **about,
            )
        )
    return parts
