"""What the builder says of bought hardware, off the makers' sheets: the table `hardware`. Nothing of it is shipped."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from .section import Section, between


class Hardware(Section):
    """Allowable loads of the connectors bought, and how the ledger is fastened; what is left out stays a demand."""

    ledger_fastener: Literal["lag screw", "bolt", "bolt with gap"] | None = Field(
        None, description="1/2 in lag screws or bolts through the ledger", examples=["lag screw"]
    )
    ledger_spacing: Annotated[float, *between(3, 60)] | None = Field(
        None, description="of those on centre, in staggered rows", examples=[12]
    )
    joist_hanger_lb: float | None = Field(
        None, gt=0, le=20000, description="allowable load of a joist hanger", examples=[800]
    )
    uplift_lb: float | None = Field(
        None, gt=0, le=20000, description="allowable uplift of a beam cap, a post base or a tie", examples=[900]
    )
    guard_post_lb: float | None = Field(
        None, gt=0, le=20000, description="allowable pull of the device behind a guard post", examples=[2000]
    )
    hold_down_lb: float | None = Field(
        None,
        gt=0,
        le=20000,
        description="allowable tension of a hold-down that ties a joist back to the house's floor",
        examples=[1500],
    )
