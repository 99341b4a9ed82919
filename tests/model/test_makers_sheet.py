"""The sheet of the boards' maker: read beside the file, held against the solids, and what is counted by it.

The sheets are invented. The figures of `COMMON` are common practice, no source: a border two screws a joist and at most
16 in apart; a fascia three screws 2 in from each end and at most 18 in apart; riser and tread two screws a stringer; a
pack of 360 clips does about 200 sq ft at 16 in.
"""

from __future__ import annotations

import math
from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from plumbcut.exports.cards.gap_card import gap_rows
from plumbcut.exports.drafting.wording import worded
from plumbcut.model import parameter_file
from plumbcut.model.deck import build
from plumbcut.model.design.advised import checked_with_mends
from plumbcut.model.design.gap_of_day import on_the_day
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.order.takeoff import take_off
from plumbcut.model.plan.layout import lay_out
from plumbcut.shared.errors import InputError
from plumbcut.shared.prices import Prices

GIVEN = "maker's sheet, given by the builder"
SHEET = {
    "board": {
        **{"material": "composite board", "width": 5.375, "thickness": 0.9375, "edges": ["groove", "square"]},
        **{"lengths": [150, 210], "max_span": 16, "max_span_45": 12, "overhang": 2, "edge_gap": 0.1875, "screws": 2},
        "end_gaps": [[35, 0.25], [65, 0.1875], [95, 0.0625]],
    },
    "clip": {"pack": 140, "covers_sq_ft": 55},
    "border": {"screws": 3, "apart": 14},
    "fascia": {"thickness": 0.6875, "heights": [9.25, 11.5], "lengths": [150], "screws": 2, "end": 1.5, "apart": 20},
    "steps": {"screws": 3},
}
COMMON = {
    "clip": {"pack": 360, "covers_sq_ft": 200},
    "border": {"screws": 2, "apart": 16},
    "fascia": {"screws": 3, "end": 2, "apart": 18},
    "steps": {"screws": 2},
}
ODD = {"points": [[30, 0], [150, 10], [190, 70], [180, 140], [0, 140], [0, 60]], "house": ["e4"]}
ELL = {"points": [[0, 0], [110, 0], [110, 60], [190, 60], [190, 140], [0, 140]], "house": ["e5"]}
DECKS = {
    "stair": ({"width": 207, "depth": 136}, SHEET, [{"edge": "front", "at": 62, "width": 44}]),
    "odd": (ODD, SHEET, []),
    "ell": (ELL, COMMON, [{"edge": "e1", "at": 40, "width": 38}]),
}
EVERY = pytest.mark.parametrize("name", DECKS)


def parameters(outline, sheet, stairs, **more) -> Parameters:
    gaps = {"temperature_f": 50}
    data = {"outline": outline, "levels": {"surface": 44}, "stair": stairs, "gaps": gaps, "maker": sheet, **more}
    p = Parameters.model_validate(data)
    return on_the_day(p, lay_out(p))[0]


@cache
def deck(name):
    return build(parameters(*DECKS[name]))


@cache
def rows(name):
    return measure_all(deck(name).parts)


@cache
def hardware(name):
    return {h.item: h for h in take_off(deck(name), rows(name), Prices()).hardware}


def of(name, *roles):
    return [m for m in rows(name) if m.role in roles]


def bears(name, role_a, roles_b):
    return [c for c in deck(name).contacts if c.kind == "bearing" and c.a.role == role_a and c.b.role in roles_b]


UNDER = (
    "joist",
    "ledger",
    "rim",
    "blocking",
    "border blocking",
    "post blocking",
    "beam",
    "stair header",
    "joint cleat",
)


@EVERY
def test_screws_of_the_fascia_by_hand(name):
    f = DECKS[name][1]["fascia"]
    rows_of = [1 + math.ceil(max(0.0, m.length - 2 * f["end"]) / f["apart"] - 1e-9) for m in of(name, "fascia")]
    # skirts, and the riser of a single step, stay with the data: 2 in from each end, 18 in apart, three a row
    skirts = [1 + math.ceil(max(0.0, m.length - 4) / 18 - 1e-9) for m in of(name, "skirt")]
    assert hardware(name)["fascia screw"].count == f["screws"] * sum(rows_of) + 3 * sum(skirts) > 0


@EVERY
def test_screws_of_treads_and_risers_by_hand(name):
    pairs = {
        tuple(sorted((c.id_a, c.id_b))) if hasattr(c, "id_a") else tuple(sorted((c.a.id, c.b.id)))
        for c in deck(name).contacts
        if {c.a.role, c.b.role} & {"tread", "riser"} and {c.a.role, c.b.role} & {"stringer"}
    }
    blocks = {
        (c.a.id, c.b.id)
        for c in deck(name).contacts
        if c.kind == "bearing" and (c.a.role, c.b.role) == ("tread", "tread blocking")
    }
    expected = DECKS[name][1]["steps"]["screws"] * (len(pairs) + len(blocks))
    assert (hardware(name)["tread screw"].count if "tread screw" in hardware(name) else 0) == expected
    assert expected > 0 or name == "odd"


