"""How the sheets of every demo lie on every paper: lettering clear of lettering, of dimension lines and of heavy lines,
all measured.

What a drafter holds to be legible (common practice, no source). The measuring here is shapely's, on the strokes both
writers draw.
"""

from __future__ import annotations

import math
import re
from functools import cache

import numpy as np
import pytest
import shapely
from conftest import DEMOS, demo_checks, demo_deck, demo_measured
from shapely.geometry import box

from plumbcut.exports.drafting import annotate, draft, furniture, standing, style, titleblock
from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.drafting.layers import HEAVY_LINE, LAYERS
from plumbcut.exports.sheets import build_drawing
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters

PAPERS = [("ARCH B", False), ("ARCH D", False), ("letter", False), ("A3", True)]
GRAZE = 0.006  # paper inches of a letter's box that a line may touch: less than a pen's width


@cache
def drawn(name: str, paper: str, metric: bool) -> d.DrawingSet:
    return build_drawing(demo_deck(name), demo_measured(name), demo_checks(name), paper=paper, metric=metric)


def struck_through(items: list, scale: float, metric: bool) -> list[tuple[str, str]]:
    """(lettering, what runs through it): dimension lines, leaders and heavy lines of any other item."""
    texts, lines = [], []
    for n, item in enumerate(items):
        for stroke in draft.strokes(item, scale, metric):
            if type(stroke) is d.Text:
                texts.append((n, stroke.text, shapely.Polygon(draft.text_quad(stroke, scale)).buffer(-GRAZE * scale)))
            elif type(stroke) is not d.Hatch and (
                type(item) in (d.Dimension, d.Leader, d.Tag, d.Symbol) or LAYERS[stroke.layer].weight >= HEAVY_LINE
            ):
                lines.append((n, type(item).__name__, shapely.LineString(standing.corners_of(stroke))))
    hits = (
        shapely.STRtree([t[2] for t in texts]).query([line[2] for line in lines], predicate="intersects")
        if texts and lines
        else np.zeros((2, 0), int)
    )
    return sorted({(texts[t][1], lines[k][1]) for k, t in hits.T if texts[t][0] != lines[k][0]})


@pytest.mark.parametrize("paper, metric", PAPERS, ids=[p for p, _ in PAPERS])
@pytest.mark.parametrize("name", DEMOS)
def test_lettering_stands_clear_and_all_fits_the_paper(name, paper, metric):
    drawing = drawn(name, paper, metric)
    for view in drawing.views():
        assert not [(a.text, b.text) for a, b in annotate.overlaps(view.items, view.scale, metric)], view.name
        assert not struck_through(view.items, view.scale, metric), view.name
    for sheet in drawing.sheets:
        on_paper = [*sheet.items, *furniture.titles(sheet, metric), *titleblock.filled(drawing, sheet)]
        assert not [(a.text, b.text) for a, b in annotate.overlaps(on_paper, 1.0, metric)], sheet.number
        assert not struck_through([i for i in on_paper if type(i) in (d.Text, d.Tag, d.Symbol)], 1.0, metric), (
            sheet.number
        )
        room = box(*sheet.room).buffer(0.12)
        ports = [box(*furniture.port_box(p, metric)) for p in sheet.viewports]
        assert all(room.contains(p) for p in ports), sheet.number
        assert all(a.intersection(b).area < 1e-6 for i, a in enumerate(ports) for b in ports[i + 1 :]), sheet.number


@pytest.mark.parametrize("paper, metric", [("ARCH B", False), ("ARCH D", False), ("A3", True)])
def test_no_lettering_is_lower_than_is_read(paper, metric):
    """3/32 in (common practice, no source), in the title block too."""
    drawing = drawn("terrace", paper, metric)
    for sheet in drawing.sheets:
        on_paper = [*sheet.items, *furniture.titles(sheet, metric), *titleblock.filled(drawing, sheet)]
        some = [(on_paper, 1.0), *((p.view.items, p.view.scale) for p in sheet.viewports)]
        texts = [
            s for items, scale in some for i in items for s in draft.strokes(i, scale, metric) if type(s) is d.Text
        ]
        assert len(texts) > 20 and not [(t.text, t.height) for t in texts if t.height < 3 / 32 - 1e-9], sheet.number


def test_flights_in_one_line_and_a_house_in_two_planes():
    """Two flights straight on end at one foot, two walls lie beyond one elevation: each is marked clear of the
    other."""
    outline = {"points": [[0, 0], [150, 0], [150, 120], [90, 120], [90, 100], [0, 100]], "house": ["e3", "e4", "e5"]}
    stair = {"edge": "e1", "width": 42, "landings": [{"after_risers": 4, "turn": "straight"}]}
    deck = build(Parameters.model_validate({"outline": outline, "levels": {"surface": 62}, "stair": [stair]}))
    drawing = build_drawing(deck, paper="ARCH B")
    for view in drawing.views():
        assert not [(a.text, b.text) for a, b in annotate.overlaps(view.items, view.scale)], view.name
    plan = next(v for v in drawing.views() if v.name == "surface plan")
    told = [i.values["SHEET"] for i in plan.items if type(i) is d.Symbol and i.name.startswith("section")]
    assert {"A-501", "A-502"} <= set(told)


