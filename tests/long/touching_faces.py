"""Where solids touch, read off the triangles of `model.glb` alone: plane faces that lie against one another. Inches.

A face is all triangles of a piece in one plane; two faces touch where their planes are one, they look at each other and
their outlines overlap.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from read_back import Piece
from shapely.geometry.base import BaseGeometry

ONE_PLANE = 4e-3  # inches between planes that are one
NEAR = 5e-3  # inches between boxes of pieces that may touch
LEAST = 0.2  # square inches: less is an edge


@dataclass(frozen=True)
class PlaneFace:
    """One face: its unit normal outwards, its distance from the origin along it, and its outline in the plane."""

    normal: np.ndarray
    off: float
    outline: BaseGeometry
    axes: np.ndarray


@dataclass(frozen=True)
class Touch:
    """Piece `a` lies against piece `b`: the normal out of `a`, the area in square inches, and the middle of it."""

    a: str
    b: str
    normal: np.ndarray
    area: float
    middle: np.ndarray


def axes_of(normal: np.ndarray) -> np.ndarray:
    """(2, 3) axes of a plane, the same for both sides of it."""
    n = normal if tuple(np.round(normal, 3)) > (0, 0, 0) else -normal
    first = np.cross([0, 0, 1.0], n) if abs(n[2]) < 0.9 else np.cross([1.0, 0, 0], n)
    first /= np.linalg.norm(first)
    return np.array([first, np.cross(n, first)])


def plane_faces(p: Piece) -> list[PlaneFace]:
    """All plane faces of a piece."""
    groups: dict[tuple, list[int]] = {}
    for k, (n, t) in enumerate(zip(p.normals, p.triangles)):
        if np.linalg.norm(n) > 0.5:
            key = (*np.round(n, 3) + 0.0, round(float(n @ t[0]), 2))
            groups.setdefault(key, []).append(k)
    found = []
    for rows in groups.values():
        n = p.normals[rows].mean(axis=0)
        n /= np.linalg.norm(n)
        axes = axes_of(n)
        flat = p.triangles[rows] @ axes.T
        outline = shapely.union_all(shapely.polygons(flat).tolist(), grid_size=1e-5)
        found.append(PlaneFace(n, float(n @ p.triangles[rows[0]][0]), outline, axes))
    return found


def touches(pieces: Sequence[Piece]) -> Iterator[Touch]:
    """Every place where two of the pieces lie against each other, once from either side."""
    faces = [plane_faces(p) for p in pieces]
    low = np.array([p.box[0] for p in pieces])
    high = np.array([p.box[1] for p in pieces])
    for i in range(len(pieces)):
        apart = np.maximum(low[i + 1 :] - high[i], low[i] - high[i + 1 :]).max(axis=1)
        for j in (np.flatnonzero(apart < NEAR) + i + 1).tolist():
            for f in faces[i]:
                for g in faces[j]:
                    if f.normal @ g.normal > -0.9999 or abs(f.off + g.off) > ONE_PLANE:
                        continue
                    shared = f.outline.intersection(g.outline)
                    if shared.area < LEAST:
                        continue
                    n = f.normal
                    c = shared.centroid
                    middle = np.array([c.x, c.y]) @ f.axes + n * f.off
                    yield Touch(pieces[i].id, pieces[j].id, n, shared.area, middle)
                    yield Touch(pieces[j].id, pieces[i].id, -n, shared.area, middle)
