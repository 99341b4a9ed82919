"""A deck whose sides stand 20 degrees off the joists, a stair in the middle of one: what lies under the slanted rims,
and what would do where joists beside them are short. The deck is invented."""

from __future__ import annotations

import math

import pytest

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import Deck, build
from plumbcut.model.design.advised import checked_with_mends
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.layout import lay_out

OFF = 140 * math.tan(math.radians(20))


@pytest.fixture(scope="module")
def slanted() -> Deck:
    outline = {
        "points": [[0, 0], [190, 0], [190 + OFF, 140], [-OFF, 140]],
        "edges": ["front", "right", "back", "left"],
        "house": ["back"],
    }
    frame = {"cantilever": 0, "joist": "2x10", "joist_spacing": 12}
    file = {"outline": outline, "levels": {"surface": 45}, "frame": frame, "stair": [{"edge": "right"}]}
    return build(Parameters.model_validate(file))


@pytest.fixture(scope="module")
def rows(slanted) -> list:
    return checked_with_mends(slanted)


def test_short_joists_over_the_beam_of_a_slanted_side_could_hang_on_it(rows):
    """The stair's header keeps the beam 3 in behind the rim, along the joists 3 / sin 20 in; no shorter cantilever
    helps."""
    found = [r for r in rows if r.rule == "joist overhang, share of span (table)" and r.result == "not met"]
    assert found and all('frame.beam_position = "flush" would do' in worded(r.why) for r in found)


def test_a_rim_that_lies_along_its_beam_is_held_by_the_next_ones_mitre_with_it(slanted, rows):
    """The tip that it has on the front edge's beam, less than 1-1/2 in, is no bearing of its own."""
    [left] = [m for m in slanted.members if m.role == "rim" and m.first.edge == "left"]
    assert max(b - a for a, b in left.spans) <= left.depth + 1e-6
    assert all(r.result == "met" for r in rows if r.rule == "bearing on wood" and "R" in worded(r.place))


def test_posts_moved_clear_of_joists_stand_no_further_apart_than_asked():
    off = 140 * math.tan(math.radians(15))
    points = [[0, 0], [190, 0], [190 - off, 140], [off, 140]]
    outline = {"points": points, "edges": ["front", "right", "back", "left"], "house": ["back"]}
    file = {"outline": outline, "levels": {"surface": 45}, "frame": {"cantilever": 0, "joist_spacing": 12}}
    layout = lay_out(Parameters.model_validate(file))
    apart = [math.dist(layout.posts[b.first].centre, layout.posts[b.last].centre) for b in layout.bays]
    assert len(apart) >= 8 and max(apart) <= layout.parameters.guard.post_spacing + 1e-6


def test_a_joist_nearly_along_an_edge_gives_way_to_the_posts_there():
    """A side 7 degrees off the joists: one lies behind more than a bay of it, and goes beside the posts that would have
    no other place so near. With boards the other way the row is met as well."""
    outline = {
        "points": [[0, 0], [214, 0], [250, 170], [-20, 170]],
        "edges": ["front", "right", "back", "left"],
        "house": ["back"],
    }
    file = {"outline": outline, "levels": {"surface": 58}, "frame": {"beam_position": "flush"}}

    def spacing(deck: Deck) -> list:
        return [r for r in checked_with_mends(deck) if r.rule == "guard post spacing" and r.place == "left edge"]

    (row,) = spacing(build(Parameters.model_validate(file)))
    assert row.result == "met"
    (row,) = spacing(build(Parameters.model_validate(file | {"surface": {"direction": 90}})))
    assert row.result == "met"