@EVERY
def test_screws_of_border_and_boards_by_hand(name):
    """Across a joist so many in the border and in a board that no clips hold; along the two pieces that carry a border
    half as many each, no further apart than the sheet has it. Counted from the contacts, plies (no
    further than 2 in apart) as one; what lies within 20 degrees of a board runs along it."""
    sheet, total = DECKS[name][1], 0.0
    by_id = {m.id: m for m in rows(name)}
    clipped = {m for h in [hardware(name)["hidden clip"]] for s in h.sized for m in s.serves}
    across: dict[str, list[float]] = {}
    for c in deck(name).contacts:
        if c.kind != "bearing" or c.area < 0.5 or c.a.role not in ("board", "border") or c.b.role not in UNDER:
            continue
        a, b = by_id[c.a.id], by_id[c.b.id]
        if abs(float(a.axis @ b.axis)) < 0.94:
            across.setdefault(a.id, []).append(float(np.dot(a.axis, c.point)))
        elif a.role == "border":
            run = abs(float(np.subtract(c.high, c.low) @ np.abs(a.axis)))
            border = sheet["border"]
            total += border["screws"] / 2 * (math.ceil(run / border["apart"] - 1e-9) + 1)
    for i, at in across.items():
        m, places = by_id[i], 1
        for x, y in zip(sorted(at), sorted(at)[1:]):
            places += y - x > 2.0
        if m.role == "border":
            total += sheet["border"]["screws"] * places
        elif not held_by_clips(name, m):
            total += sheet.get("board", {}).get("screws", 2) * places
    assert clipped
    assert hardware(name)["deck screw"].count == pytest.approx(total, abs=1.01)


def held_by_clips(name, board) -> bool:
    """A board of the full width with another on both sides."""
    if board.sizes.rip is not None:
        return False
    own = board.part.footprint
    u = board.axis[:2]
    across = np.array([-u[1], u[0]])
    sides = set()
    for m in of(name, "board"):
        if m.id != board.id and m.part.stair is None and m.part.footprint.distance(own) < 0.5:
            off = float((m.part.vertices[:, :2].mean(axis=0) - board.part.vertices[:, :2].mean(axis=0)) @ across)
            lap = shapely.union_all([m.part.footprint, own]).envelope
            if abs(off) > 2 and not lap.is_empty:
                sides.add(off > 0)
    return len(sides) == 2


@EVERY
def test_packs_of_clips_by_count_and_by_the_surface_they_do(name):
    clip, item = DECKS[name][1]["clip"], hardware(name)["hidden clip"]
    held = {i for s in item.sized for i in s.serves}
    assert held
    boards = [m for m in of(name, "board") if m.part.stair is None and m.sizes.rip is None]
    most = sum(m.part.footprint.area for m in [*boards, *of(name, "board")]) / 144
    by_count = math.ceil(item.count / clip["pack"])
    spacing = deck(name).layout.joist_spacing
    at_most = max(by_count, math.ceil(most * max(1, 16 / spacing) / clip["covers_sq_ft"]))
    assert by_count <= item.packs <= at_most
    assert str(clip["pack"]) in worded(item.rule.pack_name)


def test_a_pack_that_does_less_surface_is_bought_more_often():
    outline, sheet, stairs = DECKS["stair"]
    packs = []
    for covers in (5000, 20):
        made = build(parameters(outline, {**sheet, "clip": {"pack": 140, "covers_sq_ft": covers}}, stairs))
        found = {h.item: h for h in take_off(made, measure_all(made.parts), Prices()).hardware}["hidden clip"]
        packs.append(found.packs)
        clipped = [m for m in measure_all(made.parts) if m.role == "board" and m.mark in marks(found)]
        area = sum(m.part.footprint.area for m in clipped) / 144
    assert packs[0] == math.ceil(found.count / 140) and abs(packs[1] - area / 20) <= 1.01 and packs[1] > packs[0]


def marks(item) -> set[str]:
    """The marks that an item serves, runs of them written out."""
    out = set()
    for s in item.sized:
        for m in s.serves:
            if " to " in m:
                a, b = m.split(" to ")
                letter = a.rstrip("0123456789")
                out |= {f"{letter}{n}" for n in range(int(a[len(letter) :]), int(b[len(letter) :]) + 1)}
            else:
                out.add(m)
    return out


