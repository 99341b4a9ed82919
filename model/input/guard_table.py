"""The table `guard`: its height, posts, rails and balusters, and the kit that its rails come as."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from ...shared.as_toml import as_toml
from ...shared.said import said, size
from ...shared.stock import KIT, Stock
from .section import FOOT, Lip, LumberSize, Name, Section, Size, Small, Span, Thick, between

KIT_RAIL = "kit rail"  # the name under which `Parameters.stock` knows the rail of the kit
# what a kit settles, so that a file that gives both says two things
_ALIKE = 1e-9
_OF_LUMBER = ("top_rail", "bottom_rail", "top_rail_lies", "foot_block")


class Sleeve(Section):
    size: Thick = Field(4.5, description="outside of the hollow sleeve")
    wall: Annotated[float, *between(0.05, 0.5)] = Field(0.25, description="thickness of its wall")
    length: Size = Field(40.0, description="cut length above the surface; common practice, 4 in more than the guard")


class KitRail(Section):
    """Rails of a length sold, with holes at a fixed pitch: as their maker's sheet has it."""

    rail_lengths: list[Span] = Field(min_length=1, max_length=12, description="lengths sold", examples=[[70, 94]])
    pitch: Annotated[float, *between(1, 24)] = Field(
        description="from the middle of one hole to the next, along the rail", examples=[4.75]
    )
    hole: Annotated[float, *between(0.25, 4)] = Field(description="size of a hole, along the rail", examples=[1.25])
    least_end: Annotated[float, *between(0, 24, above=True)] = Field(
        description="least distance from the middle of the last hole to the rail's end", examples=[1.875]
    )
    first_hole: Annotated[float, *between(0, 24, above=True)] | None = Field(
        None,
        description="from the end of a rail as sold to the middle of its first hole; default: as many holes as leave"
        " least_end at both ends, those alike",
        examples=[3.5],
    )

    @model_validator(mode="after")
    def _apart(self):
        if self.hole >= self.pitch:
            raise ValueError(f"hole of {self.hole:g} in is not less than the pitch of {self.pitch:g} in")
        if self.first_hole is not None and self.first_hole < self.hole / 2 - _ALIKE:
            raise ValueError(
                f"first_hole of {self.first_hole:g} in lies nearer to the rail's end than half its hole of"
                f" {self.hole:g} in; first_hole = {as_toml(self.hole / 2)} would do"
            )
        return self


class StairKit(KitRail):
    """The kit's rails for stairs: lengths, pitch, holes and ends along the rake."""


class GuardKit(KitRail):
    """Rails bought as a kit, level and on stairs, by the maker's sheet: the builder enters its numbers, none is
    shipped. What stands here goes before the guard's own rails."""

    rail_width: Thick = Field(description="of both rails, across the guard", examples=[1.75])
    rail_depth: Thick = Field(description="of both rails, top to bottom", examples=[2.75])
    bracket: Annotated[float, *between(0, 2)] = Field(
        0.0, description="what a bracket takes between a post's face and the rail's end"
    )
    top: Annotated[float, *between(12, 60)] = Field(
        description="top of the top rail above the surface, as guard.height", examples=[36.5]
    )
    bottom: Small = Field(
        description="underside of the bottom rail above the surface, as guard.bottom_gap", examples=[2.75]
    )
    post_height: Annotated[float, *between(12, 96)] | None = Field(
        None, description="top of a post above the surface; default: top and guard.post_above", examples=[39.5]
    )
    sleeve_sold: Size | None = Field(None, description="length of a sleeve as sold", examples=[51])
    sleeve_cut: Size | None = Field(
        None, description="length that a sleeve of a level guard is cut to, as guard.sleeve.length", examples=[41.5]
    )
    foot_block_over: Annotated[float, *between(0, 20 * FOOT)] = Field(
        0.0, description="a section longer than this has a foot block; 0: every section"
    )
    foot_block_height: Small | None = Field(
        None, description="greatest height of a foot block on a level guard", examples=[3.25]
    )
    rails_in_pack: int = Field(1, ge=1, le=100, description="rails of one length in a pack")
    balusters_in_pack: int = Field(1, ge=1, le=1000, description="balusters in a pack")
    brackets_in_pack: int = Field(1, ge=1, le=1000, description="brackets in a pack")
    foot_blocks_in_pack: int = Field(1, ge=1, le=1000, description="foot blocks in a pack")
    stairs: StairKit | None = None

    @property
    def rail(self) -> Stock:
        """Its thickness lies across the guard, its width stands up."""
        wide, deep = size(self.rail_width), size(self.rail_depth)
        name = f"kit rail {self.rail_width:g} x {self.rail_depth:g} in"
        return Stock(name, self.rail_width, self.rail_depth, KIT, called=said("kit rail {w} x {d}", w=wide, d=deep))


