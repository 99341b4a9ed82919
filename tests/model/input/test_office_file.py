"""An office's file beside the jobs: it speaks where a job says nothing, and its faults are its own."""

from __future__ import annotations

import pytest

from plumbcut.model.parameter_file import prepare
from plumbcut.shared.errors import InputError

JOB = """[outline]
width = 150
depth = 130
[levels]
surface = 30
[local]
profile = "office.toml"
{}
"""
OFFICE = """[local]
edition = "irc 2018"
frost_depth = "3 ft"
notes = ["Footing inspection before concrete."]
[loads]
ground_snow_psf = 30
[drawing]
paper = "ARCH D"
[site.setbacks]
left = "5 ft"
[project]
author = "Own crew"
"""


@pytest.fixture
def job(tmp_path):
    def read(office: str = OFFICE, more: str = ""):
        (tmp_path / "office.toml").write_text(office)
        path = tmp_path / "job.toml"
        path.write_text(JOB.format(more))
        return prepare(path)[0]

    return read


def test_it_speaks_where_the_job_says_nothing(job):
    p = job()
    assert (p.local.edition, p.local.frost_depth, p.loads.ground_snow_psf) == ("IRC 2018", 36, 30)
    assert (p.drawing.paper, p.site.setbacks, p.project.author) == ("ARCH D", {"left": 60}, "Own crew")
    assert p.loads.live_psf == 40, "what neither says is the default"


def test_the_job_has_the_last_word_and_both_have_their_notes(job):
    p = job(more='frost_depth = 48\nnotes = ["By the pond."]\n[site.setbacks]\nleft = 72\nback = 90\n')
    assert p.local.frost_depth == 48 and p.site.setbacks == {"left": 72, "back": 90}
    assert p.local.notes == ["Footing inspection before concrete.", "By the pond."]


@pytest.mark.parametrize(
    ("office", "line", "told"),
    [
        (OFFICE.replace('"3 ft"', '"3 fot"'), 3, "local.frost_depth: got '3 fot'"),
        (OFFICE.replace("paper", "papr"), 8, "drawing.papr: unknown key; did you mean paper?"),
        (OFFICE + "[outline]\nwidth = 90\n", 13, "outline: has no place in an office's file"),
        (OFFICE.replace("[local]", '[local]\nprofile = "other.toml"'), 2, "local.profile: an office's file names no"),
        ("[local\n", 1, "is not TOML"),
    ],
)
def test_its_faults_are_told_with_its_name_and_line(job, office, line, told):
    with pytest.raises(InputError) as refused:
        job(office)
    (fault,) = refused.value.faults
    assert fault.file.endswith("office.toml") and fault.line == line and told in str(fault)


def test_the_faults_of_both_files_stand_together(job):
    with pytest.raises(InputError) as refused:
        job(OFFICE.replace("30", '"much"'), more='guard_height = "high"\n')
    assert [(f.file.rpartition("/")[2], f.key) for f in refused.value.faults] == [
        ("job.toml", "local.guard_height"),
        ("office.toml", "loads.ground_snow_psf"),
    ]


@pytest.mark.parametrize(
    ("name", "told"), [("none.toml", "no file none.toml"), ("../office.toml", "lies outside the folder")]
)
def test_a_file_that_is_not_there(tmp_path, name, told):
    path = tmp_path / "job.toml"
    path.write_text(JOB.format("").replace("office.toml", name))
    with pytest.raises(InputError, match=f"7: local.profile: .*{told}"):
        prepare(path)
