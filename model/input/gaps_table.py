"""The table under `gaps`: temperatures and movements that the gaps between board ends are set by."""

from __future__ import annotations

from pydantic import Field

from .section import Section, Small


class Gaps(Section):
    temperature_f: float | None = Field(None, ge=-60, le=140, description="of the boards on the day of laying")
    summer_f: float = Field(130.0, ge=0, le=200, description="hottest the boards get in the sun")
    winter_f: float = Field(0.0, ge=-80, le=100, description="coldest")
    limit: Small = Field(0.375, description="greatest end gap accepted in winter")
    coefficient: float | None = Field(
        None,
        ge=1e-7,
        le=1e-4,
        description=(
            "thermal movement printed for your surface boards, inches an inch of length a degree Fahrenheit; taken"
            " instead of the materials data, and for the trim too where it is of the same material"
        ),
    )
    trim_coefficient: float | None = Field(
        None, ge=1e-7, le=1e-4, description="the same for the fascia, where it is another board"
    )
