"""The cards of the first days: index and order of work, heights, string lines, fasteners of the ledger. Every figure is
read again off the solids."""

from __future__ import annotations

import itertools
import math
import re

import numpy as np
import pytest
from conftest import demo_deck, demo_measured
from test_cards import cards, sheets, stage_of, texts

from plumbcut.exports.cards import build_cards, work_card
from plumbcut.exports.cards.frame_marks import carriers
from plumbcut.exports.cards.heights_card import frame_line, heights, post_lengths
from plumbcut.exports.cards.ledger_card import ledger_places
from plumbcut.exports.cards.setting_out import beam_name, support_rows
from plumbcut.exports.cards.stair_cards import flight_rows
from plumbcut.exports.cards.string_lines import footing_diagonals, string_rows
from plumbcut.exports.drafting.drawing import DrawingSet, Table
from plumbcut.exports.sheets.hardware import ledger_fasteners
from plumbcut.exports.sheets.stage import Stage
from plumbcut.model.deck import build
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import take_off
from plumbcut.shared.units import feet_inches


def tables(demo: str, name: str) -> list[Table]:
    return [i for s in sheets(cards(demo), name) for i in s.items if isinstance(i, Table)]


def test_the_index_names_every_card(demo):
    drawing = cards(demo)
    assert drawing.sheets[0].name == "ORDER OF WORK" and drawing.sheets[0].number == "Z-001"
    rows = [r for t in tables(demo, "ORDER OF WORK") if t.head[0] == "CARD" for r in t.rows]
    after = [s for s in drawing.sheets if s.name != "ORDER OF WORK"]
    assert [r[0] for r in rows] == list(dict.fromkeys(card for s in after for card in s.name.split(", ")))
    for name, span, what in rows:
        told = []
        for run in span.split(", "):
            low, _, high = run.partition(" TO ")
            told += [f"Z-{n}" for n in range(int(low[2:]), int((high or low)[2:]) + 1)]
        assert told == [s.number for s in after if name in s.name.split(", ")] and what


def test_inspections_are_stops_and_only_what_is_there_is_done(demo):
    steps = work_card.steps(stage_of(demo))
    assert [said for kind, said, _ in steps if kind == work_card.STOP][-1] == "FINAL INSPECTION"
    assert sum(kind == work_card.STOP for kind, *_ in steps) == 3
    ledger = any(m.role == "ledger" for m in demo_measured(demo))
    assert any("LEDGER BORED" in said for _, said, _ in steps) == ledger
    assert any("STRINGERS" in said for _, said, _ in steps) == bool(demo_deck(demo).parameters.stair)
    lettered = texts(cards(demo), "ORDER OF WORK")
    assert all(any(said in t for t in lettered) for _, said, _ in steps)


def test_heights_hang_on_one_line(demo):
    """Level and distance down of each row make up the line's level; lengths of posts are those of the solids."""
    stage = stage_of(demo)
    line = frame_line(stage)
    tops = {m.part.id: float(m.part.box[1, 2]) for m in demo_measured(demo)}
    rows = [r for t in tables(demo, "HEIGHTS") if t.head[0] == "WHAT" for r in t.rows]
    told = {i: r for r in rows if r[0] == "FOOTINGS, TOP" for i in r[1].split(", ")}
    assert set(told) == {m.id for m in demo_measured(demo) if m.role == "footing"}
    for i, row in told.items():
        assert row[3] == stage.text(line - tops[i])
    lengths = {i: b - a for ids, a, b in post_lengths(stage) for i in ids.split(", ")}
    posts = [m for m in demo_measured(demo) if m.role == "post"]
    assert set(lengths) == {m.id for m in posts}
    for m in posts:
        assert lengths[m.id] == pytest.approx(np.ptp(m.part.box[:, 2]), abs=1 / 32)


