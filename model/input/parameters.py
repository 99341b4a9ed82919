"""The schema of a parameter file: every key, its default and the reason for it. `plumbcut new` prints these reasons.

Lengths become inches (`shared/units.py`), slopes plain ratios. Reading a file is in `model/parameter_file.py`.
A default is what a careful builder would choose; where it comes from a published rule, the rule's data row stays the
judge (`model/rules`): a file may ask for something else, and the check says so.
"""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from ...shared.as_toml import as_toml, down_to
from ...shared.errors import DesignError
from ...shared.practice import estimate, practice
from ...shared.standards import limit
from ...shared.stock import Stock, lengths_sold, lumber
from .area_load import AreaLoad
from .built_ins import Bench, Skirting
from .connectors import Hardware
from .design_table import Design
from .footing_table import Footing
from .gaps_table import Gaps
from .guard_table import KIT_RAIL, Guard
from .house_table import House
from .lumber_grade import LumberGrade
from .makers_sheet import MakersSheet, by_the_sheet
from .outline_table import Outline
from .revision_table import Revision
from .roof_above import RoofAbove
from .section import (
    FOOT,
    Along,
    Edition,
    Level,
    Lip,
    LumberSize,
    Name,
    Plan,
    PlanPoint,
    Reach,
    Section,
    SheetPaper,
    Size,
    Slope,
    Small,
    Span,
    between,
)
from .stair_tables import Stair
from .surface_table import Surface
from .survey_tables import Survey


class Project(Section):
    name: Name = Field("Deck", description="what stands in the title block")
    number: str = Field("", max_length=40, description="your own job number")
    address: str = Field(
        "", max_length=200, description="the site, for the cover and the title block; line breaks are kept"
    )
    owner: str = Field("", max_length=80, description="for whom the deck is built")
    author: str = Field("", max_length=80, description="who drew it")
    approver: str = Field("", max_length=80, description="who released it")
    date: str = Field(
        "", max_length=20, description="date of issue; left blank when not given, so that a rebuild is identical"
    )
    revision: str = Field("A", max_length=8, description="revision letter")


class Levels(Section):
    surface: Level | None = Field(
        None,
        description=(
            "top of the finished surface above the datum; the datum is grade at the plan's origin unless you set grade;"
            " default: 1 in below house.sill"
        ),
    )
    grade: Level = Field(0.0, description="grade at the plan's origin, from the datum")
    slope_x: Slope = Field(0.0, description="rise of grade to the right of the sheet: '1/4 in per ft', '1 in 20', '5%'")
    slope_y: Slope = Field(0.0, description="rise of grade up the sheet (towards a house at the back)")


