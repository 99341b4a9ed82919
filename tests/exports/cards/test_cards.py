"""The site cards: their figures against the solids, their layout, their papers; templates read back by a second
reader."""

from __future__ import annotations

import itertools
import math
import re
from collections import Counter, defaultdict
from functools import cache

import numpy as np
import pdfplumber
import pytest
from conftest import DEMOS, demo_deck, demo_measured

from plumbcut.exports.cards import build_cards, saw_settings
from plumbcut.exports.cards.board_layout import border_cuts, runs
from plumbcut.exports.cards.corners import corners, diagonals
from plumbcut.exports.cards.days import cards_on, sheets_of
from plumbcut.exports.cards.frame_marks import carriers
from plumbcut.exports.cards.gap_card import gap_rows
from plumbcut.exports.cards.inspection_card import footing_depths, handrail_height
from plumbcut.exports.cards.running import spread
from plumbcut.exports.cards.set_out import set_out
from plumbcut.exports.cards.setting_out import support_rows
from plumbcut.exports.cards.templates import write_templates
from plumbcut.exports.drafting import style
from plumbcut.exports.drafting.annotate import overlaps
from plumbcut.exports.drafting.draft import items_box, text_quads
from plumbcut.exports.drafting.drawing import DrawingSet, Polyline, Table, Text
from plumbcut.exports.drafting.furniture import port_box
from plumbcut.exports.formats.pdf import write_pdf
from plumbcut.exports.sheets.stage import Stage
from plumbcut.model.measuring.bay_seen import see_bays
from plumbcut.model.order.order import make_order
from plumbcut.shared.units import feet_inches, inches


@cache
def order_of(name):
    return make_order(
        demo_measured(name), demo_deck(name).parameters.order, fastening=demo_deck(name).parameters.surface.fastening
    )


@cache
def cards(name, metric=False) -> DrawingSet:
    return build_cards(demo_deck(name), demo_measured(name), temperature_f=38.0, plan=order_of(name), metric=metric)


@cache
def stage_of(name) -> Stage:
    return Stage(demo_deck(name), demo_measured(name), (), "letter", False, DrawingSet())


def sheets(drawing, name):
    return sheets_of(drawing, name)


def texts(drawing, name) -> list[str]:
    """All lettering of the sheets of that name, views and tables too."""
    out = []
    for s in sheets(drawing, name):
        for items, scale in [(s.items, 1.0), *((p.view.items, p.view.scale) for p in s.viewports)]:
            out += [t.text for _, t in text_quads(items, scale, drawing.metric)]
    return out


# ---- layout
# -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("metric", [False, True], ids=["letter", "A4"])
def test_nothing_overlaps_and_all_lies_in_the_room(demo, metric):
    drawing = cards(demo, metric)
    for sheet in drawing.sheets:
        left, bottom, right, top = sheet.room
        boxes = [port_box(p, metric) for p in sheet.viewports] + [
            items_box([i], 1.0, metric) for i in sheet.items if isinstance(i, (Text, Table))
        ]
        for a, b, c, d in boxes:
            assert a >= left - 0.05 and b >= bottom - 0.06 and c <= right + 0.05 and d <= top + 0.05, (
                sheet.number,
                (a, b, c, d),
            )
        for i, p in enumerate(boxes):
            for q in boxes[i + 1 :]:
                apart = p[2] <= q[0] + 0.02 or q[2] <= p[0] + 0.02 or p[3] <= q[1] + 0.02 or q[3] <= p[1] + 0.02
                inside = isinstance(sheet.items, list) and "SAW CARD" in cards_on(sheet)  # marks stand in their bars
                assert apart or inside, (sheet.number, p, q)
        assert not overlaps(sheet.items, 1.0, metric), sheet.number
        for port in sheet.viewports:
            assert not overlaps(port.view.items, port.view.scale, metric), port.view.name


def test_letters_are_big(demo):
    small = [
        t
        for s in cards(demo).sheets
        for p in [*s.viewports]
        for _, t in text_quads(p.view.items, p.view.scale)
        if t.height < 1 / 8 - 1e-9 and t.text != "X"
    ]
    small = [t for t in small if not re.fullmatch(r"\d+", t.text)]  # run numbers stand in their boards
    assert not small
    for s in cards(demo).sheets:
        assert all(t.height >= 1 / 8 - 1e-9 for _, t in text_quads(s.items, 1.0))