def test_strings_and_diagonals_find_the_footings(demo):
    """Own arithmetic on the footings' boxes: their distances along a string, and across."""
    at = {m.id: m.part.box[:, :2].mean(axis=0) for m in demo_measured(demo) if m.role == "footing"}
    stage = stage_of(demo)
    rows = [r for t in tables(demo, "STRING LINES") if t.head[0] == "OVER" for r in t.rows]
    assert rows
    for *_, told in rows:
        found = re.findall(r"(\S+) (\d+'-[\d /]+\")", told)
        assert len(found) >= 2 and found[0][1].startswith("3'-0")
        for (i, text), (j, other) in itertools.pairwise(found):
            assert _inches(other) - _inches(text) == pytest.approx(math.dist(at[i], at[j]), abs=1 / 8)
    for a, b, value in footing_diagonals(stage):
        assert value == pytest.approx(math.dist(at[a], at[b]))


def _inches(text: str) -> float:
    feet, _, rest = text.rstrip('"').rpartition("'-")
    whole, _, part = rest.partition(" ")
    up, _, down = part.partition("/")
    return 12 * float(feet or 0) + float(whole) + (float(up) / float(down) if down else 0.0)


@pytest.mark.parametrize("joist_spacing", [12, 16, 24])
def test_the_order_has_a_fastener_for_every_hole(joist_spacing: int):
    p = Parameters.model_validate(
        {
            "outline": {"width": 198, "depth": 140},
            "levels": {"surface": 30},
            "frame": {"joist_spacing": joist_spacing, "joist": "2x10"},
            "surface": {"material": "treated lumber"},
        }
    )
    deck = build(p)
    rows = measure_all(deck.parts)
    stage = Stage(deck, rows, (), "letter", False, DrawingSet())
    taken = take_off(deck, rows)
    (item,) = [h for h in taken.hardware if h.item == "ledger fastener"]
    spacing = ledger_fasteners(stage).spacing
    holes = [s for c in carriers(stage) if c.role == "ledger" for s in ledger_places(stage, c, spacing)]
    assert len(holes) == item.count
    joists = [m.part.box[:, 0] for m in rows if m.role == "joist" and m.part.box[1, 1] > 130]
    low = min(float(m.part.box[0, 0]) for m in rows if m.role == "ledger")
    assert all(not a < low + s < b for s in holes for a, b in joists)


def test_holes_on_the_card_are_those_of_the_order(demo):
    """A ledger in two lengths is held on either side of its joint: as many holes as the order has fasteners."""
    stage = stage_of(demo)
    runs = [c for c in carriers(stage) if c.role == "ledger"]
    bought = [h.count for h in take_off(stage.deck, demo_measured(demo)).hardware if h.item == "ledger fastener"]
    spacing = ledger_fasteners(stage).spacing
    holes = [s for c in runs for s in ledger_places(stage, c, spacing)]
    assert len(holes) == sum(bought) and bool(runs) == bool(bought)
    told = [r for t in tables(demo, "LEDGER FASTENERS") if t.head[0] == "NO." for r in t.rows]
    assert sorted(r[2] for r in told) == sorted(stage.text(s) for s in holes)


def test_headers_are_placed_from_the_plans_own_point(demo):
    """Distance between a header's two told ends, and its top, against its box."""
    rows = [r for t in tables(demo, "STAIRS") if t.head[0] == "HEADER" for r in t.rows]
    boxes = {m.id: m.part.box for m in demo_measured(demo) if m.role == "stair header"}
    assert [r[0] for r in rows] == list(boxes)
    for name, _, _, *places in rows:
        x0, y0, x1, y1 = (-_inches(t[1:]) if t.startswith("-") else _inches(t) for t in places)
        assert math.hypot(x1 - x0, y1 - y0) == pytest.approx(np.ptp(boxes[name][:, :2], axis=0).max(), abs=1 / 8)


