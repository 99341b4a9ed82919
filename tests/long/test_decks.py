"""A sample of the seeded decks: no fault of the solids; a second kernel sees no overlap that the program does not."""

from __future__ import annotations

import dataclasses

import decks
import pytest

from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters

# decks with landings whose footings come near one another, on slopes and on odd outlines
SAMPLE = (0, 5, 9, 10, 25, 26, 27, 40)


def made(seed: int) -> Deck:
    return build(Parameters.model_validate(decks.parameters(seed)))


@pytest.mark.parametrize("seed", SAMPLE)
def test_a_seeded_deck_has_no_fault_that_its_solids_show(seed):
    deck = made(seed)
    assert decks.faults(deck) == []
    assert decks.overlaps(deck) == set()


def test_the_second_kernel_sees_what_is_in_two_places():
    deck = made(SAMPLE[0])
    joist = next(p for p in deck.parts if p.role == "joist")
    x, y, z = joist.place.origin
    moved = joist.replaced(place=dataclasses.replace(joist.place, origin=(x, y, z + 1.0)))
    spoiled = Deck(deck.parameters, deck.levels, [moved if p is joist else p for p in deck.parts])
    assert any(joist.id in pair for pair in decks.overlaps(spoiled))
    assert decks.faults(spoiled)
