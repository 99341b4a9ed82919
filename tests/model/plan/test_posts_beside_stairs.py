"""Posts of a beam stand on either side of where one steps off a stair that comes back under the deck. The deck and its
sizes are invented; the 36 in of a landing are those of IRC R311.7.6."""

from __future__ import annotations

import pytest
from shapely.geometry import Point

from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.layout import lay_out

WIDE, STAIR, BESIDE, LANDING = 187.0, 54.0, 11.0, 36.0


@pytest.mark.parametrize("side, at", [("left", BESIDE), ("right", WIDE - BESIDE - STAIR)])
def test_no_footing_lies_where_one_steps_off_a_stair_under_the_deck(side, at):
    turn = {"after_risers": 9, "turn": "back", "side": side}
    file = {
        "outline": {"width": WIDE, "depth": 133},
        "levels": {"surface": 120},
        "frame": {"joist": "2x10"},
        "stair": [{"edge": "front", "width": STAIR, "at": at, "landings": [turn]}],
    }
    layout = lay_out(Parameters.model_validate(file))
    flight = layout.stair_plans[0].flights[-1]
    foot = flight.rectangle(flight.run, flight.run + LANDING, 0.0, flight.width)
    assert foot.intersection(layout.outline.polygon).area > STAIR * LANDING / 2
    (front,) = [r for r in layout.runs if r.edge == "front"]
    for post in front.posts:
        assert not Point(post).buffer(layout.footing_size / 2).intersects(foot)
    along, (low, high) = [front.position(p) for p in front.posts], front.extent(foot)
    assert min(along) < low < high < max(along)  # on either side: no beam hangs out past it
