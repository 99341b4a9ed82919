"""The surface as solids: border boards, breakers and field boards, each a plan outline extruded from frame top to
surface top.

Outlines carry their mitres, notches and rips already; long axis = local x = the direction the board was laid in.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from ...shared.said import Said, Words, length, said, size
from ..plan.board_runs import notches, open_fragile
from ..plan.board_shapes import HOLDS_A_FASTENER, NOTCH_ROOM, fastened, local, polygons, with_tongues
from ..plan.board_tips import cut_back
from ..plan.joist_plan import FACES_MEET
from ..plan.splits import split
from ..plan.stages import Laid
from ..solid.board_ends import bears, end_faces
from ..solid.part import Part, Workshop
from ..solid.union import united
from .edge_boards import (
    SHORTEST_EDGE_BOARD,
    board_stock,
    cut_square,
    flat_parts,
    flat_place,
    split_along,
)

UNDER_BORDER = ("frame", "blocking")  # groups of pieces that reach up to the boards
HAIR = 1 / 64  # inches: half of what a saw cut shows (our own)


def build_surface(
    layout: Laid, shop: Workshop, notes: list[Words] | None = None, under: Sequence[Part] = ()
) -> list[Part]:
    """Border, breakers and field boards. What could not be laid as asked, and the rip, is added to `notes`. `under`:
    the frame, from which a tongue of the border beside a post may stand out no further than any board's end."""
    found: list[Words] = []
    s = layout.parameters.surface
    if layout.border and not s.border.width and layout.border_width != s.board_width:
        found.append(
            said(
                "the border is of boards {wide} wide: the outer half of one of {width} would stand out past the frame",
                wide=size(layout.border_width),
                width=size(s.board_width),
            )
        )
    border = _border(layout, shop, under)
    breakers = _breakers(layout, shop)
    boards = _field(layout, shop, found)
    found += [r.said for r in rip_report(boards)]
    if notes is not None:
        notes += found
    return border + breakers + boards


def _border(layout: Laid, shop: Workshop, under: Sequence[Part]) -> list[Part]:
    s = layout.parameters.surface
    top = layout.planes.frame_top
    tops = [p.footprint for p in under if p.group in UNDER_BORDER and abs(p.box[1, 2] - top) < FACES_MEET]
    stock = board_stock(s.board_thickness, layout.border_width, s.material)
    parts = []
    for name, course, x, y, pieces in border_outlines(layout):
        where = f"{name} edge" + (f", course {course + 1}" if s.border.courses > 1 else "")
        place = flat_place(x, y, top)
        pieces = [_without_tongues(p, x, y, tops) for p in pieces]
        parts += flat_parts(
            shop, "border", stock, pieces, s.board_thickness, place, [{"where": where, "edge": name}] * len(pieces)
        )
    return parts


def border_outlines(layout: Laid) -> list[tuple[str, int, np.ndarray, np.ndarray, list[Polygon]]]:
    """(edge, course, axis along it, axis into the deck, outlines of its boards seen along these) of every strip of the
    border, with mitres, joints and notches."""
    s, posts = layout.parameters.surface, notches(layout)
    joints: dict[str, list[float]] = defaultdict(list)
    found = []
    for name, course, polygon in layout.border:
        edge = layout.outline[name]
        x, y = edge.direction, edge.inward
        whole = local(polygon, x, y)
        v0, v1 = whole.bounds[1], whole.bounds[3]
        holes = [local(n, x, y) for n in posts if n.intersects(polygon)]
        blocked = [(h.bounds[0], h.bounds[2]) for h in holes]
        pieces, joints[name] = split_along(layout, edge, whole, s.board_length, s.end_gap, blocked, joints[name])
        if holes:
            cut = shapely.union_all(with_tongues([open_fragile(h, whole, v0, v1) for h in holes]))
            pieces = [q for p in pieces for g in polygons(p.difference(cut)) for q in _without_hairs(g)]
        pieces = [p for p, fine in zip(pieces, fastened(layout, pieces, x, y)) if fine]
        found.append((name, course, x, y, pieces))
    return found


def _without_tongues(outline: Polygon, x: np.ndarray, y: np.ndarray, tops: Sequence[Polygon]) -> Polygon:
    """A border board, an end of which that a post's notch leaves too narrow for a fastener is sawn off as far as it
    stands out past what carries it (common practice, no source)."""
    ends = [
        faces for faces in end_faces(outline).values() if sum(math.dist(a, b) for a, b, _ in faces) < HOLDS_A_FASTENER
    ]
    if not ends or not tops:
        return outline
    near = shapely.transform(outline, lambda p: p @ np.array([x, y])).envelope
    under = united([local(q, x, y) for q in tops if q.intersects(near)])
    if all(bears(outline, faces, under) for faces in ends):
        return outline
    return cut_back(outline, under) or outline


