"""What is wrong with a deck, found from `model.glb`, `measured.json` and the parameter file alone: none of the
program's own contacts, clashes or bearings is asked.

Overlaps and touching are boolean operations of manifold3d on the meshes. What a board or tread rests on is found on
lines along its underside, cut exactly by the triangles that look up at that level. Inches.
"""

from __future__ import annotations

import itertools
import math
import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import manifold3d
import numpy as np
from read_back import Piece

SHARED = 0.001  # cubic inches
NEAR = 1e-3  # inches: boxes nearer than this may touch
LEVEL = 2e-3  # inches: faces nearer than this lie in one plane
GROWN = 0.02  # inches by which a solid grows to find what it touches; every gap that is built is wider
FACE = 0.25  # square inches: pieces that share less touch along a line
AT_END = 1.5  # inches from the end of a member within which it must be held
OUT = 2.0  # inches a board may stand out past its last bearing; common practice, no source
ROUNDING = 0.02  # inches; a line meets a slanted edge elsewhere than the program's own middle line
OFF = 0.03  # square inches of a base that may lie off its footing: what chords take off a round one
LINES = (0.1, 0.3, 0.5, 0.7, 0.9)  # of a board's width, where lines run along it
TWO_PLACES = 3.0  # inches between the bearings of a beam

# decking of lumber on joists, IRC 2021 R507.7, table: least thickness, spacing square to the joists, and at an angle
LUMBER_DECKING = ((1.5, 24.0, 16.0), (1.0, 16.0, 12.0))  # from memory
BOX = 12  # triangles: a solid without notches
MEMBER = 1.5  # a 2x member's thickness: what is clear between them is less by it

OVERLAP, LOOSE, END, SPAN, BASE, GROUND, HELD = KINDS = (
    "overlap",
    "borne by nothing",
    "end past its last bearing",
    "span",
    "base off its footing",
    "wood in the ground",
    "end held by nothing",
)
HOLDS_ITSELF = ("footing", "pad", "ledger")
CONCRETE = ("footing", "pad")
WALKED = ("board", "border", "breaker")
RESTS = ("post base", "post", "post sleeve", "foot block", "bench frame")
UPRIGHT = ("guard post", "post sleeve")  # what hangs on one does not hold it
HUNG_ON_IT = ("top rail", "bottom rail", "handrail", "baluster", "post cap", "post sleeve")
STANDS = ("post base", "post", "guard post")
MEMBERS = ("joist", "blocking", "border blocking", "post blocking")
FRAMING = ("frame", "blocking")


@dataclass(frozen=True)
class Found:
    """One fault: its kind, the pieces that have it, and by how much (in, sq in or cu in). Not `sure`: only on some of
    the lines along a board."""

    kind: str
    ids: tuple[str, ...]
    much: float
    sure: bool = True


