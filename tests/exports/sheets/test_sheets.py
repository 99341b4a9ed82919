"""The sheets of every demo: the reviewers' checklist, figures against independent arithmetic, and sections against
OpenCASCADE.

The checklist is what building departments publish for their permit reviews (common practice, no source). Each row names
the sheet on which the item must be found.
"""

from __future__ import annotations

import itertools
import re
from functools import cache

import numpy as np
import pytest
from conftest import DEMOS, demo_checks, demo_deck, demo_measured
from kernel_section import occ_section_area
from shapely import unary_union
from shapely.geometry import Point, Polygon, box

from plumbcut.exports.drafting import annotate, draft, furniture, style, titleblock
from plumbcut.exports.drafting import drawing as d
from plumbcut.exports.drafting.dimensioning import dimension
from plumbcut.exports.drafting.layers import LAYERS
from plumbcut.exports.drafting.wording import worded
from plumbcut.exports.sheets import build_drawing
from plumbcut.exports.sheets.in_plan import reach
from plumbcut.exports.sheets.pens import length
from plumbcut.exports.sheets.sections import frame_planes
from plumbcut.exports.sheets.stage import Stage
from plumbcut.model.deck import build
from plumbcut.model.measuring.throat import throat
from plumbcut.model.parameter_file import read
from plumbcut.shared.units import feet_inches


@cache
def drawn(name: str, paper: str | None = None, metric: bool | None = None) -> d.DrawingSet:
    return build_drawing(demo_deck(name), demo_measured(name), demo_checks(name), paper=paper, metric=metric)


def stage_of(name: str) -> Stage:
    return Stage(demo_deck(name), demo_measured(name), (), "ARCH B", False, d.DrawingSet())


def sheets(name: str, start: str) -> list[d.Sheet]:
    return [s for s in drawn(name).sheets if s.number.startswith(start)]


def words(sheet: d.Sheet, drawing: d.DrawingSet) -> str:
    """Everything lettered on a sheet, title block and tables included, one item a line."""
    out = []
    for port in sheet.viewports:
        for item in port.view.items:
            out += [s.text for s in draft.strokes(item, port.view.scale, drawing.metric) if isinstance(s, d.Text)]
    for item in [*sheet.items, *furniture.titles(sheet, drawing.metric), *titleblock.filled(drawing, sheet)]:
        out += [s.text for s in draft.strokes(item, 1.0, drawing.metric) if isinstance(s, d.Text)]
    return "\n".join(" ".join(t.split("\n")) for t in out)


def dimensions(sheet: d.Sheet) -> list[float]:
    return [
        dimension(i, p.view.scale).value for p in sheet.viewports for i in p.view.items if isinstance(i, d.Dimension)
    ]


LENGTH = r"(?:\d+'-)?\d*(?: ?\d+/\d+)?\"?"
has = {
    "ledger": lambda k: any(p.role == "ledger" for p in k.parts),
    "stair": lambda k: any(p.role == "tread" for p in k.parts),
    "guard": lambda k: any(p.role == "top rail" and p.stair is None for p in k.parts),
    "cut stringer": lambda k: any(p.role == "stringer" and throat(p) for p in k.parts),
    "handrail": lambda k: any(p.role == "handrail" for p in k.parts),
    "border": lambda k: any(p.role == "border" for p in k.parts),
    "breaker": lambda k: any(p.role == "breaker" for p in k.parts),
    "riser": lambda k: any(p.role == "riser" for p in k.parts),
    "pad": lambda k: any(p.role == "pad" for p in k.parts),
    "frost": lambda k: k.parameters.local.frost_depth,
    "no lot": lambda k: not k.parameters.site.lot,
    "free": lambda k: not any(p.role == "ledger" for p in k.parts),
}

