"""Steps that go on round a corner, held against both judges as whole decks by lot are: as drawn, in a mirror, turned by
30 degrees, and on a slope. Decks and sizes are invented."""

from __future__ import annotations

import copy

import pytest
from four_ways import in_ways, nothing_found, seen

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters

SIDES = ["front", "right", "back", "left"]
SQUARE = ([[0, 0], [174, 0], [174, 138], [0, 138]], SIDES)
CLIPPED = ([[0, 0], [120, 0], [180, 60], [180, 150], [0, 150]], ["front", "clip", "right", "back", "left"])
OBTUSE = ([[0, 0], [180, 0], [255, 129.91], [0, 150]], SIDES)
SHARP = ([[0, 0], [180, 0], [105, 129.91], [0, 150]], SIDES)


def round_(*stretches: tuple[str, float], **more) -> list[dict]:
    """Stairs along edges, each as wide as given, from the corner where they meet; the first of them says so."""
    return [
        {"edge": edge, "width": width, **more, **({} if n else {"wrap": True})}
        for n, (edge, width) in enumerate(stretches)
    ]


FLUSH = {"joist": "2x8", "beam_position": "flush", "rim_plies": 2}
CORNER = round_(("front", 174), ("right", 138))
CASES = {
    "two risers": (SQUARE, 15, CORNER, {}),
    "three risers": (SQUARE, 20, CORNER, {}),
    "part of both edges": (SQUARE, 20, [{**CORNER[0], "width": 80, "at": 94}, {**CORNER[1], "width": 62, "at": 0}], {}),
    "round two corners": (SQUARE, 20, [*CORNER, {"edge": "left", "width": 138, "wrap": True}], {}),
    "both corners of a clipped one": (
        CLIPPED,
        20,
        [*round_(("front", 120), ("clip", 84.85)), {"edge": "right", "width": 90, "wrap": True}],
        {},
    ),
    "an obtuse corner": (OBTUSE, 20, round_(("front", 90), ("right", 72)), {}),
    "a sharp corner": (SHARP, 20, round_(("front", 180), ("right", 150)), {}),
    "wood, open risers, no skirts": (
        SQUARE,
        20,
        round_(("front", 174), ("right", 138), risers="open", skirts=False),
        {"surface": {"material": "treated lumber"}},
    ),
    "a wide overhang": (SQUARE, 20, CORNER, {"surface": {"overhang": 3}}),
    "flush beams, two rims": (
        SQUARE,
        22,
        CORNER,
        {"frame": {"joist": "2x8", "beam_position": "flush", "rim_plies": 2}},
    ),
    "flush beams, a sharp corner": (SHARP, 22, round_(("front", 180), ("right", 150)), {"frame": FLUSH}),
    "flush beams, an obtuse corner": (OBTUSE, 25, round_(("front", 180), ("right", 150)), {"frame": FLUSH}),
    "five risers, guarded": (SQUARE, 36, CORNER, {}),
}
CASES["an obtuse corner"][2][0]["at"], CASES["an obtuse corner"][2][1]["at"] = 90, 0


def file_of(name: str, way: str) -> dict:
    (points, edges), surface, stairs, more = copy.deepcopy(CASES[name])
    return {**seen(points, edges, surface, stairs, way), **more}


@pytest.mark.parametrize(("name", "way"), in_ways(CASES))
def test_the_steps_have_no_fault(name, way):
    file = file_of(name, way)
    deck = build(Parameters.model_validate(file))
    assert deck.roles("hip stringer")
    nothing_found(deck, file)
