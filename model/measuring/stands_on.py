"""What stands on what, down to the ground: pieces without a path to concrete or house, bases off their footings, what
lies in the ground. Read off the solids. Inches."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import shapely

from ..solid.faces import read
from ..solid.part import Part
from ..solid.roles import ROLES, named
from ..solid.union import united
from .contacts import Contact

# concrete stands in the ground, a ledger hangs on the house
HOLDS_ITSELF = tuple(r.name for r in ROLES.values() if r.carried == ())
OF_CONCRETE, STANDS = named("concrete"), named("stands")


def loose(parts: Sequence[Part]) -> list[Part]:
    """Pieces from which no path of carriers ends at concrete or the house; those of kinds of which no carrier is said
    are not looked at here (`rules.check_roles`)."""
    carries: dict[str, list[Part]] = {}
    for p in parts:
        for i in p.carried_by:
            carries.setdefault(i, []).append(p)
    front = [p for p in parts if p.role in HOLDS_ITSELF]
    held = {p.id for p in front}
    while front:
        front = [q for p in front for q in carries.get(p.id, ()) if q.id not in held]
        held.update(p.id for p in front)
    return [p for p in parts if p.id not in held and ROLES[p.role].carried is not None]


def off_footing(parts: Sequence[Part], by: dict[int, list[Contact]]) -> list[tuple[Part, tuple[Part, ...], float]]:
    """(piece, what it stands on, how far it stands out) of bases and posts on concrete whose plan is not inside its
    top."""
    out = []
    for k, part in enumerate(parts):
        if part.role not in STANDS:
            continue
        below = [parts[c.j] for c in by[k] if c.i == k and c.kind == "bearing" and parts[c.j].role in OF_CONCRETE]
        if not below:
            continue
        top = united([p.footprint for p in below])
        ring = shapely.points(_foot(part))
        outside = float(shapely.distance(ring, top).max())
        out.append((part, tuple(dict.fromkeys(below)), outside))
    return out


def _foot(part: Part) -> np.ndarray:
    """(n, 2) corners of the piece's lowest level."""
    v = part.vertices
    return v[v[:, 2] < v[:, 2].min() + 1e-6][:, :2]


def in_ground(
    parts: Sequence[Part], grade: Callable[[float, float], float], steel: bool = False
) -> list[tuple[Part, float]]:
    """(piece, depth) of every piece of wood, or of steel, with a corner under grade.

    Corners do: grade is a plane, and the deepest place of a solid under a plane is a corner of it.
    """
    out = []
    for part in parts:
        if part.stock.material == "concrete" or (part.stock.material == "steel") != steel:
            continue
        v = read(part.shape).vertices
        if part.box[0, 2] > max(grade(x, y) for x in part.box[:, 0] for y in part.box[:, 1]):
            continue
        m = part.place.matrix
        depth = max(grade(x, y) - z for x, y, z in (v @ m[:3, :3].T + m[:3, 3]).tolist())
        if depth > 0:
            out.append((part, depth))
    return out