# sheet, item, what must be lettered there, only where the deck has it
CHECKLIST = [
    ("G-", "project", r"PROJECT", ""),
    ("G-", "code and edition", r"CODE EDITION\nIRC 20\d\d", ""),
    ("G-", "live load", r"LIVE LOAD\n\d+ PSF", ""),
    ("G-", "dead load", r"DEAD LOAD\n\d+ PSF", ""),
    ("G-", "snow load", r"GROUND SNOW LOAD\n", ""),
    ("G-", "wind", r"\nWIND\n", ""),
    ("G-", "frost depth", r"FROST DEPTH\n", ""),
    ("G-", "soil bearing", r"SOIL BEARING\n\d+ PSF", ""),
    ("G-", "species and grade", r"LUMBER\n.*NO\.[12]", ""),
    ("G-", "treatment", r"TREATMENT\n", ""),
    ("G-", "fastener coating", r"GALVANIZED", ""),
    ("G-", "surface board by its span rating", r"PUBLISHED SPAN", ""),
    ("G-", "index", r"DRAWING INDEX", ""),
    ("G-", "abbreviations", r"ABBREVIATIONS", ""),
    ("G-", "key plan", r"KEY PLAN", ""),
    ("G-", "call before digging", r"CALL BEFORE DIGGING", ""),
    ("G-", "field verify", r"VERIFY ALL DIMENSIONS", ""),
    ("C-", "lot not given is said", r"LOT LINES AND SETBACKS: NOT GIVEN", "no lot"),
    ("C-", "north", r"^N$", ""),
    ("C-", "scale", r"SCALE", ""),
    ("C-", "address", r"(?i)alder lane", ""),
    ("S-101", "footing size", rf"{LENGTH} (DIA|SQ)\.", ""),
    ("S-101", "footing depth", r"BELOW GRADE", ""),
    ("S-101", "frost", r"FROST DEPTH", ""),
    ("S-101", "from the origin, both ways, with levels", r"T\.O\.\nX\nY\nPOST\nPOST LONG", ""),
    ("S-101", "origin named", r"O IS THE LEFT", ""),
    ("S-101", "origin tied to the house or the lot", r"O (LIES|TO THE) ", ""),
    ("S-", "foot of stairs and pads by their corners", r"FOOT\n", "stair"),
    ("S-101", "post size", r"\d+x\d+ P", ""),
    ("S-101", "soil", r"SOIL BEARING \d+ PSF", ""),
    ("S-101", "footing marks", r"^F\d+-\d+$", ""),
    ("S-101", "landing pad", r"CONCRETE PAD", "pad"),
    ("S-102", "ledger size", r"\d+x\d+ LEDGER", "ledger"),
    (
        "S-102",
        "ledger fasteners with spacing and rows",
        r"LAG SCREWS WITH WASHERS @ \d+\" O\.C\. MAX\., STAGGERED IN 2 ROWS",
        "ledger",
    ),
    ("S-102", "joist size and spacing", r"\d+x\d+ JOISTS @ \d+\" O\.C\.", ""),
    ("S-102", "clear span", rf"CLEAR SPAN {LENGTH}", ""),
    ("S-102", "species and grade", r"NO\.[12]", ""),
    ("S-102", "beam plies and size", r"\(\d\) \d+x\d+ BEAM", ""),
    ("S-102", "rim", r"\d+x\d+ RIM", ""),
    ("S-102", "blocking", r"\d+x\d+ BLOCKING", ""),
    ("S-102", "hangers", r"JOIST HANGERS", "ledger"),
    ("S-102", "lateral load connections, two", r"(?s)^LLC$.*^LLC$", "ledger"),
    ("S-102", "beam cap", r"BEAM CAP", ""),
    ("S-102", "guard post blocking", r"GUARD POST BLOCKING", "guard"),
    ("S-102", "section mark", r"^S-301$", ""),
    ("S-102", "house", r"EXISTING HOUSE", ""),
    ("S-102", "bracing is not checked", r"BRACE POSTS", "free"),
    ("A-101", "board size and kind", r"SURFACE BOARDS", ""),
    ("A-101", "start of boards", rf"START OF BOARDS, [XY] -?{LENGTH}", ""),
    ("A-101", "direction", r"BOARDS RUN AT -?\d+ DEGREES", ""),
    ("A-101", "gaps", rf"GAP BETWEEN BOARDS {LENGTH}", ""),
    ("A-101", "border", r"BORDER", "border"),
    ("A-101", "breaker", r"BREAKER", "breaker"),
    ("A-101", "overhang", rf"OVERHANGS THE FRAME BY {LENGTH}", ""),
    ("A-101", "stairs: risers and direction", r"DN \d+R", "stair"),
    ("A-101", "guards", rf"GUARD {LENGTH} ABOVE SURFACE", "guard"),
    ("A-101", "stair section mark", r"^A-501$", "stair"),
    ("A-201", "surface level", r"T\.O\. SURFACE", ""),
    ("A-201", "guard height", rf"{LENGTH} GUARD", "guard"),
    ("A-201", "grade", r"GRADE", ""),
    ("A-201", "title", r"FRONT ELEVATION", ""),
    ("S-301", "surface", r"SURFACE BOARD", ""),
    ("S-301", "joists", r"\d+x\d+ JOISTS @", ""),
    ("S-301", "beam", r"\(\d\) \d+x\d+ BEAM", ""),
    ("S-301", "post", r"\d+x\d+ POST", ""),
    ("S-301", "footing", r"CONCRETE FOOTING", ""),
    ("S-301", "grade", r"GRADE AT FOOTING", ""),
    ("S-301", "frost line", r"FROST LINE", "frost"),
    ("S-301", "ledger", r"LEDGER", "ledger"),
    ("S-301", "house wall", r"EXISTING HOUSE WALL", ""),
    ("S-301", "underside of footing", r"B\.O\. FOOTING", ""),
    ("S-501", "flashing", r"FLASHING", "ledger"),
    ("S-501", "ledger fasteners", r"LAG SCREWS", "ledger"),
    ("S-501", "beam on post", r"BEAM CAP", ""),
    ("S-501", "post on footing", r"STAND-OFF POST BASE", ""),
    ("S-50", "guard post with its load", r"GUARD POST, TO RESIST 200 LB", "guard"),
    ("S-50", "stair at the rim", r"STAIR AT THE RIM", "stair"),
    ("S-50", "stair at the foot", r"LEVEL CUT", "stair"),
    ("S-50", "border corner", r"BORDER CORNER", "border"),
    ("S-50", "baluster spacing", rf"\d+ OPENINGS, GREATEST {LENGTH} CLEAR", "guard"),
    ("A-501", "total rise", rf"{LENGTH} TOTAL RISE", "stair"),
    ("A-501", "total run", rf"{LENGTH} TOTAL RUN", "stair"),
    ("A-501", "nosing", rf"{LENGTH} NOSING", "riser"),
    ("A-501", "riser openings", r"RISER, CLOSED|OPEN RISER", "stair"),
    ("A-501", "stringer size, number and spacing", r"\d+x\d+ STRINGERS, \d+ ALTOGETHER", "stair"),
    ("A-501", "throat", rf"{LENGTH} THROAT", "cut stringer"),
    ("A-501", "handrail height", rf"{LENGTH} HANDRAIL", "handrail"),
    ("A-501", "handrail returns", r"ENDS RETURNED", "handrail"),
    ("A-50", "landing", rf"{LENGTH} LANDING", "pad"),
    ("A-501", "headroom", r"HEADROOM", "stair"),
    ("C-101", "origin marked", r"^O$", ""),
    ("S-101", "origin marked", r"^O$", ""),
    ("S-102", "origin marked", r"^O$", ""),
    ("A-101", "origin marked", r"^O$", ""),
    ("S-60", "members", r"MEMBERS\nMARK", ""),
    ("S-", "beams by their ends", r"BEAM\nPLIES\nLONG\nFROM X\nFROM Y\nTO X\nTO Y\nJOINTS", ""),
    ("S-", "joists by their centres", r"CENTRES, SQUARE TO THE RUN FROM O\n", ""),
    ("S-60", "connectors", r"FASTENERS AND HARDWARE", ""),
    ("S-60", "checks", r"CHECKS: PUBLISHED RULES MET AND NOT MET", ""),
    ("S-60", "what was not checked, and why", r"CHECKS: NOT CHECKED\nRULE\nPIECE\nWHY", ""),
]


