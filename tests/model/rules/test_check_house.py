"""The house as found decides: ledger or not, height of the surface, depth of footings, places kept clear; and what the
file asks for against it is drawn and said."""

from __future__ import annotations

from functools import cache

import pytest

from plumbcut.exports.drafting.wording import worded
from plumbcut.exports.report import design_lines
from plumbcut.model.deck import Deck, build
from plumbcut.model.design.advised import names_a_key
from plumbcut.model.design.designed import designed
from plumbcut.model.design.house_mends import house_mends
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.plan.would_do import with_value
from plumbcut.model.rules.check_house import (
    BAND_UNDER_LEDGER,
    BELOW_SILL,
    BESIDE_HOUSE,
    DOOR_SWUNG_OVER,
    KEPT_CLEAR,
    LOWER_IN_BAND,
    OFF_WALL,
    ON_A_BAY,
    PRACTICE,
    STEP_AT_DOOR,
    UPPER_IN_BAND,
    WALL_UNDER_LEDGER,
    WAY_OUT,
    check_house,
)
from plumbcut.model.rules.check_result import Checking

WIDE, DEEP = 214.0, 146.0
BAY = {"kind": "bay", "edge": "back", "at": 60, "width": 72, "bottom": 30, "top": 130}
EGRESS = {"kind": "egress window", "name": "bedroom window", "edge": "back", "at": 60, "width": 40}


def deck_at(surface: float | None = 50, frame: dict | None = None, **house) -> Deck:
    """A deck 214 in along the house and 146 in deep; at the back the house."""
    data = {"outline": {"width": WIDE, "depth": DEEP}, "frame": frame or {}, "house": house}
    if surface is not None:
        data["levels"] = {"surface": surface}
    return build(Parameters.model_validate(data))


def checked(deck: Deck) -> dict[str, list]:
    c = Checking(deck, measure_all(deck.parts))
    check_house(c)
    rows: dict[str, list] = {}
    for r in c.results:
        rows.setdefault(r.rule, []).append(r)
    return rows


def only(deck: Deck, rule: str):
    [row] = checked(deck)[rule]
    return row


@pytest.mark.parametrize(
    "house, carried",
    [
        ({}, "ledger"),
        ({"wall": "siding", "band_joist": "solid"}, "ledger"),
        ({"band_joist": "rim board"}, "ledger"),
        ({"wall": "veneer"}, "free-standing"),
        ({"wall": "masonry"}, "free-standing"),
        ({"band_joist": "i-joist"}, "free-standing"),
        ({"band_joist": "truss"}, "free-standing"),
        ({"band_joist": "cantilevered bay"}, "free-standing"),
        ({"wall": "siding", "band_joist": "solid", "at_wall": [BAY | {"width": 10}]}, "free-standing"),
    ],
    ids=lambda v: str(v)[:40],
)
def test_the_wall_decides_what_carries_the_house_side(house, carried):
    deck = deck_at(**house)
    notes = [worded(n) for n in deck.notes]
    chosen = [n for n in notes if n.startswith("frame.support chosen")]
    if carried == "ledger":
        assert deck.roles("ledger") and not chosen
        return
    assert not deck.roles("ledger") and len(chosen) == 1
    by_house = [p for p in deck.roles("post") if p.box[0, 1] > DEEP / 2]
    assert by_house, "posts beside the house carry what the ledger would have"


@pytest.mark.parametrize(
    "house, rule, source",
    [
        ({"wall": "veneer"}, WALL_UNDER_LEDGER, "R507.9.1.1"),
        ({"band_joist": "i-joist"}, BAND_UNDER_LEDGER, "R507.9.1.2"),
        ({"band_joist": "truss"}, BAND_UNDER_LEDGER, "R507.9.1.2"),
        ({"band_joist": "cantilevered bay"}, BAND_UNDER_LEDGER, "Figure 18"),
        ({"at_wall": [BAY]}, ON_A_BAY, "Figure 18"),
    ],
    ids=lambda v: str(v)[:40],
)
def test_a_ledger_that_the_file_asks_for_is_drawn_and_not_met(house, rule, source):
    deck = deck_at(frame={"support": "ledger"}, **house)
    row = only(deck, rule)
    assert deck.roles("ledger")
    assert row.result == "not met" and source in worded(row.source)
    assert 'frame.support = "free-standing" would do' in worded(row.why) and names_a_key(row.why)


