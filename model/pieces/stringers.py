"""Stringers and skirts: one side outline (sawtooth or solid, plumb cut at the top, level cut at the foot), extruded
across."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from ...shared.errors import DesignError
from ...shared.practice import practice
from ...shared.stock import Stock, sold
from ..plan.beside_house import room_beside
from ..plan.board_shapes import polygons
from ..plan.edges import FAR
from ..plan.flight import Flight
from ..plan.splits import split
from ..plan.spots import StairPlan, StairPost
from ..plan.stages import LevelPlan
from ..plan.stair_carriers import cross_piece
from ..plan.stair_posts import guard_line
from ..solid.part import Part, Place, Workshop
from .concrete_under import under
from .edge_boards import trim_stock
from .stairs_at_corner import in_the_way

LEAST_THROAT = 0.5  # inches: less is no stringer at all (the published least throat is a check, not a refusal)
CUT_GRID = 1e-8  # inches: outlines that were cut are snapped to this, so that a rounding error leaves no hair of wood
SHORTEST_SKIRT = practice("shortest block")  # inches along the flight: a narrower strip behind a post is left out
SKIRT_CRUMB = 4.0  # square inches: a smaller rest of a skirt is left out


def wide_enough(flight: Flight, holds: Callable[[Flight], bool]) -> tuple[str, object]:
    """The key and value that mend a stringer too narrow: the narrowest stock of the same thickness that `holds`, or the
    other kind of stringer."""
    for stock in sold():
        if abs(stock.thickness - flight.stock_thickness) < 1e-6 and holds(replace(flight, stock_width=stock.width)):
            return f"stair.{flight.stair}.stringer", stock.name
    return f"stair.{flight.stair}.stringer_kind", "cut" if flight.solid else "solid"


def side_outline(flight: Flight) -> Polygon:
    """The stringer's side view in (x, level). Raises DesignError where the notches cut the stock through."""
    f = flight
    if f.solid:
        top = f.top - f.thickness
        ring = [
            (f.head, f.upper_edge(f.head)),
            (f.end, f.upper_edge(f.end)),
            (f.end, f.lower_edge(f.end)),
            (f.head, f.lower_edge(f.head)),
        ]
        parts = polygons(Polygon(ring).intersection(box(f.head, f.bearing, f.end, top)))
        return max(parts, key=lambda g: g.area)
    if f.throat < LEAST_THROAT:
        raise DesignError(
            f"stair.{f.stair}.stringer",
            f"notches for {f.rise:.4g} in by {f.going:.4g} in steps leave {f.throat:.2f} in of a stringer "
            f"{f.stock_width:g} in wide",
            wide_enough(f, lambda g: g.throat >= LEAST_THROAT),
        )
    ring = []
    for k in range(1, f.risers):
        ring += [(f.stringer_face(k - 1), f.seat(k)), (f.stringer_face(k), f.seat(k))]
    ring.append((f.end, f.bearing))
    if f.heel > f.head:
        ring.append((f.heel, f.bearing))
    ring.append((f.head, f.plumb_bottom))
    return Polygon(ring)


def side_outlines(flight: Flight) -> list[Polygon]:
    """What of a flight's side is clad: its stringer, or the frame of each box step, top step first."""
    return step_frames(flight) if flight.box else [side_outline(flight)]


def step_frames(flight: Flight) -> list[Polygon]:
    """The side views in (x, level) of the frames of box steps, top step first: each back to the face that the steps
    leave, on the next one's top or on the foot, up to its tread."""
    last = flight.risers - 1
    return [
        box(0.0, flight.bearing if k == last else flight.seat(k + 1), flight.stringer_face(k), flight.seat(k))
        for k in range(1, flight.risers)
    ]


def upright_outline(
    shop: Workshop, role: str, stock: Stock, flight: Flight, outline: Polygon, s0: float, thickness: float, **about: Any
) -> Part:
    """A part from a side view in (x, level), from s0 to s0 + thickness across, its long axis along the pitch."""
    c, t = flight.going / flight.hypotenuse, flight.rise / flight.hypotenuse
    turn = np.array([[c, -t], [t, c]])
    local = np.asarray(outline.exterior.coords)[:-1] @ turn.T
    x, y = flight.point(0.0, s0 + thickness)
    ox, oy = flight.out
    place = Place((x, y, 0.0), (ox * c, oy * c, -t), (ox * t, oy * t, c))
    return shop.prism(role, stock, local, thickness, place, **about)


