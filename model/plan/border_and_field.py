"""The surface in plan: border courses mitred at every corner, the field inside them, breakers, and what must carry
each.

A border board needs bearing under both its halves and the field ends beside it need bearing of their own. The rim
carries the outermost half; every other half gets a strip of the joist's thickness flush with the board's edge (common
practice, no source), and one more strip lies under the field ends.
"""

from __future__ import annotations

import math
from types import MappingProxyType

import numpy as np
from shapely.geometry import LineString, Point, Polygon

from ...shared.errors import DesignError
from ...shared.points import Vector
from ...shared.practice import practice
from ...shared.stock import lumber, nominal_sizes
from ..input.parameters import Parameters
from .board_shapes import SCREW_EDGE, polygons
from .edges import FAR, Edge, cross, parallel, still
from .spots import Strip
from .stages import Bordered, Setting, Surfaced, grown
from .whole_edge import whole_edge

HALF_ON_RIM = practice("bearing of half a border")
GOES_ON = 1e-6  # inches: rounding where one strip goes on in line with another
GAPS_ALIKE = 1e-6  # inches: a gap this little narrower is the one asked for
PAST_BREAKER = 12.0  # inches that a line of blocks runs on past a breaker's end: into the border beside it (our own)
LEAST_CROSSING = 20.0  # degrees between boards and joists below which a board rests on too few of them (our own)


def plan_surface(plain: Setting) -> Surfaced:
    """The surface: outer edge, border, field, breakers, support strips. Raises DesignError, naming the key, where the
    border or a breaker does not fit, or an overhang or edge kept whole is asked for where no such edge is."""
    s, outline = plain.parameters.surface, plain.outline
    for name in s.edge_overhang:
        if name not in outline:
            free = next((e.name for e in outline.edges if not e.house and e.name not in s.edge_overhang), None)
            known = {n: out for n, out in s.edge_overhang.items() if n in outline}
            raise DesignError(
                f"surface.edge_overhang.{name}",
                f"no edge {name!r}; the edges are {', '.join(outline.names)}",
                ("surface.edge_overhang", known | ({free: s.edge_overhang[name]} if free else {})),
            )
    whole = whole_edge(outline, plain.parameters.order.whole_edge, plain.distance_out)
    wanted = _border_width(plain)
    try:
        return _surface_of(plain, whole, wanted)
    except DesignError:
        if s.border.width or wanted == s.board_width:
            raise
        return _surface_of(plain, whole, s.board_width)  # no room for a wider one: the checks say how this one bears


def _border_width(plain: Setting) -> float:
    """The file's; where it gives none the boards' own, or the next that the yard sells of which the outer half keeps
    its bearing beside what overhangs: one that stands out past its middle tips when it is stepped on."""
    s = plain.parameters.surface
    if s.border.width or not s.border.courses:
        return s.border.width or s.board_width
    out = max((plain.overhang(e) for e in plain.outline.edges if _bordered(plain, e)), default=0.0)
    wider = sorted({lumber(name).width for name in nominal_sizes()})
    fit = (w for w in [s.board_width, *wider] if w >= s.board_width and w / 2 - out >= HALF_ON_RIM - 1e-9)
    return next(fit, s.board_width)


