"""Which way joists run, where nothing but cost decides it: along either axis of the plan, by estimate, and where the
estimates lie near each other by the frames as built."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass

import numpy as np

from ...shared.errors import DesignError
from ..plan.edges import Edge
from ..plan.layout import lay_out
from ..plan.stages import LevelPlan
from .costs import Costs
from .estimate import by_estimate
from .mends import given_keys, with_keys

SURELY = 0.88  # of the cost by estimate, up to which the other way is taken unless it fails: our own
PERHAPS = 0.95  # above which it is not looked at unless the plan's own way fails: estimates err by as much; our own


@dataclass(frozen=True)
class OtherWay:
    """The plan with its joists the other way, and its cost by estimate as a share of the plan's own."""

    layout: LevelPlan
    share: float


def other_way(layout: LevelPlan, costs: Costs) -> OtherWay | None:
    """The cheapest other way by estimate. None where the file says how joists or boards run, or a single house wall
    with a ledger does: joists stand square to what carries them, unless the wall stands askew to most of the deck.
    Without a ledger boards lie along the wall all the same, and the other way is left to decks that fail their own."""
    p = layout.parameters
    walls = [e for e in layout.outline.edges if e.house]
    single = bool(walls) and not p.free_standing and all(e.parallel_to(walls[0].direction) for e in walls)
    if (
        "joist_direction" in given_keys(p)
        or p.design.joists_along
        or "direction" in p.surface.model_fields_set
        or (single and not _askew(layout, walls[0]))
    ):
        return None
    own = by_estimate(layout, given_keys(p), costs)
    found: list[OtherWay] = []
    for way, axis in (("x", 0), ("y", 1)):
        if abs(layout.along[axis]) == 1.0:
            continue  # the way they run already
        with contextlib.suppress(DesignError):
            plan = lay_out(with_keys(p, {"joist_direction": way}))
            if abs(float(plan.along @ layout.along)) < 1 - 1e-6:
                found.append(OtherWay(plan, by_estimate(plan, given_keys(p), costs) / own))
    return min(found, key=lambda o: o.share, default=None)


def _askew(layout: LevelPlan, wall: Edge) -> bool:
    """Whether a wall lies askew to the axes of the plan, and most of the deck's other edges along them."""
    x, y = np.array([1.0, 0.0]), np.array([0.0, 1.0])
    others = [e for e in layout.outline.edges if not e.house]
    true = sum(e.length for e in others if e.parallel_to(x) or e.parallel_to(y))
    return not (wall.parallel_to(x) or wall.parallel_to(y)) and true > sum(e.length for e in others) / 2