def scribed(layout: LevelPlan, flight: Flight, outline: Polygon, s: float, thickness: float) -> Polygon:
    """A stringer's side view cut to the concrete that comes up under it (common practice, no source), where that leaves
    a throat all along; else as it was, and the checks say what stands in what."""
    rises = under(layout, flight, 0.0, flight.run, s, s + thickness)
    taken = shapely.union_all([box(r.x[0], -FAR, r.x[1], r.top) for r in rises])
    if outline.intersection(taken).area < CUT_GRID:
        return outline
    rest = shapely.set_precision(outline.difference(taken), CUT_GRID)
    sound = isinstance(rest, Polygon) and isinstance(rest.buffer(-LEAST_THROAT / 2, join_style="mitre"), Polygon)
    return rest if sound and not rest.is_empty else outline


def build_stringers(layout: LevelPlan, shop: Workshop, plan: StairPlan, flight: Flight, where: str) -> list[Part]:
    """The stringers of one flight; none of one step, nor of box steps."""
    if not flight.hangs:
        return []
    stock = layout.parameters.stock(plan.spot.parameters.stringer)
    outlines = (
        [side_outline(flight)] * len(flight.stringers)
        if not flight.feet
        else [side_outline(flight.on_foot(n)) for n in range(len(flight.feet))]
    )
    return [
        upright_outline(
            shop,
            "stringer",
            stock,
            flight,
            scribed(layout, flight, outline, s, stock.thickness),
            s,
            stock.thickness,
            where=f"{where} stringer {n}",
            edge=plan.spot.edge.name,
            stair=plan.index,
            step=n,
        )
        for n, (s, outline) in enumerate(zip(flight.stringers, outlines), 1)
    ]


def build_carriers(shop: Workshop, plan: StairPlan) -> list[Part]:
    """The cross pieces under the stringers, each laid square to the pitch; `support` has their posts."""
    stock, parts = cross_piece(), []
    for c in plan.carriers:
        f, half = c.flight, stock.width / 2
        # down from the stringers' lower edge, square to the pitch, to the middle of the piece
        x, z = c.x - half * f.rise / f.hypotenuse, f.lower_edge(c.x) - half * f.going / f.hypotenuse
        up = np.array([*(f.out * f.rise), f.going])
        start, end = (*f.point(x, 0.0), z), (*f.point(x, f.width), z)
        about: dict[str, Any] = {"edge": plan.spot.edge.name, "stair": plan.index}
        where = f"stair {plan.index + 1} flight {f.index + 1} cross piece"
        parts.append(shop.box_along("beam", stock, start, end, up, stock.width, stock.width, where=where, **about))
    return parts


def build_skirts(layout: LevelPlan, shop: Workshop, plan: StairPlan, flight: Flight, where: str) -> list[Part]:
    """Trim boards on the outer faces of the outer stringers, cut as the stringer is, or on the sides of box steps. They
    give way to the fascia beside the stair and to guard posts, and are joined plumb where they are longer than the trim
    sold."""
    trim = layout.parameters.trim
    if not plan.spot.parameters.skirts or flight.one_step:
        return []
    stock = trim_stock(trim, layout.parameters.maker.fascia, flight.stock_width)
    parts = []
    for side, s0 in (("start", -trim.thickness), ("end", flight.width)):
        room = room_beside(layout, flight, side, 0.0, flight.run)
        if side not in plan.spot.open_sides or room < trim.thickness:  # in the house's wall there is none
            continue
        if flight.solid and _rail_beside(layout, plan, flight, side) < trim.thickness - CUT_GRID:
            continue  # nor where the bottom rail passes it, below a solid stringer's upper edge
        pieces = []
        for rest in side_outlines(replace(flight.on_foot(0 if side == "start" else -1), head=0.0)):
            for x0, x1, z0, z1 in obstacles(layout, plan, flight, side):
                rest = shapely.set_precision(rest.difference(box(x0, z0, x1, z1)), CUT_GRID)
            pieces += [q for g in polygons(rest) for q in _in_lengths(flight, g, trim.length)]
        for piece in pieces:
            x0, _, x1, _ = piece.bounds
            if piece.area >= SKIRT_CRUMB and x1 - x0 >= SHORTEST_SKIRT:
                parts.append(
                    upright_outline(
                        shop,
                        "skirt",
                        stock,
                        flight,
                        piece,
                        s0,
                        trim.thickness,
                        where=f"{where} {'right' if side == 'start' else 'left'} side",
                        edge=plan.spot.edge.name,
                        stair=plan.index,
                    )
                )
    return parts