@dataclass
class Oracle:
    """The pieces of one `model.glb`, the rows of its `measured.json` by id, and its parameter file as it was given."""

    pieces: Sequence[Piece]
    rows: dict[str, dict]
    given: dict
    _regions: dict[tuple[int, int], np.ndarray | None] = field(default_factory=dict)

    def found(self) -> list[Found]:
        """All faults, kind by kind."""
        return [
            *self.overlaps(),
            *self.loose(),
            *self.boards(),
            *self.bases(),
            *self.in_ground(),
            *self.members(),
        ]

    @cached_property
    def boxes(self) -> np.ndarray:
        return np.array([p.box for p in self.pieces])

    def _pairs(self, least: float) -> np.ndarray:
        """(n, 2) pairs whose boxes share more than `least` inches in each direction."""
        b = self.boxes
        low, high = b[:, 0], b[:, 1]
        found = []
        for i in range(len(b)):
            shared = (np.minimum(high[i], high[i + 1 :]) - np.maximum(low[i], low[i + 1 :])).min(axis=1)
            for j in np.flatnonzero(shared > least).tolist():
                found.append((i, i + 1 + j))
        return np.array(found, int).reshape(-1, 2)

    @cached_property
    def near(self) -> dict[int, list[int]]:
        """Positions of the pieces that may touch each one."""
        found: dict[int, list[int]] = defaultdict(list)
        for i, j in self._pairs(-NEAR).tolist():
            found[i].append(j)
            found[j].append(i)
        return found

    def overlaps(self) -> list[Found]:
        found = []
        for i, j in self._pairs(NEAR / 10).tolist():
            a, b = self.pieces[i], self.pieces[j]
            shared = (a.solid ^ b.solid).volume()
            if shared > SHARED:
                found.append(Found(OVERLAP, (a.id, b.id), shared))
        return found

    @cached_property
    def grown(self) -> list[manifold3d.Manifold]:
        return [_grown(p) for p in self.pieces]

    def region(self, i: int, j: int) -> np.ndarray | None:
        """(n, 3) corners of what one of two pieces, grown, shares with the other; None where they share less than
        `FACE` of their faces. A notch does not grow towards what lies in it: the plainer one grows, then the other."""
        key = (min(i, j), max(i, j))
        if key not in self._regions:
            self._regions[key] = None
            for a, b in sorted((key, key[::-1]), key=lambda k: len(self.pieces[k[0]].faces)):
                shared = self.grown[a] ^ self.pieces[b].solid
                if shared.volume() > FACE * GROWN * 0.8:
                    self._regions[key] = shared.to_mesh64().vert_properties[:, :3]
                    break
                if len(self.pieces[a].faces) == BOX:
                    break
        return self._regions[key]

    def loose(self) -> list[Found]:
        """Pieces from which no chain of touching faces leads to concrete or to the ledger at the house, and those that
        stand on nothing."""
        front = [k for k, p in enumerate(self.pieces) if p.role in HOLDS_ITSELF]
        held = set(front)
        while front:
            k = front.pop()
            for j in self.near[k]:
                hangs = self.pieces[j].role in UPRIGHT and self.pieces[k].role in HUNG_ON_IT
                if j not in held and not hangs and self.region(k, j) is not None:
                    held.add(j)
                    front.append(j)
        return [
            Found(LOOSE, (p.id,), 0.0)
            for k, p in enumerate(self.pieces)
            if k not in held or (p.role in RESTS and not any(self._below(k, j) for j in self.near[k]))
        ]

    def _below(self, k: int, j: int) -> bool:
        """Whether `k` touches `j` with its underside."""
        region = self.region(k, j)
        return region is not None and region[:, 2].max() < self.pieces[k].box[0, 2] + 2 * GROWN

    def boards(self) -> list[Found]:
        """Boards, borders, breakers and treads: their ends, and the spans between what bears them."""
        found = []
        for k, p in enumerate(self.pieces):
            if p.role in WALKED:
                ends, spans = self._borne(k, [j for j in self.near[k] if self.pieces[j].about["group"] in FRAMING])
                allowed = self._board_span(p)
            elif p.role == "tread":
                under = ("stringer", "hip stringer", "jack stringer", "tread blocking", "step frame")
                ends, spans = self._borne(k, [j for j in self.near[k] if self.pieces[j].role in under])
                stair = self.given["stair"][int(re.search(r"stair (\d+)", self.rows[p.id]["where"])[1]) - 1]
                allowed = stair.get("stringer_spacing", 12.0) - MEMBER
            else:
                continue
            if math.isinf(ends[0]):
                found.append(Found(LOOSE, (p.id,), math.inf))
            elif ends[1] > OUT:
                found.append(Found(END, (p.id,), ends[0], ends[0] > OUT + ROUNDING))
            if spans[1] > allowed:
                found.append(Found(SPAN, (p.id,), spans[0], spans[0] > allowed + ROUNDING))
        return found

    def _board_span(self, p: Piece) -> float:
        """Clear inches along the board that its joists may leave: by the table for lumber, by the file for others."""
        # over blocks that run as the joists do, a board lies as askew as over these
        joists = self.near_of(p, "joist") or [k for k, q in enumerate(self.pieces) if q.role == "joist"]
        sine = min((abs(_cross(p.axes[:2, 0], self.pieces[j].axes[:2, 0])) for j in joists), default=1.0)
        spacing = self.given.get("frame", {}).get("joist_spacing", 16.0)
        if self.rows[p.id]["material"] == "treated lumber":
            thickness = float(np.ptp(p.corners[:, 2]))
            spacing = next(row[1 if sine > 0.99 else 2] for row in LUMBER_DECKING if thickness > row[0] - 0.01)
        return (spacing - MEMBER) / max(sine, 1e-3)

    def near_of(self, p: Piece, role: str) -> list[int]:
        return [j for j in self.near[self.at[p.id]] if self.pieces[j].role == role]

    @cached_property
    def at(self) -> dict[str, int]:
        return {p.id: k for k, p in enumerate(self.pieces)}

    def _borne(self, k: int, under: Sequence[int]) -> tuple[tuple[float, float], tuple[float, float]]:
        """(distance past the last bearing at the worse end, longest stretch between bearings), each on the best and on
        the worst of the lines along the piece. What runs along it bears it on all lines."""
        p = self.pieces[k]
        u = p.axes[:2, 0] / np.hypot(*p.axes[:2, 0])
        v = np.array([-u[1], u[0]])
        level = p.box[0, 2]
        across = p.corners[:, :2] @ v
        lines = [v * (across.min() + share * np.ptp(across)) for share in LINES]
        own = _flat(p, level, -1.0)
        beside = [j for j in under if abs(float(u @ self.pieces[j].axes[:2, 0])) > 0.99]
        along, top = (self._tops(at, level) for at in (beside, [j for j in under if j not in beside]))
        everywhere = [span for at in lines for span in _cut(at, u, along)]
        tips: list[list[float]] = [[], []]
        past: list[list[float]] = [[], []]
        spans = []
        there = [_cut(at, u, own) for at in lines]
        for at, here in zip(lines, there):
            if not here:
                continue
            borne = _joined(_clipped([*_cut(at, u, top), *everywhere], here))
            tips[0].append(here[0][0])
            tips[1].append(here[-1][1])
            past[0].append(borne[0][0] - here[0][0] if borne else math.inf)
            past[1].append(here[-1][1] - borne[-1][1] if borne else math.inf)
            if borne:
                cut = [h for h in _between(here) if not _passed(h, there)]
                spans.append(
                    max((b - a for a, b in _between(borne) if not any(a < h[1] and h[0] < b for h in cut)), default=0.0)
                )
        step = float(np.ptp(across)) * (LINES[1] - LINES[0])
        ends = [(np.array(out) * _cosines(tip, step)).tolist() for out, tip in zip(past, tips)]
        return (
            (max(min(e, default=math.inf) for e in ends), max(max(e, default=math.inf) for e in ends)),
            (min(spans, default=0.0), max(spans, default=0.0)),
        )

    def _tops(self, under: Sequence[int], level: float) -> np.ndarray:
        """The triangles at this level of several pieces that look up."""
        return np.concatenate([np.zeros((0, 3, 2)), *(_flat(self.pieces[j], level, 1.0) for j in under)])

    def bases(self) -> list[Found]:
        """Bases and posts that stand on concrete and stand out over it."""
        found = []
        for k, p in enumerate(self.pieces):
            below = [self.pieces[j].solid for j in self.near[k] if self.pieces[j].role in CONCRETE]
            if p.role not in STANDS or not below:
                continue
            lowered = p.solid.translate((0, 0, -GROWN))
            on = sum((lowered ^ solid).volume() for solid in below) / GROWN
            whole = _area(_flat(p, p.box[0, 2], -1.0))
            if on > 0.01 and whole - on > OFF:
                found.append(Found(BASE, (p.id,), whole - on))
        return found

    def in_ground(self) -> list[Found]:
        """Wood, or steel, with a corner under the plane of the file's grade."""
        levels, frame = self.given["levels"], self.given.get("frame", {})
        slope = np.array([levels.get("slope_x", 0.0), levels.get("slope_y", 0.0)])
        embedded = (
            frame.get("footing", {}).get("shape") == "square"
        )  # the file stands the posts on the pad, in the ground
        found = []
        for p in self.pieces:
            if self.rows[p.id]["material"] == "concrete" or (embedded and p.role in ("post", "post base")):
                continue
            deep = float((levels.get("grade", 0.0) + p.corners[:, :2] @ slope - p.corners[:, 2]).max())
            if deep > LEVEL:
                found.append(Found(GROUND, (p.id,), deep))
        return found

    def members(self) -> list[Found]:
        """Ends of joists and blocks that meet nothing, beams and headers that bear at fewer than two places,
        stringers without a head or a foot."""
        found = []
        for k, p in enumerate(self.pieces):
            if p.role in MEMBERS:
                held = [self._end_held(k, sense) for sense in (-1.0, 1.0)]
            elif p.role in ("beam", "stair header"):
                plies = self._plies(k) if p.role == "stair header" else {k}
                places = sorted(at for ply in plies for at in self._bearings(ply))
                held = [bool(places) and places[-1] - places[0] >= TWO_PLACES]
            elif p.role in ("stringer", "hip stringer", "jack stringer"):
                held = self._head_and_foot(k)
            else:
                continue
            if not all(held):
                found.append(Found(HELD, (p.id,), float(held.count(False))))
        return found

    def _holding(self, k: int) -> list[int]:
        return [
            j
            for j in self.near[k]
            if self.pieces[j].about["group"] in (*FRAMING, "footings") or self.pieces[j].role == "guard post"
        ]

    def _end_held(self, k: int, sense: float) -> bool:
        p = self.pieces[k]
        u = p.axes[:, 0]
        tip = sense * float((sense * (p.corners @ u)).max())
        ended = p.solid.translate(tuple(sense * u * GROWN))
        met = 0.0
        for j in self._holding(k):
            other = self.pieces[j]
            met += (ended ^ other.solid).volume() / GROWN
            if met >= FACE:
                return True
            region = self.region(k, j)
            if region is None or sense * (tip - sense * float((sense * (region @ u)).max())) > AT_END:
                continue
            thin = np.ptp(region, axis=0)
            if thin[2] < 2 * GROWN and region[:, 2].max() < p.box.mean(axis=0)[2]:
                return True  # rests there
            w = other.axes[:, 0]
            if np.ptp(region @ w) > 3 * GROWN and abs(float(w @ u)) < 0.99:
                return True  # the other one passes it there, and does not end on its side
        return False

    def _plies(self, k: int) -> set[int]:
        """The piece and those of its role that touch it, one another in a row."""
        found, front = {k}, [k]
        while front:
            one = front.pop()
            for j in self.near[one]:
                if j not in found and self.pieces[j].role == self.pieces[k].role and self.region(one, j) is not None:
                    found.add(j)
                    front.append(j)
        return found

    def _under(self, k: int, region: np.ndarray) -> bool:
        """Whether a region lies in the lower face of a piece, by that face's own normal: a cross piece of a stair lies
        to the pitch."""
        p = self.pieces[k]
        up = [a * np.sign(a[2]) for a in p.axes[:, 1:].T if abs(a[2]) > 0.5]
        return any(float((region @ a).max()) < float((p.corners @ a).min()) + 2 * GROWN for a in up)

    def _bearings(self, k: int) -> list[float]:
        """Places along a beam where it rests on a piece below, or where an end of it meets one."""
        p = self.pieces[k]
        u, found = p.axes[:, 0], []
        along = p.corners @ u
        hung = ("blocking", "post", "beam", "pad", "rim")  # a header lies under the rim, strapped to it
        for j in self._holding(k):
            region = self.region(k, j)
            if region is None or (p.role == "stair header" and self.pieces[j].role not in hung):
                continue
            at = region @ u
            below = self._under(k, region) or p.role == "stair header"  # hung on cleats
            ends = at.min() > along.max() - 2 * GROWN or at.max() < along.min() + 2 * GROWN
            if below or ends:
                found.append(float(at.mean()))
            beside = p.role == self.pieces[j].role == "beam" or (
                p.role == "stair header" and self.pieces[j].role in ("pad", "rim")
            )
            if beside and np.ptp(at) > TWO_PLACES:  # a ply, or the concrete to which a header is anchored
                found += [float(at.min()), float(at.max())]
        return found

    def _head_and_foot(self, k: int) -> list[bool]:
        p = self.pieces[k]
        (low, high) = p.box[:, 2]
        blocks = [j for j in self.near[k] if self.pieces[j].role in ("hip block", "jack block")]
        regions = [r for j in (*self._holding(k), *blocks) if (r := self.region(k, j)) is not None]
        return [
            any((r[:, 2].max() - low) / (high - low) > 2 / 3 for r in regions),
            any((r[:, 2].min() - low) / (high - low) < 1 / 3 for r in regions),
        ]