def _surface_of(plain: Setting, whole: Edge | None, width: float) -> Surfaced:
    s, outline = plain.parameters.surface, plain.outline
    courses = s.border.courses
    direction = _board_direction(plain)
    outer = {e.name: -plain.overhang(e) for e in outline.edges}
    bordered = {e.name: _bordered(plain, e) for e in outline.edges}
    surface_outer = outline.inset(outer, "surface.overhang")

    def edge_of(course: int, inner: bool):
        step = course * (width + s.edge_gap) + (width if inner else 0.0)
        return {n: d + step if bordered[n] else d for n, d in outer.items()}

    border = []
    for k in range(courses):
        outline.inset(edge_of(k, True), "surface.border.courses")  # refused where the border is wider than the deck
        for e in outline.edges:
            if bordered[e.name]:
                board = outline.strip(e, edge_of(k, False), edge_of(k, True))
                border.append((e.name, k, _mitre_gapped(plain, e, board)))
    field_inset = edge_of(courses - 1, True) if courses else dict(outer)

    def gap(e: Edge) -> float:
        if not bordered[e.name]:
            return field_inset[e.name]  # the field itself makes the surface's edge
        return field_inset[e.name] + (s.edge_gap if e.parallel_to(direction) else s.end_gap)

    made = grown(
        plain,
        Bordered,
        surface_outer=surface_outer,
        border=tuple(border),
        border_width=width,
        field_inset=MappingProxyType(field_inset),
        board_direction=still(direction),
        field_polygon=outline.inset(gap, "surface.border.courses"),
        whole_edge=whole,
    )
    breakers = tuple(_breakers(made))
    return grown(made, Surfaced, breakers=breakers, strips=tuple(_strips(made, breakers, bordered, outer, width)))


def field_begins(layout: Bordered, edge: Edge) -> float:
    """Inside an edge, where the field boards that run along it begin: the surface's edge, or a gap from the border."""
    inside = layout.field_inset[edge.name]
    return inside + layout.parameters.surface.edge_gap if _bordered(layout, edge) else inside


def given_direction(p: Parameters) -> np.ndarray | None:
    """(2,) unit vector of the boards where the file gives their direction."""
    angle = p.surface.direction
    return None if angle is None else np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle))])


def crosses(boards: Vector, joists: Vector) -> bool:
    """Whether boards along one unit vector cross joists along the other steeply enough to rest on them."""
    return abs(cross(boards, joists)) >= math.sin(math.radians(LEAST_CROSSING))


def _board_direction(layout: Setting) -> np.ndarray:
    d = given_direction(layout.parameters)
    if d is None:  # along the house, which is the straightest line to lay from
        house = next(
            (e.direction for e in layout.outline.edges if e.house and e.parallel_to(layout.across)), layout.across
        )
        return house * np.sign(float(house @ layout.across))
    if not crosses(d, layout.along):
        key, other = _crossing_joists(layout, d)
        angle = layout.parameters.surface.direction
        raise DesignError(
            "surface.direction",
            f"boards at {angle:g} degrees run along the joists and would rest on none: leave {key} out, or give"
            f" {other!r} there",
            (key, other),
        )
    return d


def _crossing_joists(layout: Setting, boards: np.ndarray) -> tuple[str, str]:
    """The key that says which way joists run, and a value with which boards along a unit vector would cross them."""
    p = layout.parameters
    if p.design.joists_along is not None:
        edge = next((e for e in layout.outline.edges if crosses(boards, e.direction)), None)
        if edge is not None:
            return "design.joists_along", edge.name
    return "frame.joist_direction", "y" if abs(boards[0]) >= abs(boards[1]) else "x"


def _mitre_gapped(layout: Setting, edge: Edge, board: Polygon) -> Polygon:
    """The border board with half the mitre's opening taken off where it meets another border board."""
    gap = layout.parameters.surface.border.mitre_gap
    if not gap:
        return board
    ring = list(board.exterior.coords)[:-1]
    cut = board
    for (a, b), other in (
        ((ring[3], ring[0]), layout.outline.before(edge)),
        ((ring[1], ring[2]), layout.outline.after(edge)),
    ):
        if other.house and not layout.parameters.surface.border.at_house:
            continue
        d = np.subtract(b, a) / math.dist(a, b)
        n = np.array([-d[1], d[0]])
        far = d * 1000
        sliver = Polygon([a - far - n * gap / 2, b + far - n * gap / 2, b + far + n * gap / 2, a - far + n * gap / 2])
        cut = cut.difference(sliver)
    return max(getattr(cut, "geoms", [cut]), key=lambda g: g.area)