@pytest.mark.parametrize("sheet, item, pattern, only", CHECKLIST, ids=[f"{s}{i}" for s, i, _, _ in CHECKLIST])
@pytest.mark.parametrize("name", DEMOS)
def test_reviewers_item_stands_on_its_sheet(name, sheet, item, pattern, only):
    if only and not has[only](demo_deck(name)):
        pytest.skip(f"this deck has no {only}")
    found = [words(s, drawn(name)) for s in sheets(name, sheet)]
    assert found, f"no sheet {sheet}"
    assert any(re.search(pattern, text, re.M) for text in found), item


@pytest.mark.parametrize("name", DEMOS)
def test_every_sheet_carries_the_cautions_and_a_scale(name):
    for sheet in drawn(name).sheets:
        text = words(sheet, drawn(name))
        for caution in style.CAUTIONS:
            assert caution in text
        if sheet.viewports:
            assert re.search(r"\d.* = 1'-0\"|1\" = \d+'|AS NOTED", text)
        assert not re.search(r"(?i)\b(safe|approved)\b", text.replace("APPROVED BY", "")), (
            "a drawing must not say so of itself"
        )


@pytest.mark.parametrize("name", DEMOS)
def test_scales_are_standard_ones(name):
    assert all(v.scale in style.SCALES for v in drawn(name).views())
    assert all(v.scale in style.METRIC_SCALES for v in drawn(name, "A3", True).views())


