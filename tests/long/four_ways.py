"""A deck with stairs as drawn, in a mirror, turned by 30 degrees, and on a slope; and what neither judge may find."""

from __future__ import annotations

import copy
import itertools
import math
import os
from collections.abc import Iterable, Sequence

import decks

from plumbcut.model.deck import Deck

WAYS = ("as drawn", "in a mirror", "turned", "on a slope")
ALL = "PLUMBCUT_EVERY_WAY"  # set, every case is seen in all its ways: four times the time


def in_ways(names: Iterable[str], ways: Sequence[str] = WAYS) -> list[tuple[str, str]]:
    """Each case in one of its ways by turn; in all of them where the environment asks for it."""
    if os.environ.get(ALL):
        return list(itertools.product(names, ways))
    return [(name, ways[k % len(ways)]) for k, name in enumerate(names)]


def seen(points: list, edges: list[str], surface: float, stairs: list[dict], way: str) -> dict:
    """The parameter file of a deck whose last edge is its back and lies at the house; stairs that say where they begin
    lie in the mirror as far from their edge's other end."""
    c, s = math.cos(math.radians(30)), math.sin(math.radians(30))
    if way == "in a mirror":
        points, edges = [[-x, y] for x, y in reversed(points)], [*edges[-2::-1], edges[-1]]
        length = {e: math.dist(points[k], points[(k + 1) % len(points)]) for k, e in enumerate(edges)}
        for stair in stairs:
            if "at" in stair:
                stair["at"] = length[stair["edge"]] - stair["at"] - stair["width"]
    if way == "turned":
        points = [[x * c - y * s, x * s + y * c] for x, y in points]
    slope = 0.015 if way == "on a slope" else 0.0
    return {
        "outline": {"points": points, "edges": edges, "house": ["back"]},
        "levels": {"surface": surface, "slope_x": slope, "slope_y": slope},
        "frame": {"joist": "2x8"},
        "stair": stairs,
    }


def one_stair(case: tuple, way: str) -> dict:
    """The file of a case: (points and edges of the outline, level of the surface, the stair)."""
    (points, edges), surface, stair = copy.deepcopy(case)
    return seen(points, edges, surface, [stair], way)


def nothing_found(deck: Deck, file: dict) -> None:
    """Neither do the checks say a fault of the solids, nor does the tests' own judge find one."""
    said = decks.said(deck)
    unsaid, _ = decks.compared(said, decks.oracle(deck, file))
    assert not [f"{r.rule}: {r.why}" for r in said] and not unsaid
