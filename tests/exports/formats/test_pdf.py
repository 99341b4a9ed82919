"""The PDF as pdfplumber and pdfium read it, and as the same drawing's DXF has it."""

from __future__ import annotations

import ezdxf
import pdfplumber
import pypdfium2
import pytest
from PIL import Image
from sample_sheets import DEEP, WIDE, sample

from plumbcut.exports.drafting import draft, style
from plumbcut.exports.drafting.drawing import Dimension, DrawingSet, Sheet, Symbol, Table, Text
from plumbcut.exports.drafting.furniture import port_box
from plumbcut.exports.drafting.layers import LAYERS
from plumbcut.exports.formats.dxf import write_dxf
from plumbcut.exports.formats.pdf import write_pdf
from plumbcut.exports.pictures.sheet_pngs import write_pngs

# Sheet sizes in inches as published (ANSI/ASME Y14.1, architectural sizes, ISO 216), written out again here.
SIZES = {
    "ARCH D": (36, 24),
    "ARCH B": (18, 12),
    "ANSI B": (17, 11),
    "letter": (11, 8.5),
    "A1": (33.110, 23.386),
    "A3": (16.535, 11.693),
}


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    path = tmp_path_factory.mktemp("pdf") / "permit.pdf"
    drawing = sample()
    write_pdf(drawing, path)
    with pdfplumber.open(path) as document:
        yield drawing, path, document.pages


@pytest.mark.parametrize("paper", SIZES)
def test_pages_have_the_size_of_their_paper(paper, tmp_path):
    write_pdf(sample(paper, metric=paper.startswith("A") and paper[1].isdigit()), tmp_path / "x.pdf")
    with pdfplumber.open(tmp_path / "x.pdf") as document:
        assert len(document.pages) == 2
        for page in document.pages:
            assert (page.width / 72, page.height / 72) == pytest.approx(SIZES[paper], abs=0.001)


def test_a_known_length_measures_true_at_the_scale(pages):
    """The ledger is 240 in long; at 1/4 in = 1 ft it is 5 in of paper. Measured off the page."""
    drawing, _, (page, _) = pages
    port = drawing.sheets[0].viewports[0]
    weight = LAYERS["S-JOIS-LEDG"].weight * 72 / 25.4
    tall = 1.5 / 48 * 72
    ledgers = [
        c for c in page.curves + page.rects if abs(c["width"] - 5 * 72) < 0.02 and abs(c["height"] - tall) < 0.02
    ]
    ledgers.sort(key=lambda c: -c["y1"])  # the rim at the other side is as long
    assert len(ledgers) == 2 and ledgers[0]["linewidth"] == pytest.approx(weight, abs=1e-3)
    left, bottom, _, _ = port_box(port)
    box = draft.view_box(port.view)
    assert ledgers[0]["x0"] / 72 == pytest.approx(left + 0.02 + (0 - box[0]) / 48, abs=1e-3)
    assert ledgers[0]["y1"] / 72 == pytest.approx(bottom + 0.02 + (DEEP - box[1]) / 48, abs=1e-3)
    assert WIDE / 48 == 5


def test_weights_are_those_of_the_layers_and_black_is_black(pages):
    for page in pages[2]:
        drawn = page.lines + page.curves + page.rects
        widths = {round(o["linewidth"], 3) for o in drawn if o["stroke"]}
        assert widths <= {round(layer.weight * 72 / 25.4, 3) for layer in LAYERS.values() if layer.plot}
        assert len(widths) >= 5
        for o in drawn:
            assert o["stroking_color"] in ((0,), (0.0,), 0) and o["non_stroking_color"] in ((0,), (0.0,), 0)
        assert {c["non_stroking_color"] for c in page.chars} == {(0,)}


def test_text_is_text_in_one_embedded_font(pages):
    _drawing, path, document = pages
    words = [page.extract_text() for page in document]
    assert (
        "FRAMING PLAN" in words[0]
        and "GENERAL NOTES" in words[0]
        and "20'-0\" OUT TO OUT" in words[0]
        and "NOT A SUBSTITUTE" in words[0]
    )
    assert "MEMBERS" in words[1] and "LOOKING LEFT" in words[1]
    for page in document:
        assert {c["fontname"].split("+")[-1] for c in page.chars} == {"BitstreamVeraSans-Roman"}
        heights = {round(c["size"] * style.CAP / 72, 3) for c in page.chars if c["upright"]}
        assert min(heights) >= 0.062
    assert b"/FontFile2" in path.read_bytes()


