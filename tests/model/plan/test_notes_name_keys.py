"""Notes that tell of something made otherwise than the file asks name the key that decides it."""

from __future__ import annotations

import re

import pytest
from conftest import PARAMS

from plumbcut.exports.drafting.wording import note_on_paper, worded
from plumbcut.model.input.fault_wording import hint_of
from plumbcut.model.parameter_file import path_of, prepare

_KEYS = re.compile(r"\(([a-z_]+\.[a-z_.0-9]+(?:, [a-z_]+\.[a-z_.0-9]+)*)\)\.?$")
ASKED = """
[outline]
width = 210
depth = 130
[levels]
surface = {surface}
slope_y = {slope}
[frame]
beam_seat = "notched post"
[[stair]]
edge = "front"
rise = 7.5
{stair}
"""
LANDING = '[[stair.landings]]\nafter_risers = {after}\nturn = "left"\nside = "left"\ndepth = 36\n'


def notes(text: str):
    layout = prepare("deck.toml", source=text.encode())[1]
    return [*layout.notes, *(n for plan in layout.stair_plans for n in plan.notes)]


def keys_of(note) -> list[str]:
    found = _KEYS.search(worded(note))
    return found[1].split(", ") if found else []


@pytest.mark.parametrize(
    ("surface", "slope", "stair", "told", "keys"),
    [
        (60, 0, LANDING.format(after=3), "is for turn", ["stair.0.landings.0.turn"]),
        (60, 0, LANDING.format(after=3), "made", ["stair.0.landings.0.depth"]),
        (60, 0.05, "", "grade varies", ["levels.slope_x", "levels.slope_y"]),
        (59, 0, "", "come out alike", ["stair.0.rise"]),
        (40, 0, "total_rise = 52", "puts the pad", ["stair.0.total_rise"]),
        (12, 0, "", "beams are flush", ["frame.beam_position"]),
    ],
)
def test_the_key_stands_at_the_end_and_not_on_paper(surface, slope, stair, told, keys):
    found = [n for n in notes(ASKED.format(surface=surface, slope=slope, stair=stair)) if told in worded(n)]
    assert found, told
    for note in found:
        assert keys_of(note) == keys
        assert not _KEYS.search(note_on_paper(note)) and "stair.0" not in note_on_paper(note)


@pytest.mark.parametrize("name", ["terrace", "wraparound", "hillside"])
def test_what_a_note_names_is_a_key_of_the_file(name):
    layout = prepare(PARAMS / f"{name}.toml")[1]
    for note in [*layout.notes, *(n for plan in layout.stair_plans for n in plan.notes)]:
        assert all(hint_of(path_of(key)) is not None for key in keys_of(note)), worded(note)