@pytest.mark.parametrize("name", ["stair", "odd"])
def test_each_value_is_checked_on_the_solids(name):
    found = {r.rule: r for r in checked_with_mends(deck(name)) if r.source == GIVEN}
    assert set(found) >= {
        *("board width off the sheet", "board thickness off the sheet", "board length", "edge gap of the sheet"),
        *("end gap of the sheet", "board past its bearing, by the sheet", "fascia thickness off the sheet"),
        *("fascia height", "fascia length", "boards held by clips", "board span"),
    }
    assert all(r.result == "met" for r in found.values()), [(r.rule, r.measured) for r in found.values()]
    boards = of(name, "board", "border", "breaker")
    assert found["board length"].measured == pytest.approx(max(m.length for m in boards if m.part.stair is None))
    assert found["board length"].limit == 210
    # 50 degrees, half way between 35 with 1/4 in and 65 with 3/16 in
    assert found["end gap of the sheet"].limit == pytest.approx(0.21875)
    gap = found["end gap of the sheet"]
    assert gap.measured == pytest.approx(0.21875, abs=1e-6)
    a, b = ({m.id: m for m in rows(name)}[i].part.footprint for i in gap.ids)
    assert a.distance(b) == pytest.approx(gap.measured, abs=1e-6)
    # the surface's 1 in past a fascia of 11/16 in
    assert found["board past its bearing, by the sheet"].measured == pytest.approx(1.6875)


UNMET = {
    "end gap of the sheet": ({"surface": {"end_gap": 0.0625}}, "surface.end_gap = 0.25"),
    "edge gap of the sheet": ({"surface": {"edge_gap": 0.125}}, "surface.edge_gap = 0.1875"),
    "board past its bearing, by the sheet": ({"surface": {"overhang": 2}}, "surface.overhang = 1.3125"),
}


@pytest.mark.parametrize("rule", UNMET)
def test_what_the_file_gives_stands_and_the_check_says_so(rule):
    outline, sheet, stairs = DECKS["stair"]
    more, mend = UNMET[rule]
    row = next(r for r in checked_with_mends(build(parameters(outline, sheet, stairs, **more))) if r.rule == rule)
    assert row.result == "not met" and row.source == GIVEN and mend in worded(row.why), worded(row.why)


def test_boards_without_a_groove_are_not_clipped():
    outline, sheet, stairs = DECKS["stair"]
    square = {**sheet, "board": {**sheet["board"], "edges": ["square"]}}
    row = next(
        r for r in checked_with_mends(build(parameters(outline, square, stairs))) if r.rule == "boards held by clips"
    )
    assert row.result == "not met" and "surface.fastening" in worded(row.why)


def test_lengths_sold_and_widths_of_trim_follow_in_the_order():
    lines = {line.stock.name: line for line in take_off(deck("stair"), rows("stair"), Prices()).order.lines}
    boards = [
        line for line in take_off(deck("stair"), rows("stair"), Prices()).order.lines if "5.375" in line.stock.name
    ]
    assert boards and all(set(line.counts) <= {150, 210} for line in boards)
    assert "0.6875 x 9.25" in lines and set(lines["0.6875 x 9.25"].counts) <= {150}
    assert {m.width for m in of("stair", "fascia")} == {7.25} and all(m.sizes.rip for m in of("stair", "fascia"))
    assert set(lines["2x8"].counts) <= {96, 120, 144, 168, 192, 216, 240}  # the frame's lengths are the yard's


def test_all_trim_is_of_a_width_the_sheet_sells():
    """Fascia of deck and landing, risers and skirts, of widths invented: 7-1/2 and 11-1/2 in. A stair with a landing
    has them all; each is ripped from what is ordered, and the saw card says to what."""
    sheet = {"fascia": {"thickness": 0.75, "heights": [7.5, 11.5], "lengths": [150]}}
    stair = {"edge": "front", "at": 62, "width": 44, "landings": [{"after_risers": 3, "turn": "left"}]}
    given = {"outline": {"width": 207, "depth": 136}, "levels": {"surface": 54}, "stair": [stair], "maker": sheet}
    made = build(Parameters.model_validate({**given, "frame": {"joist": "2x10"}}))
    trim = [m for m in measure_all(made.parts) if m.role in ("fascia", "riser", "skirt")]
    assert {m.role for m in trim} == {"fascia", "riser", "skirt"}
    assert any(m.role == "fascia" and "landing" in m.part.where for m in trim)
    assert {m.stock.width for m in trim} <= {7.5, 11.5}
    for m in trim:
        assert m.width <= m.stock.width + 1e-6
        assert m.sizes.rip == (None if m.width > m.stock.width - 1e-6 else pytest.approx(m.width)), m.id


