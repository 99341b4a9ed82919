"""The house as it was found: the table `house`. What its wall and its floor are made of decides before anything else
whether a ledger may hang there, how high the surface comes and how deep footings beside it go down."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from .section import FOOT, Level, Name, Plan, Reach, Section, Size, between

BAY = "bay"
EGRESS_WINDOW = "egress window"


class AtWall(Section):
    """Something in the house's wall, on it or in the ground below it: the place in front of it is kept clear. A bay is
    a piece of floor that stands out past the wall below, however small: no ledger hangs there."""

    kind: Literal["window", "egress window", "vent", "meter", "bay"] = Field(
        description="what is there; an egress window is one that people are to get out by", examples=["egress window"]
    )
    name: Name | None = Field(
        None, description="as drawings and checks name it; default: its kind", examples=["bedroom window"]
    )
    edge: Name = Field(description="the house edge of the deck that it lies behind", examples=["back"])
    at: Plan = Field(
        description="its near end, along that edge from its start (of a back edge, the right of the sheet)",
        examples=[100],
    )
    width: Size = Field(description="along the wall, of an egress window with its well", examples=[40])
    bottom: Level = Field(description="its lowest level from the datum, of a well its bottom", examples=[-20])
    top: Level = Field(description="its highest level from the datum", examples=[16])
    clear: Reach | None = Field(
        None,
        description="how far out from the wall nothing may stand; default: 36 in before an egress window or a meter,"
        " 12 in before a vent, 3 in before another window",
        examples=[36],
    )

    @model_validator(mode="after")
    def _upright(self):
        if self.top <= self.bottom:
            raise ValueError(f"top of {self.top:g} in is not above bottom of {self.bottom:g} in; wanted it higher")
        return self

    @property
    def called(self) -> str:
        return self.name or self.kind


class House(Section):
    """The house as found. What is left out is not known: siding on a solid band joist is assumed then, and the cover
    says so. Open the wall up and look."""

    wall: Literal["siding", "veneer", "masonry"] | None = Field(
        None,
        description="what the wall is at the height of the ledger: siding on a framed wall, veneer (brick or stone in"
        " front of one), or masonry that carries the house; no ledger hangs on veneer or masonry unless frame.support"
        " says so",
        examples=["siding"],
    )
    band_joist: Literal["solid", "rim board", "i-joist", "truss", "cantilevered bay"] | None = Field(
        None,
        description="what closes the floor behind the ledger: sawn lumber 2 in nominal or more, a structural rim board,"
        " an I-joist, the ends of floor trusses, or a floor that stands out past the wall below; a ledger hangs on the"
        " first two unless frame.support says so",
        examples=["solid"],
    )
    band_joist_depth: Annotated[float, *between(5, 30)] | None = Field(
        None, description="with floor: whether the ledger's fasteners meet the band joist is checked", examples=[9.25]
    )
    floor: Level | None = Field(None, description="top of the finished floor, from the datum", examples=[40])
    floor_thickness: Annotated[float, *between(0.5, 8)] | None = Field(
        None, description="finish and subfloor over the band joist; default: 1-1/2 in", examples=[1.5]
    )
    sill: Level | None = Field(
        None,
        description="top of the door's sill, from the datum; the surface is 1 in lower where levels.surface is left"
        " out",
        examples=[43],
    )
    door_swings: Literal["in", "out"] | None = Field(
        None, description="where out, over the deck, the step down from the sill may be less", examples=["in"]
    )
    footing_depth: Annotated[float, *between(0, 20 * FOOT)] | None = Field(
        None,
        description="from grade at the wall down to the underside of the house's own footing; footings beside it go"
        " down as far where frame.footing.depth is left out",
        examples=[48],
    )
    at_wall: list[AtWall] = Field(default_factory=list, max_length=40)

    @property
    def against_a_ledger(self) -> tuple[str, ...]:
        """The keys that speak against a ledger, empty where none does."""
        found = ["house.wall"] if self.wall in ("veneer", "masonry") else []
        found += ["house.band_joist"] if self.band_joist in ("i-joist", "truss", "cantilevered bay") else []
        return (*found, *(f"house.at_wall.{n}" for n, thing in enumerate(self.at_wall) if thing.kind == BAY))
