"""What of a deck stands already, where a file holds a survey of its frame: nobody buys or cuts it again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeVar

from ..deck import Deck
from ..input.surveyed import surveyed
from ..measuring.contacts import Contact
from ..measuring.measure import Measured
from ..plan.joist_plan import measured_post
from ..plan.spots import UNDER_JOINTS
from ..solid.part import Part
from ..solid.roles import in_group

# the frame and what carries it: where its joists are measured, these stand under and round them
OF_THE_FRAME = in_group("footings", "frame")
_Piece = TypeVar("_Piece", Part, Measured)
MEASURED_THERE = 1.0  # square inches that a guard post shares with one that was measured


def standing(deck: Deck) -> frozenset[str]:
    """The ids of the pieces that stand: of the deck's frame where its joists were measured, without what goes beside
    them for the surface, and the guard posts that were measured. A stair's frame is built after it."""
    stands = surveyed(deck.parameters)
    if stands is None:
        return frozenset()
    found = set[str]()
    if stands.joists:
        found |= {p.id for p in deck.roles(*OF_THE_FRAME) if p.stair is None and p.where != UNDER_JOINTS}
    places = [measured_post(deck.layout, post) for post in stands.posts]
    posts = deck.roles("guard post") if places else ()
    found |= {p.id for p in posts if any(p.footprint.intersection(q).area > MEASURED_THERE for q in places)}
    return frozenset(found)


def still_to_join(contacts: Iterable[Contact], stands: frozenset[str]) -> list[Contact]:
    """The contacts in which one piece at least is new: what joins two that stand is there."""
    return [c for c in contacts if not (c.a.id in stands and c.b.id in stands)]


def new_of(parts: Sequence[_Piece], stands: frozenset[str]) -> list[_Piece]:
    """The pieces, or their measurements, that do not stand."""
    return [p for p in parts if p.id not in stands]
