"""Level runs of a guard between two posts: rails cut to the posts' faces, balusters evenly divided, the block under
mid-bay.

Works on plan polygons of whatever the rails stop at (posts, or the sleeves round them), so that a post turned at an odd
corner gets its mitre. Lengths in inches.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from shapely.geometry import Polygon

from ...shared.points import Vector, pair
from ...shared.practice import practice
from ...shared.said import decimal, said, size
from ...shared.stock import KIT, Stock, lumber
from ..input.guard_table import Guard, GuardKit
from ..plan.kit_cuts import kit_cut
from ..plan.rail_lay import top_rail_section
from ..solid.part import Part, Workshop

LEAST_BAY = 1.0  # inches clear between two posts below which nothing goes between them
BLOCK_OVER = practice("rail without a foot block")  # inches clear
BLOCK_LENGTH = lumber("2x4").width


def baluster_count(clear: float, baluster: float, gap: float) -> int:
    """The fewest balusters with which no opening is wider than `gap`: smallest N with (S - N b) / (N + 1) <= g."""
    return max(0, math.ceil((clear - gap) / (baluster + gap) - 1e-9))


def baluster_starts(clear: float, baluster: float, gap: float) -> list[float]:
    """Where each baluster begins, from the face of the first post: all openings, end spaces too, are equal."""
    n = baluster_count(clear, baluster, gap)
    space = (clear - n * baluster) / (n + 1)
    return [space + i * (baluster + space) for i in range(n)]


def baluster_stock(guard: Guard) -> Stock:
    if guard.kit is not None:
        called = said("kit baluster {across}", across=size(guard.baluster))
        return Stock(f"kit baluster {guard.baluster:g} in", guard.baluster, guard.baluster, KIT, called=called)
    return square_stock("baluster", guard.baluster)


def blocked_over(guard: Guard) -> float:
    """A bay with more between its posts than this has a foot block."""
    return BLOCK_OVER if guard.kit is None else max(guard.kit.foot_block_over, BLOCK_LENGTH)


def block_stock(guard: Guard, rail: Stock) -> Stock:
    """What a foot block is of: the rail's, or one of the kit's own."""
    return rail if guard.kit is None else Stock("kit foot block", rail.thickness, BLOCK_LENGTH, KIT)


def bracket_stock(kit: GuardKit) -> Stock:
    called = said("kit bracket {thick}", thick=size(kit.bracket))
    return Stock(f"kit bracket {kit.bracket:g} in", kit.bracket, kit.rail_width, "steel", called=called)


def square_stock(what: str, size: float) -> Stock:
    """A square stick: of the nominal size where one is sold, else by its own name."""
    two = lumber("2x2")
    if abs(size - two.width) < 1e-9:
        return two
    called = said("{what} {size}", what=what, size=decimal(size, None))
    return Stock(f"{what} {size:g} in", size, size, two.material, called=called)


@dataclass(frozen=True)
class RailRun:
    """The centre line of a level bay and the post faces it ends at.

    `start`, `end` are distances along from `origin`; `faces` the unit normals in plan of the faces met, towards the
    bay.
    """

    origin: tuple[float, float]
    direction: tuple[float, float]
    start: float
    end: float
    faces: tuple[tuple[float, float], tuple[float, float]]

    @property
    def clear(self) -> float:
        return self.end - self.start

    def point(self, along: float, aside: float = 0.0) -> np.ndarray:
        d = np.asarray(self.direction)
        return np.asarray(self.origin) + d * along + np.array([-d[1], d[0]]) * aside

    def skew(self, width: float) -> tuple[float, float]:
        """How far past the centre line's start and end the faces met reach into the bay beside a piece so wide."""
        d, left = np.asarray(self.direction), np.array([-self.direction[1], self.direction[0]])
        first, last = (abs(float(left @ n) / float(d @ n)) * width / 2 for n in map(np.asarray, self.faces))
        return first, last

    def without(self, bracket: float) -> RailRun:
        """Between the brackets that stand on both faces."""
        return replace(self, start=self.start + bracket, end=self.end - bracket)

    def brackets(self, bracket: float) -> tuple[RailRun, RailRun]:
        """The places of the brackets, each between a face and the rail's end, which is cut along it."""
        (a, b), out = self.faces, self.end - bracket
        first = replace(self, end=self.start + bracket, faces=(a, (-a[0], -a[1])))
        return first, replace(self, start=out, faces=((-b[0], -b[1]), b))

    def strip(self, width: float) -> Polygon:
        """The plan of a rail: each end cut along the face it meets, one cut an end. Where the faces meet beside the
        middle line, nearer than half its width, it ends in a point there."""
        d, left = np.asarray(self.direction), np.array([-self.direction[1], self.direction[0]])
        lean = [float(left @ n) / float(d @ n) for n in map(np.asarray, self.faces)]
        ring = []
        for aside, order in ((-width / 2, (0, 1)), (width / 2, (1, 0))):
            ends = [at - aside * k for at, k in zip((self.start, self.end), lean)]
            if ends[0] < ends[1]:
                ring += [self.point(ends[n], aside) for n in order]
            else:
                point = self.clear / (lean[1] - lean[0])
                ring.append(self.point(self.start - point * lean[0], point))
        return Polygon(ring)


