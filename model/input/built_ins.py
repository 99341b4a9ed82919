"""What is built onto a deck that stands by itself: the tables under `bench`."""

from __future__ import annotations

from pydantic import Field

from .section import FOOT, Lumber, Name, Section, Small, Thick, between


class Bench(Section):
    """A seat of boards along an edge, on frames that stand on the surface."""

    edge: Name = Field(description="the outline edge it stands along")
    at: between(0, 300 * FOOT) | None = Field(
        None,
        description=(
            "from the start of that edge (walking the outline counter-clockwise) to the bench's near end; default: as"
            " long as the edge has room for"
        ),
    )
    length: between(12, 300 * FOOT) | None = Field(None, description="along the edge; default: all there is room for")
    inside: Small | None = Field(
        None, description="from the frame's outer face to the seat's back; default: clear of rim and guard posts"
    )
    height: between(10, 30) = Field(18.0, description="of the seat above the surface; common practice, no source")
    boards: int = Field(3, ge=1, le=8, description="seat boards side by side, of the surface's boards")
    gap: Small = Field(0.25, description="between seat boards")
    frame: Lumber = Field("2x4", description="stock of legs and cross pieces")
    frame_spacing: between(8, 48) = Field(16.0, description="greatest distance of frames on centre, inches")
    overhang: Thick = Field(3.0, description="of the seat boards past the end frames")
