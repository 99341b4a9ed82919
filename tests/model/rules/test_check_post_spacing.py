"""The spacing of guard posts that the file asks for, kept at every edge, whatever joists lie behind, and told.

The decks are invented. How far apart posts stand is read here off their solids' own corners, with nothing of the check.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.line_stations import among, stations
from plumbcut.model.rules.check_post_spacing import AS_FAR_APART
from plumbcut.model.rules.checks import check_deck


def leaning(degrees: float, **guard) -> Deck:
    """A deck whose sides lean out, so that joists meet its right edge on the skew and lie nearly along it where that
    is little."""
    off = 150 * math.tan(math.radians(degrees))
    points = [[0, 0], [214, 0], [214 + off, 150], [-off / 2, 150]]
    outline = {"points": points, "edges": ["front", "right", "back", "left"], "house": ["back"]}
    frame = {"joist_spacing": 16, "rim_plies": 1}
    return build(
        Parameters.model_validate({"outline": outline, "levels": {"surface": 58}, "frame": frame, "guard": guard})
    )


def apart_on(deck: Deck, edge: str) -> list[float]:
    """Distances on centre of the posts that stand within a foot behind an edge."""
    e = deck.layout.outline[edge]
    middles = [e.position(p.vertices[:, :2].mean(axis=0)) for p in deck.parts if p.role == "guard post"]
    return list(np.diff(sorted(s for s, inside in middles if 0 < inside < 12 and -4 < s < e.length + 4)))


def row(deck: Deck):
    (found,) = [r for r in check_deck(deck) if r.rule == AS_FAR_APART]
    return found


@pytest.mark.parametrize("degrees", [7, 12, 20, 35])
@pytest.mark.parametrize("post", ["4x4", "6x6"])
def test_slanted_edges_keep_the_spacing_that_is_asked_for(degrees, post):
    deck = leaning(degrees, post_spacing=30, post=post)
    assert max(apart_on(deck, "right") + apart_on(deck, "left")) <= 30 + 1e-6
    assert row(deck).result == "met" and row(deck).limit == 30
    assert not deck.clashes


def test_a_bay_wider_than_asked_for_is_told():
    """The row is held against another file's number than the one by which the deck was laid out."""
    deck = leaning(0, post_spacing=60)
    widest = max(apart_on(deck, "front") + apart_on(deck, "right"))
    guard = deck.parameters.guard.model_copy(update={"post_spacing": widest - 1})
    deck.parameters = deck.parameters.model_copy(update={"guard": guard})
    assert row(deck).result == "not met" and row(deck).measured == pytest.approx(widest)


def test_posts_of_a_landing_stand_at_its_joists_no_further_apart_than_asked_for():
    """Of the joists at its front rim the one nearest to the middle would leave 34 in to the corner; one more keeps the
    30."""
    for ends in ((0.0, 60.0), (60.0, 0.0)):
        found = among(*ends, 3.5, 30, [10.0, 26.0, 42.0, 58.0])
        assert set(found) <= {10.0, 26.0, 42.0, 58.0} and len(found) == 2
        assert max(abs(b - a) for a, b in itertools.pairwise([ends[0], *found, ends[1]])) <= 30


@pytest.mark.parametrize("spacing, most", [(22.0, 30.0), (16.0, 24.0), (40.0, 30.0), (100.0, 24.0)])
def test_stations_keep_clear_where_there_is_room_and_stand_evenly_where_there_is_none(spacing, most):
    taken = [(s, s + 10.0) for s in np.arange(5, 180, spacing)]
    found = stations(0.0, 180.0, 3.5, most, taken, 1)
    assert max(b - a for a, b in itertools.pairwise([0.0, *found, 180.0])) <= most + 1e-6
    room = 10.0 + 3.5
    if room < spacing <= most:
        assert all(not (lo - 1.75 + 1e-6 < m < hi + 1.75 - 1e-6) for m in found for lo, hi in taken)
    mirrored = stations(0.0, 180.0, 3.5, most, [(180 - hi, 180 - lo) for lo, hi in reversed(taken)], -1)
    assert [180 - m for m in reversed(mirrored)] == pytest.approx(found)
