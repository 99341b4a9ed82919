"""No ball passes a guard: 4 in on the level, 4-3/8 in on a stair, 6 in through the triangle of riser, tread and bottom
rail (IRC 2021 R312.1.3 with its exceptions; from memory). Decks and sizes are invented."""

from __future__ import annotations

import pytest
from read_back import pieces
from spheres import Opening, openings

from plumbcut.exports.formats.solids import write_glb
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters

LEVEL, STAIR, TRIANGLE = 4.0, 4.375, 6.0
SIDE = {"width": 180, "depth": 156, "house": ["back"]}
DECKS = {
    "turning twice": (
        112,
        {"edge": "left", "at": 20},
        [{"after_risers": 5, "depth": 42, "turn": "left"}, {"after_risers": 7, "depth": 42, "turn": "right"}],
        7.5,
    ),
    "back": (
        120,
        {"edge": "front", "at": 30, "width": 40},
        [{"after_risers": 8, "depth": 44, "turn": "back", "side": "left"}],
        7.5,
    ),
    "straight, shallow": (66, {"edge": "front", "going": 14}, [], 5.5),
    "straight, steep": (58, {"edge": "front", "going": 10}, [], 7.75),
}


def found(name: str, folder) -> list[Opening]:
    surface, stair, landings, rise = DECKS[name]
    file = {
        "outline": SIDE,
        "levels": {"surface": surface},
        "frame": {"joist": "2x10"},
        "stair": [{**stair, "landings": landings, "rise": rise}],
    }
    write_glb(build(Parameters.model_validate(file)), folder / "model.glb")
    return list(openings(pieces(folder / "model.glb")))


@pytest.mark.parametrize("name", DECKS)
def test_no_ball_passes_a_guard(name, tmp_path):
    each = found(name, tmp_path)
    assert any(o.sloping and o.below for o in each) and any(not o.sloping for o in each)
    for o in each:
        assert o.size < (LEVEL if not o.sloping else TRIANGLE if o.below else STAIR), o


def test_the_sampling_finds_a_baluster_taken_out(tmp_path):
    """Without one baluster a ball passes at its place: the eye is not blind."""
    surface, stair, _, rise = DECKS["straight, steep"]
    deck = build(
        Parameters.model_validate({"outline": SIDE, "levels": {"surface": surface}, "stair": [{**stair, "rise": rise}]})
    )
    write_glb(deck, tmp_path / "model.glb")
    whole = pieces(tmp_path / "model.glb")
    rail = next(p for p in whole if p.role == "top rail" and abs(p.box[0, 2] - p.box[1, 2]) < 6)
    taken = min(
        (p for p in whole if p.role == "baluster"),
        key=lambda p: float(abs(p.corners.mean(axis=0)[:2] - rail.corners.mean(axis=0)[:2]).sum()),
    )
    widest = max(o.size for o in openings([p for p in whole if p is not taken]) if o.rail == rail.id)
    assert widest > LEVEL