def test_pdf_papers_cautions_and_figures(tmp_path):
    for metric, size in ((False, (792, 612)), (True, (297 / 25.4 * 72, 210 / 25.4 * 72))):
        drawing = cards("terrace", metric)
        write_pdf(drawing, tmp_path / "site.pdf")
        with pdfplumber.open(tmp_path / "site.pdf") as pdf:
            assert len(pdf.pages) == len(drawing.sheets)
            for page, sheet in zip(pdf.pages, drawing.sheets):
                assert (page.width, page.height) == pytest.approx(size, abs=0.01)
                text = re.sub(r"\s+", " ", page.extract_text())
                assert "NOT A SUBSTITUTE" in text and "CALL BEFORE DIGGING" in text and sheet.number in text
            if not metric:
                # rotated lettering comes back a character at a time: compare as a bag of characters
                page = pdf.pages[[s.name for s in drawing.sheets].index("FRAME MARKS")]
                ledger = next(c for c in carriers(stage_of("terrace")) if c.role == "ledger")
                seen = "".join(c["text"] for c in page.chars)
                for a, _, _ in ledger.joists:
                    assert feet_inches(a) in seen or feet_inches(a).replace(" ", "") in seen.replace(" ", "")


def test_same_bytes_twice(tmp_path):
    for n in (1, 2):
        write_pdf(build_cards(demo_deck("terrace"), demo_measured("terrace"), temperature_f=50), tmp_path / f"{n}.pdf")
    assert (tmp_path / "1.pdf").read_bytes() == (tmp_path / "2.pdf").read_bytes()


def test_without_an_order_there_is_no_saw_card():
    names = [s.name for s in build_cards(demo_deck("terrace"), demo_measured("terrace")).sheets]
    assert "SAW CARD" not in names and "GAP CARD" in names


@pytest.mark.parametrize("stations,pitch", [([0, 1, 1.1, 1.2, 9], 0.5), ([0, 0, 0], 1.0), ([3.0], 1.0)])
def test_spread_keeps_order_and_pitch(stations, pitch):
    out = spread(stations, pitch)
    assert all(b - a >= pitch - 1e-9 for a, b in itertools.pairwise(out))
    assert np.mean(out) == pytest.approx(np.mean(stations))  # least squares moves a crowd about its own middle


# ---- frame
# --------------------------------------------------------------------------------------------------------------


def test_joists_on_ledgers_and_rims_are_those_that_touch(demo):
    deck = demo_deck(demo)
    touching = {}
    for c in deck.contacts:
        a, b = c.a, c.b
        for carrier, joist in ((a, b), (b, a)):
            if carrier.role in ("ledger", "rim") and joist.role == "joist" and abs(c.normal[2]) < 0.5:
                touching.setdefault(carrier.id, set()).add(joist.id)
    found = {}
    for carrier in carriers(stage_of(demo)):
        if carrier.role != "beam":
            for ply in carrier.line.plies:
                found.setdefault(ply.id, set()).update(j.id for *_, j in carrier.joists)
    for ledger, joists in touching.items():
        crossing = {
            j for j in joists if abs(float(np.dot(deck.by_id[j].place.x[:2], deck.by_id[ledger].place.x[:2]))) < 0.99
        }
        assert crossing <= found.get(ledger, set()), ledger


def test_frame_marks_letter_the_solids_faces():
    deck, found = demo_deck("terrace"), carriers(stage_of("terrace"))
    ledger = next(c for c in found if c.role == "ledger")
    start = min(p.box[0, 0] for p in deck.parts if p.role == "ledger")
    faces = sorted(float(p.box[0, 0] - start) for p in deck.parts if p.role == "joist" and p.stair is None)
    assert [a for a, *_ in ledger.joists] == pytest.approx(faces)
    lettered = texts(cards("terrace"), "FRAME MARKS")
    assert all(feet_inches(f) in lettered for f in faces)
    long = ledger.length  # a rim at either end of it, on the ledger and on the rim in front
    for carrier in (ledger, next(c for c in found if c.role == "rim")):
        assert [r[:2] for r in carrier.rims] == [pytest.approx((0, 1.5)), pytest.approx((long - 1.5, long))]


