"""Checks against decks whose faults are known: a rule that cannot fail is no check.

Limits are the rows of shared/data/limits.csv, each with its document and section. Sizes here are chosen to stand just
on one side of a limit.
"""

from __future__ import annotations

import copy
import tomllib
from dataclasses import replace

import pytest
from conftest import PARAMS, demo_checks, demo_deck

from plumbcut.exports.drafting.wording import source_text, worded
from plumbcut.model.deck import Deck, build, marked
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.rules.check_result import compare
from plumbcut.model.rules.checks import check_deck

TERRACE = tomllib.loads((PARAMS / "terrace.toml").read_text())


def checked(**changes):
    """Results for the terrace with changes: {"stair.rise": 9, "guard.gap": 4.2}."""
    data = copy.deepcopy(TERRACE)
    for key, value in changes.items():
        section, name = key.rsplit("__", 1)
        at = data
        for part in section.split("__"):
            at = at.setdefault(part, {}) if part != "stair" else at["stair"][0]
        at[name] = value
    return check_deck(build(Parameters.model_validate(data)))


def outcome(results, rule):
    return {r.result for r in results if r.rule == rule}


def test_demos_meet_every_rule_that_is_checked(demo):
    failed = [(r.rule, r.place, r.measured, r.limit, r.why) for r in demo_checks(demo) if r.result == "not met"]
    assert not failed


@pytest.mark.parametrize(
    "rule, changes",
    [
        ("rise", {"stair__rise": 8.0, "levels__surface": 31.2}),  # 4 risers of 7.8: IRC R311.7.5.1, 7-3/4 at most
        ("going (run)", {"stair__going": 9.875}),  # R311.7.5.2, 10 at least
        ("nosing, least", {"stair__nosing": 0.5, "surface__overhang": 0.5, "trim__thickness": 0.75}),
        ("nosing, greatest", {"stair__nosing": 1.5, "surface__overhang": 1.5}),
        ("stair width", {"stair__width": 35.9}),  # R311.7.1, 36 clear; the guards stand at the stringers' outer faces
        ("open riser", {"stair__risers": "open", "levels__surface": 75}),
        ("handrail needed", {"stair__handrail": "none"}),
        ("handrail height, greatest", {"guard__handrail_height": 38.5}),
        ("handrail height, least", {"guard__handrail_height": 33.5}),
        ("stringer throat", {"stair__stringer": "2x10"}),
        ("stringer spacing", {"stair__stringer_spacing": 40}),
        ("landing length", {"stair__pad__depth": 30}),
        ("guard needed", {"guard__edges": ["front", "left"]}),
        ("guard height", {"guard__height": 35.9}),
        ("guard opening", {"guard__gap": 4.25}),
        ("guard needed on a stair", {"stair__guards": "none"}),
    ],
    ids=lambda v: v if isinstance(v, str) else "",
)
def test_a_broken_rule_is_not_met(rule, changes):
    assert "not met" in outcome(checked(**changes), rule)


def test_both_sides_of_a_flight_look_as_far_for_the_fall():
    """On ground that falls sideways by 1 in 12 the sides' heights differ by a twelfth of the flight's width: what lies
    within the published 36 in (IRC R312.1.1) of either side counts alike."""
    data = copy.deepcopy(TERRACE)
    data["levels"]["slope_x"] = "1 in 12"
    deck = build(Parameters.model_validate(data))
    rows = [r for r in check_deck(deck) if r.rule == "guard needed on a stair"]
    right, left = (dict(dict(r.why.values)["p0"].values)["high"].value for r in rows)
    treads = deck.roles("tread")
    width = max(t.box[1][0] for t in treads) - min(t.box[0][0] for t in treads)
    assert abs(right - left) == pytest.approx(width / 12, abs=1e-6)


def test_a_missing_baluster_is_seen():
    """The opening is measured, not taken from the parameters: one baluster out of the solids fails the edge."""
    deck = demo_deck("terrace")
    lost = next(p for p in deck.parts if p.role == "baluster" and p.edge == "left")
    short = Deck(deck.parameters, deck.levels, [p for p in deck.parts if p is not lost])
    failed = [r for r in check_deck(short, measure_all(short.parts)) if r.result == "not met"]
    assert {(r.rule, r.place) for r in failed} == {("guard opening", "left edge")}
    gap = next(r for r in failed).measured
    assert 6 < gap < 9.5  # two gaps and a baluster


