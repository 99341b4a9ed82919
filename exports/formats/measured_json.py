"""measured.json: one object a piece, the machine's door to the model, and the JSON Schema that says what stands in
it."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field

from ...model.measuring.measure import Measured
from ...shared.stock import weight

VERSION = 1
_DECIMALS = 6


class _Row(BaseModel):
    model_config = ConfigDict(extra="forbid")


class End(_Row):
    end: str = Field(description="A (left on the saw table) or B")
    mitre_deg: float = Field(description="turn of the blade; positive: long point on the near edge")
    bevel_deg: float = Field(description="tilt of the blade; positive: long point underneath")


class NotchRow(_Row):
    start_in: float = Field(description="from end A's tip along the piece")
    width_in: float
    depth_in: float
    edge: str = Field(description="near, far, top, bottom or end")
    out_of_end: str = Field(description="A or B where the notch runs out of that end, else empty")


class Piece(_Row):
    id: str
    mark: str = Field(description="shared by identical pieces")
    role: str
    group: str
    stock: str
    material: str
    where: str
    volume_in3: float
    weight_lb: float
    surface_in2: float
    top_area_in2: float = Field(description="of faces that look up")
    length_in: float = Field(description="greatest length along the long axis")
    long_point_in: float = Field(
        description="longest of the four long edges; tip to tip where two cuts of an end meet between them"
    )
    short_point_in: float = Field(description="shortest of the four long edges")
    width_in: float
    thickness_in: float
    rip_in: float | None = Field(description="width where narrower than the stock")
    ends: list[End]
    notches: list[NotchRow]
    axis: tuple[float, float, float] = Field(description="unit vector from end A to end B, world")
    box_low_in: tuple[float, float, float]
    box_high_in: tuple[float, float, float]
    carried_by: list[str] = Field(description="ids of the pieces it rests or hangs on")


class MeasuredFile(_Row):
    """Everything measured off the solids of one deck. Inches, pounds, degrees; x right on the sheet, y up it, z up."""

    schema_: str = Field(alias="$schema")
    version: int
    pieces: list[Piece]


def measured_rows(measured: Iterable[Measured]) -> list[dict]:
    """One dictionary a piece, as `Piece` describes it."""
    shared: dict[int, dict] = {}
    rows = []
    for m in measured:
        if id(m.sizes) not in shared:
            shared[id(m.sizes)] = _sizes(m)
        rows.append(
            {
                "id": m.id,
                "mark": m.mark,
                "role": m.role,
                "group": m.group,
                "stock": m.stock.name,
                "material": m.stock.material,
                "where": m.part.where,
                **shared[id(m.sizes)],
                "weight_lb": _r(weight(m.stock, m.volume)),
                "top_area_in2": _r(m.top_area),
                "axis": [_r(x) for x in m.axis.tolist()],
                "box_low_in": [_r(x) for x in m.box[0].tolist()],
                "box_high_in": [_r(x) for x in m.box[1].tolist()],
                "carried_by": list(m.carried_by),
            }
        )
    return rows


def _sizes(m: Measured) -> dict:
    s = m.sizes
    return {
        "volume_in3": _r(s.volume),
        "surface_in2": _r(s.surface),
        "length_in": _r(s.length),
        "long_point_in": _r(s.long_point),
        "short_point_in": _r(s.short_point),
        "width_in": _r(s.width),
        "thickness_in": _r(s.thickness),
        "rip_in": None if s.rip is None else _r(s.rip),
        "ends": [{"end": c.end, "mitre_deg": _r(c.mitre), "bevel_deg": _r(c.bevel)} for c in s.cuts],
        "notches": [
            {
                "start_in": _r(n.start),
                "width_in": _r(n.width),
                "depth_in": _r(n.depth),
                "edge": n.edge,
                "out_of_end": n.corner,
            }
            for n in s.notches
        ],
    }


def _r(value: float) -> float:
    return round(float(value), _DECIMALS) + 0.0


def write_measured(measured: Iterable[Measured], path: Path) -> None:
    """measured.json: a piece a line, so that two builds can be compared line by line."""
    head = f'{{"$schema": "measured.schema.json", "version": {VERSION}, "pieces": ['
    lines = ",\n".join(json.dumps(row, ensure_ascii=False, allow_nan=False) for row in measured_rows(measured))
    path.write_text(f"{head}\n{lines}\n]}}\n", encoding="utf-8")


def write_schema(path: Path) -> None:
    """The JSON Schema (draft 2020-12) of measured.json."""
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **MeasuredFile.model_json_schema(by_alias=True),
    }
    path.write_text(json.dumps(schema, indent=1) + "\n", encoding="utf-8")
