"""The command line: exit codes, messages, and an output folder that is replaced whole or left alone."""

from __future__ import annotations

import csv
import json
import re

import pytest
from click.testing import CliRunner
from conftest import PARAMS

from plumbcut.exports.command import main
from plumbcut.exports.folder import output_folder
from plumbcut.shared.errors import InputError

EXPECTED = [
    "model.step",
    "model.stl",
    "model.glb",
    "permit.dxf",
    "permit.pdf",
    "quantities.csv",
    "cutlist.csv",
    "order.csv",
    "delivery.pdf",
    "workbook.xlsx",
    "checks.csv",
    "design.csv",
    "measured.json",
    "preview.html",
]


def run(*args):
    return CliRunner().invoke(main, [str(a) for a in args])


def test_build_writes_everything(tmp_path):
    out = tmp_path / "out"
    done = run("build", PARAMS / "terrace.toml", "--out", out)
    assert done.exit_code == 0, done.output
    for name in EXPECTED:
        assert (out / name).stat().st_size > 0, name
    assert list((out / "sheets").glob("*.png"))
    rows = json.loads((out / "measured.json").read_text())
    assert len({r["id"] for r in rows["pieces"]}) == len(rows["pieces"]) > 200
    with open(out / "checks.csv", encoding="utf-8", newline="") as f:
        assert {r["result"] for r in csv.DictReader(line for line in f if not line.startswith("#"))} <= {
            "met",
            "not met",
            "not checked",
        }
    assert "NOT A SUBSTITUTE" in done.output
    assert not [p for p in tmp_path.iterdir() if p != out], "nothing is left beside the output"


def test_bad_input_leaves_the_earlier_output(tmp_path):
    out = tmp_path / "out"
    with output_folder(out) as work:
        (work / "permit.dxf").write_text("earlier")
    bad = tmp_path / "bad.toml"
    bad.write_text("[outline]\nwidth = 100\ndepth = 100\n[levels]\nsurface = 30\n[frame]\njoist_spacing = -3\n")
    done = run("build", bad, "--out", out)
    assert done.exit_code == 2
    assert f"{bad}:7: frame.joist_spacing" in done.output
    assert (out / "permit.dxf").read_text() == "earlier"


def test_an_interrupted_build_leaves_the_earlier_output(tmp_path):
    out = tmp_path / "out"
    with output_folder(out) as work:
        (work / "a").write_text("earlier")
    with pytest.raises(KeyboardInterrupt), output_folder(out) as work:
        (work / "a").write_text("half")
        raise KeyboardInterrupt
    assert (out / "a").read_text() == "earlier"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_a_folder_of_somebody_elses_is_never_replaced(tmp_path):
    (tmp_path / "holiday").mkdir()
    (tmp_path / "holiday" / "photo").write_text("keep")
    with pytest.raises(InputError, match="no build wrote"), output_folder(tmp_path / "holiday"):
        pass
    done = run("build", PARAMS / "terrace.toml", "--out", tmp_path / "holiday")
    assert done.exit_code == 2 and (tmp_path / "holiday" / "photo").read_text() == "keep"


def test_check_says_not_met_with_exit_code_1(tmp_path):
    steep = tmp_path / "steep.toml"
    steep.write_text(
        (PARAMS / "terrace.toml")
        .read_text()
        .replace('width = "44 in"', 'width = "44 in"\nrise = "9 in"\ngoing = "8 in"')
    )
    done = run("check", steep)
    assert done.exit_code == 1
    assert "NOT MET" in done.output and "IRC 2018 R311.7.5.2" in done.output
    for word in ("safe", "approved"):
        assert word not in done.output.lower()


def test_a_survey_recuts_what_is_built_and_keeps_the_permit_set(tmp_path):
    """The deck of tests/surveyed.toml stands out of square: boards change, and the permit drawings are those of the
    design."""
    text = (PARAMS.parent / "tests" / "surveyed.toml").read_text()
    (tmp_path / "built.toml").write_text(text)
    (tmp_path / "design.toml").write_text(text[: text.index("# the frame leans")])
    for name in ("built", "design"):
        done = run("build", tmp_path / f"{name}.toml", "--out", tmp_path / name)
        assert done.exit_code == 0, done.output
    with open(tmp_path / "built" / "changes.csv", encoding="utf-8", newline="") as f:
        cut = {r["role"] for r in csv.DictReader(f) if r["what"] == "cut differently"}
    assert {"board", "border", "stringer"} <= cut
    assert (tmp_path / "built" / "permit.pdf").read_bytes() == (tmp_path / "design" / "permit.pdf").read_bytes()
    assert (tmp_path / "built" / "cutlist.csv").read_bytes() != (tmp_path / "design" / "cutlist.csv").read_bytes()


def test_new_builds_as_it_stands(tmp_path):
    starter = run("new")
    assert starter.exit_code == 0
    file = tmp_path / "deck.toml"
    file.write_text(starter.output)
    done = run("check", file)
    assert done.exit_code in (0, 1), done.output


def test_schema_is_json_schema():
    import jsonschema

    schema = json.loads(run("schema").output)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert "outline" in schema["properties"]


def test_a_metric_file_is_answered_in_millimetres(tmp_path):
    path = tmp_path / "deck.toml"
    path.write_text(
        'outline = {width = "5.4 m", depth = "4.1 m"}\nlevels = {surface = "900 mm"}\n'
        'guard = {height = "800 mm"}\ndrawing = {units = "metric", paper = "A3"}\n'
    )
    found = CliRunner().invoke(main, ["check", str(path)])
    assert found.exit_code == 1
    failed = found.output.split("NOT CHECKED")[0]
    assert re.search(r"measured \d+ mm", failed) and not re.search(r"\d\"|\d in\b", failed)
