"""Cards of hardware, of treads and skirts, and cards that share a sheet: counts against the order's own table, rows of
screws against the printed distances, skirts against their solids, and no sheet left half empty that need not be."""

from __future__ import annotations

import itertools
import math
import re
import tomllib

import numpy as np
import pytest
from conftest import PARAMS, demo_deck, demo_measured
from test_cards import cards, sheets, stage_of, texts

from plumbcut.exports.cards import days
from plumbcut.exports.cards.hardware_card import HARDWARE_CARDS, connections, longest_served, stations
from plumbcut.exports.cards.treads_card import skirts
from plumbcut.exports.drafting import style
from plumbcut.exports.drafting.draft import items_box
from plumbcut.exports.drafting.drawing import Circle, Table, Text
from plumbcut.exports.drafting.furniture import port_box
from plumbcut.exports.drafting.tabling import whole_words
from plumbcut.exports.formats.rows import order_table
from plumbcut.model.order.hardware_rules import nailings, rules
from plumbcut.model.order.takeoff import hardware_of, take_off
from plumbcut.model.order.tally import marks_in
from plumbcut.shared.units import parse_length


def rows_of(demo, card):
    found = [i for s in sheets(cards(demo), card) for i in s.items if isinstance(i, Table)]
    return [r for t in found if t.head[0] == "CONNECTION" for r in t.rows]


def test_each_connection_of_the_order_is_on_its_card(demo):
    """Off order.csv as it is written: item, how many are needed, the marks; supplies (concrete, tape ...) are none."""
    header, table = order_table(take_off(demo_deck(demo), demo_measured(demo)))
    bought = [dict(zip(header, r)) for r in table]
    nails = {n.item for n in nailings()}
    joins = {item for item, _ in connections()}
    for card, delivery in HARDWARE_CARDS.items():
        wanted = sorted(
            (r["item"].upper(), re.match(r"[\d.]+", r["for"])[0], r["serves"].replace(" to ", " TO "))
            for r in bought
            if r["kind"] == "hardware" and r["delivery"] == delivery and r["item"] in joins
        )
        told = [
            (next(i.upper() for i in sorted(joins, key=len, reverse=True) if r[1].startswith(i.upper())), r[2], r[4])
            for r in rows_of(demo, card)
        ]
        assert sorted(told) == wanted
    left_out = {r["item"] for r in bought if r["kind"] == "hardware"} - joins - nails
    assert left_out <= {
        "joist tape", "ledger flashing", "end-cut preservative", "form tube", "form board", "form stake", "form nail",
        "gravel bag", "ready-mix concrete", "concrete bag", "touch-up", "post sleeve",
    }  # fmt: skip


def test_a_connector_tells_its_nails(demo):
    """As many a connector as the data has, split into carrier and piece held, for 2x10 joists and 6x6 posts."""
    told = {r[1].split(" 2x10")[0].split(" 6x6")[0]: r[3] for r in rows_of(demo, "FRAME HARDWARE")}
    assert re.search(r"20 \(12 \+ 8\) HEAVY CONNECTOR NAILS", told["BEAM CAP"])
    assert re.search(r"1 POST-BASE ANCHOR .*8 HEAVY CONNECTOR NAILS", told["POST BASE"])
    assert "16 (10 + 6) CONNECTOR NAILS" in told["JOIST HANGER"]


def test_rows_of_screws_keep_the_printed_distances(demo):
    """First and last row as far from the ends as the data says, none further apart than it says, as many as counted."""
    stage = stage_of(demo)
    for h in hardware_of(stage.deck, stage.measured_rows):
        rule = rules()[h.item]
        if rule.rows is None or rule.end is None:
            continue
        longest = longest_served(stage.measured_rows, h)
        marks = {m for s in h.sized for m in marks_in(s.serves)}
        assert longest.length == max(m.length for m in stage.measured_rows if m.mark in marks)
        end, apart, each = rule.end, rule.rows, rule.each
        [sheet] = re.findall(r'(?m)^maker = "(.+)"', (PARAMS / f"{demo}.toml").read_text()) or [""]
        if sheet and longest.role == "fascia":
            own = tomllib.loads((PARAMS / sheet).read_text())["fascia"]
            end, apart, each = parse_length(str(own["end"])), parse_length(str(own["apart"])), own["screws"]
        at = stations(end, apart, longest.length)
        assert at[0] == pytest.approx(end) and at[-1] == pytest.approx(longest.length - end)
        assert np.diff(at).max() <= apart + 1e-9
        assert len(at) == math.ceil((longest.length - 2 * end) / apart) + 1
        ports = [p.view for s in cards(demo).sheets for p in s.viewports]
        view = next(v for v in ports if v.name == f"rows {longest.mark.lower()}")
        dots = [c.centre[0] for c in view.items if isinstance(c, Circle)]
        assert len(dots) == len(at) * each and sorted(set(np.round(dots, 6))) == pytest.approx(at)


def test_each_skirt_is_drawn_as_it_lies(demo):
    """Length and width of every drawn skirt off its own solid; every skirt that slopes is named."""
    stage = stage_of(demo)
    sloped = {m.mark: m for m in demo_measured(demo) if m.role == "skirt" and abs(m.axis[2]) > 0.05}
    assert {m.mark for heap in skirts(stage) for m in heap} == set(sloped)
    named = " ".join(texts(cards(demo), "TREADS AND SKIRTS"))
    assert all(re.search(rf"\b{mark} x \d", named) for mark in sloped)
    for heap in skirts(stage):
        assert stage.text(sloped[heap[0].mark].length) in named
        assert len({(round(m.length, 1), m.stock) for m in heap}) == 1


