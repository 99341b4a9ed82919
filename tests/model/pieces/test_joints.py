"""Butt joints of field boards: what lies under them, how many joists that takes, what is bought for it.

What a joint is given (a second joist or a cleat) is common practice, no source.
"""

from __future__ import annotations

import itertools
from functools import cache

import pytest

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import Deck, build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.bearing import bearing_report
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import take_off
from plumbcut.model.rules.check_result import Checking
from plumbcut.model.rules.check_solids import JOINT_BEARS, check_solids

WIDE = {"width": 327, "depth": 161}  # boards of 16 ft are too short for it
TRAPEZE = {"points": [[0, 0], [330, -60], [400, 200], [0, 200]], "house": ["e3"]}
SIDES = ["doubled", "cleat"]
UNDER = {"doubled": "joist", "cleat": "joint cleat"}


@cache
def wide(joints="doubled", gap=0.25, direction=None, width=327):
    surface = {"joints": joints, "end_gap": gap, "direction": direction}
    outline = {"width": width, "depth": 161}
    return build(Parameters.model_validate({"outline": outline, "levels": {"surface": 44}, "surface": surface}))


def results(deck: Deck):
    c = Checking(deck, measure_all(deck.parts))
    check_solids(c)
    return c.results


def butted(deck: Deck):
    return [e for e in bearing_report(deck.parts) if e.part.role == "board" and e.gap is not None]


def under(deck: Deck):
    return [p for p in deck.parts if p.where == "under butt joints"]


@pytest.mark.parametrize("joints", SIDES)
@pytest.mark.parametrize("direction", [None, 45])
def test_each_end_of_a_butt_joint_bears_half_of_two_members_less_the_gap(joints, direction):
    """(2 x 1-1/2 in less a gap of 1/4 in) / 2 = 1-3/8 in, square to the joint whichever way the boards run."""
    deck = wide(joints, direction=direction)
    ends = butted(deck)
    assert len(ends) >= 50 and not deck.clashes
    assert [e.gap for e in ends] == pytest.approx([0.25] * len(ends), abs=1e-6)
    assert min(e.length for e in ends) == pytest.approx(1.375, abs=1e-3)
    rows = [r for r in results(deck) if r.result == "not met"]
    assert not rows, [worded(r.place) for r in rows]


def test_a_joint_left_on_one_joist_bears_half_of_it_and_the_check_says_what():
    deck = wide("single")
    assert not under(deck) and min(e.length for e in butted(deck)) == pytest.approx((1.5 - 0.25) / 2, abs=1e-3)
    (row,) = [r for r in results(deck) if r.rule == JOINT_BEARS]
    assert row.result == "met" and "bears 0.62 in, on one joist as the file asks" in worded(row.why)


@pytest.mark.parametrize("joints", SIDES)
def test_a_joint_whose_second_member_is_gone_is_said(joints):
    deck = wide(joints)
    gone = under(deck)[0]
    rows = results(Deck(deck.parameters, deck.levels, [p for p in deck.parts if p is not gone]))
    short = [r for r in rows if r.rule == JOINT_BEARS and r.result == "not met"]
    assert short and all(r.measured < 1.0 and r.limit == pytest.approx(1.375, abs=1e-6) for r in short)


def test_joints_are_staggered_over_as_few_joists_as_that_takes():
    """Two lines for one joint a run, as neighbours never share one; four for two."""
    for width, lines in ((327, 2), (500, 4)):
        deck = wide(width=width)
        assert len(under(deck)) == lines
        rows: dict[str, set[float]] = {}
        for e in butted(deck):
            rows.setdefault(e.part.where, set()).add(round(e.point[0] + (0.125 if e.end == "B" else -0.125), 3))
        for a, b in itertools.pairwise([rows[k] for k in sorted(rows, key=lambda k: int(k.split()[1]))]):
            assert not a & b


def test_boards_on_the_skew_share_their_doubled_joists():
    """Runs of every length, none of which needs its own joist: fewer than half of the deck's are doubled."""
    deck = wide(direction=45, width=400)
    assert len({e.part.where for e in butted(deck)}) > 20
    assert len(under(deck)) < len(deck.layout.joist_lines) / 2


