"""On the demos, broken one key at a time: every row that is not met names a key of the file."""

from __future__ import annotations

import copy
import re
import tomllib

import pytest
from conftest import PARAMS

from plumbcut.exports.drafting.wording import worded
from plumbcut.model.deck import build
from plumbcut.model.design.advised import checked_with_mends, names_a_key
from plumbcut.model.input.parameters import Parameters

BROKEN = [
    ("terrace", {"frame__joist": "2x6", "frame__beam_lines": [18], "loads__live_psf": 80, "stair": []}),
    ("terrace", {"loads__live_psf": 150}),
    ("terrace", {"frame__beam_lines": [50], "stair": []}),
    ("terrace", {"frame__beam": "2x8", "frame__post_spacing": 160, "frame__beam_overhang": 40}),
    ("terrace", {"frame__post": "4x4", "loads__live_psf": 300, "levels__surface": 130, "stair": []}),
    ("terrace", {"frame__ledger": "2x8", "hardware": {"joist_hanger_lb": 100, "guard_post_lb": 500}}),
    ("terrace", {"hardware": {"ledger_fastener": "bolt", "ledger_spacing": 48}, "surface__max_span": 12}),
    ("terrace", {"frame__footing__size": 10, "frame__footing__depth": 8}),
    ("terrace", {"surface__material": "treated lumber", "surface__direction": 45, "frame__joist_spacing": 16}),
    ("terrace", {"frame__blocking_at_beams": False, "frame__blocking_rows": 0, "lumber__treatment": "UC3B"}),
    ("terrace", {"stair__stringer": "2x10", "guard__handrail_size": 2.0, "guard__handrail_clearance": 0.25}),
    ("terrace", {"guard__gap": 4.5, "guard__height": 30, "stair__guards": "none", "stair__handrail": "none"}),
    ("terrace", {"guard__edges": [], "stair__going": 8, "stair__nosing": 2.0, "stair__width": 20}),
    ("terrace", {"frame__beam_seat": "notched post", "frame__beam_plies": 3, "stair": []}),
    ("hillside", {"stair__landings": [{"after_risers": 8, "depth": 30, "turn": "straight"}]}),
    ("hillside", {"stair__width": 58, "stair__stringer_spacing": 60, "stair__at": 30}),
    ("hillside", {"stair__landings": [], "levels__surface": "13 ft"}),
]


def checked(demo: str, changes: dict) -> list:
    data = copy.deepcopy(tomllib.loads((PARAMS / f"{demo}.toml").read_text()))
    for path, value in changes.items():
        *sections, name = path.split("__")
        at = data
        for section in sections:
            at = at.setdefault(section, {})
            at = at[0] if isinstance(at, list) else at
        at[name] = value
    return checked_with_mends(build(Parameters.model_validate(data)))


@pytest.mark.parametrize("demo, changes", BROKEN, ids=lambda v: v if isinstance(v, str) else "-".join(v))
def test_every_row_that_is_not_met_names_a_key(demo, changes):
    rows = [r for r in checked(demo, changes) if r.result == "not met"]
    assert rows
    assert not [(r.rule, worded(r.place), worded(r.why)) for r in rows if not names_a_key(r.why)]


@pytest.mark.parametrize(
    "rule, changes",
    [
        ("clear span of a board", {"surface__material": "treated lumber", "frame__joist_spacing": 24}),
        ("ledger depth", {"frame__ledger": "2x8", "stair": []}),
        ("treatment category", {"lumber__treatment": "UC3B"}),
        ("bending, sagging (calculation)", {"loads__live_psf": 100, "frame__beam_lines": [9.5]}),
        ("ledger, bolt (table)", {"hardware": {"ledger_fastener": "bolt", "ledger_spacing": 48}}),
        ("tread span", {"stair__tread_max_span": 9}),
        ("wood left beside a notch", {"frame__beam_seat": "notched post", "frame__beam_plies": 3, "stair": []}),
    ],
)
def test_with_the_value_named_the_row_is_met(rule, changes):
    """The text is read as a builder reads it: `key = value would do`, or a length before `would do (key)`."""

    def rows(changed: dict) -> list:
        of_joists = [r for r in checked("terrace", changed) if not worded(r.place).startswith("rim")]
        return [r for r in of_joists if r.rule == rule and r.result == "not met"]

    told = [worded(r.why) for r in rows(changes)]
    assert told
    given = re.findall(r'([a-z_]+\.[a-z0-9_.]+) = (".*?"|\S+)', " ".join(told))
    spoken = re.findall(r"(\S+) in on centre would do \(([a-z_.]+)\)", " ".join(told))
    found = [(k, v.strip('"')) for k, v in given] + [(k, v) for v, k in spoken]
    key = found[0][0]
    values = [v for k, v in found if k == key]
    value = min(map(float, values)) if re.fullmatch(r"[\d.]+", values[0]) else values[0]
    path = "__".join(step for step in key.split(".") if not step.isdecimal())
    assert not rows(with_key(changes, path, value))


def with_key(changes: dict, path: str, value: object) -> dict:
    """The changes with one more; a section given whole gets the key in it."""
    section, _, name = path.partition("__")
    if isinstance(changes.get(section), dict):
        return {**changes, section: {**changes[section], name: value}}
    return {**changes, path: value}
