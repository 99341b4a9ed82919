"""Stretches of stair headers that a beam, a post or a joist leaves without two cleats, and beams too short for two
posts. Each deck is one by lot on which the program said a fault of its own before; both judges look at it anew."""

from __future__ import annotations

from functools import cache

import decks
import pytest
from four_ways import nothing_found

from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.loose_ends import strapped_headers, touching
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.fasteners import fasteners

HEADERS = {
    1160: "a rim that slants in over all cleats but one",
    1782: "a joist right behind the rim, and a beam through the header",
    7105: "a post in the header's line, joists and a guard post behind it",
}
BEAMS = {
    8330: "a stub from a mitre to the deck's edge",
    8343: "a beam behind a short edge beside a slanted one",
    8572: "an edge that is too short for a beam between those of its neighbours",
}
BOARDS = {
    8060: "an end cut along a wall whose tip meets the next board",
    8074: "a border course between two strips",
    8444: "a board that tapers to a neck at the corner of the border",
}
CONCRETE = {8395: "a guard post beside a low flight over a footing that comes up past the pad"}
OUTLINES = {8396: "an edge so short that the band of its rim crosses itself"}
LANDINGS = {12194: "a block behind a landing's post that ran through the joist beside its rim"}
EVERY = HEADERS | BEAMS | BOARDS | CONCRETE | OUTLINES | LANDINGS


@cache
def _made(seed: int) -> Deck:
    return build(Parameters.model_validate(decks.parameters(seed)))


@pytest.mark.parametrize("seed", EVERY, ids=EVERY.get)
def test_nothing_is_found_at_short_stretches(seed: int):
    nothing_found(_made(seed), decks.parameters(seed))


@pytest.mark.parametrize("seed", HEADERS, ids=HEADERS.get)
def test_a_header_without_two_cleats_is_strapped_to_its_rim(seed: int):
    """Two straps at least, with their nails, for each such stretch, however many plies; none once cleats are what hold
    it."""
    deck = _made(seed)
    measured = measure_all(deck.parts)
    held = strapped_headers(deck.parts, touching(deck.contacts))
    bought = {h.item: h for h in fasteners(measured, deck.contacts)}
    assert held and all(deck.parts[k].role == "stair header" for k, _ in held)
    assert bought["strap tie"].count >= 2 * len(held)
    served = {m for s in bought["strap tie"].sized for m in s.serves}
    assert served == {deck.parts[k].mark for k, _ in held}
    apart = [c for c in deck.contacts if {c.a.role, c.b.role} != {"stair header", "rim"}]
    assert "strap tie" not in {h.item for h in fasteners(measured, apart)}


def test_plies_side_by_side_are_strapped_once():
    deck = _made(1160)
    headers = deck.roles("stair header")
    assert len(headers) == 2  # two plies
    assert len(strapped_headers(deck.parts, touching(deck.contacts))) == 1


def test_every_beam_stands_on_two_posts():
    for seed in BEAMS:
        deck = _made(seed)
        for beam in deck.roles("beam"):
            posts = {i for i in beam.carried_by if deck.by_id[i].role in ("post", "post base", "beam")}
            assert len(posts) >= 2, (seed, beam.id, posts)
