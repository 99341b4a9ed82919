"""A beam beside a house that carries no ledger leaves its footings room: measured off the solids."""

import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters

BESIDE = {"outline": {"width": 190, "depth": 118}, "levels": {"surface": 44}}


@pytest.mark.parametrize(("size", "gap"), [(20, 0), (26, 0), (34, 0), (34, 3)])
def test_footings_keep_out_of_the_wall(size, gap):
    frame = {"support": "free-standing", "cantilever": 4, "footing": {"size": size}, "house_gap": gap}
    deck = build(Parameters.model_validate(BESIDE | {"frame": frame}))
    assert max(p.box[1, 1] for p in deck.roles("footing")) <= 118 + gap + 1e-6


def test_a_ledger_needs_no_room():
    deck = build(Parameters.model_validate(BESIDE | {"frame": {"cantilever": 4}}))
    (run,) = deck.layout.runs
    assert min(y for p in run.plies for _, y in p.exterior.coords) == pytest.approx(4)


def test_the_last_post_of_a_beam_that_runs_up_to_the_house_keeps_its_footing_out_of_the_wall():
    round_the_house = [[0, 0], [344, 0], [344, 320], [232, 320], [232, 131], [0, 131]]
    deck = build(
        Parameters.model_validate(
            {
                "outline": {"points": round_the_house, "house": ["e4", "e5"]},
                "levels": {"surface": 52},
                "frame": {"footing": {"size": 26}},
            }
        )
    )
    feet = [p for p in deck.roles("footing") if p.box[1, 0] < 232]
    assert feet and max(p.box[1, 1] for p in feet) <= 131 + 1e-6
