"""Stair cards against an own reading of the solids: every tread, riser, skirt and stringer of every flight is on a card
that names its flight, with how many and how long; every landing's frame with its stations, posts and their lengths.
Decks and sizes are invented."""

from __future__ import annotations

import re
from collections import Counter
from functools import cache

import numpy as np
import pytest
import shapely

from plumbcut.exports.cards import build_cards
from plumbcut.exports.cards.days import cards_on, sheets_of
from plumbcut.exports.drafting.annotate import overlaps
from plumbcut.exports.drafting.draft import strokes, text_quad
from plumbcut.exports.drafting.drawing import Dimension, DrawingSet, Leader, Polyline, Table, Text
from plumbcut.exports.drafting.furniture import port_box
from plumbcut.exports.sheets import build_drawing
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.shared.units import feet_inches, inches

STAIRS = {
    "straight": ({"width": 150, "depth": 130, "house": ["back"]}, 40, {"edge": "front", "width": 44}),
    "back": (
        {"width": 180, "depth": 156, "house": ["back"]},
        118,
        {"edge": "front", "at": 30, "landings": [{"after_risers": 8, "depth": 44, "turn": "back", "side": "left"}]},
    ),
    "askew": (
        {
            "points": [[0, 0], [150, 0], [230, 80], [230, 170], [0, 170]],
            "edges": ["front", "bevel", "right", "back", "left"],
            "house": ["back"],
        },
        78,
        {"edge": "bevel", "width": 44, "landings": [{"after_risers": 5, "depth": 48}]},
    ),
}


@cache
def made(name: str):
    outline, surface, stair = STAIRS[name]
    return build(
        Parameters.model_validate(
            {"outline": outline, "levels": {"surface": surface}, "frame": {"joist": "2x10"}, "stair": [stair]}
        )
    )


@cache
def cards(name: str) -> DrawingSet:
    return build_cards(made(name), measure_all(made(name).parts))


def tables(name: str) -> dict[str, list[list[str]]]:
    """Rows by the heading over them, parts of a divided table joined."""
    found: dict[str, list[list[str]]] = {}
    for sheet in cards(name).sheets:
        if not {"STAIRS", "TREADS AND SKIRTS"} & set(cards_on(sheet)):
            continue
        heads = sorted((i for i in sheet.items if type(i) is Text and i.height > 0.18), key=lambda t: -t.at[1])
        for table in (i for i in sheet.items if type(i) is Table):
            title = [h.text for h in heads if h.at[1] > table.at[1] - 1e-6][-1].removesuffix(" (CONTINUED)")
            found.setdefault(title, []).extend(table.rows)
    return found


def of_flight(name: str, start: str) -> list[list[str]]:
    """The rows of all tables whose heading begins so: what carries a flight, and its treads, risers and skirts."""
    return [row for title, rows in tables(name).items() if title.startswith(start) for row in rows]


@pytest.mark.parametrize("name", STAIRS)
def test_every_piece_of_a_flight_is_on_a_card_that_names_it(name):
    """Counted by the names of places that the parts themselves carry; lengths off their own vertices."""
    flights = {w[0] for p in made(name).parts if (w := re.match(r"stair 1( flight \d+)?(?= (tread|riser))", p.where))}
    assert flights
    for flight in sorted(flights):
        rows = of_flight(name, f"{flight.upper()}, ")
        told = Counter({row[1]: int(row[2]) for row in rows})
        mine = [
            p
            for p in made(name).parts
            if p.role in ("stringer", "tread", "riser", "skirt", "tread blocking")
            and re.match(rf"{flight}( (?!flight|landing)|$)", p.where)
        ]
        assert Counter(p.mark for p in mine) == Counter({m: n for m, n in told.items() if m in {p.mark for p in mine}})
        for p in mine:
            if p.role in ("tread", "riser"):
                row = next(r for r in rows if r[1] == p.mark)
                long = float(np.ptp(p.vertices @ np.array([*made(name).layout.stair_plans[0].flights[0].across, 0.0])))
                if len(flights) == 1 or abs(long - p.stock.width) > 12:
                    assert row[4].startswith(feet_inches(long)), (p.id, row)


def test_a_piece_ripped_from_its_stock_says_to_what():
    """Risers stand lower than the board they are cut from: their height off their own vertices."""
    rows = of_flight("straight", "STAIR 1, ")
    ripped = {row[1]: row[3] for row in rows if row[0] == "RISER"}
    risers = [p for p in made("straight").parts if p.role == "riser"]
    assert risers
    for p in risers:
        high = float(np.ptp(p.box[:, 2]))
        assert ("RIP" in ripped[p.mark]) == (high < p.stock.width - 1 / 32)
        assert "RIP" not in ripped[p.mark] or ripped[p.mark].endswith(f"RIP {inches(high)}")


def test_numbers_of_steps_that_follow_each_other_are_one():
    """Risers 1 to 8 of a flight of eight, but for those of another mark, add up to all of them."""
    rows = of_flight("back", "STAIR 1 FLIGHT 1, 8 RISERS")
    numbers = []
    for row in rows:
        if row[0] == "RISER":
            for run in row[5].removeprefix("RISER ").split(", "):
                low, _, high = run.partition(" TO ")
                numbers += range(int(low), int(high or low) + 1)
    assert sorted(numbers) == list(range(1, 9))


