"""The DXF and PDF of every demo, held to what the writers' own tests ask of an invented set.

Read back by ezdxf and its auditor and by GDAL/OGR; the same build gives the same bytes.
"""

from __future__ import annotations

import ezdxf
import pyogrio
import pypdfium2
import pytest
import shapely
import test_dxf
import test_pdf
from conftest import DEMOS, demo_checks, demo_deck, demo_measured

from plumbcut.exports.build import BuildResult, Stages, write_drawings
from plumbcut.exports.drafting.drawing import Symbol, Table
from plumbcut.exports.formats.dxf import write_dxf
from plumbcut.exports.formats.pdf import write_pdf
from plumbcut.exports.sheets import build_drawing

SETS = [(name, "ARCH B", False) for name in DEMOS] + [(DEMOS[0], "A3", True)]
ASKED = [
    test_dxf.test_the_auditor_finds_nothing_to_mend,
    test_dxf.test_units_and_scales_of_the_header,
    test_dxf.test_every_entity_is_on_a_layer_of_the_table_by_layer,
    test_dxf.test_each_sheet_is_a_layout_with_locked_viewports_at_scale,
    test_dxf.test_dimensions_are_live_and_read_what_they_measure,
    test_dxf.test_no_line_is_drawn_twice_or_without_length,
]


@pytest.fixture(scope="module", params=SETS, ids=lambda p: f"{p[0]}-{p[1]}")
def written(request, tmp_path_factory):
    name, paper, metric = request.param
    drawing = build_drawing(demo_deck(name), demo_measured(name), demo_checks(name), paper=paper, metric=metric)
    path = tmp_path_factory.mktemp("dxf") / "permit.dxf"
    write_dxf(drawing, path)
    return drawing, path, ezdxf.readfile(path)


@pytest.mark.parametrize("asked", ASKED, ids=lambda f: f.__name__.removeprefix("test_"))
def test_the_demo_keeps_the_rule(written, asked):
    asked(written)


def test_a_second_reader_finds_every_outline(written):
    """GDAL/OGR: as many lines and outlines on each layer of model space as were drawn, of the same total length."""
    drawing, path, _ = written
    k = 25.4 if drawing.metric else 1
    _, _, geometry, (layer, paper, kind) = pyogrio.raw.read(
        path, layer="entities", columns=["Layer", "PaperSpace", "SubClasses"]
    )
    shapes = shapely.from_wkb(geometry)
    from plumbcut.exports.drafting.drawing import Line, Polyline

    def path_of(i):
        return shapely.LineString([i.a, i.b] if type(i) is Line else [*i.points, i.points[0]] if i.closed else i.points)

    for name in ("S-JOIS", "S-BEAM-HDLN", "A-FLOR-DECK", "A-ELEV-OTLN", "A-SECT-MCUT", "C-PROP", "C-PROP-STBK"):
        read = sorted(
            shapely.length(g) / k
            for g, n, p, c in zip(shapes, layer, paper, kind)
            if n == name and p != 1 and ("AcDbPolyline" in c or "AcDbLine" in c)
        )
        drawn = sorted(
            path_of(i).length
            for v in drawing.views()
            for i in v.items
            if i.layer == name and type(i) in (Line, Polyline)
        )
        assert len(read) == len(drawn) > 0 and read == pytest.approx(drawn, abs=0.001), name


def test_lists_of_sheets_and_section_marks_lead_there(written, tmp_path):
    """Every row of the list of sheets to its sheet, every mark of a section to its view, by the pages that pdfplumber
    resolves; and every view with a number has a bookmark under its sheet."""
    drawing, _, _ = written
    write_pdf(drawing, tmp_path / "x.pdf")
    pages = {sheet.number: n for n, sheet in enumerate(drawing.sheets)}
    wanted, marks = [], 0
    for n, sheet in enumerate(drawing.sheets):
        tables = [i for i in sheet.items if type(i) is Table and i.title.startswith("DRAWING INDEX")]
        wanted += [(n, pages[row[0]], "Fit") for t in tables for row in t.rows]
        shown = [i for port in sheet.viewports for i in port.view.items if type(i) is Symbol and "SHEET" in i.values]
        wanted += [(n, pages[i.values["SHEET"]], "FitR") for i in shown]
        marks += len(shown)
    assert marks >= 4 and len(wanted) >= len(pages) + marks
    assert sorted(test_pdf.links(tmp_path / "x.pdf")) == sorted(wanted)
    document = pypdfium2.PdfDocument(tmp_path / "x.pdf")
    told = [m.get_title() for m in document.get_toc() if m.level == 1]
    assert told == [f"{p.number} {p.title}" for s in drawing.sheets for p in s.viewports if p.number and p.title]


def test_the_same_build_gives_the_same_bytes(tmp_path):
    name = DEMOS[0]
    files = []
    for run in ("one", "two"):
        folder = tmp_path / run
        folder.mkdir()
        write_drawings(BuildResult(demo_deck(name), demo_measured(name), None, demo_checks(name), Stages()), folder)
        files.append([(folder / f).read_bytes() for f in ("permit.dxf", "permit.pdf")])
    assert files[0] == files[1]
