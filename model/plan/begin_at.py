"""From which ends of a deck its frame and boards are set out: by its own shape, so that the same deck moved, turned or
in a mirror has the same pieces."""

from __future__ import annotations

import itertools

import numpy as np

from ..input.parameters import Parameters
from .edges import FrameOutline
from .spots import Planes

_STEP, _ASIDE = 1e-3, 3.7e-4  # inches: what differs by less is equal; a place on no fraction of an inch in use


def ends_to_begin_at(
    outline: FrameOutline, p: Parameters, planes: Planes, along: np.ndarray, across: np.ndarray
) -> tuple[int, int]:
    """(across, along): 1 where things are set out from the low end along that plan unit vector, -1 from the high one.

    Of the four pairs of ends it is the one nearest to the deck's middle, opposite the house; where that leaves a
    choice, the one from which the corners, the house, the stairs and the ground, listed by their distance, come first
    (our own; a carpenter may begin at any). A deck that looks the same from both ends begins at the low end of the
    plan.
    """
    features = _features(outline, p, planes)
    places = np.array([[x, y] for x, y, _ in features])
    kinds = [rest for _, _, rest in features]
    middle = np.array(outline.polygon.centroid.coords[0])
    house = sum((-e.inward * e.length for e in outline.edges if e.house), np.zeros(2))

    def seen(signs: tuple[int, int]) -> tuple:
        a, b = across * signs[0], along * signs[1]
        low = np.array([(places[: len(outline.edges)] @ way).min() for way in (a, b)])  # the corners stand first
        rows = in_steps(np.column_stack([places @ a, places @ b]) - low).tolist()
        first = in_steps(np.array([-float(house @ b), float(middle @ a) - low[0], float(middle @ b) - low[1]])).tolist()
        return first, sorted((*row, *kind) for row, kind in zip(rows, kinds))

    return min(itertools.product((1, -1), (1, -1)), key=seen)  # of equal ones the first


def in_steps(lengths: float | np.ndarray) -> np.ndarray:
    """Lengths as whole numbers, in which rounding shows nowhere."""
    return np.floor((np.asarray(lengths) + _ASIDE) / _STEP).astype(int)


def _features(outline: FrameOutline, p: Parameters, planes: Planes) -> list[tuple[float, float, tuple[int, ...]]]:
    """(x, y, what it is) of what tells one end of a deck from the other: its corners first."""

    def level(x: float, y: float) -> int:
        return int(in_steps(planes.grade(x, y)))

    found: list[tuple[float, float, tuple[int, ...]]] = [(*e.start, (0, level(*e.start))) for e in outline.edges]
    found += [(*e.point(e.length / 2), (1, int(e.house))) for e in outline.edges]
    for stair in p.stair:
        if stair.edge not in outline:
            continue  # refused where the stairs are planned
        edge = outline[stair.edge]
        middle = edge.length / 2 if stair.at is None else stair.at + stair.width / 2
        found.append((*edge.point(middle), (2, round(stair.width))))
        for k, landing in enumerate(stair.landings):
            left = {"left": 1, "right": -1}.get(landing.turn, 0)
            found.append((*edge.point(middle + left, -k), (3, k)))
    return found
