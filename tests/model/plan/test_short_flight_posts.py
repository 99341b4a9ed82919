"""Guard posts at both ends of a flight of two risers, where the stair has posts of its own at the deck."""

import itertools

import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import check_solids
from plumbcut.model.solid.part import Workshop

SHOP = Workshop()


def _built(at, post, turn, after=2):
    landing = {"after_risers": after, "turn": turn, "depth": 48}
    return build(
        Parameters.model_validate(
            {
                "outline": {"width": 150, "depth": 100},
                "levels": {"surface": 52},
                "guard": {"post": post},
                "stair": [{"edge": "right", "at": at, "width": 36, "landings": [landing]}],
            }
        ),
        shop=SHOP,
    )


@pytest.mark.parametrize("turn", ["straight", "right"])
@pytest.mark.parametrize("at", [0, 12])
def test_the_foot_post_stands_clear_of_the_stairs_own_post(at, turn):
    deck = _built(at, "6x6", turn)
    plan = deck.layout.stair_plans[0]
    assert plan.spot.own_posts  # at the deck's corner, or beside the next post along its edge
    chains = [[plan.posts[n] for n in chain] for flight, _, chain in plan.rails if flight == plan.flights[0].index]
    assert chains
    for a, b in itertools.chain(*map(itertools.pairwise, chains)):
        assert a.polygon.distance(b.polygon) >= 1.0 - 1e-6
    seen = Checking(deck, measure_all(deck.parts))
    check_solids(seen)
    assert [r for r in seen.results if r.result == "not met"] == []


@pytest.mark.parametrize("post, after", [("4x4", 2), ("6x6", 3)])
def test_where_there_is_room_it_ends_at_the_last_riser(post, after):
    plan = _built(12, post, "straight", after).layout.stair_plans[0]
    flight = plan.flights[0]
    feet = [p for p in plan.posts if p.kind == "foot" and p.flight == flight.index]
    assert feet
    for p in feet:
        front = max(flight.position(q)[0] for q in p.polygon.exterior.coords)
        assert front == pytest.approx(flight.lowest, abs=1e-6)