@pytest.mark.parametrize(
    "shift, rule", [((0, 0, 0.5), "rises alike"), ((0, -0.5, 0), "goings alike"), ((0, -0.5, 0), "nosings alike")]
)
def test_a_moved_tread_is_seen(shift, rule):
    """Half an inch at one tread makes two rises, or two goings, differ by an inch; a nosing by half of one."""
    deck = demo_deck("terrace")
    tops = sorted({round(float(p.box[1][2]), 6) for p in deck.roles("tread")})
    moved = []
    for p in deck.parts:
        if p.role == "tread" and abs(p.box[1][2] - tops[2]) < 1e-3:
            origin = tuple(a + b for a, b in zip(p.place.origin, shift))
            p = p.replaced(place=replace(p.place, origin=origin))
        moved.append(p)
    results = check_deck(Deck(deck.parameters, deck.levels, moved), measure_all(moved))
    assert outcome(results, rule) == {"not met"}


def test_local_values_are_used_where_tighter_and_said():
    results = checked(local__riser_height=6.0)
    rises = [r for r in results if r.rule == "rise"]
    assert {r.limit for r in rises} == {6.0} and all(r.local.used for r in rises)
    loose = [r for r in checked(local__riser_height=8.0) if r.rule == "rise"]
    assert {r.limit for r in loose} == {7.75} and all("looser and was not used" in source_text(r) for r in loose)


def test_values_from_memory_say_so():
    nosing = next(r for r in demo_checks("terrace") if r.rule == "nosing, least")
    assert "from memory" in nosing.source


def test_no_result_reads_as_an_approval():
    for r in demo_checks("terrace"):
        assert r.result in ("met", "not met", "not checked")
        told = (r.rule + worded(r.why)).lower()
        assert "safe" not in told and "approved" not in told
        if r.result == "not checked":
            assert r.why


def test_strict_limits_are_strict():
    """A 4 in sphere must not pass: an opening of exactly 4 in lets it."""
    assert compare("less than", 4.0, 4.0)[0] is False
    assert compare("less than", 3.99, 4.0)[0] is True
    assert compare("at most", 7.75, 7.75)[0] is True


@pytest.mark.parametrize("thickness, bound", [(1.0, 16), (1.3, 16), (1.5, 24)])
def test_boards_thinner_than_a_2x_span_as_5_4_do(thickness, bound):
    """IRC Table R507.7, square to the joists: 5/4 boards 16 in, 2x boards 24 in; the table has none between."""
    found = checked(surface__material="treated lumber", surface__board_thickness=thickness)
    assert {r.limit for r in found if r.rule == "board span"} == {bound}


def test_edges_of_a_second_level_are_looked_at():
    """A low deck beside the terrace, 32 in above grade and without a guard: IRC R312.1.1 asks for one past 30 in."""
    beside = {"points": [[0, -260], [150, -260], [150, -140], [0, -140]], "edges": ["s", "e", "n", "w"], "house": []}
    low = {
        "local": TERRACE["local"],
        "outline": beside,
        "levels": {"surface": 32},
        "frame": {"joist": "2x8", "support": "free-standing"},
        "guard": {"edges": []},
    }
    first, second = demo_deck("terrace"), build(Parameters.model_validate(low))
    both = Deck(first.parameters, (*first.levels, *second.levels), [*first.parts, *second.parts])
    both.parts = marked([p.replaced(carried_by=()) for p in both.parts])
    found = [r for r in check_deck(both) if r.rule == "guard needed" and r.result == "not met"]
    assert {r.place for r in found} == {"s edge", "e edge", "n edge", "w edge"}


@pytest.mark.parametrize(
    "landings, handrail",
    [
        ([{"after_risers": 6, "turn": "left"}], "auto"),
        ([{"after_risers": 9, "turn": "back"}], "both"),
        ([{"after_risers": 9, "turn": "back", "side": "right"}], "auto"),
        ([{"after_risers": 5, "turn": "back"}, {"after_risers": 9, "turn": "back", "side": "right"}], "both"),
    ],
    ids=["left", "back, both handrails", "back right", "to and fro"],
)
def test_rails_of_one_flight_are_not_taken_for_anothers(landings, handrail):
    """A guard that ends on the post over the lowest riser does not stop short, and what stands beside, over or under
    a flight is neither its guard nor its handrail."""
    stair = {"edge": "front", "at": 40, "handrail": handrail, "landings": landings}
    deck = build(
        Parameters.model_validate(
            {"outline": {"width": 300, "depth": 130}, "levels": {"surface": 105}, "stair": [stair]}
        )
    )
    results = [r for r in check_deck(deck) if any(w in r.rule for w in ("guard", "handrail", "triangle"))]
    assert {"guard needed on a stair", "guard height on a stair", "space behind the handrail"} <= {
        r.rule for r in results
    }
    assert not [(r.rule, worded(r.place), r.measured) for r in results if r.result == "not met"]
