"""Knee braces on the solids: where they stand, how long their legs are, what they touch, and when there are none.

DCA 6-2012 (seen in quotations): posts longer than 24 in at the ends of a beam are braced parallel to the beam, inner
ones never; boards at 45 degrees to the joists do instead on a deck that the house carries. Decks are invented.
"""

from __future__ import annotations

import math
import re

import pytest
from braced_deck import deck_of

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import Deck
from plumbcut.model.design.advised import checked_with_mends
from plumbcut.model.measuring.clashes import clashes
from plumbcut.model.pieces.knee_braces import build_knee_braces
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.stock import lumber

HALF = 3.5 / math.sqrt(2)  # of a 4x4, along post or beam


def touched(deck: Deck, brace: str) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for k in deck.contacts:
        if brace in (k.id_a, k.id_b):
            other = k.b if k.id_a == brace else k.a
            found.setdefault(other.role, set()).add(other.id)
    return found


def row(deck: Deck, rule: str):
    return next((r for r in checked_with_mends(deck) if r.rule == rule), None)


def test_the_outermost_posts_are_braced_along_their_beam_and_the_inner_ones_not():
    deck = deck_of()
    (run,) = deck.layout.runs
    outermost = {min(run.posts), max(run.posts)}
    braces = deck.roles("knee brace")
    assert len(braces) == 2 < len(run.posts)
    for brace in braces:
        meets = touched(deck, brace.id)
        assert meets.keys() == {"post", "beam"} and len(meets["beam"]) == 2  # both plies of the beam
        (post,) = (deck.by_id[k] for k in meets["post"])
        assert any(math.dist(post.plan_middle, p) < 1 for p in outermost)
        low, high = brace.box
        assert high[0] - low[0] == pytest.approx(24 + HALF) and high[2] - low[2] == pytest.approx(24 + HALF)
        assert high[2] == pytest.approx(deck.layout.beam_bottom(False))
    assert not deck.clashes
    found = row(deck, "diagonal bracing")
    assert found.result == "met" and row(deck, "inner posts without braces").result == "met"


def test_posts_of_24_inches_ask_for_none():
    deck = deck_of(42)
    assert max(p.box[1, 2] - p.box[0, 2] for p in deck.roles("post")) <= 24
    assert not deck.roles("knee brace") and row(deck, "diagonal bracing").result == "met"


def test_left_out_by_the_file_they_are_missed_and_the_key_is_named():
    deck = deck_of(frame={"knee_braces": False})
    found = row(deck, "diagonal bracing")
    assert not deck.roles("knee brace")
    assert found.result == "not met" and "frame.knee_braces = true" in str(found.why)


@pytest.mark.parametrize(("support", "braces"), [("ledger", 0), ("free-standing", 4)])
def test_boards_at_45_degrees_stand_in_for_them_where_the_house_carries_the_deck(support, braces):
    deck = deck_of(surface={"direction": 45}, frame={"support": support})
    assert len(deck.roles("knee brace")) == braces and row(deck, "diagonal bracing").result == "met"
    assert (row(deck, "bracing square to the beams") is None) == (support == "ledger")


def test_under_a_flush_beam_they_reach_up_to_joist_level():
    deck = deck_of(frame={"beam_position": "flush"})
    braces = deck.roles("knee brace")
    assert len(braces) == 2 and {b.box[1, 2] for b in braces} == {deck.layout.beam_bottom(True)}
    assert row(deck, "diagonal bracing").result == "met" and not deck.clashes


def test_a_brace_of_a_notched_post_stays_behind_its_outer_face():
    deck = deck_of(frame={"beam_seat": "notched post"})
    for brace in deck.roles("knee brace"):
        (post,) = (deck.by_id[k] for k in touched(deck, brace.id)["post"])
        assert post.box[0, 1] <= brace.box[0, 1] and brace.box[1, 1] <= post.box[1, 1]
    assert len(deck.roles("knee brace")) == 2 and not deck.clashes


@pytest.mark.parametrize(("at", "legs"), [((38, 100, 3.5), [20, 24]), ((18, 88, 30), [24]), ((38, 70, 3.5), [24, 24])])
def test_what_stands_in_its_way_makes_it_shorter_or_leaves_it_out(at, legs):
    """A stick square to the beam: through the upper end, across it whatever its length, and under it."""
    deck = deck_of(120)
    shop, (x, z, high) = Workshop(), at
    stick = shop.box_along("beam", lumber("2x4"), (x, -20, z), (x, 40, z), (0, 0, 1), high, 1.5)
    built = [p for p in deck.parts if p.role != "knee brace"]
    braces = build_knee_braces(deck.layout, shop, [*built, stick])
    assert sorted(round(float(b.box[1, 2] - b.box[0, 2]) - HALF, 3) for b in braces) == legs
    assert not [c for c in clashes([*braces, stick]) if c.volume > 1e-3]


