"""The DXF as programs other than ezdxf read it: by its group codes, by GDAL/OGR and, where it is there, by LibreCAD.

Group codes are those of the DXF reference (header variables, DIMSTYLE, VIEW, UCS, INSERT and ATTRIB, PLOTSETTINGS).
"""

from __future__ import annotations

import itertools
import os
import re
import shutil
import struct
import subprocess
import zlib

import ezdxf
import numpy as np
import pyogrio
import pypdfium2
import pytest
from fontTools.ttLib import TTFont
from sample_sheets import sample

from plumbcut.exports.drafting import style
from plumbcut.exports.drafting.drawing import FIELDS, Dimension
from plumbcut.exports.drafting.layers import LAYERS
from plumbcut.exports.formats.dxf import write_dxf
from plumbcut.exports.formats.plot_styles import CTB, pens, write_beside

SETS = [("ARCH D", False), ("letter", False), ("A1", True), ("A3", True)]
# variable of the header -> group code of the same variable in a dimension style
DIMENSION_CODES = {
    **{"$DIMSCALE": 40, "$DIMASZ": 41, "$DIMEXO": 42, "$DIMDLI": 43, "$DIMEXE": 44, "$DIMRND": 45, "$DIMTXT": 140},
    **{"$DIMLFAC": 144, "$DIMGAP": 147, "$DIMTIH": 73, "$DIMTOH": 74, "$DIMTAD": 77, "$DIMZIN": 78, "$DIMTOFL": 172},
    **{"$DIMTIX": 174, "$DIMCLRD": 176, "$DIMCLRE": 177, "$DIMCLRT": 178, "$DIMDEC": 271, "$DIMTDEC": 272},
    **{"$DIMFRAC": 276, "$DIMLUNIT": 277, "$DIMDSEP": 278, "$DIMTMOVE": 279, "$DIMTZIN": 284, "$DIMLWD": 371},
}


class Plain:
    """A DXF by its pairs of lines: the header's variables, table entries and entities as lists of (code, value)."""

    def __init__(self, path):
        lines = path.read_text(encoding="utf-8").splitlines()
        pairs = [(int(code), value.strip()) for code, value in zip(lines[::2], lines[1::2])]
        self.header: dict[str, list[str]] = {}
        records, section, name = [], "", ""
        for code, value in pairs:
            if code == 0 and value in ("SECTION", "ENDSEC"):
                section = ""
            elif code == 2 and not section:
                section = value
            elif section == "HEADER" and code == 9:
                name = value
                self.header[name] = []
            elif section == "HEADER":
                self.header[name].append(value)
            elif code == 0:
                records.append((section, value, []))
            elif records:
                records[-1][2].append((code, value))
        self.records = records

    def of(self, section: str, kind: str) -> list[list[tuple[int, str]]]:
        return [tags for where, what, tags in self.records if (where, what) == (section, kind)]


def first(tags, code: int, default: str = "") -> str:
    return next((value for c, value in tags if c == code), default)


@pytest.fixture(scope="module", params=SETS, ids=lambda p: p[0])
def written(request, tmp_path_factory):
    paper, metric = request.param
    drawing, path = sample(paper, metric), tmp_path_factory.mktemp("dxf") / "permit.dxf"
    write_dxf(drawing, path)
    return drawing, path, Plain(path)


