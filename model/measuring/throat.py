"""The throat of a cut stringer: the least wood behind its notches, square to its lower edge, off its solid. Inches."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from ...shared.points import triple
from ..solid.part import Part
from .saw import sizes_of


@dataclass(frozen=True)
class Throat:
    """`width` from the deepest inner corner to the lower edge; `inner` and `foot` are the world points (3,) of that
    corner and of the perpendicular's foot. Of corners equally deep, the middle one. `over_edge`: whether a corner
    stands over the lower edge at all; of a short jack none does, and `width` is the least wood square to the pitch
    between a corner and the plumb or the level cut."""

    width: float
    inner: tuple[float, float, float]
    foot: tuple[float, float, float]
    over_edge: bool


_ALIKE = 0.01  # inches: notches this alike are equally deep
_SLOPING = 0.05  # rise in a unit of length above which an edge is not level; it is plumb within the same angle
_TURN = 1e-6  # square inches: less is no corner


def throat(part: Part) -> Throat | None:
    """The throat of a stringer, or None where its outline has no inner corner (a solid stringer).

    Only corners that stand over the lower edge count, the longest edge that is neither plumb nor level: beyond its
    ends the wood is bounded by the plumb and the level cut, which alone bound that of a short jack.
    """
    size = sizes_of(part)
    ring = np.asarray(size.outline, float)
    step, before = np.roll(ring, -1, axis=0) - ring, ring - np.roll(ring, 1, axis=0)
    inner = ring[before[:, 0] * step[:, 1] - before[:, 1] * step[:, 0] < -_TURN]
    if not len(inner):
        return None
    lengths = np.hypot(*step.T)
    rise = np.abs(np.diff(_world(part, np.vstack([ring, ring[:1]]))[:, 2])) / lengths
    sloping = (rise > _SLOPING) & (rise < 1 - _SLOPING**2)
    k = int(np.where(sloping, lengths, 0.0).argmax())
    start, along = ring[k], step[k] / lengths[k] if sloping[k] else np.array([1.0, 0.0])  # else as it lies on the saw
    normal, at = np.array([-along[1], along[0]]), (inner - start) @ along
    over = sloping[k] & (at > -_ALIKE) & (at < lengths[k] + _ALIKE)
    over_edge = bool(over.any())
    if over_edge:
        far, feet = np.abs((inner - start) @ normal), start + np.outer(at, along)
    else:
        feet = np.array([_through(ring, corner, normal) for corner in inner])
        far, over = np.hypot(*(feet - inner).T), np.ones(len(inner), bool)
    least = sorted(np.flatnonzero(over & (far < far[over].min() + _ALIKE)), key=lambda i: tuple(inner[i]))
    chosen = least[len(least) // 2]
    ends = _world(part, np.array([inner[chosen], feet[chosen]]))
    return Throat(float(far[over].min()), triple(ends[0]), triple(ends[1]), over_edge)


def _through(ring: np.ndarray, corner: np.ndarray, normal: np.ndarray) -> np.ndarray:
    """Where a line from an inner corner along `normal`, the way that lies in the wood, comes out of the outline."""
    wood, (low, high) = shapely.Polygon(ring), (ring.min(axis=0), ring.max(axis=0))
    reach = normal * math.dist(low, high)
    ways = (shapely.LineString([corner, corner + way]).intersection(wood) for way in (reach, -reach))
    inside = [g for way in ways for g in shapely.get_parts(way) if g.distance(shapely.Point(corner)) < _ALIKE]
    ends = [np.asarray(q) for g in inside for q in g.coords]
    return max(ends, key=lambda q: math.dist(q, corner))


def _world(part: Part, flat: np.ndarray) -> np.ndarray:
    """World points of outline points, on the side that the saw box starts from."""
    size, m = sizes_of(part), part.place.matrix
    other = 1 if size.profile == "face" else 2
    saw = np.zeros((len(flat), 3))
    saw[:, 0], saw[:, other] = flat[:, 0], flat[:, 1]
    local = (saw + size.origin) @ size.axes
    return local @ m[:3, :3].T + m[:3, 3]
