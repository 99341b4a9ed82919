"""A plain deck on a ledger, high enough for its posts to be braced. Sizes are invented."""

from __future__ import annotations

from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters


def deck_of(level: float = 90, **tables) -> Deck:
    file = {
        "outline": {
            "points": [[0, 0], [206, 0], [206, 146], [0, 146]],
            "edges": ["front", "right", "back", "left"],
            "house": ["back"],
        },
        "levels": {"surface": level},
        **tables,
    }
    return build(Parameters.model_validate(file))