def test_frame_marks_begin_where_the_joists_are_set_out_from():
    """The hillside's joists are set out from its right end: 16 in on centre, so that the face nearer to it of the n-th
    is 16 n - 3/4 in from there (2x joists are 1-1/2 in thick)."""
    lettered = texts(cards("hillside"), "FRAME MARKS")
    assert all(feet_inches(16 * n - 0.75) in lettered for n in range(1, 12))
    assert any("0 AT CORNER B" in t for t in lettered) and any("0 AT RIGHT END" in t for t in lettered)
    low = min(p.box[0, 0] for p in demo_deck("hillside").parts if p.role == "rim" and p.stair is None)
    first = min(p.box[0, 0] for p in demo_deck("hillside").parts if p.role == "joist" and p.stair is None)
    assert feet_inches(first - low) not in lettered


def test_diagonals_square_the_frame():
    # Pythagoras on the outline of the rectangle; both diagonals alike
    o = demo_deck("terrace").parameters.outline
    got = diagonals(stage_of("terrace"))
    assert len(got) == 2 and all(v == pytest.approx(math.hypot(o.width, o.depth), abs=1e-6) for *_, v in got)
    assert texts(cards("terrace"), "SQUARING").count(feet_inches(got[0][2])) == 2


def test_an_l_has_more_diagonals_and_each_corner_is_tied():
    got = diagonals(stage_of("wraparound"))
    names = set(corners(stage_of("wraparound")))
    assert len(got) > 2 and {n for a, b, _ in got for n in (a, b)} == names
    assert len(got) >= len(names) - 3  # as many as a polygon's triangulation needs to be rigid


def test_corners_are_the_solids_corners(demo):
    outline = demo_deck(demo).layout.outline.polygon
    for point in corners(stage_of(demo)).values():
        assert min(math.dist(point, q) for q in outline.exterior.coords) < 0.6


def test_supports_stand_where_the_solids_stand(demo):
    deck = demo_deck(demo)
    rows = support_rows(stage_of(demo))
    assert len(rows) == len([p for p in deck.parts if p.role == "footing"])
    lettered = texts(cards(demo), "POSTS AND FOOTINGS")
    back = max(float(e.start[1]) for e in deck.layout.outline.edges if e.house) + deck.parameters.frame.house_gap
    for _name, along, out, pieces in rows:
        box = pieces[-1].solid.BoundingBox()
        assert out == pytest.approx(back - (box.ymin + box.ymax) / 2, abs=1e-6)
        assert feet_inches(along) in lettered and feet_inches(out) in lettered


# ---- boards
# -------------------------------------------------------------------------------------------------------------


def test_runs_are_numbered_from_the_outer_edge_and_add_up(demo):
    found = runs(stage_of(demo))
    assert [r.number for r in found] == list(range(1, len(found) + 1))
    for a, b in itertools.pairwise(found):
        assert b.near == pytest.approx(a.near + a.width + b.gap)
        assert b.gap == pytest.approx(demo_deck(demo).parameters.surface.edge_gap, abs=1e-6)
    lettered = texts(cards(demo), "BOARD LAYOUT")
    assert all(feet_inches(r.near) in lettered for r in found)


def test_border_long_and_short_points_by_hand():
    # a square corner mitred at 45 degrees: long and short point differ by the board's width at each mitred end
    deck = demo_deck("terrace")
    width = deck.parameters.surface.board_width
    for cut in border_cuts(stage_of("terrace")):
        mitres = sum(1 for s in cut.settings if s.mitre)
        assert cut.long_point - cut.short_point == pytest.approx(mitres * width)
        lettered = texts(cards("terrace"), "BOARD LAYOUT")
        assert feet_inches(cut.long_point) in lettered and feet_inches(cut.short_point) in lettered


def test_fascia_mitre_is_shortest_at_its_back(demo):
    # common practice, no source: an outside fascia corner is measured at the short point on the back, against the rim
    for m in demo_measured(demo):
        if m.role == "fascia" and m.part.stair is None and abs(m.long_point - m.short_point) > 0.1:
            edge = demo_deck(demo).layout.outline[m.part.edge]
            back, front = [], []
            for v in m.part.vertices:
                along, inside = edge.position(v)
                (back if inside > -m.thickness / 2 else front).append(along)
            at = max(back) - min(back)
            assert min(at, max(front) - min(front)) == pytest.approx(m.short_point, abs=1e-6)


# ---- notches
# ------------------------------------------------------------------------------------------------------------


