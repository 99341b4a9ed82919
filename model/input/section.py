"""What every table of the parameter file is made of: lengths within bounds, names, and texts without hidden
characters."""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationInfo, WithJsonSchema, field_validator

from ...shared.papers import sheet_papers
from ...shared.standards import editions_in_force, use_categories
from ...shared.units import parse_density, parse_length, parse_slope, parse_stress

FOOT = 12.0
_STRESS_SCHEMA = {"anyOf": [{"type": "number"}, {"type": "string"}], "description": "a stress; bare numbers are psi"}
_DENSITY_SCHEMA = {"anyOf": [{"type": "number"}, {"type": "string"}], "description": "bare numbers are pcf"}
_LENGTH_SCHEMA = {"anyOf": [{"type": "number"}, {"type": "string"}], "description": "a length; bare numbers are inches"}


def between(low: float, high: float, *, above: bool = False) -> tuple[BeforeValidator, Any, WithJsonSchema]:
    """What makes `Annotated[float, *between(0, 12)]` a length in inches between two bounds (`above`: strictly more than
    the lower one). `Any` is what pydantic's own `Field` says of itself."""
    bounds = Field(gt=low, le=high) if above else Field(ge=low, le=high)
    return BeforeValidator(parse_length), bounds, WithJsonSchema(_LENGTH_SCHEMA)


def stress(low: float, high: float) -> tuple[BeforeValidator, Any, WithJsonSchema]:
    """The same for a stress or a modulus in psi. The least keeps out a figure of MPa without its unit (our own)."""
    return BeforeValidator(parse_stress), Field(ge=low, le=high), WithJsonSchema(_STRESS_SCHEMA)


Size = Annotated[float, *between(0, 40 * FOOT, above=True)]  # a piece's own dimension
Small = Annotated[float, *between(0, 12)]  # a gap, a thickness that may be nothing
Lip = Annotated[float, *between(0, 6)]  # one piece past another
Reach = Annotated[float, *between(0, 10 * FOOT)]  # a part of the deck past what carries it
Along = Annotated[float, *between(0, 300 * FOOT)]  # from the start of an edge
Thick = Annotated[float, *between(0, 12, above=True)]
Plan = Annotated[float, *between(-300 * FOOT, 300 * FOOT)]  # a plan coordinate: beyond this no deck is meant
Span = Annotated[float, *between(0, 300 * FOOT, above=True)]
Level = Annotated[float, *between(-60 * FOOT, 60 * FOOT)]
Slope = Annotated[float, BeforeValidator(parse_slope), Field(ge=-1, le=1), WithJsonSchema(_LENGTH_SCHEMA)]
Density = Annotated[float, BeforeValidator(parse_density), Field(ge=10, le=90), WithJsonSchema(_DENSITY_SCHEMA)]
PlanPoint = tuple[Plan, Plan]
LumberSize = Annotated[str, Field(pattern=r"^(\d+|5/4)x\d+$")]
Name = Annotated[str, Field(min_length=1, max_length=80)]
if TYPE_CHECKING:
    Edition = str
    UseCategory = str
    SheetPaper = str
else:  # what may be chosen is in the data: a further row needs no code
    Edition = Literal[editions_in_force()]
    UseCategory = Literal[("", *use_categories())]
    SheetPaper = Literal[sheet_papers()]


# Unicode categories: control characters, format characters, surrogates, line and paragraph separators
_UNSEEN = ("Cc", "Cf", "Cs", "Zl", "Zp")
_TURNS = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"  # bidirectional controls (UAX 9)


def _refuse_unseen(value: object, breaks: bool) -> None:
    """Raise ValueError for a text with a character that cannot be seen or that turns its neighbours round; `breaks`
    allows line breaks."""
    if isinstance(value, str):
        for n, c in enumerate(value):
            if (unicodedata.category(c) in _UNSEEN or c in _TURNS) and not (breaks and c == "\n"):
                kind = "a line break" if c == "\n" else f"the character U+{ord(c):04X}, which cannot be seen,"
                raise ValueError(
                    f"got {kind} at place {n + 1} of the text; wanted letters, figures and signs on one line"
                )
    elif isinstance(value, (list, tuple)):
        for item in value:
            _refuse_unseen(item, breaks)
    elif isinstance(value, dict):
        for key in value:
            _refuse_unseen(key, False)


class Section(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, validate_default=True)

    @field_validator("*", mode="after")
    @classmethod
    def _plain_text(cls, value, info: ValidationInfo):
        _refuse_unseen(value, info.field_name in ("address", "notes"))
        return value
