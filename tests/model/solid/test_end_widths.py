"""Which sides end a board, and what bears an end. Outlines are invented; the figures are common practice, no source."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from plumbcut.model.solid.board_ends import bears, end_faces, overhang

BOARD = box(0, 0, 60, 5.5)
JOIST = box(56, -5, 57.5, 10)  # its face is 2.5 in from the board's end: the most is 2 in


@pytest.mark.parametrize(("strip", "bearing"), [(0.0, False), (0.25, False), (0.5, False), (1.0, True), (5.5, True)])
def test_a_strip_under_an_outer_tenth_of_the_width_carries_no_end(strip, bearing):
    under = unary_union([JOIST, box(56, 0, 60, strip)]) if strip else JOIST
    faces = end_faces(BOARD)["B"]
    assert bears(BOARD, faces, under) is bearing
    assert overhang(under, faces, np.array([1.0, 0.0])) == (0.0 if bearing else 2.5)


def test_the_wall_of_a_notch_is_the_end_where_it_leaves_no_more_than_a_point():
    """A notch in the end, a little askew: what is left beside it is 0.23 in wide and tapers off."""
    board = Polygon([(0, 0), (50, 0), (48.4, 0.23), (48.9, 3.5), (0, 3.5)])
    ((a, b, _),) = end_faces(board)["B"]
    assert {tuple(a), tuple(b)} == {(48.4, 0.23), (48.9, 3.5)}
    deep = Polygon([(0, 0), (50, 0), (50, 1.0), (46, 1.0), (46, 3.5), (0, 3.5)])  # a tongue: it is the end
    ((a, b, _),) = end_faces(deep)["B"]
    assert {tuple(a), tuple(b)} == {(50.0, 0.0), (50.0, 1.0)}


def test_a_taper_planed_to_a_quarter_inch_is_a_point_and_no_end():
    """Its width comes out of arithmetic, a hair over or under: the end is the slanted side that runs out to it."""
    for hair in (-1e-12, 0.0, 1e-12):
        ring = [(0, 0), (60, 0), (60, 2.0), (63, 5.25 - hair), (63, 5.5), (0, 5.5)]
        ((a, b, _),) = end_faces(Polygon(ring))["B"]
        assert {tuple(a), tuple(b)} == {(60.0, 2.0), (63.0, 5.25 - hair)}


def test_a_mitre_whose_point_was_cut_off_is_an_end_with_that_cut():
    """The skew wall of a notch beside a tongue is none: it meets the notch's bottom in an inner corner."""
    mitre = Polygon([(0, 0), (60, 0), (54.5, 5.5), (0, 5.5)])
    cut = mitre.difference(box(58.5, -1, 61, 6))
    assert sum(float(np.hypot(*(b - a))) for a, b, _ in end_faces(cut)["B"]) > 6.0
    tongue = Polygon([(0, 0), (60, 0), (59.8, 1.5), (58, 2.5), (59, 4.5), (57, 5.5), (0, 5.5)])
    ((a, b, _),) = end_faces(tongue)["B"]
    assert {tuple(a), tuple(b)} == {(60.0, 0.0), (59.8, 1.5)}
