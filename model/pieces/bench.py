"""Built-in benches: boards along an edge on frames of two legs and a cross piece, which stand on the surface.

A frame is one plane across the bench: its cross piece lies on its two legs, the seat boards on the cross pieces, and
each joint of a board on half of one.
"""

from __future__ import annotations

import contextlib
import math

from shapely.geometry import LineString, Polygon

from ...shared.as_toml import down_to, up_to
from ...shared.errors import DesignError
from ..input.built_ins import Bench
from ..plan.edges import Edge
from ..plan.splits import split
from ..plan.stages import Posted
from ..plan.stair_spots import sleeve_wall
from ..solid.part import Part, Workshop
from .edge_boards import board_stock

CLOTH_ROOM = 1.0  # inches between guard posts and the seat's back: room for a cloth; our own
BENCHES_APART = 0.25  # inches between two benches that meet in a corner; our own
SHORTEST_SEAT_BOARD = 24.0  # inches: a shorter end of a seat board rests on one frame alone


def build_benches(layout: Posted, shop: Workshop) -> list[Part]:
    """All benches as parts. Raises DesignError, naming the key, for one that has no room where it is asked for."""
    parts: list[Part] = []
    taken: list[Polygon] = []
    for k, bench in enumerate(layout.parameters.bench):
        parts += _bench(layout, shop, k, bench, taken)
    return parts


def _bench(layout: Posted, shop: Workshop, number: int, bench: Bench, taken: list[Polygon]) -> list[Part]:
    key, s = f"bench.{number}", layout.parameters.surface
    if bench.edge not in layout.outline:
        longest = max(layout.outline.edges, key=lambda e: (not e.house, e.length)).name
        raise DesignError(
            f"{key}.edge",
            f"no edge {bench.edge!r}; the edges are {', '.join(layout.outline.names)}",
            (f"{key}.edge", longest),
        )
    edge = layout.outline[bench.edge]
    depth = bench.boards * (s.board_width + bench.gap) - bench.gap
    inside = _inside(layout, edge, bench)
    low, high = _stretch(layout, edge, bench, key, depth, taken)
    taken.append(edge.rectangle(low, high, inside, inside + depth))
    frame, seat = layout.parameters.stock(bench.frame), board_stock(s.board_thickness, s.board_width, s.material)
    floor = layout.planes.surface_top
    under = floor + bench.height - seat.thickness
    leg = bench.height - seat.thickness - frame.width
    if leg < frame.width:
        raise DesignError(
            f"{key}.height",
            f"a seat {bench.height:g} in high leaves legs of {leg:g} in",
            (f"{key}.height", up_to(bench.height + frame.width - leg)),
        )
    about = {"where": f"bench {number + 1}", "edge": edge.name}
    parts = []
    places = _frames(bench, low, high, frame.thickness)
    for n, a in enumerate(places):
        b = a + frame.thickness
        about_frame = {**about, "step": n}
        for i in (inside, inside + depth - frame.width):
            foot = edge.rectangle(a, b, i, i + frame.width)
            parts.append(shop.upright("bench frame", frame, foot, floor, floor + leg, edge.inward, **about_frame))
        across = edge.rectangle(a, b, inside, inside + depth)
        parts.append(shop.upright("bench frame", frame, across, floor + leg, under, edge.inward, **about_frame))
    middles = [a + frame.thickness / 2 for a in places]
    trim, turned = layout.parameters.order.end_trim, layout.ahead(edge.direction) < 0
    cuts = split(low, high, middles, s.board_length, SHORTEST_SEAT_BOARD, trim=trim, backwards=turned)
    joints = [middles[k] for k in cuts]
    for row in range(bench.boards):
        i = inside + row * (s.board_width + bench.gap)
        for n, (a, b) in enumerate(zip([low, *joints], [*joints, high])):
            a, b = a + (s.end_gap / 2 if n else 0.0), b - (s.end_gap / 2 if n < len(joints) else 0.0)
            board = edge.rectangle(a, b, i, i + s.board_width)
            parts.append(
                shop.upright(
                    "bench seat", seat, board, under, under + seat.thickness, edge.direction, **about, step=row
                )
            )
    return parts


def _inside(layout: Posted, edge: Edge, bench: Bench) -> float:
    """From the frame's outer face to the seat's back."""
    if bench.inside is not None:
        return bench.inside
    guard = layout.parameters.guard
    post = guard.sleeve.size if guard.sleeve is not None else layout.parameters.stock(guard.post).width
    return layout.rim_of(edge) + (post + CLOTH_ROOM if edge.name in layout.guarded else CLOTH_ROOM)


