"""The DXF against ezdxf's auditor and a second reader, GDAL/OGR."""

from __future__ import annotations

import math
import os
import re
import subprocess
import sys
from collections import Counter
from pathlib import Path

import ezdxf
import pyogrio
import pytest
import shapely
from sample_sheets import sample

from plumbcut.exports.drafting import draft, style
from plumbcut.exports.drafting.drawing import Dimension, DrawingSet, Hatch, Line, Polyline, Sheet, Text, View, Viewport
from plumbcut.exports.drafting.hatching import hatch_lines
from plumbcut.exports.drafting.layers import LAYERS
from plumbcut.exports.formats.dxf import write_dxf
from plumbcut.exports.formats.dxf_tables import APP, STYLE

SETS = [("ARCH D", False), ("letter", False), ("A1", True)]


@pytest.fixture(scope="module", params=SETS, ids=lambda p: f"{p[0]}{'-mm' if p[1] else ''}")
def written(request, tmp_path_factory):
    paper, metric = request.param
    drawing = sample(paper, metric)
    path = tmp_path_factory.mktemp("dxf") / "permit.dxf"
    write_dxf(drawing, path)
    return drawing, path, ezdxf.readfile(path)


def spaces(doc):
    """Model space, every layout, every block: all that holds entities."""
    return [*doc.layouts, *(b for b in doc.blocks if not b.is_any_layout)]


def test_the_auditor_finds_nothing_to_mend(written):
    auditor = written[2].audit()
    assert auditor.errors == [] and auditor.fixes == []


def test_units_and_scales_of_the_header(written):
    drawing, _, doc = written
    metric = drawing.metric
    header = doc.header
    assert doc.dxfversion == "AC1032"
    assert (header["$INSUNITS"], header["$MEASUREMENT"]) == ((4, 1) if metric else (1, 0))
    assert header["$LUNITS"] == (2 if metric else 4) and (metric or header["$LUPREC"] == 4)
    low, high = header["$EXTMIN"], header["$EXTMAX"]
    k = 25.4 if metric else 1
    box = [(v.origin, draft.items_box(v.items, v.scale, metric)) for v in drawing.views()]
    assert low[0] == pytest.approx(min(o[0] + b[0] for o, b in box) * k) and high[1] == pytest.approx(
        max(o[1] + b[3] for o, b in box) * k
    )


def test_every_entity_is_on_a_layer_of_the_table_by_layer(written):
    """Nothing on layer 0 but what blocks hold, no colour or weight of its own, one text style, no style without its
    font."""
    doc = written[2]
    assert {layer.dxf.name for layer in doc.layers} == {*LAYERS, "0", "Defpoints"}
    for space in spaces(doc):
        in_block = not space.is_any_layout
        for entity in space:
            assert entity.dxf.layer in LAYERS or (in_block and entity.dxf.layer == "0"), (space.name, entity)
            assert entity.dxf.get("color", 256) == 256 or (
                in_block and space.name.startswith("_") and entity.dxf.color == 0
            )
            assert entity.dxf.get("lineweight", -1) in (-1, -2)
            assert entity.dxf.get("linetype", "BYLAYER").upper() in ("BYLAYER", "BYBLOCK")
            if entity.dxftype() in ("TEXT", "MTEXT", "ATTRIB", "ATTDEF"):
                assert entity.dxf.style == STYLE
            for attrib in getattr(entity, "attribs", ()):
                assert attrib.dxf.style == STYLE and attrib.dxf.layer in LAYERS
    assert {s.dxf.font for s in doc.styles} == {style.FONT_DXF}
    for layer in LAYERS.values():
        entry = doc.layers.get(layer.name)
        assert (entry.dxf.lineweight, entry.dxf.color, bool(entry.dxf.plot)) == (
            round(layer.weight * 100),
            layer.colour,
            layer.plot,
        )
        assert entry.dxf.linetype in doc.linetypes


