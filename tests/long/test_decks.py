"""Any deck: what is wrong with its solids the program says, as a judge with a kernel of its own finds in the files
(`oracles`). CI draws a hundred; `decks.py` runs two thousand."""

from __future__ import annotations

import dataclasses
import random

import decks
import oracles
import pytest
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from whole_files import parameters

from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.pieces.joist_ends import AT_POSTS
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.rules.check_solids import CARRIED, LINE, MEMBER_END
from plumbcut.shared.errors import DesignError

WHOLE_FILES = st.builds(parameters, st.randoms(use_true_random=False))
QUARTERS, EACH = 4, 25
ANY = settings(
    max_examples=EACH,
    deadline=None,
    database=None,
    phases=(Phase.explicit, Phase.generate),  # a fault is shrunk by hand: that takes longer than the hundred decks
    suppress_health_check=list(HealthCheck),
)
REFUSED = 0.05  # the greatest share of what is drawn by lot that may be refused


@pytest.mark.parametrize("quarter", range(QUARTERS))
def test_nothing_is_wrong_with_a_deck_that_the_program_does_not_say(quarter):
    """What the program says and the oracle does not find is counted in the long run: the program asks more finely."""

    @seed(quarter)
    @ANY
    @given(WHOLE_FILES)
    def judge(file):
        try:
            deck = build(Parameters.model_validate(file))
        except DesignError as refused:
            assert refused.key and refused.reason
            return
        unsaid, _ = decks.compared(decks.said(deck), decks.oracle(deck, file))
        assert not unsaid, "\n".join(unsaid)

    judge()