def _breakers(layout: Bordered) -> list[Polygon]:
    s = layout.parameters.surface
    if not s.breakers:
        return []
    found: list[tuple[float, Polygon]] = []
    d = layout.board_direction
    n = np.array([-d[1], d[0]])
    corners = np.asarray(layout.outline.polygon.exterior.coords)
    low = float((corners @ d).min())
    half = s.board_width / 2
    width_limits = float((corners @ n).min()) - 100, float((corners @ n).max()) + 100
    # a breaker's own ends are board ends: it stops an end gap short of the border beside it
    room = layout.outline.inset(
        lambda e: layout.field_inset[e.name] + (s.end_gap if _bordered(layout, e) else 0.0), "surface.breakers"
    )
    for i, at in enumerate(s.breakers):
        band = _band(d, n, low + at - half, low + at + half, *width_limits)
        piece = room.intersection(band)
        pieces = [
            g
            for whole in getattr(piece, "geoms", [piece])
            if whole.area > 1
            for g in _full_width(whole, d, n, 2 * half)
        ]
        if not pieces:
            raise DesignError(
                f"surface.breakers.{i}",
                f"a breaker {at:g} in along the boards does not lie on the deck at its full width",
            )
        beside = next((o for o, q in found if any(p.distance(q) < s.end_gap - GAPS_ALIKE for p in pieces)), None)
        if beside is not None:
            raise DesignError(
                f"surface.breakers.{i}",
                f"a breaker {at:g} in along the boards lies in the one at {beside:g} in; with the gap between them they"
                f" are at least {s.board_width + s.end_gap:g} in apart",
            )
        short = 2 * (s.end_gap + SCREW_EDGE)  # boards between two breakers need room for a fastener
        slot = next((o for o, q in found if any(s.end_gap + GAPS_ALIKE < p.distance(q) < short for p in pieces)), None)
        if slot is not None:
            raise DesignError(
                f"surface.breakers.{i}",
                f"between the breakers {at:g} in and {slot:g} in along the boards no board can be fastened;"
                f" they are {s.board_width + s.end_gap:g} in apart, or {s.board_width + short:g} in and more",
            )
        found += [(at, p) for p in pieces]
    return [p for _, p in found]


def _full_width(piece: Polygon, d, n, width: float) -> list[Polygon]:
    """The stretches of a breaker at its full width, slanting ends and all: where a border runs into it lengthwise it
    stops."""
    along = np.asarray(piece.exterior.coords) @ d
    lines = []
    for at in (along.min() + 1e-6, along.max() - 1e-6):
        cut = piece.intersection(LineString([d * at + n * -1e5, d * at + n * 1e5]))
        lines.append(
            [tuple(sorted((np.asarray(g.coords) @ n).tolist())) for g in getattr(cut, "geoms", [cut]) if g.length > 1]
        )
    kept = []
    for a0, a1 in lines[0]:
        for b0, b1 in lines[1]:
            low, high = (min if abs(a0 - b0) <= width else max)(a0, b0), (max if abs(a1 - b1) <= width else min)(a1, b1)
            if min(a1, b1) - max(a0, b0) > width:
                part = piece.intersection(_band(d, n, along.min() - 1, along.max() + 1, low - 1e-9, high + 1e-9))
                kept += [g for g in getattr(part, "geoms", [part]) if isinstance(g, Polygon) and g.area > width * width]
    return kept


def _bordered(layout: Setting, edge: Edge) -> bool:
    b = layout.parameters.surface.border
    return b.courses > 0 and (not edge.house or b.at_house)


def _band(d, n, d0, d1, n0, n1) -> Polygon:
    return Polygon([d * d0 + n * n0, d * d1 + n * n0, d * d1 + n * n1, d * d0 + n * n1])


