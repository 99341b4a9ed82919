"""Treads (boards, or a bordered tread with mitred returns), the blocking that carries them, and riser boards.

Plan outlines extruded by their thickness or height; the long axis runs across the stair.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import shapely
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from ...shared.errors import DesignError
from ...shared.stock import Stock, lumber
from ..plan.beside_house import room_beside
from ..plan.board_shapes import polygons
from ..plan.flight import Flight, Tread
from ..plan.splits import split
from ..plan.spots import StairPlan
from ..plan.stages import LevelPlan, Setting
from ..plan.stair_spots import side_reach
from ..solid.part import Part, Place, Workshop
from ..solid.union import united
from .concrete_under import under
from .edge_boards import board_stock, trim_stock
from .stairs_at_corner import in_the_way
from .stringers import CUT_GRID, post_stretches, wide_enough
from .trim import scraps_beside

EAR = 2.0  # inches: a thinner rest beside a notch would break off, so the notch is opened to the board's edge
CLEAT = "2x2"  # carries a tread between solid stringers: common practice, no source
BLOCK = "2x4"  # laid flat between stringers under a bordered tread: common practice, no source
SHORTEST_TREAD = 2.0
LEAST_RISER = 0.5  # inches: a lower strip under the boards' edge is left out; our own


def courses(depth: float, width: float, gap: float, sliver: float) -> list[tuple[float, float]]:
    """(distance from the front, width) of the boards that fill a tread of that depth, front board first.

    Whole boards from the nosing back, the rear one ripped. Up to two gaps (or 1/4 in) are left open at the riser; where
    the rip would be a sliver the rear two boards are ripped alike. Widths sum with their gaps to the depth, or to less
    by that opening.
    """
    if depth <= width:
        return [(0.0, depth)]
    whole = int((depth + gap + 1e-9) / (width + gap))
    rest = depth - whole * (width + gap) + gap
    boards = [width] * whole
    if rest > max(2 * gap, 0.25) + 1e-9:
        rip = rest - gap
        if rip >= sliver:
            boards.append(rip)
        else:
            alike = (width + rip) / 2
            boards[-1:] = [alike, alike]
    at, found = 0.0, []
    for b in boards:
        found.append((at, b))
        at += b + gap
    return found


def lengths(s0: float, s1: float, longest: float, places: Sequence[float], gap: float) -> list[tuple[float, float]]:
    """A run across the stair from s0 to s1 cut at `places` (stringers' middles) into boards no longer than those
    sold."""
    cuts = [places[i] for i in split(s0, s1, places, longest)]
    starts, ends = [s0, *(c + gap / 2 for c in cuts)], [*(c - gap / 2 for c in cuts), s1]
    return list(zip(starts, ends))


def side_reaches(layout: Setting, plan: StairPlan, flight: Flight) -> tuple[float, float]:
    """How far treads pass the outer faces of the outer stringers on the start and the end side of a flight: no further
    than to the face of the house's wall."""
    most, x1 = side_reach(layout, plan.spot), max(flight.run, flight.nosing)
    start, end = (min(most, room_beside(layout, flight, side, 0.0, x1)) for side in ("start", "end"))
    return start, end


def bays(flight: Flight) -> list[tuple[float, float]]:
    """Clear (s0, s1) between neighbouring stringers."""
    t = flight.stock_thickness
    return [(a + t, b) for a, b in zip(flight.stringers, flight.stringers[1:])]


def build_treads(layout: LevelPlan, shop: Workshop, plan: StairPlan, flight: Flight, where: str) -> list[Part]:
    """Treads of one flight with their cleats or blocking."""
    parts: list[Part] = []
    reach = side_reaches(layout, plan, flight)
    for tread in flight.treads:
        about = {
            "where": f"{where} tread {tread.number}",
            "edge": plan.spot.edge.name,
            "stair": plan.index,
            "step": tread.number,
        }
        if flight.solid:
            for s0, s1 in bays(flight):
                parts += _boards(layout, shop, plan, flight, tread, s0, s1, [], about)
            parts += _cleats(shop, flight, tread, about)
        else:
            sides = -reach[0], flight.width + reach[1]
            notches = notch_boxes(layout, plan, flight, max(reach))
            if plan.spot.parameters.tread == "boards":
                parts += _boards(layout, shop, plan, flight, tread, *sides, notches, about)
            else:
                parts += _bordered(layout, shop, plan, flight, tread, sides, notches, about)
                parts += _blocking(layout, shop, flight, tread, about)
    return parts


def notch_boxes(
    layout: LevelPlan, plan: StairPlan, flight: Flight, reach: float
) -> list[tuple[float, float, float, float]]:
    """(x0, x1, s0, s1) of the notches in a flight's treads: each post with its clearance, and the treads of another
    stair at its corner, out past the tread's side."""
    c = layout.parameters.surface.notch_clearance
    found = []
    for side in ("start", "end"):
        for x0, x1 in post_stretches(plan, flight, side, max(reach, 1.0)):
            s = (-reach - 1, c) if side == "start" else (flight.width - c, flight.width + reach + 1)
            found.append((x0 - c, x1 + c, *s))
        beside = (-reach, 0.0) if side == "start" else (flight.width, flight.width + reach)
        behind = flight.back_of_first
        past = plan.spot.parameters.side_overhang
        found += in_the_way(layout, plan, flight, (behind, flight.run, *beside), behind, past, c)
    return found


def notched(outline: Polygon, notches: Sequence[Polygon]) -> Polygon:
    """An (x, s) outline without its notches; a notch that would leave a thin ear is opened to the board's edge."""
    x0, _, x1, _ = outline.bounds
    cut = []
    for a, b, s0, s1 in notches:
        if b <= x0 + 1e-9 or a >= x1 - 1e-9:
            continue
        cut.append(box(x0 - 1 if a - x0 < EAR else a, s0, x1 + 1 if x1 - b < EAR else b, s1))
    rest = polygons(shapely.set_precision(outline.difference(unary_union(cut)), CUT_GRID)) if cut else [outline]
    return max(rest, key=lambda g: g.area)


def world(flight: Flight, outline: Polygon) -> Polygon:
    """An (x, s) outline in plan."""
    return Polygon([flight.point(x, s) for x, s in outline.exterior.coords])


def _board(
    shop: Workshop, role: str, stock: Stock, flight: Flight, outline: Polygon, low: float, high: float, along, about
) -> Part:
    return shop.upright(role, stock, world(flight, outline), low, high, tuple(along), **about)


def _boards(layout, shop, plan, flight: Flight, tread: Tread, s0: float, s1: float, notches, about) -> list[Part]:
    s = layout.parameters.surface
    stock = board_stock(s.board_thickness, s.board_width, s.material)
    parts = []
    middles = [a + flight.stock_thickness / 2 for a in flight.stringers[1:-1] if s0 < a < s1]
    for at, width in courses(tread.depth, s.board_width, s.edge_gap, s.sliver):
        front = tread.front - at
        for a, b in lengths(*_ends(flight, front, s0, s1), s.board_length, middles, s.end_gap):
            board = flight.mitred(front - width, front, a, b, s.border.mitre_gap / 2)
            outline = notched(board, notches)
            parts.append(_board(shop, "tread", stock, flight, outline, tread.seat, tread.top, flight.across, about))
    return parts


def _ends(flight: Flight, x: float, s0: float, s1: float) -> tuple[float, float]:
    """From where to where across a flight something from s0 to s1 reaches at x: on a mitred side to the mitre."""
    start, end = flight.mitres
    return flight.side_at("start", x) if start else s0, flight.side_at("end", x) if end else s1


def _bordered(layout, shop, plan, flight: Flight, tread: Tread, sides, notches, about) -> list[Part]:
    """A front piece mitred to a return at each of its `sides`, and the rear piece between the returns."""
    s = layout.parameters.surface
    w = s.border.width or s.board_width
    m = s.border.mitre_gap / math.sqrt(2)
    low, high = sides
    if high - low < 3 * w or tread.depth < w + SHORTEST_TREAD:
        raise DesignError(
            f"stair.{plan.index}.tread",
            f"a bordered tread {high - low:g} in wide and {tread.depth:g} in deep has no room for "
            f"boards {w:g} in wide in front and at both sides",
            (f"stair.{plan.index}.tread", "boards"),
        )
    stock = board_stock(s.board_thickness, w, s.material)
    f, b = tread.front, tread.back
    front = Polygon([(f, low + m), (f, high - m), (f - w, high - w - m), (f - w, low + w + m)])
    right = Polygon([(f - m, low), (f - w - m, low + w), (b, low + w), (b, low)])
    left = Polygon([(f - m, high), (b, high), (b, high - w), (f - w - m, high - w)])
    parts = [_board(shop, "tread", stock, flight, notched(front, notches), tread.seat, tread.top, flight.across, about)]
    for piece in (right, left):
        parts.append(
            _board(shop, "tread", stock, flight, notched(piece, notches), tread.seat, tread.top, flight.out, about)
        )
    rear = board_stock(s.board_thickness, s.board_width, s.material)
    for x0, x1 in _rear(layout, tread):
        outline = box(x0, low + w + s.end_gap, x1, high - w - s.end_gap)
        parts.append(_board(shop, "tread", rear, flight, outline, tread.seat, tread.top, flight.across, about))
    return parts


def _rear(layout: Setting, tread: Tread) -> list[tuple[float, float]]:
    """(x0, x1) of every piece behind the front piece of a bordered tread."""
    s = layout.parameters.surface
    behind = tread.front - (s.border.width or s.board_width) - s.edge_gap
    found = courses(behind - tread.back, s.board_width, s.edge_gap, s.sliver)
    return [(behind - at - width, behind - at) for at, width in found]


def _under_each(
    stretches: list[tuple[float, float]], pieces: list[tuple[float, float]], width: float
) -> list[tuple[float, float]]:
    """The stretches, and between them one more under the middle of every piece that they leave less than half
    carried."""
    result = sorted(stretches)
    for u, v in pieces:
        if sum(max(0.0, min(v, b) - max(u, a)) for a, b in result) >= min((v - u) / 2, width / 2):
            continue
        middle = (u + v) / 2
        low = max([middle - width / 2, *(b for _, b in result if b <= middle)])
        high = min([middle + width / 2, *(a for a, _ in result if a >= middle)])
        if high - low > SHORTEST_TREAD:
            result = sorted([*result, (low, high)])
    return result


def _blocking(layout: Setting, shop: Workshop, flight: Flight, tread: Tread, about) -> list[Part]:
    """Blocks laid flat in the outer bays, under the front piece's mitre and under the ends of every piece behind it."""
    stock = lumber(BLOCK)
    back, front = flight.stringer_face(tread.number - 1), flight.stringer_face(tread.number)
    if flight.box:  # front and back of its frame, and the front of the one that stands on it, carry it there
        back, front = back + (flight.stock_thickness if tread.number == 1 else 0.0), front - flight.stock_thickness
    depth = min(stock.width, (front - back) / 2)
    low = tread.seat - stock.thickness
    spans = bays(flight)
    outer = spans if len(spans) < 3 else [spans[0], spans[-1]]
    stretches = _under_each([(front - depth, front), (back, back + depth)], _rear(layout, tread), stock.width)
    parts = []
    for a, b in stretches:
        # at the back the stock's lower edge must still lie below the block
        a = max(a, (flight.lower_edge(0.0) - low) / flight.slope)
        for s0, s1 in outer:
            if s1 - s0 > SHORTEST_TREAD and b - a > SHORTEST_TREAD:
                parts.append(
                    _board(
                        shop, "tread blocking", stock, flight, box(a, s0, b, s1), low, tread.seat, flight.across, about
                    )
                )
    return parts


def _cleat_span(flight: Flight, tread: Tread) -> tuple[float, float, bool]:
    """x from and to which a cleat under a tread lies on its solid stringer, and whether that holds the tread: over half
    of its depth."""
    low = tread.seat - lumber(CLEAT).width
    start = max(tread.back, flight.head, (flight.lower_edge(0.0) - low) / flight.slope)
    end = min(flight.stringer_face(tread.number), flight.end)
    return start, end, end - start >= 0.5 * (end - tread.back)


def _cleats(shop: Workshop, flight: Flight, tread: Tread, about) -> list[Part]:
    """Cleats on both sides of every bay between solid stringers."""
    stock = lumber(CLEAT)
    low = tread.seat - stock.width
    start, end, held = _cleat_span(flight, tread)
    if not held:
        raise DesignError(
            f"stair.{flight.stair}.stringer",
            f"a stringer {flight.stock_width:g} in wide cannot hold treads {tread.depth:.4g} in deep",
            wide_enough(flight, lambda f: _cleat_span(f, tread)[2]),
        )
    parts = []
    for s0, s1 in bays(flight):
        for a, b in ((s0, s0 + stock.thickness), (s1 - stock.thickness, s1)):
            parts.append(
                _board(shop, "tread blocking", stock, flight, box(start, a, end, b), low, tread.seat, flight.out, about)
            )
    return parts


def build_risers(layout: LevelPlan, shop: Workshop, plan: StairPlan, flight: Flight, where: str) -> list[Part]:
    """Riser boards: one on the face that the flight leaves, where that is faced, and with closed risers one below each
    tread.

    Over cut stringers they run on over the skirts' ends, and stop short at guard posts; between solid ones they fill
    each bay. The top one takes scraps of fascia beside it.
    """
    trim, p = layout.parameters.trim, plan.spot.parameters
    t = trim.thickness
    last = flight.risers - 1
    parts, scraps = list[Part](), _scraps(layout, plan, flight)
    middles = [a + flight.stock_thickness / 2 for a in flight.stringers[1:-1]]
    skirted = [
        side for side in plan.spot.open_sides if p.skirts and room_beside(layout, flight, side, 0.0, flight.run) >= t
    ]
    for k, x, low, high in _riser_places(flight):
        if high - low < LEAST_RISER:
            continue
        if flight.solid and not flight.one_step:
            stretches = bays(flight)
        else:
            ends = [0.0, flight.width] if k else _with_scraps(flight, scraps)
            for n, side in enumerate(("start", "end")):
                if (
                    k
                    and side in skirted
                    and not any(a < x + t - 1e-9 and b > x + 1e-9 for a, b in post_stretches(plan, flight, side))
                ):
                    ends[n] += -t if n == 0 else t
            stretches = lengths(*_ends(flight, x + t, *ends), trim.length, middles, layout.parameters.surface.end_gap)
        role = "riser" if flight.closed else "fascia"
        about = {"where": f"{where} riser {k + 1}", "edge": plan.spot.edge.name, "stair": plan.index, "step": k + 1}
        stock = trim_stock(trim, layout.parameters.maker.fascia, high - low)
        for s0, s1 in stretches:
            # an upright board: its face is the outline, its thickness the extrusion
            if k == last and flight.feet:
                ring = [*flight.ground(s0, s1), (s1, high), (s0, high)]
                parts.append(on_its_face(shop, role, stock, flight, x, t, ring, about))
                continue
            taken = [box(r.s[0], low, r.s[1], r.top) for r in under(layout, flight, x, x + t, s0, s1) if r.top > low]
            if taken:
                rest = shapely.set_precision(box(s0, low, s1, high).difference(shapely.union_all(taken)), CUT_GRID)
                parts += [
                    on_its_face(shop, role, stock, flight, x, t, list(g.exterior.coords)[:-1], about)
                    for g in polygons(rest)
                    if g.area >= LEAST_RISER * t
                ]
                continue
            if scraps and not k:
                whole = united([flight.mitred(x, x + t, *_ends(flight, x + t, 0.0, flight.width)), *scraps])
                for g in polygons(shapely.set_precision(whole.intersection(box(x, s0, x + t, s1)), CUT_GRID)):
                    parts.append(_board(shop, role, stock, flight, g, low, high, flight.across, about))
                continue
            parts.append(_on_edge(shop, role, stock, flight, x, t, s0, s1, low, high, about))
    return parts


def _riser_places(flight: Flight) -> list[tuple[int, float, float, float]]:
    """Of each riser board its number, 0 at the face that the flight leaves, its back's x, and its levels."""
    boards: list[tuple[int, float, float, float]] = []
    last = flight.risers - 1
    if flight.faced:
        foot = flight.bearing if flight.one_step else flight.seat(1)
        boards.append((0, 0.0, foot, flight.top - flight.thickness))
    if flight.closed:
        boards += [
            (k, flight.stringer_face(k), flight.bearing if k == last else flight.seat(k + 1), flight.seat(k))
            for k in range(1, flight.risers)
        ]
    return boards


def _scraps(layout: LevelPlan, plan: StairPlan, flight: Flight) -> list[Polygon]:
    """In (x, s), the scraps of fascia that the riser on the face of the deck's edge takes: none between solid
    stringers, nor where concrete comes up before it."""
    if flight.index or not flight.faced or (flight.solid and not flight.one_step):
        return []
    found = [Polygon([flight.position(q) for q in g.exterior.coords]) for g in scraps_beside(layout, plan.spot)]
    low, high = _with_scraps(flight, found)
    foot = flight.bearing if flight.one_step else flight.seat(1)
    cut = any(r.top > foot for r in under(layout, flight, 0.0, layout.parameters.trim.thickness, low, high))
    return [] if cut or flight.feet else found


def _with_scraps(flight: Flight, scraps: Sequence[Polygon]) -> list[float]:
    """From where to where, across a flight, its top riser reaches with scraps of fascia beside it."""
    return [min([0.0, *(g.bounds[1] for g in scraps)]), max([flight.width, *(g.bounds[3] for g in scraps)])]


def on_its_face(
    shop: Workshop,
    role: str,
    stock: Stock,
    flight: Flight,
    x: float,
    thickness: float,
    ring: Sequence[tuple[float, float]],
    about: dict[str, Any],
) -> Part:
    """A board on edge across the stair, its lower edge cut to the ground or to concrete: its face as a ring of (across
    the stair, level)."""
    (ox, oy), (ax, ay) = flight.point(x, 0.0), map(float, flight.across)
    return shop.prism(role, stock, ring, thickness, Place((ox, oy, 0.0), (ax, ay, 0.0), (0.0, 0.0, 1.0)), **about)


def _on_edge(
    shop: Workshop,
    role: str,
    stock: Stock,
    flight: Flight,
    x: float,
    thickness: float,
    s0: float,
    s1: float,
    low: float,
    high: float,
    about,
) -> Part:
    """A board on edge across the stair, its back face at x."""
    if any(flight.mitres):
        outline = world(flight, flight.mitred(x, x + thickness, s0, s1))
        return shop.upright(role, stock, outline, low, high, tuple(flight.across), **about)
    start, end = (
        (*flight.point(x + thickness / 2, s0), (low + high) / 2),
        (*flight.point(x + thickness / 2, s1), (low + high) / 2),
    )
    return shop.box_along(role, stock, start, end, (0.0, 0.0, 1.0), high - low, thickness, **about)
