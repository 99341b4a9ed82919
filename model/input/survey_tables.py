"""What was measured on the site: the tables under `survey`."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from .section import FOOT, Along, Name, Section, Size, Span, between


class SurveySide(Section):
    """One side of the frame that stands, measured along its outer face from corner to corner."""

    edge: Name = Field(description="the outline edge")
    top: Span = Field(description="length at the top of the rim")
    bottom: Span | None = Field(
        None, description="length at the bottom of the rim; unlike the top where rims are out of plumb"
    )


class SurveyDiagonal(Section):
    """A distance between two corners of the frame, at the top of the rims. A corner is named by the two edges that meet
    there."""

    start: tuple[Name, Name] = Field(description="one corner: its two edges")
    end: tuple[Name, Name] = Field(description="the other corner: its two edges")
    length: Span = Field(description="measured at the top of the rims")


class SurveyPost(Section):
    """A guard post that stands. It takes the place of the nearest one of the design along its edge."""

    edge: Name = Field(description="the outline edge it stands behind")
    at: Along = Field(
        description="from the start of that edge (walking the outline counter-clockwise) to the post's near side"
    )
    size: Size | None = Field(None, description="actual size along the edge; default: the dressed size of guard.post")
    depth: Size | None = Field(None, description="actual size square to the edge; default: as its size")
    inside: Annotated[float, *between(0, 36)] | None = Field(
        None, description="from the rim's outer face to the post's outer face; default: the rim's thickness"
    )


class SurveyJoists(Section):
    """Where the joists meet one edge: all of them, in order; the rims and the blocking under borders are not
    counted."""

    edge: Name = Field(description="a ledger or a rim across the joists")
    at: list[Along] = Field(
        min_length=1, max_length=400, description="from the start of that edge to the middle of each joist"
    )


class SurveyStair(Section):
    """The total rise at each stringer, from the finished surface down to where its foot stands."""

    stair: int = Field(ge=1, le=12, description="which stair, counted from 1 in the order of this file")
    rises: list[Annotated[float, *between(1, 40 * FOOT)]] = Field(
        min_length=2,
        max_length=60,
        description="in the order of the edge: from the right to the left of someone walking down",
    )


class Survey(Section):
    """What stands on the site, measured: surface, border, fascia, notches, stairs and guards are cut to it, while the
    permit drawings keep the design. Whatever is not measured is taken as designed."""

    tolerance: Annotated[float, *between(0, 2, above=True)] = Field(
        0.25, description="a measurement that fits the others worse than this is reported as a mistake"
    )
    side: list[SurveySide] = Field(default_factory=list, max_length=60)
    diagonal: list[SurveyDiagonal] = Field(default_factory=list, max_length=200)
    post: list[SurveyPost] = Field(default_factory=list, max_length=200)
    joists: list[SurveyJoists] = Field(default_factory=list, max_length=60)
    stair: list[SurveyStair] = Field(default_factory=list, max_length=12)

    @property
    def taken(self) -> bool:
        """Whether anything was measured."""
        return bool(self.side or self.diagonal or self.post or self.joists or self.stair)