class Frame(Section):
    support: Literal["ledger", "free-standing"] | None = Field(
        None,
        description="a ledger carries the house side, or beams and posts all round; default: a ledger where the outline"
        " has a house edge and what [house] says of its wall does not speak against one",
        examples=["free-standing"],
    )
    joist: LumberSize = Field("2x8", description="joist stock")
    joist_direction: Literal["auto", "x", "y"] = Field(
        "auto",
        description="auto: square to the first house edge, or along it where surface.direction lays the boards square"
        " to it",
    )
    joist_spacing: Annotated[float, *between(4, 36)] | None = Field(
        None,
        description="on centre from the outer face of the starting rim; default: 16 in, or what the boards ask for",
        examples=[16],
    )
    ledger: LumberSize | None = Field(None, description="default: the joist's stock")
    rim_plies: int = Field(1, ge=1, le=3, description="members of the rim; each ply is a piece of its own")
    beam: LumberSize = Field("2x10", description="beam stock")
    beam_plies: int = Field(2, ge=1, le=4, description="plies of the beam")
    beam_position: Literal["under", "flush"] | None = Field(
        None,
        description=(
            "under the joists, or flush: at joist level, the joists hung on it, at free edges as the rim itself;"
            " default: under where the height leaves room for it, else flush"
        ),
        examples=["flush"],
    )
    beam_line_position: dict[str, Literal["under", "flush"]] = Field(
        default_factory=dict,
        description=(
            "the same for single beam lines: by the edge that they stand behind, by their number in beam_lines (from"
            " 1), or between for those added between the supports; an edge named here has a beam beside beam_lines too"
        ),
        examples=[{"front": "flush", "between": "under"}],
    )
    cantilever: Reach = Field(
        12.0,
        description=(
            "joists past the beam's outer face at a free edge; at most a quarter of the span behind it; none over flush"
            " beams"
        ),
    )
    beam_lines: list[Plan] | None = Field(
        None,
        description=(
            "beam centre lines instead of the automatic ones, measured along the joists from the low end of the plan"
        ),
    )
    beam_overhang: Reach | None = Field(
        None,
        description="beam past the centre of its end post; default: 12 in, less where a quarter of the span is less",
    )
    post: LumberSize = Field("6x6", description="post stock")
    beam_seat: Literal["post cap", "notched post"] = Field(
        "post cap",
        description=(
            "how a beam sits on its posts: on a cap on top, or in a notch at the upper end, bolted to what is left"
            " beside it; at mitred corners, and under flush beams, on a cap"
        ),
    )
    post_spacing: Annotated[float, *between(12, 40 * FOOT)] | None = Field(
        None,
        description=(
            "greatest distance between post centres; default: from the published beam span table, for a beam of"
            " lumber.stock from the calculation"
        ),
    )
    post_base: Lip = Field(1.0, description="stand-off of the post base above the concrete")
    knee_braces: bool | None = Field(
        None,
        description=(
            "braces from the outermost posts of a beam up to the beam; default: where such a post is"
            " longer than 24 in, unless boards at 45 degrees to the joists stiffen a deck on a ledger"
        ),
        examples=[True],
    )
    brace: LumberSize = Field("4x4", description="stock of knee braces")
    brace_leg: Annotated[float, *between(12, 72)] | None = Field(
        None,
        description=(
            "along post and beam, from their corner to the axis of a knee brace; default: 24 in, less where post or"
            " beam are too short for it"
        ),
        examples=[30],
    )
    blocking_rows: int = Field(1, ge=0, le=6, description="rows of blocking between joists in every span")
    blocking_at_beams: bool = Field(True, description="full-depth blocking over every beam, so that joists cannot roll")
    blocking_pattern: Literal["staggered", "in line"] = Field(
        "staggered", description="staggered blocks can be end-nailed"
    )
    house_gap: Annotated[float, *between(0, 36)] = Field(
        0.0, description="free-standing only: clear distance from the house edge to the wall, drawn with the house"
    )
    footing: Footing = Field(default_factory=Footing)


class Loads(Section):
    live_psf: float = Field(40.0, gt=0, le=500, description="live load, psf")
    dead_psf: float = Field(10.0, ge=0, le=200, description="dead load, psf")
    ground_snow_psf: float = Field(0.0, ge=0, le=500, description="ground snow load of the place, psf")
    soil_bearing_psf: float = Field(1500.0, gt=0, le=20000, description="presumed bearing of the soil, psf")
    roof_above: RoofAbove | None = None


class Trim(Section):
    fascia: bool = Field(True, description="cover the rim on free edges")
    thickness: Annotated[float, *between(0.25, 2)] = Field(0.75, description="of fascia, risers and skirts")
    height: Size | None = Field(None, description="of the fascia; default: the frame's depth")
    length: Annotated[float, *between(2 * FOOT, 24 * FOOT)] = Field(
        144.0, description="longest fascia board sold; joints fall on backing"
    )
    material: Literal["composite board", "pvc board", "treated lumber"] = Field(
        "composite board", description="of fascia, risers and skirts; boards and border have their own under surface"
    )


