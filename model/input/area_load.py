"""Loads beside the uniform ones, each on a plan polygon of the deck: the table `area_load`."""

from __future__ import annotations

from pydantic import Field

from .section import Name, PlanPoint, Section


class AreaLoad(Section):
    """What stands on the deck beside the uniform loads, such as a tub or a planter: all that it weighs when full, on
    the plan of its feet. It is followed down to the soil, standing there or not, whichever is worse."""

    name: Name = Field(description="as drawings and checks name it", examples=["planter"])
    polygon: list[PlanPoint] = Field(
        min_length=3,
        max_length=60,
        description="its corners in the plan's coordinates, in either order",
        examples=[[[12, 12], [60, 12], [60, 36], [12, 36]]],
    )
    psf: float = Field(gt=0, le=2000, description="pounds a square foot of that polygon, full", examples=[60])