def test_treads_risers_and_skirts_stand_on_a_card_of_their_own(demo):
    roles = {"STAIRS": set(), "TREADS AND SKIRTS": set()}
    for card, found in roles.items():
        for table in (i for s in sheets(cards(demo), card) for i in s.items if isinstance(i, Table)):
            if table.head[:2] == ["PIECE", "MARK"]:
                found |= {r[0] for r in table.rows}
    assert {"TREAD", "RISER", "SKIRT"} <= roles["TREADS AND SKIRTS"]
    if not any({"STAIRS", "TREADS AND SKIRTS"} <= set(days.cards_on(s)) for s in cards(demo).sheets):
        assert not roles["STAIRS"] & {"TREAD", "RISER", "SKIRT"}


def reach(sheet):
    boxes = [items_box(sheet.items, 1.0)] + [port_box(p) for p in sheet.viewports]
    return min(b[1] for b in boxes), max(b[3] for b in boxes)


def test_no_card_is_left_half_empty_that_fits_before_or_after_another_of_its_day(demo):
    drawing = cards(demo)
    work = [s for s in drawing.sheets if s.number[:3] in ("Z-1", "Z-2", "Z-3", "Z-4", "Z-5")]
    for a, b in itertools.pairwise(work):
        if a.number[:3] == b.number[:3]:
            low, _ = reach(a)
            deep = np.ptp(reach(b))
            assert low - 0.2 - deep < a.room[1], f"{b.number} fits under {a.number}"
    for s in work:
        assert reach(s)[0] > s.room[1] - 0.1 and reach(s)[1] < s.room[3] + 0.1
    numbers = [s.number for s in drawing.sheets]
    assert len(set(numbers)) == len(numbers) and numbers == sorted(numbers)


def test_cards_stand_in_the_order_of_the_days(demo):
    place = {name: k for k, name in enumerate(n for *_, names in days.DAYS for n in names)}
    first = {}
    for k, s in enumerate(s for s in cards(demo).sheets if s.name != "ORDER OF WORK"):
        for card in days.cards_on(s):
            first.setdefault(card, k)
    order = sorted(first, key=lambda c: place[c])
    hundreds = [next(h for h, _, names in days.DAYS if c in names) for c in order]
    starts = [min(first[c] for c in order if h == next(x for x, _, n in days.DAYS if c in n)) for h in hundreds]
    assert starts == sorted(starts)


def test_boards_have_a_face(demo):
    """What shows has a back of another look, or a groove: it lies face up however square its ends are."""
    role = {m.mark: m.role for m in demo_measured(demo)}
    shows = {"board", "border", "breaker", "fascia", "tread", "riser", "skirt"}
    told = [t for t in texts(cards(demo), "SAW CARD") if t.startswith("SQUARE AT BOTH ENDS, ")]
    up = [t for t in told if "THE FACE THAT SHOWS UP" in t]
    either = [t.split(": ")[1].rstrip(".") for t in told if "EITHER FACE UP" in t]
    assert up and either
    marks = {m for t in either if t != "ALL" for m in marks_in([s.replace(" TO ", " to ") for s in t.split(", ")])}
    assert marks and not {role[m] for m in marks} & shows


def test_no_word_of_a_table_is_broken(demo):
    """Head or cell: every line of a cell has whole words alone."""
    for sheet in cards(demo).sheets:
        for table in (i for i in sheet.items if isinstance(i, Table)):
            for row in [table.head, *table.rows]:
                for cell, wide in zip(row, table.widths):
                    words = set(cell.split())
                    for line in style.lines(cell, table.height, wide - 1.5 * table.height):
                        assert set(line.split()) <= words, (sheet.number, cell, line)


def test_a_narrow_column_gets_what_its_words_need():
    """A share of a fifteenth of 5 in is 1/3 in, where MARK in letters of 1/8 in takes more: by its lettered width."""
    wide = whole_words(["MARK", "WHERE"], [["KB28", "UNDER THE BORDER"]], [1, 14], 5.0, 1 / 8)
    assert sum(wide) == pytest.approx(5.0)
    assert wide[0] >= style.text_width("MARK", 1 / 8) + 1.5 / 8 > 5 / 15
    assert style.lines("MARK", 1 / 8, wide[0] - 1.5 / 8) == ("MARK",)
    even = whole_words(["A", "B"], [["1", "2"]], [1, 2], 6.0, 1 / 8)
    assert even == pytest.approx([2.0, 4.0])


def test_there_are_no_more_cards_than_before_they_grew(demo):
    """What half-empty cards cost was won back: common practice, no source for how many a crew will leaf through."""
    assert len(cards(demo).sheets) <= {"terrace": 51, "hillside": 72, "wraparound": 81}[demo]


def test_short_notched_boards_stand_two_abreast():
    """The wraparound's four short treads with notches: on no more rows than two each."""
    drawing = cards("wraparound")
    ports = [
        (s.number, round(p.centre[1], 3), p.view.name)
        for s in sheets(drawing, "NOTCH CARDS")
        for p in s.viewports
        if p.view.name.startswith("notch t")
    ]
    assert len(ports) >= 4 and len({s for s, _, _ in ports}) <= math.ceil(len(ports) / 2)


def test_a_table_goes_on_where_it_left_off(demo):
    """On the sheet after the one that it stands on, not behind another card."""
    drawn = [[t.text for t in s.items if type(t) is Text] for s in cards(demo).sheets]
    seen = 0
    for before, here in itertools.pairwise(drawn):
        for title in (t.removesuffix(" (CONTINUED)") for t in here if t.endswith(" (CONTINUED)")):
            assert any(t.removesuffix(" (CONTINUED)") == title for t in before), title
            seen += 1
    assert seen
