"""The outline fitted to lengths measured between its corners: least squares, with the design's shape as a weak prior.

A survey by tape is a trilateration network. The house edge is the datum: its first corner and its direction stay where
the design has them. Where more is measured than needed the squares of the residuals are least; where less is, the shape
stays as near to the design as the measurements let it. Inches.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from ...shared.as_toml import down_to, up_to
from ...shared.errors import DesignError
from ...shared.units import feet_inches, inches
from ..plan.edges import OUT_OF_TRUE, Edge, FrameOutline, cross

# weight of an inch of departure from the design beside an inch of misfit: decides only what nothing measured does
PRIOR = 1e-4
CHECKED = 0.02  # redundancy below which a measurement is not checked by any other
ALIKE = 0.9  # measurements whose misfits are nearer to the greatest than this cannot be told apart


@dataclass(frozen=True)
class Distance:
    """A length measured between two corners (positions in the outline's edges: an edge starts at the corner of its
    number)."""

    key: str
    name: str
    first: int
    second: int
    length: float


@dataclass(frozen=True)
class Fit:
    """A measurement beside the fitted outline: `residual` = fitted - measured; `redundancy` is the share of it that
    other measurements check (0: nothing does, 1: fully)."""

    key: str
    name: str
    measured: float
    fitted: float
    redundancy: float

    @property
    def residual(self) -> float:
        return self.fitted - self.measured

    @property
    def checked(self) -> bool:
        return self.redundancy > CHECKED

    @property
    def misfit(self) -> float:
        """How badly it fits the others: the residual over the root of the redundancy, as surveyors test for blunders
        (Baarda's data snooping: v / sqrt(r), here in inches, all lengths being measured alike)."""
        return abs(self.residual) / math.sqrt(self.redundancy) if self.checked else 0.0

    @property
    def asked(self) -> float:
        """What the other measurements ask for instead, where they check it."""
        return self.measured + self.residual / self.redundancy if self.checked else self.measured


def fit_outline(
    outline: FrameOutline, distances: list[Distance], tolerance: float, prior: FrameOutline | None = None
) -> tuple[list[tuple[float, float]], list[Fit]]:
    """(corners, one Fit a measurement). Raises DesignError, naming measurements, for a set that no outline has."""
    from scipy.optimize import least_squares

    _refuse_triangles(distances, tolerance)
    design = np.array([e.start for e in (prior or outline).edges], float)
    n = len(design)
    datum = next((e.index for e in outline.edges if e.house), 0)
    other = (datum + 1) % n
    way = outline.edges[datum].direction
    free = [k for k in range(n) if k not in (datum, other)]
    column = {k: 1 + 2 * i for i, k in enumerate(free)}
    sides = np.roll(design, -1, axis=0) - design
    ends = np.array([(d.first, d.second) for d in distances], int).reshape(-1, 2)
    measured = np.array([d.length for d in distances])

    def corners(x: np.ndarray) -> np.ndarray:
        points = np.empty((n, 2))
        points[datum] = design[datum]
        points[other] = design[datum] + way * x[0]
        points[free] = x[1:].reshape(-1, 2)
        return points

    moves = np.zeros((n, 2, 2 * n - 3))  # how each corner moves with the unknowns
    moves[other, :, 0] = way
    for k, c in column.items():
        moves[k, 0, c] = moves[k, 1, c + 1] = 1.0

    def residuals(x: np.ndarray) -> np.ndarray:
        p = corners(x)
        lengths = np.hypot(*(p[ends[:, 1]] - p[ends[:, 0]]).T)
        shape = np.roll(p, -1, axis=0) - p - sides
        return np.concatenate([lengths - measured, PRIOR * shape.ravel()])

    def slopes(x: np.ndarray) -> np.ndarray:
        p = corners(x)
        step = p[ends[:, 1]] - p[ends[:, 0]]
        unit = step / np.hypot(*step.T)[:, None]
        tape = np.einsum("mk,mkx->mx", unit, moves[ends[:, 1]] - moves[ends[:, 0]])
        shape = (np.roll(moves, -1, axis=0) - moves).reshape(2 * n, -1)
        return np.vstack([tape, PRIOR * shape])

    start = np.concatenate([[float((design[other] - design[datum]) @ way)], design[free].ravel()])
    x = least_squares(residuals, start, slopes, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=2000).x
    p, j = corners(x), slopes(x)
    hat = np.einsum("ij,ji->i", j[: len(distances)], np.linalg.pinv(j)[:, : len(distances)])
    found = residuals(x)[: len(distances)]
    fits = [
        Fit(d.key, d.name, d.length, d.length + float(v), float(max(0.0, 1 - h)))
        for d, v, h in zip(distances, found, hat)
    ]
    _refuse_misfits(fits, design, distances, tolerance)
    points = [(float(a), float(b)) for a, b in p]
    _refuse_another_shape(outline, points, distances)
    return points, fits


def _refuse_triangles(distances: list[Distance], tolerance: float) -> None:
    by_ends: dict[frozenset, Distance] = {}
    for d in distances:
        by_ends.setdefault(frozenset((d.first, d.second)), d)
    corners = sorted({k for ends in by_ends for k in ends})
    for three in itertools.combinations(corners, 3):
        between = [frozenset(two) for two in itertools.combinations(three, 2)]
        if not all(ends in by_ends for ends in between):
            continue
        *short, long = sorted((by_ends[ends] for ends in between), key=lambda d: d.length)
        gap = long.length - sum(d.length for d in short)
        if gap > tolerance:
            raise DesignError(
                long.key,
                f"{long.name}, {feet_inches(long.length)}, is {feet_inches(gap)} longer than"
                f" {' and '.join(f'{d.name}, {feet_inches(d.length)},' for d in short)} together: no triangle has these"
                " sides; measure them again",
                (long.key, down_to(sum(d.length for d in short))),
            )


def _refuse_misfits(fits: list[Fit], design: np.ndarray, distances: list[Distance], tolerance: float) -> None:
    worst = max((f.misfit for f in fits), default=0.0)
    if worst <= tolerance:
        return
    alike = [(f, d) for f, d in zip(fits, distances) if f.misfit >= ALIKE * worst]
    # where the measurements alone cannot tell which is wrong, the one furthest from the design is named first
    alike.sort(key=lambda fd: -abs(fd[0].measured - math.dist(design[fd[1].first], design[fd[1].second])))
    first = alike[0][0]
    text = (
        f"{first.name}, {feet_inches(first.measured)}, does not fit the other measurements, which ask for"
        f" {feet_inches(first.asked)}"
    )
    if others := [f.name for f, _ in alike[1:]]:
        text += f"; it may as well be {', '.join(others[:6])}{' or others' if len(others) > 6 else ''} that is wrong"
    raise DesignError(
        first.key,
        f"{text}. The misfit of {inches(worst)} is over survey.tolerance, {inches(tolerance)}: measure again",
        ("survey.tolerance", up_to(worst)),
    )


def _refuse_another_shape(outline: FrameOutline, points: list[tuple[float, float]], distances: list[Distance]) -> None:
    """What stands must be the design out of true, not another deck."""
    ring = Polygon(points)
    if not ring.is_valid or not ring.exterior.is_ccw:
        raise DesignError("survey", "as measured, the outline crosses itself; measure again")
    for e in outline.edges:
        built = Edge(e.name, e.index, points[e.index], points[(e.index + 1) % len(points)], e.house)
        turned = math.degrees(math.atan2(cross(e.direction, built.direction), float(e.direction @ built.direction)))
        if abs(turned) > OUT_OF_TRUE:
            near = next(
                (d.key for d in distances if {d.first, d.second} & {e.index, (e.index + 1) % len(points)}), "survey"
            )
            raise DesignError(
                near,
                f"as measured, edge {e.name} is turned {abs(turned):.1f} degrees from the design; up to {OUT_OF_TRUE:g}"
                " is taken as built: measure again, or draw the outline as it stands",
            )
