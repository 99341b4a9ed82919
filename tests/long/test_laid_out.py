"""What the sheets say to a crew, held against the solids: the demos and decks of odd shapes, on three papers; and the
reading itself, which must find a figure that is wrong."""

from __future__ import annotations

import numpy as np
import pytest
from conftest import DEMOS, PARAMS
from laid_out import LaidOut, Sheets, built, faults, inches, of_seed, stations
from read_back import Piece

ODD = ((201, "ARCH B"), (204, "letter"), (205, "A3"))  # an L, a trapeze and one of many sides


@pytest.mark.parametrize("name", DEMOS)
def test_a_demo_is_laid_out_from_its_sheets(name, tmp_path):
    text = (PARAMS / f"{name}.toml").read_text().replace('prices = "prices.csv"', "")
    text = text.replace('maker = "sheets/boards.toml"', "")
    assert not faults(built(text, tmp_path))


@pytest.mark.parametrize("seed, paper", ODD)
def test_an_odd_deck_is_laid_out_from_its_sheets(seed, paper, tmp_path):
    assert not of_seed(seed, tmp_path, paper)


FOOTINGS = ("MARK", "SIZE", "HIGH", "BELOW GRADE", "T.O.", "X", "Y", "POST", "POST LONG")
JOISTS = ("JOISTS", "RUN ALONG", "NO.", "CENTRES, SQUARE TO THE RUN FROM O")


def _box(name: str, role: str, x: float, y: float, wide: float, deep: float) -> Piece:
    corners = np.array([(x + a * wide / 2, y + b * deep / 2, z) for a in (-1, 1) for b in (-1, 1) for z in (0, 9)])
    return Piece(name, {"role": role}, corners, np.zeros((0, 3), int), np.eye(3)[:, [1, 0, 2]], None)


def _read(footing_x: str, joists: str) -> list[str]:
    """The faults of two footings and three joists along y, O at (10, 100)."""
    solids = [_box(f"F1-0{n}", "footing", 10 + x, 60, 16, 16) for n, x in ((1, 12), (2, 72), (3, 132))]
    solids += [_box(f"J{n}", "joist", 10 + 16 * n, 50, 1.5, 90) for n in (1, 2, 3, 4)]
    rows = [
        [f"F1-0{n}", "", "", "", "", x, "3'-4\"", "", ""] for n, x in ((1, "1'-0\""), (2, footing_x), (3, "11'-0\""))
    ]
    sheets = Sheets({FOOTINGS: rows, JOISTS: [["FIELD", "Y", "4", joists]]})
    laid = LaidOut(sheets, solids, {}, False)
    laid.footings()
    laid.joists()
    return laid.faults


def test_the_reading_finds_what_is_told_wrong():
    assert not _read("6'-0\"", "1'-4\", THEN 3 @ 1'-4\" TO 5'-4\"")
    assert len(_read("6'-0 1/4\"", "1'-4\", THEN 3 @ 1'-4\" TO 5'-4\"")) == 1
    assert len(_read("-6'-0\"", "1'-4\", THEN 3 @ 1'-4\" TO 5'-4\"")) == 1
    assert len(_read("6'-0\"", "1'-4\", 2'-8\", 4'-0\", 5'-4 1/2\"")) == 2  # a joist at no station, a station bare
    assert _read("6'-0\"", "1'-4\", 2'-8\", 4'-0\"")


def test_lengths_are_read_as_written():
    assert [inches(t) for t in ("0\"", "-1 1/2\"", "3/4\"", "12'-3 1/2\"", "-8'-0 3/16\"")] == [
        0.0, -1.5, 0.75, 147.5, -96.1875,
    ]  # fmt: skip
    assert inches("-3112", True) == pytest.approx(-122.52, abs=0.01)
    with pytest.raises(AssertionError):
        inches("3 1/8 IN")
    assert stations("2'-0\", THEN 3 @ 1'-0\" TO 5'-0\", 5'-10\"", False) == [24.0, 36.0, 48.0, 60.0, 70.0]
    with pytest.raises(AssertionError):
        stations("2'-0\", THEN 3 @ 1'-1\" TO 5'-0\"", False)