@pytest.mark.parametrize("name", ["back", "askew"])
def test_every_landing_has_its_frame_on_a_card(name):
    parts = [p for p in made(name).parts if p.where == "stair 1 landing 1"]
    frame = [p for p in parts if p.role in ("post", "joist", "rim", "stair header")]
    rows = tables(name)["STAIR 1 LANDING 1: WHAT TO CUT"]
    assert {r[1]: int(r[2]) for r in rows} == dict(Counter(p.mark for p in frame))
    posts = {r[0]: r[1] for r in tables(name)["STAIR 1 LANDING 1: POSTS"]}
    assert posts == {p.id: feet_inches(float(np.ptp(p.box[:, 2]))) for p in parts if p.role == "post"}
    sheet = next(s for s in cards(name).sheets if any(v.view.name == "stair 1 landing 1" for v in s.viewports))
    (port,) = sheet.viewports
    named = {i.text.split()[0] for i in port.view.items if type(i) is Leader}
    assert named == {p.mark for p in frame if p.role != "post"} | {p.id for p in parts if p.role == "post"}
    x0, y0, x1, y1 = port_box(port)
    low_x, low_y, high_x, high_y = sheet.room
    assert low_x <= x0 and low_y <= y0 and x1 <= high_x and y1 <= high_y
    assert not overlaps(port.view.items, port.view.scale)


TWINS = {
    "outline": {"width": 230, "depth": 130, "house": ["back"]},
    "levels": {"surface": 20},
    "stair": [{"edge": "front", "width": 40, "at": 14}, {"edge": "front", "width": 30, "at": 180}, {"edge": "left"}],
}


@cache
def twins():
    deck = build(Parameters.model_validate(TWINS))
    return deck, build_cards(deck, measure_all(deck.parts))


def test_the_card_of_a_stringer_names_every_stair_that_has_it():
    """With how many of its mark stand in each, counted off the parts."""
    deck, drawing = twins()
    heads = [i.text for s in sheets_of(drawing, "STRINGERS") for i in s.items if type(i) is Text]
    of = Counter((p.mark, p.stair) for p in deck.roles("stringer"))
    assert len(of) > len({mark for mark, _ in of})  # a mark is shared
    for (mark, stair), number in of.items():
        (head,) = (h for h in heads if h.startswith(f"{mark}  x "))
        assert f"STAIR {stair + 1} x {number}" in head


def test_no_edge_of_a_stringer_runs_through_the_words_of_its_throat():
    """Of a stringer with two seats, whose level cut begins near its throat."""
    _, drawing = twins()
    for view in (v for v in drawing.views() if v.name.startswith("stringer")):
        (outline,) = (i for i in view.items if type(i) is Polyline and i.layer == "A-SECT-MCUT")
        (throat,) = (i for i in view.items if type(i) is Dimension and i.prefix == "THROAT ")
        words = next(s for s in strokes(throat, view.scale) if type(s) is Text)
        assert not shapely.LinearRing(outline.points).intersects(shapely.Polygon(text_quad(words, view.scale)))


def test_a_stringer_is_told_from_tip_to_tip(monkeypatch):
    """Cut plumb and level its tips lie between the edges of the stock: of a flight of two risers no edge is left. The
    farthest corners along the pitch, read off the solid, are what it is cut to, on its card and in the schedule."""
    landings = [{"after_risers": 5, "turn": "left"}, {"after_risers": 7, "turn": "left"}]
    short = ({"width": 207, "depth": 161, "house": ["back"]}, 98, {"edge": "front", "at": 82, "landings": landings})
    monkeypatch.setitem(STAIRS, "two risers", short)
    deck = made("two risers")
    schedules = [i for s in build_drawing(deck, measure_all(deck.parts)).sheets for i in s.items if type(i) is Table]
    members = {row[0]: row for t in schedules if "LONG POINT" in t.head for row in t.rows}
    seen = 0
    for n in (1, 2, 3):
        rows = [r for title, found in tables("two risers").items() if f"FLIGHT {n}," in title for r in found]
        for part in (p for p in deck.parts if p.role in ("stringer", "skirt") and f"flight {n}" in p.where):
            corners = np.asarray(part.shape.outline)
            own = float(np.ptp(corners[:, 0]))  # local x runs along the pitch
            (row,) = (r for r in rows if r[1] == part.mark)
            assert row[4].split(" TIP TO TIP")[0].split(" (")[0] == feet_inches(own)
            assert members[part.mark][4] == feet_inches(own)
            seen += 1
    assert seen > 15


def test_a_cut_stringer_of_one_tread_is_set_out_as_any_cut_one(monkeypatch):
    """Two risers of a stair of 14 equal ones in 98 in: its square is 7 in to 10-1/2 in, and as it stands on a landing's
    frame, whose boards are as thick as a tread, nothing is cut off its lowest rise."""
    landings = [{"after_risers": 5, "turn": "left"}, {"after_risers": 7, "turn": "left"}]
    short = ({"width": 207, "depth": 161, "house": ["back"]}, 98, {"edge": "front", "at": 82, "landings": landings})
    monkeypatch.setitem(STAIRS, "one tread", short)
    deck = made("one tread")
    (mark,) = {p.mark for p in deck.roles("stringer") if "flight 2" in p.where}
    rows: dict[str, str] = {}
    shown = ""
    for sheet in cards("one tread").sheets:  # a stringer's table of measures follows its picture, on the next card
        for text in (i.text for i in sheet.items if type(i) is Text and "   STRINGER " in i.text):
            shown = text.split()[0]
        for table in (i for i in sheet.items if type(i) is Table and shown == mark):
            rows |= {row[0]: row[1] for row in table.rows if len(row) == 2}
    assert rows["SQUARE: RISE / RUN"] == '7" / 10 1/2"' and rows["LOWEST RISE"] == '7"'
    assert "GAUGE LINE FROM UPPER EDGE" not in rows
