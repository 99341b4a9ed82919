"""Beams behind edges that face each other keep out of each other's way, whatever cantilever the file gives."""

import numpy as np
import pytest

from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.beam_lines import off_the_cantilever
from plumbcut.model.plan.footings import POST_GAP
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.plan.seats import width


def _laid_out(points, house=(), **frame):
    given = {"support": "free-standing", "joist": "2x8", "joist_direction": "y", "cantilever": 24} | frame
    return lay_out(
        Parameters.model_validate(
            {"outline": {"points": points, "house": list(house)}, "levels": {"surface": 44}, "frame": given}
        )
    )


def _behind(layout, name):
    return [r for r in layout.runs if r.edge == name]


def _held(run) -> bool:
    return len(run.posts) + sum(run.mitred) >= 2


# a T: the arm over x from -26 to 0 is 56 deep, so that beams 24 in behind both its edges would lie 5 in apart
TEE = [(-26, 0), (-26, 100), (0, 100), (0, 156), (-69, 156), (-69, 100), (-95, 100), (-95, 0)]


@pytest.mark.parametrize("depth, nearer", [(70, False), (56, True), (50, True), (44, True)])
def test_beams_of_an_arm_leave_room_for_the_posts_of_both(depth, nearer):
    points = [(x, min(y, 100) + (depth if y > 100 else 0)) for x, y in TEE]
    layout = _laid_out(points, post="8x8", beam_plies=1)
    (low,), (high,) = _behind(layout, "e2"), _behind(layout, "e4")
    gap = float(min(q[1] for q in high.polygon.exterior.coords) - max(q[1] for q in low.polygon.exterior.coords))
    post = layout.parameters.stock("8x8").width
    assert gap >= post - width(layout, False) + POST_GAP - 1e-3
    assert all(_held(r) for r in layout.runs)
    moved = off_the_cantilever(layout, layout.runs, -1)
    assert {"e2", "e4"} <= moved.keys() if nearer else not moved
    if nearer:  # no nearer than need be: half an inch each at a time
        assert gap < post - width(layout, False) + POST_GAP + 1.0 + 1e-3
        assert moved["e2"] == pytest.approx(moved["e4"], abs=0.5)


def test_edges_that_look_away_from_each_other_do_not():
    """Both sides of a slot 20 in wide: their beams lie far apart, each on its own side of it."""
    points = [(0, 0), (150, 0), (150, 84), (0, 84), (0, 52), (90, 52), (90, 32), (0, 32)]
    layout = _laid_out(points, cantilever=10, joist="2x6")
    assert off_the_cantilever(layout, layout.runs, -1) == {}


def test_no_piece_is_left_of_a_beam_behind_a_slanted_edge_with_room_for_one_post():
    """The beam behind the back edge cuts a piece off the slanted one's, at the side: both come nearer until it is
    gone or has two posts."""
    points = [(0, 94.88), (39.88, 55), (71, 55), (71, 22), (122.91, 22), (147, 46.09), (147, 144), (0, 144)]
    layout = _laid_out(points, joist="2x10", rim_plies=2, beam_plies=1, post="6x6", beam_overhang=0)
    assert all(_held(r) for r in layout.runs)
    slanted = np.array([0.7071, -0.7071])
    assert [r.edge for r in layout.runs if abs(float(r.direction @ slanted)) > 0.99] == ["e1"]


def test_a_cantilever_with_room_stays_as_it_is_given():
    layout = _laid_out([(0, 0), (150, 0), (150, 110), (0, 110)])
    assert off_the_cantilever(layout, layout.runs, -1) == {} and all(_held(r) for r in layout.runs)
