"""Whether the beams behind free edges stand as far in as the cantilever that the file gives."""

from __future__ import annotations

import numpy as np

from ..solid.faces import read
from ..solid.part import Part
from .check_result import Checking

CANTILEVER_GIVEN = "cantilever given in the file"
OFF_GIVEN = 0.01  # inches of rounding


def check_cantilever(c: Checking) -> None:
    """A row for each edge behind which the beam, measured from the frame's outer face to its own, stands nearer than
    the file says. No row where all stand as given, or the file gives nothing."""
    f = c.deck.parameters.frame
    if "cantilever" not in f.model_fields_set or "cantilever" in c.deck.chosen:
        return
    beams: dict[str, list[Part]] = {}
    for part in c.deck.parts:
        if part.role == "beam" and part.edge and part.stair is None and not c.deck.layout.flush_line(part.edge):
            beams.setdefault(part.edge, []).append(part)
    for name, plies in beams.items():
        inside = min(_inside(c, name, p) for p in plies)
        if inside < f.cantilever - OFF_GIVEN:
            c.add(
                CANTILEVER_GIVEN,
                "frame.cantilever of the file",
                "at least",
                inside,
                f"beam behind the {name} edge",
                tuple(p.id for p in plies),
                bound=f.cantilever,
                unit="in",
                why="no room for it further in between the beams beside it",
            )


def _inside(c: Checking, name: str, part: Part) -> float:
    """The least distance of a piece inside the line of an edge."""
    edge, m = c.deck.layout.outline[name], part.place.matrix
    corners = read(part.shape).vertices @ m[:3, :3].T + m[:3, 3]
    return float(((corners[:, :2] - np.asarray(edge.start)) @ edge.inward).min())