def test_every_notched_board_has_its_card(demo):
    notched = {m.mark for m in demo_measured(demo) if m.role in ("board", "border", "breaker", "tread") and m.notches}
    headings = " ".join(t for t in texts(cards(demo), "NOTCH CARDS"))
    assert all(re.search(rf"\b{mark}\b", headings) for mark in notched)


def test_notch_figures_take_out_the_missing_wood():
    # the area of the outline and of its rectangular notches is the area of the board without notches
    for m in demo_measured("terrace"):
        if m.role == "board" and m.notches:
            cut = sum(n.width * n.depth for n in m.notches)
            assert m.volume == pytest.approx(m.thickness * (m.length * m.width - cut))
            for n in m.notches:
                assert any(feet_inches(n.start) in t for t in texts(cards("terrace"), "NOTCH CARDS"))


# ---- stringers
# ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["terrace", "wraparound"])
def test_stringer_set_out_against_the_division_of_the_stair(name):
    deck = demo_deck(name)
    plan = deck.layout.stair_plans[0]
    flight = plan.flights[0]
    m = next(m for m in demo_measured(name) if m.role == "stringer")
    out = set_out(m)
    assert out.rises == pytest.approx([plan.total_rise / plan.risers] * (plan.risers - 2))
    assert out.runs[1:] == pytest.approx([flight.going] * (plan.risers - 2))
    assert out.drop == pytest.approx(flight.thickness)  # the tread's thickness comes off the foot
    assert out.slope == pytest.approx(math.degrees(math.atan2(out.rise, out.run)))
    # similar triangles: what a notch R by T leaves of a width W
    assert out.throat == pytest.approx(m.stock.width - out.rise * out.run / math.hypot(out.rise, out.run))
    # tips of the square follow one another by the hypotenuse
    tips = [u for u, _ in out.seats]
    assert np.diff(tips) == pytest.approx([math.hypot(out.rise, out.run)] * (len(tips) - 1))
    lettered = texts(cards(name), "STRINGERS")
    assert f"{inches(out.rise)} / {inches(out.run)}" in lettered
    assert all(feet_inches(u) in lettered for u in tips)


def test_set_out_outline_is_the_solid():
    import shapely

    for m in demo_measured("hillside"):
        if m.role in ("stringer", "skirt"):
            ring = shapely.Polygon(set_out(m).outline)
            assert ring.area * m.thickness == pytest.approx(m.volume)
            assert ring.exterior.is_ccw


# ---- guards
# -------------------------------------------------------------------------------------------------------------


def test_bays_add_up_and_end_spaces_are_equal(demo):
    found = stage_of(demo).seen.bays
    assert len(found) == sum(p.role == "top rail" for p in demo_deck(demo).parts)
    assert sum(len(b.balusters) for b in found) == sum(p.role == "baluster" for p in demo_deck(demo).parts)
    for b in found:
        assert sum(b.spaces) + len(b.balusters) * b.size == pytest.approx(b.clear)
        assert b.first == pytest.approx(b.last, abs=1e-6)
        if b.slope < 0.01:
            # common practice, no source: the end space of a level bay is at least 1-9/16 in, and equal at both ends
            assert b.first >= 1 + 9 / 16 and b.first == pytest.approx(b.last, abs=1e-6)
    lettered = texts(cards(demo), "GUARDS")
    assert all(feet_inches(b.clear) in lettered for b in found)


def test_bottom_rail_stands_about_where_the_trade_puts_it(demo):
    # common practice, no source: about 3-3/4 in up; the guards here stand at their own bottom_gap, within 3/8 in of it
    gap = demo_deck(demo).parameters.guard.bottom_gap
    level = [b for b in stage_of(demo).seen.bays if b.up is not None]
    assert level and all(b.up == pytest.approx(gap, abs=1e-6) for b in level)
    assert abs(gap - 3.75) <= 3 / 8


def test_sleeve_is_cut_40_in_for_a_36_in_level_guard():
    # common practice, no source
    deck = demo_deck("wraparound")
    assert deck.parameters.guard.height == 36
    sleeves = [m for m in demo_measured("wraparound") if m.role == "post sleeve" and m.part.stair is None]
    assert sleeves and all(m.length == pytest.approx(40) for m in sleeves)
    assert "3'-4\"" in texts(cards("wraparound"), "GUARDS")


