"""The frame chosen where a file leaves it out: what had to change did, what the file gives stays, nothing cheaper
passes.

The decks are invented. That nothing cheaper passes is held against a search through every combination.
"""

from __future__ import annotations

import itertools

import pytest
from conftest import PARAMS

from plumbcut.model.deck import build
from plumbcut.model.design.costs import Costs
from plumbcut.model.design.designed import designed
from plumbcut.model.design.mends import faults
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.parameter_file import read
from plumbcut.model.structure.structure import analyse

SIDE_STAIRS = {
    "outline": {"width": 150, "depth": 139},
    "levels": {"surface": 44},
    "stair": [{"edge": "left", "width": 48}],
}
AS_IT_LIES = {"frame": {"cantilever": 12.0}}  # the beam stays where it lies
POINTED = {"outline": {"points": [[0, 0], [140, -60], [280, 0], [280, 150], [0, 150]], "house": ["e4"]}}


def made(file: dict, **frame):
    return designed(Parameters.model_validate(file | ({"frame": frame} if frame else {})))


def test_a_frame_that_is_met_stays_as_it_is():
    for name in ("terrace", "hillside"):
        parameters = read(PARAMS / f"{name}.toml")
        found = designed(parameters)
        assert (found.built, found.chosen, found.faults) == (1, (), [])
        assert found.deck.parameters is parameters


def test_a_rim_under_a_side_stair_is_doubled():
    plain = Parameters.model_validate(SIDE_STAIRS | AS_IT_LIES)
    assert {m.kind for m, _ in faults(analyse(build(plain)).results)} == {"rim"}
    found = made(SIDE_STAIRS | AS_IT_LIES)
    assert {c.key: c.value for c in found.chosen} == {"rim_plies": 2}
    assert not found.faults and any("rim_plies" in str(n) for n in found.deck.notes)


def test_what_the_file_gives_stays():
    found = made(SIDE_STAIRS, rim_plies=1)
    assert found.deck.parameters.frame.rim_plies == 1
    assert "rim_plies" not in {c.key for c in found.chosen}


def test_a_cantilever_past_a_quarter_of_a_slanted_span_is_shortened():
    """IRC R507.6: a joist overhangs at most a quarter of the span behind it, and the span is the joist's own."""
    found = made(POINTED | {"levels": {"surface": 44}})
    assert {c.key for c in found.chosen} == found.deck.chosen == {"cantilever"} and not found.faults
    assert 0 < found.deck.parameters.frame.cantilever < 12


@pytest.mark.parametrize("file", [SIDE_STAIRS, SIDE_STAIRS | {"stair": [], "outline": {"width": 110, "depth": 140}}])
def test_nothing_cheaper_passes(file):
    found = made(file | AS_IT_LIES)
    passing = []
    for joist, spacing, plies in itertools.product(("2x8", "2x10", "2x12"), (16.0, 12.0), (1, 2)):
        frame = {"joist": joist, "joist_spacing": spacing, "rim_plies": plies, **AS_IT_LIES["frame"]}
        deck = build(Parameters.model_validate(file | {"frame": frame}))
        if not faults(analyse(deck).results):
            passing.append(Costs().of_deck(deck))
    assert Costs().of_deck(found.deck) == pytest.approx(min(passing))


def test_a_key_is_taken_further_than_one_value():
    """Boards of a deck 15 ft deep between one beam and the house ask for deeper joists twice over, where no beam may
    be added."""
    found = made(
        {"outline": {"width": 130, "depth": 184}, "levels": {"surface": 44}},
        beam_lines=[8.0],
        joist_spacing=16.0,
        rim_plies=1,
    )
    assert found.deck.parameters.frame.joist == "2x12"


WIDE_STAIR = {
    "outline": {"width": 210, "depth": 129},
    "levels": {"surface": 38},
    "stair": [{"edge": "front", "width": 200}],
}


def test_footings_are_as_large_as_the_finished_load_asks_for():
    """IRC 2018 Table R507.3.1 (from memory): 25 in round for up to 100 sq ft on 1,500 psf; half of the stair's flight
    comes to the 24 in that the deck alone asks for, and footings are of even inches."""
    found = made(WIDE_STAIR)
    assert not found.faults and {c.key: (c.instead, c.value) for c in found.chosen}["footing.size"] == (24, 26)
    assert [min(p.box[1, :2] - p.box[0, :2]) for p in found.deck.roles("footing")] == pytest.approx([26] * 3)


def test_a_footing_size_that_the_file_gives_stays():
    found = made(WIDE_STAIR, footing={"size": 24}, beam="2x12")
    assert found.deck.layout.footing_size == 24 and "footing.size" not in {c.key for c in found.chosen}
    assert found.faults or found.chosen  # what they carry is less, or it is said
