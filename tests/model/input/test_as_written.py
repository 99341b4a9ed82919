"""Values in the trade's own hand: read where the meaning is certain, else one line that shows how to write them."""

from __future__ import annotations

import tomllib

import pytest

from plumbcut.model import parameter_file
from plumbcut.model.input.as_written import as_written
from plumbcut.model.input.toml_slips import as_toml_line
from plumbcut.shared.errors import InputError, counted_from_one
from plumbcut.shared.units import parse_length

FILE = """[outline]
width = "14 ft"
depth = 109
{}
[levels]
surface = 40
"""


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("12’ 6½”", 150.5),
        ("12½", 12.5),
        ("½", 0.5),
        ("3 ⅜ in", 3.375),
        ("12’–6”", 150.0),
        ("5⁄8", 0.625),
        ("1⅞″", 1.875),
        ("12' 6", 150.0),
        ("12 feet and 6 inches", 150.0),
        ("16 o.c.", 16.0),
        ('16" OC', 16.0),
        ("16 in on center", 16.0),
    ],
)
def test_marks_and_fractions_of_one_character(text, inches):
    assert parse_length(text) == inches


@pytest.mark.parametrize(
    ("line", "written"),
    [
        ('width = "12\'-6""', 'width = "12\'-6"'),
        ("width = 12' 6\"", 'width = "12\' 6"'),
        ("width = “12’ 6½”", 'width = "12\' 6 1/2"'),
        ("  gap = 1/2  # inch", 'gap = "1/2"'),
        ("joist = 2x10", 'joist = "2x10"'),
        ("edge = left", 'edge = "left"'),
        ("knee_braces = yes", "knee_braces = true"),
        ("fascia = False", "fascia = false"),
        ("width = 17,5", "width = 17.5"),
        ("area = 1,250", None),
        ("width = '17' 6\"'", 'width = "17\' 6"'),
        ('width: "17\' 6"', 'width = "17\' 6"'),
        ("width 42", 'width = "42"'),
        ('at = 3\' 2" # from the "corner"', None),
        ("points = [[0, 0], [12', 0]]", None),
        ("no key here", None),
    ],
)
def test_a_line_that_is_no_toml_is_shown_as_it_may_be_written(line, written):
    assert as_toml_line(line) == written
    if written is not None:
        tomllib.loads(written)


def read(tmp_path, lines):
    path = tmp_path / "deck.toml"
    path.write_text(FILE.format(lines), encoding="utf-8")
    return path


def test_sizes_choices_and_edges_in_any_letters(tmp_path):
    tables = 'house = ["Back"]\n[frame]\njoist = "2X10"\nbeam = "2 × 12"\nsupport = "Ledger"\n[[stair]]\nedge = "FRONT"'
    p = parameter_file.read(read(tmp_path, tables))
    assert (p.frame.joist, p.frame.beam, p.frame.support) == ("2x10", "2x12", "ledger")
    assert (p.outline.house, p.stair[0].edge) == (["back"], "front")


@pytest.mark.parametrize(
    ("table", "key", "text", "read_as"),
    [
        ("frame", "support", "Free standing", "free-standing"),
        ("frame", "support", "freestanding", "free-standing"),
        ("frame", "joist", "2 by 10", "2x10"),
        ("frame", "joist", "2”x10”", "2x10"),
        ("frame", "joist", "2*10", "2x10"),
        ("local", "edition", "irc2021", "IRC 2021"),
        ("drawing", "paper", "Arch-D", "ARCH D"),
        ("drawing", "scale", "1:4", "1:4"),
        ("frame", "joist", "2 and 10", "2 and 10"),
    ],
)
def test_parts_joined_otherwise(table, key, text, read_as):
    assert as_written({table: {key: text}}) == {table: {key: read_as}}


def test_a_number_with_another_unit_is_not_taken_for_its_own(tmp_path):
    with pytest.raises(InputError) as refused:
        parameter_file.read(read(tmp_path, '[loads]\nlive_psf = "40 kPa"'))
    assert "write" not in str(refused.value)


def test_what_could_mean_two_things_stays():
    two = {"outline": {"edges": ["Left", "left", "a", "b"]}, "stair": [{"edge": "LEFT"}]}
    assert as_written(two) == two
    named = {"project": {"name": "Left"}, "outline": {"edges": ["LEFT", "b", "c", "d"]}, "stair": [{"edge": "left"}]}
    assert as_written(named) == named | {"stair": [{"edge": "LEFT"}]}


@pytest.mark.parametrize(
    ("lines", "line", "told"),
    [
        ('[frame]\nbeam_position = "undr"', 5, 'wanted one of "under", "flush"; did you mean "under"?'),
        ("[frame]\ncantilever = 1'-6\"", 5, 'write cantilever = "1\'-6"'),
        ('[frame]\nrim_plies = "2"', 5, "wanted a whole number; write 2, without quotes"),
        ('[frame]\nknee_braces = "Yes"', 5, "write true, without quotes"),
        ('[loads]\nlive_psf = "40 psf"', 5, "write 40, without quotes"),
        ('[guard]\nedges = "left"', 5, 'write ["left"]'),
        ('[frame]\ncantilever = "0,3 m"', 5, "write a point for the comma"),
    ],
)
def test_one_line_says_how_to_write_it(tmp_path, lines, line, told):
    with pytest.raises(InputError) as refused:
        parameter_file.read(read(tmp_path, lines))
    (fault,) = refused.value.faults
    assert fault.line == line and told in fault.message


def test_tables_of_a_list_are_counted_from_one_beside_the_key(tmp_path):
    with pytest.raises(InputError) as refused:
        parameter_file.read(read(tmp_path, '[[stair]]\nedge = "front"\n[[stair]]\nedge = "frnt"'))
    assert "stair.1.edge (stair 2): no edge 'frnt'" in str(refused.value)
    assert counted_from_one("stair.0.landings.1.turn") == "stair 1 landing 2"
    assert [counted_from_one(k) for k in ("outline.points.3", "frame.joist", "site.door.0")] == ["", "", ""]


@pytest.mark.parametrize(("tables", "key"), [("width = 200", "width"), ("width = 40\nat = 150", "at")])
def test_the_key_to_change_is_blamed(tmp_path, tables, key):
    with pytest.raises(InputError) as refused:
        parameter_file.read(read(tmp_path, f'[[stair]]\nedge = "front"\n{tables}'))
    (fault,) = refused.value.faults
    assert fault.key == f"stair.0.{key}" and f"stair.0.{key} = " in fault.message