def unmarked(words: str) -> str:
    """Without the mark: the note may point at another piece of its kind."""
    return re.sub(r"^[A-Z]+\d+ ", "", words)


@pytest.mark.parametrize("name", DEMOS)
def test_keynotes_of_a_small_paper_say_what_leaders_say_on_a_larger(name):
    """On letter, every number on a view has its words beside it, and framing and surface plans say all they say on ARCH
    B."""
    large, small = drawn(name, "ARCH B", False), drawn(name, "letter", False)
    said = 0
    for sheet in small.sheets:
        numbers = sorted(
            int(i.text) for p in sheet.viewports for i in p.view.items if type(i) is d.Tag and i.shape == "hexagon"
        )
        listed = [i for i in sheet.items if type(i) is d.Tag and i.shape == "hexagon"]
        assert numbers == list(range(1, len(numbers) + 1)) and [i.text for i in listed] == [str(n) for n in numbers], (
            sheet.number
        )
        said += len(numbers)
        if sheet.number in ("S-102", "A-101", "S-301", "A-501"):
            of = next(s for s in large.sheets if s.number == sheet.number)
            notes = {
                unmarked(i.text.replace("\n", ", ")) for p in of.viewports for i in p.view.items if type(i) is d.Leader
            }
            words = {unmarked(i.text) for i in sheet.items if type(i) is d.Text}
            assert notes and notes <= words, sheet.number
    assert said > 30


@pytest.mark.parametrize("paper, metric", PAPERS, ids=[p for p, _ in PAPERS])
@pytest.mark.parametrize("name", DEMOS)
def test_leaders_are_short(name, paper, metric):
    """A note stands where its arrow is soon found: no leader over 3.5 in on paper, one in ten over 2 in (common
    practice, no source)."""
    long = [
        math.dist(i.tip, i.at) / v.scale
        for v in drawn(name, paper, metric).views()
        for i in v.items
        if type(i) in (d.Leader, d.Tag) and i.tip is not None
    ]
    assert max(long) < 3.5 and np.mean(np.array(long) > 2) < 0.1


@pytest.mark.parametrize("paper, metric", PAPERS, ids=[p for p, _ in PAPERS])
@pytest.mark.parametrize("name", DEMOS)
def test_the_scale_written_is_the_scale_drawn(name, paper, metric):
    """Under each view the note of its own scale; in the title block that scale, or AS NOTED where views differ."""
    drawing = drawn(name, paper, metric)
    for sheet in drawing.sheets:
        lettered = [i for i in furniture.titles(sheet, metric) if isinstance(i, d.Symbol)]
        notes = sorted(v for i in lettered for k, v in i.values.items() if k == "SCALE")
        assert notes == sorted(
            f"SCALE: {style.scale_note(p.view.scale, metric)}" for p in sheet.viewports if p.title
        ), sheet.number
        scales = {p.view.scale for p in sheet.viewports}
        if scales:
            assert sheet.scale_text(metric) == (
                "AS NOTED" if len(scales) > 1 else style.scale_note(scales.pop(), metric)
            )


@pytest.mark.parametrize("name", DEMOS)
def test_section_marks_name_a_view_that_is_there(name):
    """Every bubble NUMBER over SHEET names a sheet of the set with a view of that number."""
    drawing = drawn(name, "ARCH B", False)
    views = {(p.number, s.number) for s in drawing.sheets for p in s.viewports}
    marks = [
        (i.values["NUMBER"], i.values["SHEET"])
        for v in drawing.views()
        for i in v.items
        if isinstance(i, d.Symbol) and i.name.startswith("section ")
    ]
    assert marks and set(marks) <= views
    sections = {
        (p.number, s.number) for s in drawing.sheets for p in s.viewports if s.number.startswith(("S-3", "A-50"))
    }
    assert sections <= set(marks), "every section is marked on a plan"


def test_a_struck_out_figure_is_found():
    """The measure can fail: a note across a heavy line, and on the line of another's dimension."""
    note = d.Text((0, 0), "A NOTE", layer="A-ANNO-NOTE")
    assert struck_through([note, d.Line((5, -9), (5, 9), layer="S-JOIS")], 48, False)
    assert struck_through([note, d.Dimension((5, -9), (5, 9), (5, 0), 90)], 48, False)
    assert not struck_through([note, d.Line((5, -9), (5, 9), layer="A-FLOR-DECK")], 48, False)


@pytest.mark.parametrize("name", DEMOS)
def test_no_mark_or_count_of_a_schedule_is_broken(name):
    """On letter, where columns are narrow, a count of 106 stood as 10 over 6, and MARK as MAR over K."""
    seen = 0
    for sheet in drawn(name, "letter", False).sheets:
        for table in (i for i in sheet.items if isinstance(i, d.Table)):
            for width, *cells in zip(table.widths, table.head, *table.rows):
                for word in (w for c in (cells[0], *filter(str.isalnum, cells[1:])) for w in c.split()):
                    seen += 1
                    room = width - 1.5 * table.height
                    assert style.text_width(word, table.height) <= room + 1e-6, (sheet.number, table.title, word)
    assert seen > 100