def _without_hairs(outline: Polygon) -> list[Polygon]:
    """Without steps too small to saw: a notch's corner that all but lies on the mitre leaves one. Two pieces where the
    step was all that held them together, along a notch that opens to the edge."""
    ring = np.asarray(outline.exterior.coords)[:-1]
    keep = np.hypot(*(ring - np.roll(ring, 1, axis=0)).T) > HAIR
    if keep.all():
        return [outline]
    cut = Polygon(ring[keep], outline.interiors)
    if cut.is_valid:
        return [cut]
    parts = shapely.get_parts(shapely.get_parts(shapely.make_valid(cut)))
    return [g for g in parts if isinstance(g, Polygon)]


def _breakers(layout: Laid, shop: Workshop) -> list[Part]:
    """Breakers lie square to the boards; over-long ones are joined anywhere along the lengthwise members under them."""
    s = layout.parameters.surface
    stock = board_stock(s.board_thickness, s.board_width, s.material)
    parts = []
    for number, x, y, pieces in breaker_outlines(layout):
        place = flat_place(x, y, layout.planes.frame_top)
        parts += flat_parts(
            shop, "breaker", stock, pieces, s.board_thickness, place, [{"where": f"breaker {number}"}] * len(pieces)
        )
    return parts


def breaker_outlines(layout: Laid) -> list[tuple[int, np.ndarray, np.ndarray, list[Polygon]]]:
    """(number, axis along it, axis across it, outlines of its boards seen along these) of every breaker."""
    s, found = layout.parameters.surface, []
    d = np.asarray(layout.board_direction, float)
    x, y = np.array([-d[1], d[0]]), -d
    for k, polygon in enumerate(layout.breakers):
        whole = local(polygon, x, y)
        u0, v0, u1, v1 = whole.bounds
        holes = [local(n, x, y) for n in notches(layout) if n.intersects(polygon)]
        # boards never run along the joists (the plan refuses it), so a breaker never runs across them: it lies on
        # lengthwise members
        places = [
            u
            for u in np.arange(u0 + 4.0, u1, 4.0)
            if not any(h.bounds[0] - NOTCH_ROOM < u < h.bounds[2] + NOTCH_ROOM for h in holes)
        ]
        trim = layout.parameters.order.end_trim
        turned = layout.ahead(x) < 0
        cuts = split(u0, u1, places, s.board_length, SHORTEST_EDGE_BOARD, trim=trim, backwards=turned)
        at = [places[i] for i in cuts]
        pieces = cut_square(whole, at, s.end_gap)
        if holes:
            cut = shapely.union_all(with_tongues([open_fragile(h, whole, v0, v1) for h in holes]))
            pieces = [g for p in pieces for g in polygons(p.difference(cut))]
        found.append((k + 1, x, y, [p for p, fine in zip(pieces, fastened(layout, pieces, x, y)) if fine]))
    return found


def _field(layout: Laid, shop: Workshop, notes: list[Words]) -> list[Part]:
    s = layout.parameters.surface
    stock = board_stock(s.board_thickness, s.board_width, s.material)
    field = layout.field
    notes += field.notes
    place = flat_place(field.x, field.y, layout.planes.frame_top)
    return flat_parts(
        shop,
        "board",
        stock,
        [p.outline for p in field.boards],
        s.board_thickness,
        place,
        [{"where": f"run {p.run}"} for p in field.boards],
    )


@dataclass(frozen=True)
class Rip:
    """A run ripped lengthwise: `width` measured on its boards, over `length` in all; `pieces` boards; inches."""

    where: str
    width: float
    length: float
    pieces: int

    @property
    def said(self) -> Said:
        return said(
            "{where} is ripped to {width} over {long}",
            where=self.where,
            width=size(self.width),
            long=length(self.length),
        )


def rip_report(parts: list[Part]) -> list[Rip]:
    """Every run of field boards narrower than its stock over its whole length, measured on the boards; runs in order.

    The pointed piece that a slanting edge leaves in a corner is narrow without a rip: a rip has both its long edges.
    """
    found: dict[tuple[str, float], list[float]] = {}
    for p in parts:
        if p.role != "board":
            continue
        x0, y0, x1, y1 = p.shape.polygon.bounds
        if y1 - y0 < p.stock.width - 1e-6 and all(_edge_length(p.shape.outline, y) > (x1 - x0) / 2 for y in (y0, y1)):
            found.setdefault((p.where, round(y1 - y0, 6)), []).append(x1 - x0)
    return [Rip(where, width, sum(lengths), len(lengths)) for (where, width), lengths in found.items()]


def _edge_length(outline, y: float) -> float:
    ring = np.asarray(outline)
    after = np.roll(ring, -1, axis=0)
    return float(np.abs(after - ring)[(abs(ring[:, 1] - y) < 1e-6) & (abs(after[:, 1] - y) < 1e-6), 0].sum())