def free_standing(**more) -> Stage:
    points = [[0, 0], [172, 0], [172, 110], [90, 110], [90, 150], [0, 150]]
    outline = {"points": points, "edges": ["south", "east", "step", "inner", "north", "west"], "house": []}
    deck = build(Parameters.model_validate({"outline": outline, "levels": {"surface": 16}, **more}))
    return Stage(deck, measure_all(deck.parts), (), "letter", False, DrawingSet())


@pytest.mark.parametrize("stairs", [[], [{"edge": "south", "width": 48}]])
def test_a_deck_by_itself_has_one_origin_for_strings_footings_and_inspection(stairs):
    """O is the corner furthest left and up; along and out are X and Y from it, read again off the solids. No card says
    a house."""
    stage = free_standing(stair=stairs)
    corner = (0.0, 150.0)
    for _, along, out, pieces in support_rows(stage):
        x, y = pieces[-1].box[:, :2].mean(axis=0)
        assert (along, out) == pytest.approx((x - corner[0], corner[1] - y), abs=1e-6)
    outs = {feet_inches(out) for _, _, out, _ in support_rows(stage)}
    for _, start, end, _ in string_rows(stage):
        assert start.split(", ")[1] == end.split(", ")[1]
        assert start.split(", ")[1] in outs
    drawing = build_cards(stage.deck, stage.measured_rows)
    for name in ("STRING LINES", "POSTS AND FOOTINGS", "INSPECTION CARD", "BLOCKING"):
        told = texts(drawing, name)
        assert not [t for t in told if "HOUSE" in t], (name, [t for t in told if "HOUSE" in t])
    assert any(t.startswith("CENTRES. OUT: SQUARE FROM O") for t in texts(drawing, "POSTS AND FOOTINGS"))


def test_two_beams_of_one_mark_are_told_apart():
    """A free-standing deck with two beams alike: each by its pieces."""
    deck = build(
        Parameters.model_validate({"outline": {"width": 150, "depth": 110, "house": []}, "levels": {"surface": 30}})
    )
    stage = Stage(deck, measure_all(deck.parts), (), "letter", False, DrawingSet())
    names = [beam_name(stage, line) for line in stage.beams]
    assert len(names) >= 2 and len(set(names)) == len(names), names
    assert [r[0] for r in string_rows(stage)] == names


def test_heights_have_the_rims_of_landings():
    stair = {"edge": "front", "at": 62, "width": 44, "landings": [{"after_risers": 3, "turn": "left"}]}
    given = {"outline": {"width": 207, "depth": 136}, "levels": {"surface": 54}, "stair": [stair]}
    deck = build(Parameters.model_validate(given))
    stage = Stage(deck, measure_all(deck.parts), (), "letter", False, DrawingSet())
    rims = [p for p in deck.parts if p.role == "rim" and p.stair is not None]
    told = {(what, round(level, 3)) for what, _, level in heights(stage)}
    assert rims and {("LANDING RIMS, TOP", round(float(p.box[1, 2]), 3)) for p in rims} <= told
    assert {("LANDING RIMS, UNDERSIDE", round(float(p.box[0, 2]), 3)) for p in rims} <= told


def test_stringers_are_placed_along_their_header(demo):
    """Off the solids: near faces rise from the header's left end by what lies between them."""
    stage = stage_of(demo)
    lettered = " ".join(texts(cards(demo), "STAIRS"))
    for stair in stage.seen.stairs:
        for f in stage.seen.flights(stair):
            if not f.stringers:
                continue
            boxes = [m.part.vertices[:, :2] @ np.array([f.out[1], -f.out[0]]) for m in f.stringers]
            own = [float(s.min()) for s in boxes]
            heads = [m for m in flight_rows(stage, f) if m.role == "stair header"]
            edge = [m.part.vertices[:, :2] @ np.array([f.out[1], -f.out[0]]) for m in heads]
            left = min((float(s.min()) for s in edge), default=min(own))
            assert ", ".join(feet_inches(s - left) for s in sorted(own)) in lettered
