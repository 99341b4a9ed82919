"""The stairs of a parameter file: where each leaves, its steps, its landings and its pad."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from .section import FOOT, Along, Lip, LumberSize, Name, Reach, Section, Size, between


class StairLanding(Section):
    after_risers: int = Field(ge=1, le=30, description="risers from the deck down to this landing")
    depth: Annotated[float, *between(12, 20 * FOOT)] = Field(36.0, description="along the line of travel")
    turn: Literal["straight", "left", "right", "back"] = Field(
        "straight",
        description="where the next flight goes, walking down; back: beside the flight above, the other way, from one"
        " platform as wide as both and the space between them",
    )
    side: Literal["left", "right"] = Field(
        "left", description="turn back only: on which hand of someone walking down the next flight lies"
    )
    space: Annotated[float, *between(0, 10 * FOOT)] | None = Field(
        None,
        description="turn back only: clear between the stringers of both flights, whose guards share a post up to two"
        " posts; default: their top rails side by side as these lie, so that a flat one takes a push outwards",
    )
    rim_plies: int = Field(1, ge=1, le=3, description="of each rim of its frame; left out: more where one is too weak")
    post_spacing: Annotated[float, *between(2 * FOOT, 20 * FOOT)] | None = Field(
        None,
        description="under its rims, on centre at most; default: under its corners, turning back in the middle too, and"
        " between where more plies do not do",
    )


class Pad(Section):
    depth: Annotated[float, *between(6, 20 * FOOT)] = Field(
        40.0, description="in the line of travel, from the last riser; a landing of 36 in then begins at the nosing"
    )
    thickness: Size = Field(
        4.0, description="of the concrete pad, where it stands on the ground; its top is at the highest grade under it"
    )
    side: Reach = Field(
        6.0, description="past the stair on each side, so that the foot posts of guards stand on it too"
    )


class Stair(Section):
    edge: Name = Field(description="the outline edge it leaves from")
    at: Along | None = Field(
        None,
        description=(
            "from the start of that edge (walking the outline counter-clockwise) to the stair's near side; default:"
            " centred"
        ),
    )
    wrap: bool = Field(
        False,
        description="true: where the stair of the next edge reaches the same corner with the same steps, they go on"
        " round it, mitred",
    )
    width: Annotated[float, *between(6, 40 * FOOT)] = Field(
        42.0, description="outer face to outer face of the stringers"
    )
    total_rise: Annotated[float, *between(1, 40 * FOOT)] | None = Field(
        None, description="measured on site; default: from grade at the foot to the surface"
    )
    kind: Literal["stringers", "box"] = Field(
        "stringers",
        description="box: each step a frame of its own, of the joists' stock, on the pad or on the step below; for one"
        " to three risers",
    )
    rise: Annotated[float, *between(1, 20)] = Field(
        7.5, description="wanted; the fewest equal rises not higher than this are taken"
    )
    going: Annotated[float, *between(4, 30)] = Field(10.5, description="run of one step, nosing to nosing")
    stringer: LumberSize = Field("2x12", description="stringer stock")
    stringer_kind: Literal["cut", "solid"] = Field(
        "cut", description="sawtooth, or solid with the treads between on cleats"
    )
    stringer_spacing: Annotated[float, *between(4, 60)] = Field(
        12.0, description="greatest distance on centre; composite treads often want 12 in or less"
    )
    tread_max_span: Annotated[float, *between(4, 48)] | None = Field(
        None,
        description="widest spacing of stringers on centre that the maker prints for the treads",
        examples=[16],
    )
    carriers: Literal["auto", "none"] = Field(
        "auto",
        description="auto: a cross piece on posts under the stringers, at half height, where they are longer than the"
        " published span",
    )
    risers: Literal["closed", "open"] = Field("closed", description="closed with a riser board, or open")
    tread: Literal["boards", "bordered"] = Field(
        "boards", description="boards across, or a front piece with mitred side returns and a rear piece between"
    )
    nosing: Lip = Field(
        1.0, description="tread past the face of the riser below; keep it equal to the surface's overhang"
    )
    side_overhang: Lip = Field(0.5, description="tread past the skirt or stringer on each side")
    skirts: bool = Field(True, description="trim on the outer stringers")
    landings: list[StairLanding] = Field(default_factory=list, max_length=4, description="between flights")
    pad: Pad = Field(default_factory=Pad)
    guards: Literal["auto", "both", "none"] = Field(
        "auto", description="auto: on both sides where the stair is more than 30 in above grade at its top"
    )
    handrail: Literal["auto", "left", "right", "both", "none"] = Field(
        "auto", description="auto: on the right going down, where there are four risers or more"
    )