def test_stair_foot_block_is_short():
    # common practice, no source: at most 4 in from tread to the stair's bottom rail at the foot block
    from plumbcut.model.deck import build
    from plumbcut.model.measuring.measure import measure_all

    p = demo_deck("terrace").parameters
    deck = build(p.model_copy(update={"levels": p.levels.model_copy(update={"surface": 44.0})}))
    rows = measure_all(deck.parts)
    sloped = [b for b in see_bays(rows) if b.slope > 0.01]
    blocks = [b for b in sloped if b.block_piece is not None]
    assert blocks
    for b in blocks:
        box = b.block_piece.part.solid.BoundingBox()
        assert box.zmax - box.zmin <= 4.0
        assert 0 < b.block[0] < b.block[1] < b.clear


# ---- saw, gap, inspection
# -----------------------------------------------------------------------------------------------


def piles_told(demo, lettered) -> dict[str, str]:
    """By mark the one that its pile has at the saw, as the card tells it: of one stock, cut to one length and width, as
    many as there are pieces of these marks."""
    known = defaultdict(list)
    for m in demo_measured(demo):
        known[m.mark].append(m)
    found = {}
    for first, number, parts in re.findall(r"(\w+), (\d+): (\d+ [A-Z]+\d+(?:\s\+\s\d+\s[A-Z]+\d+)+)", lettered):
        marks = dict(reversed(part.split()) for part in re.split(r"\s\+\s", parts))
        assert first in marks and sum(map(int, marks.values())) == int(number)
        assert all(len(known[m]) == int(n) for m, n in marks.items())
        cut = {(p.stock, round(p.length, 3), round(p.width, 3)) for m in marks for p in known[m]}
        assert len(cut) == 1, (first, cut)
        found |= dict.fromkeys(marks, first)
    assert found
    return found


def test_saw_card_cuts_every_bar_of_the_order(demo):
    drawing = cards(demo)
    drawn = [i for s in sheets(drawing, "SAW CARD") for i in s.items if isinstance(i, Polyline) and i.mark]
    lettered = "\n".join(texts(drawing, "SAW CARD"))
    counts = sum(int(x) for x in re.findall(r"^(\d+) x \d+'-\d", lettered, re.M))
    bars = [b for line in order_of(demo).lines for b in line.bars]
    pile = piles_told(demo, lettered)
    assert {i.mark for i in drawn} == {
        x if b.whole else "/".join(pile.get(m, m) for m in x.split("/")) for b in bars for x in b.marks
    }
    assert counts == len(bars)
    # the pieces drawn are to one scale within a stock: widths in the ratio of their lengths
    long = {m.mark: max(m.length, m.long_point) for m in demo_measured(demo)}
    for s in sheets(drawing, "SAW CARD"):
        rows = {}
        for i in s.items:
            if isinstance(i, Polyline) and i.mark:
                rows.setdefault(i.points[0][1], []).append((i.points[1][0] - i.points[0][0]) / long[i.mark])
        for factors in rows.values():
            assert max(factors) == pytest.approx(min(factors), rel=1e-4)


def numbered(run):
    letter, low, high = run
    return [f"{letter}{n}" for n in range(int(low), int(high or low) + 1)]


def test_every_piece_of_the_saw_card_has_its_settings(demo):
    """Own reading of the solids: a piece is square where its four long edges are as long as it is."""
    at = {c[0]: k for k, c in enumerate(saw_settings.SETTINGS_HEAD)}
    tables = [i for s in sheets(cards(demo), "SAW CARD") for i in s.items if isinstance(i, Table)]
    rows = [r for t in tables for r in t.rows]
    told = {m: r for r in rows for m in r[at["MARK"]].split("\n")}
    plain = [m for m in demo_measured(demo) if m.mark not in told]
    bars = {m for line in order_of(demo).lines for b in line.bars for mark in b.marks for m in mark.split("/")}
    assert set(told) <= bars and sum(len(r[0].split("\n")) for r in rows) == len(told)
    for m in plain:
        if m.mark in bars:
            assert np.ptp([*m.sizes.edges, m.length]) < 1e-6
    lettered = texts(cards(demo), "SAW CARD")
    notched = " ".join(t for t in lettered if t.startswith("SQUARE AT BOTH ENDS, THEN NOTCHED"))
    listed = {x for run in re.findall(r"([A-Z]+)(\d+)(?: TO [A-Z]+(\d+))?", notched) for x in numbered(run)}
    assert {m.mark for m in plain if m.mark in bars and m.notches} == listed
    by_mark = {m.mark: m for m in demo_measured(demo)}
    quantity = Counter(m.mark for m in demo_measured(demo))
    for row in rows:
        marks, m = row[at["MARK"]].split("\n"), by_mark[row[at["MARK"]].split("\n")[0]]
        assert row[at["NO."]].split("\n") == [str(quantity[x]) for x in marks]
        assert len({round(by_mark[x].length, 3) for x in marks}) == 1
        long = m.length if m.long_point < m.length - 1 / 32 else m.long_point
        assert row[at["LONG POINT"]].startswith(stage_of(demo).text(long))


