"""What lies wholly behind one nearer face: such a face hides nothing that the nearer one does not, and such an edge is
hidden from end to end. Both are found before any edge is clipped, so that pieces in rows behind each other cost no more
than a few.

Faces are taken from the eye backwards, in lots that double in size. What survives a lot hides in the next ones, so a
row of a thousand like pieces is settled by its first. Lengths in inches, arrays as in `hidden`.
"""

from __future__ import annotations

import numpy as np
import shapely

MOST_SIDES = 8  # faces of more sides (the caps of round pieces) are neither dropped nor used to drop others
FIRST_LOT = 128
_SURELY = (
    1e-6  # inches: a face is dropped only if it lies this far behind the other all over, so that of two none drops both
)
_ROUNDING = 1e-9


def padded(rings: np.ndarray, sides: int) -> np.ndarray:
    """(f, k, ...) to (f, sides, ...), the last entry repeated."""
    return np.concatenate([rings, np.repeat(rings[:, -1:], sides - rings.shape[1], axis=1)], axis=1)


def dropped(rings: np.ndarray, walls: np.ndarray, depth: np.ndarray, grown: float) -> np.ndarray:
    """Which faces lie wholly behind another one of them. (f,) of bool.

    `rings` (f, k, 3) convex, `walls` (f, k, 3) and `depth` (f, 3) as `hidden` makes them, the walls `grown` outwards.
    All faces must count (lie wholly behind the section plane, where there is one).
    """
    low, high = rings.min(axis=1), rings.max(axis=1)
    middle = (low[:, :2] + high[:, :2]) / 2
    order = np.argsort(-high[:, 2], kind="stable")
    gone = np.zeros(len(rings), bool)
    live = np.zeros(0, int)
    start, size = 0, FIRST_LOT

    def look(these, at):
        """Mark those of `these` that lie behind one of the faces `at`."""
        if not len(these) or not len(at):
            return
        tree = shapely.STRtree(shapely.box(*low[at, :2].T, *high[at, :2].T))
        one, other = tree.query(shapely.points(middle[these]), predicate="intersects")
        one, other = these[one], at[other]
        fits = (high[other, 2] > low[one, 2]) & (
            (low[other, :2] <= low[one, :2] + grown) & (high[other, :2] >= high[one, :2] - grown)
        ).all(axis=1)
        one, other = one[fits], other[fits]
        gone[one[_behind(rings[one], walls[other], depth[other], _ROUNDING - grown, _SURELY)]] = True

    while start < len(order):
        lot = order[start : start + size]
        look(lot, live)
        left = lot[~gone[lot]]
        look(left, left)
        live = np.concatenate([live, left[~gone[left]]])
        start, size = start + size, 2 * size
    return gone


def wholly_hidden(
    a: np.ndarray, b: np.ndarray, rings: np.ndarray, walls: np.ndarray, depth: np.ndarray, behind: float
) -> np.ndarray:
    """Which edges a-b lie, from end to end, within one face's walls and at least `behind` behind it. (e,) of bool."""
    found = np.zeros(len(a), bool)
    if not len(a) or not len(rings):
        return found
    low, high = rings[..., :2].min(axis=1), rings[..., :2].max(axis=1)
    tree = shapely.STRtree(shapely.box(*low.T, *high.T))
    edge, face = tree.query(shapely.points((a[:, :2] + b[:, :2]) / 2), predicate="intersects")
    near = rings[face, :, 2].max(axis=1) > np.minimum(a[edge, 2], b[edge, 2]) + behind
    edge, face = edge[near], face[near]
    found[edge[_behind(np.stack([a[edge], b[edge]], axis=1), walls[face], depth[face], 0.0, behind)]] = True
    return found


def _behind(points, walls, depth, outside: float, deep: float) -> np.ndarray:
    """Pair by pair: are all points (n, k, 3) within the walls (n, w, 3), given `outside`, and at least `deep` behind
    the face?"""
    u, v, z = points[..., 0], points[..., 1], points[..., 2]
    inside = walls[:, None, :, 0] * u[..., None] + walls[:, None, :, 1] * v[..., None] - walls[:, None, :, 2] <= outside
    behind = depth[:, None, 0] * u + depth[:, None, 1] * v + depth[:, None, 2] - z >= deep
    return inside.all(axis=(1, 2)) & behind.all(axis=1)
