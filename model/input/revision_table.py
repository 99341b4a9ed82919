"""A set that is submitted again: the table `revision`."""

from __future__ import annotations

from pydantic import Field

from .section import Section


class ReviewComment(Section):
    """A comment of the plan checker on the issued set, and how this set answers it."""

    number: str = Field(min_length=1, max_length=8, description="as the checker numbers it", examples=["1"])
    sheet: str = Field("", max_length=12, description="the sheet that it is on", examples=["S-101"])
    text: str = Field(
        min_length=1, max_length=300, description="the comment", examples=["footing at the corner is too small"]
    )
    answer: str = Field(
        "",
        max_length=300,
        description="in your words; the changes of its sheet are named behind it",
        examples=["made larger"],
    )


class Revision(Section):
    """This set as a revision of one that was issued: project.revision and project.date are this set's own."""

    issued: str | None = Field(
        None,
        min_length=1,
        max_length=200,
        description=(
            "the parameter file of the issued set, beside this file: what changed since then is clouded on the sheets"
            " and listed, sheet by sheet"
        ),
    )
    text: str = Field("", max_length=60, description="what the revision table says of this set")
    comment: list[ReviewComment] = Field(default_factory=list, max_length=60)
