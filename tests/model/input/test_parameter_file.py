"""What `plumbcut new` prints is a deck as it stands, and every line of it is true when its # is taken away."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import ezdxf
from hypothesis import given, settings
from hypothesis import strategies as st

from plumbcut.model import parameter_file
from plumbcut.model.input.key_lines import key_lines, line_of
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.input.starter import json_schema, starter
from plumbcut.shared.errors import InputError

KEY = re.compile(r"^#(\w+) = ")


def written(tmp_path, text: str):
    path = tmp_path / "deck.toml"
    path.write_text(text)
    return path


def test_the_starter_is_a_deck_as_it_stands(tmp_path):
    parameters, layout = parameter_file.prepare(written(tmp_path, starter()))
    assert parameters.outline.width == 210 and len(parameters.stair) == 1 and layout.posts
    plain = Parameters.model_validate(
        {"outline": {"width": 210, "depth": 129}, "levels": {"surface": 38}, "stair": [{"edge": "front"}]}
    )
    assert parameters.model_copy(update={"project": plain.project}) == plain  # everything else is the default


def test_the_shortest_useful_file_is_under_fifteen_lines(tmp_path):
    text, *more = re.findall(r"(?s)```toml\n(.*?)```", (Path(__file__).parents[3] / "README.md").read_text())
    assert text.count("\n") < 15
    assert parameter_file.read(written(tmp_path, text)).levels.surface == 38
    others = [block for block in more if block.startswith("[outline]")]  # ways to tell the outline instead
    added = [block for block in more if block not in others]
    parameter_file.read(written(tmp_path, "\n".join([text, *added])))  # what else is shown can be added to it
    for outline in others:
        rest = text[text.index("[levels]") :].replace('"front"', '"e1"')
        parameter_file.read(written(tmp_path, f"{outline}\n{rest}"))


def fields(model, prefix=()):
    from plumbcut.model.input.starter import sections

    inner = sections(model)
    for name, field in model.model_fields.items():
        if name in inner:
            yield from fields(inner[name][0], (*prefix, name))
        else:
            yield (*prefix, name), field


def test_the_starter_shows_every_key_with_its_reason():
    text = starter()
    for path, field in fields(Parameters):
        section = re.split(r"(?m)^#?\[+" + re.escape(".".join(path[:-1])) + r"\]+$", text)[1].split("\n\n")[0]
        assert re.search(rf"(?m)^#?{path[-1]} = ", section), path
        if field.description:
            assert field.description.split(";")[0][:40] in " ".join(re.sub(r"(?m)^# ", "", section).split()), path


KIT_KEYS = ("rail_lengths", "pitch", "hole", "least_end", "rail_width", "rail_depth", "top", "bottom")


IN_A_DRAWING = ("#dxf = ", "#layer = ", "#house_layer = ", "#lot_layer = ", "#dxf_units = ")


def surveyed(path: Path) -> None:
    """A drawing in feet with a deck, the house's line and a lot."""
    made = ezdxf.new()
    made.header["$INSUNITS"] = 2
    for layer, (x0, y0, x1, y1) in {"DECK": (0, 0, 17.5, 10.75), "LOT": (-30, -40, 60, 70)}.items():
        corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
        made.modelspace().add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})
    made.modelspace().add_line((-10, 10.75), (30, 10.75), dxfattribs={"layer": "HOUSE"})
    made.saveas(path)