def _rail_beside(layout: LevelPlan, plan: StairPlan, flight: Flight, side: str) -> float:
    """How far from the stringer the bottom rail runs on a side where two flights' rails share posts."""
    line = guard_line(layout, plan, flight, side) if plan.guarded else None
    if line is None:
        return FAR
    middle = abs(line[0] - (0.0 if side == "start" else flight.width))
    return middle - layout.parameters.stock(layout.parameters.guard.bottom_rail).thickness / 2


def obstacles(layout: LevelPlan, plan: StairPlan, flight: Flight, side: str) -> list[tuple[float, float, float, float]]:
    """(x0, x1, lowest, highest) of what stands where the skirt of a side would: guard posts, fascia beside the flight,
    another stair at its corner, and concrete that comes up under it."""
    found = [(x0, x1, -FAR, FAR) for x0, x1 in post_stretches(plan, flight, side)]
    trim = layout.parameters.trim
    if trim.fascia and beside_fascia(plan, flight, side):
        top = flight.top - flight.thickness
        low = top - (trim.height or layout.joist.width if flight.index == 0 else layout.joist.width)
        found.append((-1.0, trim.thickness, low, top))
    s0, s1 = (-trim.thickness, 0.0) if side == "start" else (flight.width, flight.width + trim.thickness)
    beside = in_the_way(layout, plan, flight, (0.0, flight.run, s0, s1), 0.0, 0.0)
    found += [(x0, x1, -FAR, FAR) for x0, x1, _, _ in beside]
    return found + [(*r.x, -FAR, r.top) for r in under(layout, flight, 0.0, flight.run, s0, s1)]


def beside_fascia(plan: StairPlan, flight: Flight, side: str) -> bool:
    """Whether the face that the flight leaves runs on past it on that side, with fascia on it."""
    if flight.index == 0:
        return True
    return plan.landings[flight.index - 1].towards == side


def post_stretches(plan: StairPlan, flight: Flight, side: str, reach: float = 1.0) -> list[tuple[float, float]]:
    """(x0, x1) of every guard post of the stair that stands outside that side of the flight, no further than what
    reaches so far."""
    low, high = (-reach, 0.0) if side == "start" else (flight.width, flight.width + reach)
    found = []
    for post in plan.posts:
        at = np.array([flight.position(q) for q in post.polygon.exterior.coords])
        (x0, s0), (x1, s1) = at.min(axis=0), at.max(axis=0)
        if (
            _meets(post, flight)
            and s0 < high - 1e-6
            and s1 > low + 1e-6
            and x1 > 1e-6
            and x0 < flight.run + flight.nosing - 1e-6
        ):
            found.append((float(x0), float(x1)))
    return found


def _meets(post: StairPost, flight: Flight) -> bool:
    """Whether a post is one of the flight's own or stands on the landing at its top or foot; those of another flight
    beside it stand over or under it."""
    if post.flight == flight.index:
        return True
    return post.kind in {-1: ("foot", "landing"), 1: ("top",)}.get(post.flight - flight.index, ())


def _in_lengths(flight: Flight, outline: Polygon, longest: float) -> list[Polygon]:
    """A skirt's side view cut plumb, under the middle of treads, into pieces no longer than the trim sold."""
    x0, z0, x1, z1 = outline.bounds
    ratio = flight.hypotenuse / flight.going
    if (x1 - x0) * ratio + flight.stock_width <= longest or x1 - x0 < flight.going:
        return [outline]
    room = (longest - flight.stock_width) / ratio
    places = [
        x
        for k in range(1, flight.risers)
        if x0 < (x := (flight.stringer_face(k - 1) + flight.stringer_face(k)) / 2) < x1
    ]
    stops = [x0 - 1, *(places[i] for i in split(x0, x1, places, max(room, flight.going))), x1 + 1]
    return [g for a, b in itertools.pairwise(stops) for g in polygons(outline.intersection(box(a, z0 - 1, b, z1 + 1)))]
