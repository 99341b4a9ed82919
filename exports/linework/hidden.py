"""Hidden lines by arithmetic: each edge is clipped against every nearer face, exactly, all pairs at once in numpy.

An edge and a convex planar face share one interval of the edge's parameter where the edge lies within the face's
silhouette (Cyrus and Beck's clip, 1978), and the depth between them is linear along it, so the hidden stretch has
closed ends. Coincident lines are then drawn once. Lengths in inches.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

import numpy as np
import shapely

from .nearer import MOST_SIDES, dropped, padded, wholly_hidden

BEHIND = 1e-4  # inches: an edge is hidden by a face only if it lies at least this far behind it, so touching faces show
SILHOUETTE = 1e-6  # inches: an edge exactly behind a face's rim counts as hidden, the rim's own line is drawn there
SHORTEST_LINE = 1e-4  # inches: lines shorter than this are left out
_CHUNK = 400_000  # pairs worked on at once, to bound memory
_FEW = 64  # faces that are clipped against without looking first which of them matter


def hidden_spans(a, b, faces: list[np.ndarray], nearest: float = np.inf):
    """Which stretches of the edges a-b lie behind the faces.

    `a`, `b`: (e, 3) in (u, v, depth). `faces`: arrays (f, k, 3) of convex rings of k corners. A face counts only where
    its own depth is at most `nearest` (a section plane: what lies before it is taken away). Returns (edge, t0, t1):
    disjoint spans, sorted.
    """
    same = [np.concatenate([r for r in faces if r.shape[1] == k]) for k in sorted({r.shape[1] for r in faces})]
    groups = [g for g in map(_CornerGroup.of, same) if len(g.rings)]
    if not len(a) or not groups:
        return np.zeros(0, int), np.zeros(0), np.zeros(0)
    groups, whole = _settled(a, b, groups, nearest)
    found = [(whole, np.zeros(len(whole)), np.ones(len(whole)))]
    left = np.setdiff1d(np.arange(len(a)), whole)
    low, high = np.minimum(a, b)[left], np.maximum(a, b)[left]
    tree = shapely.STRtree(shapely.box(*_grown(low, high)))
    for g in groups:
        fl, fh = g.rings.min(axis=1), g.rings.max(axis=1)
        face, edge = tree.query(shapely.box(*_grown(fl, fh)))
        near = (fh[face, 2] > low[edge, 2] + BEHIND) & (fl[face, 2] < nearest + BEHIND)
        face, edge = face[near], left[edge[near]]
        for chunk in range(0, len(face), _CHUNK):
            f, e = face[chunk : chunk + _CHUNK], edge[chunk : chunk + _CHUNK]
            t0, t1 = _clip(a[e], b[e], g.walls[f], g.depth[f], nearest)
            hit = t1 - t0 > 1e-12
            found.append((e[hit], t0[hit], t1[hit]))
    return _union(*(np.concatenate(x) for x in zip(*found)))


@dataclass
class _CornerGroup:
    """Faces of one number of corners: rings (f, k, 3), walls (f, k, 3), depth (f, 3)."""

    rings: np.ndarray
    walls: np.ndarray
    depth: np.ndarray

    @classmethod
    def of(cls, rings: np.ndarray) -> _CornerGroup:
        """The faces that are not seen on edge."""
        walls, depth, ok = _planes(rings)
        return cls(rings, walls, depth)._only(ok)

    def _only(self, keep: np.ndarray) -> _CornerGroup:
        return _CornerGroup(self.rings[keep], self.walls[keep], self.depth[keep])


def _settled(a, b, groups: list[_CornerGroup], nearest: float):
    """The groups without the faces that hide nothing more than a nearer one, and the edges wholly behind one face."""
    if sum(len(g.rings) for g in groups) < _FEW:
        return groups, np.zeros(0, int)
    counts = [(g.rings[..., 2] <= nearest + BEHIND).all(axis=1) & (g.rings.shape[1] <= MOST_SIDES) for g in groups]
    plain = [g._only(c) for g, c in zip(groups, counts)]
    sides = max((g.rings.shape[1] for g in plain if len(g.rings)), default=0)
    if not sides:
        return groups, np.zeros(0, int)
    rings, walls = (
        np.concatenate([padded(getattr(g, name), sides) for g in plain if len(g.rings)]) for name in ("rings", "walls")
    )
    depth = np.concatenate([g.depth for g in plain])
    gone = dropped(rings, walls, depth, SILHOUETTE)
    out, start = [], 0
    for g, c in zip(groups, counts):
        keep = ~c
        keep[c] = ~gone[start : start + c.sum()]
        start += c.sum()
        out.append(g._only(keep))
    return out, np.nonzero(wholly_hidden(a, b, rings[~gone], walls[~gone], depth[~gone], BEHIND))[0]


def _grown(low, high):
    g = 10 * SILHOUETTE
    return low[:, 0] - g, low[:, 1] - g, high[:, 0] + g, high[:, 1] + g


def _planes(rings: np.ndarray):
    """Walls (f, k, 3): a, b, c with a*u + b*v <= c inside, of counter-clockwise rings; depth (f, 3): p, q, r of p*u +
    q*v + r."""
    nxt = np.roll(rings, -1, axis=1)
    d = (nxt - rings)[:, :, :2]
    doubled = (rings[:, :, 0] * nxt[:, :, 1] - rings[:, :, 1] * nxt[:, :, 0]).sum(axis=1)
    length = np.hypot(d[..., 0], d[..., 1])
    safe = np.where(length > 1e-12, length, 1)
    sense = np.sign(doubled)[:, None]
    na, nb = d[..., 1] / safe * sense, -d[..., 0] / safe * sense
    walls = np.stack([na, nb, na * rings[..., 0] + nb * rings[..., 1] + SILHOUETTE], axis=-1)
    # Newell's normal of the ring in (u, v, depth): a well-conditioned plane for any convex ring
    n = np.cross(rings, nxt).sum(axis=1)
    ok = np.abs(doubled) > 1e-9
    nz = np.where(ok, n[:, 2], 1)
    centre = rings.mean(axis=1)
    p, q = -n[:, 0] / nz, -n[:, 1] / nz
    return walls, np.stack([p, q, centre[:, 2] - p * centre[:, 0] - q * centre[:, 1]], axis=-1), ok


def _clip(a, b, walls, depth, nearest):
    d = b - a
    t0, t1 = np.zeros(len(a)), np.ones(len(a))

    def keep(start, slope):
        """Keep the part of each edge where start + slope * t <= 0."""
        nonlocal t0, t1
        with np.errstate(divide="ignore", invalid="ignore"):
            t = -start / slope
        flat = np.abs(slope) < 1e-12
        t1 = np.where(~flat & (slope > 0), np.minimum(t1, t), t1)
        t0 = np.where(~flat & (slope < 0), np.maximum(t0, t), t0)
        t1 = np.where(flat & (start > 0), -1.0, t1)

    for k in range(walls.shape[1]):
        wa, wb, wc = walls[:, k, 0], walls[:, k, 1], walls[:, k, 2]
        keep(wa * a[:, 0] + wb * a[:, 1] - wc, wa * d[:, 0] + wb * d[:, 1])
    face0 = depth[:, 0] * a[:, 0] + depth[:, 1] * a[:, 1] + depth[:, 2]
    slope = depth[:, 0] * d[:, 0] + depth[:, 1] * d[:, 1]
    keep(a[:, 2] + BEHIND - face0, d[:, 2] - slope)
    if np.isfinite(nearest):
        keep(face0 - nearest - BEHIND, slope)
    return t0, t1


def _union(edge, t0, t1):
    """Overlapping spans of the same edge made one. Sorted by edge and t."""
    if not len(edge):
        return edge, t0, t1
    order = np.lexsort((t0, edge))
    edge, t0, t1 = edge[order], t0[order], t1[order]
    reach = np.maximum.accumulate(t1 + 2.0 * edge) - 2.0 * edge  # t stays within 0..1, so edges cannot mix
    first = np.ones(len(edge), bool)
    first[1:] = (edge[1:] != edge[:-1]) | (t0[1:] > reach[:-1] + 1e-9)
    starts = np.nonzero(first)[0]
    ends = np.append(starts[1:], len(edge)) - 1
    return edge[starts], t0[starts], reach[ends]


def divide(a, b, spans) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Edges divided into visible and hidden stretches: (edge, t0, t1, is_hidden)."""
    edge, t0, t1 = spans
    n = len(a)
    every = np.arange(n)
    # visible stretches start at 0 and after each hidden span, and end where the next span begins or at 1
    e = np.concatenate([every, edge])
    begin = np.concatenate([np.zeros(n), t1])
    order = np.lexsort((begin, e))
    e, begin = e[order], begin[order]
    f = np.concatenate([edge, every])
    end = np.concatenate([t0, np.ones(n)])
    order = np.lexsort((end, f))
    end = end[order]
    e_all, s, t = np.concatenate([e, edge]), np.concatenate([begin, t0]), np.concatenate([end, t1])
    is_hidden = np.concatenate([np.zeros(len(e), bool), np.ones(len(edge), bool)])
    length = np.hypot(*(b - a)[:, :2].T)
    keep = (t - s) * length[e_all] > SHORTEST_LINE
    return e_all[keep], s[keep], t[keep], is_hidden[keep]


