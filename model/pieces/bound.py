"""How many pieces a deck may have: counted on the pieces themselves, before anything is read off their solids."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from ...shared.as_toml import down_to, up_to
from ..input.parameters import Parameters
from ..plan.stages import LevelPlan
from ..solid.part import Part

MOST_PIECES = 20_000  # a deck of a large house has some 2,000; beyond this a figure has slipped
AIMED_AT = 0.95  # share of the bound that a value is chosen for: pieces do not go down quite as it goes up

ASKED_BY = {  # the key that asks for most pieces of a group of roles
    "surface": "surface.board_width",
    "frame": "frame.joist_spacing",
    "blocking": "frame.joist_spacing",
    "guards": "guard.gap",
    "footings": "frame.post_spacing",
}


def asked_for(parts: Sequence[Part]) -> dict[str, int]:
    """How many pieces there are by the key that asks for most of them; a stair's by its table."""
    return dict(Counter(ASKED_BY.get(p.group, "outline") if p.stair is None else f"stair.{p.stair}" for p in parts))


def fewer(p: Parameters, layout: LevelPlan, count: dict[str, int]) -> Iterator[tuple[str, object]]:
    """Keys with values that should leave few enough pieces, those that ask for most of them first; last a smaller
    outline."""
    total = sum(count.values())
    now = {
        "surface.board_width": p.surface.board_width,
        "frame.joist_spacing": layout.joist_spacing,
        "guard.gap": p.guard.gap,
    }
    for key in sorted(now, key=lambda k: -count.get(k, 0)):
        spared = total - AIMED_AT * MOST_PIECES
        left = count.get(key, 0) - spared
        if left > 0:
            yield key, up_to(now[key] * count[key] / left)
    longer = max(("width", "depth"), key=lambda side: getattr(p.outline, side) or 0.0)
    for share in (AIMED_AT, AIMED_AT**4):
        if p.outline.points is None:
            yield f"outline.{longer}", down_to(getattr(p.outline, longer) * share * MOST_PIECES / total)
