"""Where the drop beside a deck or a stair asks for a guard."""

from __future__ import annotations

from ...shared.errors import DesignError
from ...shared.standards import limit
from .edges import Edge
from .spots import StairSpot
from .stages import Setting
from .stair_flights import divided, flights_and_landings


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
    """Whether a stair has guards: as the file says, or where the drop beside the edge that it leaves, beside one of its
    flights or round one of its landings passes the published trigger. All of it then has them: whoever walks up along a
    rail is not left without one half way."""
    choice = spot.parameters.guards
    if choice != "auto":
        return choice == "both"
    trigger = limit("guard_required_height_above_grade", layout.parameters.local.edition).value
    return drop_at(layout, spot.edge) > trigger or _drop_beside(layout, spot) > trigger


def _drop_beside(layout: Setting, spot: StairSpot) -> float:
    """Greatest height above grade, within the published reach, of what one walks on along a stair's flights and
    landings, inches."""
    reach = limit("guard_required_horizontal_reach", layout.parameters.local.edition).value
    risers, total = divided(layout, spot)
    flights, landings = flights_and_landings(layout, spot, risers, total / risers)
    drops = [0.0]
    for f in flights:
        beside = (-reach, 0.0, f.width, f.width + reach)
        drops += [t.top - layout.planes.grade(*f.point(t.front, s)) for t in f.treads for s in beside]
    for landing in landings:
        if not landing.on_ground:
            corners = landing.polygon.buffer(reach, join_style="mitre").exterior.coords
            drops += [landing.level - layout.planes.grade(x, y) for x, y in corners]
    return max(drops)
