"""Triangles of a prism, straight from its outline: no kernel call, closed by construction, each distinct shape once.

The caps are triangulated by shapely's constrained Delaunay (no point is added, so caps and sides share their vertices
and the mesh is watertight as it stands); the sides are two triangles an edge. Lengths in inches; counter-clockwise from
outside.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely
from shapely.geometry import Polygon

from ...model.solid.kernel import Shape
from ...model.solid.part import Part

ROUND = 48  # sides of a round piece; its volume then falls 0.29 % short of the cylinder's


def rings(shape: Shape) -> list[np.ndarray]:
    """The outline and then each hole as (n, 2) local points; the outline counter-clockwise, the holes clockwise."""
    if shape.circle is not None:
        turn = np.linspace(0, 2 * np.pi, ROUND, endpoint=False)
        return [shape.circle * np.column_stack([np.cos(turn), np.sin(turn)])]
    found = [np.asarray(shape.outline, float), *(np.asarray(h, float) for h in shape.holes)]
    return [r if (_area(r) > 0) == (i == 0) else r[::-1] for i, r in enumerate(found)]


def triangles(shape: Shape) -> tuple[np.ndarray, np.ndarray]:
    """(vertices (2n, 3), faces (m, 3)) of the closed local mesh: the low ring's n points, then the high ring's.

    Raises ValueError where the caps' triangles do not add up to the outline's area.
    """
    loops = rings(shape)
    flat = np.vstack(loops)
    n = len(flat)
    cap = _cap(loops, flat)
    low = np.column_stack([flat, np.zeros(n)])
    sides = []
    start = 0
    for loop in loops:
        a = np.arange(start, start + len(loop))
        b = np.roll(a, -1)
        sides += [np.column_stack([a, b, b + n]), np.column_stack([a, b + n, a + n])]
        start += len(loop)
    return np.vstack([low, low + (0, 0, shape.thickness)]), np.vstack([cap[:, ::-1], cap + n, *sides])


def _cap(loops: list[np.ndarray], flat: np.ndarray) -> np.ndarray:
    """(m, 3) counter-clockwise triangles of the outline less its holes, as rows into `flat`."""
    if len(loops) == 1 and _convex(loops[0]):
        i = np.arange(1, len(flat) - 1)
        return np.column_stack([np.zeros_like(i), i, i + 1])
    polygon = Polygon(loops[0], loops[1:])
    pieces = shapely.get_parts(shapely.constrained_delaunay_triangles(polygon))
    corners = shapely.get_coordinates(pieces).reshape(-1, 4, 2)[:, :3]
    row = {tuple(p): i for i, p in enumerate(flat.tolist())}  # the library hands its input points back unchanged
    found = np.array([[row[tuple(p)] for p in t] for t in corners.tolist()], int).reshape(-1, 3)
    a, b, c = flat[found[:, 0]], flat[found[:, 1]], flat[found[:, 2]]
    signed = _cross(b - a, c - a) / 2
    if abs(np.abs(signed).sum() - polygon.area) > 1e-6 * max(1.0, polygon.area):
        raise ValueError(
            f"cap triangles cover {np.abs(signed).sum():.6f} of an outline of {polygon.area:.6f} square inches"
        )
    found[signed < 0] = found[signed < 0][:, ::-1]
    return found


def _convex(ring: np.ndarray) -> bool:
    step = np.roll(ring, -1, axis=0) - ring
    return bool((_cross(step, np.roll(step, -1, axis=0)) > 0).all())


def _cross(u: np.ndarray, v: np.ndarray) -> np.ndarray:
    return u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]


def _area(ring: np.ndarray) -> float:
    return float(_cross(ring, np.roll(ring, -1, axis=0)).sum()) / 2


def by_shape(parts: Iterable[Part]) -> dict[Shape, tuple[np.ndarray, np.ndarray]]:
    """Each distinct shape's triangles, in the order the parts first use it."""
    found: dict[Shape, tuple[np.ndarray, np.ndarray]] = {}
    for part in parts:
        if part.shape not in found:
            found[part.shape] = triangles(part.shape)
    return found