def test_the_header_reads_as_its_dimension_style(written):
    """Programs that know only the header (LibreCAD letters dimensions by it) and those that take the style read the
    same; feet and inches to 1/16 in, or whole millimetres."""
    drawing, _, plain = written
    header = {name: values[0] for name, values in plain.header.items()}
    metric = drawing.metric
    units = {"$INSUNITS": 4, "$MEASUREMENT": 1, "$LUNITS": 2, "$DIMLUNIT": 2, "$DIMDEC": 0}
    if not metric:
        units = {"$INSUNITS": 1, "$MEASUREMENT": 0, "$LUNITS": 4, "$LUPREC": 4, "$DIMLUNIT": 4, "$DIMDEC": 4}
    assert {name: int(header[name]) for name in units} == units
    styles = {first(tags, 2): tags for tags in plain.of("TABLES", "DIMSTYLE") if first(tags, 2)}
    current = styles[header["$DIMSTYLE"]]
    for name, code in DIMENSION_CODES.items():
        assert float(first(current, code)) == pytest.approx(float(header[name])), name
    assert chr(int(header["$DIMDSEP"])) == "." and header["$DIMTXSTY"] == "PLUMBCUT"
    for tags in styles.values():
        assert first(tags, 277) == header["$DIMLUNIT"], first(tags, 2)


def test_dimensions_have_a_scale_for_the_model_and_one_for_paper(written):
    drawing, _, plain = written
    scales = [v.scale for v in drawing.views() for i in v.items if type(i) is Dimension]
    assert float(plain.header["$DIMSCALE"][0]) == max(set(scales), key=scales.count)
    styles = {first(tags, 2): float(first(tags, 40, "1")) for tags in plain.of("TABLES", "DIMSTYLE") if first(tags, 2)}
    assert styles["PLUMBCUT-1"] == 1 and styles["Standard"] == 1
    assert {f"PLUMBCUT-{s:g}" for s in scales} <= set(styles)


def test_every_view_is_named_and_has_its_coordinates(written):
    drawing, _, plain = written
    k = 25.4 if drawing.metric else 1.0
    views = {first(tags, 2): tags for tags in plain.of("TABLES", "VIEW")}
    systems = {first(tags, 2): tags for tags in plain.of("TABLES", "UCS")}
    assert set(views) == set(systems) == {v.name for v in drawing.views()}
    for view in drawing.views():
        origin = [float(first(systems[view.name], code)) for code in (10, 20)]
        assert origin == pytest.approx([view.origin[0] * k, view.origin[1] * k])
        middle, wide, high = views[view.name], *(float(first(views[view.name], code)) for code in (41, 40))
        x, y = float(first(middle, 10)), float(first(middle, 20))
        for item in view.items:
            if type(item) is Dimension:
                for px, py in (item.a, item.b):
                    assert abs((px + view.origin[0]) * k - x) <= wide / 2
                    assert abs((py + view.origin[1]) * k - y) <= high / 2


def test_every_field_of_the_title_block_is_an_attribute(written):
    """Those without a value too: the drafter fills them in."""
    drawing, _, plain = written
    blocks = []
    for n, (_, kind, tags) in enumerate(plain.records):
        if kind == "INSERT" and first(tags, 2).startswith("PLUMBCUT_TITLE_BLOCK"):
            rest = itertools.takewhile(lambda r: r[1] == "ATTRIB", plain.records[n + 1 :])
            blocks.append({first(t, 2): first(t, 1) for _, _, t in rest})
    assert len(blocks) == len(drawing.sheets)
    for found in blocks:
        assert {tag.upper() for tag in FIELDS} <= set(found)
    numbers = {found["SHEET"] for found in blocks}
    assert numbers == {sheet.number for sheet in drawing.sheets}
    empty = [key for key, value in drawing.title_fields(drawing.sheets[0]).items() if not value]
    assert all(blocks[0][key.upper()] == "" for key in empty)


def test_gdal_reads_the_marks_off_the_attributes(written):
    """GDAL/OGR letters attributes as texts: each section mark's number and sheet, each piece's mark in a balloon."""
    _, path, plain = written
    _, _, _, (text,) = pyogrio.raw.read(path, layer="entities", columns=["Text"])
    read = {str(t) for t in text if t}
    wanted = {first(t, 1) for t in plain.of("ENTITIES", "ATTRIB") if first(t, 2) in ("NUMBER", "SHEET", "MARK")}
    wanted.discard("")
    assert len(wanted) >= 4 and wanted <= read