# what was found by lot, shrunk: the program has to say it
NAMED = {
    "boards more on the skew than 45 degrees, over joists at the spacing given": (
        {
            "outline": {"width": 118, "depth": 94, "house": ["back"]},
            "levels": {"surface": 31},
            "frame": {"joist": "2x8", "joist_spacing": 16},
            "surface": {"material": "composite board", "direction": 60},
        },
        "clear span of a board",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", NAMED)
def test_what_was_found_by_lot_is_said(name):
    file, words = NAMED[name]
    deck = build(Parameters.model_validate(file))
    said = decks.said(deck)
    assert any(r.rule == words for r in said)
    assert decks.compared(said, decks.oracle(deck, file))[0] == []


# what the geometry library ended in an exception on: lines left beside areas, a union turned into itself, two notches
# that meet on a border's edge
UNSURE = (443, 484, 569, 722)


@pytest.mark.parametrize("seed", UNSURE)
def test_shapes_that_only_just_touch_are_built(seed):
    file = decks.parameters(seed)
    deck = build(Parameters.model_validate(file))
    assert deck.parts and not deck.clashes


# members that ended on an edge of another: a ply past a bevel, a breaker's strip past its border, rims that left a
# square corner open, joists beside a rim and a strip a degree or two out of their line; headers of stairs without room
# for cleats, beams on a single post
ENDS = (18, 301, 388, 435, 444, 545, 572, 687, 793)


@pytest.mark.parametrize("seed", ENDS)
def test_members_end_on_faces(seed):
    file = decks.parameters(seed)
    deck = build(Parameters.model_validate(file))
    said = decks.said(deck)
    assert [r.why for r in said if r.rule in (LINE, MEMBER_END)] == []
    unsaid = decks.compared(said, decks.oracle(deck, file))[0]
    assert [u for u in unsaid if u.startswith(oracles.HELD)] == []


# what stood in what: a post in a stair header, concrete in stringers, joists of a landing in its rim, blocks in plies
# that the geometry library left out of a union, a wide baluster in a post set askew, ends of beams, a guard post at a
# stair's foot in a footing
APART = (328, 401, 485, 706, 792, 834, 844)


@pytest.mark.parametrize("seed", APART)
def test_no_piece_stands_in_another(seed):
    file = decks.parameters(seed)
    deck = build(Parameters.model_validate(file))
    said = decks.said(deck)
    assert deck.clashes == []
    assert [u for u in decks.compared(said, decks.oracle(deck, file))[0] if u.startswith(oracles.OVERLAP)] == []


# cantilevers that leave no room for one beam between its neighbours
CROWDED = (106, 274, 612)


@pytest.mark.parametrize("seed", CROWDED)
def test_a_cantilever_without_room_is_built_shorter_there(seed):
    file = decks.parameters(seed)
    deck = build(Parameters.model_validate(file))
    said = decks.said(deck)
    assert [r.rule for r in said] == [] and decks.compared(said, decks.oracle(deck, file)) == ([], [])


# stair headers behind which a joist ran nearly along the rim and left no room for cleats; beams left with one post past
# another that they cross, or by an overhang longer than they are
HELD_TWICE = (111, 388, 437, 572, 634, 444, 507, 638)


@pytest.mark.parametrize("seed", HELD_TWICE)
def test_headers_and_beams_are_held_at_two_places(seed):
    file = decks.parameters(seed)
    deck = build(Parameters.model_validate(file))
    said = decks.said(deck)
    assert [r.why for r in said if r.rule in (CARRIED, MEMBER_END)] == []
    assert decks.compared(said, decks.oracle(deck, file))[0] == []


# what was worst of what was found by lot: holes between rims, a strip of board over a recess in the overhang, a joint
# over a reflex corner's hole, a landing's joints on one joist, a bay that tapers, scraps beside guard posts, a stub
MENDED = (62, 78, 136, 164, 225, 352, 405, 493, 534, 693)


@pytest.mark.parametrize("seed", MENDED)
def test_what_was_mended_stays_mended(seed):
    line = decks.judged(seed)
    assert (line["said"], line["unsaid"]) == ([], [])


def test_what_lies_between_guard_posts_is_a_block():
    """Pieces of joists between guard posts that stand so near one another: blocks, since a post carries no joist."""
    file = decks.parameters(27)
    file["guard"] = file["guard"] | {"post_spacing": 30}
    deck = build(Parameters.model_validate(file))
    assert any(p.role == "border blocking" and p.where == AT_POSTS for p in deck.parts)
    assert [r for r in decks.said(deck) if r.rule in (CARRIED, MEMBER_END)] == []


@pytest.mark.parametrize("seed", (391, 661, 783))
def test_every_guard_post_at_a_corner_is_held(seed):
    """Boxed in, or at a reflex corner of rims askew bolted to a joist (common practice, no source)."""
    deck = build(Parameters.model_validate(decks.parameters(seed)))
    assert all(p.carried_by for p in deck.roles("guard post"))
    assert [r for r in decks.said(deck) if r.rule in (CARRIED, MEMBER_END)] == []


def test_few_of_the_files_drawn_by_lot_are_refused():
    refused = []
    for n in range(0, 100, 2):  # all hundred are built above
        try:
            lay_out(Parameters.model_validate(decks.parameters(n)))
        except DesignError as e:
            refused.append(f"{n}: {e}")
    assert len(refused) <= 50 * REFUSED, "\n".join(refused)


# ------------------------------------------------------------------------------------------- the judge itself

SOUND = {
    "outline": {"width": 110, "depth": 90, "house": ["back"]},
    "levels": {"surface": 44},
    "frame": {"joist": "2x8", "support": "free-standing", "beam_plies": 1},
    "surface": {},
    "stair": [{"edge": "front", "width": 36}],
}


@pytest.fixture(scope="module")
def sound() -> Deck:
    return build(Parameters.model_validate(SOUND))


def spoiled(deck: Deck, role: str, shift=(0.0, 0.0, 0.0), drop: bool = False) -> tuple[str, Deck]:
    """The deck with its middle piece of a role moved, or taken away; and that piece's id."""
    pieces = deck.roles(role)
    one = pieces[len(pieces) // 2]
    place = dataclasses.replace(one.place, origin=tuple(a + b for a, b in zip(one.place.origin, shift)))
    parts = [one.replaced(place=place) if p is one else p for p in deck.parts if not (drop and p is one)]
    return one.id, Deck(deck.parameters, deck.levels, parts)


def kinds(deck: Deck, of: str | None = None) -> set[str]:
    return {f.kind for f in decks.oracle(deck, SOUND).found() if f.sure and (of is None or of in f.ids)}


def test_the_judge_finds_nothing_in_a_sound_deck(sound):
    assert kinds(sound) == set() and decks.faults(sound) == []


@pytest.mark.parametrize(
    ("role", "shift", "kind"),
    [
        ("joist", (0, 0, 1.0), oracles.OVERLAP),
        ("board", (0, 0, 0.5), oracles.LOOSE),
        ("board", (14.0, 0, 0), oracles.END),
        ("tread", (0, 0, 0.25), oracles.LOOSE),
        ("tread", (6.0, 0, 0), oracles.END),
        ("post base", (0, 5.0, 0), oracles.BASE),
        ("post", (0, 0, -48.0), oracles.GROUND),
        ("post base", (0, 0, -6.0), oracles.GROUND),
        ("post blocking", (0, 0, 30.0), oracles.HELD),
        ("beam", (0, 0, 0.25), oracles.HELD),
        ("stringer", (0, -2.0, 0), oracles.HELD),
        ("footing", (0, 0, -1.0), oracles.LOOSE),
    ],
)
def test_the_judge_finds_what_is_moved(sound, role, shift, kind):
    moved, deck = spoiled(sound, role, shift)
    assert kind in kinds(deck, None if role == "footing" else moved)


def test_the_judge_finds_a_span_over_a_joist_that_is_missing(sound):
    _, deck = spoiled(sound, "joist", drop=True)
    assert oracles.SPAN in kinds(deck)


def test_the_judge_takes_a_board_that_a_notch_all_but_cuts_through_for_two():
    """Round a 6x6 post the notch leaves 1/2 in of the second course: what spans nothing there is no span."""
    file = {
        "outline": {"width": 80, "depth": 100},
        "levels": {"surface": 36},
        "frame": {"joist": "2x8", "joist_direction": "x", "joist_spacing": 8, "rim_plies": 2},
        "surface": {"border": {"courses": 3}, "overhang": 1.25},
        "guard": {"post": "6x6"},
        "stair": [{"edge": "left", "at": 28, "risers": "open"}],
    }
    deck = build(Parameters.model_validate(file))
    assert [f for f in decks.oracle(deck, file).found() if f.sure] == []


def test_what_the_program_does_not_say_is_unsaid_and_what_it_says_for_nothing_stands_alone(sound):
    moved, deck = spoiled(sound, "board", (14.0, 0, 0))
    assert [u for u in decks.compared([], decks.oracle(deck, SOUND))[0] if moved in u]
    said = decks.said(deck)
    assert said and decks.compared(said, decks.oracle(deck, SOUND)) == ([], [])
    assert any(moved in a for a in decks.compared(said, decks.oracle(sound, SOUND))[1])


def test_a_seed_is_the_same_file_every_time():
    assert decks.parameters(7) == parameters(random.Random(7))
