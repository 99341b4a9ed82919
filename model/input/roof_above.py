"""The roof above the deck, from which snow drifts and slides on to it: the table `loads.roof_above`."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, Field, WithJsonSchema

from ...shared.units import parse_slope
from .section import FOOT, Name, Section, Span, between

_PITCH_SCHEMA = {"anyOf": [{"type": "number"}, {"type": "string"}], "description": "rise over run"}
Pitch = Annotated[float, BeforeValidator(parse_slope), Field(ge=0, le=10), WithJsonSchema(_PITCH_SCHEMA)]


class RoofAbove(Section):
    """The house's roof over the deck: the snow that drifts from it (ASCE 7-16 7.7) and that slides off it (7.9) comes
    on the deck beside the ground snow load, where `loads.ground_snow_psf` is given."""

    edges: list[Name] | None = Field(
        None,
        min_length=1,
        max_length=60,
        description="the deck's edges along which its eave runs; default: those that lie against the house",
        examples=[["back"]],
    )
    eave_height: Annotated[float, *between(0, 100 * FOOT, above=True)] = Field(
        description="its eave above the deck's surface", examples=["9 ft"]
    )
    length: Span = Field(
        description="of the whole roof square to the eave, as the wind blows over it: level, from eave to eave",
        examples=["30 ft"],
    )
    run: Span | None = Field(
        None, description="level, from the eave to the ridge; default: half its length", examples=["15 ft"]
    )
    pitch: Pitch = Field(description="of the roof towards the deck: '6:12', '6 in per ft'", examples=["6:12"])
    slippery: bool = Field(
        False, description="metal, glass, membrane without grit; snow then slides off a lower pitch too"
    )
    distance: Annotated[float, *between(0, 100 * FOOT)] = Field(
        0.0, description="clear in plan from the eave to those edges; 0 where it hangs over them"
    )
    flat_roof_snow_psf: float | None = Field(
        None,
        gt=0,
        le=500,
        description="flat roof snow load of that roof, psf; default: 0.7 of the ground snow load",
        examples=[21],
    )