def _cosines(tips: Sequence[float], step: float) -> np.ndarray:
    """Of an end cut at an angle, at each line: what stands out is measured square to its face."""
    slopes = np.gradient(tips, step) if len(tips) > 1 else np.zeros(len(tips))
    return 1 / np.hypot(1.0, slopes)


def _grown(p: Piece) -> manifold3d.Manifold:
    """The solid, larger by `GROWN` at either end of each of its own axes."""
    local = p.corners @ p.axes
    low, high = local.min(axis=0), local.max(axis=0)
    scale = (high - low + 2 * GROWN) / (high - low)
    middle = (low + high) / 2
    turn = p.axes @ np.diag(scale) @ p.axes.T
    shift = p.axes @ (middle * (1 - scale))
    return p.solid.transform(np.column_stack([turn, shift]))


def _flat(p: Piece, level: float, sense: float) -> np.ndarray:
    """(n, 3, 2) the triangles at `level` that look up (`sense` 1) or down, counter-clockwise in the plan."""
    t = p.triangles
    keep = (sense * p.normals[:, 2] > 1 - 1e-6) & (np.abs(t[:, :, 2] - level) < LEVEL).all(axis=1)
    flat = t[keep][:, :, :2]
    return flat if sense > 0 else flat[:, ::-1]