def test_dashes_print_at_their_paper_size(written):
    """Every dashed entity of a view carries the view's scale, and the pattern is in paper units."""
    drawing, _, doc = written
    assert doc.header["$LTSCALE"] == 1 and doc.header["$PSLTSCALE"] == 0
    scales = {v.scale for v in drawing.views()}
    dashed = [
        e for e in doc.modelspace() if e.dxf.layer in LAYERS and LAYERS[e.dxf.layer].dashes and e.dxftype() != "INSERT"
    ]
    assert dashed and all(e.dxf.ltscale in scales for e in dashed)
    tags = doc.linetypes.get("HIDDEN").pattern_tags.tags
    assert [t.value for t in tags if t.code == 49] == pytest.approx(
        [(25.4 if drawing.metric else 1) * d for d in (0.125, -0.0625)]
    )


def test_each_sheet_is_a_layout_with_locked_viewports_at_scale(written):
    drawing, _, doc = written
    k = 25.4 if drawing.metric else 1
    names = doc.layouts.names_in_taborder()[1:]
    assert names == [f"{s.number} {s.name}" for s in drawing.sheets]
    for sheet, name in zip(drawing.sheets, names):
        layout = doc.layout(name)
        wide, high = sheet.size
        inches = 25.4  # the plot settings of a layout are always millimetres
        assert (layout.dxf.paper_width, layout.dxf.paper_height) == pytest.approx(
            (wide * inches, high * inches), abs=0.01
        )
        assert layout.dxf.plot_paper_units == (1 if drawing.metric else 0)
        ports = [v for v in layout.query("VIEWPORT") if v.dxf.id != 1]
        assert len(ports) == len(sheet.viewports)
        for entity, port in zip(ports, sheet.viewports):
            assert entity.dxf.view_height / entity.dxf.height == pytest.approx(port.view.scale)
            assert entity.dxf.flags & 0x4000 and not LAYERS[entity.dxf.layer].plot
            box = draft.view_box(port.view, drawing.metric)
            assert entity.dxf.view_center_point.x == pytest.approx(((box[0] + box[2]) / 2 + port.view.origin[0]) * k)


def test_dimensions_are_live_and_read_what_they_measure(written):
    """The text is `<>`; what the block shows, read back as feet and inches or millimetres, is the measured distance."""
    drawing, _, doc = written
    dims = list(doc.modelspace().query("DIMENSION"))
    assert len(dims) == sum(type(i) is Dimension for i in drawing.items())
    for dim in dims:
        assert "<>" in dim.dxf.text
        measured = dim.get_measurement()  # ezdxf's own, from the defining points
        assert measured == pytest.approx(dim.dxf.actual_measurement, abs=1e-6)
        shown = [e.dxf.text for e in dim.get_geometry_block() if e.dxftype() == "TEXT"]
        assert len(shown) == 1
        before, after = dim.dxf.text.split("<>")
        assert shown[0].startswith(before) and shown[0].endswith(after)
        figure = shown[0][len(before) : len(shown[0]) - len(after) if after else None]
        assert abs(read_length(figure, drawing.metric) - measured) <= (0.5 if drawing.metric else 1 / 32) + 1e-6
        entry = doc.dimstyles.get(dim.dxf.dimstyle)
        assert (
            entry.dxf.dimlunit == (2 if drawing.metric else 4)
            and entry.dxf.dimtxsty == STYLE
            and entry.dxf.dimlfac == 1
        )
        assert entry.dxf.dimscale in {v.scale for v in drawing.views()}


def read_length(text: str, metric: bool) -> float:
    """An independent reading of a figure: 12'-3 1/2" to inches."""
    if metric:
        return float(text)
    feet, inch = re.fullmatch(r"(?:(\d+)'-)?(.*)\"", text).groups()
    parts = [float(p.split("/")[0]) / float(p.split("/")[1]) if "/" in p else float(p) for p in inch.split()]
    return 12 * int(feet or 0) + sum(parts)


def test_hatches_hold_on_to_their_edges(written):
    drawing, _, doc = written
    db = doc.entitydb
    hatches = list(doc.modelspace().query("HATCH"))
    assert len(hatches) == sum(type(i) is Hatch for v in drawing.views() for i in v.items)
    assert {h.dxf.pattern_name for h in hatches} >= {"ANSI31", "AR-CONC", "EARTH", "AR-RROOF", "ANSI32"}
    for hatch in hatches:
        assert hatch.dxf.associative == 1
        for path in hatch.paths:
            edge = db[path.source_boundary_objects[0]]
            assert edge.dxftype() == "LWPOLYLINE" and edge.closed
            assert {(round(x, 3), round(y, 3)) for x, y in edge.get_points("xy")} == {
                (round(x, 3), round(y, 3)) for x, y, _ in path.vertices
            }


