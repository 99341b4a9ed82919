"""Arithmetic on many boxes and segments at once. A box is left, bottom, right, top; a segment x0, y0, x1, y1."""

from __future__ import annotations

import numpy as np

_ALL_BUT = np.array([-1e-6, -1e-6, 1e-6, 1e-6])


def box_hits(boxes: np.ndarray, others: np.ndarray) -> np.ndarray:
    """(n, 4), (m, 4) -> (n, m): whether boxes overlap with more than an edge in common."""
    a, b = boxes[:, None, :], others[None, :, :]
    return (a[..., 0] < b[..., 2]) & (b[..., 0] < a[..., 2]) & (a[..., 1] < b[..., 3]) & (b[..., 1] < a[..., 3])


def segment_box_hits(segments: np.ndarray, boxes: np.ndarray) -> np.ndarray:
    """(n, 4), (m, 4) -> (n, m): whether a segment enters a box (clipping its parameter by each pair of sides)."""
    return enters(segments[:, None], boxes[None])


def enters(segments: np.ndarray, boxes: np.ndarray) -> np.ndarray:
    """(..., 4), (..., 4) -> (...): the same, one with one."""
    enter, leave = 0.0, 1.0
    for axis in (0, 1):
        start, run = segments[..., axis], segments[..., axis + 2] - segments[..., axis]
        run = np.where(np.abs(run) < 1e-12, 1e-12, run)
        near, far = (boxes[..., axis] - start) / run, (boxes[..., axis + 2] - start) / run
        enter, leave = np.maximum(enter, np.minimum(near, far)), np.minimum(leave, np.maximum(near, far))
    return enter < leave


def segment_boxes(segments: np.ndarray) -> np.ndarray:
    """(n, 4) -> (n, 4): the box of each segment."""
    return np.hstack([np.minimum(segments[:, :2], segments[:, 2:]), np.maximum(segments[:, :2], segments[:, 2:])])


def segment_hits(segments: np.ndarray, others: np.ndarray) -> np.ndarray:
    """(n, 4), (m, 4) -> (n, m): whether segments cross."""
    return cross(segments[:, None], others[None])


def cross(segments: np.ndarray, others: np.ndarray) -> np.ndarray:
    """(..., 4), (..., 4) -> (...): the same, one with one."""
    px, py, qx, qy = (segments[..., n] for n in range(4))
    ax, ay, bx, by = (others[..., n] for n in range(4))
    ux, uy, vx, vy = qx - px, qy - py, bx - ax, by - ay
    first = (ux * (ay - py) - uy * (ax - px)) * (ux * (by - py) - uy * (bx - px))
    return (first < 0) & ((vx * (py - ay) - vy * (px - ax)) * (vx * (qy - ay) - vy * (qx - ax)) < 0)


def pairs_near(boxes: np.ndarray, others: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(n, 4), (m, 4) -> (k,), (k,): the pairs of boxes that overlap or all but touch."""
    grown = boxes + _ALL_BUT
    if not len(grown) or not len(others):
        return np.empty(0, np.int64), np.empty(0, np.int64)
    # places of one item lie together: what is far from them all is not measured against each
    near = np.nonzero(box_hits(np.array([[*grown[:, :2].min(0), *grown[:, 2:].max(0)]]), others)[0])[0]
    first, second = np.nonzero(box_hits(grown, others[near]))
    return first, near[second]