@pytest.mark.parametrize("name", DEMOS)
def test_items_are_sound(name):
    """Known layers, no line without length, no polyline twice, marks of pieces that exist."""
    ids = {p.id for p in demo_deck(name).parts} | {p.mark for p in demo_deck(name).parts} | {""}
    for view in drawn(name).views():
        seen = set()
        for item in view.items:
            assert item.layer in LAYERS and item.mark in ids
            if isinstance(item, d.Line):
                assert np.hypot(item.a[0] - item.b[0], item.a[1] - item.b[1]) > 1e-6
                key = (item.layer, *sorted([tuple(np.round(item.a, 4)), tuple(np.round(item.b, 4))]))
                assert key not in seen or item.layer.startswith("A-ANNO"), (view.name, item)
                seen.add(key)


@pytest.mark.parametrize("name", DEMOS)
def test_overall_dimensions_are_the_outline(name):
    """The file's outline, read here from its own polygon, stands on the framing plan both ways."""
    x0, y0, x1, y1 = demo_deck(name).layout.outline.polygon.bounds
    values = dimensions(sheets(name, "S-102")[0])
    for size in (x1 - x0, y1 - y0):
        assert min(abs(v - size) for v in values) < 1e-6, feet_inches(size)


@pytest.mark.parametrize("name", DEMOS)
def test_clear_spans_and_cantilevers_are_dimensioned(name):
    """Between faces of bearing, worked out here from the boxes of ledger, beams and joists alone."""
    deck = demo_deck(name)
    values = dimensions(sheets(name, "S-102")[0])
    parts = [p for p in deck.parts if p.stair is None]
    for group in stage_of(name).groups:
        if len(group.joists) < 3:
            continue
        joist = group.typical
        band, axis = reach(joist, np.abs(group.axis[::-1])), int(np.argmax(np.abs(group.axis)))
        bearing = sorted(
            (float(p.box[0, axis]), float(p.box[1, axis]))
            for p in parts
            if p.role in ("beam", "ledger")
            and p.box[0, 1 - axis] < band[0]
            and p.box[1, 1 - axis] > band[1]
            and (p.role == "ledger" or abs(p.box[1, 2] - joist.box[0, 2]) < 0.3)
            and p.box[1, axis] > joist.box[0, axis] - 0.3
            and p.box[0, axis] < joist.box[1, axis] + 0.3
        )
        gaps = [b[0] - a[1] for a, b in itertools.pairwise(bearing) if b[0] - a[1] > 1]
        for gap in gaps:
            assert min(abs(v - gap) for v in values) < 1e-3, feet_inches(gap)


