"""Straight ways to a footing that meet no other: by arithmetic, as the plan's own intersection has them."""

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from plumbcut.exports.cards.feet import Feet
from plumbcut.exports.drafting.clearance import Clearance
from plumbcut.exports.drafting.drawing import Line, Text


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6))
def test_as_the_exact_intersection_has_it(seed):
    lot = np.random.default_rng(seed)
    feet = Feet(lot.uniform(0, 100, (25, 2)), lot.uniform(2, 9, 25))
    spots = lot.uniform(-10, 110, (60, 2))
    own = int(lot.integers(25))
    ways = shapely.linestrings(np.stack([spots, np.broadcast_to(feet.middles[own], spots.shape)], axis=1))
    others = np.delete(feet.shapes, own)
    exact = ~np.array([shapely.intersects(others, way).any() for way in ways])
    assert feet.clear(spots, own).tolist() == exact.tolist()


def test_a_way_between_the_circle_and_the_polygon_drawn_for_it_is_clear():
    """A polygon of 32 sides leaves 0.48 percent of its radius in the middle of a side."""
    feet = Feet([(0.0, 0.0), (50.0, 0.0), (100.0, 0.0)], [1.0, 10.0, 1.0])
    turn = np.pi / 32  # to the middle of the first side
    for near, clear in ((0.9970, True), (0.9940, False)):
        off = 10.0 * near
        touch = np.array([50.0, 0.0]) + off * np.array([np.cos(turn), np.sin(turn)])
        along = np.array([-np.sin(turn), np.cos(turn)])
        feet.middles[0] = touch - 40 * along
        assert feet.clear((touch + 40 * along)[None], 0).tolist() == [clear]


def test_one_footing_alone_bars_nothing():
    assert Feet([(0.0, 0.0)], [5.0]).clear(np.array([[9.0, 0.0], [0.0, 0.0]]), 0).all()


def test_what_is_free_is_what_a_label_alone_would_take():
    """Spots on a line, with their link across lettering, beside it, and far off."""
    drawn = [Line((0.0, -5.0), (0.0, 5.0), layer="A-ANNO-IDEN"), Text((6.0, 0.0), "P1", 0.1, layer="A-ANNO-IDEN")]
    spots = [(0.0, 0.0), (9.0, 0.0), (-3.0, 0.0), (30.0, 30.0), (6.0, 0.1)]

    def link(at):
        return Line(at, (1.0, 0.0), layer="A-ANNO-IDEN")

    for led in (None, link):
        clear = Clearance(drawn, [], [], 1.0, False)
        found = clear.free(Text((0.0, 0.0), "P2", 0.1, layer="A-ANNO-IDEN"), spots, link=led).tolist()
        alone = [
            Clearance(drawn, [], [], 1.0, False).label(Text((0.0, 0.0), "P2", 0.1, layer="A-ANNO-IDEN"), [at], link=led)
            for at in spots
        ]
        assert found == alone and True in found and False in found
