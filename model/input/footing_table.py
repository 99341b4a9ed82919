"""The table `frame.footing`."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from .section import FOOT, Section, Size, between


class Footing(Section):
    shape: Literal["round", "square"] = Field("round", description="round pier or square pad")
    size: Size | None = Field(
        None,
        description=(
            "diameter or side; default: what the table and the load on the soil ask for, up to the next even inch"
        ),
    )
    depth: Annotated[float, *between(0, 12 * FOOT, above=True)] | None = Field(
        None,
        description=(
            "from grade at the footing down to its underside; default: local.frost_depth, "
            "42 in where that is not given and never less than 12 in"
        ),
    )
    above_grade: Annotated[float, *between(0, 4 * FOOT)] = Field(
        2.0, description="concrete shown above grade, so that the post base stays dry"
    )
    thickness: Size = Field(
        12.0, description="of a square pad; the pier above it is not poured, the post stands on the pad"
    )