def beside(part, flight) -> bool:
    """Whether a piece lies between the sides of a flight and along its run."""
    along, across = (part.vertices[:, :2] @ v for v in (flight.out, flight.across))
    run = flight.top.front, flight.treads[-1].front
    return run[0] < along.max() <= run[1] + 1e-6 and across.max() <= flight.sides[1] + 1e-6


@pytest.mark.parametrize("name", DEMOS)
def test_stair_chain_sums_to_the_rise_between_levels(name):
    """Equal rises, as many as treads and one, from the surface down to the ground or landing: textbook arithmetic."""
    deck = demo_deck(name)
    stage = stage_of(name)
    for n, f in enumerate(stage.flights):
        treads = len(
            {
                round(float(p.box[1, 2]), 2)
                for p in deck.parts
                if p.role == "tread" and p.stair == f.stair and beside(p, f)
            }
        )
        assert len(f.rises) == treads + 1
        assert max(f.rises) - min(f.rises) < 1 / 16
        values = dimensions(sheets(name, f"A-{501 + n}")[0])
        for rise in f.rises:
            assert min(abs(v - rise) for v in values) < 1e-6
        assert min(abs(v - (f.levels[0] - f.levels[-1])) for v in values) < 1e-6
    tops = [f.levels[0] for f in stage.flights]
    if tops:
        assert max(tops) == pytest.approx(deck.planes.surface_top)


@pytest.mark.parametrize("name", DEMOS)
def test_footings_are_located_from_the_corner(name):
    """Every footing's centre both ways from the house corner, from the solids' boxes, in the table and on the
    strings."""
    deck, sheet = demo_deck(name), sheets(name, "S-101")[0]
    ends = [p for e in deck.layout.outline.edges if e.house for p in (e.start, e.end)] or [
        e.start for e in deck.layout.outline.edges
    ]
    hx, hy = min(ends, key=lambda p: (p[0], -p[1]))
    text = words(sheet, drawn(name))
    for part in (p for p in deck.parts if p.role == "footing"):
        x, y = part.box.mean(axis=0)[:2]
        assert f"{feet_inches(abs(x - hx))}\n{feet_inches(abs(y - hy))}" in text
        assert part.id in text


@pytest.mark.parametrize("name", DEMOS)
def test_cut_faces_on_the_section_sheet_are_the_solids_own(name):
    """Every hatched face against OpenCASCADE's cut of the same solid, to 0.1 percent."""

    deck, view = demo_deck(name), sheets(name, "S-301")[0].viewports[0].view
    plane = frame_planes(stage_of(name))[0]
    drawn_area: dict[str, float] = {}
    for item in view.items:
        if isinstance(item, d.Hatch) and item.mark:
            drawn_area[item.mark] = drawn_area.get(item.mark, 0.0) + Polygon(item.outline, item.holes).area
    by_id = {p.id: p for p in deck.parts}
    assert len(drawn_area) > 5
    for mark, area in drawn_area.items():
        assert area == pytest.approx(occ_section_area(by_id[mark], plane.view), rel=1e-3), mark


@pytest.mark.parametrize("name", DEMOS)
def test_frame_under_the_joists_is_dashed(name):
    """No beam, post or footing of the framing plan is drawn as if it were seen."""
    roles = {p.id: p.role for p in demo_deck(name).parts}
    view = sheets(name, "S-102")[0].viewports[0].view
    under = [
        i
        for i in view.items
        if roles.get(i.mark) in ("beam", "post", "footing") and isinstance(i, (d.Line, d.Polyline, d.Circle))
    ]
    lines = [i for i in under if not i.layer.endswith("-CNTR")]
    assert lines and all(LAYERS[i.layer].line_type == "HIDDEN" for i in lines)