def test_pdf_and_dxf_letter_the_same(pages, tmp_path):
    """Every line of lettering of the DXF's sheets (in layouts, views and dimension blocks) stands in the PDF, and no
    other."""
    drawing, _, document = pages
    write_dxf(drawing, tmp_path / "x.dxf")
    doc = ezdxf.readfile(tmp_path / "x.dxf")
    lettered = []
    for space in doc.layouts:
        for entity in space:
            lettered += _text_of(entity)
            if entity.dxftype() == "DIMENSION":
                lettered += [t for e in entity.get_geometry_block() for t in _text_of(e)]
            if entity.dxftype() == "INSERT":
                lettered += [a.dxf.text for a in entity.attribs] + [
                    t for e in entity.virtual_entities() for t in _text_of(e)
                ]
    in_pdf = "".join(c["text"] for page in document for c in page.chars)
    assert sorted("".join(lettered).replace(" ", "")) == sorted(in_pdf.replace(" ", ""))


def _text_of(entity) -> list[str]:
    if entity.dxftype() == "TEXT":
        return [entity.dxf.text]
    return entity.plain_text().split("\n") if entity.dxftype() == "MTEXT" else []


def test_lettering_stands_where_it_was_measured(pages):
    """The box of each dimension's figures on the page, from pdfplumber's characters, lies in the box the layout
    measured."""
    drawing, _, (page, _) = pages
    port = drawing.sheets[0].viewports[0]
    left, bottom, _, _ = port_box(port)
    x0, y0, _, _ = draft.view_box(port.view)
    figures = [
        s
        for i in port.view.items
        if type(i) is Dimension
        for s in draft.strokes(i, 48)
        if type(s) is Text and not s.rotation
    ]
    assert figures
    for text in figures:
        quad = [
            ((x - x0) / 48 + left + 0.02, (y - y0) / 48 + bottom + 0.02) for x, y in draft.text_quad(text, 48, 0.02)
        ]
        a, b = [min(q[n] for q in quad) * 72 for n in (0, 1)]
        c, _d = [max(q[n] for q in quad) * 72 for n in (0, 1)]
        base = b + (style.DESCENT * text.height + 0.02) * 72
        inside = [ch for ch in page.chars if a <= ch["x0"] and ch["x1"] <= c and abs(ch["matrix"][5] - base) < 0.5]
        assert "".join(ch["text"] for ch in inside).replace(" ", "") == text.text.replace(" ", "")


def test_bookmarks_lead_to_the_sheets_and_their_views(pages):
    document = pypdfium2.PdfDocument(str(pages[1]))
    marks = [(m.level, m.get_title(), m.get_dest().get_index()) for m in document.get_toc(max_depth=3)]
    document.close()
    wanted = []
    for n, sheet in enumerate(pages[0].sheets):
        wanted.append((0, f"{sheet.number} {sheet.name}", n))
        wanted += [(1, f"{port.number} {port.title}", n) for port in sheet.viewports if port.number and port.title]
    assert marks == wanted and len(wanted) > len(pages[0].sheets)


def test_what_the_file_says_of_itself_comes_from_the_title_block(tmp_path):
    drawing = sample("letter")
    drawing.fields |= {"address": "4 MILL LANE\nELMS", "creator": "J. DRAFTER", "number": "77", "revision": "B"}
    write_pdf(drawing, tmp_path / "x.pdf")
    document = pypdfium2.PdfDocument(tmp_path / "x.pdf")
    told = document.get_metadata_dict()
    assert told["Title"] == f"{drawing.fields['project']}: Permit set" and told["Author"] == "J. DRAFTER"
    assert told["Subject"] == "Drawing set of a residential deck"
    assert {"at 4 MILL LANE ELMS", "job 77", "revision B", f"issued {drawing.fields['date']}"} <= set(
        told["Keywords"].split(", ")
    )
    assert b"/DisplayDocTitle true" in (tmp_path / "x.pdf").read_bytes()


def test_layers_hold_every_line_and_letter_by_discipline(pages):
    """The content of each page read operator by operator: what paints stands within a layer that the catalogue lists,
    and each layer is closed."""
    _, path, document = pages
    names = {str(name): _name_of(ref) for name, ref in document[0].page_obj.attrs["Resources"]["Properties"].items()}
    with pdfplumber.open(path) as opened:
        listed = [_name_of(ref) for ref in opened.doc.catalog["OCProperties"]["OCGs"]]
    assert sorted(names.values()) == sorted(listed)
    assert {"Structure", "Architecture", "Dimensions", "Border and title block"} <= set(listed)
    painted = set()
    for page in document:
        inside = []
        for line in _content(page).splitlines():
            words = line.split()
            if words[-1:] in (["BDC"], ["BMC"]):
                inside.append(names[words[1].lstrip("/")] if words[0] == "/OC" else words[0])
            elif words[-1:] == ["EMC"]:
                inside.pop()
            elif words[-1:] in (["S"], ["f*"], ["Tj"]):
                layer, read_as = inside
                assert (read_as == "/Artifact") == (words[-1] != "Tj"), line
                painted.add(layer)
        assert not inside
    assert painted == set(listed)