def test_a_skirt_wider_than_any_board_sold_is_said():
    sheet = {"fascia": {"thickness": 0.75, "heights": [7.5, 9.5], "lengths": [150]}}
    stair = {"edge": "front", "at": 62, "width": 44}
    given = {"outline": {"width": 207, "depth": 136}, "levels": {"surface": 54}, "stair": [stair], "maker": sheet}
    made = build(Parameters.model_validate(given))
    row = next(r for r in checked_with_mends(made) if r.rule == "skirt height")
    assert row.result == "not met" and "stair.0.skirts = false" in worded(row.why), worded(row.why)
    assert row.measured == pytest.approx(11.25)


# --- the file beside -------------------------------------------------------------------------------------------------

DECK = '[outline]\nwidth = 207\ndepth = 136\n[levels]\nsurface = 44\n[surface]\nmaker = "{name}"\n{more}\n'
TOML = '[board]\nwidth = "5 3/8 in"\nthickness = 0.9375\nlengths = [150, 210]\n[clip]\npack = 140\n'


def read(tmp_path, text=TOML, name="board.toml", more=""):
    (tmp_path / "board.toml").write_text(text)
    deck_file = tmp_path / "deck.toml"
    deck_file.write_text(DECK.format(name=name, more=more))
    return parameter_file.read(deck_file)


def test_a_sheet_beside_the_file_is_read(tmp_path):
    p = read(tmp_path)
    assert (p.surface.board_width, p.surface.board_thickness, p.surface.board_length) == (5.375, 0.9375, 210)
    assert p.maker.clip.pack == 140 and "board_width" not in p.surface.model_fields_set
    assert read(tmp_path, more="board_width = 5.375").surface.board_width == 5.375  # says the same
    assert read(tmp_path, more="board_length = 150").surface.board_length == 150  # one of the lengths


@pytest.mark.parametrize(
    "text, name, more, told",
    [
        (TOML, "../board.toml", "", "deck.toml:7: surface.maker: ../board.toml lies outside the folder"),
        (TOML, "/etc/passwd", "", "deck.toml:7: surface.maker: /etc/passwd lies outside"),
        (TOML, "other.toml", "", "deck.toml:7: surface.maker: no file other.toml"),
        (TOML, "x" * 300, "", "deck.toml:7: surface.maker: "),
        (
            TOML,
            "board.toml",
            "board_width = 5.5",
            "deck.toml:8: surface.board_width: is 5.5 here and 5.375 on the maker's",
        ),
        (TOML, "board.toml", "board_length = 192", "surface.board_length = 210 would do"),
        (TOML, "board.toml", "[maker.clip]\npack = 9", "deck.toml:7: surface.maker: names a sheet, and [maker] is one"),
        (TOML.replace("pack", "packs"), "board.toml", "", "board.toml:6: clip.packs: unknown key; did you mean pack?"),
        (TOML.replace("140", '"many"'), "board.toml", "", "board.toml:6: clip.pack: got"),
        (TOML.replace("0.9375", "9"), "board.toml", "", "board.toml:3: board.thickness: got 9; wanted at least"),
        ("[board\n", "board.toml", "", "board.toml:1: is not TOML"),
        ("[board]\nend_gaps = [[60, 0.1], [30, 0.2]]\n", "board.toml", "", "wants its temperatures rising"),
    ],
)
def test_a_sheet_that_cannot_be_used_is_refused_in_one_line(text, name, more, told, tmp_path):
    with pytest.raises(InputError) as refused:
        read(tmp_path, text, name, more)
    line = str(refused.value)
    assert told in line and "\n" not in line and line.startswith(str(tmp_path)), line


def test_the_gap_of_the_day_is_the_sheets():
    outline, sheet, stairs = DECKS["stair"]
    board = parameters(outline, sheet, stairs).maker.board
    by_hand = {20: 0.25, 35: 0.25, 50: 0.21875, 65: 0.1875, 80: 0.125, 95: 0.0625, 110: 0.0625}
    assert {day: board.end_gap(day) for day in by_hand} == pytest.approx(by_hand)
    assert parameters(outline, sheet, stairs).surface.end_gap == pytest.approx(0.21875)
    given = parameters(outline, sheet, stairs, surface={"end_gap": 0.3}).surface.end_gap
    assert given == 0.3  # the builder's own stands


def test_the_gap_card_sets_what_the_sheet_prints_on_any_day():
    """In proportion between two rows, by hand: at 50 degrees half way from 1/4 in at 35 to 3/16 in at 65."""
    found = SimpleNamespace(deck=deck("stair"), measured_rows=measure_all(deck("stair").parts))
    printed = {20.0: 0.25, 50.0: 0.21875, 80.0: 0.125, 100.0: 0.0625}
    for day, gap in printed.items():
        rows_ = gap_rows(found, day)
        assert rows_ and {round(g.gap, 6) for g in rows_} == {gap}, day