@pytest.mark.parametrize("name", DEMOS)
def test_boards_are_drawn_at_their_true_size(name):
    """Line for line: the outline of every board less what stands over it and what the rings of section marks cover, a
    quarter of an inch on paper (shapely), to 0.004 in a board."""
    deck, view = demo_deck(name), sheets(name, "A-101")[0].viewports[0].view
    over = unary_union([p.footprint for p in deck.parts if p.box[1, 2] > deck.planes.surface_top + 0.01]).buffer(
        1e-4
    )  # a line along the edge of what stands over is that piece's
    marks = [i.at for i in view.items if isinstance(i, d.Symbol) and i.name.startswith("section ")]
    over = unary_union([over, *(Point(at).buffer(0.25 * view.scale, quad_segs=32) for at in marks)])
    seen: dict[str, float] = {}
    for item in view.items:
        if isinstance(item, (d.Line, d.Polyline)):
            seen[item.mark] = seen.get(item.mark, 0.0) + length([item])
    boards = [p for p in deck.parts if p.role == "board" and p.stair is None]
    assert len(boards) > 10
    for part in boards:
        assert seen[part.id] == pytest.approx(part.footprint.exterior.difference(over).length, abs=4e-3), part.id


@pytest.mark.parametrize("name", DEMOS[:1])
def test_the_same_deck_gives_the_same_drawing(name):
    again = build_drawing(demo_deck(name), demo_measured(name), demo_checks(name))
    assert [repr(v) for v in again.views()] == [repr(v) for v in drawn(name).views()]
    assert [repr(s.items) for s in again.sheets] == [repr(s.items) for s in drawn(name).sheets]


@pytest.mark.parametrize("paper", ["letter", "ANSI B", "A1"])
def test_other_papers_hold_the_set(paper):
    drawing = drawn(DEMOS[0], paper, paper == "A1")
    numbers = [s.number for s in drawing.sheets]
    assert len(numbers) == len(set(numbers)) and numbers[0] == "G-001"
    for sheet in drawing.sheets:
        room = box(*sheet.room).buffer(0.15)
        assert all(room.contains(box(*furniture.port_box(p, drawing.metric))) for p in sheet.viewports), sheet.number
    assert "FOOTING NOTES" in "".join(words(s, drawing) for s in drawing.sheets)


def test_the_hardware_schedule_counts_what_the_order_counts(demo):
    """One count: that of the contacts found in the solids (`model.fasteners`), on the sheet as in the order."""
    from plumbcut.exports.sheets.hardware import CONNECTIONS
    from plumbcut.model.order.takeoff import take_off

    drawing = build_drawing(demo_deck(demo), demo_measured(demo), demo_checks(demo))
    tables = [
        i for s in drawing.sheets for i in s.items if isinstance(i, d.Table) and "FASTENERS AND HARDWARE" in i.title
    ]
    shown = {row[0]: row for t in tables for row in t.rows if "TENSION" not in row[1]}
    ordered = {h.item: h.count for h in take_off(demo_deck(demo), demo_measured(demo)).hardware}
    # bought whole, by the roll or by volume: no connection; the tension device has a row of its own, with its load
    supplies = {"post cap", "post sleeve", "joist tape", "concrete bag", "ready-mix concrete", "form tube"}
    supplies |= {"gravel bag", "ledger flashing", "end-cut preservative", "touch-up", "tension device"}
    supplies |= {"form board", "form stake", "form nail"}  # of concrete, taken away again
    assert {i for i, _ in CONNECTIONS} >= set(ordered) - supplies
    for item, connection in CONNECTIONS:
        assert (item in ordered) == (connection in shown), item
        if item in ordered:
            assert float(shown[connection][2]) == ordered[item], item


