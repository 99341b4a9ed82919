"""The outline of a parameter file: a rectangle, with corners clipped where it says so, or a polygon."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Literal

from pydantic import Field, model_validator

from .section import Name, PlanPoint, Section, Span

CAN_BE_CLIPPED = ("front-right", "back-right", "back-left", "front-left")  # each after the edge that ends there
RECTANGLE = ("front", "right", "back", "left")  # the edges of an outline that is given by its width and depth
_ENDS = {
    "front": ("front-left", "front-right"),
    "right": ("front-right", "back-right"),
    "back": ("back-right", "back-left"),
    "left": ("back-left", "front-left"),
}


def edge_names(
    edges: Sequence[str] | None, points: Sequence[object] | None, clipped: Collection[str] = ()
) -> Sequence[str]:
    """The names of an outline's edges: as given, of a rectangle by its sides, with those of its `clipped` corners
    between, else numbered."""
    if edges or points is not None:
        return edges or [f"e{n + 1}" for n in range(len(points or ()))]
    return [
        name
        for side, corner in zip(RECTANGLE, CAN_BE_CLIPPED)
        for name in (side, corner)
        if name == side or name in clipped
    ]


class Clip(Section):
    """Corners of a rectangle that are cut off at 45 degrees, each by its length along both edges; the edge that comes
    of it is named front-left, front-right, back-right or back-left. Other angles: list the points."""

    front_left: Span | None = Field(None, description="left on the sheet, away from the house")
    front_right: Span | None = Field(None, description="right on the sheet, away from the house")
    back_right: Span | None = Field(None, description="right on the sheet, at the house")
    back_left: Span | None = Field(None, description="left on the sheet, at the house")

    @property
    def given(self) -> dict[str, float]:
        """What is cut off, by the name of the edge that comes of it."""
        cut = {name: getattr(self, name.replace("-", "_")) for name in CAN_BE_CLIPPED}
        return {name: length for name, length in cut.items() if length is not None}


class Taped(Section):
    """An outline as taped: corners A, B, C ... counter-clockwise, side A to B along the bottom of the sheet from left
    to right. Diagonals lie inside; those past what the triangles need are shared out, and what is off is told."""

    sides: list[Span] = Field(
        min_length=3,
        max_length=26,
        description="A to B, B to C, and so on, the last one back to A",
        examples=[["17' 6", "10' 9", "17' 6", "10' 9"]],
    )
    diagonals: list[tuple[Name, Name, Span]] = Field(
        default_factory=list,
        max_length=60,
        description="from corner, to corner, length: one for each corner past the third at least",
        examples=[[["A", "C", "20' 6-1/2"]]],
    )


class Outline(Section):
    """The plan polygon of the frame's outer faces: a rectangle (width, depth) or points, counter-clockwise."""

    width: Span | None = Field(None, description="a rectangle's size along the house (to the right on the sheet)")
    depth: Span | None = Field(None, description="a rectangle's size away from the house (up the sheet is the house)")
    points: list[PlanPoint] | None = Field(
        None, min_length=3, max_length=60, description="a polygon instead: corners, counter-clockwise, house at the top"
    )
    clip: Clip | None = None
    dxf: str | None = Field(
        None,
        max_length=200,
        description="a drawing (DXF) beside this file instead: its closed polyline, or lines that close within 1/4 in;"
        " moved so that its lowest and leftmost coordinates are 0, not turned; no arcs",
    )
    taped: Taped | None = None
    layer: Name | None = Field(None, description="of the drawing: where the outline is; default: the only closed line")
    house_layer: Name | None = Field(
        None, description="of the drawing: the line of the house; edges along it lie against the house"
    )
    lot_layer: Name | None = Field(None, description="of the drawing: the lot, in place of site.lot")
    dxf_units: Literal["in", "ft", "mm", "cm", "m"] | None = Field(
        None, description="of the drawing; default: as it says itself", examples=["ft"]
    )
    edges: list[Name] | None = Field(
        None,
        description=(
            "names of the edges in order, from the first corner on; default front, right, back, left for a rectangle,"
            " e1, e2, ... for a polygon"
        ),
    )
    house: list[Name] | None = Field(
        None, description="the edges that lie against the house; default back for a rectangle"
    )

    @model_validator(mode="after")
    def _one_form(self):
        if (self.points is None) == (self.width is None and self.depth is None):
            raise ValueError("give either width and depth, or points, or dxf, or taped")
        if self.points is None and (self.width is None or self.depth is None):
            raise ValueError("a rectangle needs both width and depth")
        if self.clipped and self.points is not None:
            raise ValueError("clip is for a rectangle: move its corners among the points instead")
        for side, (a, b) in _ENDS.items():
            size = self.depth if side in ("left", "right") else self.width
            cut = self.clipped.get(a, 0.0) + self.clipped.get(b, 0.0)
            if size is not None and cut > 0 and cut >= size:
                raise ValueError(f"clip takes {cut:g} in off the {side}, which is {size:g} in long")
        return self

    @property
    def clipped(self) -> dict[str, float]:
        return self.clip.given if self.clip is not None else {}

    @property
    def names(self) -> Sequence[str]:
        """Of the edges, in order."""
        return edge_names(self.edges, self.points, self.clipped)

    @property
    def corners(self) -> list[tuple[float, float]]:
        """The polygon's corners, counter-clockwise; of a rectangle from the one at the left of its front on. Inches."""
        if self.points is not None:
            return [(x, y) for x, y in self.points]
        w, d, cut = self.width or 0.0, self.depth or 0.0, self.clipped
        out: list[tuple[float, float]] = []
        at = {"front-right": (w, 0.0), "back-right": (w, d), "back-left": (0.0, d), "front-left": (0.0, 0.0)}
        ways = [(1, 0), (0, 1), (-1, 0), (0, -1)]  # along the edge that ends at each corner
        for (name, (x, y)), (ax, ay), (bx, by) in zip(at.items(), ways, [*ways[1:], ways[0]]):
            c = cut.get(name, 0.0)
            out += [(x - ax * c, y - ay * c), (x + bx * c, y + by * c)] if c else [(x, y)]
        first = out.pop()  # where the front begins
        return [first, *out]
