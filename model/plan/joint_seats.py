"""Where butt joints of field boards may lie: on a joist, and what goes beside it so that both ends bear.

A joint in the middle of one joist leaves each end half of its thickness less half the gap. `surface.joints` says what
is built: "doubled" lays the joint over the seam between the joist and a second one beside it, from rim to rim and hung
or borne as the first is (the soundest: nothing of the load goes through nails); "cleat" nails a short length to the
joist's side there; "single" leaves the joist alone (all common practice, no source). Lengths in inches; u runs along
the boards, v square to them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon

from ...shared.practice import practice
from ..solid.union import united
from .board_shapes import NOTCH_ROOM, polygons
from .edges import FAR, OUT_OF_TRUE
from .joist_plan import FACES_MEET, centre_line, direction_of, stops_short
from .spots import JointSupport
from .stages import Posted, Setting

NEARLY_SQUARE = math.tan(math.radians(OUT_OF_TRUE))
CLEAT_PAST = practice("cleat past a butt joint")
WHOLE_SIDE = 0.95  # share of a joist's own footprint that a second one has: less is cut by what stands there (our own)
RAGGED = 0.1  # square inches that a footprint may fall short of its hull: more is a notch (our own)


class JointSeats:
    """The joists as places for butt joints. A joint is cut along the joist, so that both ends bear over their whole
    width however the boards run (common practice, no source); where they meet it square, or near enough, it is cut
    square."""

    def __init__(self, layout: Posted, x: np.ndarray, y: np.ndarray):
        self.layout, self.kind = layout, layout.parameters.surface.joints
        lines = layout.joist_lines
        self.at = np.array([p for p, _ in lines])
        spans = np.array([_ends_along(j, layout.along) for _, j in lines]).reshape(-1, 2)
        sides, self.beside = _beside(layout, self.kind)
        # past its end a joist meets a rim or ledger, which carries on under the joint, and the surface overhangs that
        past = max((layout.rim_of(e) + layout.overhang(e) for e in layout.outline.edges), default=0.0)
        self.low, self.high = spans[:, 0] - past, spans[:, 1] + past
        for k, piece in enumerate(self.beside):
            if piece is not None:
                low, high = _ends_along(piece, layout.along)
                self.low[k] = max(self.low[k], low - past * (low < spans[k, 0] + 2 * layout.joist.thickness))
                self.high[k] = min(self.high[k], high + past * (high > spans[k, 1] - 2 * layout.joist.thickness))
        self.there = np.array([s is not None for s in sides], bool)
        base, slope = np.array([centre_line(layout, j) for _, j in lines]).reshape(-1, 2).T
        # the joint lies over the seam with what goes beside the joist
        base = base + np.array([s or 0.0 for s in sides]) * layout.joist.thickness / 2 * np.hypot(1.0, slope)
        self.x_across = abs(float(x @ layout.across))
        self.x_along, self.y_along = float(x @ layout.along), float(y @ layout.along)
        # a joint's line lies at u = start + v * lean along the boards
        run = float(x @ layout.across) - slope * self.x_along
        self.start, self.lean = base / run, (slope * self.y_along - float(y @ layout.across)) / run
        self.slant = float(np.abs(self.lean).max(initial=0.0))  # how much of its width a joint runs on along the board
        self.square = self.slant < NEARLY_SQUARE
        if self.square:
            self.slant = 0.0

    def u(self, k: int | np.ndarray, v: float) -> Any:
        """Where, along the boards, the line of joints over joist(s) k lies at v."""
        return self.start[k] + v * self.lean[k]

    def places(
        self, v0: float, v1: float, u0: float, u1: float, blocked: Sequence[tuple[float, float]]
    ) -> tuple[list[float], list[int]]:
        """Rising positions along the run from u0 to u1 at which a joint bears over the run's whole width, v0 to v1, and
        the joists there; none in the stretches `blocked` by a notch."""
        if not len(self.at):
            return [], []
        every = np.arange(len(self.at))
        ends = np.array([self.u(every, v) for v in (v0, v1)])
        along = self._along(ends, v0, v1)
        fine = (
            self.there
            & (along.min(0) >= self.low - 1e-6)
            & (along.max(0) <= self.high + 1e-6)
            & (ends.min(0) > u0)
            & (ends.max(0) < u1)
        )
        for a, b in blocked:
            fine &= (ends.max(0) < a - NOTCH_ROOM) | (ends.min(0) > b + NOTCH_ROOM)
        middle = ends.mean(0)
        found = {round(float(self.at[i]), 6): int(i) for i in np.flatnonzero(fine)}
        which = sorted(found.values(), key=lambda k: middle[k])
        return [round(float(middle[k]), 6) for k in which], which

    def _along(self, ends: np.ndarray, v0: float, v1: float) -> np.ndarray:
        """Where, along the joists, joints lie that begin and end at `ends` (2, n) on v0 and v1."""
        return np.array([ends[i] * self.x_along + v * self.y_along for i, v in enumerate((v0, v1))])

    def stretch(self, k: int, v0: float, v1: float) -> tuple[float, float]:
        """From where to where along joist k a joint of the run from v0 to v1 lies."""
        low, high = sorted(self._along(np.array([[self.u(k, v)] for v in (v0, v1)]), v0, v1)[:, 0].tolist())
        return low, high

    def cells(
        self, chosen: Sequence[int], v0: float, v1: float, u0: float, u1: float, gap: float
    ) -> list[list[tuple[float, float]]]:
        """(4, 2) outlines that cut a run at the chosen joists, `gap` apart measured square to the joint."""
        stops = [(u0 - 1, u0 - 1)]
        for k in chosen:
            low, high = (self.u(k, (v0 + v1) / 2),) * 2 if self.square else (self.u(k, v0 - 1), self.u(k, v1 + 1))
            half = gap / 2 / (1.0 if self.square else self.x_across)
            stops += [(low - half, high - half), (low + half, high + half)]
        stops.append((u1 + 1, u1 + 1))
        return [
            [(a[0], v0 - 1), (b[0], v0 - 1), (b[1], v1 + 1), (a[1], v1 + 1)] for a, b in zip(stops[::2], stops[1::2])
        ]

    def supports(self, used: Mapping[int, Sequence[tuple[float, float]]]) -> list[JointSupport]:
        """What goes beside the joists used: of each the stretches along it under which joints lie."""
        found = []
        for k, stretches in sorted(used.items()):
            piece, joist = self.beside[k], self.layout.joist_lines[k][1]
            if piece is None:
                continue  # the joist is one of two already, or is left alone
            along = direction_of(self.layout, joist)
            if self.kind == "doubled":
                found.append(JointSupport("joist", piece, along))
                continue
            for low, high in _merged(stretches):
                a, b = self.layout.across * FAR, self.layout.along
                band = Polygon([b * low - a, b * low + a, b * high + a, b * high - a])
                cleat = piece.intersection(band)
                if isinstance(cleat, Polygon) and not cleat.is_empty:
                    found.append(JointSupport("joint cleat", cleat, along))
        return found


def _merged(stretches: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Where cleats lie under joints: a little past each, in one length where two would meet."""
    found: list[tuple[float, float]] = []
    for low, high in sorted((a - CLEAT_PAST, b + CLEAT_PAST) for a, b in stretches):
        if found and low <= found[-1][1] + 1e-6:
            found[-1] = found[-1][0], max(high, found[-1][1])
        else:
            found.append((low, high))
    return found