# what a section cannot do without
NEEDED_IN_SECTION = {
    "[[revision.comment]]": ("number", "text"),
    "[[house.at_wall]]": ("kind", "edge", "at", "width", "bottom", "top"),
    "[[design.no_post]]": ("edge", "at", "width"),
    "[[stair.landings]]": ("after_risers",),
    "[guard.sleeve]": (),
    "[outline.clip]": (),
    "[outline.taped]": ("sides", "diagonals"),
    "[guard.kit]": KIT_KEYS,
    "[guard.kit.stairs]": KIT_KEYS[:4],
    "[[bench]]": ("edge",),
    "[[area_load]]": ("name", "polygon", "psf"),
    "[loads.roof_above]": ("eave_height", "length", "pitch"),
    "[skirting]": (),
    "[[lumber.stock]]": (
        *("name", "thickness", "width", "lengths", "standard"),
        *("Fb", "Fv", "Fc_perp", "Fc", "E", "Emin"),
    ),
    "[[survey.side]]": ("edge", "top"),
    "[[survey.diagonal]]": ("start", "end", "length"),
    "[[survey.post]]": ("edge", "at"),
    "[[survey.joists]]": ("edge", "at"),
    "[[survey.stair]]": ("stair", "rises"),
}


def test_each_commented_key_is_valid_when_its_mark_is_taken_away(tmp_path):
    lines = starter().split("\n")
    for i, line in enumerate(lines):
        if not KEY.match(line):
            continue
        tried = list(lines)
        tried[i] = line[1:]
        start = max(k for k in range(i) if re.match(r"^#?\[", lines[k]))
        if lines[start][1:] in NEEDED_IN_SECTION:  # then the section goes with it, with what it cannot do without
            tried[start] = lines[start][1:]
            end = next((k for k in range(start, len(lines)) if not lines[k]), len(lines))
            keys = tuple(f"#{key} = " for key in NEEDED_IN_SECTION[lines[start][1:]])
            tried[start:end] = [row[1:] if keys and row.startswith(keys) else row for row in tried[start:end]]
        if lines[start].startswith("#[guard.kit"):  # a stair with guards takes the kit's rails for stairs
            tried = [row.replace('#guards = "auto"', 'guards = "none"') for row in tried]
        if lines[start] == "#[guard.kit.stairs]":  # it goes with the kit
            kit = lines.index("#[guard.kit]")
            tried[kit:start] = [
                row[1:] if row.startswith(("#[guard.kit]", *(f"#{key} = " for key in KIT_KEYS))) else row
                for row in tried[kit:start]
            ]
        if line.startswith("#maker = "):
            (tmp_path / "board.toml").write_text("[board]\nscrews = 2\n")
        if line.startswith("#profile = "):
            (tmp_path / "office.toml").write_text("[loads]\nground_snow_psf = 30\n")
        drawn = line.startswith(IN_A_DRAWING)
        if drawn:
            surveyed(tmp_path / "survey.dxf")
            tried = [row[1:] if row.startswith(("#dxf = ", "#layer = ")) else row for row in tried]
        if drawn or line.startswith("#points") or lines[start] == "#[outline.taped]":
            tried = [row for row in tried if not re.match(r"(width|depth) = \"1", row)]
            if not line.startswith("#house_layer"):
                house = "e4" if line.startswith("#points") else "e3"
                tried = [row.replace('#house = ["back"]', f'house = ["{house}"]') for row in tried]
            tried = [row.replace('edge = "front"', 'edge = "e1"') for row in tried]
        assert tomllib.loads("\n".join(tried)) is not None
        parameter_file.read(written(tmp_path, "\n".join(tried)))


def test_commented_values_are_the_defaults():
    text = starter()
    assert '#joist = "2x8"' in text and "#joist_spacing = 16" in text and "#edge_gap = 0.25" in text
    assert "#gap = 3.75" in text and '#handrail = "auto"' in text and "#depth = 42" in text


def test_every_key_without_a_default_value_has_an_example():
    assert "None" not in starter()


def test_the_schema_answers_for_every_section():
    schema = json_schema()
    assert set(schema["properties"]) == set(Parameters.model_fields)
    assert schema["required"] == ["outline"]
    assert schema["$defs"]["Frame"]["additionalProperties"] is False
    assert schema["$defs"]["Frame"]["properties"]["joist"]["description"] == "joist stock"


def test_a_date_may_stand_without_quotes(tmp_path):
    text = "[outline]\nwidth = 120\ndepth = 100\n[levels]\nsurface = 20\n[project]\ndate = 2030-04-01\n"
    assert parameter_file.read(written(tmp_path, text)).project.date == "2030-04-01"