def test_a_deck_no_wider_than_its_boards_has_no_joist_doubled():
    deck = wide(width=186)
    assert not under(deck) and not any(r.rule == JOINT_BEARS for r in results(deck))


@pytest.mark.parametrize("joints", SIDES)
def test_what_lies_beside_a_joist_touches_it_and_nothing_is_in_its_place(joints):
    """On an outline whose joists all differ, ends on the skew among them."""
    given = {"outline": TRAPEZE, "levels": {"surface": 60}, "surface": {"joints": joints}}
    deck = build(Parameters.model_validate(given))
    added = under(deck)
    assert added and {p.role for p in added} == {UNDER[joints]} and not deck.clashes
    sides = {frozenset((c.id_a, c.id_b)) for c in deck.contacts if c.kind == "side"}
    joists = {p.id for p in deck.parts if p.role == "joist" and p not in added}
    for p in added:
        assert any(frozenset((p.id, j)) in sides for j in joists)
    assert not [r for r in results(deck) if r.result == "not met"]


def test_a_doubled_joist_is_bought_cut_hung_and_nailed_as_a_member():
    """Against the same deck with its joints on single joists."""
    doubled, single = (take_off(d, measure_all(d.parts)) for d in (wide("doubled"), wide("single")))
    count = [sum(p.role == "joist" for p in wide(k).parts) for k in ("doubled", "single")]
    assert count[0] == count[1] + 2
    one, two = ({h.item: h.places for h in t.hardware} for t in (single, doubled))
    assert two["doubled joist hanger"] == 2 and two["joist hanger"] == one["joist hanger"] - 2
    assert two["beam tie"] == one["beam tie"] + 4  # two beams
    assert two["ply nail"] > one["ply nail"] and "doubled joist hanger" not in one


def test_a_cleat_is_screwed_to_its_joist_and_carried_by_it():
    deck = wide("cleat")
    cleats, by = under(deck), {p.id: p for p in deck.parts}
    assert cleats and all({by[i].role for i in p.carried_by} == {"joist"} for p in cleats)
    places = {h.item: h.places for h in take_off(deck, measure_all(deck.parts)).hardware}
    # pairs of screws 2 in from each end and at most 8 in apart
    assert places["cleat screw"] == sum(-(-(p.box[1, 1] - p.box[0, 1] - 4) // 8) + 1 for p in cleats)


LANDING = {"after_risers": 3, "turn": "straight", "depth": 48}


@pytest.mark.parametrize(("joints", "more"), [("doubled", 1), ("single", 0)])
def test_a_landing_wider_than_a_board_has_two_joists_under_its_joints(joints, more):
    def landing(**surface):
        stair = {"edge": "front", "width": 110, "rise": 7.5, "going": 10.5, "landings": [LANDING]}
        file = {
            "outline": {"width": 150, "depth": 80},
            "levels": {"surface": 60},
            "stair": [stair],
            "surface": surface,
        }
        return build(Parameters.model_validate(file))

    def joists(deck):
        return [p for p in deck.roles("joist") if p.where == "stair 1 landing 1"]

    made, whole = landing(joints=joints, board_length=96), landing(joints=joints, board_length=144)
    assert len(joists(made)) == len(joists(whole)) + more
    assert [r.result for r in results(made) if r.rule == JOINT_BEARS] == ["met"]
    ends = [e for e in butted(made) if e.part.where == "stair 1 landing 1"]
    # half of two members of 1.5 in beside a gap of 1/8 in, or half of one: by hand
    expected = ((2 if more else 1) * 1.5 - 0.125) / 2
    assert ends and min(e.length for e in ends) == pytest.approx(expected, abs=1e-3)


def test_boards_none_of_which_can_be_joined_stay_whole_and_are_told():
    """Over 4x joists as near to each other as they are thick no second joist has room, and no run has a place for a
    joint."""
    points = [[52, 35], [52, 0], [109, 0], [109, 81], [52, 81], [52, 107], [0, 107]]
    made = build(
        Parameters.model_validate(
            {
                "outline": {"points": points},
                "levels": {"surface": 9},
                "frame": {"joist": "4x6"},
                "surface": {"board_length": 96, "border": {"courses": 2}, "direction": -60},
            }
        )
    )
    assert any("no joist gives bearing for a joint" in worded(n) for n in made.notes)
