"""The layers: one table (`assets/layers.csv`), and which of them a piece is drawn on in each kind of view."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

from ...model.solid.roles import ROLES

TABLE = Path(__file__).parent / "assets" / "layers.csv"

LineKind = Literal["cut", "seen", "hidden", "pattern", "fine"]
ViewKind = Literal["plan", "elevation", "section"]

# Dashes and gaps in paper inches, as ISO 128 and the usual CAD tables draw them: dash, gap, dash, gap ...
LINE_TYPES: dict[str, tuple[str, tuple[float, ...]]] = {
    "Continuous": ("Solid line", ()),
    "HIDDEN": ("Hidden __ __ __ __ __", (1 / 8, 1 / 16)),
    "DASHED": ("Dashed ____ ____ ____", (1 / 4, 1 / 16)),
    "CENTER": ("Centre ____ _ ____ _ ____", (1 / 2, 1 / 16, 1 / 8, 1 / 16)),
    "PHANTOM": ("Phantom ____ _ _ ____ _ _ ____", (1 / 2, 1 / 16, 1 / 8, 1 / 16, 1 / 8, 1 / 16)),
}

HEAVY_LINE = 0.35  # mm; text must not lie on a line this heavy or heavier


@dataclass(frozen=True)
class Layer:
    """One row of the table. `weight` in mm; `hidden` names the layer for this layer's hidden lines (may be itself)."""

    name: str
    description: str
    weight: float
    line_type: str
    colour: int
    plot: bool
    hidden: str
    spelling: str

    @property
    def dashes(self) -> tuple[float, ...]:
        return LINE_TYPES[self.line_type][1]


def _read() -> dict[str, Layer]:
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        return {
            r["layer"]: Layer(
                r["layer"],
                r["description"],
                float(r["weight"]),
                r["line_type"],
                int(r["colour"]),
                r["plot"] == "1",
                r["hidden"] or r["layer"],
                r["spelling"],
            )
            for r in rows
        }


LAYERS: dict[str, Layer] = _read()


@cache
def layer_for(role: str, kind: LineKind = "seen", view: ViewKind = "plan") -> str:
    """The layer a piece of `role` is drawn on. KeyError for a role that is not one of `solid.roles`.

    Plans: the role's own layer, or its hidden partner. Elevations: outline, fine (boards, balusters) or hidden.
    Sections: material cut, its hatching, material beyond, or hidden.
    """
    own = LAYERS[ROLES[role].layer]
    if kind == "pattern":
        return "A-SECT-PATT"
    if view == "plan":
        return own.hidden if kind == "hidden" else own.name
    if view == "elevation":
        if kind == "hidden":
            return "A-ELEV-HDLN"
        return "A-ELEV-FINE" if kind == "fine" or "fine" in ROLES[role].traits else "A-ELEV-OTLN"
    return {"cut": "A-SECT-MCUT", "hidden": "A-SECT-HDLN"}.get(kind, "A-SECT-MBND")