def once(a: np.ndarray, b: np.ndarray, rank: np.ndarray, near: np.ndarray):
    """Coincident and overlapping lines drawn once.

    `a`, `b`: (n, 2). Where lines overlap, the lowest `rank` keeps the stretch, then the nearest. Returns (source, p,
    q): the index of the line each remaining stretch comes from, and its ends.
    """
    if not len(a):
        return np.zeros(0, int), a, b
    d = b - a
    length = np.hypot(d[:, 0], d[:, 1])
    flip = (d[:, 0] < -1e-9 * length) | ((np.abs(d[:, 0]) <= 1e-9 * length) & (d[:, 1] < 0))
    d = np.where(flip[:, None], -d, d) / length[:, None]
    angle = np.arctan2(d[:, 1], d[:, 0])
    angle = np.where(angle <= -np.pi / 2 + 1e-7, angle + np.pi, angle)
    angle_group = _groups(angle, 1e-6)
    mean = np.zeros(angle_group.max() + 1)
    np.add.at(mean, angle_group, angle)
    mean /= np.bincount(angle_group)
    ux, uy = np.cos(mean[angle_group]), np.sin(mean[angle_group])
    offset = -a[:, 0] * uy + a[:, 1] * ux
    s0, s1 = a[:, 0] * ux + a[:, 1] * uy, b[:, 0] * ux + b[:, 1] * uy
    lo, hi = np.minimum(s0, s1), np.maximum(s0, s1)
    order = np.lexsort((offset, angle_group))
    jump = np.ones(len(a), bool)
    jump[1:] = (np.diff(angle_group[order]) != 0) | (np.diff(offset[order]) > 2 * SHORTEST_LINE)
    line = np.empty(len(a), int)
    line[order] = np.cumsum(jump)
    order = np.lexsort((lo, -near, rank, line))
    source, begin, end = [], [], []
    current, starts, ends = None, [], []  # what is drawn of the present line: disjoint stretches in order
    for i in order.tolist():
        if line[i] != current:
            current, starts, ends = line[i], [], []
        at, reach = float(lo[i]), float(hi[i])
        first = j = bisect_right(ends, at)
        while True:
            stop = min(starts[j], reach) if j < len(starts) else reach
            if stop - at > SHORTEST_LINE:
                source.append(i)
                begin.append(at)
                end.append(stop)
            if j == len(starts) or starts[j] >= reach:
                break
            at = max(at, ends[j])
            j += 1
            if at >= reach:
                break
        low = min(starts[first], float(lo[i])) if j > first else float(lo[i])
        high = max(ends[j - 1], reach) if j > first else reach
        starts[first:j], ends[first:j] = [low], [high]
    source = np.asarray(source, int)
    along = np.column_stack([ux, uy])[source]
    base = a[source] - along * s0[source][:, None]
    p = base + along * np.asarray(begin)[:, None]
    q = base + along * np.asarray(end)[:, None]
    # an end that was not trimmed keeps its own coordinates, free of rounding
    first, last = np.where((s0 <= s1)[:, None], a, b), np.where((s0 <= s1)[:, None], b, a)
    p = np.where((np.asarray(begin) == lo[source])[:, None], first[source], p)
    q = np.where((np.asarray(end) == hi[source])[:, None], last[source], q)
    return source, p, q


def _groups(values: np.ndarray, gap: float) -> np.ndarray:
    order = np.argsort(values, kind="stable")
    new = np.zeros(len(values), int)
    new[1:] = np.diff(values[order]) > gap
    group = np.empty(len(values), int)
    group[order] = np.cumsum(new)
    return group