def test_an_angle_past_a_saws_swing_is_told_by_its_slope(demo):
    """A level cut of a flight leans 90 degrees less its pitch from square: so many inches along to 12 across as the
    going to the rise (similar triangles)."""
    lettered = "\n".join(texts(cards(demo), "SAW CARD"))
    marks = {m.mark for m in demo_measured(demo) if m.role in ("stringer", "skirt")}
    told = r"(?m)^([A-Z0-9, ]+): ([\d.]+)° IS PAST A SAW'S SWING OF 50°.+?SET ([\d.]+)°; OR MARK IT, (\S+)"
    found = re.findall(told, lettered)
    assert {m.strip() for f in found for m in f[0].split(", ")} == marks
    flights = stage_of(demo).flights
    for _, angle, rest, _ in found:
        assert float(angle) + float(rest) == 90
        pitches = [math.degrees(math.atan2(f.rises[0], f.goings[0])) for f in flights if f.goings]
        assert any(abs(90 - p - float(angle)) < 0.3 for p in pitches)


def test_gap_card_letters_what_the_arithmetic_gives(demo):
    lettered = texts(cards(demo), "GAP CARD")
    for g in gap_rows(stage_of(demo), 38.0):
        assert any(f"({g.gap:.3f})" in t for t in lettered)
        assert g.least == pytest.approx(g.length * g.material.thermal_per_degF * (g.summer_f - 38.0))
    assert any("DOUBTFUL" in t for t in lettered) == any(g.material.doubtful for g in gap_rows(stage_of(demo), 38.0))


def test_inspection_values_are_measured(demo):
    deck, stage = demo_deck(demo), stage_of(demo)
    p = deck.parameters
    assert min(footing_depths(stage)) >= p.footing_depth - 24  # grade may fall across the deck
    lettered = texts(cards(demo), "INSPECTION CARD")
    for f in stage.flights:
        assert any(feet_inches(f.rises[0]) in t for t in lettered)
        height = handrail_height(stage, f)
        if height is not None:
            assert height == pytest.approx(p.guard.handrail_height, abs=1e-6)
    for table in (i for s in sheets(cards(demo), "INSPECTION CARD") for i in s.items if isinstance(i, Table)):
        assert all(row[2] == row[3] == "" for row in table.rows)  # as built, initials and date: for the pen


# ---- templates
# ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", DEMOS)
def test_templates_read_back_true(name, tmp_path):
    import pyogrio
    import shapely

    deck = demo_deck(name)
    paths = write_templates(deck, tmp_path / "templates", demo_measured(name))
    by_mark = {}
    for m in demo_measured(name):
        by_mark.setdefault(m.mark, m)
    wanted = {m.mark.lower() for m in demo_measured(name) if m.role in ("stringer", "riser", "tread", "skirt")}
    assert {p.name.split("-")[0] for p in paths} == wanted
    for path in paths:
        m = by_mark[path.name.split("-")[0].upper()]
        meta, _, geometry, fields = pyogrio.raw.read(path)
        layers = list(fields[list(meta["fields"]).index("Layer")])
        kinds = [shapely.from_wkb(g) for g in geometry]
        cut = [g for g, layer in zip(kinds, layers) if layer == "CUT"]
        rings = [shapely.Polygon(g.coords) if g.geom_type == "LineString" else g for g in cut]
        assert all(g.geom_type == "Polygon" or g.is_closed for g in cut)
        assert sum(r.area for r in rings[:1]) - sum(r.area for r in rings[1:]) == pytest.approx(
            m.volume / m.thickness, rel=1e-6
        )
        assert rings[0].bounds[2] - rings[0].bounds[0] == pytest.approx(m.length, abs=0.001)
        words = [t for t, layer in zip(fields[list(meta["fields"]).index("Text")], layers) if layer == "MARK" and t]
        assert any(t.startswith(m.mark + " ") for t in words)