def test_titles_are_headings_to_a_reader_that_does_not_see(pages):
    """The document's tree as pdfplumber resolves it: a section a sheet, its heading the sheet's number and name, every
    letter of the page in one of its elements."""
    drawing, path, _ = pages
    with pdfplumber.open(path) as document:
        (whole,) = document.structure_tree
        assert whole["type"] == "Document" and len(whole["children"]) == len(drawing.sheets)
        for section, sheet, page in zip(whole["children"], drawing.sheets, document.pages):
            kinds = [e["type"] for e in section["children"]]
            assert section["type"] == "Sect" and section["title"] == f"{sheet.number} {sheet.name}"
            assert kinds[:2] == ["H1", "H2"] and set(kinds[2:]) == {"P"}
            known = {mcid for e in section["children"] for mcid in e["mcids"]}
            assert {c["mcid"] for c in page.chars} == known
            (heading,) = section["children"][0]["mcids"]
            text = "".join(c["text"] for c in page.chars if c["mcid"] == heading)
            assert sorted(text.replace(" ", "")) == sorted(f"{sheet.number}{sheet.name}".replace(" ", ""))


def _name_of(ref) -> str:
    return ref.resolve()["Name"].decode()


def _content(page) -> str:
    return "".join(stream.get_data().decode("latin-1") for stream in page.page_obj.contents)


def test_links_lead_from_marks_and_lists_to_sheets_and_views(pages, tmp_path):
    """A section's mark to its view, a row of the list of sheets to the sheet: by the page object each link names."""
    drawing, path, _ = pages
    found = links(path)
    marks = [i for v in drawing.views() for i in v.items if type(i) is Symbol and "SHEET" in i.values]
    numbers = [sheet.number for sheet in drawing.sheets]
    here = [m for m in marks if m.values["SHEET"] in numbers]
    assert len(here) == len(found) == 2
    assert {(page, to) for page, to, _ in found} == {(0, numbers.index(here[0].values["SHEET"]))}
    assert {how for _, _, how in found} == {"FitR"}
    index = Table((2, 8), "DRAWING INDEX", ["SHEET", "TITLE"], [[s.number, s.name] for s in drawing.sheets], [1, 3])
    sheet = Sheet("G-001", "COVER", items=[index])
    write_pdf(DrawingSet([sheet, *drawing.sheets]), tmp_path / "x.pdf")
    rows = [(page, to, how) for page, to, how in links(tmp_path / "x.pdf") if page == 0]
    assert rows == [(0, n + 1, "Fit") for n in range(len(drawing.sheets))]
    with pdfplumber.open(tmp_path / "x.pdf") as document:
        for link, row in zip(document.pages[0].annots, index.rows):
            inside = document.pages[0].crop((link["x0"], link["top"], link["x1"], link["bottom"])).extract_text()
            assert inside.split()[0] == row[0]


def links(path) -> list[tuple[int, int, str]]:
    """(page, page it leads to, how that fits the window) of every link."""
    with pdfplumber.open(path) as document:
        order = {page.page_obj.pageid: n for n, page in enumerate(document.pages)}
        return [
            (n, order[link["data"]["Dest"][0].objid], link["data"]["Dest"][1].name)
            for n, page in enumerate(document.pages)
            for link in page.annots
        ]


def test_the_same_drawing_gives_the_same_bytes(tmp_path):
    one, two = tmp_path / "a.pdf", tmp_path / "b.pdf"
    write_pdf(sample("ARCH B"), one)
    write_pdf(sample("ARCH B"), two)
    assert one.read_bytes() == two.read_bytes()


def test_pictures_of_the_pages(pages, tmp_path):
    paths = write_pngs(pages[1], tmp_path / "sheets", dpi=40)
    assert [p.name for p in paths] == ["01-s-102-framing-plan.png", "02-s-301-section.png"]
    picture = Image.open(paths[0])
    assert picture.size == (36 * 40, 24 * 40) and picture.getextrema()[0] < 100


def test_an_unknown_layer_leaves_no_file(tmp_path):
    drawing = sample()
    drawing.sheets[0].items[0].layer = "MISSPELT"
    with pytest.raises(KeyError):
        write_pdf(drawing, tmp_path / "x.pdf")
    assert not list(tmp_path.iterdir())