def _beside(layout: Posted, kind: str) -> tuple[list[float | None], list[Polygon | None]]:
    """For every joist the side (+1 or -1 across the joists, 0 for neither) of what goes beside it, None where there is
    no room on either side, and the plan of the room there; of two joists that lie side by side already the first stands
    for both."""
    lines, t = layout.joist_lines, layout.joist.thickness
    if kind == "single":
        return [0.0] * len(lines), [None] * len(lines)
    rim_footprints = [p for _, _, p in layout.rims]
    ends = united(rim_footprints).buffer(2 * FACES_MEET)
    stood = rim_footprints + [s.polygon for s in layout.strips if s.lengthwise]
    stood += [p.polygon for p in layout.posts] + [c for s in layout.stairs for c in s.cleats]
    stood += [j for _, j in lines]
    sides: list[float | None] = [None] * len(lines)
    pieces: list[Polygon | None] = [None] * len(lines)
    second: set[int] = set()
    for k, (v, joist) in enumerate(lines):
        pair = next((n for n, (w, o) in enumerate(lines) if n > k and 0 < w - v < t + 0.01 and _alongside(joist, o)), 0)
        if pair:
            sides[k] = 1.0
            second.add(pair)
    ahead = layout.ahead(layout.across)
    for k, (_, joist) in list(enumerate(lines))[::ahead]:  # room for one between two joists is the first's
        if sides[k] is not None or k in second:
            continue
        for sign in (float(ahead), -float(ahead)):
            piece = _room(layout, joist, sign, stood, ends if kind == "doubled" else None)
            if piece is not None:
                sides[k], pieces[k] = sign, piece
                stood.append(piece)
                break
    return sides, pieces


def _alongside(a: Polygon, b: Polygon) -> bool:
    """Whether two joists lie side by side over most of their length."""
    touching = a.buffer(FACES_MEET, join_style="mitre").intersection(b.buffer(FACES_MEET, join_style="mitre"))
    return bool(touching.length / 2 > WHOLE_SIDE * a.length / 2 - 1.5)


def _room(layout: Setting, joist: Polygon, sign: float, stood: Sequence[Polygon], ends) -> Polygon | None:
    """The plan of a member beside a joist, clear of what stands there. With `ends`, what joists end on: as long as the
    joist and held at both ends, or None."""
    t = layout.joist.thickness
    d = np.asarray(direction_of(layout, joist))
    n = np.array([-d[1], d[0]]) * np.sign(float(np.array([-d[1], d[0]]) @ layout.across)) * sign
    # a point of its middle line: an end on the skew draws the centroid off it
    on_line = layout.across * centre_line(layout, joist)[0]
    moved = shapely.transform(joist, lambda p: p + n * t)
    low, high = _ends_along(joist, d)
    c = on_line + d * ((low + high) / 2 - float(on_line @ d)) + n * t
    half, far = n * t / 2, d * ((high - low) / 2 + 4 * t)
    band = Polygon([c - far - half, c + far - half, c + far + half, c - far + half])
    near = [q for q in stood if q is not joist and q.distance(band) < FACES_MEET]
    there = shapely.union_all(polygons(layout.inner.intersection(band)))  # without lines that it only touches
    rest = shapely.difference(there, united(near), grid_size=1e-9)
    pieces = [g for g in shapely.get_parts(rest) if g.geom_type == "Polygon" and g.area > t * t]
    piece = max(pieces, key=lambda g: g.intersection(moved).area, default=None)
    if piece is None or piece.convex_hull.area - piece.area > RAGGED or piece.intersection(moved).area < t * t:
        return None
    if ends is None:
        return piece
    whole = piece.intersection(moved).area > WHOLE_SIDE * joist.area and not stops_short(layout, piece, ends)
    return piece if whole else None


def _ends_along(piece: Polygon, direction) -> tuple[float, float]:
    along = np.asarray(piece.exterior.coords) @ direction
    return float(along.min()), float(along.max())