def test_a_bay_past_the_ledgers_end_bears_nothing():
    row = only(deck_at(frame={"support": "ledger"}, at_wall=[BAY | {"at": WIDE + 4}]), ON_A_BAY)
    assert row.result == "met"


def test_a_wall_that_is_not_described_is_assumed_and_said():
    deck = deck_at()
    rows = checked(deck)
    assert {r.result for rule in (WALL_UNDER_LEDGER, BAND_UNDER_LEDGER) for r in rows[rule]} == {"not checked"}
    [note] = [worded(n) for n in deck.notes if "not described" in worded(n)]
    assert "siding on a solid band joist is assumed" in note and "house.wall, house.band_joist" in note
    known = deck_at(wall="siding", band_joist="solid")
    assert not [n for n in known.notes if "not described" in worded(n)]
    assert {only(known, rule).result for rule in (WALL_UNDER_LEDGER, BAND_UNDER_LEDGER)} == {"met"}


def test_a_ledger_on_masonry_is_left_to_an_engineer():
    row = only(deck_at(frame={"support": "ledger"}, wall="masonry"), WALL_UNDER_LEDGER)
    assert row.result == "not checked" and "hollow masonry" in worded(row.source)


def test_the_surface_comes_an_inch_below_the_sill_where_its_level_is_left_out():
    """common practice, no source: data/practice.csv"""
    deck = deck_at(None, sill=43)
    assert deck.planes.surface_top == 42
    assert max(p.box[1, 2] for p in deck.roles("board")) == pytest.approx(42)
    row = only(deck, STEP_AT_DOOR)
    assert row.measured == pytest.approx(1) and row.result == "met"
    [note] = [worded(n) for n in deck.notes if worded(n).startswith("levels.surface chosen")]
    assert "3'-6\"" in note
    assert deck_at(40, sill=43).planes.surface_top == 40, "a level that is given stays"


@pytest.mark.parametrize(
    "drop, swings, met, beside",
    [
        (1.5, None, "met", None),
        (7, None, "met", "not checked"),
        (7, "in", "met", None),
        (7, "out", "met", "not met"),
        (1.5, "out", "met", "met"),
        (7.75, "in", "met", None),
        (8, "in", "not met", None),
    ],
)
def test_the_step_down_from_the_sill(drop, swings, met, beside):
    """IRC R311.3.1: 7-3/4 in, and 1-1/2 in under a door that swings out."""
    rows = checked(deck_at(50, sill=50 + drop, **({"door_swings": swings} if swings else {})))
    [row] = rows[STEP_AT_DOOR]
    assert (row.measured, row.limit, row.result) == (pytest.approx(drop), 7.75, met)
    assert [r.result for r in rows.get(DOOR_SWUNG_OVER, [])] == ([beside] if beside else [])
    if met == "not met":
        assert "levels.surface = 50.25 in would do" in worded(row.why)


def test_a_surface_over_the_sill_is_not_met():
    row = only(deck_at(50, sill=49.5), BELOW_SILL)
    assert row.result == "not met" and row.measured == pytest.approx(-0.5) and names_a_key(row.why)


def underside(deck: Deck, by_house: bool) -> set[float]:
    return {round(float(p.box[0, 2]), 6) for p in deck.roles("footing") if (p.box[0, 1] > DEEP / 2) == by_house}


def test_footings_beside_the_house_go_down_as_far_as_its_own():
    """Within 5 ft of the wall (common practice, no source); grade rises 1 in 20 towards the house."""
    data = {
        "outline": {"width": WIDE, "depth": DEEP},
        "levels": {"surface": 50, "slope_y": 0.05},
        "frame": {"support": "free-standing"},
        "local": {"frost_depth": 36},
        "house": {"footing_depth": 70},
    }
    deck = build(Parameters.model_validate(data))
    own = DEEP * 0.05 - 70
    assert underside(deck, True) == {round(own, 6)}
    assert min(underside(deck, False)) > own + 20
    row = only(deck, BESIDE_HOUSE)
    assert row.result == "met" and row.measured == pytest.approx(0) and PRACTICE in worded(row.source)
    data["frame"]["footing"] = {"depth": 36}
    given = build(Parameters.model_validate(data))
    row = only(given, BESIDE_HOUSE)
    assert row.result == "not met" and row.measured > 20 and "frame.footing.depth" in worded(row.why)


