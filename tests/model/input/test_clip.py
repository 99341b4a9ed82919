"""A rectangle's corners clipped, against the polygon written out by hand."""

from __future__ import annotations

import pytest

from plumbcut.exports.page.desk import edge_length
from plumbcut.model.parameter_file import prepare
from plumbcut.shared.errors import InputError

RECTANGLE = "[outline]\nwidth = 200\ndepth = 120\n{}\n[levels]\nsurface = 40\n{}"


def outline(clip: str, more: str = ""):
    return prepare("deck.toml", source=RECTANGLE.format(clip, more).encode())[1].outline


def test_a_clipped_corner_is_the_polygon_written_out():
    """(0,0) cut by 36 on both edges: the front starts at 36, and an edge of 36 x sqrt 2 comes last."""
    found = outline('clip = { front_left = "3 ft", back_right = 24 }')
    corners = {e.name: e.start for e in found.edges}
    assert corners == {
        "front": (36, 0),
        "right": (200, 0),
        "back-right": (200, 96),
        "back": (176, 120),
        "left": (0, 120),
        "front-left": (0, 36),
    }
    assert [e.name for e in found.edges if e.house] == ["back"]
    assert found.polygon.exterior.is_ccw and found.polygon.area == 200 * 120 - 36**2 / 2 - 24**2 / 2


def test_all_four_and_as_a_table_of_its_own():
    table = "[outline.clip]\nfront_left = 20\nfront_right = 20\nback_left = 20\nback_right = 20\n"
    found = outline("", table)
    assert len(found.edges) == 8 and found.polygon.area == 200 * 120 - 4 * 20**2 / 2
    assert found["front-right"].start == (180, 0) and found["front-right"].end == (200, 20)
    assert found["back-left"].length == pytest.approx(20 * 2**0.5)


def test_a_stair_leaves_over_the_corner_by_its_edge_in_any_letters():
    layout = prepare(
        "d.toml", source=RECTANGLE.format("clip = { front_left = 60 }", '[[stair]]\nedge = "Front-Left"\n').encode()
    )[1]
    assert layout.stair_plans[0].spot.edge.name == "front-left"


@pytest.mark.parametrize(
    ("clip", "told"),
    [
        ("clip = { front_left = 100, front_right = 100 }", "outline.clip: clip takes 200 in off the front"),
        ("clip = { back_left = 130 }", "outline.clip: clip takes 130 in off the left"),
        ("clip = { front_left = 0 }", "outline.clip.front_left: got 0; wanted more than 0 in"),
        ("clip = { front_left = 99.9, front_right = 99.9 }", "outline.clip: edge front is only"),
        ("clip = { middle = 10 }", "outline.clip.middle: unknown key"),
        ("clip = 10", "outline.clip: got 10; wanted a section"),
    ],
)
def test_what_cannot_be_clipped_is_refused_by_key(clip, told):
    with pytest.raises(InputError) as refused:
        outline(clip)
    assert told in str(refused.value)


def test_a_polygon_has_its_own_corners():
    text = "[outline]\npoints = [[0,0],[100,0],[100,100]]\nclip = { front_left = 5 }\n[levels]\nsurface = 40\n"
    with pytest.raises(InputError, match="outline.clip: clip is for a rectangle"):
        prepare("deck.toml", source=text.encode())


def test_a_length_typed_on_the_plan_changes_the_key_that_makes_it():
    p = prepare("d.toml", source=RECTANGLE.format("clip = { front_left = 36 }", "").encode())[0]
    assert edge_length(p, 0, "170") == [{"key": "outline.width", "inches": pytest.approx(206)}]
    assert edge_length(p, 1, "130") == [{"key": "outline.depth", "inches": pytest.approx(130)}]
    assert edge_length(p, 4, "50") == [{"key": "outline.clip.front_left", "inches": pytest.approx(50 / 2**0.5)}]
