"""Values written into the text of a parameter file: held against the standard library's reader, and byte for byte."""

from __future__ import annotations

import copy
import itertools
import tomllib

import pytest
from conftest import PARAMS
from hypothesis import given, settings
from hypothesis import strategies as st

from plumbcut.model.input.rewrite import rewritten
from plumbcut.model.input.starter import starter
from plumbcut.shared.as_toml import as_toml
from plumbcut.shared.errors import DesignError

FILE = """\
# a deck by the pond
outline.house = ["back"] # a dotted key
outline.points = [
    [0, 0],          # the near corner
    ["13'", 0], [210, "4' 6\\""],
    [ 210,129 ], [0, 129],   # up at the wall
]

# what carries it
# (posts of cedar)
[frame.footing]
size = 18
#depth = 42             # as the inspector said
\tshape = 'round' # by the tube

[levels]   # off the door
surface = "3' 2\\""

[[stair]]
edge = "front"   # to the lawn
pad = { depth = 40, side = 6 }

[[stair]]
edge = "e2"
  width = 42
[stair.pad]
depth = 36

#[skirting]
#edges = ["left"]
[order]
lengths = { 2x8 = ["12'", 168], "5/4x6" = [192] } # from the yard
notes = \"\"\"
one # not a remark
two\"\"\"
"""
VALUES = st.one_of(
    st.integers(-999, 999).map(str),
    st.sampled_from(['"2x10"', "[1, 2]", "true", "1.5", '"12\' 3-1/2"', '"a # b"', "'c'", '{ a = 1, "b c" = [2] }']),
)
PLACES = st.sampled_from(
    [
        ("levels", "surface"),
        ("levels", "grade"),
        ("frame", "joist"),
        ("frame", "footing", "size"),
        ("frame", "footing", "depth"),
        ("frame", "footing", "shape"),
        ("outline", "points", 2, 0),
        ("outline", "points", 2, 1),
        ("outline", "points", 3),
        ("outline", "points", 5),
        ("outline", "points"),
        ("outline", "house", 0),
        ("outline", "edges"),
        ("stair", 0, "edge"),
        ("stair", 0, "pad", "depth"),
        ("stair", 0, "pad", "thickness"),
        ("stair", 1, "pad", "thickness"),
        ("stair", 1, "landings", 0, "after_risers"),
        ("stair", 2, "edge"),
        ("bench", 0, "edge"),
        ("skirting", "edges"),
        ("guard", "kit", "stairs", "pitch"),
        ("order", "lengths", "2x8"),
        ("order", "lengths", "5/4x6", 0),
        ("order", "lengths", "odd name"),
        ("order", "notes"),
        ("project", "name"),
    ]
)
SHAPES = st.sampled_from([FILE, FILE.rstrip("\n"), FILE.replace("\n", "\r\n"), "\ufeff" + FILE, ""])


def put(data: dict, path: tuple, value: str) -> dict:
    """The same change to plain data, by another hand."""
    data = copy.deepcopy(data)
    here = data
    for step, then in itertools.pairwise(path):
        empty = [] if isinstance(then, int) else {}
        if isinstance(step, int):
            if step == len(here):
                here.append(empty)
        else:
            here.setdefault(step, empty)
        here = here[step]
    if path[-1] == len(here) and isinstance(here, list):
        here.append(None)
    here[path[-1]] = tomllib.loads(f"x = {value}")["x"]
    return data


def read(text: bytes) -> dict:
    return tomllib.loads(text.decode("utf-8-sig"))


def common(a: bytes, b: bytes) -> tuple[int, int]:
    """Bytes that two texts begin and end with alike."""
    first = next((n for n, (x, y) in enumerate(zip(a, b)) if x != y), min(len(a), len(b)))
    room = min(len(a), len(b)) - first
    last = next((n for n in range(room) if a[len(a) - 1 - n] != b[len(b) - 1 - n]), room)
    return first, last


def written(text: str, path: tuple, value: str) -> tuple[bytes, bytes] | None:
    """Before and after; None where the file has no such place."""
    source = text.encode()
    try:
        wanted = put(read(source), path, value)
    except (KeyError, IndexError, TypeError, AttributeError):
        return None
    out = rewritten(source, [(path, value)])
    assert read(out) == wanted
    return source, out


@settings(max_examples=400, deadline=None)
@given(SHAPES, PLACES, VALUES)
def test_the_file_then_says_it_and_keeps_every_other_byte(text, path, value):
    found = written(text, path, value)
    if found is None:
        return
    source, out = found
    first, last = common(source, out)
    # what went is a value, a `#` before a key, or nothing; and no comment goes with it
    gone = source[first : len(source) - last].decode()
    assert "\n" not in gone.strip() or path[-1] in ("points", "notes")
    for line in source.decode().splitlines():
        if "#" in line and path[-1] not in ("points", "notes") and "a # b" not in value:
            remark = line[line.index("#") :].strip()
            assert remark.encode() in out or (remark.startswith("#depth") and b"as the inspector said" in out)
    if "\r\n" in text:
        assert b"\n" not in out.replace(b"\r\n", b""), "its line ends stay"
    if text.startswith("\ufeff"):
        assert out.startswith("\ufeff".encode()) and out.count("\ufeff".encode()) == 1