def test_a_shallow_foundation_lifts_no_footing():
    deck = deck_at(50, frame={"support": "free-standing"}, footing_depth=20)
    assert underside(deck, True) == underside(deck, False) == {-42}


def test_a_foundation_of_unknown_depth_is_asked_for():
    row = only(deck_at(50, frame={"support": "free-standing"}), BESIDE_HOUSE)
    assert row.result == "not checked" and "house.footing_depth" in worded(row.why)
    assert BESIDE_HOUSE not in checked(deck_at(50)), "under a deck on a ledger no footing is near the wall"


def test_a_footing_in_the_wall_is_not_met():
    """Beams at joist level are the rim along the house, over their posts; those under it keep off the wall."""
    frame = {"support": "free-standing", "cantilever": 4, "footing": {"size": 24}}
    assert only(deck_at(50, frame=frame), OFF_WALL).result == "met"
    row = only(deck_at(50, frame=frame | {"beam_position": "flush"}), OFF_WALL)
    assert row.result == "not met" and row.measured < 0 and "frame.house_gap" in worded(row.why)


@cache
def before_window(surface: float, at: float = 60, spacing: float | None = None) -> Deck:
    frame = {"support": "free-standing", "cantilever": 24, **({"post_spacing": spacing} if spacing else {})}
    return deck_at(surface, frame, at_wall=[EGRESS | {"at": at, "bottom": -20, "top": 18}])


def in_front(deck: Deck, at: float) -> list:
    """What stands within 36 in of the wall before a window that lies `at` along the back edge, from its right end."""
    left, right = WIDE - at - 40, WIDE - at
    near = [p for p in deck.roles("post", "footing") if p.box[1, 1] > DEEP - 36]
    return [p for p in near if p.box[1, 0] > left and p.box[0, 0] < right]


@pytest.mark.parametrize("at, more", [(60, 0), (90, 1)])
def test_posts_and_footings_stand_clear_of_a_window_well(at, more):
    """At its even place a post stands before the window, 36 in out (IRC R310.2.3): it moves along its beam, or where
    it would have to move too far one more stands there."""
    plain = deck_at(70, frame={"support": "free-standing", "cantilever": 24})
    assert in_front(plain, at), "without the window something stands there"
    found = before_window(70, at)
    assert not in_front(found, at) and only(found, KEPT_CLEAR).result == "met"
    assert len(found.roles("post")) == len(plain.roles("post")) + more


def test_a_post_spacing_that_is_given_stays_and_what_stands_in_the_well_is_named():
    row = only(before_window(70, 90, 96), KEPT_CLEAR)
    assert row.result == "not met" and "footing" in worded(row.why) and names_a_key(row.why)


def test_the_way_out_under_a_deck_is_measured_off_its_frame():
    """IRC R310.2.4: 36 in. Two beams of 2x10 under 2x8 joists under a board of 1 in: 70 - 1 - 7.25 - 9.25."""
    high = only(before_window(70), WAY_OUT)
    assert high.measured == pytest.approx(70 - 1 - 7.25 - 9.25) and high.result == "met"
    low = only(before_window(46), WAY_OUT)
    assert low.measured == pytest.approx(46 - 17.5) and low.result == "not met" and names_a_key(low.why)


def test_a_stair_before_a_meter_is_named_and_one_beside_it_not():
    meter = {"kind": "meter", "edge": "back", "at": -30, "width": 16, "bottom": 30, "top": 60}
    data = {
        "outline": {"width": WIDE, "depth": DEEP},
        "levels": {"surface": 76},
        "stair": [{"edge": "right", "at": 100}],
        "house": {"at_wall": [meter]},
    }
    row = only(build(Parameters.model_validate(data)), KEPT_CLEAR)
    assert row.result == "not met" and "stringer" in worded(row.why) and "stair.0.at" in worded(row.why)
    data["stair"] = [{"edge": "right", "at": 20}]
    assert only(build(Parameters.model_validate(data)), KEPT_CLEAR).result == "met"
    # over a vent that lies lower than the flight is there nothing stands
    data["stair"] = [{"edge": "right", "at": 100}]
    data["house"] = {"at_wall": [meter | {"kind": "vent", "bottom": 6, "top": 12}]}
    assert only(build(Parameters.model_validate(data)), KEPT_CLEAR).result == "met"


