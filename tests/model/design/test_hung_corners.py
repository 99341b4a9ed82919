"""Corners beside straight beams, whose joists hang between slanted rims: the rims' moments by hand, and decks on which
the frame that is built first has rims made for them."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Polygon, box

from plumbcut.model.design.designed import designed
from plumbcut.model.design.hung_corners import SEATED, rim_moments
from plumbcut.model.design.joist_rows import JoistRows
from plumbcut.model.design.search import Candidate
from plumbcut.model.input.parameters import Parameters

X, Y = np.array([1.0, 0.0]), np.array([0.0, 1.0])
TUB = [[130, 30], [215, 30], [215, 115], [130, 115]]


def beside(outline: Polygon, low: float, high: float) -> JoistRows:
    """One joist at 20 across, between two rims."""
    one = np.array([low]), np.array([high]), np.array([False]), np.array([False])
    return JoistRows(*one, np.array([[20.0, 20.0]]), np.array([True]), outline, Y, X, 0.0)


def moment(rows: JoistRows, lines: list[float], weighs: float = 1.0) -> float:
    return float(rim_moments(rows, np.array([lines]), np.array([[True]]), np.array([weighs]))[0])


def test_a_rim_past_its_beam_is_bent_by_half_of_the_joist_that_hangs_on_it():
    """Half of 40 in of joist at the end of a lever (statics): along a rim at 45 degrees from where beams meet it."""
    point = Polygon([(0, 60), (60, 0), (200, 0), (200, 120), (60, 120)])  # its tip at 0, 60
    lever = np.hypot(40 - 20, 40 - 20) + SEATED  # beams 20 and 100 meet the rims 40 across
    one = 20.0 * lever
    assert moment(beside(point, 40.0, 80.0), [20.0, 100.0]) == pytest.approx(2 * one)  # the tip carries the other rim
    assert moment(beside(point, 40.0, 80.0), [20.0, 100.0], 1.5) == pytest.approx(3 * one)
    blunt = Polygon([(0, 40), (40, 0), (200, 0), (200, 120), (40, 120), (0, 80)])
    lever = np.hypot(20 - 20, 20 - 20)  # the beams meet these rims where the joist is: nothing stands out
    assert moment(beside(blunt, 20.0, 100.0), [20.0, 100.0]) == pytest.approx(0.0)


def test_of_a_joist_on_one_beam_each_rim_takes_half_way_to_it():
    point = Polygon([(0, 60), (60, 0), (200, 0), (200, 120), (60, 120)])
    found = moment(beside(point, 40.0, 80.0), [20.0, 60.0, 100.0])
    assert found == pytest.approx(2 * 10.0 * (np.hypot(20, 20) + SEATED))


def test_nothing_hangs_on_square_sides():
    rows = beside(box(0, 0, 200, 120).simplify(0), 0.0, 120.0)
    assert rim_moments(rows, np.array([[20.0, 100.0]]), np.array([[False]]), np.ones(1)).tolist() == [0.0]


def test_a_tub_beside_a_clipped_corner_is_borne_by_the_first_frames_that_are_built():
    """Joists in the corner hang on the slanted rim, whatever their spacing; seventeen frames were built before, and
    none was met."""
    file = {
        "outline": {"points": [[0, 0], [190, 0], [238, 48], [238, 166], [0, 166]], "house": ["e4"]},
        "levels": {"surface": 40},
        "local": {"frost_depth": 36},
        "area_load": [{"name": "tub", "psf": 100, "polygon": TUB}],
    }
    made = designed(Parameters.model_validate(file))
    assert made.built <= 5 and Candidate(made.deck, made.structure, {}, 0.0).met


def test_a_pentagon_gives_up_its_short_joists_early():
    """No shorter cantilever does for joists at a corner that lie on one beam by a few inches: forty-eight frames were
    built before the joists were hung."""
    points = [[93.92, -29.2], [56.79, 80.3], [-58.82, 78.83], [-93.15, -31.58], [1.25, -98.34]]
    file = {
        "outline": {"points": points, "house": []},
        "levels": {"surface": 44},
        "local": {"frost_depth": 30},
        "frame": {"support": "free-standing"},
    }
    made = designed(Parameters.model_validate(file))
    assert made.built <= 24 and Candidate(made.deck, made.structure, {}, 0.0).met