class Local(Section):
    """The place's own limits. A limit given here replaces the published one where it is tighter; the result says so."""

    profile: str | None = Field(
        None,
        max_length=200,
        description="an office's file beside this one, for every job there: its [local], [loads], [drawing], [site],"
        " [house] and [project] stand where this file says nothing, its notes before those of this file",
    )
    edition: Edition = Field("IRC 2021", description="code edition in force")
    frost_depth: Annotated[float, *between(0, 12 * FOOT)] | None = Field(None, description="frost line below grade")
    wind_exposure: Literal["B", "C", "D"] | None = Field(
        None,
        description=(
            "stated on the cover; with wind_speed_mph, wind on guards and edges is calculated for knee braces and"
            " hold-downs"
        ),
    )
    wind_speed_mph: float | None = Field(
        None, gt=0, le=300, description="basic wind speed, a gust of three seconds; stated on the cover"
    )
    guard_height: Annotated[float, *between(12, 60)] | None = Field(
        None, description="least guard height where the place asks for more"
    )
    guard_post_load_lb: float | None = Field(None, gt=0, le=2000, description="rail load where the place asks for more")
    riser_height: Annotated[float, *between(1, 20)] | None = Field(
        None, description="greatest rise where the place allows less"
    )
    tread_depth: Annotated[float, *between(4, 30)] | None = Field(
        None, description="least going where the place asks for more"
    )
    stair_width: Annotated[float, *between(6, 40 * FOOT)] | None = Field(
        None, description="least stair width where the place asks for more"
    )
    notes: list[str] = Field(
        default_factory=list, max_length=40, description="notes the local office wants on the cover"
    )


class Site(Section):
    """For the site plan, in the plan's own coordinates."""

    lot: list[PlanPoint] | None = Field(None, min_length=3, max_length=60, description="lot corners")
    house: list[PlanPoint] | None = Field(None, min_length=3, max_length=60, description="house outline")
    setbacks: dict[str, Along] = Field(
        default_factory=dict, description="required setback by lot side: front, left, right, back"
    )
    easements: list[list[PlanPoint]] = Field(
        default_factory=list, max_length=10, description="easements and septic fields, as polygons"
    )
    north: float = Field(0.0, ge=-360, le=360, description="degrees from up the sheet, clockwise")
    door: tuple[Name, Plan, Size] | None = Field(None, description="house door: edge, distance along it, width")


class Order(Section):
    kerf: Annotated[float, *between(0, 0.5)] = Field(0.125, description="saw kerf")
    end_trim: Small = Field(0.5, description="cut off each board once to square it")
    least_offcut: Reach = Field(12.0, description="shorter offcuts are waste")
    spare_lumber: float = Field(
        0.05,
        ge=0,
        lt=0.5,
        description="share of lumber lengths bought for bad ones; of each stock rounded up, 0 for none",
    )
    spare_boards: float = Field(
        0.05,
        ge=0,
        lt=0.5,
        description="share of board lengths bought for bad ones; of each stock rounded up, 0 for none",
    )
    spare_hardware: float = Field(0.0, ge=0, lt=0.5, description="share of screws, nails and supplies bought over")
    prefer: Literal["fewest boards", "least length", "least price"] = Field(
        "least length",
        description=(
            "what is made least; without a price for every length, least price falls back on least length and says so"
        ),
    )
    whole_edge: Name = Field(
        "auto",
        description=(
            "the edge whose border, fascia and nearest run are each the first piece out of a board of their own, and at"
            " which no run is ripped; auto: the longest free edge facing away from the house; none; or an edge's name"
        ),
    )
    lengths: dict[str, list[Span]] = Field(default_factory=dict, description="lengths your yard sells, by stock name")
    prices: str | None = Field(None, max_length=200, description="a price list (CSV), beside this file")


class Drawing(Section):
    paper: SheetPaper = Field("ARCH B", description="sheet size")
    units: Literal["imperial", "metric"] = Field("imperial", description="feet and inches, or millimetres")
    scale: Literal["1/2", "3/8", "1/4", "3/16", "1/8", "1:25", "1:50", "1:75", "1:100"] | None = Field(
        None,
        description="of plans and elevations, as the office asks for it: inches of paper for a foot, in a metric set a"
        " ratio; left out, the largest that fits",
        examples=["1/4"],
    )

    @model_validator(mode="after")
    def _scale_of_its_units(self):
        if self.scale is not None and (":" in self.scale) != (self.units == "metric"):
            one = 'a ratio, like "1:50"' if self.units == "metric" else 'inches for a foot, like "1/4"'
            raise ValueError(f"scale: given {self.scale}; allowed in a set of {self.units} units is {one}")
        return self

    @property
    def asked_scale(self) -> float | None:
        """Inches of deck that an inch of paper is asked to be; None where the paper decides."""
        if self.scale is None:
            return None
        one, many = self.scale.split(":" if ":" in self.scale else "/")
        return float(many) / float(one) * (1 if ":" in self.scale else 12)