def level_run(first: Polygon, last: Polygon, origin: Vector, direction: Vector) -> RailRun | None:
    """The bay between two posts along a line through both; None where they stand so close that nothing fits."""
    a, normal_a = _hit(first, origin, direction, leaving=True)
    b, normal_b = _hit(last, origin, direction, leaving=False)
    if b - a < LEAST_BAY:
        return None
    return RailRun(pair(origin), pair(direction), a, b, (normal_a, normal_b))


def _hit(post: Polygon, origin, direction, leaving: bool) -> tuple[float, tuple[float, float]]:
    """Where the line leaves (or enters) a convex polygon, and the outward normal of the face there."""
    ring = np.asarray(post.exterior.coords)
    if not post.exterior.is_ccw:
        ring = ring[::-1]
    o, d = np.asarray(origin, float), np.asarray(direction, float)
    best = None
    for p, q in itertools.pairwise(ring):
        side = (q - p) / np.hypot(*(q - p))
        normal = np.array([side[1], -side[0]])
        facing = float(normal @ d)
        if (facing if leaving else -facing) < 1e-9:
            continue
        t = (
            float(normal @ (p - o)) / facing
        )  # a convex polygon is left at the nearest such face, and entered at the farthest
        if best is None or (t < best[0] if leaving else t > best[0]):
            best = t, (float(normal[0]), float(normal[1]))
    assert best is not None  # a closed ring has a face towards every side
    return best


def _clear_of_faces(run: RailRun, guard: Guard) -> list[float]:
    """Where the balusters of a level bay begin: as `baluster_starts`, but where a post's face is skew and the first or
    last would run into it, between the faces' nearest points beside it. In the holes of a kit's rail."""
    (first, last), b = run.skew(guard.baluster), guard.baluster
    if guard.kit is not None:
        return [at - b / 2 for at in kit_places(run, guard.kit)]
    found = baluster_starts(run.clear, b, guard.gap)
    if not found or (found[0] >= first and found[-1] + b <= run.clear - last):
        return found
    clear = run.clear - first - last
    count = min(len(found), max(int(clear // b), 0))
    space = (clear - count * b) / (count + 1)
    return [first + space + k * (b + space) for k in range(count)]


def kit_places(run: RailRun, kit: GuardKit) -> list[float]:
    """Where the middles of the holes are of a kit's rail cut for a bay, from its start."""
    cut = kit_cut(run.clear, kit, max(run.skew(kit.rail_width)))
    return [cut.end + k * kit.pitch for k in range(cut.holes)]


def level_bay(
    shop: Workshop,
    guard: Guard,
    run: RailRun,
    level: float,
    stock: Callable[[str], Stock] = lumber,
    low: RailRun | None = None,
    **about: Any,
) -> list[Part]:
    """Rails, balusters and mid-bay block of one bay over a surface at `level`. The bottom rail stands on edge, along
    `low` where it ends elsewhere than the top rail. `stock` knows the sizes by name (`Parameters.stock`)."""
    top, bottom = stock(guard.top_rail), stock(guard.bottom_rail)
    wide, high = top_rail_section(guard, stock)
    z_top, z_low = level + guard.height, level + guard.bottom_gap
    d = run.direction
    if guard.kit is not None and run.clear <= guard.gap and not kit_places(run.without(guard.kit.bracket), guard.kit):
        return []  # so narrow that no hole of a kit's rail fits, and that nothing is wanted there
    heights = {"top rail": (z_top - high, z_top), "bottom rail": (z_low, z_low + bottom.width)}
    parts: list[Part] = []
    if guard.kit is not None and guard.kit.bracket:
        for (z0, z1), whole in zip(heights.values(), (run, low or run)):
            for plate in whole.brackets(guard.kit.bracket):
                parts.append(
                    shop.upright("rail bracket", bracket_stock(guard.kit), plate.strip(wide), z0, z1, d, **about)
                )
        run, low = (r.without(guard.kit.bracket) for r in (run, low or run))
    parts += [
        shop.upright("top rail", top, run.strip(wide), *heights["top rail"], d, **about),
        shop.upright("bottom rail", bottom, (low or run).strip(bottom.thickness), *heights["bottom rail"], d, **about),
    ]
    stick = baluster_stock(guard)
    for s in _clear_of_faces(run, guard):
        x, y = run.point(run.start + s + guard.baluster / 2)
        parts.append(
            shop.box_along(
                "baluster",
                stick,
                (x, y, z_low + bottom.width),
                (x, y, z_top - high),
                (*d, 0.0),
                guard.baluster,
                guard.baluster,
                **about,
            )
        )
    if guard.foot_block and guard.bottom_gap > 0 and run.clear > blocked_over(guard):
        middle = (run.start + run.end) / 2
        h, t = BLOCK_LENGTH / 2, bottom.thickness / 2
        ring = [run.point(middle + a, b) for a, b in ((-h, -t), (h, -t), (h, t), (-h, t))]
        parts.append(shop.upright("foot block", block_stock(guard, bottom), ring, level, z_low, d, **about))
    return parts
