"""What is built onto a deck that stands by itself: the tables under `bench` and
`skirting`."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from .section import FOOT, Along, LumberSize, Name, Section, Size, Small, Thick, between


class Bench(Section):
    """A seat of boards along an edge, on frames that stand on the surface."""

    edge: Name = Field(description="the outline edge it stands along", examples=["left"])
    at: Along | None = Field(
        None,
        description=(
            "from the start of that edge (walking the outline counter-clockwise) to the bench's near end; default: as"
            " long as the edge has room for"
        ),
        examples=[24.0],
    )
    length: Annotated[float, *between(12, 300 * FOOT)] | None = Field(
        None, description="along the edge; default: all there is room for", examples=[60.0]
    )
    inside: Small | None = Field(
        None,
        description="from the frame's outer face to the seat's back; default: clear of rim and guard posts",
        examples=[6.0],
    )
    height: Annotated[float, *between(10, 30)] = Field(
        18.0, description="of the seat above the surface; common practice, no source"
    )
    boards: int = Field(3, ge=1, le=8, description="seat boards side by side, of the surface's boards")
    gap: Small = Field(0.25, description="between seat boards")
    frame: LumberSize = Field("2x4", description="stock of legs and cross pieces")
    frame_spacing: Annotated[float, *between(8, 48)] = Field(
        16.0, description="greatest distance of frames on centre, inches"
    )
    overhang: Thick = Field(3.0, description="of the seat boards past the end frames")


class Skirting(Section):
    """Upright boards from the frame down to the ground, on rails; a stretch of them comes off to let one under."""

    edges: list[Name] | None = Field(
        None, description="outline edges; default: all that do not lie against the house", examples=[["front", "left"]]
    )
    width: Size = Field(5.5, description="of a board; the two at the ends of a stretch are ripped alike")
    thickness: Annotated[float, *between(0.25, 2)] | None = Field(
        None, description="of a board; default: as trim.thickness", examples=[0.75]
    )
    gap: Small = Field(0.5, description="between boards, so that air goes through")
    clearance: Small = Field(1.0, description="from the ground to the boards' lower ends")
    rail: LumberSize = Field("2x4", description="stock of the rails, on edge")
    access_edge: Name | None = Field(
        None, description="the edge in which a panel comes off; default: no panel", examples=["left"]
    )
    access_at: Along | None = Field(
        None,
        description="from the start of that edge to the panel's near side; default: in the middle of the longest run",
        examples=[24.0],
    )
    access_width: Annotated[float, *between(12, 96)] = Field(
        30.0, description="of the panel; common practice, no source"
    )
