"""The outline in plan: edges by name and length where they lie, and left and right as one faces the house."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest
from click.testing import CliRunner
from conftest import PARAMS

from plumbcut.exports.command import main
from plumbcut.exports.pictures.canvas import Lettering, svg
from plumbcut.exports.pictures.outline_picture import outline_picture
from plumbcut.model.parameter_file import prepare
from plumbcut.shared.units import feet_inches

# the same L four times: the house at the top, at the left, at the bottom and at the right of the sheet
ELL = [(0, 0), (126, 0), (126, 52), (225, 52), (225, 150), (0, 150)]
TURNS = {
    "top": lambda x, y: (x, y),
    "left": lambda x, y: (-y, x),
    "bottom": lambda x, y: (-x, -y),
    "right": lambda x, y: (y, -x),
}


def words(text: str) -> list[Lettering]:
    layout = prepare("deck.toml", source=text.encode())[1]
    return [i for i in outline_picture(layout, "a deck").items if isinstance(i, Lettering)]


def place(found: list[Lettering], text: str) -> tuple[float, float]:
    return next(i.at for i in found if i.text == text)


@pytest.mark.parametrize("side", TURNS)
def test_left_and_right_are_said_with_the_face_to_the_house(side):
    turn = TURNS[side]
    points = [list(turn(x, y)) for x, y in ELL]
    found = words(f'[outline]\npoints = {points}\nhouse = ["e5"]\n[levels]\nsurface = 40\n')
    # in the first of the four, looking up the sheet at the house, the left hand is at low x; turned with the deck
    unturn = {"top": (1, 0), "left": (0, 1), "bottom": (-1, 0), "right": (0, -1)}[side]
    left, right = (place(found, f"{w}, facing the house") for w in ("left", "right"))
    assert left[0] * unturn[0] + left[1] * unturn[1] < 0 < 225 < right[0] * unturn[0] + right[1] * unturn[1]


def test_every_edge_and_corner_is_there_with_its_length():
    text = (PARAMS / "wraparound.toml").read_text().replace('maker = "sheets/boards.toml"', "")
    layout = prepare("deck.toml", source=text.encode())[1]
    found = words(text)
    for edge in layout.outline.edges:
        at = place(found, f"{edge.name} {feet_inches(edge.length)}")
        along, inside = edge.position(at)
        assert along == pytest.approx(edge.length / 2) and abs(inside) < 24
    assert {str(n + 1) for n in range(len(layout.outline.edges))} < {i.text for i in found}
    assert "stair 1" in {i.text for i in found}


def test_without_a_house_they_are_said_of_the_sheet():
    found = words("[outline]\nwidth = 150\ndepth = 130\nhouse = []\n[levels]\nsurface = 40\n")
    assert place(found, "left, on the sheet")[0] < 0 and place(found, "right, on the sheet")[0] > 150


def test_the_starter_file_comes_with_its_picture(tmp_path):
    path = tmp_path / "deck.svg"
    told = CliRunner().invoke(main, ["new", "--picture", str(path)])
    assert told.exit_code == 0 and told.output == CliRunner().invoke(main, ["new"]).output
    texts = {t.text for t in ET.parse(path).iter("{http://www.w3.org/2000/svg}text")}
    assert {"front 17'-6\"", "left, facing the house", "stair 1"} < texts
    refused = CliRunner().invoke(main, ["new", "--picture", str(tmp_path / "deck.pdf")])
    assert refused.exit_code == 2 and not (tmp_path / "deck.pdf").exists()


def test_metric_lengths_on_a_metric_set():
    layout = prepare("d.toml", source=b"[outline]\nwidth = 150\ndepth = 130\n[levels]\nsurface = 40\n")[1]
    assert "front 3810" in svg(outline_picture(layout, "a deck", metric=True))
