"""Guard bays read off their solids: clear opening, rails, balusters and their spaces, the block under mid-bay.
Inches."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ..solid.roles import named
from .measure import Measured

IN_LINE = 1.0  # inches off the rail's line within which a piece belongs to its bay
_OF_BLOCK = 1.5  # so much further off for a foot block
_OF_A_BAY = ("top rail", "bottom rail", "baluster", "foot block", "rail bracket")
_TOUCHES = 0.01  # inches
_ROUND = 2 * (IN_LINE + _OF_BLOCK)  # inches round a rail, whichever way it runs, in which all of its bay lies


@dataclass(frozen=True)
class Bay:
    """One bay. `clear` is the level distance between the faces its rails stop at, on their middle line; `slope` degrees
    from level; `starts` the near face of each baluster from the first face (level; of the left or low post on the plan,
    on a stair the upper one); `spaces` the clear openings from face to face, both end spaces with them. `up` from the
    walking surface to the bottom rail, None on a stair. `block` (near, far) faces of the foot block from the first
    face, or None."""

    where: str
    stair: int | None
    top: Measured
    bottom: Measured
    balusters: tuple[Measured, ...]
    clear: float
    slope: float
    starts: tuple[float, ...]
    size: float
    spaces: tuple[float, ...]
    up: float | None
    block: tuple[float, float] | None
    block_piece: Measured | None

    @property
    def first(self) -> float:
        return self.spaces[0]

    @property
    def last(self) -> float:
        return self.spaces[-1]

    @property
    def between(self) -> float:
        """The widest opening between two balusters."""
        return max(self.spaces[1:-1], default=0.0)

    def like(self, other: Bay) -> bool:
        """Whether both are cut and spaced alike."""
        marks = [(b.top.mark, b.bottom.mark, b.block_piece.mark if b.block_piece else "") for b in (self, other)]
        return (
            marks[0] == marks[1]
            and len(self.starts) == len(other.starts)
            and bool(np.allclose(self.starts, other.starts, atol=0.01))
        )


def see_bays(rows: Sequence[Measured]) -> list[Bay]:
    """Every bay, from its top rail down, in the order of the deck."""
    by = {role: [m for m in rows if m.role == role] for role in _OF_A_BAY}
    walk = [m for m in rows if m.role in named("walked")]
    trees = {role: shapely.STRtree(shapely.points(_middles(by[role]))) for role in by}

    def near(top: Measured) -> dict[str, list[Measured]]:
        """Of each kind the pieces whose middle lies round a top rail in plan: more than its bay has, and no fewer."""
        (x0, y0), (x1, y1) = top.box[0, :2] - _ROUND, top.box[1, :2] + _ROUND
        around = shapely.box(x0, y0, x1, y1)
        return {role: [by[role][i] for i in sorted(tree.query(around))] for role, tree in trees.items()}

    return [_bay(top, near(top), walk) for top in by["top rail"]]


def _middles(pieces: Sequence[Measured]) -> np.ndarray:
    return np.array([m.part.vertices.mean(axis=0)[:2] for m in pieces]).reshape(-1, 2)


def _bay(top: Measured, by: dict[str, list[Measured]], walk: Sequence[Measured]) -> Bay:
    along = way_of(top)
    across = np.array([-along[1], along[0]])
    flat = top.part.vertices
    middle = flat[:, :2].mean(axis=0)
    low, high = ends_along(top, along, middle)
    face, beyond = _faces(top, by["rail bracket"], along, middle)

    def inside(m: Measured) -> bool:
        c = m.part.vertices.mean(axis=0)
        s = float((c[:2] - middle) @ along)
        near = abs(float((c[:2] - middle) @ across)) < IN_LINE + (_OF_BLOCK if m.role == "foot block" else 0.0)
        return (
            near
            and low - 0.01 <= s <= high + 0.01
            and -60 < c[2] - flat[:, 2].mean() - _climb(top, along, s) < 1
            and m.part.stair == top.part.stair
        )

    balusters = sorted(
        (m for m in by["baluster"] if inside(m)), key=lambda m: float(m.part.vertices.mean(axis=0)[:2] @ along)
    )
    bottoms = [m for m in by["bottom rail"] if inside(m)]
    bottom = min(bottoms, key=lambda m: abs(float((m.part.vertices.mean(axis=0)[:2] - middle) @ along)))
    blocks = [m for m in by["foot block"] if inside(m)]
    reach = [_reach(m, along, middle) for m in balusters]
    edges = [face, *(e for r in reach for e in r), beyond]
    slope = math.degrees(math.atan2(abs(top.axis[2]), float(np.hypot(*top.axis[:2]))))
    block = None
    if blocks:
        a, b = _reach(blocks[0], along, middle)
        block = (a - face, b - face)
    return Bay(
        top.part.where,
        top.part.stair,
        top,
        bottom,
        tuple(balusters),
        beyond - face,
        slope,
        tuple(a - face for a, _ in reach),
        reach[0][1] - reach[0][0] if reach else 0.0,
        tuple(b - a for a, b in zip(edges[::2], edges[1::2])),
        _up(bottom, walk) if slope < 0.01 else None,
        block,
        blocks[0] if blocks else None,
    )


def _faces(top: Measured, plates: Sequence[Measured], along, middle) -> tuple[float, float]:
    """Stations of the faces at a top rail's ends: its own, or past the brackets that it ends on."""
    low, high = ends_along(top, along, middle)
    start, end = low, high
    for plate in plates:
        at = plate.part.vertices.mean(axis=0)
        own = float((at[:2] - middle) @ along)
        if abs(float(at[2] - top.part.vertices[:, 2].mean()) - _climb(top, along, own)) < IN_LINE:
            # as thick along the rail at a slanting face as at a square one, though its corners lie further apart
            thick = plate.part.footprint.area / float(np.ptp(plate.part.vertices[:, :2] @ (-along[1], along[0])))
            start = low - thick if abs(own + thick / 2 - low) < _TOUCHES else start
            end = high + thick if abs(own - thick / 2 - high) < _TOUCHES else end
    return start, end


