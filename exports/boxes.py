"""Arithmetic on many boxes and segments at once. A box is left, bottom, right, top; a segment x0, y0, x1, y1."""
from __future__ import annotations

import numpy as np


def box_hits(boxes: np.ndarray, others: np.ndarray) -> np.ndarray:
    """(n, 4), (m, 4) -> (n, m): whether boxes overlap with more than an edge in common."""
    a, b = boxes[:, None, :], others[None, :, :]
    return (a[..., 0] < b[..., 2]) & (b[..., 0] < a[..., 2]) & (a[..., 1] < b[..., 3]) & (b[..., 1] < a[..., 3])


def segment_box_hits(segments: np.ndarray, boxes: np.ndarray) -> np.ndarray:
    """(n, 4), (m, 4) -> (n, m): whether a segment enters a box (clipping its parameter by each pair of sides)."""
    start, run = segments[:, None, :2], (segments[:, 2:] - segments[:, :2])[:, None, :]
    flat = np.abs(run) < 1e-12
    run = np.where(flat, 1e-12, run)
    near, far = (boxes[None, :, :2] - start) / run, (boxes[None, :, 2:] - start) / run
    enter, leave = np.minimum(near, far).max(-1), np.maximum(near, far).min(-1)
    return (np.maximum(enter, 0) < np.minimum(leave, 1))


def segment_hits(segments: np.ndarray, others: np.ndarray) -> np.ndarray:
    """(n, 4), (m, 4) -> (n, m): whether segments cross."""
    p, q = segments[:, None, :2], segments[:, None, 2:]
    a, b = others[None, :, :2], others[None, :, 2:]

    def side(o, d, x):
        return np.sign((d[..., 0] - o[..., 0]) * (x[..., 1] - o[..., 1]) - (d[..., 1] - o[..., 1]) * (x[..., 0] - o[..., 0]))

    return (side(p, q, a) * side(p, q, b) < 0) & (side(a, b, p) * side(a, b, q) < 0)
