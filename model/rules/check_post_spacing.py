"""Guard posts no further apart than the file asks for: of every bay that rails close, of the deck, of stairs and of
landings, measured on centre along the rail."""

from __future__ import annotations

import numpy as np

from ...shared.said import Words
from ..measuring.bay_seen import way_of
from ..measuring.rail_ends import rail_ends
from ..solid.part import Part
from .check_result import Checking

AS_FAR_APART = "guard post spacing asked for"
_ASKED, _LEFT_TO_US = "the spacing of guard posts given in the file", "guard posts as they are set out; ours"


def check_post_spacing(c: Checking) -> None:
    deck = c.deck
    ends: dict[str, list[Part]] = {}
    for e in rail_ends(deck.parts, deck.touching, ("top rail",)):
        ends.setdefault(e.part.id, []).extend(p for p in e.posts if p.id not in {q.id for q in ends[e.part.id]})
    found: list[tuple[float, Words, tuple[str, ...]]] = []
    for rail in c.of("top rail"):
        posts = ends.get(rail.id, [])
        if len(posts) < 2:  # a row of its own says which end touches none
            continue
        along = way_of(rail)
        at = [float(p.vertices[:, :2].mean(axis=0) @ along) for p in posts]
        apart = (max(at) - min(at)) / float(np.hypot(*rail.axis[:2]))
        found.append((apart, rail.part.where, (rail.id, *(p.id for p in posts))))
    guard = deck.parameters.guard
    source = _ASKED if "post_spacing" in guard.model_fields_set else _LEFT_TO_US
    c.worst(AS_FAR_APART, source, "at most", found, "bays", bound=guard.post_spacing, unit="in o.c.")
