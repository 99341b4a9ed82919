"""The walking surface in a parameter file: its boards, their border, gaps and joints."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from .section import FOOT, Lip, Plan, Section, Small, Thick, between


class Border(Section):
    courses: int = Field(1, ge=0, le=4, description="boards round the edge, mitred at corners; 0 for none")
    width: Thick | None = Field(
        None,
        description="default: the board's width, or the next sold where half of that would stand out past the frame",
    )
    at_house: bool = Field(False, description="run the border along the house too")
    mitre_gap: Annotated[float, *between(0, 0.5)] = Field(0.0, description="opening left in each mitre")


class Surface(Section):
    maker: str | None = Field(
        None,
        min_length=1,
        max_length=200,
        description="the sheet of the boards' maker (TOML), beside this file: tables as under [maker]",
        examples=["board.toml"],
    )
    material: Literal["composite board", "pvc board", "treated lumber"] = Field(
        "composite board", description="of boards and border"
    )
    board_width: Thick = Field(5.5, description="dressed width of a board")
    board_thickness: Annotated[float, *between(0.5, 2)] = Field(1.0, description="dressed thickness")
    board_length: Annotated[float, *between(2 * FOOT, 24 * FOOT)] = Field(
        192.0, description="longest board sold; longer runs are split at a joist"
    )
    direction: float | None = Field(
        None, ge=-90, le=90, description="of the boards, degrees from the x axis; default square to the joists"
    )
    max_span: Annotated[float, *between(4, 36)] | None = Field(
        None,
        description="widest spacing of joists on centre that the maker prints for boards square to them",
        examples=[16],
    )
    max_span_45: Annotated[float, *between(4, 36)] | None = Field(
        None, description="the same for boards on the skew, up to 45 degrees", examples=[12]
    )
    joints: Literal["doubled", "cleat", "single"] = Field(
        "doubled",
        description=(
            "what bears the butt joints of field boards: doubled, a second joist beside the one under the joint; cleat,"
            " a short length nailed to its side; single, that joist alone, half of it less half the gap for each end"
        ),
    )
    edge_gap: Small = Field(0.25, description="between boards along their length")
    end_gap: Small = Field(0.125, description="at board ends; the gap card gives the value for the day's temperature")
    house_gap: Small = Field(0.25, description="surface to house wall, for drainage")
    border: Border = Field(default_factory=Border)
    breakers: list[Plan] = Field(
        default_factory=list,
        max_length=20,
        description="centre lines of breaker boards, measured along the boards from the low end of the plan",
    )
    overhang: Lip = Field(
        1.0, description="outer edge of the surface past the fascia (past the rim where there is none)"
    )
    edge_overhang: dict[str, Lip] = Field(default_factory=dict, description="overhang of single edges by name")
    rip: Literal["last", "share"] = Field(
        "share",
        description=(
            "last: the run against the house is ripped; share: first and last are ripped alike when a sliver would"
            " remain, or the last two where the first lies at order.whole_edge"
        ),
    )
    sliver: Small = Field(2.0, description="a rip narrower than this is a sliver")
    notch_clearance: Annotated[float, *between(0, 2)] = Field(0.25, description="round a post, on each side")
    fastening: Literal["face", "hidden"] = Field(
        "hidden", description="clips in grooves, or two screws at every crossing"
    )
