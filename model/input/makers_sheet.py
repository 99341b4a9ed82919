"""What the maker of the surface's boards, clips and fascia prints, entered by the builder: the tables under `maker`, or
a file of its own beside the parameter file (`surface.maker`). Nothing of it is shipped."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field, model_validator

from ...shared.as_toml import as_toml
from .section import FOOT, Lip, Section, Size, Small, Span, Thick, between


class BoardSheet(Section):
    material: Literal["composite board", "pvc board", "treated lumber"] | None = Field(
        None, description="as surface.material", examples=["composite board"]
    )
    width: Thick | None = Field(None, description="of a board, as surface.board_width", examples=[5.375])
    thickness: Annotated[float, *between(0.5, 2)] | None = Field(
        None, description="as surface.board_thickness", examples=[0.9375]
    )
    edges: list[Literal["groove", "square"]] | None = Field(
        None, min_length=1, max_length=2, description="edges sold; clips want a groove", examples=[["groove", "square"]]
    )
    lengths: list[Annotated[float, *between(2 * FOOT, 24 * FOOT)]] | None = Field(
        None, min_length=1, max_length=12, description="lengths sold", examples=[[150, 210]]
    )
    max_span: Annotated[float, *between(4, 36)] | None = Field(
        None, description="widest spacing of joists for boards square to them, as surface.max_span", examples=[16]
    )
    max_span_45: Annotated[float, *between(4, 36)] | None = Field(
        None, description="the same for boards on the skew, as surface.max_span_45", examples=[12]
    )
    overhang: Lip | None = Field(None, description="most of a board past its last bearing", examples=[2])
    edge_gap: Small | None = Field(None, description="between boards, as surface.edge_gap", examples=[0.1875])
    end_gaps: list[tuple[float, Small]] | None = Field(
        None,
        min_length=1,
        max_length=20,
        description="gap at board ends by the temperature of the day, degrees Fahrenheit, rising; between two rows in"
        " proportion",
        examples=[[[35, 0.25], [65, 0.1875], [95, 0.0625]]],
    )
    screws: int | None = Field(None, ge=1, le=6, description="in a board at each joist", examples=[2])

    @model_validator(mode="after")
    def _rising(self):
        days = [day for day, _ in self.end_gaps or ()]
        if days != sorted(set(days)):
            raise ValueError("end_gaps wants its temperatures rising, each once")
        return self

    def end_gap(self, day: float) -> float | None:
        """Inches at that temperature: between two rows in proportion, past the last as the last; None without rows."""
        rows = self.end_gaps
        if not rows:
            return None
        if day <= rows[0][0]:
            return rows[0][1]
        for (a, gap_a), (b, gap_b) in itertools.pairwise(rows):
            if day <= b:
                return gap_a + (gap_b - gap_a) * (day - a) / (b - a)
        return rows[-1][1]


class ClipSheet(Section):
    pack: int | None = Field(None, ge=1, le=10000, description="clips in a pack", examples=[140])
    covers_sq_ft: float | None = Field(None, gt=0, le=10000, description="surface that a pack does", examples=[75])
    joists_at: Annotated[float, *between(4, 36)] = Field(
        16.0, description="spacing of joists at which it does that; nearer ones take more clips"
    )


class BorderSheet(Section):
    screws: int | None = Field(None, ge=1, le=6, description="in a border at each joist", examples=[3])
    apart: Annotated[float, *between(2, 48)] | None = Field(
        None, description="most between screws along a border", examples=[14]
    )


class FasciaSheet(Section):
    thickness: Annotated[float, *between(0.25, 2)] | None = Field(
        None, description="as trim.thickness", examples=[0.6875]
    )
    heights: list[Size] | None = Field(
        None, min_length=1, max_length=12, description="widths sold", examples=[[7.25, 11.25]]
    )
    lengths: list[Span] | None = Field(None, min_length=1, max_length=12, description="lengths sold", examples=[[150]])
    screws: int | None = Field(None, ge=1, le=8, description="one over the other in each row", examples=[2])
    end: Lip = Field(2.0, description="from each end to the first row")
    apart: Annotated[float, *between(2, 48)] | None = Field(None, description="most between rows", examples=[20])


class StepSheet(Section):
    screws: int | None = Field(None, ge=1, le=8, description="in a tread or riser at each stringer", examples=[3])


class MakersSheet(Section):
    """What the maker of the surface prints, entered by the builder here, or in a file beside this one (surface.maker)
    whose tables are then [board], [clip], [border], [fascia] and [steps]. Checked on the solids."""

    board: BoardSheet = Field(default_factory=BoardSheet)
    clip: ClipSheet = Field(default_factory=ClipSheet)
    border: BorderSheet = Field(default_factory=BorderSheet)
    fascia: FasciaSheet = Field(default_factory=FasciaSheet)
    steps: StepSheet = Field(default_factory=StepSheet)


# keys of the file that say the same as the sheet, where both do: (section, key) by (table, key)
_FACTS = {
    ("board", "material"): ("surface", "material"),
    ("board", "width"): ("surface", "board_width"),
    ("board", "thickness"): ("surface", "board_thickness"),
    ("board", "max_span"): ("surface", "max_span"),
    ("board", "max_span_45"): ("surface", "max_span_45"),
    ("fascia", "thickness"): ("trim", "thickness"),
}
# keys that the builder may give otherwise: his stands, and the check says what the sheet has
_WISHES = {("board", "edge_gap"): ("surface", "edge_gap")}
_LONGEST = {("board", "lengths"): ("surface", "board_length"), ("fascia", "lengths"): ("trim", "length")}


def by_the_sheet(sheet: MakersSheet, sections: Mapping[str, Section]) -> dict[str, Section]:
    """The sections `surface` and `trim` with what the sheet says in the keys that the file leaves out.

    Raises ValueError, naming the key first, where both say what a board is and say two things.
    """
    more: dict[str, dict[str, object]] = {name: {} for name in sections}
    for (table, key), (section, own) in (_FACTS | _WISHES | _LONGEST).items():
        printed = getattr(getattr(sheet, table), key)
        if printed is None:
            continue
        of, longest = sections[section], (table, key) in _LONGEST
        value = max(printed) if longest else printed
        if own not in of.model_fields_set:
            more[section][own] = value
        elif (table, key) not in _WISHES:
            now = getattr(of, own)
            if now not in printed if longest else now != value:
                said = f"{as_toml(now)} here and {as_toml(printed)} on the maker's sheet ({table}.{key})"
                told = f"{section}.{own} is {said}: two things"
                raise ValueError(f"{told}; leave it out, or {section}.{own} = {as_toml(value)} would do")
    found = {}
    for name, values in more.items():
        if values:
            found[name] = made = sections[name].model_copy(update=values)
            made.model_fields_set.difference_update(values)
    return found