class Guard(Section):
    edges: list[Name] | None = Field(
        None, description="edges to guard; default: every free edge from which the drop within 36 in is more than 30 in"
    )
    height: Annotated[float, *between(12, 60)] = Field(36.0, description="top of the top rail above the surface")
    post: LumberSize = Field("4x4", description="guard post stock; bolted inside the rim between blocks")
    post_spacing: Annotated[float, *between(24, 12 * FOOT)] = Field(
        72.0, description="greatest distance between post centres"
    )
    post_above: Annotated[float, *between(0, 24)] = Field(4.0, description="post above the top rail")
    top_rail: LumberSize = Field("2x4", description="stock of the top rail, cut between the posts")
    top_rail_lies: Literal["flat", "on edge"] | None = Field(
        None,
        description="how the top rail lies; default: flat, which takes a push outwards on its width, or on edge where"
        " it is wider than its post or its half of a post that two flights share",
    )
    bottom_rail: LumberSize = Field("2x4", description="stock of the rail under the balusters, on edge")
    bottom_gap: Small = Field(3.5, description="surface to the underside of the bottom rail; under the sphere's limit")
    baluster: Annotated[float, *between(0.25, 4)] = Field(1.5, description="square size of a baluster")
    gap: Annotated[float, *between(0.5, 12)] = Field(
        3.75, description="greatest clear opening between balusters; kept under the 4 in sphere"
    )
    foot_block: bool = Field(
        True, description="a block under the bottom rail at mid-bay where the bay is longer than 60 in"
    )
    sleeve: Sleeve | None = Field(None, description="cover the posts with sleeves")
    cap: bool = Field(True, description="a cap on every post")
    handrail_size: Annotated[float, *between(0.5, 3)] = Field(1.5, description="square graspable rail with eased edges")
    handrail_height: Annotated[float, *between(20, 48)] = Field(
        36.0, description="top of the handrail above the nosing line"
    )
    handrail_clearance: Lip = Field(1.5, description="clear between handrail and guard")
    kit: GuardKit | None = None

    @model_validator(mode="after")
    def _by_its_kit(self):
        """What the kit settles stands in the guard's own keys too, as if it were their default."""
        kit, given = self.kit, self.model_fields_set
        if kit is None:
            return self
        for key in _OF_LUMBER:
            if key in given:
                raise ValueError(f"{key} is of rails cut from lumber; with guard.kit leave it out")
        own = {"height": kit.top, "bottom_gap": kit.bottom}
        if kit.post_height is not None:
            own["post_above"] = kit.post_height - kit.top
        told = {"height": "top", "bottom_gap": "bottom", "post_above": "post_height"}
        for key, value in own.items():
            if key in given and abs(getattr(self, key) - value) > _ALIKE:
                at = f"{key} of {getattr(self, key):g} in and kit.{told[key]} say two things"
                raise ValueError(f"{at}; leave it out, or guard.{key} = {as_toml(value)} would do")
        if kit.post_height is not None and kit.post_height < kit.top:
            raise ValueError(f"kit.post_height of {kit.post_height:g} in is under kit.top of {kit.top:g} in")
        if "baluster" in given and self.baluster > kit.hole + _ALIKE:
            raise ValueError(
                f"baluster of {self.baluster:g} in does not go into kit.hole of {kit.hole:g} in;"
                f" leave it out, or guard.baluster = {as_toml(kit.hole)} would do"
            )
        self.__dict__ |= own | {"top_rail": KIT_RAIL, "bottom_rail": KIT_RAIL, "top_rail_lies": "on edge"}
        if "baluster" not in given:
            self.__dict__["baluster"] = kit.hole
        if kit.sleeve_cut is not None or kit.sleeve_sold is not None:
            self._sleeve_of(kit, self.sleeve or Sleeve())
        return self

    def _sleeve_of(self, kit: GuardKit, sleeve: Sleeve) -> None:
        """Of the kit's length, and as `guard.sleeve` has it else."""
        cut = sleeve.length if kit.sleeve_cut is None else kit.sleeve_cut
        if "length" in sleeve.model_fields_set and abs(sleeve.length - cut) > _ALIKE:
            raise ValueError(
                f"sleeve.length of {sleeve.length:g} in and kit.sleeve_cut say two things; leave it out,"
                f" or guard.sleeve.length = {as_toml(cut)} would do"
            )
        if kit.post_height is not None and cut < kit.post_height:
            raise ValueError(f"kit.sleeve_cut of {cut:g} in ends under kit.post_height of {kit.post_height:g} in")
        made = sleeve.model_copy(update={"length": cut})
        made.model_fields_set.discard("length")
        self.__dict__["sleeve"] = made
