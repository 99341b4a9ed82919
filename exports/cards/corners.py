"""The frame's corners as they are built: lettered along the outline, placed where the solids' outer faces end."""

from __future__ import annotations

import math
from itertools import combinations
from string import ascii_uppercase

import shapely
from shapely.geometry import LineString

from ..drafting import drawing as d
from ..sheets.stage import Stage

CORNER_WITHIN = 0.6  # inches from an outline corner within which the frame's own corner is looked for
MOST_DIAGONALS = 10  # diagonals on one card; the longest are kept


def corners(stage: Stage) -> dict[str, d.Point]:
    """Letter and plan point of every corner of the frame, read off the outer ring of its ledgers, rims and joists."""
    return stage.once("corners", lambda: _corners(stage))


def _corners(stage: Stage) -> dict[str, d.Point]:
    solids = [p.footprint.buffer(0.02, join_style="mitre") for p in stage.deck_of("ledger", "rim")]
    ring = (
        shapely.get_coordinates(shapely.union_all([p.footprint for p in stage.deck_of("ledger", "rim", "joist")]))
        if solids
        else []
    )
    out = {}
    for letter, edge in zip(ascii_uppercase, stage.edges):
        corner = tuple(map(float, edge.start))
        own = min(ring, key=lambda q: math.dist(q, corner), default=None) if len(ring) else None
        out[letter] = (
            (float(own[0]), float(own[1])) if own is not None and math.dist(own, corner) < CORNER_WITHIN else corner
        )
    return out


def corner_at(stage: Stage, point, near: float = 3.0) -> str:
    """The letter of the corner within `near` inches of a plan point, or empty."""
    found = corners(stage)
    letter = min(found, key=lambda k: math.dist(found[k], point[:2]))
    return letter if math.dist(found[letter], point[:2]) < near else ""


def diagonals(stage: Stage) -> list[tuple[str, str, float]]:
    """Pairs of corners that are no neighbours and see each other across the frame, with the distance between them.

    Two for four corners; for more the longest `MOST_DIAGONALS`, each corner on at least one where it has one.
    """
    found, names = corners(stage), list(corners(stage))
    whole = stage.deck.layout.outline.polygon.buffer(0.7, join_style="mitre")
    pairs = []
    for i, j in combinations(range(len(names)), 2):
        if j - i in (1, len(names) - 1):
            continue
        a, b = found[names[i]], found[names[j]]
        if whole.covers(LineString([a, b])):
            pairs.append((names[i], names[j], math.dist(a, b)))
    pairs.sort(key=lambda p: -p[2])
    kept = pairs[:MOST_DIAGONALS]
    for name in names:
        if not any(name in p[:2] for p in kept):
            kept += [p for p in pairs if name in p[:2]][:1]
    return sorted(kept)
