"""Every row that is not met names a key of the file; the values that it names are put into the file, and then the rules
are met. The limits are the rules' own; nothing here is taken from them."""

from __future__ import annotations

import re
import tomllib
from collections import defaultdict
from types import SimpleNamespace

import pytest

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.design.advised import checked_with_mends
from plumbcut.model.design.rule_mends import rule_mends
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.plan.would_do import with_value
from plumbcut.model.rules.checks import check_deck

STAIR = {"rise": 9, "going": 9, "width": 30, "nosing": 0.5, "stringer_spacing": 30, "pad": {"depth": 20}}
GUARD = {
    "height": 30,
    "gap": 5,
    "handrail_height": 30,
    "handrail_clearance": 0.75,
    "handrail_size": 2.5,
    "post_spacing": 100,
    "edges": ["front"],
}
CASES = {
    "a stair and guards of bad sizes": (60, {"stair": [STAIR], "guard": GUARD}),
    "a stair left open": (
        60,
        {
            "stair": [{"risers": "open", "handrail": "none", "guards": "none", "stringer": "2x8"}],
            "guard": {"bottom_gap": 6},
            "frame": {"footing": {"size": 8, "depth": 6}, "blocking_at_beams": False},
            "local": {"frost_depth": 42},
        },
    ),
    "too high for one flight": (170, {"stair": [{"carriers": "none"}], "guard": {"handrail_clearance": 4}}),
    "a short landing, a weak beam": (
        76,
        {
            "stair": [{"nosing": 2, "landings": [{"after_risers": 5, "depth": 24}]}],
            "guard": {"handrail_height": 40, "baluster": 0.5, "post_spacing": 66},
            "frame": {"beam": "2x6", "beam_plies": 1, "post_spacing": 100, "cantilever": 40},
        },
    ),
    "a weak joist": (48, {"frame": {"joist": "2x6", "joist_spacing": 24, "cantilever": 30, "beam_overhang": 40}}),
}
WOULD_DO = re.compile(r"((?:[a-z_]+\.)[a-z0-9_.]+ = .*?) would do")


def decked(case: str) -> Parameters:
    surface, given = CASES[case]
    stairs = [{"edge": "front", **s} for s in given.get("stair", [])]
    whole = {"outline": {"width": 200, "depth": 140}, "levels": {"surface": surface}, **given, "stair": stairs}
    return Parameters.model_validate(whole)


def unmet(p: Parameters) -> list:
    return [r for r in checked_with_mends(build(p)) if r.result == "not met"]


def first_value(row) -> tuple[str, object] | None:
    """The first key that a row names with a value, and the value."""
    told = WOULD_DO.search(worded(row.why))
    if told is None:
        return None
    key, value = re.split(r" or (?=[a-z_]+\.)", told[1])[0].split(" = ", 1)
    return key, tomllib.loads(f"v = {value}")["v"]


@pytest.mark.parametrize("case", CASES)
def test_a_row_that_is_not_met_names_a_key_and_its_value_passes(case):
    p = decked(case)
    rows = unmet(p)
    assert rows
    for r in rows:
        assert re.search(r"\b(stair|guard|frame|surface)\.[a-z0-9_]+", worded(r.why)), (r.rule, worded(r.why))
    wanted: dict[str, list] = defaultdict(list)
    for r in rows:
        found = first_value(r)
        if found:
            wanted[found[0]].append((r, found[1]))
    for key, found in wanted.items():
        values = [v for _, v in found]
        if isinstance(values[0], list) and key == "guard.edges":
            value = sorted({e for v in values for e in v})
        elif isinstance(values[0], (int, float)):
            value = max(values) if found[0][0].kind in ("at least", "more than") or "plies" in key else min(values)
        else:
            value = max(values, key=str)
        p = with_value(p, key, value)
    after = {r.rule for r in unmet(p)}
    mended = {r.rule for found in wanted.values() for r, _ in found}
    assert mended and not mended & after


TWO = {
    "1-1/2 in apart": ("solids overlap", 45, [[0, 0], [140, 0], [140, 60], [0, 60]], [("a", 10), ("a", 53.5)]),
    "at a corner, with handrails alone": (
        "handrail runs the whole flight",
        24,
        [[0, 0], [80, 0], [130, 50], [130, 90], [0, 90]],
        [("a", 38), ("b", 0)],
    ),
}


