"""Guard posts as they are cut: how high each has to be, the sleeve round it and what that stands on, the cap.

Plan coordinates, lengths in inches.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from shapely.geometry import Polygon

from ...shared.practice import practice
from ...shared.said import decimal, said
from ...shared.stock import Stock, lumber
from ..input.guard_table import Sleeve
from ..plan.stages import Setting
from ..solid.part import Part, Workshop

CAPS_TOUCH = 1e-6  # square inches: caps that share no more only touch
STOP_STOCK = ("1x2", "2x2", "4x4")
CAP_THICKNESS, CAP_OVER = practice("post cap thickness"), practice("post cap overhang")
LEAST_CAP_OVER = 1 / 64  # inches by which a cap stands over its post; less is cut flush with it; our own


class RailEnd(NamedTuple):
    """The end of a bottom rail: levels of its edges at a post's sleeve, and the highest of it inside the sleeve."""

    low: float
    high: float
    highest: float


@dataclass
class GuardPost:
    """A post before it is cut: how high it must be grows with what is fixed to it."""

    polygon: Polygon
    direction: tuple[float, float]
    bottom: float
    floor: float  # level of the surface or tread it rises from: a sleeve stands here
    about: dict
    top: float = -1e9
    sleeve_over: float = 0.0  # its sleeve past its top, where there is one
    face: Polygon = None  # what rails stop at
    stop: np.ndarray | None = None  # plan unit vector of the face with a stop under the sleeve, which stands on nothing
    aside: np.ndarray | None = None  # of the face that looks away from a stair's steps
    ends: list[RailEnd] = field(default_factory=list)  # the bottom rails of a stair's guards that end on it

    @property
    def sleeved(self) -> bool:
        return self.face is not self.polygon

    def under(self, end: RailEnd) -> Polygon:
        """What a bottom rail ends on: the bare post where it lies below the sleeve."""
        return self.polygon if end.highest <= self.floor else self.face

    @property
    def end(self) -> float:
        """Level of what its cap lies on: its own top, or that of the sleeve round it."""
        return self.top + (self.sleeve_over if self.sleeved else 0.0)

    def reach(self, level: float) -> None:
        self.top = max(self.top, level)


def fit_sleeves(layout: Setting, posts: list[GuardPost]) -> None:
    """What rails stop at: the sleeve, or the bare post where a neighbour stands too close for sleeves on both."""
    wall = layout.house_wall
    for post in posts:
        wide = sleeve_square(layout, post.polygon)
        crowded = wide.intersection(wall).area > 1e-6 or any(
            o is not post and sleeve_square(layout, o.polygon).intersection(wide).area > 1e-6 for o in posts
        )
        post.face = post.polygon if crowded else wide
    for post in posts:
        near = [o.face for o in posts if o is not post and o.face.distance(post.face) < 4 * CAP_OVER]
        room = [_cap_room(post.face, face) for face in near] + ([] if wall.is_empty else [post.face.distance(wall)])
        over = min([CAP_OVER, *room])
        post.about["cap_over"] = over if over >= LEAST_CAP_OVER else 0.0  # posts that touch leave rounding


def clear_rails(post: GuardPost) -> None:
    """A sleeve that would meet less than half of a bottom rail's end begins over that rail, on a stop."""
    while over := [
        e.highest for e in post.ends if post.floor < e.highest and e.high - post.floor < (e.high - e.low) / 2
    ]:
        post.floor, post.stop = max(over), post.aside


def sleeve_square(layout: Setting, polygon: Polygon) -> Polygon:
    """The outside of the sleeve round a post; the post itself where there are no sleeves."""
    sleeve = layout.parameters.guard.sleeve
    if sleeve is None:
        return polygon
    side = layout.parameters.stock(layout.parameters.guard.post).width
    return polygon.buffer((sleeve.size - side) / 2, join_style="mitre")


def cut_post(layout: Setting, shop: Workshop, post: GuardPost) -> list[Part]:
    g = layout.parameters.guard
    stock = layout.parameters.stock(g.post)
    about = {k: v for k, v in post.about.items() if k != "cap_over"}
    x, y = post.polygon.centroid.coords[0]
    side, depth = _sides(post)
    parts = [
        shop.box_along(
            "guard post", stock, (x, y, post.bottom), (x, y, post.top), (*post.direction, 0.0), side, depth, **about
        )
    ]
    if post.face is not post.polygon and g.sleeve is not None:
        inner = post.polygon.buffer((g.sleeve.size - side) / 2 - g.sleeve.wall, join_style="mitre")
        hollow = Polygon(post.face.exterior.coords, [inner.exterior.coords])
        called = said("{size} sleeve", size=decimal(g.sleeve.size, None))
        name, material = f"{g.sleeve.size:g} in sleeve", layout.parameters.trim.material
        sleeve = Stock(name, g.sleeve.wall, g.sleeve.size, material, called=called)
        parts.append(shop.upright("post sleeve", sleeve, hollow, post.floor, post.end, post.direction, **about))
        parts += _stop(shop, g.sleeve, post, (x, y), about)
    if g.cap:
        plan = post.face.buffer(post.about["cap_over"], join_style="mitre") if post.about["cap_over"] > 0 else post.face
        size = round(plan.exterior.length / 4, 6)  # caps alike are one mark, however their posts are turned
        called = said("{size} post cap", size=decimal(size, None))
        of: str = layout.parameters.trim.material if post.sleeved else stock.material  # as what it lies on
        cap = Stock(f"{size:g} in post cap", CAP_THICKNESS, size, of, called=called)
        parts.append(shop.upright("post cap", cap, plan, post.end, post.end + CAP_THICKNESS, post.direction, **about))
    return parts


def _cap_room(face: Polygon, other: Polygon) -> float:
    """How far the caps of two posts may pass their faces: half of what is between them, less where corners of turned
    ones would meet."""
    half = face.distance(other) / 2
    wide, beside = (f.buffer(half, join_style="mitre") for f in (face, other))
    return half if wide.intersection(beside).area < CAPS_TOUCH else half / math.sqrt(2)


def _stop(shop: Workshop, sleeve: Sleeve, post: GuardPost, centre: tuple[float, float], about: dict) -> list[Part]:
    """A strip across the post's outer face, on which a sleeve stands that nothing else is under: the thinnest that
    reaches past the gap round the post under the sleeve's wall."""
    side, depth = _sides(post)
    gap = sleeve.size / 2 - sleeve.wall - depth / 2
    stock = next((s for s in map(lumber, STOP_STOCK) if s.thickness > gap + sleeve.wall / 2), None)
    if post.stop is None or stock is None:
        return []
    x, y = np.asarray(centre) + post.stop * (depth + stock.thickness) / 2
    z, (dx, dy) = post.floor - stock.width / 2, np.asarray(post.direction) * side / 2
    start, end = (x - dx, y - dy, z), (x + dx, y + dy, z)
    return [shop.box_along("sleeve stop", stock, start, end, (0.0, 0.0, 1.0), stock.width, stock.thickness, **about)]


def _sides(post: GuardPost) -> tuple[float, float]:
    """A post's size along its direction and square to it: the stock's, or what was measured where it stands."""
    ring, d = np.asarray(post.polygon.exterior.coords), np.asarray(post.direction)
    return float(np.ptp(ring @ d)), float(np.ptp(ring @ np.array([-d[1], d[0]])))
