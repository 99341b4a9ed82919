"""A workshop kept over several builds: what it knows is handed out again, and nothing that is no longer used."""

import numpy as np
import pytest
from shapely.geometry import Polygon

from plumbcut.model.solid.part import Place, Workshop
from plumbcut.shared.stock import lumber

OUTLINE = [(0.0, 0.0), (90.0, 0.0), (90.0, 3.5), (3.5, 3.5)]


def piece(shop: Workshop, outline=OUTLINE):
    return shop.prism("joist", lumber("2x4"), outline, 1.5, Place((7.0, 8.0, 9.0)))


def test_an_outline_asked_for_again_gives_the_same_shape_at_the_same_place():
    """Whether it comes as tuples or as an array; and a shape is made anew once it was forgotten."""
    shop = Workshop()
    first, again = piece(shop), piece(shop, np.array(OUTLINE))
    assert again.shape is first.shape and again.place == first.place
    shop.shapes.keep([])
    later = piece(shop)
    assert later.shape is not first.shape
    assert piece(shop).shape is later.shape
    assert np.array_equal(later.vertices, first.vertices)


def test_a_piece_keeps_what_was_read_off_it_while_it_stays_where_it_is():
    made = piece(Workshop())
    box = made.box
    assert made.replaced(mark="J1", carried_by=("B1-01",)).box is box
    moved = made.replaced(place=Place((17.0, 8.0, 9.0)))
    assert np.allclose(moved.box - box, [(10, 0, 0), (10, 0, 0)])


def test_corners_that_differ_in_their_last_bits_are_one():
    """A beam's ply as a deck drawn by lot had it: turned into its own axes two of its corners cross."""
    ply = [
        (38.68368720596881, 139.02763829595767),
        (-10.06408211491401, 130.43203811178947),
        (-10.32455002365181, 131.90925050970452),
        (-10.324550023651812, 131.90925050970452),
        (38.42321337584799, 140.50484964976667),
    ]
    d = np.subtract(ply[0], ply[1]) / np.hypot(*np.subtract(ply[0], ply[1]))
    part = Workshop().upright("beam", lumber("2x10"), ply, 0, 9.25, tuple(d))
    assert len(part.shape.outline) == 4
    assert part.solid.Volume() == pytest.approx(Polygon(ply).area * 9.25, rel=1e-6)


def test_a_hair_that_goes_out_and_comes_back_is_left_out():
    """What a difference of outlines left on a block as a deck drawn by lot had it: a mesh of it, whose points are of
    single precision, holds more than the block."""
    block = [(0.0, 0.0), (5.0, 0.0), (5.0, 1.5), (-0.3, 1.5 + 2e-8), (0.0, 1.5)]
    part = Workshop().upright("blocking", lumber("2x10"), block, 0, 9.25)
    assert sorted(np.round(part.footprint.exterior.coords[:-1], 6).tolist()) == [[0, 0], [0, 1.5], [5, 0], [5, 1.5]]
