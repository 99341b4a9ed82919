"""An outline out of a drawing: the closed polyline, or the chain of lines, on a layer of a DXF file, and beside it the
line of the house and the lot.

The drawing's units are honoured. All of it is moved so that the outline's lowest and leftmost coordinates are nothing;
it is not turned. Corners are told counter-clockwise, from the drawing's first one on.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

from ...shared.errors import DesignError
from ...shared.units import INCH_PER_MM

ENDS_MEET = 0.25  # inches: ends nearer than this are one corner; our own
LARGEST_DRAWING = 50_000_000  # bytes; our own
_UNITS = {"in": 1.0, "ft": 12.0, "mm": INCH_PER_MM, "cm": 10 * INCH_PER_MM, "m": 1000 * INCH_PER_MM}
_BY_CODE = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m"}  # $INSUNITS, DXF reference, header variables
_CURVED = ("ARC", "CIRCLE", "ELLIPSE", "SPLINE", "HELIX")

Corner = tuple[float, float]


@dataclass(frozen=True)
class SurveyedOutline:
    """Corners in inches, which edges lie along the house's line (by their number from 0), and the lot's corners."""

    points: tuple[Corner, ...]
    house: tuple[int, ...]
    lot: tuple[Corner, ...]


def drawn_in(
    path: Path,
    layer: str | None = None,
    units: str | None = None,
    house_layer: str | None = None,
    lot_layer: str | None = None,
) -> SurveyedOutline:
    """What a drawing holds. Raises DesignError, naming the key of the parameter file, for a drawing that cannot be
    read, has no units or holds no such outline, or one with arcs."""
    space, scale = _opened(path, units)
    points = _ring(space, layer, "outline.layer", scale)
    if _area(points) < 0:
        points = [points[0], *reversed(points[1:])]
    dx, dy = min(x for x, _ in points), min(y for _, y in points)
    house: list[int] = []
    if house_layer is not None:
        rings = [[*chain, chain[0]] if closed else chain for chain, closed in _chains(space, house_layer, scale)]
        lines = [line for ring in rings for line in pairwise(ring)]
        ends = list(zip(points, [*points[1:], points[0]]))
        house = [n for n, (a, b) in enumerate(ends) if any(_along(a, b, line) for line in lines)]
        if not house:
            told = f"no edge of the outline lies along a line of layer {house_layer}, within {ENDS_MEET:g} in"
            raise DesignError("outline.house_layer", told)
    lot = _ring(space, lot_layer, "outline.lot_layer", scale) if lot_layer is not None else []
    moved = [tuple((round(x - dx, 6) + 0.0, round(y - dy, 6) + 0.0) for x, y in ring) for ring in (points, lot)]
    return SurveyedOutline(moved[0], tuple(house), moved[1])


def _opened(path: Path, units: str | None) -> tuple[Any, float]:
    """The model space of a drawing, and the inches of its unit."""
    import ezdxf

    if path.stat().st_size > LARGEST_DRAWING:
        raise DesignError("outline.dxf", f"{path.name} is larger than {LARGEST_DRAWING:,} bytes")
    try:
        drawing = ezdxf.readfile(path)
    except (OSError, ValueError, LookupError, ezdxf.DXFError) as e:
        raise DesignError("outline.dxf", f"{path.name} is no DXF drawing that can be read: {e}") from None
    unit = units or _BY_CODE.get(int(drawing.header.get("$INSUNITS", 0)))
    if unit is None:
        told = f"{path.name} does not say its units ($INSUNITS); wanted one of {', '.join(_UNITS)} here"
        raise DesignError("outline.dxf_units", told)
    return drawing.modelspace(), _UNITS[unit]


def _ring(space: Any, layer: str | None, key: str, scale: float) -> list[Corner]:
    """The one closed line of a layer, of all layers where none is named."""
    rings: list[tuple[str, list[Corner]]] = []
    opened: list[tuple[list[Corner], float]] = []
    layers = [layer] if layer is not None else sorted({e.dxf.layer for e in space})
    for name in layers:
        for chain, closed in _chains(space, name, scale):
            gap = math.dist(chain[0], chain[-1])
            ring = _apart(chain if closed and gap > ENDS_MEET else chain[:-1])
            if (closed or gap <= ENDS_MEET) and len(ring) > 2:
                rings.append((name, ring))
            else:
                opened.append((chain, gap))
    if len(rings) == 1:
        return rings[0][1]
    where = f"on layer {layer}" if layer is not None else "in the drawing"
    if rings:
        there = "" if layer is not None else f", on layers {', '.join(sorted({n for n, _ in rings}))}: name one"
        raise DesignError(key, f"{len(rings)} closed lines {where}{there}; wanted one")
    if opened:
        chain, gap = min(opened, key=lambda c: c[1])
        (ax, ay), (bx, by) = chain[0], chain[-1]
        told = f"from {ax / scale:g}, {ay / scale:g} to {bx / scale:g}, {by / scale:g} of the drawing"
        raise DesignError(
            key, f"no closed line {where}: one is open by {gap:g} in, {told}; at most {ENDS_MEET:g} in is closed"
        )
    there = ", ".join(sorted({e.dxf.layer for e in space})[:12]) or "none"
    raise DesignError(key, f"no line {where}; layers with something on them: {there}")


def _chains(space: Any, layer: str, scale: float) -> Iterator[tuple[list[Corner], bool]]:
    """The polylines of a layer, and its lines joined where their ends meet: corners in inches, whether closed."""
    pieces: list[list[Corner]] = []
    for e in space:
        if e.dxf.layer.casefold() != layer.casefold():
            continue
        kind = e.dxftype()
        if kind in _CURVED or (kind in ("LWPOLYLINE", "POLYLINE") and e.has_arc):
            told = f"layer {layer} has a curve ({kind.lower()}); an outline has straight edges: draw it as short lines"
            raise DesignError("outline.dxf", told)
        if kind == "LINE":
            pieces.append([_flat(e.dxf.start, scale), _flat(e.dxf.end, scale)])
        elif kind == "LWPOLYLINE":
            yield from _long_enough([_flat(v, scale) for v in e.vertices_in_wcs()], bool(e.closed))
        elif kind == "POLYLINE" and not (e.is_poly_face_mesh or e.is_polygon_mesh):
            yield from _long_enough([_flat(v, scale) for v in e.points_in_wcs()], bool(e.is_closed))
    while pieces:
        chain = pieces.pop(0)
        while (found := _next(chain, pieces)) is not None:
            chain = found
        yield chain, False


def _long_enough(corners: list[Corner], closed: bool) -> Iterator[tuple[list[Corner], bool]]:
    if len(corners) > 1:
        yield corners, closed


def _next(chain: list[Corner], pieces: list[list[Corner]]) -> list[Corner] | None:
    """The chain with the line that goes on at one of its ends, taken from the pieces; None where none does."""
    for n, piece in enumerate(pieces):
        for line in (piece, piece[::-1]):
            if math.dist(chain[-1], line[0]) <= ENDS_MEET:
                del pieces[n]
                return chain + line[1:]
            if math.dist(chain[0], line[-1]) <= ENDS_MEET:
                del pieces[n]
                return line[:-1] + chain
    return None


def _flat(point: Any, scale: float) -> Corner:
    return float(point[0]) * scale, float(point[1]) * scale


def _apart(ring: Sequence[Corner]) -> list[Corner]:
    """Corners that are one within `ENDS_MEET` once."""
    kept: list[Corner] = []
    for q in ring:
        if not kept or math.dist(kept[-1], q) > ENDS_MEET:
            kept.append(q)
    while len(kept) > 1 and math.dist(kept[0], kept[-1]) <= ENDS_MEET:
        kept.pop()
    return kept


def _area(ring: Sequence[Corner]) -> float:
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in zip(ring, [*ring[1:], ring[0]])) / 2


def _along(a: Corner, b: Corner, line: tuple[Corner, Corner]) -> bool:
    """Whether an edge from a to b lies on a line that is at least as long."""
    (px, py), (qx, qy) = line
    long = math.dist(*line)
    if long <= ENDS_MEET:
        return False
    ux, uy = (qx - px) / long, (qy - py) / long
    for x, y in (a, b):
        on, off = (x - px) * ux + (y - py) * uy, (x - px) * uy - (y - py) * ux
        if abs(off) > ENDS_MEET or not -ENDS_MEET <= on <= long + ENDS_MEET:
            return False
    return True
