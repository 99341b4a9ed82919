"""What the frame is made of: species and grade of the tables, and sizes of the builder's own with the values given for
them; the tables `lumber` and `lumber.stock`."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from ...shared.standards import taken_as_incised
from ...shared.stock import GivenFactor, GivenValues, Stock, nominal_sizes
from .section import FOOT, Density, LumberSize, Section, UseCategory, between, stress

VALUES = ("Fb", "Fv", "Fc_perp", "Fc", "E", "Emin")


class StockRow(Section):
    """A size that your yard sells and the built-in sizes lack, with allowable design values of its own: name it
    wherever lumber is named, as in frame.joist."""

    name: LumberSize = Field(
        description="as drawings, cut list and order name it; not one of the built-in sizes", examples=["45x195"]
    )
    thickness: Annotated[float, *between(0.5, 12)] = Field(description="dressed", examples=["45 mm"])
    width: Annotated[float, *between(0.5, 24)] = Field(
        description="dressed, the larger side: the depth of a joist", examples=["195 mm"]
    )
    lengths: list[Annotated[float, *between(2 * FOOT, 60 * FOOT)]] = Field(
        min_length=1, max_length=40, description="lengths your yard sells", examples=[["3.6 m", "4.8 m", "5.4 m"]]
    )
    Fb: Annotated[float, *stress(100, 20_000)] = Field(
        description="allowable bending stress for this size: no size factor is applied; psi, or '8.0 MPa'",
        examples=["8.0 MPa"],
    )
    Fv: Annotated[float, *stress(20, 2_000)] = Field(description="allowable shear stress", examples=["0.9 MPa"])
    Fc_perp: Annotated[float, *stress(50, 5_000)] = Field(
        description="allowable compression square to the grain, under bearings", examples=["1.2 MPa"]
    )
    Fc: Annotated[float, *stress(100, 15_000)] = Field(
        description="allowable compression along the grain, for posts", examples=["7.0 MPa"]
    )
    E: Annotated[float, *stress(200_000, 5_000_000)] = Field(
        description="modulus of elasticity for deflection", examples=["11 GPa"]
    )
    Emin: Annotated[float, *stress(100_000, 5_000_000)] = Field(
        description="modulus for the stability of beams and columns", examples=["4.4 GPa"]
    )
    standard: str = Field(
        min_length=1,
        max_length=160,
        description="by which these values are allowable; cited with every check as given by you",
        examples=["EN 338 C24, allowable values by our engineer"],
    )
    adjustment_factors: list[GivenFactor] = Field(
        default_factory=list,
        description=(
            "adjustment factors that apply to these values: load duration CD, wet service CM, incising Ci, repetitive"
            " members Cr, bearing area Cb; the others are left at 1 and the calculation says so. Stability (CL, CP) is"
            " the member's own and always taken"
        ),
    )
    density: Density | None = Field(
        None,
        description="'420 kg/m3' or pounds a cubic foot; default: that of treated lumber in the materials data",
        examples=["420 kg/m3"],
    )

    @field_validator("name")
    @classmethod
    def _not_built_in(cls, name: str) -> str:
        if name in nominal_sizes():
            raise ValueError(f"got {name}, which is a built-in size; wanted a name of its own, like 45x195")
        return name

    @model_validator(mode="after")
    def _wider_than_thick(self):
        if self.width < self.thickness:
            raise ValueError(f"width of {self.width:.4g} in is less than the thickness of {self.thickness:.4g} in")
        return self

    @property
    def stock(self) -> Stock:
        """The stock, with what is given for it; treated lumber, as all sizes named by name."""
        given = GivenValues(
            tuple((name, getattr(self, name)) for name in VALUES),
            self.standard,
            tuple(sorted(set(self.adjustment_factors))),
            tuple(self.lengths),
            self.density,
        )
        return Stock(self.name, self.thickness, self.width, "treated lumber", given)


class LumberGrade(Section):
    species: Literal[
        "southern pine", "Douglas fir-larch", "hem-fir", "spruce-pine-fir", "redwood", "western cedars"
    ] = Field("southern pine", description="of the frame; the span tables are entered with it")
    grade: Literal["No.1", "No.2"] = Field("No.2", description="visual grade; the published tables are for No.2")
    incised: bool | None = Field(
        None,
        description=(
            "whether the treater's knives lower the design values; default: as the span tables take the species, true"
            " for Douglas fir-larch, hem-fir and spruce-pine-fir"
        ),
        examples=[False],
    )
    wet: bool = Field(True, description="moisture above 19 percent in service, as outdoors")
    treatment: UseCategory = Field(
        "UC4A", description="use category of treated lumber in contact with ground; empty: untreated"
    )
    stock: list[StockRow] = Field(default_factory=list, max_length=20)

    @property
    def is_incised(self) -> bool:
        """As given, else as the span tables take the species."""
        return taken_as_incised(self.species) if self.incised is None else self.incised