def way_of(top: Measured) -> np.ndarray:
    """The way a bay runs on the plan: from its left or low post, a stair's from its upper post down."""
    along = top.axis[:2] / np.hypot(*top.axis[:2])
    if along[0] < -1e-9 or (abs(along[0]) <= 1e-9 and along[1] < 0):
        along = -along
    if abs(top.axis[2]) > 1e-3 and float(top.axis[:2] @ along) * float(top.axis[2]) > 0:
        along = -along
    return along


def _up(bottom: Measured, walk: Sequence[Measured]) -> float | None:
    """A level bottom rail's underside above what is walked on: its own stair's landing or the deck; else what lies
    within a foot under it."""
    base = float(bottom.box[0, 2])
    under = [(float(w.box[1, 2]), w) for w in walk if w.box[1, 2] < base + 0.01]
    own = [z for z, w in under if w.part.stair == bottom.part.stair]
    floor = max(own or [z for z, _ in under if base - z < 12], default=None)
    return None if floor is None else base - floor


def _climb(top: Measured, along, s: float) -> float:
    """Rise of the rail from its middle to a station `s` from it."""
    axis = top.axis if float(top.axis[:2] @ along) > 0 else -top.axis
    return s * float(axis[2]) / float(np.hypot(*axis[:2]))


def _reach(m: Measured, along, middle) -> tuple[float, float]:
    s = (m.part.vertices[:, :2] - middle) @ along
    return float(s.min()), float(s.max())


def ends_along(piece: Measured, along: np.ndarray, middle: np.ndarray) -> tuple[float, float]:
    """Stations of a piece's ends on its middle line: of a mitred end half way between long and short point."""
    s = (piece.part.vertices[:, :2] - middle) @ along
    low, high = s[s < 0], s[s > 0]
    return float((low.min() + low.max()) / 2), float((high.min() + high.max()) / 2)