@pytest.mark.parametrize("case", TWO)
def test_two_stairs_in_each_others_way_name_what_clears_them(case):
    rule, surface, points, stairs = TWO[case]
    outline = {"points": points, "edges": [*"abcde"[: len(points)]], "house": ["de"[len(points) - 4]]}
    stairs = [{"edge": edge, "at": at, "width": 42} for edge, at in stairs]
    p = Parameters.model_validate({"outline": outline, "levels": {"surface": surface}, "stair": stairs})
    rows = [r for r in unmet(p) if r.rule == rule]
    assert rows
    for row in rows:
        key, value = first_value(row)
        deck = build(with_value(p, key, value))
        assert not deck.clashes and not [r for r in check_deck(deck) if r.rule == rule and r.result == "not met"]


def back_under(after: int) -> Parameters:
    stop = {"after_risers": after, "turn": "back", "side": "right"}
    outline = {"points": [[0, 0], [150, 0], [150, 150], [0, 150]], "edges": ["a", "b", "c", "d"], "house": ["c"]}
    file = {"outline": outline, "levels": {"surface": 116}, "stair": [{"edge": "b", "landings": [stop]}]}
    return Parameters.model_validate(file)


def test_a_stair_whose_longer_flight_comes_back_under_the_deck_names_its_landing():
    p = back_under(5)
    [row] = [r for r in unmet(p) if r.rule == "headroom"]
    key, value = first_value(row)
    assert key == "stair.0.landings.0.after_risers" and value > 5
    after = check_deck(build(with_value(p, key, value)))
    assert not [r for r in after if r.rule in ("headroom", "landing length") and r.result == "not met"]


def test_a_landing_in_which_a_post_stands_names_the_place_beside_it():
    """The foot under the deck, a post of the front beam before it."""
    p = back_under(8)
    rows = unmet(p)
    [cut] = [r for r in rows if r.rule == "landing length"]
    assert not [r for r in rows if r.rule == "headroom"] and first_value(cut)[0] == "stair.0.at"
    after = check_deck(build(with_value(p, *first_value(cut))))
    assert not [r for r in after if r.rule == "landing length" and r.result == "not met"]


def test_a_pad_cut_short_at_the_houses_wall_says_so_and_names_the_place_further_off():
    stop = {"after_risers": 4, "turn": "left"}
    outline = {"points": [[0, 0], [150, 0], [150, 120], [0, 120]], "edges": ["a", "b", "c", "d"], "house": ["c"]}
    stair = {"edge": "b", "at": 30, "landings": [stop]}
    [row] = unmet(Parameters.model_validate({"outline": outline, "levels": {"surface": 60}, "stair": [stair]}))
    assert row.rule == "landing length" and "cut short at the house's wall" in worded(row.why)
    assert first_value(row) == ("stair.0.at", 30 - (36 - row.measured))  # 15-3/4 in are left of it


def test_the_edge_left_open_beside_a_rim_of_two_plies_names_one():
    p = with_value(back_under(8), "stair.0.landings.0.rim_plies", 2)
    place = "stair 1 flight 1 landing at the foot, back side of the sheet"
    row = SimpleNamespace(rule="guard needed", place=place, ids=(), measured=None, limit=None)
    found = list(rule_mends(row, SimpleNamespace(layout=lay_out(p), parameters=p, parts=[])))
    assert found == [("stair.0.landings.0.rim_plies", 1)]


def test_no_leg_of_a_knee_brace_is_named_that_its_beam_has_no_room_for():
    """At 180 mph a leg of 40 in would bend the post as little as it may, and braces drawn with it stop at the middle of
    the beam's span: a thicker post is named alone, at the leg that the file gives and at a longer one."""
    given = {
        "outline": {"width": 187, "depth": 149, "house": []},
        "levels": {"surface": 118},
        "local": {"wind_speed_mph": 180, "wind_exposure": "C"},
    }
    for leg in (12, 40):
        frame = {"support": "free-standing", "joist": "2x10", "brace_leg": leg}
        deck = build(Parameters.model_validate({**given, "frame": frame}))
        rows = [
            r for r in checked_with_mends(deck) if r.result == "not met" and r.rule.startswith("bending by the brace")
        ]
        assert rows and all('frame.post = "8x8" would do' in worded(r.why) for r in rows)
        assert not [r.rule for r in rows if "frame.brace_leg" in worded(r.why)]
