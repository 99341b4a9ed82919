"""Heights on an elevation: of the surface above grade at the corners seen, of the guard above the surface. Each figure
is said once, on a string clear of what is drawn; where no string is, in words."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import shapely

from ..drafting import drawing as d
from ..drafting import style
from ..linework.views import SEEN, Linework
from .stage import Stage

PAST_CORNER = 30.0  # inches of what is drawn past a corner over which the lines of a string outside it go; our own
OUTSIDE = 0.45  # paper inches from what is drawn to a string outside it
_OFFS = (
    0.15,
    -0.1,
    0.3,
    -0.25,
    0.5,
    -0.45,
    0.8,
    -0.75,
)  # paper inches from a corner to a string beside it, tried in turn
_LEAST = 1.0  # inches under which a height is none
_LEVEL = 1e-3  # inches: a line no steeper is level
_CROSSED = ("guards", "stairs")  # groups that no string crosses, level lines of theirs neither


@dataclass(frozen=True)
class CornerHeight:
    """A corner of the surface at the view's `u`, over grade at the view's v `low`, to the surface at `top`."""

    u: float
    low: float
    top: float


def surface_heights(stage: Stage, view: d.View, work: Linework, corners: Sequence[CornerHeight]) -> None:
    """The height at each corner, those alike once: outside at an end of the view, else beside the corner where nothing
    stands, else in words."""
    ends = {side: outside(work.box, corners, side, view.scale) for side in (0, -1)}
    lines = _in_the_way(work)
    for text, those in _alike(stage, corners):
        typical = " TYP." if len(those) > 1 else ""
        places = [(c, ends[side]) for side in (0, -1) for c in those if c is corners[side] and ends[side] is not None]
        places = places or [(c, at) for c in those if (at := _beside(c, lines, view.scale)) is not None]
        if places:
            c, at = places[0]
            view.add(d.Dimension((c.u, c.low), (c.u, c.top), (at, 0.0), 90.0, suffix=typical))
        else:
            words = f"SURFACE {text} ABOVE GRADE AT {'THE CORNERS' if typical else 'THIS CORNER'}"
            view.add(d.Leader((those[0].u, those[0].top), words, tips=[(c.u, c.top) for c in those[1:]]))


def _alike(stage: Stage, corners: Iterable[CornerHeight]) -> list[tuple[str, list[CornerHeight]]]:
    """Corners by the figure of their height: most have one, said once for all of them; the others one by one, since
    two figures of one view cannot both be typical."""
    found: dict[str, list[CornerHeight]] = defaultdict(list)
    for c in corners:
        if c.top - c.low > _LEAST:
            found[stage.text(c.top - c.low)].append(c)
    most = max(found, key=lambda text: len(found[text]), default="")
    return [(t, some) for t, those in found.items() for some in ([those] if t == most else [[c] for c in those])]


def guard_height(stage: Stage, view: d.View, work: Linework, corners: Sequence[CornerHeight], top: float) -> None:
    """The top of the deck's guard over its surface."""
    found = ((corners[side].u, outside(work.box, corners, side, view.scale)) for side in (0, -1) if corners)
    at = [(u, end) for u, end in found if end is not None]
    if at or not corners:
        u, end = at[0] if at else (work.box[0], work.box[0] - OUTSIDE * view.scale)
        view.add(d.Dimension((u, stage.surface_top), (u, top), (end, 0.0), 90.0, suffix=" GUARD"))
        return
    rails = [l for l in work.lines if l.kind == SEEN and l.part.role == "top rail" and l.part.stair is None]
    tips = [((l.a[0] + l.b[0]) / 2, (l.a[1] + l.b[1]) / 2) for l in sorted(rails, key=lambda l: -l.length)[:4]]
    if tips:
        words = f"GUARD {stage.text(top - stage.surface_top)} ABOVE SURFACE"
        view.add(d.Leader(tips[0], words, tips=tips[1:]))


def outside(box: d.Box, corners: Sequence[CornerHeight], side: int, scale: float) -> float | None:
    """The u of a string outside all that is drawn, at its left (`side` 0) or its right (-1); None where a stair goes on
    past the corner there, whose guards the lines of that string would cross."""
    if not corners:
        return None
    past = corners[0].u - box[0] if side == 0 else box[2] - corners[-1].u
    if past >= PAST_CORNER:
        return None
    return box[0] - OUTSIDE * scale if side == 0 else box[2] + OUTSIDE * scale


def _in_the_way(work: Linework) -> shapely.STRtree:
    """What a string beside a corner must not lie on: all that does not run level, and guards and stairs whole."""
    return shapely.STRtree(shapely.linestrings([(l.a, l.b) for l in _barring(work)]))


def _barring(work: Linework) -> Iterable:
    for l in work.lines:
        own = l.part.group in _CROSSED or l.part.stair is not None
        if l.kind == SEEN and (own or abs(l.a[1] - l.b[1]) > _LEVEL):
            yield l


def _beside(c: CornerHeight, lines: shapely.STRtree, scale: float) -> float | None:
    """The u of a string beside a corner with its figures, which stand at its left, clear of what is in the way."""
    for off in _OFFS:
        at = c.u + off * scale
        figures = shapely.box(at - (style.DIM_LIFT * 2 + style.NOTE) * scale, c.low, at + style.DIM_LIFT * scale, c.top)
        if not lines.query(figures, predicate="intersects").size:
            return at
    return None
