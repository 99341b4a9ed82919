"""Bad parameter files: one clear line each with file, line and key, exit code 2, nothing written, no solid made.

The files are invented. Each case gives what is wrong, and where it must be found: the line is that of the fault itself,
or of the nearest section above where the fault is a default or a missing key.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner

from plumbcut.exports import command
from plumbcut.model import parameter_file
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.parameter_file import MOST_PIECES, pieces_expected, read
from plumbcut.model.plan.layout import read_outline
from plumbcut.shared.errors import DesignError, InputError

GOOD = """\
[outline]
width = "17' 6\\""
depth = "10' 9\\""
[levels]
surface = 40
"""  # lines 1 to 5: what a case adds begins on line 6

OWN = {
    "name": '"45x195"',
    "thickness": '"45 mm"',
    "width": '"195 mm"',
    "lengths": '["3.9 m"]',
    "Fb": '"8 MPa"',
    "Fv": '"0.9 MPa"',
    "Fc_perp": '"1.2 MPa"',
    "Fc": '"7 MPa"',
    "E": '"11 GPa"',
    "Emin": '"4.4 GPa"',
    "standard": '"EN 338 C24, our engineer"',
}  # a row of stock, one key a line


def own(**other: str) -> str:
    """The row with some values other than it has; "" leaves a key out."""
    return "[[lumber.stock]]\n" + "".join(f"{k} = {v}\n" for k, v in {**OWN, **other}.items() if v)


# name, text ("+" puts it under GOOD), line, key, words the message must have
CASES = [
    ("no value", "+[frame]\njoist =\n", 7, "", "is not TOML"),
    ("unclosed text", '+[frame]\njoist = "2x8\npost = 1\n', 7, "", "is not TOML"),
    ("unclosed section", "[outline\nwidth = 1\n", 1, "", "is not TOML"),
    ("a key twice", '+[frame]\njoist = "2x8"\njoist = "2x10"\n', 8, "", "is not TOML"),
    ("a section twice", "+[levels]\ngrade = 0\n", 6, "", "is not TOML"),
    ("feet without quotes", "[outline]\nwidth = 16'\ndepth = 12\n", 2, "", "is not TOML"),
    ("ends in a list", "+[surface]\nbreakers = [48,\n", 7, "", "is not TOML"),
    ("unknown section", '+[framing]\njoist = "2x8"\n', 6, "framing", "did you mean frame"),
    ("unknown key", '+[frame]\n# a remark\njoists = "2x8"\n', 8, "frame.joists", "did you mean joist?"),
    ("a key in the wrong section", "+[frame]\nedge_gap = 0.25\n", 7, "frame.edge_gap", "belongs in [surface]"),
    (
        "unknown key in a list of tables",
        '+[[stair]]\nedge = "front"\n[[stair]]\nedge = "left"\nwdth = 36\n',
        10,
        "stair.1.wdth",
        "did you mean width?",
    ),
    (
        "unknown key in a section of a stair",
        '+[[stair]]\nedge = "front"\n[stair.pad]\nthick = 4\n',
        9,
        "stair.0.pad.thick",
        "did you mean thickness?",
    ),
    ("unknown key at the top", 'joist = "2x8"\n+', 1, "joist", "belongs in [frame]"),
    (
        "a dotted key",
        "+[surface]\nborder.courses = 9\n",
        7,
        "surface.border.courses",
        "got 9; wanted at least 0 and at most 4",
    ),
    (
        "an inline table",
        "+[surface]\nborder = { courses = 1, width = -1 }\n",
        7,
        "surface.border.width",
        "got -1; wanted more than 0",
    ),
    ("no outline", "# a deck\n\n[levels]\nsurface = 40\n", 1, "outline", "is missing"),
    (
        "no level",
        "[outline]\nwidth = 100\ndepth = 100\n[levels]\ngrade = 0\n",
        4,
        "levels.surface",
        "is missing: top of the finished surface",
    ),
    ("a stair without an edge", "+\n[[stair]]\nwidth = 40\n", 7, "stair.0.edge", "is missing"),
    (
        "text for a length",
        '+[frame]\njoist_spacing = "wide"\n',
        7,
        "frame.joist_spacing",
        "got 'wide'; wanted a length like",
    ),
    ("inches before feet", '+[frame]\njoist_spacing = "4 in 1 ft"\n', 7, "frame.joist_spacing", "wanted a length like"),
    ("a yes for true", '+[trim]\nfascia = "yes"\n', 7, "trim.fascia", 'got "yes"; wanted true or false'),
    ("true for a number", "+[loads]\nlive_psf = true\n", 7, "loads.live_psf", "got true; wanted a number"),
    ("half a ply", "+[frame]\nbeam_plies = 2.5\n", 7, "frame.beam_plies", "got 2.5; wanted a whole number"),
    ("a number for a name", "+[project]\nname = 7\n", 7, "project.name", "got 7; wanted text in quotes"),
    ("no name", '+[project]\nname = ""\n', 7, "project.name", "wanted a text that is not empty"),
    ("a number for a section", "trim = 3\n+", 1, "trim", "got 3; wanted a section, [trim]"),
    ("one stair as a section", '+[stair]\nedge = "front"\n', 6, "stair", "[[stair]]"),
    ("a text for a list", '+[guard]\nedges = "front"\n', 7, "guard.edges", "wanted a list"),
    (
        "a word not offered",
        '+[frame]\nsupport = "posts"\n',
        7,
        "frame.support",
        'wanted one of "ledger", "free-standing"',
    ),
    ("not a size", '+[frame]\njoist = "2 by eight"\n', 7, "frame.joist", "wanted a nominal size like 2x8"),
    (
        "a size of its own without a value",
        "+" + own(Fc=""),
        6,
        "lumber.stock.0.Fc",
        "is missing: allowable compression",
    ),
    (
        "a size of its own without a standard",
        "+" + own(standard=""),
        6,
        "lumber.stock.0.standard",
        "is missing: by which",
    ),
    ("a size of its own of no width", "+" + own(width="0"), 9, "lumber.stock.0.width", "got 0; wanted at least 0.5 in"),
    ("a size of its own of no strength", "+" + own(Fb="0"), 11, "lumber.stock.0.Fb", "got 0; wanted at least 100 psi"),
    ("megapascals without their unit", "+" + own(Fb="8.0"), 11, "lumber.stock.0.Fb", "wanted at least 100 psi and at"),
    ("a modulus without its unit", "+" + own(E="11000"), 15, "lumber.stock.0.E", "wanted at least 200000 psi and at"),
    ("a stress that is none", "+" + own(Fv='"0.9 bar"'), 12, "lumber.stock.0.Fv", "wanted a stress like 8.0 MPa"),
    ("no density", "+" + own(density='"42 kg"'), 18, "lumber.stock.0.density", "wanted a density like 420 kg/m3"),
    ("millimetres without their unit", "+" + own(thickness="45"), 8, "lumber.stock.0.thickness", "at most 12 in"),
    ("wider than deep", "+" + own(thickness='"250 mm"'), 9, "lumber.stock.0.width", "is less than the thickness"),
    ("no length sold", "+" + own(lengths="[]"), 10, "lumber.stock.0.lengths", "at least 1"),
    ("the name of a built-in size", "+" + own(name='"2x10"'), 7, "lumber.stock.0.name", "is a built-in size"),
    ("a name that is no size", "+" + own(name='"C24"'), 7, "lumber.stock.0.name", "wanted a nominal size like"),
    ("a size of its own twice", "+" + own() + own(), 19, "lumber.stock.1.name", "got 45x195 a second time"),
    (
        "an unknown factor",
        "+" + own(adjustment_factors='["CF"]'),
        18,
        "lumber.stock.0.adjustment_factors.0",
        'got "CF"; wanted one of "CD", "CM", "Ci", "Cr", "Cb"',
    ),
    ("a post that is not square", '+[frame]\npost = "45x195"\n' + own(), 7, "frame.post", "wanted a square size"),
    ("a size in no row", '+[frame]\njoist = "45x220"\n' + own(), 7, "frame.joist", "8x8, 45x195"),
    ("a size nobody sells", '+[frame]\nbeam = "3x17"\n', 7, "frame.beam", "known sizes are"),
    (
        "a stringer nobody sells",
        '+[[stair]]\nedge = "front"\nstringer = "2x13"\n',
        8,
        "stair.0.stringer",
        "known sizes are",
    ),
    (
        "negative width",
        '[outline]\nwidth = "-16\'"\ndepth = 100\n[levels]\nsurface = 40\n',
        2,
        "outline.width",
        "wanted more than 0 in",
    ),
    (
        "zero depth",
        "[outline]\nwidth = 100\ndepth = 0\n[levels]\nsurface = 40\n",
        3,
        "outline.depth",
        "got 0; wanted more than 0 in",
    ),
    (
        "negative spacing",
        "+[frame]\njoist_spacing = -16\n",
        7,
        "frame.joist_spacing",
        "got -16; wanted at least 4 in and at most 36 in",
    ),
    ("board of no width", "+[surface]\nboard_width = 0\n", 7, "surface.board_width", "got 0; wanted more than 0 in"),
    ("not a number", "+[surface]\nboard_width = nan\n", 7, "surface.board_width", "not a finite number"),
    (
        "endless",
        "[outline]\nwidth = inf\ndepth = 100\n[levels]\nsurface = 40\n",
        2,
        "outline.width",
        "not a finite number",
    ),
    ("endless load", "+[loads]\nlive_psf = -inf\n", 7, "loads.live_psf", "not a finite number"),
    ("a number past all numbers", "+[frame]\npost_base = 1e400\n", 7, "frame.post_base", "not a finite number"),
    (
        "half an outline",
        "[outline]\nwidth = 100\n[levels]\nsurface = 40\n",
        1,
        "outline",
        "a rectangle needs both width and depth",
    ),
    (
        "two outlines",
        "[outline]\nwidth = 100\ndepth = 9\npoints = [[0, 0], [9, 0], [9, 9]]\n[levels]\nsurface = 40\n",
        1,
        "outline",
        "give either",
    ),
    (
        "two corners",
        "[outline]\npoints = [[0, 0], [100, 0]]\n[levels]\nsurface = 40\n",
        2,
        "outline.points",
        "at least 3",
    ),
    (
        "a corner with one number",
        "[outline]\npoints = [\n  [0, 0],\n  [100],\n  [100, 100],\n]\n[levels]\nsurface = 40\n",
        4,
        "outline.points.1",
        "item 2 is missing",
    ),
    (
        "a corner with three",
        "[outline]\npoints = [[0, 0], [100, 0, 0], [100, 100]]\n[levels]\nsurface = 40\n",
        2,
        "outline.points.1",
        "at most 2",
    ),
    (
        "crossing outline",
        '[outline]\nhouse = ["e3"]\npoints = [[0, 0], [100, 0], [0, 100], [100, 100]]\n[levels]\nsurface = 40\n',
        3,
        "outline.points",
        "crosses itself",
    ),
    (
        "clockwise outline",
        '[outline]\nhouse = ["e2"]\npoints = [[0, 0], [0, 100], [100, 100], [100, 0]]\n[levels]\nsurface = 40\n',
        3,
        "outline.points",
        "clockwise",
    ),
    (
        "a tiny edge",
        (
            '[outline]\nhouse = ["e4"]\npoints = [[0, 0], [100, 0], [102, 2], [102, 100], [0, 100]]\n[levels]\nsurface'
            " = 40\n"
        ),
        3,
        "outline.points",
        "only",
    ),
    (
        "too few edge names",
        '[outline]\nwidth = 100\ndepth = 90\nedges = ["a", "b"]\n[levels]\nsurface = 40\n',
        4,
        "outline.edges",
        "2 names for 4 edges",
    ),
    (
        "an edge name twice",
        '[outline]\nwidth = 100\ndepth = 90\nedges = ["a", "b", "a", "c"]\nhouse = ["c"]\n[levels]\nsurface = 40\n',
        4,
        "outline.edges",
        "same name",
    ),
    (
        "no such house edge",
        '[outline]\nwidth = 100\ndepth = 90\nhouse = ["north"]\n[levels]\nsurface = 40\n',
        4,
        "outline.house",
        "no edge 'north'; the edges are front, right, back, left",
    ),
    (
        "a ledger on nothing",
        '[outline]\nwidth = 100\ndepth = 90\nhouse = []\n[levels]\nsurface = 40\n[frame]\nsupport = "ledger"\n',
        8,
        "frame.support",
        "a ledger needs a house edge",
    ),
    ("stair on no edge", '+[[stair]]\nedge = "east"\n', 7, "stair.0.edge", "no edge 'east'"),
    ("stair on the house", '+[[stair]]\nedge = "back"\n', 7, "stair.0.edge", "against the house"),
    (
        "stair off its edge",
        '+[[stair]]\nedge = "front"\nat = "15\' 6\\""\n',
        8,
        "stair.0.at",
        "does not fit on edge front",
    ),
    (
        "stair wider than its edge",
        '+[[stair]]\nedge = "left"\nwidth = "13\'"\n',
        8,
        "stair.0.width",
        "does not fit on edge left",
    ),
    (
        "two stairs in one place",
        '+[[stair]]\nedge = "front"\nat = 24\n[[stair]]\nedge = "front"\nat = 40\n',
        11,
        "stair.1.at",
        "overlaps stair 1",
    ),
    (
        "border wider than the deck",
        "[outline]\nwidth = 100\ndepth = 30\n[levels]\nsurface = 20\n[surface.border]\ncourses = 4\nwidth = 9\n",
        7,
        "surface.border.courses",
        "does not fit",
    ),
    (
        "gap larger than the board",
        "+[surface]\nboard_width = 3\nend_gap = 0.1\nedge_gap = 3.5\n",
        9,
        "surface.edge_gap",
        "not less than the board's width",
    ),
    (
        "end gap larger than the board",
        "+[surface]\nend_gap = 6\n",
        7,
        "surface.end_gap",
        "not less than the board's width",
    ),
    (
        "a gap of a foot and more",
        '+[surface]\nedge_gap = "2\'"\n',
        7,
        "surface.edge_gap",
        "wanted at least 0 in and at most 12 in",
    ),
    (
        "breaker off the deck",
        '+[surface]\nbreakers = [\n  60,\n  "40\'",\n]\n',
        9,
        "surface.breakers.1",
        "does not lie on the deck",
    ),
    (
        "boards along the joists",
        '+[surface]\ndirection = 90\n[frame]\njoist_direction = "y"\n',
        7,
        "surface.direction",
        "run along the joists and would rest on none: leave frame.joist_direction out, or give 'x' there",
    ),
    (
        "overhang of no edge",
        "+[surface.edge_overhang]\nfront = 1\nfornt = 2\n",
        8,
        "surface.edge_overhang.fornt",
        "no edge 'fornt'",
    ),
    ("guard on no edge", '+[guard]\nedges = ["front", "side"]\n', 7, "guard.edges.1", "no edge 'side'"),
    ("guard on the house", '+[guard]\nedges = ["back"]\n', 7, "guard.edges.0", "against the house"),
    (
        "a window behind no house edge",
        '+[[house.at_wall]]\nkind = "vent"\nedge = "front"\nat = 3\nwidth = 6\nbottom = 9\ntop = 12\n',
        8,
        "house.at_wall.0.edge",
        "no house edge 'front'; the edges against the house are back; house.at_wall.0.edge = \"back\" would do",
    ),
    (
        "a window upside down",
        '+[[house.at_wall]]\nkind = "window"\nedge = "back"\nat = 3\nwidth = 6\nbottom = 30\ntop = 12\n',
        12,
        "house.at_wall.0.top",
        "top of 12 in is not above bottom of 30 in",
    ),
    ("a wall of straw", '+[house]\nwall = "straw"\n', 7, "house.wall", 'wanted one of "siding", "veneer", "masonry"'),
    ("door in no edge", '+[site]\ndoor = ["porch", 10, 36]\n', 7, "site.door.0", "no edge 'porch'"),
    ("slope that is none", '+slope_x = "steep"\n', 6, "levels.slope_x", "wanted a slope like"),
    ("a wall of a slope", "+slope_x = 3\n", 6, "levels.slope_x", "got 3; wanted at least -1 and at most 1"),
    (
        "a deck of 10,000 ft",
        '[outline]\nwidth = "10000\'"\ndepth = "12\'"\n[levels]\nsurface = 40\n',
        2,
        "outline.width",
        "wanted more than 0 in and at most 3600 in",
    ),
    (
        "a corner 10,000 ft away",
        '[outline]\npoints = [[0, 0],\n ["10000 ft", 0], [0, 90]]\n[levels]\nsurface = 40\n',
        3,
        "outline.points.1.0",
        "at most 3600 in",
    ),
    (
        "a deck as high as a tower",
        '[outline]\nwidth = 100\ndepth = 90\n[levels]\nsurface = "900\'"\n',
        5,
        "levels.surface",
        "at most 720 in",
    ),
    (
        "a deck of matchsticks",
        '[outline]\nwidth = "200\'"\ndepth = "200\'"\n[levels]\nsurface = 40\n[surface]\nboard_width = 0.5\n',
        7,
        "surface.board_width",
        "pieces",
    ),
    (
        "a stair to the sky",
        '+[[stair]]\nedge = "front"\ntotal_rise = "41\'"\n',
        8,
        "stair.0.total_rise",
        "at most 480 in",
    ),
    (
        "too narrow for its rims",
        "[outline]\nwidth = 100\ndepth = 6\n[levels]\nsurface = 20\n[frame]\nrim_plies = 3\n",
        7,
        "frame.rim_plies",
        "does not fit",
    ),
    (
        "a share of all boards",
        "+[order]\nspare_boards = 1\n",
        7,
        "order.spare_boards",
        "got 1; wanted at least 0 and less than 0.5",
    ),
    (
        "a text too long",
        f'+[project]\nrevision = "{"A" * 9}"\n',
        7,
        "project.revision",
        "9 characters; wanted at most 8",
    ),
    (
        "a comment of no words",
        '+[revision]\nissued = "a.toml"\n[[revision.comment]]\nnumber = "1"\ntext = ""\n',
        10,
        "revision.comment.0.text",
        "wanted a text that is not empty",
    ),
    (
        "an issued set that is no name",
        "+[revision]\nissued = 3\n",
        7,
        "revision.issued",
        "got 3; wanted text in quotes",
    ),
]


def text_of(case: str) -> str:
    """ "+" stands for GOOD."""
    return case.replace("+", GOOD, 1)


def faults_of(tmp_path, text) -> list:
    path = tmp_path / "deck.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(InputError) as e:
        parameter_file.read(path)
    for fault in e.value.faults:
        assert fault.file == str(path)
        assert "\n" not in str(fault) and "Value error" not in str(fault) and "pydantic" not in str(fault), str(fault)
    return e.value.faults


def test_good_file_is_good(tmp_path):
    path = tmp_path / "deck.toml"
    path.write_text(GOOD)
    assert parameter_file.read(path).outline.width == 210.0
    assert len(CASES) >= 40


@pytest.mark.parametrize("name, text, line, key, words", CASES, ids=[c[0] for c in CASES])
def test_one_fault_with_line_and_key(tmp_path, name, text, line, key, words):
    (fault,) = faults_of(tmp_path, text_of(text))
    assert (fault.line, fault.key) == (line, key), str(fault)
    assert words in fault.message, fault.message


FILES = [
    ("nothing in it", b"", "is empty"),
    ("blank lines", b"\n\n", "is empty"),
    ("not UTF-8", b'[project]\nname = "Terrasse \xe0 Paul"\n', "not UTF-8"),
    ("a picture", b"\x89PNG\r\n\x1a\n\x00\x00", "not UTF-8"),
    ("far too large", b"#" * 1_100_000, "larger than"),
    ("nested without end", b"x = " + b"[" * 3000 + b"]" * 3000, "wanted at most 16 deep"),
    ("a number of 5000 digits", b"x = " + b"7" * 5000, "wanted at most 100"),
]


@pytest.mark.parametrize("name, content, words", FILES, ids=[c[0] for c in FILES])
def test_files_that_are_no_parameter_files(tmp_path, name, content, words):
    (fault,) = faults_of(tmp_path, content)
    assert words in fault.message


def test_line_of_a_byte_that_is_not_text(tmp_path):
    (fault,) = faults_of(tmp_path, FILES[2][1])
    assert fault.line == 2


@pytest.mark.parametrize("make, words", [(lambda p: p / "absent.toml", "no such file"), (lambda p: p, "is a folder")])
def test_paths_that_are_no_files(tmp_path, make, words):
    with pytest.raises(InputError, match=words):
        parameter_file.read(make(tmp_path))


def test_every_fault_is_told_at_once_in_the_order_of_the_file(tmp_path):
    faults = faults_of(tmp_path, GOOD + "[frame]\njoist = 2\nbeam_plies = 0\n[trim]\nfascia = 1\n")
    assert [(f.line, f.key) for f in faults] == [(7, "frame.joist"), (8, "frame.beam_plies"), (10, "trim.fascia")]


def test_a_design_found_impossible_later_still_names_its_line(tmp_path):
    path = tmp_path / "deck.toml"
    path.write_text(GOOD + '[[stair]]\nedge = "front"\n[stair.pad]\ndepth = 36\n')
    assert parameter_file.locate(path, DesignError("stair.0.pad.depth", "too deep")).faults[0].line == 9
    assert parameter_file.locate(path, DesignError("stair.0.going", "a default")).faults[0].line == 6
    assert parameter_file.locate(path, DesignError("guard.gap", "nothing written")).faults[0].line == 1


def test_windows_line_ends_and_a_byte_order_mark_are_read(tmp_path):
    path = tmp_path / "deck.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert parameter_file.read(path).levels.surface == 40
    (fault,) = faults_of(tmp_path, b"\xef\xbb\xbf" + (GOOD + "[frame]\njoist = 1\n").replace("\n", "\r\n").encode())
    assert fault.line == 7


def test_a_bad_file_is_answered_without_the_kernel(tmp_path):
    path = tmp_path / "deck.toml"
    path.write_text(GOOD + '[[stair]]\nedge = "east"\n')
    code = (
        "import sys\nfrom plumbcut.model.parameter_file import read\nfrom plumbcut.shared.errors import InputError\n"
        f"try:\n    read({str(path)!r})\nexcept InputError as e:\n    print(e)\nprint('cadquery' in sys.modules)\n"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.splitlines()
    said = "no edge 'east'; the edges are front, right, back, left; stair.0.edge = \"front\" would do"
    assert out == [f"{path}:7: stair.0.edge (stair 1): {said}", "False"]


@pytest.mark.parametrize("name, text, line, key, words", CASES, ids=[c[0] for c in CASES])
def test_the_command_says_it_in_one_line_and_writes_nothing(tmp_path, name, text, line, key, words):
    path, out = tmp_path / "deck.toml", tmp_path / "out"
    path.write_text(text_of(text))
    result = CliRunner().invoke(command.main, ["build", str(path), "--out", str(out)])
    told = [row for row in result.output.splitlines() if row.strip()]
    assert result.exit_code == 2, result.output
    assert len(told) == 1 and f"{path}:{line}: " in told[0] and words in told[0], result.output
    assert sorted(tmp_path.iterdir()) == [path]


TEXT_BOUNDS = {
    "a number of 5,000 digits": ("[frame]\ncantilever = " + "9" * 5000, 7, "frame.cantilever", "5,000 characters"),
    "one among others": ("[surface]\nbreakers = [1,\n" + "9" * 5000 + "]", 8, "surface.breakers", "at most 100"),
    "one in hexadecimals": ("[frame]\ncantilever = 0x" + "f" * 5000, 7, "frame.cantilever", "5,002 characters"),
    "arrays in arrays": (
        "[surface]\nbreakers = " + "[" * 10**5 + "]" * 10**5,
        7,
        "surface.breakers",
        "at most 16 deep",
    ),
    "too deep for JSON": ("[surface]\nbreakers = " + "[" * 400 + "]" * 400, 7, "surface.breakers", "at most 16 deep"),
    "tables in tables": ("x = " + "{a=" * 3000 + "1" + "}" * 3000, 6, "levels.x", "at most 16 deep"),
    "a key of many parts": ("a" + ' . "a"' * 20000 + " = 1", 6, "levels", "of more parts than 16"),
    "a section of many parts": ("[a" + ".a" * 20000 + "]\nb = 1", 6, "", "at most 100"),
    "sections ever deeper": ("".join(f"[a{'.b' * k}]\n" for k in range(1, 600)), 21, "", "of more parts than 16"),
    "a long key": ("k" * 5000 + " = 1", 6, "levels", "5,000 characters"),
}


@pytest.mark.parametrize("case", TEXT_BOUNDS)
def test_what_no_reader_has_the_stack_for_is_answered_in_one_line(case, tmp_path):
    text, line, key, words = TEXT_BOUNDS[case]
    path = tmp_path / "deck.toml"
    path.write_text(GOOD + text + "\n")
    result = CliRunner().invoke(command.main, ["check", str(path)])
    assert result.exit_code == 2 and result.output.count("\n") == 1 and len(result.output) < 400
    (fault,) = faults_of(tmp_path, GOOD + text)
    assert (fault.line, fault.key) == (line, key) and words in fault.message


def test_brackets_and_digits_in_texts_and_comments_are_no_fault(tmp_path):
    path = tmp_path / "deck.toml"
    path.write_text(f'{GOOD}# {"[" * 99} {"9" * 500}\n[project]\nname = "{"[" * 70}"\n')
    assert parameter_file.read(path).project.name == "[" * 70


UNSEEN = {
    "bell": ('name = "a\\u0007b"', "project.name: got the character U+0007, which cannot be seen, at place 2"),
    "line break": ('name = "a\\nb"', "project.name: got a line break at place 2"),
    "turned round": ('owner = "x\\u202Egnp"', "project.owner: got the character U+202E"),
    "no width": ('owner = "x\\u200By"', "project.owner: got the character U+200B"),
    "separator": ('address = "x\\u2028y"', "project.address: got the character U+2028"),
}


def test_a_deck_of_too_many_pieces_is_refused_with_a_value_that_asks_for_fewer(tmp_path):
    text = (
        'outline = {{ width = "150 ft", depth = "150 ft" }}\nlevels = {{ surface = 40 }}\n'
        "surface = {{ board_width = {}, board_length = 48 }}\nframe = {{ joist_spacing = 4, post_spacing = 400 }}\n"
    )
    (fault,) = faults_of(tmp_path, text.format(3.5))
    assert (fault.line, fault.key) == (3, "surface.board_width")
    assert fault.message.endswith("; surface.board_width = 7 would do")
    given = Parameters.model_validate(tomllib.loads(text.format(7)))
    assert sum(pieces_expected(given, read_outline(given)).values()) <= MOST_PIECES


@pytest.mark.parametrize("case", UNSEEN)
def test_texts_hold_nothing_that_cannot_be_seen(case, tmp_path):
    given, said = UNSEEN[case]
    path = tmp_path / "deck.toml"
    path.write_text(f"[outline]\nwidth = 130\ndepth = 90\n[levels]\nsurface = 30\n[project]\n{given}\n", "utf-8")
    with pytest.raises(InputError) as refused:
        read(path)
    assert str(refused.value).startswith(f"{path}:7: {said}")


def test_an_address_keeps_its_line_breaks(tmp_path):
    path = tmp_path / "deck.toml"
    path.write_text('[outline]\nwidth = 130\ndepth = 90\n[levels]\nsurface = 30\n[project]\naddress = "a\\nb"\n')
    assert read(path).project.address == "a\nb"


def test_a_message_never_carries_what_a_terminal_obeys(tmp_path):
    path = tmp_path / "deck.toml"
    path.write_text('[outline]\nwidth = 130\ndepth = 90\n"\\u001b[2J" = 1\n[levels]\nsurface = 30\n')
    with pytest.raises(InputError) as refused:
        read(path)
    assert "\x1b" not in str(refused.value) and "\\u001b[2J" in str(refused.value)


def hostile(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    start = "[outline]\nwidth = 130\ndepth = 90\n[levels]\nsurface = "
    texts = {"digits": start + "9" * 5000, "nested": "x = " + "[" * 20000, "inline": "x = " + "{a=" * 5000}
    for name, text in texts.items():
        (tmp_path / name).write_text(text)
    return [pipe, *(tmp_path / n for n in texts), *([Path("/dev/zero")] if Path("/dev/zero").exists() else [])]


def test_what_is_no_parameter_file_gets_one_line(tmp_path):
    for path in hostile(tmp_path):
        with pytest.raises(InputError) as refused:
            read(path)
        assert str(refused.value).startswith(str(path)) and str(refused.value).count("\n") == 0, path
        assert len(str(refused.value)) < 300, path