def test_colours_plot_black_in_the_weights_of_their_layers(tmp_path, written):
    """The plot style table beside the file, taken apart by its head: checksum and sizes, then deflated text."""
    write_beside(tmp_path)
    raw = (tmp_path / CTB).read_bytes()
    head = b"PIAFILEVERSION_2.0,CTBVER1,compress\r\npmzlibcodec"
    assert raw.startswith(head)
    check, size, packed = struct.unpack("<LLL", raw[len(head) : len(head) + 12])
    body = raw[len(head) + 12 :]
    text = zlib.decompress(body)
    assert (check, size, packed) == (zlib.adler32(body), len(text), len(body))
    table = text.decode("ascii")
    weights = [float(w) for w in re.findall(r"\d+=([\d.]+)", table[table.index("custom_lineweight_table") :])]
    styles = dict(re.findall(r"^ (\d+)\{\n(.*?)^ \}", table, re.M | re.S))
    assert len(styles) == 255
    for layer in LAYERS.values():
        entry = styles[str(layer.colour - 1)]
        assert int(re.search(r"mode_color=(-?\d+)", entry)[1]) & 0xFFFFFF == 0
        if layer.plot:
            assert weights[int(re.search(r"lineweight=(\d+)", entry)[1])] == layer.weight
    drawn = {first(t, 2): first(t, 62) for t in written[2].of("TABLES", "LAYER")}
    assert {drawn[name] for name in LAYERS} == {str(layer.colour) for layer in LAYERS.values()}
    layouts = written[2].of("OBJECTS", "LAYOUT")  # the model's among them
    assert len(layouts) == len(written[0].sheets) + 1 and {first(t, 7) for t in layouts} == {CTB}
    assert all(int(first(t, 70)) & 32 for t in layouts)  # plots by its plot styles


def test_no_weight_has_two_colours_or_colour_two_weights():
    assert len(set(pens().values())) == len(pens()) == len({la.weight for la in LAYERS.values() if la.plot})


def test_the_face_that_the_file_names_lies_beside_it(tmp_path):
    write_beside(tmp_path)
    faces = {s.dxf.font for s in _styles(tmp_path)}
    assert faces == {style.FONT_DXF}
    name = TTFont(tmp_path / style.FONT_DXF)["name"].getDebugName(1)
    assert name == style.FONT_FAMILY_DXF
    assert "license" in (tmp_path / style.FONT_LICENCE).read_text(encoding="latin-1").lower()


def _styles(folder):
    write_dxf(sample(), folder / "x.dxf")
    return ezdxf.readfile(folder / "x.dxf").styles


@pytest.mark.skipif(shutil.which("librecad") is None, reason="LibreCAD is not installed")
@pytest.mark.parametrize("metric", [False, True], ids=["inches", "millimetres"])
def test_librecad_draws_what_was_drawn(metric, tmp_path):
    """As black on its picture's height and width as the model is high and wide: nothing missing at any edge."""
    write_dxf(sample("A1" if metric else "ARCH D", metric), tmp_path / "x.dxf")
    subprocess.run(
        ["librecad", "dxf2pdf", "-a", "-m", "x.dxf"],
        cwd=tmp_path,
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen", "HOME": str(tmp_path)},
        check=True,
        capture_output=True,
        timeout=120,
    )
    page = pypdfium2.PdfDocument(tmp_path / "x.pdf")[0].render(scale=2).to_numpy()
    dark = np.argwhere(page.min(axis=2) < 128)
    high, wide = dark.max(axis=0) - dark.min(axis=0)
    doc = ezdxf.readfile(tmp_path / "x.dxf")
    low, top = doc.header["$EXTMIN"], doc.header["$EXTMAX"]
    assert wide / high == pytest.approx((top[0] - low[0]) / (top[1] - low[1]), rel=0.1)