# --- lines ---------------------------------------------------------------------------------------------------------


def test_lines_of_keys_in_every_form_toml_has():
    text = b"""a.b = 1 # remark
[frame]   # [not] = a table
"odd \\"key\\"" = 1
list = [1, # one
  [2,
   3], { x = 4,  y.z = 5 }]
[[stair]]
edge = '''
[[stair]]
'''
[stair.pad]
depth = 1
[[stair]]
[[stair.landings]]
turn = "left"
[[stair.landings]]
turn = "right"
[x]
'q' = 1"""
    lines = key_lines(text)
    wanted = {
        ("a", "b"): 1,
        ("frame",): 2,
        ("frame", 'odd "key"'): 3,
        ("frame", "list", 0): 4,
        ("frame", "list", 1, 1): 6,
        ("frame", "list", 2, "y", "z"): 6,
        ("stair", 0): 7,
        ("stair", 0, "edge"): 8,
        ("stair", 0, "pad", "depth"): 12,
        ("stair", 1): 13,
        ("stair", 1, "landings", 0, "turn"): 15,
        ("stair", 1, "landings", 1, "turn"): 17,
        ("x", "q"): 19,
    }
    assert {k: lines[k] for k in wanted} == wanted
    assert line_of(lines, ("stair", 1, "width")) == 13 and line_of(lines, ("nowhere",)) == 1


KEYS = st.text("abcdefg_-0123456789", min_size=1, max_size=6)


@settings(max_examples=60, deadline=None)
@given(
    st.dictionaries(
        KEYS,
        st.dictionaries(KEYS, st.one_of(st.integers(), st.booleans(), st.text("xyz# []", max_size=5)), max_size=4),
        max_size=5,
    )
)
def test_lines_agree_with_a_writer_that_knows_them(document):
    rows, wanted = [], {}
    for section, pairs in document.items():
        rows.append(f"[{section}]")
        wanted[section,] = len(rows)
        for key, value in pairs.items():
            text = (
                str(value).lower()
                if isinstance(value, bool)
                else repr(value)
                if isinstance(value, int)
                else f'"{value}"'
            )
            rows.append(f"{key} = {text}")
            wanted[section, key] = len(rows)
    text = "\n".join(rows)
    assert tomllib.loads(text) == document
    assert key_lines(text.encode()) == wanted


# --- never anything but a clear message ----------------------------------------------------------------------------

VALUES = st.one_of(
    st.floats(),
    st.integers(-(10**6), 10**6),
    st.booleans(),
    st.sampled_from(["front", "auto", "2x8", "9x9", "10'", "x", ""]),
    st.just([]),
    st.just([1, 2]),
)
PATHS = [path for path, _ in fields(Parameters)]


def nested(changes) -> dict:
    data: dict = {"outline": {"width": 140, "depth": 120}, "levels": {"surface": 44}}
    for path, value in changes:
        at = data
        for key in path[:-1]:
            at = at.setdefault(key, {})
        at[path[-1]] = value
    if "stair" in data:
        landings = data["stair"].pop("landings", None)
        data["stair"].setdefault("edge", "front")
        if landings:
            data["stair"]["landings"] = [{"after_risers": 2, **landings}]
        data["stair"] = [data["stair"]]
    return data


def toml(value) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k} = {toml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{value}"' if isinstance(value, str) else repr(value)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(PATHS), VALUES), min_size=1, max_size=3))
def test_any_value_anywhere_is_read_or_refused_with_a_line(tmp_path_factory, changes):
    data = nested(changes)
    path = written(tmp_path_factory.mktemp("any"), "\n".join(f"{k} = {toml(v)}" for k, v in data.items()))
    try:
        parameter_file.read(path)
    except InputError as e:
        for fault in e.faults:
            assert fault.line >= 1 and fault.key and fault.message