@settings(max_examples=200, deadline=None)
@given(SHAPES, PLACES, VALUES)
def test_written_back_it_is_the_same_file_byte_for_byte(text, path, value):
    source = text.encode()
    here = read(source)
    try:
        for step in path:
            here = here[step]
    except (KeyError, IndexError, TypeError):
        return
    old = value_text(source, path)
    out = rewritten(source, [(path, value)])
    assert rewritten(out, [(path, old)]) == source


def value_text(source: bytes, path: tuple) -> str:
    from plumbcut.model.input.key_lines import places

    mark = "\ufeff".encode()
    return places(source.removeprefix(mark)).values[path].text.decode()


@settings(max_examples=200, deadline=None)
@given(SHAPES, PLACES)
def test_left_out_it_is_gone_and_its_remark_stays(text, path):
    source = text.encode()
    before = read(source)
    try:
        out = rewritten(source, [(path, None)])
    except DesignError:
        return
    wanted, here = copy.deepcopy(before), None
    here = wanted
    try:
        for step in path[:-1]:
            here = here[step]
        del here[path[-1]]
    except (KeyError, IndexError):
        assert out == source
        return
    assert read(out) == wanted
    assert out.count(b"# ") == source.count(b"# ") or path[-1] in ("points", "notes")


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(PLACES, VALUES), max_size=6), SHAPES)
def test_many_changes_one_after_the_other(changes, text):
    data, source = read(text.encode()), text.encode()
    for path, value in changes:
        try:
            data = put(data, path, value)
        except (KeyError, IndexError, TypeError, AttributeError):
            continue
        source = rewritten(source, [(path, value)])
    assert read(source) == data


def test_one_number_of_a_corner_and_not_a_byte_more():
    out = rewritten(FILE.encode(), [(("outline", "points", 2, 0), "211")])
    assert out == FILE.replace('[210, "4', '[211, "4', 1).encode()


def test_a_list_as_long_as_before_changes_where_it_differs():
    points = '[[0, 0], ["13\'", 0], [210, "4\' 7"], [210, 129], [0, 129]]'
    out = rewritten(FILE.encode(), [(("outline", "points"), points)]).decode()
    assert out == FILE.replace('"4\' 6\\""', '"4\' 7"')


def test_a_key_that_waits_as_a_comment_becomes_one_again():
    out = rewritten(FILE.encode(), [(("frame", "footing", "depth"), "48")]).decode()
    assert out == FILE.replace("#depth = 42             # as", "depth = 48             # as")
    assert rewritten(out.encode(), [(("frame", "footing", "depth"), None)]).decode() == FILE.replace("42  ", "48  ")


def test_every_key_of_the_starter_file_can_be_written_where_it_waits():
    """As its first words say: take the # away to change it."""
    text = starter().encode()
    out = rewritten(text, [(("frame", "joist"), '"2x12"'), (("loads", "live_psf"), "60")]).decode()
    differ = [(a, b) for a, b in zip(text.decode().splitlines(), out.splitlines()) if a != b]
    assert len(out.splitlines()) == len(text.decode().splitlines()) and len(differ) == 2
    assert differ[0][1].startswith('joist = "2x12"') and differ[1][1].startswith("live_psf = 60")


@pytest.mark.parametrize("name", ["terrace", "wraparound", "hillside"])
def test_a_stair_more_and_one_less(name):
    text = (PARAMS / f"{name}.toml").read_bytes()
    count = len(tomllib.loads(text.decode())["stair"])
    more = rewritten(text, [(("stair", count, "edge"), '"front"'), (("stair", count, "width"), "48")])
    assert tomllib.loads(more.decode())["stair"][count] == {"edge": "front", "width": 48}
    assert set(text.splitlines()) <= set(more.splitlines())
    less = tomllib.loads(rewritten(more, [(("stair", count), None)]).decode())
    assert less == tomllib.loads(text.decode())


@pytest.mark.parametrize("value", ["1\nx = 2", "1 # why", "", "two words", '"open', "[1", "1, 2", "]"])
def test_what_is_no_single_value_is_refused_with_its_key(value):
    with pytest.raises(DesignError, match="(?s)levels.surface: .*wanted one value"):
        rewritten(FILE.encode(), [(("levels", "surface"), value)])


@pytest.mark.parametrize("path", [("outline", "points", 9), ("outline", "points", 0, 0, 1), ("stair", 5, "edge")])
def test_no_such_place_is_refused(path):
    with pytest.raises(DesignError, match="is not there to change"):
        rewritten(FILE.encode(), [(path, "1")])


@given(st.text())
def test_a_text_comes_back_as_it_was(words):
    if any(0xD800 <= ord(c) < 0xE000 for c in words):
        return
    assert tomllib.loads(f"x = {as_toml(words)}")["x"] == words
