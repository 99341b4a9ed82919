"""Fascia beside a stair too short for a saw to hold: the stair's top riser runs on over it, mitred where it was. Decks
are invented; lengths are read off the solids."""

from __future__ import annotations

import numpy as np
import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters

SQUARE = ([[0, 0], [180, 0], [180, 150], [0, 150]], ["front", "right", "back", "left"])
CLIPPED = ([[0, 0], [120, 0], [180, 60], [180, 150], [0, 150]], ["front", "clip", "right", "back", "left"])
REFLEX = ([[0, 0], [100, 0], [100, 50], [180, 50], [180, 150], [0, 150]], ["front", "c", "d", "right", "back", "left"])
SHORTEST = 2.5  # inches: practice.csv, "shortest block"
CASES = {
    "square corners": (SQUARE, {"edge": "front", "width": 178}),
    "guarded": (SQUARE, {"edge": "front", "width": 178, "guards": "both"}),
    "box steps": (SQUARE, {"edge": "front", "width": 178, "kind": "box"}),
    "solid stringers": (SQUARE, {"edge": "front", "width": 178, "stringer_kind": "solid"}),
    "clipped corners": (CLIPPED, {"edge": "clip", "width": 83}),
    "reflex corner": (REFLEX, {"edge": "d", "width": 60, "at": 2.2}),
}


def deck_with(name: str, **stair):
    (points, edges), given = CASES[name]
    file = {
        "outline": {"points": points, "edges": edges, "house": ["back"]},
        "levels": {"surface": 21},
        "frame": {"joist": "2x8"},
        "stair": [given | stair],
    }
    return build(Parameters.model_validate(file))


def length(part) -> float:
    ring = np.array(part.footprint.minimum_rotated_rectangle.exterior.coords)
    return float(np.hypot(*np.diff(ring, axis=0).T).max())


@pytest.mark.parametrize("name", CASES)
def test_no_piece_of_fascia_is_shorter_than_a_saw_holds(name):
    deck = deck_with(name)
    assert min(length(p) for p in deck.roles("fascia")) >= SHORTEST
    assert not deck.clashes


@pytest.mark.parametrize(("name", "ends"), [("square corners", 1.0), ("guarded", 1.0), ("box steps", 1.0)])
def test_the_top_riser_runs_on_to_the_mitre(name, ends):
    """178 in of stair, an inch of rim to each side, and 3/4 in to the mitre's outer point."""
    deck = deck_with(name)
    top = [p for p in deck.roles("riser") if p.step == 1]
    low, high = min(p.box[0, 0] for p in top), max(p.box[1, 0] for p in top)
    assert low == pytest.approx(-0.75, abs=1e-6) and high == pytest.approx(180.75, abs=1e-6)
    front = [p for p in deck.roles("fascia") if p.edge == "right"]
    near = min(front, key=lambda p: p.box[0, 1])
    assert near.footprint.distance(top[-1].footprint) == pytest.approx(0, abs=1e-6)


def test_a_stretch_that_a_saw_holds_stays_fascia():
    deck = deck_with("square corners", width=174)
    assert sum(p.edge == "front" for p in deck.roles("fascia")) == 2
    assert min(p.box[0, 0] for p in deck.roles("riser") if p.step == 1) == pytest.approx(3)