ODD = {
    "house at the left": (
        '[outline]\npoints=[[0,0],["14 ft",0],["14 ft","18 ft"],[0,"18'
        ' ft"]]\nedges=["s","e","n","w"]\nhouse=["w"]\n[levels]\nsurface="50 in"\nslope_x="1 in'
        ' 20"\n[[stair]]\nedge="e"\nwidth="40 in"\n'
    ),
    "with a lot": (
        '[outline]\nwidth="16 ft"\ndepth="12 ft"\n[levels]\nsurface="3 ft"\n[site]\nlot=[["-20 ft","-40 ft"],["45'
        ' ft","-40 ft"],["45 ft","60 ft"],["-20 ft","60 ft"]]\nnorth=30\nsetbacks={left="8 ft"}\n'
    ),
    "a stair that turns back": (
        '[outline]\nwidth="20 ft"\ndepth="11 ft"\n[levels]\nsurface="9 ft"\n[[stair]]\nedge="front"\nat="4'
        ' ft"\n[[stair.landings]]\nafter_risers=8\nturn="back"\n'
    ),
    "no stair, no guard": (
        '[outline]\nwidth="10 ft"\ndepth="8 ft"\n[levels]\nsurface="30'
        ' in"\n[frame]\nbeam="2x8"\njoist="2x6"\n[guard]\nedges=[]\n'
    ),
}


@pytest.mark.parametrize("case", ODD)
def test_sheets_of_decks_that_are_no_demo(case, tmp_path):
    path = tmp_path / "deck.toml"
    path.write_text(ODD[case])
    drawing = build_drawing(build(read(path)))
    assert {"G-001", "C-101", "S-101", "S-102", "A-101", "S-301", "S-501", "S-601"} <= {
        s.number for s in drawing.sheets
    }
    for view in drawing.views():
        assert not [(a.text, b.text) for a, b in annotate.overlaps(view.items, view.scale)], view.name
    if case == "with a lot":
        values = dimensions(next(s for s in drawing.sheets if s.number == "C-101"))
        # lot line at -20 ft; the surface ends 1 in of overhang and 3/4 in of fascia outside the frame
        assert min(abs(v - (240 - 1.75)) for v in values) < 1e-6
    if case == "a stair that turns back":  # the file's own heights, over each flight's own nosings
        sections = [s for s in drawing.sheets if s.name.startswith("STAIR SECTION FLIGHT")]
        found = [
            (i.suffix, dimension(i, p.view.scale).value)
            for s in sections
            for p in s.viewports
            for i in p.view.items
            if isinstance(i, d.Dimension) and i.suffix in (" GUARD", " HANDRAIL")
        ]
        assert sorted(n for n, _ in found) == [" GUARD"] * 2 + [" HANDRAIL"] * 2
        assert [v for _, v in found] == pytest.approx([36.0] * 4)
    if case == "house at the left":
        named = {p.title for s in drawing.sheets if s.number.startswith("A-2") for p in s.viewports}
        assert named == {"Front elevation", "Right elevation", "Back elevation"}


def test_the_cover_says_how_many_cited_values_are_to_be_looked_up():
    """As many as checks.csv cites from memory, each once; what an own row of parts stands in brackets is one."""
    cited = set()
    for r in demo_checks("terrace"):
        parts = re.split(r"; (?![^(]*\))", worded(r.source))
        cited |= {p for p in parts if "(from memory)" in p and not re.match(r"C[A-Za-z]+ [0-9.]+: ", p)}
    cover = words(*sheets("terrace", "G-001"), drawn("terrace"))
    (told,) = re.findall(r"(\d+) VALUES CITED BY THE CHECKS ARE FROM MEMORY", cover)
    assert int(told) == len(cited) > 20


@pytest.mark.parametrize("name", DEMOS)
def test_boards_start_at_a_whole_run_where_the_plan_says(name):
    """The line's place from O, worked out here from the boards' boxes: they run along the sheet in every demo."""
    deck = demo_deck(name)
    boards = [p for p in deck.parts if p.role == "board" and p.stair is None]
    corners = [p for e in deck.layout.outline.edges if e.house for p in (e.start, e.end)]
    top = min(corners, key=lambda p: (round(p[0], 3), -p[1]))[1]
    low = min(float(p.box[0, 1]) for p in boards)
    first = [p for p in boards if abs(p.box[0, 1] - low) < 0.01]
    assert len({round(float(p.box[1, 1] - p.box[0, 1]), 2) for p in first}) == 1
    assert f"START OF BOARDS, Y {feet_inches(top - low)}" in words(sheets(name, "A-101")[0], drawn(name))