def _area(triangles: np.ndarray) -> float:
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    return float(_cross((b - a).T, (c - a).T).sum() / 2)


def _cross(a, b):
    return a[0] * b[1] - a[1] * b[0]


def _cut(at: np.ndarray, u: np.ndarray, triangles: np.ndarray) -> list[tuple[float, float]]:
    """Sorted (from, to) along the line `at` + t `u` that lie in a triangle (counter-clockwise)."""
    if not len(triangles):
        return []
    sides = np.roll(triangles, -1, axis=1) - triangles
    off = at - triangles
    inside = sides[:, :, 0] * off[:, :, 1] - sides[:, :, 1] * off[:, :, 0]
    rate = sides[:, :, 0] * u[1] - sides[:, :, 1] * u[0]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = -inside / rate
    still = np.abs(rate) < 1e-12
    low = np.where(~still & (rate > 0), t, -np.inf).max(axis=1)
    high = np.where(~still & (rate < 0), t, np.inf).min(axis=1)
    keep = (high - low > 1e-6) & ~(still & (inside < -1e-9)).any(axis=1) & np.isfinite(high - low)
    return _joined(sorted(zip(low[keep].tolist(), high[keep].tolist())))


def _joined(spans: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    out: list[tuple[float, float]] = []
    for a, b in sorted(spans):
        if out and a <= out[-1][1] + LEVEL:
            out[-1] = out[-1][0], max(out[-1][1], b)
        else:
            out.append((a, b))
    return out


def _between(spans: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """What stretches in order along a line leave open: between bearings the clear spans, of a board its notches."""
    return [(a[1], b[0]) for a, b in itertools.pairwise(spans)]


def _passed(hole: tuple[float, float], lines: Sequence[Sequence[tuple[float, float]]]) -> bool:
    """Whether the piece goes on past a notch on one of the lines; else it is as good as two pieces."""
    return any(a <= hole[0] and hole[1] <= b for here in lines for a, b in here)


def _clipped(spans, within) -> list[tuple[float, float]]:
    """What of the spans lies within others."""
    both = ((max(a, c), min(b, d)) for a, b in spans for c, d in within)
    return [(a, b) for a, b in both if b - a > LEVEL]