def test_hatch_lines_of_the_dxf_are_those_of_the_pdf(written):
    """ezdxf's own hatch renderer, fed with what was written, draws as much line as the PDF's writer."""
    from ezdxf.render import hatching

    drawing, _, doc = written
    k = 25.4 if drawing.metric else 1
    items = [i for v in drawing.views() for i in v.items if type(i) is Hatch]
    scales = {id(i): v.scale for v in drawing.views() for i in v.items}
    for entity, item in zip(doc.modelspace().query("HATCH"), items):
        if item.pattern in ("concrete", "gravel"):
            continue  # dots have no length there
        theirs = sum(start.distance(end) for start, end in hatching.hatch_entity(entity))
        ours = sum(math.dist(a, b) for a, b in hatch_lines(item, scales[id(item)])) * k
        assert ours == pytest.approx(theirs, rel=0.02)


def test_marks_ride_along_as_extended_data(written):
    drawing, _, doc = written
    wanted = Counter(i.mark for v in drawing.views() for i in draft.clean(v.items) if i.mark)
    found = Counter(e.get_xdata(APP)[0].value for e in doc.modelspace() if e.has_xdata(APP))
    assert set(found) == set(wanted) and all(found[m] >= n for m, n in wanted.items())


def test_title_block_and_repeats_are_blocks_with_attributes(written):
    drawing, _, doc = written
    for sheet, name in zip(drawing.sheets, doc.layouts.names_in_taborder()[1:]):
        (block,) = [i for i in doc.layout(name).query("INSERT") if i.dxf.name.startswith("PLUMBCUT_TITLE_BLOCK")]
        values = {a.dxf.tag: a.dxf.text for a in block.attribs}
        assert (
            values["SHEET"] == sheet.number
            and f"{values['TITLE']} {values.get('TITLE_2', '')}".strip() == sheet.name
            and values["DATE"] == "2026-11-25"
        )
        defined = {a.dxf.tag for a in doc.blocks.get(block.dxf.name).query("ATTDEF")}
        assert set(values) <= defined
    names = Counter(i.dxf.name for i in doc.modelspace().query("INSERT"))
    assert (
        sum(n for name, n in names.items() if name.startswith("PLUMBCUT_FOOTING")) == 3
        and names["PLUMBCUT_SECTION_LEFT"] == 2
    )
    k = 25.4 if drawing.metric else 1
    for insert in doc.modelspace().query("INSERT"):
        if insert.dxf.name.startswith("PLUMBCUT_FOOTING"):
            (circle,) = [e for e in insert.virtual_entities() if e.dxftype() == "CIRCLE"]
            assert circle.dxf.radius == pytest.approx(8 * k)  # a footing of 16 in


def test_no_line_is_drawn_twice_or_without_length(written):
    for space in written[2].layouts:
        lines = Counter()
        for entity in space.query("LINE LWPOLYLINE"):
            points = (
                entity.get_points("xy")
                if entity.dxftype() == "LWPOLYLINE"
                else [entity.dxf.start.vec2, entity.dxf.end.vec2]
            )
            path = tuple((round(p[0], 3), round(p[1], 3)) for p in points)
            assert len(set(path)) > 1
            lines[entity.dxf.layer, min(path, path[::-1])] += 1
        assert max(lines.values()) == 1


