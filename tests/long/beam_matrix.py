"""A straight beam by the stiffness method (handbook: two-node elements of four degrees of freedom), of E I = 1. Inches.

Positive: down, sagging. The one solver of `second_path`; nothing of the program's own.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import splu

STEP = 2.0  # inches: longest element
SHORT = 0.02  # inches: loads nearer to a node than this stand on it


@dataclass(frozen=True)
class Spread:
    """A load of `much` in all, spread evenly from `start` to `end`; at one place where these are equal."""

    start: float
    end: float
    much: float


@dataclass
class Answer:
    """What a beam gives: (n,) reactions up, shear right and left of every node, moment and deflection there."""

    reactions: np.ndarray
    right: np.ndarray
    left: np.ndarray
    moment: np.ndarray
    down: np.ndarray


class StiffBeam:
    """A beam over `supports`, hinged at those of `hinges`, from the least to the greatest of all places given."""

    def __init__(self, places: Sequence[float], supports: Sequence[float], hinges: Sequence[float] = ()):
        keep = {round(x, 6) for x in (*supports, min(*places, *supports), max(*places, *supports))}
        marks = sorted(keep)
        for x in sorted({round(x, 6) for x in places} - keep):  # shorter elements are worth nothing but rounding
            k = int(np.searchsorted(marks, x))
            if x - marks[k - 1] > SHORT and marks[k] - x > SHORT:
                marks.insert(k, x)
        nodes = [marks[0]]
        for a, b in itertools.pairwise(marks):
            nodes += list(np.linspace(a, b, max(1, int(np.ceil((b - a) / STEP))) + 1)[1:])
        self.x = np.array(nodes)
        self.supports = [round(s, 6) for s in supports]
        self.at = [int(np.argmin(abs(self.x - s))) for s in self.supports]
        n = len(self.x)
        turn_left = np.arange(n) + n  # degrees of freedom: n deflections, then the turning left and right of each node
        turn_right = turn_left.copy()
        free = 2 * n
        for h in hinges:
            turn_right[int(np.argmin(abs(self.x - h)))] = free
            free += 1
        self.dof = np.stack([np.arange(n - 1), turn_right[:-1], np.arange(1, n), turn_left[1:]], axis=1)
        self.h = np.diff(self.x)
        h = self.h
        one = np.ones_like(h)
        self.k = (
            np.array(
                [
                    [12 * one, 6 * h, -12 * one, 6 * h],
                    [6 * h, 4 * h**2, -6 * h, 2 * h**2],
                    [-12 * one, -6 * h, 12 * one, -6 * h],
                    [6 * h, 2 * h**2, -6 * h, 4 * h**2],
                ]
            ).transpose(2, 0, 1)
            / (h**3)[:, None, None]
        )
        rows, columns = np.repeat(self.dof, 4, axis=1).ravel(), np.tile(self.dof, (1, 4)).ravel()
        whole = csc_matrix((self.k.ravel(), (rows, columns)), shape=(free, free))
        # a hinge at the very end of a length leaves a turning that nothing takes
        self.free = np.setdiff1d(np.unique(self.dof), self.at)
        self.solved = splu(whole[self.free][:, self.free].tocsc())
        self.size = free

    def solve(self, loads: Sequence[Spread]) -> Answer:
        """The answer to loads; each must lie within the beam, and those at one place on a node."""
        w = np.zeros(len(self.h))
        at_node = np.zeros(len(self.x))
        for load in loads:
            if load.end - load.start < 1e-6:
                at_node[int(np.argmin(abs(self.x - load.start)))] += load.much
                continue
            inside = np.minimum(load.end, self.x[1:]) - np.maximum(load.start, self.x[:-1])
            w += np.maximum(inside, 0) / self.h * load.much / (load.end - load.start)
        h = self.h
        fixed = np.stack([w * h / 2, w * h**2 / 12, w * h / 2, -w * h**2 / 12], axis=1)  # down, as the deflections
        force = np.zeros(self.size)
        np.add.at(force, self.dof.ravel(), fixed.ravel())
        force[: len(self.x)] += at_node
        d = np.zeros(self.size)
        d[self.free] = self.solved.solve(force[self.free])
        ends = np.einsum("eij,ej->ei", self.k, d[self.dof]) - fixed  # what holds each element's ends, down
        out = np.zeros(self.size)
        np.add.at(out, self.dof.ravel(), ends.ravel())
        reactions = np.array([at_node[k] - out[k] for k in self.at])
        n = len(self.x)
        right, left, moment = np.zeros(n), np.zeros(n), np.zeros(n)
        right[:-1], left[1:] = -ends[:, 0], ends[:, 2]
        moment[:-1] = ends[:, 1]
        moment[-1] = -ends[-1, 3]
        for k, hinged in enumerate(self.dof[1:, 1] != self.dof[:-1, 3]):
            if hinged:
                moment[k + 1] = 0.0
        return Answer(reactions, right, left, moment, d[:n])