def test_posts_too_near_for_a_brace_are_said():
    deck = deck_of(frame={"post_spacing": 30})
    found = row(deck, "diagonal bracing")
    assert not deck.roles("knee brace") and found.result == "not met" and "no length" in str(found.why)


def test_a_brace_too_many_at_an_inner_post_is_not_met():
    deck = deck_of()
    (run,) = deck.layout.runs
    inner = sorted(run.posts)[1]
    post = next(p for p in deck.roles("post") if math.dist(p.plan_middle, inner) < 1)
    brace = next(b for b in deck.roles("knee brace") if b.plan_middle[0] < 103)
    own = next(deck.by_id[k] for k in touched(deck, brace.id)["post"])
    shift = post.plan_middle[0] - own.plan_middle[0]
    place = brace.place
    moved = brace.replaced(
        id="KN9-01", place=type(place)((place.origin[0] + shift, *place.origin[1:]), place.x, place.y)
    )
    more = Deck(deck.parameters, (deck.layout,), [*deck.parts, moved], deck.notes)
    found = row(more, "inner posts without braces")
    assert found.result == "not met" and post.id in str(found.why)


def test_where_beams_meet_askew_a_post_is_braced_along_the_one_that_it_stands_square_to():
    """The posts at the mitres are square to the front's beam; either clip's beam has a post of its own."""
    corners = [[50, 0], [150, 0], [200, 50], [200, 146], [0, 146], [0, 50]]
    edges = ["front", "clip", "right", "back", "left", "other clip"]
    deck = deck_of(100, outline={"points": corners, "edges": edges, "house": ["back"]})
    braces = deck.roles("knee brace")
    assert sorted(p.edge for p in braces) == ["clip", "front", "front", "other clip"]
    assert len({k for b in braces for k in touched(deck, b.id)["post"]}) == 4
    assert row(deck, "diagonal bracing").result == "met" and not deck.clashes


def test_boards_that_would_do_instead_lie_at_an_angle_that_the_file_takes():
    named = row(deck_of(frame={"post_spacing": 30}), "diagonal bracing")
    angle = float(re.search(r"surface\.direction = (-?[\d.]+)", worded(named.why))[1])
    deck = deck_of(frame={"post_spacing": 30}, surface={"direction": angle})
    assert row(deck, "diagonal bracing").result == "met"


def test_a_brace_keeps_the_headroom_over_a_step_under_it():
    """80 in over a landing at 4 in (IRC R311.7.2): the lower edge of a leg of 16 in lies at 85 in there."""
    deck, shop = deck_of(120), Workshop()
    step = shop.upright("board", lumber("2x12"), [(16, 0), (28, 0), (28, 30), (16, 30)], 2.5, 4.0, stair=0)
    built = [p for p in deck.parts if p.role != "knee brace"]
    braces = build_knee_braces(deck.layout, shop, [*built, step])
    assert sorted(round(float(b.box[1, 2] - b.box[0, 2]) - HALF, 3) for b in braces) == [16, 24]


def test_a_handrail_that_passes_far_below_leaves_the_brace_as_it_is():
    """The second flight comes back under the beam's right end, its handrail's upper end as high as the brace."""
    stair = {"edge": "front", "landings": [{"after_risers": 8, "depth": 40, "turn": "back"}]}
    outline = {
        "points": [[0, 0], [186, 0], [186, 134], [0, 134]],
        "edges": ["front", "right", "back", "left"],
        "house": ["back"],
    }
    deck = deck_of(122, outline=outline, stair=[stair])
    assert len(deck.roles("knee brace")) == 2 and row(deck, "diagonal bracing").result == "met" and not deck.clashes
    assert {r.result for r in checked_with_mends(deck) if r.rule == "headroom"} <= {"met", "not checked"}


def test_no_brace_reaches_into_ground_that_rises_beside_its_post():
    """Grade rises by 0.45 along the front's beam: a brace from the low post would end in it."""
    deck = deck_of(level=120, levels={"surface": 120, "slope_x": 0.45, "slope_y": 0.0})
    assert not [r for r in checked_with_mends(deck) if r.rule == "wood in the ground" and r.result == "not met"]
    for b in deck.roles("knee brace"):
        assert all(z > deck.planes.grade(x, y) + 1.9 for x, y, z in b.vertices)