def test_a_ledger_across_a_window_is_named():
    window = {"kind": "window", "edge": "back", "at": 40, "width": 30, "bottom": 30, "top": 48}
    row = only(deck_at(50, at_wall=[window]), KEPT_CLEAR)
    assert row.result == "not met" and "ledger L1-01" in worded(row.why) and names_a_key(row.why)
    assert only(deck_at(50, at_wall=[window | {"bottom": 60, "top": 90}]), KEPT_CLEAR).result == "met"


@pytest.mark.parametrize("depth, lower", [(9.25, 3.25), (7.25, 1.25)])
def test_the_ledgers_fasteners_meet_the_band_joist(depth, lower):
    """Surface at 49, board 1 in: the ledger's top at 48; a floor at 50 with 1-1/2 in over its band joist. The lower row
    5-1/2 in below a 2x8 ledger's top, 2 in at least over the band's bottom."""
    rows = checked(deck_at(49, wall="siding", band_joist="solid", floor=50, band_joist_depth=depth))
    [upper] = rows[UPPER_IN_BAND]
    [low] = rows[LOWER_IN_BAND]
    assert upper.measured == pytest.approx(2.5) and upper.result == "met"
    assert low.measured == pytest.approx(lower) and low.result == ("met" if lower >= 2 else "not met")
    if lower < 2:
        assert names_a_key(low.why)


MENDED = [
    ({"wall": "veneer"}, {"support": "ledger"}, WALL_UNDER_LEDGER, "frame.support", "free-standing"),
    ({"band_joist": "truss"}, {"support": "ledger"}, BAND_UNDER_LEDGER, "frame.support", "free-standing"),
    ({"at_wall": [BAY]}, {"support": "ledger"}, ON_A_BAY, "frame.support", "free-standing"),
    ({"floor": 53, "band_joist_depth": 9.25}, {}, LOWER_IN_BAND, "levels.surface", 50.75),
    ({"floor": 49, "band_joist_depth": 9.25}, {}, UPPER_IN_BAND, "levels.surface", 49.75),
    (
        {},
        {"support": "free-standing", "beam_position": "flush", "footing": {"size": 24}},
        OFF_WALL,
        "frame.house_gap",
        9.25,
    ),
    ({"sill": 58}, {}, STEP_AT_DOOR, "levels.surface", 50.25),
    ({"sill": 53, "door_swings": "out"}, {}, DOOR_SWUNG_OVER, "levels.surface", 51.5),
    ({"sill": 49}, {}, BELOW_SILL, "levels.surface", 48.0),
    (
        {"footing_depth": 55},
        {"support": "free-standing", "footing": {"depth": 40}},
        BESIDE_HOUSE,
        "frame.footing.depth",
        55.0,
    ),
]


@pytest.mark.parametrize("house, frame, rule, key, value", MENDED, ids=lambda v: v if isinstance(v, str) else "")
def test_a_row_names_the_value_that_mends_it(house, frame, rule, key, value):
    deck = deck_at(50, frame, **house)
    assert list(house_mends(only(deck, rule), deck)) == [(key, value)]
    changed = build(with_value(deck.parameters, key, value))
    assert "not met" not in {r.result for r in checked(changed).get(rule, [])}


def test_what_the_house_decided_is_among_the_lines_of_the_design():
    file = {"outline": {"width": WIDE, "depth": DEEP}, "house": {"wall": "veneer", "sill": 43}}
    lines = design_lines(designed(Parameters.model_validate(file)))
    assert any(t.startswith('# by the house: frame.support = "free-standing"  # the wall is veneer') for t in lines)
    assert any(t.startswith("# by the house: levels.surface = 42") for t in lines)


def test_a_stair_whose_footing_is_in_the_wall_moves_away_from_it():
    file = {
        "outline": {"width": 221, "depth": 139},
        "levels": {"surface": 64},
        "stair": [{"edge": "right", "at": 90}],
    }
    deck = build(Parameters.model_validate(file))
    row = only(deck, OFF_WALL)
    [(key, value)] = house_mends(row, deck)
    assert row.result == "not met" and key == "stair.0.at" and value < 90
    file["stair"] = [{"edge": "right", "at": value}]
    assert only(build(Parameters.model_validate(file)), OFF_WALL).result == "met"