def test_template_dimensions_are_long_and_short_points(tmp_path):
    import ezdxf

    deck = demo_deck("wraparound")
    paths = write_templates(deck, tmp_path, demo_measured("wraparound"))
    by_mark = {m.mark: m for m in demo_measured("wraparound")}
    seen = 0
    for path in paths:
        doc = ezdxf.readfile(path)
        assert not doc.audit().errors
        dims = [e for e in doc.modelspace() if e.dxftype() == "DIMENSION"]
        m = by_mark[path.name.split("-")[0].upper()]
        assert dims
        for dim in dims:
            if "LONG" in dim.dxf.text and not m.notches:
                assert dim.get_measurement() == pytest.approx(m.long_point, abs=1e-6)
                seen += 1
            elif "SHORT" in dim.dxf.text and not m.notches:
                assert dim.get_measurement() == pytest.approx(m.short_point, abs=1e-6)
            elif not dim.dxf.text.strip("<>"):
                assert dim.get_measurement() == pytest.approx(m.length, abs=1e-6)
    assert seen


def test_dxf_of_the_cards_is_sound(tmp_path):
    import ezdxf

    from plumbcut.exports.formats.dxf import write_dxf

    write_dxf(cards("terrace"), tmp_path / "site.dxf")
    doc = ezdxf.readfile(tmp_path / "site.dxf")
    assert not doc.audit().errors
    assert len(doc.layouts) == len(cards("terrace").sheets) + 1
    # a figure's height is its own: the throat's is larger than a note's
    heights = {
        round(float(doc.dimstyles.get(e.dxf.dimstyle).dxf.dimtxt), 4) for e in doc.modelspace().query("DIMENSION")
    }
    assert max(heights) == pytest.approx(1 / 8) and max(heights) > style.NOTE


def test_a_run_too_long_for_its_sheet_is_marked_all_the_same():
    """A ledger of 80 ft with joists at 12 in: more letters than one row takes at the scale that fits the card."""
    from plumbcut.model.deck import build
    from plumbcut.model.input.parameters import Parameters

    deck = build(
        Parameters.model_validate(
            {
                "outline": {"width": "80'", "depth": "12'"},
                "levels": {"surface": "30 in"},
                "frame": {"joist_spacing": "12 in"},
            }
        )
    )
    drawing = build_cards(deck)
    strips = [p.view for s in sheets(drawing, "FRAME MARKS") for p in s.viewports]
    for view in strips:
        assert not [(a.text, b.text) for a, b in overlaps(view.items, view.scale)], view.name
    letters = sum(t.text == "X" for v in strips for _, t in text_quads(v.items, v.scale))
    assert letters == sum(len(c.joists) for c in carriers(Stage(deck, None, (), "letter", False, DrawingSet()))) > 150


def test_a_notch_out_of_an_end_is_set_out_across_the_board():
    """1-3/8 in into the right end of a 5-1/2 in board, from 1/2 in to 4 in across: cut as drawn here, read off the card
    and the cut list."""
    from plumbcut.exports.cards.notch_cards import notch_words
    from plumbcut.exports.formats.rows import notch_text
    from plumbcut.model.measuring.measure import measure_all
    from plumbcut.model.order.cuts import cut_list
    from plumbcut.model.solid.part import Workshop
    from plumbcut.shared.stock import Stock

    ring = [(0, 0), (100, 0), (100, 0.5), (98.625, 0.5), (98.625, 4), (100, 4), (100, 5.5), (0, 5.5)]
    part = Workshop().upright("board", Stock("5/4x6", 1.0, 5.5, "composite board"), ring, 0, 1)
    (cut,) = cut_list(measure_all([part]))
    (notch,) = cut.notches
    assert notch_text(cut) == '1 3/8" into end B, 1/2" to 4" from the near edge'
    assert notch_words(stage_of("terrace"), notch) == (
        'OUT OF THE RIGHT END: 1 3/8" ALONG THE BOARD, FROM 8\'-2 5/8" TO 8\'-4", AND 1/2" TO 4" FROM THE NEAR EDGE'
    )
