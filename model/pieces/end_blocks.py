"""Blocks under ends of boards that rest on too little: one more, beside whatever carries the end.

Strips of blocking carry the ends along every edge; beside guard posts, stairs and corners, and where an edge runs
nearly along the joists, parts of them find no hold or no room. What each end then lies on is worked out from the
finished plan of the frame, and a block is put across the joists or along the end (common practice, no source). Lengths
in inches.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..plan.board_shapes import local
from ..plan.edges import FAR
from ..plan.joint_seats import CLEAT_PAST
from ..plan.joist_plan import FACES_MEET
from ..plan.stages import LevelPlan
from ..solid.board_ends import (
    LEAST_BEARING,
    STANDS_OUT,
    ZONE,
    EndFace,
    bears,
    between_outer,
    end_faces,
    on_both_halves,
    swept,
)
from ..solid.union import united
from .claims import Claim, Claims, is_block, length_along
from .surface import border_outlines, breaker_outlines

Bears = Callable[[Polygon, list[EndFace], Any], bool]
HALF_ZONE = 0.75 * ZONE  # inches: what bears more of an end in the mean bears both halves of its width
STEP_IN = 0.5  # between the places tried from the end inwards (our own)
MOST_BLOCKS = 3  # under one end (our own)
LEAST_GAIN = 0.5  # square inches of bearing: a block that adds less is none for this end (our own)
SURE = 1e-3  # square inches or inches beyond a bound: nearer to it the end is looked at by itself (our own)
LEAST_ALONGSIDE = 0.9  # of a cleat's length that lies against its joist (our own)
LEAST_SINE = 0.2  # between a block and the joists that hold it: more along them it would be a sliver (our own)


def carry_loose_ends(layout: LevelPlan, claims: Claims) -> None:
    """Claims blocks for every end of a board that lies on too little, where some can be held: first of the field, then
    of the border and of breakers, which mitres, notches and what stands in the line of their own strips leave there."""
    field = layout.field
    _carry_ends(layout, claims, field.x, field.y, [b.outline for b in field.boards])
    for _, _, x, y, outlines in border_outlines(layout):
        _carry_ends(layout, claims, x, y, outlines, on_both_halves)
    for _, x, y, outlines in breaker_outlines(layout):
        _carry_ends(layout, claims, x, y, outlines)


def _carry_ends(
    layout: LevelPlan, claims: Claims, x: np.ndarray, y: np.ndarray, outlines: list[Polygon], enough: Bears = bears
) -> None:
    """The same for boards along one axis `x`, by their outlines along it and `y`; `enough` says what bears."""
    back = np.array([x, y]).T  # plan axes from the boards' own
    ends = [(outline, faces) for outline in outlines for faces in end_faces(outline).values() if faces]

    def out(end: tuple[Polygon, list[EndFace]]) -> tuple[int, int]:
        return layout.distance_out(back @ np.mean([np.add(a, b) / 2 for a, b, _ in end[1]], axis=0))

    least = LEAST_BEARING if enough is bears else HALF_ZONE
    doubtful = [end for end, sure in zip(ends, _surely_borne(claims, ends, back, least)) if not sure]
    for outline, faces in sorted(doubtful, key=out):
        _carry(layout, claims, outline, faces, back, enough)


def _surely_borne(
    claims: Claims, ends: list[tuple[Polygon, list[EndFace]]], back: np.ndarray, least: float
) -> np.ndarray:
    """Which ends bear by claimed members alone, `least` inches in the mean, one flag an end: all at once, since nearly
    all of a large deck's do. Claims share no area, so what an end lies on is the sum of what it shares with each."""
    if not ends or not claims.members:
        return np.zeros(len(ends), bool)

    def turned(shapes: np.ndarray) -> np.ndarray:
        return shapely.transform(shapes, lambda p: p @ back.T)

    last = shapely.intersection([o for o, _ in ends], [swept(faces) for _, faces in ends])
    zones = turned(last)
    middles = turned(shapely.intersection(last, [between_outer(faces, np.array([1.0, 0.0])) for _, faces in ends]))
    tips = turned(np.array([shapely.multilinestrings([[a, b] for a, b, _ in faces]) for _, faces in ends]))
    members = np.array([m.polygon for m in claims.members])
    end, member = shapely.STRtree(members).query(zones, predicate="intersects")
    borne = shapely.intersection(zones[end], members[member])
    area = np.bincount(end, shapely.area(borne), len(ends))
    out = np.full(len(ends), np.inf)
    within = shapely.intersection(middles[end], members[member])
    np.minimum.at(out, end, np.where(shapely.area(within) > 0, shapely.distance(within, tips[end]), np.inf))
    return (area > least * shapely.length(tips) + SURE) & (out < STANDS_OUT - SURE)


