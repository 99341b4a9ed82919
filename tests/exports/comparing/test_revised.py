"""A set submitted again: clouds round what changed and nothing else, the list of changes, answers, bad files."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import ezdxf
import pytest
from click.testing import CliRunner
from conftest import PARAMS

from plumbcut.exports.command import main
from plumbcut.exports.comparing.revised import revised
from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.drafting.clouds import CLOUD_LAYER
from plumbcut.exports.drafting.furniture import to_paper
from plumbcut.exports.formats.dxf import write_dxf
from plumbcut.exports.formats.pdf import write_pdf
from plumbcut.exports.named_files import issued_sets
from plumbcut.exports.sheets.revision_sheet import on_paper
from plumbcut.model.design.advised import checked_with_mends
from plumbcut.model.design.designed import designed
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.parameter_file import read
from plumbcut.model.solid.part import Workshop

ISSUED = (
    (PARAMS / "terrace.toml").read_text().replace("[project]", '[project]\ndate = "2026-09-01"').split("[order]")[0]
)
REVISION = """[revision]
issued = "issued.toml"
text = "answers to plan check"
[[revision.comment]]
number = "4"
sheet = "S-101"
text = "give the footings' size"
answer = "made 26 in"
[[revision.comment]]
number = "5"
sheet = "C-101"
text = "move the stair"
[outline]"""
AGAIN = ISSUED.replace("2026-09-01", '2026-11-30"\nrevision = "B').replace("[outline]", REVISION)
CHANGES = {
    "nothing": AGAIN,
    "stair": AGAIN.replace('at = "5\' 2\\""', 'at = "6\' 2\\""'),
    "joist": AGAIN.replace('joist = "2x10"', 'joist = "2x12"'),
    "footing": AGAIN.replace("[frame]\n", "[frame]\nfooting = { size = 26 }\n"),
    "guard": f"{AGAIN}\n[guard]\nheight = 42\n",
}


@cache
def files(folder: Path) -> dict[str, Path]:
    (folder / "issued.toml").write_text(ISSUED)
    out = {}
    for name, text in CHANGES.items():
        out[name] = folder / f"{name}.toml"
        out[name].write_text(text)
    return out


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("sets")


@cache
def drawn(folder: Path, name: str, paper: str = "ARCH B") -> d.DrawingSet:
    path = files(folder)[name]
    p = read(path)
    p = p.model_copy(update={"drawing": p.drawing.model_copy(update={"paper": paper})})
    shop = Workshop()
    made = designed(p, shop=shop)
    measured = measure_all(made.deck.parts)
    checks = checked_with_mends(made.deck, measured, made.structure)
    return revised(made.deck, measured, checks, issued_sets(p, path), shop, path)


def clouded(sheet: d.Sheet) -> list[d.Arc]:
    return [i for i in sheet.items if type(i) is d.Arc and i.layer == CLOUD_LAYER]


def triangles(sheet: d.Sheet) -> list[d.Symbol]:
    return [i for i in sheet.items if type(i) is d.Symbol and i.name == "revision"]


def listed(drawing: d.DrawingSet) -> list[list[str]]:
    return [
        row
        for sheet in drawing.sheets
        for t in sheet.items
        if type(t) is d.Table and t.title.startswith("CHANGES BY SHEET")
        for row in t.rows
    ]


def table(drawing: d.DrawingSet, title: str) -> list[list[str]]:
    return next(t.rows for s in drawing.sheets for t in s.items if type(t) is d.Table and t.title == title)


# sheets that must be clouded, sheets that must not (what each shows is not touched by the change), words of the list
WANTED = {
    "stair": (
        {"S-101", "S-102", "A-101", "A-201", "C-101"},
        {"S-301"},
        ["PAD: MOVED 1'-0\"", "STRINGER: MOVED 1'-0\" (5 PIECES)", "DIMENSION 4'-8\" NOW 5'-8\""],
    ),
    "joist": (
        {"S-102", "S-301", "A-201", "S-501", "S-601"},
        {"C-101"},
        ["JOIST: 2x10 NOW 2x12 (10 PIECES)", 'DIMENSION 9 1/4" NOW 11 1/4"', "FIELD 2x12: J1: NEW ROW"],
    ),
    "footing": (
        {"S-101", "S-102", "A-201", "S-301", "S-501"},
        {"A-101", "A-501", "S-502", "C-101"},
        ["FOOTING: CUT DIFFERENTLY, 1'-10\" NOW 2'-2\" (3 PIECES)", "SIZE 1'-10\" DIA. NOW 2'-2\" DIA."],
    ),
    "guard": (
        {"A-101", "A-201", "S-301", "A-501"},
        {"S-101", "C-101"},
        ["GUARD 3'-0\" ABOVE SURFACE NOW GUARD 3'-6\"", "T.O. GUARD +6'-2\" NOW T.O. GUARD +6'-8\""],
    ),
}


@pytest.mark.parametrize("name", WANTED)
def test_what_changed_is_clouded_and_listed_by_sheet(folder, name):
    drawing = drawn(folder, name)
    with_cloud = {s.number for s in drawing.sheets if clouded(s)}
    must, must_not, words = WANTED[name]
    assert must <= with_cloud and not must_not & with_cloud
    rows = listed(drawing)
    for told in words:
        assert any(told in row[2] for row in rows), told
    assert with_cloud <= {row[1] for row in rows}
    assert [row[0] for row in rows] == [f"B-{n}" for n in range(1, len(rows) + 1)]


@pytest.mark.parametrize("name", WANTED)
def test_each_cloud_has_its_triangle_and_each_sheet_its_letter(folder, name):
    for sheet in drawn(folder, name).sheets:
        assert bool(clouded(sheet)) == bool(triangles(sheet))
        assert {t.values["REVISION"] for t in triangles(sheet)} <= {"B"}
        x0, y0, x1, y1 = sheet.room
        for arc in clouded(sheet):
            assert x0 <= arc.centre[0] - arc.radius + 1e-6 and arc.centre[0] + arc.radius <= x1 + 1e-6
            assert y0 <= arc.centre[1] - arc.radius + 1e-6 and arc.centre[1] + arc.radius <= y1 + 1e-6
        spots = [t.at for t in triangles(sheet)]
        assert len(set(spots)) == len(spots)
    letters = {s.number: drawn(folder, name).title_fields(s)["revision"] for s in drawn(folder, name).sheets}
    told = {row[1] for row in listed(drawn(folder, name))}
    assert letters == {n: "B" if n in told or n.startswith("G-00") else "A" for n in letters}


def test_the_cloud_stands_round_the_pad_that_moved(folder):
    """The pad's corners, off its own solid, on paper inside the arcs' box of a cloud; both where it is and was."""
    drawing = drawn(folder, "stair")
    (sheet,) = [s for s in drawing.sheets if s.number == "S-101"]
    (port,) = sheet.viewports
    pad = next(i for i in port.view.items if type(i) is d.Polyline and i.mark.startswith("PD"))
    at = to_paper(port)
    spots = [at(p) for p in pad.points] + [at((p[0] - 12, p[1])) for p in pad.points]
    arcs = [a for a in clouded(sheet) if a.radius > 0.05]
    box = (
        min(a.centre[0] for a in arcs),
        min(a.centre[1] for a in arcs),
        max(a.centre[0] for a in arcs),
        max(a.centre[1] for a in arcs),
    )
    assert all(box[0] < x < box[2] and box[1] < y < box[3] for x, y in spots)
    footing = next(i for i in port.view.items if type(i) is d.Circle and i.mark.startswith("F"))
    x, y = at(footing.centre)
    assert not (box[0] < x < box[2] and box[1] < y < box[3])


@pytest.mark.parametrize("paper", ["ARCH B", "ARCH D", "letter"])
def test_an_unchanged_set_has_no_cloud(folder, paper):
    drawing = drawn(folder, "nothing", paper)
    assert not any(clouded(s) or triangles(s) for s in drawing.sheets)
    assert listed(drawing) == [["-", "-", "NO SHEET CHANGED"]]
    fields = {s.number: drawing.title_fields(s) for s in drawing.sheets}
    assert {n for n, f in fields.items() if f["revision"] == "B"} == {"G-001", "G-002"}
    assert {f["date"] for n, f in fields.items() if f["revision"] == "A"} == {"2026-09-01"}
    answers = {row[0]: row[3] for row in table(drawing, "ANSWERS TO COMMENTS")}
    assert answers == {"4": "MADE 26 IN", "5": "NOT ANSWERED: NOTHING CHANGED THERE"}
    assert ["G-002", "REVISIONS"] in [row for t in _tables_of(drawing, "DRAWING INDEX") for row in t.rows]


def _tables_of(drawing, title):
    return [t for s in drawing.sheets for t in s.items if type(t) is d.Table and t.title.startswith(title)]


def test_comments_are_answered_by_the_numbers_of_their_sheets_changes(folder):
    drawing = drawn(folder, "footing")
    first, second = table(drawing, "ANSWERS TO COMMENTS")
    rows = listed(drawing)
    numbers = [row[0] for row in rows if row[1] == "S-101"]
    assert first == ["4", "S-101", "GIVE THE FOOTINGS' SIZE", f"MADE 26 IN. SEE {numbers[0]} TO {numbers[-1]} ON S-101"]
    assert second[3] == "NOT ANSWERED: NOTHING CHANGED THERE"
    assert table(drawing, "REVISIONS") == [["A", "2026-09-01", "ISSUED"], ["B", "2026-11-30", "ANSWERS TO PLAN CHECK"]]


def test_a_title_block_at_the_side_carries_the_revision_table(folder):
    drawing = drawn(folder, "guard", "ARCH D")
    for sheet in drawing.sheets:
        (made,) = [t for t in sheet.items if type(t) is d.Table and t.title == "REVISIONS" and t.at[0] > sheet.room[2]]
        assert made.rows[-1][0] == "B" and made.at[0] + sum(made.widths) <= sheet.size[0] - 0.5


def test_files_of_a_revision_are_sound_and_the_same_twice(folder, tmp_path):
    for n in "12":
        write_dxf(drawn(folder, "guard"), tmp_path / f"{n}.dxf")
        write_pdf(drawn(folder, "guard"), tmp_path / f"{n}.pdf")
    assert (tmp_path / "1.dxf").read_bytes() == (tmp_path / "2.dxf").read_bytes()
    assert (tmp_path / "1.pdf").read_bytes() == (tmp_path / "2.pdf").read_bytes()
    auditor = ezdxf.readfile(tmp_path / "1.dxf").audit()
    assert not auditor.errors and not auditor.fixes


def test_sizes_of_lumber_stay_as_they_are_written():
    assert on_paper("joists are 2x12, 6x6 posts next") == "JOISTS ARE 2x12, 6x6 POSTS NEXT"


BAD = {
    "is not there": (("issued.toml", "gone.toml"), "deck.toml:10: revision.issued: no file gone.toml"),
    "lies elsewhere": (("issued.toml", "../issued.toml"), "deck.toml:10: revision.issued: ../issued.toml lies outside"),
    "is itself": (("issued.toml", "deck.toml"), "deck.toml:10: revision.issued: deck.toml comes back"),
    "has the same letter": (('revision = "B"', 'revision = "A"'), 'deck.toml:4: project.revision: "A" is the revision'),
    "is not named": (('issued = "issued.toml"\n', ""), "deck.toml:9: revision.issued: is missing"),
    "has no such sheet": (
        ("C-101", "C-999"),
        "deck.toml:19: revision.comment.1.sheet (comment 2): C-999 is no sheet of this set",
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_a_set_that_cannot_be_compared_gets_one_line(case, tmp_path):
    (was, now), told = BAD[case]
    (tmp_path / "issued.toml").write_text(ISSUED)
    deck = tmp_path / "deck.toml"
    assert was in AGAIN
    deck.write_text(AGAIN.replace(was, now, 1))
    done = CliRunner().invoke(main, ["build", str(deck), "--out", str(tmp_path / "out")])
    assert done.exit_code == 2 and not (tmp_path / "out").exists()
    (line,) = done.output.strip().splitlines()
    assert told in line


@pytest.mark.parametrize(
    "was, now, told",
    [
        ('joist = "2x10"', "joist = 7", "issued.toml:17: frame.joist"),
        ("[outline]", '[revision]\nissued = "none.toml"\n[outline]', "issued.toml:10: revision.issued: no file"),
    ],
)
def test_a_fault_of_the_issued_file_is_told_with_its_own_line(was, now, told, tmp_path):
    text = ISSUED.replace("[project]", '[project]\nrevision = "A"')
    assert was in text
    (tmp_path / "issued.toml").write_text(text.replace(was, now, 1))
    deck = tmp_path / "deck.toml"
    deck.write_text(AGAIN)
    done = CliRunner().invoke(main, ["build", str(deck), "--out", str(tmp_path / "out")])
    assert done.exit_code == 2 and not (tmp_path / "out").exists()
    (line,) = done.output.strip().splitlines()
    assert told in line


def test_a_revision_of_a_revision_lists_every_set(folder):
    path = folder / "third.toml"
    text = files(folder)["guard"].read_text().replace('revision = "B"', 'revision = "C"')
    path.write_text(text.replace('issued = "issued.toml"', 'issued = "guard.toml"'))
    found = issued_sets(read(path), path)
    assert [s.path.name for s in found] == ["guard.toml", "issued.toml"]
    assert [s.parameters.project.revision for s in found] == ["B", "A"]


def test_a_set_that_is_no_revision_names_none():
    assert issued_sets(Parameters.model_validate({"outline": {"width": 90, "depth": 90}}), None) == []


@pytest.mark.parametrize("paper", ["ARCH B", "letter"])
def test_the_sheets_of_a_revision_follow_the_cover(folder, paper):
    numbers = [s.number for s in drawn(folder, "footing", paper).sheets]
    kept = [n for n in numbers if n.startswith("G-00")]
    assert numbers[: len(kept)] == kept == [f"G-{n:03d}" for n in range(1, len(kept) + 1)] and len(kept) > 1
