"""Places in front of which no post is to stand, in plan, and the posts that stand there. Inches."""

from __future__ import annotations

from collections.abc import Iterator

from shapely.geometry import Point, Polygon

from ...shared.errors import DesignError
from ..input.parameters import Parameters
from .edges import FAR, FrameOutline
from .spots import FootingSpot
from .stages import LevelPlan, Setting


def check_design(p: Parameters, outline: FrameOutline) -> None:
    """Raises DesignError, naming the key, for an edge that there is not or a stretch beyond its end, and for joists
    given both ways."""
    d, names = p.design, ", ".join(outline.names)
    if d.joists_along is not None:
        if d.joists_along not in outline:
            key = "design.joists_along"
            raise DesignError(key, f"no edge {d.joists_along!r}; the edges are {names}", (key, outline.names[0]))
        if p.frame.joist_direction != "auto":
            raise DesignError(
                "design.joists_along",
                f"the joists run along {p.frame.joist_direction} by frame.joist_direction: give one of the two",
                ("frame.joist_direction", "auto"),
            )
    for n, place in enumerate(d.no_post):
        if place.edge not in outline:
            key = f"design.no_post.{n}.edge"
            raise DesignError(key, f"no edge {place.edge!r}; the edges are {names}", (key, outline.names[0]))
        edge = outline[place.edge]
        if place.at + place.width > edge.length + 1e-6:
            key = f"design.no_post.{n}.width"
            raise DesignError(
                key,
                f"reaches {place.at + place.width:g} in along edge {edge.name}, which is {edge.length:g} in long",
                (key, edge.length - place.at) if place.at < edge.length else None,
            )


def clear_places(layout: Setting) -> Iterator[tuple[int, Polygon]]:
    """(number in the file, plan) of every stretch with all that lies before it."""
    for n, place in enumerate(layout.parameters.design.no_post):
        yield n, layout.outline[place.edge].rectangle(place.at, place.at + place.width, -FAR, FAR)


def posts_in_the_way(layout: LevelPlan) -> list[tuple[int, FootingSpot]]:
    """(number of the stretch, footing) of each post under a beam that stands before one. A beam on its footing itself
    has none there."""
    half = layout.parameters.stock(layout.parameters.frame.post).width / 2
    return [
        (n, spot)
        for n, place in clear_places(layout)
        for spot in layout.footings
        if spot.posted
        and any(
            place.intersects(Point(s.centre).buffer(half, cap_style="square")) for s in spot.stands if s.stair is None
        )
    ]
