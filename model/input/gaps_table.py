"""The table under `gaps`: temperatures, moisture and movements that the gaps between boards are set by."""

from __future__ import annotations

from pydantic import Field

from .section import Section, Small


class Gaps(Section):
    temperature_f: float | None = Field(
        None, ge=-60, le=140, description="of boards of plastic or composite on the day of laying"
    )
    summer_f: float = Field(130.0, ge=0, le=200, description="hottest the boards get in the sun")
    winter_f: float = Field(0.0, ge=-80, le=100, description="coldest")
    limit: Small = Field(0.375, description="greatest end gap accepted in winter")
    moisture: float | None = Field(
        None, ge=4, le=40, description="percent of moisture in boards of wood on the day of laying, by a meter"
    )
    moisture_in_service: float = Field(
        12.0, ge=4, le=28, description="percent that they come to where they lie; common practice, no source"
    )
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
