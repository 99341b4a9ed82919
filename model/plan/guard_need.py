"""Where the drop beside a deck or a stair asks for a guard."""

from __future__ import annotations

from ...shared.errors import DesignError
from ...shared.standards import limit
from .edges import Edge
from .spots import StairSpot
from .stages import Setting


def drop_at(layout: Setting, edge: Edge) -> float:
    """Greatest height of the surface above grade within the published reach of an edge, inches."""
    reach = limit("guard_required_horizontal_reach", layout.parameters.local.edition).value
    corners = [edge.point(a, -i) for a in (0.0, edge.length) for i in (0.0, reach)]
    return layout.planes.surface_top - min(layout.planes.grade(x, y) for x, y in corners)


def guard_edges(layout: Setting) -> tuple[str, ...]:
    """Names of the edges to guard: as the file says, or wherever the published trigger is passed."""
    asked = layout.parameters.guard.edges
    if asked is not None:
        for k, name in enumerate(asked):
            if name not in layout.outline:
                raise DesignError(
                    f"guard.edges.{k}", f"no edge {name!r}; the edges are {', '.join(layout.outline.names)}"
                )
            if layout.outline[name].house:
                raise DesignError(f"guard.edges.{k}", f"edge {name} lies against the house")
        return tuple(dict.fromkeys(asked))
    trigger = limit("guard_required_height_above_grade", layout.parameters.local.edition).value
    return tuple(e.name for e in layout.outline.edges if not e.house and drop_at(layout, e) > trigger)


def stair_has_guard(layout: Setting, spot: StairSpot) -> bool:
    choice = spot.parameters.guards
    if choice != "auto":
        return choice == "both"
    return (
        drop_at(layout, spot.edge) > limit("guard_required_height_above_grade", layout.parameters.local.edition).value
    )
