"""What a builder wants of the frame that is chosen for him: the table `design`."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from .section import Along, Name, Section, Size


class ClearOfPosts(Section):
    """A stretch in front of which no post stands: a door or a window below the deck."""

    edge: Name = Field(description="the edge that it is measured along", examples=["back"])
    at: Along = Field(description="from the edge's start to the near side of the stretch", examples=["4'"])
    width: Size = Field(description="of the stretch", examples=["3'"])


class Design(Section):
    """What the frame is chosen by, where the frame table leaves it out. Joists are of one size in any frame."""

    least: Literal["cost", "footings", "depth"] = Field(
        "cost",
        description=(
            "what is made least: cost, by the price list where it has all that a frame is made of, else by timber and"
            " footings; the number of footings; or the depth of the frame"
        ),
    )
    joists_along: Name | None = Field(
        None,
        description="an edge along which the joists run; default: as frame.joist_direction says",
        examples=["left"],
    )
    no_post: list[ClearOfPosts] = Field(default_factory=list, max_length=12)