def _carry(
    layout: LevelPlan, claims: Claims, outline: Polygon, faces: list[EndFace], back: np.ndarray, enough: Bears
) -> None:
    here, last = (shapely.transform(g, lambda p: p @ back.T) for g in (outline, outline.intersection(swept(faces))))
    tips = [shapely.transform(shapely.LineString([a, b]), lambda p: p @ back.T) for a, b, _ in faces]
    under = [local(q, back[:, 0], back[:, 1]) for q in claims.near(last)]
    if enough(outline, faces, united(under)):
        return
    # what lies behind a joist adds most, and brings nothing nearer to the tip: where that will not do, in the zone
    for near in (here.intersection(shapely.union_all(tips).buffer(2 * ZONE)), last):
        found = _more(layout, claims, (here, tips, near), back, lambda q: enough(outline, faces, q))
        if found is not None:
            claims.claim(found)
            return


def _more(
    layout: LevelPlan,
    claims: Claims,
    end: tuple[Polygon, list, Any],
    back: np.ndarray,
    enough: Callable[[Any], bool],
) -> list[Claim] | None:
    """Blocks, of each the one that adds most to what lies under the stretch before an end (its board, its tips, the
    stretch), until there are enough; None where there are none that do."""
    (here, tips, near), axes = end, (back[:, 0], back[:, 1])
    under = [local(q, *axes) for q in claims.near(near)]
    found: list[Claim] = []
    while not enough(united(under)):
        if len(found) == MOST_BLOCKS:
            return None
        rest = near.difference(united(claims.near(near) + [c.polygon for c in found]))
        gain, block = 0.0, None
        kinds = _blocks(layout, claims, tips, here), _blocks(layout, claims, tips, here, beside=True)
        for kind in (*kinds, _cleats(layout, claims, near)):
            gains = [
                (float(c.polygon.intersection(rest).area), -k, c)
                for k, c in enumerate(kind)
                if not any(c.polygon.intersection(o.polygon).area > 1e-6 for o in found)
            ]
            gain, _, block = max(gains, key=lambda g: g[:2], default=(0.0, 0, None))
            if gain >= LEAST_GAIN:
                break
        if block is None or gain < LEAST_GAIN:
            return None
        found.append(block)
        under.append(local(block.polygon, *axes))
    return found


def _blocks(layout: LevelPlan, claims: Claims, tips: list, here: Polygon, beside: bool = False) -> Iterator[Claim]:
    """Blocks that could be held under an end: from the end inwards, across the joists and along the end; or `beside` it
    too, so that they lie with a part of their thickness under it: a board ripped narrow next to what stands there."""
    t = layout.joist.thickness
    for tip in tips:
        (a, b), middle = np.asarray(tip.coords)[[0, -1]], np.asarray(here.centroid.coords[0])
        along_end = (b - a) / np.hypot(*(b - a))
        for d in (np.asarray(layout.across), along_end):
            sine = abs(float(d @ layout.across))
            if sine < LEAST_SINE:
                continue
            n = np.array([-d[1], d[0]])
            n = n * np.sign(float(n @ (middle - (a + b) / 2)) or 1.0)
            reach = (layout.joist_spacing + 2 * t) / sine + tip.length
            low = min(float(a @ n), float(b @ n))
            high = low if beside else max(float(a @ n), float(b @ n)) + ZONE
            for at in np.arange(low - t + STEP_IN if beside else low, high, STEP_IN / 2 if beside else STEP_IN):
                c = d * float((a + b) / 2 @ d) + n * at
                strip = Polygon([c - d * reach, c + d * reach, c + d * reach + n * t, c - d * reach + n * t])
                for piece in claims.free(strip.intersection(layout.inner)):
                    near = piece.intersects(here) and length_along(piece, d) < 2 * reach - 1e-6
                    if near and is_block(piece, d) and claims.held(piece, (float(d[0]), float(d[1]))):
                        yield Claim("border blocking", piece, (float(d[0]), float(d[1])), "under the field ends")


def _cleats(layout: LevelPlan, claims: Claims, end: Polygon) -> Iterator[Claim]:
    """Cleats nailed to the sides of the joists next to an end, where no block has two members to be held by: from
    `CLEAT_PAST` before the boards to as far behind them."""
    t = layout.joist.thickness
    for m in [m for m in claims.members if m.role == "joist" and m.polygon.distance(end) < t]:
        d = np.asarray(m.direction)
        n = np.array([-d[1], d[0]]) * t
        at = shapely.get_coordinates(end) @ d
        low, high = at.min() - CLEAT_PAST, at.max() + CLEAT_PAST
        for side in (n, -n):
            beside = shapely.transform(m.polygon, lambda p, by=side: p + by)
            across = n / t * FAR
            band = Polygon([d * low - across, d * high - across, d * high + across, d * low + across])
            for piece in claims.free(beside.intersection(band).intersection(layout.inner)):
                if is_block(piece, d) and _along_side(piece, m.polygon) > LEAST_ALONGSIDE * length_along(piece, d):
                    yield Claim("joint cleat", piece, m.direction, "under the field ends")


def _along_side(piece: Polygon, joist: Polygon) -> float:
    """Inches over which a cleat's outline lies against a joist's."""
    return float(piece.exterior.intersection(joist.buffer(FACES_MEET, join_style="mitre")).length)
