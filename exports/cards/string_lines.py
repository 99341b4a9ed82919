"""String lines over the footings, the batter boards that hold them, and the diagonals that square them."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
from shapely.geometry import MultiPoint

from ...shared.practice import practice
from ..sheets import in_plan
from ..sheets.datum import datum_told, place_text
from ..sheets.stage import Stage
from .pages import PLAIN, Pages
from .setting_out import beam_name

MOST_TOLD = 6  # diagonals between footings on a card; the longest are kept
ON_STRING = 1.0  # inches off a beam's centre line within which a footing stands under its string


def build(stage: Stage) -> None:
    strings = string_rows(stage)
    if not strings:
        return
    pages = Pages(stage, 180, "STRING LINES")
    past = practice("batter board past a footing")
    pages.text(
        f"BATTER BOARDS {stage.text(past)} PAST THE OUTER FOOTINGS OF EACH STRING. X AND Y FROM O, THE"
        f" {datum_told(stage)}: X TO THE RIGHT, Y AWAY FROM IT DOWN THE PLAN, A MINUS THE OTHER WAY. PLUMB DOWN FROM"
        " THE STRINGS TO THE MIDDLE OF EACH HOLE; TAKE THEM OFF TO DIG AND PUT THEM BACK ON THEIR MARKS.",
        PLAIN,
    )
    pages.table(
        "STRINGS",
        ["OVER", "FROM X, Y", "TO X, Y", "FOOTINGS, MIDDLE FROM THE FIRST BOARD"],
        strings,
        [1.3, 2.2, 2.2, 4.2],
        "llll",
        PLAIN,
    )
    squares = footing_diagonals(stage)
    if squares:
        pages.table(
            "DIAGONALS BETWEEN FOOTINGS, MIDDLE TO MIDDLE",
            ["FROM", "TO", "LENGTH"],
            [[a, b, stage.text(v)] for a, b, v in squares],
            [1.0, 1.0, 1.5],
            "llr",
            PLAIN,
        )


def string_rows(stage: Stage) -> list[list[str]]:
    """A row a string: what it runs over, its two ends at the batter boards, the footings under it along it."""
    rows, past = [], practice("batter board past a footing")
    footings = [(f, np.array(in_plan.centre(f))) for f in stage.of("footing")]
    for line in stage.beams:
        start, way = np.asarray(line.point(line.along[0])), np.asarray(line.axis)
        under = [
            (float((c - start) @ way), f)
            for f, c in footings
            if abs(float((c - start) @ np.array([-way[1], way[0]]))) < ON_STRING
            and -past < (c - start) @ way < line.along[1] - line.along[0] + past
        ]
        if len(under) < 2:
            continue
        under.sort(key=lambda u: u[0])
        low, high = under[0][0] - past, under[-1][0] + past
        places = [", ".join(place_text(stage, start + way * s)) for s in (low, high)]
        told = ", ".join(f"{f.id} {stage.text(s - low)}" for s, f in under)
        rows.append([beam_name(stage, line), *places, told])
    return rows


def footing_diagonals(stage: Stage) -> list[tuple[str, str, float]]:
    """Pairs of the outer footings that are no neighbours, with what lies between their middles: the longest of them.
    None for fewer than four, which no diagonal squares."""
    at = {f.id: in_plan.centre(f) for f in stage.of("footing")}
    hull = MultiPoint(list(at.values())).convex_hull
    if hull.geom_type != "Polygon":
        return []
    ring = [min(at, key=lambda k: math.dist(at[k], p)) for p in list(hull.exterior.coords)[:-1]]
    pairs = [(i, j) for i, j in combinations(range(len(ring)), 2) if j - i not in (1, len(ring) - 1)]
    found = [(ring[i], ring[j], math.dist(at[ring[i]], at[ring[j]])) for i, j in pairs]
    return sorted(found, key=lambda f: -f[2])[:MOST_TOLD]