def test_a_second_reader_gets_the_same_lengths(written):
    """GDAL/OGR's DXF driver: lengths of lines and outlines within 0.001 in of the drawing's."""
    drawing, path, _ = written
    k = 25.4 if drawing.metric else 1
    _meta, _, geometry, fields = pyogrio.raw.read(path, layer="entities", columns=["Layer", "PaperSpace", "SubClasses"])
    layer, paper, kind = fields
    shapes = shapely.from_wkb(geometry)
    for name in ("S-JOIS", "S-JOIS-LEDG", "S-COLS", "S-BEAM-HDLN", "A-SECT-MCUT", "C-TOPO"):
        read = sorted(
            shapely.length(g) / k
            for g, n, p, c in zip(shapes, layer, paper, kind)
            if n == name and p != 1 and ("AcDbPolyline" in c or "AcDbLine" in c)
        )
        drawn = sorted(
            shapely.length(
                shapely.LineString([*i.points, i.points[0]] if i.closed else i.points)
                if type(i) is Polyline
                else shapely.LineString([i.a, i.b])
            )
            for v in drawing.views()
            for i in v.items
            if i.layer == name and type(i) in (Line, Polyline)
        )
        assert len(read) == len(drawn) > 0 and read == pytest.approx(drawn, abs=0.001)


def test_the_same_drawing_gives_the_same_bytes(tmp_path):
    one, two = tmp_path / "a.dxf", tmp_path / "b.dxf"
    write_dxf(sample(), one)
    write_dxf(sample(), two)
    assert one.read_bytes() == two.read_bytes()
    assert ezdxf.options.write_fixed_meta_data_for_testing is False


SHEETS = (
    "import sys; from sample_sheets import sample; from plumbcut.exports.formats.dxf import write_dxf;"
    " write_dxf(sample(), sys.argv[1])"
)
TEMPLATE = """
import sys
from pathlib import Path
from types import SimpleNamespace
from plumbcut.exports.cards.templates import write_templates
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.solid.part import Workshop
from plumbcut.shared.stock import Stock

ring = [(0, 0), (40, 0), (34.5, 5.5), (0, 5.5)]
tread = Workshop().upright("tread", Stock("5/4x6", 1.0, 5.5, "composite board"), ring, 0, 1)
tread = tread.replaced(mark="T1", id="T1-01")
parameters = Parameters.model_validate({"outline": {"width": 120, "depth": 96}, "levels": {"surface": 30}})
(made,) = write_templates(SimpleNamespace(parts=[tread], parameters=parameters), sys.argv[1] + "-folder")
made.rename(sys.argv[1])
"""


@pytest.mark.parametrize("code", [SHEETS, TEMPLATE], ids=["sheets", "template"])
def test_every_process_writes_the_same_bytes(code, tmp_path):
    """Python orders sets anew in every process (PYTHONHASHSEED): nothing of that may reach the file."""
    files = []
    for seed in ("0", "4", "7"):
        subprocess.run(
            [sys.executable, "-c", code, str(tmp_path / seed)],
            check=True,
            cwd=Path(__file__).parents[2],
            env={**os.environ, "PYTHONHASHSEED": seed},
        )
        files.append((tmp_path / seed).read_bytes())
    assert files[0] == files[1] == files[2]


def test_an_unknown_layer_is_refused_before_anything_is_written(tmp_path):
    """The auditor passes layers that are not in the table in silence, so the writer must not."""
    drawing = DrawingSet(
        [Sheet("S-1", "X", viewports=[Viewport(View("v", items=[Line((0, 0), (1, 1), layer="MISSPELT")]), (10, 10))])]
    )
    with pytest.raises(KeyError, match="MISSPELT"):
        write_dxf(drawing, tmp_path / "x.dxf")
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("typed", ["5%%d", "100%", "a%%%b", "^J", "x^ y", "{a} \\P b", "%%%%", "a^b"])
def test_texts_read_as_they_were_typed(typed, tmp_path):
    """As ezdxf decodes TEXT and MTEXT; the codes are those of the DXF reference (%%d, %%%, ^J, \\P)."""
    two = Text((2, 2), f"{typed}\n{typed}", 0.1, layer="A-ANNO-NOTE")
    sheet = Sheet("S-1", "X", items=[Text((2, 4), typed, 0.1, layer="A-ANNO-NOTE"), two])
    write_dxf(DrawingSet([sheet]), tmp_path / "x.dxf")
    layout = ezdxf.readfile(tmp_path / "x.dxf").layout("S-1 X")
    assert [text.plain_text() for text in layout.query("TEXT MTEXT")][:2] == [typed, f"{typed}\n{typed}"]