def _stretch(
    layout: Posted, edge: Edge, bench: Bench, key: str, depth: float, taken: list[Polygon]
) -> tuple[float, float]:
    """Where the bench begins and ends along its edge: as asked, or the longest stretch of its band that is free."""
    free = _free(layout, edge, bench, key, depth, taken)
    found = _place(bench, free)
    if found is not None:
        return found
    clear = ", ".join(f"{a:.1f} to {b:.1f} in" for a, b in free) or "nowhere"
    raise DesignError(
        f"{key}.{'at' if bench.at is not None else 'length' if bench.length is not None else 'edge'}",
        f"no room for a bench {depth:.1f} in deep there; along edge {edge.name} there is room {clear}",
        values=_mended(layout, edge, bench, key, depth, taken),
    )


def _free(
    layout: Posted, edge: Edge, bench: Bench, key: str, depth: float, taken: list[Polygon]
) -> list[tuple[float, float]]:
    """The stretches of a bench's band that are clear of the other edges' guards, of the stairs, of the benches before
    it, and of posts that reach further in than others, as in a corner of slanted edges."""
    inside = _inside(layout, edge, bench)
    band = edge.rectangle(-1e4, 1e4, inside, inside + depth)
    room = layout.outline.inset(lambda e: inside if e is edge else _inside(layout, e, bench), f"{key}.edge")
    free = [(0.0, edge.length)]
    for at in (inside + 1e-6, inside + depth - 1e-6):
        cut = room.intersection(LineString([edge.point(-1e4, at), edge.point(1e4, at)]))
        spans = [_span(edge, g) for g in getattr(cut, "geoms", [cut]) if g.length > 1]
        free = [(max(a, c), min(b, d)) for a, b in free for c, d in spans if min(b, d) > max(a, c)]
    closed = [(s.start, s.end) for s in layout.stairs if s.edge is edge]
    posts = [p.polygon.buffer(sleeve_wall(layout), join_style="mitre") for p in layout.posts]
    closed += [_span(edge, hit) for p in posts if not (hit := p.intersection(band)).is_empty]
    closed += [
        (a - BENCHES_APART, b + BENCHES_APART)
        for t in taken
        if (hit := t.intersection(band)).area > 1
        for a, b in [_span(edge, hit)]
    ]
    for low, high in closed:
        free = [(a, b) for c, d in free for a, b in ((c, min(d, low)), (max(c, high), d)) if b - a > 1e-6]
    return free


def _place(bench: Bench, free: list[tuple[float, float]]) -> tuple[float, float] | None:
    """From where to where a bench stands in what is free along its edge; None where it has no room."""
    start = bench.at if bench.at is not None else max(free, key=lambda f: f[1] - f[0], default=(0.0, 0.0))[0]
    asked = start + bench.length if bench.length is not None else None
    end = asked if asked is not None else next((b for a, b in free if a - 1e-6 <= start < b), start)
    fits = any(a - 1e-6 <= start and end <= b + 1e-6 for a, b in free)
    return (start, end) if fits and end - start >= 2 * bench.overhang + 12 else None


def _mended(
    layout: Posted, edge: Edge, bench: Bench, key: str, depth: float, taken: list[Polygon]
) -> list[tuple[str, object]]:
    """Keys of the bench with values that would do: its place, its length, both, another edge; none where none of the
    edges has room for any."""
    others = sorted((e for e in layout.outline.edges if e is not edge), key=lambda e: (e.house, -e.length))
    for e in (edge, *others):
        with contextlib.suppress(DesignError):  # a deck too narrow for one along that edge
            free = _free(layout, e, bench, key, depth, taken)
            longest = sorted(free, key=lambda f: f[0] - f[1])
            at = [] if bench.at is None else [{"at": up_to(a)} for a, _ in longest]
            length = [] if bench.length is None else [{"length": down_to(b - a - 1 / 8)} for a, b in longest]
            length += [{"length": down_to(b - bench.at)} for a, b in free if length and bench.at and a <= bench.at < b]
            for change in ({}, *at, *length, *(a | n for a in at for n in length)):
                if _place(bench.model_copy(update=change), free) is not None and (change or e is not edge):
                    keys = change if e is edge else {"edge": e.name} | change
                    return [(f"{key}.{k}", v) for k, v in keys.items()]
    return []


def _span(edge: Edge, shape) -> tuple[float, float]:
    ring = shape.exterior.coords if isinstance(shape, Polygon) else shape.coords
    at = [edge.position(q)[0] for q in ring]
    return min(at), max(at)


def _frames(bench: Bench, low: float, high: float, thickness: float) -> list[float]:
    """Near faces of the frames: one at either end, the others evenly between."""
    first, last = low + bench.overhang, high - bench.overhang - thickness
    count = max(1, math.ceil((last - first) / bench.frame_spacing - 1e-9))
    return [first + (last - first) * k / count for k in range(count + 1)]