class Parameters(Section):
    """One deck. Every section but outline may be left out, and levels where the house's sill is given."""

    project: Project = Field(default_factory=Project)
    revision: Revision = Field(default_factory=Revision)
    outline: Outline
    levels: Levels = Field(default_factory=Levels)
    house: House = Field(default_factory=House)
    frame: Frame = Field(default_factory=Frame)
    design: Design = Field(default_factory=Design)
    lumber: LumberGrade = Field(default_factory=LumberGrade)
    loads: Loads = Field(default_factory=Loads)
    area_load: list[AreaLoad] = Field(default_factory=list, max_length=20)
    surface: Surface = Field(default_factory=Surface)
    trim: Trim = Field(default_factory=Trim)
    stair: list[Stair] = Field(default_factory=list, max_length=12)
    guard: Guard = Field(default_factory=Guard)
    bench: list[Bench] = Field(default_factory=list, max_length=12)
    skirting: Skirting | None = None
    hardware: Hardware = Field(default_factory=Hardware)
    local: Local = Field(default_factory=Local)
    site: Site = Field(default_factory=Site)
    gaps: Gaps = Field(default_factory=Gaps)
    order: Order = Field(default_factory=Order)
    survey: Survey = Field(default_factory=Survey)
    drawing: Drawing = Field(default_factory=Drawing)
    maker: MakersSheet = Field(default_factory=MakersSheet)

    @model_validator(mode="after")
    def _by_its_maker(self):
        """What the maker's sheet says stands in the keys that the file leaves out, as if it were their default."""
        self.__dict__ |= by_the_sheet(self.maker, {"surface": self.surface, "trim": self.trim})
        return self

    def stock(self, name: str) -> Stock:
        """The stock of a size by its name: one of this file's own, else of the data. Raises InputError naming all."""
        if name == KIT_RAIL and self.guard.kit is not None:
            return self.guard.kit.rail
        return lumber(name, own={row.name: row.stock for row in self.lumber.stock})

    def longest(self, stock: Stock) -> float:
        """Inches of the longest length of a stock that the yard sells: as `order.lengths` says, else by the data;
        without either, any length."""
        return max(self.order.lengths.get(stock.name) or lengths_sold(stock), default=math.inf)

    @property
    def surface_level(self) -> float:
        """Top of the finished surface from the datum, inches: as given, else so far below the house's door sill as is
        the trade's practice. Raises DesignError where the file gives neither."""
        if self.levels.surface is not None:
            return self.levels.surface
        if self.house.sill is None:
            about = Levels.model_fields["surface"].description
            raise DesignError("levels.surface", f"is missing: {about}")
        return self.house.sill - practice("surface below a door sill")

    @property
    def free_standing(self) -> bool:
        """Whether beams and posts carry the house side too: as given, else where the house's wall, its band joist or a
        bay speaks against a ledger."""
        if self.frame.support is not None:
            return self.frame.support == "free-standing"
        return bool(self.house.against_a_ledger)

    @property
    def footing_depth(self) -> float:
        """From grade at a footing down to its underside, inches: as given, else down to the frost line and to the
        published minimum at least."""
        if self.frame.footing.depth is not None:
            return self.frame.footing.depth
        least = limit("footing_depth_below_grade_min", self.local.edition).value
        return max(
            estimate("footing depth without a frost line")
            if self.local.frost_depth is None
            else self.local.frost_depth,
            least,
        )

    @field_validator("surface")
    @classmethod
    def _gap_below_board(cls, surface: Surface) -> Surface:
        for key in ("edge_gap", "end_gap"):
            if getattr(surface, key) >= surface.board_width:
                raise ValueError(
                    f"{key} of {getattr(surface, key):g} in is not less than the board's width of"
                    f" {surface.board_width:g} in; surface.{key} = {as_toml(down_to(surface.board_width / 2))} would do"
                )
        return surface
