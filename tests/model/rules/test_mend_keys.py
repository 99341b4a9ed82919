"""A row that is not met says what would mend it: the key, and a value with which the row is met."""

from __future__ import annotations

import re

import pytest
from test_check_frame import checked

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.rules.mend_keys import NO_KEY, names_key
from plumbcut.shared.units import parse_length

BROKEN = [
    ("terrace", {"frame__joist": "2x6", "frame__beam_lines": [18], "loads__live_psf": 80, "stair": []}),
    ("terrace", {"loads__live_psf": 150}),
    ("terrace", {"frame__beam_lines": [50], "stair": []}),
    ("terrace", {"frame__beam": "2x8", "frame__post_spacing": 160, "frame__beam_overhang": 40}),
    ("terrace", {"frame__post": "4x4", "loads__live_psf": 400, "levels__surface": 130, "stair": []}),
    ("terrace", {"frame__footing__size": 10, "frame__footing__depth": 8}),
    ("terrace", {"surface__material": "treated lumber", "surface__direction": 45, "frame__joist_spacing": 16}),
    ("terrace", {"frame__blocking_at_beams": False, "frame__blocking_rows": 0, "lumber__treatment": "UC3B"}),
    ("terrace", {"stair__stringer": "2x10", "guard__handrail_size": 2.0, "guard__handrail_clearance": 0.25}),
    ("terrace", {"guard__gap": 4.5, "guard__height": 30, "stair__guards": "none", "stair__handrail": "none"}),
    ("terrace", {"guard__edges": [], "stair__going": 8, "stair__nosing": 2.0, "stair__width": 20}),
    ("hillside", {"stair__landings": [{"after_risers": 8, "depth": 30, "turn": "straight"}]}),
    ("hillside", {"stair__width": 58, "stair__stringer_spacing": 60, "stair__at": 30}),
    ("hillside", {"stair__landings": [], "levels__surface": "13 ft"}),
]


@pytest.mark.parametrize("demo, changes", BROKEN, ids=lambda v: v if isinstance(v, str) else "-".join(v))
def test_every_row_that_is_not_met_names_a_key(demo, changes):
    rows = [r for r in checked(demo, **changes) if r.result == "not met"]
    assert rows
    bare = [(r.rule, worded(r.place)) for r in rows if not names_key(r.why) or NO_KEY in worded(r.why)]
    assert not bare


@pytest.mark.parametrize(
    "rule, key, changes",
    [
        ("board span", "frame.joist_spacing", {"surface__material": "treated lumber", "frame__joist_spacing": 24}),
        (
            "clear span of a board",
            "frame.joist_spacing",
            {"surface__material": "treated lumber", "frame__joist_spacing": 24},
        ),
        ("joist span (table)", "frame.joist", {"frame__joist": "2x6", "frame__beam_lines": [18], "stair": []}),
        ("beam span (table)", "frame.post_spacing", {"frame__beam": "2x8", "frame__post_spacing": 160}),
        ("beam overhang (table)", "frame.beam_overhang", {"frame__beam_overhang": 40}),
        ("soil bearing (calculation)", "frame.footing.size", {"frame__footing__size": 10}),
        ("footing diameter (table)", "frame.footing.size", {"frame__footing__size": 10}),
        ("frost depth", "frame.footing.depth", {"frame__footing__depth": 20}),
        ("ledger depth", "frame.ledger", {"frame__ledger": "2x8", "stair": []}),
        ("stringer throat", "stair.stringer", {"stair__stringer": "2x10"}),
        ("handrail grip, across", "guard.handrail_size", {"guard__handrail_size": 2.0}),
        ("guard opening", "guard.gap", {"guard__gap": 4.5}),
        ("guard height", "guard.height", {"guard__height": 30}),
        ("going (run)", "stair.going", {"stair__going": 8}),
        ("stair width beside handrail", "stair.width", {"stair__width": 30}),
        ("landing length", "stair.pad.depth", {"stair__pad__depth": 20}),
        ("handrail height, greatest", "guard.handrail_height", {"guard__handrail_height": 44}),
    ],
)
def test_with_the_value_named_the_row_is_met(rule, key, changes):
    """The text of each row is read as a builder reads it."""
    told = [worded(r.why) for r in checked(**changes) if r.rule == rule and r.result == "not met"]
    values = [m[1] for t in told if (m := re.search(rf"(\S+)(?: in)?(?: on centre)? would do \({re.escape(key)}\)", t))]
    assert values, told
    text = values[0]
    value = text if re.fullmatch(r"\dx\d+", text) else min(parse_length(v) for v in values)
    again = checked(**{**changes, key.replace(".", "__"): value})
    assert "not met" not in {r.result for r in again if r.rule == rule}
