"""Beams too short for posts as the file asks for them: two stand side by side all the same, and where the joists pass
over the beam of another edge there is none."""

from __future__ import annotations

import pytest

from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.loose_ends import tipping_beams, touching


def short(points, **frame) -> Parameters:
    return Parameters.model_validate(
        {
            "outline": {"points": points},
            "levels": {"surface": 60},
            "frame": {"support": "free-standing", "joist_direction": "y", "post": "6x6", **frame},
        }
    )


@pytest.mark.parametrize("overhang", [8, 12])
def test_two_posts_stand_under_a_beam_that_is_too_short_for_the_overhang(overhang):
    """16 in of beam less 5.5 in of post leave 10.5 in between the middles of two, of which they need 6.5."""
    points = [[0, 0], [100, 0], [100, 58], [116, 58], [116, 100], [0, 100]]
    deck = build(short(points, beam_overhang=overhang))
    run = next(r for r in deck.layout.runs if r.edge == "e3")
    assert len(run.posts) == 2
    assert not tipping_beams(deck.parts, touching(deck.contacts)) and not deck.clashes
    assert any("not kept at 1 of 3 beams (behind the e3 edge): they" in n for n in deck.layout.notes)


def test_an_overhang_that_fits_is_kept():
    deck = build(short([[0, 0], [100, 0], [100, 100], [0, 100]], beam_overhang=12))
    for run in deck.layout.runs:
        at = [run.position(q) for q in run.posts]
        assert (at[0], at[-1]) == pytest.approx((12, 88))
    assert not any("beam_overhang" in n for n in deck.layout.notes)


def test_no_piece_of_beam_is_left_in_the_cantilever_of_another():
    """The slanted edge's beam crosses the back one; past it a foot of it would stand on one post."""
    deck = build(short([[0, 0], [60, 0], [104, 44], [104, 66], [0, 66]]))
    assert [r.edge for r in deck.layout.runs].count("e2") == 1
    assert not tipping_beams(deck.parts, touching(deck.contacts)) and not deck.clashes