def _strips(layout: Bordered, breakers, bordered, outer, width: float) -> list[Strip]:
    """Support strips in the plan, each one joist thick, to be filled with lengthwise members or blocks by the frame."""
    s, t = layout.parameters.surface, layout.joist.thickness
    strips = []
    reached = {e.name: layout.rim_of(e) for e in layout.outline.edges}

    def add(edge: Edge, inside: float, purpose: str) -> None:
        borne = reached[edge.name] - inside  # by the rim, or the strip before
        if borne >= HALF_ON_RIM - 1e-9:
            return
        inside = max(inside, reached[edge.name])
        reached[edge.name] = inside + t

        def end(e: Edge) -> float:
            # at a reflex corner a lengthwise member runs on to whatever carries it, a line of blocks one bay further
            if layout.outline.turn(edge if e is layout.outline.before(edge) else e) > 0:
                return layout.rim_of(e)
            return 1e4 if layout.is_lengthwise(edge) else layout.field_inset[e.name] + layout.joist_spacing

        polygon = layout.outline.strip(
            edge, lambda e: inside if e is edge else end(e), lambda e: inside + t if e is edge else end(e)
        )
        polygon = _piece_at(layout.inner.intersection(polygon), edge.point(edge.length / 2, inside + t / 2))
        if polygon is not None and polygon.area > 1:
            strips.append(Strip(polygon, edge.name, purpose, layout.is_lengthwise(edge), tuple(edge.direction)))

    for e in layout.outline.edges:
        if not bordered[e.name]:
            continue
        for k in range(s.border.courses):
            a = outer[e.name] + k * (width + s.edge_gap)
            if k:
                add(e, a, "border")  # outer half of an inner course
            add(e, max(a + width - t, layout.rim_of(e)), "border")
        ends_here = not e.parallel_to(layout.board_direction)
        if ends_here:
            add(e, layout.field_inset[e.name] + s.end_gap, "field ends")
    return strips + [strip for b in breakers for strip in _breaker_strips(layout, b, strips)]


def _piece_at(shape, point) -> Polygon | None:
    """The polygon of a shape nearest to a point."""
    return min(polygons(shape), key=lambda g: g.distance(Point(point)), default=None)


def _breaker_strips(layout: Bordered, breaker: Polygon, edges: list[Strip]) -> list[Strip]:
    """Under a breaker: both its halves and, an end gap away, the field ends on both sides. `edges`: the strips of
    edges."""
    s, t = layout.parameters.surface, layout.joist.thickness
    d = layout.board_direction
    n = np.array([-d[1], d[0]])
    pos = np.asarray(breaker.exterior.coords) @ d
    low, high = float(pos.min()), float(pos.max())
    lengthwise = parallel(n, layout.along)
    strips = []
    for a, purpose in (
        (low, "breaker"),
        (high - t, "breaker"),
        (low - s.end_gap - t, "field ends"),
        (high + s.end_gap, "field ends"),
    ):
        across = np.asarray(breaker.exterior.coords) @ n
        ends = float(across.min()) - PAST_BREAKER, float(across.max()) + PAST_BREAKER
        short = pieces = polygons(layout.inner.intersection(_band(d, n, a, a + t, *ends)))
        if lengthwise:
            past = polygons(
                layout.inner.intersection(_band(d, n, a, a + t, *_run_on(layout, (d, n), (a, t), ends, edges)))
            )
            pieces = [g for g in past if any(g.intersection(q).area > 1 for q in short)]
        strips += [Strip(g, None, purpose, lengthwise, tuple(n)) for g in pieces if g.area > 1]
    return strips


def _run_on(layout: Bordered, axes, strip: tuple[float, float], ends: tuple[float, float], edges) -> list[float]:
    """The two ends of a breaker's lengthwise strip, which runs on to whatever carries it unless one of an edge takes it
    on. `axes`: unit vectors along the boards and the breaker; `strip`: its place along the boards and its thickness."""
    (d, n), (a, t) = axes, strip
    found = []
    for end, far in zip(ends, (-FAR, FAR)):
        past = polygons(layout.inner.intersection(_band(d, n, a, a + t, min(end, far), max(end, far))))
        on = [g for g in past if float(np.abs(np.asarray(g.exterior.coords) @ n - end).min()) < GOES_ON]
        taken = any(e.polygon.intersection(g).area > g.area / 2 for g in on for e in edges if e.lengthwise)
        found.append(end if taken or not on else far)
    return found
